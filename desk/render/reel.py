"""What is on at every frame of something that is looked at: a scene, the film, or raw footage.

A reel is made of the pieces that an assembly of the film with all drafts would have, under the same names, so
that what was made for the one serves the other. What can't be made is on it as `Missing`: a reel is always
as long as what it shows.
"""

import bisect
import dataclasses
import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction

from desk.film.media import MediaFacts
from desk.film.model import Film, Framing, Scene, Size
from desk.film.rates import Rate
from desk.film.timing import Include, Layout, Slot, lay_out
from desk.render.plan import Footage, Missing, Mix, Piece, Placed, plan_alone, plan_with_gaps

OnScreen = Piece | Missing
"""What may be on at a frame."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reel:
    """What is on at every frame.

    Attributes:
        placed: What is on, in order, from frame 0 and without a gap.
        frames: How long it is.
        rate: The film's rate.
        size: Frame size of the pieces.
    """

    placed: tuple[Placed[OnScreen], ...]
    frames: int
    rate: Rate
    size: Size

    def at(self, frame: int) -> tuple[Placed[OnScreen], int]:
        """Return what is on at a frame, and which frame of it that is.

        Raises:
            IndexError: for a frame outside of the reel.
        """
        if not 0 <= frame < self.frames:
            raise IndexError(f"frame {frame} of a reel of {self.frames}")
        index = bisect.bisect_right(self.placed, frame, key=lambda placed: placed.start_frames) - 1
        placed = self.placed[index]
        return placed, frame - placed.start_frames


def reel_of_film(film: Film, media: Mapping[str, MediaFacts], size: Size) -> Reel:
    """Return the film with all drafts: joins, fades and cards as an assembly has them.

    Args:
        film: The film.
        media: What was read of each source, by path.
        size: Frame size of the pieces.
    """
    return _reel(plan_with_gaps(film, lay_out(film, Include.ALL), media, size), film.rate, size)


def reel_of_scene(film: Film, scene_id: str, media: Mapping[str, MediaFacts], size: Size) -> Reel:
    """Return a scene alone, from its first to its last frame, without the joins to its neighbours.

    Args:
        film: The film.
        scene_id: Id of a scene, in the running order or set aside. One without clips gives an empty reel.
        media: What was read of each source, by path.
        size: Frame size of the pieces.

    Raises:
        KeyError: when the film has no such scene.
    """
    scene = film.entries()[scene_id]
    if not isinstance(scene, Scene):
        raise KeyError(scene_id)
    if not scene.content.clips:
        return Reel(placed=(), frames=0, rate=film.rate, size=size)
    layout = lay_out(film, Include.ALL)
    if all(slot.entry.id != scene_id for slot in layout.slots):
        film = dataclasses.replace(film, fade_in_frames=0, fade_out_frames=0)
        length = sum(clip.gap_frames + clip.length_frames for clip in scene.content.clips)
        layout = Layout(slots=(Slot(entry=scene, start_frames=0, length_frames=length),))
    return _reel(plan_alone(film, layout, scene_id, media, size), film.rate, size)


def reel_of_footage(path: str, facts: MediaFacts, rate: Rate, size: Size) -> Reel:
    """Return a file of footage from its first to its last frame.

    Args:
        path: The file, as the film has it, or absolute.
        facts: What was read of it.
        rate: The film's rate.
        size: Frame size of the film.
    """
    seconds = facts.picture.seconds if facts.picture else Fraction(0)
    whole: OnScreen = Footage(
        source=path,
        media=facts,
        in_seconds=Fraction(0),
        speed=Fraction(1),
        frames=math.ceil(seconds * rate.fraction),
        framing=Framing(),
    )
    placed = (Placed(piece=whole, start_frames=0, entry=""),) if whole.frames else ()
    return Reel(placed=placed, frames=whole.frames, rate=rate, size=size)


def _reel(planned: Iterable[Placed[OnScreen]], rate: Rate, size: Size) -> Reel:
    placed: list[Placed[OnScreen]] = []
    at = 0
    for part in planned:
        for piece in _within_footage(part.piece, rate):
            placed.append(Placed(piece=piece, start_frames=at, entry=part.entry))
            at += piece.frames
    return Reel(placed=tuple(placed), frames=at, rate=rate, size=size)


def _within_footage(piece: OnScreen, rate: Rate) -> Iterator[OnScreen]:
    """Give a piece with the frames that lie beyond the end of its footage as `Missing`.

    A film with such a clip is not assembled, so that there is no piece whose name would have to be kept.
    """
    if isinstance(piece, Footage) and (beyond := _beyond(piece, rate)):
        if beyond < piece.frames:
            yield dataclasses.replace(piece, frames=piece.frames - beyond)
        yield Missing(
            frames=beyond,
            sentence=f"“{piece.source}” ends before this frame.",
            advice="Trim the clip's tail, or use longer footage.",
        )
    elif isinstance(piece, Mix) and any(
        isinstance(shot, Footage) and _beyond(shot, rate) for shot in (piece.outgoing, piece.incoming)
    ):
        yield Missing(
            frames=piece.frames,
            sentence="The join asks for frames beyond the end of the footage.",
            advice="Shorten the join, or trim the clip's tail.",
        )
    else:
        yield piece


def _beyond(shot: Footage, rate: Rate) -> int:
    """Return how many of a shot's frames begin after the end of its footage."""
    picture = shot.media.picture
    if picture is None:
        return shot.frames
    there = math.ceil((picture.seconds - shot.in_seconds) * rate.fraction / shot.speed)
    return min(shot.frames, max(0, shot.frames - there))
