"""Rows of two cells, some of them headings over those that follow: what a table of names can do with them.

All of it is pure functions from rows to rows.
"""

import csv
from collections.abc import Collection
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Row:
    """A row of a table.

    Attributes:
        first: The first cell, or the text of a heading.
        second: The second cell; a heading has none.
        is_heading: Whether it stands over those that follow.
    """

    first: str = ""
    second: str = ""
    is_heading: bool = False

    @property
    def is_blank(self) -> bool:
        """Whether nothing stands in it."""
        return not (self.first.strip() or self.second.strip() or self.is_heading)


Rows = tuple[Row, ...]

BLANK = Row()


def with_rows(rows: Rows, at: int, new: Rows) -> Rows:
    """Return rows with others put in before the one at `at`."""
    return (*rows[:at], *new, *rows[at:])


def without_rows(rows: Rows, gone: Collection[int]) -> Rows:
    """Return rows without those at some places. What stood under a heading stays."""
    return tuple(row for at, row in enumerate(rows) if at not in gone)


def moved(rows: Rows, first: int, count: int, by: int) -> tuple[Rows, int]:
    """Return rows with some moved up or down, and where they begin now; as they were where there is no room.

    A heading goes with all that stands under it, and past the whole of what stands under another.

    Args:
        rows: All rows.
        first: The first that moves.
        count: How many move, one after the other.
        by: -1 for up, 1 for down.
    """
    end = first + count
    if rows[first].is_heading:
        end = _end_of_block(rows, end - 1)
        if by < 0:
            to = first - 1
            while to > 0 and not rows[to].is_heading:
                to -= 1
        else:
            to = first + _end_of_block(rows, end) - end if end < len(rows) else first
    else:
        to = first + by
        if to == 0 and rows[0].is_heading:
            # Nothing stands above the first heading.
            return rows, first
    if to < 0 or to == first or to + end - first > len(rows):
        return rows, first
    rest = (*rows[:first], *rows[end:])
    return (*rest[:to], *rows[first:end], *rest[to:]), to


def read_rows(text: str, *, alone_is_second: bool = False) -> Rows:
    """Return the rows of text that was copied from a table or typed elsewhere: a line for each.

    Cells are parted by tabs, or where a line has none, by commas. The first cell is the first, all others
    together are the second. A line that ends with a colon is a heading. Blank lines are left out.

    Args:
        text: The text.
        alone_is_second: Whether the only cell of a line is the second one, rather than the first.
    """
    rows = []
    for line in text.splitlines():
        if not line.strip():
            continue
        delimiter = "\t" if "\t" in line else ","
        cells = [
            cell.strip() for cell in next(csv.reader([line], delimiter=delimiter, skipinitialspace=True))
        ]
        if len(cells) == 1 and cells[0].endswith(":"):
            rows.append(Row(cells[0].removesuffix(":").rstrip(), is_heading=True))
        elif len(cells) == 1 and alone_is_second:
            rows.append(Row("", cells[0]))
        elif any(cells):
            rows.append(Row(cells[0], ", ".join(cell for cell in cells[1:] if cell)))
    return tuple(rows)


def written(rows: Rows) -> str:
    """Return rows as text that `read_rows` and table programs read."""
    return "\n".join(f"{row.first}:" if row.is_heading else f"{row.first}\t{row.second}" for row in rows)


def parted(text: str) -> tuple[str, ...]:
    """Return the names of a cell, which commas part."""
    return tuple(name for part in text.split(",") if (name := part.strip()))


def _end_of_block(rows: Rows, at: int) -> int:
    """Return the place after the last row of the block that a heading at `at`, or before it, begins."""
    end = at + 1
    while end < len(rows) and not rows[end].is_heading:
        end += 1
    return end
