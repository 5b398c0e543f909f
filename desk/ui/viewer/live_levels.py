"""How loud the sound is that is being played, found where it is read, before it is heard."""

import collections
import threading
from collections.abc import Generator, Iterator
from dataclasses import dataclass

import numpy as np

from desk.film.rates import SAMPLE_RATE_HZ
from desk.sound.filtering import filtered
from desk.sound.loudness import SILENT_LUFS, STEP_SAMPLES
from desk.sound.reading import Samples

PEAK_SAMPLES = SAMPLE_RATE_HZ // 50
"""Highest samples are told for each 20 ms, so that a meter that is drawn 25 times a second misses none."""

FULL_SCALE = 1.0

_MOST_SECONDS = 60
"""What nobody takes is forgotten beyond this."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Heard:
    """What was heard in a moment.

    Attributes:
        peaks: Highest sample of the left and the right, 1.0 for full scale; None where nothing was heard.
        momentary_lufs: Loudness of the 400 ms before its end, or None where that is silent or not whole yet.
        short_term_lufs: Of the 3 s before its end.
    """

    peaks: tuple[float, float] | None = None
    momentary_lufs: float | None = None
    short_term_lufs: float | None = None


class LiveLevels:
    """Measures a run of sound on its way to the device, and tells it by the sample that is heard.

    Written in the thread that reads, and taken in any other. Blocks pass as they are.
    """

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._peaks: collections.deque[tuple[int, float, float]] = collections.deque(
            maxlen=_MOST_SECONDS * SAMPLE_RATE_HZ // PEAK_SAMPLES
        )
        self._loudness: collections.deque[tuple[int, float | None, float | None]] = collections.deque(
            maxlen=_MOST_SECONDS * SAMPLE_RATE_HZ // STEP_SAMPLES
        )
        self._last: tuple[float | None, float | None] = (None, None)
        self._left = np.zeros((0, 2), np.float32)
        self._peak_at = 0
        self._loudness_at = 0

    def through(self, blocks: Generator[Samples]) -> Generator[Samples]:
        """Give the same blocks, measured; once for each run. Closing it closes them."""
        passing: collections.deque[Samples] = collections.deque()

        def taken() -> Iterator[Samples]:
            for block in blocks:
                passing.append(block)
                self._take_peaks(block)
                yield block

        try:
            for frame in filtered(taken(), [("ebur128", "metadata=1")]):
                # FFmpeg tells nothing of a last step that is not whole.
                if told := frame.metadata:
                    self._take_loudness(float(told["lavfi.r128.M"]), float(told["lavfi.r128.S"]))
                while passing:
                    yield passing.popleft()
            yield from passing
        finally:
            blocks.close()

    def take(self, until: int) -> Heard:
        """Return what was heard since it was last asked.

        Args:
            until: How many samples of the run were heard so far.
        """
        left = right = -1.0
        with self._lock:
            while self._peaks and self._peaks[0][0] <= until:
                _, at_left, at_right = self._peaks.popleft()
                left, right = max(left, at_left), max(right, at_right)
            while self._loudness and self._loudness[0][0] <= until:
                self._last = self._loudness.popleft()[1:]
            momentary, short_term = self._last
        return Heard(
            peaks=(left, right) if left >= 0 else None, momentary_lufs=momentary, short_term_lufs=short_term
        )

    def _take_peaks(self, block: Samples) -> None:
        samples = np.concatenate([self._left, block]) if len(self._left) else block
        count = len(samples) // PEAK_SAMPLES
        self._left = samples[count * PEAK_SAMPLES :]
        if not count:
            return
        highest = np.abs(samples[: count * PEAK_SAMPLES]).reshape(count, PEAK_SAMPLES, 2).max(axis=1)
        with self._lock:
            for left, right in highest.tolist():
                self._peak_at += PEAK_SAMPLES
                self._peaks.append((self._peak_at, left, right))

    def _take_loudness(self, momentary: float, short_term: float) -> None:
        self._loudness_at += STEP_SAMPLES
        with self._lock:
            self._loudness.append((self._loudness_at, _audible(momentary), _audible(short_term)))


def _audible(lufs: float) -> float | None:
    return lufs if lufs > SILENT_LUFS else None
