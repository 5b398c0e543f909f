"""The heading of the running order, which leads to the film's own sheet."""

from PySide6.QtCore import Signal
from PySide6.QtGui import QMouseEvent
from PySide6.QtWidgets import QLabel


class Heading(QLabel):
    """A heading that shows the film's own sheet when it is clicked.

    Signals:
        clicked: It was clicked.
    """

    clicked = Signal()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if self.rect().contains(event.position().toPoint()):
            self.clicked.emit()
