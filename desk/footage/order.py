"""Natural order of files, and scene folders found in a folder of footage.

A sub-folder of the footage is a scene. Its name gives number and slugline:

    01 boathouse            1    BOATHOUSE
    02-shore                2    SHORE
    4A_slipway dusk         4A   SLIPWAY DUSK
    Scene 7 - pier          7    PIER
    12                      12
    INT. KITCHEN - NIGHT    next free number; a slugline keeps its own signs
    03_int_kitchen_night    3    INT. KITCHEN NIGHT
    2026-11-25 ferry        next free number, 2026-11-25 FERRY: a date is no scene number

Leading zeros go, a letter right after the digits stays. Underscores and dashes become spaces, but a dash
between spaces stays, since it sets off the time of day. A number that is taken gets the next free letter,
and that is said. Folders without a number come after the highest number, in their order.

Inside a scene's folder all sub-folders are walked, as cards have them (`DCIM/100CAM`, `PRIVATE/M4ROOT/CLIP`).
Nothing is written, and no file is opened.
"""

import os
import re
import stat
import string
import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

from desk.errors import MediaError

PICTURE_SUFFIXES = frozenset(
    {
        ".3gp",
        ".asf",
        ".avi",
        ".dv",
        ".flv",
        ".m2t",
        ".m2ts",
        ".m4v",
        ".mkv",
        ".mod",
        ".mov",
        ".mp4",
        ".mpeg",
        ".mpg",
        ".mts",
        ".mxf",
        ".ogv",
        ".ts",
        ".webm",
        ".wmv",
    }
)
"""Names of files that are taken for footage, in lower case. Whether they are is told by probing."""

SOUND_SUFFIXES = frozenset(
    {
        ".aac",
        ".ac3",
        ".aif",
        ".aiff",
        ".bwf",
        ".caf",
        ".flac",
        ".m4a",
        ".mka",
        ".mp3",
        ".oga",
        ".ogg",
        ".opus",
        ".w64",
        ".wav",
        ".wma",
    }
)
"""Names of files that are taken for sound alone."""

_SKIPPED_FOLDERS = frozenset(
    {"system volume information", "lost+found", "$recycle.bin", "@eadir", "__macosx"}
)
_MOST_DEPTH = 16

NaturalKey = tuple[tuple[str | int, ...], str]

_DIGITS = re.compile(r"(\d+)", re.ASCII)
_DATE = re.compile(r"(19|20)\d{2}([-_.]?)(0[1-9]|1[0-2])\2(0[1-9]|[12]\d|3[01])(?!\d)", re.ASCII)
_NUMBERED = re.compile(
    r"(?:(?:scene|sc|s)[ _.-]*)?#?0*(\d{1,5})([A-Za-z]?)(?:[ _.,:;)-]+|$)(.*)",
    re.ASCII | re.IGNORECASE | re.DOTALL,
)
_SLUG = re.compile(
    r"(int\.? ?/ ?ext|ext\.? ?/ ?int|i/e|int|ext|est)(?:[.][ _-]*|[ _-]+)(?=\S)(.*)", re.I | re.DOTALL
)


@dataclass(frozen=True, slots=True, kw_only=True)
class SceneFolder:
    """A folder that holds one scene's footage.

    Attributes:
        path: The folder.
        number: Scene number, such as `4A`.
        slugline: What its name says in capitals, or "".
        clips: Footage, in natural order.
        sounds: Files with sound alone, in natural order.
        others: Side files that are no media, in natural order; hidden ones are not among them.
        remarks: Sentences about what deserves a look: a number that was taken, files that were passed over.
    """

    path: Path
    number: str
    slugline: str = ""
    clips: tuple[Path, ...] = ()
    sounds: tuple[Path, ...] = ()
    others: tuple[Path, ...] = ()
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundFootage:
    """What is in a folder of footage.

    Attributes:
        scenes: One for each sub-folder, in natural order; or one in all where there are no sub-folders.
        loose: Media beside the sub-folders, which belongs to no scene.
        remarks: Sentences about what deserves a look outside of the scenes.
    """

    scenes: tuple[SceneFolder, ...]
    loose: tuple[Path, ...] = ()
    remarks: tuple[str, ...] = ()


def natural_key(text: str) -> NaturalKey:
    """Return a sort key in which runs of digits count as numbers and case doesn't matter: 2 before 10."""
    parts = _DIGITS.split(unicodedata.normalize("NFC", text).casefold())
    return tuple(int(part) if place % 2 else part for place, part in enumerate(parts)), text


