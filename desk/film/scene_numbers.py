"""Scene numbers: labels that stay with their scenes, and the letters of a scene that is put in between.

Common practice, no source (from memory): numbers are not dealt out again once scenes have been shot. A scene
put in after 4 is 4A, then 4B; one put in between 4 and 4A takes a letter in front, A4A, as does one before
the first scene, A1. I and O are left out, as they look like 1 and 0. After 4Z comes 4AA. A number that was
dropped stays dropped: the scene between 4 and 7 is 4A and not 5.
"""

import itertools
import re
from collections.abc import Collection, Iterator

_LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"
_LABEL = re.compile(r"([A-Z]*)([0-9]{1,9})([A-Z]*)")
_Key = tuple[int, int, str, tuple[str, ...]]


def number_between(before: str | None, after: str | None, taken: Collection[str]) -> str:
    """Return the number for a scene that is put between two others.

    At the end it is the whole number after the highest one taken. In between it follows the letters; where
    the neighbours are out of order, or the letters are used up, it is the nearest one that is free.

    Args:
        before: Number of the scene before it, or None at the start.
        after: Number of the scene after it, or None at the end.
        taken: Every number that the film has, in the film or aside.
    """
    used = {number.upper() for number in taken}
    if after is not None:
        low, high = (None if number is None else _key(number) for number in (before, after))
        in_order = low is not None and high is not None and low < high
        for number in itertools.chain(_after(before or ""), _before(after)):
            key = _key(number)
            fits = key is not None and (
                not in_order or (low is not None and high is not None and low < key < high)
            )
            if fits and number not in used:
                return number
    return next_whole_number(taken)


def next_whole_number(taken: Collection[str]) -> str:
    """Return the whole number after the highest one in `taken`."""
    wholes = [int(match[2]) for number in taken if (match := _LABEL.fullmatch(number.upper()))]
    return str(max(wholes, default=0) + 1)


def _key(number: str) -> _Key | None:
    """Return what sorts numbers in the order of the letters: A4, 4, AA4A, A4A, B4A, 4A, 4B."""
    match = _LABEL.fullmatch(number.upper())
    if not match:
        return None
    # A letter in front comes before what it is in front of; "~" sorts after all letters.
    return int(match[2]), len(match[3]), match[3], (*reversed(match[1]), "~")


def _after(number: str) -> Iterator[str]:
    """Yield the numbers that may follow `number`, nearest first."""
    match = _LABEL.fullmatch(number.upper())
    if not match:
        return
    front, whole, back = match.groups()
    if front:
        yield from (f"{letter}{front[1:]}{whole}{back}" for letter in _LETTERS if letter > front[0])
    backs = itertools.chain(_LETTERS, ("".join(pair) for pair in itertools.product(_LETTERS, repeat=2)))
    yield from (f"{whole}{letters}" for letters in backs if (len(letters), letters) > (len(back), back))


def _before(number: str) -> Iterator[str]:
    """Yield the numbers that may stand right before `number`."""
    if _LABEL.fullmatch(number.upper()):
        yield from (f"{letter}{number.upper()}" for letter in _LETTERS)
