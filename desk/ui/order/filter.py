"""Finding rows: a field that searches their words, and a choice of state."""

from enum import StrEnum

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QAction, QKeyEvent
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QLineEdit, QWidget

from desk.ui.look.icons import icon
from desk.ui.look.marks import Mark
from desk.ui.look.theme import Theme
from desk.ui.order.rows import Listed
from desk.ui.status import SceneStatus

CONTROL_PX = 28
"""Height of the controls above the ledger."""


class Shown(StrEnum):
    """Which rows are shown; the value is what the choice says."""

    EVERYTHING = "Everything"
    DRAFTS = "Drafts"
    LOCKED = "Locked"
    BROKEN = "Broken locks"
    OPEN = "Something open"
    CARDS = "Cards"


def asks_status(shown: Shown) -> bool:
    """Return whether a filter has to know how each scene stands."""
    return shown in (Shown.BROKEN, Shown.OPEN, Shown.LOCKED)


def matches(listed: Listed, status: SceneStatus | None, text: str, shown: Shown) -> bool:
    """Return whether a row is shown: every word of the text is found somewhere in it.

    Args:
        listed: The row.
        status: How its scene stands; None for a card, and where `asks_status` is false.
        text: Words to find.
        shown: Which rows.
    """
    if not all(word in listed.facts.searched for word in text.casefold().split()):
        return False
    scene = listed.scene
    match shown:
        case Shown.EVERYTHING:
            return True
        case Shown.CARDS:
            return scene is None
        case Shown.DRAFTS:
            return scene is not None and scene.lock is None
        case Shown.LOCKED:
            return status is not None and status.mark is Mark.LOCKED
        case Shown.BROKEN:
            return status is not None and status.mark is Mark.BROKEN
        case Shown.OPEN:
            if scene is None:
                return not listed.facts.length_frames
            return status is not None and bool(status.broken or (scene.lock is None and status.open))


class FilterBar(QWidget):
    """A field that searches and a choice of state.

    Signals:
        changed: Other rows may be shown.
    """

    changed = Signal()

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._text = QLineEdit(self)
        self._text.setPlaceholderText("Find a scene or card")
        self._text.setAccessibleName("Find scenes and cards")
        self._text.setAccessibleDescription(
            "Searches number, slugline, purpose, synopsis, music, grade note and the text of cards."
        )
        self._text.setToolTip("Searches number, slugline, purpose, synopsis, music, grade note and cards.")
        self._text.setClearButtonEnabled(True)
        glass = QAction(icon("search", theme, colour="dim"), "", self._text)
        self._text.addAction(glass, QLineEdit.ActionPosition.LeadingPosition)
        # Its own buttons are icons, without the edge of other buttons.
        self._text.setStyleSheet("QToolButton { border: none; padding: 0; min-height: 0; background: none; }")
        self._state = QComboBox(self)
        self._state.setAccessibleName("Which rows are shown")
        self._state.addItems([shown.value for shown in Shown])
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(4)
        row.addWidget(self._text, 1)
        row.addWidget(self._state)
        for field in (self._text, self._state):
            field.setFixedHeight(CONTROL_PX)
        self.setFocusProxy(self._text)
        self._text.textChanged.connect(self._on_edited)
        self._state.currentIndexChanged.connect(self._on_edited)

    @property
    def text(self) -> str:
        """The words to find."""
        return self._text.text().strip()

    @property
    def shown(self) -> Shown:
        """Which rows."""
        return Shown(self._state.currentText())

    @property
    def is_on(self) -> bool:
        """Whether anything is filtered."""
        return bool(self.text) or self.shown is not Shown.EVERYTHING

    def set_text(self, text: str) -> None:
        """Search for words."""
        self._text.setText(text)

    def set_shown(self, shown: Shown) -> None:
        """Choose which rows are shown."""
        self._state.setCurrentText(shown.value)

    def take_focus(self) -> None:
        """Put the keyboard into the field, with what it says chosen."""
        self._text.setFocus()
        self._text.selectAll()

    def clear(self) -> None:
        """Show everything again."""
        before = self.blockSignals(True)
        self._text.clear()
        self.set_shown(Shown.EVERYTHING)
        self.blockSignals(before)
        self.changed.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        # The field and the choice have no use for Escape and pass it on.
        if event.key() == Qt.Key.Key_Escape and self.is_on:
            self.clear()
        else:
            super().keyPressEvent(event)

    def _on_edited(self) -> None:
        self.changed.emit()
