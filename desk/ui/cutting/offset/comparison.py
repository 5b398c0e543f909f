"""Two sounds laid over each other at some places, to see whether they belong together."""

from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QWidget

from desk.film.wording import counted
from desk.sound.waveform import Peaks
from desk.ui.cutting.offset.search import Place
from desk.ui.look.theme import Theme
from desk.ui.look.type import SMALL_PX, sans

_ROW_PX = 64
_GAP_PX = 8
_LEAST_WIDTH_PX = 240
_PLATE_PX = 4


class ComparisonView(QWidget):
    """Draws the sound of the footage as a filled shape, and over it the outline of the recording."""

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._theme = theme
        self._places: tuple[Place, ...] = ()
        self.setMinimumWidth(_LEAST_WIDTH_PX)
        theme.changed.connect(self.update)

    def show_places(self, places: Sequence[Place]) -> None:
        """Show places; none hides it."""
        self._places = tuple(places)
        self.setVisible(bool(places))
        told = f"Sound of the footage and of the recording at {counted(len(places), 'place')}"
        self.setAccessibleName(told)
        rows = max(1, len(self._places))
        self.setFixedHeight(rows * _ROW_PX + (rows - 1) * _GAP_PX)
        self.update()

    def paintEvent(self, _: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        for number, place in enumerate(self._places):
            top = number * (_ROW_PX + _GAP_PX)
            self._paint_place(painter, QRectF(0.5, top + 0.5, self.width() - 1, _ROW_PX - 1), place)

    def _paint_place(self, painter: QPainter, box: QRectF, place: Place) -> None:
        painter.setPen(QPen(self._theme.colour("line"), 1))
        painter.setBrush(self._theme.colour("field"))
        painter.drawRect(box)
        painter.setClipRect(box)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(self._theme.colour("unlit"))
        painter.drawPolygon(_shape(box, place.own))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(QColor(self._theme.colour("pencil")), 1.2))
        painter.drawPolygon(_shape(box, place.other))
        painter.setClipping(False)
        self._paint_words(painter, box, f"{float(place.seconds):.2f} s of the footage")

    def _paint_words(self, painter: QPainter, box: QRectF, words: str) -> None:
        painter.setFont(sans(SMALL_PX))
        text = QRectF(painter.fontMetrics().boundingRect(words))
        text.moveTopLeft(box.topLeft() + QPointF(2 * _PLATE_PX, _PLATE_PX))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(self._theme.colour("field"))
        painter.drawRect(text.adjusted(-_PLATE_PX, 0, _PLATE_PX, 0))
        painter.setPen(self._theme.colour("ink"))
        painter.drawText(text.adjusted(0, 0, _PLATE_PX, 0), Qt.AlignmentFlag.AlignLeft, words)


def _shape(box: QRectF, peaks: tuple[Peaks, Peaks]) -> QPolygonF:
    """Return the outline of a sound, as high as the box: how loud each of the two is does not count."""
    low, high = peaks
    most = max(1, int(high.max(initial=0)), -int(low.min(initial=0)))
    half, step = 0.45 * box.height() / most, box.width() / max(1, len(low) - 1)
    middle = box.center().y()
    upper = [QPointF(box.left() + at * step, middle - int(value) * half) for at, value in enumerate(high)]
    lower = [QPointF(box.left() + at * step, middle - int(value) * half) for at, value in enumerate(low)]
    return QPolygonF([*upper, *reversed(lower)])
