"""What a voice's chain does to it, against the formulas that its filters follow."""

import dataclasses
import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from desk.film import edits
from desk.film.model import Band, Compression, VoiceChain
from desk.film.rates import SAMPLE_RATE_HZ
from desk.sound.chain import chain_filters, chained, preroll_samples, presets
from tests.film.films import small_film
from tests.sound.signals import level_db, noise, sine

PLAIN = VoiceChain(voice="v1")


def through(sound, chain, block_samples=4800):
    blocks = (sound[at : at + block_samples] for at in range(0, len(sound), block_samples))
    return np.concatenate(list(chained(blocks, chain)))


def gain_db(chain, hz, *, level=0.1):
    tone = sine(2, hz, level=level)
    return level_db(through(tone, chain)[SAMPLE_RATE_HZ:]) - level_db(tone[SAMPLE_RATE_HZ:])


def bell_db(band, hz):
    """The gain of R. Bristow-Johnson's peaking filter ("Cookbook formulae for audio EQ", public text)."""
    a = 10 ** (band.gain_db / 40)
    middle, at = (2 * np.pi * value / SAMPLE_RATE_HZ for value in (band.frequency_hz, hz))
    alpha = np.sin(middle) / (2 * band.q)
    z = np.exp(-1j * at * np.arange(3))
    up = np.array([1 + alpha * a, -2 * np.cos(middle), 1 - alpha * a])
    down = np.array([1 + alpha / a, -2 * np.cos(middle), 1 - alpha / a])
    return 20 * np.log10(abs((up @ z) / (down @ z)))


@pytest.mark.parametrize("hz", [100, 250, 300, 1000, 8000])
@pytest.mark.parametrize("gain", [-6.0, 4.5])
def test_a_bell_is_the_formula_s(hz, gain):
    band = Band(frequency_hz=300.0, gain_db=gain, q=1.4)
    chain = dataclasses.replace(PLAIN, bands=(band,))
    assert gain_db(chain, hz) == pytest.approx(bell_db(band, hz), abs=0.02)


def test_a_low_cut_is_3_db_down_at_its_frequency_and_12_db_an_octave_below():
    """A Butterworth high pass of the second order (textbook)."""
    chain = dataclasses.replace(PLAIN, low_cut_hz=120.0)
    assert gain_db(chain, 120) == pytest.approx(-3.01, abs=0.05)
    assert gain_db(chain, 30) - gain_db(chain, 15) == pytest.approx(12.0, abs=0.3)
    assert gain_db(chain, 2000) == pytest.approx(0, abs=0.01)


@pytest.mark.parametrize(("compression", "ratio"), [(Compression.GENTLE, 2), (Compression.FIRM, 4)])
def test_compression_leaves_what_is_soft_and_brings_down_what_is_loud_by_its_ratio(compression, ratio):
    chain = dataclasses.replace(PLAIN, compression=compression)
    assert gain_db(chain, 1000, level=10 ** (-50 / 20)) == pytest.approx(0, abs=0.01)
    louder, loud = (gain_db(chain, 1000, level=10 ** (level / 20)) for level in (-4, -10))
    assert louder - loud == pytest.approx(-6 * (1 - 1 / ratio), abs=0.05)
    # What it goes by is between the RMS and the peak of a tone, since it rises faster than it falls.
    assert -20 * (1 - 1 / ratio) <= loud <= -(20 - 3.02) * (1 - 1 / ratio)


def test_a_chain_does_not_delay():
    for preset in presets():
        chain = preset.chain("v1")
        click = np.zeros((9600, 2), np.float32)
        click[4801] = 0.5
        made = through(click, chain)
        assert len(made) == len(click)
        assert not made[:4801].any()
        assert made[4801, 0] == np.abs(made).max() > 0.3


CHAINS = st.builds(
    VoiceChain,
    voice=st.just("v1"),
    low_cut_hz=st.just(0.0) | st.floats(20, 400),
    bands=st.lists(
        st.builds(Band, frequency_hz=st.floats(60, 15_000), gain_db=st.floats(-24, 24), q=st.floats(0.1, 6)),
        max_size=3,
    ).map(tuple),
    compression=st.sampled_from(Compression),
)


@settings(max_examples=25)
@given(CHAINS, st.integers(0, 2 * SAMPLE_RATE_HZ), st.sampled_from([333, 4800, 20_000]))
def test_a_chain_begun_in_the_middle_gives_what_it_gives_from_the_start(chain, beyond, block_samples):
    loudness = np.random.default_rng(3).choice([0.003, 0.03, 0.3], 100)[:, None]
    early = preroll_samples(chain)
    sound = noise((early + 3 * SAMPLE_RATE_HZ) / SAMPLE_RATE_HZ, level=0.3)
    steps = np.repeat(loudness, 4800, axis=0)
    sound *= np.resize(steps, (len(sound), 1))
    whole = through(sound, chain)
    begun = through(sound[beyond:], chain, block_samples)[early:]
    off = np.abs(begun - whole[beyond + early :]).max(initial=0)
    assert off <= 10 ** (-90 / 20) * max(1.0, float(np.abs(whole).max()))


def test_narrow_low_bells_are_given_longer_to_settle():
    assert preroll_samples(PLAIN) == preroll_samples(None) == 0
    assert preroll_samples(dataclasses.replace(PLAIN, low_cut_hz=80.0)) == SAMPLE_RATE_HZ
    ringing = dataclasses.replace(PLAIN, bands=(Band(frequency_hz=20.0, gain_db=24.0, q=5.0),))
    assert preroll_samples(ringing) > 3 * SAMPLE_RATE_HZ


def test_a_chain_that_is_off_or_does_nothing_is_no_filter():
    firm = dataclasses.replace(PLAIN, compression=Compression.FIRM, low_cut_hz=80.0)
    assert len(chain_filters(firm)) == 2
    flat = dataclasses.replace(PLAIN, bands=(Band(frequency_hz=300.0, gain_db=0.0),))
    for chain in (None, PLAIN, dataclasses.replace(firm, on=False), flat):
        assert chain_filters(chain) == ()


def test_presets_are_allowed_and_differ():
    film = edits.add_voice(small_film(), "Ada").after
    voice = film.voices[-1].id
    chains = [preset.chain(voice) for preset in presets()]
    draft = next(scene.id for scene in film.scenes if not scene.lock)
    for chain in chains:
        after = edits.set_voice_chain(film, draft, chain).after
        assert after.scene(draft).content.voice_chains == (chain,)
    assert all(one != other for one, other in itertools.combinations(chains, 2))
    assert len({preset.name for preset in presets()}) == len(chains)
