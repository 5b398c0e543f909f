"""The picture of an assembly as a plan of pieces.

A piece is a run of frames that is encoded once and named by the hash of all that decides its bytes. Pieces
meet at the clips' own cuts, at the ends of the black between them and around joins, so that a reorder changes
none and a trim changes one.
"""

import dataclasses
import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Generic, TypeVar

from desk.errors import AssemblyError
from desk.film.fingerprint import fingerprint
from desk.film.media import MediaFacts
from desk.film.model import Card, Clip, Film, Framing, JoinKind, Motion, Scene, Size
from desk.film.rates import Rate
from desk.film.reading import Roll, plan_roll
from desk.film.timing import Layout, Slot, clip_starts, opening_gap_frames

KEY_FORMAT = 1
"""Grows when pieces are made in another way, so that old ones are not used."""

LONGEST_PIECE_SECONDS = 10
"""A longer clip becomes several pieces: they are made side by side, and a trim makes only the last again."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Footage:
    """Frames of a clip.

    Attributes:
        source: The file, as the film has it. Not part of the name: a moved file keeps its pieces.
        media: What was read of it.
        in_seconds: Place in the source of the first frame.
        speed: Source seconds for each film second.
        frames: How many film frames.
        framing: Place in the frame.
    """

    source: str
    media: MediaFacts
    in_seconds: Fraction
    speed: Fraction
    frames: int
    framing: Framing


@dataclass(frozen=True, slots=True, kw_only=True)
class CardPicture:
    """Frames of a card.

    Attributes:
        card: The card.
        first_frame: Which of the card's frames comes first; before its start or after its end, a roll stands.
        frames: How many.
        roll: How it travels, or None for a card that holds.
        picture: What was read of the picture behind it, or None.
    """

    card: Card
    first_frame: int
    frames: int
    roll: Roll | None = None
    picture: MediaFacts | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SlatePicture:
    """Frames of a slate."""

    number: str
    slugline: str
    note: str
    frames: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Black:
    """Frames of black."""

    frames: int


Shot = Footage | CardPicture | SlatePicture | Black


@dataclass(frozen=True, slots=True, kw_only=True)
class Mix:
    """Frames of a passage from one shot to another.

    Frame j of a passage of n frames, from 0, is (j + 1)/(n + 1) incoming and the rest outgoing: the frame
    before it is all outgoing and the one after it all incoming.

    Attributes:
        outgoing: What is left.
        incoming: What comes; as many frames.
        first: Which frame of the passage comes first.
        passage_frames: How long the whole passage is.
    """

    outgoing: Shot
    incoming: Shot
    first: int
    passage_frames: int

    @property
    def frames(self) -> int:
        """How many frames."""
        return self.outgoing.frames


Piece = Shot | Mix


@dataclass(frozen=True, slots=True, kw_only=True)
class Missing:
    """Frames that can't be made.

    Attributes:
        frames: How many.
        sentence: What is not there.
        advice: What to do about it.
    """

    frames: int
    sentence: str
    advice: str


Kind = TypeVar("Kind", bound=Piece | Missing, covariant=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed(Generic[Kind]):
    """A piece's place in the film, and the entry that it belongs to; a join belongs to the incoming entry."""

    piece: Kind
    start_frames: int
    entry: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PicturePlan:
    """All pieces of an assembly, in order and without a gap."""

    rate: Rate
    size: Size
    placed: tuple[Placed[Piece], ...]
    frames: int


def piece_key(piece: Piece, *, rate: Rate, size: Size, making: Mapping[str, str | int]) -> str:
    """Return the name of a piece: a hash of all that decides its bytes.

    Args:
        piece: The piece.
        rate: The film's rate.
        size: Its frame size.
        making: Whatever else has a say: encoder settings, versions.
    """
    return fingerprint([KEY_FORMAT, _named(piece), str(rate), str(size), dict(making)])


