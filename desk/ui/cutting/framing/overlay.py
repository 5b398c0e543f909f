"""Framing in the viewer: the picture is dragged in the film's frame, and scaled at its corners."""

import functools
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Protocol

from PySide6.QtCore import QEvent, QPointF, QRectF, Qt, Signal
from PySide6.QtGui import (
    QHideEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QWidget
from shiboken6 import isValid

from desk.film.edits import Edit
from desk.film.media import MediaFacts
from desk.film.model import Clip, Film, Framing
from desk.film.timing import clip_starts
from desk.film.wording import entry_name, sentence
from desk.ui.bench import Bench
from desk.ui.cutting.clip_sheet import sheet_edits
from desk.ui.cutting.clip_sheet.framing import framing_words, most_enlarged, number_text
from desk.ui.cutting.framing.geometry import moved, picture_box, scaled
from desk.ui.cutting.framing.paint import paint_boxes, paint_words

_REACH_PX = 14
_INSET_PX = 8
_STEP_PX, _LONG_STEP_PX = 1, 10
_KEY_FACTOR = 1.01
_WHEEL_FACTOR = 1.05
_NOTCH = 120
_WHEEL_PAUSE_MS = 800
"""A wheel that rests so long begins another step of undoing."""

_ARROWS = {
    Qt.Key.Key_Left: (-1, 0),
    Qt.Key.Key_Right: (1, 0),
    Qt.Key.Key_Up: (0, -1),
    Qt.Key.Key_Down: (0, 1),
}
_SCALES = {Qt.Key.Key_Plus: _KEY_FACTOR, Qt.Key.Key_Equal: _KEY_FACTOR, Qt.Key.Key_Minus: 1 / _KEY_FACTOR}
_HOW = (
    "Drag the picture, or its corners to scale it. Arrow keys move it by a pixel, with Shift by ten; + and − "
    "scale it, and so does the wheel with Ctrl. Escape leaves."
)


class PictureSurface(Protocol):
    """What shows the film's frame in the viewer."""

    def set_overlay(self, overlay: QWidget) -> None:
        """Lay something over all of it."""

    def frame_rect(self) -> QRectF:
        """Return where in it the film's frame is."""


@dataclass(frozen=True, slots=True)
class _Drag:
    """A drag under way.

    Attributes:
        start: Where it began.
        framing: The framing then.
        corner: The corner that is dragged, or None for the picture.
        middle: The middle of the picture then.
    """

    start: QPointF
    framing: Framing
    corner: QPointF | None
    middle: QPointF


class FramingOverlay(QWidget):
    """Lies over the picture in the viewer while a clip is framed; hidden otherwise.

    Signals:
        begun: Framing has begun.
        ended: It has ended.
    """

    begun = Signal()
    ended = Signal()

    def __init__(self, bench: Bench, surface: PictureSurface, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._surface = surface
        self._clip_id = ""
        self._came_from: QWidget | None = None
        self._drag: _Drag | None = None
        self._last_wheel_ms = 0
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setAccessibleName("Framing")
        self.setToolTip(_HOW)
        surface.set_overlay(self)
        self.hide()
        bench.cut.tried.connect(self._on_changed)
        bench.cut.opened.connect(self.end)
        bench.session.changed.connect(self._on_changed)
        bench.media.changed.connect(self._on_changed)
        bench.theme.changed.connect(self.update)

    @property
    def is_on(self) -> bool:
        """Whether a clip is being framed."""
        return bool(self._clip_id)

    def begin(self, clip_id: str) -> None:
        """Frame a clip of the scene that is cut; the playhead goes to it. It says why where it can't."""
        cut, session = self._bench.cut, self._bench.session
        scene = cut.scene
        self._clip_id = clip_id
        clip = self._clip()
        refused = session.read_only
        if scene is not None and scene.lock:
            refused = f"{sentence(entry_name(scene))} is locked. Unlock it to change its framing."
        elif clip is None:
            refused = "No clip is selected. Select one to frame it."
        elif self._upright(clip) is None:
            refused = f"The picture of “{clip.source}” is missing or not read yet."
        if refused or clip is None:
            self._clip_id = ""
            self._bench.messages.notice(refused, urgent=True)
            self.ended.emit()
            return
        self._go_to(clip)
        if not self.hasFocus():
            self._came_from = self.window().focusWidget()
        self.show()
        self.raise_()
        self.setFocus()
        self._on_changed()
        self.begun.emit()

    def end(self) -> None:
        """Leave framing; a drag under way is given up."""
        if not self._clip_id:
            return
        if self._drag is not None:
            self._drag = None
            self._bench.cut.give_up()
        self._clip_id = ""
        self._bench.session.end_gesture()
        had_focus, came_from, self._came_from = self.hasFocus(), self._came_from, None
        self.hide()
        if had_focus:
            # Qt would go on to the next field, which then takes what is typed for the lanes.
            is_there = came_from is not None and isValid(came_from) and came_from.isVisible()
            target = came_from if is_there else self.parentWidget()
            if target is not None:
                target.setFocus()
        self.ended.emit()

    def words(self) -> str:
        """Return how the clip is framed, in words."""
        clip = self._clip()
        if clip is None:
            return ""
        size = self._bench.session.film.size
        return framing_words(clip.framing, most_enlarged([clip], self._bench.media.facts, size), size)

    def _clip(self) -> Clip | None:
        content = self._bench.cut.content
        return next((clip for clip in content.clips if clip.id == self._clip_id), None)

    def _upright(self, clip: Clip) -> tuple[Fraction, Fraction] | None:
        known = self._bench.media.facts.get(clip.source)
        return known.picture.upright_size if isinstance(known, MediaFacts) and known.picture else None

    def _go_to(self, clip: Clip) -> None:
        cut = self._bench.cut
        content = cut.content
        start = clip_starts(content)[content.clips.index(clip)]
        if not start <= cut.frame < start + clip.length_frames:
            cut.go_to(start)

    def _zoom(self) -> float:
        """Return how many pixels of the viewer one of the film takes."""
        return max(1e-6, self._surface.frame_rect().width() / self._bench.session.film.size.width)

    def _picture(self) -> QRectF | None:
        """Return where the picture is, in the overlay."""
        clip = self._clip()
        upright = self._upright(clip) if clip else None
        if clip is None or upright is None:
            return None
        left, top, width, height = picture_box(clip.framing, upright, self._bench.session.film.size)
        frame, zoom = QRectF(self._surface.frame_rect()), self._zoom()
        return QRectF(frame.left() + left * zoom, frame.top() + top * zoom, width * zoom, height * zoom)

    def _handles(self, picture: QRectF) -> Iterator[QPointF]:
        """Yield where the handles are: at the corners, or as near to them as can be seen."""
        room = QRectF(self.rect()).adjusted(_INSET_PX, _INSET_PX, -_INSET_PX, -_INSET_PX)
        for corner in _corners(picture):
            x, y = max(corner.x(), room.left()), max(corner.y(), room.top())
            yield QPointF(min(x, room.right()), min(y, room.bottom()))

    def _corner_at(self, place: QPointF) -> QPointF | None:
        """Return the corner of the picture whose handle is at a place, or None."""
        picture = self._picture()
        if picture is None:
            return None
        pairs = zip(_corners(picture), self._handles(picture), strict=True)
        near = [(_far(handle, place), corner) for corner, handle in pairs]
        far, corner = min(near, key=lambda pair: pair[0])
        return corner if far <= _REACH_PX else None

    def _in_frame(self, place: QPointF) -> tuple[float, float]:
        frame, zoom = QRectF(self._surface.frame_rect()), self._zoom()
        return (place.x() - frame.left()) / zoom, (place.y() - frame.top()) / zoom

    def _framed(self, drag: _Drag, place: QPointF) -> Framing:
        size, zoom = self._bench.session.film.size, self._zoom()
        way = place - drag.start
        if drag.corner is None:
            return moved(drag.framing, way.x() / zoom, way.y() / zoom, size)
        arm = drag.corner - drag.middle
        length = QPointF.dotProduct(arm, arm)
        factor = 1 + QPointF.dotProduct(way, arm) / length if length else 1.0
        return scaled(drag.framing, factor, None, size)

    def _change(self, framing: Framing, what: str) -> None:
        make = functools.partial(_framing_of, self._bench.cut.scene_id, self._clip_id, framing)
        self._bench.session.do(make, merge=f"framing {what} {self._clip_id}")

    def _on_changed(self) -> None:
        if not self._clip_id:
            return
        scene = self._bench.cut.scene
        if scene is None or scene.lock or self._clip() is None:
            self.end()
            return
        self.setAccessibleDescription(self.words())
        self.update()

    def _cursor_at(self, place: QPointF) -> Qt.CursorShape:
        corner, picture = self._corner_at(place), self._picture()
        if corner is None or picture is None:
            return Qt.CursorShape.SizeAllCursor
        way = corner - picture.center()
        is_falling = (way.x() < 0) == (way.y() < 0)
        return Qt.CursorShape.SizeFDiagCursor if is_falling else Qt.CursorShape.SizeBDiagCursor

    def mousePressEvent(self, event: QMouseEvent) -> None:
        picture, clip = self._picture(), self._clip()
        if event.button() is not Qt.MouseButton.LeftButton or picture is None or clip is None:
            return
        self._bench.session.end_gesture()
        place = event.position()
        self._drag = _Drag(place, clip.framing, self._corner_at(place), picture.center())

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        place = event.position()
        if self._drag is None:
            self.setCursor(self._cursor_at(place))
            return
        framing = self._framed(self._drag, place)
        if framing == self._drag.framing and self._bench.cut.trial is None:
            return
        make = functools.partial(_framing_of, self._bench.cut.scene_id, self._clip_id, framing)
        self._bench.cut.attempt(make, words=f"framing: {number_text(framing.scale * 100)} %")

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if event.button() is Qt.MouseButton.LeftButton and self._drag is not None:
            self._drag = None
            self._bench.cut.take()

    def wheelEvent(self, event: QWheelEvent) -> None:
        clip = self._clip()
        if not event.modifiers() & Qt.KeyboardModifier.ControlModifier or clip is None or self._drag:
            event.ignore()
            return
        if event.timestamp() - self._last_wheel_ms > _WHEEL_PAUSE_MS:
            self._bench.session.end_gesture()
        self._last_wheel_ms = event.timestamp()
        factor = _WHEEL_FACTOR ** (event.angleDelta().y() / _NOTCH)
        about = self._in_frame(event.position())
        self._change(scaled(clip.framing, factor, about, self._bench.session.film.size), "wheel")
        event.accept()

    def event(self, event: QEvent) -> bool:
        # The keys of framing come before those of the window.
        if event.type() == QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent) and _frames(event):
            event.accept()
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        clip, size = self._clip(), self._bench.session.film.size
        key = Qt.Key(event.key())
        if not _frames(event):
            super().keyPressEvent(event)
        elif key is Qt.Key.Key_Escape:
            if self._drag is not None:
                self._drag = None
                self._bench.cut.give_up()
            else:
                self.end()
        elif clip is not None and self._drag is None and key in _ARROWS:
            is_long = event.modifiers() & Qt.KeyboardModifier.ShiftModifier
            step = _LONG_STEP_PX if is_long else _STEP_PX
            right, down = _ARROWS[key]
            self._change(moved(clip.framing, right * step, down * step, size), "keys")
        elif clip is not None and self._drag is None and key in _SCALES:
            self._change(scaled(clip.framing, _SCALES[key], None, size), "keys")

    def keyReleaseEvent(self, event: QKeyEvent) -> None:
        if not event.isAutoRepeat():
            self._bench.session.end_gesture()
        super().keyReleaseEvent(event)

    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        if not event.spontaneous():
            self.end()

    def paintEvent(self, _: QPaintEvent) -> None:
        picture = self._picture()
        if picture is None:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        frame, theme = QRectF(self._surface.frame_rect()), self._bench.theme
        paint_boxes(painter, frame, picture, self._handles(picture), theme)
        trial = self._bench.cut.trial
        refusal = trial.refusal if trial is not None else ""
        paint_words(painter, QRectF(self.rect()), refusal or self.words(), theme, is_refusal=bool(refusal))


def _framing_of(scene_id: str, clip_id: str, framing: Framing, film: Film) -> Edit:
    return sheet_edits.set_framings(
        film, scene_id, [clip_id], fit=framing.fit, scale=framing.scale, x=framing.x, y=framing.y
    )


def _frames(event: QKeyEvent) -> bool:
    """Return whether a key is one of framing."""
    others = ~(Qt.KeyboardModifier.ShiftModifier | Qt.KeyboardModifier.KeypadModifier)
    key = event.key()
    is_plain = not event.modifiers() & others
    return is_plain and (key == Qt.Key.Key_Escape or key in _ARROWS or key in _SCALES)


def _corners(picture: QRectF) -> tuple[QPointF, ...]:
    return picture.topLeft(), picture.topRight(), picture.bottomLeft(), picture.bottomRight()


def _far(one: QPointF, other: QPointF) -> float:
    return max(abs(one.x() - other.x()), abs(one.y() - other.y()))
