"""Opening, finding and editing a film for a command."""

from collections.abc import Callable, Sequence
from pathlib import Path

from desk.cli.console import Words
from desk.errors import EditError
from desk.film.edits import Edit
from desk.film.effects import describe_effect
from desk.film.model import Card, Film, Scene
from desk.film.reading import kind_name
from desk.film.wording import listed, quoted, uncapped
from desk.store.lock import hold
from desk.store.project import OpenFilm, open_film
from desk.store.save import save_film

_MOST_NAMES = 40


def opened(folder: Path, words: Words) -> OpenFilm:
    """Open a film for reading, and pass on what there is to know.

    Raises:
        FilmFileError: when it can't be read.
    """
    film = open_film(folder)
    if film.notice:
        words.note(film.notice)
    return film


def edit(folder: Path, command: str, words: Words, make: Callable[[Film], Edit]) -> Edit:
    """Make an edit, save the film, and say what was done; nothing is saved when it is refused.

    Args:
        folder: The project folder.
        command: What is being done, for a second command that finds the film held.
        words: Says what came of it.
        make: Gives the edit.

    Raises:
        FilmFileError: when the film can't be read, or is held or open for reading only.
        EditError: when the film does not allow it.
        OutputError: when the disk refuses.
    """
    open_film(folder)  # a folder without a film is told before anything is written there
    with hold(folder, command):
        film = opened(folder, words)
        done = make(film.film)
        if not done.changes_nothing:
            save_film(film, done.after)
    words.say(f"{'Nothing to change' if done.changes_nothing else 'Done'}: {uncapped(done.text)}.")
    return done


def say_effect(done: Edit, words: Words) -> None:
    """Say what an edit did to the film's figures."""
    words.say(describe_effect(done.before, done.after))


def in_turn(film: Film, steps: Sequence[Callable[[Film], Edit]]) -> Edit:
    """Return several edits, each on what the one before gives, as one: all of them are made, or none.

    Args:
        film: The film.
        steps: One or more edits.

    Raises:
        EditError: when the film does not allow one of them.
    """
    done: list[Edit] = []
    for step in steps:
        done.append(step(done[-1].after if done else film))
    text = listed([done[0].text, *(uncapped(item.text) for item in done[1:])], most=len(done))
    return Edit(text, film, done[-1].after, done[-1].change)


def find(film: Film, name: str) -> Scene | Card:
    """Return the scene with a number, or the card with a name, as a person writes it.

    A scene's number comes before a card's name, and both before an id.

    Raises:
        EditError: when there is none, or more than one.
    """
    wanted = name.strip().casefold()
    entries = list(film.entries().values())
    ways: tuple[Callable[[Scene | Card], bool], ...] = (
        lambda entry: isinstance(entry, Scene) and entry.number.casefold() == wanted,
        lambda entry: isinstance(entry, Card) and kind_name(entry).casefold() == wanted,
        lambda entry: entry.id.casefold() == wanted,
    )
    found = next((some for way in ways if (some := [entry for entry in entries if way(entry)])), [])
    if len(found) == 1:
        return found[0]
    if found:
        raise EditError(
            f"{quoted(name)} could be {len(found)} cards.",
            advice=f"Name one by its id: {listed([entry.id for entry in found], most=_MOST_NAMES)}.",
            code="edit.ambiguous",
        )
    names = [entry.number if isinstance(entry, Scene) else kind_name(entry) for entry in entries]
    raise EditError(
        f"There is no scene or card {quoted(name)} in this film.",
        advice=f"There are {listed(names, most=_MOST_NAMES)}." if names else "The film is empty.",
        code="edit.unknown",
    )


def find_ids(film: Film, names: Sequence[str]) -> tuple[str, ...]:
    """Return the ids of scenes and cards, each once.

    Raises:
        EditError: as `find`.
    """
    return tuple(dict.fromkeys(find(film, name).id for name in names))


def find_scene(film: Film, name: str) -> Scene:
    """Return the scene with a number.

    Raises:
        EditError: as `find`, and for a card.
    """
    entry = find(film, name)
    if isinstance(entry, Card):
        raise EditError(f"{quoted(name)} is a card.", advice="Name a scene.", code="edit.not_a_scene")
    return entry
