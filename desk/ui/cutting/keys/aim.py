"""What a command means by the clip, the next thing, the nearest cut: looked up in a scene's content."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum

from desk.film.cut_view import cuts
from desk.film.model import Clip, Cue, SceneContent, Spot
from desk.film.timing import clip_starts, content_frames


class Kind(Enum):
    """What can be selected; in the order of the lanes from the top. The Dialogue lane is the clips' own."""

    CLIP = "clip"
    SPOT = "spot"
    CUE = "cue"


@dataclass(frozen=True, slots=True)
class Thing:
    """A clip, spot or cue with its place.

    Attributes:
        kind: Which of them.
        id: Its id.
        name: What a sentence calls it: `clip 2`, `spot horn`.
        start_frames: Its first frame, from the scene's start.
        end_frames: The frame after its last.
    """

    kind: Kind
    id: str
    name: str
    start_frames: int
    end_frames: int


def things(content: SceneContent) -> dict[str, Thing]:
    """Return everything that can be selected in a scene, by id: clips, cues, spots, each in its order."""
    found = {
        clip.id: Thing(Kind.CLIP, clip.id, f"clip {number}", start, start + clip.length_frames)
        for number, (clip, start) in enumerate(zip(content.clips, clip_starts(content), strict=True), start=1)
    }
    sounds: tuple[Cue | Spot, ...] = (*content.cues, *content.spots)
    for item in sounds:
        kind = Kind.CUE if isinstance(item, Cue) else Kind.SPOT
        end = item.start_frames + item.length_frames
        found[item.id] = Thing(kind, item.id, f"{kind.value} {item.label or item.id}", item.start_frames, end)
    return found


def clip_of(content: SceneContent, clip_id: str) -> Clip:
    """Return a clip that the scene has."""
    return next(clip for clip in content.clips if clip.id == clip_id)


def lane_of(content: SceneContent, kind: Kind) -> tuple[Thing, ...]:
    """Return what is in one lane, in the order of time."""
    found = [thing for thing in things(content).values() if thing.kind is kind]
    return tuple(sorted(found, key=lambda thing: (thing.start_frames, thing.end_frames)))


def clip_at(content: SceneContent, frame: int) -> Thing | None:
    """Return the clip that is on screen at a frame, or None in black."""
    return next(
        (clip for clip in lane_of(content, Kind.CLIP) if clip.start_frames <= frame < clip.end_frames), None
    )


def near(lane: Iterable[Thing], frame: int) -> Thing | None:
    """Return what is at a frame, or else what is nearest to it; of several there, the one begun last."""

    def away(thing: Thing) -> tuple[int, int]:
        before, after = thing.start_frames - frame, frame - (thing.end_frames - 1)
        return max(0, before, after), -thing.start_frames

    return min(lane, key=away, default=None)


def beside(content: SceneContent, main: str, frame: int, by: int) -> Thing | None:
    """Return the next thing of a lane, or the one before; None where there is none that way.

    Args:
        content: The scene's content.
        main: Id of the thing to start from; its lane is meant. With "" it is the Picture lane, from `frame`.
        frame: The playhead.
        by: 1 for the next, -1 for the one before.
    """
    start = things(content).get(main)
    if start is not None:
        lane = lane_of(content, start.kind)
        index = lane.index(start) + by
        return lane[index] if 0 <= index < len(lane) else None
    clips = lane_of(content, Kind.CLIP)
    if by > 0:
        return next((clip for clip in clips if clip.end_frames > frame), None)
    return next((clip for clip in reversed(clips) if clip.start_frames <= frame), None)


def in_lane_beside(content: SceneContent, main: str, frame: int, by: int) -> Thing | None:
    """Return what is at the playhead, or nearest to it, in the next lane below that holds anything, or above.

    Args:
        content: The scene's content.
        main: Id of the thing to start from; with "" the Picture lane itself is next.
        frame: The playhead.
        by: 1 for below, -1 for above.
    """
    start = things(content).get(main)
    if start is None:
        return near(lane_of(content, Kind.CLIP), frame)
    order = list(Kind)
    index = order.index(start.kind) + by
    while 0 <= index < len(order):
        if found := near(lane_of(content, order[index]), frame):
            return found
        index += by
    return None


def cut_beside(content: SceneContent, frame: int, by: int) -> int:
    """Return the next place where something else comes on screen, or the one before; else the scene's end.

    Args:
        content: The scene's content.
        frame: The playhead.
        by: 1 for the next, -1 for the one before.
    """
    last = max(0, content_frames(content) - 1)
    places = [0, *(place for place in cuts(content) if place <= last), last]
    if by > 0:
        return min((place for place in places if place > frame), default=last)
    return max((place for place in places if place < frame), default=0)


def nearest_cut(content: SceneContent, frame: int) -> str:
    """Return the clip after the cut that is nearest to a frame, or "" in a scene without clips.

    Where no two clips meet, it is the clip with the nearest head, so that the edit can say why there is no
    cut. Of two as near, the later.
    """
    clips = [(clip, start) for clip, start in zip(content.clips, clip_starts(content), strict=True)]
    meeting = [pair for pair in clips[1:] if not pair[0].gap_frames] or clips[1:] or clips
    found = min(meeting, key=lambda pair: (abs(pair[1] - frame), -pair[1]), default=None)
    return found[0].id if found else ""


def black_at(content: SceneContent, frame: int) -> str:
    """Return the clip that the black at a frame is before, or "" where there is no black."""
    for clip, start in zip(content.clips, clip_starts(content), strict=True):
        if start - clip.gap_frames <= frame < start:
            return clip.id
    return ""


def extent(chosen: Iterable[Thing]) -> tuple[int, int]:
    """Return the first frame of several things and the frame after the last; there is one or more."""
    found = tuple(chosen)
    return min(thing.start_frames for thing in found), max(thing.end_frames for thing in found)
