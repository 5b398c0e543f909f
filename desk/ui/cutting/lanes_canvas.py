"""The lanes of a scene: Picture, Dialogue, Effects and Music, drawn to scale."""

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QFocusEvent,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPixmap,
    QPolygonF,
    QResizeEvent,
)
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from desk.film.model import Scene, SceneContent
from desk.film.timecode import format_length
from desk.film.timing import clip_starts
from desk.ui.bench import Bench
from desk.ui.scene.clip_facts import file_name
from desk.ui.scene.clip_pictures import ClipPictures
from desk.ui.scene.lanes_layout import RULER_PX, Box, LanesLayout, Row, lay_lanes
from desk.ui.scene.lanes_paint import LanesPainting, box_words

_PICTURE_PX = 44
_LEAST_WIDTH_PX = 320
_NOTHING = SceneContent()


class LanesView(QWidget):
    """Shows the lanes of a scene, the chosen clip, and the playhead.

    A click chooses a clip and puts the playhead there, and dragging moves it. Left and Right go clip by clip,
    with Shift frame by frame; Home and End go to the first and the last clip.

    Signals:
        clip_chosen: The person has chosen a clip; its id.
        place_chosen: The person has moved the playhead; the frame from the scene's start.
    """

    clip_chosen = Signal(str)
    place_chosen = Signal(int)

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._scene: Scene | None = None
        self._clip = ""
        self._frame = 0
        self._hovered: Box | None = None
        self._layout = lay_lanes(_NOTHING, bench.session.film.rate, _LEAST_WIDTH_PX)
        self._pictures = ClipPictures(bench, _PICTURE_PX, self)
        self._pictures.changed.connect(self.refresh)
        self._painted: QPixmap | None = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        bench.theme.changed.connect(self.refresh)
        self._tell()

    @property
    def lanes(self) -> LanesLayout:
        """Where everything stands."""
        return self._layout

    @property
    def clip(self) -> str:
        """Id of the chosen clip, or ""."""
        return self._clip

    @property
    def frame(self) -> int:
        """Where the playhead stands, from the scene's start."""
        return self._frame

    def show_scene(self, scene: Scene) -> None:
        """Show the lanes of a scene."""
        self._scene = scene
        self._hovered = None
        self._lay()
        self._tell()

    def show_place(self, clip: str, frame: int) -> None:
        """Show which clip is chosen and where the playhead stands."""
        if (clip, frame) == (self._clip, self._frame):
            return
        self._clip, self._frame = clip, frame
        self._tell()
        self.update()

    def refresh(self) -> None:
        """Paint all anew: pictures, media or colours are other ones."""
        self._painted = None
        self.update()

    def words_at(self, point: QPointF) -> str:
        """Return what is under a point, in words, or ""."""
        box = self._layout.box_at(point)
        if box is None or self._scene is None:
            return ""
        return box_words(box, self._scene, self._bench.session.film)

    def _lay(self) -> None:
        content = self._scene.content if self._scene else _NOTHING
        width = max(_LEAST_WIDTH_PX, self.width())
        self._layout = lay_lanes(content, self._bench.session.film.rate, width)
        if self.minimumHeight() != self._layout.height_px:
            self.setFixedHeight(self._layout.height_px)
        self.refresh()

    def _clip_number(self) -> int:
        """Return the place of the chosen clip among all, or -1."""
        clips = self._scene.content.clips if self._scene else ()
        return next((place for place, clip in enumerate(clips) if clip.id == self._clip), -1)

    def _tell(self) -> None:
        if self._scene is None:
            return
        rate = self._bench.session.film.rate
        clips = self._scene.content.clips
        self.setAccessibleName(f"Lanes of scene {self._scene.number}")
        parts = []
        if (number := self._clip_number()) >= 0:
            clip = clips[number]
            start = format_length(clip_starts(self._scene.content)[number], rate)
            length = format_length(clip.length_frames, rate)
            parts.append(
                f"Clip {number + 1} of {len(clips)}, {file_name(clip.source)}, at {start}, {length} long."
            )
        parts.append(f"Playhead at {format_length(self._frame, rate)}.")
        parts.append("Left and Right go clip by clip, with Shift frame by frame.")
        self.setAccessibleDescription(" ".join(parts))

    def _choose(self, clip: str, frame: int) -> None:
        """Take a clip and a place, and tell of what is another one now."""
        other_clip, other_frame = clip != self._clip, frame != self._frame
        self.show_place(clip, frame)
        if other_clip:
            self.clip_chosen.emit(clip)
        if other_frame:
            self.place_chosen.emit(frame)

    def _choose_number(self, number: int) -> None:
        if self._scene is None or not self._scene.content.clips:
            return
        clips = self._scene.content.clips
        number = max(0, min(number, len(clips) - 1))
        self._choose(clips[number].id, clip_starts(self._scene.content)[number])

    def _go_to(self, frame: int) -> None:
        """Put the playhead on a frame and choose the clip there."""
        frame = max(0, min(frame, self._layout.length_frames - 1))
        self._choose(self._clip_at(frame), frame)

    def _clip_at(self, frame: int) -> str:
        """Return the clip at a frame; the black before a clip belongs to it."""
        boxes = (box for box in self._layout.boxes if box.row is Row.PICTURE)
        return next((box.owner for box in boxes if frame < box.end_frames), "")

    def _hover(self, box: Box | None) -> None:
        if box is not self._hovered:
            self._hovered = box
            self.update()

    def sizeHint(self) -> QSize:
        return QSize(_LEAST_WIDTH_PX * 2, self._layout.height_px)

    def minimumSizeHint(self) -> QSize:
        return QSize(_LEAST_WIDTH_PX, self._layout.height_px)

    def event(self, event: QEvent) -> bool:
        if event.type() is QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            QToolTip.showText(event.globalPos(), self.words_at(QPointF(event.pos())), self)
            return True
        return super().event(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self._lay()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        step = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}.get(Qt.Key(event.key()))
        if step is not None and event.modifiers() & Qt.KeyboardModifier.ShiftModifier:
            self._go_to(self._frame + step)
        elif step is not None:
            self._choose_number(self._clip_number() + step)
        elif event.key() == Qt.Key.Key_Home:
            self._choose_number(0)
        elif event.key() == Qt.Key.Key_End and self._scene is not None:
            self._choose_number(len(self._scene.content.clips) - 1)
        else:
            super().keyPressEvent(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if event.button() is not Qt.MouseButton.LeftButton or not self._layout.length_frames:
            super().mousePressEvent(event)
            return
        if event.position().x() < self._layout.left_px:
            return
        frame = self._layout.frame_at(event.position().x())
        box = self._layout.box_at(event.position())
        # A lead is heard over another clip, and still belongs to its own.
        owner = box.owner if box is not None and box.row is Row.DIALOGUE else self._clip_at(frame)
        self._choose(owner, frame)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if event.buttons() & Qt.MouseButton.LeftButton and self._layout.length_frames:
            self._go_to(self._layout.frame_at(event.position().x()))
        else:
            self._hover(self._layout.box_at(event.position()))

    def leaveEvent(self, event: QEvent) -> None:
        super().leaveEvent(event)
        self._hover(None)

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.update()

    def paintEvent(self, _: QPaintEvent) -> None:
        if self._scene is None:
            return
        ratio = self.devicePixelRatioF()
        if self._painted is None or self._painted.devicePixelRatio() != ratio:
            self._painted = self._paint_still(self._scene, ratio)
        painter = QPainter(self)
        painter.drawPixmap(QPointF(0, 0), self._painted)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._paint_choice(painter)
        if self._layout.length_frames:
            self._paint_playhead(painter)
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(self._bench.theme.colour("pencil"), 2))
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(1, 1, -1, -1), 3, 3)

    def _paint_still(self, scene: Scene, ratio: float) -> QPixmap:
        painted = QPixmap(self.size() * ratio)
        painted.setDevicePixelRatio(ratio)
        painted.fill(Qt.GlobalColor.transparent)
        self._pictures.set_ratio(ratio)
        painter = QPainter(painted)
        LanesPainting(
            film=self._bench.session.film,
            scene=scene,
            layout=self._layout,
            facts=self._bench.media.facts,
            pictures=self._pictures,
            theme=self._bench.theme,
        ).paint(painter)
        painter.end()
        return painted

    def _paint_choice(self, painter: QPainter) -> None:
        painter.setBrush(Qt.BrushStyle.NoBrush)
        if self._hovered is not None:
            painter.setPen(QPen(self._bench.theme.colour("ink"), 1))
            painter.drawRect(self._hovered.rect.adjusted(0.5, 0.5, -0.5, -0.5))
        painter.setPen(QPen(self._bench.theme.colour("pencil"), 2))
        for box in self._layout.boxes_of(self._clip):
            painter.drawRect(box.rect.adjusted(1, 1, -1, -1))

    def _paint_playhead(self, painter: QPainter) -> None:
        pencil = self._bench.theme.colour("pencil")
        # On whole pixels, so that it stays sharp.
        x = round(self._layout.x(self._frame))
        painter.fillRect(QRectF(x - 1, RULER_PX - 8, 2, self._layout.height_px - RULER_PX + 6), pencil)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(pencil)
        top = RULER_PX - 12.0
        painter.drawPolygon(QPolygonF([QPointF(x - 5, top), QPointF(x + 5, top), QPointF(x, top + 8)]))
