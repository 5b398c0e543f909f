"""The dialog that levels a scene, or all drafts of the film: what would change first, then in one step."""

import functools
from collections.abc import Mapping
from pathlib import Path

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QHBoxLayout,
    QProgressBar,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from desk.film import edits
from desk.film.edits import Edit, Levels
from desk.film.media import MediaFacts
from desk.film.model import Film
from desk.film.problem import Facts
from desk.film.wording import counted, entry_name, sentence
from desk.jobs import CancelToken, Progress, ProgressListener
from desk.sound.levelling import SceneLevels, levels_of, levels_of_film, measure_film, measure_scene
from desk.sound.speech import SpeechFile
from desk.ui.bench import Bench
from desk.ui.elided import ElidedLabel
from desk.ui.fields import attempt
from desk.ui.job_runner import Job
from desk.ui.labels import label, note, say
from desk.ui.scene.voices.level_lines import LevelLine, lines_of_film, lines_of_scene
from desk.ui.scene.voices.level_list import LevelList
from desk.ui.scene.voices.rows import figure

_SIZE_PX = (840, 540)
_STEPS = 1000
_SETTLE_MS = 150
_CAUTION = "Monitor at a moderate level: what was soft may be much louder afterwards."
_STOPPED = "Stopped. What was measured by then is kept."

Measured = tuple[tuple[SceneLevels, ...], SpeechFile]


