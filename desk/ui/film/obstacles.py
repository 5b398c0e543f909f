"""The part of the film's sheet that says what stands in the way of an assembly."""

import functools
from dataclasses import dataclass

from PySide6.QtCore import QTimer
from PySide6.QtGui import QHideEvent, QShowEvent
from PySide6.QtWidgets import QWidget

from desk.film.checks import check
from desk.film.model import Card, Film, Scene
from desk.film.problem import UNREAD, Facts, Problem, Severity
from desk.film.reading import kind_name
from desk.film.timing import Include
from desk.film.wording import counted, entry_name, sentence
from desk.jobs import CancelToken, ProgressListener
from desk.ui.bench import Bench
from desk.ui.film.obstacle_list import Line, ObstacleList
from desk.ui.film.section import FilmSection
from desk.ui.labels import note, say
from desk.ui.sheet.picks import Alternatives

SETTLE_MS = 600
"""From the last change to looking again."""


@dataclass(frozen=True, slots=True)
class Obstacles:
    """What a look at the film found.

    Attributes:
        film: The film that was looked at.
        include: Which scenes the assembly would take.
        lines: What to show, grouped by entry.
        blocking: How many problems stand in the way.
        looks: How many deserve a look.
        unread: How many files were not read yet, of which nothing is said.
    """

    film: Film
    include: Include
    lines: tuple[Line, ...]
    blocking: int
    looks: int
    unread: int


class ObstaclesSection(FilmSection):
    """What stands in the way of an assembly, and what deserves a look."""

    def __init__(self, bench: Bench, parent: QWidget) -> None:
        super().__init__("What stands in the way", bench, parent)
        self.include = Alternatives(
            "Look at an assembly of", (("Locked scenes", Include.LOCKED), ("Drafts too", Include.ALL)), self
        )
        any_locked = any(scene.lock for scene in bench.session.film.scenes)
        self._include = Include.LOCKED if any_locked else Include.ALL
        self.include.show_value(self._include)
        self.include.picked.connect(self._pick)
        self.told = note("dim", self)
        say(self.told, "Looking…")
        self.list = ObstacleList(bench.theme, self)
        self.list.hide()
        self.list.wanted.connect(bench.choice.choose)
        for widget in (self.include, self.told, self.list):
            self.body.addWidget(widget)
        self._is_running = self._is_stale = self._was_looked = False
        self._timer = QTimer(self, singleShot=True)
        self._timer.timeout.connect(self.look)
        bench.media.changed.connect(self._on_media_changed)

    def show_film(self, film: Film) -> None:
        self._ask()

    def look(self) -> None:
        """Look at the film beside the window."""
        self._timer.stop()
        self._is_stale = True
        if self._is_running or not self.isVisible():
            return
        self._is_running, self._is_stale = True, False
        work = functools.partial(
            find_obstacles, self.bench.session.film, dict(self.bench.media.facts), self._include
        )
        job = self.bench.jobs.start("look for what stands in the way", work)
        job.succeeded.connect(self._on_found)
        job.finished.connect(self._on_finished)

    def _ask(self) -> None:
        self._is_stale = True
        if self.isVisible():
            self._timer.start(SETTLE_MS if self._was_looked else 0)

    def _pick(self, include: Include) -> None:
        self._include = include
        self.look()

    def _on_media_changed(self) -> None:
        self._ask()

    def _on_found(self, found: object) -> None:
        assert isinstance(found, Obstacles)
        if found.include is not self._include or found.film is not self.bench.session.film:
            self._is_stale = True
            return
        self._was_looked = True
        self.list.show_lines(found.lines)
        self.list.setVisible(bool(found.lines))
        say(self.told, told_of(found), "open" if found.blocking else "dim")

    def _on_finished(self) -> None:
        self._is_running = False
        if self._is_stale and not self._timer.isActive() and self.isVisible():
            self._timer.start(SETTLE_MS)

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        if self._is_stale:
            self._timer.start(0)

    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        self._timer.stop()


def told_of(found: Obstacles) -> str:
    """Return how much was found, in words."""
    told = []
    if found.blocking:
        told.append(f"{counted(found.blocking, 'thing')} {_verb(found.blocking, 'stand')} in the way.")
    elif not found.unread:
        told.append("Nothing stands in the way.")
    if found.looks:
        told.append(f"{counted(found.looks, 'thing')} {_verb(found.looks, 'deserve')} a look.")
    if found.unread:
        told.append(
            f"{counted(found.unread, 'file')} {'is' if found.unread == 1 else 'are'} still being read."
        )
    return " ".join(told)


def find_obstacles(
    film: Film, facts: Facts, include: Include, _: ProgressListener, cancel: CancelToken
) -> Obstacles:
    """Look at a film; a job.

    Args:
        film: The film.
        facts: What is known of its media.
        include: Which scenes the assembly would take.
        cancel: Stops it before what it found is put in order.

    Raises:
        Cancelled: when stopped on request.
    """
    problems = check(film, facts, include)
    cancel.check()
    unread = sum(problem.code == UNREAD.code for problem in problems)
    groups: dict[str, list[Problem]] = {}
    for problem in problems:
        if problem.code != UNREAD.code:
            groups.setdefault(problem.place, []).append(problem)
    lines: list[Line] = []
    entries = film.entries()
    for place, found in groups.items():
        entry = entries.get(place)
        lines.append(Line(place, _title(entry) if entry else "The film", is_scene=isinstance(entry, Scene)))
        named = sentence(entry_name(entry)) if entry else "The film"
        for problem in found:
            rest = problem.subject.removeprefix(named).lstrip(", ")
            text = f"{sentence(rest)}: {problem.sentence}" if rest else problem.sentence
            lines.append(Line(place, text, problem.advice, problem.severity))
    blocking = sum(line.severity is Severity.BLOCKS for line in lines)
    looks = sum(line.severity is Severity.LOOK for line in lines)
    return Obstacles(film, include, tuple(lines), blocking, looks, unread)


def _title(entry: Scene | Card) -> str:
    if isinstance(entry, Scene):
        return f"{entry.number}  {entry.slugline}".rstrip()
    return kind_name(entry)


def _verb(count: int, verb: str) -> str:
    return f"{verb}s" if count == 1 else verb
