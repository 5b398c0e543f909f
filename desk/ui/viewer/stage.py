"""Which thing is looked at, as it is in the film now, and the playhead that goes with it."""

import dataclasses
import functools
from collections.abc import Mapping, Sequence

from PySide6.QtCore import QObject, Signal

from desk.assembly.planning import copy_size
from desk.film.lanes import Span, spans
from desk.film.media import MediaFacts
from desk.film.model import Film, SceneContent
from desk.film.timing import Include, lay_out
from desk.jobs import Progress
from desk.sound.plan import to_listen_to
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

_WHO = "viewer"
"""Whom it is listened for, so that music goes down while somebody speaks."""


class Stage(QObject):
    """The scene that is being cut, the film, or a file of footage.

    Of a scene in which something is dragged it is what the drag would leave.

    Signals:
        replaced: Another thing is looked at.
        renewed: It is the same thing, but not as it was, after an edit or where media have changed.
        playhead_moved: The playhead was moved by others; its frame, from the start of what is looked at.
        listened: It is being listened to for speech now, or is not any more.
    """

    replaced = Signal()
    renewed = Signal()
    playhead_moved = Signal(int)
    listened = Signal(bool)

    def __init__(self, bench: Bench, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._media = _read(bench)
        self._kind = Kind.SCENE
        self._footage: tuple[str, MediaFacts] | None = None
        self._places: FilmPlaces | None = None
        self._is_leading = False
        self._heard = 0
        self._is_listening = False
        self._plain_voice = ""
        self._subject = self._made()
        self._listen()
        bench.session.changed.connect(self._on_film_changed)
        bench.media.changed.connect(self._on_media_changed)
        bench.cut.opened.connect(self._on_scene_opened)
        bench.cut.tried.connect(self._on_tried)
        bench.cut.moved.connect(self._on_moved)
        bench.choice.moved.connect(self._on_moved)
        bench.listening.progressed.connect(self._on_listening)
        bench.listening.settled.connect(self._on_settled)

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

    @property
    def is_listening(self) -> bool:
        """Whether it is being listened to for speech: until then, music does not go down under it."""
        return self._is_listening

    @property
    def plain_voice(self) -> str:
        """Id of the voice that is heard without what is done to it, or ""."""
        return self._plain_voice

    def hear_plain(self, voice: str) -> None:
        """Let a voice of the scene be heard without what is done to it; "" for all as they are."""
        if voice != self._plain_voice:
            self._plain_voice = voice
            self._renew()

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
        self._listen()

    def _listen(self) -> None:
        """Have those sounds listened to that decide how loud the music is."""
        subject, listening = self._subject, self._bench.listening
        if self._bench.cut.trial is not None:
            return  # a drag is soon over
        if subject.kind is Kind.FOOTAGE:
            listening.forget(_WHO)
            self._put_listening(False)
        elif subject.kind is Kind.FILM:
            film = subject.film
            listening.want(_WHO, (film.scenes, film.order), functools.partial(_film_sounds, film))
        elif _goes_down(content := _content(subject)):
            listening.want(_WHO, content, functools.partial(spans, content, subject.rate))
        else:
            listening.forget(_WHO)
            self._put_listening(False)

    def _put_listening(self, is_listening: bool) -> None:
        if is_listening != self._is_listening:
            self._is_listening = is_listening
            self.listened.emit(is_listening)

    def _made(self) -> Subject:
        subject = self._plain_made()
        speech_of = self._bench.listening.speech_of(subject.rate, subject.media)
        plain = self._plain_voice if subject.kind is Kind.SCENE else ""
        return dataclasses.replace(subject, speech_of=speech_of, heard=self._heard, plain_voice=plain)

    def _plain_made(self) -> Subject:
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

    def _on_listening(self, who: str, _: Progress) -> None:
        # What is known already makes no progress, so that an edit does not tell of it each time.
        if who == _WHO:
            self._put_listening(True)

    def _on_settled(self, who: str) -> None:
        if who == _WHO:
            self._put_listening(False)
        # All at once: what plays would stumble at each clip.
        if who == _WHO and self._heard != (heard := self._bench.listening.version):
            self._heard = heard
            self._renew()

    def _on_scene_opened(self) -> None:
        self._show(Kind.SCENE)

    def _on_tried(self, _: Trial | None) -> None:
        if self._kind is Kind.SCENE:
            self._renew()

    def _on_moved(self) -> None:
        if not self._is_leading and self._kind is not Kind.FOOTAGE:
            self.playhead_moved.emit(self.playhead())


def _content(subject: Subject) -> SceneContent:
    scenes = subject.film.scenes
    return next((scene.content for scene in scenes if scene.id == subject.name), SceneContent())


def _goes_down(content: SceneContent) -> bool:
    """Return whether a scene has music that goes down under speech."""
    return any(cue.duck and cue.choice for cue in content.cues)


def _film_sounds(film: Film) -> Sequence[Span]:
    return to_listen_to(film, lay_out(film, Include.ALL))


def _read(bench: Bench) -> Mapping[str, MediaFacts]:
    return {path: facts for path, facts in bench.media.facts.items() if isinstance(facts, MediaFacts)}
