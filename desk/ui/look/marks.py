"""Marks drawn by hand: states, joins and tension.

A state has a shape first, then a colour, so that it is told apart in grey and at 12 px. Joins are drawn as
work print was marked with a wax pencil (common practice, no source): a dissolve as one slanting stroke, a
fade up as two strokes opening, a fade out as two closing, through black as both.
"""

import functools
import math
from enum import Enum

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPen, QPixmap

from desk.film.model import JoinKind
from desk.ui.look.palette import Palette

MOST_TENSION = 5


class Mark(Enum):
    """The mark before an entry; its value is what it is called."""

    LOCKED = "locked"
    DRAFT = "draft"
    BROKEN = "lock broken"
    CARD = "card"
    SLATE = "no footage yet"


def paint_mark(painter: QPainter, rect: QRectF, mark: Mark, look: Palette) -> None:
    """Paint a state mark, as large as fits into a square in the middle of `rect`."""
    side = min(rect.width(), rect.height())
    square = QRectF(0, 0, side, side)
    square.moveCenter(rect.center())
    # Marks are painted many at a time, and a dashed ring takes a while: each is drawn once for a size.
    ratio = painter.device().devicePixelRatioF()
    place = QPointF(round(square.left() * ratio) / ratio, round(square.top() * ratio) / ratio)
    painter.drawPixmap(place, _mark_pixmap(mark, side, ratio, look))


@functools.lru_cache(maxsize=256)
def _mark_pixmap(mark: Mark, side: float, ratio: float, look: Palette) -> QPixmap:
    pixmap = _empty_pixmap(side, side, ratio)
    painter = QPainter(pixmap)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    _PAINTERS[mark](painter, QRectF(0, 0, side, side), look)
    painter.end()
    return pixmap


def paint_join(painter: QPainter, rect: QRectF, kind: JoinKind, look: Palette) -> None:
    """Paint the wax pencil mark of a join over the whole of `rect`; a cut has none."""
    strokes: tuple[tuple[QPointF, QPointF], ...] = ()
    if kind is JoinKind.DISSOLVE:
        strokes = ((rect.topLeft(), rect.bottomRight()),)
    elif kind is JoinKind.THROUGH_BLACK:
        strokes = ((rect.topLeft(), rect.bottomRight()), (rect.bottomLeft(), rect.topRight()))
    _wax(painter, strokes, look)


def paint_fade(painter: QPainter, rect: QRectF, look: Palette, *, up: bool) -> None:
    """Paint the wax pencil mark of a fade up from black, or of a fade out."""
    point = QPointF(rect.left() if up else rect.right(), rect.center().y())
    far = (rect.topRight(), rect.bottomRight()) if up else (rect.topLeft(), rect.bottomLeft())
    _wax(painter, tuple((point, end) for end in far), look)


def paint_tension(painter: QPainter, rect: QRectF, tension: int | None, look: Palette) -> None:
    """Paint tension as five steps that rise; those reached are lit; None lights none."""
    ratio = painter.device().devicePixelRatioF()
    pixmap = _tension_pixmap(tension or 0, rect.width(), rect.height(), ratio, look)
    painter.drawPixmap(rect.topLeft(), pixmap)


@functools.lru_cache(maxsize=64)
def _tension_pixmap(tension: int, width: float, height: float, ratio: float, look: Palette) -> QPixmap:
    pixmap = _empty_pixmap(width, height, ratio)
    painter = QPainter(pixmap)
    painter.setPen(Qt.PenStyle.NoPen)
    step = width / MOST_TENSION
    for index in range(MOST_TENSION):
        reached = height * (index + 2) / (MOST_TENSION + 1)
        painter.setBrush(QColor(look.pencil if index < tension else look.unlit))
        painter.drawRect(QRectF(index * step, height - reached, step * 0.66, reached))
    painter.end()
    return pixmap


def _empty_pixmap(width: float, height: float, ratio: float) -> QPixmap:
    pixmap = QPixmap(math.ceil(width * ratio), math.ceil(height * ratio))
    pixmap.setDevicePixelRatio(ratio)
    pixmap.fill(Qt.GlobalColor.transparent)
    return pixmap


def _wax(painter: QPainter, strokes: tuple[tuple[QPointF, QPointF], ...], look: Palette) -> None:
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    pen = QPen(QColor(look.pencil), 2.0)
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    painter.setPen(pen)
    for start, end in strokes:
        painter.drawLine(start, end)
    painter.restore()


def _paint_locked(painter: QPainter, square: QRectF, look: Palette) -> None:
    path = _disc(square)
    hole = QRectF(0, 0, square.width() * 0.3, square.width() * 0.42)
    hole.moveCenter(square.center())
    path.addRoundedRect(hole, hole.width() * 0.3, hole.width() * 0.3)
    painter.fillPath(path, QColor(look.locked))


def _paint_draft(painter: QPainter, square: QRectF, look: Palette) -> None:
    width = max(1.2, square.width() * 0.09)
    inset = _inset(square, 0.1)
    pen = QPen(QColor(look.draft), width)
    # Eight dashes with gaps of the same length go round without a seam.
    dash = math.pi * inset.width() / 16 / width
    pen.setDashPattern([dash, dash])
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    painter.setPen(pen)
    painter.drawEllipse(inset)


def _paint_broken(painter: QPainter, square: QRectF, look: Palette) -> None:
    side = square.width()

    def at(x: float, y: float) -> QPointF:
        return QPointF(square.left() + x * side, square.top() + y * side)

    crack = QPainterPath(at(0.62, -0.05))
    for point in (at(0.36, 0.5), at(0.54, 0.5), at(0.38, 1.05), at(0.5, 1.05), at(0.72, 0.4), at(0.54, 0.4)):
        crack.lineTo(point)
    crack.lineTo(at(0.74, -0.05))
    crack.closeSubpath()
    painter.fillPath(_disc(square).subtracted(crack), QColor(look.broken))


def _paint_card(painter: QPainter, square: QRectF, look: Palette) -> None:
    frame = _paint_frame(painter, square, look)
    inset = frame.width() / 5
    painter.drawLine(
        QPointF(frame.left() + inset, frame.center().y()), QPointF(frame.right() - inset, frame.center().y())
    )


def _paint_slate(painter: QPainter, square: QRectF, look: Palette) -> None:
    _paint_frame(painter, square, look)


def _paint_frame(painter: QPainter, square: QRectF, look: Palette) -> QRectF:
    frame = QRectF(0, 0, square.width() * 0.88, square.width() * 0.62)
    frame.moveCenter(square.center())
    painter.setPen(QPen(QColor(look.draft), max(1.2, square.width() * 0.08)))
    painter.drawRect(frame)
    return frame


def _disc(square: QRectF) -> QPainterPath:
    path = QPainterPath()
    path.addEllipse(_inset(square, 0.04))
    return path


def _inset(square: QRectF, share: float) -> QRectF:
    by = square.width() * share
    return square.adjusted(by, by, -by, -by)


_PAINTERS = {
    Mark.LOCKED: _paint_locked,
    Mark.DRAFT: _paint_draft,
    Mark.BROKEN: _paint_broken,
    Mark.CARD: _paint_card,
    Mark.SLATE: _paint_slate,
}
