"""The context menu of the running order and of the shelf, as a table."""

from collections.abc import Callable
from typing import NamedTuple, Protocol

from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import QMenu, QWidget

from desk.film.model import Scene
from desk.ui.bench import Bench

MOVE_UP, MOVE_DOWN = "Alt+Up", "Alt+Down"
MOVE_TO_START, MOVE_TO_END = "Alt+Home", "Alt+End"
RENAME, RENUMBER, DUPLICATE = "F2", "Shift+F2", "Ctrl+D"
SET_ASIDE, PUT_BACK, DELETE, JOIN = "Del", "B", "Ctrl+Del", "J"


class MenuRow(NamedTuple):
    """A line of the menu.

    Attributes:
        text: What it does.
        key: Its key here, or "".
        enabled: Whether it can be done now.
        call: Does it.
    """

    text: str
    key: str
    enabled: bool
    call: Callable[[], object]


class Commands(Protocol):
    """What the menu can do."""

    def selected(self) -> tuple[str, ...]: ...
    def rename(self) -> None: ...
    def renumber(self) -> None: ...
    def duplicate(self) -> None: ...
    def move_up(self) -> None: ...
    def move_down(self) -> None: ...
    def move_to_start(self) -> None: ...
    def move_to_end(self) -> None: ...
    def edit_join(self) -> None: ...
    def edit_fades(self) -> None: ...
    def add_scene(self) -> None: ...
    def add_title(self) -> None: ...
    def add_credits(self) -> None: ...
    def set_aside(self) -> None: ...
    def set_aside_with_reason(self) -> None: ...
    def put_back(self) -> None: ...
    def delete(self) -> None: ...


def order_menu(bench: Bench, commands: Commands) -> list[MenuRow | None]:
    """Return the menu of the running order for what is chosen; None is a line between groups."""
    film = bench.session.film
    order = [placement.entry for placement in film.order]
    chosen = [item for item in commands.selected() if item in order]
    may = not bench.session.read_only
    some, one = may and bool(chosen), may and len(chosen) == 1
    entries = film.entries()
    scenes = [entry for item in chosen if isinstance(entry := entries[item], Scene)]
    one_scene = one and bool(scenes)
    is_at_start, is_at_end = order[: len(chosen)] == chosen, order[len(order) - len(chosen) :] == chosen
    joins = one and chosen[0] != order[-1]
    before_end = "Change the join after it…" if joins or not one else "Change the fade at the end…"
    unlocked = not any(scene.lock for scene in scenes)
    after = " after it" if chosen else ""
    return [
        MenuRow("Rename", RENAME, one, commands.rename),
        MenuRow("Renumber…", RENUMBER, one_scene, commands.renumber),
        MenuRow("Duplicate", DUPLICATE, one_scene, commands.duplicate),
        None,
        MenuRow("Move up", MOVE_UP, some and not is_at_start, commands.move_up),
        MenuRow("Move down", MOVE_DOWN, some and not is_at_end, commands.move_down),
        MenuRow("Move to the start", MOVE_TO_START, some and not is_at_start, commands.move_to_start),
        MenuRow("Move to the end", MOVE_TO_END, some and not is_at_end, commands.move_to_end),
        None,
        MenuRow(before_end, JOIN, one, commands.edit_join),
        MenuRow("Change the fades of the film…", "", may and bool(order), commands.edit_fades),
        None,
        MenuRow(f"Add a scene{after}", "", may, commands.add_scene),
        MenuRow(f"Add a title{after}", "", may, commands.add_title),
        MenuRow(f"Add credits{after}", "", may, commands.add_credits),
        None,
        MenuRow("Set aside", SET_ASIDE, some, commands.set_aside),
        MenuRow("Set aside with a reason…", "", some, commands.set_aside_with_reason),
        MenuRow("Delete for good", DELETE, some and unlocked, commands.delete),
    ]


def shelf_menu(bench: Bench, commands: Commands) -> list[MenuRow | None]:
    """Return the menu of the shelf for what is chosen; None is a line between groups."""
    film = bench.session.film
    aside = {item.entry for item in film.aside}
    chosen = [item for item in commands.selected() if item in aside]
    may = not bench.session.read_only
    some, one = may and bool(chosen), may and len(chosen) == 1
    entries = film.entries()
    scenes = [entry for item in chosen if isinstance(entry := entries[item], Scene)]
    unlocked = not any(scene.lock for scene in scenes)
    return [
        MenuRow("Back where it was", PUT_BACK, some, commands.put_back),
        None,
        MenuRow("Rename", RENAME, one, commands.rename),
        MenuRow("Renumber…", RENUMBER, one and bool(scenes), commands.renumber),
        MenuRow("Duplicate", DUPLICATE, one and bool(scenes), commands.duplicate),
        None,
        MenuRow("Delete for good", DELETE, some and unlocked, commands.delete),
    ]


def build_menu(rows: list[MenuRow | None], parent: QWidget) -> QMenu:
    """Return a menu of a table."""
    menu = QMenu(parent)
    for row in rows:
        if row is None:
            menu.addSeparator()
            continue
        key = QKeySequence(row.key).toString(QKeySequence.SequenceFormat.NativeText)
        # The key is only shown: the view itself takes it, so that it works with the menu closed as well.
        action = menu.addAction(f"{row.text}\t{key}" if key else row.text)
        action.setEnabled(row.enabled)
        action.triggered.connect(row.call)
    return menu
