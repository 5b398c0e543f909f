"""The bars around a scene's files: what there is, what is shown of it, what can be done, what is missing."""

from collections.abc import Sequence

from PySide6.QtCore import QPoint, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QHBoxLayout,
    QLineEdit,
    QMenu,
    QPushButton,
    QSizePolicy,
    QToolButton,
    QWidget,
)

from desk.film.wording import counted
from desk.ui.bench import Bench
from desk.ui.cutting.footage.menu import FootageCommand
from desk.ui.cutting.footage.rows import FootageKind, FootageRow, matches
from desk.ui.elided import ElidedLabel
from desk.ui.labels import heading, label
from desk.ui.look.icons import icon

_LEAST_FIELD_PX = 120


class HeadBar(QWidget):
    """The heading, what there is, and a menu of what concerns the list as a whole.

    Signals:
        folder_wanted: Another folder is to be chosen.
        open_wanted: The folder is to be opened in the system's own window.
        files_wanted: Files from elsewhere are to be added.
        find_wanted: Missing files are to be found.
        look_wanted: The folder is to be looked at again.
    """

    folder_wanted = Signal()
    open_wanted = Signal()
    files_wanted = Signal()
    find_wanted = Signal()
    look_wanted = Signal()

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.counts = ElidedLabel("", self)
        self.counts.say("", kind="dim")
        self.menu = QMenu(self)
        self.files_action = self.menu.addAction("Add files…", self.files_wanted.emit)
        self.folder_action = self.menu.addAction("Choose another folder…", self.folder_wanted.emit)
        self.open_action = self.menu.addAction("Open the folder", self.open_wanted.emit)
        self.look_action = self.menu.addAction("Look at the folder again", self.look_wanted.emit)
        self.menu.addSeparator()
        self.find_action = self.menu.addAction("Find missing files in a folder…", self.find_wanted.emit)
        self.more_button = QToolButton(self)
        self.more_button.setIcon(icon("more", bench.theme))
        self.more_button.setProperty("kind", "plain")
        self.more_button.setAccessibleName("More for the footage of the scene")
        self.more_button.setToolTip("Add files, choose the folder, find missing files")
        self.more_button.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        self.more_button.setStyleSheet("QToolButton::menu-indicator { image: none; }")
        self.more_button.setMenu(self.menu)
        line = QHBoxLayout(self)
        line.setContentsMargins(0, 0, 0, 0)
        line.setSpacing(12)
        line.addWidget(heading("Footage", self))
        line.addWidget(self.counts, 1)
        line.addWidget(self.more_button)

    def show_counts(self, count: int, unused: int, shown: int) -> None:
        """Tell how many files there are.

        Args:
            count: All of them.
            unused: Those that the scene does not use.
            shown: Those that the filter shows.
        """
        if not count:
            told = ""
        elif not unused:
            told = f"{counted(count, 'file')}, {'used' if count == 1 else 'all used'}"
        else:
            told = f"{counted(count, 'file')}, {unused:,} not used"
        if count and shown < count:
            told += f", {shown:,} shown"
        self.counts.say(told)

    def allow(self, *, folder: bool, may_edit: bool) -> None:
        """Say what can be done.

        Args:
            folder: Whether the scene has a folder.
            may_edit: Whether the film can be edited.
        """
        self.folder_action.setText("Choose another folder…" if folder else "Choose its folder…")
        self.folder_action.setEnabled(may_edit)
        self.find_action.setEnabled(may_edit)
        self.open_action.setEnabled(folder)
        self.look_action.setEnabled(folder)


class FilterBar(QWidget):
    """Words to find, and whether only what is not used yet is shown.

    Signals:
        changed: Other files may be shown.
    """

    changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.text = QLineEdit(self)
        self.text.setPlaceholderText("Find a file")
        self.text.setAccessibleName("Find files of the scene")
        self.text.setAccessibleDescription("Searches names, folders, cameras, sizes and rates.")
        self.text.setClearButtonEnabled(True)
        self.text.setMinimumWidth(_LEAST_FIELD_PX)
        self.text.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.unused = QCheckBox("Not used yet", self)
        self.unused.setAccessibleName("Only files that are not used yet")
        self.text.textChanged.connect(self._on_changed)
        self.unused.toggled.connect(self._on_changed)
        line = QHBoxLayout(self)
        line.setContentsMargins(0, 0, 0, 0)
        line.setSpacing(12)
        line.addWidget(self.text, 1)
        line.addWidget(self.unused)

    def shows(self, row: FootageRow) -> bool:
        """Return whether a file is shown."""
        return matches(row, self.text.text(), unused_only=self.unused.isChecked())

    def _on_changed(self) -> None:
        self.changed.emit()


