"""Where everything in a row of the running order stands, in device-independent pixels on a 4 px grid.

An item of the list is a row with the gap after it; the first has the gap before it as well. A gap with a join
in it is as high as its words; one with a cut is thin, and can still be hit.
"""

from dataclasses import dataclass
from enum import Enum, auto

from PySide6.QtCore import QPoint, QRect

from desk.ui.order.facts import MOST_THUMBNAILS
from desk.ui.order.rows import Row

SCENE_ROW_PX = 72
CARD_ROW_PX = 44
CUT_GAP_PX = 8
JOIN_GAP_PX = 24
THUMBNAIL_HEIGHT_PX = 32
MARK_PX = 18
BAR_PX = 3
"""The bar at the left of a chosen row."""

_PAD_PX = 12
_LINE_PX = 20
_TOP_PX = 6
_NUMBER_LEFT_PX = 34
_NUMBER_WIDTH_PX = 46
_TEXT_LEFT_PX = 88
_TIMES_WIDTH_PX = 74
_SPACE_PX = 12
_LEAST_TEXT_PX = 212
"""Text is worth more than pictures: they take only what it can spare."""

_LEAST_TEXT_BESIDE_ONE_PX = 164
_LEAST_THUMBNAIL_PX = 40
"""Where there is little room, one picture is cut at its sides rather than left out."""

_THUMBNAIL_GAP_PX = 2
_GAP_REACH_PX = 3
"""How far beyond a thin gap a pointer still hits it."""

_STROKE_WIDTH_PX = 32
_STROKE_HEIGHT_PX = 12


class Part(Enum):
    """What a pointer is over."""

    TITLE = auto()
    ROW = auto()
    GAP = auto()
    LEAD = auto()


@dataclass(frozen=True, slots=True, kw_only=True)
class RowLayout:
    """Places in an item.

    Attributes:
        row: The row itself.
        gap: The gap after it.
        lead: The gap before it; empty but for the first.
        mark: State mark.
        number: Scene number.
        tension: Tension steps.
        title: Slugline, or all of a card's words.
        detail: Purpose.
        foot: The third line, as far as the right edge.
        thumbnails: As many as there is room for.
        length: Length.
        start: Start in the film.
    """

    row: QRect
    gap: QRect
    lead: QRect
    mark: QRect
    number: QRect
    tension: QRect
    title: QRect
    detail: QRect
    foot: QRect
    thumbnails: tuple[QRect, ...]
    length: QRect
    start: QRect

    def part_at(self, point: QPoint) -> Part:
        """Return what a point is over."""
        if self.lead.isValid() and point.y() <= self.lead.bottom() + _reach(self.lead):
            return Part.LEAD
        if point.y() >= self.gap.top() - _reach(self.gap):
            return Part.GAP
        return Part.TITLE if self.title.contains(point) else Part.ROW


def item_height(row: Row) -> int:
    """Return the height of a row's item."""
    body = CARD_ROW_PX if row.scene is None else SCENE_ROW_PX
    return body + _gap_height(row.gap.words) + (_gap_height(row.lead.words) if row.is_first else 0)


def lay_out_row(rect: QRect, row: Row, aspect: float) -> RowLayout:
    """Return where everything stands in an item.

    Args:
        rect: The item.
        row: What it shows.
        aspect: Width of the film's frame over its height.
    """
    lead_height = _gap_height(row.lead.words) if row.is_first else 0
    gap_height = _gap_height(row.gap.words)
    lead = QRect(rect.left(), rect.top(), rect.width(), lead_height)
    body = rect.adjusted(0, lead_height, 0, -gap_height)
    gap = QRect(rect.left(), body.bottom() + 1, rect.width(), gap_height)
    top, left, right = body.top() + _TOP_PX, body.left(), body.right() - _PAD_PX
    is_card = row.scene is None
    times_left = right - _TIMES_WIDTH_PX
    text_left = left + (_NUMBER_LEFT_PX + 6 if is_card else _TEXT_LEFT_PX)
    thumbnails = () if is_card else _thumbnails(text_left, times_left, body.top() + 10, row, aspect)
    text_right = (thumbnails[0].left() if thumbnails else times_left) - _SPACE_PX
    text_width = max(0, text_right - text_left)
    mark = QRect(0, 0, MARK_PX, MARK_PX)
    mark.moveCenter(QPoint(left + _PAD_PX + MARK_PX // 2, body.top() + body.height() // 2))
    number = QRect(left + _NUMBER_LEFT_PX, top, _NUMBER_WIDTH_PX, _LINE_PX)
    tension = QRect(number.center().x() - 10, body.top() + 46, 21, 12)
    lines = [QRect(text_left, top + line * _LINE_PX, text_width, _LINE_PX) for line in range(3)]
    if is_card:
        lines[0] = QRect(text_left, body.top(), text_width, body.height())
    times_top = body.top() + 4 if is_card else top
    return RowLayout(
        row=body,
        gap=gap,
        lead=lead,
        mark=mark,
        number=number,
        tension=tension,
        title=lines[0],
        detail=lines[1],
        foot=QRect(text_left, lines[2].top(), max(0, right - text_left), _LINE_PX),
        thumbnails=thumbnails,
        length=QRect(times_left, times_top, _TIMES_WIDTH_PX, _LINE_PX - (2 if is_card else 0)),
        start=QRect(times_left, times_top + _LINE_PX - (2 if is_card else 0), _TIMES_WIDTH_PX, 18),
    )


def stroke_rect(gap: QRect, words_px: int) -> QRect:
    """Return where the wax pencil mark of a join stands in a gap: near the middle, with room for its words.

    Args:
        gap: The gap.
        words_px: Width of the words beside it.
    """
    needed = _STROKE_WIDTH_PX + 8 + words_px + _PAD_PX
    left = max(_PAD_PX, min(round(gap.width() * 0.42), gap.width() - needed))
    stroke = QRect(gap.left() + left, 0, _STROKE_WIDTH_PX, _STROKE_HEIGHT_PX)
    stroke.moveTop(gap.center().y() - _STROKE_HEIGHT_PX // 2)
    return stroke


def _thumbnails(left: int, times_left: int, top: int, row: Row, aspect: float) -> tuple[QRect, ...]:
    width = max(20, min(80, round(THUMBNAIL_HEIGHT_PX * aspect)))
    room = times_left - _SPACE_PX - left - _LEAST_TEXT_PX - _SPACE_PX
    step = width + _THUMBNAIL_GAP_PX
    count = min(MOST_THUMBNAILS, len(row.facts.moments), max(0, (room + _THUMBNAIL_GAP_PX) // step))
    if not count and row.facts.moments:
        width = min(width, room + _LEAST_TEXT_PX - _LEAST_TEXT_BESIDE_ONE_PX)
        count = int(width >= min(_LEAST_THUMBNAIL_PX, step - _THUMBNAIL_GAP_PX))
        step = width + _THUMBNAIL_GAP_PX
    start = times_left - _SPACE_PX - count * step + _THUMBNAIL_GAP_PX
    return tuple(QRect(start + at * step, top, width, THUMBNAIL_HEIGHT_PX) for at in range(count))


def _gap_height(words: str) -> int:
    return JOIN_GAP_PX if words else CUT_GAP_PX


def _reach(gap: QRect) -> int:
    return _GAP_REACH_PX if gap.height() <= CUT_GAP_PX else 0
