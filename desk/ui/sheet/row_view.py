"""The table of rows: its keys, and the cells that are typed in."""

from enum import Enum, auto

from PySide6.QtCore import (
    QAbstractItemModel,
    QEvent,
    QItemSelection,
    QItemSelectionModel,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    Qt,
    Signal,
)
from PySide6.QtGui import QGuiApplication, QKeyEvent, QKeySequence, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemDelegate,
    QAbstractItemView,
    QHeaderView,
    QLineEdit,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from desk.ui.fields import undoes
from desk.ui.sheet.rows_model import RowsModel

Index = QModelIndex | QPersistentModelIndex

ROW_PX = 28
_MOST_ROWS = 14
_FIRST_SHARE = 0.42

_Key = Qt.Key
_RETURNS = (_Key.Key_Return, _Key.Key_Enter)
_Standard = QKeySequence.StandardKey


class CellDelegate(QStyledItemDelegate):
    """Cells that give what is typed to the film at once.

    Signals:
        returned: Return was pressed in a cell, which is closed now.
        pasted: Rows of cells were pasted into one cell, which is closed now.
        ended: A cell is closed.
    """

    returned = Signal()
    pasted = Signal()
    ended = Signal()

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self._is_giving = False
        self._before = ""
        self.closeEditor.connect(self._on_closed)

    def createEditor(self, parent: QWidget, option: QStyleOptionViewItem, index: Index) -> QWidget:
        edit = QLineEdit(parent)
        text = index.data(Qt.ItemDataRole.AccessibleTextRole)
        edit.setAccessibleName(f"{str(text).partition(':')[0]}, row {index.row() + 1}")
        edit.textEdited.connect(self._on_typed)
        self._before = str(index.data(Qt.ItemDataRole.EditRole))
        return edit

    def setEditorData(self, editor: QWidget, index: Index) -> None:
        # What the film makes of what is typed is not put back into the cell while it is typed in.
        if not self._is_giving and isinstance(editor, QLineEdit):
            text = str(index.data(Qt.ItemDataRole.EditRole))
            if editor.text() != text:
                editor.setText(text)

    def setModelData(self, editor: QWidget, model: QAbstractItemModel, index: Index) -> None:
        if isinstance(editor, QLineEdit):
            self._is_giving = True
            model.setData(index, editor.text())
            self._is_giving = False

    def updateEditorGeometry(self, editor: QWidget, option: QStyleOptionViewItem, index: Index) -> None:
        editor.setGeometry(option.rect)

    def eventFilter(self, editor: QObject, event: QEvent) -> bool:
        if undoes(event):
            event.ignore()
            return True
        if (
            isinstance(event, QKeyEvent)
            and event.type() == QEvent.Type.KeyPress
            and isinstance(editor, QLineEdit)
        ):
            if event.key() in _RETURNS:
                self._close(editor)
                self.returned.emit()
                return True
            if event.key() == _Key.Key_Escape:
                editor.setText(self._before)
                self._close(editor)
                return True
            if event.matches(_Standard.Paste) and is_table(QGuiApplication.clipboard().text()):
                self._close(editor)
                self.pasted.emit()
                return True
        return super().eventFilter(editor, event)

    def _close(self, editor: QLineEdit) -> None:
        self.commitData.emit(editor)
        self.closeEditor.emit(editor, QAbstractItemDelegate.EndEditHint.NoHint)

    def _on_typed(self) -> None:
        editor = self.sender()
        if isinstance(editor, QLineEdit):
            self.commitData.emit(editor)

    def _on_closed(self) -> None:
        self.ended.emit()


class Wish(Enum):
    """What a key asks of the rows."""

    ADD = auto()
    ADD_HEADING = auto()
    REMOVE = auto()
    UP = auto()
    DOWN = auto()
    COPY = auto()
    CUT = auto()
    PASTE = auto()


