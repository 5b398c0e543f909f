"""Draws how music goes down where somebody speaks, over its cue."""

from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from desk.film.model import Cue, Duck
from desk.film.rates import Rate
from desk.film.wording import counted
from desk.sound.ducking import DuckPoint, Stretch, duck_curve
from desk.ui.look.theme import Theme
from desk.ui.look.type import SMALL_PX, sans

_HEIGHT_PX = 64
_TOP_PX, _SPEECH_PX = 8, 10
_LEAST_RANGE_DB = 6.0


class DuckCurve(QWidget):
    """The gain of the music as a line, the speech as bars under it; the whole width is the cue.

    Attributes:
        points: The corners of the line, in frames from the scene's start.
    """

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._theme = theme
        self._speech: tuple[tuple[float, float], ...] = ()
        self._first, self._end = 0, 1
        self._depth_db = 0.0
        self.points: tuple[DuckPoint, ...] = ()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        theme.changed.connect(self.update)

    def show_cue(self, cue: Cue, duck: Duck, stretches: Sequence[Stretch], rate: Rate) -> None:
        """Show how a cue's music goes down.

        Args:
            cue: The cue.
            duck: How far, and how fast.
            stretches: Where somebody speaks, in samples from the scene's start.
            rate: The film's rate.
        """
        self._first, self._end = cue.start_frames, cue.start_frames + cue.length_frames
        self._depth_db = duck.depth_db
        first, end = rate.samples(self._first), rate.samples(self._end)
        spoken = [item for item in stretches if item[0] < end and item[1] > first]
        per_frame = rate.samples(1_000_000) / 1_000_000
        self._speech = tuple((start / per_frame, stop / per_frame) for start, stop in spoken)
        self.points = duck_curve(duck, stretches, rate)
        times = counted(len(spoken), "time")
        told = f"The music goes down {times} during this cue, by up to {duck.depth_db:g} dB."
        self.setAccessibleName(told if spoken else "Nobody speaks during this cue, so the music stays up.")
        self.setToolTip(self.accessibleName())
        self.update()

    def _x(self, frame: float) -> float:
        return (frame - self._first) / max(1, self._end - self._first) * self.width()

    def _y(self, gain_db: float) -> float:
        room = self.height() - _TOP_PX - _SPEECH_PX - 6
        return _TOP_PX - gain_db / max(_LEAST_RANGE_DB, self._depth_db) * room

    def sizeHint(self) -> QSize:
        return QSize(240, _HEIGHT_PX)

    def minimumSizeHint(self) -> QSize:
        return QSize(120, _HEIGHT_PX)

    def paintEvent(self, _: QPaintEvent) -> None:
        colour = self._theme.colour
        painter = QPainter(self)
        painter.fillRect(self.rect(), colour("bench"))
        painter.setPen(QPen(colour("line"), 1, Qt.PenStyle.DotLine))
        painter.drawLine(QPointF(0, self._y(0)), QPointF(self.width(), self._y(0)))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(colour("dim"))
        low = self.height() - _SPEECH_PX
        for start, stop in self._speech:
            left, right = max(0.0, self._x(start)), min(float(self.width()), self._x(stop))
            painter.drawRect(QRectF(left, low + 2, max(1.0, right - left), _SPEECH_PX - 4))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(colour("ink"), 1.6))
        line = [QPointF(-2, self._y(0))]
        line += [QPointF(self._x(point.at), self._y(point.gain_db)) for point in self.points]
        line.append(QPointF(self.width() + 2, self._y(0)))
        painter.drawPolyline(QPolygonF(line))
        if not self._speech:
            painter.setPen(colour("dim"))
            painter.setFont(sans(SMALL_PX))
            painter.drawText(self.rect(), Qt.AlignmentFlag.AlignCenter, "Nobody speaks here.")
