"""The lanes of a scene under the pointer: selecting, going to a frame, and every drag that cuts."""

import dataclasses
from enum import Enum, auto

from PySide6.QtCore import QEvent, QPointF, QRectF, Qt, Signal
from PySide6.QtGui import (
    QFocusEvent,
    QKeyEvent,
    QMouseEvent,
)
from PySide6.QtWidgets import QWidget

from desk.film.snapping import nearest
from desk.film.wording import entry_name, sentence
from desk.ui.bench import Bench
from desk.ui.cutting.lanes.canvas import LanesCanvas
from desk.ui.cutting.lanes.choice import gesture_of, hover_words
from desk.ui.cutting.lanes.drag import LaneDrag
from desk.ui.cutting.lanes.gestures import MoveClips
from desk.ui.cutting.lanes.grips import Grip, Hold, grip_at, pointer_shape
from desk.ui.cutting.lanes.layout import RULER_PX, Row
from desk.ui.cutting.lanes.overlay import LanesOverlay
from desk.ui.cutting.lanes.selecting import selected_by_band, selected_up_to
from desk.ui.cutting.lanes.waveforms import Waveforms

_DRAG_PX = 3
"""How far the pointer goes before a press becomes a drag."""

_CTRL = Qt.KeyboardModifier.ControlModifier
_SHIFT = Qt.KeyboardModifier.ShiftModifier

RULER_WORDS = (
    "Drag: moves the playhead. With Shift: sets a range to play again and again. Double-click: whole scene."
)


class _Press(Enum):
    """What a press has become."""

    NOTHING = auto()
    MAYBE = auto()
    DRAG = auto()
    BAND = auto()
    SCRUB = auto()
    LOOP = auto()