class LevelDialog(QDialog):
    """Measures, shows the gains that are proposed, and takes them as one step of undoing.

    It follows the film while it is open: after an edit it measures again what changed.
    """

    def __init__(self, bench: Bench, scene_id: str = "", parent: QWidget | None = None) -> None:
        """Open it and begin to measure.

        Args:
            bench: The film.
            scene_id: The scene, or "" for all drafts of the film.
            parent: Who owns it.
        """
        super().__init__(parent)
        self._bench = bench
        self._scene_id = scene_id
        self._job: Job | None = None
        self._of: object = None
        self._film = bench.session.film
        self._measured: tuple[SceneLevels, ...] | None = None
        self._is_stopped = False
        self.setModal(False)
        self.resize(*_SIZE_PX)
        self.words = label("", self, wraps=True)
        self.stage = ElidedLabel("", self)
        self.progress = QProgressBar(self)
        self.progress.setRange(0, _STEPS)
        self.progress.setTextVisible(False)
        self.progress.setAccessibleName("How far measuring is")
        self.stop_button = QPushButton("Stop", self)
        self.stop_button.setAccessibleName("Stop measuring")
        self.list = LevelList(bench.theme, self)
        self.detail = note("open", self)
        self.list.told.connect(self._on_told)
        self.fault = note("fault", self)
        self.take_button = QPushButton("Take these gains", self)
        self.take_button.setProperty("kind", "main")
        self.again_button = QPushButton("Measure again", self)
        self._settling = QTimer(self, singleShot=True, interval=_SETTLE_MS)
        self._settling.timeout.connect(self._measure)
        self._arrange()
        self._follow()
        self._name()
        self._measure()

    @property
    def is_measuring(self) -> bool:
        """Whether it measures."""
        return self._job is not None

    def take(self) -> None:
        """Take the gains that are shown, as one step."""
        levels = self._levels()
        if self._measured is None or levels is None:
            return
        refused = attempt(self._bench.session, functools.partial(_levelled, levels))
        say(self.fault, refused)
        if not refused:
            self._bench.messages.notice(f"{self._bench.session.stack.undoText()}: done. Undo takes it back.")
            self.accept()

    def stop(self) -> None:
        """Measure no more."""
        if self._job is not None:
            self._is_stopped = True
            self._job.cancel()

    def _arrange(self) -> None:
        row = QHBoxLayout()
        row.setSpacing(12)
        row.addWidget(self.stage, 1)
        row.addWidget(self.progress, 1)
        row.addWidget(self.stop_button)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close, parent=self)
        buttons.addButton(self.take_button, QDialogButtonBox.ButtonRole.AcceptRole)
        buttons.addButton(self.again_button, QDialogButtonBox.ButtonRole.ActionRole)
        self.take_button.clicked.connect(self.take)
        self.again_button.clicked.connect(self._measure)
        self.stop_button.clicked.connect(self.stop)
        self.stop_button.setAutoDefault(False)
        self.again_button.setAutoDefault(False)
        buttons.rejected.connect(self.reject)
        page = QVBoxLayout(self)
        page.setContentsMargins(16, 16, 16, 16)
        page.setSpacing(12)
        page.addWidget(self.words)
        page.addLayout(row)
        page.addWidget(self.list, 1)
        page.addWidget(self.detail)
        page.addWidget(self.fault)
        page.addWidget(label(_CAUTION, self, kind="small", wraps=True))
        page.addWidget(buttons)

    def _follow(self) -> None:
        self._bench.session.changed.connect(self._on_film_changed)
        self._bench.media.changed.connect(self._on_media_changed)

    def _name(self) -> None:
        film = self._bench.session.film
        what = entry_name(film.scene(self._scene_id)) if self._scene_id else "the film"
        self.setWindowTitle(f"Level {what}")

    def _about(self, film: Film) -> object:
        """Return the part of a film that decides what is proposed."""
        if self._scene_id:
            scene = next((item for item in film.scenes if item.id == self._scene_id), None)
            return scene, film.delivery, film.voices
        return film.scenes, film.order, film.delivery, film.voices

    def _measure(self) -> None:
        self._settling.stop()
        if self._job is not None:
            self._job.cancel()
        film, folder = self._bench.session.film, self._bench.session.folder
        self._film, self._of, self._measured, self._is_stopped = film, self._about(film), None, False
        self.progress.setValue(0)
        say(self.fault, "")
        work = functools.partial(_measured, film, self._scene_id, folder, self._bench.media.facts)
        self._job = self._bench.jobs.start("measure voices", work)
        self._job.progressed.connect(self._on_progressed)
        self._job.succeeded.connect(self._on_measured)
        self._job.failed.connect(self._on_failed)
        self._job.finished.connect(self._on_finished)
        self._say()

    def _is_own(self) -> bool:
        """Return whether what arrives is of the measuring that was begun last."""
        return self.sender() is self._job

    def _on_progressed(self, report: Progress) -> None:
        if self._is_own():
            self.stage.say(report.text)
            self.progress.setValue(round(report.fraction * _STEPS))

    def _on_measured(self, result: object) -> None:
        if self._is_own():
            assert isinstance(result, tuple)
            self._measured, kept = result
            self._bench.listening.take(kept)

    def _on_failed(self, error: object) -> None:
        if self._is_own():
            say(self.fault, str(error))

    def _on_finished(self) -> None:
        if self._is_own():
            self._job = None
            self._say()

    def _on_film_changed(self, film: Film) -> None:
        if self._scene_id and all(scene.id != self._scene_id for scene in film.scenes):
            self.reject()
        elif self._about(film) != self._of:
            self._measured = None
            self._settling.start()
            self._say()

    def _on_told(self, text: str) -> None:
        say(self.detail, text)

    def _on_media_changed(self) -> None:
        self._settling.start()
        self._say()

    def _levels(self) -> Mapping[str, Levels] | None:
        """Return what would be set, or None where there is nothing to do."""
        if self._measured is None:
            return None
        if not self._scene_id:
            return levels_of_film(self._film, self._measured).levels or None
        (levels,) = self._measured
        is_done = self._film.scene(self._scene_id).content.voices_levelled
        if levels.locked or not (levels.changes or (levels.is_heard and not is_done)):
            return None
        return {self._scene_id: levels_of(levels)}

    def _say(self) -> None:
        is_busy = self.is_measuring or self._settling.isActive()
        for widget in (self.stage, self.progress, self.stop_button):
            widget.setVisible(is_busy)
        if is_busy and not self.progress.value():
            self.stage.say("Measuring…")
        self.again_button.setVisible(not is_busy and self._measured is None)
        levels = self._levels()
        self.words.setText(self._told(is_busy))
        if self._measured is None:
            lines: tuple[LevelLine, ...] = ()
        elif self._scene_id:
            lines = lines_of_scene(self._film, self._measured[0])
        else:
            lines = lines_of_film(self._film, self._measured)
        self.list.show_lines(lines)
        self.take_button.setText(self._verb())
        reason = self._bench.session.read_only
        self.take_button.setEnabled(levels is not None and not is_busy and not reason)
        self.take_button.setToolTip(reason)

    def _verb(self) -> str:
        if not self._measured:
            return "Take these gains"
        if self._scene_id:
            return "Take these gains" if self._measured[0].changes else "Call them level"
        found = levels_of_film(self._film, self._measured).levels
        return "Call them level" if found and not _gains_in(found) else "Take these gains"

    def _told(self, is_busy: bool) -> str:
        if is_busy or self._measured is None:
            return (
                _STOPPED if self._is_stopped and not is_busy else "The speech of each clip is measured first."
            )
        if not self._scene_id:
            return _film_told(self._film, self._measured)
        return _scene_told(self._film, self._measured[0])

    def done(self, result: int) -> None:
        self._settling.stop()
        if self._job is not None:
            self._job.cancel()
            self._job = None
        self._bench.session.changed.disconnect(self._on_film_changed)
        self._bench.media.changed.disconnect(self._on_media_changed)
        super().done(result)


