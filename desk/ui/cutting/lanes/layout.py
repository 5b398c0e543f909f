"""What stands in a scene's lanes, in frames across and in pixels down: Picture, Dialogue, Effects and Music.

Plain geometry that knows nothing of zoom and scroll: those are a `TimeAxis`.
"""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

from PySide6.QtCore import QPointF, QRectF

from desk.film.lanes import Span, spans
from desk.film.model import Clip, Cue, SceneContent, Spot
from desk.film.rates import Rate
from desk.film.timing import clip_starts, content_frames
from desk.ui.cutting.lanes.axis import TimeAxis

LABELS_PX = 76
"""Width of the lanes' names."""

RIGHT_PX = 8
RULER_PX = 40
_GAP_PX = 4
_STORY_GAP_PX = 2
_MOST_BEYOND = 0.15
"""How far beyond the picture "the whole scene" goes, as a part of the picture's length."""

_MOST_STORIES = 4
"""Sounds at the same time stand above each other; more than these share the last place."""


class Row(StrEnum):
    """The lanes, from the top."""

    PICTURE = "Picture"
    DIALOGUE = "Dialogue"
    EFFECTS = "Effects"
    MUSIC = "Music"


Thing = Clip | Spot | Cue

_KINDS = {"dialogue": Row.DIALOGUE, "effects": Row.EFFECTS, "music": Row.MUSIC}
_HEIGHTS_PX = {Row.PICTURE: 52, Row.DIALOGUE: 40, Row.EFFECTS: 30, Row.MUSIC: 30}
_STACKED_PX = 26


class Box(NamedTuple):
    """Something in a lane.

    A named tuple, since a drag makes hundreds of them at every move.

    Attributes:
        row: Its lane.
        owner: Id of the clip, spot or cue.
        thing: The clip, spot or cue.
        start_frames: Its first frame, from the scene's start.
        end_frames: The frame after its last.
        top_px: Its upper edge.
        height_px: Its height.
        span: What sounds, or None for a picture and for a cue without a choice.
        picture_frames: For a clip's sound, the first frame of its picture and the one after the last.
    """

    row: Row
    owner: str
    thing: Thing
    start_frames: int
    end_frames: int
    top_px: float
    height_px: float
    span: Span | None = None
    picture_frames: tuple[int, int] = (0, 0)

    @property
    def length_frames(self) -> int:
        """How long it is."""
        return self.end_frames - self.start_frames

    def rect(self, axis: TimeAxis) -> QRectF:
        """Return where it stands; parts of it may be off the screen."""
        left = axis.x(self.start_frames)
        return QRectF(left, self.top_px, axis.x(self.end_frames) - left, self.height_px)


@dataclass(frozen=True, slots=True, kw_only=True)
class LanesLayout:
    """What stands in a scene's lanes.

    Attributes:
        length_frames: Length of the picture.
        whole: First and end frame of what "the whole scene" shows: sound that runs far beyond the picture is
            cut at the edge, so that a long piece of music does not squeeze it.
        reach: First and end frame of all that can be scrolled to.
        rows: Top and height of each lane.
        stories: How many sounds stand above each other in each lane.
        height_px: Height of everything.
        boxes: What stands in the lanes, lane by lane.
    """

    length_frames: int
    whole: tuple[int, int]
    reach: tuple[int, int]
    rows: dict[Row, tuple[float, float]]
    stories: dict[Row, int]
    height_px: int
    boxes: tuple[Box, ...]

    def row_at(self, y: float) -> Row | None:
        """Return the lane at a height of the screen."""
        return next((row for row, (top, height) in self.rows.items() if top <= y < top + height), None)

    def shown(self, axis: TimeAxis) -> Iterator[Box]:
        """Yield what is on the screen, lane by lane."""
        first, end = axis.first, axis.end
        return (box for box in self.boxes if box.start_frames < end and box.end_frames > first)

    def box_at(self, point: QPointF, axis: TimeAxis) -> Box | None:
        """Return what stands at a point of the screen."""
        if not axis.left_px <= point.x() <= axis.right_px:
            return None
        place, y = axis.place(point.x()), point.y()
        for box in reversed(self.boxes):
            inside = box.start_frames <= place < box.end_frames
            if inside and box.top_px <= y < box.top_px + box.height_px:
                return box
        return None

    def boxes_of(self, owner: str) -> tuple[Box, ...]:
        """Return the boxes of a clip, spot or cue."""
        return tuple(box for box in self.boxes if box.owner == owner)

    def clip_at(self, frame: int) -> str:
        """Return the id of the clip at a frame, or ""; the black before a clip belongs to it."""
        boxes = (box for box in self.boxes if box.row is Row.PICTURE)
        return next((box.owner for box in boxes if frame < box.end_frames), "")


