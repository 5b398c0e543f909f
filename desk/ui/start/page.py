"""The start page: what can be done while no film is open."""

import functools
from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QPoint, QSize, Qt, Signal
from PySide6.QtGui import QDragEnterEvent, QDropEvent, QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QMenu, QPushButton, QStackedWidget, QVBoxLayout, QWidget

from desk.jobs import CancelToken, ProgressListener
from desk.store.folder import film_path
from desk.ui.job_runner import Job, JobRunner
from desk.ui.look.icons import icon
from desk.ui.look.theme import Theme
from desk.ui.look.type import serif
from desk.ui.messages import Messages, Notice
from desk.ui.recent import Recent, Recents
from desk.ui.start.demo import demo_folder
from desk.ui.start.demo_dialog import DemoDialog
from desk.ui.start.folder_field import dropped_folder
from desk.ui.start.places import AskFolder, ask_folder, films_folder
from desk.ui.start.recent_list import RecentListModel, RecentListView

PROGRAM_TITLE = "Assembly Desk"
PURPOSE = (
    "Your film as scenes: each finished, proofed and locked by itself, and the master always made from them."
)
DROP_HINT = "Or drop the folder of a film, or a folder of footage, on this page."
CARD_CAUTION = "Do not erase a card before two verified copies exist."
NO_RECENTS = (
    "No film has been open here yet. Make one from a folder of footage, open the project folder of a film, "
    "or drop either of them on this page."
)

_TITLE_PX = 40
_PURPOSE_PX = 18
_LEFT_PX = 336


