"""Small pictures of footage for the eye: upright, in square pixels, quick to reach.

Each shows the frame that is on screen at a place, or where that lies far within a long group of frames, an
earlier one of the same group: what comes later is never shown. Nothing here decides what is rendered.
"""

import contextlib
import itertools
import math
from collections.abc import Callable, Generator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from av.video.frame import VideoFrame
from av.video.reformatter import ColorRange, Colorspace, Interpolation, VideoReformatter
from numpy.typing import NDArray

from desk.errors import MediaError
from desk.film.media import PictureFacts
from desk.footage.reading import (
    SAFE_OPTIONS,
    frame_time,
    input_name,
    open_media,
    packets_of,
    require_file,
    unreadable,
)
from desk.footage.timing import decode, no_decoder, require_stream

Picture = NDArray[np.uint8]
"""Rows of red, green and blue, as sRGB screens take them."""

MOST_DECODED_PX = 300_000_000
"""What is decoded for one picture at most: 36 frames of UHD, 145 of HD."""

_LEAST_DECODED = 12
_NEAR_SECONDS = Fraction(1)
"""So far it is quicker to read on than to look for a key frame."""

_STEPS_BACK_SECONDS = (0, 2, 16)
_WIDEST = 8
_SD_LINES = 576
_MOST_STILL_PX = 150_000_000
_MATRICES = {
    "bt709": Colorspace.ITU709,
    "smpte170m": Colorspace.SMPTE170M,
    "bt470bg": Colorspace.ITU601,
    "bt2020nc": Colorspace.BT2020,
    "fcc": Colorspace.FCC,
    "smpte240m": Colorspace.SMPTE240M,
}
_SCALING = Interpolation.AREA | Interpolation.ACCURATE_RND | Interpolation.FULL_CHR_H_INT
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
    with contextlib.ExitStack() as opened:
        most_decoded = max(_LEAST_DECODED, most_decoded_px // (facts.width * facts.height))
        reader = _Reader(path, facts, opened, most_decoded, check or _go_on)
        reformatter = VideoReformatter()
        for item in wanted:
            frame = reader.frame_at(item.seconds)
            yield None if frame is None else _small(frame, facts, item.height_px, reformatter)
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


def _go_on() -> None:
    pass


class _Reader:
    """Finds frames in a file, going on from where it stands when that is quicker than jumping."""

    def __init__(
        self,
        path: Path,
        facts: PictureFacts,
        opened: contextlib.ExitStack,
        most_decoded: int,
        check: Callable[[], None],
    ) -> None:
        self._path = path
        self._facts = facts
        self._opened = opened
        self._check = check
        self._most_decoded = most_decoded
        self._frame_ticks = Fraction(1) / facts.rate.fraction / facts.time_base
        self._target = facts.start_pts
        self._any = False
        self._shown: VideoFrame | None = None
        self._next: VideoFrame | None = None
        self._open()

    def frame_at(self, seconds: Fraction) -> VideoFrame | None:
        """Return the frame on screen at a place, or an earlier one near it.

        Raises:
            MediaError: when no frame of the file can be decoded.
        """
        place = min(max(seconds, Fraction(0)), self._facts.seconds)
        self._target = self._facts.start_pts + math.floor(place / self._facts.time_base)
        if not self._is_near():
            self._jump()
        self._advance()
        if self._shown is None and not self._any:
            raise no_decoder(self._path, self._stream)
        return self._shown

    def _let_go(self) -> None:
        """Drop the frames: they and the reader hold each other, and would stay until Python looks for it."""
        self._frames.close()
        self._shown = self._next = None

    def _open(self) -> None:
        """Stand at the beginning of the file."""
        self._opened.close()
        self._container = self._opened.enter_context(open_media(self._path))
        self._stream = require_stream(self._container, self._path)
        if self._stream.codec_context is None:
            raise no_decoder(self._path, None)
        self._stand()
        self._opened.callback(self._let_go)

    def _stand(self) -> None:
        """Begin to decode where the container stands."""
        self._frames = self._decoded()
        self._shown = self._next = None
        self._last_time = self._facts.start_pts

    def _is_near(self) -> bool:
        """Return whether the target is reached soonest by going on."""
        here = self._shown
        if here is None:
            # Nothing was decoded since the file was opened, or nothing could be.
            return not self._any and self._seconds_ahead(self._facts.start_pts) <= _NEAR_SECONDS
        time = self._time(here)
        if time > self._target:
            return False
        if self._next is not None and self._time(self._next) > self._target:
            return True
        entries = self._stream.index_entries
        found = entries.search_timestamp(self._target) if len(entries) else -1
        if found >= 0:
            return entries[found].timestamp <= time
        return self._seconds_ahead(time) <= _NEAR_SECONDS

    def _seconds_ahead(self, time: int) -> Fraction:
        return (self._target - time) * self._facts.time_base

    def _jump(self) -> None:
        """Stand at a key frame before the target, or at the beginning where the container can't jump."""
        for seconds in _STEPS_BACK_SECONDS:
            time = self._target - math.ceil(seconds / self._facts.time_base)
            try:
                self._container.seek(max(time, self._facts.start_pts), stream=self._stream)
            except av.FFmpegError:
                break
            self._stand()
            # The place to which a container can seek may lie behind the frame that is wanted.
            self._next = next(self._frames, None)
            if self._next is not None and self._time(self._next) <= self._target:
                return
            if time <= self._facts.start_pts:
                break
        self._open()

    def _advance(self) -> None:
        """Decode up to the target, as far as is quick."""
        decoded = 0
        while True:
            if self._next is not None:
                if self._time(self._next) > self._target and self._shown is not None:
                    return
                self._shown, self._next = self._next, None
            if self._shown is not None and self._covers(self._shown):
                return
            if decoded >= self._most_decoded:
                return
            self._next = next(self._frames, None)
            if self._next is None:
                return
            decoded += 1

    def _covers(self, frame: VideoFrame) -> bool:
        """Return whether a frame is known to be on screen at the target, or was at the beginning."""
        time = self._time(frame)
        return time >= self._target or (
            not self._facts.variable and self._target < time + self._frame_ticks - 1
        )

    def _decoded(self) -> Generator[VideoFrame, None, None]:
        context = self._stream.codec_context
        margin = math.ceil(4 * self._frame_ticks)
        for packet in itertools.chain(packets_of(self._container, self._stream), [None]):
            self._check()
            if packet is not None:
                # Frames that no other one needs, well before the target, are passed over.
                passing = packet.pts is not None and packet.pts + margin < self._target
                context.skip_frame = "NONREF" if passing else "DEFAULT"
            for frame in decode(self._stream, packet):
                self._any = True
                yield frame

    def _time(self, frame: VideoFrame) -> int:
        time = frame_time(frame)
        if time is not None:
            self._last_time = time
        return self._last_time if time is None else time


def _small(frame: VideoFrame, facts: PictureFacts, height_px: int, reformatter: VideoReformatter) -> Picture:
    fallback = "smpte170m" if facts.height <= _SD_LINES else "bt709"
    turns = facts.rotation_degrees // 90
    width, height = _stored_size(facts.upright_size, height_px, turns)
    scaled = reformatter.reformat(
        frame,
        width=width,
        height=height,
        format="rgb24",
        src_colorspace=_MATRICES.get(facts.matrix, _MATRICES[fallback]),
        src_color_range=ColorRange.JPEG if facts.full_range else ColorRange.MPEG,
        interpolation=_SCALING,
        threads=1,
    )
    return _upright(scaled.to_ndarray(), turns)


def _small_still(frame: VideoFrame, pixel_aspect: Fraction | None, height_px: int) -> Picture:
    turns = round(-frame.rotation / 90) % 4
    across = frame.width * (pixel_aspect or Fraction(1))
    upright = (Fraction(frame.height), across) if turns % 2 else (across, Fraction(frame.height))
    width, height = _stored_size(upright, height_px, turns)
    scaled = frame.reformat(width=width, height=height, format="rgba", interpolation=_SCALING, threads=1)
    layers = np.asarray(scaled.to_ndarray(), dtype=np.uint16)
    opaque = (layers[..., :3] * layers[..., 3:] + 127) // 255
    return _upright(opaque.astype(np.uint8), turns)


def _stored_size(upright: tuple[Fraction, Fraction], height_px: int, turns: int) -> tuple[int, int]:
    """Return width and height to scale to, before the picture is turned upright."""
    across, down = upright
    width = min(max(1, round(height_px * across / down)), _WIDEST * height_px)
    return (height_px, width) if turns % 2 else (width, height_px)


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
