"""Looks for files that were moved: where one of them is, the others are likely to be.

Nothing is written, and no file is changed.
"""

import itertools
import os
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from types import MappingProxyType

from desk.errors import MediaError
from desk.files import sample_hash
from desk.film.model import Film
from desk.film.paths import film_paths
from desk.footage.files_below import files_below
from desk.footage.first_film import film_path_of
from desk.footage.seen_files import SeenFile
from desk.jobs import CancelToken, Progress, ProgressListener, no_progress

LockedFile = SeenFile
"""Size in bytes and sample hash of a file as it was locked."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Relinks:
    """What was found.

    Attributes:
        wanted: The file that was looked for, as the film has it.
        moves: New paths by old ones, in the film's form; the wanted file first.
        missing: Files that were not found with it.
        differing: Files of `moves` that are not what was locked.
    """

    wanted: str
    moves: Mapping[str, str]
    missing: tuple[str, ...] = ()
    differing: tuple[str, ...] = ()

    @property
    def others(self) -> tuple[str, ...]:
        """Files that were found with the wanted one."""
        return tuple(path for path in self.moves if path != self.wanted)


@dataclass(frozen=True, slots=True, kw_only=True)
class FolderRelinks:
    """What was found in a folder.

    Attributes:
        place: The folder.
        moves: New paths by old ones, in the film's form.
        by_name: Files of `moves` of which nothing but the name is known.
        strangers: Missing files of whose name another file lies there.
        missing: Files that were not found; the strangers are among them.
    """

    place: Path
    moves: Mapping[str, str]
    by_name: tuple[str, ...] = ()
    strangers: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()

    @property
    def sure(self) -> dict[str, str]:
        """Those of the moves that are known to be the same file."""
        return {old: new for old, new in self.moves.items() if old not in self.by_name}


def named_files(film: Film) -> frozenset[str]:
    """Return every file that can be relinked: what the film names, and what its locks hold."""
    locked = (media.path for scene in film.scenes if scene.lock for media in scene.lock.media)
    listed = (path for scene in film.scenes for path in scene.more_footage)
    return frozenset((*film_paths(film), *locked, *listed))


def locked_files(film: Film) -> dict[str, LockedFile]:
    """Return every file that a locked scene holds, as it was locked."""
    return {
        media.path: (media.size_bytes, media.sample_hash)
        for scene in film.scenes
        if scene.lock
        for media in scene.lock.media
    }


def find_moved(
    wanted: str,
    place: Path,
    missing: Iterable[str],
    folder: Path,
    *,
    locked: Mapping[str, LockedFile],
    seen: Mapping[str, SeenFile] = MappingProxyType({}),
    progress: ProgressListener = no_progress,
    cancel: CancelToken | None = None,
) -> Relinks:
    """Return the new place of a file, and of all missing files that lie there as they lay beside it.

    A file is looked for under its own name where the wanted one is, and in the same place below each folder
    that the old and the new path have in common at their ends. One that was locked, or was seen before,
    counts only when it is the very file.

    Args:
        wanted: The file, as the film has it.
        place: Where it is now, as the person says.
        missing: Files that are missing, as the film has them.
        folder: The project folder.
        locked: Files as they were locked, by path.
        seen: Files as they were last seen, by path.
        progress: Told how far it is.
        cancel: Stops it.

    Raises:
        MediaError: when the new place can't be written as a path of the film.
        Cancelled: when stopped on request.
    """
    cancel = cancel or CancelToken()
    moves = {wanted: film_path_of(place, place.parent, folder)}
    roots = _roots(_whole(folder / wanted), _whole(place))
    left: list[str] = []
    others = [path for path in dict.fromkeys(missing) if path != wanted]
    for number, path in enumerate(others, start=1):
        cancel.check()
        found = _find(_whole(folder / path), roots, locked.get(path) or seen.get(path))
        named = found and _film_path(found, folder)
        if named:
            moves[path] = named
        else:
            left.append(path)
        progress(Progress("relink", f"Looking for {Path(path).name}", number / len(others)))
    differing = tuple(
        path for path in moves if path in locked and not _is_locked_file(folder / moves[path], locked[path])
    )
    return Relinks(wanted=wanted, moves=moves, missing=tuple(left), differing=differing)


def find_in_folder(
    place: Path,
    missing: Iterable[str],
    folder: Path,
    *,
    known: Mapping[str, SeenFile],
    progress: ProgressListener = no_progress,
    cancel: CancelToken | None = None,
) -> FolderRelinks:
    """Return the new places of missing files in a folder and below it, whatever they are called there.

    A file is known by its size and sample hash. One of which nothing is known is looked for by its name, and
    counts where one file alone has it, or one alone in folders of the same names.

    Args:
        place: The folder.
        missing: Files that are missing, as the film has them.
        folder: The project folder.
        known: What files were, by path in the film.
        progress: Told how far it is.
        cancel: Stops it.

    Raises:
        MediaError: when the folder can't be read.
        Cancelled: when stopped on request.
    """
    cancel = cancel or CancelToken()
    wanted = tuple(dict.fromkeys(missing))
    there = {file: named for file in files_below(place).files if (named := _film_path(file, folder))}
    sizes = {known[path][0] for path in wanted if path in known}
    states: dict[Path, SeenFile] = {}
    for number, file in enumerate(there, start=1):
        cancel.check()
        if state := _state(file, sizes):
            states[file] = state
        progress(Progress("relink", f"Looking at {file.name}", number / len(there)))
    moves: dict[str, str] = {}
    strangers: list[str] = []
    for path in wanted:
        name = PurePosixPath(path).name
        namesakes = [file for file, named in there.items() if file.name == name and named != path]
        if path in known:
            same = [file for file, state in states.items() if state == known[path]]
            found = _nearest(path, [file for file in same if file.name == name]) or next(iter(same), None)
        else:
            found = _nearest(path, namesakes)
        if found is not None:
            moves[path] = there[found]
        elif namesakes:
            strangers.append(path)
    return FolderRelinks(
        place=place,
        moves=moves,
        by_name=tuple(path for path in moves if path not in known),
        strangers=tuple(strangers),
        missing=tuple(path for path in wanted if path not in moves),
    )


def _state(path: Path, sizes: set[int]) -> SeenFile | None:
    """Return what a file is, where its size is one that is looked for."""
    try:
        size = path.stat().st_size
        return (size, sample_hash(path)) if size in sizes else None
    except OSError:
        return None


def _nearest(path: str, found: list[Path]) -> Path | None:
    """Return the file whose folders have most names in common with a path's, or None where two have."""

    def common(other: Path) -> int:
        pairs = zip(reversed(PurePosixPath(path).parts), reversed(other.parts), strict=False)
        return sum(1 for _ in itertools.takewhile(lambda pair: pair[0] == pair[1], pairs))

    ranked = sorted(found, key=common, reverse=True)
    if not ranked or (len(ranked) > 1 and common(ranked[0]) == common(ranked[1])):
        return None
    return ranked[0]


