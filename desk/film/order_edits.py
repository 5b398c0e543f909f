"""Edits of the running order: what is in the film, and in which order."""

import dataclasses
from collections.abc import Sequence

from desk.errors import EditError
from desk.film.content_faults import Findings
from desk.film.edit import Change, ChangeKind, Edit, find_entry, refuse_faults
from desk.film.faults import find_in_join
from desk.film.model import Aside, Film, Join, Placement
from desk.film.wording import entry_name, entry_names, sentence


def full_order(film: Film) -> tuple[str, ...]:
    """Return the ids of all entries, with those set aside where putting them back would put them."""
    order = [placement.entry for placement in film.order]
    # What was set aside last goes back first: it knows those before it, set aside or not.
    for aside in reversed(film.aside):
        order.insert(_old_index(aside, order), aside.entry)
    return tuple(order)


def move(film: Film, entry_ids: Sequence[str], to_index: int) -> Edit:
    """Move entries within the running order; joins go with them. Locked scenes may be moved.

    Args:
        film: The film.
        entry_ids: What to move; it stays in the order that it has.
        to_index: Where the first of them stands afterwards, 0 to the number of entries that stay.

    Raises:
        EditError: for an entry that is not in the film, or a place that does not exist.
    """
    moving = _in_film(film, entry_ids)
    rest = [placement for placement in film.order if placement.entry not in moving]
    _check_index(to_index, len(rest))
    block = [placement for placement in film.order if placement.entry in moving]
    order = (*rest[:to_index], *block, *rest[to_index:])
    return _edit(film, "Move", ChangeKind.MOVED, [item.entry for item in block], order=order)


def set_aside(film: Film, entry_ids: Sequence[str], reason: str = "") -> Edit:
    """Take entries out of the film and keep them whole. Locked scenes may be set aside, and stay locked.

    Args:
        film: The film.
        entry_ids: What to set aside.
        reason: Why, or "".

    Raises:
        EditError: for an entry that is not in the film.
    """
    leaving = _in_film(film, entry_ids)
    findings = Findings.of(film)
    findings.text(reason, "aside.reason", "the reason for setting aside")
    refuse_faults(findings)
    everything = full_order(film)
    gone = [placement for placement in film.order if placement.entry in leaving]
    added = tuple(
        Aside(
            entry=placement.entry,
            after=tuple(reversed(everything[: everything.index(placement.entry)])),
            join=placement.join,
            reason=reason,
        )
        for placement in gone
    )
    order = tuple(placement for placement in film.order if placement.entry not in leaving)
    names = [placement.entry for placement in gone]
    return _edit(film, "Set aside", ChangeKind.SET_ASIDE, names, order=order, aside=(*film.aside, *added))


def put_back(film: Film, entry_ids: Sequence[str]) -> Edit:
    """Put entries back where they were.

    That is after the nearest of those before them that is in the film, else first. Their joins come back
    with them. What was set aside together comes back in the same order, whichever of it is put back first.

    Args:
        film: The film.
        entry_ids: What to put back.

    Raises:
        EditError: for an entry that is not set aside.
    """
    asides = _aside(film, entry_ids)
    returning = [entry_id for entry_id in full_order(film) if entry_id in asides]
    order = list(film.order)
    for entry_id in returning:
        aside = asides[entry_id]
        place = _old_index(aside, [placement.entry for placement in order])
        order.insert(place, Placement(entry=entry_id, join=aside.join))
    rest = tuple(aside for aside in film.aside if aside.entry not in asides)
    return _edit(film, "Put back", ChangeKind.PUT_BACK, returning, order=tuple(order), aside=rest)


