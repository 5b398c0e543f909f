"""The Music and effects part of a scene's sheet: its cues with all that was tried, and its spots."""

import functools
import itertools
from collections.abc import Iterator
from typing import ClassVar

from PySide6.QtWidgets import QCheckBox, QVBoxLayout, QWidget

from desk.film import edits
from desk.film.edits import Edit
from desk.film.locking import Part
from desk.film.model import Cue, Film, Scene
from desk.film.wording import counted
from desk.ui.bench import Bench
from desk.ui.labels import heading, label
from desk.ui.scene.clip_facts import FileTrouble, file_name, file_trouble
from desk.ui.scene.clip_table import SPOT_COLUMNS, SoundTable, spot_rows
from desk.ui.scene.cue_view import CueView
from desk.ui.scene.media_troubles import MediaTroubles
from desk.ui.scene.part import PartBody
from desk.ui.scene.worth_a_look import LooksLabel, music_looks

_NO_CUES = "There are no cues. Declare it where the scene is meant to have no music."
_NO_LEGAL_ADVICE = "What you enter about licences is kept and shown; this is no legal advice."


class MusicBody(PartBody):
    """Shows the music and the effects of a scene.

    Attributes:
        no_music: Declares that the scene has none.
        spots: The effects.
        troubles: Files that are not as they should be.
    """

    part: ClassVar[Part] = Part.MUSIC
    title: ClassVar[str] = "Music and effects"

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(bench, parent)
        self._scene_id = ""
        self._cues: list[CueView] = []
        self._focus_chain: tuple[QWidget, ...] = ()
        self.troubles = MediaTroubles(bench)
        self.no_cues = label(_NO_CUES, self, kind="dim", wraps=True)
        self.no_music = QCheckBox("No music in this scene")
        self.no_music.setAccessibleDescription("Settles the music of a scene that is meant to have none.")
        self.no_music.clicked.connect(self._on_no_music)
        self.rights = label(_NO_LEGAL_ADVICE, self, kind="small", wraps=True)
        self.looks = LooksLabel()
        self.effects = heading("Effects", self)
        self.spots = SoundTable("Effects", SPOT_COLUMNS, bench.theme)
        self._page = QVBoxLayout(self)
        self._page.setContentsMargins(0, 0, 0, 0)
        self._page.setSpacing(8)
        self.effects.setContentsMargins(0, 8, 0, 0)
        for widget in (
            self.troubles,
            self.no_cues,
            self.no_music,
            self.rights,
            self.effects,
            self.spots,
            self.looks,
        ):
            self._page.addWidget(widget)

    @property
    def cues(self) -> tuple[CueView, ...]:
        """The cues that are shown, in their order."""
        return tuple(view for view in self._cues if not view.isHidden())

    def show_scene(self, scene: Scene) -> None:
        self._scene_id = scene.id
        film, facts = self.bench.session.film, self.bench.media.facts
        content = scene.content
        free = not scene.lock and not self.bench.session.read_only
        while len(self._cues) < len(content.cues):
            view = CueView(self)
            view.chosen.connect(self._on_chosen)
            # Cues stand below what is the matter with their files.
            self._page.insertWidget(1 + len(self._cues), view)
            self._cues.append(view)
        for place, view in enumerate(self._cues):
            view.setVisible(place < len(content.cues))
            if place < len(content.cues):
                view.show_cue(film, scene, content.cues[place], facts)
                view.set_free(free)
        self._order_focus()
        self.no_cues.setVisible(not content.cues and not content.no_music)
        self.no_music.setChecked(content.no_music)
        self.no_music.setEnabled(free)
        self.rights.setVisible(any(cue.candidates for cue in content.cues))
        self.spots.show_rows(spot_rows(film, scene, facts))
        self.effects.setText("EFFECTS" if content.spots else "NO EFFECTS")
        self.effects.setAccessibleName("Effects" if content.spots else "No effects")
        self.spots.setVisible(bool(content.spots))
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

    def _order_focus(self) -> None:
        """Let Tab go down the page: cues are made after what stands below them."""
        cues = (button for view in self._cues for button in view.buttons)
        chain = (self.troubles.buttons[-1], *cues, self.no_music, self.spots)
        if chain != self._focus_chain:
            self._focus_chain = chain
            for first, second in itertools.pairwise(chain):
                QWidget.setTabOrder(first, second)

    def _on_chosen(self, cue_id: str, candidate_id: str) -> None:
        choose = functools.partial(
            _with_choice, scene_id=self._scene_id, cue_id=cue_id, candidate_id=candidate_id
        )
        if not self.bench.session.do(choose):
            self._show_again()

    def _on_no_music(self, declared: bool) -> None:
        declare = functools.partial(_declared, scene_id=self._scene_id, declared=declared)
        if not self.bench.session.do(declare):
            self._show_again()

    def _show_again(self) -> None:
        """Show the film as it is, after an edit that was refused."""
        film = self.bench.session.film
        scene = next((item for item in film.scenes if item.id == self._scene_id), None)
        if scene is not None:
            self.show_scene(scene)


def _cue_summary(cue: Cue) -> str:
    name = cue.label or cue.id
    if cue.choice is not None:
        music = cue.choice.rights.title or file_name(cue.choice.file)
        return f"{name} “{music}”, chosen of {len(cue.candidates)}"
    tried = counted(len(cue.candidates), "candidate")
    return f"{name} has {tried}, none chosen" if cue.candidates else f"{name} has no music"


def _troubles(scene: Scene, bench: Bench) -> Iterator[FileTrouble]:
    content = scene.content
    tried = (candidate.file for cue in content.cues for candidate in cue.candidates)
    for path in dict.fromkeys((*tried, *(spot.file for spot in content.spots))):
        if trouble := file_trouble(scene, path, bench.media.facts):
            yield trouble


def _with_choice(film: Film, scene_id: str, cue_id: str, candidate_id: str) -> Edit:
    return edits.choose_candidate(film, scene_id, cue_id, candidate_id)


def _declared(film: Film, scene_id: str, declared: bool) -> Edit:
    return edits.declare_no_music(film, scene_id, declared)
