"""The master on mixes of many kinds: its gain, its limits, and that stretches give what the whole would."""

import dataclasses

import numpy as np
import pyloudnorm
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from desk.film.model import Compression, Delivery
from desk.sound.limiter import Limiter
from desk.sound.loudness import measure
from desk.sound.master import (
    MOST_GAIN_DB,
    MOST_PASSES,
    OWN_VALUES,
    Found,
    Heard,
    Master,
    find_master,
    target_of,
    targets,
)
from desk.sound.stretches import LAP_SAMPLES, stretches
from tests.sound.bs1770 import in_blocks, steps, true_peak_db
from tests.sound.signals import Sound, low_noise, noise, sine


def film_mix(seconds: float = 75, seed: int = 1) -> Sound:
    """Return what a film is like: talk with pauses over music that swells, and a few blows."""
    count = round(seconds * 48_000)
    pick = np.random.default_rng(seed)
    places = np.linspace(0, count, round(2 * seconds) + 1)
    talk = np.interp(np.arange(count), places, pick.choice([0, 0.3, 0.7, 1], len(places)))
    swell = np.interp(np.arange(count), places, 10 ** (pick.uniform(-30, -8, len(places)) / 20))
    made = noise(seconds, seed=seed, level=0.12) * talk[:, None]
    made += sine(seconds, 220, level=0.4) * swell[:, None]
    for at in pick.integers(0, count - 5000, 8):
        made[at : at + 5000] += (
            pick.normal(0, 0.5, (5000, 2)) * np.exp(-np.arange(5000) / 900)[:, None]
        ).astype(np.float32)
    return made.astype(np.float32)


class Hearing:
    """Hears a mix behind masters, stretch by stretch, and counts how often."""

    def __init__(self, mix: Sound) -> None:
        self._mix = mix
        self.masters: list[Master] = []

    def __call__(self, master: Master) -> Heard:
        self.masters.append(master)
        mix = master.compressed(in_blocks(self._mix, 100_000))
        return Heard.together(Heard.of(stretch, master) for stretch in stretches(mix))


def found_for(
    mix: Sound, target: float, ceiling: float = -1.0, **options: Compression
) -> tuple[Found, Hearing]:
    hearing = Hearing(mix)
    return find_master(hearing, integrated_lufs=target, ceiling_dbtp=ceiling, **options), hearing


def mastered(mix: Sound, master: Master) -> Sound:
    """Return the whole of a mix behind a master, stretch by stretch."""
    parts = stretches(master.compressed(in_blocks(mix, 100_000)))
    return np.concatenate([master.finished(part)[0].within(0, 0).samples for part in parts])


@pytest.mark.parametrize("compression", Compression)
@pytest.mark.parametrize("target", [(-14.0, -1.0), (-23.0, -1.0), (-24.0, -2.0)], ids=str)
def test_a_mix_is_brought_to_its_target(target, compression):
    """As pyloudnorm and scipy's resampler find it: within 0.2 LU, and below the ceiling."""
    mix = film_mix(40)
    found, hearing = found_for(mix, *target, compression=compression)
    made = mastered(mix, found.master)
    assert len(made) == len(mix)
    other = pyloudnorm.Meter(48_000, filter_class="DeMan").integrated_loudness(made.astype(np.float64))
    assert other == pytest.approx(target[0], abs=0.2)
    assert measure(in_blocks(made)).integrated_lufs == pytest.approx(target[0], abs=0.15)
    assert found.reached_lufs == pytest.approx(measure(in_blocks(made)).integrated_lufs, abs=0.02)
    loudest = sorted(np.array_split(made, 40), key=lambda part: np.abs(part).max())[-8:]
    assert max(map(true_peak_db, loudest)) <= target[1]
    assert found.mix_lufs == pytest.approx(measure(in_blocks(mix)).integrated_lufs, abs=0.02)
    assert found.mix_peak == np.abs(mix).max()
    assert len(hearing.masters) <= MOST_PASSES + (compression is not Compression.OFF)
    assert round(found.master.gain_db * 10) == pytest.approx(found.master.gain_db * 10, abs=1e-9)


