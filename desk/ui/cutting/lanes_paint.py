"""Paints a scene's lanes: what does not change with the playhead."""

import math
from dataclasses import dataclass

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPen, QPixmap, QPolygonF

from desk.film.model import Clip, Cue, Film, Scene, SoundKind, Spot
from desk.film.problem import Facts, MediaTrouble
from desk.film.rates import Rate
from desk.film.timecode import format_length
from desk.ui.look.theme import Theme
from desk.ui.look.type import SMALL_PX, sans
from desk.ui.scene.clip_facts import file_name, gain_text
from desk.ui.scene.clip_pictures import ClipPictures, picture_places
from desk.ui.scene.lanes_layout import LABELS_PX, RULER_PX, Box, LanesLayout, Row

_LEAST_LABEL_PX = 56
_LEAST_PICTURE_PX = 1
_NAMES_LEFT_PX = 6
_TICKS_SECONDS = (1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 1200, 1800, 3600)


@dataclass(frozen=True, slots=True)
class LanesPainting:
    """All that the lanes of a scene show.

    Attributes:
        film: The film.
        scene: The scene.
        layout: Where everything stands.
        facts: What is known of each file.
        pictures: Pictures of its clips.
        theme: Colours in use.
    """

    film: Film
    scene: Scene
    layout: LanesLayout
    facts: Facts
    pictures: ClipPictures
    theme: Theme

    def paint(self, painter: QPainter) -> None:
        """Paint the lanes."""
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._paint_names(painter)
        self._paint_ruler(painter)
        clips = {clip.id: clip for clip in self.scene.content.clips}
        cues = {cue.id: cue for cue in self.scene.content.cues}
        spots = {spot.id: spot for spot in self.scene.content.spots}
        heads = {box.owner: box for box in self.layout.boxes if box.row is Row.PICTURE}
        painter.setFont(sans(SMALL_PX))
        for box in self.layout.boxes:
            if box.row is Row.PICTURE:
                self._paint_picture(painter, box, clips[box.owner])
            elif box.row is Row.DIALOGUE:
                self._paint_dialogue(painter, box, clips[box.owner], heads[box.owner])
            elif box.row is Row.EFFECTS:
                self._paint_sound(painter, box, spot_words(spots[box.owner]))
            else:
                self._paint_music(painter, box, cues[box.owner])
        self._paint_ends(painter)

    def _paint_names(self, painter: QPainter) -> None:
        painter.setFont(sans())
        painter.setPen(self.theme.colour("dim"))
        for row, (top, height) in self.layout.rows.items():
            place = QRectF(_NAMES_LEFT_PX, top, LABELS_PX - _NAMES_LEFT_PX, max(height, 18))
            painter.drawText(place, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft, row.value)
            track = QRectF(
                self.layout.left_px, top, self.layout.right_px - self.layout.left_px, max(1.0, height)
            )
            painter.fillRect(track, self.theme.colour("field"))

    def _paint_ruler(self, painter: QPainter) -> None:
        rate = self.film.rate
        layout = self.layout
        per_second = layout.px_per_frame * float(rate.fraction)
        step = ruler_step(per_second)
        painter.setFont(sans(SMALL_PX))
        line, dim = self.theme.colour("outline"), self.theme.colour("dim")
        bottom = RULER_PX - 4.0
        number = max(0, math.ceil(layout.first_frames / rate.nominal / step))
        while (frame := number * step * rate.nominal) <= layout.end_frames:
            x = layout.x(frame)
            painter.setPen(QPen(line, 1))
            painter.drawLine(QLineF(x, bottom - 4, x, bottom))
            # The last label stays within the window.
            if x + 36 <= layout.right_px + 8:
                minutes, seconds = divmod(number * step, 60)
                painter.setPen(dim)
                painter.drawText(QPointF(x + 3, bottom), f"{minutes}:{seconds:02}")
            number += 1
        painter.setPen(QPen(self.theme.colour("line"), 1))
        painter.drawLine(QLineF(layout.left_px, bottom + 0.5, layout.right_px, bottom + 0.5))

    def _paint_picture(self, painter: QPainter, box: Box, clip: Clip) -> None:
        rect = _apart(box.rect)
        painter.fillRect(rect, self.theme.colour("bench"))
        if clip.gap_frames:
            left = self.layout.x(box.start_frames - clip.gap_frames)
            black = QRectF(left, rect.top(), rect.left() - left, rect.height())
            painter.fillRect(black, Qt.GlobalColor.black)
        if isinstance(self.facts.get(clip.source), MediaTrouble):
            self._paint_missing(painter, rect)
            return
        if rect.width() < _LEAST_PICTURE_PX:
            return
        width = rect.height() * self.film.size.width / self.film.size.height
        places = picture_places(clip, self.film.rate, rect.width(), width)
        cell = rect.width() / len(places)
        for number, seconds in enumerate(places):
            picture = self.pictures.picture(clip.source, seconds)
            if picture is not None:
                _fill(painter, QRectF(rect.left() + number * cell, rect.top(), cell, rect.height()), picture)

    def _paint_missing(self, painter: QPainter, rect: QRectF) -> None:
        painter.setPen(QPen(self.theme.colour("broken"), 1))
        painter.drawRect(rect.adjusted(0.5, 0.5, -0.5, -0.5))
        painter.drawLine(QLineF(rect.bottomLeft(), rect.topRight()))
        self._paint_words(painter, rect, "missing", "broken_text")

    def _paint_dialogue(self, painter: QPainter, box: Box, clip: Clip, head: Box) -> None:
        rect = _apart(box.rect)
        painter.fillRect(rect, self.theme.colour("unlit"))
        # What runs ahead of its picture or on after it stands out from the rest.
        for left, right in (
            (rect.left(), min(head.rect.left(), rect.right())),
            (max(head.rect.right(), rect.left()), rect.right()),
        ):
            if right > left:
                beyond = QRectF(left, rect.top(), right - left, rect.height())
                painter.fillRect(beyond, self.theme.colour("line"))
                painter.setPen(QPen(self.theme.colour("draft"), 1, Qt.PenStyle.DotLine))
                painter.drawRect(beyond.adjusted(0.5, 0.5, -0.5, -0.5))
        self._paint_fades(painter, box, rect)
        trouble = box.span is not None and isinstance(self.facts.get(box.span.file), MediaTrouble)
        self._paint_words(painter, rect, dialogue_words(clip), "broken_text" if trouble else "ink")

    def _paint_sound(self, painter: QPainter, box: Box, words: str) -> None:
        rect = _apart(box.rect)
        painter.fillRect(rect, self.theme.colour("line"))
        painter.setPen(QPen(self.theme.colour("outline"), 1))
        painter.drawRect(rect.adjusted(0.5, 0.5, -0.5, -0.5))
        self._paint_fades(painter, box, rect)
        trouble = box.span is not None and isinstance(self.facts.get(box.span.file), MediaTrouble)
        self._paint_words(painter, rect, words, "broken_text" if trouble else "ink")

    def _paint_music(self, painter: QPainter, box: Box, cue: Cue) -> None:
        if cue.choice is not None:
            self._paint_sound(painter, box, cue_words(cue))
            return
        rect = _apart(box.rect)
        painter.setPen(QPen(self.theme.colour("pencil"), 1, Qt.PenStyle.DashLine))
        painter.drawRect(rect.adjusted(0.5, 0.5, -0.5, -0.5))
        self._paint_words(painter, rect, cue_words(cue), "pencil_text")

    def _paint_fades(self, painter: QPainter, box: Box, rect: QRectF) -> None:
        """Paint fades as slopes; what the edge of the time line cuts off has none."""
        if box.span is None:
            return
        scale = self.layout.px_per_frame
        up, down = box.span.fade_in_frames * scale, box.span.fade_out_frames * scale
        if up >= 2 and box.start_frames >= self.layout.first_frames:
            self._paint_slope(painter, rect.topLeft(), rect.bottomLeft(), min(up, rect.width()))
        if down >= 2 and box.end_frames <= self.layout.end_frames:
            self._paint_slope(painter, rect.topRight(), rect.bottomRight(), -min(down, rect.width()))

    def _paint_slope(self, painter: QPainter, top: QPointF, bottom: QPointF, inwards: float) -> None:
        """Cut the corner of a box off along a fade."""
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(self.theme.colour("field"))
        painter.drawPolygon(QPolygonF([top, bottom, QPointF(top.x() + inwards, top.y())]))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(self.theme.colour("outline"), 1))
        painter.drawLine(QLineF(bottom.x(), bottom.y(), top.x() + inwards, top.y()))

    def _paint_words(self, painter: QPainter, rect: QRectF, words: str, colour: str) -> None:
        room = rect.adjusted(5, 0, -5, 0)
        if room.width() < 18 or not words:
            return
        text = QFontMetricsF(painter.font()).elidedText(words, Qt.TextElideMode.ElideRight, room.width())
        painter.setPen(self.theme.colour(colour))
        painter.drawText(room, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft, text)

    def _paint_ends(self, painter: QPainter) -> None:
        """Mark where the picture ends and begins while sound goes on, and what the edges cut off."""
        layout = self.layout
        painter.setPen(QPen(self.theme.colour("outline"), 1))
        for frame, shown in (
            (0, layout.first_frames < 0),
            (layout.length_frames, layout.end_frames > layout.length_frames),
        ):
            if shown and layout.length_frames:
                x = layout.x(frame)
                painter.drawLine(QLineF(x, RULER_PX - 4, x, layout.height_px - 4))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(self.theme.colour("ink"))
        for box in layout.boxes:
            middle = box.rect.center().y()
            if box.end_frames > layout.end_frames:
                painter.drawPolygon(_arrow(box.rect.right(), middle, -1))
            if box.start_frames < layout.first_frames:
                painter.drawPolygon(_arrow(box.rect.left(), middle, 1))


