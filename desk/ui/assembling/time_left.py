"""How long work still takes, from how fast it went of late."""

from collections import deque

_WINDOW_SECONDS = 30.0
"""How far back the speed is looked at: long enough to even out one slow piece."""

_LEAST_SECONDS = 3.0
"""Work that has not gone on for so long says nothing about what is to come."""


class TimeLeft:
    """Reads the time left off progress reports. Its clock is that of the caller."""

    def __init__(self) -> None:
        self._stage = ""
        self._seen: deque[tuple[float, float]] = deque()

    def note(self, fraction: float, at_seconds: float, *, stage: str) -> None:
        """Take a report.

        Args:
            fraction: How much is done, 0 to 1.
            at_seconds: When, on a clock that only goes forward.
            stage: What goes on. Another stage may be faster or slower, so that one begins anew.
        """
        if stage != self._stage:
            self._stage = stage
            self._seen.clear()
        self._seen.append((at_seconds, fraction))
        while self._seen[0][0] < at_seconds - _WINDOW_SECONDS:
            self._seen.popleft()

    def seconds(self) -> float | None:
        """Return how long it still takes, or None while that is not known."""
        if not self._seen:
            return None
        (first_at, first), (last_at, last) = self._seen[0], self._seen[-1]
        if last_at - first_at < _LEAST_SECONDS or last <= first:
            return None
        return (1 - last) * (last_at - first_at) / (last - first)
