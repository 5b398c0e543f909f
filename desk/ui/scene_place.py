"""Where a scene stands in the film, looked up once for each film."""

from PySide6.QtCore import QObject

from desk.film.model import Film
from desk.film.timecode import format_label
from desk.film.timing import Include, lay_out
from desk.ui.session import Session


class ScenePlaces(QObject):
    """Says at which frame of the film each scene begins, with all that is in the running order."""

    def __init__(self, session: Session, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._film: Film | None = None
        self._starts: dict[str, int] = {}

    def start_frames(self, scene_id: str) -> int | None:
        """Return the first frame of a scene in the film, or None for one that is set aside."""
        film = self._session.film
        if film is not self._film:
            layout = lay_out(film, Include.SLATES)
            self._starts = {slot.entry.id: slot.start_frames for slot in layout.slots}
            self._film = film
        return self._starts.get(scene_id)

    def label(self, scene_id: str, frame: int) -> str:
        """Return the film's timecode at a frame of a scene, or "" for one that is set aside."""
        start = self.start_frames(scene_id)
        if start is None:
            return ""
        film = self._session.film
        return format_label(film.start_frames + start + frame, film.rate, drop_frame=film.drop_frame)
