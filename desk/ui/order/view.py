"""The ledger: the list view of the running order, with its gaps, its keys and the place of a drop."""

from collections.abc import Mapping, Sequence
from types import MappingProxyType

from PySide6.QtCore import QEvent, QModelIndex, QPersistentModelIndex, QPoint, QRect, Qt, Signal
from PySide6.QtGui import QMouseEvent, QPainter, QPaintEvent, QPolygon, QResizeEvent
from PySide6.QtWidgets import QApplication, QWidget

from desk.ui.bench import Bench
from desk.ui.look.type import TEXT_PX, sans
from desk.ui.order.delegate import OrderDelegate
from desk.ui.order.entry_view import NOWHERE, EntryView
from desk.ui.order.ink import Ink
from desk.ui.order.model import OrderModel
from desk.ui.order.row_layout import Part, RowLayout, item_height

_DROP_LINE_PX = 3
_MANY_ROWS = 12
_EMPTY = "Nothing is in the film yet.\nAdd a scene or a card, or drag one here from the shelf below."


class OrderView(EntryView):
    """Shows the running order.

    Signals:
        gap_opened: A gap is to be changed, by a click on the mark in it or a double click beside that: the
            row before it, or -1 for the gap before the first.
    """

    gap_opened = Signal(int)

    _heights: Mapping[str, int] = MappingProxyType({})
    """How high each row was laid out, by its entry."""

    def __init__(self, bench: Bench, model: OrderModel, parent: QWidget | None = None) -> None:
        super().__init__(model, bench.theme, parent)
        self._order = model
        self._pressed: tuple[int, Part] | None = None
        self._pressed_at = QPoint()
        self.rows = OrderDelegate(bench, model, self)
        self.setItemDelegate(self.rows)
        self.setObjectName("running-order")
        self.setAccessibleName("Running order")
        self.setAccessibleDescription(
            "Alt and an arrow key moves what is chosen, Delete sets it aside, J changes the join after it, "
            "F2 renames it."
        )

    def layout_at(self, row: int) -> RowLayout:
        """Return where everything stands in a row, in the viewport."""
        return self.rows.layout_of(self.visualRect(self._order.index(row)), self._order.row_at(row))

    def shown_ids(self) -> tuple[str, ...]:
        """Return the ids of the rows that the filter shows."""
        return tuple(item for row, item in enumerate(self._order.ids) if not self.isRowHidden(row))

    def show_rows(self, shown: Sequence[bool]) -> None:
        """Show some rows and hide the others."""
        for row, is_shown in enumerate(shown):
            if self.isRowHidden(row) is is_shown:
                self.setRowHidden(row, not is_shown)

    def place_at(self, point: QPoint) -> int:
        """Return how many rows of the film stand before the gap that is nearest to a point."""
        index = self.indexAt(QPoint(max(1, point.x()), point.y()))
        if not index.isValid():
            shown = [row for row in range(len(self._order.ids)) if not self.isRowHidden(row)]
            above = [row for row in shown if self.visualRect(self._order.index(row)).top() <= point.y()]
            return above[-1] + 1 if above else (shown[0] if shown else len(self._order.ids))
        row = index.row()
        return row + (point.y() > self.layout_at(row).row.center().y())

    def part_at(self, point: QPoint) -> tuple[int, Part] | None:
        """Return the row at a point, and which part of it; None beside all rows."""
        index = self.indexAt(point)
        if not index.isValid():
            return None
        return index.row(), self.layout_at(index.row()).part_at(point)

    def mark_at(self, point: QPoint) -> tuple[int, Part] | None:
        """Return the row and the gap whose mark or words are at a point, or None."""
        place = self.part_at(point)
        if place is None or place[1] not in (Part.GAP, Part.LEAD):
            return None
        row = place[0]
        return place if self.rows.is_mark(self.layout_at(row), self._order.row_at(row), point) else None

    def drop_line(self, place: int) -> QRect:
        """Return where the line is painted that shows the place of a drop."""
        shown = [row for row in range(len(self._order.ids)) if not self.isRowHidden(row)]
        before = [row for row in shown if row < place]
        if before:
            gap = self.layout_at(before[-1]).gap
        elif shown:
            gap = self.layout_at(shown[0]).row.adjusted(0, -8, 0, 0)
            gap.setHeight(8)
        else:
            gap = QRect(0, 4, self.viewport().width(), 8)
        middle = gap.center().y()
        return QRect(0, max(0, middle - 1), self.viewport().width(), _DROP_LINE_PX)

    def _is_another_height(self, row: int) -> bool:
        """Return whether a row is not as high as it is laid out, which the view itself does not keep."""
        height = item_height(self._order.row_at(row))
        return self._heights.get(self._order.ids[row]) != height and not self.isRowHidden(row)

    def _open_gap(self, place: tuple[int, Part]) -> None:
        self.gap_opened.emit(place[0] if place[1] is Part.GAP else NOWHERE)

    def _hover(self, hovered: tuple[int, Part] | None) -> None:
        if hovered == self.rows.hovered_gap:
            return
        before, self.rows.hovered_gap = self.rows.hovered_gap, hovered
        for place in (before, hovered):
            if place is not None and place[0] < len(self._order.ids):
                self.update(self._order.index(place[0]))

    def dataChanged(
        self,
        topLeft: QModelIndex | QPersistentModelIndex,
        bottomRight: QModelIndex | QPersistentModelIndex,
        roles: Sequence[int] = (),
    ) -> None:
        rows = range(topLeft.row(), bottomRight.row() + 1)
        if any(self._is_another_height(row) for row in rows):
            super().dataChanged(topLeft, bottomRight, roles)
            return
        # Rows that moved are laid out now, or they would be painted where they were and then again.
        self.executeDelayedItemsLayout()
        # Nothing else has to be: those rows are painted again, and no others.
        if len(rows) > _MANY_ROWS:
            self.viewport().update()
            return
        for row in rows:
            self.update(self._order.index(row))

    def doItemsLayout(self) -> None:
        super().doItemsLayout()
        model = self.model()
        if isinstance(model, OrderModel):
            self._heights = {item: item_height(model.row_at(row)) for row, item in enumerate(model.ids)}

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        point = event.position().toPoint()
        place = self.part_at(point)
        if place is None or event.button() != Qt.MouseButton.LeftButton:
            super().mouseDoubleClickEvent(event)
        elif place[1] in (Part.GAP, Part.LEAD):
            self._open_gap(place)
        elif place[1] is Part.TITLE:
            self.rename(self._order.ids[place[0]])

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self._pressed_at = event.position().toPoint()
        is_plain = event.modifiers() == Qt.KeyboardModifier.NoModifier
        is_left = event.button() == Qt.MouseButton.LeftButton
        self._pressed = self.mark_at(self._pressed_at) if is_left and is_plain else None
        super().mousePressEvent(event)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        super().mouseReleaseEvent(event)
        pressed, self._pressed = self._pressed, None
        point = event.position().toPoint()
        moved_px = (point - self._pressed_at).manhattanLength()
        if pressed and pressed == self.mark_at(point) and moved_px < QApplication.startDragDistance():
            self._open_gap(pressed)

    def startDrag(self, supportedActions: Qt.DropAction) -> None:
        self._pressed = None
        super().startDrag(supportedActions)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        point = event.position().toPoint()
        place = self.part_at(point)
        self._hover(place if place and place[1] in (Part.GAP, Part.LEAD) else None)
        if self.mark_at(point):
            self.viewport().setCursor(Qt.CursorShape.PointingHandCursor)
        else:
            self.viewport().unsetCursor()
        super().mouseMoveEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        # As above: rows laid out while they are painted would be painted twice.
        self.executeDelayedItemsLayout()

    def leaveEvent(self, event: QEvent) -> None:
        self._hover(None)
        self.viewport().unsetCursor()
        super().leaveEvent(event)

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        painter = QPainter(self.viewport())
        ink = Ink(painter, self._theme.palette)
        if not self._order.ids:
            area = self.viewport().rect().adjusted(16, 16, -16, -16)
            painter.setFont(sans(TEXT_PX))
            painter.setPen(ink.colour("dim"))
            flags = Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignTop
            painter.drawText(area, int(flags) | int(Qt.TextFlag.TextWordWrap), _EMPTY)
        self.paint_focus(ink)
        if self._drop_place != NOWHERE:
            line = self.drop_line(self._drop_place)
            painter.fillRect(line, ink.colour("pencil"))
            painter.setBrush(ink.colour("pencil"))
            painter.setPen(Qt.PenStyle.NoPen)
            middle = line.center().y()
            for side, inwards in ((line.left(), 7), (line.right() + 1, -7)):
                corners = (QPoint(side, middle - 6), QPoint(side + inwards, middle), QPoint(side, middle + 7))
                painter.drawPolygon(QPolygon(list(corners)))
        painter.end()
