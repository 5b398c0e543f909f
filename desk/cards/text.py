"""Lines of text as outlines.

Text is shaped once at a large size and drawn scaled, without hinting, so that a card has the same breaks and
proportions at every picture size. Lengths are in em, the height of the font, unless a name says otherwise.
"""

import unicodedata
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QGlyphRun, QPainter, QPainterPath, QRawFont, QTextLayout, QTextOption

from desk.cards.fonts import SANS, SERIF

EM_PX = 256
"""Size at which text is shaped."""

_ENDLESS_PX = 1e6


@dataclass(frozen=True, slots=True)
class Face:
    """A font as it is used.

    Attributes:
        family: A family of `desk.cards.fonts`.
        italic: Whether it slants.
        weight: 400 is regular.
        small_caps: Whether all letters are drawn as small capitals.
        figures: `lnum` for figures as high as capitals, where a 0 can't be taken for an o.
        tracking: Space added after each letter.
    """

    family: str
    italic: bool = False
    weight: int = 400
    small_caps: bool = False
    figures: str = ""
    tracking: float = 0.0


@dataclass(frozen=True, slots=True)
class Line:
    """One line, at `EM_PX`, on a baseline at 0.

    Attributes:
        outline: The letters that have outlines.
        runs: Those that have none, such as coloured emoji.
        ink_px: The box of all that is drawn.
    """

    outline: QPainterPath
    runs: tuple[QGlyphRun, ...]
    ink_px: QRectF

    @property
    def width(self) -> float:
        """Width of what is drawn."""
        return self.ink_px.width() / EM_PX


def fold(text: str) -> str:
    """Return `text` on one line: spaces, tabs and breaks become one space, and what is no character goes."""
    spaced = " ".join(text.split())
    return "".join(sign for sign in spaced if unicodedata.category(sign) not in ("Cc", "Cs"))


class Shaped:
    """A text in a face, ready to be broken into lines."""

    def __init__(self, text: str, face: Face) -> None:
        # Small capitals made from capitals are wrongly spaced in the font, those from small letters rightly.
        self._layout = QTextLayout(fold(text).lower() if face.small_caps else fold(text), _font(text, face))

    @property
    def width(self) -> float:
        """Width on one line."""
        return self._break(None)[1]

    def broken(self, width: float) -> int:
        """Return in how many lines it fits a width."""
        return self._break(width)[0]

    def splits_words(self, width: float) -> bool:
        """Return whether a word is wider than a width."""
        count, widest = self._break(width, anywhere=False)
        return count > 0 and widest > width

    def lines(self, width: float | None = None, *, balanced: bool = False) -> tuple[Line, ...]:
        """Return its lines, broken between words where that is possible.

        Args:
            width: The room, or None for one line.
            balanced: Whether lines are made as even as their number allows.
        """
        if width is not None and balanced:
            width = self._even(width)
        self._break(width)
        return tuple(_outline(self._layout, number) for number in range(self._layout.lineCount()))

    def missing(self) -> str:
        """Return the characters that no font here can draw."""
        self._break(None)
        found = [sign for run in _runs(self._layout, 0) for glyph, _, sign in _glyphs(run) if not glyph]
        return "".join(dict.fromkeys(found))

    def _even(self, width: float) -> float:
        count = self.broken(width)
        low, high = width / (count + 1), width
        if count < 2 or self.splits_words(width):
            return width
        for _ in range(12):
            middle = (low + high) / 2
            if self.broken(middle) > count or self.splits_words(middle):
                low = middle
            else:
                high = middle
        return high

    def _break(self, width: float | None, *, anywhere: bool = True) -> tuple[int, float]:
        """Break the text and return how many lines there are, and how wide the widest is."""
        option = QTextOption()
        modes = QTextOption.WrapMode
        option.setWrapMode(modes.WrapAtWordBoundaryOrAnywhere if anywhere else modes.WordWrap)
        option.setUseDesignMetrics(True)
        self._layout.setTextOption(option)
        self._layout.beginLayout()
        count, widest_px = 0, 0.0
        while (line := self._layout.createLine()).isValid():
            line.setLineWidth(_ENDLESS_PX if width is None else width * EM_PX)
            widest_px = max(widest_px, line.naturalTextWidth())
            count += 1
        self._layout.endLayout()
        return count, widest_px / EM_PX


def _font(text: str, face: Face) -> QFont:
    font = QFont()
    # What one of the program's own fonts lacks, another may have; only then come the machine's.
    font.setFamilies(list(dict.fromkeys([face.family, SERIF, SANS])))
    font.setPixelSize(EM_PX)
    font.setItalic(face.italic)
    font.setWeight(QFont.Weight(face.weight))
    font.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    for feature in (
        *(("smcp", "c2sc") if face.small_caps else ()),
        *([face.figures] if face.figures else []),
    ):
        font.setFeature(QFont.Tag(feature), 1)
    # Arabic letters join: space between them would tear words apart.
    if face.tracking and not any(unicodedata.bidirectional(sign) == "AL" for sign in text):
        font.setLetterSpacing(QFont.SpacingType.AbsoluteSpacing, face.tracking * EM_PX)
    return font


def _runs(layout: QTextLayout, number: int) -> list[QGlyphRun]:
    line = layout.lineAt(number)
    return line.glyphRuns(-1, -1, QTextLayout.GlyphRunRetrievalFlag.RetrieveAll) if line.isValid() else []


def _glyphs(run: QGlyphRun) -> list[tuple[int, QPointF, str]]:
    """Return each glyph's index, place and first character."""
    source = run.sourceString().encode("utf-16-le")
    signs = [source[2 * at :][:4].decode("utf-16-le", "ignore")[:1] for at in run.stringIndexes()]
    return list(zip(run.glyphIndexes(), run.positions(), signs, strict=True))


def _outline(layout: QTextLayout, number: int) -> Line:
    placed = layout.lineAt(number)
    baseline = QPointF(0, placed.y() + placed.ascent())
    outline = QPainterPath()
    outline.setFillRule(Qt.FillRule.WindingFill)
    pictures: list[QGlyphRun] = []
    ink_px = QRectF()
    for run in _runs(layout, number):
        font = run.rawFont()
        if _is_pictured(font):
            left_px = min(position.x() for position in run.positions())
            advance_px = sum(advance.x() for advance in font.advancesForGlyphIndexes(run.glyphIndexes()))
            box = QRectF(left_px, -font.ascent(), advance_px, font.ascent() + font.descent())
            run.setPositions([position - baseline for position in run.positions()])
            pictures.append(run)
            ink_px = ink_px.united(box)
            continue
        for glyph, place, _ in _glyphs(run):
            outline.addPath(font.pathForGlyph(glyph).translated(place - baseline))
    return Line(outline, tuple(pictures), ink_px.united(outline.boundingRect()))


def _is_pictured(font: QRawFont) -> bool:
    """Return whether a font's signs are pictures; once asked for outlines, it would draw nothing any more."""
    return any(not font.fontTable(table).isEmpty() for table in ("CBLC", "sbix", "COLR"))


def paint_line(
    painter: QPainter, line: Line, *, left: float, baseline: float, size: float, ink: QColor
) -> None:
    """Paint a line so that what is seen of it begins at `left`, in the painter's units."""
    scale = size / EM_PX
    painter.save()
    painter.translate(left - line.ink_px.left() * scale, baseline)
    painter.scale(scale, scale)
    painter.fillPath(line.outline, ink)
    painter.setPen(ink)
    for run in line.runs:
        painter.drawGlyphRun(QPointF(0, 0), run)
    painter.restore()
