"""The Music and effects part of a scene's sheet: its cues with all that was tried, and its spots."""

import functools
from collections.abc import Iterator
from typing import ClassVar

from PySide6.QtCore import Qt
from PySide6.QtGui import QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from desk.film import edits
from desk.film.edits import Edit
from desk.film.locking import Part
from desk.film.model import Cue, Film, Scene
from desk.film.wording import counted, entry_name, sentence
from desk.ui.bench import Bench
from desk.ui.labels import heading, label
from desk.ui.music.cue_list import CueList
from desk.ui.music.effects import EffectsPart
from desk.ui.music.hearing import Hearing
from desk.ui.music.sound_drops import dropped_sounds
from desk.ui.music.words import cue_name, music_name
from desk.ui.scene.clip_facts import FileTrouble, file_trouble
from desk.ui.scene.media_troubles import MediaTroubles
from desk.ui.scene.part import PartBody
from desk.ui.scene.worth_a_look import LooksLabel, music_looks
from desk.ui.scene_place import ScenePlaces
from desk.ui.viewer.player import Player

_NO_CUES = "There are no cues. Add one, or declare it where the scene is meant to have no music."


class MusicBody(PartBody):
    """Shows the music and the effects of a scene, and all that can be done with them.

    Attributes:
        no_music: Declares that the scene has none.
        add_cue: Adds a cue.
        music: The cues.
        hearing: Lets one sound be heard by itself.
        effects: The spots, and the search for sounds.
        troubles: Files that are not as they should be.
    """

    part: ClassVar[Part] = Part.MUSIC
    title: ClassVar[str] = "Music and effects"

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(bench, parent)
        self._scene_id = ""
        self._places = ScenePlaces(bench.session, self)
        self.hearing = Hearing(self)
        self.troubles = MediaTroubles(bench)
        self.no_cues = label(_NO_CUES, self, kind="dim", wraps=True)
        self.music = CueList(bench, self.hearing, self)
        self.add_cue = QPushButton("Add a cue at the playhead", self)
        self.add_cue.setAccessibleName("Add a cue at the playhead")
        self.add_cue.clicked.connect(self._on_add_cue)
        self.no_music = QCheckBox("No music in this scene", self)
        self.no_music.setAccessibleName("No music in this scene")
        self.no_music.setAccessibleDescription("Settles the music of a scene that is meant to have none.")
        self.no_music.clicked.connect(self._on_no_music)
        self.effects = EffectsPart(bench, self.hearing, self)
        self.looks = LooksLabel()
        self._arrange()
        self._follow()

    def attach(self, player: Player) -> None:
        """Try music with a player, and be as loud as it is."""
        self.hearing.attach(player)
        self.music.attach(player)

    def show_scene(self, scene: Scene) -> None:
        if scene.id != self._scene_id:
            self.hearing.stop()
        self._scene_id = scene.id
        film, facts = self.bench.session.film, self.bench.media.facts
        content, start = scene.content, self._places.start_frames(scene.id)
        reason = self._reason(scene)
        self.music.show_scene(scene, start, reason)
        self.no_cues.setVisible(not content.cues and not content.no_music)
        self.add_cue.setEnabled(not reason)
        self.add_cue.setToolTip(reason)
        self.no_music.setChecked(content.no_music)
        self.no_music.setEnabled(not reason)
        self.no_music.setToolTip(reason)
        self.effects.show_scene(scene, start, reason)
        self.troubles.show_troubles(tuple(_troubles(scene, self.bench)))
        self.looks.say(music_looks(film, scene, facts))

    def summary(self, scene: Scene) -> str:
        content = scene.content
        parts = []
        if content.no_music:
            parts.append("no music, as declared")
        for cue in content.cues:
            parts.append(_cue_summary(cue))
        if not content.cues and not content.no_music:
            parts.append("no music yet")
        parts.append(counted(len(content.spots), "spot") if content.spots else "no effects")
        return " · ".join(parts)

    def _arrange(self) -> None:
        page = QVBoxLayout(self)
        page.setContentsMargins(0, 0, 0, 0)
        page.setSpacing(8)
        declaring = QHBoxLayout()
        declaring.setSpacing(16)
        declaring.addWidget(self.add_cue)
        declaring.addWidget(self.no_music)
        declaring.addStretch(1)
        for widget in (self.troubles, heading("Music", self), self.no_cues, self.music):
            page.addWidget(widget)
        page.addLayout(declaring)
        page.addWidget(self.effects)
        page.addWidget(self.looks)
        self.setAcceptDrops(True)

    def _follow(self) -> None:
        self.hearing.unheard.connect(self._on_unheard)
        self.music.refused.connect(self._show_again)
        self.music.cue_removed.connect(self.add_cue.setFocus)
        self.bench.cut.selected.connect(self._on_selected)
        self.bench.jobs.ending.connect(self.hearing.close)

    def _reason(self, scene: Scene) -> str:
        """Return why nothing can be changed, or ""."""
        if scene.lock is not None:
            return f"{sentence(entry_name(scene))} is locked. Unlock it to change its music and effects."
        return self.bench.session.read_only

    def _scene(self) -> Scene | None:
        scenes = self.bench.session.film.scenes
        return next((item for item in scenes if item.id == self._scene_id), None)

    def _frame(self) -> int:
        cut = self.bench.cut
        return cut.frame if cut.scene_id == self._scene_id else 0

    def _on_add_cue(self) -> None:
        self.music.add_cue(self._frame())
        self.music.focus_adding()

    def _on_unheard(self, told: str) -> None:
        self.bench.messages.notice(told, urgent=True)

    def _on_selected(self) -> None:
        """Go to the cue or spot that is selected in the lanes."""
        cut = self.bench.cut
        if cut.scene_id == self._scene_id and self.isVisible():
            self.music.go_to(cut.main)
            self.effects.select(cut.main)

    def _on_no_music(self, declared: bool) -> None:
        declare = functools.partial(_declared, scene_id=self._scene_id, declared=declared)
        if not self.bench.session.do(declare):
            self._show_again()

    def _show_again(self) -> None:
        """Show the film as it is, after an edit that was refused."""
        scene = self._scene()
        if scene is not None:
            self.show_scene(scene)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        scene = self._scene()
        if scene is not None and not self._reason(scene) and dropped_sounds(event.mimeData()):
            event.setDropAction(Qt.DropAction.CopyAction)
            event.accept()
        else:
            event.ignore()

    def dropEvent(self, event: QDropEvent) -> None:
        event.setDropAction(Qt.DropAction.CopyAction)
        event.accept()
        self.music.add_cue(self._frame(), dropped_sounds(event.mimeData()))


def _cue_summary(cue: Cue) -> str:
    name = cue_name(cue)
    if cue.choice is not None:
        return f"{name} “{music_name(cue.choice)}”, chosen of {len(cue.candidates)}"
    tried = counted(len(cue.candidates), "candidate")
    return f"{name} has {tried}, none chosen" if cue.candidates else f"{name} has no music"


def _troubles(scene: Scene, bench: Bench) -> Iterator[FileTrouble]:
    content = scene.content
    tried = (candidate.file for cue in content.cues for candidate in cue.candidates)
    for path in dict.fromkeys((*tried, *(spot.file for spot in content.spots))):
        if trouble := file_trouble(scene, path, bench.media.facts):
            yield trouble


def _declared(film: Film, scene_id: str, declared: bool) -> Edit:
    return edits.declare_no_music(film, scene_id, declared)
