"""Progress and cancelling for work that takes a while.

A job is a plain function `work(input, *, progress, cancel) -> result`; it touches no shared state.
"""

import threading
from collections.abc import Callable
from dataclasses import dataclass


class Cancelled(Exception):
    """The work was stopped on request; nothing half-made is left."""


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a job is.

    Attributes:
        stage: A stable id of what is being done, such as `pieces`.
        text: The same for a person.
        fraction: 0 to 1 within the whole job.
    """

    stage: str
    text: str
    fraction: float


ProgressListener = Callable[[Progress], None]


def no_progress(_: Progress) -> None:
    """Take a progress report and do nothing with it."""


class CancelToken:
    """Tells running work that it should stop. May be set from any thread, any number of times."""

    def __init__(self) -> None:
        self._event = threading.Event()

    @property
    def is_set(self) -> bool:
        """Whether stopping was asked for."""
        return self._event.is_set()

    def set(self) -> None:
        """Ask the work to stop."""
        self._event.set()

    def wait(self, seconds: float) -> bool:
        """Wait until stopping is asked for; returns whether it was."""
        return self._event.wait(seconds)

    def check(self) -> None:
        """Stop here when stopping was asked for.

        Raises:
            Cancelled: when the token is set.
        """
        if self._event.is_set():
            raise Cancelled
