"""Story: what the scene is called, and why it is in the film."""

import functools
from pathlib import Path
from typing import Unpack

from PySide6.QtCore import Qt, QUrl
from PySide6.QtGui import QDesktopServices
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from desk.film import edits
from desk.film.edits import Edit, StoryFields
from desk.film.locking import Part
from desk.film.model import Film, Scene
from desk.film.timecode import format_length
from desk.film.timing import content_frames
from desk.film.wording import counted, quoted
from desk.ui.bench import Bench
from desk.ui.fields import LengthField, LineField, TypedField, attempt
from desk.ui.labels import label, note, say
from desk.ui.look.type import typewriter
from desk.ui.scene.part import PartBody
from desk.ui.scene.reference import ReferencePicture
from desk.ui.scene.tension import TensionControl, tension_words
from desk.ui.session import MakeEdit
from desk.ui.text_field import TextField

_NUMBER_DIGITS = 8
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
            say(self._picture_fault, "")
        self.number.show_text(scene.number, anew=anew)
        self.slugline.show_text(scene.slugline, anew=anew)
        self.purpose.show_text(scene.purpose, anew=anew)
        self.synopsis.show_text(scene.synopsis, anew=anew)
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
        self.number = LineField("Scene number", self._take_number, self, live=False)
        self.number.edit.setFont(typewriter())
        self.number.keep_narrow(_NUMBER_DIGITS)
        self.slugline = LineField("Slugline", self._take_slugline, self, hint="INT. BOATHOUSE - NIGHT")
        self.slugline.edit.setFont(typewriter())
        hint = "What changes in the story because of this scene?"
        self.purpose = TextField("Purpose", self._take_purpose, self, hint=hint, most_lines=6)
        self.synopsis = TextField(
            "Synopsis", self._take_synopsis, self, hint="What happens?", least_lines=3, most_lines=12
        )
        for name, field in (
            ("Number", self.number),
            ("Slugline", self.slugline),
            ("Purpose", self.purpose),
            ("Synopsis", self.synopsis),
        ):
            field.left.connect(self.bench.session.end_gesture)
            self._add(name, field, buddy=field.edit)

    def _make_tension(self) -> None:
        self.tension = TensionControl(self.bench.theme, self)
        self.tension.chosen.connect(self._on_tension)
        self.tension.left.connect(self.bench.session.end_gesture)
        self._add("Tension", self.tension)

    def _make_picture(self) -> None:
        self.picture = ReferencePicture(self.bench, self)
        self.picture.picked.connect(self._on_picked)
        self.picture.removed.connect(self._on_removed)
        self._picture_fault = note("fault", self)
        column = QVBoxLayout()
        column.setSpacing(4)
        column.addWidget(self.picture)
        column.addWidget(self._picture_fault)
        self._add_row(self._label("Picture"), column)

    def _make_length(self) -> None:
        self._length_label = self._label("Length")
        self.planned = LengthField("Planned length", self._take_planned, self, may_be_none=True)
        self.planned.edit.setToolTip(f"How long it is meant to be while it has no clips. {_HOW}")
        self.planned.left.connect(self.bench.session.end_gesture)
        self._length = label("", self)
        self._length.setMinimumHeight(_LINE_PX)
        row = QHBoxLayout()
        row.setSpacing(8)
        row.addWidget(self.planned, 1)
        row.addWidget(self._length, 1)
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
            field.set_read_only(why)
        self.tension.setEnabled(False)
        self.tension.setToolTip(why)
        self.picture.set_editable(False, why)

    def _label(self, text: str) -> QLabel:
        made = label(text, self, kind="dim")
        made.setContentsMargins(0, 5, 0, 0)
        return made

    def _add(self, name: str, field: QWidget, *, buddy: QWidget | None = None) -> None:
        """Add a field with its name before it."""
        named = self._label(name)
        named.setBuddy(buddy or field)
        column = QVBoxLayout()
        column.addWidget(field)
        self._add_row(named, column)

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
        self.planned.show_frames(scene.planned_frames, rate, anew=anew)

    def _change(self, merge: str, **fields: Unpack[StoryFields]) -> str:
        """Change the words of the scene, as one step until what was typed in is left."""
        make = functools.partial(_story, self._scene_id, fields)
        return attempt(self.bench.session, make, merge=f"{merge} {self._scene_id}")

    def _finish_other(self) -> None:
        """Take what was typed for the scene that is left without leaving its field."""
        if self._scene_id not in {scene.id for scene in self.bench.session.film.scenes}:
            return
        fields: tuple[TypedField, ...] = (self.number, self.planned)
        for field in fields:
            if refused := field.finish():
                self.bench.messages.notice(refused, urgent=True)
        self.bench.session.end_gesture()

    def _take_number(self, text: str) -> str:
        return attempt(self.bench.session, functools.partial(_renumber, self._scene_id, text))

    def _take_slugline(self, text: str) -> str:
        return self._change("slugline", slugline=text)

    def _take_purpose(self, text: str) -> str:
        return self._change("purpose", purpose=text)

    def _take_synopsis(self, text: str) -> str:
        return self._change("synopsis", synopsis=text)

    def _take_planned(self, frames: int) -> str:
        return self._change("planned", planned_frames=frames)

    def _on_tension(self, tension: int | None) -> None:
        self._change("tension", tension=tension)

    def _on_picked(self, scene_id: str, path: str) -> None:
        self._take_picture(functools.partial(_story, scene_id, StoryFields(reference_picture=path)))

    def _on_removed(self) -> None:
        self._take_picture(functools.partial(_story, self._scene_id, StoryFields(reference_picture="")))

    def _take_picture(self, make: MakeEdit) -> None:
        say(self._picture_fault, attempt(self.bench.session, make))

    def _on_open_folder(self) -> None:
        folder = self.bench.session.folder / Path(self._scene().folder)
        if folder.is_dir():
            QDesktopServices.openUrl(QUrl.fromLocalFile(str(folder)))
        else:
            name = quoted(self._scene().folder)
            self.bench.messages.notice(f"The folder {name} is missing. Is its disk there?", urgent=True)

    def _scene(self) -> Scene:
        return self.bench.session.film.scene(self._scene_id)


def _renumber(scene_id: str, number: str, film: Film) -> Edit:
    return edits.renumber(film, scene_id, number)


def _story(scene_id: str, fields: StoryFields, film: Film) -> Edit:
    return edits.edit_story(film, scene_id, **fields)
