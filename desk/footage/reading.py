"""The one safe way to open footage: local files in containers that hold their pictures and sound themselves.

A playlist, a script or a picture pattern can make a reader open other files or network addresses, whatever
the name of the file is. So only the containers below are opened, and no protocol but the one for local
files.

Times of packets and frames are those that the ffmpeg program sees: PyAV's own guess of missing presentation
times is switched off, since ffmpeg doesn't make it. `frame_time` gives the time that ffmpeg gives a frame.
"""

import contextlib
import os
import stat
from collections.abc import Iterator
from pathlib import Path

import av
from av.audio.stream import AudioStream
from av.container import InputContainer
from av.packet import Packet
from av.stream import Disposition, Stream
from av.video.frame import VideoFrame
from av.video.stream import VideoStream

from desk.errors import MediaError
from desk.footage.structure import Structure, read_structure

ALLOWED_FORMATS = (
    "mov",  # with mp4, m4a, 3gp
    "matroska",  # with webm
    "avi",
    "mpegts",
    "mpeg",
    "mxf",
    "asf",
    "flv",
    "dv",
    "ogg",
    "wav",
    "w64",
    "aiff",
    "caf",
    "flac",
    "mp3",
    "aac",
    "ac3",
)
"""FFmpeg's names of the containers that are opened. None of them names another file that FFmpeg would
follow."""

SAFE_OPTIONS: dict[str, str] = {
    "protocol_whitelist": "file",
    "format_whitelist": ",".join(ALLOWED_FORMATS),
}
"""Input options for every reader of footage: for PyAV as they are, for ffmpeg as `-name value` before
`-i`."""

_GENERATE_PTS = 1  # AVFMT_FLAG_GENPTS
_COPY_AGAIN = "Copy it again from the card."
_STILLS = (
    (0, b"\x89PNG\r\n\x1a\n"),
    (0, b"\xff\xd8\xff"),
    (0, b"GIF8"),
    (0, b"II*\0"),
    (0, b"MM\0*"),
    (8, b"WEBP"),
    (4, b"ftypheic"),
    (4, b"ftypheix"),
    (4, b"ftypmif1"),
    (4, b"ftypavif"),
)
_POINTS_ELSEWHERE = (
    b"#EXTM3U",
    b"ffconcat",
    b"<?xml",
    b"<MPD",
    b"v=0",
    b"[playlist]",
    b"<asx",
    b"[InternetShortcut]",
)


def input_name(path: Path) -> str:
    """Return the name under which FFmpeg opens exactly this file, whatever characters are in it."""
    return f"file:{path.absolute()}"


def require_file(path: Path) -> os.stat_result:
    """Return the state of an ordinary file that is there and not empty.

    Args:
        path: The file, or a link to one.

    Raises:
        MediaError: `media.missing`, `media.refused`, `media.empty` or `media.unreadable`.
    """
    try:
        status = path.stat()
    except (FileNotFoundError, NotADirectoryError) as error:
        raise MediaError(
            f"“{path}” is missing.",
            advice="Connect its disk, or say where it is now.",
            code="media.missing",
            path=path,
        ) from error
    except (OSError, ValueError) as error:
        raise unreadable(path, error) from error
    if not stat.S_ISREG(status.st_mode):
        kind = "a folder" if stat.S_ISDIR(status.st_mode) else "a pipe or a device"
        raise MediaError(
            f"“{path}” is {kind}, not a file.", advice="Choose a file.", code="media.refused", path=path
        )
    if status.st_size == 0:
        raise MediaError(
            f"“{path}” is empty: it has no bytes.", advice=_COPY_AGAIN, code="media.empty", path=path
        )
    return status


@contextlib.contextmanager
def open_media(path: Path, *, try_picture: bool = True) -> Iterator[InputContainer]:
    """Open a file for reading and close it when the block ends. Faults of FFmpeg in the block are told too.

    Does not promise that the file is whole: `desk.footage.probe` checks that.

    Args:
        path: The file, or a link to one.
        try_picture: Whether FFmpeg decodes some frames at once, which fills in the picture's format. For
            packets and sound that is not needed, and takes a tenth of a second for HD.

    Raises:
        MediaError: `media.missing`, `media.refused`, `media.empty`, `media.still`, `media.truncated` or
            `media.unreadable`.
    """
    require_file(path)
    head = _read_head(path)
    if any(head[at : at + len(sign)] == sign for at, sign in _STILLS):
        raise MediaError(
            f"“{path}” is a still picture, and footage has to move.",
            advice="Leave it out of the footage; a still picture can stand behind a card.",
            code="media.still",
            path=path,
        )
    try:
        with av.open(
            input_name(path),
            "r",
            options={} if try_picture else {"skip_frame": "all"},
            container_options=dict(SAFE_OPTIONS),
            metadata_errors="replace",
        ) as container:
            container.flags &= ~_GENERATE_PTS
            yield container
    except av.FFmpegError as error:
        raise _translate(path, head, error) from error


