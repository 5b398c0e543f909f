"""What the strip shows of each entry: as plain values, so that it is known what an edit changed."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from desk.film.model import Card, Film, Join, Scene
from desk.film.reading import kind_name
from desk.film.timecode import format_label, format_length
from desk.film.timing import Include, lay_out
from desk.ui.look.marks import Mark
from desk.ui.strip.geometry import Span, spans_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """An entry on the strip.

    Attributes:
        span: Where it is.
        mark: Its state.
        number: A scene's number; "" for a card.
        tension: A scene's tension, or None.
        join: How it meets the next.
        background: A card's colour as `#rrggbb`; "" for a scene.
    """

    span: Span
    mark: Mark
    number: str = ""
    tension: int | None = None
    join: Join
    background: str = ""


def cells_of(film: Film, width_px: int, mark_of: Callable[[Scene], Mark]) -> tuple[Cell, ...]:
    """Return what the strip shows of a film: everything in the running order that shows something.

    Args:
        film: The film.
        width_px: How wide the strip is.
        mark_of: Gives the state of a scene.
    """
    layout = lay_out(film, Include.SLATES)
    cells = []
    for slot, span in zip(layout.slots, spans_of(layout, width_px), strict=True):
        entry = slot.entry
        if isinstance(entry, Card):
            cells.append(Cell(span=span, mark=Mark.CARD, join=slot.join, background=entry.background))
        else:
            cells.append(
                Cell(
                    span=span,
                    mark=mark_of(entry),
                    number=entry.number,
                    tension=entry.tension,
                    join=slot.join,
                )
            )
    return tuple(cells)


def changed_columns(before: Sequence[Cell], after: Sequence[Cell]) -> tuple[int, int] | None:
    """Return the first column that looks different and the one after the last; None where none does."""
    head = 0
    for one, other in zip(before, after, strict=False):
        if one != other:
            break
        head += 1
    if head == len(before) == len(after):
        return None
    tail = 0
    for one, other in zip(reversed(before[head:]), reversed(after[head:]), strict=False):
        if one != other:
            break
        tail += 1
    changed = [*before[head : len(before) - tail], *after[head : len(after) - tail]]
    return min(cell.span.left_px for cell in changed), max(cell.span.right_px for cell in changed)


def entry_words(entry: Scene | Card) -> str:
    """Return what an entry is called: `4A EXT. SLIPWAY - DUSK`, or a card's name."""
    if isinstance(entry, Card):
        return kind_name(entry)
    return f"{entry.number} {entry.slugline or '(no slugline)'}"


def tip(film: Film, cell: Cell, frame: int) -> str:
    """Return what is said of a place when the pointer rests on it."""
    span = cell.span
    here, start = (
        format_label(film.start_frames + at, film.rate, drop_frame=film.drop_frame)
        for at in (frame, span.start_frames)
    )
    length = format_length(span.end_frames - span.start_frames, film.rate)
    tension = "" if cell.tension is None else f", tension {cell.tension}"
    return (
        f"{entry_words(film.entry(span.entry))}\n"
        f"{here}\nstarts at {start}, length {length}, {cell.mark.value}{tension}"
    )


def place_words(film: Film, cells: Sequence[Cell], span: Span, frame: int) -> str:
    """Return where the playhead is, for those who can't see it."""
    label = format_label(film.start_frames + frame, film.rate, drop_frame=film.drop_frame)
    index = next(index for index, cell in enumerate(cells) if cell.span == span)
    mark = cells[index].mark.value
    return f"Film: {entry_words(film.entry(span.entry))}, {mark}, {label}, entry {index + 1} of {len(cells)}"
