"""Files that are open for looking at them, and their frames placed as an assembly places them."""

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np
from av.video.frame import VideoFrame
from av.video.reformatter import VideoReformatter

from desk.errors import MediaError
from desk.film.media import PictureFacts
from desk.film.model import Framing
from desk.footage.frame_reader import FrameReader
from desk.footage.pixels import Part, Pixels, deinterlaced, to_pixels
from desk.render.placing import place
from desk.render.reel import Reel


@dataclass(frozen=True, slots=True)
class Box:
    """A part of a picture, in pixels."""

    left: int
    top: int
    right: int
    bottom: int

    @property
    def width(self) -> int:
        """Columns."""
        return self.right - self.left

    @property
    def height(self) -> int:
        """Lines."""
        return self.bottom - self.top


@dataclass(frozen=True, slots=True)
class View:
    """The picture that is asked for, and whose frame it shows."""

    reel: Reel
    width: int
    height: int
    quick: bool

    @property
    def whole(self) -> Box:
        """All of it."""
        return Box(0, 0, self.width, self.height)

    def black(self) -> Pixels:
        """Return it without anything to see."""
        pixels = np.zeros((self.height, self.width, 4), dtype=np.uint8)
        pixels[..., 3] = 255
        return pixels

    def box(self, left: int, top: int, width: int, height: int) -> Box:
        """Return where a part of the frame is in the picture; never without a pixel."""
        size = self.reel.size
        across, down = Fraction(self.width, size.width), Fraction(self.height, size.height)
        first, above = round(left * across), round(top * down)
        return Box(
            first,
            above,
            max(first + 1, round((left + width) * across)),
            max(above + 1, round((top + height) * down)),
        )


class OpenFile:
    """A file that is open, and what scales its frames.

    Attributes:
        facts: What is known of its picture.
        reader: Finds its frames.
        scaler: Scales them.
    """

    def __init__(
        self,
        path: Path,
        facts: PictureFacts,
        cache_bytes: int,
        check: Callable[[], None] | None = None,
    ) -> None:
        """Open it; see `FrameReader`.

        Raises:
            MediaError: when it can't be read or its picture not be decoded.
        """
        self.facts = facts
        self._path = path
        self.reader = FrameReader(path, facts, cache_bytes=cache_bytes, check=check)
        self.scaler = VideoReformatter()

    def frame_at(self, seconds: Fraction) -> VideoFrame:
        """Return the frame on screen at a place, without fields.

        Args:
            seconds: The place, from the first frame.

        Raises:
            MediaError: where nothing can be decoded.
        """
        frame = self.reader.frame_at(seconds)
        if frame is None:
            raise MediaError(
                f"“{self._path}” is damaged here: no frame can be decoded.",
                advice="Copy it again from the card.",
                code="media.damaged",
                path=self._path,
            )
        if self.facts.interlaced:
            step = self.facts.rate.seconds(1)
            before, after = self.reader.frame_at(seconds - step), self.reader.frame_at(seconds + step)
            # At the file's ends the same one is held.
            frame = deinterlaced(
                None if before is None or before.pts == frame.pts else before,
                frame,
                None if after is None or after.pts == frame.pts else after,
            )
        return frame

    def pixels(self, frame: VideoFrame, whole: Box, seen: Box, view: View) -> Pixels:
        """Return what is seen of a frame of this file.

        Args:
            frame: The frame.
            whole: Where the frame is in the picture.
            seen: Which part of the picture it fills.
            view: The picture.
        """
        return to_pixels(
            frame,
            self.facts,
            whole.width,
            whole.height,
            part=Part(seen.left - whole.left, seen.top - whole.top, seen.width, seen.height),
            quick=view.quick,
            scaler=self.scaler,
        )

    def framed(self, frame: VideoFrame, framing: Framing, view: View) -> Pixels:
        """Return a picture with a frame of this file where a clip's framing puts it.

        Args:
            frame: The frame.
            framing: Where it is put.
            view: The picture.
        """
        placing = place(framing, self.facts.upright_size, view.reel.size)
        crop_left, crop_top, width, height = placing.crop
        left, top = placing.at
        box = view.box(left - crop_left, top - crop_top, placing.scaled.width, placing.scaled.height)
        seen = view.box(left, top, width, height)
        part = self.pixels(frame, box, seen, view)
        if seen == view.whole:
            return np.ascontiguousarray(part)
        pixels = view.black()
        pixels[seen.top : seen.bottom, seen.left : seen.right] = part
        return pixels
