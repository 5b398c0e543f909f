"""Frames of footage as pixels of a screen: upright, in square pixels, in one pass of scaling.

Levels and colours are those that an assembly has: by the file's matrix and range, or for a file that doesn't
say, by its lines as players do (common practice).
"""

import math
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from av.filter import Graph
from av.video.frame import VideoFrame
from av.video.reformatter import ColorRange, Colorspace, Interpolation, VideoReformatter
from numpy.typing import NDArray

from desk.film.media import PictureFacts

Pixels = NDArray[np.uint8]
"""Rows of pixels; each has its bytes in the order of the format that was asked for."""

BGRX = "bgra"
"""FFmpeg's name of blue, green, red and a byte that is always 255 here."""

_MATRICES = {
    "bt709": Colorspace.ITU709,
    "smpte170m": Colorspace.SMPTE170M,
    "bt470bg": Colorspace.ITU601,
    "bt2020nc": Colorspace.BT2020,
    "fcc": Colorspace.FCC,
    "smpte240m": Colorspace.SMPTE240M,
}
_SD_LINES = 576
_EXACT = Interpolation.ACCURATE_RND | Interpolation.FULL_CHR_H_INT
"""Without these, scaling takes a quarter of the time, and colours come out up to 3 levels off."""

SMALLER = Interpolation.AREA | _EXACT
"""For pictures that become smaller: each pixel is the mean of all that it covers."""

_MOST_SCALED = 3
"""Of so many times the pixels that are seen, more are not scaled to be thrown away."""

_MARGIN_PX = 4
"""So many source pixels around what is seen have a say in it."""


@dataclass(frozen=True, slots=True)
class Part:
    """A part of a picture, in pixels.

    Attributes:
        left: Columns before it.
        top: Lines above it.
        width: Columns.
        height: Lines.
    """

    left: int
    top: int
    width: int
    height: int


def to_pixels(
    frame: VideoFrame,
    facts: PictureFacts,
    width_px: int,
    height_px: int,
    *,
    part: Part | None = None,
    pixel_format: str = BGRX,
    quick: bool = False,
    scaler: VideoReformatter | None = None,
) -> Pixels:
    """Return a frame at a size, upright.

    Args:
        frame: The frame, as it is stored; of any size.
        facts: What is known of its picture.
        width_px: Pixels across, as it is shown.
        height_px: Lines, as it is shown.
        part: What of that is wanted; all by default. The rest is not made where it is much.
        pixel_format: FFmpeg's name of a packed format with 8 bits.
        quick: Whether colours may be up to 3 levels off, for a quarter of the time.
        scaler: What scales; kept for frames that are alike, it is quicker.
    """
    turns = facts.rotation_degrees // 90
    if part is not None and width_px * height_px > _MOST_SCALED * part.width * part.height:
        frame, width_px, height_px, part = _cut_out(frame, turns, width_px, height_px, part)
    width, height = (height_px, width_px) if turns % 2 else (width_px, height_px)
    is_larger = width > frame.width or height > frame.height
    fallback = "smpte170m" if facts.height <= _SD_LINES else "bt709"
    scaled = (scaler or VideoReformatter()).reformat(
        frame,
        width=width,
        height=height,
        format=pixel_format,
        src_colorspace=_MATRICES.get(facts.matrix, _MATRICES[fallback]),
        src_color_range=ColorRange.JPEG if facts.full_range else ColorRange.MPEG,
        interpolation=(Interpolation.BICUBIC if is_larger else Interpolation.AREA) | (0 if quick else _EXACT),
        threads=1,
    )
    pixels = np.asarray(scaled.to_ndarray(), dtype=np.uint8)
    if turns:
        pixels = np.ascontiguousarray(np.rot90(pixels, -turns))
    if part is not None:
        pixels = pixels[part.top : part.top + part.height, part.left : part.left + part.width]
    if pixel_format == BGRX and any(component.is_alpha for component in frame.format.components):
        pixels = pixels.copy()
        pixels[..., 3] = 255
    return pixels


def deinterlaced(before: VideoFrame | None, frame: VideoFrame, after: VideoFrame | None) -> VideoFrame:
    """Return a frame of two fields as one picture, made as where pieces are made.

    Args:
        before: The frame before it, or None at the file's beginning.
        frame: The frame.
        after: The frame after it, or None at the end.
    """
    frames = [item for item in (before, frame, after) if item is not None]
    pictures = _filtered(frames, "bwdif", "mode=send_frame")
    return pictures[0 if before is None else 1]


def _cut_out(
    frame: VideoFrame, turns: int, width_px: int, height_px: int, part: Part
) -> tuple[VideoFrame, int, int, Part]:
    """Return what of a frame is needed for a part of it, to what size it is scaled, and the part of that."""
    stored = (frame.width, frame.height)
    upright = stored[::-1] if turns % 2 else stored
    first, end, wide, left = _needed(upright[0], width_px, part.left, part.width)
    above, below, high, top = _needed(upright[1], height_px, part.top, part.height)
    box = [
        (first, above, end, below),
        (above, stored[1] - end, below, stored[1] - first),
        (stored[0] - end, stored[1] - below, stored[0] - first, stored[1] - above),
        (stored[0] - below, first, stored[0] - above, end),
    ][turns]
    size = f"w={box[2] - box[0]}:h={box[3] - box[1]}:x={box[0]}:y={box[1]}:exact=1"
    (cut,) = _filtered([frame], "crop", size)
    return cut, wide, high, Part(left, top, part.width, part.height)


def _needed(source: int, scaled: int, start: int, length: int) -> tuple[int, int, int, int]:
    """Return which pixels of a line are needed, how many they become, and where the part starts in those."""
    step = Fraction(source, scaled)
    first = max(0, math.floor(start * step / _MARGIN_PX) - 1) * _MARGIN_PX
    end = min(source, (math.ceil((start + length) * step / _MARGIN_PX) + 1) * _MARGIN_PX)
    left = start - round(first / step)
    return first, end, max(round((end - first) / step), left + length), left


def _filtered(frames: list[VideoFrame], name: str, arguments: str) -> list[VideoFrame]:
    """Return what a filter of ffmpeg makes of some frames."""
    model = frames[0]
    graph = Graph()
    clock = model.time_base or Fraction(1, 1000)
    source = graph.add_buffer(width=model.width, height=model.height, format=model.format, time_base=clock)
    graph.link_nodes(source, graph.add(name, arguments), graph.add("buffersink"))
    graph.configure()
    for frame in [*frames, None]:
        graph.vpush(frame)
    made: list[VideoFrame] = []
    while True:
        try:
            made.append(graph.vpull())
        except (BlockingIOError, EOFError):
            return made