def path_key(path: Path) -> tuple[tuple[NaturalKey, ...], NaturalKey, NaturalKey]:
    """Return a sort key for files: folder by folder, then by name without its suffix, then by suffix."""
    return (
        tuple(natural_key(part) for part in path.parent.parts),
        natural_key(path.stem),
        natural_key(path.suffix),
    )


def in_natural_order(paths: Iterable[Path]) -> tuple[Path, ...]:
    """Return paths in natural order."""
    return tuple(sorted(paths, key=path_key))


def read_scene_name(name: str) -> tuple[str, str]:
    """Return the scene number and the slugline that a folder's name gives; either may be "".

    Args:
        name: The folder's name alone. The table at the head of this module shows what comes of it.
    """
    text = " ".join(unicodedata.normalize("NFC", name).split())
    if _DATE.match(text) or _SLUG.match(text):
        return "", _slugline(text)
    match = _NUMBERED.fullmatch(text)
    if not match:
        return "", _slugline(text)
    return match[1] + match[2].upper(), _slugline(match[3])


def _slugline(text: str) -> str:
    date = _DATE.match(text)
    kept = date[0] if date else ""
    text = text[len(kept) :]
    slug = _SLUG.match(text.strip())
    place = ""
    if slug:
        place, text = slug[1].upper().replace(" ", "") + ("" if slug[1].lower() == "i/e" else "."), slug[2]
    text = text.replace("_", " ")
    text = re.sub(r"(?<! )-|-(?! )", " ", text)
    text = " ".join(text.split()).strip("-.,:; ")
    return " ".join(part for part in (kept, place, text.upper()) if part)


def find_scenes(footage: Path) -> FoundFootage:
    """Return the scenes of a folder of footage.

    Links to files and folders are followed, each folder once in a scene, so that a loop ends. Names that are
    not Unicode, pipes, devices and links to nowhere are passed over with a remark.

    Args:
        footage: The folder.

    Raises:
        MediaError: `media.missing`, `media.refused` or `media.unreadable` for the folder itself;
            `media.empty` where it has neither sub-folders nor media.
    """
    require_folder(footage)
    walk = Walk(footage)
    try:
        folders, files = walk.list(footage)
    except OSError as error:
        raise folder_unreadable(footage, error) from error
    media = [path for path in files if _is_picture(path) or _is_sound(path)]
    if not folders and not media:
        raise MediaError(
            f"The footage folder “{footage}” has no scene folders and no footage in it.",
            advice="Put each scene's footage into a folder of its own there, such as “01 boathouse”.",
            code="media.empty",
            path=footage,
        )
    if not folders:
        number, slugline = read_scene_name(footage.resolve().name)
        scene = _scene(footage, number or "1", slugline, files, walk.remarks)
        return FoundFootage(scenes=(scene,))
    folders.sort(key=lambda folder: natural_key(folder.name))
    numbering = _number([read_scene_name(folder.name) for folder in folders])
    scenes = []
    for folder, (number, slugline, remark) in zip(folders, numbering, strict=True):
        inner = Walk(footage)
        found = list(inner.files(folder))
        remarks = [f"“{folder.name}”: {remark}"] if remark else []
        scenes.append(_scene(folder, number, slugline, found, [*remarks, *inner.remarks]))
    remarks = walk.remarks
    if media:
        remarks.append(
            f"“{footage}” has media outside of the scenes' folders ({len(media)}); "
            "move what belongs to a scene into its folder."
        )
    return FoundFootage(scenes=tuple(scenes), loose=in_natural_order(media), remarks=tuple(remarks))


def require_folder(footage: Path) -> None:
    """Go on only with a folder that is there.

    Raises:
        MediaError: `media.missing` or `media.refused`.
    """
    if not footage.exists():
        raise MediaError(
            f"The footage folder “{footage}” is missing.",
            advice="Connect its disk, or give another folder.",
            code="media.missing",
            path=footage,
        )
    if not footage.is_dir():
        raise MediaError(
            f"“{footage}” is a file, not a folder of footage.",
            advice="Give the folder that holds the scenes' folders.",
            code="media.refused",
            path=footage,
        )


def folder_unreadable(footage: Path, error: OSError) -> MediaError:
    """Return the error of a folder that the system does not let us look into."""
    return MediaError(
        f"The footage folder “{footage}” may not be read.",
        advice="Change its permissions.",
        code="media.unreadable",
        path=footage,
        detail=str(error),
    )


