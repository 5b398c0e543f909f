"""WAV files as FFmpeg reads them back, and the head of those that RIFF has no room for."""

import struct

import av
import numpy as np
import pytest

from desk.sound.wave import wave_header, write_wave
from tests.sound.bs1770 import in_blocks
from tests.sound.signals import Sound, noise

FULL = 1 << 23


def read_back(path) -> tuple[Sound, str, str, int]:
    with av.open(str(path)) as container:
        stream = container.streams.audio[0]
        blocks = [frame.to_ndarray().reshape(-1, 2) for frame in container.decode(stream)]
        return np.concatenate(blocks), stream.codec_context.name, stream.layout.name, stream.rate


@pytest.mark.parametrize("size", [1, 999, 100_000])
def test_every_sample_is_rounded_to_the_nearest_of_24_bits(tmp_path, size):
    sound = noise(0.05 if size == 1 else 1, level=0.3)
    sound[:4, 0] = [-1.0, (FULL - 1) / FULL, 0, 0.5 / FULL]
    written = write_wave(tmp_path / "a.wav", in_blocks(sound, size), len(sound))
    assert (written.samples, written.clipped) == (len(sound), 0)
    found, codec, layout, rate_hz = read_back(tmp_path / "a.wav")
    assert (codec, layout, rate_hz) == ("pcm_s24le", "stereo", 48_000)
    # FFmpeg gives 24 bits in the upper part of 32.
    np.testing.assert_array_equal(found / 256, np.rint(sound.astype(np.float64) * FULL))


def test_what_is_above_full_scale_is_cut_off_and_counted(tmp_path):
    sound = np.zeros((100, 2), np.float32)
    sound[:4] = [[1.0, -1.0], [1.5, -1.2], [0.9, -0.9], [0, 2]]
    assert write_wave(tmp_path / "a.wav", iter([sound]), 100).clipped == 4
    found = read_back(tmp_path / "a.wav")[0] // 256
    assert found[:2].tolist() == [[FULL - 1, -FULL], [FULL - 1, -FULL]]


def test_a_sound_of_another_length_than_announced_is_a_mistake(tmp_path):
    for samples in (99, 101):
        with pytest.raises(ValueError, match="announced"):
            write_wave(tmp_path / "a.wav", iter([np.zeros((100, 2), np.float32)]), samples)


def test_the_head_of_a_file_that_riff_has_no_room_for():
    """EBU Tech 3306 v1.1 (RF64): sizes of 32 bits are -1, those of 64 stand in the first chunk, `ds64`."""
    samples = 5 * 3600 * 48_000
    head = wave_header(samples)
    assert (head[:4], head[8:16]) == (b"RF64", b"WAVEds64")
    assert head[4:8] == head[-4:] == b"\xff" * 4
    length, size, data, count, table = struct.unpack("<IQQQI", head[16:48])
    assert (length, table) == (28, 0)
    assert (size, data, count) == (len(head) - 8 + 6 * samples, 6 * samples, samples)
    assert head[48:52] == b"fmt "
    short = wave_header(1000)
    assert (short[:4], short[12:16], len(short)) == (b"RIFF", b"JUNK", len(head))
    assert struct.unpack("<I", short[4:8])[0] == len(short) - 8 + 6000
    assert struct.unpack("<I", short[-4:])[0] == 6000


@pytest.mark.parametrize("is_large", [False, True])
def test_both_heads_are_read_alike(tmp_path, monkeypatch, is_large):
    """A small file with either head: as if RIFF had less room."""
    if is_large:
        monkeypatch.setattr("desk.sound.wave._MOST_RIFF_BYTES", 1000)
    sound = noise(1)
    write_wave(tmp_path / "a.wav", iter([sound]), len(sound))
    assert (tmp_path / "a.wav").read_bytes()[:4] == (b"RF64" if is_large else b"RIFF")
    found, _, layout, _ = read_back(tmp_path / "a.wav")
    assert (len(found), layout) == (len(sound), "stereo")