class LanesPressing(LanesCanvas):
    """The lanes under a pointer: what a press takes hold of, and what comes of it.

    A click selects, with Ctrl one more, with Shift all up to there. A drag on the ruler moves the playhead,
    with Shift it sets a range to play again and again.

    Attributes:
        drop: Where files that are dragged over the lanes would be put in: the frame and the lane; or None.

    Signals:
        said: What the pointer would do or is doing, in words, and whether it is why something can't be done.
    """

    said = Signal(str, bool)

    def __init__(self, bench: Bench, waveforms: Waveforms, parent: QWidget | None = None) -> None:
        super().__init__(bench, waveforms, parent)
        self._press = _Press.NOTHING
        self._pressed = QPointF()
        self._pressed_place = 0.0
        self._point = QPointF()
        self._grip: Grip | None = None
        self._moving: tuple[str, ...] = ()
        self.drop: tuple[int, Row] | None = None
        self._told = ("", False)
        self._drag = LaneDrag(bench, self)
        self._drag.said.connect(self.say)
        self._drag.showed.connect(self._on_drag_showed)
        self._drag.scrolled.connect(self._on_drag_scrolled)
        bench.cut.tried.connect(self._on_trial)

    @property
    def grip(self) -> Grip | None:
        """What the pointer is over, or has hold of."""
        return self._grip

    @property
    def is_pressed(self) -> bool:
        """Whether a button is held."""
        return self._press is not _Press.NOTHING

    def say(self, words: str, is_refusal: bool = False) -> None:
        """Say something in the line under the lanes."""
        if (words, is_refusal) != self._told:
            self._told = (words, is_refusal)
            self.said.emit(words, is_refusal)

    def overlay(self) -> LanesOverlay:
        drop = self.drop
        if self._drag.drop_frame is not None:
            drop = (self._drag.drop_frame, Row.PICTURE)
        return dataclasses.replace(
            super().overlay(),
            grip=self._grip_now(),
            moving=self._moving,
            drop=drop,
            band=self._band() if self._press is _Press.BAND else None,
        )

    def _grip_now(self) -> Grip | None:
        """Return the grip with the box as it is laid out now."""
        grip = self._grip
        if grip is None:
            return None
        # A spot that repeats has several boxes.
        boxes = [box for box in self.lanes.boxes_of(grip.box.owner) if box.row is grip.box.row]
        start = grip.box.start_frames
        box = min(boxes, key=lambda box: abs(box.start_frames - start), default=None)
        return Grip(grip.hold, box) if box else None

    def _band(self) -> QRectF:
        begin = QPointF(self.axis.x(self._pressed_place), self._pressed.y())
        return QRectF(begin, self._point).normalized()

    def _begin_press(self, point: QPointF, modifiers: Qt.KeyboardModifier) -> None:
        self._pressed = self._point = point
        self._pressed_place = self.axis.place(point.x())
        if point.y() >= RULER_PX:
            self._press = _Press.MAYBE
        elif modifiers & _SHIFT:
            self._press = _Press.LOOP
        else:
            self._press = _Press.SCRUB
            self._scrub(point)

    def _begin_drag(self, modifiers: Qt.KeyboardModifier) -> None:
        grip = grip_at(self.lanes, self.axis, self._pressed)
        if grip is None:
            self._press = _Press.BAND
            return
        cut, owner = self._bench.cut, grip.box.owner
        if owner not in cut.selection:
            cut.select((owner,))
        self._press = _Press.DRAG
        self._set_grip(grip)
        body = grip.hold is Hold.BODY
        scope = self._drag.scope(self.axis, cut.selection if body else (owner,))
        gesture = gesture_of(grip, scope, cut.selection, ctrl=bool(modifiers & _CTRL))
        self._moving = gesture.clip_ids if isinstance(gesture, MoveClips) else ()
        self.is_dragging, self.draws_trial = True, gesture.shows_trial
        if body:
            self.setCursor(Qt.CursorShape.ClosedHandCursor)
        self._drag.begin(gesture, self.base_axis, self._pressed)

    def _go_on(self, modifiers: Qt.KeyboardModifier) -> None:
        """Take what was pressed to where the pointer is now."""
        match self._press:
            case _Press.DRAG:
                self._drag.move(self.base_axis, self._point, free=bool(modifiers & _SHIFT))
            case _Press.SCRUB:
                self._scrub(self._point)
            case _Press.LOOP:
                self._set_loop()
            case _Press.BAND:
                self._bench.cut.select(selected_by_band(self.lanes, self.axis, self._band()))
                self.update()

    def _scrub(self, point: QPointF) -> None:
        self._bench.cut.go_to(self.axis.frame_at(point.x()))

    def _set_loop(self) -> None:
        scope = self._drag.scope(self.axis, ())
        ends = sorted(
            nearest(round(place), scope.places, None, scope.within_frames)
            for place in (self._pressed_place, self.axis.place(self._point.x()))
        )
        self._bench.cut.set_loop(*ends)
        self.say(f"Plays {scope.length(ends[0])} to {scope.length(ends[1])} again and again.")

    def _click(self, point: QPointF, modifiers: Qt.KeyboardModifier) -> None:
        cut = self._bench.cut
        box = self.lanes.box_at(point, self.axis)
        if box is None:
            if not modifiers & (_CTRL | _SHIFT):
                cut.select_none()
        elif modifiers & _CTRL:
            cut.toggle(box.owner)
        elif modifiers & _SHIFT:
            cut.select(selected_up_to(cut, box.owner), main=box.owner)
        else:
            cut.select((box.owner,))
        cut.go_to(self.axis.frame_at(point.x()))

    def _release(self, modifiers: Qt.KeyboardModifier) -> None:
        press, self._press = self._press, _Press.NOTHING
        if press is _Press.MAYBE:
            self._click(self._point, modifiers)
        elif press is _Press.LOOP and abs(self._point.x() - self._pressed.x()) < _DRAG_PX:
            self._bench.cut.clear_loop()
        elif press is _Press.DRAG:
            shift = self._drag.shift_frames
            if shift and not self.is_whole:
                # A head that was trimmed stays where it was let go.
                self.scroll_by(-shift * self.base_axis.px_per_frame)
            self._stop_dragging()
            self._drag.finish()
            self.lay()
        self._hover(modifiers)
        self.update()

    def give_up(self) -> None:
        """Let go of what is held, and leave the film as it is."""
        self._press = _Press.NOTHING
        if self.is_dragging:
            self._stop_dragging()
            self._drag.give_up()
            self.lay()
        self._set_grip(None)
        self.say("")
        self.update()

    def _stop_dragging(self) -> None:
        self.is_dragging, self.draws_trial = False, True
        self._moving = ()
        self.set_shift(0)

    def _hover(self, modifiers: Qt.KeyboardModifier) -> None:
        inside = self.axis.left_px <= self._point.x() <= self.axis.right_px and self.underMouse()
        if self._point.y() < RULER_PX:
            self._set_grip(None)
            self.unsetCursor()
            self.say(RULER_WORDS if inside else "")
            return
        grip = grip_at(self.lanes, self.axis, self._point)
        if closed := self._closed_words():
            self._set_grip(None)
            self.unsetCursor()
            self.say(closed if inside or grip else "")
            return
        ctrl = bool(modifiers & _CTRL)
        self._set_grip(grip)
        self.setCursor(pointer_shape(grip, ctrl=ctrl))
        rate, facts = self._bench.session.film.rate, self._bench.media.facts
        self.say(hover_words(grip, rate, facts, ctrl=ctrl) if inside or grip else "")

    def _closed_words(self) -> str:
        """Return why nothing can be cut here, or ""."""
        scene = self._bench.cut.scene
        if scene is not None and scene.lock:
            return f"{sentence(entry_name(scene))} is locked. Unlock it to cut it."
        return self._bench.session.read_only

    def _set_grip(self, grip: Grip | None) -> None:
        if (grip and grip.same) != (self._grip and self._grip.same):
            self.update()
        self._grip = grip

    def take_modifiers(self, modifiers: Qt.KeyboardModifier) -> None:
        """Take up that a key is held or let go while the pointer rests."""
        if self._press is _Press.DRAG:
            self._go_on(modifiers)
        elif self._press is _Press.NOTHING and self._grip is not None:
            self._hover(modifiers)

    def _on_drag_showed(self) -> None:
        self.set_shift(self._drag.shift_frames)
        self.update()

    def _on_drag_scrolled(self, px: float) -> None:
        self.scroll_by(px)
        self._drag.move(self.base_axis, self._point, free=False)

    def _on_trial(self, trial: object) -> None:
        # Somebody else has ended the drag: the film was changed under it, or another scene is shown.
        if trial is None and self.is_dragging:
            self.give_up()

    def event(self, event: QEvent) -> bool:
        is_key = isinstance(event, QKeyEvent) and event.key() == Qt.Key.Key_Escape
        is_asked = event.type() is QEvent.Type.ShortcutOverride
        if is_key and is_asked and self._press is not _Press.NOTHING:
            # Escape ends the drag, whatever else it does in the window.
            event.accept()
            return True
        return super().event(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if event.button() is not Qt.MouseButton.LeftButton or self._press is not _Press.NOTHING:
            super().mousePressEvent(event)
            return
        if event.position().x() >= self.axis.left_px:
            self._begin_press(event.position(), event.modifiers())

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        self._point = event.position()
        if self._press is _Press.NOTHING:
            self._hover(event.modifiers())
            return
        if self._press is _Press.MAYBE:
            if (self._point - self._pressed).manhattanLength() < _DRAG_PX:
                return
            self._begin_drag(event.modifiers())
        self._go_on(event.modifiers())

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if event.button() is Qt.MouseButton.LeftButton and self._press is not _Press.NOTHING:
            self._release(event.modifiers())
        else:
            super().mouseReleaseEvent(event)

    def leaveEvent(self, event: QEvent) -> None:
        super().leaveEvent(event)
        if self._press is _Press.NOTHING:
            self._set_grip(None)
            self.say("")

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.update()
