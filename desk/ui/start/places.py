"""Folders that are asked for and proposed."""

import os
import re
from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QStandardPaths
from PySide6.QtWidgets import QFileDialog, QWidget

AskFolder = Callable[[QWidget, str, Path], Path | None]
"""Asks for a folder: over which window, under which heading, beginning where. None for nothing chosen."""

_FOR_FOOTAGE = re.compile(
    r"(?:^|[\s_.+-]+)(?:footage|rushes|dailies|cards?|clips|media|video|raw)$", re.IGNORECASE
)


def ask_folder(parent: QWidget, heading: str, start: Path) -> Path | None:
    """Ask for a folder in the platform's own dialog, and wait for the answer."""
    chosen = QFileDialog.getExistingDirectory(parent, heading, str(start))
    return Path(chosen) if chosen else None


def films_folder() -> Path:
    """Return where films go when nothing speaks for another place; it may be missing."""
    documents = QStandardPaths.writableLocation(QStandardPaths.StandardLocation.DocumentsLocation)
    return (Path(documents) if documents else Path.home()) / "Films"


def proposed_title(footage: Path) -> str:
    """Return a title that a folder of footage speaks for: its name, or that of the folder above.

    A last word that only says that it is footage is no part of a title: `kiosk rushes` gives `kiosk`.
    """
    for name in (footage.name, footage.parent.name):
        title = " ".join(_FOR_FOOTAGE.sub("", name.strip()).replace("_", " ").split())
        if title:
            return title
    return "Film"


def proposed_project(footage: Path) -> Path:
    """Return a project folder beside the footage, under a name that is free.

    Where nothing can be written beside the footage, as on a card, it is in the person's folder of films.
    Asks the disk.
    """
    title = proposed_title(footage)
    beside = footage.absolute().parent
    home = beside if os.access(beside, os.W_OK) else films_folder()
    names = (f"{title} film", *(f"{title} film {number}" for number in range(2, 1000)))
    return next((home / name for name in names if not os.path.lexists(home / name)), home / names[0])
