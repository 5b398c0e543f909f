"""What the pointer takes hold of in the lanes: a head, a tail, black, a gain, a fade, or a whole thing."""

from dataclasses import dataclass
from enum import Enum, auto

from PySide6.QtCore import QPointF, QRectF, Qt

from desk.film.model import Clip
from desk.ui.cutting.lanes.axis import TimeAxis
from desk.ui.cutting.lanes.layout import Box, LanesLayout, Row
from desk.ui.cutting.lanes.shapes import gain_line_y
from desk.ui.cutting.lanes.words import thing_gain_db

EDGE_PX = 8.0
"""Width of the zone at each end of a box; of a narrow box it is a third, so that a middle is left."""

FADE_PX = 12.0
FADE_HEIGHT_PX = 9.0
_GAIN_PX = 4.0
_LEAST_PX = 9.0
"""A box that is narrower is moved as a whole; zoomed in on, it has ends."""

_LEAST_FOR_FADES_PX = 2 * FADE_PX + 2 * EDGE_PX


class Hold(Enum):
    """What of a thing is taken hold of."""

    BODY = auto()
    HEAD = auto()
    BLACK = auto()
    TAIL = auto()
    GAIN = auto()
    FADE_IN = auto()
    FADE_OUT = auto()


@dataclass(frozen=True, slots=True)
class Grip:
    """A hold on something in a lane.

    Attributes:
        hold: What of it.
        box: What.
    """

    hold: Hold
    box: Box

    @property
    def same(self) -> tuple[Hold, Row, str]:
        """What tells one grip from another, while boxes are laid out anew."""
        return (self.hold, self.box.row, self.box.owner)


def grip_at(layout: LanesLayout, axis: TimeAxis, point: QPointF) -> Grip | None:
    """Return what a press at a point of the screen takes hold of, or None.

    Args:
        layout: What stands in the lanes.
        axis: Where on the screen.
        point: The point.
    """
    box = layout.box_at(point, axis)
    if box is None:
        return _black_at(layout, axis, point)
    rect = box.rect(axis)
    if rect.width() < _LEAST_PX:
        return Grip(Hold.BODY, box)
    if box.span is not None:
        for hold in (Hold.FADE_IN, Hold.FADE_OUT):
            zone = fade_zone(box, axis, hold)
            if zone is not None and zone.contains(point):
                return Grip(hold, box)
    if point.x() < rect.left() + edge_px(rect):
        return Grip(Hold.HEAD, box)
    if point.x() >= rect.right() - edge_px(rect):
        return Grip(Hold.TAIL, box)
    if box.span is not None:
        y = gain_line_y(rect, thing_gain_db(box.thing))
        # Near an edge of the box the zone stays as high as it is, inside.
        top = max(rect.top(), min(y - _GAIN_PX, rect.bottom() - 2 * _GAIN_PX))
        if top <= point.y() < top + 2 * _GAIN_PX:
            return Grip(Hold.GAIN, box)
    return Grip(Hold.BODY, box)


def edge_px(rect: QRectF) -> float:
    """Return the width of the zone at each end of a box."""
    return min(EDGE_PX, rect.width() / 3)


def _black_at(layout: LanesLayout, axis: TimeAxis, point: QPointF) -> Grip | None:
    """Return the end of the black before a clip, where the point is there, or None."""
    box = layout.box_at(QPointF(min(point.x() + EDGE_PX, axis.right_px), point.y()), axis)
    if box is None or box.row is not Row.PICTURE or not isinstance(box.thing, Clip):
        return None
    is_black = axis.place(point.x()) >= box.start_frames - box.thing.gap_frames
    return Grip(Hold.BLACK, box) if is_black else None


def fade_zone(box: Box, axis: TimeAxis, hold: Hold) -> QRectF | None:
    """Return where a fade is taken hold of: where it ends, along the upper edge of its box."""
    rect = box.rect(axis)
    if box.span is None or rect.width() < _LEAST_FOR_FADES_PX:
        return None
    most = rect.width() / 2 - FADE_PX
    if hold is Hold.FADE_IN:
        at = min(box.span.fade_in_frames * axis.px_per_frame, most)
        left = rect.left() + max(0.0, at - FADE_PX / 2)
    else:
        at = min(box.span.fade_out_frames * axis.px_per_frame, most)
        left = rect.right() - FADE_PX - max(0.0, at - FADE_PX / 2)
    return QRectF(left, rect.top(), FADE_PX, FADE_HEIGHT_PX)


def pointer_shape(grip: Grip | None, *, ctrl: bool) -> Qt.CursorShape:
    """Return the shape of the pointer over a grip."""
    if grip is None:
        return Qt.CursorShape.ArrowCursor
    if grip.hold is Hold.BODY:
        slides = ctrl and grip.box.row in (Row.PICTURE, Row.DIALOGUE)
        return Qt.CursorShape.SizeAllCursor if slides else Qt.CursorShape.OpenHandCursor
    if grip.hold is Hold.GAIN:
        return Qt.CursorShape.SizeVerCursor
    if grip.hold is Hold.BLACK:
        return Qt.CursorShape.SizeHorCursor
    if grip.hold in (Hold.HEAD, Hold.TAIL):
        moves_cut = ctrl and grip.box.row is Row.PICTURE
        return Qt.CursorShape.SplitHCursor if moves_cut else Qt.CursorShape.SizeHorCursor
    return Qt.CursorShape.PointingHandCursor
