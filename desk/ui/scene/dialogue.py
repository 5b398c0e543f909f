"""The Dialogue part of a scene's sheet: who speaks, how loud, and whether the voices are level."""

import functools
from typing import ClassVar

from PySide6.QtCore import QTimer
from PySide6.QtGui import QHideEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from desk.film import edits
from desk.film.edits import Edit
from desk.film.lanes import does_something, spans
from desk.film.locking import Part
from desk.film.model import Film, Scene, SoundKind
from desk.film.timing import clip_starts
from desk.film.wording import counted, entry_name, sentence
from desk.jobs import Progress
from desk.ui.bench import Bench
from desk.ui.elided import ElidedLabel
from desk.ui.labels import label
from desk.ui.scene.part import PartBody
from desk.ui.scene.voices.level_dialog import LevelDialog
from desk.ui.scene.voices.rows import VoiceRow, remarks, summary_of, voice_rows
from desk.ui.scene.voices.speaker import SpeakerLine
from desk.ui.scene.voices.table import VoicesTable
from desk.ui.scene.voices.targets import Targets
from desk.ui.scene.voices.voice_section import VoiceSection
from desk.ui.scene.voices.voices_dialog import VoicesDialog
from desk.ui.scene.worth_a_look import LooksLabel, dialogue_looks
from desk.ui.viewer.player import Player

_WHAT_LEVEL_IS = (
    "Voices come first: music and effects are set relative to them. Call them level when every line is "
    "followed easily at one setting of the monitor."
)
_LOUD_CAUTION = "Monitor at a moderate level: a cut can be suddenly loud."
_WHO = "dialogue"
_GATHER_MS = 120
"""Clips that are listened to one after the other are shown together."""


