"""In which order frames are played, and on which sample each begins."""

from collections.abc import Generator, Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from desk.film.media import MediaFacts
from desk.film.rates import SAMPLE_RATE_HZ, Rate
from desk.sound.reading import Samples
from desk.sound.streaming import Track, stream


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """A run of frames that is played once, or goes on with a range again and again.

    Steps count the frames as they are played, from 0; samples count what is heard, from 0.

    Attributes:
        rate: Frames a second.
        start: The first frame.
        end: The frame after the last.
        again: The frame with which it goes on after the last, or None to end there.
    """

    rate: Rate
    start: int
    end: int
    again: int | None = None

    def __post_init__(self) -> None:
        if not self.start < self.end or (self.again is not None and self.again >= self.end):
            raise ValueError(f"nothing is played from {self.start} to {self.end}")

    @property
    def steps(self) -> int | None:
        """How many frames are played, or None for one without an end."""
        return self.end - self.start if self.again is None else None

    def frame(self, step: int) -> int:
        """Return the frame that a step shows."""
        first_pass = self.end - self.start
        if step < first_pass or self.again is None:
            return self.start + step
        return self.again + (step - first_pass) % (self.end - self.again)

    def sample(self, step: int) -> int:
        """Return the sample on which a step begins."""
        first_pass = self.end - self.start
        if step < first_pass or self.again is None:
            return self._between(self.start, self.start + step)
        rounds, rest = divmod(step - first_pass, self.end - self.again)
        whole = self._between(self.again, self.end)
        return (
            self._between(self.start, self.end)
            + rounds * whole
            + self._between(self.again, self.again + rest)
        )

    def step(self, sample: int) -> int:
        """Return the step that is on at a sample; beyond the end it goes on counting."""
        first_pass = self._between(self.start, self.end)
        if sample < first_pass or self.again is None:
            return self._frame_at(self.start, sample) - self.start
        rounds, rest = divmod(sample - first_pass, self._between(self.again, self.end))
        into = self._frame_at(self.again, rest) - self.again
        return self.end - self.start + rounds * (self.end - self.again) + into

    def sound(
        self, track: Track, files: Mapping[str, Path], media: Mapping[str, MediaFacts]
    ) -> Generator[Samples]:
        """Give what is heard, in blocks."""
        start = self.start
        while True:
            left = self._between(start, self.end)
            blocks = stream(track, files, media, first=self.rate.samples(start))
            try:
                for block in blocks:
                    yield block[:left]
                    left -= len(block)
                    if left <= 0:
                        break
            finally:
                blocks.close()
            if left > 0:
                yield np.zeros((left, 2), np.float32)
            if self.again is None:
                return
            start = self.again

    def _between(self, first: int, end: int) -> int:
        return self.rate.samples(end) - self.rate.samples(first)

    def _frame_at(self, start: int, sample: int) -> int:
        """Return the last frame that begins on or before a sample after the start of a frame."""
        target = self.rate.samples(start) + sample
        frame = target * self.rate.numerator // (self.rate.denominator * SAMPLE_RATE_HZ)
        # A frame's sample is rounded: the division may be one off.
        while self.rate.samples(frame + 1) <= target:
            frame += 1
        while self.rate.samples(frame) > target:
            frame -= 1
        return frame
