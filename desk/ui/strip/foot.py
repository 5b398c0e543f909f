"""The foot of the window: the line of figures, and the film to scale below it."""

from PySide6.QtWidgets import QFrame, QVBoxLayout, QWidget

from desk.ui.bench import Bench
from desk.ui.strip.film_strip import FilmStrip
from desk.ui.strip.foot_line import FootLine


class Foot(QFrame):
    """The foot of the window.

    Attributes:
        line: The line of figures.
        strip: The film to scale.
    """

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("kind", "bar")
        self.line = FootLine(bench, self)
        self.strip = FilmStrip(bench, self)
        column = QVBoxLayout(self)
        column.setContentsMargins(16, 8, 16, 4)
        column.setSpacing(4)
        column.addWidget(self.line)
        column.addWidget(self.strip)

    def preview(self, text: str) -> None:
        """Show in the line what a drop would do, until "" is shown."""
        self.line.preview(text)
