"""The journal of unsaved edits: the whole film after the latest edit, in `.desk/unsaved.json`."""

import contextlib
from dataclasses import dataclass
from pathlib import Path

from desk.errors import FilmFileError, OutputError
from desk.files import output_error, write_whole
from desk.film.model import Film
from desk.store.folder import desk_folder, make_inside, read_regular
from desk.store.format import decode, encode


@dataclass(frozen=True, slots=True, kw_only=True)
class Unsaved:
    """What a journal holds.

    Attributes:
        film: The film after the latest edit.
        base: The revision of the film file that the edits began from.
    """

    film: Film
    base: str


class Journal:
    """The journal of one project.

    The whole film is written after an edit, and not the edit alone: scenes that it left as they were are
    encoded already, so that 4,800 clips in 120 scenes, 0.8 MB, take 8 ms with the flush of the
    disk. So a journal needs no replaying, is whole or absent, and stays right when an edit's meaning changes
    in a later version.

    Does not promise to tell two writers apart: whoever holds the film (`desk.store.lock`) writes its journal.
    A journal found at opening is overwritten by the first `write`, so ask about it before that.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.path = desk_folder(folder) / "unsaved.json"

    def write(self, film: Film, *, base: str) -> None:
        """Put a film in the journal, in place of what is there.

        Args:
            film: The film after the latest edit.
            base: The revision of the film file that the edits began from.

        Raises:
            FilmFileError: when the film holds what a film file can't.
            OutputError: when the disk refuses; the journal is then as it was.
        """
        data = encode(film, self.path, base=base)
        make_inside(self.folder, ".desk")
        write_whole(self.path, data)

    def read(self) -> Unsaved | None:
        """Return what the journal holds, or None where there is no journal.

        Raises:
            FilmFileError: when it is damaged, or holds what this version does not know.
        """
        try:
            reading = decode(read_regular(self.path), self.path, journal=True)
        except FilmFileError as error:
            if error.code == "film.missing":
                return None
            raise
        if reading.unknown or reading.newer:
            raise FilmFileError(
                f"“{self.path}” was written by a later version.",
                advice="Open the film with that version.",
                code="film.newer",
                path=self.path,
            )
        return Unsaved(film=reading.film, base=reading.base)

    def clear(self) -> None:
        """Remove the journal, if there is one.

        Raises:
            OutputError: when the disk refuses.
        """
        try:
            self.path.unlink(missing_ok=True)
        except NotADirectoryError:
            return
        except OSError as error:
            raise output_error(self.path, error) from error

    def settle(self, saved: Film) -> bool:
        """Remove the journal if what it holds is this film; returns whether nothing unsaved is left.

        A journal with other edits stays, such as one that a window which crashed left and that a command's
        save knows nothing of.
        """
        with contextlib.suppress(FilmFileError, OutputError):
            unsaved = self.read()
            if unsaved is None:
                return True
            if unsaved.film == saved:
                self.clear()
                return True
        return False
