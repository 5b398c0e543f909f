"""The list of what stands in the way, grouped by entry."""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import (
    QAbstractListModel,
    QModelIndex,
    QPersistentModelIndex,
    QPointF,
    QRect,
    QRectF,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import QFontMetrics, QPainter, QPen, QPolygonF, QResizeEvent
from PySide6.QtWidgets import QListView, QStyle, QStyledItemDelegate, QStyleOptionViewItem, QWidget

from desk.film.problem import Severity
from desk.ui.look.theme import Theme
from desk.ui.look.type import SMALL_PX, sans, typewriter

Index = QModelIndex | QPersistentModelIndex

LINE_ROLE = Qt.ItemDataRole.UserRole
ENTRY_ROLE = Qt.ItemDataRole.UserRole + 1

_NOWHERE = QModelIndex()
_SHOWN = Qt.ItemDataRole.DisplayRole
_MOST_PX = 360
_HEAD_PX = 28
_MARK_PX = 10
_INDENT_PX = 28
_PAD_PX = 4
_MOST_HEIGHTS = 5000
_WRAPPED = int(Qt.TextFlag.TextWordWrap)


@dataclass(frozen=True, slots=True)
class Line:
    """A line of the list.

    Attributes:
        entry: Id of the scene or card that it is about, or "" for the film.
        text: Name of the entry, or what is the matter.
        advice: What to do about it; "" for the name of an entry.
        severity: What it means for an assembly, or None for the name of an entry.
        is_scene: Whether it is the name of a scene, which is written as scripts have it.
    """

    entry: str
    text: str
    advice: str = ""
    severity: Severity | None = None
    is_scene: bool = False


class ObstacleModel(QAbstractListModel):
    """Lines of the list."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._lines: tuple[Line, ...] = ()

    @property
    def lines(self) -> tuple[Line, ...]:
        """All lines."""
        return self._lines

    def show_lines(self, lines: Sequence[Line]) -> None:
        """Show other lines."""
        new = tuple(lines)
        if new != self._lines:
            self.beginResetModel()
            self._lines = new
            self.endResetModel()

    def rowCount(self, parent: Index = _NOWHERE) -> int:
        return 0 if parent.isValid() else len(self._lines)

    def data(self, index: Index, role: int = _SHOWN) -> object:
        if not index.isValid():
            return None
        line = self._lines[index.row()]
        roles = Qt.ItemDataRole
        if role == roles.DisplayRole:
            return line.text
        if role == roles.AccessibleTextRole:
            said = {Severity.BLOCKS: "Stands in the way: ", Severity.LOOK: "Deserves a look: ", None: ""}
            return f"{said[line.severity]}{line.text} {line.advice}".rstrip()
        if role == LINE_ROLE:
            return line
        return line.entry if role == ENTRY_ROLE else None


class ObstacleDelegate(QStyledItemDelegate):
    """Paints the lines: names of entries in bold, below each what is the matter and what to do."""

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._theme = theme
        self._text, self._small = QFontMetrics(sans()), QFontMetrics(sans(SMALL_PX))
        self._heights: dict[tuple[str, int], int] = {}

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        view = self.parent()
        width = view.viewport().width() if isinstance(view, QListView) else 0
        return QSize(width, self.height_of(index.data(LINE_ROLE), width))

    def height_of(self, line: Line, width: int) -> int:
        """Return the height of a line in a width."""
        if line.severity is None:
            return _HEAD_PX
        room = max(80, width - _INDENT_PX - _PAD_PX)
        text = self._height(self._text, line.text, room)
        return text + self._height(self._small, line.advice, room) + 2 * _PAD_PX

    def _height(self, metrics: QFontMetrics, text: str, room: int) -> int:
        # Many lines say the same, and each is asked for many times.
        known = self._heights.get((text, room))
        if known is None:
            if len(self._heights) > _MOST_HEIGHTS:
                self._heights.clear()
            known = metrics.boundingRect(QRect(0, 0, room, 10_000), _WRAPPED, text).height()
            self._heights[text, room] = known
        return known

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        line: Line = index.data(LINE_ROLE)
        rect: QRect = option.rect
        state: QStyle.StateFlag = option.state
        colour = self._theme.colour
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        flags = QStyle.StateFlag
        if state & (flags.State_Selected | flags.State_MouseOver):
            painter.fillRect(rect, colour("row_chosen"))
        if state & flags.State_HasFocus:
            painter.setPen(QPen(colour("pencil"), 1))
            painter.drawRect(QRectF(rect).adjusted(0.5, 0.5, -0.5, -0.5))
        if line.severity is None:
            painter.setPen(colour("ink"))
            painter.setFont(typewriter() if line.is_scene else sans(strong=True))
            inner = rect.adjusted(8, 4, -_PAD_PX, 0)
            text = painter.fontMetrics().elidedText(line.text, Qt.TextElideMode.ElideRight, inner.width())
            painter.drawText(inner, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft, text)
        else:
            self._paint_problem(painter, rect, line)
        painter.restore()

    def _paint_problem(self, painter: QPainter, rect: QRect, line: Line) -> None:
        colour = self._theme.colour
        mark = QRectF(rect.left() + 10, rect.top() + _PAD_PX + 3, _MARK_PX, _MARK_PX)
        if line.severity is Severity.BLOCKS:
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(colour("broken"))
            top = QPointF(mark.center().x(), mark.top())
            painter.drawPolygon(QPolygonF([top, mark.bottomRight(), mark.bottomLeft()]))
        else:
            painter.setPen(QPen(colour("pencil"), 1.6))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawEllipse(mark.adjusted(1, 1, -1, -1))
        room = rect.adjusted(_INDENT_PX, _PAD_PX, -_PAD_PX, 0)
        painter.setPen(colour("ink"))
        painter.setFont(sans())
        painter.drawText(room, _WRAPPED, line.text)
        below = painter.fontMetrics().boundingRect(room, _WRAPPED, line.text).height()
        painter.setPen(colour("dim"))
        painter.setFont(sans(SMALL_PX))
        painter.drawText(room.adjusted(0, below, 0, 0), _WRAPPED, line.advice)


class ObstacleList(QListView):
    """The list, as high as its lines up to a limit.

    Signals:
        wanted: A line was clicked, or Return pressed in it; the id of its entry, or "" for the film.
    """

    wanted = Signal(str)

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self.lines = ObstacleModel(self)
        self.lines_delegate = ObstacleDelegate(theme, self)
        self.setAccessibleName("What stands in the way, by entry; Return goes to the entry")
        self.setModel(self.lines)
        self.setItemDelegate(self.lines_delegate)
        self.setMouseTracking(True)
        self.setResizeMode(QListView.ResizeMode.Adjust)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setVerticalScrollMode(QListView.ScrollMode.ScrollPerPixel)
        self.clicked.connect(self._on_wanted)
        self.activated.connect(self._on_wanted)
        theme.changed.connect(self.viewport().update)

    def show_lines(self, lines: Sequence[Line]) -> None:
        """Show other lines."""
        self.lines.show_lines(lines)
        self._fit()

    def _fit(self) -> None:
        height = 4
        for line in self.lines.lines:
            height += self.lines_delegate.height_of(line, self.viewport().width())
            if height > _MOST_PX:
                break
        self.setFixedHeight(min(height, _MOST_PX))

    def _on_wanted(self, index: QModelIndex) -> None:
        self.wanted.emit(str(index.data(ENTRY_ROLE)))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            # Lines break elsewhere now, so they are of another height.
            self.scheduleDelayedItemsLayout()
            self._fit()
