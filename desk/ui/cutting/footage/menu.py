"""What can be done with the files that are chosen: a table of offers, apart from the menu that shows it."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum, auto

from desk.film.wording import counted
from desk.ui.cutting.footage.rows import FootageKind, FootageRow

MISSING = "missing"


class FootageCommand(Enum):
    """What can be done."""

    ADD_IN_ORDER = auto()
    ADD_AT_PLAYHEAD = auto()
    ADD_AT_END = auto()
    AS_SPOT = auto()
    AS_CUE = auto()
    REPLACE = auto()
    REPLACE_FROM_START = auto()
    SHOW = auto()
    FIND_USES = auto()
    OPEN_FOLDER = auto()
    FIND_FILE = auto()
    FIND_ALL = auto()
    TAKE_OFF = auto()


@dataclass(frozen=True, slots=True)
class Offer:
    """An entry of the menu.

    Attributes:
        command: What it does.
        text: What it says.
        keys: The key that does it in the list, or "".
    """

    command: FootageCommand
    text: str
    keys: str = ""


def offers(rows: Sequence[FootageRow], *, clip: str = "") -> tuple[tuple[Offer, ...], ...]:
    """Return what is offered for files that are chosen, in groups.

    Args:
        rows: The files.
        clip: What a sentence calls the one clip whose source could be replaced, or "".
    """
    single = rows[0] if len(rows) == 1 else None
    groups = (
        tuple(_adding(rows)),
        tuple(_replacing(single, clip)),
        tuple(_looking(single)),
        tuple(_finding(rows, single)),
    )
    return tuple(group for group in groups if group)


def _adding(rows: Sequence[FootageRow]) -> list[Offer]:
    pictures = [row for row in rows if row.is_known and row.kind is FootageKind.PICTURE]
    sounds = [row for row in rows if row.is_known and row.kind is FootageKind.SOUND]
    found = []
    if pictures:
        what = "Add" if len(pictures) == 1 else f"Add {counted(len(pictures), 'file')}"
        found += [
            Offer(FootageCommand.ADD_IN_ORDER, f"{what} in natural order", "Return"),
            Offer(FootageCommand.ADD_AT_PLAYHEAD, f"{what} at the playhead", "Ctrl+Return"),
            Offer(FootageCommand.ADD_AT_END, f"{what} after the last clip"),
        ]
    if len(sounds) == 1:
        found += [
            Offer(FootageCommand.AS_SPOT, "Add as a spot at the playhead"),
            Offer(FootageCommand.AS_CUE, "Add as a cue at the playhead"),
        ]
    return found


def _replacing(single: FootageRow | None, clip: str) -> list[Offer]:
    if single is None or not clip or not single.is_known or single.kind is not FootageKind.PICTURE:
        return []
    first = "the head that is marked" if single.marked else "its first frame"
    return [
        Offer(FootageCommand.REPLACE, f"Replace the source of {clip}, same in point"),
        Offer(FootageCommand.REPLACE_FROM_START, f"Replace the source of {clip}, from {first}"),
    ]


def _looking(single: FootageRow | None) -> list[Offer]:
    if single is None:
        return []
    found = []
    if single.is_known and single.kind is FootageKind.PICTURE:
        found.append(Offer(FootageCommand.SHOW, "Show in the viewer", "Shift+Return"))
    if single.uses:
        found.append(Offer(FootageCommand.FIND_USES, "Select where it is used"))
    if single.trouble != MISSING:
        found.append(Offer(FootageCommand.OPEN_FOLDER, "Open its folder"))
    return found


def _finding(rows: Sequence[FootageRow], single: FootageRow | None) -> list[Offer]:
    found = []
    if single is not None and single.trouble and single.uses:
        found.append(Offer(FootageCommand.FIND_FILE, "Find the file…"))
    if any(row.trouble == MISSING for row in rows):
        found.append(Offer(FootageCommand.FIND_ALL, "Find missing files in a folder…"))
    if rows and all(row.is_added for row in rows):
        found.append(Offer(FootageCommand.TAKE_OFF, "Take off this list"))
    return found
