"""The Dialogue part of a scene's sheet: the sound of its clips, and whether the voices are level."""

import functools
from typing import ClassVar

from PySide6.QtWidgets import QCheckBox, QVBoxLayout, QWidget

from desk.film import edits
from desk.film.edits import Edit
from desk.film.locking import Part
from desk.film.model import Film, Scene, SoundKind
from desk.film.wording import counted
from desk.ui.bench import Bench
from desk.ui.labels import label
from desk.ui.scene.clip_table import CLIP_COLUMNS, SoundTable, clip_rows
from desk.ui.scene.part import PartBody
from desk.ui.scene.worth_a_look import LooksLabel, dialogue_looks

_WHAT_LEVEL_IS = (
    "Voices come first: music and effects are set relative to them. Call them level when every line is "
    "followed easily at one setting of the monitor."
)
_LOUD_CAUTION = "Monitor at a moderate level: a cut can be suddenly loud."


class DialogueBody(PartBody):
    """Shows the sound of a scene's clips.

    Attributes:
        table: The sound of each clip.
        levelled: Calls the voices level.
    """

    part: ClassVar[Part] = Part.DIALOGUE
    title: ClassVar[str] = "Dialogue"

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(bench, parent)
        self._scene_id = ""
        self.table = SoundTable("Sound of the clips", CLIP_COLUMNS, bench.theme)
        self.levelled = QCheckBox("Voices are level")
        self.levelled.setAccessibleDescription(_WHAT_LEVEL_IS)
        self.levelled.clicked.connect(self._on_levelled)
        self.words = label(_WHAT_LEVEL_IS, self, kind="dim", wraps=True)
        self.caution = label(_LOUD_CAUTION, self, kind="small", wraps=True)
        self.looks = LooksLabel()
        page = QVBoxLayout(self)
        page.setContentsMargins(0, 0, 0, 0)
        page.setSpacing(8)
        for widget in (self.table, self.looks, self.levelled, self.words, self.caution):
            page.addWidget(widget)

    def show_scene(self, scene: Scene) -> None:
        self._scene_id = scene.id
        film, facts = self.bench.session.film, self.bench.media.facts
        heard = _heard(scene)
        self.table.show_rows(clip_rows(scene, facts))
        self.table.setVisible(bool(scene.content.clips))
        self.looks.say(dialogue_looks(film, scene, facts))
        self.levelled.setChecked(scene.content.voices_levelled)
        free = not scene.lock and not self.bench.session.read_only
        # Without sound there is nothing to call level, only an earlier word to take back.
        self.levelled.setEnabled(free and (heard > 0 or scene.content.voices_levelled))
        if not scene.content.clips:
            words = "There are no clips yet. Their sound stands here once there are."
        elif not heard:
            words = "All clips are silent, so there are no voices to level."
        else:
            words = _WHAT_LEVEL_IS
        self.words.setText(words)
        self.caution.setVisible(heard > 0)

    def summary(self, scene: Scene) -> str:
        clips = scene.content.clips
        if not clips:
            return "no clips yet"
        parts = []
        for kind, words in (
            (SoundKind.OWN, "own sound"),
            (SoundKind.SEPARATE, "separate recording"),
            (SoundKind.SILENCE, "silent"),
        ):
            if count := sum(clip.sound.kind is kind for clip in clips):
                parts.append(f"{count} {words}" if kind is not SoundKind.SEPARATE else counted(count, words))
        if _heard(scene):
            parts.append("voices level" if scene.content.voices_levelled else "voices not called level")
        return " · ".join(parts)

    def _on_levelled(self, levelled: bool) -> None:
        session = self.bench.session
        if not session.do(functools.partial(_levelled, scene_id=self._scene_id, levelled=levelled)):
            self.levelled.setChecked(not levelled)


def _heard(scene: Scene) -> int:
    """Return how many clips of a scene sound."""
    return sum(clip.sound.kind is not SoundKind.SILENCE for clip in scene.content.clips)


def _levelled(film: Film, scene_id: str, levelled: bool) -> Edit:
    return edits.set_voices_levelled(film, scene_id, levelled)
