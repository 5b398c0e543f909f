"""A field for some lines of text."""

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QPlainTextEdit, QSizePolicy, QVBoxLayout, QWidget

from desk.ui.fields import Apply, TypedField, holds_more, undoes

_EDGE_PX = 10
"""What frame and padding take, and the pixel that Qt wants below the last line before it scrolls."""


class TextField(TypedField):
    """Some lines of text, as high as they are. Tab leaves it."""

    def __init__(
        self,
        name: str,
        apply: Apply,
        parent: QWidget,
        *,
        hint: str = "",
        least_lines: int = 2,
        most_lines: int = 9,
    ) -> None:
        """Make it.

        Args:
            name: What it is called, for those who can't see it.
            apply: Takes what was typed.
            parent: Who owns it.
            hint: Shown while it is empty.
            least_lines: How high it is at least.
            most_lines: How high it is at most; longer text scrolls.
        """
        super().__init__(apply, parent)
        self.edit = _TextEdit(self, least_lines, most_lines)
        self.edit.setAccessibleName(name)
        self.edit.setPlaceholderText(hint)
        self.edit.textChanged.connect(self._on_changed)
        self.edit.left.connect(self._on_left)
        self.edit.escaped.connect(self._on_escaped)
        self._putting = False
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        page = QVBoxLayout(self)
        page.setContentsMargins(0, 0, 0, 0)
        page.setSpacing(4)
        page.addWidget(self.edit)
        page.addWidget(self.fault)
        self.setFocusProxy(self.edit)

    def set_read_only(self, reason: str) -> None:
        """Say that nothing can be typed, and why; "" to take that back."""
        self.edit.setReadOnly(bool(reason))
        self.edit.setToolTip(reason)

    def _typed(self) -> str:
        return self.edit.toPlainText()

    def _put(self, text: str) -> None:
        if text == self._typed():
            return
        at = min(self.edit.textCursor().position(), len(text)) if self.edit.hasFocus() else 0
        self._putting = True
        self.edit.setPlainText(text)
        self._putting = False
        cursor = self.edit.textCursor()
        cursor.setPosition(at)
        self.edit.setTextCursor(cursor)

    def _on_changed(self) -> None:
        if not self._putting:
            self._on_edited()


class _TextEdit(QPlainTextEdit):
    """A text that leaves undoing to the film, and is as high as its lines at the width that it has."""

    escaped = Signal()
    left = Signal()

    def __init__(self, parent: QWidget, least_lines: int, most_lines: int) -> None:
        super().__init__(parent)
        self._lines = (least_lines, most_lines)
        self.setTabChangesFocus(True)
        self.setUndoRedoEnabled(False)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.document().documentLayout().documentSizeChanged.connect(self._fit)
        self._fit()

    def _fit(self) -> None:
        least, most = self._lines
        lines = min(most, max(least, round(self.document().size().height())))
        margins = 2 * round(self.document().documentMargin()) + _EDGE_PX
        height = lines * self.fontMetrics().lineSpacing() + margins
        if height != self.minimumHeight():
            self.setFixedHeight(height)

    def event(self, event: QEvent) -> bool:
        if undoes(event):
            event.ignore()
            return False
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape and holds_more(self):
            self.escaped.emit()
        else:
            super().keyPressEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        # A wider field needs fewer lines, and the document does not say so by itself.
        self._fit()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        if event.reason() is not Qt.FocusReason.PopupFocusReason:
            self.left.emit()
