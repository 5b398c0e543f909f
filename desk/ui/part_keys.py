"""Keys that one part of the window takes by itself, for the sheet that lists all keys."""

from PySide6.QtGui import QAction, QKeySequence

from desk.ui.actions import WITHIN
from desk.ui.order.menu import JOIN, PUT_BACK, SET_ASIDE

_ORDER, _SHELF, _STRIP = "running order", "shelf of what is set aside", "film at the foot"
_FOOTAGE, _RAW = "footage of a scene", "viewer while it shows footage"
_FIELDS, _TABLES, _TENSION, _PROOF = "fields", "tables of names", "tension of a scene", "dialog of a proof"

KEYS = (
    (_ORDER, "Set aside", SET_ASIDE),
    (_ORDER, "Change the join after it", JOIN),
    (_ORDER, "Choose the next too", "Shift+Down"),
    (_ORDER, "Show the film's own sheet", "Esc"),
    (_SHELF, "Put back where it was", PUT_BACK),
    (_SHELF, "Put back where it was", "Return"),
    (_STRIP, "Go to the next entry", "Right"),
    (_STRIP, "Go to the entry before", "Left"),
    (_STRIP, "A second on", "Shift+Right"),
    (_STRIP, "A second back", "Shift+Left"),
    (_FOOTAGE, "Add in natural order", "Return"),
    (_FOOTAGE, "Add at the playhead", "Ctrl+Return"),
    (_FOOTAGE, "Show in the viewer", "Shift+Return"),
    (_RAW, "Mark the head: begin with this frame", "H"),
    (_RAW, "Mark the tail: end with this frame", "T"),
    (_RAW, "Mark nothing, so that all of it is added", "Del"),
    (_RAW, "To the marked head", "Shift+Home"),
    (_RAW, "To the marked tail", "Shift+End"),
    (_RAW, "Add in natural order", "Return"),
    (_RAW, "Add at the playhead", "Ctrl+Return"),
    (_RAW, "Next file of the scene", "PgDown"),
    (_RAW, "File before", "PgUp"),
    (_RAW, "Back to the scene", "Esc"),
    (_FIELDS, "Put back what the film holds", "Esc"),
    (_FIELDS, "A step more, or a frame longer", "Up"),
    (_FIELDS, "A step less, or a frame shorter", "Down"),
    (_TABLES, "Add a row", "Ins"),
    (_TABLES, "Add a heading", "Alt+Ins"),
    (_TABLES, "Remove the row", "Del"),
    (_TABLES, "Move the row up", "Alt+Up"),
    (_TABLES, "Move the row down", "Alt+Down"),
    (_TENSION, "Say nothing of it", "Del"),
    (_PROOF, "Add the proof", "Ctrl+Return"),
)
"""Where a key acts, what it does there, and the key."""


def part_actions() -> list[QAction]:
    """Return actions that say these keys. They stand in no widget, so that they do nothing by themselves."""
    made = []
    for within, text, key in KEYS:
        action = QAction(text)
        action.setShortcut(QKeySequence(key))
        action.setProperty(WITHIN, within)
        made.append(action)
    return made
