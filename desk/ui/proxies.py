"""Makes key pictures and proxies of the film's heavy footage in the background, and knows which are there."""

import functools
import threading
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import QObject, Signal

from desk.errors import DeskError, OutputError
from desk.film.media import MediaFacts
from desk.footage.key_pictures import key_pictures_key
from desk.footage.proxy import is_heavy, proxy_key
from desk.jobs import Progress
from desk.ui.job_runner import Job, JobRunner, Lane, Work
from desk.ui.key_picture_files import KeyPictureFiles, MadeKeyPictures
from desk.ui.media import Media
from desk.ui.proxy_files import MadeProxy, ProxyFiles
from desk.ui.proxy_jobs import Looked, look, make_instead
from desk.ui.session import Session
from desk.ui.settings import settings

_SETTING = "proxies/make"


@dataclass(frozen=True, slots=True, kw_only=True)
class ProxyState:
    """How far the proxies are.

    Attributes:
        total: How many of the film's sources are heavy.
        done: How many of them have a proxy.
        failed: Of how many none can be made now.
        source: The source whose proxy is being made, as its path in the film, or "".
        near_source: The source whose key pictures are being made, or "".
        fraction: How far that one is, 0 to 1.
        is_on: Whether proxies are made at all.
        is_held: Whether the person holds it.
        is_waiting: Whether it waits for an assembly.
        obstacle: Why it stopped, as a sentence, or "".
    """

    total: int = 0
    done: int = 0
    failed: int = 0
    source: str = ""
    near_source: str = ""
    fraction: float = 0.0
    is_on: bool = True
    is_held: bool = False
    is_waiting: bool = False
    obstacle: str = ""

    @property
    def left(self) -> int:
        """How many are still to be made."""
        return self.total - self.done - self.failed


