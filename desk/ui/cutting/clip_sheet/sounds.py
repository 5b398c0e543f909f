"""The parts of the clip sheet about a spot or a cue: its file, label and place."""

import functools
from fractions import Fraction
from typing import Unpack

from PySide6.QtWidgets import QWidget

from desk.film import edits
from desk.film.edits import CandidateFields, CueFields, Edit, SpotFields
from desk.film.model import Candidate, Cue, Film, Spot
from desk.film.problem import Facts
from desk.film.timecode import format_label
from desk.film.wording import counted
from desk.ui.bench import Bench
from desk.ui.cutting.clip_sheet import sheet_edits
from desk.ui.cutting.clip_sheet.fields import FramesField, SecondsField
from desk.ui.cutting.clip_sheet.footage import SourceLine
from desk.ui.cutting.clip_sheet.part import SheetPart, Shown
from desk.ui.fields import LineField
from desk.ui.labels import note, say
from desk.ui.scene.clip_facts import file_name
from desk.ui.sheet.picks import Picks

_STARTS = "From the scene's start; -0:00:12 for before it, +12 for 12 frames later."
_IN = "The place in the file that sounds first, in seconds."


class PlacedPart(SheetPart):
    """What a spot and a cue have in common: label, place, length, and the in point of its sound."""

    def __init__(self, bench: Bench, parent: QWidget, noun: str) -> None:
        super().__init__(bench, parent)
        self.file = SourceLine(bench, self)
        self.label = LineField(f"Label of the {noun}", self._take_label, self)
        self.start = FramesField(f"Start of the {noun}", self._take_start, self, is_signed=True)
        self.start.edit.setToolTip(_STARTS)
        self.film_place = note("small", self)
        self.length = FramesField(f"Length of the {noun}", self._take_length, self)
        self.in_point = SecondsField("In point", self._take_in, self)
        self.in_point.edit.setToolTip(_IN)

    def add_placed(self) -> None:
        """Add the rows that they have in common."""
        self.add("label", self.label)
        self.add("begins", self.start)
        self.add_inside(self.film_place)
        self.add("length", self.length)
        self.add("in", self.in_point)

    def show_placed(self, shown: Shown, item: Spot | Cue, sound: Spot | Candidate | None, anew: bool) -> None:
        """Show what they have in common."""
        rate = shown.film.rate
        self.label.show_text(item.label, anew=anew)
        self.start.show_frames(item.start_frames, rate, anew=anew)
        self.length.show_frames(item.length_frames, rate, anew=anew)
        self.length.edit.setToolTip(counted(item.length_frames, "frame"))
        say(self.film_place, self._place_in_film(shown.film, item.start_frames))
        self.show_row(self.in_point, sound is not None)
        if sound is not None:
            is_there = self.bench.media.is_present(sound.file)
            self.file.show_file(
                sound.file, kind="" if is_there else "fault", more="" if is_there else "missing"
            )
            self.in_point.show_seconds(sound.in_seconds, rate, anew=anew)
        else:
            self.file.show_file("")

    def _place_in_film(self, film: Film, start_frames: int) -> str:
        scene_start = self.bench.cut.film_frame
        if scene_start is None or scene_start + start_frames < 0:
            return ""
        frame = film.start_frames + scene_start + start_frames
        return f"film {format_label(frame, film.rate, drop_frame=film.drop_frame)}"

    def _take_label(self, text: str) -> str:
        raise NotImplementedError

    def _take_start(self, frames: int) -> str:
        raise NotImplementedError

    def _take_length(self, frames: int) -> str:
        raise NotImplementedError

    def _take_in(self, seconds: Fraction) -> str:
        raise NotImplementedError


class SpotPart(PlacedPart):
    """A spot."""

    def __init__(self, bench: Bench, parent: QWidget) -> None:
        super().__init__(bench, parent, "spot")
        self.add("file", self.file)
        self.add_placed()

    def fill(self, shown: Shown, anew: bool) -> None:
        spot = shown.spots[0]
        self.show_placed(shown, spot, spot, anew)

    def _change(self, what: str, **fields: Unpack[SpotFields]) -> str:
        return self.change(what, functools.partial(_spotted, self.scene_id, self.ids[0], fields))

    def _take_label(self, text: str) -> str:
        return self._change("label", label=text)

    def _take_start(self, frames: int) -> str:
        return self._change("start", start_frames=frames)

    def _take_length(self, frames: int) -> str:
        facts = self.bench.media.facts
        return self.change(
            "length", functools.partial(_spot_as_long, self.scene_id, self.ids[0], frames, facts)
        )

    def _take_in(self, seconds: Fraction) -> str:
        return self._change("in", in_seconds=seconds)


