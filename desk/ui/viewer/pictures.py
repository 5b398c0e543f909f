"""Pictures of what is looked at: those that are wanted, those that are made, and what makes them."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Protocol

from PySide6.QtGui import QImage

from desk.footage.pixels import Pixels
from desk.render.kit import Kit
from desk.render.reel import Reel
from desk.render.showing import Origin, Shown
from desk.ui.viewer.course import Course
from desk.ui.viewer.subject import Subject

AHEAD_FRAMES = 25
AHEAD_BYTES = 96 << 20
"""What frames that are decoded ahead may take; at least two are."""

_LEAST_AHEAD = 2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Picture:
    """A picture that was made.

    Attributes:
        subject: What it is of.
        frame: Which frame of it.
        image: The picture.
        pixels: What holds the image's memory, or None.
        origin: Where it comes from.
        note: What is missing, as a sentence, or "".
    """

    subject: Subject
    frame: int
    image: QImage
    pixels: Pixels | None = field(repr=False)
    origin: Origin
    note: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Wish:
    """A picture that is wanted.

    Attributes:
        subject: Of what.
        frame: Which frame of it.
        width_px: Pixels across.
        height_px: Lines.
        may_be_near: Whether a near frame is shown first where this one takes long.
        on: Which frame of the subject is on there now, or None for none of them.
    """

    subject: Subject
    frame: int
    width_px: int
    height_px: int
    may_be_near: bool = False
    on: int | None = None


@dataclass(slots=True, kw_only=True, eq=False)
class Run:
    """Pictures that are played.

    Attributes:
        subject: Of what.
        course: In which order.
        width_px: Pixels across.
        height_px: Lines.
        due: The step that is on now.
        next: The step that is made next.
        ready: What is made, by step.
    """

    subject: Subject
    course: Course
    width_px: int
    height_px: int
    due: int = 0
    next: int = 0
    ready: dict[int, Picture] = field(default_factory=dict)

    @property
    def ahead(self) -> int:
        """How many pictures are made ahead."""
        fitting = AHEAD_BYTES // max(1, 4 * self.width_px * self.height_px)
        return max(_LEAST_AHEAD, min(AHEAD_FRAMES, fitting))


class PictureMaker(Protocol):
    """Makes pictures of frames; `desk.render.showing.Showing` is one. One thread owns it."""

    def picture(self, reel: Reel, frame: int, width_px: int, height_px: int) -> Shown:
        """Return the picture at a frame."""

    def near(
        self, reel: Reel, frame: int, width_px: int, height_px: int, *, on: int | None = None
    ) -> Shown | None:
        """Return a picture near a frame at once, or None where that is not needed or there is none."""

    def renew(self, kit: Kit) -> None:
        """Work with another kit from now on."""

    def close(self) -> None:
        """Close all files."""


Check = Callable[[], None]
"""Called again and again while a picture is made; by raising it breaks that off."""

MakeMaker = Callable[[Kit, Check], PictureMaker]
