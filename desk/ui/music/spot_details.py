"""The spots of a scene as a table, and the fields of the one that is selected."""

import functools
from fractions import Fraction
from typing import Unpack

from PySide6.QtCore import Signal, SignalInstance
from PySide6.QtWidgets import QBoxLayout, QPushButton, QVBoxLayout, QWidget

from desk.film.edit import Edit
from desk.film.edits import SpotFields
from desk.film.media import MediaFacts
from desk.film.model import Film, Rights, Scene, Spot
from desk.film.problem import Facts, MediaTrouble
from desk.film.rights import effect_credit
from desk.film.timecode import format_length
from desk.ui.bench import Bench
from desk.ui.cutting.clip_sheet.fields import FewFramesField, FramesField, SecondsField
from desk.ui.cutting.clip_sheet.part import SheetPart, Shown
from desk.ui.fields import LineField, NumberField
from desk.ui.labels import note, say
from desk.ui.music import music_edits
from desk.ui.music.rights_part import RightsPart
from desk.ui.music.words import film_place, spot_rate
from desk.ui.scene.clip_facts import file_name, gain_text
from desk.ui.scene.clip_table import Cell, Column, Rows
from desk.ui.session import MakeEdit

SPOT_COLUMNS = (
    Column("Effect"),
    Column("File"),
    Column("At", 64),
    Column("Length", 64),
    Column("Gain", 64),
    Column("Times", 48),
)

_STARTS = "From the scene's start; -0:00:12 for before it, +12 for 12 frames later."


def spot_rows(film: Film, scene: Scene, facts: Facts) -> Rows:
    """Return a row for each spot of a scene."""
    return tuple(_row(spot, film, facts) for spot in scene.content.spots)


class SpotPart(SheetPart):
    """Label, place, gain, fades and repeats of a spot.

    Signals:
        listen_wanted: Its file is to be heard as it is, or silent.
        removal_wanted: It is to be taken out.
    """

    listen_wanted = Signal()
    removal_wanted = Signal()

    def __init__(self, bench: Bench, parent: QWidget) -> None:
        super().__init__(bench, parent, "Spot")
        self.label = LineField("Label of the spot", self._take_label, self)
        self.start = FramesField("Start of the spot", self._take_start, self, is_signed=True)
        self.start.edit.setToolTip(_STARTS)
        self.film_place = note("small", self)
        self.length = FramesField("Length of the spot", self._take_length, self)
        self.in_point = SecondsField("In point of the spot", self._take_in, self)
        self.gain = NumberField("Gain of the spot", self._take_gain, self, unit="dB", step=0.5, whole=False)
        self.fade_in = FewFramesField("Fade in of the spot, in frames", self._take_fade_in, self)
        self.fade_out = FewFramesField("Fade out of the spot, in frames", self._take_fade_out, self)
        self.repeats = NumberField("How many times more it sounds", self._take_repeats, self)
        self.every = FramesField("Time from one to the next", self._take_every, self)
        self.told = note("small", self)
        self.listen = self._button("Listen", self.listen_wanted)
        self.remove = self._button("Remove the spot", self.removal_wanted)
        self.add("label", self.label)
        self.add("begins", self.start)
        self.add_inside(self.film_place)
        self.add("length", self.length)
        self.add("in", self.in_point)
        self.add("gain", self.gain)
        self.add_pair("fades", ("in", self.fade_in), ("out", self.fade_out))
        self.add("repeats", self.repeats)
        self.add("every", self.every)
        self.add_wide(self.told)
        self.add_line(self.listen, self.remove)

    def fill(self, shown: Shown, anew: bool) -> None:
        spot, rate = shown.spots[0], shown.film.rate
        self.label.show_text(spot.label, anew=anew)
        self.start.show_frames(spot.start_frames, rate, anew=anew)
        self.length.show_frames(spot.length_frames, rate, anew=anew)
        self.in_point.show_seconds(spot.in_seconds, rate, anew=anew)
        self.gain.show_number(round(spot.gain_db, 2), anew=anew)
        self.fade_in.show_number(spot.fade_in_frames, anew=anew)
        self.fade_out.show_number(spot.fade_out_frames, anew=anew)
        self.repeats.show_number(spot.repeats, anew=anew)
        self.show_row(self.every, bool(spot.repeats))
        self.every.show_frames(spot.every_frames, rate, anew=anew)
        say(self.told, f"It sounds {spot_rate(spot, rate)}." if spot.repeats else "")

    def show_place(self, film: Film, scene_start: int | None, spot: Spot) -> None:
        """Show where a spot stands in the film."""
        say(self.film_place, film_place(film, scene_start, spot.start_frames))

    def show_heard(self, is_heard: bool) -> None:
        """Show whether its file is heard as it is."""
        self.listen.setText("Stop" if is_heard else "Listen")
        self.listen.setAccessibleName("Stop listening to the spot" if is_heard else "Listen to the spot")

    def set_read_only(self, reason: str) -> None:
        super().set_read_only(reason)
        self.remove.setEnabled(not reason)
        self.remove.setToolTip(reason)

    def _button(self, text: str, signal: SignalInstance) -> QPushButton:
        button = QPushButton(text, self)
        button.setAccessibleName(f"{text} to the spot" if text == "Listen" else text)
        button.clicked.connect(signal)
        return button

    def _change(self, what: str, **fields: Unpack[SpotFields]) -> str:
        return self.change(what, functools.partial(_changed, self.scene_id, self.ids[0], fields))

    def _take_label(self, text: str) -> str:
        return self._change("label", label=text)

    def _take_start(self, frames: int) -> str:
        return self._change("start", start_frames=frames)

    def _take_length(self, frames: int) -> str:
        return self._change("length", length_frames=frames)

    def _take_in(self, seconds: Fraction) -> str:
        return self._change("in", in_seconds=seconds)

    def _take_gain(self, gain_db: float) -> str:
        return self._change("gain", gain_db=gain_db)

    def _take_fade_in(self, frames: int) -> str:
        return self._change("fade in", fade_in_frames=frames)

    def _take_fade_out(self, frames: int) -> str:
        return self._change("fade out", fade_out_frames=frames)

    def _take_repeats(self, repeats: float) -> str:
        return self._change("repeats", repeats=int(repeats))

    def _take_every(self, frames: int) -> str:
        return self._change("every", every_frames=frames)


