"""Opening a film for a window: held for writing where that is possible, with what a crash left."""

import contextlib
import dataclasses
from dataclasses import dataclass
from pathlib import Path

from desk.errors import FilmBusyError, FilmFileError, OutputError
from desk.film.edits import Change, ChangeKind, Edit
from desk.film.model import Film
from desk.store.earlier import Kept, last_good
from desk.store.journal import Journal
from desk.store.lock import hold
from desk.store.project import OpenFilm, open_film
from desk.store.recover import recover

COMMAND = "desk open"


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """A film that was opened.

    Attributes:
        film: As it was opened.
        holding: Gives the film back to others when it is closed.
        read_only: Why it can't be edited, as a sentence, or "".
        unsaved: Edits that a crash left and the film file does not hold, or None.
        diverged: Whether the film file was changed after those edits.
    """

    film: OpenFilm
    holding: contextlib.ExitStack
    read_only: str = ""
    unsaved: Film | None = None
    diverged: bool = False

    def edit_of_unsaved(self) -> Edit:
        """Return the edit that brings the unsaved edits back."""
        assert self.unsaved is not None
        # Review copies are facts about the world: those of the film file stay.
        film = dataclasses.replace(self.unsaved, review_copies=self.film.film.review_copies)
        return Edit("Bring back edits", self.film.film, film, Change(ChangeKind.FILM))


def open_for_window(folder: Path) -> Opening:
    """Open a film and hold it, or open it for reading only where it can't be held.

    Raises:
        FilmFileError: when there is no whole film; see `desk.store.project.open_film`.
    """
    open_film(folder)  # a folder without a film is told before anything is written there
    with contextlib.ExitStack() as stack:
        read_only = ""
        try:
            stack.enter_context(hold(folder, COMMAND))
        except FilmBusyError as error:
            read_only = _who_has_it(error)
        except OutputError as error:
            read_only = f"It is open for reading only: {error.message}"
        film = open_film(folder)
        if film.read_only:
            read_only = film.notice
        unsaved = None if read_only else film.unsaved
        diverged = unsaved is not None and _base(folder) != film.revision
        holding = stack.pop_all()
    return Opening(film=film, holding=holding, read_only=read_only, unsaved=unsaved, diverged=diverged)


def version_to_recover(folder: Path, error: FilmFileError) -> Kept | None:
    """Return the version that can take the place of a film file that could not be opened, or None."""
    if error.code in ("film.newer", "film.forbidden"):
        return None
    good = last_good(folder)
    return good[0] if good else None


def recover_film(folder: Path) -> str:
    """Bring back the last good version of a film; returns what was done, in sentences.

    Raises:
        FilmFileError: as `desk.store.recover.recover`.
        OutputError: when the disk refuses.
    """
    with hold(folder, "desk recover"):
        done = recover(folder)
    kept = f" The damaged file is kept as “{done.damaged.name}”." if done.damaged else ""
    return f"This is the film as saved on {done.version.saved_text}.{kept}"


def _who_has_it(error: FilmBusyError) -> str:
    """Return who has a film that is opened for reading only, as a person at a window sees it."""
    if f"`{COMMAND}`" in error.message:
        return "The film is open in another window, which can change it. It is open for reading only here."
    return f"{error.message} It is open for reading only."


def _base(folder: Path) -> str:
    with contextlib.suppress(FilmFileError):
        found = Journal(folder).read()
        return found.base if found else ""
    return ""
