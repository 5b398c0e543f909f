"""Making the project of a new film, for a command or for the window."""

import os
from pathlib import Path

from desk.errors import FilmFileError
from desk.files import output_error
from desk.film.model import Film
from desk.store.folder import film_path
from desk.store.lock import hold
from desk.store.project import OpenFilm, new_project


def refuse_taken(folder: Path) -> None:
    """Refuse a project folder that holds a film, before work is put into another one.

    Args:
        folder: The folder; it may be missing.

    Raises:
        FilmFileError: code `film.exists`, when there is a film file.
    """
    if os.path.lexists(film_path(folder)):
        raise FilmFileError(
            f"“{folder}” holds a film already.",
            advice="Choose another folder, or open the film that is there.",
            code="film.exists",
            path=film_path(folder),
        )


def make_project(folder: Path, film: Film, command: str) -> OpenFilm:
    """Make a project folder, where it is missing, and the film file in it, held against others meanwhile.

    Args:
        folder: The folder. It may exist and hold other things.
        film: The film.
        command: What makes it, told to whoever comes second.

    Raises:
        FilmFileError: when there is a film file already, or the film is not legal.
        FilmBusyError: when somebody else is making a film there.
        OutputError: when the disk refuses.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise output_error(folder, error) from error
    with hold(folder, command):
        return new_project(folder, film)
