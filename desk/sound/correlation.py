"""Two sounds compared: where one lies in the other, by the times of what is heard alone.

Both are whitened, so that how two microphones colour a sound does not count, and cross-correlated: the
generalised cross-correlation with phase transform (Knapp and Carter 1976, from memory).
"""

import math
from collections.abc import Callable, Iterator
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from desk.film.rates import SAMPLE_RATE_HZ
from desk.jobs import CancelToken

COARSE_HZ = 8_000
"""Samples a second of sounds that are compared over all of their length."""

WINDOW_SECONDS = 12
FINE_SAMPLES = SAMPLE_RATE_HZ // 100
"""How far around a place found at 8 kHz the same is looked for at 48 kHz."""

_COARSE_BAND_HZ = (150.0, 3_800.0)
_FINE_BAND_HZ = (100.0, 8_000.0)
_CHUNK_SAMPLES = 1 << 18
_BIN_SAMPLES = COARSE_HZ // 1000
_NEAR_BINS = 2
"""Windows may disagree by so many ms, as clocks drift between them."""

_PEAK_BINS = 50
_SILENT = 10 ** (-70 / 20)

Mono: TypeAlias = NDArray[np.float32]
"""Samples of one channel."""


def loudest_windows(sound: Mono, most: int) -> list[int]:
    """Return where the loudest windows of a sound begin, in order; none where it is silent.

    Args:
        sound: The sound at 8 kHz.
        most: How many at most.
    """
    length = min(len(sound), WINDOW_SECONDS * COARSE_HZ)
    last = (len(sound) - length) // _BIN_SAMPLES * _BIN_SAMPLES
    count = max(1, math.ceil(len(sound) / length))
    # Evenly, from the first sample to the last, on whole bins.
    starts = sorted(
        {last * index // max(1, count - 1) // _BIN_SAMPLES * _BIN_SAMPLES for index in range(count)}
    )
    levels = {start: float(np.sqrt(np.mean(np.square(sound[start : start + length])))) for start in starts}
    heard = [start for start in starts if levels[start] > _SILENT]
    return sorted(sorted(heard, key=lambda start: -levels[start])[:most])


def best_lag(
    near: Mono,
    far: Mono,
    windows: list[int],
    length: int,
    cancel: CancelToken,
    told: Callable[[float], None],
) -> tuple[int, float]:
    """Return by how many samples at 8 kHz one sound is later in another, to some ms, and the trust in that.

    Trust is how many times higher the best place is than the next best one, 50 ms away or more.

    Args:
        near: The one.
        far: The other.
        windows: Where in the one the parts begin that are compared.
        length: How long each is.
        cancel: Stops it.
        told: Told how far it is, 0 to 1.

    Raises:
        Cancelled: when stopped on request.
    """
    # Bin b of the sum is a lag of (b - before) bins.
    padded = -(-length // _BIN_SAMPLES)
    before = padded + windows[-1] // _BIN_SAMPLES
    total = np.zeros(before + len(far) // _BIN_SAMPLES + 2, np.float32)
    for index, start in enumerate(windows):
        at = before - padded - start // _BIN_SAMPLES
        for first, peaks in _peaks_along(near[start : start + length], far, padded * _BIN_SAMPLES):
            cancel.check()
            low = at + first
            total[low : low + len(peaks)] += peaks[: len(total) - low]
            told((index + min(1.0, first * _BIN_SAMPLES / len(far))) / len(windows))
    total /= len(windows)
    best = int(np.argmax(total))
    rest = np.concatenate([total[: max(0, best - _PEAK_BINS)], total[best + _PEAK_BINS + 1 :]])
    next_best = float(rest.max(initial=0.0))
    trust = float(total[best]) / next_best if next_best > 0 else 0.0
    return (best - before) * _BIN_SAMPLES + _BIN_SAMPLES // 2, trust


def _peaks_along(window: Mono, far: Mono, padded: int) -> Iterator[tuple[int, Mono]]:
    """Give the highest correlation in each bin of the places in a recording where a window may begin.

    The first bin is `padded` samples before the recording begins. Each part comes with its first bin.
    """
    size = _CHUNK_SAMPLES
    step = (size - len(window)) // _BIN_SAMPLES * _BIN_SAMPLES
    spectrum = np.conj(np.fft.rfft(window, size))
    band = _band(size, COARSE_HZ, _COARSE_BAND_HZ)
    for first in range(0, padded + len(far), step):
        chunk = np.zeros(size, np.float32)
        low = first - padded
        part = far[max(0, low) : max(0, low + size)]
        if first and len(part) < len(window) // 2:
            # Of a few samples beside silence, whitening would make a click that fits anything.
            continue
        chunk[max(0, -low) : max(0, -low) + len(part)] = part
        correlation = np.abs(_whitened(np.fft.rfft(chunk) * spectrum, band, size))[:step]
        peaks = correlation.reshape(-1, _BIN_SAMPLES).max(axis=1).astype(np.float32)
        yield first // _BIN_SAMPLES, _widened(peaks)


def _widened(peaks: Mono) -> Mono:
    """Return for each bin the highest of those near it."""
    made = peaks.copy()
    for shift in range(1, _NEAR_BINS + 1):
        np.maximum(made[shift:], peaks[:-shift], out=made[shift:])
        np.maximum(made[:-shift], peaks[shift:], out=made[:-shift])
    return made


def _band(size: int, rate_hz: int, band_hz: tuple[float, float]) -> NDArray[np.bool_]:
    frequencies = np.fft.rfftfreq(size, 1 / rate_hz)
    return (frequencies >= band_hz[0]) & (frequencies <= band_hz[1])


def _whitened(product: NDArray[Any], band: NDArray[np.bool_], size: int) -> NDArray[Any]:
    """Return the correlation of two sounds by the times of what is heard alone: 1 for the same sound."""
    inside = product[band]
    strength = np.abs(inside)
    floor = 1e-3 * float(strength.mean()) + 1e-20
    flat = np.zeros(len(product), product.dtype)
    flat[band] = inside / (strength + floor)
    return np.fft.irfft(flat, size) * (size / (2 * max(1, len(inside))))


def near_correlation(near: Mono, far: Mono) -> NDArray[Any]:
    """Return how well two sounds at 48 kHz fit, for each place of the one in the other.

    Args:
        near: The one.
        far: The other, longer by `FINE_SAMPLES` at both ends; the first value is for its first sample.
    """
    size = 1 << (len(near) + len(far)).bit_length()
    product = np.fft.rfft(far, size) * np.conj(np.fft.rfft(near, size))
    band = _band(size, SAMPLE_RATE_HZ, _FINE_BAND_HZ)
    correlation = _whitened(product, band, size)
    found: NDArray[Any] = np.abs(correlation[: len(far) - len(near) + 1])
    return found
