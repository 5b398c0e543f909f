"""Looks ahead at an assembly, beside the window: one answer for the last question asked."""

import functools
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import QObject, Signal

from desk.assembly.copies import refuse_in_footage
from desk.assembly.outlook import Outlook, outlook
from desk.assembly.survey import survey
from desk.cards import drawing
from desk.errors import DeskError, OutputError
from desk.ffmpeg.program import find_program
from desk.film.model import Film
from desk.jobs import CancelToken, ProgressListener
from desk.ui.assembling.wishes import Wishes
from desk.ui.bench import Bench
from desk.ui.job_runner import Job


@dataclass(frozen=True, slots=True, kw_only=True)
class Forecast:
    """What came of looking ahead.

    Attributes:
        film: The film that was looked at.
        wishes: What was wanted of it.
        outlook: What the assembly would be.
        refusal: Why its files can't go where they were to go, or None.
    """

    film: Film
    wishes: Wishes
    outlook: Outlook
    refusal: OutputError | None


class Forecaster(QObject):
    """Looks ahead for the film as it is and one set of wishes; an answer to an older question is dropped.

    Signals:
        told: A `Forecast` for the last question.
        failed: Why there is none; a `DeskError`, or the exception of a fault of our own.
    """

    told = Signal(object)
    failed = Signal(object)

    def __init__(self, bench: Bench, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._job: Job | None = None

    def ask(self, wishes: Wishes) -> None:
        """Look ahead for the film as it is now, in place of whatever was asked before."""
        self.forget()
        session = self._bench.session
        work = functools.partial(_forecast, session.film, session.folder, wishes)
        self._job = self._bench.jobs.start("look ahead at an assembly", work)
        self._job.succeeded.connect(self._on_succeeded)
        self._job.failed.connect(self._on_failed)

    def forget(self) -> None:
        """Drop the question that was asked last."""
        if self._job is not None:
            self._job.cancel()
            self._job = None

    def _on_succeeded(self, result: object) -> None:
        if self.sender() is self._job:
            self._job = None
            self.told.emit(result)

    def _on_failed(self, error: object) -> None:
        if self.sender() is self._job:
            self._job = None
            self.failed.emit(error)


def _forecast(
    film: Film, folder: Path, wishes: Wishes, progress: ProgressListener, cancel: CancelToken
) -> Forecast:
    found = survey(film, folder, progress=progress, cancel=cancel)
    cancel.check()
    ahead = outlook(found, folder, wishes.include, full=wishes.full, program=find_program(), drawer=drawing)
    refusal = None
    try:
        refuse_in_footage(wishes.out, folder, film, found.files)
    except OutputError as error:
        refusal = error
    return Forecast(film=film, wishes=wishes, outlook=ahead, refusal=refusal)


def as_fault(error: object) -> str:
    """Return a fault as what a label says."""
    return str(error) if isinstance(error, DeskError) else f"The film could not be looked at: {error}."
