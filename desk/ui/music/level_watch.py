"""How loud voices and music of the scene that is shown are, measured beside the window."""

import dataclasses
import functools
from collections.abc import Mapping
from pathlib import Path

from PySide6.QtCore import QObject, QTimer, Signal

from desk.film.lanes import spans
from desk.film.media import MediaFacts
from desk.film.model import Candidate, Cue, Film, Grade, Rights, Scene, SceneContent
from desk.film.paths import content_paths
from desk.film.problem import MediaTrouble
from desk.film.rates import Rate
from desk.jobs import CancelToken, ProgressListener
from desk.sound.ducking import Stretch
from desk.sound.levelling import SceneLevels, measure_scene
from desk.sound.plan import speech_in
from desk.sound.speech import Speech
from desk.ui.bench import Bench
from desk.ui.job_runner import Job, Lane

_SETTLE_MS = 300

_Wanted = tuple[str, SceneContent, float, tuple[MediaFacts | MediaTrouble | None, ...]]


class LevelWatch(QObject):
    """Measures a scene when it is shown and after what sounds in it has changed.

    What was measured before is kept in the project folder, so that most of it is there at once.

    Signals:
        measured: There are other results, or it is being measured anew.
    """

    measured = Signal()

    def __init__(self, bench: Bench, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._wanted: _Wanted | None = None
        self._running: _Wanted | None = None
        self._film: Film | None = None
        self._levels: SceneLevels | None = None
        self._of: _Wanted | None = None
        self._job: Job | None = None
        self._timer = QTimer(self, singleShot=True, interval=_SETTLE_MS)
        self._timer.timeout.connect(self._start)

    @property
    def is_measuring(self) -> bool:
        """Whether results of what is shown are still to come."""
        return self._wanted is not None and self._of != self._wanted

    @property
    def levels(self) -> SceneLevels | None:
        """What was measured of the scene that is shown, or None; it may be of what sounded a moment ago."""
        if self._of is None or self._wanted is None or self._of[0] != self._wanted[0]:
            return None
        return self._levels

    def show_scene(self, film: Film, scene: Scene) -> None:
        """Measure a scene, unless that is done."""
        if not scene.content.cues:
            self.rest()
            return
        facts = self._bench.media.facts
        heard = _heard(scene.content)
        known = tuple(facts.get(path) for path in content_paths(heard))
        wanted = (scene.id, heard, film.delivery.voices_lufs, known)
        self._film = film
        if wanted != self._wanted:
            self._wanted = wanted
            self._timer.start()

    def rest(self) -> None:
        """Measure nothing."""
        self._timer.stop()
        self._wanted = None
        if self._job is not None:
            self._job.cancel()

    def loudness_of(self, cue: Cue, candidate: Candidate) -> float | None:
        """Return how loud the chosen music of a cue is before its gain, in LUFS; None if unknown."""
        levels, of = self.levels, self._of
        if levels is None or of is None:
            return None
        then = next((item for item in of[1].cues if item.id == cue.id), None)
        level = next((item for item in levels.music if item.cue == cue.id), None)
        if then is None or level is None or level.loudness_lufs is None or then.choice is None:
            return None
        if _sound_of(then, then.choice) != _sound_of(cue, candidate):
            return None
        return level.loudness_lufs - level.gain_db

    def speech(self, content: SceneContent, rate: Rate) -> tuple[Stretch, ...] | None:
        """Return where somebody speaks in a scene, in samples from its start; None where it is not known."""
        levels, of = self.levels, self._of
        if levels is None or of is None or of[1].clips != content.clips:
            return None
        found: Mapping[str, Speech] = {item.clip: item.speech for item in levels.clips}
        return speech_in(spans(content, rate), rate, lambda span: found.get(span.owner))

    def _start(self) -> None:
        if self._wanted is None or self._wanted == self._of or self._job is not None:
            return
        assert self._film is not None
        film, folder = self._film, self._bench.session.folder
        scene = next((item for item in film.scenes if item.id == self._wanted[0]), None)
        if scene is None:
            return
        media = {
            path: facts for path, facts in self._bench.media.facts.items() if isinstance(facts, MediaFacts)
        }
        try:
            job = self._bench.jobs.start(
                "measure a scene",
                functools.partial(_measure, film, scene, media, folder),
                lane=Lane.BACKGROUND,
            )
        except RuntimeError:
            return  # the window is being closed
        self._job, self._running = job, self._wanted
        job.succeeded.connect(self._on_measured)
        job.failed.connect(self._on_failed)
        job.finished.connect(self._on_finished)
        self.measured.emit()

    def _on_measured(self, levels: object) -> None:
        assert isinstance(levels, SceneLevels)
        self._levels, self._of = levels, self._running

    def _on_failed(self) -> None:
        # It is not tried again before something changes.
        self._levels, self._of = None, self._running

    def _on_finished(self) -> None:
        self._job = None
        if self.is_measuring:
            self._start()
        self.measured.emit()


def _heard(content: SceneContent) -> SceneContent:
    """Return a scene without what does not decide how loud it is, so that typing measures nothing anew."""
    cues = tuple(
        dataclasses.replace(
            cue,
            label="",
            candidates=tuple(
                dataclasses.replace(item, rights=Rights()) for item in cue.candidates if item.id == cue.chosen
            ),
        )
        for cue in content.cues
    )
    return dataclasses.replace(content, cues=cues, spots=(), grade=Grade(), grade_note="")


def _sound_of(cue: Cue, candidate: Candidate) -> object:
    return candidate.file, candidate.in_seconds, candidate.parts, cue.length_frames


def _measure(
    film: Film,
    scene: Scene,
    media: Mapping[str, MediaFacts],
    folder: Path,
    progress: ProgressListener,
    cancel: CancelToken,
) -> SceneLevels:
    files = {path: folder / path for path in media}
    return measure_scene(film, scene, files, media, folder, progress=progress, cancel=cancel)
