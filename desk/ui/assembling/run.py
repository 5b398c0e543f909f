"""Makes an assembly beside the window, of the film as it is when it is started."""

import dataclasses
import functools
from pathlib import Path

from PySide6.QtCore import QObject, Signal

from desk.assembly.review import Assembly, Order, assemble
from desk.cards import drawing
from desk.cards.fonts import prepare_drawing
from desk.errors import DeskError
from desk.ffmpeg.program import find_program
from desk.jobs import CancelToken, ProgressListener
from desk.store.project import OpenFilm
from desk.ui.assembling.wishes import Wishes
from desk.ui.bench import Bench
from desk.ui.job_runner import Job, Lane


class Assembling(QObject):
    """Makes assemblies, one at a time. Editing goes on meanwhile and does not change what is being made.

    Signals, all in the window's thread:
        started: An assembly is being made.
        progressed: How far it is, as a `Progress`.
        stopping: It was asked to stop.
        made: It is made, and entered in the film where that can be written: an `Assembly`.
        stopped: It was stopped on request; nothing but finished pieces is left.
        failed: Why it could not be made; a `DeskError`, or the exception of a fault of our own.
        finished: After one of the three before.
    """

    started = Signal()
    progressed = Signal(object)
    stopping = Signal()
    made = Signal(object)
    stopped = Signal()
    failed = Signal(object)
    finished = Signal()

    def __init__(self, bench: Bench, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._job: Job | None = None

    @property
    def is_running(self) -> bool:
        """Whether an assembly is being made."""
        return self._job is not None

    @property
    def is_stopping(self) -> bool:
        """Whether it was asked to stop and has not stopped yet."""
        return self._job is not None and self._job.cancel_token.is_set

    def start(self, wishes: Wishes) -> bool:
        """Save the film and begin an assembly of it; returns whether one was begun.

        Where saving fails, `failed` says why and nothing is begun.

        Args:
            wishes: What is wanted.

        Raises:
            RuntimeError: while another one is being made, which is our own mistake.
        """
        if self._job is not None:
            raise RuntimeError("an assembly is being made already")
        session, saving = self._bench.session, self._bench.saving
        try:
            # The file and the assembly agree; and the fonts have to be ready before threads draw with them.
            saving.save_now()
            prepare_drawing()
        except DeskError as error:
            self.failed.emit(error)
            return False
        opened = dataclasses.replace(saving.opened, film=session.film)
        work = functools.partial(_assembled, wishes, opened, session.folder)
        job = self._bench.jobs.start("assemble", work, lane=Lane.MAKING)
        self._job = job
        job.progressed.connect(self.progressed)
        job.succeeded.connect(self._on_succeeded)
        job.failed.connect(self._on_failed)
        job.cancelled.connect(self._on_cancelled)
        self.started.emit()
        return True

    def stop(self) -> None:
        """Stop what is being made. It takes a moment; `stopped` says when nothing half-written is left."""
        if self._job is not None and not self.is_stopping:
            self._job.cancel()
            self.stopping.emit()

    def _on_succeeded(self, result: object) -> None:
        assert isinstance(result, Assembly)
        made = dataclasses.replace(result, notice=self._enter(result))
        self._job = None
        self.made.emit(made)
        self.finished.emit()

    def _enter(self, made: Assembly) -> str:
        """Enter the copy in the film as it is now; returns why that can't be done, or ""."""
        session = self._bench.session
        if session.read_only:
            return session.read_only
        try:
            session.enter_copy(made.copy)
        except DeskError as error:
            return str(error)
        return ""

    def _on_failed(self, error: object) -> None:
        self._job = None
        self.failed.emit(error)
        self.finished.emit()

    def _on_cancelled(self) -> None:
        self._job = None
        self.stopped.emit()
        self.finished.emit()


def _assembled(
    wishes: Wishes, opened: OpenFilm, folder: Path, progress: ProgressListener, cancel: CancelToken
) -> Assembly:
    order = Order(
        folder=folder,
        out=wishes.out,
        include=wishes.include,
        full=wishes.full,
        flat=wishes.flat,
        bundle=wishes.bundle,
        stems=wishes.stems,
        program=find_program(),
        drawer=drawing,
        opened=opened,
    )
    return assemble(order, progress=progress, cancel=cancel)
