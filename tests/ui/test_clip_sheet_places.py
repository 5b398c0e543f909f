"""Figures as people write them in the clip sheet, and the places in footage that they mean."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from desk.film.model import Clip
from desk.film.rates import FILM_RATES, Rate
from desk.film.timecode import format_label
from desk.ui.cutting.clip_sheet.source_places import SourceScale, Way
from desk.ui.figures import parse_seconds, parse_speed, parse_steps
from tests.film.films import SPEEDS, facts


@pytest.mark.parametrize(
    ("text", "steps"),
    [
        ("+12", 12),
        ("-3 frames", -3),
        ("− 1 f", -1),
        (" +1 frame ", 1),
        ("12", None),
        ("+0:12", None),
        ("+1.5", None),
        ("+99999999", None),
    ],
)
def test_steps(text, steps):
    assert parse_steps(text) == steps


@pytest.mark.parametrize(
    ("text", "seconds"), [("12.48 s", Fraction("12.48")), ("-2,5", Fraction(-5, 2)), ("+3s", Fraction(3))]
)
def test_seconds(text, seconds):
    assert parse_seconds(text) == seconds


@pytest.mark.parametrize(
    ("text", "speed"),
    [
        ("1/2", Fraction(1, 2)),
        ("0.5", Fraction(1, 2)),
        ("50 %", Fraction(1, 2)),
        ("24/25", Fraction(24, 25)),
        ("1001 / 1000", Fraction(1001, 1000)),
        ("-100%", Fraction(-1)),
        ("0", Fraction(0)),
    ],
)
def test_speeds(text, speed):
    assert parse_speed(text) == speed


@pytest.mark.parametrize("parse", [parse_seconds, parse_speed])
@pytest.mark.parametrize("text", ["", "fast", "1/0", "1e3", "9" * 40, "１", "--1"])
def test_what_is_neither_is_refused_with_a_sentence(parse, text):
    with pytest.raises(ValueError, match=r"^“.*[.]$"):
        parse(text)


@pytest.mark.parametrize("timecode", ["", "10:00:00:00", "no label"])
def test_a_scale_counts_from_the_label_of_the_first_picture(timecode):
    scale = SourceScale.of(
        type(facts())(size_bytes=9, sample_hash="0" * 32, picture=facts().picture, timecode=timecode)
    )
    assert scale.text(Fraction(2)) == ("10:00:02:00" if timecode.startswith("10") else "00:00:02:00")
    assert scale.text(Fraction(-1)) == "-1.000 s"


def test_seconds_where_nothing_is_known_or_the_rate_is_too_high_for_labels():
    assert SourceScale.of(None) == SourceScale.of(facts(rate=Rate(120))) == SourceScale()
    assert SourceScale().text(Fraction(5, 2)) == "2.500 s"


@given(
    st.sampled_from(FILM_RATES),
    st.sampled_from([*FILM_RATES, Rate(100)]),
    st.sampled_from(SPEEDS),
    st.integers(0, 5000),
    st.integers(0, 5000),
)
def test_the_way_to_a_label_ends_on_it(rate, source_rate, speed, from_frames, to_frames):
    """The frame that is shown there is the one that the label names (SMPTE ST 12-1 counts, non-drop)."""
    clip = Clip(id="c", source="a.mov", length_frames=1, speed=speed)
    from_seconds = source_rate.seconds(from_frames)
    scale = SourceScale(source_rate)
    way = scale.way_to(format_label(to_frames, source_rate), clip, from_seconds, rate)
    there = from_seconds + rate.seconds(way.frames) * speed
    if way.exact_seconds is not None:
        assert 0 < there - way.exact_seconds < rate.seconds(1) * speed
        there = way.exact_seconds
    assert scale.text(there) == format_label(to_frames, source_rate)


def test_ways_in_frames_and_seconds():
    clip = Clip(id="c", source="a.mov", length_frames=1)
    scale = SourceScale(Rate(25))
    for text, frames in (("+12", 12), ("3 s", 24), ("2.49", 12), ("0:03:00", 24), ("75", 24)):
        if text == "2.49":
            with pytest.raises(ValueError, match="no place in its footage"):
                scale.way_to(text, clip, Fraction(2), Rate(24))
        else:
            assert scale.way_to(text, clip, Fraction(2), Rate(24)) == Way(frames)
