"""Which thing is looked at, as it is in the film now, and the playhead that goes with it."""

from collections.abc import Mapping

from PySide6.QtCore import QObject, Signal

from desk.assembly.planning import copy_size
from desk.film.media import MediaFacts
from desk.ui.bench import Bench
from desk.ui.cutting.cut import Trial
from desk.ui.viewer.subject import (
    FilmPlaces,
    Kind,
    Subject,
    film_subject,
    footage_subject,
    scene_subject,
)


class Stage(QObject):
    """The scene that is being cut, the film, or a file of footage.

    Of a scene in which something is dragged it is what the drag would leave.

    Signals:
        replaced: Another thing is looked at.
        renewed: It is the same thing, but not as it was, after an edit or where media have changed.
        playhead_moved: The playhead was moved by others; its frame, from the start of what is looked at.
    """

    replaced = Signal()
    renewed = Signal()
    playhead_moved = Signal(int)

    def __init__(self, bench: Bench, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._media = _read(bench)
        self._kind = Kind.SCENE
        self._footage: tuple[str, MediaFacts] | None = None
        self._places: FilmPlaces | None = None
        self._is_leading = False
        self._subject = self._made()
        bench.session.changed.connect(self._on_film_changed)
        bench.media.changed.connect(self._on_media_changed)
        bench.cut.opened.connect(self._on_scene_opened)
        bench.cut.tried.connect(self._on_tried)
        bench.cut.moved.connect(self._on_moved)
        bench.choice.moved.connect(self._on_moved)

    @property
    def kind(self) -> Kind:
        """What kind of thing is looked at."""
        return self._kind

    @property
    def subject(self) -> Subject:
        """What is looked at."""
        return self._subject

    def show_scene(self) -> None:
        """Look at the scene that is being cut."""
        self._show(Kind.SCENE)

    def show_film(self) -> None:
        """Look at the whole film with its drafts."""
        self._show(Kind.FILM)

    def show_footage(self, path: str, facts: MediaFacts) -> None:
        """Look at a file of footage as it is.

        Args:
            path: The file, as the film has it, or absolute.
            facts: What was read of it.
        """
        self._footage = (path, facts)
        self._show(Kind.FOOTAGE)

    def playhead(self) -> int:
        """Return the frame on which the playhead stands; 0 for footage, which has none."""
        if self._kind is Kind.SCENE:
            frame = self._bench.cut.frame
        elif self._kind is Kind.FILM:
            frame = self._film_places().to_shown(self._bench.choice.frame)
        else:
            frame = 0
        return max(0, min(frame, self._subject.frames - 1))

    def lead(self, frame: int) -> None:
        """Take the playhead along to a frame of what is looked at."""
        self._is_leading = True
        if self._kind is Kind.SCENE:
            self._bench.cut.go_to(frame)
        elif self._kind is Kind.FILM:
            self._bench.choice.go_to(self._film_places().to_order(frame))
        self._is_leading = False

    def film_frame(self, frame: int) -> int | None:
        """Return the place in the running order of a frame of what is looked at; None where it has none."""
        if self._kind is Kind.FILM:
            return self._film_places().to_order(frame)
        start = self._bench.cut.film_frame if self._kind is Kind.SCENE else None
        return None if start is None else start + frame

    def _show(self, kind: Kind) -> None:
        self._kind = kind
        self._take(self._made())
        self.replaced.emit()

    def _renew(self) -> None:
        subject = self._made()
        self._places = None
        if not subject.is_same_picture(self._subject):
            self._take(subject)
            self.renewed.emit()

    def _take(self, subject: Subject) -> None:
        self._subject = subject
        self._places = None

    def _made(self) -> Subject:
        session, trial = self._bench.session, self._bench.cut.trial
        film, folder, media = session.film, session.folder, self._media
        size = copy_size(film, full=False)
        if self._kind is Kind.FILM:
            return film_subject(film, folder=folder, media=media, size=size)
        if self._kind is Kind.FOOTAGE and self._footage is not None:
            path, facts = self._footage
            return footage_subject(film, path, facts, folder=folder, media=self._with(path, facts), size=size)
        film = trial.film if trial is not None else film
        return scene_subject(film, self._bench.cut.scene_id, folder=folder, media=media, size=size)

    def _with(self, path: str, facts: MediaFacts) -> Mapping[str, MediaFacts]:
        """Return what is known of the media with a file beside them; the same where nothing has changed."""
        before = self._subject.media
        if all(before.get(name) is known for name, known in {**self._media, path: facts}.items()):
            return before
        return {**self._media, path: facts}

    def _film_places(self) -> FilmPlaces:
        if self._places is None:
            self._places = FilmPlaces(self._subject.film)
        return self._places

    def _on_film_changed(self) -> None:
        self._renew()

    def _on_media_changed(self) -> None:
        self._media = _read(self._bench)
        if self._footage is not None and (now := self._media.get(self._footage[0])) is not None:
            self._footage = (self._footage[0], now)
        self._renew()

    def _on_scene_opened(self) -> None:
        self._show(Kind.SCENE)

    def _on_tried(self, _: Trial | None) -> None:
        if self._kind is Kind.SCENE:
            self._renew()

    def _on_moved(self) -> None:
        if not self._is_leading and self._kind is not Kind.FOOTAGE:
            self.playhead_moved.emit(self.playhead())


def _read(bench: Bench) -> Mapping[str, MediaFacts]:
    return {path: facts for path, facts in bench.media.facts.items() if isinstance(facts, MediaFacts)}
