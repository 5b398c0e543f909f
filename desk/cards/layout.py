"""Where the lines of a card stand.

Lengths are in units of 1/1080 of the picture's height, so that a card looks the same at every size. Text
keeps inside the middle 90 % of the width and of the height, the safe title area of SMPTE ST 2046-1.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import Enum

from desk.cards.fonts import SERIF, SERIF_SMALL
from desk.cards.text import EM_PX, Face, Line, Shaped
from desk.errors import AssemblyError
from desk.film.model import Card, CreditRow
from desk.film.reading import LINES_PER_FRAME, card_text, kind_name

HEIGHT = 1080.0
SAFE_SHARE = 0.9

_TITLE = Face(SERIF, figures="lnum", tracking=0.012)
_UNDER_TITLE = Face(SERIF, italic=True, figures="lnum", tracking=0.02)
_HEADING = Face(SERIF_SMALL, small_caps=True, figures="lnum", tracking=0.14)
_ROLE = Face(SERIF, italic=True, figures="lnum", tracking=0.01)
_NAME = Face(SERIF_SMALL, figures="lnum", tracking=0.015)

_TITLE_SIZE = 112.0
_UNDER_TITLE_SIZE = 40.0
_LIST_TITLE_SIZE = 66.0
_HEADING_SIZE = 38.0
_TEXT_SIZE = 37.0
_LEAST_SIZE = 24.0
"""Smallest text on a card; in a review copy of 720 lines it is 16 pixels high."""

_LEAST_ROLLING_SHARE = 0.75
"""A roll, whose room is given by its length, may have text smaller than the least by this."""

_PITCH = HEIGHT / LINES_PER_FRAME
_LOOSEST_PITCH = 2.0
_GUTTER = 1.15
"""Room between the columns, in heights of the text."""

_CAPITAL = 0.65
"""Height of a capital, in heights of the text."""

_OPTICAL_MIDDLE = 0.475
"""What is centred exactly looks too low."""

_FULL_WIDTH = 1200.0
"""Pictures narrower than this, which are upright, get smaller text."""

_SHRINK = 0.95
_SHORT_LIST = 1.25
_WRAP_BELOW = 0.75
"""Text is rather made smaller than broken, down to this."""

_MOST_SIGNS = 4000
"""More than this never fits a still card; it is not even tried."""


class Side(Enum):
    """What a line is aligned by; the value is the share of the line on the left of it."""

    LEFT = 0.0
    CENTRE = 0.5
    RIGHT = 1.0


@dataclass(frozen=True, slots=True)
class Placed:
    """A line in its place.

    Attributes:
        line: What is drawn.
        left: Place across of the leftmost that is seen of it.
        baseline: Place of its baseline, downwards.
        size: Height of the font.
        quiet: Whether it may be dimmed.
    """

    line: Line
    left: float
    baseline: float
    size: float
    quiet: bool = False

    @property
    def top(self) -> float:
        """Top of what is seen of it."""
        return self.baseline + self.line.ink_px.top() / EM_PX * self.size

    @property
    def bottom(self) -> float:
        """Bottom of what is seen of it."""
        return self.baseline + self.line.ink_px.bottom() / EM_PX * self.size


def lay_out_still(card: Card, width: float) -> tuple[Placed, ...]:
    """Return the lines of a card that stands, as large as they fit.

    Args:
        card: The card.
        width: Width of the picture.

    Raises:
        AssemblyError: when they don't fit at the least size.
    """
    if len(card_text(card)) > _MOST_SIGNS:
        raise _too_long(card)
    return _still_list(card, width) if card.credits else _title(card, width)


def lay_out_roll(card: Card, width: float, height: float) -> tuple[Placed, ...]:
    """Return the lines of a card that rolls, from the top edge of its list.

    The lines share the whole height, until they stand so far apart that they no longer read as one list;
    then the rest stays blank below them.

    Args:
        card: The card.
        width: Width of the picture.
        height: Height of the list.

    Raises:
        AssemblyError: when the height is too small for lines of the least size.
    """
    cells = _list_cells(card)
    largest, scale = _PITCH * _narrowness(width), 1.0
    # Smaller text breaks into fewer lines, which may then be larger again: a few rounds settle it.
    for _ in range(4):
        slots = sum(_slots(row, width, scale) for row in cells)
        scale = min(scale, height / (slots * largest))
        if scale * _TEXT_SIZE * _narrowness(width) < _LEAST_ROLLING_SHARE * _least_size(width):
            raise AssemblyError(
                f"The roll “{kind_name(card)}” breaks into {slots} lines, more than its length has room for.",
                advice="Shorten its longest lines, or give it a greater length.",
                code="card.roll-too-short",
            )
    slots = sum(_slots(row, width, scale) for row in cells)
    pitch = min(height / slots, largest * scale * _LOOSEST_PITCH)
    return tuple(_place(cells, width, scale, pitch, top=0.0))


def _narrowness(width: float) -> float:
    return min(1.0, width / _FULL_WIDTH)


def _least_size(width: float) -> float:
    return _LEAST_SIZE * min(1.0, width / HEIGHT)


def _measure(width: float) -> float:
    """Return the room for a line, a little less than is safe: slanting letters lean over their ends."""
    return width * (SAFE_SHARE - 0.04)


def _too_long(card: Card) -> AssemblyError:
    return AssemblyError(
        f"The card “{kind_name(card)}” has more text than can be read on a still picture.",
        advice="Let it roll, shorten it, or divide it into two cards.",
        code="card.too-long",
    )


# --- a title ----------------------------------------------------------------------------------------------


def _title(card: Card, width: float) -> tuple[Placed, ...]:
    shaped = [Shaped(text, _UNDER_TITLE if number else _TITLE) for number, text in enumerate(card.lines)]
    scale, least, room = _narrowness(width), _least_size(width), _measure(width)
    while shaped:
        sizes = [
            max(least, scale * (_UNDER_TITLE_SIZE if number else _TITLE_SIZE))
            for number in range(len(shaped))
        ]
        large = scale > 0.6 * _narrowness(width)
        first = room / sizes[0]
        if not large or (
            shaped[0].broken(first) <= 2
            and not any(text.splits_words(room / size) for text, size in zip(shaped, sizes, strict=True))
        ):
            placed = _stack(shaped, sizes, width)
            if placed[-1].bottom - placed[0].top <= HEIGHT * (0.7 if large else SAFE_SHARE - 0.04):
                return _raised(placed)
        if sizes[0] == least:
            raise _too_long(card)
        scale *= _SHRINK
    return ()


def _stack(shaped: list[Shaped], sizes: list[float], width: float) -> list[Placed]:
    """Return centred lines, one under the other, from a baseline at 0."""
    placed: list[Placed] = []
    baseline = 0.0
    for number, (text, size) in enumerate(zip(shaped, sizes, strict=True)):
        if number == 1:
            baseline += 0.42 * sizes[0]
        for line in text.lines(_measure(width) / size, balanced=True):
            baseline += (1.5 if number else 1.12) * size
            placed.append(Placed(line, (width - line.width * size) / 2, baseline, size))
    return placed


def _raised(placed: list[Placed]) -> tuple[Placed, ...]:
    """Return a title's lines moved to the optical middle, inside the safe area."""
    middle = (placed[0].baseline - _CAPITAL * placed[0].size + placed[-1].baseline) / 2
    margin = HEIGHT * (1 - SAFE_SHARE) / 2
    top, bottom = min(item.top for item in placed), max(item.bottom for item in placed)
    shift = min(max(HEIGHT * _OPTICAL_MIDDLE - middle, margin - top), HEIGHT - margin - bottom)
    return tuple(replace(item, baseline=item.baseline + shift) for item in placed)