def plan_picture(
    film: Film, layout: Layout, media: Mapping[str, MediaFacts], size: Size, *, slate_notes: Mapping[str, str]
) -> PicturePlan:
    """Return the pieces of an assembly's picture.

    Args:
        film: The film.
        layout: What is in the assembly, and where.
        media: What was read of each source, by path.
        size: Frame size of the copy.
        slate_notes: Why a slate stands for a scene, by scene id.

    Raises:
        AssemblyError: where a join or a clip asks for frames that are not there; `desk.film.checks` tells
            them all beforehand.
    """
    planner = _Planner(film, layout, media, size, slate_notes)
    placed = tuple(_made(part) for part in planner.pieces())
    return PicturePlan(rate=film.rate, size=size, placed=placed, frames=layout.length_frames)


def plan_with_gaps(
    film: Film, layout: Layout, media: Mapping[str, MediaFacts], size: Size
) -> tuple[Placed[Piece | Missing], ...]:
    """Return the pieces of an assembly's picture as `plan_picture` does, and what can't be made as `Missing`.

    Args:
        film: The film.
        layout: What is in the assembly, and where; without slates.
        media: What was read of each source, by path.
        size: Frame size of the copy.
    """
    return tuple(_Planner(film, layout, media, size, {}).pieces())


def plan_alone(
    film: Film, layout: Layout, entry: str, media: Mapping[str, MediaFacts], size: Size
) -> tuple[Placed[Piece | Missing], ...]:
    """Return the picture of one entry from its first to its last frame, without its joins and fades.

    What the joins leave of it are the pieces of the assembly; what is in a join is shown as it would be
    without, in pieces of its own. Only this entry is planned.

    Args:
        film: The film.
        layout: What is in the assembly, and where; without slates.
        entry: Id of an entry that is in it.
        media: What was read of each source, by path.
        size: Frame size of the copy.
    """
    return tuple(_Planner(film, layout, media, size, {}).alone(entry))


@dataclass(frozen=True, slots=True)
class _Span:
    """A run of frames of one slot; may reach into its handles."""

    slot: Slot
    first: int
    end: int