def _number(read: list[tuple[str, str]]) -> list[tuple[str, str, str]]:
    """Return number, slugline and remark for each name, so that no number is there twice."""
    taken = {number for number, _ in read if number}
    free = max((int(_DIGITS.findall(number)[0]) for number in taken), default=0) + 1
    used: set[str] = set()
    numbered = []
    for number, slugline in read:
        remark = ""
        if not number:
            number, free = str(free), free + 1
        elif number in used:
            wanted, number = number, _lettered(number, taken | used)
            remark = f"scene number {wanted} is taken, so it is {number}."
        used.add(number)
        numbered.append((number, slugline, remark))
    return numbered


def _lettered(number: str, taken: set[str]) -> str:
    digits = _DIGITS.findall(number)[0]
    letters = string.ascii_uppercase
    names = (*letters, *(first + second for first in letters for second in letters))
    return next(
        (digits + letter for letter in names if digits + letter not in taken), f"{number}-{len(taken)}"
    )


def _scene(
    folder: Path, number: str, slugline: str, files: Iterable[Path], remarks: Iterable[str]
) -> SceneFolder:
    ordered = in_natural_order(files)
    return SceneFolder(
        path=folder,
        number=number,
        slugline=slugline,
        clips=tuple(path for path in ordered if _is_picture(path)),
        sounds=tuple(path for path in ordered if _is_sound(path)),
        others=tuple(path for path in ordered if not _is_picture(path) and not _is_sound(path)),
        remarks=tuple(remarks),
    )


def _is_picture(path: Path) -> bool:
    return path.suffix.lower() in PICTURE_SUFFIXES


def _is_sound(path: Path) -> bool:
    return path.suffix.lower() in SOUND_SUFFIXES


@dataclass(slots=True)
class Walk:
    """One pass over folders that meets each folder once, and keeps what deserves a remark.

    Attributes:
        footage: Where it began; a link to a folder above that is not followed.
        remarks: Sentences about what was passed over.
        folders: What was looked through.
    """

    footage: Path
    remarks: list[str] = field(default_factory=list)
    folders: list[Path] = field(default_factory=list)
    _seen: set[tuple[int, int]] = field(default_factory=set)

    def files(self, folder: Path, depth: int = 0) -> Iterator[Path]:
        """Yield all files below a folder."""
        try:
            status = folder.stat()
            if (status.st_dev, status.st_ino) in self._seen:
                return
            self._seen.add((status.st_dev, status.st_ino))
            folders, files = self.list(folder)
        except OSError:
            self.remarks.append(f"“{folder}” may not be read and was passed over; change its permissions.")
            return
        self.folders.append(folder)
        yield from files
        if depth == _MOST_DEPTH:
            if folders:
                self.remarks.append(f"“{folder}” lies too deep; what is below it was passed over.")
            return
        # Links last, so that a folder is met where it really is.
        for inner in sorted(folders, key=lambda path: (path.is_symlink(), natural_key(path.name))):
            yield from self.files(inner, depth + 1)

    def list(self, folder: Path) -> tuple[list[Path], list[Path]]:
        """Return the folders and the ordinary files in a folder, without hidden ones.

        Raises:
            OSError: when the folder can't be read.
        """
        folders, files = [], []
        for entry in sorted(path.name for path in folder.iterdir()):
            if entry.startswith(".") or entry.lower() in _SKIPPED_FOLDERS:
                continue
            path = folder / entry
            try:
                entry.encode()
            except UnicodeEncodeError:
                shown = os.fsencode(entry).decode(errors="replace")
                self.remarks.append(
                    f"“{shown}” in “{folder}” has a name that is not Unicode; rename it to use it."
                )
                continue
            try:
                mode = path.stat().st_mode
            except OSError:
                reason = "is a link to nothing" if path.is_symlink() else "may not be read"
                self.remarks.append(f"“{path}” {reason} and was passed over.")
                continue
            if stat.S_ISDIR(mode):
                if self._is_above(path):
                    self.remarks.append(f"“{path}” is a link to a folder above it and was passed over.")
                else:
                    folders.append(path)
            elif stat.S_ISREG(mode):
                files.append(path)
            else:
                self.remarks.append(f"“{path}” is a pipe or a device, not a file, and was passed over.")
        return folders, files

    def _is_above(self, path: Path) -> bool:
        return path.is_symlink() and self.footage.resolve().is_relative_to(path.resolve())
