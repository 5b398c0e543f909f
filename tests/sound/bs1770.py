"""A reading of ITU-R BS.1770-4 of its own, and the test signals of EBU Tech 3341 and 3342.

Levels are peaks of a 1 kHz sine in both channels, in phase: -23 dBFS is -23 LUFS, since two channels give
3.01 dB more and a sine's mean square is 3.01 dB below its peak.
"""

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter, resample_poly

from desk.film.rates import SAMPLE_RATE_HZ
from tests.sound.signals import Sound

STEP = SAMPLE_RATE_HZ // 10


def steps(
    *levels: tuple[float, float], hz: float = 1000, lead_seconds: float = 0, tail_seconds: float = 0
) -> Sound:
    """Return a stereo sine whose level changes in steps, with its phase going on over them.

    Args:
        levels: Peak in dBFS, and seconds.
        hz: Its frequency.
        lead_seconds: Silence before it.
        tail_seconds: Silence behind it.
    """
    lead, tail = round(lead_seconds * SAMPLE_RATE_HZ), round(tail_seconds * SAMPLE_RATE_HZ)
    parts = [np.full(round(seconds * SAMPLE_RATE_HZ), 10 ** (db / 20)) for db, seconds in levels]
    gains = np.concatenate([np.zeros(lead), *parts, np.zeros(tail)])
    wave = gains * np.sin(2 * np.pi * hz / SAMPLE_RATE_HZ * (np.arange(len(gains)) - lead))
    return np.repeat(wave[:, None], 2, axis=1).astype(np.float32)


def peak_tone(divisor: int, peak: float, degrees: float, *, seconds: float = 1.0) -> Sound:
    """Return a stereo sine of a part of the sampling rate, faded in and out over 10 ms.

    Without the fades its edges have a higher peak than the tone.
    """
    count, fade = round(seconds * SAMPLE_RATE_HZ), SAMPLE_RATE_HZ // 100
    wave = peak * np.sin(2 * np.pi * np.arange(count) / divisor + np.radians(degrees))
    wave[:fade] *= np.arange(fade) / fade
    wave[-fade:] *= np.arange(fade)[::-1] / fade
    return np.repeat(wave[:, None], 2, axis=1).astype(np.float32)


PEAK_TONES = {
    "3341-15": (4, 0.50, 0.0),
    "3341-16": (4, 0.50, 45.0),
    "3341-17": (6, 0.50, 60.0),
    "3341-18": (8, 0.50, 67.5),
    "3341-19": (4, 1.41, 45.0),
}
"""EBU Tech 3341 v4, table 1: which part of the sampling rate, peak, phase in degrees."""


def in_blocks(sound: Sound, size: int = 10_007) -> Iterator[Sound]:
    """Give a sound in blocks."""
    return (sound[at : at + size] for at in range(0, len(sound), size))


def k_weighted(sound: Sound) -> NDArray[np.float64]:
    """Return a sound through the two filters of BS.1770-4, tables 1 and 2, for 48 kHz."""
    shelf_b, shelf_a = (
        (1.53512485958697, -2.69169618940638, 1.19839281085285),
        (1, -1.69065929318241, 0.73248077421585),
    )
    high_b, high_a = (1, -2, 1), (1, -1.99004745483398, 0.99007225036621)
    shelved = lfilter(shelf_b, shelf_a, sound.astype(np.float64), axis=0)
    return np.asarray(lfilter(high_b, high_a, shelved, axis=0))


def block_levels(sound: Sound, seconds: float, weights: Sequence[float] = (1, 1)) -> NDArray[np.float64]:
    """Return the loudness of each whole block of so many seconds, a block each 100 ms."""
    squares = np.square(k_weighted(sound)) @ np.array(weights)
    sums = np.concatenate([[0], np.cumsum(squares)])
    length = round(seconds * SAMPLE_RATE_HZ)
    starts = np.arange(0, len(sound) - length + 1, STEP)
    return np.asarray(-0.691 + 10 * np.log10((sums[starts + length] - sums[starts]).clip(1e-20) / length))


def gated_level(levels: NDArray[np.float64]) -> float:
    """Return the integrated loudness of blocks of 400 ms: gated at -70 LUFS, then 10 LU below the mean."""

    def mean(some: NDArray[np.float64]) -> float:
        return float(10 * np.log10(np.mean(10 ** (some / 10))))

    heard = levels[levels > -70]
    return mean(heard[heard > mean(heard) - 10])


def loudness_range(sound: Sound) -> float:
    """Return the loudness range of EBU Tech 3342: of 3 s, gated at -70 LUFS and 20 LU below the mean."""
    levels = block_levels(sound, 3)
    heard = levels[levels > -70]
    heard = heard[heard > 10 * np.log10(np.mean(10 ** (heard / 10))) - 20]
    low, high = np.percentile(heard, [10, 95])
    return float(high - low)


def true_peak_db(sound: Sound) -> float:
    """Return the true peak by scipy's resampler at 16 times the rate, which knows nothing of ours."""
    return float(20 * np.log10(np.abs(resample_poly(sound.astype(np.float64), 16, 1, axis=0)).max()))
