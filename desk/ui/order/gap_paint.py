"""Paints the gaps of the running order: wax pencil marks of joins and fades, with their words."""

from PySide6.QtCore import QRect
from PySide6.QtGui import QColor

from desk.film.model import JoinKind
from desk.ui.look.marks import paint_fade, paint_join
from desk.ui.order.gaps import Gap, Stroke, Tone
from desk.ui.order.ink import Ink, Words
from desk.ui.order.row_layout import stroke_rect

_COLOURS = {Tone.MARKED: "pencil_text", Tone.FAULT: "broken_text", Tone.IDLE: "dim"}
_KINDS = {Stroke.DISSOLVE: JoinKind.DISSOLVE, Stroke.THROUGH_BLACK: JoinKind.THROUGH_BLACK}


def mark_rect(words: Words, rect: QRect, gap: Gap) -> QRect:
    """Return where the mark of a gap stands with its words, as high as the gap; empty for a cut.

    Args:
        words: The face of its words.
        rect: The gap.
        gap: What stands in it.
    """
    if not gap.words:
        return QRect()
    stroke = stroke_rect(rect, words.width(gap.words))
    right = min(stroke.right() + 9 + words.width(gap.words), rect.right())
    return QRect(stroke.left() - 4, rect.top(), right - stroke.left() + 8, rect.height())


def paint_gap(ink: Ink, words: Words, rect: QRect, gap: Gap, *, is_hovered: bool) -> None:
    """Paint a gap.

    Args:
        ink: Painter and palette.
        words: The face of its words.
        rect: The gap.
        gap: What stands in it.
        is_hovered: Whether the pointer is over it.
    """
    if is_hovered:
        line = QRect(rect.left(), rect.center().y(), rect.width(), 2)
        if gap.words:
            ink.painter.fillRect(rect, QColor(ink.look.panel))
        else:
            ink.painter.fillRect(line, QColor(ink.look.pencil))
    if not gap.words:
        return
    stroke = stroke_rect(rect, words.width(gap.words))
    if gap.stroke in _KINDS:
        paint_join(ink.painter, stroke.toRectF(), _KINDS[gap.stroke], ink.look)
    else:
        paint_fade(ink.painter, stroke.toRectF(), ink.look, up=gap.stroke is Stroke.FADE_UP)
    beside = QRect(stroke.right() + 9, rect.top(), 0, rect.height())
    beside.setRight(rect.right() - 4)
    words.draw(ink, beside, gap.words, _COLOURS[gap.tone])
