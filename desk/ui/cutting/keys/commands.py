"""The commands of the menu Cut: the table in `rows`, for the film that is open in a window."""

from collections.abc import Callable, Sequence

from desk.ui.actions import Command
from desk.ui.cutting.keys.keyed_edits import CutEdits
from desk.ui.cutting.keys.rows import LOOP, PLACE, Row, rows

Now = Callable[[], CutEdits]
"""Gives the edits of the film that is open."""


def cut_commands(
    menu: str, now: Now, enabled: Callable[[], bool], *, playing: Sequence[Command] = ()
) -> Sequence[Command]:
    """Return every edit of a cut as a command whose key acts in the lanes and the viewer alone.

    Args:
        menu: The menu that they stand in.
        now: Gives the edits of the film that is open at that time.
        enabled: Says whether a scene is shown. A locked one counts: it says itself why it can't be cut.
        playing: Commands of the viewer, which stand before the loop's.
    """
    made = [_command(row, menu, now, enabled) for row in rows()]
    first = next(index for index, command in enumerate(made) if command.group == LOOP)
    return (*made[:first], *playing, *made[first:])


def _command(row: Row, menu: str, now: Now, enabled: Callable[[], bool]) -> Command:
    def run() -> object:
        return row.call(now())

    return Command(
        id=row.id,
        menu=menu,
        text=row.text,
        call=run,
        key=row.key,
        enabled=enabled,
        icon=row.icon,
        starts_group=row.starts_group,
        group=row.group,
        within=PLACE,
    )
