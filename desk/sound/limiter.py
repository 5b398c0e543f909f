"""A limiter for the true peak: what lies between the samples does not exceed the ceiling either.

With c the ceiling less a margin, all gains in dB and both channels as one:

- The level p[n] is the highest amplitude at n, n + 1/8 … n + 7/8, by a polyphase interpolator of 48 taps: a
  sinc under a Kaiser window (oversampling as in ITU-R BS.1770-4, annex 2, at 8 times rather than 4: a peak of
  20 kHz between two places of the grid is then 0.12 dB higher at most).
- Needed: r[n] = min(0, c - p[n]).
- Held: h[n] = min r[n - H … n + H], so that the gain stands still while the interpolator looks at a peak.
- Released: d[n] = min(h[n], d[n - 1] + s), a slope of s dB a sample; the same as
  s·n + min over j ≤ n of (h[j] - s·j).
- Looked ahead: a[n] = min d[n … n + L].
- Smoothed: g[n] is the mean of a[n - L … n] under a triangle. Each of these a covers n, so that
  g[n] ≤ d[n] ≤ r[n]: the gain is never more than what is allowed, and gets there without a step.

A look-ahead limiter with a minimum and a smoothing window is common practice (no source). Work is done in
frames that lie on a fixed grid, so that the result does not depend on how blocks are cut. Nothing is
delayed. Where no level is above c nearby, the gain is 1.0 and samples pass bit by bit.
"""

from collections.abc import Iterator
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from desk.film.rates import SAMPLE_RATE_HZ
from desk.sound.reading import Samples

LIMITER_FORMAT = 1
"""Grows when sound is limited in another way."""

MARGIN_DB = 0.15
"""How far below the ceiling peaks are kept, for what other meters find between our places."""

LOOK_AHEAD_SECONDS = 0.005
RELEASE_DB_PER_SECOND = 40.0

_PHASES = 8
_HALF_TAPS = 24
_KAISER_BETA = 8.0
_GROUP_SAMPLES = 16
"""Levels are found for so many samples at once, and only where they may be too high."""

_GROUPS_AT_ONCE = 16
"""Products of more than this are shared out to threads by numpy's library, which costs more than it saves."""

FRAME_SAMPLES = 8192
"""Work is done in frames of so many samples. Sound that is cut into parts is limited as if it were not where
each begins on such a frame, and so much earlier that the gain has come back."""

_HOLD_SAMPLES = _HALF_TAPS
_BOX_SAMPLES = round(LOOK_AHEAD_SECONDS / 2 * SAMPLE_RATE_HZ)
_LOOK_SAMPLES = 2 * _BOX_SAMPLES
_LAG_SAMPLES = _HALF_TAPS + _HOLD_SAMPLES + _LOOK_SAMPLES
_SLOPE_DB = RELEASE_DB_PER_SECOND / SAMPLE_RATE_HZ

_Gains: TypeAlias = NDArray[np.float64]


