"""Icons: one set, drawn for this program on a 20 px grid with strokes of 1.6 px (`resources/icons`).

They are drawn from their outlines at whatever size and scale the screen asks for, in the palette's ink.
"""

import functools

from PySide6.QtCore import QByteArray, QPoint, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QIcon, QIconEngine, QPainter, QPixmap
from PySide6.QtSvg import QSvgRenderer

from desk.cards.fonts import resource_folder
from desk.ui.look.theme import Theme

_INK = "#000000"
_SIDE_PX = 20


class _Engine(QIconEngine):
    """Draws one icon in the colours of the theme at that moment."""

    def __init__(self, name: str, theme: Theme, colour: str) -> None:
        super().__init__()
        self._name = name
        self._theme = theme
        self._colour = colour

    def paint(self, painter: QPainter, rect: QRect, mode: QIcon.Mode, _: QIcon.State) -> None:
        colour = "outline" if mode is QIcon.Mode.Disabled else self._colour
        _renderer(self._name, self._theme.colour(colour).name()).render(painter, QRectF(rect))

    def pixmap(self, size: QSize, mode: QIcon.Mode, state: QIcon.State) -> QPixmap:
        pixmap = QPixmap(size)
        pixmap.fill(Qt.GlobalColor.transparent)
        painter = QPainter(pixmap)
        self.paint(painter, QRect(QPoint(0, 0), size), mode, state)
        painter.end()
        return pixmap

    def clone(self) -> QIconEngine:
        return _Engine(self._name, self._theme, self._colour)


def icon(name: str, theme: Theme, *, colour: str = "ink") -> QIcon:
    """Return an icon in a colour of the palette; it follows a change of palette.

    Args:
        name: Name of a file in `resources/icons`, without its suffix.
        theme: The theme in use.
        colour: Name of a colour of the palette.

    Raises:
        FileNotFoundError: for a name that has no file, which is our own mistake.
    """
    _source(name)
    return QIcon(_Engine(name, theme, colour))


@functools.cache
def _source(name: str) -> str:
    return (resource_folder() / "icons" / f"{name}.svg").read_text(encoding="utf-8")


@functools.lru_cache(maxsize=256)
def _renderer(name: str, colour: str) -> QSvgRenderer:
    return QSvgRenderer(QByteArray(_source(name).replace(_INK, colour).encode()))
