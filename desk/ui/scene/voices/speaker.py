"""The line that says who speaks in the clips that are selected."""

import functools
from collections.abc import Sequence

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QWheelEvent
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QLineEdit, QPushButton, QVBoxLayout, QWidget

from desk.film import edits
from desk.film.edits import Edit
from desk.film.model import Film, Voice
from desk.film.wording import listed
from desk.ui.bench import Bench
from desk.ui.cutting.clip_sheet.part import alike
from desk.ui.fields import attempt, undoes
from desk.ui.labels import label, note, say
from desk.ui.scene.voices.rows import VoiceRow

_NOBODY = "nobody"
_SELECT, _SEVERAL, _NAME = "select clips above first", "several", "name, or pick one"
_NONE_SELECTED = "Select clips in the list to say who speaks in them."
_HINT = "Pick a voice, or type a new name and press Enter."


class SpeakerLine(QWidget):
    """Takes who speaks: one of the film's voices, or a new name.

    Signals:
        voices_asked: The person wants to see all voices of the film.
    """

    voices_asked = Signal()

    def __init__(self, bench: Bench, parent: QWidget) -> None:
        super().__init__(parent)
        self._bench = bench
        self._scene_id = ""
        self._clips: tuple[str, ...] = ()
        self._shown: tuple[object, ...] = ()
        self.words = label("", self, kind="dim")
        self.name = NameBox(self)
        self.name.taken.connect(self._on_taken)
        self.all_button = QPushButton("Voices of the film…", self)
        self.all_button.clicked.connect(self.voices_asked)
        self.fault = note("fault", self)
        row = QHBoxLayout()
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(8)
        row.addWidget(self.words)
        row.addWidget(self.name, 1)
        row.addWidget(self.all_button)
        page = QVBoxLayout(self)
        page.setContentsMargins(0, 0, 0, 0)
        page.setSpacing(4)
        page.addLayout(row)
        page.addWidget(self.fault)

    def show_clips(self, film: Film, scene_id: str, rows: Sequence[VoiceRow], reason: str) -> None:
        """Show who speaks in some clips.

        Args:
            film: The film.
            scene_id: The scene.
            rows: The clips that are selected.
            reason: Why nothing can be changed, or "".
        """
        self._scene_id, self._clips = scene_id, tuple(row.clip for row in rows)
        voice = alike(row.voice for row in rows)
        numbers = listed([str(row.number) for row in rows], most=3)
        many = "s" if len(rows) > 1 else ""
        self.words.setText(f"In clip{many} {numbers} speaks" if rows else "Who speaks")
        self.name.set_read_only(reason or ("" if rows else _NONE_SELECTED))
        shown = (film.voices, self._clips, voice)
        if shown != self._shown:
            self._shown = shown
            say(self.fault, "")
            hint = _SELECT if not rows else _SEVERAL if voice is None else _NAME
            self.name.offer(film.voices, voice, hint)

    def _on_taken(self, name: str) -> None:
        make = functools.partial(_speaking, self._scene_id, self._clips, name)
        refused = attempt(self._bench.session, make)
        say(self.fault, refused)
        if not refused:
            self.name.put_back()


class NameBox(QComboBox):
    """A list of voices in which a new name can be typed.

    Signals:
        taken: The name that was picked or typed; "" for nobody.
    """

    taken = Signal(str)

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._held = ""
        self.setEditable(True)
        self.setInsertPolicy(QComboBox.InsertPolicy.NoInsert)
        self.setLineEdit(_NameEdit(self))
        self._edit.setAccessibleName("Name of who speaks in the selected clips")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.setMinimumContentsLength(10)
        self.setAccessibleName("Who speaks in the selected clips")
        self.setAccessibleDescription(_HINT)
        self._edit.returnPressed.connect(self._on_return)
        self.activated.connect(self._on_activated)

    def offer(self, voices: Sequence[Voice], voice: str | None, hint: str) -> None:
        """Offer voices, and show which one holds.

        Args:
            voices: The film's.
            voice: Id of the one that holds, "" for nobody, or None where nothing is shown.
            hint: What stands there while it is empty.
        """
        self.clear()
        self.addItem(_NOBODY)
        for item in voices:
            self.addItem(item.name)
        names = {item.id: item.name for item in voices}
        self._held = names.get(voice or "", "")
        self._edit.setPlaceholderText(hint)
        self.put_back()

    def put_back(self) -> None:
        """Show what holds."""
        self.setCurrentIndex(-1)
        self.setEditText(self._held)

    def set_read_only(self, reason: str) -> None:
        """Say that nothing can be said, and why; "" to take that back."""
        self.setEnabled(not reason)
        self.setToolTip(reason or _HINT)

    @property
    def _edit(self) -> QLineEdit:
        edit = self.lineEdit()
        assert edit is not None
        return edit

    @property
    def is_pending(self) -> bool:
        """Whether something is typed that was not taken."""
        return self.currentText() != self._held

    def _on_return(self) -> None:
        name = self.currentText().strip()
        if name != self._held:
            self.taken.emit("" if name == _NOBODY else name)

    def _on_activated(self, index: int) -> None:
        name = "" if index == 0 else self.itemText(index)
        if name != self._held:
            self.taken.emit(name)

    def wheelEvent(self, event: QWheelEvent) -> None:
        event.ignore()


class _NameEdit(QLineEdit):
    """Leaves undoing to the film; what is typed and not taken goes when it is left or with Escape."""

    def _box(self) -> NameBox:
        box = self.parentWidget()
        assert isinstance(box, NameBox)
        return box

    def event(self, event: QEvent) -> bool:
        if undoes(event) and not self._box().is_pending:
            event.ignore()
            return False
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape and self._box().is_pending:
            self._box().put_back()
        else:
            super().keyPressEvent(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        if event.reason() is not Qt.FocusReason.PopupFocusReason:
            self._box().put_back()


def _speaking(scene_id: str, clips: tuple[str, ...], name: str, film: Film) -> Edit:
    if not name:
        return edits.set_voice(film, scene_id, clips, "")
    for voice in film.voices:
        if voice.name.casefold() == name.casefold():
            return edits.set_voice(film, scene_id, clips, voice.id)
    return edits.add_voice(film, name, scene_id=scene_id, clip_ids=clips)
