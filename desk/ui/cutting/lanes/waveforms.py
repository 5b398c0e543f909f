"""Outlines of the film's sounds for drawing, made beside the window and kept in the project folder."""

import functools
from collections import OrderedDict
from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QObject, Signal

from desk.film.media import MediaFacts
from desk.jobs import CancelToken, ProgressListener
from desk.sound.waveform import Waveform, outline_of_file, waveform_key
from desk.ui.bench import Bench
from desk.ui.cutting.lanes.waveform_files import WaveformFiles
from desk.ui.job_runner import Job

LIMIT_BYTES = 64 << 20
"""Outlines held in memory: 22 hours of sound, each second 857 bytes."""

_MOST_ASKED = 400
"""What scrolled by and was not reached is forgotten beyond this."""

MakeOutline = Callable[..., Waveform]
"""`desk.sound.waveform.outline_of_file`, or what stands in for it."""


class Waveforms(QObject):
    """Outlines of sounds by path.

    Those asked for last are made first. A file that can't be read is not tried again until it changes.

    Signals:
        made: The outline of a file is there now, or is to be asked for again because its file is another
            one; its path in the film.
    """

    made = Signal(str)

    def __init__(
        self,
        bench: Bench,
        parent: QObject | None = None,
        *,
        make: MakeOutline = outline_of_file,
        limit_bytes: int = LIMIT_BYTES,
    ) -> None:
        """Make ready; nothing is read before it is asked for.

        Args:
            bench: The film, its files and what runs the work.
            parent: Who owns it.
            make: What reads a file's sound.
            limit_bytes: What outlines may take in memory; those not used for longest go.
        """
        super().__init__(parent)
        self._bench = bench
        self._make = make
        self._files = WaveformFiles(bench.session.folder)
        self._limit_bytes = limit_bytes
        self._bytes = 0
        self._held: OrderedDict[str, tuple[MediaFacts, Waveform]] = OrderedDict()
        self._asked: dict[str, None] = {}
        self._unreadable: set[str] = set()
        self._job: Job | None = None
        self._making: tuple[str, MediaFacts] | None = None
        bench.media.changed.connect(self._on_media_changed)

    def waveform(self, path: str) -> Waveform | None:
        """Return the outline of a file's sound, or None and make it beside the window."""
        held = self._held.get(path)
        if held is not None:
            self._held.move_to_end(path)
            return held[1]
        if self._facts(path) is not None and path not in self._unreadable:
            self._asked.pop(path, None)
            self._asked[path] = None
            if len(self._asked) > _MOST_ASKED:
                del self._asked[next(iter(self._asked))]
            self._start_next()
        return None

    def _facts(self, path: str) -> MediaFacts | None:
        facts = self._bench.media.facts.get(path)
        return facts if isinstance(facts, MediaFacts) and facts.sound else None

    def _start_next(self) -> None:
        while self._asked and self._job is None:
            path, _ = self._asked.popitem()
            facts = self._facts(path)
            if facts is None:
                continue
            work = functools.partial(_make, self._bench.session.folder / path, facts, self._files, self._make)
            try:
                job = self._bench.jobs.start("outline a sound", work)
            except RuntimeError:
                return  # the window is being closed
            self._job, self._making = job, (path, facts)
            job.succeeded.connect(self._on_made)
            job.failed.connect(self._on_failed)
            job.finished.connect(self._on_finished)

    def _on_made(self, result: object) -> None:
        assert isinstance(result, Waveform)
        assert self._making is not None
        path, facts = self._making
        if self._facts(path) != facts:
            return  # of a file that is another one by now
        self._let_go(path)
        self._held[path] = (facts, result)
        self._bytes += _bytes_of(result)
        while self._bytes > self._limit_bytes and len(self._held) > 1:
            self._let_go(next(iter(self._held)))
        self.made.emit(path)

    def _on_failed(self) -> None:
        assert self._making is not None
        self._unreadable.add(self._making[0])

    def _on_finished(self) -> None:
        self._job = self._making = None
        self._start_next()

    def _let_go(self, path: str) -> None:
        held = self._held.pop(path, None)
        if held is not None:
            self._bytes -= _bytes_of(held[1])

    def _on_media_changed(self, paths: frozenset[str]) -> None:
        for path in sorted(paths):
            self._unreadable.discard(path)
            held = self._held.get(path)
            if held is None or held[0] != self._facts(path):
                self._let_go(path)
                self.made.emit(path)


def _make(
    path: Path,
    facts: MediaFacts,
    files: WaveformFiles,
    make: MakeOutline,
    progress: ProgressListener,
    cancel: CancelToken,
) -> Waveform:
    """Return the outline of a file's sound as it was kept, or make and keep it; a job."""
    key = waveform_key(facts)
    kept = files.find(key)
    if kept is None:
        kept = make(path, facts, progress=progress, cancel=cancel)
        files.keep(key, kept)
    return kept


def _bytes_of(waveform: Waveform) -> int:
    return sum(item.low.nbytes + item.high.nbytes for item in waveform.outlines)
