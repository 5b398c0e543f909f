"""A table of a scene's sounds."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, QSize, Qt
from PySide6.QtGui import QColor
from PySide6.QtWidgets import QAbstractItemView, QWidget

from desk.ui.look.theme import Theme
from desk.ui.scene.fitted_table import FittedTable

_Index = QModelIndex | QPersistentModelIndex
_NO_INDEX = QModelIndex()


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell.

    Attributes:
        text: What stands in it.
        kind: "" for what is plain, `open` for what deserves a look, `fault` for what is wrong, `dim`.
        more: What the tool tip says, or "" for the text.
    """

    text: str
    kind: str = ""
    more: str = ""


@dataclass(frozen=True, slots=True)
class Column:
    """One column.

    Attributes:
        title: Its heading.
        width_px: Its width for figures, which stand at the right; 0 for words, which share the rest.
    """

    title: str
    width_px: int = 0


Rows = tuple[tuple[Cell, ...], ...]

_COLOURS = {"open": "pencil_text", "fault": "broken_text", "dim": "dim"}


class SoundModel(QAbstractTableModel):
    """Rows of cells. It is filled anew where their number changes, else only the rows that differ change."""

    def __init__(self, columns: Sequence[Column], theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._columns = tuple(columns)
        self._theme = theme
        self._rows: Rows = ()
        theme.changed.connect(self._on_theme_changed)

    def show_rows(self, rows: Rows) -> None:
        """Show these rows."""
        if len(rows) != len(self._rows):
            self.beginResetModel()
            self._rows = rows
            self.endResetModel()
            return
        before, self._rows = self._rows, rows
        last = len(self._columns) - 1
        for number, (old, new) in enumerate(zip(before, rows, strict=True)):
            if old != new:
                self.dataChanged.emit(self.index(number, 0), self.index(number, last))

    def _on_theme_changed(self) -> None:
        if self._rows:
            last = self.index(len(self._rows) - 1, len(self._columns) - 1)
            self.dataChanged.emit(self.index(0, 0), last, [Qt.ItemDataRole.ForegroundRole])

    def rowCount(self, parent: _Index = _NO_INDEX) -> int:
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: _Index = _NO_INDEX) -> int:
        return 0 if parent.isValid() else len(self._columns)

    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:  # noqa: ANN401 - Qt's own
        if not self.checkIndex(index, QAbstractTableModel.CheckIndexOption.IndexIsValid):
            return None
        cell, column = self._rows[index.row()][index.column()], self._columns[index.column()]
        match role:
            case Qt.ItemDataRole.DisplayRole:
                return cell.text
            case Qt.ItemDataRole.ToolTipRole:
                return cell.more or cell.text
            case Qt.ItemDataRole.AccessibleTextRole:
                return f"{column.title}: {cell.text or 'none'}"
            case Qt.ItemDataRole.ForegroundRole if cell.kind:
                return QColor(self._theme.colour(_COLOURS[cell.kind]))
            case Qt.ItemDataRole.TextAlignmentRole:
                side = Qt.AlignmentFlag.AlignRight if column.width_px else Qt.AlignmentFlag.AlignLeft
                return int(side | Qt.AlignmentFlag.AlignVCenter)
        return None

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:  # noqa: ANN401 - Qt's own
        if orientation is not Qt.Orientation.Horizontal or not 0 <= section < len(self._columns):
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return self._columns[section].title
        if role == Qt.ItemDataRole.TextAlignmentRole:
            side = (
                Qt.AlignmentFlag.AlignRight if self._columns[section].width_px else Qt.AlignmentFlag.AlignLeft
            )
            return int(side | Qt.AlignmentFlag.AlignVCenter)
        return None


class SoundTable(FittedTable):
    """The sounds of a scene, one to a row."""

    def __init__(
        self, name: str, columns: Sequence[Column], theme: Theme, parent: QWidget | None = None
    ) -> None:
        sounds = SoundModel(columns, theme)
        super().__init__(sounds, name, [column.width_px for column in columns], parent)
        self.sounds = sounds
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)

    def show_rows(self, rows: Rows) -> None:
        """Show these rows, as high as they are."""
        self.sounds.show_rows(rows)
        self.fit()

    def sizeHint(self) -> QSize:
        return QSize(480, self.minimumHeight())

    def minimumSizeHint(self) -> QSize:
        return QSize(320, self.minimumHeight())
