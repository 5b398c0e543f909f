"""The demo film, and a copy of it to work on: the demo itself is never edited."""

import os
import tempfile
from pathlib import Path

import desk
from desk.errors import OutputError
from desk.files import output_error, resolved, sync_folder
from desk.film.wording import quoted
from desk.jobs import CancelToken, Progress, ProgressListener
from desk.store.folder import film_path

DEMO_NAME = "The Unprinted Ticket"

_BLOCK_BYTES = 1 << 20
# What belongs to one copy alone, and what Python leaves beside scripts.
_LEFT_OUT = frozenset({".desk", "__pycache__"})


def demo_folder() -> Path | None:
    """Return where the demo film is, or None where the program came without it."""
    folder = Path(desk.__file__).resolve().parent.parent / "demo_project"
    return folder if film_path(folder).is_file() else None


def copy_demo(demo: Path, into: Path, progress: ProgressListener, cancel: CancelToken) -> Path:
    """Copy the demo film into a folder of its own, and return that.

    It is copied aside first, so that a copy which was stopped or failed leaves nothing behind.

    Args:
        demo: Where the demo film is.
        into: The folder to put the copy into; it is made where it is missing.
        progress: Told how far it is.
        cancel: Stops it.

    Raises:
        OutputError: when the disk refuses, or the folder lies in the demo itself.
        Cancelled: when stopped on request.
    """
    home = resolved(into)
    if home == resolved(demo) or resolved(demo) in home.parents:
        raise OutputError(
            f"“{into}” lies in the demo itself, which stays as it is.",
            advice="Choose another folder.",
            path=into,
        )
    try:
        into.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=into, prefix=".copying-") as aside:
            copy = Path(aside) / "copy"
            _copy(demo, copy, progress, cancel)
            target = _free_name(into)
            copy.rename(target)
    except OSError as error:
        raise output_error(into, error) from error
    sync_folder(into)
    return target


def _copy(demo: Path, copy: Path, progress: ProgressListener, cancel: CancelToken) -> None:
    files = list(_files(demo))
    total_bytes = sum(file.stat().st_size for file in files) or 1
    done_bytes = 0
    for file in files:
        target = copy / file.relative_to(demo)
        target.parent.mkdir(parents=True, exist_ok=True)
        with file.open("rb") as source, target.open("wb") as written:
            while block := source.read(_BLOCK_BYTES):
                cancel.check()
                written.write(block)
                done_bytes += len(block)
                progress(Progress("copy", f"Copying the demo: {quoted(file.name)}", done_bytes / total_bytes))


def _files(folder: Path) -> list[Path]:
    found: list[Path] = []
    for base, folders, files in os.walk(folder):
        folders[:] = sorted(name for name in folders if name not in _LEFT_OUT)
        found += (Path(base) / name for name in sorted(files))
    return found


def _free_name(into: Path) -> Path:
    number = 1
    while os.path.lexists(target := into / (DEMO_NAME if number == 1 else f"{DEMO_NAME} {number}")):
        number += 1
    return target
