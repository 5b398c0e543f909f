"""The part of the clip sheet about a clip's own sound: where it comes from, and its edges."""

import functools
from fractions import Fraction
from pathlib import Path
from typing import Unpack

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QFileDialog, QPushButton, QWidget

from desk.errors import MediaError
from desk.film import edits
from desk.film.edits import ClipSoundFields, Edit
from desk.film.media import MediaFacts
from desk.film.model import Clip, Film, SoundKind
from desk.film.problem import Facts
from desk.film.wording import counted
from desk.ui.bench import Bench
from desk.ui.cutting.clip_sheet import sheet_edits
from desk.ui.cutting.clip_sheet.fields import FewFramesField, SecondsField, SharedPicks, show_common
from desk.ui.cutting.clip_sheet.footage import SourceLine
from desk.ui.cutting.clip_sheet.part import SheetPart, Shown, common
from desk.ui.cutting.clip_sheet.sound_files import SOUNDS, film_path
from desk.ui.labels import note, say

_KINDS = (
    ("its own", SoundKind.OWN),
    ("silence", SoundKind.SILENCE),
    ("separate recording", SoundKind.SEPARATE),
)
_OFFSET = (
    "The place in the recording that belongs to the first picture of the footage, in seconds; +1 f for a "
    "film frame more."
)


