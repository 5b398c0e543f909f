"""What an edit is, and what all edits share.

An edit is a pure function from a film to an `Edit`. It checks all it is given and raises EditError before
anything is made; what it returns can be swapped in and out without a way to fail.
"""

import dataclasses
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from desk.errors import EditError
from desk.film.content_faults import Findings, content_ids
from desk.film.model import Card, Film, Scene, SceneContent
from desk.film.wording import entry_name, quoted, sentence


class ChangeKind(StrEnum):
    """What a change does, for whoever shows the film."""

    MOVED = "moved"
    SET_ASIDE = "set aside"
    PUT_BACK = "put back"
    INSERTED = "inserted"
    DELETED = "deleted"
    STORY = "story"
    CONTENT = "content"
    PROOFS = "proofs"
    LOCK = "lock"
    CARD = "card"
    JOIN = "join"
    MEDIA = "media"
    FILM = "film"

    @property
    def inverse(self) -> "ChangeKind":
        """What undoing it does."""
        return _INVERSES.get(self, self)


_INVERSES = {
    ChangeKind.SET_ASIDE: ChangeKind.PUT_BACK,
    ChangeKind.PUT_BACK: ChangeKind.SET_ASIDE,
    ChangeKind.INSERTED: ChangeKind.DELETED,
    ChangeKind.DELETED: ChangeKind.INSERTED,
}


@dataclass(frozen=True, slots=True)
class Change:
    """What is different after an edit.

    Attributes:
        kind: What was done.
        entries: Ids of the scenes and cards concerned; none for the film itself.
    """

    kind: ChangeKind
    entries: tuple[str, ...] = ()

    def inverse(self) -> "Change":
        """Return the change that takes it back."""
        return Change(self.kind.inverse, self.entries)


@dataclass(frozen=True, slots=True)
class Edit:
    """A change of a film that can be done, undone and done again.

    Attributes:
        text: What it does, for the undo menu: `Move scene 4A`.
        before: The film without it.
        after: The film with it.
        change: What is different.
    """

    text: str
    before: Film
    after: Film
    change: Change

    def inverse(self) -> "Edit":
        """Return the edit that takes this one back."""
        return Edit(self.text, self.after, self.before, self.change.inverse())

    @property
    def changes_nothing(self) -> bool:
        """Whether the film is the same with it."""
        return self.before == self.after


class IdMaker:
    """Makes ids that a film has never had.

    `s12` is a scene, `k13` a card, `c14` a clip, `m15` a cue, `a16` a candidate, `f17` a spot, `l18` a camera
    look, `v19` a voice. The edits see to it that the film's own count passes what they bring in.
    """

    def __init__(self, film: Film) -> None:
        self.next_id = film.next_id
        self._taken = frozenset(film_ids(film))

    def new(self, letter: str) -> str:
        """Return a new id that begins with a letter."""
        while True:
            made = f"{letter}{self.next_id}"
            self.next_id += 1
            if made not in self._taken:
                return made


def film_ids(film: Film) -> Iterable[str]:
    """Yield every id of a film, those in earlier versions of its scenes too."""
    for scene in film.scenes:
        yield scene.id
        yield from content_ids(scene.content)
        for version in scene.history:
            yield from content_ids(version.content)
    yield from (card.id for card in film.cards)
    yield from (look.id for look in film.camera_looks)
    yield from (voice.id for voice in film.voices)


def other_ids(film: Film, scene: Scene) -> dict[str, str]:
    """Return the ids that the content of a scene can't have, with who has them."""
    entries: tuple[Scene | Card, ...] = (*film.scenes, *film.cards)
    taken = {entry.id: entry_name(entry) for entry in entries}
    taken.update((look.id, f"camera look {quoted(look.name)}") for look in film.camera_looks)
    taken.update((voice.id, f"voice {quoted(voice.name)}") for voice in film.voices)
    for other in film.scenes:
        if other.id != scene.id:
            taken.update(dict.fromkeys(content_ids(other.content), entry_name(other)))
    return taken


def next_id_after(film: Film, ids: Iterable[str]) -> int:
    """Return the film's number for the next new id when `ids` have come into it."""
    numbers = [
        int(text) for item in ids if (text := item[1:]).isdecimal() and text.isascii() and len(text) < 15
    ]
    return max(film.next_id, max(numbers, default=0) + 1)


def find_entry(film: Film, entry_id: str) -> Scene | Card:
    """Return the scene or card with this id.

    Raises:
        EditError: when there is none.
    """
    entry = film.entries().get(entry_id)
    if entry is None:
        raise EditError(
            f"The film has no scene or card with the id {quoted(entry_id)}.",
            advice="Choose one from the running order.",
            code="edit.unknown",
        )
    return entry


def find_scene(film: Film, scene_id: str) -> Scene:
    """Return the scene with this id.

    Raises:
        EditError: when there is none, or it is a card.
    """
    entry = find_entry(film, scene_id)
    if not isinstance(entry, Scene):
        raise EditError(
            f"{sentence(entry_name(entry))} is not a scene.", advice="Choose a scene.", code="edit.unknown"
        )
    return entry


def find_card(film: Film, card_id: str) -> Card:
    """Return the card with this id.

    Raises:
        EditError: when there is none, or it is a scene.
    """
    entry = find_entry(film, card_id)
    if not isinstance(entry, Card):
        raise EditError(
            f"{sentence(entry_name(entry))} is not a card.", advice="Choose a card.", code="edit.unknown"
        )
    return entry


def find_open_scene(film: Film, scene_id: str) -> Scene:
    """Return the scene with this id, whose content may be changed.

    Raises:
        EditError: when there is none, or it is locked.
    """
    scene = find_scene(film, scene_id)
    if scene.lock:
        raise EditError(
            f"{sentence(entry_name(scene))} is locked, so its picture, sound and grade can't be changed.",
            advice="Unlock it first; the locked version stays in its history.",
            code="edit.locked",
        )
    return scene


def with_scene(film: Film, scene: Scene) -> Film:
    """Return the film with a scene in the place of the one with its id."""
    return dataclasses.replace(
        film, scenes=tuple(scene if item.id == scene.id else item for item in film.scenes)
    )


def with_content(film: Film, scene: Scene, content: SceneContent) -> Film:
    """Return the film with new content in a scene, and its number for new ids above those in it."""
    changed = with_scene(film, dataclasses.replace(scene, content=content))
    return dataclasses.replace(changed, next_id=next_id_after(film, content_ids(content)))


def refuse_faults(findings: Findings) -> None:
    """Go on only where nothing was found.

    Raises:
        EditError: with the first fault.
    """
    if findings.found:
        raise EditError(
            findings.found[0].sentence,
            advice="Nothing was changed; choose an allowed value.",
            code="edit.value",
            detail="\n".join(fault.sentence for fault in findings.found),
        )