class SpotDetails(QWidget):
    """All about one spot.

    Attributes:
        spot: Its place and sound.
        rights: Who made it, on what terms.
    """

    def __init__(self, bench: Bench, parent: QWidget) -> None:
        super().__init__(parent)
        self._scene_id = self._spot_id = ""
        self.spot = SpotPart(bench, self)
        self.rights = RightsPart(bench, self, noun="effect", maker="maker", fills_credits=False)
        left, right = QVBoxLayout(), QVBoxLayout()
        left.addWidget(self.spot)
        right.addWidget(self.rights)
        self._columns = QBoxLayout(QBoxLayout.Direction.TopToBottom, self)
        self._columns.setContentsMargins(10, 4, 0, 4)
        self._columns.setSpacing(16)
        for column in (left, right):
            column.addStretch(1)
            self._columns.addLayout(column, 1)

    @property
    def spot_id(self) -> str:
        """The spot that is shown, or ""."""
        return self._spot_id

    def show_spot(self, shown: Shown, scene_start: int | None) -> None:
        """Show the one spot of what is shown."""
        spot = shown.spots[0]
        self._scene_id, self._spot_id = shown.scene.id, spot.id
        self.spot.show_selected(shown)
        self.spot.show_place(shown.film, scene_start, spot)
        self.rights.show_rights(shown, spot.id, spot.rights, effect_credit(spot), self._make_rights)

    def set_read_only(self, reason: str) -> None:
        """Say that nothing can be changed, and why; "" to take that back."""
        self.spot.set_read_only(reason)
        self.rights.set_read_only(reason)

    def set_wide(self, is_wide: bool) -> None:
        """Put both parts beside each other, or one below the other."""
        ways = QBoxLayout.Direction
        self._columns.setDirection(ways.LeftToRight if is_wide else ways.TopToBottom)

    def _make_rights(self, rights: Rights) -> MakeEdit:
        return functools.partial(_changed, self._scene_id, self._spot_id, SpotFields(rights=rights))


def _row(spot: Spot, film: Film, facts: Facts) -> tuple[Cell, ...]:
    known = facts.get(spot.file)
    rights = spot.rights
    words = [part for part in (rights.author, rights.licence or "no licence entered") if part]
    file = Cell(file_name(spot.file), more=f"{spot.file}\n{', '.join(words)}")
    if isinstance(known, MediaTrouble):
        file = Cell(f"{file.text}, missing", "fault", f"{known.sentence} {known.advice}".strip())
    elif isinstance(known, MediaFacts) and known.sound is None:
        file = Cell(f"{file.text}, has no sound", "fault", f"{spot.file} has no sound.")
    return (
        Cell(spot.label or file_name(spot.file)),
        file,
        Cell(format_length(spot.start_frames, film.rate), more=f"Frame {spot.start_frames} of the scene"),
        Cell(format_length(spot.length_frames, film.rate)),
        Cell(gain_text(spot.gain_db)),
        Cell(str(spot.repeats + 1), more=f"Sounds {spot_rate(spot, film.rate)}."),
    )


def _changed(scene_id: str, spot_id: str, fields: SpotFields, film: Film) -> Edit:
    return music_edits.set_spot(film, scene_id, spot_id, fields)
