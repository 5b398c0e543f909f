"""Painting of rows and tiles: words that are cut short where they do not fit, frames and small pictures."""

from dataclasses import dataclass
from enum import Enum, auto

from PySide6.QtCore import QRect, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetrics, QImage, QPainter, QStaticText

from desk.ui.look.palette import Palette

_MOST_READY = 2000
"""Lines kept ready in one face: those of some 300 rows at a few widths."""


class Side(Enum):
    """Where words stand in their room; from top to bottom always in the middle."""

    LEFT = auto()
    MIDDLE = auto()
    RIGHT = auto()


@dataclass(frozen=True, slots=True)
class Ink:
    """A painter with the palette in use.

    Attributes:
        painter: The painter.
        look: The palette.
    """

    painter: QPainter
    look: Palette

    def colour(self, name: str) -> QColor:
        """Return a colour of the palette."""
        return QColor(getattr(self.look, name))

    def frame(self, rect: QRect, colour: str, width_px: int = 2) -> None:
        """Paint a frame inside a rectangle, with edges on whole pixels."""
        paint, shade = self.painter, self.colour(colour)
        paint.fillRect(QRect(rect.left(), rect.top(), rect.width(), width_px), shade)
        paint.fillRect(QRect(rect.left(), rect.bottom() + 1 - width_px, rect.width(), width_px), shade)
        paint.fillRect(QRect(rect.left(), rect.top(), width_px, rect.height()), shade)
        paint.fillRect(QRect(rect.right() + 1 - width_px, rect.top(), width_px, rect.height()), shade)

    def picture(self, rect: QRect, picture: QImage | None) -> None:
        """Paint a picture so that it fills a rectangle, cut at its edges; without one, an empty frame."""
        if picture is None or picture.isNull():
            self.painter.fillRect(rect, self.colour("field"))
            self.frame(rect, "line", 1)
            return
        width, height = picture.width(), picture.height()
        scale = max(rect.width() / width, rect.height() / height)
        part = QRectF(0, 0, rect.width() / scale, rect.height() / scale)
        part.moveCenter(QRectF(0, 0, width, height).center())
        self.painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        self.painter.drawImage(QRectF(rect), picture, part)


class Words:
    """Words in one face. What was written once is kept ready, since laying a line out takes longest."""

    def __init__(self, font: QFont) -> None:
        self.font = font
        self.metrics = QFontMetrics(font)
        self._height_px = self.metrics.height()
        self._ready: dict[tuple[str, int], tuple[QStaticText, int]] = {}

    def width(self, text: str) -> int:
        """Return how wide a text is."""
        return self.metrics.horizontalAdvance(text)

    def draw(self, ink: Ink, rect: QRect, text: str, colour: str, side: Side = Side.LEFT) -> int:
        """Write a text on one line, cut short where it does not fit; returns the width it takes."""
        if rect.width() <= 0 or not text:
            return 0
        line, width = self._line(text, rect.width())
        left = rect.left()
        if side is Side.RIGHT:
            left = rect.right() + 1 - width
        elif side is Side.MIDDLE:
            left += (rect.width() - width) // 2
        painter = ink.painter
        painter.setFont(self.font)
        painter.setPen(ink.colour(colour))
        painter.drawStaticText(left, rect.top() + (rect.height() - self._height_px) // 2, line)
        return width

    def _line(self, text: str, room_px: int) -> tuple[QStaticText, int]:
        key = (text, room_px)
        ready = self._ready.get(key)
        if ready is None:
            shown = self.metrics.elidedText(text, Qt.TextElideMode.ElideRight, room_px)
            line = QStaticText(shown)
            line.setTextFormat(Qt.TextFormat.PlainText)
            line.setPerformanceHint(QStaticText.PerformanceHint.AggressiveCaching)
            ready = (line, min(room_px, self.width(shown)))
            if len(self._ready) >= _MOST_READY:
                self._ready.clear()
            self._ready[key] = ready
        return ready