class SoundPart(SheetPart):
    """Where the sound comes from, the recording and its offset, lead and lag.

    Signals:
        finding_asked: The person wants the offsets of recordings found; a tuple of ids of clips.
    """

    finding_asked = Signal(object)

    def __init__(self, bench: Bench, parent: QWidget) -> None:
        super().__init__(bench, parent, "Sound")
        self.dialog: QFileDialog | None = None
        self._reason = ""
        self.kind = SharedPicks("Where the sound comes from", _KINDS, self)
        self.kind.setMinimumContentsLength(8)
        self.kind.picked.connect(self._on_kind)
        self.recording = SourceLine(bench, self)
        self.lacking = note("open", self)
        self.fault = note("fault", self)
        self.offset = SecondsField("Offset of the recording", self._take_offset, self)
        self.offset.edit.setToolTip(_OFFSET)
        self.choose = QPushButton("Choose…", self)
        self.choose.setAccessibleName("Choose a separate recording")
        self.choose.clicked.connect(self.open_dialog)
        self.find_offset = QPushButton("Find offset…", self)
        self.find_offset.clicked.connect(self._on_find)
        self.lead = FewFramesField("Lead, in frames", self._take_lead, self)
        self.lead.edit.setToolTip("By how many frames the sound starts before the picture.")
        self.lag = FewFramesField("Lag, in frames", self._take_lag, self)
        self.lag.edit.setToolTip("By how many frames the sound runs on after the picture.")
        self.add("sound", self.kind)
        self.add("file", self.recording)
        self.add_wide(self.lacking)
        self.add_wide(self.fault)
        self.add("offset", self.offset)
        self.add_line(self.choose, self.find_offset)
        self.add_pair("edges", ("lead", self.lead), ("lag", self.lag))

    def ids_of(self, shown: Shown) -> tuple[str, ...]:
        return tuple(clip.id for clip in shown.clips)

    def fill(self, shown: Shown, anew: bool) -> None:
        clips = shown.clips
        if anew:
            say(self.fault, "")
        kind = common(clips, lambda clip: clip.sound.kind)
        self.kind.show_value(kind)
        separate = [clip for clip in clips if clip.sound.kind is SoundKind.SEPARATE]
        self.show_row(self.recording, bool(separate))
        file = common(separate, lambda clip: clip.sound.file)
        if file is not None:
            is_there = self.bench.media.is_present(file)
            self.recording.show_file(
                file, kind="" if is_there else "fault", more="" if is_there else "missing"
            )
        elif separate:
            self.recording.show_words(f"{len({clip.sound.file for clip in separate})} files")
        alone = separate[0] if len(clips) == 1 and separate else None
        self.show_row(self.offset, alone is not None)
        if alone is not None:
            self.offset.show_seconds(alone.sound.offset_seconds, shown.film.rate, anew=anew)
        self.choose.setVisible(alone is not None)
        self.find_offset.setVisible(bool(separate))
        self.find_offset.setText("Find offset…" if len(separate) == 1 else f"Find {len(separate)} offsets…")
        self.find_offset.setEnabled(not self._reason)
        without = sum(_has_no_sound(clip, shown.facts) for clip in clips)
        told = (
            "Its footage has no sound."
            if len(clips) == 1
            else f"{counted(without, 'clip')} without sound in the footage."
        )
        say(self.lacking, told if without else "")
        is_silent = all(clip.sound.kind is SoundKind.SILENCE for clip in clips)
        self.show_pair(self.lead, self.lag, not is_silent)
        for field, value in (
            (self.lead, common(clips, lambda clip: clip.sound.lead_frames)),
            (self.lag, common(clips, lambda clip: clip.sound.lag_frames)),
        ):
            show_common(field, None if value is None else str(value), anew=anew)

    def set_read_only(self, reason: str) -> None:
        super().set_read_only(reason)
        self._reason = reason
        self.kind.set_read_only(reason)
        self.choose.setEnabled(not reason)
        about = "Compare it with the sound of the footage, to find where it belongs."
        self.choose.setToolTip(reason)
        self.find_offset.setToolTip(reason or about)

    def open_dialog(self) -> None:
        """Ask for a separate recording."""
        dialog = QFileDialog(self, "Choose a separate recording", str(self._folder()), SOUNDS)
        dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
        dialog.fileSelected.connect(self.take_recording)
        dialog.finished.connect(dialog.deleteLater)
        self.dialog = dialog
        dialog.open()

    def take_recording(self, name: str) -> None:
        """Lay a recording under the clips that are selected; one that they have already keeps its offset.

        Args:
            name: Its path on this machine.
        """
        try:
            file = film_path(name, self.bench)
        except MediaError as error:
            say(self.fault, str(error))
            return
        say(self.fault, self._sound("", kind=SoundKind.SEPARATE, file=file))

    def _folder(self) -> Path:
        scene = self.bench.cut.scene
        folder = self.bench.session.folder / scene.folder if scene and scene.folder else None
        return folder if folder is not None and folder.is_dir() else self.bench.session.folder

    def _sound(self, what: str, **fields: Unpack[ClipSoundFields]) -> str:
        return self.change(what, functools.partial(_sounded, self.scene_id, self.ids, fields))

    def _on_kind(self, kind: SoundKind) -> None:
        clips = sheet_edits.clips_of(self.bench.session.film, self.scene_id, self.ids)
        if kind is SoundKind.SEPARATE and not all(clip.sound.file for clip in clips):
            # The list says what holds until a recording is chosen.
            self.kind.show_value(common(clips, lambda clip: clip.sound.kind))
            self.open_dialog()
            return
        say(self.fault, self._sound("", kind=kind))

    def _take_offset(self, seconds: Fraction) -> str:
        return self._sound("offset", offset_seconds=seconds)

    def _take_lead(self, frames: int) -> str:
        return self._edge("lead", frames)

    def _take_lag(self, frames: int) -> str:
        return self._edge("lag", frames)

    def _edge(self, what: str, frames: int) -> str:
        make = functools.partial(
            sheet_edits.set_sound_edge,
            scene_id=self.scene_id,
            clip_ids=self.ids,
            edge=what,
            frames=frames,
            facts=self.bench.media.facts,
        )
        return self.change(what, make)

    def _on_find(self) -> None:
        clips = sheet_edits.clips_of(self.bench.session.film, self.scene_id, self.ids)
        self.finding_asked.emit(tuple(clip.id for clip in clips if clip.sound.kind is SoundKind.SEPARATE))


def _has_no_sound(clip: Clip, facts: Facts) -> bool:
    """Return whether a clip is to sound of itself, and its file is known to have nothing to be heard."""
    known = facts.get(clip.source)
    return clip.sound.kind is SoundKind.OWN and isinstance(known, MediaFacts) and known.sound is None


def _sounded(scene_id: str, clip_ids: tuple[str, ...], fields: ClipSoundFields, film: Film) -> Edit:
    return edits.edit_clip_sound(film, scene_id, clip_ids, **fields)
