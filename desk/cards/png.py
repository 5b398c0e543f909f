"""PNG files written band by band, so that a long roll never stands in memory as a whole.

The format is PNG (ISO/IEC 15948): 8 bits a sample, no filter, no interlace, no ancillary chunk; so the same
picture gives the same bytes.
"""

import struct
import zlib
from collections.abc import Iterable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from desk.files import replacing

SIGNATURE = b"\x89PNG\r\n\x1a\n"

_COLOUR_TYPES = {3: 2, 4: 6}


def write_png(
    target: Path, *, width: int, height: int, channels: int, bands: Iterable[NDArray[np.uint8]]
) -> None:
    """Write a picture.

    Args:
        target: The file.
        width: Pixels across.
        height: Lines.
        channels: 3 for red, green, blue; 4 with alpha, not premultiplied.
        bands: Arrays of lines × width × channels, from the top.

    Raises:
        OutputError: when the disk refuses; an earlier file is then untouched.
        ValueError: when the bands don't add up to the height.
    """
    packer = zlib.compressobj(6)
    written = 0
    with replacing(target) as part, part.open("wb") as stream:
        stream.write(SIGNATURE)
        stream.write(
            _chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, _COLOUR_TYPES[channels], 0, 0, 0))
        )
        for band in bands:
            lines = np.zeros((len(band), 1 + width * channels), dtype=np.uint8)
            lines[:, 1:] = band.reshape(len(band), width * channels)
            written += len(band)
            if data := packer.compress(lines.tobytes()):
                stream.write(_chunk(b"IDAT", data))
        if written != height:
            raise ValueError(f"{written} lines for a picture of {height}")
        stream.write(_chunk(b"IDAT", packer.flush()))
        stream.write(_chunk(b"IEND", b""))


def is_whole_png(data: bytes) -> bool:
    """Return whether the chunks of a PNG file are all there and undamaged."""
    at = len(SIGNATURE)
    while at + 12 <= len(data):
        size, kind = struct.unpack_from(">I4s", data, at)
        end = at + 12 + size
        if end > len(data) or zlib.crc32(data[at + 4 : end - 4]) != int.from_bytes(data[end - 4 : end]):
            return False
        if kind == b"IEND":
            return True
        at = end
    return False


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
