"""What is set aside as an item model: a tile for each entry that is out of the film."""

import functools

from PySide6.QtCore import QMimeData, QObject, Qt, Signal

from desk.film.edits import Change
from desk.film.model import Film
from desk.ui.bench import Bench
from desk.ui.look.marks import Mark
from desk.ui.order.entry_list import ENTRY_ID_ROLE, LISTED_ROLE, EntryListModel, Index
from desk.ui.order.facts import NO_PURPOSE, FactsCache, spoken
from desk.ui.order.placing import onto_shelf
from desk.ui.order.rows import Tile, tiles_of


class ShelfModel(EntryListModel):
    """The entries that are set aside.

    Signals:
        placed: Entries were dropped onto the shelf: their ids, a tuple.
    """

    placed = Signal(object)

    def __init__(self, bench: Bench, parent: QObject | None = None) -> None:
        super().__init__(bench.session, parent)
        self._statuses = bench.statuses
        self._cache = FactsCache()
        self._on_changed(bench.session.film)
        bench.session.changed.connect(self._on_changed)
        bench.statuses.changed.connect(self._on_statuses_changed)

    def tile_at(self, row: int) -> Tile:
        """Return a tile."""
        listed = self.listed_at(row)
        assert isinstance(listed, Tile)
        return listed

    def mark_at(self, row: int) -> Mark:
        """Return the mark of a tile."""
        return self._statuses.mark(self.listed_at(row).entry)

    def why_at(self, row: int) -> str:
        """Return why an entry was set aside, or what would have been a reason."""
        tile = self.tile_at(row)
        if tile.reason or tile.scene is None:
            return tile.reason
        return tile.facts.detail or NO_PURPOSE

    def _on_changed(self, film: Film, _: Change | None = None) -> None:
        self.show_listed(tiles_of(film, self._cache))
        self._cache.forget_others(self._ids)

    def _on_statuses_changed(self, scene_ids: frozenset[str]) -> None:
        self.tell_changed([row for row, item in enumerate(self._ids) if item in scene_ids])

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        row = index.row()
        if not 0 <= row < len(self._ids):
            return None
        if role == LISTED_ROLE:
            return self._listed[self._ids[row]]
        if role == ENTRY_ID_ROLE:
            return self._ids[row]
        facts = self.listed_at(row).facts
        if role == Qt.ItemDataRole.DisplayRole:
            return spoken(facts)
        if role == Qt.ItemDataRole.EditRole:
            return facts.title
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return f"{spoken(facts)}, set aside, {self.mark_at(row).value}, {facts.length}"
        if role == Qt.ItemDataRole.ToolTipRole:
            lines = (f"{facts.number} {facts.title}".strip(), facts.detail, self.why_at(row), facts.length)
            return "\n".join(dict.fromkeys(line for line in lines if line))
        if role == Qt.ItemDataRole.AccessibleDescriptionRole:
            return self.why_at(row)
        return None

    def canDropMimeData(
        self, data: QMimeData, action: Qt.DropAction, row: int, column: int, parent: Index
    ) -> bool:
        if self._session.read_only:
            return False
        return any(item not in self._listed for item in self.ids_in(data))

    def dropMimeData(
        self, data: QMimeData, action: Qt.DropAction, row: int, column: int, parent: Index
    ) -> bool:
        ids = tuple(item for item in self.ids_in(data) if item not in self._listed)
        if not ids:
            return False
        done = self._session.do(functools.partial(onto_shelf, entry_ids=ids))
        if done:
            self.placed.emit(ids)
        return done
