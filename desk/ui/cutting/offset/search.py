"""Where a separate recording belongs, with what the person looks at to see that it fits."""

import dataclasses
import functools
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from desk.errors import MediaError
from desk.film.media import MediaFacts
from desk.film.model import Clip, Film, Scene, SoundKind
from desk.film.problem import Facts
from desk.film.rates import SAMPLE_RATE_HZ
from desk.footage.probe import probe
from desk.jobs import CancelToken, ProgressListener
from desk.sound.offset import Found, find_offset_of_files
from desk.sound.reading import read_sound
from desk.sound.waveform import Peaks, outline

PLACE_SECONDS = 2
COLUMNS = 320
"""Columns of a place; one is a little longer than a stretch of the finest outline."""

_MOST_PLACES = 3
_MOST_LISTENED_SECONDS = 120
_GOOD_TRUST, _SURE_TRUST = 4, 8
BY_HAND = (
    "By hand: find the same clap or hard consonant in both, and write by how many seconds it is later in the "
    "recording."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """A clip and the recording that is to be laid under it.

    Attributes:
        clip_id: The clip.
        name: What the person calls it: `Clip 2`.
        source: Its footage, as the film has it.
        recording: The recording, as the film has it; "" where none is chosen yet.
        folder: The project folder.
        in_seconds: Where the clip begins in its footage.
        seconds: How much of it the clip shows.
        facts: What is known of both files; one that is not there is looked at first.
    """

    clip_id: str
    name: str
    source: str
    recording: str
    folder: Path
    in_seconds: Fraction
    seconds: Fraction
    facts: tuple[MediaFacts | None, MediaFacts | None] = (None, None)

    @classmethod
    def of(cls, film: Film, scene: Scene, clip: Clip, folder: Path, facts: Facts) -> "Wanted":
        """Return what is to be looked for of a clip."""
        recording = clip.sound.file if clip.sound.kind is SoundKind.SEPARATE else ""
        return cls(
            clip_id=clip.id,
            name=f"Clip {scene.content.clips.index(clip) + 1}",
            source=clip.source,
            recording=recording,
            folder=folder,
            in_seconds=clip.in_seconds,
            seconds=film.rate.seconds(clip.length_frames) * clip.speed,
            facts=(_known(facts, clip.source), _known(facts, recording)),
        )

    def with_recording(self, recording: str, facts: Facts) -> "Wanted":
        """Return the same with another recording."""
        return dataclasses.replace(self, recording=recording, facts=(self.facts[0], _known(facts, recording)))


@dataclass(frozen=True, slots=True, eq=False)
class Place:
    """Both sounds at a place, as columns of a drawing.

    Attributes:
        seconds: Where it begins in the footage.
        own: Lowest and highest samples of the footage's sound.
        other: Those of the recording, laid where it belongs.
    """

    seconds: Fraction
    own: tuple[Peaks, Peaks]
    other: tuple[Peaks, Peaks]


@dataclass(frozen=True, slots=True, eq=False)
class Outcome:
    """What came of it.

    Attributes:
        wanted: What was looked for.
        found: Where the recording belongs, or None.
        places: The places to see that by.
        sentence: Why nothing was found, or "".
        advice: What to do then.
    """

    wanted: Wanted
    found: Found | None
    places: tuple[Place, ...] = ()
    sentence: str = ""
    advice: str = ""


def search(wanted: Wanted, progress: ProgressListener, cancel: CancelToken) -> Outcome:
    """Look for where a recording belongs; what can't be read is an outcome too.

    Args:
        wanted: The clip and the recording.
        progress: Told how far it is.
        cancel: Stops it.

    Raises:
        Cancelled: when stopped on request.
    """
    source, recording = wanted.folder / wanted.source, wanted.folder / wanted.recording
    try:
        source_facts = wanted.facts[0] or probe(source, check=cancel.check)
        recording_facts = wanted.facts[1] or probe(recording, check=cancel.check)
        found = find_offset_of_files(
            source,
            source_facts,
            recording,
            recording_facts,
            in_seconds=wanted.in_seconds,
            seconds=wanted.seconds,
            progress=progress,
            cancel=cancel,
        )
        if not isinstance(found, Found):
            return Outcome(wanted, None, (), found.sentence, found.advice)
        own = functools.partial(_peaks, source, source_facts, cancel)
        other = functools.partial(_peaks, recording, recording_facts, cancel)
        places = tuple(
            Place(seconds, own(seconds), other(seconds + found.offset_seconds))
            for seconds in _loudest(source, source_facts, wanted, cancel)
        )
    except MediaError as error:
        return Outcome(wanted, None, (), error.message, error.advice)
    return Outcome(wanted, found, places)


def trust_words(trust: float) -> str:
    """Return how far an offset can be trusted, in words."""
    if trust >= _SURE_TRUST:
        return "beyond doubt"
    return "good" if trust >= _GOOD_TRUST else "just enough: look and listen whether it fits"


def _known(facts: Facts, path: str) -> MediaFacts | None:
    known = facts.get(path)
    return known if isinstance(known, MediaFacts) else None


def _peaks(path: Path, facts: MediaFacts, cancel: CancelToken, seconds: Fraction) -> tuple[Peaks, Peaks]:
    cancel.check()
    samples = PLACE_SECONDS * SAMPLE_RATE_HZ
    waveform = outline(read_sound(path, facts, in_seconds=seconds, samples=samples))
    return waveform.columns(0, samples, COLUMNS)


def _loudest(path: Path, facts: MediaFacts, wanted: Wanted, cancel: CancelToken) -> list[Fraction]:
    """Return where the clip's own sound is loudest, in each third of it; fewer places of a short one."""
    listened = min(wanted.seconds, Fraction(_MOST_LISTENED_SECONDS))
    count = max(1, min(_MOST_PLACES, int(listened / PLACE_SECONDS)))
    places: list[Fraction] = []
    for part in range(count):
        cancel.check()
        start, length = wanted.in_seconds + listened * part / count, listened / count
        samples = max(1, int(length * SAMPLE_RATE_HZ))
        finest = outline(read_sound(path, facts, in_seconds=start, samples=samples)).outlines[0]
        loudness = [max(int(high), -int(low)) for low, high in zip(finest.low, finest.high, strict=True)]
        at = _loudest_window(loudness, PLACE_SECONDS * SAMPLE_RATE_HZ // finest.bin_samples)
        places.append(start + Fraction(at * finest.bin_samples, SAMPLE_RATE_HZ))
    return places


def _loudest_window(loudness: list[int], width: int) -> int:
    """Return where so many values in a row have the highest sum."""
    best = now = sum(loudness[:width])
    at = 0
    for end in range(width, len(loudness)):
        now += loudness[end] - loudness[end - width]
        if now > best:
            best, at = now, end - width + 1
    return at
