"""The drawn response against FFmpeg's filters themselves, and against scipy's transfer functions."""

import numpy as np
import pytest
from scipy import signal

from desk.film.model import Band, Compression, VoiceChain
from desk.film.rates import SAMPLE_RATE_HZ
from desk.sound.chain import chained, presets
from desk.sound.response import chain_response

NARROW = VoiceChain(
    voice="v1",
    low_cut_hz=400.0,
    bands=(
        Band(frequency_hz=60.0, gain_db=24.0, q=8.0),
        Band(frequency_hz=1000.0, gain_db=-24.0, q=0.1),
        Band(frequency_hz=12_000.0, gain_db=6.0, q=20.0),
    ),
)


def measured(chain: VoiceChain, seconds: int = 4):
    """The spectrum of what becomes of a single sample: frequencies and gains in dB."""
    pulse = np.zeros((seconds * SAMPLE_RATE_HZ, 2), np.float32)
    pulse[0] = 0.25
    heard = np.concatenate(list(chained(iter([pulse]), chain)))[:, 0] / 0.25
    hz = np.fft.rfftfreq(len(heard), 1 / SAMPLE_RATE_HZ)
    wanted = (hz >= 20) & (hz <= 20_000)
    return hz[wanted], 20 * np.log10(np.abs(np.fft.rfft(heard.astype(np.float64)))[wanted])


@pytest.mark.parametrize(
    "chain", [NARROW, *(preset.chain("v1") for preset in presets())], ids=lambda chain: str(chain.low_cut_hz)
)
def test_it_is_what_the_filters_do(chain):
    plain = VoiceChain(voice="v1", low_cut_hz=chain.low_cut_hz, bands=chain.bands)
    hz, gains_db = measured(plain)
    assert np.abs(chain_response(chain, hz) - gains_db).max() < 0.05


def test_a_low_cut_is_a_butterworth_filter():
    """The digital Butterworth high-pass of second order, as scipy designs it by the bilinear transform."""
    hz = np.geomspace(20, 20_000, 300)
    sections = signal.butter(2, 120, "highpass", fs=SAMPLE_RATE_HZ, output="sos")
    _, wanted = signal.sosfreqz(sections, hz, fs=SAMPLE_RATE_HZ)
    response = chain_response(VoiceChain(voice="v1", low_cut_hz=120.0), hz)
    assert response == pytest.approx(20 * np.log10(np.abs(wanted)), abs=1e-6)


def test_a_bell_has_its_gain_in_its_middle_and_none_far_from_it():
    chain = VoiceChain(voice="v1", bands=(Band(frequency_hz=1000.0, gain_db=-7.5, q=2.0),))
    assert chain_response(chain, np.array([1000.0, 20.0, 20_000.0])) == pytest.approx([-7.5, 0, 0], abs=0.02)


def test_what_does_nothing_is_flat():
    hz = np.array([20.0, 1000.0])
    assert list(chain_response(VoiceChain(voice="v1", compression=Compression.FIRM), hz)) == [0, 0]
