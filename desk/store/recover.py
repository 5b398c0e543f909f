"""Bringing back the last good version of a film whose file is damaged or gone."""

import contextlib
import os
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from desk.errors import FilmFileError
from desk.files import replacing
from desk.film.model import Film
from desk.store.earlier import Kept, last_good
from desk.store.folder import film_path, stamp, utc_now
from desk.store.project import read_film


@dataclass(frozen=True, slots=True, kw_only=True)
class Recovered:
    """What was brought back.

    Attributes:
        film: The film as it is again.
        version: The version it came from.
        damaged: Where the damaged file is now, or None where there was none.
    """

    film: Film
    version: Kept
    damaged: Path | None


def recover(folder: Path, *, now: datetime | None = None) -> Recovered:
    """Put the last good version in the place of a damaged or missing film file.

    The damaged file stays beside it as `film-damaged-<time>.json`. The journal of unsaved edits is not
    touched. The caller holds the project's lock.

    Args:
        folder: The project folder.
        now: When, for the damaged file's name.

    Raises:
        FilmFileError: when the film file is whole (`film.whole`), needs a newer version or other permissions,
            or when no good version is kept.
        OutputError: when the disk refuses; all is then as it was.
    """
    path = film_path(folder)
    fault = _fault(folder)
    good = last_good(folder)
    if good is None:
        raise fault
    version, data, reading = good
    damaged = _free_name(folder, now or utc_now()) if os.path.lexists(path) else None
    try:
        with replacing(path) as part:
            part.write_bytes(data)
            if damaged:
                path.rename(damaged)
    except BaseException:
        if damaged and not os.path.lexists(path):
            with contextlib.suppress(OSError):
                damaged.rename(path)
        raise
    return Recovered(film=reading.film, version=version, damaged=damaged)


def _fault(folder: Path) -> FilmFileError:
    """Return what is wrong with a film file.

    Raises:
        FilmFileError: when nothing is, or nothing that an earlier version would mend.
    """
    try:
        read_film(folder)
    except FilmFileError as error:
        if error.code in ("film.newer", "film.forbidden"):
            raise
        return error
    raise FilmFileError(
        f"“{film_path(folder)}” is whole, so nothing was brought back.",
        advice="Go on with it; earlier versions are kept in .desk/earlier.",
        code="film.whole",
        path=film_path(folder),
    )


def _free_name(folder: Path, moment: datetime) -> Path:
    """Return a name for the damaged file that nothing bears yet."""
    path = folder / f"film-damaged-{stamp(moment)}.json"
    number = 2
    while os.path.lexists(path):
        path = folder / f"film-damaged-{stamp(moment)}-{number}.json"
        number += 1
    return path