# --- a list -----------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Cell:
    """A text of a list; its lines stand one under the other.

    Attributes:
        text: What it says.
        side: Left end, middle or right end is aligned.
        size: Height of the font at full scale.
        slots: Text lines that each of its lines takes.
        quiet: Whether it may be dimmed.
    """

    text: Shaped
    side: Side
    size: float
    slots: int = 1
    quiet: bool = False

    def room(self, width: float, scale: float) -> float:
        """Return the room for a line."""
        full = _measure(width)
        return full if self.side is Side.CENTRE else (full - _gutter(width, scale)) / 2

    def scaled(self, width: float, scale: float) -> float:
        """Return the height of the font."""
        return self.size * scale * _narrowness(width)

    def lines(self, width: float, scale: float) -> tuple[Line, ...]:
        """Return its lines; none where there is no text."""
        return self.text.lines(self.room(width, scale) / self.scaled(width, scale), balanced=True)

    def count(self, width: float, scale: float) -> int:
        """Return how many lines it has, at least one."""
        return max(1, self.text.broken(self.room(width, scale) / self.scaled(width, scale)))


_Row = tuple[tuple[_Cell, ...], ...]
"""Columns beside each other, of cells under each other. No column at all is a gap."""


def _gutter(width: float, scale: float) -> float:
    return _GUTTER * _TEXT_SIZE * scale * _narrowness(width)