class _Planner:
    def __init__(
        self,
        film: Film,
        layout: Layout,
        media: Mapping[str, MediaFacts],
        size: Size,
        slate_notes: Mapping[str, str],
    ) -> None:
        self._film = film
        self._layout = layout
        self._media = media
        self._size = size
        self._slate_notes = slate_notes
        self._longest = int(LONGEST_PIECE_SECONDS * film.rate.fraction)

    def pieces(self) -> Iterator[Placed[Piece | Missing]]:
        at, slots = 0, self._layout.slots
        for index, slot in enumerate(slots):
            closing = 0 if index == len(slots) - 1 else self._passages(index)[1]
            end = max(at, slot.end_frames - closing)
            pieces = list(self._of_slot(index))
            if sum(piece.frames for piece in pieces) != end - at:
                pieces = [_overfull(slot, end - at)] if end > at else []
            for piece in pieces:
                yield Placed(piece=piece, start_frames=at, entry=slot.entry.id)
                at += piece.frames

    def alone(self, entry: str) -> Iterator[Placed[Piece | Missing]]:
        index = next(at for at, slot in enumerate(self._layout.slots) if slot.entry.id == entry)
        slot = self._layout.slots[index]
        opening, closing = self._passages(index)
        opening = min(opening, slot.length_frames)
        closing = min(closing, slot.length_frames - opening)
        at = 0
        for first, end in itertools.pairwise((0, opening, slot.length_frames - closing, slot.length_frames)):
            for shot in self._shots(_Span(slot, first, end)):
                yield Placed(piece=shot, start_frames=at, entry=entry)
                at += shot.frames

    def _passages(self, index: int) -> tuple[int, int]:
        """Return how many frames of a slot belong to the join or fade before it, and to the one after it."""
        slots = self._layout.slots
        slot = slots[index]
        before = slots[index - 1] if index else None
        opening = before.join.after_frames if before else min(self._film.fade_in_frames, slot.length_frames)
        if index == len(slots) - 1:
            return opening, max(0, min(self._film.fade_out_frames, slot.length_frames - opening))
        return opening, slot.join.before_frames

    def _of_slot(self, index: int) -> Iterator[Piece | Missing]:
        slots = self._layout.slots
        slot, before = slots[index], slots[index - 1] if index else None
        opening, closing = self._passages(index)
        yield from self._opening(before, slot, opening)
        yield from self._shots(_Span(slot, opening, slot.length_frames - closing))
        if index == len(slots) - 1 and closing:
            yield from self._to_black(slot, closing)

    def _opening(self, before: Slot | None, slot: Slot, first: int) -> Iterator[Piece | Missing]:
        """Give the frames of the join before a slot, from its start on the outgoing side."""
        if before is None or before.join.kind is JoinKind.THROUGH_BLACK:
            if before and before.join.before_frames:
                yield from self._to_black(before, before.join.before_frames)
            if first:
                yield from self._from_black(slot, first)
        elif before.join.kind is JoinKind.DISSOLVE:
            join, end = before.join, before.length_frames
            outgoing = self._one(_Span(before, end - join.before_frames, end + join.after_frames))
            incoming = self._one(_Span(slot, -join.before_frames, join.after_frames))
            yield _mixed(outgoing, incoming, 0, join.length_frames)

    def _to_black(self, slot: Slot, frames: int) -> Iterator[Piece | Missing]:
        first = 0
        for shot in self._shots(_Span(slot, slot.length_frames - frames, slot.length_frames)):
            black = Black(frames=shot.frames)
            yield _mixed(shot, black, first, frames)
            first += shot.frames

    def _from_black(self, slot: Slot, frames: int) -> Iterator[Piece | Missing]:
        first = 0
        for shot in self._shots(_Span(slot, 0, frames)):
            black = Black(frames=shot.frames)
            yield _mixed(black, shot, first, frames)
            first += shot.frames

    def _one(self, span: _Span) -> Shot | Missing:
        shots = list(self._shots(span, whole=True))
        gap = opening_gap_frames(span.slot)
        if (gap and gap > span.first) or any(isinstance(shot, Black) for shot in shots):
            return Missing(
                frames=span.end - span.first,
                sentence=f"The dissolve at {_name(span.slot)} meets black, where a clip was taken out.",
                advice="Close the gap there, or make it a cut.",
            )
        if len(shots) != 1:
            return Missing(
                frames=span.end - span.first,
                sentence=f"The dissolve at {_name(span.slot)} is longer than the clip that it uses.",
                advice="Shorten the dissolve or lengthen the clip.",
            )
        return shots[0]

    def _shots(self, span: _Span, *, whole: bool = False) -> Iterator[Shot | Missing]:
        """Give the shots of a run of frames, long ones in parts unless they have to be whole."""
        if span.end <= span.first:
            return
        entry = span.slot.entry
        if isinstance(entry, Scene) and not span.slot.slate:
            yield from self._clip_shots(entry, span, whole=whole)
            return
        for first, frames in _split(span.first, span.end, 0, None if whole else self._longest):
            if isinstance(entry, Card):
                yield self._card_shot(entry, first, frames)
            else:
                note = self._slate_notes.get(entry.id, "")
                yield SlatePicture(number=entry.number, slugline=entry.slugline, note=note, frames=frames)

    def _clip_shots(self, scene: Scene, span: _Span, *, whole: bool) -> Iterator[Shot | Missing]:
        longest = None if whole else self._longest
        clips = scene.content.clips
        for index, (clip, start) in enumerate(zip(clips, clip_starts(scene.content), strict=True)):
            gap = start - clip.gap_frames
            for _, frames in _split(max(span.first, gap), min(span.end, start), gap, longest):
                yield Black(frames=frames)
            # Only the outer ends of a scene reach into handles, where no black lies between.
            low = span.first if index == 0 and not clip.gap_frames else max(span.first, start)
            end = start + clip.length_frames
            high = span.end if index == len(clips) - 1 else min(span.end, end)
            for first, frames in _split(low, high, start, longest):
                yield self._footage(scene, clip, first - start, frames)

    def _footage(self, scene: Scene, clip: Clip, first: int, frames: int) -> Footage | Missing:
        in_seconds = clip.in_seconds + first * clip.speed / self._film.rate.fraction
        media = self._media.get(clip.source)
        if in_seconds < 0 or media is None or media.picture is None:
            return Missing(
                frames=frames,
                sentence=f"Scene {scene.number} asks for frames of “{clip.source}” that are not there.",
                advice="Run desk check for what is missing.",
            )
        return Footage(
            source=clip.source,
            media=media,
            in_seconds=in_seconds,
            speed=clip.speed,
            frames=frames,
            framing=clip.framing,
        )

    def _card_shot(self, card: Card, first: int, frames: int) -> CardPicture:
        picture = self._media.get(card.picture) if card.picture else None
        if card.motion is Motion.HOLD:
            return CardPicture(card=card, first_frame=0, frames=frames, picture=picture)
        roll = plan_roll(card, self._film.size, self._size)
        return CardPicture(card=card, first_frame=first, frames=frames, roll=roll, picture=picture)


