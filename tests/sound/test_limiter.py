"""The limiter: a true peak that other resamplers find below the ceiling, and all else left alone.

True peaks are found by scipy's `resample_poly` at 16 times the rate and by FFmpeg's `ebur128`, neither of
which shares anything with the limiter.
"""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from desk.sound.limiter import LOOK_AHEAD_SECONDS, MARGIN_DB, RELEASE_DB_PER_SECOND, Limiter
from desk.sound.loudness import measure
from tests.sound.bs1770 import PEAK_TONES, in_blocks, peak_tone, true_peak_db
from tests.sound.signals import Sound, low_noise, noise, sine

CEILING = -1.0


def limited(sound: Sound, ceiling: float = CEILING, size: int = 4800) -> Sound:
    return np.concatenate([np.zeros((0, 2), np.float32), *Limiter(ceiling).through(in_blocks(sound, size))])


def faded(sound: Sound) -> Sound:
    """Return a sound without hard edges, whose overshoot meters do not agree on."""
    fade = np.clip(np.minimum(np.arange(len(sound)), np.arange(len(sound))[::-1]) / 480, 0, 1)
    return (sound * fade[:, None]).astype(np.float32)


def drums(*, clipped_at: float) -> Sound:
    """Return bursts that start at once, die away, and are cut flat as by an input that was too hot."""
    made = np.zeros((96_000, 2))
    pick = np.random.default_rng(3)
    for start in range(1000, 90_000, 9_001):
        burst = pick.normal(0, 3, (6000, 2)) * np.exp(-np.arange(6000) / 700)[:, None]
        thump = 2.5 * np.sin(2 * np.pi * 70 * np.arange(6000) / 48_000) * np.exp(-np.arange(6000) / 2500)
        made[start : start + 6000] += burst[: 96_000 - start] + thump[: 96_000 - start, None]
    return np.clip(made, -clipped_at, clipped_at).astype(np.float32)


def clicks() -> Sound:
    made = np.zeros((48_000, 2), np.float32)
    made[[700, 20_000, 20_001, 47_500], 0] = (2, 3, -3, 2)
    made[20_100, 1] = -4
    return made


LOUD = {
    **{case: 2 * peak_tone(*tone) for case, tone in PEAK_TONES.items()},
    "noise": faded(12 * low_noise(2)),
    "white noise": faded(noise(2, level=0.5) * 2),
    "drums": drums(clipped_at=1.0),
    "hot drums": drums(clipped_at=2.0),
    "clicks": clicks(),
    "bass": faded(sine(2, 41.2, level=1.8)),
    "treble": faded(sine(2, 19_997, level=1.8)),
    "swell": faded(sine(2, 440) * np.linspace(0, 4, 96_000)[:, None]),
}
"""The tones of EBU Tech 3341 v4, cases 15 to 19, 6 dB louder; and what is hard on a limiter."""


@pytest.mark.parametrize("ceiling", [-1.0, -6.0, 0.0])
@pytest.mark.parametrize("name", LOUD)
def test_the_true_peak_is_below_the_ceiling(name, ceiling):
    sound = LOUD[name]
    assert true_peak_db(sound) > ceiling
    made = limited(sound, ceiling)
    assert len(made) == len(sound)
    # White noise up to the last Hz is no sound that was ever recorded, and resamplers differ about it.
    most = ceiling + (0.1 if name == "white noise" else 0)
    assert true_peak_db(made) <= most
    assert measure(in_blocks(made)).true_peak_dbtp <= most


@pytest.mark.parametrize("name", ["3341-15", "3341-16", "3341-17", "3341-18", "3341-19", "treble", "bass"])
def test_a_steady_tone_goes_down_no_further_than_it_has_to(name):
    """Its peak ends up at the ceiling, less the margin and what lies between the places looked at."""
    assert true_peak_db(limited(LOUD[name])) == pytest.approx(CEILING - MARGIN_DB, abs=0.15)


@pytest.mark.parametrize("size", [1, 777, 48_000])
def test_what_is_below_the_ceiling_passes_bit_by_bit(size):
    sound = faded(noise(1, level=0.15))[: 3000 if size == 1 else None]
    assert true_peak_db(sound) < CEILING - MARGIN_DB
    limiter = Limiter(CEILING)
    made = np.concatenate(list(limiter.through(in_blocks(sound, size))))
    np.testing.assert_array_equal(made, sound)
    assert limiter.most_reduction_db == 0


def test_all_but_what_is_near_a_peak_passes_bit_by_bit():
    """5 ms before it, and after it for as long as a slope of 40 dB a second takes to be back."""
    sound = low_noise(2, level=0.05)
    sound[50_000:50_010] += 1.2
    limiter = Limiter(CEILING)
    made = np.concatenate(list(limiter.through(in_blocks(sound))))
    reduction = limiter.most_reduction_db
    assert 1 < reduction < 6
    changed = np.flatnonzero((made != sound).any(axis=1))
    before = LOOK_AHEAD_SECONDS * 48_000
    after = reduction / RELEASE_DB_PER_SECOND * 48_000 + before
    assert 50_000 - before - 60 <= changed[0] < 50_000
    assert 50_010 < changed[-1] <= 50_010 + after + 60
    gains = 20 * np.log10(made[changed, 0] / sound[changed, 0])
    assert gains.min() == pytest.approx(-reduction, abs=0.01)


def test_both_channels_go_down_as_one():
    """So that the picture between the loudspeakers stays where it is."""
    sound = low_noise(1, level=0.1)
    sound[:, 0] *= 8
    made = limited(sound)
    clear = np.abs(sound[:, 1]) > 0.05
    left, right = (made[clear, side] / sound[clear, side] for side in (0, 1))
    heard = np.abs(sound[clear, 0]) > 0.05
    assert left[heard].min() < 0.9
    np.testing.assert_allclose(left[heard], right[heard], rtol=1e-5)


def test_the_release_is_a_slope():
    """A burst, then a steady tone whose gain is seen to come back at 40 dB a second."""
    sound = sine(2, 2000, level=0.2)
    sound[48_000:48_480] *= 20
    made = limited(sound)
    peaks = 20 * np.log10(np.abs(made[48_960:, 0]).reshape(-1, 480).max(axis=1) / 0.2)
    climbing = peaks[peaks < -0.5]
    assert len(climbing) > 20
    assert np.diff(climbing) == pytest.approx(RELEASE_DB_PER_SECOND / 100, abs=0.02)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.integers(0, 20_000), max_size=15), st.sampled_from(["drums", "noise", "clicks"]))
def test_the_result_does_not_depend_on_how_blocks_are_cut(sizes, name):
    sound = LOUD[name][:60_000]
    cuts = np.minimum(np.cumsum([0, *sizes]), len(sound))
    parts = [sound[low:high] for low, high in zip(cuts, [*cuts[1:], len(sound)], strict=True)]
    made = np.concatenate(list(Limiter(CEILING).through(iter(parts))))
    np.testing.assert_array_equal(made, limited(sound))


@pytest.mark.parametrize("samples", [0, 1, 287, 288, 8191, 8192, 8193, 16_384 - 288, 16_384])
def test_any_length_stays_as_long_as_it_was(samples):
    sound = noise(0.4, level=0.8)[:samples]
    made = limited(sound)
    assert len(made) == samples
    if samples > 400:
        assert true_peak_db(faded(made)) <= CEILING
