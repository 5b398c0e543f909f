"""Long work beside the window.

A job is a plain function `work(progress, cancel) -> result` that is given frozen values, touches no shared
state and no widget. It runs in a thread; what it says arrives in the window's thread.
"""

import logging
import threading
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from enum import Enum, auto

from PySide6.QtCore import QObject, Qt, QTimer, Signal

from desk.errors import DeskError
from desk.jobs import Cancelled, CancelToken, Progress, ProgressListener

_log = logging.getLogger(__name__)

Work = Callable[[ProgressListener, CancelToken], object]

_LEAST_SECONDS_BETWEEN_REPORTS = 0.1

_GIVE_WAY_MS = 80
"""How long small pictures and what nobody waits for stand still after an edit, which is to be seen first."""

_LONGEST_WAIT_SECONDS = 1.0
"""They go a step on after so long, though one edit should follow the other."""


class Lane(Enum):
    """Which threads a job runs in.

    `SAVING` has one, so that writes of a film follow each other. `LOOKING` reads media for what is on the
    screen. `PICTURES` makes small pictures. `MAKING` is for an assembly, which uses the machine's cores
    itself. `PIECES` makes one piece of picture after the other, around the playhead. `BACKGROUND` is for what
    nobody waits for, one after the other.
    """

    SAVING = auto()
    LOOKING = auto()
    PICTURES = auto()
    MAKING = auto()
    PIECES = auto()
    BACKGROUND = auto()


_THREADS = {
    Lane.SAVING: 1,
    Lane.LOOKING: 2,
    Lane.PICTURES: 1,
    Lane.MAKING: 1,
    Lane.PIECES: 1,
    Lane.BACKGROUND: 1,
}
_COURTEOUS = frozenset({Lane.PICTURES, Lane.BACKGROUND})


class _CourteousToken(CancelToken):
    """Has work stand still where it looks whether to stop, while the way is not free."""

    def __init__(self, way: threading.Event) -> None:
        super().__init__()
        self._way = way

    def check(self) -> None:
        super().check()
        if not self._way.is_set():
            self._way.wait(_LONGEST_WAIT_SECONDS)
            super().check()


class Job(QObject):
    """Work that was started.

    Signals, all in the window's thread:
        progressed: A `Progress`, at most ten a second.
        succeeded: The result.
        failed: A `DeskError`, or the exception of a fault of our own.
        cancelled: It was stopped on request.
        finished: After exactly one of the three before.
    """

    progressed = Signal(object)
    succeeded = Signal(object)
    failed = Signal(object)
    cancelled = Signal()
    finished = Signal()

    _reported = Signal(object)
    _ended = Signal(object, object)

    def __init__(self, name: str, lane: Lane, token: CancelToken, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.name = name
        self.lane = lane
        self.cancel_token = token
        self.is_finished = False
        self._last_report = 0.0
        self._reported.connect(self.progressed, Qt.ConnectionType.QueuedConnection)
        self._ended.connect(self._on_ended, Qt.ConnectionType.QueuedConnection)

    def cancel(self) -> None:
        """Ask the work to stop; it says `cancelled` when it has."""
        self.cancel_token.set()

    def run(self, work: Work) -> None:
        """Do the work; called once, in a thread."""
        result: object = None
        fault: BaseException | None = None
        try:
            self.cancel_token.check()
            result = work(self._report, self.cancel_token)
        except (Cancelled, DeskError) as error:
            fault = error
        except Exception as error:  # noqa: BLE001 - a fault of our own is told, and the window goes on
            _log.exception("the job “%s” failed", self.name)
            fault = error
        self._ended.emit(result, fault)

    def _report(self, report: Progress) -> None:
        now = time.monotonic()
        if now - self._last_report >= _LEAST_SECONDS_BETWEEN_REPORTS or report.fraction >= 1:
            self._last_report = now
            self._reported.emit(report)

    def _on_ended(self, result: object, fault: BaseException | None) -> None:
        self.is_finished = True
        if isinstance(fault, Cancelled) or (fault and self.cancel_token.is_set):
            self.cancelled.emit()
        elif fault:
            self.failed.emit(fault)
        else:
            self.succeeded.emit(result)
        self.finished.emit()


class JobRunner(QObject):
    """Starts jobs and stops them all at the end. It owns them: a job lives until it is finished.

    Signals:
        started: A job was started; it.
        ending: The end has come: what has threads of its own is to end them.
        settled: No job is left.
    """

    started = Signal(object)
    ending = Signal()
    settled = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._pools = {
            lane: ThreadPoolExecutor(count, thread_name_prefix=f"desk-{lane.name.lower()}")
            for lane, count in _THREADS.items()
        }
        self._jobs: set[Job] = set()
        self._open = True
        self._way = threading.Event()
        self._way.set()
        self._freeing = QTimer(self, singleShot=True, interval=_GIVE_WAY_MS)
        self._freeing.timeout.connect(self._way.set)

    @property
    def jobs(self) -> frozenset[Job]:
        """What is not finished."""
        return frozenset(self._jobs)

    def start(self, name: str, work: Work, *, lane: Lane = Lane.LOOKING) -> Job:
        """Start work and return its job; connect to it at once, nothing arrives before the event loop runs.

        Args:
            name: What it does, for the log.
            work: What to do.
            lane: Which threads do it.

        Raises:
            RuntimeError: after `shut_down`.
        """
        if not self._open:
            raise RuntimeError(f"“{name}” was started after the end")
        token = _CourteousToken(self._way) if lane in _COURTEOUS else CancelToken()
        job = Job(name, lane, token, self)
        self._jobs.add(job)
        job.finished.connect(self._on_finished)
        self._pools[lane].submit(job.run, work)
        self.started.emit(job)
        return job

    def give_way(self) -> None:
        """Have small pictures and what nobody waits for stand still for a moment: an edit is to be shown."""
        self._way.clear()
        self._freeing.start()

    def shut_down(self) -> None:
        """Stop all jobs but those that save, and wait until every thread is done."""
        self._open = False
        self._freeing.stop()
        self._way.set()
        self.ending.emit()
        for job in self._jobs:
            # What was asked to be saved is saved.
            if job.lane is not Lane.SAVING:
                job.cancel()
        for lane, pool in self._pools.items():
            pool.shutdown(wait=True, cancel_futures=lane is not Lane.SAVING)
        self._jobs.clear()

    def _on_finished(self) -> None:
        job = self.sender()
        assert isinstance(job, Job)
        self._jobs.discard(job)
        job.deleteLater()
        if not self._jobs:
            self.settled.emit()
