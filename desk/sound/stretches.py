"""A film's sound in stretches that are worked on side by side.

Each comes with so much of the sound around it that working on it gives, within it and its laps, the very
samples that working on all of the film would. So what is made of a stretch can be named by the samples that
go in, and is found again where they did not change.
"""

import hashlib
import itertools
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from desk.sound.aac import LAP_PACKETS, PACKET_SAMPLES
from desk.sound.limiter import FRAME_SAMPLES
from desk.sound.loudness import STEP_SAMPLES
from desk.sound.reading import Samples

STRETCH_PACKETS = 1200
"""25.6 s: whole packets of the encoder, whole frames of the limiter and whole steps of 100 ms."""

LAP_SAMPLES = LAP_PACKETS * PACKET_SAMPLES
LEAD_SAMPLES = 4 * STEP_SAMPLES
"""Measuring begins so much earlier: the block of 400 ms that ends with the first step, and 100 ms in which
the filter of BS.1770 forgets that there was silence."""

_BEFORE_SAMPLES = 8 * FRAME_SAMPLES
"""A second before all of that, the limiter begins: it has come back from 38 dB by then."""

_AFTER_SAMPLES = LAP_SAMPLES + FRAME_SAMPLES


@dataclass(frozen=True, slots=True, eq=False)
class Stretch:
    """A stretch of a film's sound, with what is around it.

    Attributes:
        samples: The samples, beginning before the stretch and ending after it.
        start: On which sample of the film the stretch itself starts.
        before: How many of the samples are before it.
        length: How many are its own.
    """

    samples: Samples
    start: int
    before: int
    length: int

    @property
    def after(self) -> int:
        """How many of the samples are after it."""
        return len(self.samples) - self.before - self.length

    def within(self, before: int, after: int) -> "Stretch":
        """Return it with less around it.

        Args:
            before: How many samples before it are kept at most.
            after: How many after it.
        """
        first = max(0, self.before - before)
        end = len(self.samples) - max(0, self.after - after)
        return Stretch(self.samples[first:end], self.start, self.before - first, self.length)

    def digest(self) -> str:
        """Return a hash of all that decides what is made of it."""
        made = hashlib.blake2b(digest_size=16)
        made.update(f"{self.before} {self.length} ".encode())
        made.update(np.ascontiguousarray(self.samples).data)
        return made.hexdigest()


def stretches(blocks: Iterator[Samples], packets: int = STRETCH_PACKETS) -> Iterator[Stretch]:
    """Cut a film's sound into stretches; memory holds one and a block.

    Args:
        blocks: The film's sound in blocks of any length.
        packets: How many packets of the encoder each has; the last takes what is left, if that is no more
            than a lap too.
    """
    length = packets * PACKET_SAMPLES
    held: list[Samples] = []
    first = count = 0  # where the held samples start, and how many they are
    for index in itertools.count():
        start = index * length
        end = start + length + _AFTER_SAMPLES
        # One more tells whether something is left for another stretch.
        while first + count <= end and (block := next(blocks, None)) is not None:
            held.append(block)
            count += len(block)
        samples = np.concatenate(held) if held else np.zeros((0, 2), np.float32)
        before = start - first
        if first + count <= start + length + LAP_SAMPLES:
            yield Stretch(samples, start, before, count - before)
            return
        yield Stretch(samples[: end - first], start, before, length)
        keep = max(0, start + length - _BEFORE_SAMPLES)
        held = [samples[keep - first :]]
        first, count = keep, len(held[0])
