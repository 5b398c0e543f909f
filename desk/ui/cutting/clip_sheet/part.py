"""A part of the clip sheet: names and fields in two columns that fit beside the viewer."""

from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass
from typing import TypeVar

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QWidget

from desk.film.model import Clip, Cue, Film, Scene, Spot
from desk.film.problem import Facts
from desk.ui.bench import Bench
from desk.ui.fields import TypedField, attempt
from desk.ui.labels import heading, label
from desk.ui.session import MakeEdit

NAMES_PX = 60
_GAP_PX = 8
_ROW_PX = 4
_DROP_PX = 5
"""What brings a name level with the text in a field, which has a frame."""

Value = TypeVar("Value", bound=Hashable)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """What a sheet shows.

    Attributes:
        film: The film, with what a drag would do.
        scene: The scene.
        clips: The selected clips, in the order of the scene.
        spots: The selected spots.
        cues: The selected cues.
        facts: What is known of each file.
    """

    film: Film
    scene: Scene
    clips: tuple[Clip, ...] = ()
    spots: tuple[Spot, ...] = ()
    cues: tuple[Cue, ...] = ()
    facts: Facts

    @property
    def ids(self) -> tuple[str, ...]:
        """Ids of all that is selected."""
        items: tuple[Clip | Cue | Spot, ...] = (*self.clips, *self.cues, *self.spots)
        return tuple(item.id for item in items)


class SheetPart(QWidget):
    """Fields of what is selected.

    Attributes:
        bench: What it gets to work with.
        scene_id: The scene.
        ids: What is selected of what the part is about.
    """

    def __init__(self, bench: Bench, parent: QWidget, title: str = "") -> None:
        super().__init__(parent)
        self.bench = bench
        self.scene_id = ""
        self.ids: tuple[str, ...] = ()
        self._fields: list[TypedField] = []
        self._names: dict[QWidget, QLabel] = {}
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(_GAP_PX)
        self._grid.setVerticalSpacing(_ROW_PX)
        self._grid.setColumnMinimumWidth(0, NAMES_PX)
        self._grid.setColumnStretch(1, 1)
        if title:
            top = heading(title, self)
            top.setAccessibleName(title)
            self._grid.addWidget(top, 0, 0, 1, 2)

    def show_selected(self, shown: Shown) -> None:
        """Show what is selected, as it is now."""
        ids = self.ids_of(shown)
        anew = (shown.scene.id, ids) != (self.scene_id, self.ids)
        self.scene_id, self.ids = shown.scene.id, ids
        self.fill(shown, anew)

    def ids_of(self, shown: Shown) -> tuple[str, ...]:
        """Return the ids of what the part is about."""
        return shown.ids

    def fill(self, shown: Shown, anew: bool) -> None:
        """Show it in the fields; `anew` where something else is selected, so that nothing typed is kept."""
        raise NotImplementedError

    def set_read_only(self, reason: str) -> None:
        """Say that nothing can be changed, and why; "" to take that back."""
        for field in self._fields:
            field.set_read_only(reason)

    def finish(self) -> str:
        """Take what was typed and not tried yet; returns why the last of it is refused, or ""."""
        refused = [field.finish() for field in self._fields if field.is_pending]
        return next((text for text in reversed(refused) if text), "")

    def change(self, what: str, make: MakeEdit) -> str:
        """Make an edit; returns why it is refused, or "".

        Args:
            what: Names the field: what is done in one, until it is left, is one step.
            make: Gives the edit.
        """
        merge = f"{what} {self.scene_id} {' '.join(self.ids)}" if what else ""
        return attempt(self.bench.session, make, merge=merge)

    def add(self, name: str, field: QWidget) -> None:
        """Add a field with its name before it; what it refuses stands below both."""
        row = self._grid.rowCount()
        named = label(name, self, kind="dim")
        named.setContentsMargins(0, 0 if isinstance(field, QLabel) else _DROP_PX, 0, 0)
        named.setBuddy(field)
        self._names[field] = named
        self._grid.addWidget(named, row, 0, Qt.AlignmentFlag.AlignTop)
        self._grid.addWidget(field, row, 1)
        if isinstance(field, TypedField):
            self._take(field)
            self._grid.addWidget(field.fault, row + 1, 0, 1, 2)

    def add_pair(self, name: str, first: tuple[str, TypedField], second: tuple[str, TypedField]) -> None:
        """Add two short fields in one line, each with a word before it."""
        row = self._grid.rowCount()
        named = label(name, self, kind="dim")
        named.setContentsMargins(0, _DROP_PX, 0, 0)
        pair = QWidget(self)
        line = QHBoxLayout(pair)
        line.setContentsMargins(0, 0, 0, 0)
        line.setSpacing(_ROW_PX)
        self._grid.addWidget(named, row, 0, Qt.AlignmentFlag.AlignTop)
        self._grid.addWidget(pair, row, 1)
        for at, (word, field) in enumerate((first, second)):
            line.addWidget(label(word, pair, kind="dim"))
            line.addWidget(field)
            self._names[field] = named
            self._take(field)
            self._grid.addWidget(field.fault, row + 1 + at, 0, 1, 2)
        line.addStretch(1)

    def add_wide(self, widget: QWidget) -> None:
        """Add something over both columns."""
        self._grid.addWidget(widget, self._grid.rowCount(), 0, 1, 2)
        if isinstance(widget, TypedField):
            self._take(widget)

    def add_inside(self, *widgets: QWidget) -> None:
        """Add things one beside the other under the fields."""
        line = QHBoxLayout()
        line.setSpacing(_GAP_PX)
        for widget in widgets:
            line.addWidget(widget)
        line.addStretch(1)
        self._grid.addLayout(line, self._grid.rowCount(), 1)

    def add_line(self, *widgets: QWidget) -> None:
        """Add things one beside the other over both columns."""
        line = QHBoxLayout()
        line.setSpacing(_GAP_PX)
        for widget in widgets:
            line.addWidget(widget)
        line.addStretch(1)
        self._grid.addLayout(line, self._grid.rowCount(), 0, 1, 2)

    def show_row(self, field: QWidget, is_shown: bool) -> None:
        """Show or hide a field with its name."""
        field.setVisible(is_shown)
        if isinstance(field, TypedField) and not is_shown:
            field.fault.hide()
        if field in self._names:
            self._names[field].setVisible(is_shown)

    def show_pair(self, first: TypedField, second: TypedField, is_shown: bool) -> None:
        """Show or hide two fields that stand in one line, with their words."""
        for field in (first, second):
            self.show_row(field, is_shown)
        pair = first.parentWidget()
        if pair is not None:
            pair.setVisible(is_shown)

    def _take(self, field: TypedField) -> None:
        self._fields.append(field)
        field.left.connect(self.bench.session.end_gesture)


def common(items: Iterable[Clip], value: Callable[[Clip], Value]) -> Value | None:
    """Return what clips have in common, or None where they differ."""
    return alike(value(item) for item in items)


def alike(values: Iterable[Value]) -> Value | None:
    """Return what several values all are, or None where they differ."""
    different = set(values)
    return different.pop() if len(different) == 1 else None
