"""What lies where in a project folder, and how a file there is read without trusting it.

    film.json                     the film
    film-damaged-<time>.json      a damaged film file that `recover` put aside
    .desk/film.lock               who holds the film
    .desk/unsaved.json            the journal of unsaved edits
    .desk/earlier/                versions of the film file, each as it was saved
    .desk/probes.json             what was read of media
    .desk/seen.json               what each file was when it was last seen
    .desk/thumbnails/             small pictures of footage
    .desk/colours/                mean colours of footage
    .desk/waveforms/              outlines of sounds
    .desk/loudness/               how loud sounds are
    .desk/speech.json             where somebody speaks in clips
    .desk/key-pictures/           small pictures of the key frames of heavy footage without a proxy
    .desk/proxies/                small copies of heavy footage, for looking at it
    .desk/speed.json              how fast this machine makes pieces
    .desk/pieces/                 pieces of picture and sound

`.desk` is made when it is first needed; reading never makes it.
"""

import errno
import hashlib
import os
import re
import stat
import time
from datetime import UTC, datetime
from pathlib import Path

from desk.errors import FilmFileError, OutputError
from desk.files import output_error

LIMIT_BYTES = 32 << 20
"""Most that a film file may hold: 27 times a film of 4,800 clips, whose file has 1.2 MB."""

_REFUSALS = {
    errno.EACCES: "reading it is not allowed",
    errno.EPERM: "reading it is not allowed",
    errno.EIO: "the disk reports a fault",
    errno.ENAMETOOLONG: "its name is too long for this disk",
    errno.ELOOP: "it is a link that leads round in a circle",
}
_PART_NAME = re.compile(r"\..+\.\d+-[0-9a-f]{8}\.part\.json")
_PART_AGE_SECONDS = 3600


def film_path(folder: Path) -> Path:
    """Return where the film file of a project is."""
    return folder / "film.json"


def desk_folder(folder: Path) -> Path:
    """Return the folder for what the program keeps beside the film file."""
    return folder / ".desk"


def make_inside(folder: Path, *names: str) -> Path:
    """Return a folder inside a project folder; it is made where it is missing, the project folder is not.

    Raises:
        OutputError: when the disk refuses.
    """
    for name in names:
        folder = folder / name
        try:
            folder.mkdir(exist_ok=True)
        except FileExistsError as error:
            raise OutputError(
                f"“{folder}” is a file where a folder is needed.",
                advice="Move or rename it.",
                path=folder,
            ) from error
        except OSError as error:
            raise output_error(folder, error) from error
    return folder


def utc_now() -> datetime:
    """Return the time now, in whole seconds."""
    return datetime.now(UTC).replace(microsecond=0)


def stamp(moment: datetime) -> str:
    """Return a time as it stands in file names: `20261125T101500Z`."""
    return moment.astimezone(UTC).strftime("%Y%m%dT%H%M%SZ")


def revision(data: bytes) -> str:
    """Return a name for exactly these bytes of a film file: 32 hex digits."""
    return hashlib.sha256(data).hexdigest()[:32]


def shown(text: str, *, most: int = 80) -> str:
    """Return text from a file as it may stand in a message: one line of printable signs, shortened."""
    line = "".join(sign if sign.isprintable() else "\ufffd" for sign in text[: most + 1])
    return line if len(line) <= most else line[: most - 1] + "…"


def read_regular(path: Path) -> bytes:
    """Return the bytes of a plain file in a project folder; never follows a link and never waits on a pipe.

    Raises:
        FilmFileError: code `film.missing` when it is not there, `film.forbidden` when permissions keep it
            closed, else `film.unreadable`.
    """
    try:
        _refuse_unless_plain(path, path.lstat())
        # Looked at again after opening, as it may be another file by now; a pipe must not hold us.
        flags = os.O_RDONLY
        for name in ("O_NONBLOCK", "O_NOFOLLOW", "O_BINARY", "O_CLOEXEC"):
            flags |= getattr(os, name, 0)
        with open(os.open(path, flags), "rb") as stream:  # noqa: PTH123 - Path.open takes no flags
            _refuse_unless_plain(path, os.fstat(stream.fileno()))
            data = stream.read(LIMIT_BYTES + 1)
    except (FileNotFoundError, NotADirectoryError) as error:
        raise FilmFileError(f"“{path}” does not exist.", code="film.missing", path=path) from error
    except OSError as error:
        refused = error.errno in (errno.EACCES, errno.EPERM)
        reason = _REFUSALS.get(error.errno or 0) or os.strerror(error.errno or 0)
        raise FilmFileError(
            f"“{path}” can't be read: {reason}.",
            advice="Change its permissions." if refused else "Look at the path and the disk.",
            code="film.forbidden" if refused else "",
            path=path,
            detail=str(error),
        ) from error
    if len(data) > LIMIT_BYTES:
        raise _too_large(path)
    return data


def remove_left_over_parts(folder: Path) -> None:
    """Remove part-files that writers which were killed left in a folder; those under an hour old stay.

    Does not promise to remove any: what the disk refuses stays.
    """
    oldest = time.time() - _PART_AGE_SECONDS
    try:
        for path in folder.iterdir():
            if _PART_NAME.fullmatch(path.name) and path.lstat().st_mtime < oldest:
                path.unlink(missing_ok=True)
    except OSError:
        return


def _refuse_unless_plain(path: Path, facts: os.stat_result) -> None:
    if stat.S_ISLNK(facts.st_mode):
        raise FilmFileError(
            f"“{path}” is a link, which is not followed.",
            advice="Put the file itself in its place.",
            path=path,
        )
    if stat.S_ISDIR(facts.st_mode):
        raise FilmFileError(
            f"“{path}” is a folder where a file is needed.", advice="Move or rename it.", path=path
        )
    if not stat.S_ISREG(facts.st_mode):
        raise FilmFileError(
            f"“{path}” is a pipe, socket or device where a file is needed.",
            advice="Move or rename it.",
            path=path,
        )
    if facts.st_size > LIMIT_BYTES:
        raise _too_large(path)


def _too_large(path: Path) -> FilmFileError:
    return FilmFileError(
        f"“{path}” is larger than a film file can be ({LIMIT_BYTES >> 20} MB).",
        advice="Put the right file in its place.",
        path=path,
    )