def _scene_told(film: Film, levels: SceneLevels) -> str:
    name = sentence(entry_name(film.scene(levels.scene)))
    target = f"{figure(levels.target_lufs)} LUFS"
    if not levels.is_heard:
        return f"No speech was found in {entry_name(film.scene(levels.scene))}, so there is nothing to level."
    if not levels.changes:
        return f"{name} is level already: its speech lies at {target}, as far as it can."
    if levels.locked:
        return f"{name} is locked. This is what levelling would change; unlock it first."
    return f"These gains bring the speech of {entry_name(film.scene(levels.scene))} to {target}."


def _film_told(film: Film, measured: tuple[SceneLevels, ...]) -> str:
    found = levels_of_film(film, measured)
    gains, left = _gains_in(found.levels), len(found.locked) + len(found.level)
    called = sum(not _gains_of(item) for item in found.levels.values())
    told = []
    if gains:
        changed = len(found.levels) - called
        told.append(f"{sentence(counted(gains, 'gain'))} in {counted(changed, 'scene')} would change.")
    elif not called:
        return "Nothing is to be changed: all drafts with speech are level."
    if called:
        are = "is level already and is" if called == 1 else "are level already and are"
        told.append(f"{sentence(counted(called, 'scene'))} {are} only called so.")
    if left:
        told.append(f"{sentence(counted(left, 'scene'))} {'is' if left == 1 else 'are'} left out.")
    return " ".join(told)


def _gains_in(levels: Mapping[str, Levels]) -> int:
    return sum(map(_gains_of, levels.values()))


def _gains_of(levels: Levels) -> int:
    return len(levels.get("clips", {})) + len(levels.get("candidates", {}))


def _levelled(levels: Mapping[str, Levels], film: Film) -> Edit:
    return edits.set_levels(film, levels)


def _measured(
    film: Film, scene_id: str, folder: Path, facts: Facts, progress: ProgressListener, cancel: CancelToken
) -> Measured:
    media = {path: known for path, known in facts.items() if isinstance(known, MediaFacts)}
    files = {path: folder / path for path in media}
    if scene_id:
        scene = film.scene(scene_id)
        levels = measure_scene(film, scene, files, media, folder, progress=progress, cancel=cancel)
        return (levels,), SpeechFile(folder)
    measured = measure_film(film, files, media, folder, progress=progress, cancel=cancel)
    return measured, SpeechFile(folder)
