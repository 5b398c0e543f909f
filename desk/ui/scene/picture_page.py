"""The page that the Picture part stands on: how much of it is seen, and scrolling it to the lanes."""

from PySide6.QtCore import QEvent, QObject, QPoint, QTimer, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QScrollArea, QWidget

_BELOW_PX = 8
_ROUNDS, _ROUND_MS = 8, 16
"""A part that was folded takes some turns to be laid out, from the outside to the inside and back."""


class PicturePage(QObject):
    """The scroll area around the Picture part, where there is one.

    Signals:
        resized: More or less of it is seen.
    """

    resized = Signal()

    def __init__(self, body: QWidget, picture: QWidget, lanes: QWidget) -> None:
        """Follow the page of a part.

        Args:
            body: The part.
            picture: What stays in view when the page is scrolled to the lanes.
            lanes: The lanes.
        """
        super().__init__(body)
        self._body, self._picture, self._lanes = body, picture, lanes
        self._scroll: QScrollArea | None = None
        self._keeps_lanes = False
        self._rounds_left = 0
        self._timer = QTimer(self, singleShot=True, interval=_ROUND_MS)
        self._timer.timeout.connect(self._go_to_lanes)

    @property
    def height_px(self) -> int | None:
        """How much is seen of it from top to bottom, or None where there is none."""
        return self._scroll.viewport().height() if self._scroll is not None else None

    @property
    def width_px(self) -> int:
        """How wide the part may be, however much what stands side by side asks for."""
        inside = self._scroll.widget() if self._scroll is not None else None
        if self._scroll is None or inside is None:
            return self._body.width()
        margins_px = 2 * self._body.mapTo(inside, QPoint(0, 0)).x()
        return min(self._body.width(), self._scroll.viewport().width() - margins_px)

    def find(self) -> None:
        """Find the page that the part stands on now."""
        parent = self._body.parentWidget()
        while parent is not None and not isinstance(parent, QScrollArea):
            parent = parent.parentWidget()
        if parent is not self._scroll and isinstance(parent, QScrollArea):
            self._scroll = parent
            parent.viewport().installEventFilter(self)
            parent.verticalScrollBar().actionTriggered.connect(self.let_go)

    def reveal_lanes(self) -> None:
        """Scroll until the lanes can be seen, as far down as the picture stays in view.

        They stay in view when the window changes, until the page is scrolled by hand.
        """
        self._keeps_lanes, self._rounds_left = True, _ROUNDS
        self._timer.start()

    def keep_lanes(self) -> None:
        """Keep the lanes in view after heights have changed, if they are to be."""
        if self._keeps_lanes:
            self.reveal_lanes()

    def let_go(self) -> None:
        """Leave the page where it is."""
        self._keeps_lanes, self._rounds_left = False, 0
        self._timer.stop()

    def _go_to_lanes(self) -> None:
        inside = self._scroll.widget() if self._scroll is not None else None
        if self._scroll is None or inside is None or self._lanes.isHidden():
            return
        top = self._body.mapTo(inside, QPoint(0, 0)).y()
        picture = self._picture.mapTo(inside, QPoint(0, 0)).y()
        end = self._lanes.mapTo(inside, QPoint(0, self._lanes.height() + _BELOW_PX)).y()
        bar = self._scroll.verticalScrollBar()
        bar.setValue(min(picture, max(end - self._scroll.viewport().height(), min(bar.value(), top))))
        self._rounds_left -= 1
        if self._rounds_left > 0:
            self._timer.start()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if (
            isinstance(event, QResizeEvent)
            and self._scroll is not None
            and watched is self._scroll.viewport()
        ):
            self.resized.emit()
        return super().eventFilter(watched, event)
