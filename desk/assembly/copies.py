"""Where review copies are: their folder, their numbers, and how a film remembers the place of each."""

import contextlib
import os
import shutil
import tempfile
import time
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

from desk.errors import OutputError
from desk.files import output_error, plain_name
from desk.film.model import Film, ReviewCopy
from desk.film.paths import path_fault

ASSEMBLING = ".assembling-"
"""How the names of what is not finished begin, in the folder of the copies."""

_STALE_SECONDS = 24 * 3600


def refuse_in_footage(out: Path, folder: Path, film: Film, files: Mapping[str, Path]) -> None:
    """Keep copies out of the footage: the next look at it would take them for clips.

    Args:
        out: Where the copies would go; it need not exist.
        folder: The project folder.
        film: The film.
        files: Where each of its files is, by its path in the film.

    Raises:
        OutputError: code `output.in_footage`, when the folder lies in the footage.
    """
    wanted, project = _real(out), _real(folder)
    named = [film.footage, *(scene.folder for scene in film.scenes)]
    folders = {_real(folder / name) for name in named if name} - {project}
    # A file may lie in a folder that holds the whole project.
    around = {project, *project.parents}
    folders |= {_real(parent) for parent in {file.parent for file in files.values()}} - around
    if any(wanted == folder or folder in wanted.parents for folder in folders):
        raise OutputError(
            f"“{out}” lies in the footage, where nothing is written.",
            advice="Choose another folder.",
            code="output.in_footage",
            path=out,
        )


def prepare_out(out: Path) -> None:
    """Make the folder of the copies where it is missing, and clear it of what a killed assembly left.

    Raises:
        OutputError: when nothing can be written there.
    """
    try:
        out.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=out):
            pass
        _remove_left_over(out)
    except OSError as error:
        raise output_error(out, error) from error


@contextlib.contextmanager
def claimed_number(out: Path, film: Film) -> Iterator[tuple[int, str]]:
    """Give the next number that neither the film nor the folder has, and the files' name with it.

    While the block runs, no other assembly takes it: making a folder succeeds for one alone.

    Args:
        out: The folder of the copies.
        film: The film that the copy is entered in.
    """
    title = plain_name(film.title)
    number = max((copy.number for copy in film.review_copies), default=0)
    while True:
        number += 1
        name = f"{title}-review-{number:03}"
        claim = out / f"{ASSEMBLING}{name}"
        try:
            claim.mkdir()
        except FileExistsError:
            continue
        try:
            if not any(out.glob(f"{name}.*")):
                yield number, name
                return
        finally:
            claim.rmdir()


def kept_path(file: Path, folder: Path) -> str:
    """Return how a film remembers where a copy is: its path from the project folder, with `/`.

    On another drive, and where a folder on the way has a name that a film file can't hold, there is no such
    path: then it is the file's name alone.

    Args:
        file: The copy.
        folder: The project folder.
    """
    try:
        # `..` goes up from where a link leads to, and so does this.
        between = os.path.relpath(os.path.realpath(file.parent), os.path.realpath(folder))
    except ValueError:
        return file.name
    path = "/".join([*Path(between).parts, file.name])
    if path_fault(path):
        path = f"./{path}"
    return file.name if path_fault(path) else path


def find_copy(copy: ReviewCopy, folder: Path, *, also_in: Iterable[Path] = ()) -> Path | None:
    """Return where a review copy is, or None where it is not found.

    Args:
        copy: The copy. Of one whose place is not known, its film has the file's name alone.
        folder: The project folder.
        also_in: Other folders that it may be in, such as the one that copies went to last.
    """
    name = copy.file.rpartition("/")[2]
    places = [folder / copy.file, *(place / name for place in also_in)]
    return next((place for place in places if place.is_file()), None)


def _real(path: Path) -> Path:
    """Return where a path leads to; unlike `Path.resolve`, also for a link that leads round in a circle."""
    return Path(os.path.realpath(path))


def _remove_left_over(out: Path) -> None:
    """Remove what assemblies that were killed left a day ago or longer."""
    oldest = time.time() - _STALE_SECONDS
    for path in out.glob(f"{ASSEMBLING}*"):
        with contextlib.suppress(OSError):
            if path.lstat().st_mtime < oldest:
                shutil.rmtree(path)