def _whole(path: Path) -> Path:
    """Return a path whose folder has no `..` and no links on its way, whether the file is there or not."""
    return Path(os.path.realpath(path.parent)) / path.name


def _roots(old: Path, new: Path) -> tuple[tuple[Path, Path], ...]:
    """Return folders that may have moved, old and new: the outermost first, last those of the two files."""
    common = [(old.parent, new.parent)]
    before, after = old, new
    while before.name and before.name == after.name:
        before, after = before.parent, after.parent
        common.append((before, after))
    return tuple(reversed(dict.fromkeys(common)))


def _find(old: Path, roots: tuple[tuple[Path, Path], ...], locked: LockedFile | None) -> Path | None:
    for before, after in roots:
        if not old.is_relative_to(before):
            continue
        found = after / old.relative_to(before)
        if found != old and _is_file(found) and (locked is None or _is_locked_file(found, locked)):
            return found
    return None


def _film_path(path: Path, folder: Path) -> str | None:
    try:
        return film_path_of(path, path.parent, folder)
    except MediaError:
        return None


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except OSError:
        return False


def _is_locked_file(path: Path, locked: LockedFile) -> bool:
    """Return whether a file is the one that was locked; one that can't be read is not."""
    try:
        return (path.stat().st_size, sample_hash(path)) == locked
    except OSError:
        return False
