"""A piece as ffmpeg's arguments."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import ffmpeg

from desk.film.media import PictureFacts
from desk.film.model import Size
from desk.film.rates import Rate
from desk.footage.reading import SAFE_OPTIONS
from desk.render.encoding import Encoding
from desk.render.frame_map import FrameMap
from desk.render.placing import place
from desk.render.plan import Black, CardPicture, Footage, Mix, Piece, Shot, SlatePicture

_SD_LINES = 576
_LOOKED_INTO = {"find_stream_info": None}
"""Said of every input where it holds, since FFmpeg 5 takes the word of one input for the next as well."""
_MATRICES = {
    "bt709": "bt709",
    "smpte170m": "smpte170m",
    "bt470bg": "bt470",
    "bt2020nc": "bt2020",
    "fcc": "fcc",
}
_EXACT_COLOURS = "bicubic+accurate_rnd+full_chroma_int"
"""Without these, colours that go through a matrix come out up to 3 levels off."""


@dataclass(frozen=True, slots=True)
class Input:
    """What a shot reads.

    Attributes:
        path: Footage, or a drawing.
        frame_map: Which frames of the footage.
        jump_seconds: Where in the footage reading begins, or None for its beginning.
        behind: The drawing that stands still behind a rolling one, or None.
    """

    path: Path
    frame_map: FrameMap | None = None
    jump_seconds: Fraction | None = None
    behind: Path | None = None


def piece_arguments(
    piece: Piece, inputs: Sequence[Input | None], *, rate: Rate, size: Size, encoding: Encoding, target: Path
) -> list[str]:
    """Return ffmpeg's arguments for making a piece.

    Args:
        piece: The piece.
        inputs: What each of its shots reads, in order: one, or for a mix two; None for black.
        rate: The film's rate.
        size: Its frame size.
        encoding: Encoder settings.
        target: The file to write.
    """
    if isinstance(piece, Mix):
        pair = [
            _shot(shot, source, rate, size)
            for shot, source in zip((piece.outgoing, piece.incoming), inputs, strict=True)
        ]
        picture = _mix(piece, pair, rate)
    else:
        picture = _shot(piece, inputs[0], rate, size)
    output = ffmpeg.output(
        picture,
        f"file:{target}",
        **{"frames:v": piece.frames, "fps_mode": "passthrough", "f": "mp4", "map_metadata": -1},
        **encoding.arguments(rate),
    )
    quiet = ["-filter_threads", "1", "-filter_complex_threads", "1", "-copyts"]
    return [*quiet, *output.get_args()]


def _shot(shot: Shot, source: Input | None, rate: Rate, size: Size) -> Any:  # noqa: ANN401 - ffmpeg-python has no types
    if isinstance(shot, Black):
        stream = ffmpeg.input(f"color=c=black:s={size}:r={rate}", f="lavfi", **_LOOKED_INTO)
        return _finish(stream, rate)
    if source is None:
        raise ValueError(f"{type(shot).__name__} reads a file")
    if isinstance(shot, Footage):
        return _footage(shot, source, rate, size)
    return _drawn(shot, source, rate, size)


def _footage(shot: Footage, source: Input, rate: Rate, size: Size) -> Any:  # noqa: ANN401
    facts, frame_map = shot.media.picture, source.frame_map
    if facts is None or frame_map is None:
        raise ValueError(f"“{shot.source}” has no picture")
    stream = ffmpeg.input(f"file:{source.path}", **_reading(shot, source))["V:0"]
    # The clock is set first, so that the numbers mean the same in every release.
    stream = stream.filter("settb", expr=f"1/{frame_map.clock}")
    if facts.interlaced:
        # Before the first frame is chosen: it is made with the help of the one before it.
        stream = stream.filter("bwdif", mode="send_frame").filter("settb", expr=f"1/{frame_map.clock}")
    stream = stream.filter("trim", start_pts=frame_map.first_tick)
    stream = stream.filter("setpts", expr=frame_map.number)
    stream = stream.filter("fps", fps=str(rate), start_time=0)
    placing = place(shot.framing, facts.upright_size, size)
    stream = stream.filter(
        "scale",
        w=placing.scaled.width,
        h=placing.scaled.height,
        in_range="pc" if facts.full_range else "tv",
        out_range="tv",
        in_color_matrix=_matrix(facts),
        out_color_matrix="bt709",
        flags="bicubic" if _matrix(facts) == "bt709" else _EXACT_COLOURS,
    )
    left, top, width, height = placing.crop
    if Size(width, height) != placing.scaled:
        stream = stream.filter("crop", w=width, h=height, x=left, y=top, exact=1)
    stream = stream.filter("format", pix_fmts="yuv420p")
    if Size(width, height) != size:
        x, y = placing.at
        stream = stream.filter("pad", w=size.width, h=size.height, x=x, y=y, color="black")
    stream = stream.filter("tpad", stop_mode="clone", stop=-1)
    return _finish(stream, rate)


def _reading(shot: Footage, source: Input) -> dict[str, Any]:
    """Return the options for opening footage: local, and from where the first frame can be decoded."""
    options: dict[str, Any] = {**SAFE_OPTIONS, "threads": 1}
    if shot.media.container.startswith("mov"):
        # All that is needed stands in the index; decoding frames to find it out takes a tenth of a second.
        options["nofind_stream_info"] = None
    else:
        options |= _LOOKED_INTO
    if source.jump_seconds is not None:
        jump = f"{float(source.jump_seconds):.6f}"
        options |= {"noaccurate_seek": None, "seek_timestamp": 1, "ss": jump}
    return options


def _matrix(facts: PictureFacts) -> str:
    """Return swscale's name of a matrix; untagged, by the lines, as players do (common practice)."""
    fallback = "smpte170m" if facts.height <= _SD_LINES else "bt709"
    return _MATRICES.get(facts.matrix, fallback)


