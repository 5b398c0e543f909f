"""What the person marked of footage before it is used: the part of each file that becomes a clip."""

import functools
from collections.abc import Mapping
from dataclasses import dataclass

from PySide6.QtCore import QObject, Signal

from desk.film import edits
from desk.film.model import FootageMark
from desk.film.rates import Rate
from desk.ui.session import Session

NO_MARKS: Mapping[str, "Marked"] = {}


@dataclass(frozen=True, slots=True)
class Marked:
    """The part of a file that is wanted.

    Attributes:
        first: Its head, in frames of the film from the file's first picture: the in point.
        end: The frame after its tail; above `first`.
    """

    first: int
    end: int

    @property
    def frames(self) -> int:
        """How long it is."""
        return self.end - self.first


class Marks(QObject):
    """Heads and tails that are marked in the film, by file, in its frames.

    Marks of one file that follow each other are one step of undoing.

    Signals:
        changed: Another part of a file is marked, or nothing of it any more; its path.
    """

    changed = Signal(str)

    def __init__(self, session: Session, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._made_of: tuple[tuple[FootageMark, ...], Rate] | None = None
        self._marks: dict[str, Marked] = {}
        self._read()
        session.changed.connect(self._on_film_changed)

    @property
    def all(self) -> Mapping[str, Marked]:
        """What is marked of each file of which not all is wanted."""
        return dict(self._marks)

    def of(self, path: str) -> Marked | None:
        """Return what is marked of a file, or None where all of it is wanted."""
        return self._marks.get(path)

    def mark_head(self, path: str, frame: int, frames: int) -> None:
        """Begin with a frame. A tail that lies before it goes back to the file's end.

        Args:
            path: The file, as the film names it.
            frame: The frame.
            frames: How long the file is.
        """
        before = self._marks.get(path)
        end = before.end if before is not None and before.end > frame else frames
        self._put(path, Marked(frame, end), frames)

    def mark_tail(self, path: str, frame: int, frames: int) -> None:
        """End with a frame. A head that lies after it goes back to the file's start.

        Args:
            path: The file, as the film names it.
            frame: The frame.
            frames: How long the file is.
        """
        before = self._marks.get(path)
        first = before.first if before is not None and before.first <= frame else 0
        self._put(path, Marked(first, frame + 1), frames)

    def clear(self, path: str) -> None:
        """Want all of a file."""
        self._session.do(functools.partial(edits.clear_footage_mark, source=path), merge=f"mark {path}")

    def _put(self, path: str, mark: Marked, frames: int) -> None:
        if mark == Marked(0, frames):
            self.clear(path)
        else:
            rate = self._session.film.rate
            make = functools.partial(
                edits.mark_footage,
                source=path,
                in_seconds=rate.seconds(mark.first),
                out_seconds=rate.seconds(mark.end),
            )
            self._session.do(make, merge=f"mark {path}")

    def _read(self) -> None:
        """Take what the film has, where it is not what was taken before."""
        film = self._session.film
        now = (film.footage_marks, film.rate)
        if now != self._made_of:
            self._made_of = now
            self._marks = {mark.source: _marked(mark, film.rate) for mark in film.footage_marks}

    def _on_film_changed(self) -> None:
        before = self._marks
        self._read()
        if self._marks is not before:
            for path in {**before, **self._marks}:
                if before.get(path) != self._marks.get(path):
                    self.changed.emit(path)


def _marked(mark: FootageMark, rate: Rate) -> Marked:
    first = round(mark.in_seconds * rate.fraction)
    return Marked(first, max(first + 1, round(mark.out_seconds * rate.fraction)))
