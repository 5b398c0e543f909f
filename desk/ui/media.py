"""What is known of the film's media now, read beside the window and looked at again when files change."""

import contextlib
import functools
import os
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from PySide6.QtCore import QFileSystemWatcher, QObject, QTimer, Signal

from desk.assembly.survey import Survey, survey
from desk.errors import OutputError
from desk.film.media import MediaFacts
from desk.film.model import Film
from desk.film.paths import film_paths
from desk.film.problem import MediaTrouble
from desk.footage.seen_files import remember, seen_path
from desk.jobs import CancelToken, Progress, ProgressListener
from desk.store.folder import desk_folder
from desk.ui.job_runner import Job, JobRunner
from desk.ui.session import Session

_SETTLE_MS = 400
"""A copy that is being written says so many times: look when it is quiet."""

_AT_ONCE = 12
"""So many of the files that the film does not use are looked at before it is told what they are."""


_MOST_ABOVE = 3
"""So many folders above one with footage are watched, to see it moved as a whole."""


@dataclass(frozen=True, slots=True)
class _Watched:
    """What is watched for some files.

    Attributes:
        names: The files, as the film names them.
        paths: Those that are there, their folders, and what holds those.
        folders: The files' own folders, with whether each is there.
    """

    names: tuple[str, ...]
    paths: frozenset[str]
    folders: Mapping[str, bool]


