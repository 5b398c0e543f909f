"""Where a separate recording belongs: its offset against a clip's own sound, found by comparing the two.

First at 8 kHz, over all of the recording, in several short windows of the clip's sound: clocks of two devices
differ by some 50 parts in a million (common practice, no source), which blurs a long one. Then at 48 kHz, to
the sample.

Trust is how many times higher the best place is than the next best one. Sounds that have nothing in common
come near 1, and so does sound that repeats.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Protocol

import numpy as np
import soxr

from desk.film.media import MediaFacts
from desk.film.rates import SAMPLE_RATE_HZ
from desk.film.wording import sentence
from desk.jobs import CancelToken, Progress, ProgressListener, no_progress
from desk.sound.correlation import (
    COARSE_HZ,
    FINE_SAMPLES,
    WINDOW_SECONDS,
    Mono,
    best_lag,
    loudest_windows,
    near_correlation,
)
from desk.sound.reading import Samples, read_sound

LEAST_TRUST = 2.3
"""Below it, nothing is found. Of 230 pairs of unlike voices, music and noises the worst reached 2.0; a voice
of 9 s under noise of ten times its power reaches 26, and one of 5 s in a hall 2.5."""

LEAST_SECONDS, MOST_SECONDS = 1, 6 * 3600
"""Shorter or longer sound is not compared. Recorders end a file before the latter (common practice, no
source): what says that it is longer is damaged."""

_STEP = SAMPLE_RATE_HZ // COARSE_HZ
_MOST_WINDOWS = 4
_LEAST_STRETCH_SECONDS, _MOST_STRETCH_SECONDS = 30, 120


@dataclass(frozen=True, slots=True)
class Found:
    """Where a recording belongs.

    Attributes:
        offset_seconds: Place in the recording that belongs to second 0 of the clip's source.
        trust: How many times higher the best place is than the next best one; `LEAST_TRUST` or more.
    """

    offset_seconds: Fraction
    trust: float


@dataclass(frozen=True, slots=True)
class NotFound:
    """Why no offset was found.

    Attributes:
        sentence: Why.
        advice: What to do.
    """

    sentence: str
    advice: str


class _Sound(Protocol):
    """One channel of sound at 48 kHz."""

    @property
    def name(self) -> str: ...

    @property
    def samples(self) -> int: ...

    def read(self, first: int, count: int) -> Iterator[Mono]: ...


@dataclass(frozen=True, slots=True)
class _InMemory:
    name: str
    data: Mono

    @property
    def samples(self) -> int:
        return len(self.data)

    def read(self, first: int, count: int) -> Iterator[Mono]:
        made = np.zeros(count, np.float32)
        low, high = max(0, first), min(len(self.data), first + count)
        if low < high:
            made[low - first : high - first] = self.data[low:high]
        yield made


@dataclass(frozen=True, slots=True)
class _InFile:
    name: str
    path: Path
    facts: MediaFacts
    start: int
    samples: int
    cancel: CancelToken

    def read(self, first: int, count: int) -> Iterator[Mono]:
        in_seconds = Fraction(self.start + first, SAMPLE_RATE_HZ)
        for block in read_sound(self.path, self.facts, in_seconds=in_seconds, samples=count):
            self.cancel.check()
            yield _mono(block)


def find_offset(
    reference: Samples,
    recording: Samples,
    *,
    progress: ProgressListener = no_progress,
    cancel: CancelToken | None = None,
) -> Found | NotFound:
    """Return where a recording belongs, from samples.

    Args:
        reference: The clip's own sound at 48 kHz, from second 0 of its source.
        recording: The recording at 48 kHz, from its second 0.
        progress: Told how far it is.
        cancel: Stops it.

    Raises:
        Cancelled: when stopped on request.
    """
    sounds = (_InMemory("the clip's sound", _mono(reference)), _InMemory("the recording", _mono(recording)))
    return _find(*sounds, progress, cancel or CancelToken())


def find_offset_of_files(
    source: Path,
    source_facts: MediaFacts,
    recording: Path,
    recording_facts: MediaFacts,
    *,
    in_seconds: Fraction = Fraction(0),
    seconds: Fraction | None = None,
    progress: ProgressListener = no_progress,
    cancel: CancelToken | None = None,
) -> Found | NotFound:
    """Return where a recording belongs under a clip, from their files.

    The stretch that is compared is at least half a minute and at most two, where the source has it.

    Args:
        source: The clip's source.
        source_facts: What was read of it.
        recording: The separate recording.
        recording_facts: What was read of it.
        in_seconds: Where in the source the clip begins.
        seconds: How much of the source it shows, or None for all that follows.
        progress: Told how far it is.
        cancel: Stops it.

    Raises:
        MediaError: when a file can't be read.
        Cancelled: when stopped on request.
    """
    token = cancel or CancelToken()
    for path, facts in ((source, source_facts), (recording, recording_facts)):
        if facts.sound is None:
            return NotFound(f"“{path.name}” has no sound to compare.", "Choose a file that has.")
    first, samples = _stretch(source_facts, in_seconds, seconds)
    found = _find(
        _InFile(f"“{source.name}”", source, source_facts, first, samples, token),
        _InFile(f"“{recording.name}”", recording, recording_facts, 0, _samples(recording_facts), token),
        progress,
        token,
    )
    if isinstance(found, Found):
        return Found(found.offset_seconds - Fraction(first, SAMPLE_RATE_HZ), found.trust)
    return found


def _samples(facts: MediaFacts) -> int:
    """Return how many samples there may be from a file's second 0 on."""
    lengths = [part.seconds for part in (facts.picture, facts.sound) if part]
    return math.ceil(max(lengths) * SAMPLE_RATE_HZ)


