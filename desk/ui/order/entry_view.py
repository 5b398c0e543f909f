"""What the views of the running order and of the shelf share: how entries are dragged and dropped."""

from PySide6.QtCore import (
    QItemSelection,
    QItemSelectionModel,
    QMimeData,
    QModelIndex,
    QPoint,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import (
    QDrag,
    QDragEnterEvent,
    QDragLeaveEvent,
    QDragMoveEvent,
    QDropEvent,
    QFocusEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPixmap,
)
from PySide6.QtWidgets import QAbstractItemView, QFrame, QListView, QWidget

from desk.film.wording import counted
from desk.ui.look.theme import Theme
from desk.ui.look.type import TEXT_PX, typewriter
from desk.ui.order.entry_list import EntryListModel
from desk.ui.order.facts import spoken
from desk.ui.order.ink import Ink, Words

_CHIP_PX = QSize(260, 32)
NOWHERE = -1


class EntryView(QListView):
    """A list of entries that are dragged and dropped as ids.

    Signals:
        dragged_over: What is dragged stands over another place: the ids and the place, or no ids where it is
            over none.
        drag_ended: A drag that began here is over, dropped or not.
        heading_wanted: Nothing is to be chosen: a click beside all entries, or Escape.
    """

    dragged_over = Signal(object, int)
    drag_ended = Signal()
    heading_wanted = Signal()

    def __init__(self, model: EntryListModel, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._model = model
        self._theme = theme
        self._drop_place = NOWHERE
        self.setModel(model)
        # The bench shows between the rows, and what has the keyboard is told by the row's own frame.
        self.setStyleSheet("QListView, QListView:focus { border: none; background: transparent; }")
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setResizeMode(QListView.ResizeMode.Adjust)
        self.setDragEnabled(True)
        self.setAcceptDrops(True)
        self.setDragDropMode(QAbstractItemView.DragDropMode.DragDrop)
        self.setDefaultDropAction(Qt.DropAction.MoveAction)
        # The place is painted by the views themselves: it lies between rows, not at one.
        self.setDropIndicatorShown(False)
        self.setContextMenuPolicy(Qt.ContextMenuPolicy.CustomContextMenu)
        self.setMouseTracking(True)
        theme.changed.connect(self._on_theme_changed)

    @property
    def drop_place(self) -> int:
        """Where what is dragged would be dropped now, or `NOWHERE`."""
        return self._drop_place

    @property
    def is_editing(self) -> bool:
        """Whether a name is being typed here; keys that its field lets through are not for the list."""
        return self.state() == QAbstractItemView.State.EditingState

    def chosen_ids(self) -> tuple[str, ...]:
        """Return the ids of the rows that are chosen, in order."""
        rows = sorted(index.row() for index in self.selectionModel().selectedRows())
        ids = self._model.ids
        return tuple(ids[row] for row in rows)

    def current_id(self) -> str:
        """Return the id of the row that the keyboard is at, or ""."""
        index = self.currentIndex()
        return self._model.ids[index.row()] if index.isValid() else ""

    def choose(self, entry_ids: tuple[str, ...]) -> None:
        """Choose these rows and no others; the keyboard is at the first of them."""
        chosen = self.selectionModel()
        rows = [row for entry_id in entry_ids if (row := self._model.row_of(entry_id)) >= 0]
        selection = QItemSelection()
        for row in rows:
            selection.select(self._model.index(row), self._model.index(row))
        chosen.select(selection, QItemSelectionModel.SelectionFlag.ClearAndSelect)
        if rows:
            index = self._model.index(rows[0])
            chosen.setCurrentIndex(index, QItemSelectionModel.SelectionFlag.NoUpdate)
            self.scrollTo(index)

    def rename(self, entry_id: str) -> None:
        """Edit the slugline or name of an entry in its place."""
        index = self._model.index(self._model.row_of(entry_id))
        if index.isValid() and index.flags() & Qt.ItemFlag.ItemIsEditable:
            self.scrollTo(index)
            self.edit(index)

    def place_at(self, _: QPoint) -> int:
        """Return the place that a point in the viewport means when something is dropped there."""
        return len(self._model.ids)

    def carry_over(self, data: QMimeData, place: int) -> bool:
        """Show that something dragged stands over a place; returns whether it may be dropped there."""
        is_allowed = self._allows(data, place)
        self._set_drop_place(place if is_allowed else NOWHERE, self._model.ids_in(data) if is_allowed else ())
        return is_allowed

    def carry_away(self) -> None:
        """Show that nothing is dragged over it any more."""
        self._set_drop_place(NOWHERE)

    def drop_at(self, data: QMimeData, place: int) -> bool:
        """Drop what is dragged at a place; returns whether it was taken."""
        self.carry_away()
        return self._allows(data, place) and self._model.dropMimeData(
            data, Qt.DropAction.MoveAction, place, 0, QModelIndex()
        )

    def _on_theme_changed(self) -> None:
        self.viewport().update()

    def _set_drop_place(self, place: int, ids: tuple[str, ...] = ()) -> None:
        if place != self._drop_place:
            self._drop_place = place
            self.viewport().update()
            self.dragged_over.emit(ids, place)

    def _allows(self, data: QMimeData, place: int) -> bool:
        return self._model.canDropMimeData(data, Qt.DropAction.MoveAction, place, 0, QModelIndex())

    def startDrag(self, supportedActions: Qt.DropAction) -> None:
        indexes = [index for index in self.selectedIndexes() if index.flags() & Qt.ItemFlag.ItemIsDragEnabled]
        if not indexes:
            return
        # The rows stay where they are until the film says otherwise, so nothing is removed afterwards.
        drag = QDrag(self)
        drag.setMimeData(self._model.mimeData(indexes))
        drag.setPixmap(self._chip(sorted(index.row() for index in indexes)))
        drag.setHotSpot(QPoint(-8, -8))
        drag.exec(supportedActions, Qt.DropAction.MoveAction)
        self._set_drop_place(NOWHERE)
        self.drag_ended.emit()

    def _chip(self, rows: list[int]) -> QPixmap:
        """Return what is shown under the pointer: the scene, or how many."""
        ratio = self.devicePixelRatioF()
        pixmap = QPixmap(_CHIP_PX * ratio)
        pixmap.setDevicePixelRatio(ratio)
        pixmap.fill(self._theme.colour("row_chosen"))
        text = counted(len(rows), "entry") if len(rows) > 1 else spoken(self._model.listed_at(rows[0]).facts)
        painter = QPainter(pixmap)
        ink = Ink(painter, self._theme.palette)
        area = pixmap.deviceIndependentSize().toSize()
        frame = self.rect()
        frame.setSize(area)
        frame.moveTo(0, 0)
        ink.frame(frame, "pencil", 1)
        Words(typewriter(TEXT_PX)).draw(ink, frame.adjusted(12, 0, -12, 0), text, "ink")
        painter.end()
        return pixmap

    def keyboardSearch(self, search: str) -> None:
        # Typing does nothing here: the field above searches, and single letters are keys of their own.
        return

    def paint_focus(self, ink: Ink) -> None:
        """Show that the keyboard is here although no row is there to say so."""
        if self.hasFocus() and not self._model.ids:
            ink.frame(self.viewport().rect(), "pencil", 1)

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        if not self.currentIndex().isValid() and self._model.ids:
            first = self.moveCursor(QAbstractItemView.CursorAction.MoveHome, Qt.KeyboardModifier.NoModifier)
            self.selectionModel().setCurrentIndex(first, QItemSelectionModel.SelectionFlag.NoUpdate)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.heading_wanted.emit()
            return
        super().keyPressEvent(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        super().mousePressEvent(event)
        is_left = event.button() == Qt.MouseButton.LeftButton
        if is_left and not self.indexAt(event.position().toPoint()).isValid():
            self.heading_wanted.emit()

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        super().dragEnterEvent(event)
        self.dragMoveEvent(event)

    def dragMoveEvent(self, event: QDragMoveEvent) -> None:
        # Qt scrolls the list when the pointer nears its edge; what is allowed, and where, is said here.
        super().dragMoveEvent(event)
        answer(event, taken=self.carry_over(event.mimeData(), self.place_at(event.position().toPoint())))

    def dragLeaveEvent(self, event: QDragLeaveEvent) -> None:
        super().dragLeaveEvent(event)
        self.carry_away()

    def dropEvent(self, event: QDropEvent) -> None:
        self.stopAutoScroll()
        self.setState(QAbstractItemView.State.NoState)
        answer(event, taken=self.drop_at(event.mimeData(), self.place_at(event.position().toPoint())))


def answer(event: QDropEvent, *, taken: bool) -> None:
    """Say to what drags whether it is taken; entries are moved, whatever keys are held."""
    if taken:
        event.setDropAction(Qt.DropAction.MoveAction)
        event.accept()
    else:
        event.ignore()
