"""Edits of scenes and cards as entries: put in, taken out, numbered, and their words."""

import dataclasses
from collections.abc import Sequence
from typing import TypedDict, Unpack

from desk.errors import EditError
from desk.film.content_faults import Findings, content_ids, find_in_content
from desk.film.edit import (
    Change,
    ChangeKind,
    Edit,
    IdMaker,
    find_card,
    find_entry,
    find_scene,
    next_id_after,
    other_ids,
    refuse_faults,
    with_scene,
)
from desk.film.faults import find_in_card, find_in_story
from desk.film.model import Aside, Card, CardKind, CreditBlock, Film, Motion, Placement, Scene, SceneContent
from desk.film.order_edits import insert_at
from desk.film.scene_numbers import number_between
from desk.film.wording import counted, entry_name, listed, sentence

_NO_CONTENT = SceneContent()


class StoryFields(TypedDict, total=False):
    """What may be changed of a scene whether it is locked or not."""

    slugline: str
    purpose: str
    synopsis: str
    tension: int | None
    reference_picture: str
    folder: str
    planned_frames: int


class CardFields(TypedDict, total=False):
    """What may be changed of a card."""

    kind: CardKind
    name: str
    lines: tuple[str, ...]
    credits: tuple[CreditBlock, ...]
    motion: Motion
    roll_px: int
    length_frames: int | None
    background: str
    ink: str
    picture: str


def insert_scene(
    film: Film,
    index: int,
    number: str | None = None,
    *,
    content: SceneContent = _NO_CONTENT,
    **story: Unpack[StoryFields],
) -> Edit:
    """Put a new scene into the running order; its id is the only entry of the change.

    Args:
        film: The film.
        index: Where it stands afterwards, 0 to the number of entries in the film.
        number: Its number, or None for the one that `desk.film.scene_numbers` gives.
        content: Its content, with ids from an `IdMaker`.
        **story: Its words.

    Raises:
        EditError: for a place that does not exist, a number that another scene has, or a value that is not
            allowed.
    """
    if number is None:
        number = number_between(*_neighbours(film, index), _numbers(film))
    ids = IdMaker(film)
    scene = Scene(id=ids.new("s"), number=number.strip(), content=content, **story)
    order = insert_at(film, Placement(entry=scene.id), index)
    _check_scene(film, scene)
    after = dataclasses.replace(
        film,
        scenes=(*film.scenes, scene),
        order=order,
        next_id=next_id_after(film, (scene.id, *content_ids(content))),
    )
    return Edit(f"Insert {entry_name(scene)}", film, after, Change(ChangeKind.INSERTED, (scene.id,)))


def insert_card(film: Film, index: int, **fields: Unpack[CardFields]) -> Edit:
    """Put a new card into the running order; its id is the only entry of the change.

    Args:
        film: The film.
        index: Where it stands afterwards, 0 to the number of entries in the film.
        **fields: What is on it and how it looks.

    Raises:
        EditError: for a place that does not exist, or a value that is not allowed.
    """
    ids = IdMaker(film)
    card = Card(id=ids.new("k"), **fields)
    order = insert_at(film, Placement(entry=card.id), index)
    findings = Findings.of(film)
    find_in_card(findings, card, "card")
    refuse_faults(findings)
    after = dataclasses.replace(film, cards=(*film.cards, card), order=order, next_id=ids.next_id)
    return Edit(f"Insert {entry_name(card)}", film, after, Change(ChangeKind.INSERTED, (card.id,)))


