"""The list of what levelling would change."""

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt, Signal
from PySide6.QtGui import QColor
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableView, QWidget

from desk.ui.look.theme import Theme
from desk.ui.look.type import sans
from desk.ui.scene.voices.level_lines import LevelLine, LineKind

_TITLES = ("", "Gain", "Loudness", "To know")
_NAME_PX, _GAIN_PX, _LEVEL_PX, _ROW_PX = 200, 148, 160, 26

_Index = QModelIndex | QPersistentModelIndex
_NO_INDEX = QModelIndex()


class LevelModel(QAbstractTableModel):
    """Lines as rows."""

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._theme = theme
        self.lines: tuple[LevelLine, ...] = ()

    def show_lines(self, lines: Sequence[LevelLine]) -> None:
        """Show lines."""
        if tuple(lines) != self.lines:
            self.beginResetModel()
            self.lines = tuple(lines)
            self.endResetModel()

    def rowCount(self, parent: _Index = _NO_INDEX) -> int:
        return 0 if parent.isValid() else len(self.lines)

    def columnCount(self, parent: _Index = _NO_INDEX) -> int:
        return 0 if parent.isValid() else len(_TITLES)

    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:  # noqa: ANN401 - Qt's own
        if not self.checkIndex(index, QAbstractTableModel.CheckIndexOption.IndexIsValid):
            return None
        line = self.lines[index.row()]
        texts = (line.name, line.gain, line.level, line.told)
        match role:
            case Qt.ItemDataRole.DisplayRole:
                return texts[index.column()]
            case Qt.ItemDataRole.ToolTipRole:
                return "\n".join(text for text in texts if text)
            case Qt.ItemDataRole.AccessibleTextRole:
                words = ", ".join(text for text in texts if text)
                return words if index.column() == 0 else texts[index.column()] or "none"
            case Qt.ItemDataRole.FontRole if line.kind is LineKind.SCENE:
                return sans(strong=True)
            case Qt.ItemDataRole.ForegroundRole:
                return QColor(self._theme.colour(self._colour(line, index.column())))
        return None

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:  # noqa: ANN401 - Qt's own
        is_title = orientation is Qt.Orientation.Horizontal and 0 <= section < len(_TITLES)
        if is_title and role == Qt.ItemDataRole.DisplayRole:
            return _TITLES[section]
        if is_title and role == Qt.ItemDataRole.TextAlignmentRole:
            return int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        return None

    def _colour(self, line: LevelLine, column: int) -> str:
        if column == len(_TITLES) - 1 and line.kind is not LineKind.LEFT:
            return "dim" if line.kind is LineKind.SCENE else "pencil_text"
        return "dim" if line.kind in (LineKind.SAME, LineKind.LEFT) else "ink"


class LevelList(QTableView):
    """Says line by line what changes, from which gain to which.

    Signals:
        told: All that a person should know of the line that is chosen.
    """

    told = Signal(str)

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self.levels = LevelModel(theme, self)
        self.setModel(self.levels)
        self.setAccessibleName("What levelling would change")
        self.setShowGrid(False)
        self.setWordWrap(False)
        self.setTabKeyNavigation(False)
        self.setTextElideMode(Qt.TextElideMode.ElideRight)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.verticalHeader().hide()
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.verticalHeader().setDefaultSectionSize(_ROW_PX)
        header = self.horizontalHeader()
        header.setSectionsClickable(False)
        header.setHighlightSections(False)
        for column, width in enumerate((_NAME_PX, _GAIN_PX, _LEVEL_PX)):
            header.setSectionResizeMode(column, QHeaderView.ResizeMode.Fixed)
            self.setColumnWidth(column, width)
        header.setSectionResizeMode(len(_TITLES) - 1, QHeaderView.ResizeMode.Stretch)
        self.selectionModel().currentRowChanged.connect(self._on_current)

    def show_lines(self, lines: Sequence[LevelLine]) -> None:
        """Show lines."""
        self.levels.show_lines(lines)
        self.told.emit("")

    def _on_current(self, index: QModelIndex) -> None:
        self.told.emit(self.levels.lines[index.row()].told if index.isValid() else "")
