"""Proxies: small copies of heavy footage that any frame can be shown of at once, for cutting alone.

In a proxy every frame is a key frame and is shown exactly when it is in the footage, whatever the rate, so
that one may stand for the other at any place. The stored picture keeps its turn, shape, colour tags and
levels; it has at most 720 lines, 8 bits and no fields. The sound is PCM at 48 kHz with all channels of the
first track. What is sent out is never made of proxies.

A proxy whose frames do not stand where they stand in the footage is refused.
"""

import hashlib
import logging
import math
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

from av.video.format import VideoFormat

from desk.errors import MediaError
from desk.ffmpeg.program import Program
from desk.ffmpeg.run import run
from desk.film.media import MediaFacts, PictureFacts
from desk.film.rates import SAMPLE_RATE_HZ
from desk.footage.frame_times import shown_times
from desk.footage.probe import probe
from desk.footage.reading import SAFE_OPTIONS, input_name, open_media, packets_of
from desk.footage.timing import require_stream
from desk.jobs import CancelToken, Progress, ProgressListener, no_progress

PROXY_FORMAT = 1
"""Rises when proxies are made in another way, so that old ones are made anew."""

SUFFIX = ".mov"
REFUSED = "media.no-proxy"
"""Code of the error for footage of which no true proxy can be made."""

MOST_LINES = 720
_HD_PX = 2048 * 1152
_SMALL_PX = 1280 * 720
_LONG_TO_DECODE = frozenset({"hevc", "vvc", "av1", "vp9", "jpeg2000"})

_ENCODER = ("-c:v", "libx264", "-preset", "ultrafast", "-crf", "23", "-g", "1", "-bf", "0")
"""Measured on 720p: 1 ms to a decoded frame from anywhere, half of JPEG's size at the same quality."""

_SCALING = "area"
_SD_LINES = 576
_STEADY_SECONDS = 1 / 200
"""As in `desk.sound.reading`: up to this much off, sound goes on without a seam."""

_BYTES_PER_PX = 0.15
_SOUND_BYTES = 4
_STRETCH_SECONDS = Fraction(60)
_MADE = 0.97
"""How much of the work is done when the file is written, and only its times are left to compare."""

_log = logging.getLogger(__name__)


def is_heavy(facts: MediaFacts) -> bool:
    """Return whether footage takes so long to decode that a proxy is worth making.

    It does with more pixels than HD has; or with more than 720p has, where its coding is one of those that
    take long (HEVC, VVC, AV1, VP9, JPEG 2000), or H.264 of more than 8 bits. Codings for cutting, such as
    ProRes and DNxHR, decode quickly in HD.
    """
    picture = facts.picture
    if picture is None:
        return False
    pixels = picture.width * picture.height
    if pixels > _HD_PX:
        return True
    long = picture.codec in _LONG_TO_DECODE or (picture.codec == "h264" and picture.bit_depth > 8)
    return long and pixels > _SMALL_PX


def proxy_key(facts: MediaFacts) -> str:
    """Return the name of a file's proxy: 32 hex digits of all that decides what is in it.

    Neither the file's path, so that moved footage keeps its proxy, nor ffmpeg's version: another release
    makes other bytes, but no other picture.
    """
    words = (PROXY_FORMAT, facts.size_bytes, facts.sample_hash, MOST_LINES, *_ENCODER, _SCALING)
    return hashlib.sha256(" ".join(map(str, words)).encode()).hexdigest()[:32]


def proxy_size(picture: PictureFacts) -> tuple[int, int]:
    """Return stored width and height of a proxy: even, never larger than the footage but for that."""
    return smaller_size(picture, MOST_LINES)


def smaller_size(picture: PictureFacts, most_lines: int) -> tuple[int, int]:
    """Return stored width and height, even, of a picture with so many lines at most."""
    scale = min(Fraction(1), Fraction(most_lines, picture.height))
    width, height = (max(2, 2 * round(side * scale / 2)) for side in (picture.width, picture.height))
    return width, height


