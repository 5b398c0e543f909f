"""Frame rates told from the times of frames.

The rates that a container states are often wrong for footage of phones and from the web, and its clock may be
too coarse for the rate: 24000/1001 in thousandths of a second steps by 41 and 42. So a rate counts as
constant when every frame lies within one tick of the clock of its place, and takes the exact fraction that
it stands for.
"""

import math
from collections.abc import Sequence
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

STANDARD_RATES: tuple[Fraction, ...] = (
    *(Fraction(whole * 1000, 1001) for whole in (12, 15, 24, 30, 48, 60, 120, 240)),
    *(Fraction(whole) for whole in (1, 2, 4, 5, 6, 8, 10, 12, 15, 16, 18, 20, 24, 25, 30, 48, 50, 60)),
    *(Fraction(whole) for whole in (72, 75, 90, 96, 100, 120, 144, 150, 180, 200, 240)),
    Fraction(25, 2),
    Fraction(15, 2),
)
"""Rates that cameras and screen recorders have; a rate that is told from times snaps to one where it may."""

_MILLISECOND = Fraction(1, 1000)
_NEAR = Fraction(1, 2500)
"""Less than half of the 1/1001 by which rates such as 24 and 24000/1001 differ."""


def find_rate(times: Sequence[int], time_base: Fraction, stated: Sequence[Fraction] = ()) -> Fraction | None:
    """Return the constant rate at which frames lie, or None where they are unevenly spaced.

    Args:
        times: Times of the frames shown, sorted, in `time_base`; two or more.
        time_base: Seconds of one tick.
        stated: Rates that the file states, the most trusted first; they decide between rates that fit a short
            clip equally well.
    """
    places = np.asarray(times, dtype=np.int64)
    places = places - places[0]
    tolerances = [Fraction(1)]
    ticks_per_ms = _MILLISECOND / time_base
    if ticks_per_ms > 1 and ticks_per_ms.denominator == 1 and not np.any(places % ticks_per_ms.numerator):
        # The times were kept in milliseconds by a container that the file was in before.
        tolerances.append(ticks_per_ms)
    for tolerance in tolerances:
        rate = _rate_within(places, time_base, tolerance, stated)
        if rate is not None:
            return rate
    return None


def _rate_within(
    places: NDArray[np.int64], time_base: Fraction, tolerance: Fraction, stated: Sequence[Fraction]
) -> Fraction | None:
    """Return the best rate at which every place is within `tolerance` ticks, or None."""
    index = np.arange(1, len(places))
    # Frame k at k·step ± tolerance, for each k, leaves this span for the step.
    least = float(((places[1:] - float(tolerance)) / index).max())
    most = float(((places[1:] + float(tolerance)) / index).min())
    slack = 1e-12 * abs(most)
    if most <= 0 or least > most + slack:
        return None
    low = 1 / (Fraction(most + slack) * time_base)
    high = 1 / (Fraction(least - slack) * time_base) if least > slack else None

    def fits(rate: Fraction) -> bool:
        return (
            low <= rate
            and (high is None or rate <= high)
            and _worst(places, rate * time_base, tolerance) is not None
        )

    standard = [rate for rate in STANDARD_RATES if fits(rate)]
    stated = [rate for rate in stated if rate > 0]
    for wanted in stated:
        near = [rate for rate in standard if abs(rate / wanted - 1) < _NEAR]
        if near:
            return min(near, key=lambda rate: abs(rate / wanted - 1))
    if standard:
        return min(standard, key=lambda rate: _worst(places, rate * time_base, tolerance) or 0.0)
    for rate in stated:
        if fits(rate):
            return rate
    even = int(places[1])
    if even > 0 and np.array_equal(places[1:], index * even):
        return 1 / (even * time_base)
    simple = _simplest_between(low, high) if high is not None else None
    return simple if simple is not None and fits(simple) else None


def _worst(places: NDArray[np.int64], per_tick: Fraction, tolerance: Fraction) -> float | None:
    """Return by how many ticks the worst frame is off its place; None where that is beyond the tolerance.

    Args:
        places: Times from the first frame, in ticks.
        per_tick: Frames in one tick.
        tolerance: Ticks.
    """
    # place − k / per_tick, multiplied through so that it stays in whole numbers.
    count, ticks = per_tick.numerator, per_tick.denominator
    largest = max(abs(int(places[-1])) * count, len(places) * ticks)
    exact = places if largest < 1 << 62 else places.astype(object)
    off = int(np.abs(exact * count - np.arange(len(places)).astype(exact.dtype) * ticks).max())
    return None if off > tolerance * count else off / count


def _simplest_between(low: Fraction, high: Fraction) -> Fraction:
    """Return the fraction with the least denominator from `low` to `high`, both above 0."""
    whole = math.ceil(low)
    if whole <= high:
        return Fraction(whole)
    below = math.floor(low)
    return below + 1 / _simplest_between(1 / (high - below), 1 / (low - below))
