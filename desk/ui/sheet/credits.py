"""Credit lists and people as rows of a table, and back."""

import dataclasses
from collections.abc import Iterable, Sequence

from desk.film.model import CreditBlock, CreditRow, Film, Person, Scene
from desk.film.rights import EFFECTS_HEADING, MUSIC_HEADING, effect_credits, music_credits
from desk.ui.sheet.rows import Row, Rows, parted

_HEADINGS = {"music": MUSIC_HEADING, "effects": EFFECTS_HEADING}


def rows_of_credits(credits: Iterable[CreditBlock]) -> Rows:
    """Return a credit list as rows: role and names, each block under its heading."""
    rows: list[Row] = []
    for block in credits:
        rows.append(Row(block.heading, is_heading=True))
        rows += [_row_of_credit(row) for row in block.rows]
    return tuple(rows)


def credits_of_rows(rows: Rows, known: Sequence[CreditBlock]) -> tuple[CreditBlock, ...]:
    """Return rows as a credit list.

    Args:
        rows: Role and names; those before the first heading make a block without one.
        known: The list before: what is the same in it stays as it is, even a name with a comma. A block that
            fills itself goes on doing so under its heading.
    """
    filling = _filling(rows, known)
    kept = {_row_of_credit(row): row for block in known for row in block.rows}
    blocks: list[tuple[str, list[CreditRow]]] = []
    for row in rows:
        if row.is_heading:
            blocks.append((row.first, []))
            continue
        if not blocks:
            blocks.append(("", []))
        blocks[-1][1].append(kept.get(row) or CreditRow(role=row.first, names=parted(row.second)))
    return tuple(
        CreditBlock(heading=heading, rows=tuple(inside), fills=filling.get(heading, ""))
        for heading, inside in blocks
    )


def _filling(rows: Rows, known: Sequence[CreditBlock]) -> dict[str, str]:
    """Return what blocks fill themselves with, by the headings that they have now.

    A heading that is being written anew is another one at each letter: while there are as many blocks as
    before, it is known by its place.
    """
    found = {block.heading: block.fills for block in known if block.fills}
    headings = [row.first for row in rows if row.is_heading]
    if rows and not rows[0].is_heading:
        headings.insert(0, "")
    if len(headings) == len(known):
        for heading, block in zip(headings, known, strict=True):
            if block.fills and block.heading not in headings:
                found[heading] = block.fills
    return found


def with_filling(credits: Sequence[CreditBlock], what: str, *, fills: bool) -> tuple[CreditBlock, ...]:
    """Return a credit list whose music or effects fill themselves, or do not any more.

    Args:
        credits: The list. A block with the heading of them takes it; else one is put last.
        what: `music` or `effects`.
        fills: Whether it fills itself. Where it does not, a block that has no rows of its own goes.
    """
    if not fills:
        kept = (block for block in credits if block.fills != what or block.rows)
        return tuple(dataclasses.replace(block, fills="") if block.fills == what else block for block in kept)
    heading = _HEADINGS[what]
    named = next((at for at, block in enumerate(credits) if block.heading == heading), None)
    if named is None:
        return (*credits, CreditBlock(heading=heading, fills=what))
    found = list(credits)
    found[named] = dataclasses.replace(found[named], fills=what)
    return tuple(found)


def rows_of_people(people: Iterable[Person]) -> Rows:
    """Return people as rows: name and roles."""
    return tuple(_row_of_person(person) for person in people)


def people_of_rows(rows: Rows, known: Iterable[Person]) -> tuple[Person, ...]:
    """Return rows as people; a blank row is nobody yet.

    Args:
        rows: Name and roles.
        known: The people before, who stay as they are where they are the same.
    """
    kept = {_row_of_person(person): person for person in known}
    return tuple(
        kept.get(row) or Person(name=row.first, roles=parted(row.second)) for row in rows if not row.is_blank
    )


def credit_rows_of(people: Iterable[Person], present: Rows) -> Rows:
    """Return the rows that name people by what they did, without those that are there.

    Args:
        people: The film's people.
        present: The rows of the card.
    """
    names: dict[str, list[str]] = {}
    for person in people:
        for role in person.roles or ("",):
            names.setdefault(role, []).append(person.name)
    there = {(row.first.casefold(), name.casefold()) for row in present for name in parted(row.second)}
    rows = []
    for role, who in names.items():
        new = [name for name in who if (role.casefold(), name.casefold()) not in there]
        if new:
            rows.append(Row(role, ", ".join(new)))
    return tuple(rows)


def music_credits_of(film: Film, present: Rows) -> tuple[CreditBlock, ...]:
    """Return the credits of the music that is really in the film, and of effects that ask for one.

    Args:
        film: The film; what counts is what its running order has.
        present: The rows of the card, which are not named again.
    """
    entries = film.entries()
    scenes = [entry for placement in film.order if isinstance(entry := entries[placement.entry], Scene)]
    there = set(present)
    blocks = []
    for block in (music_credits(scenes), effect_credits(scenes)):
        rows = tuple(row for row in block.rows if _row_of_credit(row) not in there)
        if rows:
            blocks.append(dataclasses.replace(block, rows=rows))
    return tuple(blocks)


def _row_of_credit(row: CreditRow) -> Row:
    return Row(row.role, ", ".join(row.names))


def _row_of_person(person: Person) -> Row:
    return Row(person.name, ", ".join(person.roles))
