"""Where everything is in time: lengths, starts, handles, and what a join takes from its neighbours."""

import functools
import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from desk.film.filling import filled_card, shown_card
from desk.film.model import CUT, Card, Clip, Film, Join, JoinKind, Scene, SceneContent
from desk.film.rates import Rate
from desk.film.reading import card_frames, is_empty
from desk.film.same import Same

SLATE_SECONDS = 5
"""How long the slate of a scene stands that has neither clips nor a planned length."""


class Include(StrEnum):
    """Which scenes go into an assembly."""

    LOCKED = "locked"
    ALL = "all"
    SLATES = "slates"


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot:
    """An entry's place in an assembly.

    Attributes:
        entry: The scene or card.
        start_frames: Its first frame in the film, from 0.
        length_frames: Its length.
        join: How it meets the next slot; a cut for the last one.
        slate: Whether a slate stands in for it.
    """

    entry: Scene | Card
    start_frames: int
    length_frames: int
    join: Join = CUT
    slate: bool = False

    @property
    def end_frames(self) -> int:
        """The frame after its last."""
        return self.start_frames + self.length_frames


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """The film as one assembly has it.

    Attributes:
        slots: What is in it, in order.
        left_out: Ids of entries of the running order that are not in it, with one line why.
    """

    slots: tuple[Slot, ...]
    left_out: tuple[tuple[str, str], ...] = ()

    @property
    def length_frames(self) -> int:
        """Running time."""
        return self.slots[-1].end_frames if self.slots else 0


def content_frames(content: SceneContent) -> int:
    """Return the length of a scene's picture, with the black before its clips."""
    return _frames_of(Same(content.clips))


def scene_frames(scene: Scene, rate: Rate) -> int:
    """Return a scene's length: that of its clips, else the planned one, else a slate's."""
    return content_frames(scene.content) or scene.planned_frames or slate_frames(rate)


def slate_frames(rate: Rate) -> int:
    """Return the length of a slate for a scene of unknown length."""
    return math.ceil(SLATE_SECONDS * rate.fraction)


def entry_frames(entry: Scene | Card, film: Film) -> int:
    """Return an entry's length in the film; a card that fills itself counts all scenes with clips."""
    if isinstance(entry, Card):
        return card_frames(shown_card(entry, film), film.rate, film.size)
    return scene_frames(entry, film.rate)


def clip_starts(content: SceneContent) -> tuple[int, ...]:
    """Return the first frame of each clip in its scene; the black before it ends there."""
    starts, at = [], 0
    for clip in content.clips:
        at += clip.gap_frames
        starts.append(at)
        at += clip.length_frames
    return tuple(starts)


def lay_out(film: Film, include: Include) -> Layout:
    """Return which entries an assembly has, and where. Cards are in it as they are shown.

    Args:
        film: The film.
        include: `locked`: only locked scenes. `all`: drafts too, where they have clips. `slates`: a slate for
            each scene that is not locked.
    """
    return _layout_of(Same(film), include)


@functools.lru_cache(maxsize=8)
def _layout_of(same: Same[Film], include: Include) -> Layout:
    """Lay a film out; after an edit several ask for the same layout."""
    film = same.value
    entries = film.entries()
    chosen: list[tuple[Scene | Card, Join, bool]] = []
    left_out: list[tuple[str, str]] = []
    reasons = {placement.entry: _left_out(entries[placement.entry], include) for placement in film.order}
    playing = [
        entry
        for placement in film.order
        if isinstance(entry := entries[placement.entry], Scene)
        if not reasons[entry.id] and not _is_slate(entry, include)
    ]
    for placement in film.order:
        entry = entries[placement.entry]
        if isinstance(entry, Card):
            entry = filled_card(entry, playing)
        reason = reasons[entry.id]
        if isinstance(entry, Card) and is_empty(entry):
            reason = "the card is empty"
        if reason:
            left_out.append((entry.id, reason))
        else:
            chosen.append((entry, placement.join, _is_slate(entry, include)))
    slots: list[Slot] = []
    at = 0
    for index, (entry, join, slate) in enumerate(chosen):
        length = (
            card_frames(entry, film.rate, film.size)
            if isinstance(entry, Card)
            else scene_frames(entry, film.rate)
        )
        last = index == len(chosen) - 1
        slots.append(
            Slot(entry=entry, start_frames=at, length_frames=length, join=CUT if last else join, slate=slate)
        )
        at += length
    return Layout(slots=tuple(slots), left_out=tuple(left_out))


