"""The curve of what low cut and bands do to a voice."""

import math

import numpy as np
from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from desk.film.model import VoiceChain
from desk.sound.response import chain_response
from desk.ui.look.theme import Theme
from desk.ui.look.type import SMALL_PX, sans
from desk.ui.scene.voices.rows import away_text

_HEIGHT_PX, _FOOT_PX, _SIDE_PX = 128, 16, 32
_LEAST_HZ, _MOST_HZ, _MOST_DB = 20.0, 20_000.0, 18.0
_LINES_HZ = ((100, "100"), (1000, "1 k"), (10_000, "10 k"))
_LINES_DB = (12, 0, -12)
_STEP_PX = 2


class Curve(QWidget):
    """Draws the gain at each frequency, up to 18 dB, and marks the bands by their numbers."""

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._theme = theme
        self._chain = VoiceChain(voice="")
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setFixedHeight(_HEIGHT_PX)
        theme.changed.connect(self.update)

    def show_chain(self, chain: VoiceChain, *, is_heard: bool) -> None:
        """Show what a chain does; dashed where it is not heard."""
        self._chain, self._is_heard = chain, is_heard
        name = curve_words(chain)
        self.setAccessibleName(name)
        self.setToolTip(name)
        self.update()

    _is_heard = True

    def _x(self, frame: QRectF, hz: float) -> float:
        share = math.log(hz / _LEAST_HZ) / math.log(_MOST_HZ / _LEAST_HZ)
        return frame.left() + share * frame.width()

    def _y(self, frame: QRectF, gain_db: float) -> float:
        return frame.center().y() - gain_db / _MOST_DB * frame.height() / 2

    def sizeHint(self) -> QSize:
        return QSize(320, _HEIGHT_PX)

    def paintEvent(self, _: QPaintEvent) -> None:
        colour = self._theme.colour
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(sans(SMALL_PX))
        frame = QRectF(_SIDE_PX, 0.5, self.width() - _SIDE_PX - 1, self.height() - _FOOT_PX - 1)
        painter.fillRect(frame, colour("field"))
        self._paint_grid(painter, frame)
        steps = max(2, int(frame.width() / _STEP_PX))
        frequencies = np.geomspace(_LEAST_HZ, _MOST_HZ, steps)
        gains = chain_response(self._chain, frequencies)
        xs = np.linspace(frame.left(), frame.right(), steps)
        points = QPolygonF(
            [QPointF(x, self._y(frame, gain)) for x, gain in zip(xs.tolist(), gains.tolist(), strict=True)]
        )
        painter.setClipRect(frame)
        pen = QPen(colour("pencil" if self._is_heard else "dim"), 2)
        if not self._is_heard:
            pen.setStyle(Qt.PenStyle.DashLine)
        painter.setPen(pen)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawPolyline(points)
        painter.setClipping(False)
        self._paint_bands(painter, frame)

    def _paint_grid(self, painter: QPainter, frame: QRectF) -> None:
        colour = self._theme.colour
        for gain in _LINES_DB:
            y = self._y(frame, gain)
            painter.setPen(QPen(colour("outline" if gain == 0 else "line"), 1))
            painter.drawLine(QPointF(frame.left(), y), QPointF(frame.right(), y))
            painter.setPen(colour("dim"))
            side = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
            text = f"{gain:+d}".replace("-", "−").replace("+0", "0")
            painter.drawText(QRectF(0, y - 8, _SIDE_PX - 6, 16), int(side), text)
        for hz, text in _LINES_HZ:
            x = self._x(frame, hz)
            painter.setPen(QPen(colour("line"), 1))
            painter.drawLine(QPointF(x, frame.top()), QPointF(x, frame.bottom()))
            painter.setPen(colour("dim"))
            centre = Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignBottom
            painter.drawText(QRectF(x - 24, frame.bottom(), 48, _FOOT_PX), int(centre), text)
        painter.setPen(colour("dim"))
        right = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignBottom
        painter.drawText(QRectF(frame.right() - 32, frame.bottom(), 32, _FOOT_PX), int(right), "Hz")

    def _paint_bands(self, painter: QPainter, frame: QRectF) -> None:
        colour = self._theme.colour
        for number, band in enumerate(self._chain.bands, start=1):
            heights = chain_response(self._chain, np.array([band.frequency_hz]))
            gain = max(-_MOST_DB + 3, min(_MOST_DB - 3, float(heights[0])))
            x = min(max(self._x(frame, band.frequency_hz), frame.left() + 8), frame.right() - 8)
            spot = QRectF(x - 8, self._y(frame, gain) - 8, 16, 16)
            painter.setPen(QPen(colour("ink"), 1))
            painter.setBrush(colour("panel"))
            painter.drawEllipse(spot)
            painter.drawText(spot, int(Qt.AlignmentFlag.AlignCenter), str(number))


def curve_words(chain: VoiceChain) -> str:
    """Return in words what is drawn."""
    parts = [f"low cut at {chain.low_cut_hz:g} Hz"] if chain.low_cut_hz else []
    parts += [f"{away_text(band.gain_db)} dB at {band.frequency_hz:,.0f} Hz" for band in chain.bands]
    return f"Response: {', '.join(parts)}" if parts else "Response: flat"
