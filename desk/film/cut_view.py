"""What a viewer has to know of a scene's cut: what is on screen at a frame, and on both sides of a cut."""

from dataclasses import dataclass
from fractions import Fraction

from desk.film.model import Clip, SceneContent
from desk.film.rates import Rate
from desk.film.timing import clip_starts


@dataclass(frozen=True, slots=True, kw_only=True)
class OnScreen:
    """A frame of a scene that shows footage.

    Attributes:
        clip: The clip.
        index: Its place among the clips.
        frame: The frame, from the scene's start.
        clip_frame: The same, from the clip's head.
        source_seconds: Place in the source that is shown.
    """

    clip: Clip
    index: int
    frame: int
    clip_frame: int
    source_seconds: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge:
    """The two sides of a cut.

    Attributes:
        frame: The first frame after it, from the scene's start.
        before: The last frame before it, or None where there is black or the scene begins.
        after: The first frame after it, or None where there is black or the scene ends.
    """

    frame: int
    before: OnScreen | None
    after: OnScreen | None


def on_screen(content: SceneContent, rate: Rate, frame: int) -> OnScreen | None:
    """Return what a scene shows at a frame, or None where there is black, or no such frame.

    Args:
        content: The scene's content.
        rate: The film's rate.
        frame: The frame, from the scene's start.
    """
    for index, start in enumerate(clip_starts(content)):
        if frame < start:
            return None
        if frame < start + content.clips[index].length_frames:
            return _of_clip(content.clips[index], index, start, frame - start, rate)
    return None


def edge(content: SceneContent, rate: Rate, frame: int) -> Edge:
    """Return what is on both sides of a frame's beginning: the two pictures to look at while trimming.

    Args:
        content: The scene's content.
        rate: The film's rate.
        frame: The first frame after the cut, from the scene's start.
    """
    return Edge(
        frame=frame, before=on_screen(content, rate, frame - 1), after=on_screen(content, rate, frame)
    )


def cuts(content: SceneContent) -> tuple[int, ...]:
    """Return the frames, from a scene's start, at which something else comes on screen: a clip, or black."""
    places: dict[int, None] = {}
    end = 0
    for clip, start in zip(content.clips, clip_starts(content), strict=True):
        places |= {end: None, start: None}
        end = start + clip.length_frames
    return tuple(place for place in places if place)


def _of_clip(clip: Clip, index: int, start: int, clip_frame: int, rate: Rate) -> OnScreen:
    return OnScreen(
        clip=clip,
        index=index,
        frame=start + clip_frame,
        clip_frame=clip_frame,
        source_seconds=clip.in_seconds + rate.seconds(clip_frame) * clip.speed,
    )
