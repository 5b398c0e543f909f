"""What time it is in a run that is played, in samples: by what is heard, or by the machine's clock."""

import time
from collections.abc import Callable
from typing import Protocol

from desk.film.rates import SAMPLE_RATE_HZ
from desk.ui.viewer.sound_output import SoundOutput

_FURTHEST_SAMPLES = 2400
"""A device counts what it took in lumps. Between them time goes on by itself, but no further than this."""

_JUMP_SAMPLES = 4800
_SHARE = 0.1
"""How much of what the two clocks differ by is made good at each new count, so that pictures do not jerk."""

Now = Callable[[], float]


class Clock(Protocol):
    """A clock that runs from the moment it is made."""

    def samples(self) -> int:
        """Return how many samples have gone by; never fewer than before."""


class MachineClock:
    """The machine's own clock, where nothing is heard."""

    def __init__(self, start_samples: int = 0, now: Now = time.monotonic) -> None:
        self._now = now
        self._from = now() - start_samples / SAMPLE_RATE_HZ

    def samples(self) -> int:
        """Return how many samples have gone by."""
        return int((self._now() - self._from) * SAMPLE_RATE_HZ)


class SoundClock:
    """Goes with what a sound device has played: picture stays with sound however the device's clock runs."""

    def __init__(self, output: SoundOutput, now: Now = time.monotonic) -> None:
        self._output = output
        self._now = now
        self._heard = 0
        self._place = 0.0
        self._at = now()
        self._news_at = self._at
        self._told = 0

    @property
    def still_seconds(self) -> float:
        """For how long nothing more was heard, as far as was looked."""
        return self._now() - self._news_at

    def samples(self) -> int:
        """Return how many samples were heard."""
        heard, now = self._output.heard_samples, self._now()
        if heard > 0:
            place = self._place + (now - self._at) * SAMPLE_RATE_HZ if self._heard else float(heard)
            if heard != self._heard:
                self._news_at = now
                off = heard - place
                place = float(heard) if abs(off) > _JUMP_SAMPLES else place + _SHARE * off
            self._place, self._at, self._heard = min(place, heard + _FURTHEST_SAMPLES), now, heard
            self._told = max(self._told, int(self._place))
        return self._told
