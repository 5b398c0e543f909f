"""The key pictures of a film's heavy footage on disk, and the jobs that look for them and make them.

    .desk/key-pictures/<key>.<check>.mov      key pictures
    .desk/key-pictures/<key>.<check>.none     why there are none, so that it is not tried again

They are named by what their footage is, and go when its proxy is there. Losing the folder costs only time.
"""

import functools
import logging
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from desk.errors import DeskError, OutputError
from desk.ffmpeg.program import find_program
from desk.film.media import MediaFacts
from desk.footage.key_pictures import REFUSED, SUFFIX, key_pictures_key, make_key_pictures
from desk.jobs import CancelToken, ProgressListener
from desk.render.cache import PieceStore
from desk.store.folder import desk_folder, make_inside

LIMIT_BYTES = 2 << 30
"""What a film's key pictures may take: those of about 100 hours of footage with a key frame every 2 s."""

_NAME = "key-pictures"
_REFUSED_SUFFIX = ".none"

_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class MadeKeyPictures:
    """Key pictures that were made, or found to be of no use.

    Attributes:
        source: The source's path in the film.
        key: Their name.
        file: Where they are, or None where there are none.
    """

    source: str
    key: str
    file: Path | None


class KeyPictureFiles:
    """The folder of a film's key pictures. One job at a time uses it.

    Does not promise that they are still there later: they may be cleared away at any time.
    """

    def __init__(self, project_folder: Path) -> None:
        """Make ready; nothing is read or made before it is asked for.

        Args:
            project_folder: The film's.
        """
        self._project_folder = project_folder
        self._store: PieceStore | None = None

    def look(self, wanted: Mapping[str, MediaFacts], cancel: CancelToken) -> dict[str, Path | None]:
        """Return which sources have key pictures, and None for those that need none or can have none.

        Args:
            wanted: What was read of each source, by its path in the film.
            cancel: Stops it.

        Raises:
            Cancelled: when stopped on request.
        """
        is_first = self._store is None
        if is_first and not (desk_folder(self._project_folder) / _NAME).is_dir():
            return {}
        try:
            store = self._opened()
        except OutputError:
            return {}
        if is_first:
            store.tidy(LIMIT_BYTES)
        found: dict[str, Path | None] = {}
        for source, facts in wanted.items():
            cancel.check()
            file = store.find(key_pictures_key(facts))
            if file is not None:
                found[source] = file if file.suffix == SUFFIX else None
        return found

    def make(
        self,
        source: str,
        facts: MediaFacts,
        is_held: Callable[[], bool],
        _: ProgressListener,
        cancel: CancelToken,
    ) -> MadeKeyPictures:
        """Make the key pictures of a source, and stand still while it is held; a job.

        Where they are of no use, that is remembered. Whatever else goes wrong is noted alone: nothing needs
        them.

        Raises:
            Cancelled: when stopped on request.
        """
        key = key_pictures_key(facts)
        try:
            file = self._made(self._opened(), key, source, facts, is_held, cancel)
        except DeskError as error:
            _log.warning("no key pictures of %s: %s %s", source, error.message, error.detail)
            file = None
        return MadeKeyPictures(source=source, key=key, file=file)

    def drop(self, facts: MediaFacts) -> None:
        """Remove the key pictures of a source, as when it has a proxy.

        Args:
            facts: What was read of the source.
        """
        if self._store is not None:
            self._store.remove(key_pictures_key(facts))

    def _made(
        self,
        store: PieceStore,
        key: str,
        source: str,
        facts: MediaFacts,
        is_held: Callable[[], bool],
        cancel: CancelToken,
    ) -> Path | None:
        path, program = self._project_folder / source, find_program()

        def write(part: Path) -> None:
            make_key_pictures(path, facts, part, program=program, cancel=cancel, is_held=is_held)

        try:
            return store.make(key, SUFFIX, write)
        except DeskError as error:
            if error.code != REFUSED:
                raise
            store.make(key, _REFUSED_SUFFIX, functools.partial(_note, error.detail))
            return None

    def _opened(self) -> PieceStore:
        # The folder may have been cleared away meanwhile.
        folder = make_inside(self._project_folder, desk_folder(self._project_folder).name, _NAME)
        if self._store is None:
            self._store = PieceStore(folder)
        return self._store


def _note(detail: str, part: Path) -> None:
    part.write_text(f"{detail}\n", encoding="utf-8")
