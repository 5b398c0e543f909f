"""The part of the clip sheet that holds a clip's camera look and the words about it."""

import functools
from typing import Unpack

from PySide6.QtWidgets import QWidget

from desk.film import edits
from desk.film.edits import ClipFields, Edit
from desk.film.model import CameraLook, Film
from desk.ui.bench import Bench
from desk.ui.cutting.clip_sheet.fields import SEVERAL, SharedPicks
from desk.ui.cutting.clip_sheet.part import SheetPart, Shown, common
from desk.ui.labels import label
from desk.ui.text_field import TextField

_HINT = "What should be remembered about it?"
_NO_LOOKS = "The film has no camera looks yet."


class WordsPart(SheetPart):
    """Camera look and note."""

    def __init__(self, bench: Bench, parent: QWidget) -> None:
        super().__init__(bench, parent, "Look and note")
        self._looks: tuple[CameraLook, ...] | None = None
        self.camera = SharedPicks("Camera look", (), self)
        self.camera.setMinimumContentsLength(8)
        self.camera.picked.connect(self._on_camera)
        self.none = label(_NO_LOOKS, self, kind="small", wraps=True)
        self.note = TextField("Note about the clip", self._take_note, self, hint=_HINT, most_lines=6)
        self.add("look", self.camera)
        self.add_wide(self.none)
        self.add_wide(self.note)
        self.add_wide(self.note.fault)

    def ids_of(self, shown: Shown) -> tuple[str, ...]:
        return tuple(clip.id for clip in shown.clips)

    def fill(self, shown: Shown, anew: bool) -> None:
        looks = shown.film.camera_looks
        if looks != self._looks:
            self._looks = looks
            self.camera.offer((("none", ""), *((look.name, look.id) for look in looks)))
        self.camera.show_value(common(shown.clips, lambda clip: clip.camera))
        self.show_row(self.camera, bool(looks))
        self.none.setVisible(not looks)
        text = common(shown.clips, lambda clip: clip.note)
        self.note.edit.setPlaceholderText(_HINT if text is not None else SEVERAL)
        self.note.show_text(text or "", anew=anew)

    def set_read_only(self, reason: str) -> None:
        super().set_read_only(reason)
        self.camera.set_read_only(reason)

    def _change(self, what: str, **fields: Unpack[ClipFields]) -> str:
        return self.change(what, functools.partial(_changed, self.scene_id, self.ids, fields))

    def _on_camera(self, look: str) -> None:
        self.note.tell(self._change("", camera=look))

    def _take_note(self, text: str) -> str:
        return self._change("note", note=text)


def _changed(scene_id: str, clip_ids: tuple[str, ...], fields: ClipFields, film: Film) -> Edit:
    return edits.edit_clips(film, scene_id, clip_ids, **fields)
