"""Everything about one cue and the music that is chosen for it, as fields."""

import functools
from typing import Unpack

from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QVBoxLayout, QWidget

from desk.film.edit import Edit
from desk.film.edits import CueFields
from desk.film.model import Cue, Film, Rights
from desk.ui.bench import Bench
from desk.ui.cutting.clip_sheet.fields import FramesField
from desk.ui.cutting.clip_sheet.part import SheetPart, Shown
from desk.ui.fields import LineField
from desk.ui.labels import note, say
from desk.ui.music import music_edits
from desk.ui.music.duck_part import DuckPart
from desk.ui.music.fit_part import FitPart
from desk.ui.music.gain_part import GainPart
from desk.ui.music.hearing import Hearing
from desk.ui.music.level_watch import LevelWatch
from desk.ui.music.rights_part import RightsPart
from desk.ui.music.words import credited
from desk.ui.session import MakeEdit

_WIDE_PX = 600
_STARTS = "From the scene's start; -0:00:12 for before it, +12 for 12 frames later."
_NONE_CHOSEN = "Choose music for it to set its gain, fit its length and say who made it."


class CuePlacePart(SheetPart):
    """Label, start and length of a cue."""

    def __init__(self, bench: Bench, parent: QWidget) -> None:
        super().__init__(bench, parent, "Cue")
        self.label = LineField("Label of the cue", self._take_label, self)
        self.start = FramesField("Start of the cue", self._take_start, self, is_signed=True)
        self.start.edit.setToolTip(_STARTS)
        self.length = FramesField("Length of the cue", self._take_length, self)
        self.length.edit.setToolTip("It may run on over the cut into the next scene.")
        self.add("label", self.label)
        self.add("begins", self.start)
        self.add("length", self.length)

    def fill(self, shown: Shown, anew: bool) -> None:
        cue, rate = shown.cues[0], shown.film.rate
        self.label.show_text(cue.label, anew=anew)
        self.start.show_frames(cue.start_frames, rate, anew=anew)
        self.length.show_frames(cue.length_frames, rate, anew=anew)

    def _change(self, what: str, **fields: Unpack[CueFields]) -> str:
        return self.change(what, functools.partial(_changed, self.scene_id, self.ids[0], fields))

    def _take_label(self, text: str) -> str:
        return self._change("label", label=text)

    def _take_start(self, frames: int) -> str:
        return self._change("start", start_frames=frames)

    def _take_length(self, frames: int) -> str:
        return self._change("length", length_frames=frames)


class CueDetails(QWidget):
    """The fields of the cue that the person is at.

    Attributes:
        place: Label, start and length.
        gain: In point, gain and fades of its music.
        fit: How long its music is.
        duck: How it goes down under speech.
        rights: Who made it, on what terms.
    """

    def __init__(self, bench: Bench, watch: LevelWatch, hearing: Hearing, parent: QWidget) -> None:
        super().__init__(parent)
        self._scene_id = self._cue_id = self._candidate_id = ""
        self.place = CuePlacePart(bench, self)
        self.gain = GainPart(bench, watch, self)
        self.fit = FitPart(bench, hearing, self)
        self.duck = DuckPart(bench, watch, self)
        self.rights = RightsPart(bench, self, noun="music", maker="composer", fills_credits=True)
        self.none = note("dim", self)
        left, right = QVBoxLayout(), QVBoxLayout()
        for column in (left, right):
            column.setSpacing(12)
        for part in (self.place, self.none, self.gain, self.fit, self.duck):
            left.addWidget(part)
        right.addWidget(self.rights)
        for column in (left, right):
            column.addStretch(1)
        self._columns = QBoxLayout(QBoxLayout.Direction.TopToBottom, self)
        self._columns.setContentsMargins(10, 0, 0, 8)
        self._columns.setSpacing(16)
        self._columns.addLayout(left, 1)
        self._columns.addLayout(right, 1)

    @property
    def parts(self) -> tuple[SheetPart, ...]:
        """All of its parts."""
        return (self.place, self.gain, self.fit, self.duck, self.rights)

    def show_cue(self, shown: Shown) -> None:
        """Show the one cue of what is shown."""
        cue = shown.cues[0]
        choice = cue.choice
        self._scene_id, self._cue_id, self._candidate_id = shown.scene.id, cue.id, cue.chosen
        self.place.show_selected(shown)
        for part in (self.gain, self.fit, self.duck, self.rights):
            part.setVisible(choice is not None)
        say(self.none, "" if choice is not None else _none_words(cue))
        if choice is not None:
            for part in (self.gain, self.fit, self.duck):
                part.show_selected(shown)
            item = f"{cue.id} {choice.id}"
            self.rights.show_rights(shown, item, choice.rights, credited(choice), self._make_rights)

    def set_read_only(self, reason: str) -> None:
        """Say that nothing can be changed, and why; "" to take that back."""
        for part in self.parts:
            part.set_read_only(reason)

    def _make_rights(self, rights: Rights) -> MakeEdit:
        return functools.partial(_righted, self._scene_id, self._cue_id, self._candidate_id, rights)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        is_wide = event.size().width() >= _WIDE_PX
        ways = QBoxLayout.Direction
        self._columns.setDirection(ways.LeftToRight if is_wide else ways.TopToBottom)


def _none_words(cue: Cue) -> str:
    return _NONE_CHOSEN if cue.candidates else ""


def _changed(scene_id: str, cue_id: str, fields: CueFields, film: Film) -> Edit:
    return music_edits.set_cue(film, scene_id, cue_id, fields)


def _righted(scene_id: str, cue_id: str, candidate_id: str, rights: Rights, film: Film) -> Edit:
    return music_edits.set_music(film, scene_id, cue_id, candidate_id, rights=rights)
