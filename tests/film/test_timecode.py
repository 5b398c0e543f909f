"""Timecode against the rule of SMPTE ST 12-1:2014 and against OpenTimelineIO.

The standard's text is not at hand. Its rule is taken from FFmpeg's libavutil/timecode.c (which cites ST
12-1:2014 §12.1); the counts below are worked out by hand from it: n = non-drop(n) - d * (minutes - minutes
// 10). Rows from elsewhere name their source.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from opentimelineio import opentime

from desk.errors import TimecodeError
from desk.film.rates import FILM_RATES, Rate
from desk.film.timecode import format_label, format_length, frames_per_day, has_drop_frame, parse_label

NTSC_24, NTSC_30, NTSC_60 = Rate(24000, 1001), Rate(30000, 1001), Rate(60000, 1001)
DROPPED = {NTSC_30: 2, NTSC_60: 4}

COUNTS = {
    # Frames up to the first label of minute 1, of a later minute of a ten, of 10 minutes, 1 hour, 24 hours.
    (NTSC_24, False): (1440, 1440, 14400, 86400, 2073600),
    (Rate(24), False): (1440, 1440, 14400, 86400, 2073600),
    (Rate(25), False): (1500, 1500, 15000, 90000, 2160000),
    (Rate(30), False): (1800, 1800, 18000, 108000, 2592000),
    (NTSC_30, False): (1800, 1800, 18000, 108000, 2592000),
    (NTSC_30, True): (1800, 1798, 17982, 107892, 2589408),
    (Rate(48), False): (2880, 2880, 28800, 172800, 4147200),
    (Rate(50), False): (3000, 3000, 30000, 180000, 4320000),
    (Rate(60), False): (3600, 3600, 36000, 216000, 5184000),
    (NTSC_60, False): (3600, 3600, 36000, 216000, 5184000),
    (NTSC_60, True): (3600, 3596, 35964, 215784, 5178816),
}

DROP_30 = {
    0: "00:00:00;00",
    1799: "00:00:59;29",
    1800: "00:01:00;02",
    1801: "00:01:00;03",
    3597: "00:01:59;29",
    3598: "00:02:00;02",
    17981: "00:09:59;29",
    17982: "00:10:00;00",
    17983: "00:10:00;01",
    107891: "00:59:59;29",
    107892: "01:00:00;00",
    107957: "01:00:02;05",  # OpenTimelineIO issue #476
    1084319: "10:03:00;05",  # OpenTimelineIO tests/test_opentime.py
    2589407: "23:59:59;29",
}

DROP_60 = {
    0: "00:00:00;00",
    3599: "00:00:59;59",
    3600: "00:01:00;04",
    3601: "00:01:00;05",
    7195: "00:01:59;59",
    7196: "00:02:00;04",
    35963: "00:09:59;59",
    35964: "00:10:00;00",
    35965: "00:10:00;01",
    215783: "00:59:59;59",
    215784: "01:00:00;00",
    1084319: "05:01:30;03",
    5178815: "23:59:59;59",
}


@pytest.mark.parametrize(("rate", "drop_frame"), COUNTS)
def test_counts_of_minutes_hours_and_days(rate, drop_frame):
    first, later, ten, hour, day = COUNTS[rate, drop_frame]
    mark, frames = (";", f"{DROPPED[rate]:02}") if drop_frame else (":", "00")

    def count(label):
        return parse_label(label, rate)[0]

    assert count(f"00:01:00{mark}{frames}") == first
    assert count(f"00:02:00{mark}{frames}") - first == later
    assert count(f"00:10:00{mark}00") == ten
    assert count(f"01:00:00{mark}00") == hour
    assert frames_per_day(rate, drop_frame=drop_frame) == day


def test_the_table_has_every_rate_of_a_film():
    assert {rate for rate, _ in COUNTS} == set(FILM_RATES)
    assert {rate for rate, drop_frame in COUNTS if drop_frame} == {r for r in FILM_RATES if has_drop_frame(r)}


@pytest.mark.parametrize(("frames", "label"), DROP_30.items())
def test_drop_frame_labels_at_30000_1001(frames, label):
    assert format_label(frames, NTSC_30, drop_frame=True) == label
    assert parse_label(label, NTSC_30) == (frames, True)


@pytest.mark.parametrize(("frames", "label"), DROP_60.items())
def test_drop_frame_labels_at_60000_1001(frames, label):
    assert format_label(frames, NTSC_60, drop_frame=True) == label
    assert parse_label(label, NTSC_60) == (frames, True)


def test_the_same_frames_have_other_labels_without_drop_frame():
    assert format_label(107957, NTSC_30) == "00:59:58:17"  # OpenTimelineIO issue #476
    assert format_label(1084319, NTSC_30) == "10:02:23:29"  # OpenTimelineIO tests/test_opentime.py


@pytest.mark.parametrize(("rate", "drop_frame"), COUNTS)
def test_labels_wrap_after_a_day(rate, drop_frame):
    day = COUNTS[rate, drop_frame][4]
    assert format_label(day, rate, drop_frame=drop_frame) == f"00:00:00{';' if drop_frame else ':'}00"
    assert format_label(day + 7, rate, drop_frame=drop_frame) == format_label(7, rate, drop_frame=drop_frame)


@pytest.mark.parametrize("rate", DROPPED)
def test_a_day_of_drop_frame_is_86_4_ms_short(rate):
    # Worked out by hand: labels of a day * 1001 / 30000 (or / 60000) seconds, against 86400.
    assert float(86400 - rate.seconds(frames_per_day(rate, drop_frame=True))) == pytest.approx(0.0864)


@pytest.mark.parametrize("rate", DROPPED)
def test_every_minute_of_a_day_agrees_with_opentimelineio(rate):
    day = frames_per_day(rate, drop_frame=True)
    minute = day // 1440
    boundaries = {parse_label(f"{m // 60:02}:{m % 60:02}:59;00", rate)[0] + rate.nominal for m in range(1440)}
    frames = {near % day for edge in boundaries for near in range(edge - 6, edge + 7)}
    assert len(frames) == 1440 * 13
    for frame in sorted(frames | set(range(0, day, minute // 5))):
        _agrees(frame, rate)


@pytest.mark.parametrize("rate", DROPPED)
@pytest.mark.parametrize("start", ["00:00:00;00", "00:50:00;00", "23:50:00;00"])
def test_every_frame_of_ten_minutes_agrees_with_opentimelineio(rate, start):
    first = parse_label(start, rate)[0]
    for frame in range(first, first + COUNTS[rate, True][2]):
        _agrees(frame, rate)


def _agrees(frame, rate):
    label = format_label(frame, rate, drop_frame=True)
    as_float = rate.numerator / rate.denominator
    assert label == opentime.to_timecode(opentime.RationalTime(frame, as_float), as_float, True)
    assert parse_label(label, rate) == (frame, True)
    assert opentime.from_timecode(label, as_float).value == frame


@pytest.mark.parametrize("rate", DROPPED)
def test_an_odometer_that_skips_the_dropped_labels_counts_the_same(rate):
    """Another way to count, step by step as a clock does, over one hour and three minutes."""
    hour, minute, second, frame = 22, 58, 0, DROPPED[rate]
    at = parse_label(f"22:58:00;{frame:02}", rate)[0]
    for count in range(at, at + 63 * 60 * rate.nominal):
        assert format_label(count, rate, drop_frame=True) == f"{hour:02}:{minute:02}:{second:02};{frame:02}"
        frame += 1
        if frame == rate.nominal:
            frame, second = 0, second + 1
            if second == 60:
                second, minute = 0, minute + 1
                if minute == 60:
                    minute, hour = 0, (hour + 1) % 24
                if minute % 10:
                    frame = DROPPED[rate]


@given(data=st.data(), counted=st.sampled_from(sorted(COUNTS)))
def test_labels_and_counts_are_one_to_one(data, counted):
    rate, drop_frame = counted
    frame = data.draw(st.integers(0, COUNTS[counted][4] - 1))
    label = format_label(frame, rate, drop_frame=drop_frame)
    assert parse_label(label, rate) == (frame, drop_frame)
    assert parse_label(label.replace(";", "."), rate) == (frame, drop_frame)


@given(data=st.data(), rate=st.sampled_from(FILM_RATES))
def test_non_drop_labels_agree_with_opentimelineio(data, rate):
    # In the last minutes of a day OpenTimelineIO 0.18.1 wraps non-drop counts as if they were drop-frame.
    frame = data.draw(st.integers(0, frames_per_day(rate) * 23 // 24))
    as_float = rate.numerator / rate.denominator
    told = opentime.to_timecode(opentime.RationalTime(frame, as_float), as_float, False)
    assert format_label(frame, rate) == told


ILLEGAL = [
    # Dropped labels, by the rule above; OpenTimelineIO 0.18.1 and ffmpeg take these without a word.
    ("00:01:00;00", NTSC_30),
    ("00:01:00;01", NTSC_30),
    ("00:59:00;01", NTSC_30),
    ("00:01:00;03", NTSC_60),
    ("23:59:00.00", NTSC_60),
    # Beyond the end of hours, minutes, seconds, frames.
    ("24:00:00:00", Rate(24)),
    ("00:61:00:00", Rate(24)),
    ("00:60:00:00", Rate(24)),
    ("00:00:60:00", Rate(24)),
    ("00:00:00:24", NTSC_24),
    ("00:00:00:25", Rate(25)),
    ("00:00:00;30", NTSC_30),
    ("00:00:00:60", NTSC_60),
    # Drop-frame at a rate that has none.
    ("00:00:00;00", Rate(24)),
    ("00:00:00;00", NTSC_24),
    ("01:00:00.00", Rate(25)),
    ("01:00:00;00", Rate(30)),
    ("01:00:00;00", Rate(60)),
    # Not labels at all.
    ("", Rate(24)),
    ("1:00:00:00", Rate(24)),
    ("01:00:00", Rate(24)),
    ("01:00:00:000", Rate(60)),
    ("-01:00:00:00", Rate(24)),
    ("01:00:00:00 ", Rate(24)),
    ("01:00:00:00\n", Rate(24)),
    ("٠١:٠٠:٠٠:٠٠", Rate(24)),
    ("01;00;00;00", NTSC_30),
]


@pytest.mark.parametrize(("label", "rate"), ILLEGAL)
def test_illegal_labels_are_refused(label, rate):
    with pytest.raises(TimecodeError) as caught:
        parse_label(label, rate)
    assert caught.value.advice
    assert label.strip() in caught.value.message


@pytest.mark.parametrize(
    ("label", "rate"),
    [("00:10:00;00", NTSC_30), ("00:20:00;01", NTSC_30), ("00:01:00;02", NTSC_30), ("00:01:00;04", NTSC_60)],
)
def test_labels_beside_the_dropped_ones_are_legal(label, rate):
    frame, drop_frame = parse_label(label, rate)
    assert drop_frame
    assert format_label(frame, rate, drop_frame=True) == label


def test_the_advice_names_the_next_label_that_exists():
    with pytest.raises(TimecodeError, match="00:59:00;02"):
        parse_label("00:59:00;01", NTSC_30)
    with pytest.raises(TimecodeError, match="00:59:00;04"):
        parse_label("00:59:00;03", NTSC_60)


def test_there_is_no_label_before_zero_and_no_drop_frame_at_other_rates():
    with pytest.raises(TimecodeError):
        format_label(-1, Rate(24))
    with pytest.raises(TimecodeError):
        format_label(0, NTSC_24, drop_frame=True)
    with pytest.raises(TimecodeError):
        frames_per_day(Rate(50), drop_frame=True)


def test_lengths_are_minutes_seconds_and_frames():
    assert format_length(0, Rate(25)) == "0:00:00"
    assert format_length(1565, Rate(25)) == "1:02:15"
    assert format_length(-24, NTSC_24) == "−0:01:00"
    assert format_length(75 * 60 * 24, Rate(24)) == "75:00:00"
