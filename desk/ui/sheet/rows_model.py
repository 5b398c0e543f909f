"""Rows of two cells as an item model."""

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt, Signal
from PySide6.QtGui import QFont

from desk.ui.look.theme import Theme
from desk.ui.look.type import sans
from desk.ui.sheet.rows import Row, Rows

Index = QModelIndex | QPersistentModelIndex

NO_HEADING = "no heading"
"""Shown where a heading is blank."""

_SHOWN = Qt.ItemDataRole.DisplayRole
_NOWHERE = QModelIndex()


class RowsModel(QAbstractTableModel):
    """The rows of a table.

    Signals:
        typed: A cell is another one now: all rows as they are with it.
    """

    typed = Signal(object)

    def __init__(
        self, heads: tuple[str, str], theme: Theme, parent: QObject | None = None, *, quiet: int = 0
    ) -> None:
        """Make a model without rows.

        Args:
            heads: What the cells of a row are.
            theme: Colours in use.
            parent: Who owns it.
            quiet: Which of the two cells matters less.
        """
        super().__init__(parent)
        self._quiet = quiet
        self._heads = heads
        self._theme = theme
        self._rows: Rows = ()
        self._reason = ""

    @property
    def rows(self) -> Rows:
        """All rows as they are shown."""
        return self._rows

    def set_read_only(self, reason: str) -> None:
        """Say that no cell can be typed in, and why; "" to take that back."""
        self._reason = reason

    def put(self, rows: Rows) -> None:
        """Show other rows; only what differs is told, so that what is chosen stays so."""
        old = self._rows
        if len(old) == len(rows):
            self._rows = rows
            for at, (was, now) in enumerate(zip(old, rows, strict=True)):
                if was != now:
                    self.dataChanged.emit(self.index(at, 0), self.index(at, 1))
            return
        least = min(len(old), len(rows))
        same = 0
        while same < least and old[same] == rows[same]:
            same += 1
        after = 0
        while after < least - same and old[-1 - after] == rows[-1 - after]:
            after += 1
        if len(old) - after > same:
            self.beginRemoveRows(_NOWHERE, same, len(old) - after - 1)
            self._rows = (*old[:same], *old[len(old) - after :])
            self.endRemoveRows()
        if len(rows) - after > same:
            self.beginInsertRows(_NOWHERE, same, len(rows) - after - 1)
            self._rows = rows
            self.endInsertRows()

    def rowCount(self, parent: Index = _NOWHERE) -> int:
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: Index = _NOWHERE) -> int:
        return 0 if parent.isValid() else 2

    def flags(self, index: Index) -> Qt.ItemFlag:
        flags = Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable
        if not index.isValid():
            return Qt.ItemFlag.NoItemFlags
        if not self._reason and not (self._rows[index.row()].is_heading and index.column()):
            flags |= Qt.ItemFlag.ItemIsEditable
        return flags

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = _SHOWN) -> object:
        if orientation is Qt.Orientation.Horizontal and role == _SHOWN and section < 2:
            return self._heads[section]
        return None

    def data(self, index: Index, role: int = _SHOWN) -> object:
        if not index.isValid():
            return None
        row = self._rows[index.row()]
        text = row.second if index.column() else row.first
        roles = Qt.ItemDataRole
        if role == roles.EditRole:
            return text
        if role == roles.DisplayRole:
            return NO_HEADING if row.is_heading and not index.column() and not text else text
        if role == roles.FontRole and row.is_heading:
            return _heading_font(blank=not text)
        if role == roles.ForegroundRole and (
            not index.column() if row.is_heading else index.column() == self._quiet
        ):
            return self._theme.colour("ink" if row.is_heading and text else "dim")
        if role == roles.AccessibleTextRole:
            return (
                f"Heading: {text or NO_HEADING}"
                if row.is_heading
                else f"{self._heads[index.column()]}: {text}"
            )
        return (self._reason or text) if role == roles.ToolTipRole else None

    def setData(self, index: Index, value: object, role: int = Qt.ItemDataRole.EditRole) -> bool:
        if role != Qt.ItemDataRole.EditRole or not index.isValid() or not isinstance(value, str):
            return False
        at, row = index.row(), self._rows[index.row()]
        text = " ".join(value.splitlines())
        if row.is_heading:
            changed = Row(text, is_heading=True)
        elif index.column():
            changed = Row(row.first, text)
        else:
            changed = Row(text, row.second)
        if changed != row:
            self.put((*self._rows[:at], changed, *self._rows[at + 1 :]))
            self.typed.emit(self._rows)
        return True


def _heading_font(*, blank: bool) -> QFont:
    return sans(strong=not blank, italic=blank)
