"""The part of the clip sheet about a clip's footage: which, from where to where, and how fast."""

import functools
from fractions import Fraction
from pathlib import Path

from PySide6.QtCore import Qt, QUrl
from PySide6.QtGui import QDesktopServices
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QToolButton, QWidget

from desk.film import edits
from desk.film.edits import Edit, every_frame_speed
from desk.film.model import Clip, Film
from desk.film.timecode import format_length
from desk.film.wording import counted, quoted
from desk.ui.bench import Bench
from desk.ui.cutting.clip_sheet import sheet_edits
from desk.ui.cutting.clip_sheet.fields import FramesField, PlaceField, SpeedField, show_common
from desk.ui.cutting.clip_sheet.part import SheetPart, Shown, common
from desk.ui.cutting.clip_sheet.source_places import SourceScale, Way
from desk.ui.elided import ElidedLabel
from desk.ui.labels import label, set_kind
from desk.ui.look.icons import icon
from desk.ui.scene.clip_facts import clip_facts, file_name, file_trouble
from desk.ui.sheet.picks import Picks

_IN = "The first frame that it shows: a label of its footage, seconds such as 2.5 s, or +12 for 12 frames on."
_OUT = "The frame after the last one that it shows. Written as the in point is."
_NOT_EVEN = "The frames of its footage are not evenly spaced, or not read yet."


class SourceLine(QWidget):
    """The name of a file, and a way to the folder that it lies in."""

    def __init__(self, bench: Bench, parent: QWidget) -> None:
        super().__init__(parent)
        self._bench = bench
        self._path = ""
        self.name = ElidedLabel(parent=self, mode=Qt.TextElideMode.ElideMiddle)
        self.reveal = QToolButton(self)
        self.reveal.setProperty("kind", "plain")
        self.reveal.setIcon(icon("folder", bench.theme))
        self.reveal.setAccessibleName("Open the folder of the file")
        self.reveal.setToolTip("Open the folder that it lies in.")
        self.reveal.clicked.connect(self._on_reveal)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(4)
        row.addWidget(self.name, 1)
        row.addWidget(self.reveal)

    def show_file(self, path: str, *, kind: str = "", more: str = "") -> None:
        """Show a file of the film, or with "" that there is none."""
        self._path = path
        told = f"{path}\n{more}" if more else path
        self.name.say(file_name(path) if path else "none", kind=kind, more=told)
        self.reveal.setVisible(bool(path))

    def show_words(self, words: str) -> None:
        """Show words about several files."""
        self._path = ""
        self.name.say(words, kind="dim")
        self.reveal.hide()

    def _on_reveal(self) -> None:
        folder = (self._bench.session.folder / Path(self._path)).parent
        if folder.is_dir():
            QDesktopServices.openUrl(QUrl.fromLocalFile(str(folder)))
        else:
            told = f"The folder of {quoted(file_name(self._path))} is missing. Is its disk there?"
            self._bench.messages.notice(told, urgent=True)