class Limiter:
    """Limits sound on its way; once for each limiter.

    Attributes:
        most_reduction_db: By how much it went down at most, 0 or more.
    """

    def __init__(self, ceiling_dbtp: float) -> None:
        """Make ready.

        Args:
            ceiling_dbtp: What the true peak does not exceed. What does not reach it, less a margin, is
                not changed.
        """
        self.most_reduction_db = 0.0
        self._limit = 10 ** ((ceiling_dbtp - MARGIN_DB) / 20)
        self._samples = 0
        self._before = np.zeros((2 * _HALF_TAPS, 2), np.float32)
        self._held = _Window(2 * _HOLD_SAMPLES)
        self._ahead = _Window(_LOOK_SAMPLES)
        self._boxes = (_Window(_BOX_SAMPLES), _Window(_BOX_SAMPLES))
        self._released_db = 0.0

    def through(self, blocks: Iterator[Samples]) -> Iterator[Samples]:
        """Give the sound limited, as long as it was, in blocks of another length.

        Args:
            blocks: Stereo at 48 kHz, in blocks of any length.
        """
        waiting = np.zeros((_LAG_SAMPLES, 2), np.float32)
        at = -_LAG_SAMPLES
        for frame in self._frames(blocks):
            gains_db = self._gains_db(self._needed_db(frame))
            joined = np.concatenate([waiting, frame])
            made, waiting = joined[:FRAME_SAMPLES], joined[FRAME_SAMPLES:]
            if gains_db is not None:
                made = made * (10 ** (gains_db / 20)).astype(np.float32)[:, None]
            made = made[max(0, -at) : max(0, self._samples - at)]
            at += FRAME_SAMPLES
            if len(made):
                yield made

    def _frames(self, blocks: Iterator[Samples]) -> Iterator[Samples]:
        """Give frames of one length, and silence until all that went in has come out."""
        held: list[Samples] = []
        count = 0
        for block in blocks:
            held.append(block)
            count += len(block)
            self._samples += len(block)
            if count >= FRAME_SAMPLES:
                joined = np.concatenate(held)
                whole = count - count % FRAME_SAMPLES
                for start in range(0, whole, FRAME_SAMPLES):
                    yield joined[start : start + FRAME_SAMPLES]
                held, count = [joined[whole:]], count - whole
        if self._samples:
            left = np.concatenate([*held, np.zeros((-(count + _LAG_SAMPLES) % FRAME_SAMPLES, 2), np.float32)])
            left = np.concatenate([left, np.zeros((_LAG_SAMPLES, 2), np.float32)])
            for start in range(0, len(left), FRAME_SAMPLES):
                yield left[start : start + FRAME_SAMPLES]

    def _needed_db(self, frame: Samples) -> _Gains | None:
        """Return the gain needed at each sample, half the taps later than the frame; None for none."""
        joined = np.concatenate([self._before, frame])
        self._before = frame[-2 * _HALF_TAPS :]
        highest = np.abs(joined).reshape(-1, 2 * _GROUP_SAMPLES).max(axis=1)
        around = np.lib.stride_tricks.sliding_window_view(highest, _REACH_GROUPS).max(axis=1)
        (loud,) = np.nonzero(around * _MOST_RISE > self._limit)
        if not len(loud):
            return None
        loud = np.pad(loud, (0, -len(loud) % _GROUPS_AT_ONCE), mode="edge")
        parts = np.lib.stride_tricks.sliding_window_view(joined, len(_GROUP_TAPS), axis=0)
        parts = parts[1::_GROUP_SAMPLES][loud].reshape(-1, 2 * _GROUPS_AT_ONCE, len(_GROUP_TAPS))
        between = np.abs(parts @ _GROUP_TAPS).reshape(len(loud), 2 * _PHASES, _GROUP_SAMPLES)
        levels = np.zeros((FRAME_SAMPLES // _GROUP_SAMPLES, _GROUP_SAMPLES))
        levels[loud] = between.max(axis=1)
        if levels.max() <= self._limit:
            return None
        return -20 * np.log10(np.maximum(levels.ravel(), self._limit) / self._limit)

    def _gains_db(self, needed_db: _Gains | None) -> _Gains | None:
        """Return the gain at each sample, as late as all that is looked at ahead of it; None for none."""
        windows = (self._held, self._ahead, *self._boxes)
        if needed_db is None:
            if self._released_db == 0 and all(window.is_at_rest for window in windows):
                return None
            needed_db = np.zeros(FRAME_SAMPLES)
        held = self._held.lowest(needed_db)
        released = held - _SLOPES_DB
        released[0] = min(released[0], self._released_db)
        released = np.minimum.accumulate(released) + _SLOPES_DB
        self._released_db = min(0.0, float(released[-1]) + _SLOPE_DB)
        self.most_reduction_db = max(self.most_reduction_db, -float(released.min()))
        smoothed = self._ahead.lowest(released)
        for box in self._boxes:
            smoothed = box.mean(smoothed)
        return smoothed


class _Window:
    """Looks at each value of a row, as it comes, together with those before it."""

    def __init__(self, before: int) -> None:
        self._width = before + 1
        self._tail = np.zeros(before)

    @property
    def is_at_rest(self) -> bool:
        """Whether all values that are still looked at are 0."""
        return not self._tail.any()

    def lowest(self, values: _Gains) -> _Gains:
        """Return the lowest of each value and those before it."""
        lowest, width = self._with_tail(values), 1
        while width < self._width:
            step = min(width, self._width - width)
            lowest = np.minimum(lowest[step:], lowest[:-step])
            width += step
        return lowest

    def mean(self, values: _Gains) -> _Gains:
        """Return the mean of each value and those before it; they are 0 or less, and so is it."""
        sums = np.cumsum(np.concatenate([[0.0], self._with_tail(values)]))
        means: _Gains = np.minimum(0.0, (sums[self._width :] - sums[: -self._width]) / self._width)
        return means

    def _with_tail(self, values: _Gains) -> _Gains:
        joined = np.concatenate([self._tail, values])
        self._tail = joined[len(values) :]
        return joined


def _interpolator() -> NDArray[np.float64]:
    """Return the taps of each phase: shape (phases, taps)."""
    taps = np.arange(2 * _HALF_TAPS) - _HALF_TAPS
    places = taps + np.arange(_PHASES)[:, None] / _PHASES
    window = np.i0(_KAISER_BETA * np.sqrt(np.clip(1 - (places / _HALF_TAPS) ** 2, 0, 1))) / np.i0(
        _KAISER_BETA
    )
    made = np.sinc(places) * window
    return np.asarray(made / made.sum(axis=1, keepdims=True))


def _group_taps() -> Samples:
    """Return what makes all places between a group of samples of the samples around it."""
    taps = _interpolator()
    made = np.zeros((_GROUP_SAMPLES + 2 * _HALF_TAPS - 1, _PHASES, _GROUP_SAMPLES), np.float32)
    for at in range(_GROUP_SAMPLES):
        made[at : at + 2 * _HALF_TAPS, :, at] = taps[:, ::-1].T
    return made.reshape(len(made), -1)


_GROUP_TAPS = _group_taps()
_REACH_GROUPS = 1 + 2 * _HALF_TAPS // _GROUP_SAMPLES
_MOST_RISE = float(np.abs(_interpolator()).sum(axis=1).max())
"""No place between samples is higher than the highest of them by more than this."""

_SLOPES_DB = _SLOPE_DB * np.arange(FRAME_SAMPLES)
