"""A field for a folder: typed or chosen, with what is wrong with it right below."""

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QTimer, QUrl, Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QLineEdit, QPushButton, QVBoxLayout, QWidget

from desk.ui.look.icons import icon
from desk.ui.look.theme import Theme
from desk.ui.start.places import AskFolder

_PAUSE_MS = 350


class FolderField(QWidget):
    """A folder.

    Signals:
        changed: Another folder was chosen, or typed a moment ago; a Path, or None for no whole path.
    """

    changed = Signal(object)

    def __init__(
        self, name: str, theme: Theme, ask: AskFolder, heading: str, parent: QWidget | None = None
    ) -> None:
        """Make a field.

        Args:
            name: What the folder is, for a screen reader.
            theme: Colours in use.
            ask: Asks for a folder.
            heading: What is asked for.
            parent: Who owns it.
        """
        super().__init__(parent)
        self._ask = ask
        self._heading = heading
        self._told: Path | None = None
        self.was_typed = False
        self.line = QLineEdit()
        self.line.setAccessibleName(name)
        # A folder that is dropped goes to the dialog, and not into the text as an address.
        self.line.setAcceptDrops(False)
        self.button = QPushButton("Choose…")
        self.button.setIcon(icon("folder", theme))
        self.button.setAutoDefault(False)
        self.button.setAccessibleName(f"Choose the {name[:1].lower()}{name[1:]}")
        self.fault = QLabel()
        self.fault.setProperty("kind", "fault")
        self.fault.setWordWrap(True)
        self.fault.hide()
        row = QHBoxLayout()
        row.setSpacing(8)
        row.addWidget(self.line, 1)
        row.addWidget(self.button)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        column.addLayout(row)
        column.addWidget(self.fault)
        self.setFocusProxy(self.line)
        self._timer = QTimer(self, singleShot=True, interval=_PAUSE_MS)
        self._timer.timeout.connect(self._tell)
        self.line.textEdited.connect(self._on_edited)
        self.line.editingFinished.connect(self._tell)
        self.button.clicked.connect(self.choose)

    def folder(self) -> Path | None:
        """Return the folder, or None where there is no whole path."""
        text = self.line.text().strip()
        if not text or "\0" in text:
            return None
        try:
            path = Path(text).expanduser()
        except RuntimeError:
            # There is no such person, as in `~nobody`.
            return None
        return path if path.is_absolute() else None

    def show_folder(self, folder: Path | None) -> None:
        """Show a folder that was proposed, without a signal."""
        self._timer.stop()
        self._told = folder
        self.line.setText(str(folder) if folder else "")
        self.line.setToolTip(self.line.text())

    def take(self, folder: Path) -> None:
        """Take a folder that the person has named."""
        self.line.setText(str(folder))
        self.was_typed = True
        self._tell()

    def choose(self) -> None:
        """Ask for a folder."""
        start = self.folder()
        while start is not None and not start.is_dir() and start != start.parent:
            start = start.parent
        chosen = self._ask(self, self._heading, start or Path.home())
        if chosen is not None:
            self.take(chosen)

    def say(self, sentence: str) -> None:
        """Say what is wrong with the folder, or nothing with ""."""
        self.fault.setText(sentence)
        self.fault.setVisible(bool(sentence))
        self.line.setAccessibleDescription(sentence)

    def say_unless_whole(self) -> None:
        """Say that a whole path is needed, where something else was typed."""
        is_part = self.folder() is None and bool(self.line.text().strip())
        self.say("Give the whole path of the folder, from the root on." if is_part else "")

    def settle(self) -> None:
        """Take what was typed a moment ago."""
        self._tell()

    def _on_edited(self) -> None:
        self.was_typed = True
        self._timer.start()

    def _tell(self) -> None:
        self._timer.stop()
        self.line.setToolTip(self.line.text())
        folder = self.folder()
        if folder != self._told:
            self._told = folder
            self.changed.emit(folder)


def dropped_folder(urls: Sequence[QUrl]) -> Path | None:
    """Return the first folder among what is dragged, or None."""
    for url in urls:
        if url.isLocalFile() and (path := Path(url.toLocalFile())).is_dir():
            return path
    return None
