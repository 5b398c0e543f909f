"""What the person marked of footage before it is used: the part of each file that becomes a clip."""

from collections.abc import Mapping
from dataclasses import dataclass

from PySide6.QtCore import QObject, Signal

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
    """Heads and tails that are marked, by file. They are no edit, and last until the film is closed.

    Signals:
        changed: Another part of a file is marked, or nothing of it any more; its path.
    """

    changed = Signal(str)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._marks: dict[str, Marked] = {}

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
        if self._marks.pop(path, None) is not None:
            self.changed.emit(path)

    def _put(self, path: str, mark: Marked, frames: int) -> None:
        if mark == Marked(0, frames):
            self.clear(path)
        elif mark != self._marks.get(path):
            self._marks[path] = mark
            self.changed.emit(path)
