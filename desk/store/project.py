"""Opening a project and making a new one."""

import contextlib
import os
import shlex
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from desk.errors import FilmFileError, OutputError
from desk.files import output_error, write_whole
from desk.film.model import Film
from desk.store.earlier import keep, last_good
from desk.store.folder import film_path, read_regular, revision, utc_now
from desk.store.format import Reading, decode, encode
from desk.store.journal import Journal


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenFilm:
    """A film as it was opened or last saved.

    Attributes:
        film: The film.
        path: Its file.
        revision: Name for exactly the bytes that the file held.
        read_only: Whether saving is refused, because something in the file would be lost.
        notice: What the person should know, in one or two sentences, or "".
        unsaved: A film in the journal that differs from the file, or None.
    """

    film: Film
    path: Path
    revision: str
    read_only: bool = False
    notice: str = ""
    unsaved: Film | None = None

    @property
    def folder(self) -> Path:
        """The project folder."""
        return self.path.parent


def open_film(folder: Path) -> OpenFilm:
    """Open the film of a project folder. Writes nothing and needs no lock.

    Raises:
        FilmFileError: when there is no whole, legal film file. Code `film.missing` when there is none,
            `film.newer` when it takes a newer version to open it, `film.forbidden` when permissions keep it
            closed; otherwise it is damaged, and the advice says whether and how it can be brought back.
    """
    path = film_path(folder)
    data, reading = read_film(folder)
    notices = []
    if reading.newer:
        notices.append(
            f"“{path}” was written by {reading.newer} in a newer film format, so it is open for reading only "
            "and nothing in it is lost."
        )
    elif reading.unknown:
        others = len(reading.unknown) - 1
        more = f" and {others} more" if others else ""
        notices.append(
            f"“{path}” holds {reading.unknown[0]}{more}, which this version does not know, so it is open for "
            "reading only and nothing in it is lost."
        )
    unsaved, said = _unsaved(folder, reading.film, revision(data))
    return OpenFilm(
        film=reading.film,
        path=path,
        revision=revision(data),
        read_only=bool(reading.newer or reading.unknown),
        notice=" ".join([*notices, *said]),
        unsaved=unsaved,
    )


def read_film(folder: Path) -> tuple[bytes, Reading]:
    """Return the bytes of a project's film file and what they say.

    Raises:
        FilmFileError: as `open_film` tells.
    """
    path = film_path(folder)
    try:
        data = read_regular(path)
        return data, decode(data, path)
    except FilmFileError as error:
        raise FilmFileError(
            _no_film(folder) if error.code == "film.missing" else error.message,
            advice=_way_back(folder, error),
            code=error.code,
            path=path,
            detail=error.detail,
        ) from error


def new_project(folder: Path, film: Film, *, now: datetime | None = None) -> OpenFilm:
    """Make a project folder, where it is missing, and the film file in it.

    Two commands that make the same project at once are kept apart by `desk.store.lock`, which the caller
    holds.

    Args:
        folder: The folder. It may exist and hold other things.
        film: The film.
        now: When, for the version kept.

    Raises:
        FilmFileError: when there is a film file already, or the film is not legal.
        OutputError: when the disk refuses; folders made on the way are gone again.
    """
    path = film_path(folder)
    if os.path.lexists(path):
        raise FilmFileError(
            f"“{folder}” holds a film already.",
            advice="Choose another folder.",
            code="film.exists",
            path=path,
        )
    data = checked_bytes(film, path)
    made = _make_folders(folder)
    try:
        write_whole(path, data)
    except OutputError:
        _remove_folders(made)
        raise
    with contextlib.suppress(OutputError):
        # The film is whole without its copy; the next save makes up for it.
        keep(folder, data, now=now or utc_now())
    return OpenFilm(film=film, path=path, revision=revision(data))


def checked_bytes(film: Film, path: Path) -> bytes:
    """Return the bytes of a film file, having read them back: what is written always opens to the same film.

    Raises:
        FilmFileError: when they would not open, or to another film; code `film.unwritable`.
    """
    data = encode(film, path)
    try:
        same = decode(data, path).film == film
    except FilmFileError as error:
        raise FilmFileError(
            f"The film was not saved, as it could not be opened again: {_inside(error.message)}",
            advice="Undo the last change.",
            code="film.unwritable",
            path=path,
            detail=error.detail,
        ) from error
    if not same:
        raise FilmFileError(
            f"The film was not saved, as “{path}” would open to another film.",
            advice="Undo the last change.",
            code="film.unwritable",
            path=path,
        )
    return data


def _inside(sentence: str) -> str:
    return sentence[:1].lower() + sentence[1:]


def _unsaved(folder: Path, film: Film, present: str) -> tuple[Film | None, list[str]]:
    journal = Journal(folder)
    try:
        found = journal.read()
    except FilmFileError as error:
        return None, [f"Edits that were not saved are there but can't be read: {error.message}"]
    if found is None or found.film == film:
        return None, []
    if found.base == present:
        return found.film, ["There are edits that were not saved."]
    return found.film, ["There are edits that were not saved, made before the film file was last changed."]


def _no_film(folder: Path) -> str:
    if folder.is_dir():
        return f"“{folder}” holds no film: there is no film.json in it."
    return f"“{folder}” is {'a file' if folder.exists() else 'missing'} where a project folder is needed."


def _way_back(folder: Path, error: FilmFileError) -> str:
    if error.code in ("film.newer", "film.forbidden"):
        return error.advice
    if good := last_good(folder):
        place = str(folder.absolute())
        command = "desk recover " + (shlex.quote(place) if os.name == "posix" else f'"{place}"')
        start = f"{error.advice.removesuffix('.')}, or bring" if error.advice else "Bring"
        return f"{start} back the version saved on {good[0].saved_text} with `{command}`."
    if error.code == "film.missing":
        start = "Make a film there with `desk start`, or name" if folder.is_dir() else "Name"
        return f"{start} another folder."
    return error.advice


def _make_folders(folder: Path) -> list[Path]:
    """Make a folder and those above it; returns those that were made, innermost first."""
    missing = []
    while not os.path.lexists(folder) and folder != folder.parent:
        missing.append(folder)
        folder = folder.parent
    made: list[Path] = []
    for path in reversed(missing):
        try:
            path.mkdir(exist_ok=True)
        except OSError as error:
            _remove_folders(made)
            raise output_error(path, error) from error
        made.insert(0, path)
    return made


def _remove_folders(folders: list[Path]) -> None:
    for path in folders:
        with contextlib.suppress(OSError):
            path.rmdir()
