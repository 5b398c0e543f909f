"""What a click or a band in the lanes selects."""

from collections.abc import Iterator

from PySide6.QtCore import QRectF

from desk.ui.cutting.cut import Cut
from desk.ui.cutting.lanes.axis import TimeAxis
from desk.ui.cutting.lanes.layout import LanesLayout


def selected_up_to(cut: Cut, item_id: str) -> tuple[str, ...]:
    """Return what is selected when Shift is held: all of one kind between the last chosen and another.

    Args:
        cut: The scene, with what is selected.
        item_id: Id of the clip, spot or cue that was clicked.
    """
    content = cut.content
    for things in (content.clips, content.cues, content.spots):
        ids = [thing.id for thing in things]
        if item_id not in ids:
            continue
        if cut.main not in ids:
            return (item_id,)
        first, last = sorted((ids.index(cut.main), ids.index(item_id)))
        return tuple(ids[first : last + 1])
    return ()


def selected_by_band(layout: LanesLayout, axis: TimeAxis, band: QRectF) -> Iterator[str]:
    """Yield the ids of what a band touches.

    Args:
        layout: What stands in the lanes.
        axis: Where on the screen.
        band: The band, on the screen.
    """
    return (box.owner for box in layout.boxes if box.rect(axis).intersects(band))