def estimated_bytes(facts: MediaFacts) -> int:
    """Return about how large a proxy becomes at most."""
    total = 0.0
    if facts.picture is not None:
        width, height = proxy_size(facts.picture)
        total += width * height * facts.picture.frames * _BYTES_PER_PX
    if facts.sound is not None:
        total += float(facts.sound.seconds) * SAMPLE_RATE_HZ * facts.sound.channels * _SOUND_BYTES
    return round(total)


def make_proxy(
    path: Path,
    facts: MediaFacts,
    target: Path,
    *,
    program: Program,
    progress: ProgressListener = no_progress,
    cancel: CancelToken | None = None,
    is_held: Callable[[], bool] | None = None,
) -> None:
    """Write a proxy of footage and compare the times of all its frames with the footage's.

    It runs behind everything else on the machine. Whatever goes wrong, nothing is left at `target`.

    Args:
        path: The footage; it is read alone.
        facts: What was read of it.
        target: The file to write, in a folder that is there.
        program: Which ffmpeg.
        progress: Told how far it is; its stage is `proxy`.
        cancel: Stops it.
        is_held: Asked a few times a second; while it says so the work stands still.

    Raises:
        Cancelled: when stopped on request.
        MediaError: `REFUSED` where a proxy would not be true to the footage; or when the footage can't be
            read any more.
        FfmpegError: when ffmpeg ends with a fault.
        OutputError: when the disk refuses.
    """
    picture = facts.picture
    if picture is None:
        raise _refused(path, "It has no picture.")
    cancel = cancel or CancelToken()
    words = f"Making a proxy of {path.name}"

    def on_frame(frame: int) -> None:
        progress(Progress("proxy", words, _MADE * min(1.0, frame / picture.frames)))

    arguments = _arguments(path, facts, picture, target)
    try:
        run(
            program,
            arguments,
            cancel=cancel,
            on_frame=on_frame,
            doing=f"a proxy of “{path.name}”",
            low_priority=True,
            is_held=is_held,
        )
        _compare(path, facts, picture, target, cancel)
    except BaseException:
        target.unlink(missing_ok=True)
        raise
    progress(Progress("proxy", words, 1.0))


def _arguments(path: Path, facts: MediaFacts, picture: PictureFacts, target: Path) -> list[str]:
    safe = [word for name, value in SAFE_OPTIONS.items() for word in (f"-{name}", value)]
    clock = picture.time_base.denominator
    # Where sound or picture begin is stated on the film's own clock: one on which both are whole numbers.
    common = math.lcm(clock, SAMPLE_RATE_HZ)
    arguments = [
        # The turn is kept as a tag, so that all that is known of the footage holds for the proxy too.
        *safe, "-copyts", "-noautorotate", "-i", input_name(path),
        "-map", "0:V:0", "-vf", ",".join(_filters(picture)),
        "-fps_mode", "passthrough", "-enc_time_base:v", f"{picture.time_base.numerator}:{clock}", *_ENCODER,
    ]  # fmt: skip
    if facts.sound is not None:
        steady = f"aresample={SAMPLE_RATE_HZ}:async=1:min_hard_comp={_STEADY_SECONDS}"
        arguments += ["-map", "0:a:0", "-af", steady, "-c:a", "pcm_f32le"]
    arguments += [
        "-map_metadata", "-1", "-map_chapters", "-1", "-avoid_negative_ts", "disabled", "-write_tmcd", "0",
        "-video_track_timescale", str(clock), "-movie_timescale", str(common if common < 1 << 31 else clock),
        "-f", "mov", f"file:{target.absolute()}",
    ]  # fmt: skip
    return arguments


def _filters(picture: PictureFacts) -> list[str]:
    return picture_filters(picture, *proxy_size(picture), whole_frames="bwdif=mode=send_frame")


