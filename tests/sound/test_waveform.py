"""Outlines of sound against the samples themselves: no peak is lost, at any zoom."""

import dataclasses
from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from desk.film.rates import SAMPLE_RATE_HZ
from desk.footage.probe import probe
from desk.jobs import Cancelled, CancelToken
from desk.sound.reading import read_sound
from desk.sound.waveform import (
    BIN_SAMPLES,
    FULL_SCALE,
    Waveform,
    outline,
    outline_of_file,
    waveform_key,
)
from tests.making import make_numbered
from tests.sound.signals import Sound, noise, write_sound


def ends(part: Sound) -> tuple[int, int]:
    """Lowest and highest sample, rounded outwards, of full scale 32767."""
    low, high = np.floor(part.min() * FULL_SCALE), np.ceil(part.max() * FULL_SCALE)
    return int(max(low, -FULL_SCALE)), int(min(high, FULL_SCALE))


def pairs(made: Waveform, zoom: int) -> list[tuple[int, int]]:
    one = made.outlines[zoom]
    assert one.bin_samples == BIN_SAMPLES[zoom]
    return list(zip(one.low.tolist(), one.high.tolist(), strict=True))


def sound_of(count: int, seed: int, channels: int = 2) -> Sound:
    return noise(count / SAMPLE_RATE_HZ, seed=seed, channels=channels, level=0.4)


@given(
    count=st.sampled_from([0, 1, 255, 256, 257, 2048, 5000, 40_000]),
    cuts=st.lists(st.integers(0, 40_000), max_size=4),
    seed=st.integers(0, 5),
)
def test_every_stretch_has_its_lowest_and_highest_sample(count, cuts, seed):
    """However the samples come in blocks."""
    sound = sound_of(count, seed)
    edges = sorted({0, count, *(cut for cut in cuts if cut < count)})
    made = outline(sound[low:high] for low, high in pairwise(edges))
    assert made.samples == count
    for zoom, size in enumerate(BIN_SAMPLES):
        assert pairs(made, zoom) == [ends(sound[at : at + size]) for at in range(0, count, size)]


@given(
    first=st.integers(-50_000, 60_000),
    length=st.integers(1, 90_000),
    columns=st.integers(1, 60),
    seed=st.integers(0, 3),
)
def test_columns_hold_all_their_samples_and_little_else(first, length, columns, seed):
    sound = sound_of(40_000, seed)
    low, high = outline([sound]).columns(first, first + length, columns)
    width = length / columns
    size = max((item for item in BIN_SAMPLES if item <= width), default=BIN_SAMPLES[0])
    for place in range(columns):
        begin, end = first + place * width, first + (place + 1) * width
        inside = sound[max(0, int(np.floor(begin))) : max(0, int(np.ceil(end)))]
        around = sound[max(0, int(begin // size) * size) : max(0, int(-(-end // size)) * size)]
        if len(inside):
            lowest, highest = ends(inside)
            assert low[place] <= lowest
            assert high[place] >= highest
        if len(around):
            assert (int(low[place]), int(high[place])) == ends(around)
        else:
            assert (low[place], high[place]) == (0, 0)


def test_a_single_click_is_seen_at_every_zoom():
    sound = np.zeros((500_000, 2), np.float32)
    sound[123_456, 1] = 0.5
    made = outline([sound])
    for columns in (1, 7, 100, 1000, 5000):
        _, high = made.columns(0, 500_000, columns)
        seen = np.flatnonzero(high > 100)
        assert len(seen)
        # In its column, or beside it by less than a stretch of the zoom.
        width = 500_000 / columns
        size = max((item for item in BIN_SAMPLES if item <= width), default=BIN_SAMPLES[0])
        assert np.abs((seen + 0.5) * width - 123_456).max() < width / 2 + size


def test_too_loud_sound_ends_at_full_scale_and_soft_sound_is_not_lost():
    loud = np.full((300, 2), 3.0, np.float32)
    soft = np.full((300, 2), 1e-5, np.float32)
    assert pairs(outline([loud]), 0) == [(FULL_SCALE, FULL_SCALE)] * 2
    assert pairs(outline([soft]), 0) == [(0, 1)] * 2


@given(st.sampled_from([0, 1, 256, 100_000]), st.integers(0, 3))
def test_bytes_come_back(count, seed):
    made = outline([sound_of(count, seed)])
    data = made.to_bytes()
    back = Waveform.from_bytes(data)
    assert back.samples == count
    assert [pairs(back, zoom) for zoom in range(3)] == [pairs(made, zoom) for zoom in range(3)]
    # Four bytes for 256 samples: 2.7 MB for an hour.
    assert len(data) == 14 + 4 * -(-count // 256)


@pytest.mark.parametrize(
    "damage",
    [
        lambda data: b"",
        lambda data: data[:10],
        lambda data: data[:-1],
        lambda data: data[:-4],
        lambda data: data + bytes(4),
        lambda data: b"else" + data[4:],
        lambda data: data[:4] + b"\x63\x00" + data[6:],
    ],
)
def test_damaged_bytes_are_refused(damage):
    data = outline([sound_of(5000, 1)]).to_bytes()
    with pytest.raises(ValueError, match="outline"):
        Waveform.from_bytes(damage(data))


# Files


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("outlines")


@pytest.mark.ffmpeg
def test_a_file_is_outlined_from_its_second_0_on(folder):
    """Sound that starts 0.7 s after the picture lies there, and to its end."""
    picture = make_numbered(folder / "picture.mp4", frames=50, size=(96, 54))
    sound = noise(3, seed=2)
    path = write_sound(
        folder / "late.mov", sound, codec=("-c:a", "pcm_s16le"), picture=picture, late_seconds=0.7
    )
    facts = probe(path)
    made = outline_of_file(path, facts)
    read = np.concatenate(list(read_sound(path, facts, in_seconds=Fraction(0), samples=made.samples)))
    assert pairs(made, 0) == [ends(read[at : at + 256]) for at in range(0, len(read), 256)]
    _, high = made.columns(0, made.samples, 100)
    first = int(np.flatnonzero(high > 1000)[0])
    assert abs(first * made.samples / 100 / SAMPLE_RATE_HZ - 0.7) < 0.05
    silent = outline_of_file(picture, probe(picture))
    assert (silent.samples, silent.columns(0, 1000, 3)[1].tolist()) == (0, [0, 0, 0])


@pytest.mark.ffmpeg
def test_progress_rises_and_a_stop_is_heeded(folder):
    path = write_sound(folder / "long.wav", noise(20))
    told = []
    outline_of_file(path, probe(path), progress=told.append)
    assert all(one.fraction < other.fraction for one, other in pairwise(told))
    assert told[-1].fraction == 1
    token = CancelToken()
    token.set()
    with pytest.raises(Cancelled):
        outline_of_file(path, probe(path), cancel=token)
    assert outline_of_file(path, probe(path)).samples == 20 * SAMPLE_RATE_HZ


@pytest.mark.ffmpeg
def test_the_name_in_a_cache_follows_the_file_and_not_its_place(folder):
    path = write_sound(folder / "a.wav", noise(1))
    facts = probe(path)
    assert waveform_key(facts) == waveform_key(dataclasses.replace(facts, camera="x"))
    for changed in ({"sample_hash": "1" * 32}, {"modified_ns": 1}):
        assert waveform_key(dataclasses.replace(facts, **changed)) != waveform_key(facts)
