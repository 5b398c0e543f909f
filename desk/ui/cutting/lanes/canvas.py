"""The lanes of a scene as they are drawn: Picture, Dialogue, Effects and Music, to scale, at any zoom."""

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QPointF, QRect, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QHelpEvent, QPainter, QPaintEvent, QPen, QPixmap, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from desk.film.model import Film, SceneContent
from desk.ui.bench import Bench
from desk.ui.cutting.cut import Trial
from desk.ui.cutting.lanes.axis import MOST_PX_PER_FRAME, TimeAxis
from desk.ui.cutting.lanes.clip_pictures import ClipPictures
from desk.ui.cutting.lanes.ducks import Ducks
from desk.ui.cutting.lanes.layout import LABELS_PX, RIGHT_PX, LanesLayout, LanesLayouts
from desk.ui.cutting.lanes.overlay import LanesOverlay
from desk.ui.cutting.lanes.paint import LanesPainting
from desk.ui.cutting.lanes.ruler import RulerPainting, paint_loop, paint_playhead
from desk.ui.cutting.lanes.tiles import LaneTiles
from desk.ui.cutting.lanes.waveforms import Waveforms
from desk.ui.cutting.lanes.words import box_words, told_of

_PICTURE_PX = 52
_LEAST_WIDTH_PX = 320
_NOTHING = SceneContent()
_PLAYHEAD_PX = 8
"""Half the width of what a playhead covers."""

_PAGE_LEFT = 0.08
"""Where the playhead comes to stand when it has left the screen, as a part of the width."""

_LEAST_FILLED = 0.8
"""The whole scene stays as wide as it is while it gets shorter, until it fills less than this."""


