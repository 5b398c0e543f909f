"""The tiles of the shelf: a list view that wraps them to its width, and what paints them."""

from PySide6.QtCore import QPoint, QRect, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import (
    QLineEdit,
    QListView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QWidget,
)

from desk.ui.bench import Bench
from desk.ui.look.marks import paint_mark
from desk.ui.look.type import LARGE_PX, SMALL_PX, TEXT_PX, sans, typewriter
from desk.ui.order.entry_list import Index
from desk.ui.order.entry_view import NOWHERE, EntryView
from desk.ui.order.facts import NO_PURPOSE, NO_SLUGLINE
from desk.ui.order.ink import Ink, Side, Words
from desk.ui.order.row_layout import BAR_PX
from desk.ui.order.shelf_model import ShelfModel

TILE_PX = 44
TILE_GAP_PX = 4
ROW_PX = TILE_PX + TILE_GAP_PX
_LEAST_TILE_WIDTH_PX = 216
_PAD_PX = 8
_MARK_PX = 14
EMPTY_WORDS = "Drag a scene here to take it out, kept whole."


def columns(width_px: int) -> int:
    """Return how many tiles stand beside each other."""
    return max(1, width_px // _LEAST_TILE_WIDTH_PX)


class TileDelegate(QStyledItemDelegate):
    """Paints a tile: mark, number, slugline, why it is out of the film, length."""

    def __init__(self, bench: Bench, model: ShelfModel, view: "ShelfView") -> None:
        super().__init__(view)
        self._bench = bench
        self._model = model
        self._view = view
        self._number = Words(typewriter(LARGE_PX))
        self._slugline = Words(typewriter(TEXT_PX))
        self._name = Words(sans(TEXT_PX, strong=True))
        self._small = Words(sans(SMALL_PX))
        self._length = Words(sans(TEXT_PX))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        tile = self._model.tile_at(index.row())
        facts = tile.facts
        ink = Ink(painter, self._bench.theme.palette)
        item: QRect = option.rect
        state: QStyle.StateFlag = option.state
        rect = item.adjusted(0, 0, -TILE_GAP_PX, -TILE_GAP_PX)
        is_chosen = bool(state & QStyle.StateFlag.State_Selected)
        is_lit = is_chosen or bool(state & QStyle.StateFlag.State_MouseOver)
        painter.fillRect(rect, ink.colour("row_chosen" if is_lit else "row"))
        if is_chosen:
            painter.fillRect(QRect(rect.left(), rect.top(), BAR_PX, rect.height()), ink.colour("pencil"))
        top, right = rect.top() + 2, rect.right() - _PAD_PX
        mark = QRect(rect.left() + _PAD_PX, 0, _MARK_PX, _MARK_PX)
        mark.moveTop(rect.center().y() - _MARK_PX // 2)
        paint_mark(painter, mark.toRectF(), self._model.mark_at(index.row()), ink.look)
        left = mark.right() + 6
        if facts.number:
            number = QRect(left, rect.top(), 40, rect.height())
            self._number.draw(ink, number, facts.number, "ink", Side.MIDDLE)
            left = number.right() + 6
        used = self._length.draw(ink, QRect(left, top, right - left, 20), facts.length, "ink", Side.RIGHT)
        title = QRect(left, top, right - left - used - 8, 20)
        words = self._slugline if facts.number else self._name
        words.draw(ink, title, facts.title or NO_SLUGLINE, "ink" if facts.title else "dim")
        why = self._model.why_at(index.row())
        if not why and tile.scene is None and not facts.length_frames:
            why = "empty"
        colour = "pencil_text" if why == NO_PURPOSE else "dim"
        self._small.draw(ink, QRect(left, top + 20, right - left, 16), why or facts.detail, colour)
        if state & QStyle.StateFlag.State_HasFocus:
            ink.frame(rect, "pencil")

    def createEditor(self, parent: QWidget, option: QStyleOptionViewItem, index: Index) -> QWidget:
        facts = self._model.tile_at(index.row()).facts
        editor = QLineEdit(parent)
        editor.setFont(self._slugline.font if facts.number else self._name.font)
        name = f"Slugline of scene {facts.number}" if facts.number else "Name of the card"
        editor.setAccessibleName(name)
        return editor

    def updateEditorGeometry(self, editor: QWidget, option: QStyleOptionViewItem, index: Index) -> None:
        item: QRect = option.rect
        editor.setGeometry(item.adjusted(0, 0, -TILE_GAP_PX, -TILE_GAP_PX - 12))

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        width = self._view.area_px()
        return QSize(width // columns(width), ROW_PX)


class ShelfView(EntryView):
    """Shows what is set aside.

    Signals:
        put_back_wanted: What is chosen is to go back where it was: a double click, Return or B.
        laid_out: The tiles stand in another number of lines.
    """

    put_back_wanted = Signal()
    laid_out = Signal()

    def __init__(self, bench: Bench, model: ShelfModel, parent: QWidget | None = None) -> None:
        super().__init__(model, bench.theme, parent)
        self.setItemDelegate(TileDelegate(bench, model, self))
        self.setFlow(QListView.Flow.LeftToRight)
        self.setWrapping(True)
        self.setObjectName("shelf")
        self.setAccessibleName("Set aside")
        self.setAccessibleDescription("B puts back what is chosen where it was.")

    def area_px(self) -> int:
        """Return the width that tiles share: Qt leaves room for a scroll bar, whether there is one or not."""
        bar = self.verticalScrollBar()
        extent = self.style().pixelMetric(QStyle.PixelMetric.PM_ScrollBarExtent, None, bar)
        return self.width() - max(extent, bar.sizeHint().width()) - 1

    def height_wanted(self) -> int:
        """Return how high it has to be to show everything."""
        count = len(self._model.ids)
        if not count:
            return TILE_PX
        across = columns(self.area_px())
        return -(-count // across) * ROW_PX

    def place_at(self, _: QPoint) -> int:
        return len(self._model.ids)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and not self.is_editing:
            self.put_back_wanted.emit()
            return
        super().keyPressEvent(event)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        if event.button() == Qt.MouseButton.LeftButton and self.indexAt(event.position().toPoint()).isValid():
            self.put_back_wanted.emit()
            return
        super().mouseDoubleClickEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.scheduleDelayedItemsLayout()
        self.laid_out.emit()

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        painter = QPainter(self.viewport())
        ink = Ink(painter, self._theme.palette)
        if not self._model.ids:
            Words(sans(TEXT_PX)).draw(ink, self.viewport().rect().adjusted(4, 0, -8, 0), EMPTY_WORDS, "dim")
        self.paint_focus(ink)
        if self._drop_place != NOWHERE:
            ink.frame(self.viewport().rect(), "pencil")
        painter.end()
