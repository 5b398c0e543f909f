"""The lanes of a scene that is being cut: the pointer, the keys, the wheel, and what is dropped on them."""

from PySide6.QtCore import QPoint, QPointF, Qt, Signal
from PySide6.QtGui import (
    QContextMenuEvent,
    QDragEnterEvent,
    QDragLeaveEvent,
    QDragMoveEvent,
    QDropEvent,
    QKeyEvent,
    QMouseEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QWidget

from desk.film.timing import clip_starts
from desk.ui.bench import Bench
from desk.ui.cutting.lanes.drops import Landing, LaneDrops
from desk.ui.cutting.lanes.layout import RULER_PX
from desk.ui.cutting.lanes.pressing import LanesPressing
from desk.ui.cutting.lanes.waveforms import Waveforms

_ZOOM_STEP = 1.25
_WHEEL_STEP = 120
_WHEEL_PX = 80.0
_CTRL = Qt.KeyboardModifier.ControlModifier
_SHIFT = Qt.KeyboardModifier.ShiftModifier


class LanesView(LanesPressing):
    """Shows the lanes of the scene that is being cut, and lets them be cut.

    Left and Right go clip by clip, with Shift frame by frame; Home and End go to the first and the last clip;
    + and - zoom, 0 shows the whole scene; so do the wheel with Ctrl, and a double click on the ruler. The
    wheel with Shift scrolls.

    Signals:
        menu_wanted: The person asks for what can be done with the selection; where on the screen.
    """

    menu_wanted = Signal(QPoint)

    def __init__(self, bench: Bench, waveforms: Waveforms, parent: QWidget | None = None) -> None:
        super().__init__(bench, waveforms, parent)
        self._drops = LaneDrops(bench, self)
        self.setAcceptDrops(True)

    def _go_by_clip(self, step: int) -> None:
        """Go to the next cut, or the one before, and select the clip that begins there."""
        cut = self._bench.cut
        starts = clip_starts(cut.content)
        if not starts:
            return
        here = sum(start <= cut.frame for start in starts) - 1
        if step < 0 and here >= 0 and starts[here] < cut.frame:
            step = 0
        self._go_to_clip(here + step)

    def _go_to_clip(self, number: int) -> None:
        cut = self._bench.cut
        clips = cut.content.clips
        if clips:
            number = max(0, min(number, len(clips) - 1))
            cut.go_to(clip_starts(cut.content)[number])
            cut.select((clips[number].id,))

    def _landing(self, event: QDropEvent) -> Landing:
        free = bool(event.modifiers() & _SHIFT)
        return self._drops.landing(self.lanes, self.axis, event.position(), free=free)

    def _show_landing(self, landing: Landing | None) -> None:
        self.drop = None if landing is None else (landing.frame, landing.row)
        self.say(landing.words if landing else "")
        self.update()

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        if event.position().y() < RULER_PX and event.button() is Qt.MouseButton.LeftButton:
            self.give_up()
            self.show_whole()
        else:
            super().mouseDoubleClickEvent(event)

    def wheelEvent(self, event: QWheelEvent) -> None:
        turned = event.angleDelta().y() or event.angleDelta().x()
        if event.modifiers() & _CTRL:
            self.zoom(_ZOOM_STEP ** (turned / _WHEEL_STEP), event.position().x())
        elif event.modifiers() & _SHIFT or event.angleDelta().x():
            self.scroll_by(-turned / _WHEEL_STEP * _WHEEL_PX)
        else:
            # The page scrolls.
            event.ignore()
            return
        event.accept()

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        box = self.lanes.box_at(QPointF(event.pos()), self.axis)
        by_mouse = event.reason() is QContextMenuEvent.Reason.Mouse
        if by_mouse and box is not None and box.owner not in self._bench.cut.selection:
            self._bench.cut.select((box.owner,))
        self.menu_wanted.emit(event.globalPos())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key, cut = Qt.Key(event.key()), self._bench.cut
        step = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}.get(key)
        if key == Qt.Key.Key_Escape and self.is_pressed:
            self.give_up()
        elif key in (Qt.Key.Key_Shift, Qt.Key.Key_Control):
            self.take_modifiers(event.modifiers())
        elif step is not None and event.modifiers() & _SHIFT:
            cut.go_to(cut.frame + step)
        elif step is not None:
            self._go_by_clip(step)
        elif key == Qt.Key.Key_Home:
            self._go_to_clip(0)
        elif key == Qt.Key.Key_End:
            self._go_to_clip(len(cut.content.clips) - 1)
        elif key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal, Qt.Key.Key_Minus):
            self.zoom(1 / _ZOOM_STEP if key == Qt.Key.Key_Minus else _ZOOM_STEP)
        elif key == Qt.Key.Key_0:
            self.show_whole()
        else:
            super().keyPressEvent(event)

    def keyReleaseEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Shift, Qt.Key.Key_Control):
            self.take_modifiers(event.modifiers())
        else:
            super().keyReleaseEvent(event)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        if self._drops.accepts(event.mimeData()):
            event.acceptProposedAction()
            self._show_landing(self._landing(event))

    def dragMoveEvent(self, event: QDragMoveEvent) -> None:
        if self._drops.accepts(event.mimeData()):
            event.acceptProposedAction()
            self._show_landing(self._landing(event))

    def dragLeaveEvent(self, event: QDragLeaveEvent) -> None:
        self._show_landing(None)

    def dropEvent(self, event: QDropEvent) -> None:
        landing = self._landing(event)
        self._show_landing(None)
        event.acceptProposedAction()
        self._drops.drop(event.mimeData(), landing)
