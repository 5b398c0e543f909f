"""The ruler over the lanes: the scene's time, the film's timecode, frames, and what is ready to be played."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPen, QPolygonF

from desk.film.model import Film
from desk.film.rates import Rate
from desk.film.timecode import format_label, format_length
from desk.ui.cutting.cut import Loop
from desk.ui.cutting.lanes.axis import TimeAxis
from desk.ui.cutting.lanes.layout import RULER_PX, LanesLayout
from desk.ui.look.theme import Theme
from desk.ui.look.type import SMALL_PX, sans

_LEAST_LABEL_PX = 84
"""Room for a timecode in full and some space after it."""

_LEAST_TICK_PX = 6
_SECONDS = (1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 1200, 1800, 3600)
_BASE_PX = RULER_PX - 6.0
_SCENE_LINE_PX = 12.0
_FILM_LINE_PX = 24.0
_NAMES_LEFT_PX = 6


@dataclass(frozen=True, slots=True)
class RulerPainting:
    """What the ruler of a scene shows.

    Attributes:
        film: The film.
        layout: What stands in the lanes.
        axis: Where on the screen.
        film_frame: The first frame of the scene in the film, or None for one that is set aside.
        ready: Ranges of the scene's frames that can be played at once: first frame, and the one after the
            last.
        theme: Colours in use.
    """

    film: Film
    layout: LanesLayout
    axis: TimeAxis
    film_frame: int | None
    ready: Sequence[tuple[int, int]]
    theme: Theme

    def paint(self, painter: QPainter) -> None:
        """Paint the ruler and the names of its lines."""
        axis = self.axis
        painter.setFont(sans(SMALL_PX))
        painter.setPen(self.theme.colour("dim"))
        painter.drawText(QPointF(_NAMES_LEFT_PX, _SCENE_LINE_PX), "Scene")
        if self.film_frame is not None:
            painter.drawText(QPointF(_NAMES_LEFT_PX, _FILM_LINE_PX), "Film")
        painter.save()
        painter.setClipRect(QRectF(axis.left_px, 0, axis.width_px + 4, RULER_PX))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
        self._paint_ready(painter)
        labels = label_step(axis.px_per_frame, self.film.rate)
        self._paint_ticks(painter, tick_step(axis.px_per_frame, self.film.rate, labels), labels)
        self._paint_labels(painter, labels)
        painter.restore()

    def _paint_ready(self, painter: QPainter) -> None:
        axis, colour = self.axis, self.theme.colour("dim")
        for first, end in self.ready:
            left, right = max(axis.x(first), axis.left_px), min(axis.x(end), axis.right_px)
            if right > left:
                painter.fillRect(QRectF(left, _BASE_PX + 2, right - left, 2), colour)

    def _paint_ticks(self, painter: QPainter, step: int, labels: int) -> None:
        axis = self.axis
        outline, line = QPen(self.theme.colour("outline"), 1), QPen(self.theme.colour("line"), 1)
        painter.setPen(line)
        painter.drawLine(QLineF(axis.left_px, _BASE_PX + 0.5, axis.right_px, _BASE_PX + 0.5))
        for frame in self._frames(step):
            x = axis.x(frame)
            if frame % labels:
                painter.setPen(line)
                painter.drawLine(QLineF(x, _BASE_PX - 3, x, _BASE_PX))
            else:
                painter.setPen(outline)
                painter.drawLine(QLineF(x, 2, x, _BASE_PX))

    def _paint_labels(self, painter: QPainter, step: int) -> None:
        axis, film = self.axis, self.film
        metrics = QFontMetricsF(painter.font())
        for frame in self._frames(step):
            x = axis.x(frame) + 4
            label = format_length(frame, film.rate)
            # The last label stays within the window.
            if x + metrics.horizontalAdvance(label) > axis.right_px + 4 or x < axis.left_px:
                continue
            painter.setPen(self.theme.colour("ink"))
            painter.drawText(QPointF(x, _SCENE_LINE_PX), label)
            if self.film_frame is None:
                continue
            label = format_label(
                film.start_frames + self.film_frame + frame, film.rate, drop_frame=film.drop_frame
            )
            if x + metrics.horizontalAdvance(label) <= axis.right_px + 4:
                painter.setPen(self.theme.colour("dim"))
                painter.drawText(QPointF(x, _FILM_LINE_PX), label)

    def _frames(self, step: int) -> range:
        first = max(0, math.floor(self.axis.first / step) * step)
        last = min(self.axis.end, max(self.layout.length_frames, 1))
        return range(first, math.floor(last) + 1, step)


def paint_loop(painter: QPainter, axis: TimeAxis, loop: Loop, theme: Theme) -> None:
    """Paint the range that plays again and again: a band along the ruler with a mark at each end."""
    left, right = axis.x(loop.first), axis.x(loop.end)
    pencil = theme.colour("pencil")
    painter.save()
    painter.setClipRect(QRectF(axis.left_px, 0, axis.width_px, RULER_PX))
    painter.fillRect(QRectF(left, _BASE_PX + 1, right - left, 4), pencil)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(pencil)
    bottom = _BASE_PX + 5
    for x, inwards in ((left, 6.0), (right, -6.0)):
        painter.drawPolygon(
            QPolygonF([QPointF(x, bottom - 12), QPointF(x, bottom), QPointF(x + inwards, bottom)])
        )
    painter.restore()


def paint_playhead(painter: QPainter, axis: TimeAxis, frame: int, height_px: int, theme: Theme) -> None:
    """Paint the playhead, where it is on the screen."""
    if not axis.left_px - 1 <= axis.x(frame) <= axis.right_px + 1:
        return
    pencil = theme.colour("pencil")
    # On whole pixels, so that it stays sharp.
    x = round(axis.x(frame))
    painter.fillRect(QRectF(x - 1, _BASE_PX - 4, 2, height_px - _BASE_PX), pencil)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(pencil)
    top = _BASE_PX - 9
    painter.drawPolygon(QPolygonF([QPointF(x - 5, top), QPointF(x + 5, top), QPointF(x, top + 8)]))


def label_step(px_per_frame: float, rate: Rate) -> int:
    """Return how many frames lie between two labels of the ruler, for labels that stand apart."""
    for step in _steps(rate):
        if step * px_per_frame >= _LEAST_LABEL_PX:
            return step
    longest = _SECONDS[-1] * rate.nominal
    return longest * max(1, math.ceil(_LEAST_LABEL_PX / (longest * px_per_frame)))


def tick_step(px_per_frame: float, rate: Rate, labels: int) -> int:
    """Return how many frames lie between two ticks: a part of the step of the labels."""
    return next(
        (
            step
            for step in _steps(rate)
            if step * px_per_frame >= _LEAST_TICK_PX and step <= labels and not labels % step
        ),
        labels,
    )


def _steps(rate: Rate) -> tuple[int, ...]:
    """Return steps that divide a second of timecode, then whole seconds."""
    parts = (step for step in range(1, rate.nominal) if not rate.nominal % step)
    return (*parts, *(seconds * rate.nominal for seconds in _SECONDS))
