"""Loudness against the published test signals, a reading of BS.1770 of its own, and pyloudnorm.

EBU Tech 3341 and 3342 v4 (2023), read at second hand; their signals are made here from their words.
Those that are recorded programmes (3341-7 and 8) can't be made.
"""

import dataclasses
from fractions import Fraction

import numpy as np
import pyloudnorm
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from desk.film.rates import SAMPLE_RATE_HZ
from desk.footage.probe import probe
from desk.jobs import Cancelled, CancelToken
from desk.sound.loudness import (
    Loudness,
    Meter,
    integrated,
    loudness_key,
    measure,
    measure_file,
    within,
)
from desk.sound.loudness_files import LoudnessFiles
from desk.sound.reading import read_sound
from tests.making import make_numbered
from tests.sound.bs1770 import (
    PEAK_TONES,
    block_levels,
    gated_level,
    in_blocks,
    k_weighted,
    loudness_range,
    peak_tone,
    steps,
    true_peak_db,
)
from tests.sound.signals import noise, sine, write_sound


def film_like(seconds: float, seed: int = 1) -> np.ndarray:
    """Return noise whose level wanders by some 30 dB, with silences."""
    count = round(seconds * SAMPLE_RATE_HZ)
    pick = np.random.default_rng(seed)
    ends = np.linspace(0, count, round(seconds) + 1)
    gains = np.interp(np.arange(count), ends, 10 ** (pick.uniform(-30, 0, len(ends)) / 20))
    gains[count // 3 : count // 2] = 0
    return (noise(seconds, seed=seed) * gains[:, None]).astype(np.float32)


# -- published signals


@pytest.mark.parametrize(
    ("levels", "wanted"),
    [
        (((-23, 20),), -23),
        (((-33, 20),), -33),
        (((-36, 10), (-23, 60), (-36, 10)), -23),
        (((-72, 10), (-36, 10), (-23, 60), (-36, 10), (-72, 10)), -23),
        (((-26, 20), (-20, 20.1), (-26, 20)), -23),
    ],
    ids=["3341-1", "3341-2", "3341-3", "3341-4", "3341-5"],
)
def test_integrated_loudness_of_tech_3341(levels, wanted):
    """EBU Tech 3341 v4, table 1, cases 1 to 5: within 0.1 LU."""
    found = measure(in_blocks(steps(*levels)))
    assert found.integrated_lufs == pytest.approx(wanted, abs=0.1)
    if len(levels) == 1:
        assert found.momentary_lufs[3:] == pytest.approx(wanted, abs=0.1)
        assert found.short_term_lufs[29:] == pytest.approx(wanted, abs=0.1)


def test_surround_channels_weigh_more():
    """EBU Tech 3341 v4, case 6: left and right -28, centre -24, surrounds -30 dBFS."""
    sound = np.concatenate([steps((db, 20))[:, :1] for db in (-28, -28, -24, -30, -30)], axis=1)
    assert measure(in_blocks(sound), layout="5.0(side)").integrated_lufs == pytest.approx(-23, abs=0.1)


def test_short_term_loudness_stands_still():
    """EBU Tech 3341 v4, case 9: from the third second on."""
    found = measure(in_blocks(steps(*((-20, 1.34), (-30, 1.66)) * 5)))
    assert found.short_term_lufs[29:] == pytest.approx(-23, abs=0.1)


def test_momentary_loudness_stands_still():
    """EBU Tech 3341 v4, case 12: from the first second on."""
    found = measure(in_blocks(steps(*((-20, 0.18), (-30, 0.22)) * 25)))
    assert found.momentary_lufs[9:] == pytest.approx(-23, abs=0.1)


@pytest.mark.parametrize("number", range(20))
def test_the_highest_short_term_and_momentary_loudness(number):
    """EBU Tech 3341 v4, cases 10 and 13: however the tone lies against the steps of 100 ms."""
    three_seconds = steps((-23, 3), lead_seconds=number * 0.15, tail_seconds=1)
    assert measure(in_blocks(three_seconds)).short_term_lufs.max() == pytest.approx(-23, abs=0.1)
    short = steps((-23, 0.4), lead_seconds=number * 0.02, tail_seconds=1)
    found = measure(in_blocks(short))
    # A tone between two steps fills no block of ours whole: EBU asks it of a meter that looks more often.
    share = 1 - min(number * 0.02 % 0.1, 0.1 - number * 0.02 % 0.1) / 0.4
    assert found.momentary_lufs.max() == pytest.approx(-23 + 10 * np.log10(share), abs=0.1)


@pytest.mark.parametrize(("case", "wanted"), [*((f"3341-{n}", -6) for n in range(15, 19)), ("3341-19", 3)])
def test_true_peaks_of_tech_3341(case, wanted):
    """EBU Tech 3341 v4, cases 15 to 19: between 0.4 dB below and 0.2 dB above."""
    sound = peak_tone(*PEAK_TONES[case])
    found = measure(in_blocks(sound))
    assert wanted - 0.4 <= found.true_peak_dbtp <= wanted + 0.2
    assert found.sample_peak_dbfs == pytest.approx(20 * np.log10(np.abs(sound).max()), abs=1e-4)
    assert found.true_peak_dbtp >= found.sample_peak_dbfs


@pytest.mark.parametrize(
    ("levels", "wanted"),
    [((-20, -30), 10), ((-20, -15), 5), ((-40, -20), 20), ((-50, -35, -20, -35, -50), 15)],
    ids=["3342-1", "3342-2", "3342-3", "3342-4"],
)
def test_loudness_range_of_tech_3342(levels, wanted):
    """EBU Tech 3342 v4, table 1, cases 1 to 4: within 1 LU."""
    sound = steps(*((db, 20) for db in levels))
    found = measure(in_blocks(sound))
    assert found.range_lu == pytest.approx(wanted, abs=1)
    assert found.range_lu == pytest.approx(loudness_range(sound), abs=0.2)


def test_one_channel_at_997_hz_full_scale():
    """ITU-R BS.1770-4, annex 1: "a 0 dB FS, 997 Hz sine wave … one input … -3.01 LKFS"."""
    sound = steps((0, 10), hz=997)
    sound[:, 1] = 0
    assert measure(in_blocks(sound)).integrated_lufs == pytest.approx(-3.01, abs=0.1)


def test_below_the_absolute_gate_nothing_counts():
    """-65 for 10 s and -72 for 10 s are -65.0, and would be -67.2 without the gate (computed by hand)."""
    assert measure(in_blocks(steps((-65, 10), (-72, 10)))).integrated_lufs == pytest.approx(-65, abs=0.1)


# -- second opinions


@pytest.mark.parametrize("seed", [1, 2])
def test_as_the_formulas_and_another_program_find_it(seed):
    """Our own reading of BS.1770-4 within 0.02 LU, pyloudnorm within 0.1 LU."""
    sound = film_like(40, seed)
    found = measure(in_blocks(sound))
    levels = block_levels(sound, 0.4)
    assert found.integrated_lufs == pytest.approx(gated_level(levels), abs=0.02)
    other = pyloudnorm.Meter(SAMPLE_RATE_HZ, filter_class="DeMan").integrated_loudness(
        sound.astype(np.float64)
    )
    assert found.integrated_lufs == pytest.approx(other, abs=0.1)
    heard = levels > -80
    assert found.momentary_lufs[3:][heard] == pytest.approx(levels[heard], abs=0.05)
    assert found.range_lu == pytest.approx(loudness_range(sound), abs=0.5)
    part = sound[:100_000]
    assert measure(in_blocks(part)).true_peak_dbtp == pytest.approx(true_peak_db(part), abs=0.3)
    loudest = found.loudest_seconds
    assert loudest == pytest.approx(0.2 + 0.1 * int(np.argmax(levels)), abs=1e-6)


def test_integrated_loudness_of_a_stretch_from_the_momentary_values():
    """Its blocks of 400 ms that lie in it whole are those that BS.1770 asks for."""
    sound = film_like(30, 5)
    found = measure(in_blocks(sound))
    assert integrated(found.momentary_lufs) == pytest.approx(found.integrated_lufs, abs=0.02)
    for start, end in ((0, 4), (3.3, 7.9), (17, 30), (17.04, 29.96)):
        first, last = -(-round(start * 1000) // 100), round(end * 1000) // 100
        part = k_weighted(sound)[first * 4800 : last * 4800]
        squares = np.square(part).sum(axis=1)
        sums = np.concatenate([[0], np.cumsum(squares)])
        places = np.arange(0, len(part) - 19_200 + 1, 4800)
        levels = -0.691 + 10 * np.log10((sums[places + 19_200] - sums[places]).clip(1e-20) / 19_200)
        assert integrated(within(found.momentary_lufs, start, end)) == pytest.approx(
            gated_level(levels), abs=0.02
        )
    assert integrated(within(found.momentary_lufs, 10.5, 14)) is None
    assert len(within(found.momentary_lufs, 2, 2.39)) == 0


def test_quiet_peaks_are_no_lower_than_the_samples():
    """FFmpeg tells peaks to three digits, which is coarse for what is quiet."""
    for level in (0.05, 0.004, 0.0004):
        sound = sine(1, 1000, level=level)
        found = measure(in_blocks(sound))
        assert found.sample_peak_dbfs == pytest.approx(20 * np.log10(level), abs=0.01)
        assert found.sample_peak_dbfs <= found.true_peak_dbtp <= 20 * np.log10(level + 0.0006)


def test_a_peak_in_the_very_last_samples_counts():
    sound = np.zeros((48_000 + 1234, 2), np.float32)
    sound[-1] = 0.8
    assert measure(in_blocks(sound)).true_peak_dbtp >= 20 * np.log10(0.8)
    sound = np.concatenate([np.zeros((4700, 2), np.float32), peak_tone(4, 0.7, 45, seconds=0.06)])
    assert measure(in_blocks(sound)).true_peak_dbtp == pytest.approx(20 * np.log10(0.7), abs=0.3)


# -- short, silent and none


@pytest.mark.parametrize("samples", [0, 1, 4_799, 4_800, 19_152])
def test_what_is_shorter_than_a_block_has_no_loudness(samples):
    """399 ms hold no block of 400 ms (BS.1770-4, annex 1)."""
    sound = np.full((samples, 2), 0.5, np.float32)
    found = measure(in_blocks(sound))
    assert found.integrated_lufs is None
    assert found.loudest_seconds is None
    assert (found.sample_peak_dbfs is None) == (samples == 0)
    assert len(found.momentary_lufs) == len(found.short_term_lufs) == samples // 4800


def test_silence_has_no_loudness():
    found = measure(in_blocks(np.zeros((100_000, 2), np.float32)))
    assert (found.integrated_lufs, found.true_peak_dbtp, found.range_lu) == (None, None, 0)


@settings(max_examples=30, deadline=None)
@given(st.lists(st.integers(0, 30_000), max_size=12))
def test_what_is_measured_goes_on_as_it_was(sizes):
    """Every sample once, in order; and the same is found however blocks are cut."""
    sound = noise(2.3, level=0.2)
    cuts = np.cumsum([0, *sizes])
    parts = [sound[low:high] for low, high in zip(cuts, [*cuts[1:], len(sound)], strict=True)]
    meter = Meter()
    passed = list(meter.through(iter(parts)))
    np.testing.assert_array_equal(np.concatenate(passed), sound)
    assert meter.result().to_bytes() == measure([sound]).to_bytes()


# -- files


def test_a_file_is_measured_as_it_is_heard(tmp_path):
    """A single channel is heard on both sides; second 0 is the first picture."""
    mono = steps((-26, 6))[:, :1]
    path = write_sound(tmp_path / "mono.wav", mono)
    facts = probe(path)
    told = []
    found = measure_file(path, facts, progress=told.append)
    assert found.integrated_lufs == pytest.approx(-26, abs=0.1)
    assert (
        found.to_bytes()
        == measure(read_sound(path, facts, in_seconds=Fraction(0), samples=len(mono))).to_bytes()
    )
    assert told[-1].fraction == 1
    assert all(report.stage == "loudness" for report in told)
    cancel = CancelToken()
    cancel.set()
    with pytest.raises(Cancelled):
        measure_file(path, facts, cancel=cancel)


def test_a_file_without_sound_has_no_loudness(tmp_path):
    path = make_numbered(tmp_path / "silent.mp4", frames=10)
    assert measure_file(path, probe(path)).integrated_lufs is None


def test_what_was_measured_is_kept_and_found(tmp_path):
    found = measure(in_blocks(film_like(5)))
    files = LoudnessFiles(tmp_path)
    assert files.find("a") is None
    files.keep("a", found)
    again = LoudnessFiles(tmp_path).find("a")
    assert again.to_bytes() == found.to_bytes()
    for field in ("integrated_lufs", "range_lu", "true_peak_dbtp", "sample_peak_dbfs"):
        assert getattr(again, field) == getattr(found, field)
    silent = measure([])
    files.keep("b", silent)
    assert files.find("b").integrated_lufs is None
    assert files.find("b").true_peak_dbtp is None


def test_a_damaged_measurement_is_not_used(tmp_path):
    files = LoudnessFiles(tmp_path)
    files.keep("a", measure(in_blocks(film_like(2))))
    (path,) = (tmp_path / ".desk" / "loudness").iterdir()
    data = path.read_bytes()
    for spoilt in (data[:-5], b"", b"other" + data[5:], data[:40] + bytes([data[40] ^ 1]) + data[41:]):
        path.write_bytes(spoilt)
        assert files.find("a") is None
    for spoilt in (b"", b"lou", data[:-4] + b"more"):
        with pytest.raises(ValueError, match="measurement"):
            Loudness.from_bytes(spoilt)


def test_where_the_disk_refuses_nothing_is_kept(tmp_path):
    (tmp_path / ".desk").write_text("a file where a folder is needed")
    files = LoudnessFiles(tmp_path)
    files.keep("a", measure([]))
    assert files.find("a") is None


def test_another_file_has_another_name(tmp_path):
    facts = probe(write_sound(tmp_path / "one.wav", noise(1)))
    assert loudness_key(facts) == loudness_key(dataclasses.replace(facts, camera="x"))
    for changed in ({"sample_hash": "0" * 32}, {"modified_ns": 1}):
        assert loudness_key(dataclasses.replace(facts, **changed)) != loudness_key(facts)