def duplicate_scene(film: Film, scene_id: str, number: str | None = None) -> Edit:
    """Make a draft with the same content and words; it follows the scene, in the film or aside.

    Proofs, lock and history stay with the scene: nobody has looked at the copy yet. The copy's id is the
    only entry of the change.

    Args:
        film: The film.
        scene_id: The scene.
        number: The copy's number, or None for the one that `desk.film.scene_numbers` gives.

    Raises:
        EditError: for an unknown scene, or a number that another scene has.
    """
    scene = find_scene(film, scene_id)
    places = [placement.entry for placement in film.order]
    index = places.index(scene_id) + 1 if scene_id in places else None
    if number is None:
        following = scene.number if index is None else _neighbours(film, index)[1] or scene.number
        number = number_between(scene.number, following, _numbers(film))
    ids = IdMaker(film)
    copy = dataclasses.replace(
        scene,
        id=ids.new("s"),
        number=number.strip(),
        content=renewed(scene.content, ids),
        proofs=(),
        lock=None,
        history=(),
    )
    _check_scene(film, copy)
    after = dataclasses.replace(film, scenes=(*film.scenes, copy), next_id=ids.next_id)
    if index is not None:
        after = dataclasses.replace(after, order=insert_at(film, Placement(entry=copy.id), index))
    else:
        old = next(aside for aside in film.aside if aside.entry == scene_id)
        asides = [
            dataclasses.replace(item, after=_with_after(item.after, scene_id, copy.id)) for item in film.aside
        ]
        aside = Aside(entry=copy.id, after=(scene_id, *old.after), reason=old.reason)
        after = dataclasses.replace(after, aside=(*asides, aside))
    text = f"Duplicate {entry_name(scene)} as {copy.number}"
    return Edit(text, film, after, Change(ChangeKind.INSERTED, (copy.id,)))


def delete_entry(film: Film, entry_id: str) -> Edit:
    """Take a scene or card out of the film for good, with its proofs and history; footage stays where it is.

    Raises:
        EditError: for an unknown entry, or a locked scene.
    """
    entry = find_entry(film, entry_id)
    if isinstance(entry, Scene) and entry.lock:
        raise EditError(
            f"{sentence(entry_name(entry))} is locked, so it can't be deleted.",
            advice="Set it aside to keep it out of the film, or unlock it first.",
            code="edit.locked",
        )
    asides = tuple(
        dataclasses.replace(aside, after=tuple(item for item in aside.after if item != entry_id))
        for aside in film.aside
        if aside.entry != entry_id
    )
    after = dataclasses.replace(
        film,
        scenes=tuple(scene for scene in film.scenes if scene.id != entry_id),
        cards=tuple(card for card in film.cards if card.id != entry_id),
        order=tuple(placement for placement in film.order if placement.entry != entry_id),
        aside=asides,
    )
    return Edit(f"Delete {entry_name(entry)}", film, after, Change(ChangeKind.DELETED, (entry_id,)))


def renumber(film: Film, scene_id: str, number: str) -> Edit:
    """Give a scene another number. Locked scenes may be renumbered.

    Raises:
        EditError: for an unknown scene, or a number that another scene has.
    """
    scene = find_scene(film, scene_id)
    renamed = dataclasses.replace(scene, number=number.strip())
    _check_story(film, renamed)
    text = f"Renumber {entry_name(scene)} as {renamed.number}"
    return Edit(text, film, with_scene(film, renamed), Change(ChangeKind.STORY, (scene_id,)))


def edit_story(film: Film, scene_id: str, **fields: Unpack[StoryFields]) -> Edit:
    """Change the words of a scene and what else a lock does not close over. Locked scenes may be changed so.

    Args:
        film: The film.
        scene_id: The scene.
        **fields: What to change; the rest stays.

    Raises:
        EditError: for an unknown scene, or a value that is not allowed.
    """
    scene = find_scene(film, scene_id)
    changed = dataclasses.replace(scene, **fields)
    _check_story(film, changed)
    what = listed([name.removesuffix("_frames").replace("_", " ") for name in fields])
    text = f"Change the {what or 'story'} of {entry_name(scene)}"
    return Edit(text, film, with_scene(film, changed), Change(ChangeKind.STORY, (scene_id,)))


