"""The window: a start page, or the film that is open. One film at a time."""

import functools
from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QByteArray, QObject, QSize, QUrl, Signal
from PySide6.QtGui import QCloseEvent, QDesktopServices, QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import QFileDialog, QMainWindow, QStackedWidget, QWidget

from desk.errors import DeskError, FilmFileError
from desk.jobs import CancelToken, ProgressListener
from desk.ui.about import show_about, show_cautions
from desk.ui.actions import Actions, Command
from desk.ui.building import clear_bench, lay_bench
from desk.ui.cutting.keys.rows import PLACE as CUTTING
from desk.ui.film_view import FilmView
from desk.ui.job_runner import Job, JobRunner
from desk.ui.keys import KeySheet
from desk.ui.look.theme import Appearance, Theme
from desk.ui.messages import Answer, Messages
from desk.ui.opening import Opening, open_for_window, recover_film, version_to_recover
from desk.ui.part_keys import part_actions
from desk.ui.recent import Recents
from desk.ui.settings import settings
from desk.ui.start.new_film import NewFilmDialog
from desk.ui.start.page import StartPage

LEAST_SIZE = QSize(1024, 700)
_FIRST_SIZE = QSize(1440, 900)
_TITLE_BAR_PX = 40
"""What a window's frame may take of the screen's height."""

PROGRAM_NAME = "Assembly Desk"


