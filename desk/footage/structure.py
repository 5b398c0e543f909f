"""What a file's own structure says: whether all of it is there, and how an MP4's frames are put in order.

Reads only sizes and tables, never pictures. MP4 and QuickTime are boxes (ISO/IEC 14496-12), AVI and WAV are
RIFF chunks, Matroska is EBML (RFC 8794, RFC 9559). Files of other kinds don't say how long they should be.
"""

import os
import struct
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

_BOX_TYPES = {b"ftyp", b"styp", b"moov", b"mdat", b"wide", b"free", b"skip", b"pnot", b"uuid", b"moof"}
_EBML_HEADER = b"\x1a\x45\xdf\xa3"
_SEGMENT = b"\x18\x53\x80\x67"
_MOST_TABLE_BYTES = 1 << 28
_STREAMED_WAVE_BYTES = range(0x7FFFF000, 0x80000100)


@dataclass(frozen=True, slots=True)
class Structure:
    """How a file compares with what it says of itself.

    Attributes:
        missing_bytes: How many bytes it lacks at its end; 0 for a whole file, or where it doesn't say.
        more_may_follow: Whether it breaks off before the last box that an MP4 has, so that nobody can say
            how much stood after `missing_bytes`.
        index_missing: Whether it is an MP4 without the list of its frames, as after a power cut.
    """

    missing_bytes: int = 0
    more_may_follow: bool = False
    index_missing: bool = False


@dataclass(frozen=True, slots=True)
class _Box:
    kind: bytes
    start: int  # of its content
    end: int  # as it says; may be beyond the file


def read_structure(path: Path) -> Structure:
    """Return what a file's structure says of it.

    Raises:
        OSError: when the file can't be read.
    """
    with path.open("rb") as stream:
        size = os.fstat(stream.fileno()).st_size
        head = stream.read(12)
        if head[4:8] in _BOX_TYPES:
            return _read_boxes(stream, size)
        if head[:4] == b"RIFF" and len(head) == 12:
            stated = int.from_bytes(head[4:8], "little")
            # Writers that can't go back leave 0 or the largest number, with or without a sign, less their own
            # header and buffer; a last pad byte is often left out.
            known = stated not in (0, 0xFFFFFFFF) and not (
                head[8:12] == b"WAVE" and stated in _STREAMED_WAVE_BYTES
            )
            missing = 8 + stated - size if known else 0
            return Structure(missing_bytes=missing if missing > 1 else 0)
        if head[:4] == _EBML_HEADER:
            return Structure(missing_bytes=_matroska_missing(stream, size))
    return Structure()


def _read_boxes(stream: BinaryIO, size: int) -> Structure:
    kinds: set[bytes] = set()
    missing = 0
    for box in _boxes(stream, 0, size):
        kinds.add(box.kind)
        missing = max(0, box.end - size)
    # Each fragment says its own size only, and what stands before the pictures nothing of theirs.
    is_told = {b"moov", b"mdat"} <= kinds and b"moof" not in kinds
    return Structure(
        missing_bytes=missing,
        more_may_follow=bool(missing) and not is_told,
        index_missing=not missing and b"mdat" in kinds and b"moov" not in kinds,
    )


def _boxes(stream: BinaryIO, start: int, end: int) -> Iterator[_Box]:
    """Yield the boxes from `start` to `end`; the last may say that it is longer."""
    while start + 8 <= end:
        stream.seek(start)
        head = stream.read(16)
        length, kind = int.from_bytes(head[:4], "big"), head[4:8]
        content = start + 8
        if length == 1:
            length, content = int.from_bytes(head[8:16], "big"), start + 16
        elif length == 0:
            length = end - start
        if length < content - start:
            return  # no box any more: padding, or damage that the reader will tell of
        yield _Box(kind, content, start + length)
        start += length


def _matroska_missing(stream: BinaryIO, size: int) -> int:
    at = 4
    length, width = _ebml_size(stream, at)
    if length is None:
        return 0
    at += width + length
    stream.seek(at)
    if stream.read(4) != _SEGMENT:
        return 0
    length, width = _ebml_size(stream, at + 4)
    return 0 if length is None else max(0, at + 4 + width + length - size)


def _ebml_size(stream: BinaryIO, at: int) -> tuple[int | None, int]:
    """Return the value and the width of a size; None for one that was left open."""
    stream.seek(at)
    head = stream.read(8)
    if not head or not head[0]:
        return None, 1
    width = 9 - head[0].bit_length()
    value = int.from_bytes(head[:width], "big") & ((1 << 7 * width) - 1)
    return (None if value == (1 << 7 * width) - 1 else value), width


def composition_offsets(path: Path, track_id: int, samples: int) -> NDArray[np.int64] | None:
    """Return, for each frame of an MP4's track in stored order, its presentation time less its decoding time.

    Args:
        path: The file.
        track_id: The track's number in the file.
        samples: How many frames the reader has found in it.

    Returns:
        The offsets in ticks of the track, before any edit list; None where the track's tables are of another
        length, or the file is of another kind.

    Raises:
        OSError: when the file can't be read.
    """
    with path.open("rb") as stream:
        size = os.fstat(stream.fileno()).st_size
        movie = next((box for box in _boxes(stream, 0, size) if box.kind == b"moov"), None)
        if movie is None:
            return None
        inside = list(_boxes(stream, movie.start, min(movie.end, size)))
        if any(box.kind == b"mvex" for box in inside):
            return None
        for track in inside:
            if track.kind == b"trak" and _track_id(stream, track) == track_id:
                return _track_offsets(stream, track, samples)
    return None


def _find(stream: BinaryIO, parent: _Box, kind: bytes) -> _Box | None:
    return next((box for box in _boxes(stream, parent.start, parent.end) if box.kind == kind), None)


def _track_id(stream: BinaryIO, track: _Box) -> int | None:
    header = _find(stream, track, b"tkhd")
    if header is None:
        return None
    stream.seek(header.start)
    data = stream.read(24)
    at = 20 if data[:1] == b"\x01" else 12
    return int.from_bytes(data[at : at + 4], "big")


def _track_offsets(stream: BinaryIO, track: _Box, samples: int) -> NDArray[np.int64] | None:
    table: _Box | None = track
    for kind in (b"mdia", b"minf", b"stbl"):
        table = _find(stream, table, kind) if table else None
    sizes = table and (_find(stream, table, b"stsz") or _find(stream, table, b"stz2"))
    if table is None or sizes is None:
        return None
    stream.seek(sizes.start)
    data = stream.read(12)
    if len(data) < 12 or int.from_bytes(data[8:12], "big") != samples:
        return None
    composition = _find(stream, table, b"ctts")
    if composition is None:
        return np.zeros(samples, dtype=np.int64)
    stream.seek(composition.start)
    head = stream.read(8)
    length = min(composition.end - composition.start - 8, _MOST_TABLE_BYTES)
    if len(head) < 8 or struct.unpack(">I", head[4:])[0] * 8 > length:
        return None
    runs = np.frombuffer(stream.read(struct.unpack(">I", head[4:])[0] * 8), dtype=">i4").reshape(-1, 2)
    counts, values = runs[:, 0].astype(np.int64), runs[:, 1].astype(np.int64)
    if np.any(counts < 0) or counts.sum() != samples:
        return None
    return np.repeat(values, counts)
