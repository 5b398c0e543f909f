"""Locking beside the window: the files are read first, then the edit is made of the film as it is then."""

import functools
from pathlib import Path

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QProgressBar, QPushButton, QVBoxLayout, QWidget

from desk.film import edits
from desk.film.edits import Edit
from desk.film.model import Film, LockedMedia, Scene
from desk.film.paths import content_paths
from desk.film.wording import entry_name, sentence
from desk.footage.locking import hash_media
from desk.jobs import CancelToken, Progress, ProgressListener
from desk.ui.bench import Bench
from desk.ui.dates import today
from desk.ui.labels import label
from desk.ui.session import MakeEdit, several

_STEPS = 1000


class LockRun(QObject):
    """One lock on its way.

    Signals:
        progressed: How far the reading is, as a `Progress`.
        ended: It is over: locked, refused, stopped or failed, which `messages` has told.
    """

    progressed = Signal(object)
    ended = Signal()

    def __init__(
        self, bench: Bench, scene: Scene, reason: str, parent: QObject | None = None, *, again: bool = False
    ) -> None:
        """Start reading the files of a scene.

        Args:
            bench: The film.
            scene: The scene as it is now; it is locked only if its content is the same at the end.
            reason: Why it is locked although something is open, or "".
            parent: Who owns it.
            again: Whether to replace a lock that does not hold.
        """
        super().__init__(parent)
        self._bench = bench
        self._scene = scene
        self._reason = reason
        self._again = again
        paths = content_paths(scene.content)
        self._job = bench.jobs.start(
            f"lock {entry_name(scene)}", functools.partial(_hash, paths, bench.session.folder)
        )
        self._job.progressed.connect(self.progressed)
        self._job.succeeded.connect(self._on_read)
        self._job.failed.connect(self._on_failed)
        self._job.cancelled.connect(self._on_cancelled)
        self._job.finished.connect(self.ended)

    @property
    def scene_id(self) -> str:
        """The scene that is being locked."""
        return self._scene.id

    @property
    def name(self) -> str:
        """What a sentence calls the scene."""
        return entry_name(self._scene)

    def stop(self) -> None:
        """Stop reading; nothing is changed then."""
        self._job.cancel()

    def _on_read(self, media: object) -> None:
        assert isinstance(media, tuple)
        messages, session = self._bench.messages, self._bench.session
        now = next((scene for scene in session.film.scenes if scene.id == self._scene.id), None)
        if now is None:
            messages.notice(f"{sentence(self.name)} is not in the film any more, so it was not locked.")
            return
        if now.content != self._scene.content:
            told = f"{sentence(entry_name(now))} was changed while its files were read, so it was not locked."
            messages.notice(f"{told} Lock it as it is now.", urgent=True)
            return
        if session.do(self._edit(now, media)):
            lock = session.film.scene(now.id).lock
            assert lock is not None
            messages.notice(f"{sentence(entry_name(now))} is locked, version {lock.version}.")

    def _edit(self, now: Scene, media: tuple[LockedMedia, ...]) -> MakeEdit:
        lock = functools.partial(_lock, now.id, media, self._reason)
        if not self._again:
            return lock
        # The history says why the lock before was given up.
        why = " ".join(self._bench.statuses.of(now).broken)
        return several(f"Lock {entry_name(now)} again", [functools.partial(_unlock, now.id, why), lock])

    def _on_failed(self, error: object) -> None:
        self._bench.messages.fault(error)

    def _on_cancelled(self) -> None:
        self._bench.messages.notice(f"{sentence(self.name)} was not locked: reading its files was stopped.")


class LockBar(QFrame):
    """Shows the locks that are on their way, each with a way to stop it; hidden while there is none."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("kind", "shelf")
        self._rows = QVBoxLayout(self)
        self._rows.setContentsMargins(12, 8, 12, 8)
        self._rows.setSpacing(4)
        self.hide()

    def add(self, run: LockRun) -> None:
        """Show a lock until it has ended."""
        row = _Row(run, self)
        row.gone.connect(self._on_gone)
        self._rows.addWidget(row)
        self.show()

    @property
    def lines(self) -> list[str]:
        """What it says of each lock."""
        items = [self._rows.itemAt(at) for at in range(self._rows.count())]
        rows = [item.widget() for item in items if item is not None]
        return [row.line for row in rows if isinstance(row, _Row)]

    def _on_gone(self) -> None:
        row = self.sender()
        if isinstance(row, _Row):
            self._rows.removeWidget(row)
            row.hide()
            row.deleteLater()
        self.setVisible(self._rows.count() > 0)


class _Row(QWidget):
    """One lock on its way.

    Signals:
        gone: It has ended.
    """

    gone = Signal()

    def __init__(self, run: LockRun, parent: QWidget) -> None:
        super().__init__(parent)
        self._name = run.name
        self._words = label(f"Locking {run.name}", self)
        self._words.setMinimumWidth(120)
        self._bar = QProgressBar(self)
        self._bar.setRange(0, _STEPS)
        self._bar.setTextVisible(False)
        self._bar.setAccessibleName(f"How far the files of {run.name} are read")
        stop = QPushButton("Stop", self)
        stop.setAccessibleName(f"Stop locking {run.name}")
        stop.clicked.connect(run.stop)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(12)
        row.addWidget(self._words)
        row.addWidget(self._bar, 1)
        row.addWidget(stop)
        run.progressed.connect(self._on_progressed)
        run.ended.connect(self.gone)

    @property
    def line(self) -> str:
        """What it says."""
        return self._words.text()

    def _on_progressed(self, progress: Progress) -> None:
        self._bar.setValue(round(progress.fraction * _STEPS))
        self._words.setText(f"Locking {self._name}, {progress.fraction:.0%} read")
        self._words.setToolTip(progress.text)


def _hash(
    paths: tuple[str, ...], folder: Path, progress: ProgressListener, cancel: CancelToken
) -> tuple[LockedMedia, ...]:
    return hash_media(paths, folder, progress=progress, cancel=cancel)


def _lock(scene_id: str, media: tuple[LockedMedia, ...], reason: str, film: Film) -> Edit:
    return edits.lock(film, scene_id, today(), media, reason)


def _unlock(scene_id: str, reason: str, film: Film) -> Edit:
    return edits.unlock(film, scene_id, today(), reason)
