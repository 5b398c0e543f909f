"""What each file of a film was when it was last seen, so that it is known again under another name or place.

Kept in `.desk/seen.json` by the film's own paths; a file that is missing stays there as it was.
"""

import contextlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

import msgspec

from desk.files import output_error, write_whole
from desk.film.media import MediaFacts
from desk.film.problem import MediaTrouble

SEEN_VERSION = 1
"""Rises when files are told apart in another way."""

SeenFile = tuple[int, str]
"""Size in bytes and sample hash."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _SeenFiles:
    version: int = SEEN_VERSION
    files: dict[str, SeenFile] = field(default_factory=dict)


def seen_path(folder: Path) -> Path:
    """Return where it is kept in the folder that the program has beside a film file."""
    return folder / "seen.json"


def read_seen(path: Path) -> dict[str, SeenFile]:
    """Return what files were when they were last seen; nothing where that is not known.

    Args:
        path: See `seen_path`.
    """
    with contextlib.suppress(OSError, msgspec.DecodeError, ValueError, RecursionError):
        read = msgspec.json.decode(path.read_bytes(), type=_SeenFiles)
        if read.version == SEEN_VERSION:
            return read.files
    return {}


def remember(path: Path, facts: Mapping[str, MediaFacts | MediaTrouble]) -> None:
    """Keep what files are. Does not promise to keep what two programs add at the same time.

    Args:
        path: See `seen_path`.
        facts: What was read of files, by path in the film; what is wrong with a file is not kept.

    Raises:
        OutputError: when the disk refuses; what was kept is then untouched.
    """
    before = read_seen(path)
    now = {
        name: (known.size_bytes, known.sample_hash)
        for name, known in facts.items()
        if isinstance(known, MediaFacts)
    }
    if all(before.get(name) == state for name, state in now.items()):
        return
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise output_error(path, error) from error
    write_whole(path, msgspec.json.encode(_SeenFiles(files={**before, **now})))
