"""Makes the pieces of what is looked at, for the viewer and for the assembly to come."""

import functools
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from PySide6.QtCore import QObject, QTimer, Signal

from desk.errors import OutputError
from desk.film.model import Size
from desk.film.rates import Rate
from desk.jobs import CancelToken, ProgressListener
from desk.render.kit import Kit
from desk.render.plan import Missing, Piece
from desk.render.run import key_of, make_piece
from desk.ui.bench import Bench
from desk.ui.job_runner import Job, Lane
from desk.ui.viewer.kits import Kits
from desk.ui.viewer.player import Player
from desk.ui.viewer.subject import Kind, Subject

_SETTLE_MS = 200
"""What is to be made is worked out when edits have paused for so long."""

_BEHIND = 2
"""Frames behind the playhead count so many times: it usually goes on."""


class MakePiece(Protocol):
    """Makes one piece; `desk.render.run.make_piece` does."""

    def __call__(
        self,
        piece: Piece,
        *,
        rate: Rate,
        size: Size,
        kit: Kit,
        cancel: CancelToken,
        progress: ProgressListener,
        low_priority: bool,
        is_held: Callable[[], bool],
    ) -> Path:
        """Return its file."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Part:
    """A piece in what is looked at."""

    key: str
    piece: Piece
    start: int

    @property
    def end(self) -> int:
        return self.start + self.piece.frames


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Plan:
    """The pieces of a subject, and the names of those that are there."""

    subject: Subject
    kit: Kit
    parts: tuple[_Part, ...]
    there: frozenset[str]


class PieceMaking(QObject):
    """Makes one missing piece after the other, the nearest to the playhead first, behind everything else.

    It stands still while something is played or assembled. A piece that an edit leaves without a use is given
    up. One that can't be made is told once, and not tried again.

    Signals:
        ready_changed: Other frames have their piece.
        failed: Why a piece could not be made; a `DeskError`, or the exception of a fault of our own.
    """

    ready_changed = Signal()
    failed = Signal(object)

    def __init__(
        self, bench: Bench, player: Player, parent: QObject | None = None, *, make: MakePiece = make_piece
    ) -> None:
        """Begin with what is looked at.

        Args:
            bench: The film and all that shows it.
            player: What is looked at.
            parent: Who owns it.
            make: Makes a piece.
        """
        super().__init__(parent)
        self._bench = bench
        self._player = player
        self._make = make
        self._plan: _Plan | None = None
        self._there: set[str] = set()
        self._failed: set[str] = set()
        self._is_stopped = False
        self._looking: Job | None = None
        self._job: Job | None = None
        self._part: _Part | None = None
        self._assemblies: set[Job] = set()
        self._stands = threading.Event()
        self._settling = QTimer(self, singleShot=True, interval=_SETTLE_MS)
        self._settling.timeout.connect(self._look)
        player.subject_changed.connect(self._on_subject_changed)
        player.played.connect(self._go)
        bench.jobs.started.connect(self._on_job_started)
        for job in bench.jobs.jobs:
            self._on_job_started(job)
        self._settling.start()

    @property
    def ready(self) -> tuple[tuple[int, int], ...]:
        """Which frames of what is looked at have their piece: first ones, and those after the last."""
        plan = self._plan
        if plan is None or plan.subject is not self._player.subject:
            return ()
        return tuple(_joined(part for part in plan.parts if part.key in self._there))

    @property
    def making(self) -> tuple[int, int] | None:
        """The frames whose piece is being made, or None."""
        part = self._part
        return None if part is None else (part.start, part.end)

    @property
    def is_held(self) -> bool:
        """Whether it stands still while something is played or assembled."""
        return self._stands.is_set()

    def close(self) -> None:
        """Make no more."""
        self._settling.stop()
        self._plan = None
        for job in (self._looking, self._job):
            if job is not None:
                job.cancel()

    # -- what there is to make

    def _on_subject_changed(self) -> None:
        # What a drag would leave is not made before it is left.
        if self._bench.cut.trial is None:
            self._settling.start()
        self.ready_changed.emit()

    def _look(self) -> None:
        subject = self._player.subject
        if self._looking is not None:
            self._looking.cancel()
        if subject.kind is Kind.FOOTAGE or not self._bench.media.facts:
            return  # what is being made of the scene or the film is still of use
        work = functools.partial(_look, subject, self._player.kits)
        try:
            job = self._bench.jobs.start("look for pieces", work)
        except RuntimeError:
            return  # the window is being closed
        self._looking = job
        job.succeeded.connect(self._on_looked)
        job.failed.connect(self._on_look_failed)
        job.finished.connect(self._on_look_finished)

    def _on_looked(self, plan: object) -> None:
        assert isinstance(plan, _Plan)
        if plan.subject is self._player.subject:
            self._take(plan)

    def _on_look_failed(self, error: object) -> None:
        if not self._is_stopped:
            self._is_stopped = True
            self.failed.emit(error)

    def _on_look_finished(self) -> None:
        if self.sender() is self._looking:
            self._looking = None
            self._go()

    def _take(self, plan: _Plan) -> None:
        self._plan = plan
        self._there = set(plan.there)
        wanted = {part.key for part in plan.parts}
        if self._job is not None and self._part is not None and self._part.key not in wanted:
            self._job.cancel()
        self.ready_changed.emit()
        self._go()

    # -- making

    def _go(self) -> None:
        """Make what comes next, or stand still."""
        if self._player.is_playing or self._assemblies:
            self._stands.set()
            return
        self._stands.clear()
        if self._job is not None or self._bench.session.read_only:
            return
        part, plan = self._next_part(), self._plan
        if part is None or plan is None:
            return
        work = functools.partial(_make, self._make, part.piece, plan, self._stands.is_set)
        try:
            job = self._bench.jobs.start("make a piece", work, lane=Lane.PIECES)
        except RuntimeError:
            return  # the window is being closed
        self._job, self._part = job, part
        job.succeeded.connect(self._on_made)
        job.failed.connect(self._on_failed)
        job.finished.connect(self._on_finished)

    def _next_part(self) -> _Part | None:
        plan = self._plan
        is_known = self._looking is None and not self._settling.isActive()
        if plan is None or not is_known or self._is_stopped or plan.subject is not self._player.subject:
            return None
        done = self._there | self._failed
        missing = (part for part in plan.parts if part.key not in done)
        return min(missing, key=self._distance, default=None)

    def _distance(self, part: _Part) -> int:
        frame = self._player.frame
        if part.start <= frame < part.end:
            return 0
        return part.start - frame if part.start > frame else _BEHIND * (frame - part.end + 1)

    def _on_made(self) -> None:
        part = self._part
        assert part is not None
        self._there.add(part.key)
        if part.start <= self._player.frame < part.end:
            self._player.ask_again()
        self.ready_changed.emit()

    def _on_failed(self, error: object) -> None:
        if isinstance(error, OutputError):
            # A full disk is full for the next piece too.
            self._is_stopped = True
        elif self._part is not None:
            self._failed.add(self._part.key)
        self.failed.emit(error)

    def _on_finished(self) -> None:
        self._job = self._part = None
        self._go()

    # -- assemblies

    def _on_job_started(self, job: object) -> None:
        assert isinstance(job, Job)
        if job.lane is Lane.MAKING:
            self._assemblies.add(job)
            job.finished.connect(self._on_assembly_finished)
            self._go()

    def _on_assembly_finished(self) -> None:
        job = self.sender()
        assert isinstance(job, Job)
        self._assemblies.discard(job)
        self._is_stopped = False
        # It has made pieces that this viewer's store does not know of.
        self._settling.start()
        self._player.look_again()
        self._go()


def _look(subject: Subject, kits: Kits, _: ProgressListener, cancel: CancelToken) -> _Plan:
    """Return the pieces of a subject, and which of them are there."""
    kit, reel = kits.kit(subject), subject.reel
    parts: list[_Part] = []
    there: set[str] = set()
    for placed in reel.placed:
        cancel.check()
        if not isinstance(placed.piece, Missing):
            key = key_of(placed.piece, reel.rate, reel.size, kit)
            parts.append(_Part(key=key, piece=placed.piece, start=placed.start_frames))
            if kit.store.find(key) is not None:
                there.add(key)
    return _Plan(subject=subject, kit=kit, parts=tuple(parts), there=frozenset(there))


def _make(
    make: MakePiece,
    piece: Piece,
    plan: _Plan,
    is_held: Callable[[], bool],
    progress: ProgressListener,
    cancel: CancelToken,
) -> Path:
    """Make a piece, behind everything else."""
    reel = plan.subject.reel
    return make(
        piece,
        rate=reel.rate,
        size=reel.size,
        kit=plan.kit,
        cancel=cancel,
        progress=progress,
        low_priority=True,
        is_held=is_held,
    )


def _joined(parts: Iterator[_Part]) -> Iterator[tuple[int, int]]:
    """Give where parts are, those that meet as one."""
    first = end = -1
    for part in parts:
        if part.start == end:
            end = part.end
            continue
        if end > first:
            yield first, end
        first, end = part.start, part.end
    if end > first:
        yield first, end
