"""The contact strip: files in cells that fill its width, chosen and added with mouse and keyboard."""

from PySide6.QtCore import (
    QEvent,
    QItemSelectionModel,
    QMimeData,
    QModelIndex,
    QPoint,
    QRect,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import (
    QContextMenuEvent,
    QDrag,
    QGuiApplication,
    QKeyEvent,
    QPainter,
    QPixmap,
    QResizeEvent,
)
from PySide6.QtWidgets import QAbstractItemView, QFrame, QListView, QWidget

from desk.film.wording import counted
from desk.ui.bench import Bench
from desk.ui.cutting.footage.cells import LEAST_CELL_PX, FootageDelegate, Outline, cell_height
from desk.ui.cutting.footage.model import FootageModel
from desk.ui.cutting.footage.rows import FootageRow
from desk.ui.look.type import TEXT_PX, sans
from desk.ui.order.ink import Ink, Words

_MOST_LINES = 2.5
"""So many lines of cells are shown; the half one tells that there are more."""

_CHIP_PX = QSize(240, 32)
_RETURNS = (Qt.Key.Key_Return, Qt.Key.Key_Enter)


class FootageView(QListView):
    """Shows files as cells.

    Signals:
        add_wanted: What is chosen is to be added; whether at the playhead rather than in natural order.
        show_wanted: The file that the keyboard is at is to be shown in the viewer.
        menu_wanted: The menu of what is chosen is to open; where, on the screen.
        chosen: Other files are chosen.
    """

    add_wanted = Signal(bool)
    show_wanted = Signal()
    menu_wanted = Signal(QPoint)
    chosen = Signal()

    def __init__(
        self,
        bench: Bench,
        model: FootageModel,
        parent: QWidget | None = None,
        *,
        outline: Outline | None = None,
    ) -> None:
        """Make the strip.

        Args:
            bench: Pictures and colours.
            model: What it shows.
            parent: Who owns it.
            outline: Gives the outline of a sound, or None where it is not there yet.
        """
        super().__init__(parent)
        self._bench = bench
        self._footage = model
        self._cells = FootageDelegate(bench, self, outline=outline)
        self.setModel(model)
        self.setItemDelegate(self._cells)
        self.setAccessibleName("Footage of the scene")
        self.setAccessibleDescription(
            "Return adds what is chosen in natural order, Control and Return at the playhead, Shift and "
            "Return shows it in the viewer. The menu key opens its menu."
        )
        self.setProperty("kind", "plain")
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setViewMode(QListView.ViewMode.IconMode)
        self.setMovement(QListView.Movement.Static)
        self.setResizeMode(QListView.ResizeMode.Adjust)
        self.setUniformItemSizes(True)
        self.setSpacing(0)
        self.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.setSelectionRectVisible(True)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setMouseTracking(True)
        self.setDragEnabled(True)
        self.setAcceptDrops(False)
        self.setDragDropMode(QAbstractItemView.DragDropMode.DragOnly)
        self.doubleClicked.connect(self._on_double_clicked)
        self.selectionModel().selectionChanged.connect(self.chosen)
        model.rowsInserted.connect(self._fit_cells)
        model.rowsRemoved.connect(self._fit_cells)
        model.dataChanged.connect(self._on_data_changed)
        bench.theme.changed.connect(self.viewport().update)
        self._fit_cells()

    def chosen_rows(self) -> tuple[FootageRow, ...]:
        """Return the files that are chosen, in the order of the list."""
        places = sorted(index.row() for index in self.selectionModel().selectedIndexes())
        return tuple(self._footage.row_at(place) for place in places)

    def current_row(self) -> FootageRow | None:
        """Return the file that the keyboard is at."""
        index = self.currentIndex()
        return self._footage.row_at(index.row()) if index.isValid() else None

    def choose(self, path: str) -> None:
        """Choose one file and bring it into view."""
        index = self._footage.index(self._footage.place_of(path))
        if index.isValid():
            # By itself Qt adds to what is chosen while Ctrl is held.
            self.selectionModel().setCurrentIndex(index, QItemSelectionModel.SelectionFlag.ClearAndSelect)
            self.scrollTo(index)

    def _columns_px(self) -> int:
        """Return the width that cells share: Qt keeps room for a scroll bar free, shown or not."""
        return self.maximumViewportSize().width() - self.verticalScrollBar().sizeHint().width()

    def _columns(self) -> int:
        return max(1, self._columns_px() // LEAST_CELL_PX)

    def _fit_cells(self) -> None:
        # Qt wraps a cell that ends on the very edge.
        cell = max(LEAST_CELL_PX, (self._columns_px() - 1) // self._columns())
        has_origin = any(row.origin for row in self._footage.rows)
        size = QSize(cell, cell_height(cell, has_origin=has_origin))
        if size != self._cells.cell_size or size != self.gridSize():
            self._cells.cell_size = size
            self.setGridSize(size)
        self._fit_height()

    def _fit_height(self) -> None:
        lines = max(1, -(-self._footage.rowCount() // self._columns()))
        height = round(min(lines, _MOST_LINES) * self._cells.cell_size.height()) + 2
        if height != self.height():
            self.setFixedHeight(height)

    def _on_data_changed(self, _first: QModelIndex, _last: QModelIndex, roles: list[int]) -> None:
        # What is known of a file brings its camera; another picture changes no size.
        if not roles:
            self._fit_cells()

    def _on_double_clicked(self, _: QModelIndex) -> None:
        modifiers = QGuiApplication.keyboardModifiers()
        self.add_wanted.emit(bool(modifiers & Qt.KeyboardModifier.ControlModifier))

    def _chip(self, count: int, first: str) -> QPixmap:
        """Return what hangs at the pointer while files are dragged."""
        ratio = self.devicePixelRatioF()
        chip = QPixmap(_CHIP_PX * ratio)
        chip.setDevicePixelRatio(ratio)
        painter = QPainter(chip)
        ink = Ink(painter, self._bench.theme.palette)
        whole = QRect(0, 0, _CHIP_PX.width(), _CHIP_PX.height())
        painter.fillRect(whole, ink.colour("row_chosen"))
        ink.frame(whole, "pencil")
        told = first if count == 1 else counted(count, "file")
        Words(sans(TEXT_PX, strong=True)).draw(ink, whole.adjusted(12, 0, -12, 0), told, "ink")
        painter.end()
        return chip

    def startDrag(self, actions: Qt.DropAction) -> None:
        indexes = [index for index in self.selectedIndexes() if self._footage.row_at(index.row()).is_known]
        if not indexes:
            return
        data: QMimeData = self._footage.mimeData(indexes)
        drag = QDrag(self)
        drag.setMimeData(data)
        drag.setPixmap(self._chip(len(indexes), self._footage.row_at(indexes[0].row()).name))
        drag.exec(Qt.DropAction.CopyAction)

    def event(self, event: QEvent) -> bool:
        # A key of the window must not take what adds footage here.
        if (
            event.type() == QEvent.Type.ShortcutOverride
            and isinstance(event, QKeyEvent)
            and event.key() in _RETURNS
        ):
            event.accept()
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() not in _RETURNS:
            super().keyPressEvent(event)
        elif event.modifiers() & Qt.KeyboardModifier.ShiftModifier:
            self.show_wanted.emit()
        else:
            self.add_wanted.emit(bool(event.modifiers() & Qt.KeyboardModifier.ControlModifier))

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        place = event.globalPos()
        if event.reason() is QContextMenuEvent.Reason.Keyboard:
            index = self.currentIndex()
            if not index.isValid():
                return
            place = self.viewport().mapToGlobal(self.visualRect(index).center())
        elif not self.indexAt(event.pos()).isValid():
            return
        self.menu_wanted.emit(place)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit_cells()
