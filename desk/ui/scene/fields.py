"""Fields that take what is typed, and never write over it.

A field knows what the film last said. It shows something else only when the film says something new, so an
unrelated change, or the echo of what was typed, leaves text and cursor alone.
"""

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QLineEdit, QPlainTextEdit, QWidget

from desk.ui.fields import undoes

_EDGE_PX = 8


class LineField(QLineEdit):
    """One line.

    Signals:
        typed: Its text, at every key.
        entered: Its text when Return is pressed or the field is left, where it is not what the film says.
        left: It has lost the focus.
    """

    typed = Signal(str)
    entered = Signal(str)
    left = Signal()

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._said = ""
        self.setAccessibleName(name)
        self.textEdited.connect(self.typed)
        self.editingFinished.connect(self._on_finished)

    @property
    def is_pending(self) -> bool:
        """Whether it holds another text than the film."""
        return self.text() != self._said

    def show_value(self, value: str, *, anew: bool = False) -> None:
        """Show what the film says.

        Args:
            value: What it says.
            anew: Whether to give up a text that the film does not have.
        """
        if value == self._said and not anew:
            return
        self._said = value
        if self.text() != value:
            place = self.cursorPosition()
            self.setText(value)
            self.setCursorPosition(min(place, len(value)))

    def _on_finished(self) -> None:
        if self.is_pending and not self.isReadOnly():
            self.entered.emit(self.text())

    def event(self, event: QEvent) -> bool:
        # What the film does not have yet is undone in the field.
        if not self.is_pending and undoes(event):
            event.ignore()
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape and self.is_pending:
            self.show_value(self._said, anew=True)
            self.typed.emit(self._said)
        else:
            super().keyPressEvent(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        if event.reason() is not Qt.FocusReason.PopupFocusReason:
            self.left.emit()


class TextField(QPlainTextEdit):
    """Several lines, as high as its text. Tab leaves it.

    Signals:
        typed: Its text, at every key.
        left: It has lost the focus.
    """

    typed = Signal(str)
    left = Signal()

    def __init__(
        self, name: str, *, least_lines: int, most_lines: int, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._said = ""
        self._is_showing = False
        self._lines = (least_lines, most_lines)
        self.setAccessibleName(name)
        self.setTabChangesFocus(True)
        self.setUndoRedoEnabled(False)
        self.textChanged.connect(self._on_changed)
        self.document().documentLayout().documentSizeChanged.connect(self._fit)
        self._fit()

    def show_value(self, value: str, *, anew: bool = False) -> None:
        """Show what the film says; as `LineField.show_value`."""
        if value == self._said and not anew:
            return
        self._said = value
        if self.toPlainText() == value:
            return
        self._is_showing = True
        place = self.textCursor().position()
        self.setPlainText(value)
        cursor = self.textCursor()
        cursor.setPosition(min(place, len(value)) if self.hasFocus() else 0)
        self.setTextCursor(cursor)
        self._is_showing = False

    def _on_changed(self) -> None:
        if not self._is_showing:
            self.typed.emit(self.toPlainText())

    def _fit(self) -> None:
        least, most = self._lines
        lines = min(most, max(least, round(self.document().size().height())))
        height = (
            lines * self.fontMetrics().lineSpacing() + 2 * round(self.document().documentMargin()) + _EDGE_PX
        )
        if height != self.minimumHeight():
            self.setFixedHeight(height)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        # A wider field needs fewer lines, and the document does not say so by itself.
        self._fit()

    def event(self, event: QEvent) -> bool:
        if undoes(event):
            event.ignore()
            return True
        return super().event(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        if event.reason() is not Qt.FocusReason.PopupFocusReason:
            self.left.emit()
