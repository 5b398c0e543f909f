"""Gain and fades of clips, spots and cues: what all sound in a scene has in common."""

import functools
from typing import Unpack

from PySide6.QtWidgets import QWidget

from desk.film.model import Candidate, ClipSound, SoundKind, Spot
from desk.ui.bench import Bench
from desk.ui.cutting.clip_sheet import sheet_edits
from desk.ui.cutting.clip_sheet.fields import FewFramesField, show_common
from desk.ui.cutting.clip_sheet.framing import number_text
from desk.ui.cutting.clip_sheet.part import SheetPart, Shown, alike
from desk.ui.cutting.clip_sheet.sheet_edits import LevelFields
from desk.ui.fields import NumberField
from desk.ui.labels import note, say

_GAIN_STEP_DB = 0.5


class LevelsPart(SheetPart):
    """Gain and fades of everything selected that sounds."""

    def __init__(self, bench: Bench, parent: QWidget) -> None:
        super().__init__(bench, parent)
        self.gain = NumberField("Gain", self._take_gain, self, unit="dB", step=_GAIN_STEP_DB, whole=False)
        self.fade_in = FewFramesField("Fade in, in frames", self._take_fade_in, self)
        self.fade_out = FewFramesField("Fade out, in frames", self._take_fade_out, self)
        self.silent = note("small", self)
        self.add("gain", self.gain)
        self.add_pair("fades", ("in", self.fade_in), ("out", self.fade_out))
        self.add_wide(self.silent)

    def fill(self, shown: Shown, anew: bool) -> None:
        sounds = levels_of(shown)
        for field, value in (
            (self.gain, alike(sound.gain_db for sound in sounds)),
            (self.fade_in, alike(sound.fade_in_frames for sound in sounds)),
            (self.fade_out, alike(sound.fade_out_frames for sound in sounds)),
        ):
            show_common(field, None if value is None else number_text(value), anew=anew)
        self.show_row(self.gain, bool(sounds))
        self.show_pair(self.fade_in, self.fade_out, bool(sounds))
        say(self.silent, "" if sounds else "Nothing that is selected sounds.")

    def _level(self, what: str, **fields: Unpack[LevelFields]) -> str:
        make = functools.partial(sheet_edits.set_levels, scene_id=self.scene_id, ids=self.ids, **fields)
        return self.change(what, make)

    def _take_gain(self, gain_db: float) -> str:
        return self._level("gain", gain_db=gain_db)

    def _take_fade_in(self, frames: int) -> str:
        return self._level("fade in", fade_in_frames=frames)

    def _take_fade_out(self, frames: int) -> str:
        return self._level("fade out", fade_out_frames=frames)


def levels_of(shown: Shown) -> tuple[ClipSound | Spot | Candidate, ...]:
    """Return what sounds of what is selected: not silent clips, nor cues without music."""
    clips = (clip.sound for clip in shown.clips if clip.sound.kind is not SoundKind.SILENCE)
    music = (cue.choice for cue in shown.cues)
    return (*clips, *shown.spots, *(choice for choice in music if choice))
