"""Paints the files of a scene as a contact strip: a small picture, and under it what is to be said."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import QLineF, QObject, QPointF, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QImage, QPainter, QPen
from PySide6.QtWidgets import QStyle, QStyledItemDelegate, QStyleOptionViewItem

from desk.sound.waveform import FULL_SCALE, Waveform
from desk.ui.bench import Bench
from desk.ui.cutting.footage.model import ROW_ROLE, Index
from desk.ui.cutting.footage.rows import FootageKind, FootageRow
from desk.ui.look.icons import icon
from desk.ui.look.type import SMALL_PX, TEXT_PX, sans
from desk.ui.order.ink import Ink, Side, Words

LEAST_CELL_PX = 156
_GAP_PX = 8
_PAD_PX = 8
_BAR_PX = 3
_NAME_PX = 20
_LINE_PX = 16
_FOOT_PX = 6
_MARK_PX = 14
_ICON_PX = 32
_MOST_STROKES = 5

Outline = Callable[[str], Waveform | None]


@dataclass(frozen=True, slots=True)
class CellLayout:
    """Where everything stands in a cell.

    Attributes:
        cell: The cell without the gap around it.
        picture: The small picture.
        name: The name.
        length: The length, at the left.
        use: How often it is used, at the right of the same line.
        format: What picture or sound it has.
        origin: Camera, or where it comes from.
    """

    cell: QRect
    picture: QRect
    name: QRect
    length: QRect
    use: QRect
    format: QRect
    origin: QRect


def cell_height(width_px: int, *, has_origin: bool) -> int:
    """Return how high a cell is with the gap around it.

    Args:
        width_px: How wide it is with that gap.
        has_origin: Whether it has a line for camera or folder.
    """
    picture = (width_px - _GAP_PX) * 9 // 16
    return _GAP_PX + picture + 4 + _NAME_PX + (3 if has_origin else 2) * _LINE_PX + _FOOT_PX


def lay_out_cell(rect: QRect) -> CellLayout:
    """Return where everything stands in an item."""
    half = _GAP_PX // 2
    cell = rect.adjusted(half, half, -half, -half)
    picture = QRect(cell.left(), cell.top(), cell.width(), cell.width() * 9 // 16)
    left, width = cell.left() + _PAD_PX, cell.width() - 2 * _PAD_PX
    top = picture.bottom() + 5
    name = QRect(left, top, width, _NAME_PX)
    lines = [QRect(left, name.bottom() + 1 + line * _LINE_PX, width, _LINE_PX) for line in range(3)]
    return CellLayout(
        cell=cell,
        picture=picture,
        name=name,
        length=lines[0],
        use=lines[0],
        format=lines[1],
        origin=lines[2],
    )


def paint_use(ink: Ink, rect: QRect, uses: int) -> None:
    """Paint how often a file is used: strokes of the wax pencil, the fifth across; a flat line for never."""
    painter = ink.painter
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    middle = rect.center().y() + 0.5
    if not uses:
        painter.setPen(QPen(ink.colour("dim"), 1.6))
        painter.drawLine(QLineF(rect.right() - 8, middle, rect.right(), middle))
        painter.restore()
        return
    pen = QPen(ink.colour("pencil"), 2.0)
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    painter.setPen(pen)
    strokes = min(uses, _MOST_STROKES - 1)
    left = rect.right() - 3 * strokes
    for stroke in range(strokes):
        x = left + 3 * stroke + 2
        painter.drawLine(QPointF(x, middle - 4.5), QPointF(x, middle + 4.5))
    if uses >= _MOST_STROKES:
        painter.drawLine(QPointF(left - 1, middle + 3), QPointF(rect.right() + 2, middle - 3))
    painter.restore()


class FootageDelegate(QStyledItemDelegate):
    """Paints files as cells. Pictures are asked for as cells are painted, so only for those on the screen."""

    def __init__(
        self, bench: Bench, parent: QObject | None = None, *, outline: Outline | None = None
    ) -> None:
        """Make it.

        Args:
            bench: Pictures and colours.
            parent: Who owns it.
            outline: Gives the outline of a sound, or None where it is not there yet.
        """
        super().__init__(parent)
        self._bench = bench
        self._outline = outline
        self._name = Words(sans(TEXT_PX, strong=True))
        self._small = Words(sans(SMALL_PX))
        self.cell_size = QSize(LEAST_CELL_PX, cell_height(LEAST_CELL_PX, has_origin=False))

    def _paint_picture(self, ink: Ink, rect: QRect, row: FootageRow) -> None:
        ink.painter.fillRect(rect, ink.colour("bench"))
        if row.trouble:
            self._paint_icon(ink, rect, "warning", "dim")
        elif row.kind is FootageKind.SOUND:
            self._paint_sound(ink, rect, row)
        elif row.is_known:
            image = self._bench.thumbnails.picture(row.path, row.seconds / 2, height_px=rect.height())
            if image is not None and not image.isNull():
                _paint_whole(ink, rect, image)
        ink.frame(rect, "line", 1)

    def _paint_sound(self, ink: Ink, rect: QRect, row: FootageRow) -> None:
        waveform = self._outline(row.path) if self._outline and row.is_known else None
        if waveform is None or not waveform.samples:
            self._paint_icon(ink, rect, "sound", "dim")
            return
        room = rect.adjusted(6, 8, -6, -8)
        low, high = waveform.columns(0, waveform.samples, room.width())
        peak = max(1, int(np.abs(high.astype(np.int32)).max()), int(np.abs(low.astype(np.int32)).max()))
        # A quiet recording is drawn large enough to see where something happens, never as if it were loud.
        half = room.height() / 2 * max(0.25, min(1.0, peak / FULL_SCALE)) / peak
        middle = room.center().y() + 0.5
        ink.painter.setPen(QPen(ink.colour("dim"), 1))
        ink.painter.drawLines(
            [
                QLineF(
                    room.left() + x + 0.5,
                    middle - high[x] * half,
                    room.left() + x + 0.5,
                    middle - low[x] * half,
                )
                for x in range(room.width())
            ]
        )

    def _paint_icon(self, ink: Ink, rect: QRect, name: str, colour: str) -> None:
        place = QRect(0, 0, _ICON_PX, _ICON_PX)
        place.moveCenter(rect.center())
        icon(name, self._bench.theme, colour=colour).paint(ink.painter, place)

    def _paint_words(self, ink: Ink, layout: CellLayout, row: FootageRow) -> None:
        grey = "dim" if row.trouble else "ink"
        self._name.draw(ink, layout.name, row.name, grey)
        if row.uses or not row.trouble:
            words = self._small.draw(ink, layout.use, row.use_words, "dim", Side.RIGHT)
            mark = layout.use.adjusted(0, 0, -words - 6, 0)
            paint_use(ink, QRect(mark.right() - _MARK_PX, mark.top(), _MARK_PX, mark.height()), row.uses)
        self._small.draw(ink, layout.length, row.length, grey)
        if row.trouble:
            where = layout.format if row.uses else layout.length
            self._small.draw(ink, where, row.trouble, "broken_text")
        else:
            self._small.draw(ink, layout.format, row.format_words, "pencil_text" if row.marked else "dim")
        self._small.draw(ink, layout.origin, row.origin, "dim")

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        row = index.data(ROW_ROLE)
        assert isinstance(row, FootageRow)
        rect: QRect = option.rect
        state: QStyle.StateFlag = option.state
        layout = lay_out_cell(rect)
        ink = Ink(painter, self._bench.theme.palette)
        is_chosen = bool(state & QStyle.StateFlag.State_Selected)
        is_lit = is_chosen or bool(state & QStyle.StateFlag.State_MouseOver)
        painter.fillRect(layout.cell, ink.colour("row_chosen" if is_lit else "panel"))
        self._paint_picture(ink, layout.picture, row)
        self._paint_words(ink, layout, row)
        if is_chosen:
            cell = layout.cell
            painter.fillRect(QRect(cell.left(), cell.top(), _BAR_PX, cell.height()), ink.colour("pencil"))
        if state & QStyle.StateFlag.State_HasFocus:
            ink.frame(layout.cell, "pencil")

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        return self.cell_size


def _paint_whole(ink: Ink, rect: QRect, image: QImage) -> None:
    """Paint a picture whole, in the middle of a rectangle."""
    scale = min(rect.width() / image.width(), rect.height() / image.height())
    place = QRectF(0, 0, image.width() * scale, image.height() * scale)
    place.moveCenter(QRectF(rect).center())
    ink.painter.save()
    ink.painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
    ink.painter.drawImage(place, image)
    ink.painter.restore()