def _stretch(facts: MediaFacts, in_seconds: Fraction, seconds: Fraction | None) -> tuple[int, int]:
    """Return the first sample and the number of those of a source that are compared."""
    whole = _samples(facts)
    first = max(0, min(whole, math.floor(in_seconds * SAMPLE_RATE_HZ)))
    wanted = whole - first if seconds is None else math.ceil(seconds * SAMPLE_RATE_HZ)
    least, most = (_LEAST_STRETCH_SECONDS * SAMPLE_RATE_HZ, _MOST_STRETCH_SECONDS * SAMPLE_RATE_HZ)
    if wanted < least:
        first = max(0, min(first - (least - wanted) // 2, whole - least))
    length = min(max(wanted, least), most)
    return first, min(length, whole - first)


def _mono(block: Samples) -> Mono:
    return block if block.ndim == 1 else block.mean(axis=1, dtype=np.float32)


def _find(
    reference: _Sound, recording: _Sound, progress: ProgressListener, cancel: CancelToken
) -> Found | NotFound:
    for sound in (reference, recording):
        if sound.samples < LEAST_SECONDS * SAMPLE_RATE_HZ:
            return NotFound(
                f"There is less than a second of {sound.name}, which is too short to compare.",
                "Set the offset by ear, at a clap or a hard consonant.",
            )
        if sound.samples > MOST_SECONDS * SAMPLE_RATE_HZ:
            return NotFound(
                f"{sentence(sound.name)} says that it is longer than {MOST_SECONDS // 3600} hours, which is "
                f"too long to compare.",
                "Cut it into shorter files, or set the offset by ear.",
            )
    meter = _Meter(reference.samples + recording.samples, progress)
    near = _coarse(reference, cancel, meter.reading(reference.name))
    far = _coarse(recording, cancel, meter.reading(recording.name))
    for sound, coarse in ((reference, near), (recording, far)):
        if not len(loudest_windows(coarse, 1)):
            return NotFound(f"Nothing is heard in {sound.name}.", "Choose another file.")
    windows = loudest_windows(near, _MOST_WINDOWS)
    length = min(len(near), WINDOW_SECONDS * COARSE_HZ)
    lag, trust = best_lag(near, far, windows, length, cancel, meter.comparing)
    if trust < LEAST_TRUST:
        return NotFound(
            f"No place was found where {recording.name} fits {reference.name}: the best one is only "
            f"{trust:.1f} times as good as the next.",
            "Choose another recording, or set the offset by ear, at a clap or a hard consonant.",
        )
    offset = _fine_lag(reference, recording, windows, length, lag, cancel)
    return Found(Fraction(offset, SAMPLE_RATE_HZ), trust)


class _Meter:
    """Tells of reading, then of comparing, at every hundredth."""

    def __init__(self, samples: int, listener: ProgressListener) -> None:
        self._samples = samples
        self._read = 0
        self._listener = listener
        self._told = -1

    def reading(self, name: str) -> Callable[[int], None]:
        def read(count: int) -> None:
            self._read += count
            self._tell("offset.read", f"Listening to {name}", min(1.0, self._read / self._samples) / 2)

        return read

    def comparing(self, part: float) -> None:
        self._tell("offset.compare", "Comparing the sounds", 0.5 + part / 2)

    def _tell(self, stage: str, text: str, fraction: float) -> None:
        if int(100 * fraction) > self._told:
            self._told = int(100 * fraction)
            self._listener(Progress(stage, text, fraction))


def _coarse(sound: _Sound, cancel: CancelToken, read: Callable[[int], None]) -> Mono:
    """Return a sound at 8 kHz."""
    resampler = soxr.ResampleStream(SAMPLE_RATE_HZ, COARSE_HZ, 1, dtype="float32")
    parts: list[Mono] = []
    for block in sound.read(0, sound.samples):
        cancel.check()
        parts.append(resampler.resample_chunk(block))
        read(len(block))
    parts.append(resampler.resample_chunk(np.zeros(0, np.float32), last=True))
    return np.concatenate(parts)


def _fine_lag(
    reference: _Sound,
    recording: _Sound,
    windows: list[int],
    length: int,
    lag: int,
    cancel: CancelToken,
) -> int:
    """Return by how many samples at 48 kHz the recording is later."""
    count = length * _STEP
    total = np.zeros(2 * FINE_SAMPLES + 1)
    for start in windows:
        cancel.check()
        near = np.concatenate(list(reference.read(start * _STEP, count)))
        first = (start + lag) * _STEP - FINE_SAMPLES
        far = np.concatenate(list(recording.read(first, count + 2 * FINE_SAMPLES)))
        total += near_correlation(near, far)
    return lag * _STEP - FINE_SAMPLES + int(np.argmax(total))
