"""How music goes down while somebody speaks: its gain over time, from where there is speech.

The gain is made of straight lines in dB. Since it is known beforehand where somebody speaks, music is down by
the first word: it goes down during the attack before a stretch of speech, stays at its depth until the end of
it, and comes back during the release after it. Where there is no time to come back between two stretches, it
turns round on the way (common practice, no source).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from desk.film.model import Duck
from desk.film.rates import SAMPLE_RATE_HZ, Rate

Stretch: TypeAlias = tuple[int, int]
"""First sample, and the one after the last."""

AUDIBLE_LUFS = -50.0
"""Speech that is softer than this with its clip's gain does not make music go down: it is not meant to be
heard (common practice, no source)."""

_LEAST_SAMPLES = 1.0


@dataclass(frozen=True, slots=True)
class DuckPoint:
    """A corner of the curve.

    Attributes:
        at: Where, in samples or frames from the scene's start.
        gain_db: 0 or below.
    """

    at: float
    gain_db: float


def duck_points(duck: Duck, stretches: Sequence[Stretch]) -> tuple[DuckPoint, ...]:
    """Return the corners of the curve, in samples; 0 dB before the first and after the last.

    Args:
        duck: How far, and how fast.
        stretches: Where somebody speaks: in order, without overlap; see `merged`.
    """
    attack = max(_LEAST_SAMPLES, duck.attack_ms * SAMPLE_RATE_HZ / 1000)
    release = max(_LEAST_SAMPLES, duck.release_ms * SAMPLE_RATE_HZ / 1000)
    points: list[DuckPoint] = []
    for index, (start, end) in enumerate(stretches):
        pause = start - stretches[index - 1][1] if index else attack + release
        if pause < attack + release:
            # The line up and the line down cross before either has come to its end.
            share = 1 - pause / (attack + release)
            points[-1] = DuckPoint(start - pause * attack / (attack + release), -duck.depth_db * share)
        else:
            points.append(DuckPoint(start - attack, 0.0))
        points += [
            DuckPoint(start, -duck.depth_db),
            DuckPoint(end, -duck.depth_db),
            DuckPoint(end + release, 0.0),
        ]
    return tuple(points)


def duck_curve(duck: Duck, stretches: Sequence[Stretch], rate: Rate) -> tuple[DuckPoint, ...]:
    """Return the corners of the curve in frames, for drawing.

    Args:
        duck: How far, and how fast.
        stretches: Where somebody speaks, in samples; see `merged`.
        rate: The film's rate.
    """
    frames = float(rate.fraction) / SAMPLE_RATE_HZ
    return tuple(DuckPoint(point.at * frames, point.gain_db) for point in duck_points(duck, stretches))


def gains_of(points: Sequence[DuckPoint], at: int, count: int) -> NDArray[np.float32]:
    """Return the factor for each of `count` samples from `at`.

    Args:
        points: The curve, in samples.
        at: The first sample.
        count: How many.
    """
    low = np.searchsorted([point.at for point in points], at)
    high = np.searchsorted([point.at for point in points], at + count)
    used = points[max(0, int(low) - 1) : int(high) + 1]
    if not used:
        return np.ones(count, np.float32)
    gains_db = np.interp(
        np.arange(at, at + count),
        [point.at for point in used],
        [point.gain_db for point in used],
    )
    return (10 ** (gains_db / 20)).astype(np.float32)


def merged(stretches: Iterable[Stretch]) -> tuple[Stretch, ...]:
    """Return stretches in order; those that touch or overlap are one."""
    found: list[Stretch] = []
    for start, end in sorted(stretches):
        if found and start <= found[-1][1]:
            found[-1] = found[-1][0], max(found[-1][1], end)
        elif end > start:
            found.append((start, end))
    return tuple(found)


def reaching(duck: Duck, stretches: Iterable[Stretch], first: int, end: int) -> tuple[Stretch, ...]:
    """Return the stretches whose attack, depth or release lies within a range of samples.

    Args:
        duck: How fast.
        stretches: Where somebody speaks.
        first: First sample of the range.
        end: The sample after its last.
    """
    attack = max(_LEAST_SAMPLES, duck.attack_ms * SAMPLE_RATE_HZ / 1000)
    release = max(_LEAST_SAMPLES, duck.release_ms * SAMPLE_RATE_HZ / 1000)
    return tuple(item for item in stretches if item[0] - attack < end and item[1] + release > first)