def picture_stream(container: InputContainer) -> VideoStream | None:
    """Return the first picture of a file that is not a cover or a thumbnail: ffmpeg's `0:V:0`."""
    aside = Disposition.attached_pic | Disposition.timed_thumbnails
    return next((stream for stream in container.streams.video if not stream.disposition & aside), None)


def packets_of(container: InputContainer, *streams: VideoStream | AudioStream) -> Iterator["Packet[Stream]"]:
    """Yield the packets of streams from where the container stands; those without data are left out.

    The decoder is not told of the end: `stream.decode(None)` brings what it still holds.
    """
    packets = iter(container.demux(streams))
    while True:
        try:
            packet = next(packets)
        except StopIteration:
            return
        except IndexError:
            # At the end PyAV stumbles over streams that have turned up since the file was opened.
            return
        if packet.size:
            yield packet


def frame_time(frame: VideoFrame) -> int | None:
    """Return when ffmpeg shows a decoded frame, in its stream's time base; None where nothing tells."""
    return frame.pts if frame.pts is not None else frame.dts


def unreadable(path: Path, error: Exception) -> MediaError:
    """Return the sentence for a file that the system or FFmpeg can't read."""
    if isinstance(error, PermissionError):
        return MediaError(
            f"“{path}” may not be read.",
            advice="Change its permissions.",
            code="media.unreadable",
            path=path,
            detail=str(error),
        )
    if isinstance(error, OSError) and not isinstance(error, av.FFmpegError):
        return MediaError(
            f"“{path}” can't be read from its disk: {os.strerror(error.errno) if error.errno else error}.",
            advice="Check the disk and its cable, then copy the file again.",
            code="media.unreadable",
            path=path,
            detail=str(error),
        )
    return MediaError(
        f"“{path}” can't be read as footage or sound.",
        advice="Play it in the camera; if it plays there, copy it again, else leave it out.",
        code="media.unreadable",
        path=path,
        detail=str(error),
    )


def truncated(path: Path, structure: Structure) -> MediaError | None:
    """Return the sentence for a file that is cut off or was never finished; None for a whole one."""
    if structure.missing_bytes:
        missing = f"{structure.missing_bytes:,} bytes"
        said = f"at least {missing} are" if structure.more_may_follow else f"its last {missing} are"
        return MediaError(
            f"“{path}” is cut off: {said} missing.",
            advice=_COPY_AGAIN,
            code="media.truncated",
            path=path,
        )
    if structure.index_missing:
        return MediaError(
            f"“{path}” was never finished: the list of its frames is missing.",
            advice="Copy it again from the card; the camera may be able to repair it there.",
            code="media.truncated",
            path=path,
        )
    return None


def _read_head(path: Path) -> bytes:
    try:
        with path.open("rb") as stream:
            return stream.read(64)
    except OSError as error:
        raise unreadable(path, error) from error


def _translate(path: Path, head: bytes, error: av.FFmpegError) -> MediaError:
    """Return the MediaError for what FFmpeg said of a file that is there."""
    start = head.removeprefix(b"\xef\xbb\xbf").lstrip().lower()
    if start.startswith(tuple(sign.lower() for sign in _POINTS_ELSEWHERE)):
        return MediaError(
            f"“{path}” is not footage but a text that names other files, and those are not opened.",
            advice="Use the footage itself.",
            code="media.refused",
            path=path,
            detail=str(error),
        )
    try:
        fault = truncated(path, read_structure(path))
    except OSError as fault_of_disk:
        return unreadable(path, fault_of_disk)
    if fault:
        return fault
    if isinstance(error, av.ArgumentError):
        # What a format outside the list gives.
        return MediaError(
            f"“{path}” is of a kind that is not opened as footage or sound.",
            advice="Use mov, mp4, mkv, mxf, avi, mts or wav, flac, mp3.",
            code="media.refused",
            path=path,
            detail=str(error),
        )
    return unreadable(path, error)
