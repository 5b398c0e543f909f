"""Small pictures of footage, made beside the window and kept in the project folder."""

from fractions import Fraction

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QColor, QImage

from desk.film.model import Clip
from desk.ui.job_runner import JobRunner
from desk.ui.media import Media
from desk.ui.session import Session


class Thumbnails(QObject):
    """Small pictures by source and place.

    Signals:
        made: Pictures or colours of a source are there now; its path in the film. At most ten times a second.
    """

    made = Signal(str)

    def __init__(
        self, session: Session, media: Media, jobs: JobRunner, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._session = session
        self._media = media
        self._jobs = jobs

    def picture(self, source: str, seconds: Fraction, *, height_px: int = 96) -> QImage | None:
        """Return a small picture of a source at a place, or None and make it beside the window."""
        return None

    def colours(self, clip: Clip, count: int) -> list[QColor] | None:
        """Return the mean colour of `count` moments spread over a clip, or None and read them beside it."""
        return None
