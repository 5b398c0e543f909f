"""A label of one line that never asks for more room than there is; its tool tip has what is cut off."""

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QLabel, QStyle, QStyleOption, QWidget


class ElidedLabel(QLabel):
    """One line of text, cut off in the middle or at its end."""

    def __init__(
        self, mode: Qt.TextElideMode = Qt.TextElideMode.ElideRight, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._mode = mode
        self.setTextFormat(Qt.TextFormat.PlainText)

    def say(self, text: str) -> None:
        """Show a text."""
        self.setText(text)
        self._tell_in_full()

    def _shown(self) -> str:
        return self.fontMetrics().elidedText(self.text(), self._mode, self.contentsRect().width())

    def _tell_in_full(self) -> None:
        self.setToolTip(self.text() if self._shown() != self.text() else "")

    def minimumSizeHint(self) -> QSize:
        return QSize(24, super().minimumSizeHint().height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._tell_in_full()

    def paintEvent(self, _: QPaintEvent) -> None:
        painter = QPainter(self)
        option = QStyleOption()
        option.initFrom(self)
        self.style().drawPrimitive(QStyle.PrimitiveElement.PE_Widget, option, painter, self)
        self.style().drawItemText(
            painter,
            self.contentsRect(),
            int(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft),
            option.palette,
            self.isEnabled(),
            self._shown(),
            self.foregroundRole(),
        )


def set_kind(label: QLabel, kind: str) -> None:
    """Give a label another role in the window's style."""
    if label.property("kind") != kind:
        label.setProperty("kind", kind)
        label.style().polish(label)
