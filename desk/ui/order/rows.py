"""The rows of the running order and the tiles of the shelf, made from the film."""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from desk.film.model import Aside, Card, Film, Join, JoinKind, Scene
from desk.film.timecode import format_label
from desk.ui.order.facts import EntryFacts, FactsCache
from desk.ui.order.gaps import (
    PLAIN_CUT,
    Gap,
    Place,
    fade_out_gap,
    fade_up_gap,
    join_gap,
    places,
    room_after,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """An entry as a list shows it.

    Attributes:
        entry: The scene or card.
        facts: Its words.
    """

    entry: Scene | Card
    facts: EntryFacts

    @property
    def scene(self) -> Scene | None:
        """The scene, or None for a card."""
        return self.entry if isinstance(self.entry, Scene) else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Row(Listed):
    """A row of the running order.

    Attributes:
        start: Its first frame in the film as timecode.
        join: How it meets the next.
        gap: What stands after it.
        lead: What stands before it; only before the first there is a gap.
        is_first: Whether it is the first.
        is_last: Whether it is the last.
    """

    start: str
    join: Join
    gap: Gap
    lead: Gap = PLAIN_CUT
    is_first: bool = False
    is_last: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Tile(Listed):
    """A tile of the shelf.

    Attributes:
        reason: Why it was set aside, or "".
    """

    reason: str


def rows_of(film: Film, cache: FactsCache, source_seconds: Mapping[str, Fraction]) -> tuple[Row, ...]:
    """Return the rows of the running order.

    Starts run with every entry, drafts too; an empty card takes no time.

    Args:
        film: The film.
        cache: Facts that are known.
        source_seconds: Length of each source's picture, by path; one that is not there counts as endless.
    """
    entries = film.entries()
    facts = [cache.of(entries[placement.entry], film) for placement in film.order]
    order = places(film, [item.length_frames for item in facts])
    last = len(order) - 1
    return tuple(
        Row(
            entry=place.slot.entry,
            facts=facts[index],
            start=format_label(
                film.start_frames + place.slot.start_frames, film.rate, drop_frame=film.drop_frame
            ),
            join=place.join,
            gap=_gap(film, order, index, source_seconds),
            lead=fade_up_gap(film, order) if index == 0 else PLAIN_CUT,
            is_first=index == 0,
            is_last=index == last,
        )
        for index, place in enumerate(order)
    )


def tiles_of(film: Film, cache: FactsCache) -> tuple[Tile, ...]:
    """Return the tiles of the shelf, in the order in which they were set aside."""
    entries = film.entries()
    return tuple(_tile(film, cache, entries[aside.entry], aside) for aside in film.aside)


def _tile(film: Film, cache: FactsCache, entry: Scene | Card, aside: Aside) -> Tile:
    return Tile(entry=entry, facts=cache.of(entry, film), reason=" ".join(aside.reason.split()))


def _gap(film: Film, order: tuple[Place, ...], index: int, source_seconds: Mapping[str, Fraction]) -> Gap:
    if index == len(order) - 1 and film.fade_out_frames:
        return fade_out_gap(film, order)
    join = order[index].join
    if join.kind is JoinKind.CUT:
        return PLAIN_CUT
    return join_gap(join, room_after(order, index, film, source_seconds))