def put_back_at(film: Film, entry_id: str, index: int) -> Edit:
    """Put an entry back at a place of one's choice; its join comes back with it.

    Args:
        film: The film.
        entry_id: What to put back.
        index: Where it stands afterwards, 0 to the number of entries in the film.

    Raises:
        EditError: for an entry that is not set aside, or a place that does not exist.
    """
    aside = _aside(film, [entry_id])[entry_id]
    _check_index(index, len(film.order))
    placement = Placement(entry=entry_id, join=aside.join)
    order = (*film.order[:index], placement, *film.order[index:])
    rest = tuple(item for item in film.aside if item.entry != entry_id)
    return _edit(film, "Put back", ChangeKind.PUT_BACK, [entry_id], order=order, aside=rest)


def set_join(film: Film, entry_id: str, join: Join) -> Edit:
    """Set how an entry meets the next. The join of the last one waits until something follows it.

    Args:
        film: The film.
        entry_id: The entry before the cut.
        join: The join; whether the footage has the handles is told by `desk.film.checks`.

    Raises:
        EditError: for an entry that is not in the film, or a join that is none, such as a dissolve of no
            frames.
    """
    _in_film(film, [entry_id])
    name = entry_name(find_entry(film, entry_id))
    findings = Findings.of(film)
    find_in_join(findings, join, "join", name)
    refuse_faults(findings)
    order = tuple(
        dataclasses.replace(placement, join=join) if placement.entry == entry_id else placement
        for placement in film.order
    )
    after = dataclasses.replace(film, order=order)
    return Edit(f"Change the join after {name}", film, after, Change(ChangeKind.JOIN, (entry_id,)))


def insert_at(film: Film, placement: Placement, index: int) -> tuple[Placement, ...]:
    """Return the running order with a new entry in it.

    Raises:
        EditError: for a place that does not exist.
    """
    _check_index(index, len(film.order))
    return (*film.order[:index], placement, *film.order[index:])


def _old_index(aside: Aside, order: Sequence[str]) -> int:
    places = {entry_id: index for index, entry_id in enumerate(order)}
    return next((places[entry_id] + 1 for entry_id in aside.after if entry_id in places), 0)


def _in_film(film: Film, entry_ids: Sequence[str]) -> set[str]:
    """Return the ids as a set when all of them stand in the running order.

    Raises:
        EditError: when one does not, or there are none.
    """
    _check_some(entry_ids)
    present = {placement.entry for placement in film.order}
    for entry_id in entry_ids:
        entry = find_entry(film, entry_id)
        if entry_id not in present:
            raise EditError(
                f"{sentence(entry_name(entry))} is set aside.", advice="Put it back first.", code="edit.aside"
            )
    return set(entry_ids)


def _aside(film: Film, entry_ids: Sequence[str]) -> dict[str, Aside]:
    _check_some(entry_ids)
    found = {aside.entry: aside for aside in film.aside}
    for entry_id in entry_ids:
        entry = find_entry(film, entry_id)
        if entry_id not in found:
            raise EditError(
                f"{sentence(entry_name(entry))} is not set aside.",
                advice="It is in the running order already; move it there.",
                code="edit.not-aside",
            )
    return {entry_id: found[entry_id] for entry_id in entry_ids}


def _check_some(entry_ids: Sequence[str]) -> None:
    if not entry_ids:
        raise EditError("No scene or card is named.", advice="Name at least one.", code="edit.unknown")


def _check_index(index: int, most: int) -> None:
    if not 0 <= index <= most:
        raise EditError(
            f"There is no place {index + 1} in the running order for that.",
            advice=f"Choose a place from 1 to {most + 1}.",
            code="edit.place",
        )


def _edit(
    film: Film,
    verb: str,
    kind: ChangeKind,
    entry_ids: Sequence[str],
    *,
    order: tuple[Placement, ...],
    aside: tuple[Aside, ...] | None = None,
) -> Edit:
    entries = film.entries()
    names = entry_names([entries[entry_id] for entry_id in entry_ids])
    after = dataclasses.replace(film, order=order, aside=film.aside if aside is None else aside)
    return Edit(f"{verb} {names}", film, after, Change(kind, tuple(entry_ids)))