def _overfull(slot: Slot, frames: int) -> Missing:
    """Return what stands for a slot whose joins ask for more than it has."""
    return Missing(
        frames=frames,
        sentence=f"The joins of {_name(slot)} are longer than it is.",
        advice="Shorten them.",
    )


def _made(part: Placed[Piece | Missing]) -> Placed[Piece]:
    """Return a piece that can be made.

    Raises:
        AssemblyError: for one that can't.
    """
    piece = part.piece
    if isinstance(piece, Missing):
        raise AssemblyError(piece.sentence, advice=piece.advice)
    return Placed(piece=piece, start_frames=part.start_frames, entry=part.entry)


def _mixed(
    outgoing: Shot | Missing, incoming: Shot | Missing, first: int, passage_frames: int
) -> Piece | Missing:
    """Return part of a passage from one shot to another; from black to black it is black."""
    if isinstance(outgoing, Missing):
        return outgoing
    if isinstance(incoming, Missing):
        return incoming
    if isinstance(outgoing, Black) and isinstance(incoming, Black):
        return outgoing
    return Mix(outgoing=outgoing, incoming=incoming, first=first, passage_frames=passage_frames)


def _split(first: int, end: int, origin: int, longest: int | None) -> Iterator[tuple[int, int]]:
    """Give starts and lengths of runs that meet at multiples of `longest` from `origin`, or of one run."""
    at = first
    while at < end:
        stop = min(end, origin + ((at - origin) // longest + 1) * longest) if longest else end
        yield at, stop - at
        at = stop


def _name(slot: Slot) -> str:
    return f"scene {slot.entry.number}" if isinstance(slot.entry, Scene) else f"card “{slot.entry.name}”"


def _named(piece: Piece) -> object:
    """Return a piece as it goes into its name: of files what they hold, and not where they are."""
    if isinstance(piece, Mix):
        ends: Sequence[object] = (_named(piece.outgoing), _named(piece.incoming))
        return ["mix", *ends, piece.first, piece.passage_frames]
    kind = type(piece).__name__
    if isinstance(piece, Footage):
        piece = dataclasses.replace(piece, source="", media=_named_media(piece.media))
    if isinstance(piece, CardPicture):
        # What the running order calls a card is not on it.
        card = dataclasses.replace(piece.card, id="", name="", picture="", length_frames=None)
        picture = piece.picture and _named_media(piece.picture)
        piece = dataclasses.replace(piece, card=card, picture=picture)
    return [kind, piece]


def _named_media(media: MediaFacts) -> MediaFacts:
    return dataclasses.replace(media, sound=None, timecode="", camera="")
