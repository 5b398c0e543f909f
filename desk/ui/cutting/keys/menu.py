"""The context menu of the lanes."""

import functools

from PySide6.QtWidgets import QMenu, QWidget

from desk.ui.bench import Bench
from desk.ui.cutting.keys.aim import things
from desk.ui.cutting.keys.copying import has_clips
from desk.ui.cutting.keys.keyed_edits import CutEdits
from desk.ui.cutting.keys.rows import LOOP, SELECT, rows
from desk.ui.keys import plain_text
from desk.ui.order.menu import MenuRow, build_menu

_PASTES = ("cut-paste", "cut-paste-after")


def cut_menu(bench: Bench, parent: QWidget) -> QMenu:
    """Return the menu of the lanes for what was selected last, or for where nothing is selected.

    What is under the pointer has to be selected before.

    Args:
        bench: The open film.
        parent: Owns the menu.
    """
    table = cut_menu_rows(bench)
    menu = build_menu(table.pop(""), parent)
    menu.addSeparator()
    for group, lines in table.items():
        submenu = build_menu(lines, menu)
        submenu.setTitle(group)
        menu.addMenu(submenu)
    return menu


def cut_menu_rows(bench: Bench) -> dict[str, list[MenuRow | None]]:
    """Return the lines of that menu, and of its submenus by name; None is a line between groups.

    Those of the menu itself have no name.
    """
    edits = CutEdits.of(bench)
    scene = bench.cut.scene
    main = things(bench.cut.content).get(bench.cut.main)
    may_edit = scene is not None and scene.lock is None and not bench.session.read_only
    table: dict[str, list[MenuRow | None]] = {"": []}
    for row in rows():
        if main.kind not in row.kinds if main else not row.anywhere:
            continue
        lines = table.setdefault("" if row.group in _FLAT else row.group, [])
        if lines and row.starts_group:
            lines.append(None)
        enabled = scene is not None and (may_edit or row.id in _LOOKING)
        if row.id in _PASTES:
            enabled = enabled and has_clips()
        elif row.id == "cut-close-gap":
            enabled = enabled and edits.has_gap()
        text = row.text if row.group and row.group not in _FLAT else plain_text(row.text)
        lines.append(MenuRow(text, row.key, enabled, functools.partial(_call, edits, row.id)))
    return table


_FLAT = (SELECT, LOOP)
"""Submenus of which so little fits that it stands in the menu itself."""

_LOOKING = ("cut-copy", "cut-loop", "cut-clear-loop", "cut-select-all")


def _call(edits: CutEdits, row_id: str, _: bool = False) -> None:
    next(row for row in rows() if row.id == row_id).call(edits)