class Media(QObject):
    """Facts of every file that the film names, and of others that somebody asked about.

    A file that was not looked at yet counts as there, so that nothing is called missing before it is known.

    Signals:
        changed: Some files are not what they were: a frozenset of their paths in the film.
        looking: How far a look at the files is, as a `Progress`; fraction 1 at the end.
    """

    changed = Signal(object)
    looking = Signal(object)

    def __init__(self, session: Session, jobs: JobRunner, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._film = session.film
        self._jobs = jobs
        self._facts: dict[str, MediaFacts | MediaTrouble] = {}
        self._paths: tuple[str, ...] = ()
        self._also: tuple[str, ...] = ()
        self._left: tuple[str, ...] = ()
        self._folders: dict[str, bool] = {}
        self._job: Job | None = None
        self._again = False
        self._watcher = QFileSystemWatcher(self)
        self._watcher.fileChanged.connect(self._on_touched)
        self._watcher.directoryChanged.connect(self._on_folder_touched)
        self._timer = QTimer(self, singleShot=True, interval=_SETTLE_MS)
        self._timer.timeout.connect(self.look)
        session.changed.connect(self._on_film_changed)

    @property
    def facts(self) -> Mapping[str, MediaFacts | MediaTrouble]:
        """What was read of each file, or what is wrong with it; without those not looked at yet."""
        return self._facts

    def is_present(self, path: str) -> bool:
        """Return whether a file of the film is there and can be read, as far as is known."""
        return not isinstance(self._facts.get(path), MediaTrouble)

    def source_seconds(self) -> dict[str, Fraction]:
        """Return the length of each source's picture, by path, for `desk.film.timing.join_room`."""
        return {
            path: facts.picture.seconds
            for path, facts in self._facts.items()
            if isinstance(facts, MediaFacts) and facts.picture
        }

    def as_now(self, paths: Iterable[str]) -> dict[str, tuple[int, str] | None]:
        """Return size and sample hash of files as they are now, for `desk.film.locking.broken`.

        A file that was not looked at yet is left out.
        """
        found: dict[str, tuple[int, str] | None] = {}
        for path in paths:
            facts = self._facts.get(path)
            if isinstance(facts, MediaFacts):
                found[path] = (facts.size_bytes, facts.sample_hash)
            elif facts is not None:
                found[path] = None
        return found

    def look(self) -> None:
        """Look at the files again, beside the window."""
        self._timer.stop()
        if self._job is not None:
            self._again = True
            return
        film = self._session.film
        paths = _watched_paths(film)
        self._paths = paths
        self._left = tuple(path for path in self._also if path not in paths)
        work = functools.partial(_look, film, self._session.folder, paths, self._names())
        self._job = job = self._jobs.start("look at the media", work)
        job.progressed.connect(self.looking)
        job.succeeded.connect(self._on_looked)
        job.finished.connect(self._on_film_finished)
        job.finished.connect(self._on_finished)

    def also(self, paths: Iterable[str]) -> None:
        """Look at files that the film does not use, too, in place of those that were named here before.

        The film's own come first, and `looking` tells of them alone.

        Args:
            paths: Footage or sound, as the film would name it.
        """
        wanted = tuple(dict.fromkeys(paths))
        if wanted == self._also:
            return
        self._also = wanted
        known = {*self._paths, *wanted}
        self._facts = {path: facts for path, facts in self._facts.items() if path in known}
        self._left = tuple(path for path in wanted if path not in self._facts and path not in self._paths)
        # A copy that ends while it is looked at is looked at again.
        self._watch(_watched(self._session.folder, wanted))
        self._look_at_others()

    def stop(self) -> None:
        """Look no more by itself."""
        self._timer.stop()
        self._again, self._left = False, ()
        watched = [*self._watcher.files(), *self._watcher.directories()]
        if watched:
            self._watcher.removePaths(watched)

    def _names(self) -> tuple[str, ...]:
        """Return the files that are looked at: those of the film, and the others."""
        return tuple(dict.fromkeys((*self._paths, *self._also)))

    def _on_looked(self, result: object) -> None:
        found, watched = _taken(result)
        before = self._facts
        self._facts = {path: before[path] for path in self._also if path in before} | dict(found.facts)
        either = before.keys() | self._facts.keys()
        changed = frozenset(path for path in either if before.get(path) != self._facts.get(path))
        self._watch(watched)
        if changed:
            self.changed.emit(changed)

    def _on_film_finished(self) -> None:
        self.looking.emit(Progress("media", "", 1.0))

    def _on_finished(self) -> None:
        self._job = None
        if self._again:
            self._again = False
            self._timer.start()
        else:
            self._look_at_others()

    def _look_at_others(self) -> None:
        """Look at some of the files that the film does not use."""
        if self._job is not None or self._timer.isActive() or not self._left:
            return
        # What did not change is told from its time alone, and takes no while.
        some = tuple(path for path in self._left if path in self._facts) or self._left[:_AT_ONCE]
        taken = set(some)
        self._left = tuple(path for path in self._left if path not in taken)
        work = functools.partial(_look, self._session.film, self._session.folder, some, self._names())
        self._job = self._jobs.start("look at more footage", work)
        self._job.succeeded.connect(self._on_others_looked)
        self._job.finished.connect(self._on_finished)

    def _on_others_looked(self, result: object) -> None:
        found, watched = _taken(result)
        wanted = {*self._also, *self._paths}
        new = {path: facts for path, facts in found.facts.items() if path in wanted}
        changed = frozenset(path for path, facts in new.items() if self._facts.get(path) != facts)
        self._facts = {**self._facts, **new}
        self._watch(watched)
        if changed:
            self.changed.emit(changed)

    def _watch(self, wanted: _Watched) -> None:
        """Watch files: those that are named now in place of what was watched before, others beside it."""
        watched = {*self._watcher.files(), *self._watcher.directories()}
        if wanted.names == self._names():
            self._folders = dict(wanted.folders)
            if gone := sorted(watched - wanted.paths):
                self._watcher.removePaths(gone)
        else:
            self._folders.update(wanted.folders)
        if new := sorted(wanted.paths - watched):
            self._watcher.addPaths(new)

    def _on_touched(self) -> None:
        self._timer.start()

    def _on_folder_touched(self, path: str) -> None:
        if path in self._folders or any(
            is_there != Path(folder).is_dir() for folder, is_there in self._folders.items()
        ):
            self._timer.start()

    def _on_film_changed(self, film: Film) -> None:
        # A move or a change of joins names no new file, and looking through all clips takes a while.
        before, self._film = self._film, film
        same = film.scenes is before.scenes and film.cards is before.cards
        if not same and _watched_paths(self._session.film) != self._paths:
            self._timer.start()


def _watched_paths(film: Film) -> tuple[str, ...]:
    locked = (media.path for scene in film.scenes if scene.lock for media in scene.lock.media)
    return tuple(dict.fromkeys((*film_paths(film), *locked)))


def _holders(folder: Path) -> tuple[Path, ...]:
    """Return the folders above one, without those that hold half a disk."""
    above = Path(os.path.abspath(folder)).parents  # noqa: PTH100 - a link keeps its own name
    return tuple(above[:_MOST_ABOVE])[: max(0, len(above) - 1)]


def _look(
    film: Film,
    folder: Path,
    paths: tuple[str, ...],
    names: tuple[str, ...],
    progress: ProgressListener,
    cancel: CancelToken,
) -> tuple[Survey, _Watched]:
    """Look at files, and which of all that are named are to be watched: a slow disk holds nobody up."""
    found = survey(film, folder, paths=paths, progress=progress, cancel=cancel)
    # Without it, a file that is moved is found by its name alone.
    with contextlib.suppress(OutputError):
        remember(seen_path(desk_folder(folder)), found.facts)
    return found, _watched(folder, names)


def _taken(result: object) -> tuple[Survey, _Watched]:
    assert isinstance(result, tuple)
    found, watched = result
    assert isinstance(found, Survey)
    assert isinstance(watched, _Watched)
    return found, watched


def _watched(folder: Path, names: tuple[str, ...]) -> _Watched:
    """Return what is to be watched for some files."""
    files = [folder / name for name in names]
    paths = {str(path) for path in files if path.exists()}
    # A folder says when a file comes back or is put in another's place, which the file itself can't.
    folders = dict.fromkeys(path.parent for path in files)
    are_there = {str(path): path.is_dir() for path in folders}
    paths |= {path for path, is_there in are_there.items() if is_there}
    # And of a folder that is moved as a whole, only those that held it say so.
    holders = dict.fromkeys(holder for path in folders for holder in _holders(path))
    paths |= {str(holder) for holder in holders if holder.is_dir()}
    return _Watched(names, frozenset(paths), are_there)
