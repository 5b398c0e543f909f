"""The cues of a scene, the fields of the one that the person is at, and trying music against the picture."""

import functools
from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFileDialog, QVBoxLayout, QWidget

from desk.errors import MediaError
from desk.film import edits
from desk.film.edits import Edit
from desk.film.model import Cue, Film, Scene
from desk.ui.bench import Bench
from desk.ui.cutting.clip_sheet.part import Shown
from desk.ui.cutting.clip_sheet.sound_files import SOUNDS
from desk.ui.music import music_edits
from desk.ui.music.cue_details import CueDetails
from desk.ui.music.hearing import Hearing, file_blocks
from desk.ui.music.level_watch import LevelWatch
from desk.ui.music.sound_drops import named_by_film
from desk.ui.music.trying import TryView, play_from
from desk.ui.music.words import how_it_sounds, music_name, slots_after
from desk.ui.scene.clip_facts import file_name
from desk.ui.scene.cue_view import CueView
from desk.ui.scene.tab_order import tab_within
from desk.ui.viewer.player import Player

_NOTHING_TO_PLAY = "There is no picture where the cue begins. Listen to the file instead."


class CueList(QWidget):
    """Shows the cues of a scene.

    Signals:
        refused: An edit was refused, and what was picked is to be shown as the film has it again.
        cue_removed: A cue was taken out.

    Attributes:
        details: The fields of the cue that the person is at.
        trying: The picture that music is tried against.
        levels: How loud voices and music are.
    """

    refused = Signal()
    cue_removed = Signal()

    def __init__(self, bench: Bench, hearing: Hearing, parent: QWidget) -> None:
        super().__init__(parent)
        self.bench = bench
        self.hearing = hearing
        self._scene_id = ""
        self._current = ""
        self._locked = ""
        self._cues: list[CueView] = []
        self._player: Player | None = None
        self._dialog_cue = ""
        self.dialog: QFileDialog | None = None
        self.levels = LevelWatch(bench, self)
        self.trying = TryView(bench.theme, self)
        self.details = CueDetails(bench, self.levels, hearing, self)
        self._lane = QVBoxLayout(self)
        self._lane.setContentsMargins(0, 0, 0, 0)
        self._lane.setSpacing(4)
        self._lane.addWidget(self.trying)
        self._lane.addWidget(self.details)
        self.trying.next_wanted.connect(self.try_music)
        self.trying.done.connect(self._on_done)
        hearing.changed.connect(self._on_heard)

    @property
    def cues(self) -> tuple[CueView, ...]:
        """The cues that are shown, in their order."""
        return tuple(view for view in self._cues if not view.isHidden())

    @property
    def current(self) -> str:
        """Id of the cue that the person is at, or ""."""
        return self._current

    def attach(self, player: Player) -> None:
        """Try music with a player."""
        self._player = player
        self.trying.attach(player)

    def show_scene(self, scene: Scene, scene_start: int | None, reason: str) -> None:
        """Show the cues of a scene.

        Args:
            scene: The scene.
            scene_start: Its first frame in the film, or None where it is set aside.
            reason: Why nothing can be changed, or "".
        """
        if scene.id != self._scene_id:
            self.trying.hide()
            self._current = ""
        self._scene_id, self._locked = scene.id, reason
        film, facts = self.bench.session.film, self.bench.media.facts
        content, slots = scene.content, slots_after(film, scene)
        self._take_current(scene)
        while len(self._cues) < len(content.cues):
            self._add_view()
        for place, view in enumerate(self._cues):
            view.setVisible(place < len(content.cues))
            if place < len(content.cues):
                view.show_cue(film, scene, scene_start, content.cues[place], facts, slots)
                view.set_free(reason)
        self._show_current(scene)
        self.levels.show_scene(film, scene)

    def try_music(self, step: int, cue_id: str = "") -> None:
        """Choose the next candidate of a cue and play it against the picture.

        Tries that follow each other are one step of undoing.

        Args:
            step: 1 for the next, -1 for the one before, 0 to play the one that is chosen again.
            cue_id: The cue, or "" for the one that the person is at.
        """
        scene = self._scene()
        cue = cue_of(scene, cue_id or self._current)
        if scene is None or cue is None or not cue.candidates:
            told = "This scene has no music to try. Add a cue, and music to it."
            self.bench.messages.notice(told, urgent=True)
            return
        self._go_to(cue.id)
        ids = [item.id for item in cue.candidates]
        if cue.chosen in ids:
            chosen = ids[(ids.index(cue.chosen) + step) % len(ids)]
        else:
            chosen = ids[-1] if step < 0 else ids[0]
        if chosen != cue.chosen or self._locked:
            choose = functools.partial(_with_choice, scene_id=scene.id, cue_id=cue.id, candidate_id=chosen)
            if not self.bench.session.do(choose, merge=f"try {scene.id} {cue.id}"):
                return
        self._play(cue_of(self._scene(), cue.id) or cue)

    def ask_for_music(self, cue_id: str) -> None:
        """Ask for files to try for a cue."""
        folder = self.bench.session.folder
        dialog = QFileDialog(self, "Add music to try", str(folder), SOUNDS)
        dialog.setFileMode(QFileDialog.FileMode.ExistingFiles)
        dialog.filesSelected.connect(self._on_files)
        dialog.finished.connect(dialog.deleteLater)
        self._dialog_cue, self.dialog = cue_id, dialog
        dialog.open()

    def add_music(self, cue_id: str, files: tuple[str, ...]) -> None:
        """Try files for a cue.

        Args:
            cue_id: The cue.
            files: Absolute, or as the film names them.
        """
        named = self._named(files)
        if named:
            self._go_to(cue_id)
            make = functools.partial(_tried, scene_id=self._scene_id, cue_id=cue_id, files=named)
            self.bench.session.do(make)

    def add_cue(self, frame: int, files: tuple[str, ...] = ()) -> None:
        """Put a cue in, from a frame to the end of the scene.

        Args:
            frame: From the scene's start.
            files: Music to try for it: absolute, or as the film names it.
        """
        named = self._named(files)
        if files and not named:
            return
        make = functools.partial(_cue_with, scene_id=self._scene_id, frame=frame, files=named)
        before = self._scene()
        if before is not None and self.bench.session.do(make):
            known = {cue.id for cue in before.content.cues}
            after = self._scene()
            new = [cue.id for cue in after.content.cues if cue.id not in known] if after is not None else []
            if new:
                self._go_to(new[0])

    def go_to(self, cue_id: str) -> None:
        """Be at a cue of the scene; another id does nothing."""
        self._go_to(cue_id)

    def focus_adding(self) -> None:
        """Put the keyboard on adding music to the cue that the person is at."""
        view = next((item for item in self.cues if item.cue_id == self._current), None)
        if view is not None:
            view.add.setFocus(Qt.FocusReason.OtherFocusReason)

    def _say_tried(self, cue: Cue) -> None:
        """Say which music is tried: the one that is chosen now, also after undoing."""
        choice = cue.choice
        if choice is None:
            self.trying.hide()
            return
        sounds = how_it_sounds(choice, self.bench.session.film.rate, self.bench.media.facts)
        place = cue.candidates.index(choice)
        self.trying.say(music_name(choice), place + 1, len(cue.candidates), sounds)

    def _play(self, cue: Cue) -> None:
        self.hearing.stop()
        self._say_tried(cue)
        if self._player is None:
            return
        self.bench.cut.open(self._scene_id)
        self.trying.show()
        if not play_from(self._player, cue.start_frames):
            self.trying.hide()
            self.bench.messages.notice(_NOTHING_TO_PLAY, urgent=True)

    def _add_view(self) -> None:
        view = CueView(self.bench.theme, self)
        view.chosen.connect(self._on_chosen)
        view.entered.connect(self._go_to)
        view.listen_wanted.connect(self._on_listen)
        view.removal_wanted.connect(self._on_candidate_removed)
        view.cue_removal_wanted.connect(self._on_cue_removed)
        view.music_wanted.connect(self.ask_for_music)
        view.dropped.connect(self.add_music)
        view.try_wanted.connect(self._on_try)
        self._cues.append(view)

    def _take_current(self, scene: Scene) -> None:
        """Stay at a cue that is there: the one before, else the first."""
        ids = [cue.id for cue in scene.content.cues]
        if self._current not in ids:
            self._current = ids[0] if ids else ""

    def _show_current(self, scene: Scene) -> None:
        """Put the fields of the current cue below it."""
        film, facts = self.bench.session.film, self.bench.media.facts
        cue = cue_of(scene, self._current)
        order: list[QWidget] = []
        for view in self._cues:
            order.append(view)
            is_current = cue is not None and not view.isHidden() and view.cue_id == cue.id
            view.set_current(is_current)
            if is_current:
                order += [self.trying, self.details]
        if cue is None:
            order += [self.trying, self.details]
            self.trying.hide()
        items = (self._lane.itemAt(at) for at in range(self._lane.count()))
        present = [item.widget() for item in items if item is not None]
        if order != present:
            for at, widget in enumerate(order):
                self._lane.insertWidget(at, widget)
        self.details.setVisible(cue is not None)
        if cue is not None:
            self.details.show_cue(Shown(film=film, scene=scene, cues=(cue,), facts=facts))
            self.details.set_read_only(self._locked)
            if self.trying.isVisible():
                self._say_tried(cue)

    def _go_to(self, cue_id: str) -> None:
        """Be at a cue."""
        scene = self._scene()
        if scene is None or cue_id == self._current or cue_of(scene, cue_id) is None:
            return
        self.trying.hide()
        self._current = cue_id
        self._show_current(scene)
        tab_within(self)

    def _named(self, files: tuple[str, ...]) -> tuple[str, ...]:
        try:
            return named_by_film(files, self.bench)
        except MediaError as error:
            self.bench.messages.fault(error)
            return ()

    def _on_files(self, files: list[str]) -> None:
        self.add_music(self._dialog_cue, tuple(files))

    def _on_try(self, cue_id: str, step: int) -> None:
        self.try_music(step, cue_id)

    def _on_done(self) -> None:
        if self._player is not None:
            self._player.pause()
        self.bench.session.end_gesture()
        self.trying.hide()
        view = next((item for item in self.cues if item.cue_id == self._current), None)
        if view is not None:
            view.next.setFocus(Qt.FocusReason.OtherFocusReason)

    def _on_chosen(self, cue_id: str, candidate_id: str) -> None:
        self.bench.session.end_gesture()
        choose = functools.partial(
            _with_choice, scene_id=self._scene_id, cue_id=cue_id, candidate_id=candidate_id
        )
        if not self.bench.session.do(choose):
            self.refused.emit()

    def _on_listen(self, cue_id: str, candidate_id: str) -> None:
        cue = cue_of(self._scene(), cue_id)
        found = [item for item in cue.candidates if item.id == candidate_id] if cue is not None else []
        for candidate in found:
            path = self.bench.session.folder / candidate.file
            if not self.bench.media.is_present(candidate.file) or not Path(path).exists():
                told = f"“{file_name(candidate.file)}” is missing. Connect its disk, or say where it is."
                self.bench.messages.notice(told, urgent=True)
                return
            self.hearing.toggle(candidate.id, file_blocks(path))

    def _on_candidate_removed(self, cue_id: str, candidate_id: str) -> None:
        self.bench.session.do(functools.partial(_without_music, self._scene_id, cue_id, candidate_id))

    def _on_cue_removed(self, cue_id: str) -> None:
        if self.bench.session.do(functools.partial(_without_cue, self._scene_id, cue_id)):
            self.cue_removed.emit()

    def _scene(self) -> Scene | None:
        scenes = self.bench.session.film.scenes
        return next((item for item in scenes if item.id == self._scene_id), None)

    def _on_heard(self, name: str) -> None:
        for view in self.cues:
            view.show_heard(name)


def _with_choice(film: Film, scene_id: str, cue_id: str, candidate_id: str) -> Edit:
    return edits.choose_candidate(film, scene_id, cue_id, candidate_id)


def _tried(film: Film, scene_id: str, cue_id: str, files: tuple[str, ...]) -> Edit:
    return music_edits.try_files(film, scene_id, cue_id, files)


def _cue_with(film: Film, scene_id: str, frame: int, files: tuple[str, ...]) -> Edit:
    return music_edits.add_cue_with(film, scene_id, frame, files)


def _without_music(scene_id: str, cue_id: str, candidate_id: str, film: Film) -> Edit:
    return edits.remove_candidate(film, scene_id, cue_id, candidate_id)


def _without_cue(scene_id: str, cue_id: str, film: Film) -> Edit:
    return edits.remove_cues(film, scene_id, [cue_id])


def cue_of(scene: Scene | None, cue_id: str) -> Cue | None:
    """Return a cue of a scene, or None where there is none."""
    cues = scene.content.cues if scene is not None else ()
    return next((cue for cue in cues if cue.id == cue_id), None)
