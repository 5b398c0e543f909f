"""What stands in the gaps of the running order: joins and the film's fades, and whether they fit."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import Enum, auto
from fractions import Fraction

from desk.film.filling import shown_card
from desk.film.model import CUT, Card, Film, Join, JoinKind, Scene
from desk.film.reading import is_empty
from desk.film.timing import JoinRoom, Slot, entry_frames, fitting_join, join_room
from desk.film.wording import counted, join_name


class Stroke(Enum):
    """The wax pencil mark in a gap."""

    NONE = auto()
    DISSOLVE = auto()
    THROUGH_BLACK = auto()
    FADE_UP = auto()
    FADE_OUT = auto()


class Tone(Enum):
    """How the words in a gap are meant."""

    MARKED = auto()
    FAULT = auto()
    IDLE = auto()


@dataclass(frozen=True, slots=True)
class Gap:
    """What stands between two entries.

    Attributes:
        stroke: The mark.
        words: The words beside it; none for a cut.
        tone: Marked by the maker, a fault, or idle for now.
    """

    stroke: Stroke = Stroke.NONE
    words: str = ""
    tone: Tone = Tone.MARKED


PLAIN_CUT = Gap()
_STROKES = {
    JoinKind.CUT: Stroke.NONE,
    JoinKind.DISSOLVE: Stroke.DISSOLVE,
    JoinKind.THROUGH_BLACK: Stroke.THROUGH_BLACK,
}


@dataclass(frozen=True, slots=True)
class Place:
    """An entry with its length where it stands, and its join."""

    slot: Slot
    join: Join

    @property
    def is_left_out(self) -> bool:
        """Whether it is an empty card."""
        return not self.slot.length_frames


def places(film: Film, lengths: Sequence[int]) -> tuple[Place, ...]:
    """Return the entries of the running order with their joins, drafts too, for `room_after`.

    Args:
        film: The film.
        lengths: Length of each entry of the running order in frames, 0 for an empty card.
    """
    entries = film.entries()
    found, at = [], 0
    for placement, length in zip(film.order, lengths, strict=True):
        entry = entries[placement.entry]
        slot = Slot(
            entry=entry,
            start_frames=at,
            length_frames=length,
            join=placement.join,
            slate=isinstance(entry, Scene) and not entry.content.clips,
        )
        found.append(Place(slot, placement.join))
        at += length
    return tuple(found)


def room_after(
    order: Sequence[Place], index: int, film: Film, source_seconds: Mapping[str, Fraction]
) -> JoinRoom | None:
    """Return what the join after an entry can use, or None where nothing follows it.

    Args:
        order: The running order, of `places`.
        index: The entry's place in it.
        film: The film.
        source_seconds: Length of each source's picture.
    """
    if order[index].is_left_out:
        return None
    following = next((place for place in order[index + 1 :] if not place.is_left_out), None)
    if following is None:
        return None
    earlier = next((place for place in reversed(order[:index]) if not place.is_left_out), None)
    previous = earlier.join if earlier else CUT
    return join_room(order[index].slot, following.slot, previous, film.rate, source_seconds)


def lengths_of(film: Film) -> list[int]:
    """Return the length of each entry of the running order in frames, 0 for an empty card."""
    entries = film.entries()
    order = [entries[placement.entry] for placement in film.order]
    return [
        0 if isinstance(entry, Card) and is_empty(shown_card(entry, film)) else entry_frames(entry, film)
        for entry in order
    ]


def most_of(kind: JoinKind, room: JoinRoom) -> tuple[int, int]:
    """Return the most frames before and after the cut that a join of a kind can have."""
    if kind is JoinKind.CUT:
        return 0, 0
    # Longer than any room: what fits of it is all there is.
    long = Join(kind=kind, before_frames=max(1, room.before), after_frames=max(1, room.after))
    fits = fitting_join(long, room)
    return fits.before_frames, fits.after_frames


def join_gap(join: Join, room: JoinRoom | None) -> Gap:
    """Return what stands in the gap after an entry.

    Args:
        join: How it meets the next.
        room: What there is for it, or None where nothing follows.
    """
    if join.kind is JoinKind.CUT:
        return PLAIN_CUT
    name = f"{_short_name(join)} {join.length_frames:,}"
    if room is None:
        return Gap(_STROKES[join.kind], f"{name} waits for what follows", Tone.IDLE)
    if short := shortage(join, room):
        return Gap(_STROKES[join.kind], f"{name}: {short}", Tone.FAULT)
    handles = (room.head_handle, room.tail_handle)
    if join.kind is JoinKind.DISSOLVE and handles != (None, None):
        name += f", handles {_shown(handles[0])} / {_shown(handles[1])}"
    return Gap(_STROKES[join.kind], name)


def shortage(join: Join, room: JoinRoom) -> str:
    """Return by how many frames a join does not fit, and what does, or "" where it fits."""
    fits = fitting_join(join, room)
    before, after = join.before_frames - fits.before_frames, join.after_frames - fits.after_frames
    if not before and not after:
        return ""
    few = f"{counted(before or after, 'frame')} too few {'before' if before else 'after'} the cut"
    if before and after:
        few += f", {after:,} after it"
    return f"{few}; {'only a cut fits' if fits.kind is JoinKind.CUT else f'{fits.length_frames:,} would fit'}"


def join_sentence(gap: Gap) -> str:
    """Return a gap in words for the ear and the tool tip."""
    return f"Then {gap.words}." if gap.words else "Then a cut."


def fade_up_gap(film: Film, order: Sequence[Place]) -> Gap:
    """Return what stands before the first entry: the fade up from black."""
    if not film.fade_in_frames:
        return PLAIN_CUT
    shown = [place for place in order if not place.is_left_out]
    most = film.fade_in_frames
    if shown:
        taken = shown[0].join.before_frames if len(shown) > 1 else 0
        most = shown[0].slot.length_frames - taken
    return _fade(Stroke.FADE_UP, "fade up", film.fade_in_frames, most)


def fade_out_gap(film: Film, order: Sequence[Place]) -> Gap:
    """Return what stands after the last entry: the fade to black."""
    if not film.fade_out_frames:
        return PLAIN_CUT
    shown = [place for place in order if not place.is_left_out]
    most = film.fade_out_frames
    if shown:
        taken = shown[-2].join.after_frames if len(shown) > 1 else film.fade_in_frames
        most = shown[-1].slot.length_frames - taken
    return _fade(Stroke.FADE_OUT, "fade out", film.fade_out_frames, most)


def _fade(stroke: Stroke, name: str, frames: int, most: int) -> Gap:
    most = max(0, most)
    if frames <= most:
        return Gap(stroke, f"{name} {frames:,}")
    few = f"{counted(frames - most, 'frame')} too few; {most:,} would fit"
    return Gap(stroke, f"{name} {frames:,}: {few}", Tone.FAULT)


def _short_name(join: Join) -> str:
    return "through black" if join.kind is JoinKind.THROUGH_BLACK else join_name(join)


def _shown(handle: int | None) -> str:
    return "–" if handle is None else f"{max(0, handle):,}"
