"""The Picture part of a scene's sheet: the viewer, the lanes, the clip sheet, and the scene's footage."""

from collections.abc import Iterator
from typing import ClassVar

from PySide6.QtCore import QPoint, Qt, QTimer
from PySide6.QtGui import QResizeEvent, QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from desk.film.locking import Part
from desk.film.media import MediaFacts
from desk.film.model import Clip, Scene
from desk.film.paths import content_paths
from desk.film.timecode import format_length
from desk.film.timing import clip_starts, content_frames
from desk.film.wording import counted, quoted
from desk.ui.bench import Bench
from desk.ui.cutting.clip_sheet.clip_sheet import ClipSheet
from desk.ui.cutting.footage.footage import FootageList
from desk.ui.cutting.framing.overlay import FramingOverlay
from desk.ui.cutting.keys.menu import cut_menu
from desk.ui.cutting.lanes.lanes import Lanes
from desk.ui.cutting.proxy_line import ProxyLine
from desk.ui.loudness.line import LoudnessLine
from desk.ui.scene.clip_facts import FileTrouble, file_trouble
from desk.ui.scene.empty_scene import EmptyScene
from desk.ui.scene.media_troubles import MediaTroubles
from desk.ui.scene.part import PartBody
from desk.ui.scene.picture_page import PicturePage
from desk.ui.scene.worth_a_look import LooksLabel, clip_looks
from desk.ui.viewer.subject import Kind
from desk.ui.viewer.viewer import Viewer

_SHEET_SHARE = 0.36
_LEAST_SHEET_PX, _MOST_SHEET_PX = 248, 360
_GAP_PX = 16
_SPACING_PX = 8
_MOST_PICTURE = 0.5
"""A picture takes at most this part of the window's height."""

_LEAST_PICTURE_PX = 150
_BELOW_PX = 240
"""Height of the clip sheet where it stands below the lanes."""

_UNBOUND_PX = 16_777_215
"""No limit to a widget's size, as Qt has it."""

_REFRESH_MS = 60
"""How long the playhead has to stand before it is said what deserves a look in the clip under it."""


