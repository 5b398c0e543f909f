"""WAV files of 24-bit samples of any length: RF64 (EBU Tech 3306) where RIFF's 4 GiB are not enough."""

import struct
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from desk.film.rates import SAMPLE_RATE_HZ
from desk.sound.reading import Samples

_BYTES = 3
_CHANNELS = 2
_FRAME_BYTES = _BYTES * _CHANNELS
_MOST = (1 << 23) - 1
_MOST_RIFF_BYTES = (1 << 32) - 1
_UNKNOWN = 0xFFFFFFFF
"""In RF64: the size stands in the chunk `ds64`."""

_SIZES_BYTES = 28
_EXTENSIBLE = 0xFFFE
_LEFT_AND_RIGHT = 3
_PCM_GUID = bytes.fromhex("0100000000001000800000aa00389b71")


@dataclass(frozen=True, slots=True)
class Written:
    """What was written.

    Attributes:
        samples: How many.
        clipped: How many of them were louder than full scale and are cut off there.
    """

    samples: int
    clipped: int


def write_wave(path: Path, blocks: Iterator[Samples], samples: int) -> Written:
    """Write stereo sound at 48 kHz as 24-bit WAV, rounded to the nearest value, without dither.

    Args:
        path: The file.
        blocks: The sound.
        samples: How many samples it has.

    Raises:
        OSError: when the disk refuses.
        ValueError: when there are more or fewer.
    """
    done = clipped = 0
    with path.open("wb") as stream:
        stream.write(wave_header(samples))
        for block in blocks:
            whole = np.rint(block.astype(np.float64) * (_MOST + 1))
            clipped += int(np.count_nonzero((whole > _MOST) | (whole < -_MOST - 1)))
            values = np.clip(whole, -_MOST - 1, _MOST).astype("<i4")
            # The low three bytes of each value.
            stream.write(values.view(np.uint8).reshape(-1, 4)[:, :_BYTES].tobytes())
            done += len(block)
        if done != samples:
            raise ValueError(f"{done} samples came where {samples} were announced")
    return Written(done, clipped)


def wave_header(samples: int) -> bytes:
    """Return all that stands before the samples: RIFF with room for sizes, or RF64 where that is too small.

    Args:
        samples: How many samples follow.
    """
    data_bytes = samples * _FRAME_BYTES
    layout = struct.pack(
        "<HHIIHHHHI",
        _EXTENSIBLE, _CHANNELS, SAMPLE_RATE_HZ, SAMPLE_RATE_HZ * _FRAME_BYTES, _FRAME_BYTES, 8 * _BYTES,
        22, 8 * _BYTES, _LEFT_AND_RIGHT,
    ) + _PCM_GUID  # fmt: skip
    size = len(b"WAVE") + (8 + _SIZES_BYTES) + (8 + len(layout)) + 8 + data_bytes
    is_large = size > _MOST_RIFF_BYTES
    sizes = struct.pack("<QQQI", size, data_bytes, samples, 0) if is_large else bytes(_SIZES_BYTES)
    return b"".join(
        (
            b"RF64" if is_large else b"RIFF", struct.pack("<I", _UNKNOWN if is_large else size), b"WAVE",
            _chunk(b"ds64" if is_large else b"JUNK", sizes), _chunk(b"fmt ", layout),
            b"data", struct.pack("<I", _UNKNOWN if is_large else data_bytes),
        )
    )  # fmt: skip


def _chunk(name: bytes, data: bytes) -> bytes:
    return name + struct.pack("<I", len(data)) + data
