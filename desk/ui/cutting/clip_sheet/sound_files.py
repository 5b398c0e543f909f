"""Sound files that a person chooses, as the film names them."""

import os
from pathlib import Path

from desk.footage.first_film import film_path_of
from desk.ui.bench import Bench

_SUFFIXES = "wav bwf flac aif aiff mp3 m4a aac ogg opus mov mp4 mkv"
SOUNDS = f"Sound ({' '.join(f'*.{suffix}' for suffix in _SUFFIXES.split())});;All files (*)"
"""What a dialog that asks for a sound offers."""


def film_path(name: str, bench: Bench) -> str:
    """Return a file of this machine as the film names it.

    Args:
        name: Its path on this machine.
        bench: The film.

    Raises:
        MediaError: when it can't be named so.
    """
    path = Path(os.path.abspath(name))  # noqa: PTH100 - a link keeps its own name
    return film_path_of(path, path.parent, bench.session.folder)