class CuePart(PlacedPart):
    """A cue with the music that is chosen for it; all about that music is in the sheet's Music part."""

    def __init__(self, bench: Bench, parent: QWidget) -> None:
        super().__init__(bench, parent, "cue")
        self._offered: tuple[tuple[Candidate, ...], bool] | None = None
        self._chosen = ""
        self.music = Picks("Music of the cue", (), self)
        self.music.setMinimumContentsLength(8)
        self.music.picked.connect(self._on_music)
        self.tried = note("small", self)
        self.add("music", self.music)
        self.add("file", self.file)
        self.add_wide(self.tried)
        self.add_placed()

    def fill(self, shown: Shown, anew: bool) -> None:
        cue = shown.cues[0]
        if self._offered != (cue.candidates, bool(cue.chosen)):
            self._offered = (cue.candidates, bool(cue.chosen))
            named = ((item.rights.title or file_name(item.file), item.id) for item in cue.candidates)
            self.music.offer((*named, ("none chosen", "")) if not cue.chosen else tuple(named))
        self._chosen = cue.chosen
        self.music.show_value(cue.chosen)
        self.show_row(self.music, bool(cue.candidates))
        count = len(cue.candidates)
        told = "No music is tried for it yet." if not count else f"{counted(count, 'piece')} tried."
        say(self.tried, f"{told} The Music part adds others, and says who made them.")
        self.show_placed(shown, cue, cue.choice, anew)

    def set_read_only(self, reason: str) -> None:
        super().set_read_only(reason)
        self.music.set_read_only(reason)

    def _change(self, what: str, **fields: Unpack[CueFields]) -> str:
        return self.change(what, functools.partial(_cued, self.scene_id, self.ids[0], fields))

    def _take_label(self, text: str) -> str:
        return self._change("label", label=text)

    def _take_start(self, frames: int) -> str:
        return self._change("start", start_frames=frames)

    def _take_length(self, frames: int) -> str:
        facts = self.bench.media.facts
        return self.change(
            "length", functools.partial(_cue_as_long, self.scene_id, self.ids[0], frames, facts)
        )

    def _take_in(self, seconds: Fraction) -> str:
        fields = CandidateFields(in_seconds=seconds)
        return self.change(
            "in", functools.partial(_music_changed, self.scene_id, self.ids[0], self._chosen, fields)
        )

    def _on_music(self, candidate_id: str) -> None:
        choose = functools.partial(_chosen, self.scene_id, self.ids[0], candidate_id)
        say(self.tried, self.change("", choose) or self.tried.text())


def _spotted(scene_id: str, spot_id: str, fields: SpotFields, film: Film) -> Edit:
    return edits.edit_spot(film, scene_id, spot_id, **fields)


def _spot_as_long(scene_id: str, spot_id: str, frames: int, facts: Facts, film: Film) -> Edit:
    spot = next(item for item in film.scene(scene_id).content.spots if item.id == spot_id)
    seconds = sheet_edits.sound_seconds(facts, spot.file)
    return edits.trim_spot_tail(film, scene_id, spot_id, spot.length_frames - frames, sound_seconds=seconds)


def _cued(scene_id: str, cue_id: str, fields: CueFields, film: Film) -> Edit:
    return edits.edit_cue(film, scene_id, cue_id, **fields)


def _cue_as_long(scene_id: str, cue_id: str, frames: int, facts: Facts, film: Film) -> Edit:
    cue = next(item for item in film.scene(scene_id).content.cues if item.id == cue_id)
    paths = [cue.choice.file] if cue.choice else []
    seconds = sheet_edits.sound_seconds(facts, *paths)
    return edits.trim_cue_tail(film, scene_id, cue_id, cue.length_frames - frames, sound_seconds=seconds)


def _music_changed(
    scene_id: str, cue_id: str, candidate_id: str, fields: CandidateFields, film: Film
) -> Edit:
    return edits.edit_candidate(film, scene_id, cue_id, candidate_id, **fields)


def _chosen(scene_id: str, cue_id: str, candidate_id: str, film: Film) -> Edit:
    return edits.choose_candidate(film, scene_id, cue_id, candidate_id)
