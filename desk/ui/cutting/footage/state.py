"""What stands above a scene's files: how its folder is, and what to do where there is nothing to show."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from desk.film.wording import quoted
from desk.ui.cutting.footage.folder import FolderFiles
from desk.ui.labels import label, note, say

_COPY_IT = "Copy it there, and it shows up here by itself."
_HOW_TO_ADD = "You can also drop files here, or add them one by one; they are used where they lie."


class FolderState(QWidget):
    """Says how a scene's folder is. It is hidden where all is well and files are shown.

    Attributes:
        offers_folder: Whether it offers to choose and open the folder; not where something beside it does.

    Signals:
        folder_wanted: Another folder is to be chosen.
        open_wanted: The folder is to be opened in the system's own window.
        files_wanted: Files from elsewhere are to be added.
    """

    folder_wanted = Signal()
    open_wanted = Signal()
    files_wanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.offers_folder = True
        self.words = label("", self, wraps=True)
        self.more = note("dim", self)
        self.choose_button = self._button("Choose its folder…")
        self.choose_button.clicked.connect(self.folder_wanted)
        self.open_button = self._button("Open the folder")
        self.open_button.clicked.connect(self.open_wanted)
        self.files_button = self._button("Add files…")
        self.files_button.setAccessibleName("Add files from elsewhere")
        self.files_button.clicked.connect(self.files_wanted)
        buttons = QHBoxLayout()
        buttons.setSpacing(8)
        for button in (self.choose_button, self.open_button, self.files_button):
            buttons.addWidget(button)
        buttons.addStretch(1)
        page = QVBoxLayout(self)
        page.setContentsMargins(0, 0, 0, 0)
        page.setSpacing(8)
        page.addWidget(self.words)
        page.addWidget(self.more)
        page.addLayout(buttons)

    def show_state(self, found: FolderFiles | None, *, count: int, read_only: bool) -> None:
        """Show how the folder is.

        Args:
            found: What lies in it, or None while that is not known.
            count: How many files the scene has, from elsewhere too.
            read_only: Whether the film can't be edited.
        """
        told, more = folder_words(found, count)
        say(self.words, told)
        say(self.more, more)
        has_folder = found is not None and bool(found.folder)
        is_there = has_folder and found is not None and found.fault is None
        self.choose_button.setText("Choose another folder…" if has_folder else "Choose its folder…")
        self.choose_button.setEnabled(not read_only)
        self.choose_button.setVisible(self.offers_folder and found is not None)
        self.open_button.setVisible(self.offers_folder and is_there)
        self.files_button.setVisible(found is not None and not count)
        self.setVisible(bool(told))

    def _button(self, text: str) -> QPushButton:
        button = QPushButton(text, self)
        button.setAutoDefault(False)
        return button


def folder_words(found: FolderFiles | None, count: int) -> tuple[str, str]:
    """Return what is to be said of a scene's folder and what else can be done; "" where all is well.

    Args:
        found: What lies in it, or None while that is not known.
        count: How many files the scene has, from elsewhere too.
    """
    if found is None:
        return ("", "") if count else ("Looking at its folder…", "")
    if found.fault is not None:
        told = f"Its folder {quoted(found.folder)} {_FAULTS.get(found.fault.code, 'can’t be read')}."
        return f"{told} Connect its disk, or choose another folder.", ""
    if not found.folder:
        told = "This scene has no folder yet. Choose the one that its footage was copied into."
        return told, "" if count else _HOW_TO_ADD
    if not found.files and not count:
        told = f"There is no footage in {quoted(found.folder)} yet. {_COPY_IT} {found.others}"
        return told.strip(), _HOW_TO_ADD
    return "", ""


_FAULTS = {"media.missing": "is missing", "media.refused": "is a file, not a folder"}
