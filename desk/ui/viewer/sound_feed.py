"""Sound that is read ahead, in a thread of its own."""

import collections
import logging
import threading
from collections.abc import Callable, Generator

import numpy as np

from desk.film.rates import SAMPLE_RATE_HZ
from desk.sound.reading import Samples

AHEAD_SAMPLES = SAMPLE_RATE_HZ
"""So much is kept ready: enough for a file that takes a while to open."""

Blocks = Callable[[], Generator[Samples]]

_log = logging.getLogger(__name__)


class SoundFeed:
    """Reads a run of sound ahead of what is taken of it. All but the reading may be used from any thread.

    Its thread runs from the first run to `close`.
    """

    def __init__(self) -> None:
        self._changed = threading.Condition()
        self._blocks: Blocks | None = None
        self._run = 0
        self._ready: collections.deque[Samples] = collections.deque()
        self._ready_samples = 0
        self._is_over = True
        self._is_closed = False
        self._thread: threading.Thread | None = None

    @property
    def ready_samples(self) -> int:
        """How many samples can be taken now."""
        return self._ready_samples

    @property
    def is_ready(self) -> bool:
        """Whether as much is ready as is kept, or all that is left."""
        with self._changed:
            return self._is_over or self._ready_samples >= AHEAD_SAMPLES // 4

    @property
    def is_over(self) -> bool:
        """Whether all was taken."""
        with self._changed:
            return self._is_over and not self._ready_samples

    def start(self, blocks: Blocks) -> None:
        """Read another run; what is left of the one before is dropped.

        Args:
            blocks: Called in the thread; gives the blocks, which are closed there too.
        """
        with self._changed:
            if self._is_closed:
                return
            self._begin(blocks)
            if self._thread is None:
                self._thread = threading.Thread(target=self._work, name="desk-viewer-sound", daemon=True)
                self._thread.start()

    def stop(self) -> None:
        """Read no further, and drop what is ready."""
        with self._changed:
            self._begin(None)

    def take(self, samples: int) -> Samples:
        """Return up to so many of the next samples; fewer where no more are ready."""
        taken: list[Samples] = []
        with self._changed:
            while samples > 0 and self._ready:
                block = self._ready.popleft()
                if len(block) > samples:
                    self._ready.appendleft(block[samples:])
                    block = block[:samples]
                taken.append(block)
                samples -= len(block)
                self._ready_samples -= len(block)
            self._changed.notify_all()
        return np.concatenate(taken) if taken else np.zeros((0, 2), np.float32)

    def close(self) -> None:
        """End the thread, and wait for it."""
        with self._changed:
            self._is_closed = True
            self._begin(None)
        if self._thread is not None:
            self._thread.join()
            self._thread = None

    def _begin(self, blocks: Blocks | None) -> None:
        self._run += 1
        self._blocks = blocks
        self._ready.clear()
        self._ready_samples = 0
        self._is_over = blocks is None
        self._changed.notify_all()

    def _work(self) -> None:
        while True:
            with self._changed:
                while self._blocks is None and not self._is_closed:
                    self._changed.wait()
                if self._is_closed:
                    return
                make, self._blocks, run = self._blocks, None, self._run
            assert make is not None
            try:
                self._read(make(), run)
            except Exception:  # noqa: BLE001 - a fault of our own ends the sound, and the picture goes on
                _log.exception("the sound could not be read")
            with self._changed:
                if run == self._run:
                    self._is_over = True

    def _read(self, blocks: Generator[Samples], run: int) -> None:
        try:
            for block in blocks:
                with self._changed:
                    while run == self._run and self._ready_samples >= AHEAD_SAMPLES:
                        self._changed.wait()
                    if run != self._run:
                        return
                    self._ready.append(block)
                    self._ready_samples += len(block)
        finally:
            blocks.close()
