"""What each scene's state is, and what is open in it: remembered, since a fingerprint takes a while."""

from dataclasses import dataclass

from PySide6.QtCore import QObject, Signal

from desk.film.edits import Change
from desk.film.locking import Open, Part, broken, what_a_lock_asks, what_is_open
from desk.film.model import Card, Film, Scene
from desk.film.paths import content_paths
from desk.ui.look.marks import Mark
from desk.ui.media import Media
from desk.ui.session import Session


@dataclass(frozen=True, slots=True)
class SceneStatus:
    """How a scene stands.

    Attributes:
        mark: Its mark.
        open: What is open, in the order of the sheet; of a locked scene, what it was locked without.
        asked: What a lock would ask for; nothing of a locked scene.
        broken: Why its lock does not hold, one sentence each.
    """

    mark: Mark
    open: tuple[Open, ...]
    asked: tuple[Open, ...]
    broken: tuple[str, ...]

    def open_in(self, part: Part) -> tuple[str, ...]:
        """Return what is open in one part of the sheet, one sentence each."""
        return tuple(item.sentence for item in self.open if item.part is part)


class Statuses(QObject):
    """The status of every scene.

    Signals:
        changed: The status of some scenes may be another one because of their media: a frozenset of ids. What
            an edit changes, `Session.changed` tells.
    """

    changed = Signal(object)

    def __init__(self, session: Session, media: Media, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._media = media
        self._known: dict[str, tuple[Scene, int, SceneStatus]] = {}
        session.changed.connect(self._on_changed)
        media.changed.connect(self._on_media_changed)

    def of(self, scene: Scene) -> SceneStatus:
        """Return the status of a scene as it is in the film now."""
        needed = self._session.film.delivery.proofs_needed
        known = self._known.get(scene.id)
        if known is None or known[0] is not scene or known[1] != needed:
            known = (scene, needed, self._look(scene))
            self._known[scene.id] = known
        return known[2]

    def mark(self, entry: Scene | Card) -> Mark:
        """Return the mark of an entry."""
        return Mark.CARD if isinstance(entry, Card) else self.of(entry).mark

    def _look(self, scene: Scene) -> SceneStatus:
        film, present = self._session.film, self._media.is_present
        why: tuple[str, ...] = ()
        if scene.lock:
            why = broken(scene, self._media.as_now(media.path for media in scene.lock.media))
            mark = Mark.BROKEN if why else Mark.LOCKED
        else:
            mark = Mark.DRAFT if scene.content.clips else Mark.SLATE
        return SceneStatus(
            mark=mark,
            open=what_is_open(film, scene, present),
            asked=() if scene.lock else what_a_lock_asks(film, scene, present),
            broken=why,
        )

    def _on_changed(self, film: Film, _: Change) -> None:
        present = {scene.id for scene in film.scenes}
        for scene_id in self._known.keys() - present:
            del self._known[scene_id]

    def _on_media_changed(self, paths: frozenset[str]) -> None:
        touched = set()
        for scene in self._session.film.scenes:
            used = set(content_paths(scene.content))
            if scene.lock:
                used.update(media.path for media in scene.lock.media)
            if not used.isdisjoint(paths):
                self._known.pop(scene.id, None)
                touched.add(scene.id)
        if touched:
            self.changed.emit(frozenset(touched))
