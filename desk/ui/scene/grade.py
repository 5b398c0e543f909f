"""The Grade part of a scene's sheet: the words and the numbers of its look."""

import functools
from collections import Counter
from typing import ClassVar

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QLabel, QVBoxLayout, QWidget

from desk.film import edits
from desk.film.edits import Edit
from desk.film.locking import Part
from desk.film.model import CameraLook, Film, Grade, Scene, SceneContent
from desk.film.rates import Rate
from desk.film.timecode import format_length
from desk.film.timing import clip_starts
from desk.film.wording import counted
from desk.ui.bench import Bench
from desk.ui.fields import attempt
from desk.ui.labels import label
from desk.ui.scene.part import PartBody
from desk.ui.text_field import TextField

_PLAIN = Grade()
_OPERATIONS = ("slope", "offset", "power")
_COLOURS = ("red", "green", "blue")
_KEPT = (
    "Slope, offset and power for red, green and blue, then saturation, as in the ASC CDL. They go into the "
    "timeline file; the picture here and in review copies is shown without them."
)
_RAPID_CUTS = 6
"""Cuts within a second that can make three flashes where they go between light and dark and back.

WCAG 2.3.1 allows no more than three flashes in any one second; a flash is a pair of opposing changes."""

_FLASH_CAUTION = (
    "Where they go between light and dark, that is flashing light, which can set off seizures: see ITU-R "
    "BT.1702 and WCAG 2.3.1. This line counts cuts alone, and does not see lightning or strobes in a "
    "picture; a broadcaster's own test decides."
)


class GradeBody(PartBody):
    """Shows the grade of a scene, and takes the words about it.

    Attributes:
        note: The words.
        flashing: A caution where cuts follow each other so fast that they can flash.
    """

    part: ClassVar[Part] = Part.GRADE
    title: ClassVar[str] = "Grade"

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(bench, parent)
        self._scene_id = ""
        hint = "How it should look, such as “colder, blacks raised”"
        self.note = TextField("Grade note", self._take_note, self, hint=hint, most_lines=6)
        self.note.left.connect(bench.session.end_gesture)
        self.numbers = _Numbers()
        self.kept = label("", self, kind="small", wraps=True)
        self.cameras = label("", self, kind="dim", wraps=True)
        self.flashing = label("", self, kind="open", wraps=True)
        page = QVBoxLayout(self)
        page.setContentsMargins(0, 0, 0, 0)
        page.setSpacing(8)
        note = label("Grade note", self, kind="dim")
        note.setBuddy(self.note.edit)
        for widget in (note, self.note, self.numbers, self.kept, self.cameras, self.flashing):
            page.addWidget(widget)

    def show_scene(self, scene: Scene) -> None:
        is_other = scene.id != self._scene_id
        self._scene_id = scene.id
        film, content = self.bench.session.film, scene.content
        self.note.show_text(content.grade_note, anew=is_other)
        locked = "The scene is locked. Unlock it to change its grade." if scene.lock else ""
        self.note.set_read_only(self.bench.session.read_only or locked)
        is_plain = content.grade == _PLAIN
        self.numbers.show_grade(content.grade)
        self.numbers.setVisible(not is_plain)
        self.kept.setText(
            "No numbers are set: the picture keeps the plain look of its cameras." if is_plain else _KEPT
        )
        self.cameras.setText("\n".join(camera_lines(film, content)))
        self.cameras.setVisible(bool(content.clips))
        self.flashing.setText(flashing_words(content, film.rate))
        self.flashing.setVisible(bool(self.flashing.text()))

    def summary(self, scene: Scene) -> str:
        content = scene.content
        note = " ".join(content.grade_note.split())
        parts = [f"“{note}”" if note else "no note", "plain" if content.grade == _PLAIN else "numbers set"]
        if self.bench.session.film.camera_looks and content.clips:
            without = sum(not clip.camera for clip in content.clips)
            missing = f"{counted(without, 'clip')} without a camera look"
            parts.append(missing if without else "every camera named")
        return " · ".join(parts)

    def _take_note(self, text: str) -> str:
        note = functools.partial(_with_note, scene_id=self._scene_id, note=text)
        return attempt(self.bench.session, note, merge=f"grade note {self._scene_id}")


class _Numbers(QWidget):
    """The numbers of a grade, a line for each colour."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._cells: dict[tuple[int, int], QLabel] = {}
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(24)
        grid.setVerticalSpacing(2)
        for column, title in enumerate(_OPERATIONS):
            grid.addWidget(label(title, self, kind="dim"), 0, column + 1, Qt.AlignmentFlag.AlignRight)
        for row, title in enumerate(_COLOURS):
            grid.addWidget(label(title, self, kind="dim"), row + 1, 0)
            for column in range(len(_OPERATIONS)):
                cell = QLabel()
                self._cells[row, column] = cell
                grid.addWidget(cell, row + 1, column + 1, Qt.AlignmentFlag.AlignRight)
        grid.addWidget(label("saturation", self, kind="dim"), 4, 0)
        self._saturation = QLabel()
        grid.addWidget(self._saturation, 4, 1, Qt.AlignmentFlag.AlignRight)
        grid.setColumnStretch(4, 1)

    def show_grade(self, grade: Grade) -> None:
        for column, values in enumerate((grade.slope, grade.offset, grade.power)):
            for row, value in enumerate(values):
                cell = self._cells[row, column]
                cell.setText(shown_figure(value))
                cell.setAccessibleName(f"{_OPERATIONS[column]} of {_COLOURS[row]}: {cell.text()}")
        self._saturation.setText(shown_figure(grade.saturation))
        self._saturation.setAccessibleName(f"saturation: {self._saturation.text()}")


def shown_figure(value: float) -> str:
    """Return a number of a grade with at least three decimals, and as many as it has up to six."""
    # Adding nothing turns −0 into 0.
    text = f"{value + 0.0:.6f}".rstrip("0")
    whole, _, decimals = text.partition(".")
    return f"{whole}.{decimals:0<3}".replace("-", "−")


def camera_lines(film: Film, content: SceneContent) -> tuple[str, ...]:
    """Return a line for each camera look that a scene's clips use, and one for those without."""
    looks = {look.id: look for look in film.camera_looks}
    used = Counter(clip.camera for clip in content.clips)
    lines = [_camera_line(looks[look], count) for look, count in used.items() if look in looks]
    if without := sum(count for look, count in used.items() if look not in looks):
        lines.append(f"No camera look: {counted(without, 'clip')}.")
    return tuple(lines)


def flashing_words(content: SceneContent, rate: Rate) -> str:
    """Return the caution about cuts that can flash, with the place of the first, or "" where none can."""
    starts = clip_starts(content)
    ends = [start + clip.length_frames for clip, start in zip(content.clips, starts, strict=True)]
    # From a clip to black is a cut too.
    cuts = sorted({*starts, *ends} - {0, *ends[-1:]})
    second = rate.nominal
    for first, last in zip(cuts, cuts[_RAPID_CUTS - 1 :], strict=False):
        if last - first < second:
            count = sum(first <= cut < first + second for cut in cuts)
            return f"{count} cuts within a second at {format_length(first, rate)}. {_FLASH_CAUTION}"
    return ""


def _camera_line(look: CameraLook, count: int) -> str:
    numbers = "" if look.grade == _PLAIN else ", with numbers of its own"
    note = f": {look.note}" if look.note.strip() else ""
    return f"{look.name}, {counted(count, 'clip')}{numbers}{note}"


def _with_note(film: Film, scene_id: str, note: str) -> Edit:
    return edits.set_grade_note(film, scene_id, note)
