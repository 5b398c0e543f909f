"""The part of the film's sheet that says how it counts, how large it is, and where its footage is."""

import dataclasses
import functools
from pathlib import Path

from PySide6.QtWidgets import QCheckBox, QFileDialog, QPushButton, QWidget

from desk.errors import EditError, MediaError, TimecodeError
from desk.film import edits
from desk.film.model import Film, Size
from desk.film.rates import FILM_RATES, Rate
from desk.film.timecode import format_label, has_drop_frame, parse_label
from desk.footage.first_film import film_path_of
from desk.ui.bench import Bench
from desk.ui.fields import LengthField, LineField, NumberField, attempt
from desk.ui.film.section import FilmSection
from desk.ui.labels import say
from desk.ui.sheet.page import FadeMark, boxed
from desk.ui.sheet.picks import Picks

_SHORT_RATES = {Rate(24000, 1001): "23.976", Rate(30000, 1001): "29.97", Rate(60000, 1001): "59.94"}

# 2K and 4K containers: SMPTE ST 428-1 (from memory); the others are common practice, no source.
_SIZES = (
    ("HD, 1920 × 1080", Size(1920, 1080)),
    ("UHD, 3840 × 2160", Size(3840, 2160)),
    ("HD, 1280 × 720", Size(1280, 720)),
    ("2K flat, 1998 × 1080", Size(1998, 1080)),
    ("2K scope, 2048 × 858", Size(2048, 858)),
    ("4K flat, 3996 × 2160", Size(3996, 2160)),
    ("4K scope, 4096 × 1716", Size(4096, 1716)),
    ("upright, 1080 × 1920", Size(1080, 1920)),
)
_SIZE_NOTE = (
    "Another size places every picture anew and draws the cards anew, so all of it is rendered again. Locked "
    "scenes stay locked: look at them again. In a higher frame a roll takes longer."
)
_RATE_FREE = (
    "Nothing is cut yet, so the rate can still change: lengths keep their seconds, to the nearest frame, and "
    "the start keeps its label."
)


