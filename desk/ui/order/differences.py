"""How one list of ids becomes another, in the fewest steps that an item model can announce."""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Removal:
    """Rows that go: the first and the last of them."""

    first: int
    last: int


@dataclass(frozen=True, slots=True)
class Move:
    """Rows that move together, to stand before the row that is `to` while they are still there."""

    first: int
    last: int
    to: int


@dataclass(frozen=True, slots=True)
class Insertion:
    """Rows that come, the first of them at `first`."""

    first: int
    ids: tuple[str, ...]


Step = Removal | Move | Insertion


def apply_step(ids: list[str], step: Step) -> None:
    """Do a step on a list of ids."""
    match step:
        case Removal(first, last):
            del ids[first : last + 1]
        case Move(first, last, to):
            block = ids[first : last + 1]
            del ids[first : last + 1]
            at = to if to <= first else to - len(block)
            ids[at:at] = block
        case Insertion(first, new):
            ids[first:first] = new


def steps_between(old: Sequence[str], new: Sequence[str]) -> list[Step]:
    """Return the steps from an old list to a new one, each told of the list that the one before leaves.

    What stays in its order is never touched: only the fewest rows move. Ids are unique in each list.
    """
    now = list(old)
    steps: list[Step] = []

    def take(step: Step) -> None:
        apply_step(now, step)
        steps.append(step)

    staying = set(new)
    for first, last in reversed(runs([index for index, item in enumerate(now) if item not in staying])):
        take(Removal(first, last))
    here = set(now)
    target = [item for item in new if item in here]
    fixed = _in_order_already(now, target)
    at = 0
    while at < len(target):
        if target[at] in fixed:
            at += 1
            continue
        first = now.index(target[at])
        count = 1
        while (
            at + count < len(target)
            and target[at + count] not in fixed
            and now[first + count : first + count + 1] == [target[at + count]]
        ):
            count += 1
        to = now.index(target[at - 1]) + 1 if at else 0
        if not first <= to <= first + count:
            take(Move(first, first + count - 1, to))
        at += count
    for first, last in runs([index for index, item in enumerate(new) if item not in here]):
        take(Insertion(first, tuple(new[first : last + 1])))
    return steps


def runs(indexes: Sequence[int]) -> list[tuple[int, int]]:
    """Return the first and last of each unbroken run in rising indexes."""
    found: list[tuple[int, int]] = []
    for index in indexes:
        if found and found[-1][1] == index - 1:
            found[-1] = (found[-1][0], index)
        else:
            found.append((index, index))
    return found


def _in_order_already(now: Sequence[str], target: Sequence[str]) -> set[str]:
    """Return the most ids that stand in the order of `target` already: a longest rising run of places."""
    place = {item: index for index, item in enumerate(target)}
    ends: list[int] = []
    items: list[str] = []
    before: dict[str, str] = {}
    for item in now:
        at = bisect_left(ends, place[item])
        if at:
            before[item] = items[at - 1]
        if at == len(ends):
            ends.append(place[item])
            items.append(item)
        else:
            ends[at], items[at] = place[item], item
    found: set[str] = set()
    here = items[-1] if items else None
    while here is not None:
        found.add(here)
        here = before.get(here)
    return found
