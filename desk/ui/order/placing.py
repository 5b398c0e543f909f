"""Edits of the running order as a person makes them: what is dropped somewhere, moved a row, put in.

Each is a pure function from a film to an `Edit`, so that what it would do can be told before it is done.
"""

import functools
from collections.abc import Sequence

from desk.film import edits
from desk.film.edits import Edit
from desk.film.model import Card, CardKind, CreditBlock, CreditRow, Film, Scene
from desk.film.wording import entry_names
from desk.ui.session import MakeEdit, several


def into_order(film: Film, entry_ids: Sequence[str], gap: int) -> Edit:
    """Put entries into a gap of the running order, from there and from the shelf, as one block.

    Args:
        film: The film.
        entry_ids: What to put there. What is in the film keeps its order; what is set aside follows it.
        gap: How many entries of the running order, as it is, stand before the gap.

    Raises:
        EditError: when nothing of it is in the film or aside, or there is no such gap.
    """
    asked = set(entry_ids)
    moving = [placement.entry for placement in film.order if placement.entry in asked]
    aside = {item.entry for item in film.aside}
    returning = [entry_id for entry_id in entry_ids if entry_id in aside]
    index = sum(placement.entry not in asked for placement in film.order[:gap])
    steps: list[MakeEdit] = []
    if moving or not returning:
        steps.append(functools.partial(edits.move, entry_ids=moving, to_index=index))
    steps += [
        functools.partial(edits.put_back_at, entry_id=entry_id, index=index + len(moving) + at)
        for at, entry_id in enumerate(returning)
    ]
    if len(steps) == 1:
        return steps[0](film)
    entries = film.entries()
    names = entry_names([entries[entry_id] for entry_id in (*moving, *returning)])
    return several(f"{'Move' if moving else 'Put back'} {names}", steps)(film)


def onto_shelf(film: Film, entry_ids: Sequence[str]) -> Edit:
    """Set aside those of some entries that are in the film.

    Raises:
        EditError: when none is.
    """
    in_film = {placement.entry for placement in film.order}
    return edits.set_aside(film, [entry_id for entry_id in entry_ids if entry_id in in_film] or entry_ids)


def shift(film: Film, entry_ids: Sequence[str], by: int, shown: Sequence[str]) -> Edit:
    """Move entries past the neighbours that are shown above them, or below; they end up side by side.

    Args:
        film: The film.
        entry_ids: What to move.
        by: How many neighbours to pass: below 0 upwards, above 0 downwards.
        shown: Ids of the rows that are on the screen; rows that a filter hides are passed along.

    Raises:
        EditError: for an entry that is not in the film.
    """
    asked = set(entry_ids)
    order = [placement.entry for placement in film.order]
    staying = [entry_id for entry_id in order if entry_id not in asked]
    places = [index for index, entry_id in enumerate(order) if entry_id in asked]
    if not places:
        return edits.move(film, entry_ids, 0)
    seen = set(shown)
    if by < 0:
        above = [entry_id for entry_id in order[: places[0]] if entry_id in seen]
        passed = above[by:]
        index = staying.index(passed[0]) if passed else places[0]
    else:
        below = [entry_id for entry_id in order[places[-1] + 1 :] if entry_id in seen]
        passed = below[:by]
        index = staying.index(passed[-1]) + 1 if passed else places[-1] + 1 - len(places)
    return edits.move(film, entry_ids, index)


def to_end(film: Film, entry_ids: Sequence[str], *, start: bool) -> Edit:
    """Move entries to the start of the film, or to its end.

    Raises:
        EditError: for an entry that is not in the film.
    """
    staying = len({placement.entry for placement in film.order} - set(entry_ids))
    return edits.move(film, entry_ids, 0 if start else staying)


def new_title(film: Film, index: int) -> Edit:
    """Put in a title card; the first one of a film says the film's title.

    Raises:
        EditError: for a place that does not exist.
    """
    has_one = any(card.kind is CardKind.TITLE for card in film.cards)
    lines = () if has_one or not film.title.strip() else (film.title,)
    return edits.insert_card(film, index, kind=CardKind.TITLE, lines=lines)


def new_credits(film: Film, index: int) -> Edit:
    """Put in a card of credits; the first one of a film names the people who worked on it.

    Raises:
        EditError: for a place that does not exist.
    """
    has_one = any(card.kind is CardKind.CREDITS for card in film.cards)
    names: dict[str, list[str]] = {}
    for person in film.people:
        for role in person.roles:
            names.setdefault(role, []).append(person.name)
    rows = tuple(CreditRow(role=role, names=tuple(people)) for role, people in names.items())
    block = () if has_one or not rows else (CreditBlock(rows=rows),)
    return edits.insert_card(film, index, kind=CardKind.CREDITS, credits=block)


def place_for_scene(film: Film) -> int:
    """Return where a new scene goes when nothing is chosen: after the last scene, before closing cards."""
    entries = film.entries()
    for index in range(len(film.order), 0, -1):
        if isinstance(entries[film.order[index - 1].entry], Scene):
            return index
    cards = [entries[placement.entry] for placement in film.order]
    titles = [isinstance(card, Card) and card.kind is CardKind.TITLE for card in cards]
    return titles.index(False) if False in titles else len(titles)


def number_that_fits(film: Film, scene_id: str) -> str:
    """Return the number that a scene would take where it stands, were it new there."""
    entries = film.entries()
    in_film = [placement.entry for placement in film.order]
    # What is set aside around it has no say, as it has none where a scene is added.
    order = in_film if scene_id in in_film else edits.full_order(film)
    at = order.index(scene_id)
    before = [entry.number for item in order[:at] if isinstance(entry := entries[item], Scene)]
    after = [entry.number for item in order[at + 1 :] if isinstance(entry := entries[item], Scene)]
    taken = [scene.number for scene in film.scenes if scene.id != scene_id]
    return edits.number_between(before[-1] if before else None, after[0] if after else None, taken)
