"""Pieces on disk, named by what decides their bytes.

A piece is written aside and put in place whole. Its file name also holds a hash of its bytes' head, middle
and tail: a piece that does not match is damaged, counts as not there, and is made again. Losing the
folder costs nothing but time. One `PieceStore` is used from any number of threads, and several processes may
share the folder: the last to finish a piece wins, and both wrote the same.
"""

import contextlib
import logging
import os
import shutil
import time
from collections.abc import Callable
from pathlib import Path

from desk.files import output_error, sample_hash

_CHECK_DIGITS = 16
_STALE_SECONDS = 24 * 3600
LIMIT_BYTES = 40 << 30
"""What a film's pieces may take before the ones not used for longest go."""

_log = logging.getLogger(__name__)


class PieceStore:
    """The pieces of one film."""

    def __init__(self, folder: Path) -> None:
        """Open the folder, and make it where there is none.

        Raises:
            OutputError: when it can't be made.
        """
        self.folder = folder
        try:
            folder.mkdir(parents=True, exist_ok=True)
            self._found = dict(self._listed())
        except OSError as error:
            raise output_error(folder, error) from error

    def find(self, key: str) -> Path | None:
        """Return the piece of this name when it is there and whole."""
        path = self._found.get(key)
        if path is None:
            return None
        try:
            if sample_hash(path)[:_CHECK_DIGITS] == _check_of(path):
                os.utime(path)
                return path
            _log.warning("piece %s is damaged and will be made again", path.name)
            path.unlink()
        except OSError as error:
            _log.warning("piece %s can't be read and will be made again: %s", path.name, error)
        self._found.pop(key, None)
        return None

    def make(self, key: str, suffix: str, write: Callable[[Path], None]) -> Path:
        """Return the piece of this name, written now by `write` to the path that it is given.

        Raises:
            OutputError: when the disk refuses; and whatever `write` raises. Nothing is left then.
        """
        part = self.folder / f".{key}.{os.urandom(4).hex()}{suffix}"
        try:
            write(part)
            final = self.folder / f"{key}.{sample_hash(part)[:_CHECK_DIGITS]}{suffix}"
            part.replace(final)
        except OSError as error:
            raise output_error(self.folder, error) from error
        finally:
            part.unlink(missing_ok=True)
        self._found[key] = final
        return final

    def remove(self, key: str) -> None:
        """Remove the piece of this name where there is one; a disk that refuses keeps it."""
        path = self._found.pop(key, None)
        if path is not None:
            with contextlib.suppress(OSError):
                path.unlink(missing_ok=True)

    def tidy(self, limit_bytes: int = LIMIT_BYTES) -> None:
        """Remove what a crash left, and over `limit_bytes` the pieces not used for longest."""
        now = time.time()
        pieces = []
        with contextlib.suppress(OSError):
            for item in os.scandir(self.folder):
                with contextlib.suppress(OSError):
                    facts = item.stat()
                    if item.name.startswith("."):
                        if now - facts.st_mtime > _STALE_SECONDS:
                            shutil.rmtree(item) if item.is_dir() else Path(item.path).unlink()
                    else:
                        pieces.append((facts.st_mtime, facts.st_size, Path(item.path)))
        total = sum(size for _, size, _ in pieces)
        for _, size, path in sorted(pieces):
            if total <= limit_bytes:
                break
            with contextlib.suppress(OSError):
                path.unlink()
                total -= size

    def _listed(self) -> list[tuple[str, Path]]:
        paths = [path for path in self.folder.iterdir() if not path.name.startswith(".")]
        return [(path.name.split(".")[0], path) for path in paths if len(path.suffixes) == 2]


def _check_of(path: Path) -> str:
    return path.name.split(".")[1]
