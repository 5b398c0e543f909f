"""What is shown to scale: where it stands and, of raw footage, what is marked and what the scene uses."""

import math
from collections.abc import Sequence
from enum import Enum, auto

from PySide6.QtCore import QLineF, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QMouseEvent, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from desk.film.timecode import format_length
from desk.ui.cutting.lanes.axis import TimeAxis
from desk.ui.cutting.lanes.ruler import label_step, tick_step
from desk.ui.cutting.marks import Marked
from desk.ui.look.theme import Theme
from desk.ui.look.type import SMALL_PX, sans
from desk.ui.viewer.marking import Marking
from desk.ui.viewer.player import Player

_HEIGHT_PX = 44
_BAND_TOP_PX, _BAND_PX = 20, 16
_USED_TOP_PX, _USED_PX = 38, 3
_EDGE_PX = 6
"""The playhead can stand on the first and on the last frame without being cut off."""

_GRIP_PX = 6


class _Hold(Enum):
    """What the pointer has hold of."""

    PLAYHEAD = auto()
    HEAD = auto()
    TAIL = auto()


class TimeScale(QWidget):
    """Scrubs through what is shown by pointer, and moves what is marked of raw footage by its edges.

    Keys do the same where the picture has the keyboard, so that it takes none itself.
    """

    def __init__(self, player: Player, marking: Marking, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._player = player
        self._marking = marking
        self._theme = theme
        self._used: tuple[tuple[int, int], ...] = ()
        self._hold: _Hold | None = None
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setMouseTracking(True)
        self.setAccessibleName("Time")
        theme.changed.connect(self.update)
        player.moved.connect(self.update)
        player.subject_changed.connect(self.update)

    @property
    def axis(self) -> TimeAxis:
        """Which frame stands where."""
        width = max(1.0, self.width() - 2.0 * _EDGE_PX)
        return TimeAxis.of_range(0, self._player.frames, left_px=_EDGE_PX, width_px=width)

    def show_used(self, used: Sequence[tuple[int, int]]) -> None:
        """Show which parts the scene uses: of each its first frame, and the one after its last."""
        self._used = tuple(used)
        self.update()

    def _held_at(self, x: float) -> _Hold:
        """Return what the pointer takes hold of at a place."""
        marked = self._marking.marked
        if marked is not None:
            away = {
                _Hold.HEAD: abs(x - self.axis.x(marked.first)),
                _Hold.TAIL: abs(x - self.axis.x(marked.end)),
            }
            nearest = min(away, key=lambda hold: away[hold])
            if away[nearest] <= _GRIP_PX:
                return nearest
        return _Hold.PLAYHEAD

    def _drag_to(self, x: float) -> None:
        player, marked = self._player, self._marking.marked
        frame = max(0, min(self.axis.frame_at(x), player.frames - 1))
        if self._hold is _Hold.PLAYHEAD or marked is None:
            player.go_to(frame)
        elif self._hold is _Hold.HEAD:
            player.go_to(min(round(self.axis.place(x)), marked.end - 1))
            self._marking.mark_head()
        else:
            # The edge follows the pointer; the frame before it is the tail.
            player.go_to(max(round(self.axis.place(x)) - 1, marked.first))
            self._marking.mark_tail()

    def _paint_ruler(self, painter: QPainter, axis: TimeAxis) -> None:
        rate, frames = self._player.subject.rate, self._player.frames
        painter.setFont(sans(SMALL_PX))
        metrics = QFontMetricsF(painter.font())
        labels = label_step(axis.px_per_frame, rate)
        for frame in range(0, frames + 1, tick_step(axis.px_per_frame, rate, labels)):
            x, is_labelled = math.floor(axis.x(frame)) + 0.5, not frame % labels
            painter.setPen(QPen(self._theme.colour("outline" if is_labelled else "line"), 1))
            painter.drawLine(QLineF(x, 2 if is_labelled else _BAND_TOP_PX - 5, x, _BAND_TOP_PX - 1))
            text = format_length(frame, rate)
            if is_labelled and x + 4 + metrics.horizontalAdvance(text) <= axis.right_px:
                painter.setPen(self._theme.colour("dim"))
                painter.drawText(QPointF(x + 4, 12), text)

    def _paint_marked(self, painter: QPainter, axis: TimeAxis, marked: Marked) -> None:
        """Paint what is wanted lit, between two brackets."""
        left, right = round(axis.x(marked.first)), round(axis.x(marked.end))
        painter.fillRect(QRectF(left, _BAND_TOP_PX, right - left, _BAND_PX), self._theme.colour("unlit"))
        pencil = self._theme.colour("pencil")
        for x, inwards in ((left, 1), (right, -1)):
            painter.fillRect(QRectF(min(x, x + 2 * inwards), _BAND_TOP_PX, 2, _BAND_PX), pencil)
            for y in (_BAND_TOP_PX, _BAND_TOP_PX + _BAND_PX - 2):
                painter.fillRect(QRectF(min(x, x + 6 * inwards), y, 6, 2), pencil)

    def _paint_playhead(self, painter: QPainter, axis: TimeAxis) -> None:
        pencil, x = self._theme.colour("pencil"), round(axis.x(self._player.frame))
        painter.fillRect(QRectF(x - 1, _BAND_TOP_PX - 4, 2, _BAND_PX + 8), pencil)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(pencil)
        top = _BAND_TOP_PX - 9
        painter.drawPolygon(QPolygonF([QPointF(x - 5, top), QPointF(x + 5, top), QPointF(x, top + 8)]))

    def sizeHint(self) -> QSize:
        return QSize(240, _HEIGHT_PX)

    def minimumSizeHint(self) -> QSize:
        return QSize(120, _HEIGHT_PX)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if event.button() is Qt.MouseButton.LeftButton and self._player.frames:
            self._hold = self._held_at(event.position().x())
            self._drag_to(event.position().x())

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        x = event.position().x()
        if self._hold is not None:
            self._drag_to(x)
        elif self._held_at(x) is _Hold.PLAYHEAD:
            self.unsetCursor()
        else:
            self.setCursor(Qt.CursorShape.SplitHCursor)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if event.button() is Qt.MouseButton.LeftButton:
            self._hold = None

    def paintEvent(self, _: QPaintEvent) -> None:
        if not self._player.frames:
            return
        painter, axis = QPainter(self), self.axis
        self._paint_ruler(painter, axis)
        band = QRectF(axis.left_px, _BAND_TOP_PX, axis.width_px, _BAND_PX)
        painter.fillRect(band, self._theme.colour("field"))
        painter.setPen(QPen(self._theme.colour("line"), 1))
        painter.drawRect(band.adjusted(0.5, 0.5, -0.5, -0.5))
        if (marked := self._marking.marked) is not None:
            self._paint_marked(painter, axis, marked)
        for first, end in self._used:
            left, right = axis.x(max(0, first)), axis.x(min(end, self._player.frames))
            painter.fillRect(QRectF(left, _USED_TOP_PX, right - left, _USED_PX), self._theme.colour("dim"))
        self._paint_playhead(painter, axis)
