"""A line of text at the right, shortened to the room there is, that says when it is being read."""

from PySide6.QtCore import QEvent, QSize, Qt, Signal
from PySide6.QtGui import (
    QEnterEvent,
    QFocusEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
)
from PySide6.QtWidgets import QLabel, QSizePolicy, QStyle, QStyleOptionFocusRect, QToolTip, QWidget


class Remark(QLabel):
    """One line of text; what does not fit is shown when the pointer rests on it, or the keyboard is there.

    Signals:
        entered: The pointer or the keyboard has come to it.
        left: It has gone again.
        clicked: It was clicked, or Return was pressed on it.
    """

    entered = Signal()
    left = Signal()
    clicked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._full = ""
        self._passing = False
        self.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)

    @property
    def full_text(self) -> str:
        """The text, whole."""
        return self._full

    def say(self, text: str, kind: str, *, passing: bool = False) -> None:
        """Show a text.

        Args:
            text: The text, whole.
            kind: How it looks: a kind of label of `desk.ui.look.style`.
            passing: Whether it goes by itself, so that there is something to stop it for.
        """
        self._full, self._passing = text, passing
        if kind != self.property("kind"):
            self.setProperty("kind", kind)
            self.style().unpolish(self)
            self.style().polish(self)
        self.setAccessibleName(text)
        self._shorten()

    def _shorten(self) -> None:
        shown = self.fontMetrics().elidedText(self._full, Qt.TextElideMode.ElideRight, self.width())
        self.setText(shown)
        whole = shown == self._full
        self.setToolTip("" if whole else self._full)
        worth_going_to = self._passing or not whole
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus if worth_going_to else Qt.FocusPolicy.NoFocus)

    def minimumSizeHint(self) -> QSize:
        return QSize(0, super().minimumSizeHint().height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._shorten()

    def enterEvent(self, event: QEnterEvent) -> None:
        super().enterEvent(event)
        self.entered.emit()

    def leaveEvent(self, event: QEvent) -> None:
        super().leaveEvent(event)
        self.left.emit()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self.clicked.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            self.clicked.emit()
        else:
            super().keyPressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        # Not when the window just comes to the front.
        if event.reason() in (Qt.FocusReason.TabFocusReason, Qt.FocusReason.BacktabFocusReason):
            if self.toolTip():
                QToolTip.showText(self.mapToGlobal(self.rect().topLeft()), self.toolTip(), self)
            self.entered.emit()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.left.emit()

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        if self.hasFocus():
            frame = QStyleOptionFocusRect()
            frame.initFrom(self)
            painter = QPainter(self)
            self.style().drawPrimitive(QStyle.PrimitiveElement.PE_FrameFocusRect, frame, painter, self)
            painter.end()
