"""Saving without being asked.

The journal is written shortly after each edit, the film file when the person pauses, both in a thread: a kill
at any moment costs what was done in the last second. Leaving saves first.
"""

import contextlib
import functools
import threading
from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QElapsedTimer, QObject, QTimer, Signal

from desk.errors import DeskError
from desk.film.model import Film
from desk.jobs import CancelToken, ProgressListener
from desk.store.journal import Journal
from desk.store.project import OpenFilm, new_project
from desk.store.save import save_film
from desk.ui.job_runner import Job, JobRunner, Lane
from desk.ui.session import Session

JOURNAL_MS = 800
"""From an edit to its journal, at most; writing it more often would hold up who edits quickly."""
SAVE_MS = 1500
"""From the last edit to the film file."""
LONGEST_UNSAVED_MS = 10_000
"""Somebody who never pauses is saved this often."""


class FilmFile:
    """The film file and its journal on disk, for any thread; writes never overtake each other."""

    def __init__(self, opened: OpenFilm) -> None:
        self._lock = threading.Lock()
        self._opened = opened
        self._journal = Journal(opened.folder)
        self._latest = 0

    @property
    def opened(self) -> OpenFilm:
        """The film as it was opened or last saved."""
        return self._opened

    def save(self, film: Film, number: int) -> None:
        """Save a film, unless a later one was written already.

        Args:
            film: The film.
            number: Rises from one film to the next.

        Raises:
            FilmFileError: as `desk.store.save.save_film`.
            OutputError: when the disk refuses.
        """
        with self._lock:
            if number >= self._latest:
                self._opened = save_film(self._opened, film)
                self._latest = number
                # Saving leaves a journal of another film alone; this one is ours, and older.
                with contextlib.suppress(DeskError):
                    self._journal.clear()

    def write_journal(self, film: Film, number: int) -> None:
        """Put a film in the journal, unless a later one was written already.

        Raises:
            FilmFileError: when the film holds what a film file can't.
            OutputError: when the disk refuses.
        """
        with self._lock:
            if number > self._latest:
                self._journal.write(film, base=self._opened.revision)
                self._latest = number


class Saving(QObject):
    """Keeps the film file as the film is.

    Signals:
        saved: The film file holds the film as it is now.
        unsaved: It does not any more.
        failed: The disk refused; the error. Told once, until a save succeeds again.
    """

    saved = Signal()
    unsaved = Signal()
    failed = Signal(object)

    def __init__(
        self, session: Session, opened: OpenFilm, jobs: JobRunner, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._session = session
        self._file = FilmFile(opened)
        self._jobs = jobs
        self._saved_film = opened.film
        self._number = 0
        self._fault: DeskError | None = None
        self._since = QElapsedTimer()
        self._journal_timer = QTimer(self, singleShot=True, interval=JOURNAL_MS)
        self._journal_timer.timeout.connect(self._write_journal)
        self._save_timer = QTimer(self, singleShot=True, interval=SAVE_MS)
        self._save_timer.timeout.connect(self._save)
        if not session.read_only:
            session.changed.connect(self._on_changed)

    @property
    def is_saved(self) -> bool:
        """Whether the film file holds the film as it is now."""
        return self._session.film == self._saved_film

    @property
    def fault(self) -> DeskError | None:
        """Why the last save failed, or None."""
        return self._fault

    @property
    def opened(self) -> OpenFilm:
        """The film as it was opened or last saved."""
        return self._file.opened

    def save_now(self) -> None:
        """Save at once and wait for it: for leaving, and before an assembly.

        Raises:
            FilmFileError: as `desk.store.save.save_film`.
            OutputError: when the disk refuses.
        """
        if self._session.read_only or self.is_saved:
            return
        self._stop_timers()
        film = self._session.film
        try:
            self._file.save(film, self._next_number())
        except DeskError as error:
            self._on_failed(error)
            raise
        self._on_saved(film)

    def save_copy(self, folder: Path) -> None:
        """Save the film as it is now in another folder, which is then a project of its own.

        Raises:
            FilmFileError: when that folder holds a film already.
            OutputError: when the disk refuses.
        """
        new_project(folder, self._session.film)

    def drop_journal(self) -> None:
        """Forget the edits that a crash left; a fault of the disk leaves them to be asked about again."""
        with contextlib.suppress(DeskError):
            Journal(self._session.folder).clear()

    def stop(self) -> None:
        """Save no more by itself; what is not saved by now is lost."""
        self._stop_timers()

    def _on_changed(self) -> None:
        if self.is_saved:
            # What was undone may stand in the journal: it is written again, and settles it.
            self._save_timer.start(SAVE_MS)
            self.saved.emit()
            return
        if not self._since.isValid():
            self._since.start()
        self.unsaved.emit()
        if not self._journal_timer.isActive():
            self._journal_timer.start()
        # Every edit puts the save off, but not for ever.
        self._save_timer.start(0 if self._since.elapsed() >= LONGEST_UNSAVED_MS else SAVE_MS)

    def _write_journal(self) -> None:
        if not self.is_saved:
            self._start("write the journal", self._file.write_journal)

    def _save(self) -> None:
        self._start("save", self._file.save).succeeded.connect(self._on_saved)

    def _start(self, name: str, write: Callable[[Film, int], None]) -> Job:
        film = self._session.film
        work = functools.partial(_written, write, film, self._next_number())
        job = self._jobs.start(name, work, lane=Lane.SAVING)
        job.failed.connect(self._on_failed)
        return job

    def _next_number(self) -> int:
        self._number += 1
        return self._number

    def _on_saved(self, film: object) -> None:
        assert isinstance(film, Film)
        self._saved_film = film
        self._fault = None
        if self.is_saved:
            self._since.invalidate()
            self.saved.emit()

    def _on_failed(self, error: object) -> None:
        first = self._fault is None
        if isinstance(error, DeskError):
            self._fault = error
        if first:
            self.failed.emit(error)

    def _stop_timers(self) -> None:
        self._journal_timer.stop()
        self._save_timer.stop()


def _written(
    write: Callable[[Film, int], None], film: Film, number: int, _: ProgressListener, __: CancelToken
) -> Film:
    write(film, number)
    return film