def _list_cells(card: Card) -> tuple[_Row, ...]:
    return tuple(_list_rows(card))


def _list_rows(card: Card) -> Iterator[_Row]:
    for number, text in enumerate(card.lines):
        face, size = (_UNDER_TITLE, _UNDER_TITLE_SIZE) if number else (_TITLE, _LIST_TITLE_SIZE)
        yield ((_Cell(Shaped(text, face), Side.CENTRE, size, slots=2),),)
    for block in card.credits:
        yield ()
        if block.heading:
            yield ((_Cell(Shaped(block.heading, _HEADING), Side.CENTRE, _HEADING_SIZE),),)
        yield from (_credit_row(row) for row in block.rows)


def _credit_row(row: CreditRow) -> _Row:
    names_side = Side.LEFT if row.role else Side.CENTRE
    role_side = Side.RIGHT if row.names else Side.CENTRE
    names = tuple(_Cell(Shaped(name, _NAME), names_side, _TEXT_SIZE) for name in row.names)
    role = (_Cell(Shaped(row.role, _ROLE), role_side, _TEXT_SIZE, quiet=True),) if row.role else ()
    return tuple(column for column in (role, names) if column)


def _slots(row: _Row, width: float, scale: float) -> int:
    return max([1, *(sum(cell.slots * cell.count(width, scale) for cell in column) for column in row)])


def _place(cells: tuple[_Row, ...], width: float, scale: float, pitch: float, top: float) -> Iterator[Placed]:
    half = _gutter(width, scale) / 2
    for row in cells:
        for column in row:
            slot_top = top
            for cell in column:
                size = cell.scaled(width, scale)
                anchor = width / 2 + {Side.LEFT: half, Side.CENTRE: 0.0, Side.RIGHT: -half}[cell.side]
                for line in cell.lines(width, scale):
                    left = anchor - cell.side.value * line.width * size
                    baseline = slot_top + (cell.slots * pitch + _CAPITAL * size) / 2
                    yield Placed(line, left, baseline, size, cell.quiet)
                    slot_top += cell.slots * pitch
        top += _slots(row, width, scale) * pitch


def _still_list(card: Card, width: float) -> tuple[Placed, ...]:
    cells = _list_cells(card)
    if not card.lines:
        cells = cells[1:]
    scale = _SHORT_LIST
    while scale * _TEXT_SIZE * _narrowness(width) >= _least_size(width):
        broken = any(cell.count(width, scale) > 1 for row in cells for column in row for cell in column)
        slots = sum(_slots(row, width, scale) for row in cells)
        pitch = _PITCH * scale * _narrowness(width)
        most = HEIGHT * (0.5 if scale > 1 else SAFE_SHARE)
        if slots * pitch <= most and not (broken and scale > _WRAP_BELOW):
            return tuple(_place(cells, width, scale, pitch, top=HEIGHT * 0.49 - slots * pitch / 2))
        scale *= _SHRINK
    raise _too_long(card)