def _left_out(entry: Scene | Card, include: Include) -> str:
    """Return why a scene is not in an assembly, or ""."""
    if isinstance(entry, Card) or include is Include.SLATES:
        return ""
    if include is Include.LOCKED and entry.lock is None:
        return "not locked"
    return "" if entry.content.clips else "no clips yet"


def _is_slate(entry: Scene | Card, include: Include) -> bool:
    return (
        include is Include.SLATES
        and isinstance(entry, Scene)
        and (entry.lock is None or not entry.content.clips)
    )


def head_handle_frames(clip: Clip, rate: Rate) -> int:
    """Return how many film frames of footage lie before a clip's head."""
    return math.floor(clip.in_seconds * rate.fraction / clip.speed)


def tail_handle_frames(clip: Clip, rate: Rate, source_seconds: Fraction) -> int:
    """Return how many film frames of footage lie after a clip's tail; negative for an overrun.

    Args:
        clip: The clip.
        rate: The film's rate.
        source_seconds: Length of the source's picture.
    """
    return math.ceil((source_seconds - clip.in_seconds) * rate.fraction / clip.speed) - clip.length_frames


def opening_gap_frames(slot: Slot) -> int:
    """Return the frames of black that a slot begins with, before the first clip of its scene."""
    if isinstance(slot.entry, Scene) and not slot.slate and slot.entry.content.clips:
        return slot.entry.content.clips[0].gap_frames
    return 0


@dataclass(frozen=True, slots=True, kw_only=True)
class JoinRoom:
    """What there is for a join between two slots, in frames.

    Attributes:
        before: Most frames before the cut.
        after: Most frames after the cut.
        head_handle: Footage before the incoming clip's head, or None where it is unlimited.
        tail_handle: Footage after the outgoing clip's tail, or None where it is unlimited.
        gap_frames: Black that the incoming scene begins with; there is nothing to join to after the cut then.
    """

    before: int
    after: int
    head_handle: int | None = None
    tail_handle: int | None = None
    gap_frames: int = 0


def join_room(
    outgoing: Slot, incoming: Slot, previous: Join, rate: Rate, source_seconds: Mapping[str, Fraction]
) -> JoinRoom:
    """Return what a join between two neighbours can use.

    It lies within the last clip of the one and the first of the other, and what the neighbouring joins
    leave of them. A dissolve also needs footage beyond the cut: `handles`. A scene that begins with black has
    no clip at the cut: nothing fits after it, and no dissolve.

    Args:
        outgoing: The slot before the cut.
        incoming: The slot after it.
        previous: The join before `outgoing`.
        rate: The film's rate.
        source_seconds: Length of each source's picture, by path; one that is not there counts as endless.
    """
    before, after = (
        outgoing.length_frames - previous.after_frames,
        incoming.length_frames - incoming.join.before_frames,
    )
    head = tail = None
    if isinstance(outgoing.entry, Scene) and not outgoing.slate and (clips := outgoing.entry.content.clips):
        own = clips[-1].length_frames - (previous.after_frames if len(clips) == 1 else 0)
        before = min(before, own)
        if clips[-1].source in source_seconds:
            tail = tail_handle_frames(clips[-1], rate, source_seconds[clips[-1].source])
    if isinstance(incoming.entry, Scene) and not incoming.slate and (clips := incoming.entry.content.clips):
        own = clips[0].length_frames - (incoming.join.before_frames if len(clips) == 1 else 0)
        after = min(after, own)
        head = head_handle_frames(clips[0], rate)
    gap = opening_gap_frames(incoming)
    if gap:
        after = head = 0
    return JoinRoom(before=before, after=after, head_handle=head, tail_handle=tail, gap_frames=gap)


def fitting_join(join: Join, room: JoinRoom) -> Join:
    """Return the longest join of the same kind that fits, no longer than `join`."""
    before, after = min(join.before_frames, room.before), min(join.after_frames, room.after)
    if join.kind is JoinKind.DISSOLVE:
        before = min(before, before if room.head_handle is None else room.head_handle)
        after = min(after, after if room.tail_handle is None else room.tail_handle)
    before, after = max(0, before), max(0, after)
    return Join(kind=join.kind, before_frames=before, after_frames=after) if before + after else CUT


@functools.lru_cache(maxsize=1024)
def _frames_of(same: Same[tuple[Clip, ...]]) -> int:
    """Return how long clips are together; an edit leaves those of most scenes as they are."""
    return sum(clip.gap_frames + clip.length_frames for clip in same.value)