class RowView(QTableView):
    """A table that is as high as its rows, up to a limit.

    Signals:
        wished: A key was pressed that asks something of the rows: a `Wish`.
    """

    wished = Signal(object)

    def __init__(self, model: RowsModel, parent: QWidget) -> None:
        super().__init__(parent)
        self.cells = CellDelegate(self)
        self.setModel(model)
        self.setItemDelegate(self.cells)
        self.setShowGrid(False)
        self.setAlternatingRowColors(False)
        self.setWordWrap(False)
        self.setTabKeyNavigation(False)
        self.setCornerButtonEnabled(False)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.ContiguousSelection)
        triggers = QAbstractItemView.EditTrigger
        self.setEditTriggers(triggers.DoubleClicked | triggers.EditKeyPressed | triggers.AnyKeyPressed)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.verticalHeader().hide()
        self.verticalHeader().setMinimumSectionSize(ROW_PX)
        self.verticalHeader().setDefaultSectionSize(ROW_PX)
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        head = self.horizontalHeader()
        head.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        head.setHighlightSections(False)
        head.setSectionsClickable(False)
        head.setSectionResizeMode(1, QHeaderView.ResizeMode.Stretch)
        model.rowsInserted.connect(self.fit)
        model.rowsRemoved.connect(self.fit)
        model.dataChanged.connect(self._span)
        self.fit()

    def chosen(self) -> tuple[int, int]:
        """Return the first of the chosen rows and how many there are; 0 rows where none is."""
        rows = [index.row() for index in self.selectionModel().selectedRows()]
        if not rows and self.currentIndex().isValid():
            rows = [self.currentIndex().row()]
        return (min(rows), max(rows) - min(rows) + 1) if rows else (0, 0)

    def go_to(self, row: int, column: int = 0) -> None:
        """Choose a cell."""
        self.setCurrentIndex(self.model().index(row, column))

    def type_in(self, row: int, column: int = 0) -> None:
        """Choose a cell and type in it, where that is allowed."""
        self.go_to(row, column)
        if self.currentIndex().flags() & Qt.ItemFlag.ItemIsEditable:
            self.edit(self.currentIndex())

    def choose(self, first: int, count: int) -> None:
        """Choose some rows, one after the other."""
        self.go_to(first)
        flags = QItemSelectionModel.SelectionFlag
        rows = QItemSelection(self.model().index(first, 0), self.model().index(first + count - 1, 1))
        self.selectionModel().select(rows, flags.ClearAndSelect | flags.Rows)

    def fit(self) -> None:
        """Take the height of the rows, and give headings the whole width."""
        rows = min(max(1, self.model().rowCount()), _MOST_ROWS)
        self.setFixedHeight(rows * ROW_PX + self.horizontalHeader().sizeHint().height() + 2)
        self._span()

    def _span(self) -> None:
        self.clearSpans()
        model = self.model()
        if isinstance(model, RowsModel):
            for at, row in enumerate(model.rows):
                if row.is_heading:
                    self.setSpan(at, 0, 1, 2)

    def event(self, event: QEvent) -> bool:
        # Keys that the window has too mean the rows while they have the focus.
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.ShortcutOverride and _wish(event):
            event.accept()
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if wish := _wish(event):
            self.wished.emit(wish)
        elif event.key() in _RETURNS and self.currentIndex().isValid():
            self.type_in(self.currentIndex().row(), self._column())
        else:
            super().keyPressEvent(event)

    def _column(self) -> int:
        return 0 if self.columnSpan(self.currentIndex().row(), 0) > 1 else self.currentIndex().column()

    def resizeEvent(self, event: QResizeEvent) -> None:
        self.horizontalHeader().resizeSection(0, round(self.viewport().width() * _FIRST_SHARE))
        super().resizeEvent(event)


def is_table(text: str) -> bool:
    """Return whether text is more than one cell."""
    return "\t" in text or "\n" in text.strip("\n")


def _wish(event: QKeyEvent) -> Wish | None:
    for keys, wish in (
        (_Standard.Copy, Wish.COPY),
        (_Standard.Cut, Wish.CUT),
        (_Standard.Paste, Wish.PASTE),
    ):
        if event.matches(keys):
            return wish
    modifiers = event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
    return _WISHES.get((modifiers, _Key(event.key())))


_PLAIN, _ALT = Qt.KeyboardModifier.NoModifier, Qt.KeyboardModifier.AltModifier
_WISHES = {
    (_PLAIN, _Key.Key_Insert): Wish.ADD,
    (_ALT, _Key.Key_Insert): Wish.ADD_HEADING,
    (_PLAIN, _Key.Key_Delete): Wish.REMOVE,
    (_PLAIN, _Key.Key_Backspace): Wish.REMOVE,
    (_ALT, _Key.Key_Up): Wish.UP,
    (_ALT, _Key.Key_Down): Wish.DOWN,
}
