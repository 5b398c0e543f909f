"""Frames of footage as pixels of a screen: upright, in square pixels, in one pass of scaling.

Levels and colours are those that an assembly has: by the file's matrix and range, or for a file that doesn't
say, by its lines as players do (common practice).
"""

import numpy as np
from av.video.frame import VideoFrame
from av.video.reformatter import ColorRange, Colorspace, Interpolation, VideoReformatter
from numpy.typing import NDArray

from desk.film.media import PictureFacts

Pixels = NDArray[np.uint8]
"""Rows of pixels; each has its bytes in the order of the format that was asked for."""

BGRX = "bgra"
"""FFmpeg's name of blue, green, red and a byte that is always 255 here."""

MATRICES = {
    "bt709": Colorspace.ITU709,
    "smpte170m": Colorspace.SMPTE170M,
    "bt470bg": Colorspace.ITU601,
    "bt2020nc": Colorspace.BT2020,
    "fcc": Colorspace.FCC,
    "smpte240m": Colorspace.SMPTE240M,
}
_SD_LINES = 576
_EXACT = Interpolation.ACCURATE_RND | Interpolation.FULL_CHR_H_INT
SMALLER = Interpolation.AREA | _EXACT
"""For pictures that become smaller: each pixel is the mean of all that it covers."""

_LARGER = Interpolation.BICUBIC | _EXACT


def to_pixels(
    frame: VideoFrame,
    facts: PictureFacts,
    width_px: int,
    height_px: int,
    *,
    pixel_format: str = BGRX,
    reformatter: VideoReformatter | None = None,
) -> Pixels:
    """Return a frame at a size, upright.

    Args:
        frame: The frame, as it is stored; of any size.
        facts: What is known of its picture.
        width_px: Pixels across, as it is shown.
        height_px: Lines, as it is shown.
        pixel_format: FFmpeg's name of a packed format with 8 bits.
        reformatter: What scales; it is quick for frames that are alike.
    """
    turns = facts.rotation_degrees // 90
    width, height = (height_px, width_px) if turns % 2 else (width_px, height_px)
    is_larger = width > frame.width or height > frame.height
    fallback = "smpte170m" if facts.height <= _SD_LINES else "bt709"
    scaled = (reformatter or VideoReformatter()).reformat(
        frame,
        width=width,
        height=height,
        format=pixel_format,
        src_colorspace=MATRICES.get(facts.matrix, MATRICES[fallback]),
        src_color_range=ColorRange.JPEG if facts.full_range else ColorRange.MPEG,
        interpolation=_LARGER if is_larger else SMALLER,
        threads=1,
    )
    pixels = np.asarray(scaled.to_ndarray(), dtype=np.uint8)
    if pixel_format == BGRX and any(component.is_alpha for component in frame.format.components):
        pixels = pixels.copy()
        pixels[..., 3] = 255
    return np.ascontiguousarray(np.rot90(pixels, -turns)) if turns else pixels
