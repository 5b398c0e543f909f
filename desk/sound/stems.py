"""Stems: the dialogue, effects and music of a scene as samples, placed by sample.

A film frame f starts on sample round(f × 48000 / rate), counted from the start of what it belongs to: the
scene for what is in it, the film for the scene. So nothing drifts, and a stem is the same wherever it stands.
"""

import contextlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np

from desk.film.lanes import Span
from desk.film.media import MediaFacts
from desk.film.rates import SAMPLE_RATE_HZ, Rate
from desk.jobs import CancelToken
from desk.sound.plan import Passage, SceneSound
from desk.sound.reading import Samples, read_sound

LANES = ("dialogue", "effects", "music")
EDGE_SAMPLES = 96
"""A sound that begins or ends in the middle of a wave clicks: 2 ms of ramp (common practice, no source)."""

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
    own = [span for span in sound.spans if span.kind == lane]
    voices = [Voice(span, Shape.of(span, own, sound, rate), rate, files, media) for span in own]
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


class Voice:
    """A span being read, from its first sample or a later one to its last."""

    def __init__(
        self,
        span: Span,
        shape: "Shape",
        rate: Rate,
        files: Mapping[str, Path],
        media: Mapping[str, MediaFacts],
        *,
        first: int | None = None,
    ) -> None:
        """Make ready; the file is opened when the first sample is asked for.

        Args:
            span: What is read.
            shape: Where it is in its scene, and how loud.
            rate: The film's rate.
            files: Where each file is.
            media: What was read of each.
            first: The sample of the scene to begin with, within the span; None for the span's first. It gives
                what it would have given if read from the span's first, as far as the file's coding allows.
        """
        facts = media[span.file]
        skip = 0 if first is None else first - shape.first
        early = skip % _period(facts, span.speed)
        self._shape = shape
        self._at = shape.first + skip
        self._early = early
        self._rest = np.zeros((0, 2), np.float32)
        self._blocks = read_sound(
            files[span.file],
            facts,
            in_seconds=_first_sample_seconds(span, rate)
            + Fraction(skip - early, SAMPLE_RATE_HZ) * span.speed,
            samples=shape.end - self._at + early,
            speed=span.speed,
        )

    def add_to(self, block: Samples, block_first: int) -> None:
        """Add the next samples to a block of the lane, where they belong."""
        end = min(self._shape.end, block_first + len(block))
        while self._at < end:
            if not len(self._rest):
                self._rest = self._next()
            part, self._rest = self._rest[: end - self._at], self._rest[end - self._at :]
            start = self._at - block_first
            block[start : start + len(part)] += part * self._shape.gains(self._at, len(part))[:, None]
            self._at += len(part)

    def close(self) -> None:
        """Close the file."""
        self._blocks.close()

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

    @classmethod
    def of(cls, span: Span, others: list[Span], sound: SceneSound, rate: Rate) -> "Shape":
        """Return the shape of a span.

        Args:
            span: The span.
            others: All spans of its lane, with it.
            sound: The scene that it sounds in.
            rate: The film's rate.
        """
        first, end = rate.samples(span.start_frames), rate.samples(span.end_frames)
        rises = [(first, first + _fade(span.fade_in_frames, rate, not _continued(others, span, -1, rate)))]
        falls = [(end - _fade(span.fade_out_frames, rate, not _continued(others, span, 1, rate)), end)]
        # What is meant to reach beyond a join is not faded by it.
        if span.start_frames >= sound.opening.start_frames:
            rises.append(_in_samples(sound.opening, rate))
        if span.end_frames <= sound.closing.end_frames:
            falls.append(_in_samples(sound.closing, rate))
        return cls(first, end, 10 ** (span.gain_db / 20), tuple(rises), tuple(falls))

    def gains(self, at: int, count: int) -> np.ndarray:
        """Return the gain of `count` samples from `at`: quarters of a sine, so that crossings keep power."""
        gains = np.full(count, self.level, np.float32)
        place = np.arange(at, at + count) + 0.5
        for low, high in self.rises:
            if high > low and at < high:
                gains *= np.sin(_QUARTER * np.clip((place - low) / (high - low), 0, 1)).astype(np.float32)
        for low, high in self.falls:
            if high > low and at + count > low:
                gains *= np.cos(_QUARTER * np.clip((place - low) / (high - low), 0, 1)).astype(np.float32)
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
            and before.in_seconds + rate.seconds(before.length_frames) * before.speed == after.in_seconds
        ):
            return True
    return False
