"""A drawing of a join to scale: two pieces of footage, the cut, the handles beyond it, and what is used."""

from PySide6.QtCore import QRect, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from desk.film.model import Join, JoinKind
from desk.film.timing import JoinRoom
from desk.ui.look.marks import paint_join
from desk.ui.look.theme import Theme
from desk.ui.order.gaps import most_of
from desk.ui.order.ink import Ink

_HEIGHT_PX = 60
_BAR_PX = 16
_PAD_PX = 4
_LEAST_SPAN_FRAMES = 24


class JoinPicture(QWidget):
    """Shows a join: the outgoing piece above, the incoming one below, the cut in the middle."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._join = Join()
        self._room: JoinRoom | None = None
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        theme.changed.connect(self.update)

    def show_join(self, join: Join, room: JoinRoom | None) -> None:
        """Show a join and what there is for it."""
        self._join, self._room = join, room
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(320, _HEIGHT_PX)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        ink = Ink(painter, self._theme.palette)
        join, room = self._join, self._room
        middle = self.width() // 2
        spans = [_LEAST_SPAN_FRAMES, join.before_frames * 5 // 4, join.after_frames * 5 // 4]
        px_per_frame = (middle - _PAD_PX) / max(spans)

        def px(frames: int) -> int:
            return min(middle - _PAD_PX, round(max(0, frames) * px_per_frame))

        upper, lower = _PAD_PX, _HEIGHT_PX - _PAD_PX - _BAR_PX
        painter.fillRect(QRect(_PAD_PX, upper, middle - _PAD_PX, _BAR_PX), ink.colour("unlit"))
        painter.fillRect(QRect(middle, lower, middle - _PAD_PX, _BAR_PX), ink.colour("unlit"))
        if join.kind is JoinKind.DISSOLVE and room is not None:
            tail = middle if room.tail_handle is None else px(room.tail_handle)
            head = middle if room.head_handle is None else px(room.head_handle)
            hatched = Qt.BrushStyle.BDiagPattern
            for rect in (
                QRect(middle, upper, min(tail, middle - _PAD_PX), _BAR_PX),
                QRect(middle - min(head, middle - _PAD_PX), lower, min(head, middle - _PAD_PX), _BAR_PX),
            ):
                brush = painter.brush()
                brush.setStyle(hatched)
                brush.setColor(ink.colour("draft"))
                painter.fillRect(rect, brush)
        if join.kind is not JoinKind.CUT:
            stroke = QRect(middle - px(join.before_frames), upper, 0, lower + _BAR_PX - upper)
            stroke.setRight(middle + px(join.after_frames))
            paint_join(painter, stroke.adjusted(0, 2, 0, -2).toRectF(), join.kind, ink.look)
            if room is not None:
                most_before, most_after = most_of(join.kind, room)
                for most, wanted, side in (
                    (most_before, join.before_frames, -1),
                    (most_after, join.after_frames, 1),
                ):
                    if wanted > most:
                        near, far = middle + side * px(most), middle + side * px(wanted)
                        over = QRect(min(near, far), self.height() // 2 - 2, abs(far - near), 4)
                        painter.fillRect(over, ink.colour("broken"))
        painter.fillRect(QRect(middle, 0, 1, self.height()), ink.colour("ink"))
        painter.end()
