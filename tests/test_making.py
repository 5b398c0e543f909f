"""The makers and readers of numbered footage, on which other tests rely."""

import math
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from desk.film.rates import Rate
from tests.making import (
    UNREADABLE,
    bundled_ffmpeg,
    find_beeps,
    make_numbered,
    number_bits,
    numbered_luma,
    read_frames,
    read_numbers,
    read_pictures,
    read_sound,
    run_ffmpeg,
    system_ffmpeg,
)


@pytest.fixture(scope="module")
def footage(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_numbered(tmp_path_factory.mktemp("numbered") / "a.mp4", frames=12, start=1000)


@given(st.integers(0, 65535))
def test_a_picture_reads_back_as_its_number(number: int) -> None:
    assert read_pictures([numbered_luma(number, (320, 180))])[0].number == number


@given(st.integers(0, 65535), st.integers(1, 65535), st.floats(0.2, 0.8))
def test_a_mix_of_two_pictures_is_unreadable(number: int, step: int, weight: float) -> None:
    one, two = (numbered_luma(value, (320, 180)).astype(float) for value in (number, number + step))
    mixed = (one * (1 - weight) + two * weight).astype(np.uint8)
    reading = read_pictures([mixed])[0]
    expected = number_bits(number) * (1 - weight) + number_bits(number + step) * weight
    assert reading.number == UNREADABLE
    assert np.allclose(reading.levels, expected, atol=0.02)


def test_a_picture_that_lies_on_its_side_is_unreadable() -> None:
    pictures = [
        np.rot90(numbered_luma(number, (320, 320)), turns) for number in range(9) for turns in (1, 2, 3)
    ]
    assert {reading.number for reading in read_pictures(pictures)} == {UNREADABLE}


def test_a_picture_without_a_ring_is_unreadable() -> None:
    noise = np.random.default_rng(1).integers(0, 255, (180, 320), dtype=np.uint8)
    flat = np.full((180, 320), 128, dtype=np.uint8)
    assert [reading.number for reading in read_pictures([noise, flat])] == [UNREADABLE, UNREADABLE]


@pytest.mark.ffmpeg
@pytest.mark.parametrize("ffmpeg", [bundled_ffmpeg(), system_ffmpeg()])
@pytest.mark.parametrize(
    "filters",
    [
        "null",
        "scale=512:270:force_original_aspect_ratio=increase,crop=512:270",
        "scale=240:180:force_original_aspect_ratio=decrease,pad=240:180:-1:-1",
        "scale=360:-2,pad=360:640:-1:-1",
        "scale=2048:-2,crop=2048:1080",
        "scale=160:90",
        "eq=brightness=-0.1:contrast=0.5",
    ],
)
def test_numbers_survive_what_an_assembly_does(
    footage: Path, tmp_path: Path, filters: str, ffmpeg: str | None
) -> None:
    if ffmpeg is None:
        pytest.skip("no ffmpeg in the system")
    copy = tmp_path / "copy.mp4"
    run_ffmpeg("-i", footage, "-vf", filters, "-c:v", "libx264", "-preset", "veryfast", "-crf", "26", copy)
    assert read_numbers(copy, ffmpeg) == list(range(1000, 1012))


@pytest.mark.ffmpeg
def test_frames_can_be_told_to_be_mixed(footage: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy.mp4"
    run_ffmpeg("-i", footage, "-vf", "tmix=frames=2", copy)
    assert read_numbers(copy)[1:] == [UNREADABLE] * 11


@pytest.mark.ffmpeg
@pytest.mark.parametrize("name", ["beeps.mov", "beeps.mp4"])
def test_beeps_start_with_flash_frames(tmp_path: Path, name: str) -> None:
    rate = Rate(30000, 1001)
    path = make_numbered(tmp_path / name, rate=rate, frames=70, start=15, sound="beeps")
    flashes = [index for index, reading in enumerate(read_frames(path)) if reading.flash]
    assert flashes == [15, 45]
    for beep, flash in zip(find_beeps(read_sound(path)), flashes, strict=True):
        assert math.isclose(beep, rate.seconds(flash), abs_tol=0.0002)


@pytest.mark.ffmpeg
def test_variable_times_are_kept(tmp_path: Path) -> None:
    times = [Fraction(0), Fraction(1, 30), Fraction(1, 10), Fraction(1, 5), Fraction(6, 5)]
    path = make_numbered(tmp_path / "a.mp4", frames=5, variable_times=times, rate=Rate(30))
    assert read_numbers(path) == [0, 1, 2, 3, 4]
    assert read_numbers(path, before=("-ss", "0.9")) == [4]
