"""Says where a file is now, and finds the others that were moved with it."""

import functools
from collections.abc import Mapping
from pathlib import Path

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFileDialog,
    QListWidget,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from desk.film import edits
from desk.film.edits import Edit
from desk.film.model import Film
from desk.film.problem import MediaTrouble
from desk.film.wording import counted, listed, quoted
from desk.footage.seen_files import read_seen, seen_path
from desk.jobs import CancelToken, ProgressListener
from desk.store.folder import desk_folder
from desk.ui.bench import Bench
from desk.ui.job_runner import Job
from desk.ui.labels import label
from desk.ui.scene.clip_facts import file_name
from desk.ui.scene.relink_search import LockedFile, Relinks, find_moved, locked_files, named_files

_WIDTH_PX = 520
_MOST_LIST_PX = 160


def ask_where(parent: QWidget, path: str, folder: Path) -> Path | None:
    """Ask for the place of a file and return it, or None.

    Args:
        parent: What asks.
        path: The file, as the film has it.
        folder: The project folder.
    """
    start = (folder / path).parent
    while not start.is_dir() and start != start.parent:
        start = start.parent
    name = file_name(path)
    suffix = Path(name).suffix
    kinds = f"{name} ({_escaped(name)});;*{suffix} (*{suffix});;All files (*)"
    chosen, _ = QFileDialog.getOpenFileName(parent, f"Where is “{name}” now?", str(start), kinds)
    return Path(chosen) if chosen else None


class Relinking(QObject):
    """Finds a file again: asks for it, looks for the others beside the window, and relinks what was found.

    Signals:
        finished: What was asked for is over, with or without a relink.
    """

    finished = Signal()

    def __init__(self, bench: Bench, parent: QWidget) -> None:
        super().__init__(parent)
        self._bench = bench
        self._window = parent
        self._job: Job | None = None
        self.dialog: RelinkDialog | None = None

    def find(self, path: str) -> None:
        """Ask where a file of the film is now."""
        if self._job is not None or self.dialog is not None:
            return
        place = ask_where(self._window, path, self._bench.session.folder)
        if place is not None:
            self.look(path, place)

    def look(self, path: str, place: Path) -> None:
        """Take a place that was named, and look there for all that is missing."""
        session = self._bench.session
        work = functools.partial(
            _find_moved, path, place, missing_files(self._bench), session.folder, locked_files(session.film)
        )
        self._job = self._bench.jobs.start("find moved files", work)
        self._job.succeeded.connect(self._on_found)
        self._job.failed.connect(self._bench.messages.fault)
        self._job.finished.connect(self._on_job_finished)

    def _on_found(self, found: object) -> None:
        assert isinstance(found, Relinks)
        if found.moves[found.wanted] == found.wanted:
            self._bench.messages.notice(f"{quoted(found.wanted)} is where the film looks for it already.")
            return
        if not found.others and not found.differing:
            self._relink(found.moves)
            return
        self.dialog = RelinkDialog(found, self._window)
        self.dialog.accepted.connect(self._on_accepted)
        self.dialog.finished.connect(self._on_dialog_finished)
        self.dialog.open()

    def _on_accepted(self) -> None:
        if self.dialog is not None:
            self._relink(self.dialog.chosen)

    def _on_dialog_finished(self) -> None:
        if self.dialog is not None:
            self.dialog.deleteLater()
            self.dialog = None
        self.finished.emit()

    def _on_job_finished(self) -> None:
        self._job = None
        if self.dialog is None:
            self.finished.emit()

    def _relink(self, moves: Mapping[str, str]) -> None:
        if self._bench.session.do(functools.partial(_relinked, moves=dict(moves))):
            names = listed([file_name(path) for path in moves])
            self._bench.messages.notice(f"The film looks for {names} in the new place now.")