class PictureBody(PartBody):
    """Shows and cuts the picture of a scene.

    Attributes:
        viewer: The picture, and what it is played with.
        clip_sheet: What is selected, as fields.
        framing: Lies over the picture while a clip is framed.
        lanes: The lanes to scale.
        loudness: How loud the scene is, on the time line of the lanes.
        footage: The scene's files.
        proxies: How far the proxies are.
        troubles: Files that are not as they should be.
        empty: What stands there while the scene has no clips.
        looks: What deserves a look in the clip.
    """

    part: ClassVar[Part] = Part.PICTURE
    title: ClassVar[str] = "Picture"

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(bench, parent)
        self._remarks: dict[str, tuple[str, ...]] = {}
        self.viewer = Viewer(bench, self)
        self.clip_sheet = ClipSheet(bench, self)
        self.framing = FramingOverlay(bench, self.viewer.picture, self.viewer.picture)
        self.lanes = Lanes(bench, self)
        self.loudness = LoudnessLine(bench, self.lanes, self)
        self.footage = FootageList(bench, self, outline=self.lanes.waveforms.waveform)
        self.proxies = ProxyLine(bench.proxies, self)
        self.troubles = MediaTroubles(bench)
        self.empty = EmptyScene(bench)
        self.looks = LooksLabel()
        self.remarks = LooksLabel()
        self._looking = QTimer(self, singleShot=True, interval=_REFRESH_MS)
        self._looking.timeout.connect(self._show_looks)
        # Heights are known only when what is new was laid out.
        self._fitting = QTimer(self, singleShot=True, interval=0)
        self._fitting.timeout.connect(self._fit)
        self._page = PicturePage(self, self.viewer.picture, self.lanes)
        self._arrange()
        self._follow()

    def show_scene(self, scene: Scene) -> None:
        cut, content = self.bench.cut, scene.content
        is_other = cut.scene_id != scene.id
        cut.open(scene.id)
        if is_other:
            self.bench.proxies.hurry(content_paths(content))
        has_clips = bool(content.clips)
        focus = self._focused()
        self.empty.setVisible(not has_clips)
        self._show_above(scene)
        self.lanes.setVisible(has_clips or bool(content.cues or content.spots))
        self.loudness.setVisible(not self.lanes.isHidden())
        if not has_clips:
            self.empty.show_scene(scene)
        self.footage.state.offers_folder = has_clips
        self.footage.setVisible(has_clips or bool(scene.folder or scene.more_footage))
        self.footage.show_scene(scene)
        self.remarks.say(self._remarks.get(scene.id, ()) if has_clips else ())
        self.troubles.show_troubles(tuple(_troubles(scene, self.bench)))
        self._show_looks()
        if is_other:
            self._page.let_go()
            self._fitting.start()
        self._keep_focus(focus)

    def _show_above(self, scene: Scene) -> None:
        """Show the viewer where there is something to be seen: a scene, or footage of an empty one."""
        has_clips = bool(scene.content.clips)
        self._above.setVisible(has_clips or self.viewer.player.kind is Kind.FOOTAGE)
        self.clip_sheet.setVisible(has_clips)

    def reveal_lanes(self) -> None:
        """Scroll the page until the lanes can be seen, as far down as the picture stays in view.

        They stay in view when the window changes, until the page is scrolled by hand.
        """
        self._page.reveal_lanes()

    def open_lines(self, scene: Scene) -> tuple[str, ...]:
        # A lock that does not hold is about its files: the part is not settled while it lasts.
        return (*super().open_lines(scene), *self.bench.statuses.of(scene).broken)

    def told_inside(self, scene: Scene) -> tuple[str, ...]:
        files = [quoted(trouble.path) for trouble in _troubles(scene, self.bench)]
        return tuple(line for line in self.open_lines(scene) if any(file in line for file in files))

    def summary(self, scene: Scene) -> str:
        clips = scene.content.clips
        if not clips:
            return "no clips yet"
        length = format_length(content_frames(scene.content), self.bench.session.film.rate)
        parts = [f"{counted(len(clips), 'clip')}, {length}"]
        facts = self.bench.media.facts
        if gone := sum(not self.bench.media.is_present(path) for path in content_paths(scene.content)):
            parts.append(f"{counted(gone, 'file')} missing")
        elif changed := sum(1 for _ in _troubles(scene, self.bench)):
            parts.append(f"{counted(changed, 'file')} changed")
        elif not facts:
            parts.append("files not looked at yet")
        return " · ".join(parts)

    def _arrange(self) -> None:
        self._above = QWidget()
        above = QHBoxLayout(self._above)
        above.setContentsMargins(0, 0, 0, 0)
        above.setSpacing(_GAP_PX)
        above.addWidget(self.viewer, 1)
        above.addWidget(self.clip_sheet)
        page = QVBoxLayout(self)
        page.setContentsMargins(0, 0, 0, 0)
        page.setSpacing(8)
        for widget in (
            self.troubles,
            self.empty,
            self._above,
            self.lanes,
            self.loudness,
            # What comes and goes stands below, so that the lanes stay where the pointer is.
            self.looks,
            self.proxies,
            self.footage,
            self.remarks,
        ):
            page.addWidget(widget)
        page.addStretch(1)
        self._rows, self._top = page, above

    def _follow(self) -> None:
        bench, cut = self.bench, self.bench.cut
        self._page.resized.connect(self._fit)
        self.clip_sheet.attach(self.framing)
        self.clip_sheet.framing_asked.connect(self._on_framing_asked)
        self.lanes.menu_wanted.connect(self._on_menu_wanted)
        self.lanes.waveforms.made.connect(self.footage.tell_outline)
        self.viewer.pieces.ready_changed.connect(self._show_ready)
        self.viewer.player.subject_changed.connect(self._show_ready)
        self.viewer.player.subject_changed.connect(self._on_subject_changed)
        self.viewer.marking.add_wanted.connect(self.footage.add_file)
        self.viewer.marking.other_wanted.connect(self._on_other_wanted)
        self.footage.show_wanted.connect(self._on_show_wanted)
        self.empty.taken.connect(self._on_taken)
        cut.moved.connect(self._look_later)
        cut.selected.connect(self._look_later)
        # The threads of the viewer end with all others of the film.
        bench.jobs.ending.connect(self.viewer.shut)

    def _clip(self, scene: Scene) -> Clip | None:
        """Return the clip selected last, or that at the playhead; the black before one belongs to it."""
        clips, main = scene.content.clips, self.bench.cut.main
        chosen = next((clip for clip in clips if clip.id == main), None)
        if chosen is not None:
            return chosen
        starts = clip_starts(scene.content)
        frame = self.bench.cut.frame
        ends = zip(clips, starts, strict=True)
        return next((clip for clip, start in ends if frame < start + clip.length_frames), None)

    def _look_later(self) -> None:
        self._looking.start()

    def _show_looks(self) -> None:
        self._looking.stop()
        scene = self.bench.cut.scene
        clip = self._clip(scene) if scene else None
        if scene is None or clip is None:
            self.looks.say(())
            return
        self.looks.say(clip_looks(self.bench.session.film, scene, clip, self.bench.media.facts))

    def _show_ready(self) -> None:
        is_scene = self.viewer.player.kind is Kind.SCENE
        self.lanes.set_ready(self.viewer.pieces.ready if is_scene else ())

    def _on_menu_wanted(self, place: QPoint) -> None:
        menu = cut_menu(self.bench, self)
        menu.aboutToHide.connect(menu.deleteLater)
        menu.popup(place)

    def _on_framing_asked(self, on: bool) -> None:
        if on:
            self.viewer.player.show_scene()

    def _on_show_wanted(self, path: str) -> None:
        facts = self.bench.media.facts.get(path)
        if isinstance(facts, MediaFacts):
            self.viewer.show_footage(path, facts)

    def _on_other_wanted(self, direction: int) -> None:
        self.footage.show_other(self.viewer.player.subject.name, direction)

    def _on_subject_changed(self) -> None:
        scene = self.bench.cut.scene
        if scene is not None:
            focus = self._focused()
            self._show_above(scene)
            self._keep_focus(focus)

    def _on_taken(self, scene_id: str, remarks: tuple[str, ...]) -> None:
        self._remarks[scene_id] = remarks
        scene = self.bench.cut.scene
        if scene is not None and scene.id == scene_id:
            self.remarks.say(remarks)

    def _focused(self) -> QWidget | None:
        """Return which of the parts that come and go with the clips has the keyboard."""
        focus = self.window().focusWidget()
        parts = (self.empty, self._above, self.lanes, self.clip_sheet)
        return next((part for part in parts if focus is not None and part.isAncestorOf(focus)), None)

    def _keep_focus(self, before: QWidget | None) -> None:
        """Let the keyboard go on where the work does, when what had it is gone."""
        if before is None or not before.isHidden():
            return
        if before is self.empty:
            self.lanes.setFocus(Qt.FocusReason.OtherFocusReason)
        else:
            self.empty.take_focus()

    def _fit(self) -> None:
        """Give the picture the height that its width asks for, and that leaves room for the lanes."""
        width = self._page.width_px
        sheet_px = round(min(max(width * _SHEET_SHARE, _LEAST_SHEET_PX), _MOST_SHEET_PX))
        least_px = self.viewer.minimumSizeHint().width()
        self._put_sheet(beside=width - sheet_px - _GAP_PX >= least_px, sheet_px=sheet_px)
        across = width - (sheet_px + _GAP_PX if self._is_beside else 0)
        size = self.bench.session.film.size
        most_px = min(self.window().height() * _MOST_PICTURE, self._room_px())
        picture_px = min(across * size.height / size.width, max(_LEAST_PICTURE_PX, most_px))
        self.viewer.picture.setFixedHeight(round(max(picture_px, _LEAST_PICTURE_PX)))
        self._page.keep_lanes()

    def _room_px(self) -> float:
        """Return how high the picture may be where the lanes are to be seen with it."""
        seen_px = self._page.height_px
        if seen_px is None:
            return self.window().height()
        controls_px = self.viewer.sizeHint().height() - self.viewer.picture.minimumHeight()
        lanes_px = self.lanes.sizeHint().height()
        return seen_px - controls_px - lanes_px - 2 * _SPACING_PX

    @property
    def _is_beside(self) -> bool:
        return self._top.indexOf(self.clip_sheet) >= 0

    def _put_sheet(self, *, beside: bool, sheet_px: int) -> None:
        """Put the clip sheet beside the viewer, or below the lanes where there is no room for it."""
        sheet = self.clip_sheet
        if beside != self._is_beside:
            if beside:
                self._rows.removeWidget(sheet)
                self._top.addWidget(sheet)
                sheet.setMinimumHeight(0)
                sheet.setMaximumHeight(_UNBOUND_PX)
            else:
                self._top.removeWidget(sheet)
                self._rows.insertWidget(self._rows.indexOf(self.lanes) + 1, sheet)
                sheet.setFixedHeight(_BELOW_PX)
                sheet.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
                sheet.setMinimumWidth(0)
                sheet.setMaximumWidth(_UNBOUND_PX)
            self.rearranged.emit()
        if beside:
            sheet.setFixedWidth(sheet_px)
            # As high as the viewer, however much it holds.
            sheet.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Ignored)
        scene = self.bench.cut.scene
        sheet.setVisible(scene is not None and bool(scene.content.clips))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._page.find()
        if event.size().width() != event.oldSize().width():
            self._fit()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._fitting.start()


def _troubles(scene: Scene, bench: Bench) -> Iterator[FileTrouble]:
    for path in content_paths(scene.content):
        if trouble := file_trouble(scene, path, bench.media.facts):
            yield trouble
