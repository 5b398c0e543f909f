"""The maker's own folders of sounds: which they are, what is in them, and finding some by name.

They belong to the person, not to a film, so they are kept with the window's settings. Folders are read beside
the window; nothing in them is opened or written.
"""

import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from desk.footage.order import SOUND_SUFFIXES, Walk, in_natural_order
from desk.jobs import CancelToken, Progress, ProgressListener
from desk.ui.settings import settings

MOST_FILES = 50_000
"""So many sounds are listed; more folders are better named one by one."""

_KEY = "sounds/folders"
_TOLD_EVERY = 500


@dataclass(frozen=True, slots=True)
class Sound:
    """A sound in one of the folders.

    Attributes:
        path: The file.
        place: Its path below the folder that was named, for reading.
        folded: The same in lower case, for finding.
    """

    path: Path
    place: str
    folded: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Sounds:
    """What is in the folders.

    Attributes:
        found: The sounds, folder by folder, in natural order.
        remarks: Sentences about what was passed over.
    """

    found: tuple[Sound, ...]
    remarks: tuple[str, ...] = ()


def named_folders() -> tuple[str, ...]:
    """Return the folders that the person named."""
    told = settings().value(_KEY, [])
    # A list with one text in it comes back as that text.
    kept = [told] if isinstance(told, str) else told if isinstance(told, list) else []
    return tuple(folder for folder in kept if isinstance(folder, str) and folder)


def name_folders(folders: Sequence[str]) -> None:
    """Keep other folders."""
    settings().setValue(_KEY, list(folders))


def read_folders(folders: Sequence[str], progress: ProgressListener, cancel: CancelToken) -> Sounds:
    """Return the sounds in folders and below them; a job.

    Args:
        folders: Where to look.
        progress: Told how many were found.
        cancel: Stops it.

    Raises:
        Cancelled: when stopped on request.
    """
    found: dict[Path, Sound] = {}
    remarks: list[str] = []
    for name in folders:
        folder = Path(name)
        if not folder.is_dir():
            remarks.append(f"“{name}” is missing. Connect its disk, or take it off the list.")
            continue
        walk = Walk(folder)
        for path in in_natural_order(_sounds_below(walk, folder, MOST_FILES - len(found), cancel)):
            place = os.path.relpath(path, folder)
            found.setdefault(path, Sound(path, place, place.casefold()))
            if len(found) % _TOLD_EVERY == 0:
                progress(Progress("sounds", f"{len(found):,} sounds", len(found) / MOST_FILES))
        remarks += walk.remarks
        if len(found) >= MOST_FILES:
            remarks.append(f"More than {MOST_FILES:,} sounds: the rest is left out. Name smaller folders.")
            break
    return Sounds(found=tuple(found.values()), remarks=tuple(remarks))


def matching(sounds: Sequence[Sound], text: str) -> list[Sound]:
    """Return the sounds whose path has all the words of a text, in any order, whatever their case."""
    words = text.casefold().split()
    if not words:
        return list(sounds)
    return [sound for sound in sounds if all(word in sound.folded for word in words)]


def _sounds_below(walk: Walk, folder: Path, most: int, cancel: CancelToken) -> list[Path]:
    found: list[Path] = []
    for path in walk.files(folder):
        cancel.check()
        if path.suffix.lower() in SOUND_SUFFIXES:
            found.append(path)
            if len(found) >= most:
                break
    return found
