"""The part of a cue's fields about how loud its music is: by ear, or so far below the voices."""

import functools
from fractions import Fraction
from typing import Unpack

from PySide6.QtWidgets import QPushButton, QWidget

from desk.film.edit import Edit
from desk.film.edits import CandidateFields
from desk.film.model import Candidate, Cue, Film
from desk.film.wording import true_minus
from desk.sound.levelling import MOST_GAIN_DB, SAME_DB
from desk.ui.bench import Bench
from desk.ui.cutting.clip_sheet.fields import FewFramesField, SecondsField
from desk.ui.cutting.clip_sheet.part import SheetPart, Shown
from desk.ui.fields import NumberField
from desk.ui.labels import note, say
from desk.ui.music import music_edits
from desk.ui.music.level_watch import LevelWatch
from desk.ui.scene.clip_facts import gain_text
from desk.ui.sheet.picks import Alternatives

USUAL_UNDER_LU = 12.0
"""How far music lies below voices where nothing else is known (common practice, no source)."""

_GAIN_STEP_DB = 0.5
_IN = (
    "The place in the file that sounds first, in seconds. Another in point makes music in parts whole again."
)


class GainPart(SheetPart):
    """In point, gain and fades of the music that is chosen for a cue."""

    def __init__(self, bench: Bench, watch: LevelWatch, parent: QWidget) -> None:
        super().__init__(bench, parent, "Place in the file, and gain")
        self._watch = watch
        self._cue: Cue | None = None
        self._choice: Candidate | None = None
        self._reason = ""
        self.in_point = SecondsField("In point of the music", self._take_in, self)
        self.in_point.edit.setToolTip(_IN)
        ways = (("by ear", False), ("below the voices", True))
        self.way = Alternatives("How the gain is set", ways, self)
        self.way.picked.connect(self._on_way)
        self.gain = NumberField(
            "Gain of the music", self._take_gain, self, unit="dB", step=_GAIN_STEP_DB, whole=False
        )
        self.under = NumberField(
            "How far below the voices", self._take_under, self, unit="LU", step=1, whole=False
        )
        self.under.edit.setToolTip("Return takes it, and sets the gain that follows from it.")
        self.told = note("small", self)
        self.follow = QPushButton(self)
        self.follow.clicked.connect(self._on_follow)
        self.fade_in = FewFramesField("Fade in of the music, in frames", self._take_fade_in, self)
        self.fade_out = FewFramesField("Fade out of the music, in frames", self._take_fade_out, self)
        self.add("in", self.in_point)
        self.add("gain", self.way)
        self.add("", self.gain)
        self.add("", self.under)
        self.add_inside(self.follow)
        self.add_wide(self.told)
        self.add_pair("fades", ("in", self.fade_in), ("out", self.fade_out))
        watch.measured.connect(self.show_measured)

    def ids_of(self, shown: Shown) -> tuple[str, ...]:
        return tuple(f"{cue.id} {cue.chosen}" for cue in shown.cues)

    def fill(self, shown: Shown, anew: bool) -> None:
        self._cue = cue = shown.cues[0]
        self._choice = choice = cue.choice
        if choice is None:
            return
        self.in_point.show_seconds(choice.in_seconds, shown.film.rate, anew=anew)
        is_under = choice.under_voices_lu is not None
        self.way.show_value(is_under)
        self.gain.show_number(round(choice.gain_db, 2), anew=anew)
        self.show_row(self.gain, not is_under)
        self.show_row(self.under, is_under)
        if choice.under_voices_lu is not None:
            self.under.show_number(choice.under_voices_lu, anew=anew)
        self.fade_in.show_number(choice.fade_in_frames, anew=anew)
        self.fade_out.show_number(choice.fade_out_frames, anew=anew)
        self.show_measured()

    def set_read_only(self, reason: str) -> None:
        super().set_read_only(reason)
        self._reason = reason
        self.way.set_read_only(reason)

    def show_measured(self) -> None:
        """Say how far below the voices the music lies, and what gain would follow."""
        cue, choice = self._cue, self._choice
        if cue is None or choice is None:
            return
        levels = self._watch.levels
        voices = levels.voices_lufs if levels is not None else None
        own = self._watch.loudness_of(cue, choice)
        follows = self._following(choice.under_voices_lu)
        say(self.told, self._words(choice, voices, own))
        differs = follows is not None and abs(follows - choice.gain_db) >= SAME_DB
        self.follow.setVisible(differs)
        if follows is not None:
            self.follow.setText(f"Set the gain to {gain_text(follows)}")
            self.follow.setAccessibleName(self.follow.text())
        self.follow.setEnabled(not self._reason)
        self.follow.setToolTip(self._reason)

    def _words(self, choice: Candidate, voices: float | None, own: float | None) -> str:
        gain = f"Its gain is {gain_text(choice.gain_db)}. " if choice.under_voices_lu is not None else ""
        levels = self._watch.levels
        if levels is None or (own is None and self._watch.is_measuring):
            waits = "Voices and music are being measured." if self._watch.is_measuring else ""
            return f"{gain}{waits}".strip()
        if own is None:
            return f"{gain}The music can't be measured: it is silent there, or its file is missing."
        if voices is None:
            return f"{gain}No voices are measured in this scene: set the gain by ear."
        now = voices - own - choice.gain_db
        where = f"{now:.1f} LU below" if now >= 0 else f"{-now:.1f} LU above"
        both = f"{_lufs(voices)}; the music {_lufs(own + choice.gain_db)}"
        told = f"{gain}The music is now {where} the voices ({both})."
        reached = levels.reached_lufs
        if reached is not None and abs(reached - voices) >= 0.5:
            told += " The voices are not level yet: levelling them changes this."
        return told

    def _following(self, under_lu: float | None) -> float | None:
        """Return the gain that brings the music so far below the voices, or None where it is not known."""
        levels = self._watch.levels
        if self._cue is None or self._choice is None or levels is None or under_lu is None:
            return None
        own = self._watch.loudness_of(self._cue, self._choice)
        if own is None or levels.voices_lufs is None:
            return None
        wanted = levels.voices_lufs - under_lu - own
        return round(min(max(wanted, -MOST_GAIN_DB), MOST_GAIN_DB), 1)

    def _change(self, what: str, **fields: Unpack[CandidateFields]) -> str:
        if self._cue is None or self._choice is None:
            return ""
        make = functools.partial(_changed, self.scene_id, self._cue.id, self._choice.id, fields)
        return self.change(what, make)

    def _take_in(self, seconds: Fraction) -> str:
        return self._change("in", in_seconds=seconds)

    def _take_gain(self, gain_db: float) -> str:
        return self._change("gain", gain_db=gain_db)

    def _take_under(self, under_lu: float) -> str:
        gain_db = self._following(under_lu)
        if gain_db is None:
            return self._change("under", under_voices_lu=under_lu)
        return self._change("under", under_voices_lu=under_lu, gain_db=gain_db)

    def _take_fade_in(self, frames: int) -> str:
        return self._change("fade in", fade_in_frames=frames)

    def _take_fade_out(self, frames: int) -> str:
        return self._change("fade out", fade_out_frames=frames)

    def _on_way(self, is_under: bool) -> None:
        refused = ""
        if not is_under:
            refused = self._change("", under_voices_lu=None)
        elif self._choice is not None:
            refused = self._change("", under_voices_lu=self._usual())
        if refused:
            self.way.show_value(not is_under)
            say(self.told, refused)

    def _usual(self) -> float:
        """Return how far the music lies below the voices now, or the usual where that is not known."""
        levels = self._watch.levels
        assert self._cue is not None
        assert self._choice is not None
        own = self._watch.loudness_of(self._cue, self._choice)
        if own is None or levels is None or levels.voices_lufs is None:
            return USUAL_UNDER_LU
        return max(0.0, round(levels.voices_lufs - own - self._choice.gain_db, 1))

    def _on_follow(self) -> None:
        follows = self._following(self._choice.under_voices_lu if self._choice else None)
        if follows is not None:
            say(self.told, self._change("", gain_db=follows) or self.told.text())


def _lufs(value: float) -> str:
    return true_minus(f"{value:.1f} LUFS")


def _changed(scene_id: str, cue_id: str, candidate_id: str, fields: CandidateFields, film: Film) -> Edit:
    return music_edits.set_music(film, scene_id, cue_id, candidate_id, **fields)
