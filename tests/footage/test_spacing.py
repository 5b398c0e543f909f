"""Rates told from times, where the clock is coarser than the rate."""

import random
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from desk.footage.spacing import STANDARD_RATES, find_rate

TIME_BASES = [Fraction(1, 1000), Fraction(1, 90_000), Fraction(1, 600), Fraction(1, 1_000_000_000)]
NTSC = [Fraction(whole * 1000, 1001) for whole in (24, 30, 60, 120)]


def places(rate: Fraction, time_base: Fraction, frames: int, start: int = 0) -> list[int]:
    """Return the times of frames as a container rounds them."""
    step = 1 / (rate * time_base)
    count, ticks = step.denominator, step.numerator
    return [start + (2 * index * ticks + count) // (2 * count) for index in range(frames)]


@given(
    st.sampled_from(STANDARD_RATES),
    st.sampled_from(TIME_BASES),
    st.integers(-200_000, 10**12),
    st.integers(2500, 4000),
)
def test_rounded_times_of_a_standard_rate_give_it_back(
    rate: Fraction, time_base: Fraction, start: int, frames: int
) -> None:
    assert find_rate(places(rate, time_base, frames, start), time_base) == rate


@pytest.mark.parametrize("rate", NTSC)
@pytest.mark.parametrize("time_base", TIME_BASES)
def test_three_hours(rate: Fraction, time_base: Fraction) -> None:
    frames = int(10_800 * rate)
    assert find_rate(places(rate, time_base, frames), time_base) == rate


@pytest.mark.parametrize(
    ("stated", "rate"), [(Fraction(24), Fraction(24)), (Fraction(24000, 1001), Fraction(24000, 1001))]
)
def test_what_a_file_states_decides_where_both_fit(stated: Fraction, rate: Fraction) -> None:
    times = places(rate, Fraction(1, 1000), 10)
    assert find_rate(times, Fraction(1, 1000), [stated]) == rate
    # A statement that does not fit the times is nothing.
    assert find_rate(times, Fraction(1, 1000), [Fraction(1000), stated]) == rate


@pytest.mark.parametrize(
    ("rate", "time_base", "expected"),
    [
        # 2997/100 stands for 30000/1001 as long as no frame tells them apart.
        (Fraction(2997, 100), Fraction(1, 2997), Fraction(30000, 1001)),
        (Fraction(2398, 100), Fraction(1, 2398), Fraction(2398, 100)),
        (Fraction(22), Fraction(1, 1000), Fraction(22)),
        (Fraction(7, 3), Fraction(1, 90_000), Fraction(7, 3)),
    ],
)
def test_other_rates(rate: Fraction, time_base: Fraction, expected: Fraction) -> None:
    assert find_rate(places(rate, time_base, 100), time_base) == expected


def test_times_once_kept_in_milliseconds() -> None:
    times = [place * 90 for place in places(Fraction(30000, 1001), Fraction(1, 1000), 400)]
    assert find_rate(times, Fraction(1, 90_000)) == Fraction(30000, 1001)


@pytest.mark.parametrize("time_base", TIME_BASES)
def test_one_frame_missing_is_variable(time_base: Fraction) -> None:
    times = places(Fraction(25), time_base, 300)
    del times[150]
    assert find_rate(times, time_base) is None


@given(st.integers(0, 2**32))
def test_jitter_beyond_the_clock_is_variable(seed: int) -> None:
    rng = random.Random(seed)
    times = [place + rng.randint(-300, 300) for place in places(Fraction(30), Fraction(1, 90_000), 200)]
    assert find_rate(sorted(times), Fraction(1, 90_000)) is None


@given(st.lists(st.integers(1, 400), min_size=1, max_size=40))
def test_a_rate_is_only_told_where_every_frame_is_in_its_place(steps: list[int]) -> None:
    times = [0]
    for step in steps:
        times.append(times[-1] + step)
    rate = find_rate(times, Fraction(1, 1000))
    if rate is not None:
        assert all(abs(time - index / rate * 1000) <= 1 for index, time in enumerate(times))


def test_frames_at_one_time_do_no_harm() -> None:
    find_rate([5, 5, 5], Fraction(1, 1000))
