"""Paints a scene's lanes: what does not change with the playhead, the selection and the pointer."""

from collections.abc import Iterable
from dataclasses import dataclass, field

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QFontMetricsF, QPainter, QPen, QPolygonF

from desk.film.model import Clip, Cue, Film
from desk.film.problem import Facts, MediaTrouble
from desk.ui.cutting.lanes.axis import TimeAxis
from desk.ui.cutting.lanes.ducks import Curves
from desk.ui.cutting.lanes.layout import LABELS_PX, RULER_PX, Box, LanesLayout, Row
from desk.ui.cutting.lanes.shapes import duck_line, fade_line, gain_line_y
from desk.ui.cutting.lanes.tiles import LaneTiles, on_pixels
from desk.ui.cutting.lanes.words import label_words, thing_gain_db
from desk.ui.look.theme import Theme
from desk.ui.look.type import SMALL_PX, sans

_NAMES_LEFT_PX = 6
_LEAST_WORDS_PX = 18
_LEAST_FADE_PX = 2
_ARROW_PX = 9
_TAKEN_ALPHA = 90
"""How strongly is shaded what speech takes off the music."""


@dataclass(frozen=True, slots=True)
class LanesPainting:
    """All that the lanes of a scene show while nothing is touched.

    Attributes:
        film: The film.
        layout: What stands in the lanes.
        axis: Where on the screen.
        facts: What is known of each file.
        tiles: Draws pictures and outlines.
        theme: Colours in use.
        ratio: Pixels of the screen in each device-independent one.
        ducks: How cues go down where somebody speaks.
    """

    film: Film
    layout: LanesLayout
    axis: TimeAxis
    facts: Facts
    tiles: LaneTiles
    theme: Theme
    ratio: float
    ducks: Curves = field(default_factory=dict)

    def paint(self, painter: QPainter) -> None:
        """Paint the lanes; only what is on the screen is drawn."""
        self._paint_names(painter)
        painter.save()
        axis = self.axis
        painter.setClipRect(QRectF(axis.left_px, 0, axis.width_px, self.layout.height_px))
        painter.setFont(sans(SMALL_PX))
        shown = tuple(self.layout.shown(axis))
        missing = tuple(box for box in shown if self._is_missing(box))
        gone = {(box.row, box.owner) for box in missing}
        there = (box for box in shown if (box.row, box.owner) not in gone) if gone else shown
        self._paint_black(painter, shown)
        self.tiles.paint(painter, (box for box in there if _has_tile(box)), axis, self.film, self.ratio)
        least = _LEAST_WORDS_PX / axis.px_per_frame
        for box in shown:
            if box.row is Row.PICTURE or box.length_frames < least or (box.row, box.owner) in gone:
                continue
            if box.span is not None:
                self._paint_sound(painter, box)
            else:
                self._paint_unchosen(painter, box)
        for box in missing:
            words = "" if box.row is Row.PICTURE else label_words(box)
            self._paint_missing(painter, self._rect(box), words)
        self._paint_ends(painter)
        painter.restore()

    def _paint_names(self, painter: QPainter) -> None:
        painter.setFont(sans())
        painter.setPen(self.theme.colour("dim"))
        for row, (top, height) in self.layout.rows.items():
            place = QRectF(_NAMES_LEFT_PX, top, LABELS_PX - _NAMES_LEFT_PX, max(height, 18))
            painter.drawText(place, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft, row.value)
            track = QRectF(self.axis.left_px, top, self.axis.width_px, max(1.0, height))
            painter.fillRect(track, self.theme.colour("field"))

    def _paint_black(self, painter: QPainter, boxes: Iterable[Box]) -> None:
        for box in boxes:
            if box.row is Row.PICTURE and isinstance(box.thing, Clip) and box.thing.gap_frames:
                left = on_pixels(self.axis.x(box.start_frames - box.thing.gap_frames), self.ratio)
                right = on_pixels(self.axis.x(box.start_frames), self.ratio)
                black = QRectF(left, box.top_px, right - left, box.height_px)
                painter.fillRect(black, Qt.GlobalColor.black)

    def _paint_sound(self, painter: QPainter, box: Box) -> None:
        """Paint what is said of a sound: its fades, its gain where it has one, and its words."""
        assert box.span is not None
        words, gain = label_words(box), thing_gain_db(box.thing)
        goes_down = box.row is Row.MUSIC and bool(self.ducks.get(box.owner))
        scale = self.axis.px_per_frame
        fades = ((box.span.fade_in_frames, True), (box.span.fade_out_frames, False))
        if not words and not gain and not goes_down and not any(frames for frames, _ in fades):
            return
        rect = self._rect(box)
        painter.setPen(QPen(self.theme.colour("outline"), 1))
        for frames, is_in in fades:
            if frames * scale >= _LEAST_FADE_PX:
                painter.drawPolyline(fade_line(rect, frames * scale, is_in=is_in))
        if goes_down:
            self._paint_duck(painter, box, rect, gain)
        elif gain:
            y = gain_line_y(rect, gain)
            painter.drawLine(QLineF(rect.left() + 1, y, rect.right() - 1, y))
        self._paint_words(painter, rect, words, "ink")

    def _paint_duck(self, painter: QPainter, box: Box, rect: QRectF, gain_db: float) -> None:
        """Paint the gain of music as speech pulls it down, with what is taken off it shaded."""
        line = duck_line(rect, box.start_frames, box.end_frames, gain_db, self.ducks[box.owner])
        shade = self.theme.colour("outline")
        shade.setAlpha(_TAKEN_ALPHA)
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(shade)
        plain = gain_line_y(rect, gain_db)
        ends = QPointF(line[0].x(), plain), QPointF(line[-1].x(), plain)
        painter.drawPolygon(QPolygonF([ends[0], *line, ends[1]]))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(self.theme.colour("ink"), 1.2))
        painter.drawPolyline(QPolygonF(line))
        painter.restore()

    def _paint_unchosen(self, painter: QPainter, box: Box) -> None:
        """Paint a cue without music."""
        assert isinstance(box.thing, Cue)
        rect = self._rect(box)
        painter.setPen(QPen(self.theme.colour("pencil"), 1, Qt.PenStyle.DashLine))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(rect.adjusted(0.5, 0.5, -1.5, -0.5))
        self._paint_words(painter, rect, label_words(box), "pencil_text")

    def _paint_missing(self, painter: QPainter, rect: QRectF, words: str = "") -> None:
        shown = self._seen(rect)
        painter.fillRect(shown, self.theme.colour("bench"))
        painter.fillRect(shown, QBrush(self.theme.colour("broken"), Qt.BrushStyle.BDiagPattern))
        # The cut to what follows, which may be missing too.
        painter.fillRect(QRectF(rect.right() - 1, rect.top(), 1, rect.height()), self.theme.colour("broken"))
        self._paint_words(painter, rect, f"missing: {words}" if words else "missing", "broken_text")

    def _paint_words(self, painter: QPainter, rect: QRectF, words: str, colour: str) -> None:
        """Paint words where the box is seen, on a ground of their own so that they are read over outlines."""
        # What the left edge cuts off has an arrow there.
        is_cut = rect.left() < self.axis.left_px
        room = self._seen(rect).adjusted(_ARROW_PX + 4 if is_cut else 5, 1, -5, -1)
        if room.width() < _LEAST_WORDS_PX or not words:
            return
        metrics = QFontMetricsF(painter.font())
        text = metrics.elidedText(words, Qt.TextElideMode.ElideRight, room.width())
        ground = QRectF(room.left() - 2, room.top(), metrics.horizontalAdvance(text) + 4, metrics.height())
        shade = self.theme.colour("field")
        shade.setAlpha(200)
        painter.fillRect(ground, shade)
        painter.setPen(self.theme.colour(colour))
        painter.drawText(ground, Qt.AlignmentFlag.AlignCenter, text)

    def _paint_ends(self, painter: QPainter) -> None:
        """Mark where the picture begins and ends while sound goes on, and what the edges cut off."""
        layout, axis = self.layout, self.axis
        painter.setPen(QPen(self.theme.colour("outline"), 1))
        if layout.length_frames:
            for frame in (0, layout.length_frames):
                x = on_pixels(axis.x(frame), self.ratio)
                painter.drawLine(QLineF(x, RULER_PX - 4, x, layout.height_px - 4))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(self.theme.colour("ink"))
        for box in layout.boxes:
            if box.row is Row.PICTURE:
                continue
            middle = box.top_px + box.height_px / 2
            if box.start_frames < axis.end < box.end_frames:
                painter.drawPolygon(_arrow(axis.right_px, middle, -1))
            if box.start_frames < axis.first < box.end_frames:
                painter.drawPolygon(_arrow(axis.left_px, middle, 1))

    def _rect(self, box: Box) -> QRectF:
        left, right = (
            on_pixels(self.axis.x(frames), self.ratio) for frames in (box.start_frames, box.end_frames)
        )
        return QRectF(left, box.top_px, max(1.0, right - left), box.height_px)

    def _seen(self, rect: QRectF) -> QRectF:
        left, right = max(rect.left(), self.axis.left_px), min(rect.right(), self.axis.right_px)
        return QRectF(left, rect.top(), max(0.0, right - left), rect.height())

    def _is_missing(self, box: Box) -> bool:
        if box.row is Row.PICTURE and isinstance(box.thing, Clip):
            return isinstance(self.facts.get(box.thing.source), MediaTrouble)
        return box.span is not None and isinstance(self.facts.get(box.span.file), MediaTrouble)


def _has_tile(box: Box) -> bool:
    return box.row is Row.PICTURE or box.span is not None


def _arrow(x: float, middle: float, way: int) -> QPolygonF:
    """Return an arrow that stands at `x` inside a box and points out of it; `way` leads back into the box."""
    back = x + way * (_ARROW_PX - 2)
    return QPolygonF([QPointF(x + way * 2, middle), QPointF(back, middle - 4), QPointF(back, middle + 4)])
