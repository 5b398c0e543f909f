"""How the strip is drawn. All figures are device-independent pixels unless they say otherwise."""

import bisect
import functools
import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QLineF, QPointF, QRect, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QImage, QPainter, QPainterPath, QPen, QPixmap

from desk.film.model import Film, JoinKind
from desk.ui.look.marks import MOST_TENSION, Mark, paint_fade, paint_join
from desk.ui.look.palette import Palette
from desk.ui.strip.cells import Cell
from desk.ui.strip.colour_rows import ColourRows
from desk.ui.strip.geometry import tension_lines

HEIGHT_PX = 96
TENSION_TOP_PX, TENSION_HEIGHT_PX = 4, 15
BAR_TOP_PX, BAR_HEIGHT_PX = 24, 48
LABEL_TOP_PX, LABEL_HEIGHT_PX = 76, 16

REACH_PX = 16
"""What is drawn of an entry may reach so far into its neighbours."""

_SLOPE_PX = 6
_LINE_PX = 2
_HATCH_PX = 10
_LEAST_MARK_PX = 10
_LEAST_EDGED_PX = 4
_VEIL = 150
_HALO = 110


@dataclass(frozen=True, slots=True)
class StripDrawing:
    """Draws the film itself: bars, joins and tension; what moves over it is drawn by the widget.

    Attributes:
        film: The film.
        cells: What is shown of it.
        rows: Colours of the scenes.
        look: Colours of the window.
        ratio: Pixels of the screen in a device-independent one.
    """

    film: Film
    cells: tuple[Cell, ...]
    rows: ColourRows
    look: Palette
    ratio: float

    def paint(self, painter: QPainter, area: QRectF) -> None:
        """Paint the part of the strip that lies in an area, on nothing."""
        painter.save()
        painter.setClipRect(area)
        painter.setCompositionMode(QPainter.CompositionMode.CompositionMode_Source)
        painter.fillRect(area, Qt.GlobalColor.transparent)
        painter.setCompositionMode(QPainter.CompositionMode.CompositionMode_SourceOver)
        left, right = self._near(area)
        near = self.cells[left:right]
        self._paint_bars(painter, near)
        self._paint_hatch(painter, [cell for cell in near if cell.mark is Mark.DRAFT])
        for cell in near:
            if cell.mark is Mark.BROKEN:
                self._paint_crack(painter, self.bar(cell))
        for cell, following in itertools.pairwise(self.cells[max(0, left - 1) : right + 1]):
            if cell.join.kind is not JoinKind.CUT:
                self._paint_join(painter, cell, following)
        self._paint_fades(painter)
        self._paint_tension(painter, area)
        painter.restore()

    def _near(self, area: QRectF) -> tuple[int, int]:
        """Return the first cell that may show in an area, and the one after the last."""
        left, right = (area.left() - REACH_PX) * self.ratio, (area.right() + REACH_PX) * self.ratio
        first = bisect.bisect_left(self.cells, left, key=lambda cell: cell.span.right_px)
        last = bisect.bisect_right(self.cells, right, key=lambda cell: cell.span.left_px)
        return first, last

    def bar(self, cell: Cell) -> QRectF:
        """Return where an entry's bar is."""
        left, right = cell.span.left_px / self.ratio, cell.span.right_px / self.ratio
        return QRectF(left, BAR_TOP_PX, right - left, BAR_HEIGHT_PX)

    def _paint_bars(self, painter: QPainter, cells: Sequence[Cell]) -> None:
        """Paint neighbouring bars as one picture, a pixel of it for each column."""
        if not cells:
            return
        first, end = cells[0].span.left_px, cells[-1].span.right_px
        columns = np.empty(end - first, np.uint32)
        edges = []
        for cell in cells:
            left, right = cell.span.left_px - first, cell.span.right_px - first
            columns[left:right] = self._columns(cell)
            is_scene = cell.mark not in (Mark.CARD, Mark.SLATE)
            if is_scene and cell.span.left_px and right - left >= _LEAST_EDGED_PX * self.ratio:
                edges.append(left)
        columns[columns == 0] = _pixel(self.look.unlit)
        columns[edges] = _pixel(self.look.panel)
        row = QImage(columns.tobytes(), len(columns), 1, QImage.Format.Format_RGB32)
        place = QRectF(first / self.ratio, BAR_TOP_PX, len(columns) / self.ratio, BAR_HEIGHT_PX)
        painter.drawImage(place, row, QRectF(row.rect()))
        for cell in cells:
            if cell.mark is Mark.CARD:
                self._paint_frame(painter, self.bar(cell), self.look.outline, Qt.PenStyle.SolidLine)
            elif cell.mark is Mark.SLATE:
                self._paint_frame(painter, self.bar(cell), self.look.draft, Qt.PenStyle.DashLine)

    def _columns(self, cell: Cell) -> NDArray[np.uint32] | np.uint32:
        """Return the colour of each column of an entry, 0 where it is not known yet, or that of all."""
        if cell.mark is Mark.CARD:
            return _pixel(cell.background)
        if cell.mark is Mark.SLATE:
            return _pixel(self.look.bench)
        return self.rows.columns(cell.span.entry, cell.span.width_px)

    def _paint_frame(self, painter: QPainter, bar: QRectF, colour: str, style: Qt.PenStyle) -> None:
        if bar.width() < 3:
            painter.fillRect(bar, QColor(colour))
            return
        painter.setPen(QPen(QColor(colour), 1.0, style))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(bar.adjusted(0.5, 0.5, -0.5, -0.5))

    def _paint_hatch(self, painter: QPainter, cells: Sequence[Cell]) -> None:
        """Hatch drafts; the strokes run on from one to the next."""
        if not cells:
            return
        tile = QBrush(_hatch_tile(self.look, self.ratio))
        painter.save()
        # In pixels of the screen, where the tile meets itself without a seam.
        painter.scale(1 / self.ratio, 1 / self.ratio)
        top, height = round(BAR_TOP_PX * self.ratio), round(BAR_HEIGHT_PX * self.ratio)
        for left, right in _runs(cells):
            painter.fillRect(QRect(left, top, right - left, height), tile)
        painter.restore()

    def _paint_crack(self, painter: QPainter, bar: QRectF) -> None:
        centre = bar.center().x()
        path = QPainterPath(QPointF(centre + 3, bar.top()))
        for across, down in ((-2, 0.42), (2, 0.42), (-2, 0.7), (1, 0.7), (-3, 1.0)):
            path.lineTo(centre + across, bar.top() + bar.height() * down)
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for colour, width in ((QColor(self.look.bench), 6.0), (QColor(self.look.broken), 2.4)):
            painter.setPen(QPen(colour, width, Qt.PenStyle.SolidLine, Qt.PenCapStyle.FlatCap))
            painter.drawPath(path)
        painter.restore()

    def _paint_join(self, painter: QPainter, cell: Cell, following: Cell) -> None:
        a_frame = self._frame_width()
        cut = self.bar(cell).right()
        before, after = cell.join.before_frames * a_frame, cell.join.after_frames * a_frame
        room = min(self.bar(cell).width(), self.bar(following).width())
        # A mark too short to be seen is widened, but not over a whole entry.
        missing = max(0.0, min(_LEAST_MARK_PX, max(room * 0.6, 4.0)) - before - after) / 2
        place = QRectF(cut - before - missing, BAR_TOP_PX, before + after + 2 * missing, BAR_HEIGHT_PX)
        painter.fillRect(place, _sheer(self.look.bench, _HALO))
        paint_join(painter, place.adjusted(1, 6, -1, -6), cell.join.kind, self.look)

    def _paint_fades(self, painter: QPainter) -> None:
        if not self.cells:
            return
        first, last = self.bar(self.cells[0]), self.bar(self.cells[-1])
        for frames, up in ((self.film.fade_in_frames, True), (self.film.fade_out_frames, False)):
            if frames:
                width = max(_LEAST_MARK_PX, frames * self._frame_width())
                left = first.left() if up else last.right() - width
                place = QRectF(left, BAR_TOP_PX, width, BAR_HEIGHT_PX)
                painter.fillRect(place, _sheer(self.look.bench, _HALO))
                paint_fade(painter, place.adjusted(1, 6, -1, -6), self.look, up=up)

    def _paint_tension(self, painter: QPainter, area: QRectF) -> None:
        spans = [cell.span for cell in self.cells]
        lines = tension_lines(spans, [cell.tension for cell in self.cells], _SLOPE_PX * self.ratio)
        flat, steep = [], []
        for (x, level), (next_x, next_level) in itertools.chain.from_iterable(map(itertools.pairwise, lines)):
            left, right = x / self.ratio, next_x / self.ratio
            if right < area.left() or left > area.right():
                continue
            top = self._tension_y(level)
            if level == next_level:
                flat.append(QRectF(left, top - _LINE_PX / 2, right - left, _LINE_PX))
            else:
                steep.append(QLineF(left, top, right, self._tension_y(next_level)))
        pencil = QColor(self.look.pencil)
        painter.save()
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(pencil)
        painter.drawRects(flat)
        painter.setPen(QPen(pencil, _LINE_PX))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.drawLines(steep)
        painter.restore()

    def _tension_y(self, level: float) -> float:
        return TENSION_TOP_PX + TENSION_HEIGHT_PX * (1 - level / MOST_TENSION)

    def _frame_width(self) -> float:
        return self.cells[-1].span.right_px / self.ratio / self.cells[-1].span.end_frames