class RelinkDialog(QDialog):
    """Says what was found beside a file, and asks which of it to take.

    Attributes:
        chosen: New paths by old ones, as the person has decided.
    """

    def __init__(self, found: Relinks, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.chosen: Mapping[str, str] = {}
        self._found = found
        self.setWindowTitle("Files found")
        self.setMinimumWidth(_WIDTH_PX)
        page = QVBoxLayout(self)
        page.setSpacing(12)
        page.addWidget(label(self._told(), self, wraps=True))
        if found.others:
            page.addWidget(self._list())
        for sentence, kind in self._remarks():
            page.addWidget(label(sentence, self, kind=kind, wraps=True))
        self.all_button = QPushButton(
            f"Relink {counted(len(found.moves), 'file')}" if found.others else "Relink it"
        )
        self.all_button.setProperty("kind", "main")
        self.all_button.clicked.connect(self._take_all)
        self.one_button = QPushButton(f"Only {file_name(found.wanted)}")
        self.one_button.clicked.connect(self._take_one)
        buttons = QDialogButtonBox()
        buttons.addButton(self.all_button, QDialogButtonBox.ButtonRole.AcceptRole)
        if found.others:
            buttons.addButton(self.one_button, QDialogButtonBox.ButtonRole.ActionRole)
        else:
            self.one_button.setParent(self)
            self.one_button.hide()
        cancel = buttons.addButton(QDialogButtonBox.StandardButton.Cancel)
        cancel.clicked.connect(self.reject)
        self.all_button.setDefault(not found.differing)
        cancel.setDefault(bool(found.differing))
        page.addWidget(buttons)

    def _told(self) -> str:
        place = self._found.moves[self._found.wanted]
        told = f"{quoted(file_name(self._found.wanted))} is now {quoted(place)}."
        if not self._found.others:
            return told
        verb = "lies" if len(self._found.others) == 1 else "lie"
        count = counted(len(self._found.others), "other missing file")
        return f"{told} {count} {verb} there too:"

    def _list(self) -> QListWidget:
        files = QListWidget()
        files.setAccessibleName("Other files that were found")
        files.setSelectionMode(QListWidget.SelectionMode.NoSelection)
        files.setTextElideMode(Qt.TextElideMode.ElideMiddle)
        for path in self._found.others:
            files.addItem(f"{file_name(path)}: {self._found.moves[path]}")
            files.item(files.count() - 1).setToolTip(f"{path}\n{self._found.moves[path]}")
        height = files.sizeHintForRow(0) * files.count() + 2 * files.frameWidth() + 8
        files.setFixedHeight(min(height, _MOST_LIST_PX))
        return files

    def _remarks(self) -> list[tuple[str, str]]:
        remarks = []
        if differing := [quoted(file_name(path)) for path in self._found.differing]:
            are = "is not the file" if len(differing) == 1 else "are not the files"
            remarks.append(
                (
                    f"{listed(differing)} {are} that {'was' if len(differing) == 1 else 'were'} locked: "
                    "the locks over it will be broken.",
                    "fault",
                )
            )
        if self._found.missing:
            names = listed([quoted(file_name(path)) for path in self._found.missing])
            remarks.append((f"Still missing: {names}.", "open"))
        return remarks

    def _take_all(self) -> None:
        self.chosen = self._found.moves
        self.accept()

    def _take_one(self) -> None:
        self.chosen = {self._found.wanted: self._found.moves[self._found.wanted]}
        self.accept()


def missing_files(bench: Bench) -> tuple[str, ...]:
    """Return every file of the film that is missing or can't be read, as far as is known."""
    troubled = [path for path, known in bench.media.facts.items() if isinstance(known, MediaTrouble)]
    named = named_files(bench.session.film) if troubled else frozenset()
    return tuple(path for path in troubled if path in named)


def _escaped(name: str) -> str:
    """Return a name as a pattern that fits it alone; a name that no pattern can hold fits all."""
    return "*" if any(sign in name for sign in "*?[](); ") else name


def _relinked(film: Film, moves: Mapping[str, str]) -> Edit:
    return edits.relink_all(film, moves)


def _find_moved(
    path: str,
    place: Path,
    missing: tuple[str, ...],
    folder: Path,
    locked: Mapping[str, LockedFile],
    progress: ProgressListener,
    cancel: CancelToken,
) -> Relinks:
    seen = read_seen(seen_path(desk_folder(folder)))
    return find_moved(
        path, place, missing, folder, locked=locked, seen=seen, progress=progress, cancel=cancel
    )
