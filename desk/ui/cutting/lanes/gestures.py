"""Drags in the lanes as edits: what a drag that has come so far would do, and in which words.

Plain values: each gesture is made once, of what was taken hold of, and asked at every move.
"""

import functools
import math
from abc import ABC, abstractmethod
from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from desk.errors import EditError
from desk.film import edits
from desk.film.edit import Edit
from desk.film.model import Clip, Film, SceneContent
from desk.film.problem import Facts
from desk.film.rates import Rate
from desk.film.snapping import nearest
from desk.film.timecode import format_length
from desk.film.timing import clip_starts, content_frames
from desk.film.wording import counted
from desk.ui.cutting.lanes.known import handles, picture_seconds
from desk.ui.session import MakeEdit


@dataclass(frozen=True, slots=True, kw_only=True)
class Scope:
    """What every drag in a scene begins with.

    Attributes:
        scene_id: The scene.
        content: Its content when the drag began.
        rate: The film's rate.
        facts: What is known of each file.
        places: Where a drag may stop by itself, in frames from the scene's start.
        playhead: Where the playhead stands, which is such a place too.
        within_frames: How near it has to come.
    """

    scene_id: str
    content: SceneContent
    rate: Rate
    facts: Facts
    places: Sequence[int]
    playhead: int
    within_frames: int

    def snapped(self, place: float, *, free: bool) -> int:
        """Return the frame where a drag stops that has come to a place."""
        frame = math.floor(place + 0.5)
        if free:
            return frame
        return nearest(frame, self.places, self.playhead, self.within_frames)

    def clip_number(self, clip_id: str) -> int:
        """Return the place of a clip among the clips, from 0."""
        return next(place for place, clip in enumerate(self.content.clips) if clip.id == clip_id)

    def length(self, frames: int) -> str:
        """Return a length in words."""
        return format_length(frames, self.rate)


@dataclass(frozen=True, slots=True, kw_only=True)
class Where:
    """How far a drag has come.

    Attributes:
        place: The pointer, in frames from the scene's start.
        moved_frames: How far it is from where it was pressed, in frames.
        moved_px: How far it is down from there, in pixels.
        free: Whether nothing stops it by itself.
    """

    place: float
    moved_frames: float
    moved_px: float
    free: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Attempt:
    """What a drag would do.

    Attributes:
        make: The edit.
        words: What it would do, for the person.
        edge: The first frame after the cut that is worked at, or None.
        shift_frames: By how much all is shown further right, so that a head stays under the pointer.
        drop_frame: Where what is dragged would be put in, or None.
    """

    make: MakeEdit
    words: str
    edge: int | None = None
    shift_frames: int = 0
    drop_frame: int | None = None


@dataclass(frozen=True, slots=True)
class Gesture(ABC):
    """A drag of something.

    Attributes:
        scope: The scene that it is in.
        shows_trial: Whether the lanes are shown as the drag would leave them.
        stops: What the words say of how it stops by itself, or "".
    """

    scope: Scope
    shows_trial: ClassVar[bool] = True
    stops: ClassVar[str] = "Stops at cuts, edges and the playhead; with Shift it goes freely."

    @abstractmethod
    def at(self, where: Where) -> Attempt:
        """Return what the drag would do there."""


@dataclass(frozen=True, slots=True)
class TrimHead(Gesture):
    """A clip's head is dragged: what is before it is shown moving, so that the head stays at the pointer."""

    clip: Clip
    start: int

    def at(self, where: Where) -> Attempt:
        scope, clip = self.scope, self.clip
        wanted = scope.snapped(self.start + where.moved_frames, free=where.free) - self.start
        before, _ = handles(clip, scope.rate, scope.facts)
        frames = held(wanted, -before, clip.length_frames - 1)
        after = scope.length(content_frames(scope.content) - frames)
        return Attempt(
            make=functools.partial(edits.trim_head, scene_id=scope.scene_id, clip_id=clip.id, frames=frames),
            words=f"Head {signed(frames)}, clip {scope.length(clip.length_frames - frames)}, scene {after}."
            + end_words(wanted, frames),
            edge=self.start,
            shift_frames=frames,
        )


@dataclass(frozen=True, slots=True)
class TrimTail(Gesture):
    """A clip's tail is dragged."""

    clip: Clip
    end: int

    def at(self, where: Where) -> Attempt:
        scope, clip = self.scope, self.clip
        wanted = scope.snapped(self.end + where.moved_frames, free=where.free) - self.end
        _, beyond = handles(clip, scope.rate, scope.facts)
        frames = held(wanted, 1 - clip.length_frames, beyond)
        after = scope.length(content_frames(scope.content) + frames)
        return Attempt(
            make=functools.partial(
                edits.trim_tail,
                scene_id=scope.scene_id,
                clip_id=clip.id,
                frames=-frames,
                source_seconds=picture_seconds(scope.facts, clip.source),
            ),
            words=f"Tail {signed(frames)}, clip {scope.length(clip.length_frames + frames)}, scene {after}."
            + end_words(wanted, frames),
            edge=self.end + frames,
        )


