"""Stems: the dialogue, effects and music of a scene as samples, placed by sample.

A film frame f starts on sample round(f × 48000 / rate), counted from the start of what it belongs to: the
scene for what is in it, the film for the scene. So nothing drifts, and a stem is the same wherever it stands.

A voice goes through its chain first, then come gain and fades. Where two parts of a piece of music meet, one
fades into the other with equal power, from 10 ms before to 10 ms after: the parts stand where they would
without it.
"""

import contextlib
import dataclasses
import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from desk.film.lanes import Span
from desk.film.media import MediaFacts
from desk.film.rates import SAMPLE_RATE_HZ, Rate
from desk.jobs import CancelToken
from desk.sound.chain import chained, preroll_samples
from desk.sound.ducking import DuckPoint, duck_points, gains_of
from desk.sound.plan import Passage, SceneSound, heard_speech
from desk.sound.reading import Samples, read_sound

LANES = ("dialogue", "effects", "music")
EDGE_SAMPLES = 96
"""A sound that begins or ends in the middle of a wave clicks: 2 ms of ramp (common practice, no source)."""

SEAM_SAMPLES = 960
"""How long one part of a piece of music fades into the next: 20 ms, too short to be heard as two sounds, and
long enough not to click (common practice, no source)."""

_QUARTER = np.pi / 2
_SAMPLE_BYTES = 8
_BLOCK_SAMPLES = 20 * SAMPLE_RATE_HZ
_LONGEST_PERIOD = 4 * SAMPLE_RATE_HZ
"""What is read in vain to meet the source there: some hundredths of a second of work."""


@dataclass(frozen=True, slots=True)
class Stem:
    """A scene's sound of one lane.

    Attributes:
        path: Samples as 32-bit floats, little-endian, left and right in turn.
        start_sample: Where it begins, from the start of the scene; may be before it.
    """

    path: Path
    start_sample: int


def stem_range(sound: SceneSound, lane: str, rate: Rate) -> tuple[int, int] | None:
    """Return the first sample of a scene's lane and the one after its last, or None where it is silent."""
    own = [span for span in sound.spans if span.kind == lane]
    if not own:
        return None
    first = min(rate.samples(span.start_frames) for span in own)
    return first, max(rate.samples(span.end_frames) for span in own)


def write_stem(
    sound: SceneSound,
    lane: str,
    rate: Rate,
    files: Mapping[str, Path],
    media: Mapping[str, MediaFacts],
    target: Path,
    *,
    cancel: CancelToken,
) -> None:
    """Write a scene's lane as samples.

    Args:
        sound: The scene.
        lane: Which lane; it has to have a span.
        rate: The film's rate.
        files: Where each file is.
        media: What was read of each.
        target: The file to write.
        cancel: Stops it.

    Raises:
        MediaError: when a file can't be read.
        Cancelled: when stopped on request.
    """
    bounds = stem_range(sound, lane, rate)
    if bounds is None:
        raise ValueError(f"scene {sound.scene} has nothing in its {lane} lane")
    voices = [
        Voice(take, files, media)
        for span in sound.spans
        if span.kind == lane
        for take in takes_of(span, sound, rate)
    ]
    with contextlib.ExitStack() as stack:
        stream = stack.enter_context(target.open("wb"))
        for voice in voices:
            stack.callback(voice.close)
        for at in range(*bounds, _BLOCK_SAMPLES):
            cancel.check()
            block = np.zeros((min(at + _BLOCK_SAMPLES, bounds[1]) - at, 2), np.float32)
            for voice in voices:
                voice.add_to(block, at)
            stream.write(block.astype("<f4").tobytes())


