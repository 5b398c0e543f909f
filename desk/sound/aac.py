"""The film's sound as AAC, encoded in chunks side by side whose packets join exactly.

Chunks lap over each other, so that in the lap there are two versions of each packet. A decoder's memory
reaches back one packet: its second half is added to the first half of the next. So two chunks may be joined
after a packet for which both took the same window, and best after one that both made of the very same bytes,
as FFmpeg's encoder at constant quality mostly does.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import av
import numpy as np

from desk.errors import FfmpegError
from desk.ffmpeg.program import Program
from desk.ffmpeg.run import run
from desk.film.rates import SAMPLE_RATE_HZ
from desk.jobs import CancelToken
from desk.sound.reading import Samples

PACKET_SAMPLES = 1024
PRIMING_SAMPLES = 1024
"""The encoder's delay: its first packet stands before the first sample."""

LAP_PACKETS = 16
"""By how much a chunk laps into each of its neighbours."""

QUALITY = "1.3"
"""FFmpeg's scale for its AAC encoder; about 200 kbit/s for music in stereo."""

_HEADER_BYTES = 7
_FIRST_SURE = 2
"""A chunk's first packets know nothing of what was before, and its last ones nothing of what follows."""


@dataclass(frozen=True, slots=True)
class Chunk:
    """A part of the film's sound that is encoded by itself.

    Attributes:
        samples: What is encoded, with a lap into its neighbours.
        first_packet: Which packet of the whole its first one is.
    """

    samples: Samples
    first_packet: int


def encode_chunk(chunk: Chunk, program: Program, target: Path, *, cancel: CancelToken) -> None:
    """Encode a chunk to a file of AAC packets with ADTS headers (ISO/IEC 13818-7).

    Raises:
        FfmpegError: when the encoder fails.
        OutputError: when the disk is full.
        Cancelled: when stopped on request.
    """
    plain = target.with_suffix(".f32")
    try:
        # Not with numpy's own writer, whose faults do not say that the disk is full.
        plain.write_bytes(chunk.samples.astype("<f4").tobytes())
        run(
            program,
            [
                "-f", "f32le", "-ar", str(SAMPLE_RATE_HZ), "-ac", "2", "-i", f"file:{plain}",
                "-c:a", "aac", "-q:a", QUALITY, "-threads", "1", "-f", "adts", f"file:{target}",
            ],
            cancel=cancel,
            doing="the sound of the review copy",
        )  # fmt: skip
    finally:
        plain.unlink(missing_ok=True)


def join_chunks(
    parts: Sequence[tuple[int, Path]], target: Path, program: Program, *, cancel: CancelToken
) -> bool:
    """Write the packets of all chunks as one track; returns False, with nothing written, where two differ.

    The track is in MP4, whose header tells the decoder's settings: with bare packets, FFmpeg's muxer finds
    them out too late to write chapters beside them.

    Args:
        parts: Each chunk's first packet and its file, in order.
        target: The file to write.
        program: Which ffmpeg.
        cancel: Stops it.

    Raises:
        FfmpegError: when a chunk is damaged or ffmpeg fails.
        OutputError: when the disk is full.
        Cancelled: when stopped on request.
    """
    packets = joined_packets([(first, split_packets(path.read_bytes())) for first, path in parts])
    if packets is None:
        return False
    bare = target.with_suffix(".aac")
    try:
        bare.write_bytes(b"".join(packets))
        run(
            program,
            ["-f", "aac", "-i", f"file:{bare}", "-c", "copy", "-f", "mp4", f"file:{target}"],
            cancel=cancel,
            doing="the sound of the review copy",
        )
    finally:
        bare.unlink(missing_ok=True)
    return True


def decoded_track(path: Path, samples: int) -> Iterator[Samples]:
    """Give a track as a player hears it: without the encoder's priming, and so many samples.

    Args:
        path: What `join_chunks` wrote.
        samples: How long the sound was before it was encoded.

    Raises:
        FfmpegError: when it can't be decoded.
    """
    skip, left = PRIMING_SAMPLES, samples
    for block in _decoded(path):
        part = block[skip:][:left]
        skip = max(0, skip - len(block))
        left -= len(part)
        if len(part):
            yield part


def decoded_chunk(path: Path) -> Iterator[Samples]:
    """Give a chunk as a player hears it: nearly so at its ends, which are faded.

    Args:
        path: What `encode_chunk` wrote.

    Raises:
        FfmpegError: when it can't be decoded.
    """
    # A packet is decoded with the one before it, and the last of all hold what was put behind the sound.
    blocks = list(_decoded(path))[_FIRST_SURE:-_FIRST_SURE]
    if len(blocks) > 1:
        blocks[0] *= np.linspace(0, 1, len(blocks[0]), dtype=np.float32)[:, None]
        blocks[-1] *= np.linspace(1, 0, len(blocks[-1]), dtype=np.float32)[:, None]
    return iter(blocks)


def _decoded(path: Path) -> Iterator[Samples]:
    try:
        with av.open(str(path)) as container:
            for frame in container.decode(container.streams.audio[0]):
                yield np.ascontiguousarray(frame.to_ndarray().T, np.float32)
    except av.FFmpegError as error:
        raise FfmpegError(
            "The encoded sound can't be read back.", advice="Assemble again.", detail=str(error)
        ) from error


def joined_packets(parts: Sequence[tuple[int, list[bytes]]]) -> list[bytes] | None:
    """Return the packets of all chunks as one stream, or None where two chunks do not agree.

    Args:
        parts: Each chunk's first packet, counted in the whole, and its packets; in order.
    """
    joined: list[bytes] = []
    for index, (first, packets) in enumerate(parts):
        if index == 0:
            joined = packets
            continue
        # Only the lap is held in two versions.
        low, high = first + _FIRST_SURE, len(joined) - _FIRST_SURE
        meet = _meeting(joined[low:high], packets[low - first :])
        if meet is None:
            return None
        joined[low + meet + 1 :] = packets[low + meet + 1 - first :]
    return joined


def _meeting(before: Sequence[bytes], after: Sequence[bytes]) -> int | None:
    """Return after which packet of a lap the second version may follow the first."""
    pairs = list(zip(before, after, strict=False))
    alike = (at for at, (one, other) in enumerate(pairs) if one == other)
    windowed = (at for at, (one, other) in enumerate(pairs) if _window(one) == _window(other) is not None)
    return next(alike, next(windowed, None))


def _window(packet: bytes) -> int | None:
    """Return the window sequence and shape of a packet whose two channels share one, else None.

    After the header stand, by ISO/IEC 14496-3: element id (3 bits, 1 is a channel pair), tag (4), common
    window (1), then a reserved bit, window sequence (2) and shape (1).
    """
    pair, info = packet[_HEADER_BYTES], packet[_HEADER_BYTES + 1]
    return info >> 4 & 0x07 if pair >> 5 == 1 and pair & 1 else None


def split_packets(stream: bytes) -> list[bytes]:
    """Return the packets of an ADTS stream, headers included.

    Raises:
        FfmpegError: when it is not one.
    """
    packets, at = [], 0
    while at < len(stream):
        length = 0
        if at + _HEADER_BYTES <= len(stream) and stream[at] == 0xFF and stream[at + 1] & 0xF0 == 0xF0:
            # 13 bits of frame length, header included.
            length = (stream[at + 3] & 0x03) << 11 | stream[at + 4] << 3 | stream[at + 5] >> 5
        if length < _HEADER_BYTES or at + length > len(stream):
            raise FfmpegError("A part of the encoded sound is damaged.", advice="Assemble again.")
        packets.append(stream[at : at + length])
        at += length
    return packets
