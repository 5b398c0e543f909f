"""Small pictures of footage for the eye: upright, in square pixels, quick to reach.

Each shows the frame that is on screen at a place, or where that lies far within a long group of frames, an
earlier one of the same group: what comes later is never shown. Nothing here decides what is rendered.
"""

from collections.abc import Callable, Generator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from av.video.frame import VideoFrame
from av.video.reformatter import VideoReformatter
from numpy.typing import NDArray

from desk.errors import MediaError
from desk.film.media import PictureFacts
from desk.footage.frame_reader import FrameReader
from desk.footage.pixels import SMALLER, to_pixels
from desk.footage.reading import SAFE_OPTIONS, input_name, require_file, unreadable

Picture = NDArray[np.uint8]
"""Rows of red, green and blue, as sRGB screens take them."""

MOST_DECODED_PX = 300_000_000
"""What is decoded for one picture at most: 36 frames of UHD, 145 of HD."""

_LEAST_DECODED = 12
_WIDEST = 8
_MOST_STILL_PX = 150_000_000
_STILLS = (
    (0, b"\x89PNG\r\n\x1a\n", "png_pipe"),
    (0, b"\xff\xd8\xff", "jpeg_pipe"),
    (0, b"GIF8", "gif"),
    (0, b"II*\0", "tiff_pipe"),
    (0, b"MM\0*", "tiff_pipe"),
    (8, b"WEBP", "webp_pipe"),
    (0, b"BM", "bmp_pipe"),
)
"""Where a still picture's sign stands, and FFmpeg's name of the format; none of them names another file."""


@dataclass(frozen=True, slots=True, order=True)
class Wanted:
    """A small picture that is asked for.

    Attributes:
        seconds: Place in the source, from its first frame.
        height_px: How high the upright picture is to be.
    """

    seconds: Fraction
    height_px: int


def pictures(
    path: Path,
    facts: PictureFacts,
    wanted: Sequence[Wanted],
    *,
    check: Callable[[], None] | None = None,
    most_decoded_px: int = MOST_DECODED_PX,
) -> Generator[Picture | None, None, None]:
    """Yield a picture for each that is wanted, in their order; the file is opened once.

    It is quick where the places rise. A place beyond the end shows the last frame. None stands for a place
    where nothing can be decoded.

    Args:
        path: The footage.
        facts: What is known of its picture.
        wanted: Places and heights.
        check: Called for every packet; it stops the work by raising.
        most_decoded_px: How many pixels are decoded at most on the way to one picture, in whole frames.

    Raises:
        MediaError: when the file can't be read, or none of its frames can be decoded.
    """
    most_decoded = max(_LEAST_DECODED, most_decoded_px // (facts.width * facts.height))
    with FrameReader(path, facts, cache_bytes=0, most_decoded=most_decoded, check=check) as reader:
        scaler = VideoReformatter()
        for item in wanted:
            frame = reader.frame_at(item.seconds)
            yield None if frame is None else _small(frame, facts, item.height_px, scaler)
            del frame


def still(path: Path, height_px: int) -> Picture:
    """Return a small picture of a still picture, on black where it is transparent.

    Args:
        path: The file.
        height_px: How high the upright picture is to be.

    Raises:
        MediaError: when it is missing, damaged or of an unknown kind.
    """
    require_file(path)
    try:
        with path.open("rb") as stream:
            head = stream.read(64)
    except OSError as error:
        raise unreadable(path, error) from error
    name = next((name for at, sign, name in _STILLS if head[at : at + len(sign)] == sign), None)
    if name is None:
        raise _no_picture(path, "")
    options = {**SAFE_OPTIONS, "format_whitelist": name}
    try:
        with av.open(
            input_name(path),
            "r",
            format=name,
            options={"max_pixels": str(_MOST_STILL_PX)},
            container_options=options,
            metadata_errors="replace",
        ) as container:
            frame = next(container.decode(video=0), None)
            if frame is None:
                raise _no_picture(path, "")
            return _small_still(frame, container.streams.video[0].sample_aspect_ratio, height_px)
    except (av.FFmpegError, IndexError, ValueError) as error:
        raise _no_picture(path, str(error)) from error


def mean_colour(picture: Picture) -> tuple[int, int, int]:
    """Return the mean red, green and blue of a picture."""
    red, green, blue = (round(float(level)) for level in picture.reshape(-1, 3).mean(axis=0))
    return red, green, blue


def _small(frame: VideoFrame, facts: PictureFacts, height_px: int, scaler: VideoReformatter) -> Picture:
    width, height = _small_size(facts.upright_size, height_px)
    return to_pixels(frame, facts, width, height, pixel_format="rgb24", scaler=scaler)


def _small_still(frame: VideoFrame, pixel_aspect: Fraction | None, height_px: int) -> Picture:
    turns = round(-frame.rotation / 90) % 4
    across = frame.width * (pixel_aspect or Fraction(1))
    upright = (Fraction(frame.height), across) if turns % 2 else (across, Fraction(frame.height))
    width, height = _small_size(upright, height_px)
    if turns % 2:
        width, height = height, width
    scaled = frame.reformat(width=width, height=height, format="rgba", interpolation=SMALLER, threads=1)
    layers = np.asarray(scaled.to_ndarray(), dtype=np.uint16)
    opaque = (layers[..., :3] * layers[..., 3:] + 127) // 255
    return _upright(opaque.astype(np.uint8), turns)


def _small_size(upright: tuple[Fraction, Fraction], height_px: int) -> tuple[int, int]:
    """Return width and height of a small picture of what is so large when it is upright."""
    across, down = upright
    return min(max(1, round(height_px * across / down)), _WIDEST * height_px), height_px


def _upright(picture: NDArray[np.generic], turns: int) -> Picture:
    return np.ascontiguousarray(np.rot90(picture, -turns), dtype=np.uint8)


def _no_picture(path: Path, detail: str) -> MediaError:
    return MediaError(
        f"“{path}” can't be read as a picture.",
        advice="Choose a whole PNG or JPEG picture.",
        code="media.unreadable",
        path=path,
        detail=detail,
    )
