"""Where everything in a scene's lanes stands on the screen: Picture, Dialogue, Effects and Music to scale.

Plain geometry in device-independent pixels. The time line shows the whole scene; sound that runs far beyond
it is cut at the edge, so that a long piece of music does not squeeze the picture.
"""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum

from PySide6.QtCore import QPointF, QRectF

from desk.film.lanes import Span, spans
from desk.film.model import SceneContent
from desk.film.rates import Rate
from desk.film.timing import clip_starts, content_frames

LABELS_PX = 76
"""Width of the lanes' names."""

RULER_PX = 20
_RIGHT_PX = 8
_GAP_PX = 4
_MOST_BEYOND = 0.15
"""How far beyond the picture the time line goes, as a part of the picture's length."""

_MOST_STORIES = 4
"""Sounds at the same time stand above each other; more than these share the last place."""


class Row(StrEnum):
    """The lanes, from the top."""

    PICTURE = "Picture"
    DIALOGUE = "Dialogue"
    EFFECTS = "Effects"
    MUSIC = "Music"


_KINDS = {"dialogue": Row.DIALOGUE, "effects": Row.EFFECTS, "music": Row.MUSIC}
_HEIGHTS_PX = {Row.PICTURE: 44, Row.DIALOGUE: 28, Row.EFFECTS: 20, Row.MUSIC: 20}
_STACKED_HEIGHTS_PX = {Row.DIALOGUE: 18, Row.EFFECTS: 18, Row.MUSIC: 18}


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """Something in a lane.

    Attributes:
        row: Its lane.
        owner: Id of the clip, spot or cue.
        start_frames: Its first frame, from the scene's start.
        end_frames: The frame after its last.
        rect: Where it stands.
        span: What sounds, or None for a picture and for a cue without a choice.
    """

    row: Row
    owner: str
    start_frames: int
    end_frames: int
    rect: QRectF
    span: Span | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LanesLayout:
    """A scene's lanes in a given width.

    Attributes:
        first_frames: The frame at the left edge of the time line, from the scene's start; 0 or before.
        end_frames: The frame at its right edge.
        length_frames: Length of the picture.
        left_px: The left edge of the time line.
        right_px: Its right edge.
        height_px: Height of everything.
        rows: Top and height of each lane.
        boxes: What stands in the lanes, lane by lane.
    """

    first_frames: int
    end_frames: int
    length_frames: int
    left_px: float
    right_px: float
    height_px: int
    rows: dict[Row, tuple[float, float]]
    boxes: tuple[Box, ...]

    @property
    def px_per_frame(self) -> float:
        """Width of a frame."""
        return (self.right_px - self.left_px) / max(1, self.end_frames - self.first_frames)

    def x(self, frames: float) -> float:
        """Return where a place stands, counted in frames from the scene's start."""
        return self.left_px + (frames - self.first_frames) * self.px_per_frame

    def frame_at(self, x: float) -> int:
        """Return the frame of the picture at a place on the screen, or the nearest one."""
        if not self.px_per_frame:
            return 0
        # What `x` gives for a frame has to lead back to that frame.
        frame = math.floor((x - self.left_px) / self.px_per_frame + self.first_frames + 1e-6)
        return max(0, min(frame, self.length_frames - 1))

    def box_at(self, point: QPointF) -> Box | None:
        """Return what stands at a place on the screen."""
        return next((box for box in reversed(self.boxes) if box.rect.contains(point)), None)

    def boxes_of(self, owner: str) -> tuple[Box, ...]:
        """Return the boxes of a clip, spot or cue."""
        return tuple(box for box in self.boxes if box.owner == owner)


@dataclass(frozen=True, slots=True)
class _Item:
    row: Row
    owner: str
    start: int
    end: int
    span: Span | None = None


def lay_lanes(content: SceneContent, rate: Rate, width_px: float) -> LanesLayout:
    """Return the lanes of a scene in a given width, with their names at the left.

    Args:
        content: The scene's content.
        rate: The film's rate.
        width_px: The whole width, names included.
    """
    items = (*_items(content, rate),)
    length = content_frames(content)
    first, end = _ends(items, length)
    left = float(LABELS_PX)
    right = max(left + 1, width_px - _RIGHT_PX)
    scale = (right - left) / max(1, end - first)
    top = float(RULER_PX)
    rows: dict[Row, tuple[float, float]] = {}
    boxes: list[Box] = []
    for row in Row:
        placed = tuple(_stacked(item for item in items if item.row is row))
        stories = max((story for _, story in placed), default=0) + 1
        height = float(_HEIGHTS_PX[row] if stories == 1 else _STACKED_HEIGHTS_PX[row])
        for item, story in placed:
            x = left + (max(item.start, first) - first) * scale
            wide = left + (min(item.end, end) - first) * scale - x
            rect = QRectF(x, top + story * (height + 2), max(0.0, wide), height)
            boxes.append(
                Box(
                    row=row,
                    owner=item.owner,
                    start_frames=item.start,
                    end_frames=item.end,
                    rect=rect,
                    span=item.span,
                )
            )
        whole = stories * (height + 2) - 2
        rows[row] = (top, whole)
        top += whole + _GAP_PX
    return LanesLayout(
        first_frames=first,
        end_frames=end,
        length_frames=length,
        left_px=left,
        right_px=right,
        height_px=round(top),
        rows=rows,
        boxes=tuple(boxes),
    )


def _items(content: SceneContent, rate: Rate) -> Iterator[_Item]:
    for clip, start in zip(content.clips, clip_starts(content), strict=True):
        yield _Item(Row.PICTURE, clip.id, start, start + clip.length_frames)
    for span in spans(content, rate):
        yield _Item(_KINDS[span.kind], span.owner, span.start_frames, span.end_frames, span)
    for cue in content.cues:
        if cue.choice is None:
            yield _Item(Row.MUSIC, cue.id, cue.start_frames, cue.start_frames + cue.length_frames)


def _ends(items: Iterable[_Item], length: int) -> tuple[int, int]:
    """Return the first frame of the time line, and the frame after its last."""
    first = min((item.start for item in items), default=0)
    end = max((item.end for item in items), default=0)
    if not length:
        return min(0, first), max(1, end)
    beyond = max(1, math.ceil(length * _MOST_BEYOND))
    return max(min(0, first), -beyond), min(max(length, end), length + beyond)


def _stacked(items: Iterable[_Item]) -> Iterator[tuple[_Item, int]]:
    """Yield items in the order of their starts, with the story in which each has room."""
    ends: list[int] = []
    for item in sorted(items, key=lambda item: (item.start, item.end)):
        if item.row is Row.PICTURE:
            yield item, 0
            continue
        story = next((place for place, end in enumerate(ends) if end <= item.start), len(ends))
        story = min(story, _MOST_STORIES - 1)
        if story == len(ends):
            ends.append(item.end)
        else:
            ends[story] = max(ends[story], item.end)
        yield item, story
