"""The parts of the film's sheet that say what it is: title and figures, people, camera looks."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QLabel, QWidget

from desk.film.effects import Figures
from desk.film.model import CameraLook, Film, Grade
from desk.film.timecode import format_length
from desk.ui.bench import Bench
from desk.ui.fields import LineField
from desk.ui.film.section import FilmSection
from desk.ui.labels import note, say
from desk.ui.look.type import HEADING_PX, TITLE_PX, serif
from desk.ui.sheet.credits import people_of_rows, rows_of_people
from desk.ui.sheet.row_table import RowTable
from desk.ui.sheet.rows import Rows

_PLAIN = Grade()
_NO_SCENES = (
    "The film has no scenes yet. Add one in the running order, or make a film from a folder of footage with "
    "File, New film."
)


class TitleSection(FilmSection):
    """Title and figures of the film."""

    def __init__(self, bench: Bench, parent: QWidget) -> None:
        super().__init__("The film", bench, parent)
        self.title = LineField("Title of the film", self._title, self, hint="Title")
        self.title.edit.setFont(serif(TITLE_PX))
        # The style gives every control its size, except where one says its own.
        self.title.edit.setStyleSheet(f"font-size: {TITLE_PX}px;")
        self.title.left.connect(bench.session.end_gesture)
        self.body.addWidget(self.title)
        self._grid = QGridLayout()
        self._grid.setContentsMargins(0, 4, 0, 0)
        self._grid.setHorizontalSpacing(16)
        self._grid.setVerticalSpacing(0)
        self._figures: list[tuple[QLabel, QLabel]] = []
        self.body.addLayout(self._grid)
        self._next = note("open", self)
        self.body.addWidget(self._next)

    def show_film(self, film: Film) -> None:
        self.title.show_text(film.title)
        for at, (value, name) in enumerate(figures_of(film)):
            if at == len(self._figures):
                self._add_figure(at)
            big, small = self._figures[at]
            big.setText(value)
            small.setText(name)
            big.setAccessibleName(f"{name}: {value}")
        say(self._next, "" if film.scenes else _NO_SCENES)

    def set_read_only(self, reason: str) -> None:
        self.title.set_read_only(reason)

    def _add_figure(self, at: int) -> None:
        big, small = QLabel(self), QLabel(self)
        big.setStyleSheet(f"font-size: {HEADING_PX}px; font-weight: 600;")
        small.setProperty("kind", "small")
        column, row = at % 3, 2 * (at // 3)
        self._grid.addWidget(big, row, column, Qt.AlignmentFlag.AlignBottom)
        self._grid.addWidget(small, row + 1, column)
        self._grid.setRowMinimumHeight(row, HEADING_PX + 14)
        self._grid.setColumnStretch(column, 1)
        self._figures.append((big, small))

    def _title(self, text: str) -> str:
        return self.change("title", title=text)


def figures_of(film: Film) -> tuple[tuple[str, str], ...]:
    """Return the figures of a film, each with its name."""
    figures = Figures.of(film)
    ordered = {placement.entry for placement in film.order}
    scenes = [scene for scene in film.scenes if scene.id in ordered]
    locked = sum(scene.lock is not None for scene in scenes)
    return (
        (format_length(figures.frames, film.rate), "running time"),
        (format_length(figures.locked_frames, film.rate), "of it locked"),
        (f"{locked} of {len(scenes)}", "scenes locked"),
        (str(figures.cues), "cue" if figures.cues == 1 else "cues"),
        (str(figures.cards), "card" if figures.cards == 1 else "cards"),
        (str(len(film.aside)), "set aside"),
    )


class PeopleSection(FilmSection):
    """Who worked on the film."""

    def __init__(self, bench: Bench, parent: QWidget) -> None:
        super().__init__("People", bench, parent)
        self.table = RowTable(
            "People",
            ("Name", "Roles, separated by commas"),
            self._take,
            bench.theme,
            self,
            noun="a person",
            has_headings=False,
        )
        self.table.settled.connect(bench.session.end_gesture)
        self._none = note("small", self)
        self.body.addWidget(self.table)
        self.body.addWidget(self._none)

    def show_film(self, film: Film) -> None:
        self.table.show_rows(rows_of_people(film.people))
        say(self._none, "" if film.people else "A credit card takes these people with one press.")

    def set_read_only(self, reason: str) -> None:
        self.table.set_read_only(reason)

    def _take(self, rows: Rows) -> str:
        return self.change("people", people=people_of_rows(rows, self.bench.session.film.people))


class LooksSection(FilmSection):
    """The camera looks."""

    def __init__(self, bench: Bench, parent: QWidget) -> None:
        super().__init__("Camera looks", bench, parent)
        self._shown: tuple[CameraLook, ...] | None = None
        self._labels: list[QLabel] = []

    def show_film(self, film: Film) -> None:
        if film.camera_looks is self._shown:
            return
        self._shown = film.camera_looks
        for label in self._labels:
            self.body.removeWidget(label)
            label.deleteLater()
        self._labels = []
        for look in film.camera_looks:
            self._add(look.name, "")
            told = f"{grade_in_short(look.grade)}; {look.note}" if look.note else grade_in_short(look.grade)
            self._add(told, "dim")
        if not film.camera_looks:
            self._add(
                "None yet. A camera look makes one camera match the others, before a scene's grade.", "dim"
            )

    def _add(self, text: str, kind: str) -> None:
        label = note(kind, self)
        say(label, text)
        self.body.addWidget(label)
        self._labels.append(label)


def grade_in_short(grade: Grade) -> str:
    """Return the numbers of a grade that differ from doing nothing."""
    told = [
        f"{name} {' '.join(f'{value:g}' for value in values)}"
        for name, values, plain in (
            ("slope", grade.slope, _PLAIN.slope),
            ("offset", grade.offset, _PLAIN.offset),
            ("power", grade.power, _PLAIN.power),
        )
        if values != plain
    ]
    if grade.saturation != _PLAIN.saturation:
        told.append(f"saturation {grade.saturation:g}")
    return ", ".join(told) or "no numbers yet"
