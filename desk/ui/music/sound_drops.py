"""Sound files in what is dragged."""

from pathlib import Path

from PySide6.QtCore import QMimeData

from desk.footage.order import PICTURE_SUFFIXES, SOUND_SUFFIXES
from desk.ui.bench import Bench
from desk.ui.cutting.clip_sheet.sound_files import film_path
from desk.ui.cutting.footage.model import footage_in

_SUFFIXES = SOUND_SUFFIXES | PICTURE_SUFFIXES


def dropped_sounds(data: QMimeData) -> tuple[str, ...]:
    """Return the files that may have sound in what is dragged: as the film names them, or absolute."""
    paths = footage_in(data) or tuple(url.toLocalFile() for url in data.urls() if url.isLocalFile())
    return tuple(path for path in paths if Path(path).suffix.lower() in _SUFFIXES)


def named_by_film(paths: tuple[str, ...], bench: Bench) -> tuple[str, ...]:
    """Return files as the film names them.

    Args:
        paths: As the film names them already, or absolute.
        bench: The film.

    Raises:
        MediaError: when one can't be named so: on another drive, or with a backslash in its name.
    """
    return tuple(film_path(path, bench) if Path(path).is_absolute() else path for path in paths)
