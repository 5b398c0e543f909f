"""Measures the film scene by scene, beside the window, when the person asks."""

import contextlib
import functools
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PySide6.QtCore import QObject, Qt, QTimer, Signal

from desk.assembly.levels import SceneLevels, standing_out
from desk.errors import MediaError
from desk.film.lanes import spans
from desk.film.media import MediaFacts
from desk.film.model import Film, Scene, SceneContent
from desk.film.paths import content_paths
from desk.film.problem import Facts
from desk.film.rates import Rate
from desk.film.timecode import format_length
from desk.jobs import CancelToken, Progress, ProgressListener
from desk.sound.loudness import Levels, integrated
from desk.sound.loudness_files import LoudnessFiles
from desk.sound.plan import SpeechOf, speech_kept
from desk.sound.scene_loudness import (
    SceneLoudness,
    audible,
    find_scene_loudness,
    measure_scene_loudness,
    scene_loudness_key,
)
from desk.sound.speech import SpeechFile, find_speech_of
from desk.sound.streaming import track_of_scene
from desk.ui.bench import Bench
from desk.ui.job_runner import Job
from desk.ui.loudness.table import SoundRow

_SETTLE_MS = 500
_TELL_MS = 200
"""What was kept is found in a burst, and shown at once."""

_SceneToMeasure = tuple[str, SceneContent]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SceneNumbers:
    """What is kept of a scene that was measured.

    Attributes:
        content: What it was made of.
        momentary_lufs: Its momentary loudness, for that of the film.
        seconds: How long it is.
        integrated_lufs: All of it.
        voices_lufs: Its voices.
        music_below_voices_lu: How far its music lies below them.
        true_peak_dbtp: Its true peak.
        loudest_seconds: The middle of its loudest 400 ms.
    """

    content: SceneContent
    momentary_lufs: Levels
    seconds: float
    integrated_lufs: float | None
    voices_lufs: float | None
    music_below_voices_lu: float | None
    true_peak_dbtp: float | None
    loudest_seconds: float | None

    @classmethod
    def of(cls, content: SceneContent, found: SceneLoudness) -> "SceneNumbers":
        """Return what is kept of a measurement."""
        mix = found.mix
        return cls(
            content=content,
            momentary_lufs=mix.momentary_lufs,
            seconds=mix.seconds,
            integrated_lufs=mix.integrated_lufs,
            voices_lufs=found.voices_lufs,
            music_below_voices_lu=found.music_below_voices_lu,
            true_peak_dbtp=mix.true_peak_dbtp,
            loudest_seconds=mix.loudest_seconds,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmNumbers:
    """How loud the film's mix is, as far as its scenes were measured.

    Attributes:
        rows: Its scenes that are in the running order, in that order.
        frames: How long each is.
        momentary_lufs: The momentary loudness of each, or None where it is not known.
        integrated_lufs: All of them together.
        true_peak_dbtp: The highest of their true peaks.
    """

    rows: tuple[SoundRow, ...] = ()
    frames: tuple[int, ...] = ()
    momentary_lufs: tuple[Levels | None, ...] = ()
    integrated_lufs: float | None = None
    true_peak_dbtp: float | None = None

    @property
    def known(self) -> int:
        """How many scenes were measured as they are now."""
        return sum(row.is_known for row in self.rows)


class FilmMeter(QObject):
    """Knows how loud the scenes of the film are, each by itself, without joins and before the master.

    Signals:
        changed: More or something else is known.
        progressed: How far measuring is; a `Progress`.
        ended: Measuring has ended; why it failed, or "".
    """

    changed = Signal()
    progressed = Signal(object)
    ended = Signal(str)

    _found = Signal(str, object)

    def __init__(self, bench: Bench, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._known: dict[str, SceneNumbers] = {}
        self._sought: dict[str, SceneContent] = {}
        self._told: tuple[tuple[object, ...], FilmNumbers] = ((), FilmNumbers())
        self._version = 0
        self._fault = ""
        self._job: Job | None = None
        self._looking: Job | None = None
        self._settling = QTimer(self, singleShot=True, interval=_SETTLE_MS)
        self._settling.timeout.connect(self.look)
        self._telling = QTimer(self, singleShot=True, interval=_TELL_MS)
        self._telling.timeout.connect(self.changed)
        self._found.connect(self._on_found, Qt.ConnectionType.QueuedConnection)
        bench.media.changed.connect(self._on_media_changed)
        bench.jobs.ending.connect(self._settling.stop)
        bench.jobs.ending.connect(self._telling.stop)

    @property
    def is_measuring(self) -> bool:
        """Whether it is at work."""
        return self._job is not None

    def look_soon(self) -> None:
        """Look at what was measured before, once the film stands still."""
        self._settling.start()

    def rest(self) -> None:
        """Look no more until it is asked again; what is being measured goes on."""
        self._settling.stop()
        if self._looking is not None:
            self._looking.cancel()
            self._looking = None

    def look(self) -> None:
        """Find what was measured before of the film as it is now; nothing is measured."""
        self.rest()
        # What was sought in vain is not there before it is measured.
        wanted = [(scene, content) for scene, content in self._wanted() if self._sought.get(scene) != content]
        if self._job is None and wanted:
            self._looking = self._start("find how loud scenes are", wanted, measures=False)
            if self._looking is not None:
                self._looking.succeeded.connect(self._on_looked)

    def measure(self) -> None:
        """Measure what is not known of the film as it is now."""
        self.rest()
        if self._job is not None:
            return
        self._job = self._start("measure the film", self._wanted(), measures=True)
        if self._job is not None:
            self._job.progressed.connect(self.progressed)
            self._job.failed.connect(self._on_failed)
            self._job.finished.connect(self._on_finished)
            self._fault = ""

    def stop(self) -> None:
        """Stop measuring; what was measured stays."""
        if self._job is not None:
            self._job.cancel()

    def numbers(self) -> FilmNumbers:
        """Return what is known of the film as it is now."""
        film = self._bench.session.film
        made_of = (film.scenes, film.order, film.rate, self._version)
        if self._told[0] != made_of:
            self._told = (made_of, self._numbers(film))
        return self._told[1]

    def _numbers(self, film: Film) -> FilmNumbers:
        scenes = _in_order(film)
        known = {scene.id: self._current(scene) for scene in scenes}
        levels = [_levels(scene, found) for scene in scenes if (found := known[scene.id])]
        outstanding = {one.scene.id: louder for one, louder in standing_out(levels)}
        there = [found for found in known.values() if found]
        peaks = [found.true_peak_dbtp for found in there if found.true_peak_dbtp is not None]
        return FilmNumbers(
            rows=tuple(
                _row(scene, known[scene.id], film.rate, outstanding.get(scene.id)) for scene in scenes
            ),
            frames=tuple(scene_frames(scene) for scene in scenes),
            momentary_lufs=tuple(
                found.momentary_lufs if (found := known[scene.id]) else None for scene in scenes
            ),
            integrated_lufs=integrated(np.concatenate([found.momentary_lufs for found in there]))
            if there
            else None,
            true_peak_dbtp=max(peaks, default=None),
        )

    def _current(self, scene: Scene) -> SceneNumbers | None:
        found = self._known.get(scene.id)
        return found if found is not None and found.content == scene.content else None

    def _wanted(self) -> list[_SceneToMeasure]:
        scenes = _in_order(self._bench.session.film)
        return [(scene.id, scene.content) for scene in scenes if self._current(scene) is None]

    def _start(self, name: str, wanted: Sequence[_SceneToMeasure], *, measures: bool) -> Job | None:
        session = self._bench.session
        work = functools.partial(
            _work,
            tuple(wanted),
            session.film.rate,
            session.folder,
            self._bench.media.facts,
            measures,
            self._found.emit,
        )
        try:
            return self._bench.jobs.start(name, work)
        except RuntimeError:
            return None  # the window is being closed

    def _on_found(self, scene: str, found: SceneNumbers) -> None:
        self._known[scene] = found
        self._version += 1
        if not self._telling.isActive():
            self._telling.start()

    def _on_looked(self, sought: object) -> None:
        assert isinstance(sought, dict)
        self._sought |= sought

    def _on_media_changed(self, paths: frozenset[str]) -> None:
        self._sought.clear()
        stale = [
            scene
            for scene, found in self._known.items()
            if not paths.isdisjoint(content_paths(found.content))
        ]
        for scene in stale:
            del self._known[scene]
        if stale:
            self._version += 1
            self.changed.emit()

    def _on_failed(self, error: object) -> None:
        self._fault = f"The film could not be measured: {error}"

    def _on_finished(self) -> None:
        self._job = None
        self._telling.stop()
        self.ended.emit(self._fault)


def scene_frames(scene: Scene) -> int:
    """Return how long a scene is drawn: its picture, or what is planned for it."""
    clips = sum(clip.gap_frames + clip.length_frames for clip in scene.content.clips)
    return clips or scene.planned_frames or 1


def _in_order(film: Film) -> list[Scene]:
    scenes = {scene.id: scene for scene in film.scenes}
    return [scenes[placement.entry] for placement in film.order if placement.entry in scenes]


def _levels(scene: Scene, found: SceneNumbers) -> SceneLevels:
    return SceneLevels(
        scene=scene,
        seconds=found.seconds,
        integrated_lufs=found.integrated_lufs,
        voices_lufs=found.voices_lufs,
        music_below_voices_lu=found.music_below_voices_lu,
        loudest_lufs=None,
        loudest_frame=None,
    )


def _row(scene: Scene, found: SceneNumbers | None, rate: Rate, stands_out_lu: float | None) -> SoundRow:
    if found is None:
        return SoundRow(entry=scene.id, number=scene.number, is_known=False)
    frames = None if found.loudest_seconds is None else int(found.loudest_seconds * rate.fraction)
    return SoundRow(
        entry=scene.id,
        number=scene.number,
        integrated_lufs=found.integrated_lufs,
        voices_lufs=found.voices_lufs,
        music_below_voices_lu=found.music_below_voices_lu,
        true_peak_dbtp=found.true_peak_dbtp,
        loudest_at="" if frames is None else format_length(frames, rate),
        loudest_frames=frames,
        stands_out_lu=stands_out_lu,
    )


def _work(
    wanted: Sequence[_SceneToMeasure],
    rate: Rate,
    folder: Path,
    facts: Facts,
    measures: bool,
    tell: Callable[[str, object], None],
    progress: ProgressListener,
    cancel: CancelToken,
) -> dict[str, SceneContent]:
    """Tell of each scene that is known, or measured now; return those that are not; a job."""
    media = {path: known for path, known in facts.items() if isinstance(known, MediaFacts)}
    files = {path: folder / path for path in media}
    kept, speech = LoudnessFiles(folder), SpeechFile(folder)
    speech_of: SpeechOf = speech_kept(speech, rate, media)
    unknown: dict[str, SceneContent] = {}
    for number, (scene, content) in enumerate(wanted):
        cancel.check()
        done = number / len(wanted)
        told = f"Measuring scene {number + 1:,} of {len(wanted):,}"
        if measures:
            progress(Progress("loudness", told, done))
            if any(cue.duck and cue.choice for cue in content.cues):
                # What can't be listened to is silent, and its scene is measured all the same.
                with contextlib.suppress(MediaError):
                    find_speech_of(spans(content, rate), rate, files, media, speech, cancel=cancel)
        track = track_of_scene(content, rate, speech_of)
        heard = audible(track, media)
        found = find_scene_loudness(kept, scene_loudness_key(heard, media))
        if found is None and measures:

            def within(report: Progress, done: float = done, told: str = told) -> None:
                progress(Progress("loudness", told, done + report.fraction / len(wanted)))

            found = measure_scene_loudness(heard, files, media, kept=kept, progress=within, cancel=cancel)
        if found is None:
            unknown[scene] = content
        else:
            tell(scene, SceneNumbers.of(content, found))
    return unknown