@dataclass(frozen=True, slots=True)
class ChangeBlack(Gesture):
    """The end of the black before a clip is dragged; what follows moves along."""

    clip: Clip
    start: int

    def at(self, where: Where) -> Attempt:
        scope, clip = self.scope, self.clip
        wanted = scope.snapped(self.start + where.moved_frames, free=where.free) - self.start
        frames = held(wanted, -clip.gap_frames, None)
        black = clip.gap_frames + frames
        after = scope.length(content_frames(scope.content) + frames)
        return Attempt(
            make=functools.partial(edits.set_gap, scene_id=scope.scene_id, clip_id=clip.id, frames=black),
            words=f"Black {signed(frames)}, {scope.length(black)} long, scene {after}."
            + end_words(wanted, frames),
            edge=self.start + frames,
        )


@dataclass(frozen=True, slots=True)
class MoveCut(Gesture):
    """The cut before a clip is dragged; the scene keeps its length."""

    clip: Clip
    start: int

    def at(self, where: Where) -> Attempt:
        scope = self.scope
        wanted = scope.snapped(self.start + where.moved_frames, free=where.free) - self.start
        number = scope.clip_number(self.clip.id)
        before = scope.content.clips[number - 1] if number else self.clip
        into, _ = handles(self.clip, scope.rate, scope.facts)
        _, beyond = handles(before, scope.rate, scope.facts)
        most = self.clip.length_frames - 1
        frames = held(
            wanted,
            -min(into, before.length_frames - 1),
            most if beyond is None else min(most, beyond),
        )
        return Attempt(
            make=functools.partial(
                edits.move_cut,
                scene_id=scope.scene_id,
                clip_id=self.clip.id,
                frames=frames,
                source_seconds=picture_seconds(scope.facts, self.clip.source, before.source),
            ),
            words=f"Cut {signed(frames)}; the scene keeps its length." + end_words(wanted, frames),
            edge=self.start + frames,
        )


@dataclass(frozen=True, slots=True)
class NoCut(Gesture):
    """The cut after the last clip is dragged, where there is none."""

    clip: Clip

    def at(self, where: Where) -> Attempt:
        number = self.scope.clip_number(self.clip.id) + 1
        return Attempt(make=functools.partial(_no_cut_after, number=number), words="")


@dataclass(frozen=True, slots=True)
class Slide(Gesture):
    """What a clip shows is dragged; to the right brings in what was before."""

    clip: Clip
    start: int
    stops: ClassVar[str] = ""

    def at(self, where: Where) -> Attempt:
        scope = self.scope
        wanted = -math.floor(where.moved_frames + 0.5)
        before, beyond = handles(self.clip, scope.rate, scope.facts)
        frames = held(wanted, -before, beyond)
        later = "later" if frames >= 0 else "earlier"
        return Attempt(
            make=functools.partial(
                edits.slide,
                scene_id=scope.scene_id,
                clip_id=self.clip.id,
                frames=frames,
                source_seconds=picture_seconds(scope.facts, self.clip.source),
            ),
            words=f"Shows {counted(abs(frames), 'frame')} {later} in its footage; the clip stays in place."
            + end_words(wanted, frames),
            edge=self.start,
        )


@dataclass(frozen=True, slots=True)
class MoveClips(Gesture):
    """Clips are dragged to another place among the clips; a line shows where they would go."""

    clip_ids: tuple[str, ...]
    shows_trial: ClassVar[bool] = False
    stops: ClassVar[str] = ""

    def at(self, where: Where) -> Attempt:
        scope = self.scope
        index, frame = cut_nearest(scope.content, where.place)
        moving = set(self.clip_ids)
        to_index = sum(clip.id not in moving for clip in scope.content.clips[:index])
        return Attempt(
            make=functools.partial(
                edits.move_clips, scene_id=scope.scene_id, clip_ids=self.clip_ids, to_index=to_index
            ),
            words=f"Moves {counted(len(moving), 'clip')} {told_place(scope.content, index)}.",
            drop_frame=frame,
        )


def cut_nearest(content: SceneContent, place: float) -> tuple[int, int]:
    """Return the place among the clips nearest to a place in time, and the frame at which it is.

    Args:
        content: The scene's content.
        place: The place, in frames from the scene's start.
    """
    starts = [
        start - clip.gap_frames for clip, start in zip(content.clips, clip_starts(content), strict=True)
    ]
    frames = [*starts, content_frames(content)]
    index = min(range(len(frames)), key=lambda number: abs(frames[number] - place))
    return index, frames[index]


def told_place(content: SceneContent, index: int) -> str:
    """Return a place among the clips in words."""
    if index == 0:
        return "to the start of the scene"
    if index == len(content.clips):
        return "to the end of the scene"
    return f"between clip {index} and clip {index + 1}"


def held(frames: int, least: int, most: int | None) -> int:
    """Return a number of frames within what is possible; None for no end.

    A hand that goes far and fast means as far as it goes. What is beyond either end already stays there.
    """
    if most is not None:
        frames = min(frames, max(most, 0))
    return max(frames, min(least, 0))


def end_words(wanted: int, frames: int) -> str:
    """Return what is added to the words of a drag that is held at an end, or ""."""
    return "" if wanted == frames else " It goes no further."


def signed(frames: int) -> str:
    """Return a number of frames with its sign: `+12 frames`."""
    sign = "+" if frames > 0 else "−" if frames < 0 else "±"
    return f"{sign}{counted(abs(frames), 'frame')}"


def _no_cut_after(film: Film, *, number: int) -> Edit:
    raise EditError(
        f"There is no cut after clip {number}: it is the last.",
        advice="Trim its tail instead.",
        code="edit.place",
    )
