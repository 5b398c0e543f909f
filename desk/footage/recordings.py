"""Long recordings that a camera has split into files.

Cameras on cards with a limit of 4 GB a file go on in a further file, a chapter, without losing a frame. Two
ways of naming chapters are known here (common practice, no source):

    AB010123.MP4, AB020123.MP4 …    two letters, chapter from 01, recording 0123
    ABCD0123.MP4, AB010123.MP4 …    four letters for the first chapter, then two letters and chapter from 01

The first way sorts by chapter before recording, so files in natural order are not in the order in which
they were
shot: recordings put that right. Numbers that merely count up (`MVI_0001`, `00001`) are recordings of their
own.
"""

import itertools
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from desk.errors import TimecodeError
from desk.film.media import MediaFacts
from desk.film.timecode import frames_per_day, has_drop_frame, parse_label
from desk.footage.order import NaturalKey, natural_key, path_key

_CHAPTER = re.compile(r"([A-Z]{2})(\d{2})(\d{4})", re.ASCII | re.IGNORECASE)
_FIRST = re.compile(r"([A-Z]{4})(\d{4})", re.ASCII | re.IGNORECASE)
_LEAST_FULL = Fraction(9, 10)
"""Full chapters are at least this part of the largest one."""


@dataclass(frozen=True, slots=True)
class Recording:
    """What was shot in one go.

    Attributes:
        files: Its files in the order in which they were shot; each goes on where the one before ends.
    """

    files: tuple[Path, ...]


@dataclass(frozen=True, slots=True)
class _Name:
    """A file's name read as a chapter: the chapters of a recording have the same first two fields."""

    letters: str
    recording: str
    chapter: int
    first: bool


def recordings(files: Iterable[Path], facts: Mapping[Path, MediaFacts]) -> tuple[Recording, ...]:
    """Return the recordings that files make up, in natural order of recordings.

    Files are chapters of one recording when they lie in one folder with names as above and chapters that
    follow each other, have the same picture (size, rate, codec), and when each goes on after the one
    before: their timecodes continue, or, where there are none, all but the last are full. A file without
    facts stands alone.

    Args:
        files: Footage of one scene.
        facts: What is known of it.
    """
    ordered = sorted(files, key=path_key)
    named = {path: name for path in ordered if path in facts and (name := _read_name(path)) is not None}
    placed: set[Path] = set()
    found: list[tuple[Path, ...]] = []
    for path in ordered:
        if path in placed:
            continue
        chain = _chapters_from(path, named) if path in named else (path,)
        for run in _runs(chain, facts):
            placed.update(run)
            found.append(run)
    return tuple(Recording(run) for run in sorted(found, key=lambda run: _recording_key(run[0], named)))


def _read_name(path: Path) -> _Name | None:
    stem = path.stem.upper()
    if match := _CHAPTER.fullmatch(stem):
        return _Name(match[1], match[3], int(match[2]), first=int(match[2]) == 1)
    if match := _FIRST.fullmatch(stem):
        return _Name(match[1], match[2], 0, first=True)
    return None


def _chapters_from(first: Path, named: Mapping[Path, _Name]) -> tuple[Path, ...]:
    """Return a file and those whose names say that they are its next chapters."""
    name = named[first]
    chain = [first]
    wanted = name.chapter + 1
    while True:
        following = [
            path
            for path, other in named.items()
            if path.parent == first.parent
            and path.suffix.lower() == first.suffix.lower()
            and other.recording == name.recording
            and other.chapter == wanted
            and _same_letters(name, other)
        ]
        if len(following) != 1:
            return tuple(chain)
        chain.append(following[0])
        wanted += 1


def _same_letters(first: _Name, other: _Name) -> bool:
    if first.chapter == 0:
        # The four letters of the first chapter and the two of the others begin alike.
        return first.letters[0] == other.letters[0]
    return first.letters == other.letters


def _runs(chain: tuple[Path, ...], facts: Mapping[Path, MediaFacts]) -> list[tuple[Path, ...]]:
    """Return a chain of chapters whole, or cut where a file does not go on after the one before."""
    runs, run = [], [chain[0]]
    largest = max((facts[path].size_bytes for path in chain if path in facts), default=0)
    for before, after in itertools.pairwise(chain):
        if _goes_on(facts[before], facts[after], largest):
            run.append(after)
        else:
            runs.append(tuple(run))
            run = [after]
    return [*runs, tuple(run)]


def _goes_on(before: MediaFacts, after: MediaFacts, largest_bytes: int) -> bool:
    one, two = before.picture, after.picture
    if one is None or two is None or _make(before) != _make(after):
        return False
    if before.timecode and after.timecode:
        try:
            (start, drop_frame), (following, other_drop) = (
                parse_label(facts.timecode, one.rate) for facts in (before, after)
            )
        except TimecodeError:
            return False
        drop_frame = drop_frame and has_drop_frame(one.rate)
        end = (start + one.frames) % frames_per_day(one.rate, drop_frame=drop_frame)
        # Cameras whose clock starts at each file's head give every chapter the same label.
        return (drop_frame == other_drop and following == end) or (
            following == start and before.size_bytes >= largest_bytes * _LEAST_FULL
        )
    return before.size_bytes >= largest_bytes * _LEAST_FULL


def _make(facts: MediaFacts) -> tuple[object, ...]:
    """Return what all chapters of a recording have alike."""
    picture, sound = facts.picture, facts.sound
    if picture is None:
        return ()
    rate = None if picture.variable else picture.rate
    alike = (
        picture.width,
        picture.height,
        rate,
        picture.codec,
        picture.pixel_format,
        picture.rotation_degrees,
    )
    return (*alike, facts.camera, *((sound.sample_rate_hz, sound.channels) if sound else ()))


def _recording_key(first: Path, named: Mapping[Path, _Name]) -> tuple[object, ...]:
    """Sort recordings whose names put the chapter first by their own number, among files named alike."""
    name = named.get(first)
    key = path_key(first)
    stem: NaturalKey = key[1]
    if name is not None and name.chapter:
        stem = natural_key(f"{name.letters}{name.recording}{name.chapter:02}")
    return key[0], stem, key[2]
