"""Encoding in chunks: joined, they decode to what encoding in one go gives."""

import av
import numpy as np
import pytest

from desk.errors import FfmpegError
from desk.ffmpeg.program import find_program
from desk.jobs import CancelToken
from desk.sound.aac import (
    PACKET_SAMPLES,
    Chunk,
    decoded_chunk,
    decoded_track,
    encode_chunk,
    join_chunks,
    joined_packets,
    split_packets,
)
from desk.sound.loudness import measure
from desk.sound.stretches import LAP_SAMPLES, stretches
from tests.making import system_ffmpeg

RATE_HZ = 48_000


def tones(seconds: float) -> np.ndarray:
    """Return tones that swell and stop, clicks and noise: all that makes an encoder change its mind."""
    count = round(seconds * RATE_HZ)
    time = np.arange(count) / RATE_HZ
    noise = np.random.default_rng(7).normal(0, 0.05, (count, 2))
    left = 0.3 * np.sin(2 * np.pi * 440 * time) * (0.5 + 0.5 * np.sin(2 * np.pi * 0.7 * time))
    right = 0.2 * np.sin(2 * np.pi * 1320 * time) * (np.sin(2 * np.pi * 1.3 * time) > 0)
    sound = np.stack([left, right], axis=1) + noise * (np.sin(2 * np.pi * 0.3 * time) > 0)[:, None]
    sound[:: RATE_HZ // 3] += 0.4
    return sound.astype(np.float32)


def in_blocks(sound, size):
    return (sound[at : at + size] for at in range(0, len(sound), size))


def chunks(blocks, packets):
    """Give chunks that lap over their neighbours as those of a film do."""
    for stretch in stretches(blocks, packets):
        part = stretch.within(LAP_SAMPLES, LAP_SAMPLES)
        yield Chunk(part.samples, (part.start - part.before) // PACKET_SAMPLES)


def decoded(path):
    with av.open(str(path)) as container:
        return np.concatenate([frame.to_ndarray() for frame in container.decode(audio=0)], axis=1).T


@pytest.mark.ffmpeg
@pytest.mark.parametrize("program", [None, system_ffmpeg()], ids=["bundled", "system"])
def test_joined_chunks_sound_like_one_encoding(tmp_path, program):
    """The seam must not be heard: error against the source is no larger there than with one encoding."""
    ffmpeg = find_program(program)
    sound = tones(12)
    whole = tmp_path / "whole.aac"
    encode_chunk(Chunk(sound, 0), ffmpeg, whole, cancel=CancelToken())
    parts = []
    for chunk in chunks(in_blocks(sound, 48_000), 60):
        part = tmp_path / f"{chunk.first_packet}.aac"
        encode_chunk(chunk, ffmpeg, part, cancel=CancelToken())
        parts.append((chunk.first_packet, part))
    assert len(parts) > 8
    joined = tmp_path / "joined.m4a"
    assert join_chunks(parts, joined, ffmpeg, cancel=CancelToken())
    with av.open(str(joined)) as container:
        packets = sum(packet.size > 0 for packet in container.demux(audio=0))
    assert packets == len(split_packets(whole.read_bytes()))

    heard = np.concatenate(list(decoded_track(joined, len(sound))))
    np.testing.assert_array_equal(heard, decoded(joined)[PACKET_SAMPLES:][: len(sound)])

    def worst(path):
        error = decoded(path)[PACKET_SAMPLES:][: len(sound)] - sound[: len(decoded(path)) - PACKET_SAMPLES]
        return np.abs(error).max()

    assert worst(joined) <= worst(whole) * 1.05


def packets_with(*payloads):
    """Return ADTS packets: sync word, then 13 bits of length, as ISO/IEC 13818-7 has them."""
    return [
        bytes([0xFF, 0xF1, 0x4C, 0x80 | n >> 11, n >> 3 & 0xFF, n << 5 & 0xFF, 0xFC]) + payload
        for payload in payloads
        for n in [7 + len(payload)]
    ]


def test_chunks_that_share_no_packet_are_not_joined():
    first = packets_with(*(bytes([n]) * 9 for n in range(20)))
    other = packets_with(*(bytes([100 + n]) * 9 for n in range(20)))
    assert joined_packets([(0, first), (10, other)]) is None


def test_chunks_are_joined_after_the_packet_that_they_share():
    first = packets_with(*(bytes([n]) * 9 for n in range(20)))
    other = packets_with(*(bytes([n if n == 14 else 100 + n]) * 9 for n in range(10, 30)))
    joined = joined_packets([(0, first), (10, other)])
    assert [packet[7] for packet in joined] == [*range(15), *range(115, 130)]


def test_chunks_that_share_only_a_window_are_joined_after_it():
    """A channel pair (element 1) with a common window: bits 001 tttt 1, then 0, sequence and shape."""
    pair = bytes([0b00100001])
    first = packets_with(*(pair + bytes([0b0_00_1_0000, n]) for n in range(20)))
    other = packets_with(
        *(pair + bytes([0b0_00_1_0000 if n == 15 else 0b0_10_1_0000, 100 + n]) for n in range(10, 30))
    )
    joined = joined_packets([(0, first), (10, other)])
    assert [packet[9] for packet in joined] == [*range(16), *range(116, 130)]


def test_a_track_that_can_not_be_read_back_is_told(tmp_path):
    track = tmp_path / "track.m4a"
    track.write_bytes(b"nonsense")
    with pytest.raises(FfmpegError, match="read back"):
        list(decoded_track(track, 1000))


@pytest.mark.parametrize("data", [b"nonsense", b"\xff\xf1\x4c\x80\x02\x00\xfc short", b"\xff\xf1"])
def test_a_damaged_stream_is_told(data):
    with pytest.raises(FfmpegError, match="damaged"):
        split_packets(data)


@pytest.mark.ffmpeg
def test_a_chunk_alone_has_the_peaks_that_it_has_in_the_whole(tmp_path):
    """So that a ceiling can be tried on a few chunks: within 0.1 dB of the joined track's."""
    ffmpeg = find_program(None)
    sound = np.clip(2.5 * tones(12), -1, 1)
    parts, peaks = [], []
    for chunk in chunks(in_blocks(sound, 48_000), 150):
        part = tmp_path / f"{chunk.first_packet}.aac"
        encode_chunk(chunk, ffmpeg, part, cancel=CancelToken())
        parts.append((chunk.first_packet, part))
        peaks.append(measure(decoded_chunk(part)).true_peak_dbtp)
    assert len(parts) > 2
    assert join_chunks(parts, tmp_path / "joined.m4a", ffmpeg, cancel=CancelToken())
    whole = measure(decoded_track(tmp_path / "joined.m4a", len(sound))).true_peak_dbtp
    assert max(peaks) == pytest.approx(whole, abs=0.1)
