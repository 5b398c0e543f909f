"""What the models of the running order and of the shelf share: rows by entry, and what is dragged.

A model keeps what it shows and becomes another list in the fewest steps, so that choice and place on the
screen stay with the entries whatever was done, undone or done again.
"""

import json
from collections.abc import Sequence

from PySide6.QtCore import QAbstractListModel, QMimeData, QModelIndex, QObject, QPersistentModelIndex, Qt

from desk.film import edits
from desk.film.edits import Edit
from desk.film.model import Card, Film
from desk.ui.order.differences import Insertion, Move, Removal, apply_step, runs, steps_between
from desk.ui.order.rows import Listed
from desk.ui.session import Session

MIME_TYPE = "application/x-assembly-desk-entries"
"""What is dragged: JSON with `folder`, the project, and `entries`, the ids of scenes and cards."""

ENTRY_ID_ROLE = Qt.ItemDataRole.UserRole + 1
LISTED_ROLE = Qt.ItemDataRole.UserRole + 2

_READ_FLAGS = Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable | Qt.ItemFlag.ItemNeverHasChildren
_FLAGS = _READ_FLAGS | Qt.ItemFlag.ItemIsDragEnabled | Qt.ItemFlag.ItemIsEditable

Index = QModelIndex | QPersistentModelIndex
_ROOT = QModelIndex()


class EntryListModel(QAbstractListModel):
    """A list of entries of the film."""

    def __init__(self, session: Session, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._ids: list[str] = []
        self._listed: dict[str, Listed] = {}
        self._changing = False

    @property
    def ids(self) -> tuple[str, ...]:
        """Ids of the entries, in order."""
        return tuple(self._ids)

    @property
    def is_changing(self) -> bool:
        """Whether rows come, go or move at this moment, so that the choice is not settled."""
        return self._changing

    def row_of(self, entry_id: str) -> int:
        """Return the row of an entry, or -1."""
        return self._ids.index(entry_id) if entry_id in self._listed else -1

    def listed_at(self, row: int) -> Listed:
        """Return what stands in a row."""
        return self._listed[self._ids[row]]

    def ids_in(self, data: QMimeData) -> tuple[str, ...]:
        """Return the ids of entries of this film in what is dragged; none where it comes from elsewhere."""
        if not data.hasFormat(MIME_TYPE):
            return ()
        try:
            told = json.loads(bytes(data.data(MIME_TYPE).data()))
            ids = tuple(told["entries"]) if told["folder"] == str(self._session.folder) else ()
        except (ValueError, TypeError, KeyError):
            return ()
        known = self._session.film.entries()
        return tuple(item for item in ids if isinstance(item, str) and item in known)

    def show_listed(self, listed: Sequence[Listed]) -> None:
        """Become another list, and tell what is different."""
        new = {item.entry.id: item for item in listed}
        old = self._listed
        self._listed = new | old
        self._changing = True
        try:
            for step in steps_between(self._ids, tuple(new)):
                self._take(step)
        finally:
            self._changing = False
            self._listed = new
        self.tell_changed(
            [row for row, item in enumerate(self._ids) if item in old and old[item] != new[item]]
        )

    def tell_changed(self, rows: Sequence[int], roles: Sequence[Qt.ItemDataRole] = ()) -> None:
        """Tell that rows are shown in another way.

        Args:
            rows: The rows, rising.
            roles: What of them; none for all.
        """
        for first, last in runs(rows):
            self.dataChanged.emit(self.index(first), self.index(last), [int(role) for role in roles])

    def _take(self, step: Removal | Move | Insertion) -> None:
        match step:
            case Removal(first, last):
                self.beginRemoveRows(_ROOT, first, last)
                apply_step(self._ids, step)
                self.endRemoveRows()
            case Move(first, last, to):
                self.beginMoveRows(_ROOT, first, last, _ROOT, to)
                apply_step(self._ids, step)
                self.endMoveRows()
            case Insertion(first, ids):
                self.beginInsertRows(_ROOT, first, first + len(ids) - 1)
                apply_step(self._ids, step)
                self.endInsertRows()

    def rename(self, row: int, name: str) -> bool:
        """Give a scene another slugline, or a card another name; returns whether the film allowed it."""
        entry_id, is_card = self._ids[row], isinstance(self.listed_at(row).entry, Card)

        def make(film: Film) -> Edit:
            if is_card:
                return edits.edit_card(film, entry_id, name=name.strip())
            return edits.edit_story(film, entry_id, slugline=name.strip())

        return self._session.do(make)

    def rowCount(self, parent: Index = _ROOT) -> int:
        return 0 if parent.isValid() else len(self._ids)

    def flags(self, index: Index) -> Qt.ItemFlag:
        # Rows take no drops themselves, so that what is dropped goes into the gap between two.
        if not index.isValid():
            return Qt.ItemFlag.ItemIsDropEnabled
        return _READ_FLAGS if self._session.read_only else _FLAGS

    def setData(self, index: Index, value: object, role: int = Qt.ItemDataRole.EditRole) -> bool:
        if role != Qt.ItemDataRole.EditRole or not index.isValid() or not isinstance(value, str):
            return False
        return self.rename(index.row(), value)

    def supportedDragActions(self) -> Qt.DropAction:
        return Qt.DropAction.MoveAction

    def supportedDropActions(self) -> Qt.DropAction:
        return Qt.DropAction.MoveAction

    def mimeTypes(self) -> list[str]:
        return [MIME_TYPE]

    def mimeData(self, indexes: Sequence[QModelIndex]) -> QMimeData:
        rows = sorted({index.row() for index in indexes if index.isValid()})
        told = {"folder": str(self._session.folder), "entries": [self._ids[row] for row in rows]}
        data = QMimeData()
        data.setData(MIME_TYPE, json.dumps(told).encode())
        return data
