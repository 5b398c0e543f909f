"""The files of a scene as an item model: an item for each row, by its path."""

import json
from collections.abc import Iterable, Sequence
from pathlib import Path

from PySide6.QtCore import (
    QAbstractListModel,
    QMimeData,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    Qt,
    QUrl,
)

from desk.ui.cutting.footage.rows import FootageRow
from desk.ui.order.differences import Insertion, Move, Removal, apply_step, runs, steps_between

MIME_TYPE = "application/x-desk-footage"
"""What is dragged: a JSON list of paths as the film names them."""

ROW_ROLE = Qt.ItemDataRole.UserRole + 1

Index = QModelIndex | QPersistentModelIndex
_ROOT = QModelIndex()


def footage_in(data: QMimeData) -> tuple[str, ...]:
    """Return the paths of footage in what is dragged, as the film names it; none where it holds none."""
    if not data.hasFormat(MIME_TYPE):
        return ()
    try:
        told = json.loads(bytes(data.data(MIME_TYPE).data()))
    except ValueError:
        return ()
    return tuple(path for path in told if isinstance(path, str)) if isinstance(told, list) else ()


class FootageModel(QAbstractListModel):
    """A list of files. It becomes another in the fewest steps, so that the choice stays with the files."""

    def __init__(self, folder: Path, parent: QObject | None = None) -> None:
        """Make an empty list.

        Args:
            folder: The project folder.
            parent: Who owns it.
        """
        super().__init__(parent)
        self._folder = folder
        self._paths: list[str] = []
        self._rows: dict[str, FootageRow] = {}

    @property
    def rows(self) -> tuple[FootageRow, ...]:
        """What is listed."""
        return tuple(self._rows[path] for path in self._paths)

    def row_at(self, index: int) -> FootageRow:
        """Return what stands at a place."""
        return self._rows[self._paths[index]]

    def place_of(self, path: str) -> int:
        """Return the place of a file, or -1."""
        return self._paths.index(path) if path in self._rows else -1

    def show_rows(self, rows: Sequence[FootageRow]) -> None:
        """Become another list, and tell what is different."""
        new = {row.path: row for row in rows}
        old = self._rows
        self._rows = new | old
        for step in steps_between(self._paths, tuple(new)):
            self._take(step)
        self._rows = new
        self._tell([place for place, path in enumerate(self._paths) if old.get(path, new[path]) != new[path]])

    def tell_looks(self, path: str) -> None:
        """Tell that the picture of a file is another one."""
        place = self.place_of(path)
        if place >= 0:
            self._tell([place], [Qt.ItemDataRole.DecorationRole])

    def _tell(self, places: Sequence[int], roles: Iterable[Qt.ItemDataRole] = ()) -> None:
        told = [int(role) for role in roles]
        for first, last in runs(places):
            self.dataChanged.emit(self.index(first), self.index(last), told)

    def _take(self, step: Removal | Move | Insertion) -> None:
        match step:
            case Removal(first, last):
                self.beginRemoveRows(_ROOT, first, last)
                apply_step(self._paths, step)
                self.endRemoveRows()
            case Move(first, last, to):
                self.beginMoveRows(_ROOT, first, last, _ROOT, to)
                apply_step(self._paths, step)
                self.endMoveRows()
            case Insertion(first, ids):
                self.beginInsertRows(_ROOT, first, first + len(ids) - 1)
                apply_step(self._paths, step)
                self.endInsertRows()

    def rowCount(self, parent: Index = _ROOT) -> int:
        return 0 if parent.isValid() else len(self._paths)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        if not index.isValid() or index.row() >= len(self._paths):
            return None
        row = self.row_at(index.row())
        if role == Qt.ItemDataRole.DisplayRole:
            return row.name
        if role == ROW_ROLE:
            return row
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return row.spoken
        if role == Qt.ItemDataRole.AccessibleDescriptionRole:
            return row.told
        if role == Qt.ItemDataRole.ToolTipRole:
            lines = (row.path, row.length, row.format, row.origin, row.use_words, row.told)
            return "\n".join(line for line in lines if line)
        return None

    def flags(self, index: Index) -> Qt.ItemFlag:
        if not index.isValid():
            return Qt.ItemFlag.NoItemFlags
        # What can't be read is chosen too, so that its reason can be read and heard.
        flags = Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable | Qt.ItemFlag.ItemNeverHasChildren
        return flags | Qt.ItemFlag.ItemIsDragEnabled if self.row_at(index.row()).is_known else flags

    def mimeTypes(self) -> list[str]:
        return [MIME_TYPE, "text/uri-list"]

    def mimeData(self, indexes: Iterable[QModelIndex]) -> QMimeData:
        rows = [self.row_at(place) for place in sorted({index.row() for index in indexes})]
        paths = [row.path for row in rows if row.is_known]
        data = QMimeData()
        data.setData(MIME_TYPE, json.dumps(paths).encode())
        data.setUrls([QUrl.fromLocalFile(str(self._folder / path)) for path in paths])
        return data

    def supportedDragActions(self) -> Qt.DropAction:
        # Footage is never moved, whatever it is dropped on.
        return Qt.DropAction.CopyAction
