"""Story: what the scene is called, and why it is in the film."""

import functools
from pathlib import Path

from PySide6.QtCore import Qt, QUrl
from PySide6.QtGui import QDesktopServices
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from desk.errors import EditError
from desk.film import edits
from desk.film.edits import Edit, StoryFields
from desk.film.locking import Part
from desk.film.model import Film, Scene
from desk.film.rates import Rate
from desk.film.timecode import format_length
from desk.film.timing import content_frames
from desk.film.wording import counted, quoted
from desk.ui.bench import Bench
from desk.ui.fields import parse_length
from desk.ui.labels import label, say
from desk.ui.look.type import typewriter
from desk.ui.scene.fields import LineField, TextField
from desk.ui.scene.part import PartBody
from desk.ui.scene.reference import ReferencePicture
from desk.ui.scene.tension import TensionControl, tension_words
from desk.ui.session import MakeEdit

_NUMBER_PX = 96
_LABELS_PX = 84
_LINE_PX = 28
_HOW = "Write it as m:ss:ff, such as 1:20:00, or as a count of frames."


class StoryBody(PartBody):
    """The words of a scene. They may be changed while it is locked: a lock closes over picture and sound."""

    part = Part.STORY
    title = "Story"

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(bench, parent)
        self._scene_id = ""
        self._faults: dict[QWidget, QLabel] = {}
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(12)
        self._grid.setVerticalSpacing(8)
        self._grid.setColumnMinimumWidth(0, _LABELS_PX)
        self._grid.setColumnStretch(1, 1)
        self._make_words()
        self._make_tension()
        self._make_picture()
        self._make_length()
        self._make_folder()
        self._make_read_only()

    def show_scene(self, scene: Scene) -> None:
        anew = scene.id != self._scene_id
        if anew:
            self._finish_other()
            self._scene_id = scene.id
            for fault in self._faults.values():
                fault.hide()
        self.number.show_value(scene.number, anew=anew)
        self.slugline.show_value(scene.slugline, anew=anew)
        self.purpose.show_value(scene.purpose, anew=anew)
        self.synopsis.show_value(scene.synopsis, anew=anew)
        self.tension.show_value(scene.tension)
        self.picture.show_picture(scene.id, scene.reference_picture)
        self._show_length(scene, anew=anew)
        self._folder_name.setText(scene.folder or "none; its clips come from anywhere")
        self._open_folder.setVisible(bool(scene.folder))

    def summary(self, scene: Scene) -> str:
        said = [f"what changes: {' '.join(scene.purpose.split())}" if scene.purpose.strip() else ""]
        said.append("" if scene.tension is None else f"tension {tension_words(scene.tension)}")
        return " · ".join(item for item in said if item)

    def _make_words(self) -> None:
        self.number = LineField("Scene number", self)
        self.number.setFont(typewriter())
        self.number.setFixedWidth(_NUMBER_PX)
        self.number.entered.connect(self._on_number)
        self.number.typed.connect(self._on_retyped)
        self._add("Number", self.number, beside=True)
        self.slugline = LineField("Slugline", self)
        self.slugline.setFont(typewriter())
        self.slugline.setPlaceholderText("INT. BOATHOUSE - NIGHT")
        self.slugline.typed.connect(self._on_slugline)
        self._add("Slugline", self.slugline)
        self.purpose = TextField("Purpose", least_lines=2, most_lines=6, parent=self)
        self.purpose.setPlaceholderText("What changes in the story because of this scene?")
        self.purpose.typed.connect(self._on_purpose)
        self._add("Purpose", self.purpose)
        self.synopsis = TextField("Synopsis", least_lines=3, most_lines=12, parent=self)
        self.synopsis.setPlaceholderText("What happens?")
        self.synopsis.typed.connect(self._on_synopsis)
        self._add("Synopsis", self.synopsis)
        for field in (self.slugline, self.purpose, self.synopsis):
            field.left.connect(self.bench.session.end_gesture)

    def _make_tension(self) -> None:
        self.tension = TensionControl(self.bench.theme, self)
        self.tension.chosen.connect(self._on_tension)
        self.tension.left.connect(self.bench.session.end_gesture)
        self._add("Tension", self.tension)

    def _make_picture(self) -> None:
        self.picture = ReferencePicture(self.bench, self)
        self.picture.picked.connect(self._on_picked)
        self.picture.removed.connect(self._on_removed)
        self._add("Picture", self.picture)

    def _make_length(self) -> None:
        self._length_label = self._label("Length")
        self.planned = LineField("Planned length", self)
        self.planned.setFixedWidth(_NUMBER_PX)
        self.planned.setPlaceholderText("m:ss:ff")
        self.planned.setToolTip(f"How long it is meant to be while it has no clips. {_HOW}")
        self.planned.entered.connect(self._on_planned)
        self.planned.typed.connect(self._on_retyped)
        self._length = label("", self)
        self._length.setMinimumHeight(_LINE_PX)
        row = QHBoxLayout()
        row.setSpacing(8)
        row.addWidget(self.planned, 0, Qt.AlignmentFlag.AlignTop)
        row.addWidget(self._length)
        row.addWidget(self._fault_of(self.planned), 1)
        row.addStretch(0)
        self._add_row(self._length_label, row)

    def _make_folder(self) -> None:
        self._folder_name = label("", self, wraps=True)
        self._folder_name.setMinimumHeight(_LINE_PX)
        self._open_folder = QPushButton("Open folder", self)
        self._open_folder.setAccessibleName("Open the folder of the scene")
        self._open_folder.clicked.connect(self._on_open_folder)
        row = QHBoxLayout()
        row.setSpacing(8)
        row.addWidget(self._folder_name, 1)
        row.addWidget(self._open_folder)
        self._add_row(self._label("Folder"), row)

    def _make_read_only(self) -> None:
        why = self.bench.session.read_only
        if not why:
            return
        for field in (self.number, self.slugline, self.purpose, self.synopsis, self.planned):
            field.setReadOnly(True)
            field.setToolTip(why)
        self.tension.setEnabled(False)
        self.tension.setToolTip(why)
        self.picture.set_editable(False, why)

    def _label(self, text: str) -> QLabel:
        made = label(text, self, kind="dim")
        made.setContentsMargins(0, 5, 0, 0)
        return made

    def _fault_of(self, field: QWidget) -> QLabel:
        fault = label("", self, kind="fault", wraps=True)
        fault.hide()
        self._faults[field] = fault
        return fault

    def _add(self, name: str, field: QWidget, *, beside: bool = False) -> None:
        """Add a field with its name before it, and a place for why it is refused beside or under it."""
        named = self._label(name)
        named.setBuddy(field)
        row = QHBoxLayout() if beside else QVBoxLayout()
        row.setSpacing(8 if beside else 4)
        row.addWidget(field)
        row.addWidget(self._fault_of(field), 1 if beside else 0)
        if beside:
            row.addStretch(0)
        self._add_row(named, row)

    def _add_row(self, named: QLabel, row: QHBoxLayout | QVBoxLayout) -> None:
        at = self._grid.rowCount()
        self._grid.addWidget(named, at, 0, Qt.AlignmentFlag.AlignTop)
        self._grid.addLayout(row, at, 1)

    def _show_length(self, scene: Scene, *, anew: bool) -> None:
        rate = self.bench.session.film.rate
        clips = scene.content.clips
        self.planned.setVisible(not clips)
        self._length.setVisible(bool(clips))
        self._length_label.setText("Length" if clips else "Planned")
        if clips:
            length = format_length(content_frames(scene.content), rate)
            self._length.setText(f"{length}, {counted(len(clips), 'clip')}")
        planned = format_length(scene.planned_frames, rate) if scene.planned_frames else ""
        self.planned.show_value(planned, anew=anew)

    def _edit(self, field: QWidget, make: MakeEdit, *, merge: str = "") -> bool:
        """Make an edit; a refusal is said at the field, which keeps its text."""
        fault = self._faults[field]
        try:
            edit = make(self.bench.session.film)
        except EditError as error:
            say(fault, str(error))
            return False
        fault.hide()
        self.bench.session.apply(edit, merge=merge)
        return True

    def _type(self, field: QWidget, name: str, fields: StoryFields) -> None:
        """Apply what is typed, as one step until the field is left."""
        make = functools.partial(_story, self._scene_id, fields)
        self._edit(field, make, merge=f"{name} {self._scene_id}")

    def _finish_other(self) -> None:
        """Apply what was typed for the scene that is left without leaving its field."""
        if self._scene_id not in {scene.id for scene in self.bench.session.film.scenes}:
            return
        if self.bench.session.read_only:
            return
        if self.number.is_pending:
            self.bench.session.do(functools.partial(_renumber, self._scene_id, self.number.text()))
        if self.planned.is_pending:
            try:
                frames = _planned_frames(self.planned.text(), self.bench.session.film.rate)
            except ValueError:
                pass  # No scene is left for want of a length: what was typed for it is given up.
            else:
                make = functools.partial(_story, self._scene_id, StoryFields(planned_frames=frames))
                self.bench.session.do(make)
        self.bench.session.end_gesture()

    def _on_retyped(self) -> None:
        field = self.sender()
        if isinstance(field, QWidget):
            self._faults[field].hide()

    def _on_number(self, text: str) -> None:
        if self._edit(self.number, functools.partial(_renumber, self._scene_id, text)):
            self.number.show_value(self._scene().number, anew=True)

    def _on_slugline(self, text: str) -> None:
        self._type(self.slugline, "slugline", StoryFields(slugline=text))

    def _on_purpose(self, text: str) -> None:
        self._type(self.purpose, "purpose", StoryFields(purpose=text))

    def _on_synopsis(self, text: str) -> None:
        self._type(self.synopsis, "synopsis", StoryFields(synopsis=text))

    def _on_tension(self, tension: int | None) -> None:
        self._type(self.tension, "tension", StoryFields(tension=tension))

    def _on_picked(self, scene_id: str, path: str) -> None:
        self._edit(self.picture, functools.partial(_story, scene_id, StoryFields(reference_picture=path)))

    def _on_removed(self) -> None:
        self._edit(self.picture, functools.partial(_story, self._scene_id, StoryFields(reference_picture="")))

    def _on_planned(self, text: str) -> None:
        try:
            frames = _planned_frames(text, self.bench.session.film.rate)
        except ValueError as error:
            say(self._faults[self.planned], str(error))
            return
        make = functools.partial(_story, self._scene_id, StoryFields(planned_frames=frames))
        if self._edit(self.planned, make):
            self._show_length(self._scene(), anew=True)

    def _on_open_folder(self) -> None:
        folder = self.bench.session.folder / Path(self._scene().folder)
        if folder.is_dir():
            QDesktopServices.openUrl(QUrl.fromLocalFile(str(folder)))
        else:
            name = quoted(self._scene().folder)
            self.bench.messages.notice(f"The folder {name} is missing. Is its disk there?", urgent=True)

    def _scene(self) -> Scene:
        return self.bench.session.film.scene(self._scene_id)


def _planned_frames(text: str, rate: Rate) -> int:
    """Return the length that was typed, 0 for none; raises as `parse_length`."""
    return parse_length(text, rate) if text.strip() else 0


def _renumber(scene_id: str, number: str, film: Film) -> Edit:
    return edits.renumber(film, scene_id, number)


def _story(scene_id: str, fields: StoryFields, film: Film) -> Edit:
    return edits.edit_story(film, scene_id, **fields)
