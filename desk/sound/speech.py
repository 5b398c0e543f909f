"""Where somebody speaks in a sound, how loud, and in how much noise.

How it is found. The sound is looked at from 150 to 4,000 Hz, where most of a voice lies and little of rumble
and hiss, in steps of 10 ms, smoothed over 50 ms. The noise floor is the level that a tenth of the steps stays
below: even in flowing speech more than that lies between syllables. Speech begins where the level rises 9 dB
above the floor, and lasts until it falls below 5 dB above it, so that it does not flutter; nor does it begin
more than 30 dB below the loud steps, which is breath and room, nor below -60 dB of full scale. Pauses of up
to 300 ms belong to the speech, what is shorter than 120 ms does not count, and each stretch is a little
wider, for soft beginnings and ends. (All of that is common practice, no source.)

So it is a gate: it tells what stands out of the noise. A shout, a door or music in a clip's sound counts as
speech too; steady sound does not.

Loudness is the gated loudness of ITU-R BS.1770 over those of its 400 ms blocks of which three quarters are
speech; where words are too short for that, half. Noise under the speech is measured with it.
"""

import contextlib
import itertools
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import msgspec
import numpy as np
from numpy.typing import NDArray

from desk.errors import FilmFileError, OutputError
from desk.files import write_whole
from desk.film.fingerprint import fingerprint
from desk.film.lanes import Span
from desk.film.media import MediaFacts
from desk.film.rates import SAMPLE_RATE_HZ, Rate
from desk.jobs import CancelToken, Progress, ProgressListener, no_progress
from desk.sound.chain import chain_filters, chained, preroll_samples
from desk.sound.ducking import Stretch
from desk.sound.filtering import filtered_samples
from desk.sound.loudness import MOMENTARY_SECONDS, STEP_SECONDS, Loudness, Meter, integrated
from desk.sound.reading import Samples, read_sound
from desk.store.folder import desk_folder, make_inside, read_regular

SPEECH_FORMAT = 1
"""Grows when speech is found in another way, so that what was kept is not used."""

FULL_SCALE = 0.999
"""From here on a sample counts as clipped, where the next is up there too on the same side."""

STEP_SAMPLES = SAMPLE_RATE_HZ // 100
SILENT_DBFS = -90.0

_BAND = (("highpass", "f=150:precision=f32"), ("lowpass", "f=4000:precision=f32"))
_SMOOTHED_STEPS = 5
_FLOOR_PERCENT, _LOUD_PERCENT = 10, 95
_BEGINS_DB, _ENDS_DB = 9.0, 5.0
_BELOW_LOUD_DB = 30.0
_LEAST_DBFS = -60.0
_BRIDGED_STEPS, _LEAST_STEPS = 30, 12
_BEFORE_STEPS, _AFTER_STEPS = 6, 12
_MOST_KEPT = 20_000

