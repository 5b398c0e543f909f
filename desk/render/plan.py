"""The picture of an assembly as a plan of pieces.

A piece is a run of frames that is encoded once and named by the hash of all that decides its bytes. Pieces
meet at the clips' own cuts, at the ends of the black between them and around joins, so that a reorder changes
none and a trim changes one.
"""

import dataclasses
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

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
class Placed:
    """A piece's place in the film, and the entry that it belongs to; a join belongs to the incoming entry."""

    piece: Piece
    start_frames: int
    entry: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PicturePlan:
    """All pieces of an assembly, in order and without a gap."""

    rate: Rate
    size: Size
    placed: tuple[Placed, ...]
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
    placed = tuple(planner.pieces())
    return PicturePlan(rate=film.rate, size=size, placed=placed, frames=layout.length_frames)


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

    def pieces(self) -> Iterator[Placed]:
        slots = self._layout.slots
        if not slots:
            return
        at = 0
        for index, slot in enumerate(slots):
            before = slots[index - 1] if index else None
            first = before.join.after_frames if before else min(self._film.fade_in_frames, slot.length_frames)
            last = index == len(slots) - 1
            closing = (
                min(self._film.fade_out_frames, slot.length_frames - first)
                if last
                else slot.join.before_frames
            )
            for piece in self._opening(before, slot, first):
                yield Placed(piece=piece, start_frames=at, entry=slot.entry.id)
                at += piece.frames
            for shot in self._shots(_Span(slot, first, slot.length_frames - closing)):
                yield Placed(piece=shot, start_frames=at, entry=slot.entry.id)
                at += shot.frames
            if last and closing:
                for piece in self._to_black(slot, closing):
                    yield Placed(piece=piece, start_frames=at, entry=slot.entry.id)
                    at += piece.frames

    def _opening(self, before: Slot | None, slot: Slot, first: int) -> Iterator[Piece]:
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
            yield Mix(outgoing=outgoing, incoming=incoming, first=0, passage_frames=join.length_frames)

    def _to_black(self, slot: Slot, frames: int) -> Iterator[Piece]:
        first = 0
        for shot in self._shots(_Span(slot, slot.length_frames - frames, slot.length_frames)):
            black = Black(frames=shot.frames)
            yield _mixed(shot, black, first, frames)
            first += shot.frames

    def _from_black(self, slot: Slot, frames: int) -> Iterator[Piece]:
        first = 0
        for shot in self._shots(_Span(slot, 0, frames)):
            black = Black(frames=shot.frames)
            yield _mixed(black, shot, first, frames)
            first += shot.frames

    def _one(self, span: _Span) -> Shot:
        shots = list(self._shots(span, whole=True))
        gap = opening_gap_frames(span.slot)
        if (gap and gap > span.first) or any(isinstance(shot, Black) for shot in shots):
            raise AssemblyError(
                f"The dissolve at {_name(span.slot)} meets black, where a clip was taken out.",
                advice="Close the gap there, or make it a cut.",
            )
        if len(shots) != 1:
            raise AssemblyError(
                f"The dissolve at {_name(span.slot)} is longer than the clip that it uses.",
                advice="Shorten the dissolve or lengthen the clip.",
            )
        return shots[0]

    def _shots(self, span: _Span, *, whole: bool = False) -> Iterator[Shot]:
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

    def _clip_shots(self, scene: Scene, span: _Span, *, whole: bool) -> Iterator[Shot]:
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

    def _footage(self, scene: Scene, clip: Clip, first: int, frames: int) -> Footage:
        in_seconds = clip.in_seconds + first * clip.speed / self._film.rate.fraction
        media = self._media.get(clip.source)
        if in_seconds < 0 or media is None or media.picture is None:
            raise AssemblyError(
                f"Scene {scene.number} asks for frames of “{clip.source}” that are not there.",
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


def _mixed(outgoing: Shot, incoming: Shot, first: int, passage_frames: int) -> Piece:
    """Return part of a passage from one shot to another; from black to black it is black."""
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