class FootagePart(SheetPart):
    """Source, in and out, length, handles and speed."""

    def __init__(self, bench: Bench, parent: QWidget) -> None:
        super().__init__(bench, parent, "Footage")
        self._reason = ""
        self._length_frames = 0
        self.source = SourceLine(bench, self)
        self.black = FramesField("Black before it", self._take_black, self)
        self.black.edit.setToolTip("Black before the clip; 0 closes the gap, and what follows moves up.")
        self.about = label("", self, kind="small", wraps=True)
        self.trouble = label("", self, kind="fault", wraps=True)
        self.in_point = PlaceField("In point", self._move_in, self)
        self.in_point.edit.setToolTip(_IN)
        self.out_point = PlaceField("Out point", self._move_out, self)
        self.out_point.edit.setToolTip(_OUT)
        self.length = FramesField("Length", self._take_length, self)
        self.length_of_all = label("", self)
        self.handles = label("", self, wraps=True)
        self.speed = SpeedField(self._take_speed, self)
        self.percent = label("", self, kind="dim")
        self.speed.add_beside(self.percent)
        self.pace = label("", self, kind="small", wraps=True)
        self.every_frame = QPushButton(self)
        self.every_frame.clicked.connect(self._on_every_frame)
        kept = (("its footage", True), ("its length", False))
        self.keeps = Picks("What a new speed keeps", kept, self)
        self.keeps.setMinimumContentsLength(8)
        self.keeps.setToolTip(
            "With the same footage, another speed makes it longer or shorter. With the same length, it shows "
            "more or less of its footage."
        )
        self.keeps.show_value(True)
        self._keeps_footage = True
        self.keeps.picked.connect(self._on_keeps)
        self.add("source", self.source)
        self.add_inside(self.about)
        self.add_wide(self.trouble)
        self.add("black", self.black)
        self.add("in", self.in_point)
        self.add("out", self.out_point)
        self.add("length", self.length)
        self.add("in all", self.length_of_all)
        self.add("handles", self.handles)
        self.add("speed", self.speed)
        self.add_inside(self.pace)
        self.add("keeps", self.keeps)
        self.add_inside(self.every_frame)

    def ids_of(self, shown: Shown) -> tuple[str, ...]:
        return tuple(clip.id for clip in shown.clips)

    def fill(self, shown: Shown, anew: bool) -> None:
        clips = shown.clips
        alone = clips[0] if len(clips) == 1 else None
        for field in (self.in_point, self.out_point, self.length, self.handles):
            self.show_row(field, alone is not None)
        self.show_row(self.length_of_all, alone is None)
        self.show_row(self.black, alone is not None and bool(alone.gap_frames))
        speed = common(clips, lambda clip: clip.speed)
        show_common(self.speed, None if speed is None else str(speed), anew=anew)
        self.percent.setText("" if speed is None else f"{float(speed) * 100:.4g} %")
        self._show_every_frame(shown)
        if alone is not None:
            self._fill_one(shown, alone, anew)
            return
        sources = {clip.source for clip in clips}
        if len(sources) == 1:
            self.source.show_file(sources.pop())
        else:
            self.source.show_words(f"{len(sources)} files")
        for words in (self.about, self.trouble, self.pace):
            words.hide()
        frames = sum(clip.length_frames for clip in clips)
        self.length_of_all.setText(f"{format_length(frames, shown.film.rate)}, {counted(frames, 'frame')}")

    def set_read_only(self, reason: str) -> None:
        super().set_read_only(reason)
        self.keeps.set_read_only(reason)
        self._reason = reason
        if reason:
            self.every_frame.setEnabled(False)
            self.every_frame.setToolTip(reason)

    def _fill_one(self, shown: Shown, clip: Clip, anew: bool) -> None:
        rate = shown.film.rate
        facts = {fact.name: fact for fact in clip_facts(shown.film, shown.scene, clip, shown.facts)}
        trouble = file_trouble(shown.scene, clip.source, shown.facts)
        source, footage, camera = (facts.get(name) for name in ("source", "footage", "camera"))
        more = footage.more if footage else ""
        self.source.show_file(clip.source, kind=source.kind if source else "", more=more)
        about = ", ".join(fact.text for fact in (footage, camera) if fact)
        self.about.setText(about)
        self.about.setVisible(bool(about))
        self.trouble.setText(f"{trouble.sentence} {trouble.advice}" if trouble else "")
        self.trouble.setVisible(trouble is not None)
        scale = SourceScale.of(shown.facts.get(clip.source))
        end_seconds = clip.in_seconds + rate.seconds(clip.length_frames) * clip.speed
        self.in_point.show_place(clip, clip.in_seconds, scale, rate, anew=anew)
        self.out_point.show_place(clip, end_seconds, scale, rate, anew=anew)
        self._length_frames = clip.length_frames
        self.black.show_frames(clip.gap_frames, rate, anew=anew)
        self.length.show_frames(clip.length_frames, rate, anew=anew)
        self.length.edit.setToolTip(counted(clip.length_frames, "frame"))
        handles = facts["handles"]
        self.handles.setText(handles.text)
        self.handles.setToolTip(handles.more)
        set_kind(self.handles, handles.kind)
        _, _, pace = facts["speed"].text.partition(", ")
        self.pace.setText(pace)
        self.pace.setToolTip(facts["speed"].more)
        self.pace.setVisible(bool(pace))

    def _show_every_frame(self, shown: Shown) -> None:
        rates = {sheet_edits.even_rate(shown.facts, clip) for clip in shown.clips}
        known = [rate for rate in rates if rate is not None]
        speeds = {every_frame_speed(rate, shown.film.rate) for rate in known}
        is_even = len(known) == len(rates)
        one = speeds.pop() if len(speeds) == 1 else None
        self.every_frame.setText("Every frame" if one is None else f"Every frame: {one}")
        is_so = one is not None and all(clip.speed == one for clip in shown.clips)
        self.every_frame.setEnabled(is_even and not is_so and not self._reason)
        told = "Each frame of the film shows the next frame of the footage: none is left out, none repeats."
        if is_so:
            told = "Every frame is shown already: none is left out, none repeats."
        self.every_frame.setToolTip(self._reason or (told if is_even else _NOT_EVEN))

    def _move_in(self, way: Way) -> str:
        make = functools.partial(
            sheet_edits.set_in,
            scene_id=self.scene_id,
            clip_id=self.ids[0],
            frames=way.frames,
            exact_seconds=way.exact_seconds,
            facts=self.bench.media.facts,
        )
        return self.change("in", make)

    def _move_out(self, way: Way) -> str:
        return self._set_length("out", self._length_frames + way.frames)

    def _take_length(self, frames: int) -> str:
        return self._set_length("length", frames)

    def _set_length(self, what: str, frames: int) -> str:
        make = functools.partial(
            sheet_edits.set_length,
            scene_id=self.scene_id,
            clip_id=self.ids[0],
            frames=frames,
            facts=self.bench.media.facts,
        )
        return self.change(what, make)

    def _take_black(self, frames: int) -> str:
        return self.change("black", functools.partial(_gapped, self.scene_id, self.ids[0], frames))

    def _take_speed(self, speed: Fraction) -> str:
        return self.change("speed", self._paced(speed))

    def _paced(self, speed: Fraction | None) -> functools.partial[Edit]:
        return functools.partial(
            sheet_edits.set_speeds,
            scene_id=self.scene_id,
            clip_ids=self.ids,
            speed=speed,
            keep_footage=self._keeps_footage,
            facts=self.bench.media.facts,
        )

    def _on_every_frame(self) -> None:
        self.speed.tell(self.change("", self._paced(None)))

    def _on_keeps(self, keeps_footage: bool) -> None:
        self._keeps_footage = keeps_footage
        self.keeps.show_value(keeps_footage)


def _gapped(scene_id: str, clip_id: str, frames: int, film: Film) -> Edit:
    return edits.set_gap(film, scene_id, clip_id, frames)