def picture_filters(picture: PictureFacts, width: int, height: int, *, whole_frames: str) -> list[str]:
    """Return ffmpeg's filters that make a picture smaller and keep its turn, shape, colour tags and levels.

    Args:
        picture: What is known of the footage's picture.
        width: Stored pixels across, even.
        height: Stored lines, even.
        whole_frames: The filter that makes whole frames where the footage has fields.
    """
    clock = f"settb=expr={picture.time_base}"
    levels = "pc" if picture.full_range else "tv"
    untagged = "smpte170m" if picture.height <= _SD_LINES else "bt709"
    matrix = picture.matrix or untagged
    scale = f"scale=w={width}:h={height}:flags={_SCALING}:out_range={levels}"
    if VideoFormat(picture.pixel_format).is_rgb:
        # Made such that it looks right to who reads it by what is known of the footage.
        matrix = untagged
        scale += f":out_color_matrix={matrix}"
    else:
        scale += f":in_range={levels}"
    shape = picture.pixel_aspect * Fraction(picture.width * height, picture.height * width)
    tags = [f"range={levels}", f"colorspace={matrix}", "field_mode=prog"]
    tags += [f"color_primaries={picture.primaries}"] if picture.primaries else []
    tags += [f"color_trc={picture.transfer}"] if picture.transfer else []
    return [
        clock,
        # As where pieces are made; lines of two moments can't be scaled as one picture.
        *((whole_frames, clock) if picture.interlaced else ()),
        scale,
        "format=yuv420p",
        f"setsar=sar={shape.numerator}/{shape.denominator}:max=65535",
        f"setparams={':'.join(tags)}",
    ]


def _compare(path: Path, facts: MediaFacts, picture: PictureFacts, target: Path, cancel: CancelToken) -> None:
    """Refuse a proxy that does not show what the footage shows when it shows it.

    Raises:
        Cancelled: when stopped on request.
        MediaError: `REFUSED`, or when either can't be read.
    """
    made = probe(target, check=cancel.check)
    if made.picture is None or made.picture.rotation_degrees != picture.rotation_degrees:
        raise _refused(path, f"Its picture is {made.picture}.")
    if facts.sound is not None and (made.sound is None or made.sound.channels != facts.sound.channels):
        raise _refused(path, f"Its sound is {made.sound}.")
    wanted = [time * picture.time_base for time in _times_of_footage(path, picture, cancel)]
    found = _times_of_proxy(target, cancel)
    if found is None:
        raise _refused(path, "One of its frames is not a key frame.")
    if found != wanted:
        pairs = enumerate(zip(found, wanted, strict=False))
        off = next((index for index, (one, other) in pairs if one != other), None)
        detail = f"{len(found)} frames for {len(wanted)}; the first that stands elsewhere is {off}."
        raise _refused(path, detail)


def _times_of_footage(path: Path, picture: PictureFacts, cancel: CancelToken) -> list[int]:
    times: set[int] = set()
    start = Fraction(0)
    while start < picture.seconds:
        cancel.check()
        times.update(shown_times(path, picture, start, start + _STRETCH_SECONDS))
        start += _STRETCH_SECONDS
    return sorted(times)


def _times_of_proxy(target: Path, cancel: CancelToken) -> list[Fraction] | None:
    """Return the times of all packets in their order, or None where one is not a key frame."""
    times: list[Fraction] = []
    with open_media(target, try_picture=False) as container:
        stream = require_stream(container, target)
        time_base = Fraction(stream.time_base or 1)
        for packet in packets_of(container, stream):
            if not packet.is_keyframe or packet.pts is None:
                return None
            times.append(packet.pts * time_base)
            if len(times) % 256 == 0:
                cancel.check()
    return times


def _refused(path: Path, detail: str) -> MediaError:
    _log.warning("the proxy of %s is refused: %s", path, detail)
    return MediaError(
        f"No true proxy of “{path.name}” can be made.",
        advice="It is cut from the footage itself, which may be slow to move in.",
        code=REFUSED,
        path=path,
        detail=detail,
    )
