"""Files that the person puts on the list of a scene, wherever they lie: what the film calls them."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from desk.errors import MediaError
from desk.film.model import Scene
from desk.film.wording import entry_name, listed, quoted
from desk.footage.first_film import film_path_of
from desk.ui.cutting.footage.folder import is_listed
from desk.ui.scene.clip_facts import file_name


@dataclass(frozen=True, slots=True)
class NamedFiles:
    """What came of naming files.

    Attributes:
        names: What the film calls those that it can name.
        refused: Why others can't be listed, in sentences.
    """

    names: tuple[str, ...]
    refused: tuple[str, ...]


def name_files(paths: Sequence[Path], folder: Path) -> NamedFiles:
    """Return what the film calls files. They may lie outside of the project folder; nothing is copied.

    Args:
        paths: The files.
        folder: The project folder.
    """
    names: list[str] = []
    refused: list[str] = []
    for path in paths:
        if path.is_dir():
            refused.append(f"{quoted(path.name)} is a folder: choose it as the folder of the scene.")
        elif not is_listed(path):
            refused.append(f"{quoted(path.name)} is neither footage nor sound.")
        else:
            try:
                names.append(film_path_of(path, path.parent, folder))
            except MediaError as error:
                refused.append(str(error))
    return NamedFiles(tuple(dict.fromkeys(names)), tuple(refused))


def added_words(new: Sequence[str], refused: Sequence[str], scene: Scene) -> str:
    """Return what is to be said of files that were put on a scene's list.

    Args:
        new: Those that are new on it, as the film names them.
        refused: Why others are not on it, in sentences.
        scene: The scene.
    """
    told = []
    if new:
        are, they, them = ("is", "It stays", "it") if len(new) == 1 else ("are", "They stay", "them")
        told.append(
            f"{listed([quoted(file_name(name)) for name in new])} {are} listed with {entry_name(scene)}. "
            f"{they} where the disk has {them}, as nothing is copied: keep that disk connected."
        )
    return " ".join((*told, *refused))
