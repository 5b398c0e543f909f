"""A field for some lines of text."""

from PySide6.QtCore import QEvent, QSize, Qt, Signal
from PySide6.QtGui import QFocusEvent
from PySide6.QtWidgets import QPlainTextEdit, QSizePolicy, QVBoxLayout, QWidget

from desk.ui.fields import Apply, TypedField, undoes


class TextField(TypedField):
    """Some lines of text, as high as they are."""

    def __init__(self, name: str, apply: Apply, parent: QWidget, *, hint: str = "") -> None:
        super().__init__(apply, parent)
        self.edit = _TextEdit(self)
        self.edit.setAccessibleName(name)
        self.edit.setPlaceholderText(hint)
        self.edit.setTabChangesFocus(True)
        self.edit.setUndoRedoEnabled(False)
        self.edit.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.edit.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.edit.textChanged.connect(self._on_changed)
        self.edit.left.connect(self._on_left)
        self._putting = False
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
        cursor = self.edit.textCursor()
        at = min(cursor.position(), len(text))
        self._putting = True
        self.edit.setPlainText(text)
        self._putting = False
        cursor = self.edit.textCursor()
        cursor.setPosition(at)
        self.edit.setTextCursor(cursor)

    def _on_changed(self) -> None:
        self.edit.fit()
        if not self._putting:
            self._on_edited()


class _TextEdit(QPlainTextEdit):
    """A text that leaves undoing to the film, and is as high as its lines."""

    left = Signal()

    _LEAST_LINES, _MOST_LINES = 2, 9

    def fit(self) -> None:
        """Take the height of the lines."""
        self.updateGeometry()

    def event(self, event: QEvent) -> bool:
        if undoes(event):
            event.ignore()
            return False
        return super().event(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.left.emit()

    def sizeHint(self) -> QSize:
        lines = min(max(self.document().blockCount(), self._LEAST_LINES), self._MOST_LINES)
        margins = 2 * round(self.document().documentMargin()) + 2 * self.frameWidth() + 8
        return QSize(super().sizeHint().width(), lines * self.fontMetrics().lineSpacing() + margins)

    def minimumSizeHint(self) -> QSize:
        return QSize(super().minimumSizeHint().width(), self.sizeHint().height())
