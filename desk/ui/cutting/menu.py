"""The context menu of the lanes."""

import functools

from PySide6.QtWidgets import QMenu, QWidget

from desk.ui.bench import Bench
from desk.ui.cutting.aim import things
from desk.ui.cutting.copying import has_clips
from desk.ui.cutting.keyed_edits import CutEdits
from desk.ui.cutting.rows import rows
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
    return build_menu(cut_menu_rows(bench), parent)


def cut_menu_rows(bench: Bench) -> list[MenuRow | None]:
    """Return the lines of that menu; None is a line between groups."""
    edits = CutEdits.of(bench)
    scene = bench.cut.scene
    main = things(bench.cut.content).get(bench.cut.main)
    may_edit = scene is not None and scene.lock is None and not bench.session.read_only
    made: list[MenuRow | None] = []
    group = ""
    for row in rows():
        if main.kind not in row.kinds if main else not row.anywhere:
            continue
        if made and (row.group != group or row.starts_group):
            made.append(None)
        group = row.group
        enabled = scene is not None and (may_edit or row.id in _LOOKING)
        if row.id in _PASTES:
            enabled = enabled and has_clips()
        text = (
            _HOLDING.format(plain_text(row.text)) if row.id.startswith("cut-hold") else plain_text(row.text)
        )
        made.append(MenuRow(text, row.key, enabled, functools.partial(_call, edits, row.id)))
    return made


_LOOKING = ("cut-copy", "cut-loop", "cut-clear-loop", "cut-select-all")
_HOLDING = "Hold: {}"


def _call(edits: CutEdits, row_id: str, _: bool = False) -> None:
    next(row for row in rows() if row.id == row_id).call(edits)
