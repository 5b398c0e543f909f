"""The ledger: the list view of the running order, with its gaps, its keys and the place of a drop."""

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QModelIndex, QPersistentModelIndex, QPoint, QRect, Qt, Signal
from PySide6.QtGui import QMouseEvent, QPainter, QPaintEvent, QPolygon, QResizeEvent
from PySide6.QtWidgets import QWidget

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
        gap_opened: A gap was double-clicked: the row before it, or -1 for the gap before the first.
    """

    gap_opened = Signal(int)

    def __init__(self, bench: Bench, model: OrderModel, parent: QWidget | None = None) -> None:
        super().__init__(model, bench.theme, parent)
        self._order = model
        self._heights: dict[str, int] = {}
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
        """Return whether a row is not as high as it is laid out, which takes a while to ask the view."""
        entry_id, height = self._order.ids[row], item_height(self._order.row_at(row))
        before = self._heights.get(entry_id) or self.visualRect(self._order.index(row)).height()
        self._heights[entry_id] = height
        return before != height and not self.isRowHidden(row)

    def _hover(self, hovered: tuple[int, Part] | None) -> None:
        if hovered == self.rows.hovered_gap:
            return
        before, self.rows.hovered_gap = self.rows.hovered_gap, hovered
        for place in (before, hovered):
            if place is not None and place[0] < len(self._order.ids):
                self.update(self._order.index(place[0]))
        if hovered is None:
            self.viewport().unsetCursor()
        else:
            self.viewport().setCursor(Qt.CursorShape.PointingHandCursor)

    def dataChanged(
        self,
        topLeft: QModelIndex | QPersistentModelIndex,
        bottomRight: QModelIndex | QPersistentModelIndex,
        roles: Sequence[int] = (),
    ) -> None:
        rows = range(topLeft.row(), bottomRight.row() + 1)
        if any([self._is_another_height(row) for row in rows]):  # noqa: C419 - each is to be remembered
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

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        place = self.part_at(event.position().toPoint())
        if place is None or event.button() != Qt.MouseButton.LeftButton:
            super().mouseDoubleClickEvent(event)
        elif place[1] in (Part.GAP, Part.LEAD):
            self.gap_opened.emit(place[0] if place[1] is Part.GAP else NOWHERE)
        elif place[1] is Part.TITLE:
            self.rename(self._order.ids[place[0]])

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        place = self.part_at(event.position().toPoint())
        self._hover(place if place and place[1] in (Part.GAP, Part.LEAD) else None)
        super().mouseMoveEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        # As above: rows laid out while they are painted would be painted twice.
        self.executeDelayedItemsLayout()

    def leaveEvent(self, event: QEvent) -> None:
        self._hover(None)
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
