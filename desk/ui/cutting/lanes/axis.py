"""The time line of the lanes: which frame stands where on the screen, at any zoom and scroll."""

import dataclasses
import math
from dataclasses import dataclass

MOST_PX_PER_FRAME = 24.0
"""Width of a frame when zoomed in as far as it goes."""

_NEAR = 1e-6
"""What `x` gives for a frame has to lead back to that frame, however it was rounded."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeAxis:
    """A stretch of a scene's time on a stretch of the screen, in device-independent pixels.

    Attributes:
        left_px: The left edge on the screen.
        width_px: Width on the screen, above 0.
        first: The place at the left edge, in frames from the scene's start; may lie within a frame.
        px_per_frame: Width of a frame, above 0.
    """

    left_px: float
    width_px: float
    first: float
    px_per_frame: float

    @classmethod
    def of_range(cls, first: float, end: float, *, left_px: float, width_px: float) -> "TimeAxis":
        """Return the axis that shows a range of frames and nothing else."""
        scale = width_px / max(1.0, end - first)
        return cls(left_px=left_px, width_px=width_px, first=first, px_per_frame=scale)

    @property
    def right_px(self) -> float:
        """The right edge on the screen."""
        return self.left_px + self.width_px

    @property
    def end(self) -> float:
        """The place at the right edge."""
        return self.first + self.shown_frames

    @property
    def shown_frames(self) -> float:
        """How many frames are on the screen."""
        return self.width_px / self.px_per_frame

    def x(self, frames: float) -> float:
        """Return where a place stands, counted in frames from the scene's start."""
        return self.left_px + (frames - self.first) * self.px_per_frame

    def place(self, x: float) -> float:
        """Return the place at a point of the screen, in frames from the scene's start."""
        return self.first + (x - self.left_px) / self.px_per_frame

    def frame_at(self, x: float) -> int:
        """Return the frame at a point of the screen; there may be none of that number in the scene."""
        return math.floor(self.place(x) + _NEAR)

    def zoomed(self, px_per_frame: float, at_x: float) -> "TimeAxis":
        """Return it with another width of a frame, around a point of the screen that keeps its place."""
        first = self.place(at_x) - (at_x - self.left_px) / px_per_frame
        return dataclasses.replace(self, first=first, px_per_frame=px_per_frame)

    def moved(self, frames: float) -> "TimeAxis":
        """Return it scrolled on by some frames; back below 0."""
        return dataclasses.replace(self, first=self.first + frames)

    def within(self, first: float, end: float) -> "TimeAxis":
        """Return it scrolled so that it shows nothing outside of a range, where it is not wider than that."""
        at = max(first, min(self.first, end - self.shown_frames))
        return self if at == self.first else dataclasses.replace(self, first=at)

    def resized(self, left_px: float, width_px: float) -> "TimeAxis":
        """Return it on another stretch of the screen; the left edge and the zoom stay."""
        return dataclasses.replace(self, left_px=left_px, width_px=width_px)
