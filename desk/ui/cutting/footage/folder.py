"""What lies in a scene's folder, looked at beside the window and again whenever it changes."""

import functools
import os
from collections import Counter
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from PySide6.QtCore import QFileSystemWatcher, QObject, QTimer, Signal

from desk.errors import MediaError
from desk.film.paths import path_fault
from desk.film.wording import counted, quoted
from desk.footage.files_below import files_below
from desk.footage.order import PICTURE_SUFFIXES, SOUND_SUFFIXES
from desk.jobs import CancelToken, ProgressListener
from desk.ui.job_runner import Job, JobRunner

_SETTLE_MS = 400
"""A card that is being copied says so many times: look when it is quiet."""

RAW_SUFFIXES = frozenset({".arx", ".braw", ".crm", ".nev", ".r3d", ".rmf"})
"""Names of files with the raw picture data of cameras, in lower case (common practice, no source)."""

_LISTED = PICTURE_SUFFIXES | SOUND_SUFFIXES | RAW_SUFFIXES


@dataclass(frozen=True, slots=True, kw_only=True)
class FolderFiles:
    """What lies in a scene's folder.

    Attributes:
        folder: The folder, as the film has it; "" for a scene without one.
        files: Footage and sound, as the film names them, in natural order.
        others: A sentence about files that are not listed, or "".
        remarks: Sentences about what was passed over.
        fault: Why the folder can't be looked into, or None.
    """

    folder: str
    files: tuple[str, ...] = ()
    others: str = ""
    remarks: tuple[str, ...] = ()
    fault: MediaError | None = None


@dataclass(frozen=True, slots=True)
class _Look:
    found: FolderFiles
    watched: tuple[Path, ...]


class FolderWatch(QObject):
    """Looks at one folder, and again when files come or go.

    Signals:
        looked: What lies there now is known; a `FolderFiles`.
    """

    looked = Signal(object)

    def __init__(self, folder: Path, jobs: JobRunner, parent: QObject | None = None) -> None:
        """Make ready; nothing is read before `watch`.

        Args:
            folder: The project folder.
            jobs: Runs the work.
            parent: Who owns it.
        """
        super().__init__(parent)
        self._project = folder
        self._jobs = jobs
        self._folder = ""
        self._used: tuple[str, ...] = ()
        self._found: FolderFiles | None = None
        self._job: Job | None = None
        self._again = False
        self._watcher = QFileSystemWatcher(self)
        self._watcher.directoryChanged.connect(self._on_touched)
        self._timer = QTimer(self, singleShot=True, interval=_SETTLE_MS)
        self._timer.timeout.connect(self.look)

    @property
    def found(self) -> FolderFiles | None:
        """What lies in the folder that is watched, or None while that is not known."""
        return self._found

    @property
    def is_looking(self) -> bool:
        """Whether what is known may be another thing soon."""
        return self._job is not None or self._timer.isActive()

    def watch(self, folder: str, used: tuple[str, ...]) -> None:
        """Look at another folder from now on.

        Args:
            folder: The folder, as the film has it, or "" for none.
            used: Files as the scene names them, which keep those names whatever way leads to them.
        """
        self._used = used
        if folder != self._folder:
            self._folder, self._found = folder, None
            self.look()
        elif self._found is None and not self.is_looking:
            self.look()

    def look(self) -> None:
        """Look at the folder now."""
        self._timer.stop()
        if self._job is not None:
            self._again = True
            return
        if not self._folder:
            self._watch(())
            self._tell(FolderFiles(folder=""))
            return
        place = self._project / self._folder
        if place.is_dir():
            # Before it is looked into, so that what comes meanwhile is not overlooked.
            self._watch((*self._watcher.directories(), str(place)))
        work = functools.partial(_look, self._folder, self._project, self._used)
        try:
            job = self._jobs.start("look at the folder of a scene", work)
        except RuntimeError:
            return  # the window is being closed
        self._job = job
        job.succeeded.connect(self._on_looked)
        job.finished.connect(self._on_finished)

    def stop(self) -> None:
        """Look no more by itself."""
        self._timer.stop()
        self._again, self._folder = False, ""
        self._watch(())

    def _on_looked(self, result: object) -> None:
        assert isinstance(result, _Look)
        if result.found.folder != self._folder:
            self._again = bool(self._folder)
            return
        if self._watch(tuple(str(path) for path in result.watched)):
            # Something may have come into them between the look and the watch.
            self._timer.start()
        self._tell(result.found)

    def _tell(self, found: FolderFiles) -> None:
        self._found = found
        self.looked.emit(found)

    def _on_finished(self) -> None:
        self._job = None
        if self._again:
            self._again = False
            self.look()

    def _on_touched(self) -> None:
        self._timer.start()

    def _watch(self, folders: tuple[str, ...]) -> bool:
        """Watch just these folders; returns whether some were not watched before."""
        watched, wanted = set(self._watcher.directories()), set(folders)
        if gone := sorted(watched - wanted):
            self._watcher.removePaths(gone)
        if new := sorted(wanted - watched):
            self._watcher.addPaths(new)
        return bool(new)


def name_in_film(path: PurePosixPath) -> str:
    """Return a path as a film may name it; it is to be looked at with `path_fault`."""
    name = path.as_posix()
    # What has a colon in its first part would be taken for an address.
    return f"./{name}" if path_fault(name) and not path_fault(f"./{name}") else name


def is_listed(path: Path) -> bool:
    """Return whether a file is of a kind that a list of footage has; whether it can be read is not known."""
    return path.suffix.lower() in _LISTED


def _look(
    folder: str, project: Path, used: tuple[str, ...], progress: ProgressListener, cancel: CancelToken
) -> _Look:
    place = project / folder
    try:
        below = files_below(place)
    except MediaError as error:
        above = next((parent for parent in place.parents if parent.is_dir()), None)
        return _Look(FolderFiles(folder=folder, fault=error), (above,) if above else ())
    cancel.check()
    names = {os.path.realpath(project / path): path for path in used}
    files: dict[str, None] = {}
    remarks = list(below.remarks)
    others: Counter[str] = Counter()
    for path in below.files:
        if not is_listed(path):
            others[path.suffix.lower() or path.name] += 1
            continue
        inside = PurePosixPath(path.relative_to(place).as_posix())
        name = names.get(os.path.realpath(path)) or name_in_film(PurePosixPath(folder) / inside)
        if fault := path_fault(name):
            remarks.append(f"{quoted(path.name)} can't be used: its path {fault}.")
        else:
            files[name] = None
    return _Look(
        FolderFiles(folder=folder, files=tuple(files), others=_told(others), remarks=tuple(remarks)),
        below.folders,
    )


def _told(others: Counter[str]) -> str:
    count = others.total()
    if not count:
        return ""
    kinds = ", ".join(kind for kind, _ in others.most_common(3))
    verb = "lies" if count == 1 else "lie"
    are = "is" if count == 1 else "are"
    return f"{counted(count, 'other file')} {verb} there too ({kinds}) and {are} not listed."
