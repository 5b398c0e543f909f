"""Paints over the lanes what changes with the pointer and the selection: frames, handles, lines of a drop."""

from collections.abc import Collection
from dataclasses import dataclass

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QFontMetricsF, QPainter, QPen, QPolygonF

from desk.film.model import Clip, Film
from desk.film.problem import Facts
from desk.film.wording import counted
from desk.ui.cutting.lanes.axis import TimeAxis
from desk.ui.cutting.lanes.grips import EDGE_PX, Grip, Hold, edge_px, fade_zone
from desk.ui.cutting.lanes.known import handles
from desk.ui.cutting.lanes.layout import Box, LanesLayout, Row
from desk.ui.cutting.lanes.shapes import gain_line_y
from desk.ui.cutting.lanes.words import label_words, thing_gain_db
from desk.ui.look.theme import Theme
from desk.ui.look.type import SMALL_PX, sans
from desk.ui.scene.clip_facts import gain_text

_HANDLE_PX = 8.0
_LEAST_FOR_LINES_PX = 40
_LABEL_ROOM_PX = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class LanesOverlay:
    """What stands over the lanes.

    Attributes:
        film: The film.
        layout: What stands in the lanes.
        axis: Where on the screen.
        facts: What is known of each file.
        theme: Colours in use.
        selection: Ids of what is selected.
        grip: What the pointer is over or has hold of, or None.
        moving: Ids of clips that are on the way to another place.
        drop: Where something would be put in: the frame and the lane; or None.
        band: What is being drawn round to select it, or None.
        edge: The first frame after the cut that is held by key, or None.
    """

    film: Film
    layout: LanesLayout
    axis: TimeAxis
    facts: Facts
    theme: Theme
    selection: Collection[str]
    grip: Grip | None = None
    moving: Collection[str] = ()
    drop: tuple[int, Row] | None = None
    band: QRectF | None = None
    edge: int | None = None

    def paint(self, painter: QPainter) -> None:
        """Paint it."""
        painter.save()
        axis = self.axis
        painter.setClipRect(QRectF(axis.left_px, 0, axis.width_px, self.layout.height_px))
        painter.setFont(sans(SMALL_PX))
        selected, moving = set(self.selection), set(self.moving)
        if selected or moving:
            for box in self.layout.shown(axis):
                if box.owner in moving:
                    shade = self.theme.colour("field")
                    shade.setAlpha(150)
                    painter.fillRect(box.rect(axis), shade)
                if box.owner in selected:
                    self._paint_selected(painter, box)
        if self.grip is not None:
            self._paint_grip(painter, self.grip)
        if self.edge is not None:
            self._paint_edge(painter, self.edge)
        if self.drop is not None:
            self._paint_drop(painter, *self.drop)
        if self.band is not None:
            self._paint_band(painter, self.band)
        painter.restore()

    def _paint_selected(self, painter: QPainter, box: Box) -> None:
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(self.theme.colour("pencil"), 2))
        painter.drawRect(box.rect(self.axis).adjusted(1, 1, -1, -1))

    def _paint_grip(self, painter: QPainter, grip: Grip) -> None:
        box, axis = grip.box, self.axis
        rect = box.rect(axis)
        ink = self.theme.colour("ink")
        if grip.hold is Hold.BLACK:
            self._paint_black(painter, box, rect)
            return
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(ink, 1))
        painter.drawRect(rect.adjusted(0.5, 0.5, -0.5, -0.5))
        if box.span is not None and rect.width() >= _LEAST_FOR_LINES_PX:
            self._paint_lines(painter, box, rect)
        if grip.hold in (Hold.HEAD, Hold.TAIL):
            x = rect.left() if grip.hold is Hold.HEAD else rect.right()
            inwards = edge_px(rect) / 2 if grip.hold is Hold.HEAD else -edge_px(rect) / 2
            painter.fillRect(QRectF(min(x, x + inwards), rect.top(), abs(inwards), rect.height()), ink)
            if box.row is Row.PICTURE:
                self._paint_handle(painter, box, rect, grip.hold)

    def _paint_black(self, painter: QPainter, box: Box, rect: QRectF) -> None:
        """Paint a frame around the black before a clip, and its length."""
        assert isinstance(box.thing, Clip)
        ink, axis = self.theme.colour("ink"), self.axis
        left = axis.x(box.start_frames - box.thing.gap_frames)
        black = QRectF(left, rect.top(), rect.left() - left, rect.height())
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(ink, 1))
        painter.drawRect(black.adjusted(0.5, 0.5, -0.5, -0.5))
        bar = min(EDGE_PX / 2, black.width())
        painter.fillRect(QRectF(rect.left() - bar, rect.top(), bar, rect.height()), ink)
        room = QRectF(axis.left_px, rect.top(), axis.width_px, rect.height())
        words = counted(box.thing.gap_frames, "frame")
        self._paint_words(painter, words, black.intersected(room).center(), room)

    def _paint_lines(self, painter: QPainter, box: Box, rect: QRectF) -> None:
        """Paint the line of the gain with its value, and where the fades are taken hold of."""
        ink = self.theme.colour("ink")
        gain = thing_gain_db(box.thing)
        y = gain_line_y(rect, gain)
        painter.setPen(QPen(ink, 1))
        painter.drawLine(QLineF(rect.left() + 1, y, rect.right() - 1, y))
        shown = QRectF(rect)
        shown.setLeft(max(rect.left(), self.axis.left_px))
        shown.setRight(min(rect.right(), self.axis.right_px))
        if label := label_words(box):
            # What is written on a sound stands at its left, and holds the gain too.
            label_px = QFontMetricsF(painter.font()).horizontalAdvance(label)
            shown.setLeft(min(shown.right(), shown.left() + label_px + _LABEL_ROOM_PX))
        self._paint_words(painter, gain_text(gain), QPointF(shown.center().x(), y), shown)
        painter.setBrush(ink)
        painter.setPen(Qt.PenStyle.NoPen)
        for hold in (Hold.FADE_IN, Hold.FADE_OUT):
            zone = fade_zone(box, self.axis, hold)
            if zone is not None:
                painter.drawPolygon(
                    QPolygonF(
                        [
                            QPointF(zone.left() + 2, zone.top() + 1),
                            QPointF(zone.right() - 2, zone.top() + 1),
                            QPointF(zone.center().x(), zone.bottom() - 1),
                        ]
                    )
                )

    def _paint_handle(self, painter: QPainter, box: Box, rect: QRectF, hold: Hold) -> None:
        """Paint how much footage lies beyond an edge, over what stands there."""
        assert isinstance(box.thing, Clip)
        before, after = handles(box.thing, self.film.rate, self.facts)
        frames = before if hold is Hold.HEAD else after
        if frames is None:
            return
        width = frames * self.axis.px_per_frame
        left = rect.left() - width if hold is Hold.HEAD else rect.right()
        bar = QRectF(left, rect.bottom() - _HANDLE_PX, width, _HANDLE_PX)
        bar = bar.intersected(QRectF(self.axis.left_px, rect.top(), self.axis.width_px, rect.height()))
        pencil = self.theme.colour("pencil")
        shade = self.theme.colour("bench")
        shade.setAlpha(190)
        painter.fillRect(bar, shade)
        painter.fillRect(bar, QBrush(pencil, Qt.BrushStyle.BDiagPattern))
        painter.setPen(QPen(pencil, 1))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(bar)
        words = counted(frames, "frame")
        half = QFontMetricsF(painter.font()).horizontalAdvance(words) / 2 + 8
        x = rect.left() - half if hold is Hold.HEAD else rect.right() + half
        room = QRectF(self.axis.left_px, rect.top(), self.axis.width_px, rect.height())
        self._paint_words(painter, words, QPointF(x, rect.bottom() - _HANDLE_PX - 10), room)

    def _paint_drop(self, painter: QPainter, frame: int, row: Row) -> None:
        x = round(self.axis.x(frame))
        top, height = self.layout.rows[row]
        painter.fillRect(QRectF(x - 1.5, top - 2, 3, height + 4), self.theme.colour("ink"))

    def _paint_edge(self, painter: QPainter, frame: int) -> None:
        """Mark what the arrow keys move: a bar with an arrow to either side."""
        x = round(self.axis.x(frame))
        top, height = self.layout.rows[Row.PICTURE]
        ink, ground = self.theme.colour("ink"), self.theme.colour("bench")
        middle = top + height / 2
        painter.setPen(QPen(ground, 1))
        painter.setBrush(ink)
        painter.drawRect(QRectF(x - 2, top - 2, 4, height + 3))
        for way in (-1, 1):
            points = (QPointF(x + way * 13, middle), *(QPointF(x + way * 4, middle + up) for up in (-8, 8)))
            painter.drawPolygon(QPolygonF(points))

    def _paint_band(self, painter: QPainter, band: QRectF) -> None:
        pencil = self.theme.colour("pencil")
        shade = self.theme.colour("pencil")
        shade.setAlpha(40)
        painter.fillRect(band, shade)
        painter.setPen(QPen(pencil, 1, Qt.PenStyle.DashLine))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(band)

    def _paint_words(self, painter: QPainter, words: str, middle: QPointF, room: QRectF) -> None:
        """Paint words on a ground of their own, around a point but inside some room."""
        metrics = QFontMetricsF(painter.font())
        ground = QRectF(0, 0, metrics.horizontalAdvance(words) + 8, metrics.height())
        if ground.width() > room.width():
            return
        ground.moveCenter(middle)
        ground.moveLeft(max(room.left(), min(ground.left(), room.right() - ground.width())))
        ground.moveTop(max(room.top(), min(ground.top(), room.bottom() - ground.height())))
        painter.fillRect(ground, self.theme.colour("bench"))
        painter.setPen(self.theme.colour("ink"))
        painter.drawText(ground, Qt.AlignmentFlag.AlignCenter, words)