class MainWindow(QMainWindow):
    """The one window of the program.

    Signals:
        film_opened: A film is open and shown.
        film_closed: The film is closed; what showed it is on its way out.
    """

    film_opened = Signal()
    film_closed = Signal()

    def __init__(self, theme: Theme, messages: Messages, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.theme = theme
        self.messages = messages
        messages.set_window(self)
        self.recents = Recents()
        self.view: FilmView | None = None
        self._jobs = JobRunner(self)
        self._opening: Opening | None = None
        self._opening_job: Job | None = None
        self._owner: QObject | None = None
        self._actions: Actions | None = None
        self._page = StartPage(theme, self.messages, self._jobs, self.recents, self)
        self._page.open_requested.connect(self.open_film)
        self._page.new_requested.connect(self.new_film)
        self._stack = QStackedWidget()
        self._stack.addWidget(self._page)
        self.setCentralWidget(self._stack)
        self.setAcceptDrops(True)
        self.setMinimumSize(LEAST_SIZE)
        self.resize(_FIRST_SIZE)
        self._restore_place()
        if not self.isMaximized() and not self.isFullScreen():
            self.resize(fitting(self.size(), self.screen().availableSize()))
        self._show_title()

    def take_commands(self, commands: Sequence[Command], menus: Sequence[str]) -> None:
        """Fill the menus."""
        self._actions = Actions(commands, self.theme, self)
        self._actions.add_to(self.menuBar(), menus)
        self._mark_appearance()

    @property
    def actions_by_id(self) -> Actions:
        """Everything that menus and keys do."""
        assert self._actions is not None
        return self._actions

    def shown(self) -> FilmView:
        """Return the film that is open; only for what can't be asked for without one."""
        assert self.view is not None
        return self.view

    # Opening and closing.

    def open_film(self, folder: object) -> None:
        """Open the film of a project folder, or of its film file, in place of the one that is open."""
        assert isinstance(folder, Path)
        if folder.name == "film.json":
            folder = folder.parent
        if self._opening_job is not None or not self.close_film():
            return
        job = self._jobs.start("open the film", functools.partial(_open, folder))
        self._opening_job = job
        job.succeeded.connect(self._on_opened)
        job.failed.connect(functools.partial(self._on_open_failed, folder))
        job.finished.connect(self._on_opening_finished)

    def ask_for_film(self) -> None:
        """Ask for a project folder and open it."""
        start = str(self.view.bench.session.folder.parent) if self.view else str(Path.home())
        folder = QFileDialog.getExistingDirectory(self, "Open the project folder of a film", start)
        if folder:
            self.open_film(Path(folder))

    def begin_new_film(self) -> None:
        """Make a film from a folder of footage that is yet to be chosen."""
        self.new_film(None)

    def new_film(self, footage: Path | None) -> None:
        """Make a film from a folder of footage, or from one that is yet to be chosen."""
        dialog = NewFilmDialog(self.theme, self.messages, self._jobs, self, footage=footage)
        dialog.made.connect(self.open_film)
        dialog.open()

    def close_film(self) -> bool:
        """Save and close the film; returns whether it is closed, which the person may decide against."""
        if self.view is None:
            return True
        if not self._may_leave(self.view):
            return False
        view, opening, owner = self.view, self._opening, self._owner
        self.view = self._opening = self._owner = None
        view.assembling.stop()
        clear_bench(view.bench)
        self._stack.removeWidget(view)
        view.deleteLater()
        if owner is not None:
            owner.deleteLater()
        if opening is not None:
            opening.holding.close()
        self._page.refresh()
        self._show_title()
        self._refresh()
        self.film_closed.emit()
        return True

    def _may_leave(self, view: FilmView) -> bool:
        if view.assembling.is_running:
            answer = self.messages.ask(
                "A review copy is being made.",
                "Stopping keeps the pieces that are finished, so the next time is shorter.",
                first="Stop and close",
                dangerous=True,
            )
            if answer is Answer.CANCEL:
                return False
        view.end_typing()
        try:
            view.bench.saving.save_now()
        except DeskError as error:
            answer = self.messages.ask(
                error.message,
                f"{error.advice} Closing without saving loses what was done since the last save.".strip(),
                first="Save elsewhere…",
                second="Close without saving",
                dangerous=True,
            )
            if answer is Answer.FIRST:
                return self._save_elsewhere(view)
            return answer is Answer.SECOND
        return True

    def _save_elsewhere(self, view: FilmView) -> bool:
        folder = QFileDialog.getExistingDirectory(self, "Save the film file in another folder")
        if not folder:
            return False
        try:
            view.bench.saving.save_copy(Path(folder))
        except DeskError as error:
            self.messages.fault(error)
            return False
        return True

    def _on_opened(self, opening: object) -> None:
        assert isinstance(opening, Opening)
        owner = QObject(self)
        bench = lay_bench(
            opening.film, theme=self.theme, messages=self.messages, parent=owner, read_only=opening.read_only
        )
        view = FilmView(bench, self._stack)
        self.view, self._opening, self._owner = view, opening, owner
        self._stack.addWidget(view)
        self._stack.setCurrentWidget(view)
        for widget in view.cutting_places():
            self.actions_by_id.let_keys_act_in(CUTTING, widget)
        self.recents.add(opening.film.folder, opening.film.film.title)
        bench.session.changed.connect(self._on_changed)
        bench.session.stack.indexChanged.connect(self._refresh)
        bench.choice.chosen.connect(self._refresh)
        view.order.selection_changed.connect(self._refresh)
        view.assembling.started.connect(self._refresh)
        view.assembling.finished.connect(self._refresh)
        bench.media.look()
        self._show_title()
        self._refresh()
        view.take_focus()
        self._tell(opening)
        self.film_opened.emit()

    def _tell(self, opening: Opening) -> None:
        """Say what there is to know of a film that was opened, and bring back what a crash left."""
        bench = self.shown().bench
        if opening.read_only:
            self.messages.notice(opening.read_only, urgent=True)
        if opening.unsaved is None:
            if opening.film.notice and not opening.read_only:
                self.messages.notice(opening.film.notice, urgent=True)
            return
        if opening.diverged:
            answer = self.messages.ask(
                "There are edits that were not saved, made before the film file was last changed.",
                "Bringing them back takes the place of what is in the file now; undo goes back to it.",
                first="Bring them back",
                second="Drop them",
            )
            if answer is not Answer.FIRST:
                # Cancelled, they are asked about again the next time, unless an edit takes their place.
                if answer is Answer.SECOND:
                    bench.saving.drop_journal()
                return
        bench.session.apply(opening.edit_of_unsaved())
        self.messages.notice(
            "The program ended before it could save. Your last edits are back; at most two seconds of work "
            "are missing."
        )

    def _on_open_failed(self, folder: Path, error: object) -> None:
        if isinstance(error, FilmFileError) and (version := version_to_recover(folder, error)):
            answer = self.messages.ask(
                error.message,
                f"The version saved on {version.saved_text} is whole. The damaged file is kept beside it.",
                first="Bring it back",
            )
            if answer is Answer.FIRST:
                try:
                    said = recover_film(folder)
                except DeskError as fault:
                    self.messages.fault(fault)
                    return
                self._opening_job = None
                self.open_film(folder)
                self.messages.notice(said)
            return
        if isinstance(error, FilmFileError) and error.code == "film.missing" and folder.is_dir():
            self._offer_new_film(folder, error)
            return
        self.messages.fault(error)

    def _offer_new_film(self, folder: Path, error: FilmFileError) -> None:
        answer = self.messages.ask(
            error.message,
            "If it holds footage, a sub-folder for each scene, a film can be made from it. Nothing is "
            "written before you have seen what would come of it.",
            first="New film from it…",
        )
        if answer is Answer.FIRST:
            self.new_film(folder)

    def _on_opening_finished(self) -> None:
        self._opening_job = None

    # What the menus do.

    def undo(self) -> None:
        """Undo the last edit; what is being typed is part of it."""
        self.shown().end_typing()
        self.shown().bench.session.stack.undo()

    def redo(self) -> None:
        """Do again what was undone."""
        self.shown().bench.session.stack.redo()

    def stop_assembling(self) -> None:
        """Stop the assembly that is being made."""
        self.shown().assembling.stop()

    def open_project_folder(self) -> None:
        """Show the project folder in the platform's file browser."""
        QDesktopServices.openUrl(QUrl.fromLocalFile(str(self.shown().bench.session.folder)))

    def set_appearance(self, appearance: Appearance) -> None:
        """Take other colours, and remember them."""
        self.theme.set_appearance(appearance)
        settings().setValue("appearance", appearance.value)
        self._mark_appearance()

    def _mark_appearance(self) -> None:
        """Mark the colours that are in use in the menu."""
        for appearance in Appearance:
            action = self.actions_by_id.actions[appearance.value]
            action.setCheckable(True)
            action.setChecked(appearance is self.theme.appearance)

    def toggle_full_screen(self) -> None:
        """Fill the screen, or go back."""
        if self.isFullScreen():
            self.showNormal()
        else:
            self.showFullScreen()

    def show_keys(self) -> None:
        """Show all keys."""
        KeySheet([*self.actions_by_id.actions.values(), *part_actions()], self.theme, self).open()

    def show_cautions(self) -> None:
        """Show the cautions of the craft."""
        show_cautions(self)

    def show_about(self) -> None:
        """Say what the program is."""
        show_about(self)

    def _refresh(self) -> None:
        if self._actions is None:
            return
        self._actions.refresh()
        stack = self.view.bench.session.stack if self.view else None
        for name, verb, text in (
            ("undo", "&Undo", stack.undoText() if stack else ""),
            ("redo", "&Redo", stack.redoText() if stack else ""),
        ):
            self._actions.actions[name].setText(f"{verb}: {text}" if text else verb)

    def _on_changed(self) -> None:
        # What can be done now is asked when the undo stack says that its step is taken.
        self._show_title()

    def _show_title(self) -> None:
        title = self.view.bench.session.film.title if self.view else ""
        self.setWindowTitle(f"{title} – {PROGRAM_NAME}" if title else PROGRAM_NAME)

    def _restore_place(self) -> None:
        place = settings().value("window/place")
        if isinstance(place, QByteArray):
            self.restoreGeometry(place)

    def closeEvent(self, event: QCloseEvent) -> None:
        if not self.close_film():
            event.ignore()
            return
        settings().setValue("window/place", self.saveGeometry())
        self._jobs.shut_down()
        event.accept()

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        if _film_folder(event.mimeData().urls()) is not None:
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        folder = _film_folder(event.mimeData().urls())
        if folder is not None:
            event.acceptProposedAction()
            self.open_film(folder)


def fitting(size: QSize, available: QSize) -> QSize:
    """Return the size of a window that a screen has room for, with the window's frame; never below the least.

    Args:
        size: How large the window would be.
        available: What the screen leaves for windows.
    """
    room = QSize(available.width(), available.height() - _TITLE_BAR_PX)
    return size.boundedTo(room).expandedTo(LEAST_SIZE)


def _open(folder: Path, _: ProgressListener, __: CancelToken) -> Opening:
    return open_for_window(folder)


def _film_folder(urls: Sequence[QUrl]) -> Path | None:
    """Return the project folder among what is dragged, or None."""
    for url in urls:
        path = Path(url.toLocalFile()) if url.isLocalFile() else None
        if path is not None and path.name == "film.json":
            return path.parent
        if path is not None and (path / "film.json").is_file():
            return path
    return None
