"""Finds all missing files of the film in a folder at once, by what they are and not by their names alone."""

import functools
from collections.abc import Mapping
from pathlib import Path

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QFileDialog, QWidget

from desk.film import edits
from desk.film.edits import Edit
from desk.film.model import Film
from desk.film.wording import counted, listed, quoted
from desk.footage.seen_files import SeenFile, read_seen, seen_path
from desk.jobs import CancelToken, ProgressListener
from desk.store.folder import desk_folder
from desk.ui.bench import Bench
from desk.ui.job_runner import Job
from desk.ui.messages import Answer
from desk.ui.scene.clip_facts import file_name
from desk.ui.scene.relink_search import FolderRelinks, find_in_folder, locked_files
from desk.ui.scene.relinking import missing_files


def ask_for_place(parent: QWidget, start: Path) -> Path | None:
    """Ask for the folder where missing files are now and return it, or None."""
    chosen = QFileDialog.getExistingDirectory(parent, "Where are the missing files now?", str(start))
    return Path(chosen) if chosen else None


class FolderRelinking(QObject):
    """Looks for all missing files of the film in a folder and below it, and relinks them in one step.

    Signals:
        started: It looks now.
        finished: What was asked for is over; a `FolderRelinks`, or None where nothing was looked for.
    """

    started = Signal()
    finished = Signal(object)

    def __init__(self, bench: Bench, parent: QWidget) -> None:
        super().__init__(parent)
        self._bench = bench
        self._window = parent
        self._job: Job | None = None
        self._found: FolderRelinks | None = None

    @property
    def is_busy(self) -> bool:
        """Whether it is looking."""
        return self._job is not None

    def find(self) -> None:
        """Ask for a folder and look there."""
        if self._job is None:
            place = ask_for_place(self._window, self._bench.session.folder)
            if place is not None:
                self.look(place)

    def look(self, place: Path) -> None:
        """Look for all missing files of the film in a folder."""
        session = self._bench.session
        missing = missing_files(self._bench)
        if not missing:
            self._bench.messages.notice("No file of the film is missing, as far as is known.")
            self.finished.emit(None)
            return
        self._found = None
        work = functools.partial(_find, place, missing, session.folder, locked_files(session.film))
        self._job = self._bench.jobs.start("find missing files in a folder", work)
        self._job.succeeded.connect(self._on_found)
        self._job.failed.connect(self._bench.messages.fault)
        self._job.finished.connect(self._on_job_finished)
        self.started.emit()

    def stop(self) -> None:
        """Look no further; the film stays as it is."""
        if self._job is not None:
            self._job.cancel()

    def _on_found(self, found: object) -> None:
        assert isinstance(found, FolderRelinks)
        self._found = found
        moves = self._wanted(found)
        if not moves:
            self._bench.messages.notice(_not_found(found), urgent=True)
        elif self._bench.session.do(functools.partial(_relinked, moves=moves)):
            self._bench.messages.notice(_told(found, moves))

    def _wanted(self, found: FolderRelinks) -> dict[str, str]:
        """Return what is to be relinked; of files that are known by their names alone, the person decides."""
        if not found.by_name:
            return dict(found.moves)
        names = listed([quoted(file_name(path)) for path in found.by_name])
        sure = found.sure
        answer = self._bench.messages.ask(
            f"{names} {'was' if len(found.by_name) == 1 else 'were'} found by name alone.",
            "The film has not seen these files before, so whether they are the same can't be told. Look at "
            "the scenes that use them afterwards; it can be undone.",
            first=f"Relink {counted(len(found.moves), 'file')}",
            second=f"Only the {len(sure)} known" if sure else "",
        )
        if answer is Answer.FIRST:
            return dict(found.moves)
        return sure if answer is Answer.SECOND else {}

    def _on_job_finished(self) -> None:
        self._job = None
        self.finished.emit(self._found)


def _told(found: FolderRelinks, moves: Mapping[str, str]) -> str:
    names = listed([_as_now(old, new) for old, new in moves.items()])
    verb = "was" if len(moves) == 1 else "were"
    told = f"{counted(len(moves), 'file')} {verb} found in {quoted(found.place.name)}: {names}."
    return f"{told} {_left_words(found, moves)}".rstrip()


def _not_found(found: FolderRelinks) -> str:
    if found.moves:
        return "Nothing was relinked."
    return (
        f"No missing file of the film lies in {quoted(found.place.name)}. {_left_words(found, {})}".rstrip()
    )


def _left_words(found: FolderRelinks, moves: Mapping[str, str]) -> str:
    parts = []
    if found.strangers:
        names = listed([quoted(file_name(path)) for path in found.strangers])
        what = "is another file of that name" if len(found.strangers) == 1 else "are others of those names"
        parts.append(f"{names} there {what}, and {'was' if len(found.strangers) == 1 else 'were'} not taken.")
    left = [path for path in (*found.moves, *found.missing) if path not in moves]
    rest = [quoted(file_name(path)) for path in left if path not in found.strangers]
    if rest:
        parts.append(f"Still missing: {listed(rest)}.")
    return " ".join(parts)


def _as_now(old: str, new: str) -> str:
    name, now = file_name(old), file_name(new)
    return quoted(name) if name == now else f"{quoted(name)}, now {quoted(now)}"


def _relinked(film: Film, moves: Mapping[str, str]) -> Edit:
    return edits.relink_all(film, moves)


def _find(
    place: Path,
    missing: tuple[str, ...],
    folder: Path,
    locked: Mapping[str, SeenFile],
    progress: ProgressListener,
    cancel: CancelToken,
) -> FolderRelinks:
    known = {**read_seen(seen_path(desk_folder(folder))), **locked}
    return find_in_folder(place, missing, folder, known=known, progress=progress, cancel=cancel)
