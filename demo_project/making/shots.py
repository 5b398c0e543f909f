"""All shots by name."""

from __future__ import annotations

from collections.abc import Callable

from making import shots_inserts, shots_inside, shots_outside
from making.take import Shot, Take

SHOTS: dict[str, Callable[[Take], Shot]] = {
    **shots_outside.SHOTS,
    **shots_inside.SHOTS,
    **shots_inserts.SHOTS,
}


def find(name: str) -> Callable[[Take], Shot]:
    """Returns the function that prepares a shot."""
    return SHOTS[name]