def test_stretches_give_the_very_samples_that_the_whole_does():
    """Limited hard, so that the limiter is at work over every seam."""
    mix = film_mix(80, seed=4)
    master = Master(gain_db=18.0, ceiling_dbtp=-1.3)
    whole = np.concatenate(list(Limiter(-1.3).through(iter([mix * np.float32(10 ** (18.0 / 20))]))))
    parts = [master.finished(part)[0] for part in stretches(in_blocks(mix, 77_777))]
    assert len(parts) == 4
    for part in parts:
        lap = part.within(LAP_SAMPLES, LAP_SAMPLES)
        first = lap.start - lap.before
        np.testing.assert_array_equal(lap.samples, whole[first : first + len(lap.samples)])
    heard = Heard.together(Heard.of(part, master) for part in stretches(in_blocks(mix, 77_777)))
    found = measure(in_blocks(whole))
    np.testing.assert_allclose(heard.momentary_lufs, found.momentary_lufs, atol=0.002)
    assert heard.integrated_lufs == pytest.approx(found.integrated_lufs, abs=0.02)
    assert Heard.from_bytes(heard.to_bytes()).to_bytes() == heard.to_bytes()


def test_where_the_limiter_has_nothing_to_do_only_the_gain_is_applied():
    mix = low_noise(20, level=0.1)
    found, hearing = found_for(mix, -23.0)
    assert found.reduction_db == 0
    assert len(hearing.masters) == 2
    np.testing.assert_array_equal(
        mastered(mix, found.master), mix * np.float32(10 ** (found.master.gain_db / 20))
    )


def test_a_small_change_leaves_the_rest_as_it_was():
    """One word a little softer: beyond it and what the limiter remembers, the same samples."""
    mix = film_mix(120)
    changed = mix.copy()
    changed[48_000:72_000] *= 0.97
    first, second = found_for(mix, -14.0)[0], found_for(changed, -14.0)[0]
    assert first.master == second.master
    one, other = mastered(mix, first.master), mastered(changed, second.master)
    different = np.flatnonzero((one != other).any(axis=1))
    assert different[0] >= 48_000 - 500
    assert different[-1] < 72_000 + 48_000


@pytest.mark.parametrize("compression", Compression)
@pytest.mark.parametrize(
    "mix", [np.zeros((0, 2)), np.zeros((100_000, 2)), np.full((60_000, 2), 1e-6)], ids=len
)
def test_a_silent_film_gets_no_gain(mix, compression):
    found, _ = found_for(mix.astype(np.float32), -14.0, compression=compression)
    assert (found.master.gain_db, found.mix_lufs, found.reached_lufs, found.reduction_db) == (
        0,
        None,
        None,
        0,
    )
    np.testing.assert_array_equal(
        mastered(mix.astype(np.float32), Master(ceiling_dbtp=-1.0)), mix.astype(np.float32)
    )


def test_the_gain_has_a_most():
    found, _ = found_for(steps((-66, 10)), -14.0)
    assert found.master.gain_db == MOST_GAIN_DB
    assert found.reached_lufs == pytest.approx(-26, abs=0.1)


def test_where_the_ceiling_does_not_allow_the_target_it_comes_near():
    """A square wave at -1 dBTP is as loud as anything can be; what is asked for is more."""
    mix = np.sign(sine(20, 300, level=0.5) + 1e-9).astype(np.float32) * np.float32(0.05)
    found, hearing = found_for(mix, 3.0)
    assert -6 < found.reached_lufs < 2.9
    assert len(hearing.masters) <= MOST_PASSES
    assert true_peak_db(mastered(mix, found.master)[: 5 * 48_000]) <= -1.0


def test_a_mix_above_full_scale_loses_nothing():
    """The gain comes before anything that has a limit: only the level is another one."""
    mix = low_noise(20, level=0.1)
    loud = mix * np.float32(16)
    assert np.abs(loud).max() > 2
    soft, found = found_for(mix, -23.0)[0], found_for(loud, -23.0)[0]
    assert found.reduction_db == 0
    assert found.mix_peak == np.abs(loud).max()
    difference = mastered(loud, found.master) - mastered(mix, soft.master)
    assert np.abs(difference).max() < 0.01 * np.abs(mastered(mix, soft.master)).max()