def mixed(stems: Sequence[tuple[int, Stem]], samples: int, block_samples: int) -> Iterator[Samples]:
    """Give the sum of stems in blocks, from the film's first sample to its last.

    Args:
        stems: Each with the sample on which its scene starts in the film.
        samples: Length of the film.
        block_samples: How many samples a block has; the last may be shorter.
    """
    placed = [
        (start + stem.start_sample, stem.path.stat().st_size // _SAMPLE_BYTES, stem.path)
        for start, stem in stems
    ]
    for first in range(0, samples, block_samples):
        end = min(first + block_samples, samples)
        block = np.zeros((end - first, 2), np.float32)
        for start, length, path in placed:
            low, high = max(first, start), min(end, start + length)
            if low < high:
                block[low - first : high - first] += _read(path, low - start, high - low)
        yield block


def _read(path: Path, first: int, count: int) -> Samples:
    """Return part of a stem. Read and not mapped, which would count all of it as this program's memory."""
    return np.fromfile(path, "<f4", 2 * count, offset=first * _SAMPLE_BYTES).reshape(-1, 2)


@dataclass(frozen=True, slots=True)
class Take:
    """A stretch of a file that sounds without a seam: a span, or one part of a piece of music.

    Attributes:
        span: What it belongs to.
        first: Its first sample, from the scene's start.
        end: The sample after its last.
        in_seconds: Place in the file of its first sample.
        shape: How loud it is over time.
    """

    span: Span
    first: int
    end: int
    in_seconds: Fraction
    shape: "Shape"


def takes_of(span: Span, sound: SceneSound, rate: Rate) -> tuple[Take, ...]:
    """Return what is to be read for a span, in the order in which it sounds.

    Args:
        span: The span.
        sound: The scene that it sounds in.
        rate: The film's rate.
    """
    shape = Shape.of(span, sound, rate)
    ranges = take_ranges(span, rate)
    if not span.parts:
        ((first, end),) = ranges
        return (Take(span, first, end, _first_sample_seconds(span, rate), shape),)
    seams = _seams(span, rate)
    found = []
    start_seconds = rate.seconds(span.start_frames)
    for index, (part, (first, end)) in enumerate(zip(span.parts, ranges, strict=True)):
        in_seconds = part.in_seconds + Fraction(first, SAMPLE_RATE_HZ) - start_seconds
        start_seconds += part.length_seconds
        inner = shape
        if index:
            inner = inner.rising(seams[index - 1])
        if index < len(seams):
            inner = inner.falling(seams[index])
        elif end < shape.end:
            inner = inner.falling((max(first, end - EDGE_SAMPLES), end))
        found.append(Take(span, first, end, in_seconds, inner))
    return tuple(found)


def take_ranges(span: Span, rate: Rate) -> tuple[tuple[int, int], ...]:
    """Return the first sample of each take of a span, from the scene's start, and the one after its last."""
    first, end = rate.samples(span.start_frames), rate.samples(span.end_frames)
    if not span.parts:
        return ((first, end),)
    seams = _seams(span, rate)
    last = min(end, _part_ends(span, rate)[-1])
    return tuple(zip((first, *(low for low, _ in seams)), (*(high for _, high in seams), last), strict=True))


def _part_ends(span: Span, rate: Rate) -> list[int]:
    """Return the sample on which each part ends, from the scene's start: counted as a whole, not summed."""
    seconds, ends = rate.seconds(span.start_frames), []
    for part in span.parts:
        seconds += part.length_seconds
        ends.append(math.floor(seconds * SAMPLE_RATE_HZ + Fraction(1, 2)))
    return ends


def _seams(span: Span, rate: Rate) -> list[tuple[int, int]]:
    """Return where each part fades into the next; less long where a part is shorter than that."""
    edges = [rate.samples(span.start_frames), *_part_ends(span, rate)]
    lengths = [end - start for start, end in itertools.pairwise(edges)]
    found = []
    for index, edge in enumerate(edges[1:-1]):
        half = min(SEAM_SAMPLES // 2, lengths[index] // 2, lengths[index + 1] // 2)
        found.append((edge - half, edge + half))
    return found


class Voice:
    """A take being read, from its first sample or a later one to its last."""

    def __init__(
        self,
        take: Take,
        files: Mapping[str, Path],
        media: Mapping[str, MediaFacts],
        *,
        first: int | None = None,
    ) -> None:
        """Make ready; the file is opened when the first sample is asked for.

        Args:
            take: What is read.
            files: Where each file is.
            media: What was read of each.
            first: The sample of the scene to begin with, within the take; None for the take's first. It gives
                what it would have given if read from the take's first, as far as the file's coding allows.
        """
        span = take.span
        facts = media[span.file]
        skip = 0 if first is None else first - take.first
        early = skip % _period(facts, span.speed) + preroll_samples(span.chain)
        self._take = take
        self._at = take.first + skip
        self._early = early
        self._rest = np.zeros((0, 2), np.float32)
        self._source = read_sound(
            files[span.file],
            facts,
            in_seconds=take.in_seconds + Fraction(skip - early, SAMPLE_RATE_HZ) * span.speed,
            samples=take.end - self._at + early,
            speed=span.speed,
        )
        self._blocks = chained(self._source, span.chain)

    def add_to(self, block: Samples, block_first: int) -> None:
        """Add the next samples to a block of the lane, where they belong."""
        end = min(self._take.end, block_first + len(block))
        while self._at < end:
            if not len(self._rest):
                self._rest = self._next()
            part, self._rest = self._rest[: end - self._at], self._rest[end - self._at :]
            start = self._at - block_first
            block[start : start + len(part)] += part * self._take.shape.gains(self._at, len(part))[:, None]
            self._at += len(part)

    def close(self) -> None:
        """Close the file."""
        self._source.close()

    def _next(self) -> Samples:
        block = next(self._blocks)
        early, self._early = self._early, max(0, self._early - len(block))
        return block[early:]


def _period(facts: MediaFacts, speed: Fraction) -> int:
    """Return after how many samples a resampler's place in the source is a whole number of samples further.

    Begun a multiple of that later, it meets the source at the same parts of its samples. 1 where there is
    none, and where it would take too long to get there.
    """
    if facts.sound is None:
        return 1
    step = facts.sound.sample_rate_hz * speed / SAMPLE_RATE_HZ
    return step.denominator if step.denominator <= _LONGEST_PERIOD else 1


def _first_sample_seconds(span: Span, rate: Rate) -> Fraction:
    """Return the place in the file of a span's first sample, up to half a sample beside its first frame."""
    beside = Fraction(rate.samples(span.start_frames), SAMPLE_RATE_HZ) - rate.seconds(span.start_frames)
    return span.in_seconds + beside * span.speed


@dataclass(frozen=True, slots=True)
class Shape:
    """Where a span is in its scene, in samples, and how loud it is over time."""

    first: int
    end: int
    level: float
    rises: tuple[tuple[int, int], ...]
    falls: tuple[tuple[int, int], ...]
    duck: tuple[DuckPoint, ...] = ()

    @classmethod
    def of(cls, span: Span, sound: SceneSound, rate: Rate) -> "Shape":
        """Return the shape of a span.

        Args:
            span: The span.
            sound: The scene that it sounds in.
            rate: The film's rate.
        """
        others = [other for other in sound.spans if other.kind == span.kind]
        first, end = rate.samples(span.start_frames), rate.samples(span.end_frames)
        rises = [(first, first + _fade(span.fade_in_frames, rate, not _continued(others, span, -1, rate)))]
        falls = [(end - _fade(span.fade_out_frames, rate, not _continued(others, span, 1, rate)), end)]
        # What is meant to reach beyond a join is not faded by it.
        if span.start_frames >= sound.opening.start_frames:
            rises.append(_in_samples(sound.opening, rate))
        if span.end_frames <= sound.closing.end_frames:
            falls.append(_in_samples(sound.closing, rate))
        duck = duck_points(span.duck, heard_speech(span, sound, rate)) if span.duck else ()
        return cls(first, end, 10 ** (span.gain_db / 20), tuple(rises), tuple(falls), duck)

    def rising(self, passage: tuple[int, int]) -> "Shape":
        """Return the shape with a rise more."""
        return dataclasses.replace(self, rises=(*self.rises, passage))

    def falling(self, passage: tuple[int, int]) -> "Shape":
        """Return the shape with a fall more."""
        return dataclasses.replace(self, falls=(*self.falls, passage))

    def gains(self, at: int, count: int) -> NDArray[np.float32]:
        """Return the gain of `count` samples from `at`: quarters of a sine, so that crossings keep power."""
        gains = np.full(count, self.level, np.float32)
        place = np.arange(at, at + count) + 0.5
        for low, high in self.rises:
            if high > low and at < high:
                gains *= np.sin(_QUARTER * np.clip((place - low) / (high - low), 0, 1)).astype(np.float32)
        for low, high in self.falls:
            if high > low and at + count > low:
                gains *= np.cos(_QUARTER * np.clip((place - low) / (high - low), 0, 1)).astype(np.float32)
        if self.duck:
            gains *= gains_of(self.duck, at, count)
        return gains


def _fade(frames: int, rate: Rate, edge: bool) -> int:
    return max(rate.samples(frames), EDGE_SAMPLES if edge else 0)


def _in_samples(passage: Passage, rate: Rate) -> tuple[int, int]:
    return rate.samples(passage.start_frames), rate.samples(passage.end_frames)


def _continued(others: list[Span], span: Span, side: int, rate: Rate) -> bool:
    """Return whether the same sound goes on without a seam before (-1) or after (1) a span."""
    for other in others:
        before, after = (span, other) if side > 0 else (other, span)
        if (
            other is not span
            and before.file == after.file
            and before.end_frames == after.start_frames
            and before.speed == after.speed
            and before.gain_db == after.gain_db
            and before.chain == after.chain
            and not before.parts
            and not after.parts
            and before.in_seconds + rate.seconds(before.length_frames) * before.speed == after.in_seconds
        ):
            return True
    return False
