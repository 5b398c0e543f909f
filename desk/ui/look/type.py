"""The type of the window: sizes and faces. Sizes are device-independent pixels, never below 11."""

from PySide6.QtGui import QFont

from desk.cards.fonts import SANS, SERIF, TYPEWRITER

SMALL_PX = 11
TEXT_PX = 13
LARGE_PX = 15
HEADING_PX = 18
TITLE_PX = 20


def sans(size_px: int = TEXT_PX, *, strong: bool = False, italic: bool = False) -> QFont:
    """Return the face for everything that is not named below, with figures of one width."""
    font = _font(SANS, size_px, strong=strong, italic=italic)
    font.setFeature(QFont.Tag("tnum"), 1)
    return font


def typewriter(size_px: int = TEXT_PX, *, strong: bool = True) -> QFont:
    """Return the face of scene numbers and sluglines, as scripts have them."""
    return _font(TYPEWRITER, size_px, strong=strong, italic=False)


def serif(size_px: int = TITLE_PX, *, italic: bool = False) -> QFont:
    """Return the face of titles."""
    return _font(SERIF, size_px, strong=False, italic=italic)


def _font(family: str, size_px: int, *, strong: bool, italic: bool) -> QFont:
    font = QFont(family)
    font.setPixelSize(size_px)
    font.setItalic(italic)
    if strong:
        font.setWeight(QFont.Weight.Bold if family == TYPEWRITER else QFont.Weight.DemiBold)
    return font
