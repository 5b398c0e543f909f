"""Rolls: the strip that a picture travels over."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from desk.cards import drawing
from desk.cards.drawing import draw_backdrop
from desk.cards.layout import lay_out_roll
from desk.errors import AssemblyError
from desk.film.model import Card, CardKind, CreditBlock, CreditRow, Motion, Size
from desk.film.reading import plan_roll, roll_lines
from tests.cards.pixels import Pixels, box, decode, drawn, ink, runs
from tests.cards.test_picture import write_jpeg

FILM = Size(640, 360)


def rolling(rows: int, **changes: object) -> Card:
    block = CreditBlock(rows=(CreditRow(role="H", names=("HH",)),) * rows)
    card = Card(id="c1", kind=CardKind.CREDITS, motion=Motion.ROLL, credits=(block,), roll_px=2)
    return replace(card, **changes)


def frame(strip: Pixels, card: Card, number: int, film_size: Size = FILM, size: Size = FILM) -> Pixels:
    top = number * plan_roll(card, film_size, size).px_per_frame
    return strip[top : top + size.height]


def test_the_strip_is_a_blank_frame_the_list_and_a_blank_frame(tmp_path):
    card = rolling(19)
    strip = drawn(card, tmp_path, FILM)
    plan = plan_roll(card, FILM, FILM)
    assert strip.shape == (plan.list_px + 2 * FILM.height, FILM.width, 3)
    _, top, _, bottom = box(ink(strip))
    assert top >= FILM.height
    assert bottom <= FILM.height + plan.list_px
    # The list, without the gap before it, fills what it was given.
    assert top < FILM.height + 3 * FILM.height / 18
    assert bottom > FILM.height + plan.list_px - FILM.height / 18


def test_a_worked_example_of_a_roll(tmp_path):
    # A list of 5400 lines at 1080, 3 px a frame: travel 6480, 2160 frames. Computed by hand (6480 / 3).
    card, size = rolling(89, roll_px=3), Size(1200, 1080)
    assert roll_lines(card) == 90
    strip = drawn(card, tmp_path, size)
    assert strip.shape[0] == 5400 + 2 * 1080
    assert not ink(frame(strip, card, 0, size, size)).any()
    assert ink(frame(strip, card, 1080, size, size)).any()
    assert not ink(frame(strip, card, 2159, size, size)).any()
    assert len(frame(strip, card, 2159, size, size)) == 1080


def test_the_list_comes_in_from_below_and_leaves_at_the_top(tmp_path):
    card = rolling(8)
    strip = drawn(card, tmp_path, FILM)
    frames = plan_roll(card, FILM, FILM).frames
    tops = []
    for number in range(frames):
        marked = ink(np.concatenate([strip[:1], frame(strip, card, number)]))[1:]
        if marked.any():
            tops.append((number, box(marked)[1], box(marked)[3]))
    first, last = tops[0], tops[-1]
    assert first[0] > 0
    assert first[2] == FILM.height
    assert last[0] < frames - 1
    assert last[1] == 0
    _, list_top, _, list_bottom = box(ink(strip))
    whole = [top for _, top, bottom in tops if bottom - top == list_bottom - list_top]
    assert len(whole) > 50
    assert {before - after for before, after in pairwise(whole)} == {2}


def test_lines_stand_one_pitch_apart(tmp_path):
    card = rolling(12)
    plan = plan_roll(card, FILM, FILM)
    tops = [top for top, _ in runs(ink(drawn(card, tmp_path, FILM)).any(axis=1))]
    pitch = plan.list_px / roll_lines(card)
    assert len(tops) == 12
    assert np.allclose(np.diff(tops), pitch, atol=1)


def test_titles_take_two_lines_and_a_gap_stands_before_each_block(tmp_path):
    block = CreditBlock(heading="HH", rows=(CreditRow(names=("HH",)),))
    card = rolling(0, lines=("HH", "HH"), credits=(block, block))
    assert roll_lines(card) == 2 * 2 + 2 * (1 + 1 + 1)
    pitch = plan_roll(card, FILM, FILM).list_px / roll_lines(card)
    middles = [
        (top + bottom) / 2 - FILM.height for top, bottom in runs(ink(drawn(card, tmp_path, FILM)).any(axis=1))
    ]
    expected = [1, 3, 5.5, 6.5, 8.5, 9.5]
    assert np.allclose(np.array(middles) / pitch, expected, atol=0.12)


def test_a_roll_drawn_for_a_copy_fits_the_copy_and_breaks_its_lines_alike(tmp_path):
    card, film_size, copy_size = rolling(30, roll_px=3), Size(1024, 540), Size(640, 338)
    large, small = drawn(card, tmp_path, film_size), drawn(card, tmp_path, copy_size, film_size)
    assert small.shape[0] == plan_roll(card, film_size, copy_size).list_px + 2 * copy_size.height
    assert len(runs(ink(large).any(axis=1))) == len(runs(ink(small).any(axis=1))) == 30


def test_long_names_are_broken_and_stay_in_the_list(tmp_path):
    name = "The Society of Friends of the Old Lighthouse and of All Its Former Keepers and Their Families"
    card = rolling(0, credits=(CreditBlock(rows=(CreditRow(role="Thanks to", names=(name,) * 5),)),))
    strip = drawn(card, tmp_path, FILM)
    left, top, right, bottom = box(ink(strip))
    assert top >= FILM.height
    assert bottom <= strip.shape[0] - FILM.height
    assert left >= 0.05 * FILM.width
    assert right <= 0.95 * FILM.width


def test_lines_are_not_pulled_apart_without_end(tmp_path):
    card = rolling(6, length_frames=3000)
    strip = drawn(card, tmp_path, FILM)
    tops = [top for top, _ in runs(ink(strip).any(axis=1))]
    assert strip.shape[0] - 2 * FILM.height > 2000
    assert max(np.diff(tops)) <= 2 * FILM.height / 18
    assert tops[0] < FILM.height + 5 * FILM.height / 18


def test_an_upright_roll_takes_the_whole_height_too(tmp_path):
    card, size = rolling(20), Size(360, 640)
    strip = drawn(card, tmp_path, size)
    _, top, _, bottom = box(ink(strip))
    pitch = plan_roll(card, size, size).list_px / roll_lines(card)
    assert top < size.height + 2.5 * pitch
    assert bottom > strip.shape[0] - size.height - pitch


def test_a_list_with_too_little_room_is_refused():
    with pytest.raises(AssemblyError, match="breaks into 31 lines"):
        lay_out_roll(rolling(30), width=1920.0, height=600.0)
    with pytest.raises(AssemblyError, match="more than its length has room for"):
        lay_out_roll(rolling(30), width=1920.0, height=-44.0)


def test_a_long_roll_is_the_same_in_one_band_or_in_many(tmp_path, monkeypatch):
    card = rolling(60)
    many = drawn(card, tmp_path, FILM)
    assert len(many) > drawing._BAND_LINES
    monkeypatch.setattr(drawing, "_BAND_LINES", len(many))
    assert np.array_equal(drawn(card, tmp_path, FILM), many)
    assert len(runs(ink(many).any(axis=1))) == 60


def test_a_roll_with_a_picture_is_laid_over_a_backdrop_that_stands(tmp_path):
    card, picture = rolling(12), write_jpeg(tmp_path / "sea.jpg", (20, 60, 90))
    strip = drawn(card, tmp_path, FILM, picture=picture)
    assert strip.shape[2] == 4
    assert not strip[: FILM.height, :, 3].any()
    solid = strip[strip[..., 3] > 200]
    assert len(solid) > 100
    assert np.abs(solid[:, :3].astype(int) - (0xE9, 0xE6, 0xDD)).max() <= 2
    draw_backdrop(card, size=FILM, target=tmp_path / "backdrop.png", picture=picture)
    backdrop = decode(tmp_path / "backdrop.png")
    assert backdrop.shape == (FILM.height, FILM.width, 3)
    assert not ink(backdrop).any()
    assert 0 < backdrop[9, 9, 2] < 90
