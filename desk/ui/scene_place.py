"""Where a scene or card stands in the film, looked up once for each film."""

from PySide6.QtCore import QObject

from desk.film.model import Film
from desk.film.timecode import format_label
from desk.film.timing import Include, lay_out
from desk.ui.session import Session


class ScenePlaces(QObject):
    """Says where in the film each scene and card stands, with all that is in the running order."""

    def __init__(self, session: Session, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._film: Film | None = None
        self._ranges: dict[str, range] = {}

    def frames(self, entry_id: str) -> range | None:
        """Return the frames of the film that an entry takes, or None for one that has none in it."""
        return self._known().get(entry_id)

    def entries(self) -> frozenset[str]:
        """Return the ids of all that has frames in the film."""
        return frozenset(self._known())

    def at(self, frame: int) -> tuple[str, int]:
        """Return the id of the entry that has a frame of the film, or "", and the frame from its start."""
        for entry_id, frames in self._known().items():
            if frame in frames:
                return entry_id, frame - frames.start
        return "", 0

    def start_frames(self, entry_id: str) -> int | None:
        """Return the first frame of an entry in the film, or None for one that has none in it."""
        frames = self.frames(entry_id)
        return None if frames is None else frames.start

    def label(self, scene_id: str, frame: int) -> str:
        """Return the film's timecode at a frame of a scene, or "" for one that is set aside."""
        start = self.start_frames(scene_id)
        if start is None:
            return ""
        film = self._session.film
        return format_label(film.start_frames + start + frame, film.rate, drop_frame=film.drop_frame)

    def _known(self) -> dict[str, range]:
        film = self._session.film
        if film is not self._film:
            layout = lay_out(film, Include.SLATES)
            self._ranges = {
                slot.entry.id: range(slot.start_frames, slot.start_frames + slot.length_frames)
                for slot in layout.slots
            }
            self._film = film
        return self._ranges