def list_footage(film: Film, scene_id: str, paths: Sequence[str]) -> Edit:
    """Set which files from elsewhere are listed with a scene's footage. Locked scenes may be changed so.

    Args:
        film: The film.
        scene_id: The scene.
        paths: All of them, as the film names them; each counts once.

    Raises:
        EditError: for an unknown scene, or a path that is not allowed.
    """
    scene = find_scene(film, scene_id)
    listed_paths = tuple(dict.fromkeys(paths))
    changed = dataclasses.replace(scene, more_footage=listed_paths)
    _check_story(film, changed)
    new = set(listed_paths) - set(scene.more_footage)
    gone = set(scene.more_footage) - set(listed_paths)
    if new or not gone:
        text = f"List {counted(len(new), 'file')} with {entry_name(scene)}"
    else:
        text = f"Take {counted(len(gone), 'file')} off the list of {entry_name(scene)}"
    return Edit(text, film, with_scene(film, changed), Change(ChangeKind.STORY, (scene_id,)))


def edit_card(film: Film, card_id: str, **fields: Unpack[CardFields]) -> Edit:
    """Change a card.

    Args:
        film: The film.
        card_id: The card.
        **fields: What to change; the rest stays.

    Raises:
        EditError: for an unknown card, or a value that is not allowed.
    """
    card = find_card(film, card_id)
    changed = dataclasses.replace(card, **fields)
    findings = Findings.of(film)
    find_in_card(findings, changed, "card")
    refuse_faults(findings)
    cards = tuple(changed if item.id == card_id else item for item in film.cards)
    after = dataclasses.replace(film, cards=cards)
    return Edit(f"Change {entry_name(card)}", film, after, Change(ChangeKind.CARD, (card_id,)))


def renewed(content: SceneContent, ids: IdMaker) -> SceneContent:
    """Return the same content under new ids."""
    cues = []
    for cue in content.cues:
        names = {candidate.id: ids.new("a") for candidate in cue.candidates}
        candidates = tuple(dataclasses.replace(item, id=names[item.id]) for item in cue.candidates)
        chosen = names.get(cue.chosen, "")
        cues.append(dataclasses.replace(cue, id=ids.new("m"), candidates=candidates, chosen=chosen))
    return dataclasses.replace(
        content,
        clips=tuple(dataclasses.replace(clip, id=ids.new("c")) for clip in content.clips),
        cues=tuple(cues),
        spots=tuple(dataclasses.replace(spot, id=ids.new("f")) for spot in content.spots),
    )


def _with_after(earlier: tuple[str, ...], entry_id: str, follower: str) -> tuple[str, ...]:
    """Return the ids before an entry, nearest first, with a new one that follows one of them."""
    return tuple(item for old in earlier for item in ((follower, old) if old == entry_id else (old,)))


def _numbers(film: Film) -> list[str]:
    return [scene.number for scene in film.scenes]


def _neighbours(film: Film, index: int) -> tuple[str | None, str | None]:
    """Return the numbers of the scenes nearest to a place in the running order."""
    entries = film.entries()
    in_order = [entries[placement.entry] for placement in film.order]
    before = [entry.number for entry in in_order[: max(0, index)] if isinstance(entry, Scene)]
    after = [entry.number for entry in in_order[max(0, index) :] if isinstance(entry, Scene)]
    return before[-1] if before else None, after[0] if after else None


def _check_scene(film: Film, scene: Scene) -> None:
    """Refuse a new scene that would not be allowed in the film."""
    findings = Findings.of(film)
    findings.ids = {**other_ids(film, scene), scene.id: entry_name(scene)}
    find_in_content(findings, scene.content, "content", entry_name(scene))
    refuse_faults(findings)
    _check_story(film, scene)


def _check_story(film: Film, scene: Scene) -> None:
    findings = Findings.of(film)
    find_in_story(findings, scene, "scene")
    refuse_faults(findings)
    for other in film.scenes:
        if other.id != scene.id and other.number.casefold() == scene.number.casefold():
            raise EditError(
                f"There is a scene {other.number} already ({other.slugline or 'no slugline'}).",
                advice="Choose a number that is free.",
                code="edit.number",
            )
