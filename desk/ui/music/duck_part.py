"""The part of a cue's fields about how its music goes down while somebody speaks."""

import dataclasses
import functools
from typing import Unpack

from PySide6.QtWidgets import QCheckBox, QWidget

from desk.film.edit import Edit
from desk.film.edits import CueFields
from desk.film.model import Cue, Duck, Film
from desk.ui.bench import Bench
from desk.ui.cutting.clip_sheet.part import SheetPart, Shown
from desk.ui.fields import NumberField
from desk.ui.labels import note, say
from desk.ui.music import music_edits
from desk.ui.music.duck_curve import DuckCurve
from desk.ui.music.level_watch import LevelWatch

_BEYOND = " What is said in the next scene counts too, and is not drawn here."


class DuckPart(SheetPart):
    """Whether the music goes down under speech, how far, and how fast."""

    def __init__(self, bench: Bench, watch: LevelWatch, parent: QWidget) -> None:
        super().__init__(bench, parent, "Under speech")
        self._watch = watch
        self._cue: Cue | None = None
        self._shown: Shown | None = None
        self.is_on = QCheckBox("Goes down while somebody speaks", self)
        self.is_on.setAccessibleName("Music goes down while somebody speaks")
        self.is_on.clicked.connect(self._on_clicked)
        self.depth_field = NumberField("How far it goes down", self._take_depth, self, unit="dB", whole=False)
        self.attack = NumberField(
            "How long it takes to go down", self._take_attack, self, unit="ms", step=10, whole=False
        )
        self.attack.edit.setToolTip("It is down by the first word.")
        self.release = NumberField(
            "How long it takes to come back", self._take_release, self, unit="ms", step=10, whole=False
        )
        self.curve = DuckCurve(bench.theme, self)
        self.told = note("small", self)
        self.add_wide(self.is_on)
        self.add("by", self.depth_field)
        self.add("down in", self.attack)
        self.add("back in", self.release)
        self.add_wide(self.curve)
        self.add_wide(self.told)
        watch.measured.connect(self.show_measured)

    def fill(self, shown: Shown, anew: bool) -> None:
        self._shown = shown
        self._cue = cue = shown.cues[0]
        self.is_on.setChecked(cue.duck is not None)
        for field in (self.depth_field, self.attack, self.release):
            self.show_row(field, cue.duck is not None)
        if cue.duck is not None:
            self.depth_field.show_number(cue.duck.depth_db, anew=anew)
            self.attack.show_number(cue.duck.attack_ms, anew=anew)
            self.release.show_number(cue.duck.release_ms, anew=anew)
        self.show_measured()

    def set_read_only(self, reason: str) -> None:
        super().set_read_only(reason)
        self.is_on.setEnabled(not reason)
        self.is_on.setToolTip(reason)

    def show_measured(self) -> None:
        """Draw the curve over the speech that was found."""
        shown, cue = self._shown, self._cue
        duck = cue.duck if cue is not None else None
        speech = None
        if shown is not None and duck is not None:
            speech = self._watch.speech(shown.scene.content, shown.film.rate)
        self.curve.setVisible(bool(speech))
        if shown is None or cue is None or duck is None:
            say(self.told, "")
            return
        if speech:
            self.curve.show_cue(cue, duck, speech, shown.film.rate)
            end = sum(clip.gap_frames + clip.length_frames for clip in shown.scene.content.clips)
            runs_on = cue.start_frames + cue.length_frames > end
            say(self.told, f"The bars are speech.{_BEYOND if runs_on else ''}")
        elif speech is None:
            say(self.told, "Listening for voices." if self._watch.is_measuring else "")
        else:
            say(self.told, "No voices are measured in this scene, so the music stays up.")

    def _change(self, what: str, **fields: Unpack[CueFields]) -> str:
        if self._cue is None:
            return ""
        return self.change(what, functools.partial(_changed, self.scene_id, self._cue.id, fields))

    def _on_clicked(self, is_on: bool) -> None:
        if refused := self._change("", duck=Duck() if is_on else None):
            self.is_on.setChecked(not is_on)
            say(self.told, refused)

    def _duck(self, what: str, duck: Duck) -> str:
        return self._change(what, duck=duck)

    def _now(self) -> Duck:
        return (self._cue.duck if self._cue else None) or Duck()

    def _take_depth(self, depth_db: float) -> str:
        return self._duck("depth", dataclasses.replace(self._now(), depth_db=depth_db))

    def _take_attack(self, attack_ms: float) -> str:
        return self._duck("attack", dataclasses.replace(self._now(), attack_ms=attack_ms))

    def _take_release(self, release_ms: float) -> str:
        return self._duck("release", dataclasses.replace(self._now(), release_ms=release_ms))


def _changed(scene_id: str, cue_id: str, fields: CueFields, film: Film) -> Edit:
    return music_edits.set_cue(film, scene_id, cue_id, fields)