class ActBar(QWidget):
    """What can be done with the files that are chosen.

    Signals:
        wanted: A `FootageCommand` is to be done.
        menu_wanted: The menu with all of them is to open; where, on the screen.
    """

    wanted = Signal(object)
    menu_wanted = Signal(QPoint)

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._is_sound = False
        self.first_button = self._button()
        self.first_button.clicked.connect(self._on_first)
        self.second_button = self._button()
        self.second_button.clicked.connect(self._on_second)
        self.show_button = QToolButton(self)
        self.show_button.setIcon(icon("play", bench.theme))
        self.show_button.setAccessibleName("Show the chosen file in the viewer")
        self.show_button.setToolTip("Show it in the viewer, to mark the part that is wanted (Shift+Return)")
        self.show_button.clicked.connect(self._on_show)
        self.more_button = QToolButton(self)
        self.more_button.setIcon(icon("more", bench.theme))
        self.more_button.setAccessibleName("More with the chosen files")
        self.more_button.setToolTip("Everything that can be done with the chosen files")
        self.more_button.clicked.connect(self._on_more)
        line = QHBoxLayout(self)
        line.setContentsMargins(0, 0, 0, 0)
        line.setSpacing(4)
        for button in (self.first_button, self.second_button, self.show_button, self.more_button):
            line.addWidget(button)
        line.addStretch(1)
        self.show_chosen(())

    def show_chosen(self, rows: Sequence[FootageRow]) -> None:
        """Offer what can be done with files."""
        known = [row for row in rows if row.is_known]
        pictures = [row for row in known if row.kind is FootageKind.PICTURE]
        self._is_sound = len(known) == 1 and not pictures
        if self._is_sound:
            texts = ("Add as a spot", "Add as a cue")
            names = ("Add as a spot at the playhead", "Add as a cue at the playhead")
        else:
            texts = ("Add in order", "Add at the playhead")
            names = ("Add the chosen files in natural order", "Add the chosen files at the playhead")
        for button, text, name in zip((self.first_button, self.second_button), texts, names, strict=True):
            button.setText(text)
            button.setAccessibleName(name)
            button.setToolTip(name)
            button.setEnabled(bool(pictures) or self._is_sound)
        self.show_button.setEnabled(len(rows) == len(pictures) == 1)
        self.more_button.setEnabled(bool(rows))

    def _button(self) -> QPushButton:
        button = QPushButton(self)
        button.setAutoDefault(False)
        return button

    def _on_first(self) -> None:
        self.wanted.emit(FootageCommand.AS_SPOT if self._is_sound else FootageCommand.ADD_IN_ORDER)

    def _on_second(self) -> None:
        self.wanted.emit(FootageCommand.AS_CUE if self._is_sound else FootageCommand.ADD_AT_PLAYHEAD)

    def _on_show(self) -> None:
        self.wanted.emit(FootageCommand.SHOW)

    def _on_more(self) -> None:
        self.menu_wanted.emit(self.more_button.mapToGlobal(self.more_button.rect().bottomLeft()))


class MissingBar(QWidget):
    """Says how many files are missing, and finds them. It is hidden where none is.

    Signals:
        find_wanted: They are to be found.
        stop_wanted: The search is to stop.
    """

    find_wanted = Signal()
    stop_wanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._is_busy = False
        self.words = label("", self, kind="fault", wraps=True)
        self.button = QPushButton(self)
        self.button.setAutoDefault(False)
        self.button.clicked.connect(self._on_clicked)
        line = QHBoxLayout(self)
        line.setContentsMargins(0, 0, 0, 0)
        line.setSpacing(12)
        line.addWidget(self.words, 1)
        line.addWidget(self.button)
        self.show_missing(0, is_busy=False)

    def show_missing(self, count: int, *, is_busy: bool) -> None:
        """Tell how many files are missing.

        Args:
            count: How many.
            is_busy: Whether they are being looked for.
        """
        self._is_busy = is_busy
        verb = "is" if count == 1 else "are"
        told = f"{counted(count, 'file')} of this scene {verb} missing."
        self.words.setText("Looking for the missing files…" if is_busy else told)
        self.button.setText("Stop" if is_busy else "Find in a folder…")
        self.button.setAccessibleName("Stop looking" if is_busy else "Find missing files in a folder")
        self.setVisible(bool(count) or is_busy)

    def _on_clicked(self) -> None:
        (self.stop_wanted if self._is_busy else self.find_wanted).emit()
