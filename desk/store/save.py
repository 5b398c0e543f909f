"""Saving: the new film file takes the old one's place in one step, and the old one is kept."""

import dataclasses
import logging
from datetime import datetime

from desk.errors import FilmFileError, OutputError
from desk.files import write_whole
from desk.film.model import Film
from desk.store.earlier import keep, thin_out
from desk.store.folder import read_regular, remove_left_over_parts, revision, utc_now
from desk.store.journal import Journal
from desk.store.project import OpenFilm, checked_bytes

_log = logging.getLogger(__name__)


def save_film(opened: OpenFilm, film: Film, *, now: datetime | None = None) -> OpenFilm:
    """Save a film where it was opened and return it as it is now open.

    The file before is kept in `.desk/earlier/`; a journal that holds this film is removed. Whatever fails,
    and whenever the program is killed, `film.json` is whole: the old one or the new one.

    Does not promise to notice a program that writes the file between the look at it and its replacement:
    those of ours are kept apart by `desk.store.lock`, which the caller holds.

    Args:
        opened: The film as it was opened or last saved.
        film: The film to save.
        now: When, for the versions kept.

    Raises:
        FilmFileError: when it was opened for reading only (`film.read_only`), when the file was changed since
            by another program (`film.changed`), or when the film is not legal (`film.unwritable`).
        OutputError: when the disk refuses.
    """
    if opened.read_only:
        raise FilmFileError(
            f"“{opened.path}” was not saved: it is open for reading only.",
            advice="Open it with the version that wrote it.",
            code="film.read_only",
            path=opened.path,
        )
    data = checked_bytes(film, opened.path)
    present = _present(opened)
    moment = now or utc_now()
    if present != data:
        if present is not None:
            keep(opened.folder, present, now=moment)
        write_whole(opened.path, data)
        try:
            keep(opened.folder, data, now=moment)
        except OutputError as error:
            # The film is saved; only its copy against damage from outside is not there.
            _log.warning("no copy was kept of this version: %s", error)
        thin_out(opened.folder, now=moment)
        remove_left_over_parts(opened.folder)
    settled = Journal(opened.folder).settle(film)
    return dataclasses.replace(
        opened,
        film=film,
        revision=revision(data),
        notice="",
        unsaved=None if settled else opened.unsaved,
    )


def _present(opened: OpenFilm) -> bytes | None:
    """Return what the film file holds now, or None where it was removed and nothing can be overwritten.

    Raises:
        FilmFileError: when it is not what was opened, or can't be read.
    """
    try:
        data = read_regular(opened.path)
    except FilmFileError as error:
        if error.code == "film.missing":
            return None
        raise
    if revision(data) != opened.revision:
        raise FilmFileError(
            f"“{opened.path}” was changed by another program since it was opened, so it was not saved over.",
            advice="Open the film again, or save to another folder.",
            code="film.changed",
            path=opened.path,
        )
    return data
