"""The films that were open last, remembered from one start of the program to the next."""

import os
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import msgspec
from PySide6.QtCore import QSettings

from desk.store.folder import film_path, utc_now
from desk.ui.settings import settings

MOST_RECENT = 12

_KEY = "recent/films"


@dataclass(frozen=True, slots=True, kw_only=True)
class Recent:
    """A film that was open.

    Attributes:
        folder: Its project folder.
        title: What it was called then.
        when: When it was opened last, with its time zone.
    """

    folder: Path
    title: str
    when: datetime

    def is_missing(self) -> bool:
        """Return whether its film file is gone, or its disk away. Asks the disk, which may take a while."""
        return not os.path.lexists(film_path(self.folder))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Kept:
    folder: str
    title: str
    when: datetime


class Recents:
    """The films that were open last, the last one first; at most `MOST_RECENT`.

    A film that is missing stays in the list, since its disk may only be away. What the settings hold is read
    anew each time, so that two windows add to one list.
    """

    def __init__(self, kept_in: QSettings | None = None, now: Callable[[], datetime] = utc_now) -> None:
        """Take the list from settings.

        Args:
            kept_in: The settings, or None for the person's own.
            now: Says what time it is.
        """
        self._settings = kept_in or settings()
        self._now = now

    def all(self) -> tuple[Recent, ...]:
        """Return the films, the last one first. What can't be read of the settings is no list."""
        self._settings.sync()
        try:
            text = str(self._settings.value(_KEY, "[]"))
            kept = msgspec.json.decode(text.encode(), type=list[_Kept])
        except (msgspec.DecodeError, ValueError):
            return ()
        return tuple(
            Recent(folder=Path(item.folder), title=item.title, when=_with_zone(item.when))
            for item in kept[:MOST_RECENT]
        )

    def add(self, folder: Path, title: str) -> None:
        """Put a film at the head of the list.

        Args:
            folder: Its project folder.
            title: What it is called.
        """
        place = folder.absolute()
        new = Recent(folder=place, title=title, when=self._now())
        self._keep((new, *(item for item in self.all() if item.folder != place)))

    def remove(self, folder: Path) -> None:
        """Take a film off the list. The film itself stays as it is."""
        self._keep(tuple(item for item in self.all() if item.folder != folder))

    def _keep(self, films: tuple[Recent, ...]) -> None:
        kept = [
            _Kept(folder=str(item.folder), title=item.title, when=item.when)
            for item in films[:MOST_RECENT]
            if _is_text(str(item.folder))
        ]
        self._settings.setValue(_KEY, msgspec.json.encode(kept).decode())
        self._settings.sync()


def _with_zone(when: datetime) -> datetime:
    return when if when.tzinfo else when.replace(tzinfo=UTC)


def _is_text(name: str) -> bool:
    """Return whether a path can be kept as text; one that is not Unicode can't."""
    try:
        name.encode()
    except UnicodeEncodeError:
        return False
    return True