def _drawn(shot: CardPicture | SlatePicture, source: Input, rate: Rate, size: Size) -> Any:  # noqa: ANN401
    """Return a still or rolling picture. The piped form of PNG reads no pattern into a file's name."""
    stream = ffmpeg.input(f"file:{source.path}", f="png_pipe", **_LOOKED_INTO)
    roll = shot.roll if isinstance(shot, CardPicture) else None
    to_video = {"out_range": "tv", "out_color_matrix": "bt709", "flags": _EXACT_COLOURS}
    if roll is None or not isinstance(shot, CardPicture):
        stream = stream.filter("scale", w=size.width, h=size.height, **to_video)
        stream = _looped(stream.filter("format", pix_fmts="yuv420p"), rate)
        return _finish(stream, rate)
    stream = _looped(stream.filter("format", pix_fmts="gbrap" if source.behind else "gbrp"), rate)
    y = f"clip((n+{shot.first_frame})*{roll.px_per_frame},0,{roll.list_px + size.height})"
    stream = stream.filter("crop", w=size.width, h=size.height, x=0, y=y, exact=1)
    if source.behind:
        behind = ffmpeg.input(f"file:{source.behind}", f="png_pipe", **_LOOKED_INTO).filter(
            "format", pix_fmts="gbrp"
        )
        stream = ffmpeg.overlay(_looped(behind, rate), stream, format="gbrp")
    stream = stream.filter("scale", **to_video).filter("format", pix_fmts="yuv420p")
    return _finish(stream, rate)


def _looped(stream: Any, rate: Rate) -> Any:  # noqa: ANN401
    stream = stream.filter("loop", loop=-1, size=1, start=0)
    stream = stream.filter("settb", expr=f"{rate.denominator}/{rate.numerator}").filter("setpts", expr="N")
    return stream.filter("fps", fps=str(rate))


def _finish(stream: Any, rate: Rate) -> Any:  # noqa: ANN401
    """Give every shot the same clock, pixels and tags."""
    tags: Mapping[str, str] = {
        "range": "tv",
        "color_primaries": "bt709",
        "color_trc": "bt709",
        "colorspace": "bt709",
    }
    stream = stream.filter("format", pix_fmts="yuv420p").filter("setsar", sar=1).filter("setparams", **tags)
    return stream.filter("settb", expr=f"{rate.denominator}/{rate.numerator}")


def _mix(piece: Mix, pair: Sequence[Any], rate: Rate) -> Any:  # noqa: ANN401
    """Return a passage. Frames are held in front, so that its first frame is already a mix."""
    held = piece.first + 1
    outgoing, incoming = (
        stream.filter("tpad", start=held, start_mode="clone", stop=-1, stop_mode="clone") for stream in pair
    )
    seconds = rate.seconds(piece.passage_frames + 1)
    mixed = ffmpeg.filter(
        (outgoing, incoming), "xfade", transition="fade", duration=f"{float(seconds):.6f}", offset=0
    )
    return mixed.filter("trim", start_frame=held).filter("setpts", expr="PTS-STARTPTS")
