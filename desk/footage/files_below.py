"""All files in a folder and below it, whatever they are. Nothing is written, and no file is opened."""

from dataclasses import dataclass
from pathlib import Path

from desk.footage.order import Walk, folder_unreadable, in_natural_order, require_folder


@dataclass(frozen=True, slots=True, kw_only=True)
class FilesBelow:
    """What lies in a folder and below it.

    Attributes:
        files: All ordinary files that are not hidden, in natural order.
        folders: The folder itself and those below it that were looked through.
        remarks: Sentences about what was passed over.
    """

    files: tuple[Path, ...]
    folders: tuple[Path, ...]
    remarks: tuple[str, ...] = ()


def files_below(folder: Path) -> FilesBelow:
    """Return all files in a folder and below it, whatever they are. Links are followed as in `find_scenes`.

    Args:
        folder: The folder.

    Raises:
        MediaError: `media.missing`, `media.refused` or `media.unreadable` for the folder itself.
    """
    require_folder(folder)
    walk = Walk(folder)
    try:
        walk.list(folder)
    except OSError as error:
        raise folder_unreadable(folder, error) from error
    walk.remarks.clear()
    files = in_natural_order(walk.files(folder))
    return FilesBelow(files=files, folders=tuple(walk.folders), remarks=tuple(walk.remarks))
