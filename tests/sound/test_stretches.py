"""A film's sound in stretches: nothing is lost, and work on each gives what work on the whole would."""

import itertools

import numpy as np
import pytest

from desk.sound.aac import PACKET_SAMPLES
from desk.sound.stretches import LAP_SAMPLES, LEAD_SAMPLES, STRETCH_PACKETS, stretches
from tests.sound.signals import noise

LENGTH = 50 * PACKET_SAMPLES


def in_blocks(sound, size):
    return (sound[at : at + size] for at in range(0, len(sound), size))


@pytest.mark.parametrize("block", [1000, 48_000, 10_000_000])
@pytest.mark.parametrize("samples", [0, 1, LENGTH, LENGTH + LAP_SAMPLES, LENGTH + LAP_SAMPLES + 1, 300_000])
def test_stretches_cover_everything_with_what_is_around(block, samples):
    sound = np.arange(2 * samples, dtype=np.float32).reshape(-1, 2)
    found = list(stretches(in_blocks(sound, block), 50))
    at = 0
    for stretch in found:
        assert stretch.start == at
        first = stretch.start - stretch.before
        np.testing.assert_array_equal(stretch.samples, sound[first : first + len(stretch.samples)])
        assert stretch.before >= min(at, LAP_SAMPLES, LEAD_SAMPLES)
        at += stretch.length
        assert stretch.after >= min(LAP_SAMPLES, samples - at)
    assert at == samples
    assert all(stretch.length == LENGTH for stretch in found[:-1])
    # The encoder needs two laps to join parts, and a little more at the end.
    assert len(found) == 1 or found[-1].length > LAP_SAMPLES


def test_a_stretch_with_less_around_it():
    sound = noise(4)
    for stretch in stretches(in_blocks(sound, 7000), 50):
        part = stretch.within(300, 200)
        first = max(0, stretch.start - 300)
        end = min(len(sound), stretch.start + stretch.length + 200)
        np.testing.assert_array_equal(part.samples, sound[first:end])
        assert (part.start, part.length, part.before) == (
            stretch.start,
            stretch.length,
            stretch.start - first,
        )
        np.testing.assert_array_equal(
            stretch.within(0, 0).samples, sound[stretch.start : stretch.start + stretch.length]
        )


def test_a_stretch_is_named_by_all_that_is_made_of_it():
    """Moved by whole stretches it keeps its name; one sample of what is around it changes that."""
    one = noise(8)
    moved = np.concatenate([noise(LENGTH / 48_000, seed=5), one])
    names, names_moved = ([item.digest() for item in stretches(in_blocks(s, 9999), 50)] for s in (one, moved))
    shared = set(names) & set(names_moved)
    assert len(shared) == len(names) - 2  # the first two have something before them now
    changed = one.copy()
    changed[2 * LENGTH] += 0.1
    again = [item.digest() for item in stretches(in_blocks(changed, 9999), 50)]
    different = [index for index, (a, b) in enumerate(zip(names, again, strict=True)) if a != b]
    assert different == [1, 2, 3]
    assert all(a != b for a, b in itertools.combinations(names, 2))


def test_stretches_begin_on_packets_and_steps_and_frames():
    assert STRETCH_PACKETS * PACKET_SAMPLES % 4800 == 0
    assert STRETCH_PACKETS * PACKET_SAMPLES % 8192 == 0
