"""What is drawn over the picture in the viewer while a clip is framed."""

from collections.abc import Iterable

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPen

from desk.ui.look.theme import Theme
from desk.ui.look.type import sans

_HANDLE_PX = 10
_PLATE_PX = 8


def paint_boxes(
    painter: QPainter, frame: QRectF, picture: QRectF, corners: Iterable[QPointF], theme: Theme
) -> None:
    """Paint the film's frame, the outline of the picture, and what it is scaled by.

    Args:
        painter: Paints on the overlay.
        frame: The film's frame.
        picture: The whole picture, also where the frame cuts it off.
        corners: Where the handles are.
        theme: Colours in use.
    """
    dark, light = theme.colour("on_pencil"), theme.colour("pencil")
    _stroke(painter, frame, dark, light, Qt.PenStyle.SolidLine)
    _stroke(painter, picture, theme.colour("field"), theme.colour("ink"), Qt.PenStyle.DashLine)
    for corner in corners:
        handle = QRectF(0, 0, _HANDLE_PX, _HANDLE_PX)
        handle.moveCenter(corner)
        painter.setPen(QPen(dark, 1.5))
        painter.setBrush(light)
        painter.drawRect(handle)


def paint_words(painter: QPainter, room: QRectF, words: str, theme: Theme, *, is_refusal: bool) -> None:
    """Paint how the picture is framed, on a plate at the foot of a room."""
    font = sans()
    inner = room.adjusted(2 * _PLATE_PX, 2 * _PLATE_PX, -2 * _PLATE_PX, -2 * _PLATE_PX)
    flags = int(Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignBottom | Qt.TextFlag.TextWordWrap)
    text = QFontMetricsF(font).boundingRect(inner, flags, words)
    painter.setPen(QPen(theme.colour("line"), 1))
    painter.setBrush(theme.colour("panel"))
    painter.drawRoundedRect(text.adjusted(-_PLATE_PX, -_PLATE_PX / 2, _PLATE_PX, _PLATE_PX / 2), 3, 3)
    painter.setFont(font)
    painter.setPen(theme.colour("broken_text" if is_refusal else "ink"))
    painter.drawText(text.adjusted(0, 0, 1, 0), flags, words)


def _stroke(painter: QPainter, box: QRectF, under: QColor, over: QColor, style: Qt.PenStyle) -> None:
    """Draw a line that is seen on light and dark pictures."""
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(under, 3))
    painter.drawRect(box)
    painter.setPen(QPen(over, 1.5, style))
    painter.drawRect(box)
