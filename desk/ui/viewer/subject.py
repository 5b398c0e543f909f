"""What is looked at: a scene, the whole film with its drafts, or a file of footage."""

import bisect
import dataclasses
import functools
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum, auto
from pathlib import Path

from desk.film.media import MediaFacts
from desk.film.model import Film, Scene, SceneContent, Size
from desk.film.rates import Rate
from desk.film.timing import Include, content_frames, lay_out
from desk.render.reel import Reel, reel_of_film, reel_of_footage, reel_of_scene
from desk.sound.plan import SpeechOf, unheard
from desk.sound.streaming import Track, track_of_file, track_of_film, track_of_scene


class Kind(Enum):
    """What kind of thing is looked at."""

    SCENE = auto()
    FILM = auto()
    FOOTAGE = auto()


@dataclass(frozen=True, kw_only=True, eq=False)
class Subject:
    """One thing as it is in one film: its picture and sound are worked out when they are first asked for.

    Attributes:
        kind: What kind of thing.
        name: Id of the scene, path of the footage as the film has it, or "" for the film.
        film: The film.
        folder: The project folder.
        media: What was read of each file, by path.
        size: Frame size of the pieces that it is shown from.
        frames: How long it is.
        speech_of: Gives what is known of a clip's speech, for which music goes down.
        heard: Grows when more speech is known that music goes down for.
        plain_voice: Id of a voice that is heard without what is done to it, or "".
    """

    kind: Kind
    name: str
    film: Film = field(repr=False)
    folder: Path
    media: Mapping[str, MediaFacts] = field(repr=False)
    size: Size
    frames: int
    speech_of: SpeechOf = field(default=unheard, repr=False)
    heard: int = 0
    plain_voice: str = ""

    @property
    def rate(self) -> Rate:
        """The rate at which its frames are counted: the film's, for footage too."""
        return self.film.rate

    @functools.cached_property
    def reel(self) -> Reel:
        """What is on at each frame. Takes a while for a long film: ask for it beside the window."""
        match self.kind:
            case _ if not self.frames:
                return Reel(placed=(), frames=0, rate=self.rate, size=self.size)
            case Kind.SCENE:
                return reel_of_scene(self.film, self.name, self.media, self.size)
            case Kind.FILM:
                return reel_of_film(self.film, self.media, self.size)
            case Kind.FOOTAGE:
                return reel_of_footage(self.name, self.media[self.name], self.rate, self.film.size)

    @functools.cached_property
    def track(self) -> Track:
        """What is heard. Takes a while for a long film: ask for it beside the window."""
        match self.kind:
            case Kind.SCENE:
                scene = _scene(self.film, self.name)
                content = scene.content if scene else SceneContent()
                return _without_chain(track_of_scene(content, self.rate, self.speech_of), self.plain_voice)
            case Kind.FILM:
                return track_of_film(self.film, lay_out(self.film, Include.ALL), self.speech_of)
            case Kind.FOOTAGE:
                return track_of_file(self.name, self.rate, self.frames)

    @functools.cached_property
    def files(self) -> Mapping[str, Path]:
        """Where each file is, by its path in the film."""
        return {path: self.folder / path for path in self.media}

    def is_same_picture(self, other: "Subject") -> bool:
        """Return whether another one looks and sounds alike, so that nothing has to be shown anew."""
        same = (self.kind, self.name, self.size, self.media, self.heard, self.plain_voice) == (
            other.kind,
            other.name,
            other.size,
            other.media,
            other.heard,
            other.plain_voice,
        )
        return same and _shown(self) == _shown(other)


def scene_subject(
    film: Film, scene_id: str, *, folder: Path, media: Mapping[str, MediaFacts], size: Size
) -> Subject:
    """Return a scene; one that the film does not have, or has no clips, has no frames."""
    scene = _scene(film, scene_id)
    return Subject(
        kind=Kind.SCENE,
        name=scene_id,
        film=film,
        folder=folder,
        media=media,
        size=size,
        frames=content_frames(scene.content) if scene else 0,
    )


def film_subject(film: Film, *, folder: Path, media: Mapping[str, MediaFacts], size: Size) -> Subject:
    """Return the film with all drafts."""
    return Subject(
        kind=Kind.FILM,
        name="",
        film=film,
        folder=folder,
        media=media,
        size=size,
        frames=lay_out(film, Include.ALL).length_frames,
    )


def footage_subject(
    film: Film, path: str, facts: MediaFacts, *, folder: Path, media: Mapping[str, MediaFacts], size: Size
) -> Subject:
    """Return a file of footage, as the film has its path, or with an absolute one."""
    known = {**media, path: facts}
    return Subject(
        kind=Kind.FOOTAGE,
        name=path,
        film=film,
        folder=folder,
        media=known,
        size=size,
        frames=reel_of_footage(path, facts, film.rate, film.size).frames,
    )


class FilmPlaces:
    """How places in the running order, with a slate for each empty scene, become places in what is shown."""

    def __init__(self, film: Film) -> None:
        whole = lay_out(film, Include.SLATES).slots
        self._starts = [slot.start_frames for slot in whole]
        self._end = whole[-1].end_frames if whole else 0
        shown = {slot.entry.id: slot for slot in lay_out(film, Include.ALL).slots}
        self._shown: list[tuple[int, bool]] = []
        at = 0
        for slot in whole:
            found = shown.get(slot.entry.id)
            at = found.start_frames if found else at
            self._shown.append((at, found is not None))
            at += found.length_frames if found else 0
        self._shown_starts = [start for start, _ in self._shown]

    def to_shown(self, frame: int) -> int:
        """Return the frame of what is shown at a place of the running order; what comes next for a slate."""
        index = bisect.bisect_right(self._starts, frame) - 1
        if index < 0:
            return 0
        start, is_there = self._shown[index]
        return start + frame - self._starts[index] if is_there else start

    def to_order(self, frame: int) -> int:
        """Return the place in the running order of a frame of what is shown."""
        # Of entries that begin at the same shown frame only the last can be there.
        index = bisect.bisect_right(self._shown_starts, frame) - 1
        while index >= 0 and not self._shown[index][1]:
            index -= 1
        return self._starts[index] + frame - self._shown[index][0] if index >= 0 else 0


def _scene(film: Film, scene_id: str) -> Scene | None:
    return next((scene for scene in film.scenes if scene.id == scene_id), None)


def _without_chain(track: Track, voice: str) -> Track:
    """Return what is heard with a voice as it was recorded; music goes down as it does with its chain."""
    if not voice:
        return track
    sounds = tuple(
        dataclasses.replace(
            sound,
            spans=tuple(
                dataclasses.replace(span, chain=None) if span.chain and span.chain.voice == voice else span
                for span in sound.spans
            ),
        )
        for sound in track.sounds
    )
    return dataclasses.replace(track, sounds=sounds)


def _shown(subject: Subject) -> object:
    """Return the part of a film that decides how something looks and sounds."""
    film = subject.film
    setting = (film.rate, film.size)
    if subject.kind is Kind.FOOTAGE:
        return setting
    if subject.kind is Kind.FILM:
        contents = tuple((scene.id, scene.content) for scene in film.scenes)
        return setting, film.order, film.cards, film.fade_in_frames, film.fade_out_frames, contents
    scene = _scene(film, subject.name)
    return setting, scene and scene.content
