"""What pictures are shown from and pieces are made with: one store and one ffmpeg for the whole viewer."""

import contextlib
import tempfile
import threading
from pathlib import Path

from desk.assembly.planning import open_pieces, rendering_kit
from desk.assembly.survey import Survey
from desk.cards import drawing
from desk.errors import OutputError
from desk.ffmpeg.program import Program, find_program
from desk.render.cache import PieceStore
from desk.render.kit import Kit
from desk.render.showing import Showing
from desk.ui.proxies import Proxies
from desk.ui.viewer.pictures import Check, PictureMaker
from desk.ui.viewer.subject import Subject


class Kits:
    """Gives kits for what is looked at. May be used from any thread.

    Pieces that an assembly makes meanwhile are seen after `look_again`.
    """

    def __init__(self, folder: Path) -> None:
        """Open nothing yet.

        Args:
            folder: The project folder.
        """
        self._folder = folder
        self._lock = threading.Lock()
        self._store: PieceStore | None = None
        self._program: Program | None = None
        self._aside = contextlib.ExitStack()

    def kit(self, subject: Subject) -> Kit:
        """Return what an assembly would make the pieces of a subject with.

        Raises:
            FfmpegError: where ffmpeg is missing.
        """
        with self._lock:
            if self._program is None:
                self._program = find_program()
            if self._store is None:
                self._store = self._opened()
            store, program = self._store, self._program
        found = Survey(film=subject.film, files=subject.files, facts=subject.media)
        return rendering_kit(found, store, full=False, program=program, drawer=drawing, workers=1)

    def look_again(self) -> None:
        """Look again which pieces there are, as after an assembly."""
        with self._lock:
            self._store = None

    def close(self) -> None:
        """Remove what was kept for this time only. Nothing may be made any more."""
        self._aside.close()

    def _opened(self) -> PieceStore:
        try:
            return open_pieces(self._folder)
        except OutputError:
            # A project on a read-only disk is looked at all the same.
            aside = self._aside.enter_context(tempfile.TemporaryDirectory(prefix="desk-pieces-"))
            return PieceStore(Path(aside))


class Showings:
    """Makes what shows pictures as an assembly has them, from proxies where there are."""

    def __init__(self, proxies: Proxies) -> None:
        self._proxies = proxies

    def __call__(self, kit: Kit, check: Check) -> PictureMaker:
        proxies = self._proxies
        return Showing(kit, proxy=proxies.file_for, key_pictures=proxies.key_pictures_for, check=check)
