"""Loudness over a scene's time, drawn to the scale of its lanes."""

import math

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QFontMetricsF,
    QHelpEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPixmap,
    QPolygonF,
    QResizeEvent,
)
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from desk.film.timecode import format_length
from desk.sound.loudness import (
    MOMENTARY_SECONDS,
    RELATIVE_GATE_LU,
    SHORT_TERM_SECONDS,
    SILENT_LUFS,
    STEP_SECONDS,
    Levels,
    Loudness,
)
from desk.ui.bench import Bench
from desk.ui.cutting.lanes.axis import TimeAxis
from desk.ui.level_words import plain_level, shown_level
from desk.ui.look.type import SMALL_PX, sans

_Values = NDArray[np.floating]

TOP_LUFS, BOTTOM_LUFS = 0.0, -50.0
_HEIGHT_PX = 76
_EDGE_PX = 2
_GRID_LUFS = (-10, -20, -30, -40)
_LINE_PX = 1.6
_LABEL_GAP_PX = 12
_PLAYHEAD_PX = 3


class LoudnessCanvas(QWidget):
    """Short-term loudness as a line, momentary as what lies behind it, and the levels that they are held to.

    Each value stands in the middle of the stretch that it is of. A click moves the playhead there.

    Signals:
        went: A frame of the scene was clicked.
    """

    went = Signal(int)

    def __init__(self, bench: Bench, axis: TimeAxis, parent: QWidget) -> None:
        super().__init__(parent)
        self._bench = bench
        self._axis = axis
        self._loudness: Loudness | None = None
        self._is_old = False
        self._still: QPixmap | None = None
        self._shown_frame = 0
        self.painted = 0
        self.setFixedHeight(_HEIGHT_PX)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        bench.theme.changed.connect(self.refresh)
        bench.cut.moved.connect(self._on_moved)

    def show_axis(self, axis: TimeAxis) -> None:
        """Show the same stretch of the scene as the lanes do."""
        if axis != self._axis:
            self._axis = axis
            self.refresh()

    def show_loudness(self, loudness: Loudness | None, *, is_old: bool) -> None:
        """Show what was measured.

        Args:
            loudness: It, or None for nothing.
            is_old: Whether the scene is another one by now.
        """
        if loudness is not self._loudness or is_old != self._is_old:
            self._loudness, self._is_old = loudness, is_old
            self.refresh()

    def refresh(self) -> None:
        """Paint all anew."""
        self._still = None
        self.update()

    def y_of(self, lufs: float) -> float:
        """Return where a level stands."""
        part = (TOP_LUFS - max(BOTTOM_LUFS, min(TOP_LUFS, lufs))) / (TOP_LUFS - BOTTOM_LUFS)
        return _EDGE_PX + part * (_HEIGHT_PX - 2 * _EDGE_PX)

    def words_at(self, x: float) -> str:
        """Return how loud it is at a point of the screen."""
        loudness, rate = self._loudness, self._bench.session.film.rate
        frame = self._axis.frame_at(x)
        seconds = float(rate.seconds(max(0, frame)))
        if loudness is None or frame < 0 or seconds >= loudness.seconds:
            return ""
        short_term = _value_at(loudness.short_term_lufs, seconds, SHORT_TERM_SECONDS)
        momentary = _value_at(loudness.momentary_lufs, seconds, MOMENTARY_SECONDS)
        return (
            f"{format_length(frame, rate)}: short-term {shown_level(short_term)} LUFS, "
            f"momentary {shown_level(momentary)} LUFS"
        )

    # How it is painted

    def _paint_still(self, ratio: float) -> QPixmap:
        still = QPixmap(self.size() * ratio)
        still.setDevicePixelRatio(ratio)
        still.fill(Qt.GlobalColor.transparent)
        painter = QPainter(still)
        axis, theme = self._axis, self._bench.theme
        painter.setFont(sans(SMALL_PX))
        box = QRectF(axis.left_px, 0, axis.width_px, _HEIGHT_PX)
        painter.fillRect(box, theme.colour("field"))
        self._paint_grid(painter)
        painter.save()
        painter.setClipRect(box)
        if self._loudness is not None:
            self._paint_levels(painter, self._loudness)
        painter.restore()
        self._paint_lines(painter)
        painter.end()
        self.painted += 1
        return still

    def _paint_grid(self, painter: QPainter) -> None:
        axis, theme = self._axis, self._bench.theme
        metrics = QFontMetricsF(painter.font())
        for level in _GRID_LUFS:
            y = round(self.y_of(level)) + 0.5
            painter.setPen(QPen(theme.colour("line"), 1))
            painter.drawLine(QPointF(axis.left_px, y), QPointF(axis.right_px, y))
            painter.setPen(theme.colour("dim"))
            text = plain_level(level)
            left = axis.left_px - 6 - metrics.horizontalAdvance(text)
            painter.drawText(QPointF(left, y + metrics.ascent() / 2 - 1), text)

    def _paint_levels(self, painter: QPainter, loudness: Loudness) -> None:
        theme = self._bench.theme
        bottom = float(_HEIGHT_PX)
        behind = self._points(loudness.momentary_lufs, MOMENTARY_SECONDS)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if len(behind):
            outline = [QPointF(behind[0][0], bottom), *(QPointF(x, y) for x, y in behind)]
            outline.append(QPointF(behind[-1][0], bottom))
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(theme.colour("line" if self._is_old else "unlit"))
            painter.drawPolygon(QPolygonF(outline))
        line = self._points(loudness.short_term_lufs, SHORT_TERM_SECONDS)
        if len(line):
            painter.setPen(QPen(theme.colour("outline" if self._is_old else "ink"), _LINE_PX))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawPolyline(QPolygonF([QPointF(x, y) for x, y in line]))

    def _points(self, levels: Levels, window_seconds: float) -> list[tuple[float, float]]:
        """Return where a line runs: one point for each value on the screen, or the highest of each pixel."""
        whole = round(window_seconds / STEP_SECONDS) - 1
        shown: _Values = levels[whole:].astype(np.float64)
        if not len(shown):
            return []
        rate = float(self._bench.session.film.rate.fraction)
        first = window_seconds / 2
        xs = (
            self._axis.left_px
            + ((first + np.arange(len(shown)) * STEP_SECONDS) * rate - self._axis.first)
            * self._axis.px_per_frame
        )
        step_px = STEP_SECONDS * rate * self._axis.px_per_frame
        on = (xs >= self._axis.left_px - step_px) & (xs <= self._axis.right_px + step_px)
        xs, shown = xs[on], shown[on]
        if not len(shown):
            return []
        if step_px < 1:
            xs, shown = thinned(xs, shown)
        span = TOP_LUFS - BOTTOM_LUFS
        ys = _EDGE_PX + (TOP_LUFS - np.clip(shown, BOTTOM_LUFS, TOP_LUFS)) / span * (
            _HEIGHT_PX - 2 * _EDGE_PX
        )
        return list(zip(xs.tolist(), ys.tolist(), strict=True))

    def _paint_lines(self, painter: QPainter) -> None:
        """Paint the levels that it is held to, with their names at the right, one beside the other."""
        delivery = self._bench.session.film.delivery
        gate = None if self._loudness is None else relative_gate(self._loudness.momentary_lufs)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
        metrics = QFontMetricsF(painter.font())
        right = self._axis.right_px - 4
        for name, level, colour, style in (
            ("gate", gate, "dim", Qt.PenStyle.DotLine),
            ("voices", delivery.voices_lufs, "ink", Qt.PenStyle.DashLine),
            ("target", delivery.integrated_lufs, "pencil", Qt.PenStyle.SolidLine),
        ):
            if level is None:
                continue
            y = round(self.y_of(level)) + 0.5
            pen = QPen(self._bench.theme.colour(colour), 1, style)
            pen.setCosmetic(True)
            painter.setPen(pen)
            painter.drawLine(QPointF(self._axis.left_px, y), QPointF(self._axis.right_px, y))
            text = f"{name} {plain_level(round(level, 1))}"
            left = right - metrics.horizontalAdvance(text)
            if left < self._axis.left_px:
                continue
            # On a ground of its own, so that it can be read over a line.
            top = min(max(0.0, y - metrics.height() - 1), _HEIGHT_PX - metrics.height())
            ground = QRectF(left - 2, top, right - left + 4, metrics.height())
            painter.fillRect(ground, self._bench.theme.colour("field"))
            painter.setPen(self._bench.theme.colour("pencil_text" if colour == "pencil" else colour))
            painter.drawText(QPointF(left, top + metrics.ascent()), text)
            right = left - _LABEL_GAP_PX

    def _on_moved(self, frame: int) -> None:
        before, self._shown_frame = self._shown_frame, frame
        for shown in (before, frame):
            x = self._axis.x(shown)
            self.update(QRectF(x - _PLAYHEAD_PX, 0, 2 * _PLAYHEAD_PX + 1, _HEIGHT_PX).toAlignedRect())

    # Called by Qt

    def sizeHint(self) -> QSize:
        return QSize(640, _HEIGHT_PX)

    def minimumSizeHint(self) -> QSize:
        return QSize(240, _HEIGHT_PX)

    def paintEvent(self, event: QPaintEvent) -> None:
        ratio = self.devicePixelRatioF()
        if self._still is None or self._still.devicePixelRatio() != ratio:
            self._still = self._paint_still(ratio)
        painter = QPainter(self)
        painter.setClipRegion(event.region())
        painter.drawPixmap(QPointF(0, 0), self._still)
        x = self._axis.x(self._bench.cut.frame)
        if self._axis.left_px - 1 <= x <= self._axis.right_px + 1:
            painter.fillRect(QRectF(round(x) - 1, 0, 2, _HEIGHT_PX), self._bench.theme.colour("pencil"))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.refresh()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        x = event.position().x()
        if event.button() is Qt.MouseButton.LeftButton and x >= self._axis.left_px:
            self.went.emit(max(0, self._axis.frame_at(x)))

    def event(self, event: QEvent) -> bool:
        if event.type() is QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            QToolTip.showText(event.globalPos(), self.words_at(event.pos().x()), self)
            return True
        return super().event(event)


