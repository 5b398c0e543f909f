"""Bringing the JSON of an older film file to the present format, one step at a time.

A new format number is needed when a field changes its name, meaning or default, or goes away; a new field
with a default needs none. Then: raise FORMAT by one, add to STEPS the function from the old number, and keep
a file of the old format in `tests/store/formats/`.
"""

from collections.abc import Callable, Mapping
from typing import Any

from desk.errors import FilmFileError

FORMAT = 1
"""The format number that is written."""

Tree = dict[str, Any]
"""A JSON object, not yet checked."""

Step = Callable[[Tree], Tree]
"""Takes the whole file's object in one format and returns it in the next, but for the number itself."""

STEPS: Mapping[int, Step] = {}
"""The step from each older format number to the next. Format 1 is the first."""


def migrate(tree: Tree, *, steps: Mapping[int, Step] = STEPS, target: int = FORMAT) -> Tree:
    """Return a film file's object in the target format.

    Args:
        tree: The object, with a whole number under `format`, at most `target`.
        steps: The step from each number to the next.
        target: The format number to reach.

    Raises:
        FilmFileError: when no step leads on from a number, or a step meets what it can't take.
    """
    number = tree["format"]
    while number < target:
        if number not in steps:
            raise FilmFileError(f"Film format {number} is not known to this program.")
        try:
            tree = {**steps[number](tree), "format": number + 1}
        except (LookupError, TypeError, ValueError, AttributeError) as error:
            raise FilmFileError(
                f"The film could not be brought from format {number} to {number + 1}.", detail=repr(error)
            ) from error
        number += 1
    return tree