def ruler_step(px_per_second: float) -> int:
    """Return how many seconds lie between two labels of the ruler, for labels that stand apart."""
    for step in _TICKS_SECONDS:
        if step * px_per_second >= _LEAST_LABEL_PX:
            return step
    return _TICKS_SECONDS[-1] * max(1, math.ceil(_LEAST_LABEL_PX / (_TICKS_SECONDS[-1] * px_per_second or 1)))


def dialogue_words(clip: Clip) -> str:
    """Return what stands on a clip's sound: nothing for plain sound of its own."""
    parts = [file_name(clip.sound.file)] if clip.sound.kind is SoundKind.SEPARATE else []
    if clip.sound.gain_db:
        parts.append(gain_text(clip.sound.gain_db))
    return ", ".join(parts)


def spot_words(spot: Spot) -> str:
    """Return what stands on a spot."""
    return spot.label or file_name(spot.file)


def cue_words(cue: Cue) -> str:
    """Return what stands on a cue: its label and the music that is chosen."""
    label = cue.label or cue.id
    if cue.choice is None:
        return f"{label}, no music chosen"
    return f"{label} “{cue.choice.rights.title or file_name(cue.choice.file)}”"


def box_words(box: Box, scene: Scene, film: Film) -> str:
    """Return what a box is, for a tool tip."""
    rate = film.rate
    if box.row in (Row.PICTURE, Row.DIALOGUE):
        number, clip = next(
            (place, item) for place, item in enumerate(scene.content.clips, 1) if item.id == box.owner
        )
        if box.row is Row.PICTURE:
            return f"Clip {number}: {file_name(clip.source)}, {_length(box, rate)}"
        heard = file_name(box.span.file) if box.span else ""
        lead = f", lead {clip.sound.lead_frames}, lag {clip.sound.lag_frames}"
        return f"Sound of clip {number}: {heard}, {gain_text(clip.sound.gain_db)}{lead}"
    things: tuple[Cue | Spot, ...] = (*scene.content.cues, *scene.content.spots)
    thing = next(item for item in things if item.id == box.owner)
    if isinstance(thing, Spot):
        heard = f"{file_name(thing.file)}, {_length(box, rate)}, {gain_text(thing.gain_db)}"
        return f"Effect {spot_words(thing)}: {heard}"
    gain = f", {gain_text(thing.choice.gain_db)}" if thing.choice else ""
    return f"Cue {cue_words(thing)}, {_length(box, rate)}{gain}"