class LanesCanvas(QWidget):
    """Draws the lanes of the scene that is being cut, and knows which frame stands where.

    What stands still is painted once for each zoom and scroll; the playhead, the selection and what the
    pointer is over are painted over it.

    Attributes:
        tiles: Draws pictures and outlines of sounds.
        painted: How often what stands still was painted so far.
        is_dragging: Whether a drag is under way: zoom, scroll and heights stay then.
        draws_trial: Whether the lanes are drawn as a drag would leave them.

    Signals:
        axis_changed: Another zoom or scroll.
    """

    axis_changed = Signal()

    def __init__(self, bench: Bench, waveforms: Waveforms, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._layouts = LanesLayouts()
        self._content: SceneContent | None = None
        self._lanes = self._layouts.lay(_NOTHING, bench.session.film.rate)
        self._axis = self._whole_axis()
        self._is_whole = True
        self._shift_frames = 0
        self._ready: tuple[tuple[int, int], ...] = ()
        self._still: QPixmap | None = None
        self._is_still_old = True
        self._shown_frame = 0
        self._film_place: tuple[object, ...] = ()
        self.painted = 0
        self.is_dragging = False
        self.draws_trial = True
        self._pictures = ClipPictures(bench, _PICTURE_PX, self)
        self.tiles = LaneTiles(self._pictures, waveforms, bench.theme)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self._ducks = Ducks(bench, self)
        self._ducks.changed.connect(self.refresh)
        self._pictures.changed.connect(self._on_file_seen)
        waveforms.made.connect(self._on_file_seen)
        bench.theme.changed.connect(self.refresh)
        bench.session.changed.connect(self._on_film_changed)
        bench.cut.opened.connect(self._on_opened)
        bench.cut.tried.connect(self._on_tried)
        bench.cut.moved.connect(self._on_moved)
        bench.cut.selected.connect(self._on_chosen)
        bench.cut.looped.connect(self._on_chosen)
        self.lay()

    @property
    def lanes(self) -> LanesLayout:
        """What stands in the lanes."""
        return self._lanes

    @property
    def axis(self) -> TimeAxis:
        """Which frame stands where, as it is drawn."""
        return self._axis.moved(-self._shift_frames) if self._shift_frames else self._axis

    @property
    def base_axis(self) -> TimeAxis:
        """Which frame stood where when a drag began, wherever it shows things meanwhile."""
        return self._axis

    @property
    def is_whole(self) -> bool:
        """Whether the whole scene is in view, and stays so."""
        return self._is_whole

    def set_ready(self, ranges: Sequence[tuple[int, int]]) -> None:
        """Mark frames that can be played at once.

        Args:
            ranges: First frame, and the one after the last, of each range.
        """
        if tuple(ranges) != self._ready:
            self._ready = tuple(ranges)
            self.refresh()

    def set_shift(self, frames: int) -> None:
        """Show all further right by some frames, while a head is dragged."""
        if frames != self._shift_frames:
            self._shift_frames = frames
            self.refresh()

    def zoom(self, factor: float, at_x: float | None = None) -> None:
        """Show frames wider or narrower.

        Args:
            factor: By how much; 2 for twice as wide.
            at_x: The point of the screen that keeps its place; None for the playhead, or the middle where
                that is not on the screen.
        """
        axis = self._axis
        if at_x is None:
            at_x = axis.x(self._bench.cut.frame)
            if not axis.left_px <= at_x <= axis.right_px:
                at_x = axis.left_px + axis.width_px / 2
        least = self._whole_axis().px_per_frame
        scale = max(least, min(axis.px_per_frame * factor, max(least, MOST_PX_PER_FRAME)))
        if scale <= least:
            self.show_whole()
        elif scale != axis.px_per_frame:
            self._put_axis(axis.zoomed(scale, at_x).within(*self._lanes.reach))

    def show_whole(self) -> None:
        """Show the whole scene."""
        self._put_axis(self._whole_axis(), is_whole=True)

    def scroll_by(self, px: float) -> None:
        """Show what is later, or earlier below 0."""
        axis = self._axis.moved(px / self._axis.px_per_frame)
        self._put_axis(axis.within(*self._lanes.reach))

    def scroll_to(self, first: float) -> None:
        """Show what begins with a place, in frames from the scene's start."""
        self.scroll_by((first - self._axis.first) * self._axis.px_per_frame)

    def show_frame(self, frame: int) -> None:
        """Scroll to where a frame is, if it is not on the screen."""
        axis = self._axis
        if axis.first - 1e-6 <= frame < axis.end:
            return
        shown = axis.shown_frames
        part = _PAGE_LEFT
        if axis.first - shown / 2 < frame < axis.first:
            part = 1 - _PAGE_LEFT
        self.scroll_to(frame - part * shown)

    def refresh(self) -> None:
        """Paint all anew: media, colours or what stands in the lanes are other ones."""
        self._is_still_old = True
        self.update()

    def words_at(self, point: QPointF) -> str:
        """Return what is under a point, in words, or ""."""
        scene = self._bench.cut.scene
        box = self._lanes.box_at(point, self.axis)
        return box_words(box, scene, self._bench.session.film) if box and scene else ""

    def lay(self) -> None:
        """Lay the lanes out anew, if the scene's content is another one."""
        scene = self._bench.cut.scene
        content = self._bench.cut.content
        if not self.draws_trial:
            content = scene.content if scene else _NOTHING
        if content is self._content:
            return
        self._ducks.show(content, anew=self._content is None)
        self._content = content
        least = self._lanes.stories if self.is_dragging else None
        self._lanes = self._layouts.lay(content, self._bench.session.film.rate, least_stories=least)
        if not self.is_dragging:
            self._settle_axis()
        if self.minimumHeight() != self._lanes.height_px:
            self.setFixedHeight(self._lanes.height_px)
        self.refresh()

    def overlay(self) -> LanesOverlay:
        """Return what stands over the lanes now."""
        trial = self._bench.cut.trial
        return LanesOverlay(
            film=self._bench.session.film,
            layout=self._lanes,
            axis=self.axis,
            facts=self._bench.media.facts,
            theme=self._bench.theme,
            selection=self._bench.cut.selection,
            edge=trial.edge if trial is not None and not self.is_dragging else None,
        )

    def _whole_axis(self) -> TimeAxis:
        first, end = self._lanes.whole
        return TimeAxis.of_range(first, end, left_px=float(LABELS_PX), width_px=self._time_px())

    def _time_px(self) -> float:
        return max(1.0, max(_LEAST_WIDTH_PX, self.width()) - LABELS_PX - RIGHT_PX)

    def _settle_axis(self) -> None:
        """Keep zoom and scroll where they are allowed, and the whole scene in view if it was."""
        whole = self._whole_axis()
        axis = self._axis.resized(whole.left_px, whole.width_px)
        if self._is_whole:
            first, end = self._lanes.whole
            fits = first >= axis.first and end <= axis.end + 1e-6
            fills = end - first >= _LEAST_FILLED * axis.shown_frames
            if axis.width_px != self._axis.width_px or not fits or not fills:
                axis = whole
        elif axis.px_per_frame <= whole.px_per_frame:
            axis = whole
        else:
            axis = axis.within(*self._lanes.reach)
        self._put_axis(axis, is_whole=self._is_whole or axis is whole)

    def _put_axis(self, axis: TimeAxis, *, is_whole: bool = False) -> None:
        self._is_whole = is_whole
        if axis != self._axis:
            self._axis = axis
            self.refresh()
        self.axis_changed.emit()

    def tell(self) -> None:
        """Tell a screen reader what is there."""
        scene = self._bench.cut.scene
        self.setAccessibleName(f"Lanes of scene {scene.number}" if scene else "Lanes")
        self.setAccessibleDescription(told_of(self._bench.cut, self._bench.session.film.rate))

    def _playhead_rect(self, frame: int) -> QRect:
        x = self.axis.x(frame)
        return QRectF(x - _PLAYHEAD_PX, 0, 2 * _PLAYHEAD_PX, self.height()).toAlignedRect()

    def _on_opened(self, _: str) -> None:
        self._content = None
        self._ready = ()
        self._is_whole = True
        self._axis = TimeAxis.of_range(0, 1, left_px=float(LABELS_PX), width_px=1)
        self.lay()
        self.tell()

    def _on_film_changed(self, film: Film) -> None:
        self.lay()
        place = (self._bench.cut.film_frame, film.start_frames, film.drop_frame, film.rate)
        if place != self._film_place:
            self._film_place = place
            self.refresh()
        self.tell()

    def _on_tried(self, _: Trial | None) -> None:
        self.lay()

    def _on_moved(self, frame: int) -> None:
        before, self._shown_frame = self._shown_frame, frame
        if not self.is_dragging:
            self.show_frame(frame)
        self.update(self._playhead_rect(before))
        self.update(self._playhead_rect(frame))
        self.tell()

    def _on_chosen(self, _: object) -> None:
        self.update()
        self.tell()

    def _on_file_seen(self, path: str) -> None:
        self.tiles.forget(path)
        self.refresh()

    def sizeHint(self) -> QSize:
        return QSize(_LEAST_WIDTH_PX * 2, self._lanes.height_px)

    def minimumSizeHint(self) -> QSize:
        return QSize(_LEAST_WIDTH_PX, self._lanes.height_px)

    def event(self, event: QEvent) -> bool:
        if event.type() is QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            QToolTip.showText(event.globalPos(), self.words_at(QPointF(event.pos())), self)
            return True
        return super().event(event)

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.lay()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self._settle_axis()
        self.refresh()

    def paintEvent(self, event: QPaintEvent) -> None:
        ratio = self.devicePixelRatioF()
        if self._is_still_old or self._still is None or self._still.devicePixelRatio() != ratio:
            self._paint_still(ratio)
        assert self._still is not None
        painter = QPainter(self)
        painter.setClipRegion(event.region())
        painter.drawPixmap(QPointF(0, 0), self._still)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        cut, axis = self._bench.cut, self.axis
        if cut.loop is not None:
            paint_loop(painter, axis, cut.loop, self._bench.theme)
        self.overlay().paint(painter)
        if self._lanes.length_frames:
            paint_playhead(painter, axis, cut.frame, self._lanes.height_px, self._bench.theme)
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(self._bench.theme.colour("pencil"), 2))
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(1, 1, -1, -1), 3, 3)

    def _paint_still(self, ratio: float) -> None:
        size = self.size() * ratio
        if self._still is None or self._still.size() != size:
            self._still = QPixmap(size)
        self._still.setDevicePixelRatio(ratio)
        self._still.fill(Qt.GlobalColor.transparent)
        self._pictures.set_ratio(ratio)
        film, theme, axis = self._bench.session.film, self._bench.theme, self.axis
        painter = QPainter(self._still)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        start = self._bench.cut.film_frame
        RulerPainting(film, self._lanes, axis, start, self._ready, theme).paint(painter)
        facts = self._bench.media.facts
        ducks = self._ducks.curves
        LanesPainting(film, self._lanes, axis, facts, self.tiles, theme, ratio, ducks).paint(painter)
        painter.end()
        self.painted += 1
        self._is_still_old = False