class _Item(NamedTuple):
    row: Row
    thing: Thing
    start: int
    end: int
    span: Span | None = None
    picture: tuple[int, int] = (0, 0)


class LanesLayouts:
    """Lays lanes out, and keeps what sounds with each clip: a drag lays a long scene out at every move."""

    def __init__(self) -> None:
        self._rate: Rate | None = None
        self._spans: dict[int, tuple[Clip, Span | None]] = {}

    def lay(
        self, content: SceneContent, rate: Rate, *, least_stories: dict[Row, int] | None = None
    ) -> LanesLayout:
        """Return what stands in the lanes of a scene.

        Args:
            content: The scene's content.
            rate: The film's rate.
            least_stories: Room for at least so many sounds above each other, so that lanes do not jump while
                something is dragged.
        """
        if rate != self._rate:
            self._rate, self._spans = rate, {}
        items = (*self._items(content, rate),)
        length = content_frames(content)
        whole = _whole(items, length)
        ends = [item.end for item in items]
        reach = (
            min([whole[0], *(item.start for item in items)]),
            max([whole[1], *ends, length + math.ceil(length * _MOST_BEYOND)]),
        )
        least = least_stories or {}
        top = float(RULER_PX)
        rows: dict[Row, tuple[float, float]] = {}
        counts: dict[Row, int] = {}
        boxes: list[Box] = []
        for row in Row:
            placed = _stacked([item for item in items if item.row is row])
            stories = max(max((story for _, story in placed), default=0) + 1, least.get(row, 1))
            height = float(_HEIGHTS_PX[row] if stories == 1 else _STACKED_PX)
            boxes += [
                Box(
                    row,
                    item.thing.id,
                    item.thing,
                    item.start,
                    item.end,
                    top + story * (height + _STORY_GAP_PX),
                    height,
                    item.span,
                    item.picture,
                )
                for item, story in placed
            ]
            in_all = stories * (height + _STORY_GAP_PX) - _STORY_GAP_PX
            rows[row], counts[row] = (top, in_all), stories
            top += in_all + _GAP_PX
        return LanesLayout(
            length_frames=length,
            whole=whole,
            reach=reach,
            rows=rows,
            stories=counts,
            height_px=round(top),
            boxes=tuple(boxes),
        )

    def _items(self, content: SceneContent, rate: Rate) -> Iterator[_Item]:
        before, self._spans = self._spans, {}
        sounds: list[_Item] = []
        for clip, start in zip(content.clips, clip_starts(content), strict=True):
            end = start + clip.length_frames
            yield _Item(Row.PICTURE, clip, start, end)
            kept = before.get(id(clip))
            if kept is None or kept[0] is not clip:
                # By itself a clip begins after its black, so its span counts from there.
                found = spans(SceneContent(clips=(clip,)), rate)
                kept = (clip, found[0] if found else None)
            self._spans[id(clip)] = kept
            if (span := kept[1]) is not None:
                at = start - clip.gap_frames + span.start_frames
                sounds.append(_Item(Row.DIALOGUE, clip, at, at + span.length_frames, span, (start, end)))
        yield from sounds
        things: dict[str, Spot | Cue] = {spot.id: spot for spot in content.spots}
        things.update((cue.id, cue) for cue in content.cues)
        for span in spans(SceneContent(cues=content.cues, spots=content.spots), rate):
            thing = things[span.owner]
            yield _Item(_KINDS[span.kind], thing, span.start_frames, span.end_frames, span)
        for cue in content.cues:
            if cue.choice is None:
                yield _Item(Row.MUSIC, cue, cue.start_frames, cue.start_frames + cue.length_frames)


def _whole(items: Iterable[_Item], length: int) -> tuple[int, int]:
    """Return the first frame of the whole scene, and the frame after its last."""
    first = min((item.start for item in items), default=0)
    end = max((item.end for item in items), default=0)
    if not length:
        return min(0, first), max(1, end)
    beyond = max(1, math.ceil(length * _MOST_BEYOND))
    return max(min(0, first), -beyond), min(max(length, end), length + beyond)


def _stacked(items: list[_Item]) -> list[tuple[_Item, int]]:
    """Return items in the order of their starts, with the story in which each has room."""
    if not items or items[0].row is Row.PICTURE:
        return [(item, 0) for item in items]
    ends: list[int] = []
    placed = []
    for item in sorted(items, key=_place):
        story = 0
        while story < len(ends) and ends[story] > item.start:
            story += 1
        story = min(story, _MOST_STORIES - 1)
        if story == len(ends):
            ends.append(item.end)
        else:
            ends[story] = max(ends[story], item.end)
        placed.append((item, story))
    return placed


def _place(item: _Item) -> tuple[int, int]:
    return item.start, item.end
