"""The running order as an item model: a row for each placement."""

import functools
from collections.abc import Mapping
from fractions import Fraction

from PySide6.QtCore import QMimeData, QObject, Qt, Signal

from desk.film.edits import Change
from desk.film.model import Card, Delivery, Film
from desk.film.wording import sentence
from desk.ui.bench import Bench
from desk.ui.look.marks import Mark
from desk.ui.order.entry_list import ENTRY_ID_ROLE, LISTED_ROLE, EntryListModel, Index
from desk.ui.order.facts import FactsCache, spoken
from desk.ui.order.gaps import join_sentence
from desk.ui.order.placing import into_order
from desk.ui.order.rows import Row, rows_of
from desk.ui.status import SceneStatus

_LOOKS = (Qt.ItemDataRole.DecorationRole,)
"""What is told of when a row looks different, but is neither taller nor worded otherwise."""


class OrderModel(EntryListModel):
    """The running order.

    Signals:
        placed: Entries were dropped into the order: their ids, a tuple.
    """

    placed = Signal(object)

    def __init__(self, bench: Bench, parent: QObject | None = None) -> None:
        super().__init__(bench.session, parent)
        self._media = bench.media
        self._statuses = bench.statuses
        self._cache = FactsCache()
        self._source_seconds: Mapping[str, Fraction] | None = None
        self._delivery: Delivery = bench.session.film.delivery
        self.show_film(bench.session.film)
        bench.session.changed.connect(self._on_changed)
        bench.media.changed.connect(self._on_media_changed)
        bench.statuses.changed.connect(self._on_statuses_changed)
        bench.thumbnails.made.connect(self._on_thumbnail_made)

    def row_at(self, row: int) -> Row:
        """Return what stands in a row."""
        listed = self.listed_at(row)
        assert isinstance(listed, Row)
        return listed

    def status_at(self, row: int) -> SceneStatus | None:
        """Return how the scene in a row stands, or None for a card."""
        scene = self.listed_at(row).scene
        return self._statuses.of(scene) if scene else None

    def mark_at(self, row: int) -> Mark:
        """Return the mark of a row."""
        return self._statuses.mark(self.listed_at(row).entry)

    def show_film(self, film: Film) -> None:
        """Show the running order of a film."""
        if self._source_seconds is None:
            self._source_seconds = self._media.source_seconds()
        self.show_listed(rows_of(film, self._cache, self._source_seconds))
        self._cache.forget_others(self._ids)

    def spoken_at(self, row: int) -> str:
        """Return a row in words for the ear."""
        listed = self.row_at(row)
        if isinstance(listed.entry, Card):
            return f"{spoken(listed.facts)}, {listed.facts.length}"
        tension = listed.entry.tension
        told = "tension not said" if tension is None else f"tension {tension}"
        return f"{spoken(listed.facts)}, {self.mark_at(row).value}, {listed.facts.length}, {told}"

    def described_at(self, row: int) -> str:
        """Return what else there is to say of a row, in sentences."""
        listed = self.row_at(row)
        told = [f"Starts at {listed.start}.", join_sentence(listed.gap)]
        if listed.facts.cues:
            told.append(f"Music: {listed.facts.cues}.")
        if listed.facts.note:
            told.append(f"Grade: {listed.facts.note}.")
        told += self._open_sentences(row)
        return " ".join(told)

    def tip_at(self, row: int) -> str:
        """Return all words of a row, as they may be cut short on the screen."""
        listed = self.row_at(row)
        facts = listed.facts
        lines = [
            " ".join(part for part in (facts.number, facts.title) if part),
            facts.detail,
            facts.cues and f"Music: {facts.cues}",
            facts.note and f"Grade: {facts.note}",
            f"{facts.length}, from {listed.start}",
        ]
        lines += self._open_sentences(row)
        return "\n".join(line for line in lines if line)

    def _open_sentences(self, row: int) -> tuple[str, ...]:
        """Return what is broken in a lock, or open in a draft."""
        scene = self.listed_at(row).scene
        if scene is None:
            return ()
        status = self._statuses.of(scene)
        return status.broken if scene.lock else tuple(item.sentence for item in status.open)

    def _on_changed(self, film: Film, _: Change) -> None:
        # Undo, merged steps and edits of several kinds all come as films: the difference of the lists is
        # told, whatever the change is called.
        asks_other_proofs = film.delivery != self._delivery
        self._delivery = film.delivery
        self.show_film(film)
        if asks_other_proofs:
            self.tell_changed(range(len(self._ids)), _LOOKS)

    def _on_media_changed(self, _: object) -> None:
        self._source_seconds = None
        self.show_film(self._session.film)

    def _on_statuses_changed(self, scene_ids: frozenset[str]) -> None:
        self.tell_changed([row for row, item in enumerate(self._ids) if item in scene_ids], _LOOKS)

    def _on_thumbnail_made(self, source: str) -> None:
        rows = [
            row
            for row, item in enumerate(self._ids)
            if any(moment.source == source for moment in self._listed[item].facts.moments)
        ]
        self.tell_changed(rows, _LOOKS)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        row = index.row()
        if not 0 <= row < len(self._ids):
            return None
        if role == LISTED_ROLE:
            return self._listed[self._ids[row]]
        if role == ENTRY_ID_ROLE:
            return self._ids[row]
        if role == Qt.ItemDataRole.DisplayRole:
            return sentence(spoken(self.listed_at(row).facts))
        if role == Qt.ItemDataRole.EditRole:
            return self.listed_at(row).facts.title
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return self.spoken_at(row)
        if role == Qt.ItemDataRole.AccessibleDescriptionRole:
            return self.described_at(row)
        if role == Qt.ItemDataRole.ToolTipRole:
            return self.tip_at(row)
        return None

    def canDropMimeData(
        self, data: QMimeData, action: Qt.DropAction, row: int, column: int, parent: Index
    ) -> bool:
        return not self._session.read_only and bool(self.ids_in(data))

    def dropMimeData(
        self, data: QMimeData, action: Qt.DropAction, row: int, column: int, parent: Index
    ) -> bool:
        ids = self.ids_in(data)
        if not ids:
            return False
        if row < 0:
            row = parent.row() if parent.isValid() else len(self._ids)
        done = self._session.do(functools.partial(into_order, entry_ids=ids, gap=row))
        if done:
            self.placed.emit(ids)
        return done
