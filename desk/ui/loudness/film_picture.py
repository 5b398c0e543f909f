"""How loud the film is over its time, scene by scene, in proportion to their lengths."""

import bisect
import dataclasses
import itertools

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QHelpEvent, QMouseEvent, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from desk.film.timecode import format_length
from desk.sound.loudness import MOMENTARY_SECONDS, SILENT_LUFS, STEP_SECONDS, Levels
from desk.ui.bench import Bench
from desk.ui.level_words import plain_level, shown_level
from desk.ui.look.type import SMALL_PX, sans
from desk.ui.loudness.canvas import thinned
from desk.ui.loudness.film_meter import FilmNumbers
from desk.ui.loudness.table import SoundRow, row_words

_TOP_LUFS, _BOTTOM_LUFS = 0.0, -50.0
_GRID_LUFS = (-10, -20, -30, -40)
_LEFT_PX = 30
_LEVELS_PX, _NUMBERS_PX = 92, 16
_EDGE_PX = 4
_STEPS_TO_WHOLE = round(MOMENTARY_SECONDS / STEP_SECONDS) - 1
"""Values before the first 400 ms are whole."""


class FilmLoudness(QWidget):
    """Momentary loudness over the film, and across each scene a line as high as all of it is loud.

    Signals:
        went: A moment of a scene was clicked; its `SoundRow`, with that moment for its loudest.
    """

    went = Signal(object)

    def __init__(self, bench: Bench, parent: QWidget) -> None:
        super().__init__(parent)
        self._bench = bench
        self._numbers = FilmNumbers()
        self._ends: list[int] = []
        self.setFixedHeight(_LEVELS_PX + _NUMBERS_PX)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setAccessibleName("Loudness over the film")
        bench.theme.changed.connect(self.update)

    def show_numbers(self, numbers: FilmNumbers) -> None:
        """Show what is known."""
        self._numbers = numbers
        self._ends = list(itertools.accumulate(numbers.frames))
        self.update()

    def row_at(self, x: float) -> SoundRow | None:
        """Return the scene at a point of the screen."""
        found = self._place(x)
        return self._numbers.rows[found[0]] if found else None

    def words_at(self, x: float) -> str:
        """Return how loud the film is at a point of the screen, and the scene there."""
        found = self._place(x)
        if found is None:
            return ""
        index, frame = found
        words, rate = row_words(self._numbers.rows[index]), self._bench.session.film.rate
        levels = self._numbers.momentary_lufs[index]
        step = round(float(rate.seconds(frame)) / STEP_SECONDS + MOMENTARY_SECONDS / STEP_SECONDS / 2) - 1
        if levels is None or not _STEPS_TO_WHOLE <= step < len(levels):
            return words
        level = float(levels[step])
        momentary = shown_level(level if level > SILENT_LUFS else None)
        return f"{words}\n{format_length(frame, rate)}: momentary {momentary} LUFS"

    def _place(self, x: float) -> tuple[int, int] | None:
        """Return which scene is at a point of the screen, and which of its frames."""
        if not self._ends or not _LEFT_PX <= x < self.width():
            return None
        frame = int((x - _LEFT_PX) / (self.width() - _LEFT_PX) * self._ends[-1])
        index = min(bisect.bisect_right(self._ends, frame), len(self._ends) - 1)
        return index, frame - (self._ends[index - 1] if index else 0)

    def y_of(self, lufs: float) -> float:
        """Return where a level stands."""
        part = (_TOP_LUFS - max(_BOTTOM_LUFS, min(_TOP_LUFS, lufs))) / (_TOP_LUFS - _BOTTOM_LUFS)
        return _EDGE_PX + part * (_LEVELS_PX - 2 * _EDGE_PX)

    def _paint_scenes(self, painter: QPainter) -> None:
        theme = self._bench.theme
        room = self.width() - _LEFT_PX
        metrics = QFontMetricsF(painter.font())
        starts = [0, *self._ends[:-1]]
        scenes = zip(self._numbers.rows, self._numbers.momentary_lufs, starts, self._ends, strict=True)
        for row, levels, start, end in scenes:
            left = _LEFT_PX + start / self._ends[-1] * room
            right = max(left + 1.0, _LEFT_PX + end / self._ends[-1] * room - 1)
            painter.fillRect(QRectF(right, 0, 1, _LEVELS_PX), theme.colour("line"))
            if metrics.horizontalAdvance(row.number) <= right - left:
                painter.setPen(theme.colour("dim"))
                painter.drawText(QPointF(left + 1, _LEVELS_PX + metrics.ascent() + 1), row.number)
            if row.integrated_lufs is None:
                continue
            if levels is not None:
                painter.setRenderHint(QPainter.RenderHint.Antialiasing)
                painter.setPen(Qt.PenStyle.NoPen)
                painter.setBrush(theme.colour("unlit"))
                painter.drawPolygon(self._outline(levels, left, right))
                painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
            top = self.y_of(row.integrated_lufs)
            stands_out = row.stands_out_lu is not None
            colour = theme.colour("pencil" if stands_out else "ink")
            height = 4.0 if stands_out else 2.0
            painter.fillRect(QRectF(left, top - height / 2, right - left, height), colour)

    def _outline(self, levels: Levels, left: float, right: float) -> QPolygonF:
        """Return the momentary loudness of a scene between two places of the screen."""
        shown: NDArray[np.floating] = levels[_STEPS_TO_WHOLE:].astype(np.float64)
        if not len(shown):
            return QPolygonF()
        seconds = np.arange(len(shown)) * STEP_SECONDS + MOMENTARY_SECONDS / 2
        xs: NDArray[np.floating] = left + seconds / (len(levels) * STEP_SECONDS) * (right - left)
        if len(shown) > right - left:
            xs, shown = thinned(xs, shown)
        line = [QPointF(x, self.y_of(level)) for x, level in zip(xs.tolist(), shown.tolist(), strict=True)]
        ground = float(_LEVELS_PX)
        begin = [QPointF(left, ground), QPointF(left, line[0].y())]
        return QPolygonF([*begin, *line, QPointF(right, line[-1].y()), QPointF(right, ground)])

    def _paint_lines(self, painter: QPainter) -> None:
        theme, delivery = self._bench.theme, self._bench.session.film.delivery
        metrics = QFontMetricsF(painter.font())
        for mark in _GRID_LUFS:
            text = plain_level(mark)
            painter.setPen(theme.colour("dim"))
            left = _LEFT_PX - 6 - metrics.horizontalAdvance(text)
            painter.drawText(QPointF(left, self.y_of(mark) + metrics.ascent() / 2 - 1), text)
            painter.setPen(QPen(theme.colour("line"), 1))
            y = round(self.y_of(mark)) + 0.5
            painter.drawLine(QPointF(_LEFT_PX, y), QPointF(self.width(), y))
        name_right = self.width() - 4.0
        for name, level, colour, style in (
            ("voices", delivery.voices_lufs, "ink", Qt.PenStyle.DashLine),
            ("target", delivery.integrated_lufs, "pencil", Qt.PenStyle.SolidLine),
        ):
            y = round(self.y_of(level)) + 0.5
            painter.setPen(QPen(theme.colour(colour), 1, style))
            painter.drawLine(QPointF(_LEFT_PX, y), QPointF(self.width(), y))
            text = f"{name} {plain_level(level)}"
            left = name_right - metrics.horizontalAdvance(text)
            top = max(0.0, y - metrics.height() - 1)
            painter.fillRect(
                QRectF(left - 2, top, name_right - left + 4, metrics.height()), theme.colour("field")
            )
            painter.setPen(theme.colour("pencil_text" if colour == "pencil" else colour))
            painter.drawText(QPointF(left, top + metrics.ascent()), text)
            name_right = left - 12

    def sizeHint(self) -> QSize:
        return QSize(480, _LEVELS_PX + _NUMBERS_PX)

    def minimumSizeHint(self) -> QSize:
        return QSize(160, _LEVELS_PX + _NUMBERS_PX)

    def paintEvent(self, _: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setFont(sans(SMALL_PX))
        box = QRectF(_LEFT_PX, 0, self.width() - _LEFT_PX, _LEVELS_PX)
        painter.fillRect(box, self._bench.theme.colour("field"))
        if self._ends:
            self._paint_scenes(painter)
        self._paint_lines(painter)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        found = self._place(event.position().x())
        if found is not None and event.button() is Qt.MouseButton.LeftButton:
            index, frame = found
            self.went.emit(dataclasses.replace(self._numbers.rows[index], loudest_frames=frame))

    def event(self, event: QEvent) -> bool:
        if event.type() is QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            QToolTip.showText(event.globalPos(), self.words_at(event.pos().x()), self)
            return True
        return super().event(event)