@functools.lru_cache(maxsize=8)
def _hatch_tile(look: Palette, ratio: float) -> QPixmap:
    side = round(_HATCH_PX * ratio)
    tile = QPixmap(side, side)
    tile.fill(Qt.GlobalColor.transparent)
    painter = QPainter(tile)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    # A dark stroke beside a light one, so that they show on pictures of either kind.
    for colour, alpha, width, aside in ((look.bench, _VEIL, 4.0, 0.0), (look.draft, _HALO, 1.0, 3.5)):
        painter.setPen(QPen(_sheer(colour, alpha), width * ratio))
        for x in (-side, 0, side):
            start = x + aside * ratio
            painter.drawLine(QLineF(start - side, 2 * side, start + 2 * side, -side))
    painter.end()
    return tile


def _sheer(name: str, alpha: int) -> QColor:
    colour = QColor(name)
    colour.setAlpha(alpha)
    return colour


def _pixel(colour: str) -> np.uint32:
    return np.uint32(QColor(colour).rgb())


def _runs(cells: Sequence[Cell]) -> Iterator[tuple[int, int]]:
    """Yield the columns of neighbouring entries together: the first, and the one after the last."""
    left, right = cells[0].span.left_px, cells[0].span.right_px
    for cell in cells[1:]:
        if cell.span.left_px != right:
            yield left, right
            left = cell.span.left_px
        right = cell.span.right_px
    yield left, right
