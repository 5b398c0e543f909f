"""What can be done to the running order, for menus, keys and buttons."""

import functools
from abc import abstractmethod
from collections.abc import Callable, Sequence

from PySide6.QtWidgets import QWidget

from desk.film import edits
from desk.film.edits import Edit
from desk.film.model import Film, Scene
from desk.film.wording import entry_names, sentence
from desk.ui.bench import Bench
from desk.ui.order import placing
from desk.ui.order.dialogs import NumberDialog, ReasonDialog
from desk.ui.session import MakeEdit, several


class OrderCommands(QWidget):
    """Commands on what is chosen; the panel says what that is."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._session = bench.session

    @abstractmethod
    def selected(self) -> tuple[str, ...]:
        """Return the ids of what is chosen, in order: rows of the film, or else tiles of the shelf."""

    @abstractmethod
    def shown(self) -> tuple[str, ...]:
        """Return the ids of the rows that the filter shows."""

    @abstractmethod
    def choose(self, entry_ids: Sequence[str]) -> None:
        """Choose entries, wherever they stand, and show them."""

    def add_scene(self) -> None:
        """Put an empty scene after what is chosen, and choose it."""
        self._insert(edits.insert_scene, placing.place_for_scene(self._session.film))

    def add_title(self) -> None:
        """Put a title card after what is chosen, else at the start, and choose it."""
        self._insert(placing.new_title, 0)

    def add_credits(self) -> None:
        """Put a card of credits after what is chosen, else at the end, and choose it."""
        self._insert(placing.new_credits, len(self._session.film.order))

    def duplicate(self) -> None:
        """Make a draft with the same content as the chosen scene, and choose it."""
        scene = self._scene()
        if scene and self._session.do(functools.partial(edits.duplicate_scene, scene_id=scene.id)):
            self._choose_what_came()

    def move_up(self) -> None:
        """Move what is chosen before the row above it."""
        self._shift(-1)

    def move_down(self) -> None:
        """Move what is chosen behind the row below it."""
        self._shift(1)

    def move_to_start(self) -> None:
        """Move what is chosen to the start of the film."""
        self._move(functools.partial(placing.to_end, entry_ids=self._in_film(), start=True))

    def move_to_end(self) -> None:
        """Move what is chosen to the end of the film."""
        self._move(functools.partial(placing.to_end, entry_ids=self._in_film(), start=False))

    def set_aside(self) -> None:
        """Take what is chosen out of the film and keep it whole; what follows it is chosen then."""
        self._set_aside("")

    def set_aside_with_reason(self) -> None:
        """Ask why, then set aside what is chosen."""
        if not (ids := self._in_film()):
            return
        entries = self._session.film.entries()
        reason = ReasonDialog.ask(entry_names([entries[item] for item in ids]), self)
        if reason is not None:
            self._set_aside(reason)

    def put_back(self) -> None:
        """Put back what is chosen on the shelf where it was, and choose it there."""
        aside = {item.entry for item in self._session.film.aside}
        ids = tuple(item for item in self.selected() if item in aside)
        if ids and self._session.do(functools.partial(edits.put_back, entry_ids=ids)):
            self.choose(ids)

    def delete(self) -> None:
        """Delete what is chosen for good. It asks nothing: undoing brings it back."""
        ids = self.selected()
        if not ids:
            return
        entries = self._session.film.entries()
        names = entry_names([entries[item] for item in ids])
        steps: list[MakeEdit] = [functools.partial(edits.delete_entry, entry_id=item) for item in ids]
        following = self._neighbour(ids)
        if self._session.do(several(f"Delete {names}", steps)):
            self.choose(following)
            it = "it" if len(ids) == 1 else "them"
            self._bench.messages.notice(f"{sentence(names)} deleted. Undo brings {it} back.")

    def renumber(self) -> None:
        """Ask for another number of the chosen scene."""
        if scene := self._scene():
            number = NumberDialog.ask(self._session.film, scene.id, self)
            if number is not None:
                self._session.do(functools.partial(edits.renumber, scene_id=scene.id, number=number))

    def _in_film(self) -> tuple[str, ...]:
        order = {placement.entry for placement in self._session.film.order}
        return tuple(item for item in self.selected() if item in order)

    def _scene(self) -> Scene | None:
        """Return the first scene that is chosen."""
        entries = self._session.film.entries()
        return next((entry for item in self.selected() if isinstance(entry := entries[item], Scene)), None)

    def _insert(self, make: Callable[[Film, int], Edit], otherwise: int) -> None:
        order = [placement.entry for placement in self._session.film.order]
        chosen = self._in_film()
        index = order.index(chosen[-1]) + 1 if chosen else otherwise
        if self._session.do(functools.partial(_at, make, index)):
            self._choose_what_came()

    def _choose_what_came(self) -> None:
        if effect := self._session.last_effect:
            self.choose(effect.change.entries)

    def _shift(self, by: int) -> None:
        ids = self._in_film()
        self._move(functools.partial(placing.shift, entry_ids=ids, by=by, shown=self.shown()))

    def _move(self, make: MakeEdit) -> None:
        ids = self._in_film()
        if ids and self._session.do(make):
            self.choose(ids)

    def _set_aside(self, reason: str) -> None:
        ids = self._in_film()
        following = self._neighbour(ids)
        if ids and self._session.do(functools.partial(edits.set_aside, entry_ids=ids, reason=reason)):
            self.choose(following)

    def _neighbour(self, ids: Sequence[str]) -> tuple[str, ...]:
        """Return what is chosen when these are gone: the next row that is shown, else the one before."""
        shown = [item for item in self.shown() if item not in ids]
        order = [placement.entry for placement in self._session.film.order]
        places = [order.index(item) for item in ids if item in order]
        if not places or not shown:
            return ()
        after = [item for item in shown if order.index(item) > places[-1]]
        return (after[0] if after else shown[-1],)


def _at(make: Callable[[Film, int], Edit], index: int, film: Film) -> Edit:
    return make(film, index)
