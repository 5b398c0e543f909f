"""The clip sheet: what is selected in the cut of a scene, as fields to be changed."""

from collections.abc import Iterator
from typing import Protocol

from PySide6.QtCore import Qt, Signal, SignalInstance
from PySide6.QtGui import QResizeEvent, QShowEvent
from PySide6.QtWidgets import QFrame, QGridLayout, QScrollArea, QSizePolicy, QVBoxLayout, QWidget

from desk.film.edits import Change
from desk.film.model import Clip, Cue, Film, Scene, SceneContent, Spot
from desk.film.wording import counted, entry_name, listed, sentence
from desk.ui.bench import Bench
from desk.ui.cutting.clip_sheet.footage import FootagePart
from desk.ui.cutting.clip_sheet.framing import FramingPart
from desk.ui.cutting.clip_sheet.levels import LevelsPart
from desk.ui.cutting.clip_sheet.part import SheetPart, Shown
from desk.ui.cutting.clip_sheet.scene import ScenePage
from desk.ui.cutting.clip_sheet.sound import SoundPart
from desk.ui.cutting.clip_sheet.sounds import CuePart, SpotPart
from desk.ui.cutting.clip_sheet.words import WordsPart
from desk.ui.cutting.offset.finder import OffsetFinder
from desk.ui.elided import ElidedLabel
from desk.ui.labels import note, say

LEAST_PX = 248
_TWO_COLUMNS_PX = 560
_MARGIN_PX = 8
_SCROLL_BAR_PX = 12
_PART_GAP_PX = 16


class Framing(Protocol):
    """What moves the picture in the viewer."""

    begun: SignalInstance
    ended: SignalInstance

    def begin(self, clip_id: str) -> None:
        """Let the person frame a clip."""

    def end(self) -> None:
        """Leave it."""


