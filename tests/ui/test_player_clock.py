"""The clock that playing goes by, and the order in which frames are played, worked out in exact fractions."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from desk.film.rates import FILM_RATES, SAMPLE_RATE_HZ, Rate
from desk.ui.viewer.clock import MachineClock, SoundClock
from desk.ui.viewer.course import Course


class Lumps:
    """A device that counts what it has played in lumps, by a clock of its own, and may stand still."""

    is_lost = False

    def __init__(self, now, *, lump_seconds, pace, stands_from=float("inf")):
        self._now, self._lump, self._pace, self._stands_from = now, lump_seconds, pace, stands_from

    @property
    def true_samples(self):
        return min(self._now(), self._stands_from) * self._pace * SAMPLE_RATE_HZ

    @property
    def heard_samples(self):
        lump = self._lump * SAMPLE_RATE_HZ
        return int(self.true_samples // lump * lump)


@pytest.mark.parametrize("pace", [1.0, 1.0005, 0.9995, 1.01, 0.99])
@pytest.mark.parametrize("lump_seconds", [0.005, 0.01, 0.023])
def test_a_sound_clock_stays_with_the_device_for_minutes(pace, lump_seconds):
    """Ten minutes of ticks 8 ms apart: never a frame away, never back, smoother than the device counts."""
    seconds = 0.0
    device = Lumps(lambda: seconds, lump_seconds=lump_seconds, pace=pace)
    clock = SoundClock(device, lambda: seconds)
    told, off, steps = 0, [], []
    for tick in range(75_000):
        seconds = tick * 0.008
        before, told = told, clock.samples()
        assert told >= before
        steps.append(told - before)
        off.append(told - device.true_samples)
    assert max(map(abs, off)) < 0.03 * SAMPLE_RATE_HZ
    settled = steps[1000:]
    assert max(settled) < 1.6 * 0.008 * SAMPLE_RATE_HZ
    assert min(settled) > 0.4 * 0.008 * SAMPLE_RATE_HZ


def test_before_anything_is_heard_no_time_passes():
    seconds = 0.0
    device = Lumps(lambda: max(0.0, seconds - 1), lump_seconds=0.01, pace=1.0)
    clock = SoundClock(device, lambda: seconds)
    for tick in range(100):
        seconds = tick * 0.01
        assert clock.samples() == 0
    seconds = 2.0
    assert clock.samples() == pytest.approx(SAMPLE_RATE_HZ, abs=500)


def test_a_device_that_stands_still_holds_the_picture():
    seconds = 0.0
    device = Lumps(lambda: seconds, lump_seconds=0.01, pace=1.0, stands_from=3.0)
    clock = SoundClock(device, lambda: seconds)
    for tick in range(1000):
        seconds = tick * 0.01
        clock.samples()
    assert clock.samples() <= 3.06 * SAMPLE_RATE_HZ


def test_the_machine_s_clock_counts_samples():
    seconds = 100.0
    clock = MachineClock(4800, lambda: seconds)
    assert clock.samples() == pytest.approx(4800, abs=1)
    seconds = 100.5
    assert clock.samples() == pytest.approx(4800 + 24_000, abs=1)


courses = st.builds(
    lambda rate, start, length, into: Course(
        rate=rate,
        start=start,
        end=start + length,
        again=None if into is None else max(0, start + length - into),
    ),
    st.sampled_from(FILM_RATES),
    st.integers(0, 5000),
    st.integers(1, 400),
    st.none() | st.integers(1, 300),
)


@given(courses, st.integers(0, 2000))
def test_each_step_begins_on_the_sample_of_its_frame(course, step):
    """A step is on from its own sample to the one before the next; frames follow by the rule."""
    if course.steps is not None:
        step %= course.steps
    sample = course.sample(step)
    assert course.step(sample) == step
    assert course.step(course.sample(step + 1) - 1) == step
    seconds = Fraction(sample, SAMPLE_RATE_HZ)
    first_pass = course.end - course.start
    if step < first_pass or course.again is None:
        assert course.frame(step) == course.start + step
        assert abs(seconds - course.rate.seconds(step)) <= Fraction(1, SAMPLE_RATE_HZ)
    else:
        assert course.again <= course.frame(step) < course.end
        assert course.frame(step) == course.again + (step - first_pass) % (course.end - course.again)


def test_a_course_without_frames_is_our_own_mistake():
    with pytest.raises(ValueError, match="nothing is played"):
        Course(rate=Rate(25), start=5, end=5)
    with pytest.raises(ValueError, match="nothing is played"):
        Course(rate=Rate(25), start=2, end=5, again=5)