class Proxies(QObject):
    """The proxies of the film's heavy footage. One is made at a time, behind everything else.

    Before the first of them, all that is heavy gets its key pictures, which take far less time; they serve
    until the proxy is there, and are made where proxies are turned off, too.

    Nothing waits for a proxy, and a source without one is shown from its footage. While an assembly is made,
    or the person holds it, what is being made stands still and loses nothing. A source of which none can be
    made is told once, and tried again when its file is another one. An assembly never uses proxies.

    Signals, all in the window's thread:
        changed: How far it is, a `ProxyState`.
        found: The proxy of a source is there now, or not any more; its path in the film.
        failed: Why a proxy could not be made; a `DeskError`, or the exception of a fault of our own.
    """

    changed = Signal(object)
    found = Signal(str)
    failed = Signal(object)

    def __init__(
        self,
        session: Session,
        media: Media,
        jobs: JobRunner,
        parent: QObject | None = None,
        *,
        files: ProxyFiles | None = None,
        key_files: KeyPictureFiles | None = None,
        rule: Callable[[MediaFacts], bool] = is_heavy,
    ) -> None:
        """Begin, as soon as something is known of the media.

        Args:
            session: The film.
            media: Tells which file is which.
            jobs: Runs the work.
            parent: Who owns it.
            files: Where proxies are, and what makes them.
            key_files: Where key pictures are, and what makes them.
            rule: Which footage gets one.
        """
        super().__init__(parent)
        self._session = session
        self._media = media
        self._jobs = jobs
        self._files_on_disk = files or ProxyFiles(session.folder)
        self._key_files = key_files or KeyPictureFiles(session.folder)
        self._rule = rule
        self._facts: dict[str, MediaFacts] = {}
        self._keys: dict[str, str] = {}
        self._files: dict[str, Path] = {}
        self._near: dict[str, Path | None] = {}
        self._near_source = ""
        self._looked: set[str] = set()
        self._failed: set[str] = set()
        self._first: tuple[str, ...] = ()
        self._job: Job | None = None
        self._source = ""
        self._fraction = 0.0
        self._is_on = bool(settings().value(_SETTING, True, type=bool))
        self._is_held = False
        self._assemblies: set[Job] = set()
        self._stands = threading.Event()
        self._obstacle: DeskError | None = None
        self._state = ProxyState(is_on=self._is_on)
        media.changed.connect(self._on_media_changed)
        jobs.started.connect(self._on_job_started)
        for job in jobs.jobs:
            self._on_job_started(job)
        self._on_media_changed()

    @property
    def state(self) -> ProxyState:
        """How far it is."""
        return self._state

    def file_for(self, source: str) -> Path | None:
        """Return the proxy of a source, or None where there is none. May be asked from any thread.

        Args:
            source: The source's path in the film.
        """
        return self._files.get(source)

    def key_pictures_for(self, source: str) -> Path | None:
        """Return the key pictures of a source, or None where there are none. May be asked from any thread.

        Args:
            source: The source's path in the film.
        """
        return self._near.get(source)

    def hurry(self, sources: Iterable[str]) -> None:
        """Make these first, after the one that is being made.

        Args:
            sources: Paths in the film; those that need no proxy are passed over.
        """
        self._first = tuple(sources)

    def hold(self) -> None:
        """Stand still until `go_on`."""
        self._is_held = True
        self._go()

    def go_on(self) -> None:
        """Go on after `hold`, or after something stopped it."""
        self._is_held = False
        self._obstacle = None
        self._go()

    def turn(self, *, on: bool) -> None:
        """Make proxies from now on, or make none; those that are there are used in any case.

        The choice is remembered for every film.
        """
        self._is_on = on
        settings().setValue(_SETTING, on)
        if not on and self._source and self._job is not None:
            self._job.cancel()
        self._go()

    def _go(self) -> None:
        """Do what comes next, and tell how far it is."""
        if self._is_held or self._assemblies:
            self._stands.set()
        else:
            self._stands.clear()
        self._start_next()
        self._tell()

    def _start_next(self) -> None:
        if self._job is not None:
            return
        try:
            new = {source: facts for source, facts in self._facts.items() if source not in self._looked}
            if new:
                self._look(new)
            elif source := self._next_near_source():
                self._make_near(source)
            elif source := self._next_source():
                self._make(source)
        except RuntimeError:
            return  # the window is being closed

    def _next_source(self) -> str:
        if not self._is_on or self._stands.is_set() or self._obstacle or self._session.read_only:
            return ""
        order = dict.fromkeys((*self._first, *self._facts))
        there = self._files.keys() | self._failed
        return next((source for source in order if source in self._facts and source not in there), "")

    def _next_near_source(self) -> str:
        if self._stands.is_set() or self._session.read_only:
            return ""
        order = dict.fromkeys((*self._first, *self._facts))
        there = self._files.keys() | self._near.keys()
        return next((source for source in order if source in self._facts and source not in there), "")

    def _look(self, wanted: dict[str, MediaFacts]) -> None:
        work = functools.partial(look, self._files_on_disk, self._key_files, wanted)
        job = self._start("look for proxies", work)
        job.succeeded.connect(self._on_looked)

    def _make_near(self, source: str) -> None:
        work = functools.partial(self._key_files.make, source, self._facts[source], self._stands.is_set)
        job = self._start("make key pictures", work)
        self._near_source = source
        job.succeeded.connect(self._on_near_made)

    def _make(self, source: str) -> None:
        facts = self._facts[source]
        make = functools.partial(self._files_on_disk.make, source, facts, self._stands.is_set)
        work = functools.partial(make_instead, make, self._key_files, facts)
        job = self._start("make a proxy", work)
        self._source, self._fraction = source, 0.0
        job.progressed.connect(self._on_progressed)
        job.succeeded.connect(self._on_made)

    def _start(self, name: str, work: Work) -> Job:
        job = self._jobs.start(name, work, lane=Lane.BACKGROUND)
        self._job = job
        job.failed.connect(self._on_failed)
        job.finished.connect(self._on_finished)
        return job

    def _on_looked(self, looked: object) -> None:
        assert isinstance(looked, Looked)
        sought = looked.proxies
        # A file that became another one meanwhile is looked for again.
        current = [source for source, key in sought.keys.items() if self._keys.get(source) == key]
        self._looked.update(current)
        for source in current:
            if source in looked.near:
                self._near[source] = looked.near[source]
            if source in sought.refused:
                self._failed.add(source)
            elif source in sought.files:
                self._files[source] = sought.files[source]
                self.found.emit(source)

    def _on_progressed(self, report: object) -> None:
        assert isinstance(report, Progress)
        self._fraction = report.fraction
        self._tell()

    def _on_near_made(self, made: object) -> None:
        assert isinstance(made, MadeKeyPictures)
        facts = self._facts.get(made.source)
        if facts is not None and key_pictures_key(facts) == made.key:
            self._near[made.source] = made.file

    def _on_made(self, made: object) -> None:
        assert isinstance(made, MadeProxy)
        if self._keys.get(made.source) == made.key:
            self._near.pop(made.source, None)
            self._files[made.source] = made.file
            self.found.emit(made.source)

    def _on_failed(self, error: object) -> None:
        if self._near_source:
            self._near[self._near_source] = None
        elif not self._source:
            # Nothing is known of what is there, so all of it is made.
            self._looked.update(self._facts)
        elif isinstance(error, OutputError):
            self._obstacle = error
        else:
            self._failed.add(self._source)
        self.failed.emit(error)

    def _on_finished(self) -> None:
        self._job = None
        self._source = self._near_source = ""
        self._fraction = 0.0
        self._go()

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
        self._go()

    def _on_media_changed(self) -> None:
        facts = self._media.facts
        heavy = {path: of for path, of in facts.items() if isinstance(of, MediaFacts) and self._rule(of)}
        before, self._facts = self._keys, heavy
        self._keys = {source: proxy_key(of) for source, of in heavy.items()}
        for source, key in before.items():
            if self._keys.get(source) != key:
                self._forget(source)
        self._go()

    def _forget(self, source: str) -> None:
        self._looked.discard(source)
        self._failed.discard(source)
        self._near.pop(source, None)
        if source in (self._source, self._near_source) and self._job is not None:
            self._job.cancel()
        if self._files.pop(source, None):
            self.found.emit(source)

    def _tell(self) -> None:
        known = self._facts.keys()
        state = ProxyState(
            total=len(known),
            done=len(known & self._files.keys()),
            failed=len(known & self._failed),
            source=self._source,
            near_source=self._near_source,
            fraction=self._fraction,
            is_on=self._is_on and not self._session.read_only,
            is_held=self._is_held,
            is_waiting=bool(self._assemblies),
            obstacle=str(self._obstacle or ""),
        )
        if state != self._state:
            self._state = state
            self.changed.emit(state)
