"""Keeps the playhead on what it stands on while the film around it changes."""

from PySide6.QtCore import QObject

from desk.ui.choice import Choice
from desk.ui.scene_place import ScenePlaces
from desk.ui.session import Session


class Playhead(QObject):
    """Takes the playhead along with the scene or card in which it stands, when that comes elsewhere.

    What is chosen and comes into the film takes the playhead too.
    """

    def __init__(self, session: Session, choice: Choice, parent: QObject | None = None) -> None:
        """Follow a film. Made after all that shows the film, so that they know a change before it moves.

        Args:
            session: The film and its edits.
            choice: Where the playhead stands.
            parent: Who owns it.
        """
        super().__init__(parent)
        self._choice = choice
        self._places = ScenePlaces(session, self)
        self._entry, self._offset = self._places.at(choice.frame)
        self._in_film = self._places.entries()
        choice.moved.connect(self._on_moved)
        session.changed.connect(self._on_changed)

    def _on_moved(self, frame: int) -> None:
        self._entry, self._offset = self._places.at(frame)

    def _on_changed(self) -> None:
        before, self._in_film = self._in_film, self._places.entries()
        chosen = self._choice.entry
        if frames := self._places.frames(self._entry):
            self._choice.go_to(frames.start + min(self._offset, len(frames) - 1))
        # What is gone may come back, and finds the playhead again if it was not moved meanwhile. What was
        # looked at where it lay beside the film is looked at in the film now.
        came = self._places.frames(chosen) if chosen not in before else None
        if came and self._choice.frame not in came:
            self._choice.go_to(came.start)