_Through = Callable[[Iterator[Samples]], Iterator[Samples]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Speech:
    """What was found in a sound, before its gain.

    Attributes:
        stretches: Where somebody speaks, in samples from its start, in order and without overlap.
        loudness_lufs: How loud the speech is, or None where there is none, or too little to measure.
        speech_dbfs: Its mean level (RMS); `SILENT_DBFS` without speech.
        noise_floor_dbfs: Mean level of the rest; of all of it where there is no speech.
        clipped_samples: How many samples of the recording are at full scale.
        peak_dbtp: The highest peak, or None where all is silent.
    """

    stretches: tuple[Stretch, ...] = ()
    loudness_lufs: float | None = None
    speech_dbfs: float = SILENT_DBFS
    noise_floor_dbfs: float = SILENT_DBFS
    clipped_samples: int = 0
    peak_dbtp: float | None = None

    @property
    def above_noise_db(self) -> float:
        """How far speech stands above the noise; 0 without speech."""
        return self.speech_dbfs - self.noise_floor_dbfs if self.stretches else 0.0

    @property
    def seconds(self) -> float:
        """How long somebody speaks."""
        return sum(end - start for start, end in self.stretches) / SAMPLE_RATE_HZ


class _Listening:
    """Takes levels of what passes."""

    def __init__(self) -> None:
        self.clipped_samples = 0
        self._last = np.zeros((2, 2), np.float32)
        self._whole, self._band = _Steps(), _Steps()

    def recording(self, blocks: Iterator[Samples], skipped: int) -> Iterator[Samples]:
        """Give the blocks, and count clipped samples after the first ones."""
        for block in blocks:
            counted = block[skipped:]
            skipped = max(0, skipped - len(block))
            if len(counted):
                self.clipped_samples += self._clipped(counted)
            yield block

    def heard(self, blocks: Iterator[Samples], skipped: int) -> Iterator[Samples]:
        """Give the blocks without the first samples, and take their level."""
        for block in blocks:
            used = block[skipped:]
            skipped = max(0, skipped - len(block))
            if len(used):
                self._whole.take(used)
                yield used

    def band(self, blocks: Iterator[Samples]) -> None:
        """Take the level of blocks."""
        for block in blocks:
            self._band.take(block)

    def result(self, loudness: Loudness) -> Speech:
        """Return what was found.

        Args:
            loudness: Of the same sound.
        """
        whole, band = self._whole.result(), self._band.result()
        stretches = find_speech(band)
        spoken = np.zeros(len(whole), bool)
        for start, end in stretches:
            spoken[start:end] = True
        return Speech(
            stretches=tuple((start * STEP_SAMPLES, end * STEP_SAMPLES) for start, end in stretches),
            loudness_lufs=integrated(loudness.momentary_lufs[_within(spoken, loudness.momentary_lufs)]),
            speech_dbfs=_mean_db(whole[spoken]),
            noise_floor_dbfs=_mean_db(whole[~spoken]),
            clipped_samples=self.clipped_samples,
            peak_dbtp=loudness.true_peak_dbtp,
        )

    def _clipped(self, block: Samples) -> int:
        """Return how many samples stand at full scale beside another one; of the side that has more."""
        joined = np.concatenate([self._last, block])
        self._last = joined[-2:]
        over = np.where(np.abs(joined) >= FULL_SCALE, np.sign(joined), 0)
        beside = (over[1:] != 0) & (over[1:] == over[:-1])
        # The first of each row counts with the second.
        begun = beside[1:] & ~beside[:-1]
        return int((beside[1:].sum(axis=0) + begun.sum(axis=0)).max(initial=0))


class _Steps:
    """Mean power of each 10 ms; what is over at the end is left out."""

    def __init__(self) -> None:
        self._powers: list[NDArray[np.float64]] = []
        self._rest = np.zeros((0, 2), np.float32)

    def take(self, block: Samples) -> None:
        joined = np.concatenate([self._rest, block]) if len(self._rest) else block
        whole = len(joined) // STEP_SAMPLES * STEP_SAMPLES
        self._rest = joined[whole:]
        shaped = joined[:whole].reshape(-1, STEP_SAMPLES * 2)
        self._powers.append(np.einsum("ij,ij->i", shaped, shaped, dtype=np.float64) / (STEP_SAMPLES * 2))

    def result(self) -> NDArray[np.float64]:
        return np.concatenate([np.zeros(0), *self._powers])


def find_speech(powers: NDArray[np.float64]) -> tuple[tuple[int, int], ...]:
    """Return where speech stands out: first step and the one after the last, in order, without overlap.

    Args:
        powers: Mean power of each 10 ms in the band of voices, 1.0 for full scale.
    """
    if not len(powers):
        return ()
    width = min(_SMOOTHED_STEPS, len(powers))
    edged = np.pad(powers, (width // 2, (width - 1) // 2), mode="edge")
    levels = _db(np.convolve(edged, np.full(width, 1 / width), "valid"))
    floor, loud = np.percentile(levels, (_FLOOR_PERCENT, _LOUD_PERCENT))
    begins = max(floor + _BEGINS_DB, loud - _BELOW_LOUD_DB, _LEAST_DBFS)
    runs = _runs(levels > begins - (_BEGINS_DB - _ENDS_DB))
    loud_enough = [(start, end) for start, end in runs if levels[start:end].max() > begins]
    bridged: list[tuple[int, int]] = []
    for start, end in loud_enough:
        if bridged and start - bridged[-1][1] <= _BRIDGED_STEPS:
            bridged[-1] = bridged[-1][0], end
        else:
            bridged.append((start, end))
    found: list[tuple[int, int]] = []
    for start, end in bridged:
        if end - start < _LEAST_STEPS:
            continue
        wide = max(0, start - _BEFORE_STEPS), min(len(powers), end + _AFTER_STEPS)
        if found and wide[0] <= found[-1][1]:
            found[-1] = found[-1][0], wide[1]
        else:
            found.append(wide)
    return tuple(found)


def listen(blocks: Iterator[Samples]) -> Speech:
    """Return what is found in a sound.

    Args:
        blocks: Its samples at 48 kHz, in stereo.
    """
    return _listen(blocks, lambda passing: passing, 0)


def speech_key(span: Span, rate: Rate, facts: MediaFacts) -> str:
    """Return the name under which the speech of a clip's sound is kept: a hash of all that decides it.

    Neither its gain nor its place in the scene is part of it.

    Args:
        span: The clip's sound.
        rate: The film's rate.
        facts: What was read of its file.
    """
    zero = facts.picture.start_pts if facts.picture else 0
    return fingerprint(
        [
            "speech",
            SPEECH_FORMAT,
            facts.sample_hash,
            facts.modified_ns,
            zero,
            span.in_seconds,
            rate.samples(span.length_frames),
            span.speed,
            [list(item) for item in chain_filters(span.chain)],
        ]
    )


def listen_to_span(
    span: Span, rate: Rate, path: Path, facts: MediaFacts, *, cancel: CancelToken | None = None
) -> Speech:
    """Return what is found in a clip's sound, through its chain and before its gain.

    Args:
        span: The clip's sound.
        rate: The film's rate.
        path: Its file.
        facts: What was read of it.
        cancel: Stops it.

    Raises:
        MediaError: when it can't be read.
        Cancelled: when stopped on request.
    """
    early = preroll_samples(span.chain)
    source = read_sound(
        path,
        facts,
        in_seconds=span.in_seconds - Fraction(early, SAMPLE_RATE_HZ) * span.speed,
        samples=rate.samples(span.length_frames) + early,
        speed=span.speed,
    )

    def checked() -> Iterator[Samples]:
        for block in source:
            if cancel is not None:
                cancel.check()
            yield block

    with contextlib.closing(source):
        return _listen(checked(), lambda blocks: chained(blocks, span.chain), early)


class _Kept(msgspec.Struct):
    format: int
    found: dict[str, Speech]


class SpeechFile:
    """What was found in the sounds of a project's clips, on disk: `.desk/speech.json`.

    Losing it costs only time. Does not promise to keep what two programs note at the same time.
    """

    def __init__(self, folder: Path) -> None:
        """Read what is there; a file that can't be read says nothing.

        Args:
            folder: The project folder.
        """
        self._folder = folder
        self._found: dict[str, Speech] = self._read()

    def find(self, key: str) -> Speech | None:
        """Return what was found under a name, or None."""
        return self._found.get(key)

    def keep(self, found: Mapping[str, Speech]) -> None:
        """Keep what was found. Where the disk refuses, it is kept in memory alone."""
        if not found:
            return
        self._found = {**self._read(), **self._found, **found}
        for key in list(itertools.islice(self._found, max(0, len(self._found) - _MOST_KEPT))):
            del self._found[key]
        data = msgspec.json.encode(_Kept(format=SPEECH_FORMAT, found=self._found))
        with contextlib.suppress(OutputError):
            make_inside(self._folder, ".desk")
            write_whole(self._path(), data)

    def _path(self) -> Path:
        return desk_folder(self._folder) / "speech.json"

    def _read(self) -> dict[str, Speech]:
        with contextlib.suppress(FilmFileError, msgspec.DecodeError, RecursionError):
            kept = msgspec.json.decode(read_regular(self._path()), type=_Kept)
            if kept.format == SPEECH_FORMAT:
                return kept.found
        return {}


def find_speech_of(
    sounds: Sequence[Span],
    rate: Rate,
    files: Mapping[str, Path],
    media: Mapping[str, MediaFacts],
    kept: SpeechFile,
    *,
    progress: ProgressListener = no_progress,
    cancel: CancelToken | None = None,
) -> None:
    """Listen to clips that were not listened to yet, and keep what is found.

    Args:
        sounds: What sounds; only dialogue is listened to.
        rate: The film's rate.
        files: Where each file is.
        media: What was read of each.
        kept: Where it is kept.
        progress: Told how far it is.
        cancel: Stops it; what was found by then is kept.

    Raises:
        MediaError: when a file can't be read.
        Cancelled: when stopped on request.
    """
    wanted = {
        key: span
        for span in sounds
        if span.kind == "dialogue" and span.file in media
        if kept.find(key := speech_key(span, rate, media[span.file])) is None
    }
    whole = sum(span.length_frames for span in wanted.values())
    done = 0
    found: dict[str, Speech] = {}
    try:
        for key, span in wanted.items():
            progress(Progress("speech", f"Listening to “{Path(span.file).name}”", done / whole))
            found[key] = listen_to_span(span, rate, files[span.file], media[span.file], cancel=cancel)
            done += span.length_frames
    finally:
        kept.keep(found)


def _listen(blocks: Iterator[Samples], through: _Through, early: int) -> Speech:
    """Listen to blocks, of which so many samples are only there for what they go through."""
    listening, meter = _Listening(), Meter()
    heard = listening.heard(through(listening.recording(blocks, early)), early)
    listening.band(filtered_samples(meter.through(heard), _BAND))
    return listening.result(meter.result())


def _within(spoken: NDArray[np.bool_], momentary: NDArray[np.float32]) -> NDArray[np.intp]:
    """Return the whole 400 ms blocks of which three quarters are speech; of short words, those of half."""
    counts = np.concatenate([[0], np.cumsum(spoken)])
    step, block = round(STEP_SECONDS * 100), round(MOMENTARY_SECONDS * 100)
    ends = np.minimum((np.arange(len(momentary)) + 1) * step, len(spoken))
    starts = ends - block
    share = np.where(starts >= 0, counts[ends] - counts[np.maximum(starts, 0)], 0)
    full = np.flatnonzero(4 * share >= 3 * block)
    return full if len(full) else np.flatnonzero(2 * share >= block)


def _runs(on: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Return where a row of yes and no says yes: first, and the one after the last."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], on.astype(np.int8), [0]])))
    return [(int(start), int(end)) for start, end in edges.reshape(-1, 2)]


def _mean_db(powers: NDArray[np.float64]) -> float:
    return float(_db(powers.mean(keepdims=True))[0]) if len(powers) else SILENT_DBFS


def _db(powers: NDArray[np.float64]) -> NDArray[np.float64]:
    least = 10 ** (SILENT_DBFS / 10)
    return 10 * np.log10(np.maximum(powers, least))
