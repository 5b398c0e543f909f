"""Measures the scene that is being cut, beside the window, again and again as it is edited."""

import functools
from pathlib import Path

from PySide6.QtCore import QObject, QTimer, Signal

from desk.film.edits import Change
from desk.film.media import MediaFacts
from desk.film.model import Film, SceneContent
from desk.film.problem import Facts
from desk.film.rates import Rate
from desk.jobs import CancelToken, Progress, ProgressListener
from desk.sound.loudness_files import LoudnessFiles
from desk.sound.plan import SpeechOf
from desk.sound.scene_loudness import SceneLoudness, measure_scene_loudness
from desk.sound.streaming import track_of_scene
from desk.ui.bench import Bench
from desk.ui.job_runner import Job

SETTLE_MS = 600
"""Edits that follow each other are measured once."""

_FIRST_MS = 150
"""A scene that is only gone through is not measured."""


class SceneMeter(QObject):
    """Knows how loud the scene is that is being cut.

    Nothing is measured before it is wanted. What was measured before of the same sounds is found again.

    Signals:
        changed: Something else is known: `loudness`, `is_old`, `fraction` or `fault`.

    Attributes:
        loudness: How loud the scene is, or None while that is not known.
        is_old: Whether the scene was edited since that was measured.
        fraction: How far measuring is, or None while nothing is measured.
        fault: Why it could not be measured, or "".
    """

    changed = Signal()

    def __init__(self, bench: Bench, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._content: SceneContent | None = None
        self._job: Job | None = None
        self._is_wanted = False
        self.loudness: SceneLoudness | None = None
        self.is_old = False
        self.fraction: float | None = None
        self.fault = ""
        self._timer = QTimer(self, singleShot=True)
        self._timer.timeout.connect(self.measure)
        bench.cut.opened.connect(self._on_opened)
        bench.session.changed.connect(self._on_film_changed)
        bench.media.changed.connect(self._ask_again)
        bench.listening.settled.connect(self._on_listened)
        bench.jobs.ending.connect(self._timer.stop)

    @property
    def is_wanted(self) -> bool:
        """Whether somebody looks."""
        return self._is_wanted

    def set_wanted(self, is_wanted: bool) -> None:
        """Measure from now on, or stop."""
        if is_wanted == self._is_wanted:
            return
        self._is_wanted = is_wanted
        if is_wanted and (self.loudness is None or self.is_old):
            self._timer.start(_FIRST_MS)
        elif not is_wanted:
            self._timer.stop()
            self._drop()

    def measure(self) -> None:
        """Measure the scene as it is now, in place of whatever is being measured."""
        self._timer.stop()
        self._drop()
        scene = self._bench.cut.scene
        if scene is None or not self._is_wanted:
            return
        self._content = scene.content
        film, media = self._bench.session.film, self._bench.media.facts
        known = {path: facts for path, facts in media.items() if isinstance(facts, MediaFacts)}
        work = functools.partial(
            _measured,
            scene.content,
            film.rate,
            self._bench.session.folder,
            media,
            self._bench.listening.speech_of(film.rate, known),
        )
        try:
            job = self._bench.jobs.start("measure a scene", work)
        except RuntimeError:
            return  # the window is being closed
        self._job = job
        self.fraction = 0.0
        job.progressed.connect(self._on_progressed)
        job.succeeded.connect(self._on_succeeded)
        job.failed.connect(self._on_failed)
        self.changed.emit()

    def _drop(self) -> None:
        if self._job is not None:
            self._job.cancel()
            self._job = None
            self.fraction = None

    def _on_opened(self, _: str) -> None:
        self._drop()
        self._content = self.loudness = None
        self.is_old, self.fault = False, ""
        if self._is_wanted:
            self._timer.start(_FIRST_MS)
        self.changed.emit()

    def _on_film_changed(self, _: Film, __: Change) -> None:
        scene = self._bench.cut.scene
        if scene is not None and scene.content is not self._content:
            self._ask_again()

    def _on_listened(self, _: str) -> None:
        scene = self._bench.cut.scene
        if scene is not None and any(cue.duck and cue.choice for cue in scene.content.cues):
            self._ask_again()

    def _ask_again(self) -> None:
        self.is_old = self.loudness is not None
        if self._is_wanted:
            self._timer.start(SETTLE_MS)
        self.changed.emit()

    def _on_progressed(self, report: Progress) -> None:
        if self.sender() is self._job:
            self.fraction = report.fraction
            self.changed.emit()

    def _on_succeeded(self, result: object) -> None:
        if self.sender() is self._job:
            assert isinstance(result, SceneLoudness)
            self._job = None
            self.loudness, self.is_old, self.fraction, self.fault = result, False, None, ""
            self.changed.emit()

    def _on_failed(self, error: object) -> None:
        if self.sender() is self._job:
            self._job = None
            self.fraction, self.fault = None, f"The scene could not be measured: {error}"
            self.changed.emit()


def _measured(
    content: SceneContent,
    rate: Rate,
    folder: Path,
    facts: Facts,
    speech_of: SpeechOf,
    progress: ProgressListener,
    cancel: CancelToken,
) -> SceneLoudness:
    media = {path: known for path, known in facts.items() if isinstance(known, MediaFacts)}
    files = {path: folder / path for path in media}
    track = track_of_scene(content, rate, speech_of)
    return measure_scene_loudness(
        track, files, media, kept=LoudnessFiles(folder), progress=progress, cancel=cancel
    )
