"""The dialog with all voices of the film: names, how often each is used, and removing one."""

import functools
from collections import Counter

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFrame,
    QGridLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from desk.film import edits
from desk.film.edits import Edit
from desk.film.model import Film, Voice
from desk.film.wording import counted
from desk.ui.bench import Bench
from desk.ui.fields import LineField, attempt
from desk.ui.labels import label, note, say

_WIDTH_PX, _HEIGHT_PX = 480, 320
_NONE = "The film has no voices yet. Add one here, or type a name beside the clips of a scene."


class VoicesDialog(QDialog):
    """Names, adds and removes the voices of the film. It follows the film while it is open."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self.setWindowTitle("Voices of the film")
        self.setModal(False)
        self.resize(_WIDTH_PX, _HEIGHT_PX)
        self.rows: dict[str, VoiceLine] = {}
        self._none = label(_NONE, self, kind="dim", wraps=True)
        self._list = QWidget(self)
        self._grid = QGridLayout(self._list)
        self._grid.setContentsMargins(0, 0, 8, 0)
        self._grid.setHorizontalSpacing(12)
        self._grid.setVerticalSpacing(8)
        self._grid.setColumnStretch(0, 1)
        scroll = QScrollArea(self)
        scroll.setWidget(self._list)
        scroll.setWidgetResizable(True)
        scroll.setFrameShape(QFrame.Shape.NoFrame)
        scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.new_name = LineField(
            "Name of a new voice", _nothing, self, live=False, hint="Name of a new voice"
        )
        self.new_name.edit.returnPressed.connect(self.add)
        self.add_button = QPushButton("Add", self)
        self.add_button.setAccessibleName("Add the new voice")
        self.add_button.setAutoDefault(False)
        self.add_button.clicked.connect(self.add)
        self.new_name.add_beside(self.add_button)
        self.fault = note("fault", self)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close, parent=self)
        close = buttons.button(QDialogButtonBox.StandardButton.Close)
        close.setAutoDefault(False)
        buttons.rejected.connect(self.reject)
        page = QVBoxLayout(self)
        page.setContentsMargins(16, 16, 16, 16)
        page.setSpacing(12)
        page.addWidget(self._none)
        page.addWidget(scroll, 1)
        page.addWidget(self.new_name)
        page.addWidget(self.fault)
        page.addWidget(buttons)
        bench.session.changed.connect(self._fill)
        self._fill()
        self.new_name.setFocus()

    def add(self) -> None:
        """Add the voice whose name is typed."""
        name = self.new_name.edit.text().strip()
        if not name:
            return
        refused = attempt(self._bench.session, functools.partial(edits.add_voice, name=name))
        say(self.fault, refused)
        if not refused:
            self.new_name.show_text("", anew=True)

    def _fill(self) -> None:
        film, read_only = self._bench.session.film, self._bench.session.read_only
        if list(self.rows) != [voice.id for voice in film.voices]:
            self._lay(film)
        used = _uses(film)
        for voice in film.voices:
            self.rows[voice.id].show_voice(voice, used[voice.id], read_only)
        self._none.setVisible(not film.voices)
        self._list.setVisible(bool(film.voices))
        self.new_name.set_read_only(read_only)
        self.add_button.setEnabled(not read_only)

    def _lay(self, film: Film) -> None:
        for row in self.rows.values():
            for widget in (row.name, row.used, row.remove):
                self._grid.removeWidget(widget)
                widget.hide()
                widget.deleteLater()
            row.deleteLater()
        self.rows = {}
        for number, voice in enumerate(film.voices):
            row = VoiceLine(self._bench, voice, self._list)
            self.rows[voice.id] = row
            row.hide()
            self._grid.addWidget(row.name, number, 0)
            self._grid.addWidget(row.used, number, 1)
            self._grid.addWidget(row.remove, number, 2)
        self._grid.setRowStretch(len(film.voices), 1)
        before: QWidget = self.new_name.edit
        for row in reversed(self.rows.values()):
            for control in (row.remove, row.name.edit):
                QWidget.setTabOrder(control, before)
                before = control


class VoiceLine(QWidget):
    """The controls of one voice; they stand in the list of the dialog.

    Attributes:
        name: Its name.
        used: In how many scenes it speaks.
        remove: Removes it.
    """

    def __init__(self, bench: Bench, voice: Voice, parent: QWidget) -> None:
        super().__init__(parent)
        self._bench = bench
        self._voice = voice.id
        self.name = LineField(f"Name of the voice {voice.name}", self._rename, parent, live=False)
        self.name.left.connect(bench.session.end_gesture)
        self.used = QLabel(parent)
        self.used.setProperty("kind", "dim")
        self.remove = QPushButton("Remove", parent)
        self.remove.setAutoDefault(False)
        self.remove.clicked.connect(self._on_remove)

    def show_voice(self, voice: Voice, scenes: int, read_only: str) -> None:
        """Show a voice as it is now."""
        self.name.show_text(voice.name)
        self.name.set_read_only(read_only)
        self.used.setText(f"in {counted(scenes, 'scene')}" if scenes else "not used")
        self.remove.setAccessibleName(f"Remove the voice {voice.name}")
        self.remove.setEnabled(not read_only)
        self.remove.setToolTip(
            read_only or "Its clips stay as they are; nobody is said to speak in them then."
        )

    def _rename(self, name: str) -> str:
        make = functools.partial(_renamed, self._voice, name.strip())
        return attempt(self._bench.session, make, merge=f"voice name {self._voice}")

    def _on_remove(self) -> None:
        refused = attempt(self._bench.session, functools.partial(edits.remove_voice, voice_id=self._voice))
        self.name.tell(refused)


def _renamed(voice_id: str, name: str, film: Film) -> Edit:
    return edits.edit_voice(film, voice_id, name=name)


def _uses(film: Film) -> Counter[str]:
    """Return in how many scenes each voice speaks, or is set up."""
    used: Counter[str] = Counter()
    for scene in film.scenes:
        content = scene.content
        used.update(
            {clip.sound.voice for clip in content.clips} | {chain.voice for chain in content.voice_chains}
        )
    return used


def _nothing(_: str) -> str:
    """Take a name that is typed; it is added with Enter or the button."""
    return ""
