"""Rates and the samples on which frames start, at 48 kHz."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from desk.film.rates import FILM_RATES, SAMPLE_RATE_HZ, Rate

# Worked out by hand: 48000 / rate.
SAMPLES_A_FRAME = {
    Rate(24000, 1001): Fraction(2002),
    Rate(24): Fraction(2000),
    Rate(25): Fraction(1920),
    Rate(30): Fraction(1600),
    Rate(48): Fraction(1000),
    Rate(50): Fraction(960),
    Rate(60): Fraction(800),
    Rate(30000, 1001): Fraction("1601.6"),
    Rate(60000, 1001): Fraction("800.8"),
}


def test_the_table_has_every_rate_of_a_film():
    assert set(SAMPLES_A_FRAME) == set(FILM_RATES)


@pytest.mark.parametrize("rate", FILM_RATES, ids=str)
def test_samples_of_a_frame(rate):
    whole = SAMPLES_A_FRAME[rate].denominator
    assert rate.samples(0) == 0
    assert rate.samples(whole) == SAMPLES_A_FRAME[rate] * whole
    assert rate.samples(whole * 24 * 3600) == SAMPLES_A_FRAME[rate] * whole * 24 * 3600


def test_thousand_and_first_rates_are_whole_every_five_frames():
    # Worked out by hand: 5 * 1601.6 and 5 * 800.8; in between to the nearest, .6 up and .2 down.
    assert [Rate(30000, 1001).samples(frame) for frame in range(6)] == [0, 1602, 3203, 4805, 6406, 8008]
    assert [Rate(60000, 1001).samples(frame) for frame in range(6)] == [0, 801, 1602, 2402, 3203, 4004]


@given(rate=st.sampled_from(FILM_RATES), frame=st.integers(-(10**7), 10**7))
def test_samples_are_the_nearest_and_never_drift(rate, frame):
    exact = frame * Fraction(SAMPLE_RATE_HZ) / rate.fraction
    assert abs(rate.samples(frame) - exact) <= Fraction(1, 2)
    assert rate.samples(frame + 1) > rate.samples(frame)
    assert rate.seconds(frame) == frame / rate.fraction


@pytest.mark.parametrize(
    ("text", "rate"),
    [
        ("25", Rate(25)),
        (" 29.97 ", Rate(30000, 1001)),
        ("23.976", Rate(24000, 1001)),
        ("60000/1001", Rate(60000, 1001)),
    ],
)
def test_rates_are_read_exactly(text, rate):
    assert Rate.parse(text) == rate


@pytest.mark.parametrize("text", ["", "fast", "0", "-25", "25/0", "nan", "1/2/3"])
def test_what_is_no_rate_is_refused(text):
    with pytest.raises(ValueError, match="rate"):
        Rate.parse(text)


def test_a_rate_is_in_lowest_terms():
    assert Rate(50, 2) == Rate(25)
    assert str(Rate(60000, 2002)) == "30000/1001"
    assert Rate(60000, 1001).nominal == 60
