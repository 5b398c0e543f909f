"""Keeps what was worked out of media in the project folder: small results, each in a file of its own.

    .desk/<name>/<key>.<suffix>     a result, with a checksum behind it

The key is made of all that decides the result, so a file that has become another one has another key. Losing
the folder costs nothing but time: what is missing or damaged is made again.
"""

import contextlib
import os
import zlib
from pathlib import Path

from desk.errors import OutputError
from desk.store.folder import desk_folder, make_inside

_CHECKSUM_BYTES = 4


class KeptFiles:
    """Results of one kind on disk. Where the disk refuses, nothing is kept.

    Does not promise that what was kept is found again: it may be cleared away at any time.
    """

    def __init__(self, project_folder: Path, name: str, suffix: str, limit_bytes: int) -> None:
        """Look at nothing yet.

        Args:
            project_folder: The project folder.
            name: Name of their folder in `.desk`.
            suffix: What their names end with, without the dot.
            limit_bytes: What all may take on disk before the oldest go.
        """
        self._project_folder = project_folder
        self._folder = desk_folder(project_folder) / name
        self._suffix = suffix
        self._limit_bytes = limit_bytes
        self._can_write: bool | None = None

    def find(self, key: str) -> bytes | None:
        """Return a result that was kept, or None where there is none or it is damaged."""
        try:
            data = self._path(key).read_bytes()
        except OSError:
            return None
        kept, checksum = data[:-_CHECKSUM_BYTES], data[-_CHECKSUM_BYTES:]
        return kept if zlib.crc32(kept).to_bytes(_CHECKSUM_BYTES, "big") == checksum else None

    def keep(self, key: str, data: bytes) -> None:
        """Keep a result: the file is written whole or not at all, without waiting for the disk."""
        if self._can_write is None:
            self._can_write = self._prepare()
        if not self._can_write:
            return
        target = self._path(key)
        part = target.with_name(f".{target.stem}.{os.urandom(4).hex()}.part")
        try:
            part.write_bytes(data + zlib.crc32(data).to_bytes(_CHECKSUM_BYTES, "big"))
            part.replace(target)
        except OSError:
            self._can_write = False
            with contextlib.suppress(OSError):
                part.unlink(missing_ok=True)

    def _path(self, key: str) -> Path:
        return self._folder / f"{key}.{self._suffix}"

    def _prepare(self) -> bool:
        try:
            make_inside(self._project_folder, self._folder.parent.name, self._folder.name)
        except OutputError:
            return False
        self._tidy()
        return True

    def _tidy(self) -> None:
        kept = []
        with contextlib.suppress(OSError):
            for item in os.scandir(self._folder):
                state = item.stat()
                kept.append((state.st_mtime, state.st_size, Path(item.path)))
        total = sum(size for _, size, _ in kept)
        for _, size, path in sorted(kept):
            if total <= self._limit_bytes:
                break
            with contextlib.suppress(OSError):
                path.unlink()
                total -= size
