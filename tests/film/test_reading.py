"""How long cards stand and how rolls travel.

The reading rates are broadcasters' subtitle guidance, from memory: 160 to 180 words a minute, 15 to 17
characters a second. Whole pixels a frame, and a travel of the list plus the frame, are common practice, no
source. The numbers are worked out by hand from them.
"""

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from desk.film.model import Card, CardKind, CreditBlock, CreditRow, Motion, Size
from desk.film.rates import FILM_RATES, Rate
from desk.film.reading import (
    LINES_PER_FRAME,
    card_frames,
    card_text,
    is_empty,
    plan_roll,
    reading_frames,
    reading_seconds,
    roll_lines,
)

HD = Size(1920, 1080)
WORDS_10 = " ".join("a" * 10)
WORDS_20 = " ".join("a" * 20)


@pytest.mark.parametrize(
    ("text", "seconds", "frames"),
    [
        (WORDS_10, Fraction(10, 3), 80),  # 10 words at 180 a minute: 3.333 s
        (WORDS_20, Fraction(20, 3), 160),  # 20 words at 180 a minute: 6.667 s
        ("x" * 42, Fraction(42, 17), 60),  # 42 characters at 17 a second: 2.471 s, 59.3 frames
        ("x" * 84, Fraction(84, 17), 119),  # 84 characters at 17 a second: 4.941 s, 118.6 frames
        ("", Fraction(0), 0),
    ],
)
def test_reading_times_at_24_frames_a_second(text, seconds, frames):
    assert reading_seconds(text) == seconds
    assert reading_frames(text, Rate(24)) == frames


def test_a_card_stands_as_long_as_reading_takes_and_at_least_three_seconds():
    # Three seconds is common practice, no source: 72 frames at 24, 90 (89.91 rounded up) at 30000/1001.
    assert card_frames(Card(id="k", lines=("Low Water",)), Rate(24), HD) == 72
    assert card_frames(Card(id="k", lines=("Low Water",)), Rate(30000, 1001), HD) == 90
    assert card_frames(Card(id="k", lines=(WORDS_20,)), Rate(24), HD) == 160
    assert card_frames(Card(id="k", lines=(WORDS_20,), length_frames=12), Rate(24), HD) == 12


def test_all_words_of_a_card_are_read():
    rows = (CreditRow(role="Sound", names=("Ada Reed", "Bo Lind")), CreditRow(names=("Cy",)))
    card = Card(
        id="k", kind=CardKind.CREDITS, lines=("Thanks",), credits=(CreditBlock(heading="Crew", rows=rows),)
    )
    assert card_text(card) == "Thanks Crew Sound Ada Reed Bo Lind Cy"


def test_an_empty_card_shows_nothing():
    assert is_empty(Card(id="k", lines=("", " ")))
    assert not is_empty(Card(id="k", picture="sea.png"))


def roll_of(lines: int, **fields) -> Card:
    """A credit list of a height in text lines: one block is a gap and its rows."""
    block = CreditBlock(rows=tuple(CreditRow(names=("a",)) for _ in range(lines - 1)))
    return Card(id="k", kind=CardKind.CREDITS, motion=Motion.ROLL, credits=(block,), **fields)


def test_the_height_of_a_list_is_counted_in_lines():
    assert roll_lines(roll_of(90)) == 90
    block = CreditBlock(heading="Cast", rows=(CreditRow(names=("a", "b")), CreditRow(role="x")))
    assert roll_lines(Card(id="k", lines=("The End",), credits=(block,))) == 2 + 1 + 1 + 2 + 1


# 1080 lines, list 5400 px (90 lines of 60 px): travel 6480 px.
@pytest.mark.parametrize(
    ("px", "frames", "seconds"), [(2, 3240, 135), (3, 2160, 90), (4, 1620, 67.5), (6, 1080, 45)]
)
def test_a_roll_of_6480_pixels(px, frames, seconds):
    card = roll_of(5400 * LINES_PER_FRAME // 1080, roll_px=px)
    roll = plan_roll(card, HD, HD)
    assert (roll.px_per_frame, roll.frames, roll.list_px) == (px, frames, 5400)
    assert Rate(24).seconds(card_frames(card, Rate(24), HD)) == seconds
    # One line is on the screen for 1080 / (24 p) seconds: 22.5, 15, 11.25, 7.5.
    assert Fraction(1080, roll.px_per_frame) / 24 == {2: 22.5, 3: 15, 4: 11.25, 6: 7.5}[px]


def test_a_list_is_padded_to_a_whole_number_of_frames():
    # 91 lines of 60 px and the frame travel 6540 px: 934.29 frames of 7 px, padded to 935, 6545 px.
    roll = plan_roll(roll_of(91, roll_px=7), HD, HD)
    assert (roll.frames, roll.list_px) == (935, 6545 - 1080)
    # The same arithmetic on 8000 px: travel 9080 at 3 px is no whole number, 9081 = 3027 frames of 3 px is.
    assert (math.ceil(Fraction(9080, 3)), 3027 * 3 - 1080) == (3027, 8001)


def test_a_roll_of_a_given_length_takes_that_length():
    roll = plan_roll(roll_of(90, length_frames=2000), HD, HD)
    assert (roll.px_per_frame, roll.frames, roll.list_px) == (4, 2000, 8000 - 1080)
    assert card_frames(roll_of(90, length_frames=2000), Rate(24), HD) == 2000


def test_uhd_doubles_the_pixels_a_frame():
    roll = plan_roll(roll_of(90, roll_px=3), HD, Size(3840, 2160))
    assert (roll.px_per_frame, roll.frames, roll.list_px) == (6, 2160, 10800)


SIZES = st.sampled_from(
    [HD, Size(1280, 720), Size(2048, 858), Size(3996, 2160), Size(640, 360), Size(1024, 430)]
)


@given(
    lines=st.integers(2, 400),
    roll_px=st.integers(1, 12),
    length=st.none() | st.integers(100, 5000),
    film_size=SIZES,
    size=SIZES,
)
def test_a_roll_has_room_for_its_list_at_every_size(lines, roll_px, length, film_size, size):
    card = roll_of(lines, roll_px=roll_px, length_frames=length)
    roll = plan_roll(card, film_size, size)
    assert roll.frames == card_frames(card, Rate(24), film_size)
    assert roll.px_per_frame * roll.frames == roll.list_px + size.height
    assert roll.list_px >= Fraction(lines * size.height, LINES_PER_FRAME)
    assert roll.px_per_frame >= 1


@given(text=st.text(max_size=300), rate=st.sampled_from(FILM_RATES))
def test_a_text_stands_until_it_is_read(text, rate):
    frames = reading_frames(text, rate)
    assert rate.seconds(frames) >= reading_seconds(text) > rate.seconds(frames - 1)