class FrameSection(FilmSection):
    """Rate, size, timecode, fades and where the footage is."""

    def __init__(self, bench: Bench, parent: QWidget) -> None:
        super().__init__("Frame and time", bench, parent)
        self.rate = Picks("Frames a second", [(rate_name(rate), rate) for rate in FILM_RATES], self)
        self.size_pick = Picks("Frame size", _SIZES, self)
        self.width_px = NumberField("Width of the frame", self._width, self, step=2)
        self.height_px = NumberField("Height of the frame", self._height, self, unit="pixels", step=2)
        self.start = LineField("Timecode of the first frame", self._start, self, live=False)
        self.start.keep_narrow(13)
        self.drop_frame = QCheckBox("drop-frame", self)
        self.drop_frame.setAccessibleName("Drop-frame timecode")
        self.fade_in = LengthField("Fade up from black at the start", self._fade_in, self)
        self.fade_out = LengthField("Fade to black at the end", self._fade_out, self)
        self.footage = LineField("Footage folder", self._footage, self, live=False, hint="none")
        self.dialog: QFileDialog | None = None
        self.fade_in.add_beside(FadeMark(bench.theme, self, up=True))
        self.fade_out.add_beside(FadeMark(bench.theme, self, up=False))
        self._lay()
        self.rate.picked.connect(self._pick_rate)
        self.size_pick.picked.connect(self._pick_size)
        self.drop_frame.clicked.connect(self._pick_drop_frame)
        for field in self._fields():
            field.left.connect(bench.session.end_gesture)

    def show_film(self, film: Film) -> None:
        self.rate.show_value(film.rate)
        fixed = rate_fixed(film)
        say(self._rate_note, fixed or _RATE_FREE)
        if not self.bench.session.read_only:
            self.rate.set_read_only(fixed)
        self.size_pick.show_value(film.size)
        self.width_px.show_number(film.size.width)
        self.height_px.show_number(film.size.height)
        self.start.show_text(format_label(film.start_frames, film.rate, drop_frame=film.drop_frame))
        drops = has_drop_frame(film.rate)
        self.drop_frame.setVisible(drops)
        self.drop_frame.setChecked(film.drop_frame)
        told = "A semicolon before the frames means drop-frame." if drops else ""
        say(self._start_note, told)
        self.fade_in.show_frames(film.fade_in_frames, film.rate)
        self.fade_out.show_frames(film.fade_out_frames, film.rate)
        self.footage.show_text(film.footage)

    def set_read_only(self, reason: str) -> None:
        for field in self._fields():
            field.set_read_only(reason)
        for picks in (self.rate, self.size_pick):
            picks.set_read_only(reason)
        self.drop_frame.setEnabled(not reason)
        self.drop_frame.setToolTip(reason)
        self.choose.setEnabled(not reason)
        self.choose.setToolTip(reason)

    def open_dialog(self) -> None:
        """Ask for the footage folder."""
        folder = self.bench.session.folder / self.bench.session.film.footage
        dialog = QFileDialog(self, "Choose the footage folder", str(folder))
        dialog.setFileMode(QFileDialog.FileMode.Directory)
        dialog.setOption(QFileDialog.Option.ShowDirsOnly)
        dialog.fileSelected.connect(self.take_folder)
        dialog.finished.connect(dialog.deleteLater)
        self.dialog = dialog
        dialog.open()

    def take_folder(self, name: str) -> None:
        """Take a folder for the footage folder; nothing in it is touched.

        Args:
            name: Its path on this machine.
        """
        path = Path(name)
        try:
            told = film_path_of(path, path, self.bench.session.folder)
        except MediaError as error:
            say(self.footage.fault, str(error))
            return
        say(self.footage.fault, self.change(footage=told))

    def _lay(self) -> None:
        self.add_form().add("frames a second", self.rate)
        self._rate_note = self.add_note()
        form = self.add_form()
        form.add("size", self.size_pick)
        form.addRow("", boxed(self.width_px, self.height_px))
        say(self.add_note(), _SIZE_NOTE)
        self.add_form().add("starts at", boxed(self.start, self.drop_frame))
        self._start_note = self.add_note()
        form = self.add_form()
        form.add("fade up", self.fade_in)
        form.add("fade out", self.fade_out)
        self.choose = QPushButton("Choose…", self)
        self.choose.setAccessibleName("Choose the footage folder")
        self.choose.clicked.connect(self.open_dialog)
        self.footage.add_beside(self.choose)
        form.add("footage", self.footage)

    def _fields(self) -> tuple[LineField, ...]:
        return self.width_px, self.height_px, self.start, self.fade_in, self.fade_out, self.footage

    def _pick_rate(self, rate: Rate) -> None:
        say(self._rate_note, self.change(rate=rate) or self._rate_note.text())

    def _pick_size(self, size: Size) -> None:
        self.change(size=size)

    def _pick_drop_frame(self, checked: bool) -> None:
        self.change(drop_frame=checked)

    def _width(self, px: float) -> str:
        return self.change("size", size=dataclasses.replace(self.bench.session.film.size, width=int(px)))

    def _height(self, px: float) -> str:
        return self.change("size", size=dataclasses.replace(self.bench.session.film.size, height=int(px)))

    def _start(self, text: str) -> str:
        try:
            frames, drop_frame = parse_label(text.strip(), self.bench.session.film.rate)
        except TimecodeError as error:
            return str(error)
        return self.change("start", start_frames=frames, drop_frame=drop_frame)

    def _fade_in(self, frames: int) -> str:
        return self._fade(frames, self.bench.session.film.fade_out_frames)

    def _fade_out(self, frames: int) -> str:
        return self._fade(self.bench.session.film.fade_in_frames, frames)

    def _fade(self, in_frames: int, out_frames: int) -> str:
        make = functools.partial(edits.set_fades, fade_in_frames=in_frames, fade_out_frames=out_frames)
        return attempt(self.bench.session, make, merge="film fades")

    def _footage(self, text: str) -> str:
        return self.change("footage", footage=text.strip())


def rate_name(rate: Rate) -> str:
    """Return what a person calls a rate."""
    return f"{_SHORT_RATES[rate]} ({rate})" if rate in _SHORT_RATES else str(rate)


def rate_fixed(film: Film) -> str:
    """Return why a film keeps its rate, as a sentence, or "" where it can take another."""
    other = next(rate for rate in FILM_RATES if rate != film.rate)
    try:
        edits.edit_film(film, rate=other)
    except EditError as error:
        if error.code != "edit.rate":
            return str(error)
        return (
            f"Every cut and cue is counted at {rate_name(film.rate)} frames a second, so the rate stays. For "
            "another one, make a new film from the same footage."
        )
    return ""
