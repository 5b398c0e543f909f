"""Key pictures: small pictures of a heavy source's key frames, shown while an exact frame is made.

A key frame is decoded alone, so that all of them cost a small part of a proxy, and the nearest one to any
place is there in a few milliseconds. They are kept as a film of key frames alone, each at the very time at
which it is shown in the footage. Footage in which every frame is a key frame needs none.
"""

import hashlib
import itertools
from collections.abc import Callable
from pathlib import Path

from desk.errors import MediaError
from desk.ffmpeg.program import Program
from desk.ffmpeg.run import run
from desk.film.media import MediaFacts, PictureFacts
from desk.footage.proxy import picture_filters, smaller_size
from desk.footage.reading import SAFE_OPTIONS, input_name, open_media, packets_of
from desk.footage.timing import require_stream
from desk.jobs import CancelToken

KEY_PICTURES_FORMAT = 1
"""Rises when key pictures are made in another way, so that old ones are made anew."""

SUFFIX = ".mov"
MOST_LINES = 270
REFUSED = "media.no-key-pictures"
"""Code of the error for footage that needs no key pictures, or of which none can be made."""

_ENCODER = ("-c:v", "libx264", "-preset", "ultrafast", "-crf", "23", "-g", "1", "-bf", "0")
_WHOLE_FRAMES = "estdif=mode=frame"
"""Of the lines of one frame alone: those before and after it are not decoded."""

_LOOKED_AT = 8
"""Packets in a row that are key frames only where all of a file's are (common practice, no source)."""


def key_pictures_key(facts: MediaFacts) -> str:
    """Return the name of a file's key pictures: 32 hex digits of what decides them, the path not among it."""
    words = ("key pictures", KEY_PICTURES_FORMAT, facts.size_bytes, facts.sample_hash, MOST_LINES, *_ENCODER)
    return hashlib.sha256(" ".join(map(str, words)).encode()).hexdigest()[:32]


def make_key_pictures(
    path: Path,
    facts: MediaFacts,
    target: Path,
    *,
    program: Program,
    cancel: CancelToken | None = None,
    is_held: Callable[[], bool] | None = None,
) -> None:
    """Write the key pictures of footage, in one pass that decodes its key frames alone.

    It runs behind everything else on the machine. Whatever goes wrong, nothing is left at `target`.

    Args:
        path: The footage; it is read alone.
        facts: What was read of it.
        target: The file to write, in a folder that is there.
        program: Which ffmpeg.
        cancel: Stops it.
        is_held: Asked a few times a second; while it says so the work stands still.

    Raises:
        Cancelled: when stopped on request.
        MediaError: `REFUSED` where all frames are key frames or none can be decoded alone; or when the
            footage can't be read any more.
        FfmpegError: when ffmpeg ends with a fault.
        OutputError: when the disk refuses.
    """
    picture = facts.picture
    if picture is None or _has_key_frames_alone(path):
        raise _refused(path, "It has no frames that refer to others.")
    try:
        run(
            program,
            _arguments(path, picture, target),
            cancel=cancel or CancelToken(),
            doing=f"key pictures of “{path.name}”",
            low_priority=True,
            is_held=is_held,
        )
        _require_pictures(path, target)
    except BaseException:
        target.unlink(missing_ok=True)
        raise


def _arguments(path: Path, picture: PictureFacts, target: Path) -> list[str]:
    safe = [word for name, value in SAFE_OPTIONS.items() for word in (f"-{name}", value)]
    clock = picture.time_base.denominator
    filters = picture_filters(picture, *smaller_size(picture, MOST_LINES), whole_frames=_WHOLE_FRAMES)
    return [
        # Discarded while they are read instead, packets of MP4 would be told with the times of others.
        *safe, "-skip_frame", "nokey",
        "-copyts", "-noautorotate", "-i", input_name(path), "-map", "0:V:0", "-vf", ",".join(filters),
        "-fps_mode", "passthrough", "-enc_time_base:v", f"{picture.time_base.numerator}:{clock}", *_ENCODER,
        "-map_metadata", "-1", "-map_chapters", "-1", "-avoid_negative_ts", "disabled", "-write_tmcd", "0",
        "-video_track_timescale", str(clock), "-movie_timescale", str(clock),
        "-f", "mov", f"file:{target.absolute()}",
    ]  # fmt: skip


def _has_key_frames_alone(path: Path) -> bool:
    with open_media(path, try_picture=False) as container:
        packets = packets_of(container, require_stream(container, path))
        return all(packet.is_keyframe for packet in itertools.islice(packets, _LOOKED_AT))


def _require_pictures(path: Path, target: Path) -> None:
    try:
        with open_media(target, try_picture=False) as container:
            if any(True for _ in packets_of(container, require_stream(container, target))):
                return
    except MediaError as error:
        raise _refused(path, f"No frame can be decoded alone: {error.message}") from error
    raise _refused(path, "No frame can be decoded alone.")


def _refused(path: Path, detail: str) -> MediaError:
    return MediaError(
        f"No key pictures of “{path.name}” are made.",
        advice="It is shown from the footage itself.",
        code=REFUSED,
        path=path,
        detail=detail,
    )
