"""The mix of a scene, of the film or of a file from any sample on, read as it is heard.

It has the samples that the stems would give, without any stem being written. Files are opened when they are
reached and closed when they are past, so that a long film holds few of them open.
"""

import heapq
import logging
from collections.abc import Generator, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np

from desk.errors import MediaError
from desk.film.lanes import Span, spans
from desk.film.media import MediaFacts
from desk.film.model import Film, SceneContent
from desk.film.rates import Rate
from desk.film.timing import Layout, content_frames
from desk.sound.plan import Passage, SceneSound, SpeechOf, plan_sound, speech_in, unheard
from desk.sound.reading import Samples
from desk.sound.stems import Voice, take_ranges, takes_of

BLOCK_SAMPLES = 4800
"""A tenth of a second: short enough to begin at once, long enough that calls cost little."""

_NO_PASSAGE = Passage()

_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class Track:
    """What is heard beside a run of frames.

    Attributes:
        sounds: What sounds, scene by scene.
        rate: The rate that its frames count at.
        frames: How many frames it lasts; what sounds before or after them is not heard.
    """

    sounds: tuple[SceneSound, ...]
    rate: Rate
    frames: int

    @property
    def samples(self) -> int:
        """How many samples it has."""
        return self.rate.samples(self.frames)


def track_of_scene(content: SceneContent, rate: Rate, speech_of: SpeechOf = unheard) -> Track:
    """Return what is heard in a scene by itself, without joins.

    Args:
        content: The scene's content.
        rate: The film's rate.
        speech_of: Gives what is known of a clip's speech.
    """
    own = spans(content, rate)
    ducked = any(span.duck for span in own)
    sound = SceneSound(
        scene="",
        start_frames=0,
        spans=own,
        opening=_NO_PASSAGE,
        closing=_NO_PASSAGE,
        speech=speech_in(own, rate, speech_of) if ducked else (),
    )
    return Track(sounds=(sound,), rate=rate, frames=content_frames(content))


def track_of_film(film: Film, layout: Layout, speech_of: SpeechOf = unheard) -> Track:
    """Return what is heard in a film, with its joins.

    Args:
        film: The film.
        layout: What is in it, and where.
        speech_of: Gives what is known of a clip's speech.
    """
    return Track(sounds=plan_sound(film, layout, speech_of), rate=film.rate, frames=layout.length_frames)


def track_of_file(path: str, rate: Rate, frames: int) -> Track:
    """Return what is heard in a file of footage as it is, from its second 0.

    Args:
        path: The file, as the film has it.
        rate: The rate at which its frames are counted.
        frames: How many there are.
    """
    whole = Span(
        kind="dialogue",
        owner="",
        file=path,
        start_frames=0,
        length_frames=max(1, frames),
        in_seconds=Fraction(0),
    )
    sound = SceneSound(scene="", start_frames=0, spans=(whole,), opening=_NO_PASSAGE, closing=_NO_PASSAGE)
    return Track(sounds=(sound,), rate=rate, frames=frames)


def stream(
    track: Track,
    files: Mapping[str, Path],
    media: Mapping[str, MediaFacts],
    *,
    first: int = 0,
    block_samples: int = BLOCK_SAMPLES,
) -> Generator[Samples]:
    """Give the mix from a sample on, in blocks, to the end. Files that can't be read are silent.

    Close the generator to close its files.

    Args:
        track: What is heard.
        files: Where each file is.
        media: What was read of each; one that is not there is silent.
        first: The sample to begin with, 0 or more.
        block_samples: How many samples a block has; the last may be shorter.
    """
    voices = _Voices(track, files, media, first)
    try:
        for at in range(first, track.samples, block_samples):
            block = np.zeros((min(block_samples, track.samples - at), 2), np.float32)
            voices.add_to(block, at)
            yield block
    finally:
        voices.close()


@dataclass(frozen=True, slots=True, order=True)
class _Due:
    """A take of a span that is to be heard, and where: samples of the track."""

    first: int
    end: int
    scene: int
    span: int
    take: int


class _Voices:
    """What is heard at the sample that is reached."""

    def __init__(
        self, track: Track, files: Mapping[str, Path], media: Mapping[str, MediaFacts], first: int
    ) -> None:
        self._track = track
        self._files = files
        self._media = media
        self._due = [due for due in _all_due(track) if due.end > first]
        heapq.heapify(self._due)
        self._open: list[tuple[_Due, Voice, int]] = []
        self._unreadable: set[str] = set()

    def add_to(self, block: Samples, at: int) -> None:
        end = at + len(block)
        while self._due and self._due[0].first < end:
            self._begin(heapq.heappop(self._due), at)
        # In the order of the film, so that the sum is the same wherever it begins.
        self._open.sort(key=lambda voice: (voice[0].scene, voice[0].span, voice[0].take))
        left = []
        for due, voice, start in self._open:
            if self._is_added(due, voice, block, at - start) and due.end > end:
                left.append((due, voice, start))
            else:
                voice.close()
        self._open = left

    def close(self) -> None:
        for _, voice, _ in self._open:
            voice.close()
        self._open.clear()

    def _begin(self, due: _Due, at: int) -> None:
        sound, rate = self._track.sounds[due.scene], self._track.rate
        span = sound.spans[due.span]
        if span.file not in self._files or span.file not in self._media or span.file in self._unreadable:
            return
        start = rate.samples(sound.start_frames)
        take = takes_of(span, sound, rate)[due.take]
        voice = Voice(take, self._files, self._media, first=max(due.first, at) - start)
        self._open.append((due, voice, start))

    def _is_added(self, due: _Due, voice: Voice, block: Samples, block_first: int) -> bool:
        """Add a voice to a block; returns whether its file could be read."""
        before = block.copy()
        try:
            voice.add_to(block, block_first)
        except MediaError as error:
            block[:] = before
            file = self._track.sounds[due.scene].spans[due.span].file
            _log.warning("“%s” is silent: %s", file, error)
            self._unreadable.add(file)
            return False
        return True


def _all_due(track: Track) -> Iterator[_Due]:
    rate: Rate = track.rate
    sounds: Sequence[SceneSound] = track.sounds
    for scene, sound in enumerate(sounds):
        start = rate.samples(sound.start_frames)
        for index, span in enumerate(sound.spans):
            for take, (low, high) in enumerate(take_ranges(span, rate)):
                first, end = start + low, start + high
                if end > 0 and first < track.samples:
                    yield _Due(first, end, scene, index, take)