def relative_gate(momentary_lufs: Levels) -> float | None:
    """Return what blocks have to be louder than to count: 10 LU below their mean (ITU-R BS.1770).

    Args:
        momentary_lufs: Loudness of 400 ms each.
    """
    heard = momentary_lufs[momentary_lufs > SILENT_LUFS].astype(np.float64)
    if not len(heard):
        return None
    return float(10 * np.log10(np.mean(10 ** (heard / 10)))) + RELATIVE_GATE_LU


def _value_at(levels: Levels, seconds: float, window_seconds: float) -> float | None:
    """Return the value whose stretch has a place in its middle; None where that is silent or not whole."""
    index = math.floor((seconds + window_seconds / 2) / STEP_SECONDS + 0.5) - 1
    if not round(window_seconds / STEP_SECONDS) - 1 <= index < len(levels):
        return None
    value = float(levels[index])
    return value if value > SILENT_LUFS else None


def thinned(xs: _Values, levels: _Values) -> tuple[_Values, _Values]:
    """Return the middle of each pixel that has a level, and the highest level there.

    Args:
        xs: Where the levels stand, from left to right.
        levels: The levels, one or more.
    """
    columns = np.floor(xs).astype(np.int64)
    starts = np.flatnonzero(np.r_[True, columns[1:] != columns[:-1]])
    return columns[starts] + 0.5, np.maximum.reduceat(levels, starts)