class DialogueBody(PartBody):
    """Shows the voices of a scene and brings them level.

    Attributes:
        table: The voice in each clip.
        speaker: Says who speaks in the clips that are selected.
        detail: All that is known of the clip that is selected.
        looks: What a person should know, and what deserves a look.
        targets: How loud the voices are meant to be.
        voice: One voice of the scene, and what is done to it.
        levelled: Calls the voices level.
    """

    part: ClassVar[Part] = Part.DIALOGUE
    title: ClassVar[str] = "Dialogue"

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(bench, parent)
        self._scene_id = ""
        self._rows: tuple[VoiceRow, ...] = ()
        self._shown: object = None
        self._known: tuple[VoiceRow, ...] = ()
        self._known_of: object = None
        self._known_facts: object = None
        self.dialog: LevelDialog | VoicesDialog | None = None
        self.table = VoicesTable(bench.theme, self)
        self.speaker = SpeakerLine(bench, self)
        self.detail = label("", self, kind="small", wraps=True)
        self.stage = ElidedLabel("", self)
        self.looks = LooksLabel()
        self.targets = Targets(bench, self)
        self.voice = VoiceSection(bench, self)
        self.level_scene = QPushButton("Level this scene…", self)
        self.level_film = QPushButton("Level the film…", self)
        self.levelled = QCheckBox("Voices are level", self)
        self.levelled.setAccessibleDescription(_WHAT_LEVEL_IS)
        self.words = label(_WHAT_LEVEL_IS, self, kind="dim", wraps=True)
        self.caution = label(_LOUD_CAUTION, self, kind="small", wraps=True)
        self._gathering = QTimer(self, singleShot=True, interval=_GATHER_MS)
        self._gathering.timeout.connect(self._show_again)
        self._arrange()
        self._follow()

    def attach(self, player: Player) -> None:
        """Let voices be heard through a player."""
        self.voice.attach(player)

    def show_scene(self, scene: Scene) -> None:
        self._scene_id = scene.id
        film, facts = self.bench.session.film, self.bench.media.facts
        if self.isVisible():
            self._listen(scene)
        rows, heard, reason = self._rows_of(scene), _heard(scene), self._reason(scene)
        shown = (scene.id, scene.content, reason)
        is_same = rows is self._rows and shown == self._shown
        self._rows, self._shown = rows, shown
        self._show_stage()
        if is_same:
            return  # another part of the scene was changed
        self.table.show_rows(self._rows)
        self.looks.say((*remarks(self._rows), *dialogue_looks(film, scene, facts)))
        self.targets.show_scene(film, scene, reason)
        self.voice.show_scene(film, scene, self._rows, reason)
        self._show_selected()
        self.levelled.setChecked(scene.content.voices_levelled)
        # Without sound there is nothing to call level, only an earlier word to take back.
        self.levelled.setEnabled(not reason and (heard > 0 or scene.content.voices_levelled))
        self.levelled.setToolTip(reason)
        self.table.setVisible(bool(scene.content.clips))
        self.speaker.setVisible(bool(scene.content.clips))
        for widget in (self.targets, self.level_scene, self.level_film, self.voice, self.caution):
            widget.setVisible(heard > 0)
        self.levelled.setVisible(heard > 0 or scene.content.voices_levelled)
        if not scene.content.clips:
            words = "There are no clips yet. Their sound stands here once there are."
        elif not heard:
            words = "All clips are silent, so there are no voices to level."
        else:
            words = _WHAT_LEVEL_IS
        self.words.setText(words)

    def summary(self, scene: Scene) -> str:
        content = scene.content
        if not content.clips:
            return "no clips yet"
        parts = [summary_of(self.bench.session.film, self._rows_of(scene))]
        if not parts[0]:
            parts = [
                f"{count} {words}" if kind is not SoundKind.SEPARATE else counted(count, words)
                for kind, words in (
                    (SoundKind.OWN, "own sound"),
                    (SoundKind.SEPARATE, "separate recording"),
                    (SoundKind.SILENCE, "silent"),
                )
                if (count := sum(clip.sound.kind is kind for clip in content.clips))
            ]
        if any(does_something(chain) for chain in content.voice_chains):
            parts.append("chain on")
        if _heard(scene):
            parts.append("voices level" if content.voices_levelled else "voices not called level")
        return " · ".join(parts)

    def open_level_scene(self) -> None:
        """Show what levelling the scene would change."""
        self._open(LevelDialog(self.bench, self._scene_id, self))

    def open_level_film(self) -> None:
        """Show what levelling all drafts would change."""
        self._open(LevelDialog(self.bench, "", self))

    def open_voices(self) -> None:
        """Show all voices of the film."""
        self._open(VoicesDialog(self.bench, self))

    def _arrange(self) -> None:
        self._inner = QWidget(self)
        inner = QVBoxLayout(self._inner)
        inner.setContentsMargins(0, 0, 0, 0)
        inner.setSpacing(8)
        inner.addWidget(self.targets)
        buttons = QHBoxLayout()
        buttons.setSpacing(8)
        buttons.addWidget(self.level_scene)
        buttons.addWidget(self.level_film)
        buttons.addStretch(1)
        inner.addLayout(buttons)
        inner.addWidget(self.levelled)
        inner.addWidget(self.words)
        inner.addSpacing(8)
        inner.addWidget(self.voice)
        page = QVBoxLayout(self)
        page.setContentsMargins(0, 0, 0, 0)
        page.setSpacing(8)
        self.stage.setProperty("kind", "small")
        for widget in (
            self.table,
            self.stage,
            self.speaker,
            self.detail,
            self.looks,
            self._inner,
            self.caution,
        ):
            page.addWidget(widget)

    def _follow(self) -> None:
        self.table.picked.connect(self._on_picked)
        self.table.wanted.connect(self._on_wanted)
        self.speaker.voices_asked.connect(self.open_voices)
        self.level_scene.clicked.connect(self.open_level_scene)
        self.level_film.clicked.connect(self.open_level_film)
        self.levelled.clicked.connect(self._on_levelled)
        listening = self.bench.listening
        listening.heard.connect(self._gather)
        listening.settled.connect(self._gather)
        listening.progressed.connect(self._on_progressed)
        self.bench.jobs.ending.connect(self.voice.let_go)

    def _scene(self) -> Scene | None:
        scenes = self.bench.session.film.scenes
        return next((scene for scene in scenes if scene.id == self._scene_id), None)

    def _rows_of(self, scene: Scene) -> tuple[VoiceRow, ...]:
        """Return what is known of a scene's clips; worked out anew only where something of it is another."""
        film, facts, listening = self.bench.session.film, self.bench.media.facts, self.bench.listening
        of = (scene.content, film.voices, film.delivery, film.rate, listening.version)
        if of != self._known_of or facts is not self._known_facts:
            self._known_of, self._known_facts = of, facts
            self._known = voice_rows(film, scene, facts, listening)
        return self._known

    def _reason(self, scene: Scene) -> str:
        """Return why the scene can't be changed, as a sentence, or ""."""
        if self.bench.session.read_only:
            return self.bench.session.read_only
        if scene.lock is None:
            return ""
        return f"{sentence(entry_name(scene))} is locked. Unlock it first."

    def _listen(self, scene: Scene) -> None:
        """Have the scene listened to; nothing else is, and nothing while the part can't be seen."""
        rate = self.bench.session.film.rate
        about = (scene.content.clips, scene.content.voice_chains, rate)
        self.bench.listening.want(_WHO, about, functools.partial(spans, scene.content, rate))

    def _open(self, dialog: LevelDialog | VoicesDialog) -> None:
        if self.dialog is not None:
            self.dialog.reject()
        self.dialog = dialog
        dialog.finished.connect(self._on_dialog_finished)
        dialog.show()

    def _show_again(self) -> None:
        scene = self._scene()
        if scene is not None and self.isVisible():
            self.show_scene(scene)

    def _show_selected(self) -> None:
        scene = self._scene()
        if scene is None:
            return
        chosen = set(self.table.selected)
        rows = [row for row in self._rows if row.clip in chosen]
        self.speaker.show_clips(self.bench.session.film, scene.id, rows, self._reason(scene))
        # What the row has no room for.
        text = rows[0].spoken if len(rows) == 1 and self.table.is_narrow else ""
        self.detail.setText(text)
        self.detail.setVisible(bool(text))

    def _show_stage(self) -> None:
        waiting = sum(row.is_waiting for row in self._rows)
        if not waiting:
            self.stage.say("")
        elif self.bench.listening.listening_for != _WHO:
            self.stage.say(f"{sentence(counted(waiting, 'clip'))} still to be listened to.")
        self.stage.setVisible(waiting > 0)

    def _gather(self) -> None:
        if self.isVisible() and not self._gathering.isActive():
            self._gathering.start()

    def _on_progressed(self, who: str, report: Progress) -> None:
        if who == _WHO:
            self.stage.say(f"{report.text}…")

    def _on_picked(self) -> None:
        self._show_selected()
        chosen = set(self.table.selected)
        voices = {row.voice for row in self._rows if row.clip in chosen}
        if len(voices) == 1:
            self.voice.choose(voices.pop())

    def _on_wanted(self, clip_id: str) -> None:
        scene = self._scene()
        if scene is not None:
            starts = zip(scene.content.clips, clip_starts(scene.content), strict=True)
            self.bench.cut.go_to(next((start for clip, start in starts if clip.id == clip_id), 0))

    def _on_levelled(self, levelled: bool) -> None:
        session = self.bench.session
        if not session.do(functools.partial(_levelled, scene_id=self._scene_id, levelled=levelled)):
            self.levelled.setChecked(not levelled)

    def _on_dialog_finished(self) -> None:
        if self.dialog is not None:
            self.dialog.deleteLater()
            self.dialog = None

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._show_selected()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._show_again()

    def hideEvent(self, event: QHideEvent) -> None:
        self._gathering.stop()
        self.bench.listening.forget(_WHO)
        self.voice.leave()
        super().hideEvent(event)


def _heard(scene: Scene) -> int:
    """Return how many clips of a scene sound."""
    return sum(clip.sound.kind is not SoundKind.SILENCE for clip in scene.content.clips)


def _levelled(film: Film, scene_id: str, levelled: bool) -> Edit:
    return edits.set_voices_levelled(film, scene_id, levelled)