@pytest.mark.parametrize(("compression", "ratio"), [(Compression.GENTLE, 1.5), (Compression.FIRM, 3.0)])
def test_compressors_bring_loud_and_soft_together(compression, ratio):
    """Two tones 12 dB apart, both above the bend: their distance is divided by the ratio."""
    mix = steps((-60, 20), (-12, 2), (-24, 2), (-12, 2), (-24, 2))
    master = Master(compression=compression, threshold_db=-40.0)
    made = np.concatenate(list(master.compressed(in_blocks(mix))))
    assert len(made) == len(mix)
    levels = [measure([made[at - 48_000 : at]]).integrated_lufs for at in (22 * 48_000, 24 * 48_000)]
    assert levels[0] - levels[1] == pytest.approx(12 / ratio, abs=0.3)


def test_a_compressor_begins_at_the_loudness_of_the_mix():
    """So a soft mix is compressed as a loud one, and the range of both becomes as much less."""
    mix = film_mix()
    ranges = []
    for gain in (1.0, 0.1):
        found, _ = found_for((mix * np.float32(gain)).astype(np.float32), -23.0, compression=Compression.FIRM)
        assert found.master.threshold_db == round(found.mix_lufs - 4)
        ranges.append(measure(in_blocks(mastered(mix * np.float32(gain), found.master))).range_lu)
    assert ranges[0] == pytest.approx(ranges[1], abs=0.3)
    assert ranges[0] < measure(in_blocks(mix)).range_lu - 1


def test_targets_in_common_use():
    """EBU R 128 v5.0: -23 LUFS, -1 dBTP. ATSC A/85:2013: -24 LKFS, -2 dBTP. Online: common practice."""
    numbers = {one.name: (one.integrated_lufs, one.true_peak_dbtp) for one in targets()}
    assert numbers == {"online": (-14, -1), "EBU R 128": (-23, -1), "ATSC A/85": (-24, -2)}
    assert target_of(Delivery()).name == "online"
    assert target_of(Delivery(integrated_lufs=-24.0, true_peak_dbtp=-2.0)).name == "ATSC A/85"
    own = target_of(Delivery(integrated_lufs=-16.0, true_peak_dbtp=-1.5))
    assert (own.name, own.integrated_lufs, own.true_peak_dbtp) == (OWN_VALUES, -16.0, -1.5)


@settings(max_examples=50, deadline=None)
@given(
    st.floats(-60, 0),
    st.floats(-40, -5),
    st.floats(0, 1),
    st.sampled_from([Compression.OFF, Compression.FIRM]),
)
def test_finding_the_gain_ends_whatever_is_heard(mix_lufs, target, taken, compression):
    """With a limiter that takes any part of a dB away, it measures a few times and takes what is nearest."""
    asked: list[Master] = []

    def heard(master: Master) -> Heard:
        asked.append(master)
        above = max(0.0, mix_lufs + master.gain_db + 20) if master.ceiling_dbtp is not None else 0.0
        level = mix_lufs + master.gain_db - taken * above
        return Heard(
            momentary_lufs=np.full(10, level, np.float32), sample_peak=0.5, reduction_db=taken * above
        )

    found = find_master(heard, integrated_lufs=target, ceiling_dbtp=-1, compression=compression)
    assert len(asked) <= MOST_PASSES + 1
    assert found.master.gain_db <= MOST_GAIN_DB
    tried = [heard(master).integrated_lufs for master in tuple(asked) if master.ceiling_dbtp is not None]
    assert found.reached_lufs == pytest.approx(min(tried, key=lambda one: abs(one - target)), abs=0.02)
    most = Master(gain_db=MOST_GAIN_DB, ceiling_dbtp=-1)
    if taken < 0.5 and heard(most).integrated_lufs > target:
        assert found.reached_lufs == pytest.approx(target, abs=0.11)


def test_what_is_broken_off_is_no_measurement():
    with pytest.raises(ValueError, match="breaks off"):
        Heard.from_bytes(b"abcd")
    assert dataclasses.is_dataclass(Heard)
