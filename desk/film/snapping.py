"""Where a drag stops by itself: at cuts, at the playhead, and at the edges of what sounds."""

from collections.abc import Collection, Iterable, Iterator

from desk.film.lanes import spans
from desk.film.model import Cue, SceneContent, Spot
from desk.film.rates import Rate
from desk.film.timing import clip_starts


def snap(
    frame: int,
    content: SceneContent,
    rate: Rate,
    playhead: int | None,
    within_frames: int,
    *,
    without: Collection[str] = (),
) -> int:
    """Return the place nearest to a frame where a drag may stop, or the frame itself where none is near.

    Of two that are as near, the playhead wins, then the earlier.

    Args:
        frame: Where the pointer is, in frames from the scene's start.
        content: The scene's content.
        rate: The film's rate.
        playhead: Where the playhead is, or None.
        within_frames: How near a place must be.
        without: Ids of the clips, spots and cues that are being dragged, whose own edges do not count.
    """
    return nearest(frame, set(snap_places(content, rate, without=without)), playhead, within_frames)


def nearest(frame: int, places: Iterable[int], playhead: int | None, within_frames: int) -> int:
    """Return the nearest of some places to a frame, or the frame itself where none is near.

    For a drag, which asks again and again while the places stay the same; otherwise as `snap`.

    Args:
        frame: Where the pointer is, in frames from the scene's start.
        places: Where the drag may stop.
        playhead: Where the playhead is, or None.
        within_frames: How near a place must be.
    """
    near = [place for place in places if abs(place - frame) <= within_frames]
    if playhead is not None and abs(playhead - frame) <= within_frames:
        near.append(playhead)
    return min(near, key=lambda place: (abs(place - frame), place != playhead, place), default=frame)


def snap_places(content: SceneContent, rate: Rate, *, without: Collection[str] = ()) -> Iterator[int]:
    """Yield where things begin and end in a scene, in frames from its start; a place may come twice.

    Cuts, the ends of black, the ends of the scene, the edges of spots and cues, and those of clips' own
    sounds where a lead or lag moves them.

    Args:
        content: The scene's content.
        rate: The film's rate.
        without: Ids of clips, spots and cues to leave out.
    """
    yield 0
    for clip, start in zip(content.clips, clip_starts(content), strict=True):
        if clip.id not in without:
            yield from (start - clip.gap_frames, start, start + clip.length_frames)
    sounds: tuple[Spot | Cue, ...] = (*content.spots, *content.cues)
    for item in sounds:
        if item.id not in without:
            yield from (item.start_frames, item.start_frames + item.length_frames)
    for span in spans(content, rate):
        if span.kind == "dialogue" and span.owner not in without:
            yield from (span.start_frames, span.end_frames)
