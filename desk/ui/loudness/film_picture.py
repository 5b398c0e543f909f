"""How loud the scenes of the film are, drawn in proportion to their lengths."""

import bisect
import itertools

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QHelpEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from desk.ui.bench import Bench
from desk.ui.level_words import plain_level
from desk.ui.look.type import SMALL_PX, sans
from desk.ui.loudness.film_meter import FilmNumbers
from desk.ui.loudness.table import SoundRow, row_words

_TOP_LUFS, _BOTTOM_LUFS = 0.0, -50.0
_GRID_LUFS = (-10, -20, -30, -40)
_LEFT_PX = 30
_HEIGHT_PX = 92
_EDGE_PX = 4


class FilmLoudness(QWidget):
    """A column for each scene, as wide as it is long and as high as it is loud.

    Signals:
        went: A scene was clicked; its `SoundRow`.
    """

    went = Signal(object)

    def __init__(self, bench: Bench, parent: QWidget) -> None:
        super().__init__(parent)
        self._bench = bench
        self._numbers = FilmNumbers()
        self._ends: list[int] = []
        self.setFixedHeight(_HEIGHT_PX)
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
        if not self._ends or not _LEFT_PX <= x < self.width():
            return None
        frame = (x - _LEFT_PX) / (self.width() - _LEFT_PX) * self._ends[-1]
        return self._numbers.rows[min(bisect.bisect_right(self._ends, frame), len(self._ends) - 1)]

    def y_of(self, lufs: float) -> float:
        """Return where a level stands."""
        part = (_TOP_LUFS - max(_BOTTOM_LUFS, min(_TOP_LUFS, lufs))) / (_TOP_LUFS - _BOTTOM_LUFS)
        return _EDGE_PX + part * (_HEIGHT_PX - 2 * _EDGE_PX)

    def _paint_scenes(self, painter: QPainter) -> None:
        theme = self._bench.theme
        room = self.width() - _LEFT_PX
        bottom = float(_HEIGHT_PX)
        starts = [0, *self._ends[:-1]]
        for row, start, end in zip(self._numbers.rows, starts, self._ends, strict=True):
            left = _LEFT_PX + start / self._ends[-1] * room
            right = max(left + 1.0, _LEFT_PX + end / self._ends[-1] * room - 1)
            if row.integrated_lufs is None:
                continue
            top = self.y_of(row.integrated_lufs)
            painter.fillRect(QRectF(left, top, right - left, bottom - top), theme.colour("unlit"))
            stands_out = row.stands_out_lu is not None
            colour = theme.colour("pencil" if stands_out else "ink")
            height = 4.0 if stands_out else 2.0
            painter.fillRect(QRectF(left, top - height / 2, right - left, height), colour)

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
        return QSize(480, _HEIGHT_PX)

    def minimumSizeHint(self) -> QSize:
        return QSize(160, _HEIGHT_PX)

    def paintEvent(self, _: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setFont(sans(SMALL_PX))
        box = QRectF(_LEFT_PX, 0, self.width() - _LEFT_PX, _HEIGHT_PX)
        painter.fillRect(box, self._bench.theme.colour("field"))
        if self._ends:
            self._paint_scenes(painter)
        self._paint_lines(painter)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        row = self.row_at(event.position().x())
        if row is not None and event.button() is Qt.MouseButton.LeftButton:
            self.went.emit(row)

    def event(self, event: QEvent) -> bool:
        if event.type() is QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            row = self.row_at(event.pos().x())
            QToolTip.showText(event.globalPos(), row_words(row) if row else "", self)
            return True
        return super().event(event)
