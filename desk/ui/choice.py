"""What the person looks at: view state that all parts of the window share, and that is never an edit."""

from PySide6.QtCore import QObject, Signal


class Choice(QObject):
    """The chosen entry, the others chosen with it, and the place in the film.

    Signals:
        chosen: The entry whose sheet is shown has changed; its id, or "" for the film itself.
        moved: The playhead has moved; the frame in the film, from 0.
    """

    chosen = Signal(str)
    moved = Signal(int)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._entry = ""
        self._frame = 0

    @property
    def entry(self) -> str:
        """Id of the entry whose sheet is shown, or "" for the film's own."""
        return self._entry

    @property
    def frame(self) -> int:
        """Where the playhead stands in the film."""
        return self._frame

    def choose(self, entry_id: str) -> None:
        """Show the sheet of a scene or card, or the film's with ""."""
        if entry_id != self._entry:
            self._entry = entry_id
            self.chosen.emit(entry_id)

    def go_to(self, frame: int) -> None:
        """Move the playhead to a frame of the film."""
        frame = max(0, frame)
        if frame != self._frame:
            self._frame = frame
            self.moved.emit(frame)
