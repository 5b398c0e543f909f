"""Versions of the film file, kept in `.desk/earlier/`, each as it was saved, the present one among them.

A copy of the present version is there too, so that damage to `film.json` from outside loses nothing. Which
are kept: the last 20; beyond those, the last of each hour for a day, and the last of each day after that.
"""

import contextlib
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from desk.errors import FilmFileError
from desk.files import write_whole
from desk.store.folder import (
    desk_folder,
    make_inside,
    read_regular,
    remove_left_over_parts,
    revision,
    stamp,
)
from desk.store.format import Reading, decode

KEPT_RECENT = 20
"""How many of the last versions are kept, whatever their times."""

_NAME = re.compile(r"(?P<sequence>\d{6,9})-(?P<saved>\d{8}T\d{6}Z)-(?P<content>[0-9a-f]{12})\.json")


@dataclass(frozen=True, slots=True, order=True)
class Kept:
    """A version in `.desk/earlier/`.

    Attributes:
        sequence: 1, 2, 3 … in the order in which they were kept, right even when the clock was not.
        saved: When it was kept, in whole seconds UTC.
        content: The first 12 digits of the revision.
    """

    sequence: int
    saved: datetime
    content: str

    @property
    def name(self) -> str:
        """Its file name."""
        return f"{self.sequence:06d}-{stamp(self.saved)}-{self.content}.json"

    @property
    def saved_text(self) -> str:
        """When it was kept, for a person: local time."""
        return self.saved.astimezone().strftime("%Y-%m-%d %H:%M:%S")


def kept_versions(folder: Path) -> tuple[Kept, ...]:
    """Return what is kept of a project, oldest first; none where the folder can't be read."""
    found = []
    with contextlib.suppress(OSError):
        for path in _earlier(folder).iterdir():
            match = _NAME.fullmatch(path.name)
            with contextlib.suppress(ValueError):
                if match:
                    saved = datetime.strptime(match["saved"], "%Y%m%dT%H%M%SZ").replace(tzinfo=UTC)
                    found.append(Kept(int(match["sequence"]), saved, match["content"]))
    return tuple(sorted(found))


def keep(folder: Path, data: bytes, *, now: datetime) -> Kept:
    """Keep the bytes of a film file, unless the newest version kept is these very bytes.

    Raises:
        OutputError: when the disk refuses; nothing half-written is left.
    """
    content = revision(data)[:12]
    versions = kept_versions(folder)
    if versions and versions[-1].content == content and _bytes(folder, versions[-1]) == data:
        return versions[-1]
    version = Kept(versions[-1].sequence + 1 if versions else 1, now.replace(microsecond=0), content)
    write_whole(make_inside(folder, ".desk", "earlier") / version.name, data)
    return version


def superfluous(versions: Sequence[Kept], *, now: datetime) -> tuple[Kept, ...]:
    """Return which of the versions kept need not be kept any longer, newest first."""
    ordered = sorted(versions, reverse=True)
    taken = {_slot(version, now) for version in ordered[:KEPT_RECENT]}
    dropped = []
    for version in ordered[KEPT_RECENT:]:
        slot = _slot(version, now)
        if slot in taken:
            dropped.append(version)
        taken.add(slot)
    return tuple(dropped)


def thin_out(folder: Path, *, now: datetime) -> None:
    """Remove the superfluous versions of a project, and part-files that killed writers left.

    Does not promise to remove any: what the disk refuses stays, and is tried again after the next save.
    """
    remove_left_over_parts(_earlier(folder))
    for version in superfluous(kept_versions(folder), now=now):
        with contextlib.suppress(OSError):
            (_earlier(folder) / version.name).unlink(missing_ok=True)


def last_good(folder: Path) -> tuple[Kept, bytes, Reading] | None:
    """Return the newest version kept that opens, its bytes and what they say, or None."""
    for version in reversed(kept_versions(folder)):
        data = _bytes(folder, version)
        if revision(data)[:12] == version.content:
            with contextlib.suppress(FilmFileError):
                return version, data, decode(data, _earlier(folder) / version.name)
    return None


def _earlier(folder: Path) -> Path:
    return desk_folder(folder) / "earlier"


def _bytes(folder: Path, version: Kept) -> bytes:
    """Return a version's bytes, or none where they can't be read."""
    try:
        return read_regular(_earlier(folder) / version.name)
    except FilmFileError:
        return b""


def _slot(version: Kept, now: datetime) -> tuple[str, str]:
    """Return the hour or day of which one version is kept."""
    if now - version.saved < timedelta(days=1):
        return ("hour", f"{version.saved:%Y%m%d%H}")
    return ("day", f"{version.saved:%Y%m%d}")
