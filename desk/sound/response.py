"""What low cut and bells of a voice's chain do to each frequency, for drawing."""

import math

import numpy as np
from numpy.typing import NDArray

from desk.film.model import Band, VoiceChain
from desk.film.rates import SAMPLE_RATE_HZ

Values = NDArray[np.float64]

_LOW_CUT_Q = math.sqrt(0.5)
_LEAST_GAIN = 1e-9


def chain_response(chain: VoiceChain, frequencies_hz: Values) -> Values:
    """Return the gain in dB at each frequency. Compression is not part of it: it follows how loud a voice is.

    The transfer functions are those of R. Bristow-Johnson's Audio EQ Cookbook, which FFmpeg's `highpass` and
    `equalizer` have too.

    Args:
        chain: What is done to a voice, as if it were on.
        frequencies_hz: Above 0 and below half the sample rate.
    """
    gain = np.ones(len(frequencies_hz))
    if chain.low_cut_hz:
        gain = gain * _low_cut(chain.low_cut_hz, frequencies_hz)
    for band in chain.bands:
        gain = gain * _bell(band, frequencies_hz)
    return np.asarray(20 * np.log10(np.maximum(gain, _LEAST_GAIN)))


def _low_cut(low_cut_hz: float, frequencies_hz: Values) -> Values:
    middle = 2 * math.pi * low_cut_hz / SAMPLE_RATE_HZ
    alpha, cosine = math.sin(middle) / (2 * _LOW_CUT_Q), math.cos(middle)
    above = ((1 + cosine) / 2, -(1 + cosine), (1 + cosine) / 2)
    return _gain(above, (1 + alpha, -2 * cosine, 1 - alpha), frequencies_hz)


def _bell(band: Band, frequencies_hz: Values) -> Values:
    middle = 2 * math.pi * band.frequency_hz / SAMPLE_RATE_HZ
    alpha, cosine = math.sin(middle) / (2 * band.q), math.cos(middle)
    amplitude = 10 ** (band.gain_db / 40)
    above = (1 + alpha * amplitude, -2 * cosine, 1 - alpha * amplitude)
    return _gain(above, (1 + alpha / amplitude, -2 * cosine, 1 - alpha / amplitude), frequencies_hz)


def _gain(
    above: tuple[float, float, float], below: tuple[float, float, float], frequencies_hz: Values
) -> Values:
    """Return the size of a transfer function of second order on the unit circle."""
    back = np.exp(-2j * math.pi * frequencies_hz / SAMPLE_RATE_HZ)
    return np.asarray(np.abs(np.polyval(above[::-1], back) / np.polyval(below[::-1], back)))
