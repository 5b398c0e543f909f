"""Where everything is on the strip, in whole pixels of the screen: pure figures, without painting.

A column of pixels belongs to the entry that is on screen at the middle of the time which the column stands
for. So every place on the strip belongs to one entry, and the parts add up to the whole.
"""

import bisect
from collections.abc import Sequence
from dataclasses import dataclass

from desk.film.timing import Layout

Point = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """An entry's place on the strip.

    Attributes:
        entry: Its id.
        start_frames: Its first frame in the film.
        end_frames: The frame after its last.
        left_px: Its first column.
        right_px: The column after its last; `left_px` for one too short to be seen.
    """

    entry: str
    start_frames: int
    end_frames: int
    left_px: int
    right_px: int

    @property
    def width_px(self) -> int:
        """How many columns it has."""
        return self.right_px - self.left_px


@dataclass(frozen=True, slots=True)
class Label:
    """What stands below an entry.

    Attributes:
        left_px: Where it would begin.
        width_px: How wide it is.
        rank: Labels of a lower rank are placed first; 0 is shown in any case.
    """

    left_px: float
    width_px: float
    rank: int = 2


def column_of(frame: int, total_frames: int, width_px: int) -> int:
    """Return the first column whose middle is at a frame or later; `width_px` for the film's end."""
    return -((total_frames - 2 * frame * width_px) // (2 * total_frames))


def frame_of(column_px: int, total_frames: int, width_px: int) -> int:
    """Return the frame at the middle of a column."""
    return (2 * column_px + 1) * total_frames // (2 * width_px)


def spans_of(layout: Layout, width_px: int) -> tuple[Span, ...]:
    """Return where the entries of a film are on a strip.

    Args:
        layout: The film.
        width_px: How wide the strip is.
    """
    total = layout.length_frames
    return tuple(
        Span(
            entry=slot.entry.id,
            start_frames=slot.start_frames,
            end_frames=slot.end_frames,
            left_px=column_of(slot.start_frames, total, width_px),
            right_px=column_of(slot.end_frames, total, width_px),
        )
        for slot in layout.slots
    )


def place_at(spans: Sequence[Span], column_px: int, width_px: int) -> tuple[Span, int]:
    """Return the entry at a column and the frame there; beyond the strip's ends, its first or last.

    Args:
        spans: One or more, in order.
        column_px: The column.
        width_px: How wide the strip is.
    """
    column_px = min(max(column_px, 0), width_px - 1)
    frame = frame_of(column_px, spans[-1].end_frames, width_px)
    return span_of(spans, frame), frame


def span_of(spans: Sequence[Span], frame: int) -> Span:
    """Return the entry that is on screen at a frame; beyond the film's ends, its first or last."""
    index = bisect.bisect_right(spans, frame, key=_start) - 1
    return spans[max(index, 0)]


def tension_lines(
    spans: Sequence[Span], tensions: Sequence[int | None], slope_px: float
) -> list[list[Point]]:
    """Return lines of tension: points of column and tension, with a gap where none was said.

    Args:
        spans: The entries, in order.
        tensions: The tension of each, or None.
        slope_px: How long it takes from one step to the next, where there is room.
    """
    lines: list[list[Point]] = []
    before: Span | None = None
    for span, tension in zip(spans, tensions, strict=True):
        if tension is None:
            before = None
            continue
        if before is None:
            lines.append([(span.left_px, tension)])
        else:
            line = lines[-1]
            level = line.pop()[1]
            if level != tension:
                half = min(slope_px, before.width_px, span.width_px) / 2
                line += [(span.left_px - half, level), (span.left_px + half, tension)]
        lines[-1].append((span.right_px, tension))
        before = span
    return lines


def spread(labels: Sequence[Label], width_px: float, gap_px: float) -> dict[int, float]:
    """Return where labels go without touching each other, by index; those without room are left out.

    Args:
        labels: In order from left to right.
        width_px: How wide the strip is; a label at its end moves left to be whole.
        gap_px: Least room between two.
    """
    order = sorted(range(len(labels)), key=lambda index: (labels[index].rank, index))
    taken: list[tuple[float, float]] = []
    placed: dict[int, float] = {}
    for index in order:
        label = labels[index]
        left = max(0.0, min(label.left_px, width_px - label.width_px))
        at = bisect.bisect(taken, (left, left))
        free = at == 0 or taken[at - 1][1] + gap_px <= left
        free = free and (at == len(taken) or left + label.width_px + gap_px <= taken[at][0])
        if free:
            taken.insert(at, (left, left + label.width_px))
            placed[index] = left
    return placed


def _start(span: Span) -> int:
    return span.start_frames