def _length(box: Box, rate: Rate) -> str:
    return format_length(box.end_frames - box.start_frames, rate)


def _apart(rect: QRectF) -> QRectF:
    """Return a box with a gap after it, where it is wide enough for one."""
    return rect.adjusted(0, 0, -1, 0) if rect.width() > 6 else rect


def _fill(painter: QPainter, cell: QRectF, picture: QPixmap) -> None:
    """Fill a cell with the middle of a picture."""
    width, height = picture.width(), picture.height()
    share = min(1.0, cell.width() / cell.height() * height / width) if cell.height() else 1.0
    seen = QRectF(width * (1 - share) / 2, 0, width * share, height)
    if share == 1.0:
        # A picture that is narrower than its cell keeps its shape.
        shown = QRectF(0, 0, min(cell.width(), cell.height() * width / height), cell.height())
        shown.moveCenter(cell.center())
        painter.drawPixmap(shown, picture, seen)
        return
    painter.drawPixmap(cell, picture, seen)


def _arrow(x: float, middle: float, way: int) -> QPolygonF:
    """Return an arrow that stands at `x` inside a box and points out of it; `way` leads back into the box."""
    back = x + way * 7
    return QPolygonF([QPointF(x + way * 2, middle), QPointF(back, middle - 4), QPointF(back, middle + 4)])