class StartPage(QWidget):
    """Title, what can be begun, recent films, and a caution.

    Signals:
        open_requested: A film is to be opened; the Path of its project folder.
        new_requested: A new film is to be made; the Path of the footage to begin with, or None.
    """

    open_requested = Signal(object)
    new_requested = Signal(object)

    def __init__(
        self,
        theme: Theme,
        messages: Messages,
        jobs: JobRunner,
        recents: Recents,
        parent: QWidget | None = None,
        *,
        find_demo: Callable[[], Path | None] = demo_folder,
        ask: AskFolder = ask_folder,
    ) -> None:
        """Make the page.

        Args:
            theme: Colours in use.
            messages: Says things to the person; passing remarks are shown on the page.
            jobs: Runs what asks the disk beside the window.
            recents: The films that were open last.
            parent: Who owns it.
            find_demo: Says where the demo film is, or None.
            ask: Asks for a folder.
        """
        super().__init__(parent)
        self._theme = theme
        self._messages = messages
        self._jobs = jobs
        self._recents = recents
        self._demo = find_demo()
        self._ask = ask
        self._look: Job | None = None
        self.setAcceptDrops(True)
        self.new_button = QPushButton("New film from a folder of footage…")
        self.open_button = QPushButton("Open a film…")
        self.demo_button = QPushButton("Open the demo…")
        self.model = RecentListModel(self)
        self.list = RecentListView(self.model, theme)
        self.open_recent_button = QPushButton("Open")
        self.remove_button = QPushButton("Remove from the list")
        self.notice = QLabel()
        self._lists = QStackedWidget()
        self._arrange()
        self._follow()
        self.refresh()

    def refresh(self) -> None:
        """Show the recent films as they are now."""
        chosen = self.list.chosen()
        films = self._recents.all()
        if films != self.model.films:
            self.model.show_films(films)
        rows = [row for row, film in enumerate(films) if chosen and film.folder == chosen.folder]
        if films:
            self.list.setCurrentIndex(self.model.index(rows[0] if rows else 0))
        self._lists.setCurrentIndex(0 if films else 1)
        self._refresh_buttons()
        self._look = self._jobs.start("look for recent films", functools.partial(_missing, films))
        self._look.succeeded.connect(self._on_looked)

    def ask_for_film(self) -> None:
        """Ask for the project folder of a film, and ask to open it."""
        films = self.model.films
        start = films[0].folder.parent if films else films_folder()
        while not start.is_dir() and start != start.parent:
            start = start.parent
        folder = self._ask(self, "Open the project folder of a film", start)
        if folder is not None:
            self.open_requested.emit(folder)

    def open_demo(self) -> None:
        """Ask where a copy of the demo film goes, make it, and ask to open it."""
        if self._demo is not None:
            dialog = DemoDialog(self._demo, self._theme, self._messages, self._jobs, self, ask=self._ask)
            dialog.copied.connect(self.open_requested)
            dialog.open()

    def _on_looked(self, missing: frozenset[Path]) -> None:
        if self.sender() is self._look:
            self._look = None
            self.model.mark_missing(missing)

    def _on_remove(self, folder: Path) -> None:
        self._recents.remove(folder)
        row = self.list.currentIndex().row()
        self.refresh()
        if self.model.films:
            self.list.setCurrentIndex(self.model.index(min(row, len(self.model.films) - 1)))
        else:
            self.new_button.setFocus()

    def _on_new(self) -> None:
        self.new_requested.emit(None)

    def _on_menu(self, place: QPoint) -> None:
        if self.list.indexAt(place).isValid():
            self.list.setCurrentIndex(self.list.indexAt(place))
            menu = self.menu()
            menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
            menu.popup(self.list.viewport().mapToGlobal(place))

    def menu(self) -> QMenu:
        """Return the menu of the film that is chosen."""
        menu = QMenu(self)
        menu.addAction("Open", self.list.open_chosen)
        menu.addAction("Remove from the list", self.list.remove_chosen)
        return menu

    def _on_noticed(self, notice: Notice) -> None:
        self.notice.setText(notice.text)
        self.notice.setProperty("kind", "fault" if notice.urgent else "dim")
        self.notice.style().polish(self.notice)
        self.notice.setVisible(bool(notice.text))

    def _refresh_buttons(self) -> None:
        is_chosen = self.list.chosen() is not None
        self.open_recent_button.setVisible(bool(self.model.films))
        self.remove_button.setVisible(bool(self.model.films))
        self.open_recent_button.setEnabled(is_chosen)
        self.remove_button.setEnabled(is_chosen)

    def _follow(self) -> None:
        self.new_button.clicked.connect(self._on_new)
        self.open_button.clicked.connect(self.ask_for_film)
        self.demo_button.clicked.connect(self.open_demo)
        self.open_recent_button.clicked.connect(self.list.open_chosen)
        self.remove_button.clicked.connect(self.list.remove_chosen)
        self.list.open_requested.connect(self.open_requested)
        self.list.remove_requested.connect(self._on_remove)
        self.list.selectionModel().currentChanged.connect(self._refresh_buttons)
        self.list.setContextMenuPolicy(Qt.ContextMenuPolicy.CustomContextMenu)
        self.list.customContextMenuRequested.connect(self._on_menu)
        self._messages.noticed.connect(self._on_noticed)

    def _arrange(self) -> None:
        columns = QHBoxLayout()
        columns.setSpacing(64)
        columns.addLayout(self._left())
        columns.addLayout(self._right(), 1)
        self.notice.setWordWrap(True)
        self.notice.hide()
        caution = QLabel(CARD_CAUTION)
        caution.setProperty("kind", "small")
        page = QVBoxLayout(self)
        page.setContentsMargins(64, 72, 64, 24)
        page.setSpacing(16)
        page.addLayout(columns, 1)
        page.addWidget(self.notice)
        page.addWidget(caution)

    def _left(self) -> QVBoxLayout:
        title = QLabel(PROGRAM_TITLE)
        title.setFont(serif(_TITLE_PX))
        purpose = QLabel(PURPOSE)
        purpose.setFont(serif(_PURPOSE_PX, italic=True))
        purpose.setWordWrap(True)
        purpose.setFixedWidth(_LEFT_PX)
        left = QVBoxLayout()
        left.setSpacing(8)
        left.addWidget(title)
        left.addWidget(purpose)
        left.addSpacing(32)
        for button, name in (
            (self.new_button, "new-film"),
            (self.open_button, "folder"),
            (self.demo_button, "film"),
        ):
            is_first = button is self.new_button
            button.setIcon(icon(name, self._theme, colour="on_pencil" if is_first else "ink"))
            button.setIconSize(QSize(20, 20))
            button.setProperty("large", True)
            button.setFixedWidth(_LEFT_PX)
            left.addWidget(button)
        hint = QLabel(DROP_HINT)
        hint.setProperty("kind", "small")
        left.addSpacing(4)
        left.addWidget(hint)
        self.new_button.setProperty("kind", "main")
        self.demo_button.setVisible(self._demo is not None)
        left.addStretch(1)
        return left

    def _right(self) -> QVBoxLayout:
        heading = QLabel("RECENT FILMS")
        heading.setProperty("kind", "heading")
        nothing = QLabel(NO_RECENTS)
        nothing.setWordWrap(True)
        nothing.setProperty("kind", "dim")
        nothing.setAlignment(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft)
        head = QHBoxLayout()
        head.setSpacing(8)
        head.addWidget(heading)
        head.addStretch(1)
        for button in (self.open_recent_button, self.remove_button):
            head.addWidget(button)
        self._lists.addWidget(self.list)
        self._lists.addWidget(nothing)
        right = QVBoxLayout()
        right.setSpacing(8)
        right.addLayout(head)
        right.addWidget(self._lists, 1)
        return right

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        (self.list if self.model.films else self.new_button).setFocus()

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        if _dropped(event) is not None:
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        path = _dropped(event)
        if path is None:
            return
        event.acceptProposedAction()
        if film_path(path).is_file():
            self.open_requested.emit(path)
        else:
            self.new_requested.emit(path)


def _dropped(event: QDropEvent) -> Path | None:
    """Return the folder that is dropped, or that of a film file, or None."""
    urls = event.mimeData().urls()
    for url in urls:
        path = Path(url.toLocalFile())
        if url.isLocalFile() and path.name == film_path(path.parent).name and path.is_file():
            return path.parent
    return dropped_folder(urls)


def _missing(films: tuple[Recent, ...], _: ProgressListener, cancel: CancelToken) -> frozenset[Path]:
    gone = set()
    for film in films:
        cancel.check()
        if film.is_missing():
            gone.add(film.folder)
    return frozenset(gone)