class ClipSheet(QScrollArea):
    """Shows what is selected in the scene that is being cut, and takes changes of it.

    Signals:
        framing_asked: The person wants to frame a clip in the viewer, or to leave that.

    Attributes:
        title: What is selected.
        why: Why nothing can be changed.
        scene_page: What stands there while nothing is selected.
        footage, framing, sound, levels, words: The parts about clips; levels are about all that sounds.
        spot, cue: The parts about a spot and a cue.
        finder: The dialog that looks for offsets, while it is open.
    """

    framing_asked = Signal(bool)

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._shown_ids: tuple[str, ...] = ()
        self._shown_scene = ""
        self._columns = 0
        self._overlay: Framing | None = None
        self.finder: OffsetFinder | None = None
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        # Its fields take the keyboard, one by one.
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setMinimumWidth(LEAST_PX)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("Clip sheet")
        self._page = QWidget(self)
        # Before anything stands on it: moving it with all its parts takes a while.
        self.setWidget(self._page)
        self.title = ElidedLabel("", self._page)
        self.title.setProperty("kind", "heading")
        self.why = note("open", self._page)
        self.scene_page = ScenePage(bench, self._page)
        self.footage = FootagePart(bench, self._page)
        self.framing = FramingPart(bench, self._page)
        self.sound = SoundPart(bench, self._page)
        self.levels = LevelsPart(bench, self._page)
        self.words = WordsPart(bench, self._page)
        self.spot = SpotPart(bench, self._page)
        self.cue = CuePart(bench, self._page)
        self._of_clips: tuple[SheetPart, ...] = (self.footage, self.framing, self.sound, self.words)
        self._parts: tuple[SheetPart, ...] = (*self._of_clips, self.levels, self.spot, self.cue)
        self._lay_out()
        self.framing.framing_asked.connect(self._on_framing_asked)
        self.sound.finding_asked.connect(self.find_offsets)
        self.scene_page.finding_asked.connect(self.find_offsets)
        cut = bench.cut
        cut.opened.connect(self._on_opened)
        cut.selected.connect(self._on_selected)
        cut.tried.connect(self.refresh)
        bench.session.changed.connect(self._on_film_changed)
        bench.media.changed.connect(self.refresh)
        self.refresh()

    def attach(self, overlay: Framing) -> None:
        """Frame in the viewer with something that lies over it."""
        self._overlay = overlay
        overlay.begun.connect(self._on_framing_begun)
        overlay.ended.connect(self._on_framing_ended)

    def refresh(self) -> None:
        """Show what is selected as it is now; nothing is done while the sheet is hidden."""
        if not self.isVisible():
            return
        shown = self._selected()
        if shown is None:
            for widget in (self.scene_page, *self._parts):
                widget.hide()
            say(self.why, "")
            self.title.say("NO SCENE")
            return
        reason = self._why_not(shown.scene)
        say(self.why, reason)
        self._shown_ids, self._shown_scene = shown.ids, shown.scene.id
        self.title.say(title_of(shown).upper())
        self.title.setAccessibleName(title_of(shown))
        self.scene_page.setVisible(not shown.ids)
        if not shown.ids:
            self.scene_page.show_scene(shown.scene, shown.film.rate, reason=reason)
        wanted = self._wanted(shown)
        for part in self._parts:
            part.setVisible(part in wanted)
        for part in wanted:
            part.set_read_only(reason)
            part.show_selected(shown)

    def find_offsets(self, clip_ids: tuple[str, ...]) -> None:
        """Look for the offsets of the separate recordings of clips."""
        if self.finder is not None:
            self.finder.close()
        finder = OffsetFinder(self._bench, self._bench.cut.scene_id, clip_ids, self)
        finder.finished.connect(self._on_found)
        self.finder = finder
        finder.open()
        finder.start()

    def _lay_out(self) -> None:
        page = QVBoxLayout(self._page)
        page.setContentsMargins(_MARGIN_PX, _MARGIN_PX, _MARGIN_PX, _MARGIN_PX)
        page.setSpacing(8)
        page.addWidget(self.title)
        page.addWidget(self.why)
        page.addWidget(self.scene_page)
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(_PART_GAP_PX)
        self._grid.setVerticalSpacing(_PART_GAP_PX)
        self._left, self._right = QVBoxLayout(), QVBoxLayout()
        for column, parts in (
            (self._left, (self.spot, self.cue, self.footage, self.framing)),
            (self._right, (self.sound, self.levels, self.words)),
        ):
            column.setSpacing(_PART_GAP_PX)
            for part in parts:
                column.addWidget(part)
            column.addStretch(1)
        # Gain and fades go on with the lines above them.
        self._right.setSpacing(_PART_GAP_PX // 2)
        page.addLayout(self._grid)
        page.addStretch(1)
        self._arrange(1)

    def _arrange(self, columns: int) -> None:
        if columns == self._columns:
            return
        self._columns = columns
        self._grid.removeItem(self._left)
        self._grid.removeItem(self._right)
        self._grid.addLayout(self._left, 0, 0)
        self._grid.addLayout(self._right, columns % 2, columns - 1)
        self._grid.setColumnStretch(0, 1)
        self._grid.setColumnStretch(1, columns - 1)

    def _selected(self) -> Shown | None:
        cut = self._bench.cut
        if cut.scene is None:
            return None
        film = cut.trial.film if cut.trial else self._bench.session.film
        content, chosen = cut.content, set(cut.selection)
        return Shown(
            film=film,
            scene=film.scene(cut.scene_id),
            clips=tuple(clip for clip in content.clips if clip.id in chosen),
            spots=tuple(spot for spot in content.spots if spot.id in chosen),
            cues=tuple(cue for cue in content.cues if cue.id in chosen),
            facts=self._bench.media.facts,
        )

    def _wanted(self, shown: Shown) -> tuple[SheetPart, ...]:
        if not shown.ids:
            return ()
        if len(shown.ids) == len(shown.clips):
            return (*self._of_clips, self.levels)
        if len(shown.ids) == 1:
            return (self.spot if shown.spots else self.cue, self.levels)
        return (self.levels,)

    def _why_not(self, scene: Scene) -> str:
        if self._bench.session.read_only:
            return self._bench.session.read_only
        return f"{sentence(entry_name(scene))} is locked. Unlock it to change it." if scene.lock else ""

    def _finish(self) -> None:
        """Take what was typed for what is selected no more without leaving its field."""
        scenes = (scene for scene in self._bench.session.film.scenes if scene.id == self._shown_scene)
        there = {item.id for scene in scenes for item in _items(scene.content)}
        for part in self._parts:
            if part.isVisible() and there.issuperset(part.ids) and (refused := part.finish()):
                self._bench.messages.notice(refused, urgent=True)
        self._bench.session.end_gesture()

    def _on_opened(self) -> None:
        self.refresh()
        self.verticalScrollBar().setValue(0)

    def _on_selected(self, ids: tuple[str, ...]) -> None:
        if ids != self._shown_ids:
            self._finish()
        if self._overlay is not None:
            self._overlay.end()
        self.refresh()

    def _on_film_changed(self, _: Film, __: Change) -> None:
        self.refresh()

    def _on_framing_asked(self, is_on: bool) -> None:
        self.framing_asked.emit(is_on)
        if self._overlay is None:
            return
        if is_on:
            self._overlay.begin(self._bench.cut.main)
        else:
            self._overlay.end()

    def _on_framing_begun(self) -> None:
        self.framing.show_framing(True)

    def _on_framing_ended(self) -> None:
        self.framing.show_framing(False)

    def _on_found(self) -> None:
        if self.finder is not None:
            self.finder.deleteLater()
            self.finder = None

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._arrange(2 if self.viewport().width() >= _TWO_COLUMNS_PX else 1)
        # The page is never wider than what is seen of it.
        self._page.setMaximumWidth(self.viewport().width())

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.refresh()


def _items(content: SceneContent) -> Iterator[Clip | Spot | Cue]:
    yield from content.clips
    yield from content.spots
    yield from content.cues


def title_of(shown: Shown) -> str:
    """Return what is selected, in words."""
    content = shown.scene.content
    if not shown.ids:
        return entry_name(shown.scene)
    if len(shown.ids) > 1:
        counts = ((len(shown.clips), "clip"), (len(shown.spots), "spot"), (len(shown.cues), "cue"))
        return f"{listed([counted(count, noun) for count, noun in counts if count])} selected"
    if shown.clips:
        place = next(at for at, clip in enumerate(content.clips, 1) if clip.id == shown.clips[0].id)
        return f"Clip {place} of {len(content.clips)}"
    if shown.spots:
        return f"Spot {shown.spots[0].label}".strip()
    return f"Cue {shown.cues[0].label}".strip()
