"""Chapters of one recording. How cameras name and fill chapters: common practice, no source."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from desk.film.media import MediaFacts
from desk.film.rates import Rate
from desk.footage.recordings import recordings
from tests.footage.facts import clip, sound_alone

FULL, REST = 4_000_000_000, 900_000_000


def runs_of(facts: dict[str, MediaFacts]) -> list[list[str]]:
    """Return the names of the files of each recording."""
    known = {Path("card") / name: value for name, value in facts.items()}
    return [[path.name for path in recording.files] for recording in recordings(known, known)]


def full(**options: Any) -> MediaFacts:
    return clip(size_bytes=FULL, **options)


def rest(**options: Any) -> MediaFacts:
    return clip(size_bytes=REST, **options)


NAMES = [
    (
        "chapter before recording",
        {"GX010123.MP4": full(), "GX020123.MP4": full(), "GX030123.MP4": rest(), "GX010124.MP4": rest()},
        [["GX010123.MP4", "GX020123.MP4", "GX030123.MP4"], ["GX010124.MP4"]],
    ),
    (
        "two recordings whose chapters lie mixed in natural order",
        {"GH010007.MP4": full(), "GH010008.MP4": full(), "GH020007.MP4": rest(), "GH020008.MP4": rest()},
        [["GH010007.MP4", "GH020007.MP4"], ["GH010008.MP4", "GH020008.MP4"]],
    ),
    (
        "four letters, then two",
        {"GOPR0123.MP4": full(), "GP010123.MP4": full(), "GP020123.MP4": rest(), "GOPR0124.MP4": rest()},
        [["GOPR0123.MP4", "GP010123.MP4", "GP020123.MP4"], ["GOPR0124.MP4"]],
    ),
    (
        "names in lower case",
        {"gx010123.mp4": full(), "gx020123.mp4": rest()},
        [["gx010123.mp4", "gx020123.mp4"]],
    ),
    (
        "a chapter is missing",
        {"GX010123.MP4": full(), "GX030123.MP4": full(), "GX040123.MP4": rest()},
        [["GX010123.MP4"], ["GX030123.MP4", "GX040123.MP4"]],
    ),
    (
        "numbers that merely count up",
        {"MVI_0001.MP4": full(), "MVI_0002.MP4": rest(), "00001.MTS": full(), "00002.MTS": rest()},
        [["00001.MTS"], ["00002.MTS"], ["MVI_0001.MP4"], ["MVI_0002.MP4"]],
    ),
    (
        "numbers with four letters and no chapters",
        {"DSCF0001.MOV": full(), "DSCF0002.MOV": full()},
        [["DSCF0001.MOV"], ["DSCF0002.MOV"]],
    ),
    (
        "other letters",
        {"GX010123.MP4": full(), "GH020123.MP4": rest()},
        [["GH020123.MP4"], ["GX010123.MP4"]],
    ),
    (
        "another kind of file",
        {"GX010123.MP4": full(), "GX020123.MOV": rest()},
        [["GX010123.MP4"], ["GX020123.MOV"]],
    ),
]


@pytest.mark.parametrize(("facts", "expected"), [case[1:] for case in NAMES], ids=[case[0] for case in NAMES])
def test_names(facts: dict[str, MediaFacts], expected: list[list[str]]) -> None:
    assert runs_of(facts) == expected


PAIRS = [
    ("a full file, then the rest", full(), rest(), True),
    ("the first is not full", rest(), full(), False),
    ("another size of picture", full(), rest(size=(3840, 2160)), False),
    ("another rate", full(), rest(rate=Rate(50)), False),
    ("another codec", full(), rest(codec="hevc"), False),
    ("turned", full(), rest(rotation_degrees=90), False),
    ("another camera", full(camera="A"), rest(camera="B"), False),
    ("one without sound", full(), rest(sound=False), False),
    (
        "two of variable rate",
        full(variable=True, rate=Rate(2999, 100)),
        rest(variable=True, rate=Rate(30)),
        True,
    ),
    # 10 s at 25 frames a second: 01:00:00:00 + 250 frames = 01:00:10:00, computed by hand.
    ("timecode goes on", rest(timecode="01:00:00:00"), rest(timecode="01:00:10:00"), True),
    ("timecode leaves a frame out", full(timecode="01:00:00:00"), rest(timecode="01:00:10:01"), False),
    ("timecode goes on past midnight", rest(timecode="23:59:55:00"), rest(timecode="00:00:05:00"), True),
    ("every file starts at one label", full(timecode="00:00:00:00"), rest(timecode="00:00:00:00"), True),
    (
        "short files that start at one label",
        rest(timecode="00:00:00:00"),
        full(timecode="00:00:00:00"),
        False,
    ),
    ("labels that name no frame", full(timecode="00:00:00:77"), rest(timecode="00:00:10:77"), False),
    # ST 12-1: at 30000/1001 drop-frame, 1800 frames after 00:00:00;00 is 00:01:00;02.
    (
        "drop-frame goes on",
        rest(timecode="00:00:00;00", rate=Rate(30000, 1001), seconds=Rate(30000, 1001).seconds(1800)),
        rest(timecode="00:01:00;02", rate=Rate(30000, 1001)),
        True,
    ),
    ("sound alone", full(), sound_alone(), False),
]


@pytest.mark.parametrize(
    ("before", "after", "one"), [case[1:] for case in PAIRS], ids=[case[0] for case in PAIRS]
)
def test_what_makes_two_files_one_recording(before: MediaFacts, after: MediaFacts, one: bool) -> None:
    both = ["GX010123.MP4", "GX020123.MP4"]
    expected = [both] if one else [[name] for name in both]
    assert runs_of(dict(zip(both, (before, after), strict=True))) == expected


def test_files_in_other_folders_are_other_recordings() -> None:
    facts = {Path("a/GX010123.MP4"): full(), Path("b/GX020123.MP4"): rest()}
    assert [len(recording.files) for recording in recordings(facts, facts)] == [1, 1]


def test_files_without_facts_stand_alone() -> None:
    files = [Path("GX010123.MP4"), Path("GX020123.MP4"), Path("GX030123.MP4")]
    facts = {path: replace(full(), timecode="") for path in files}
    del facts[files[1]]
    assert [len(recording.files) for recording in recordings(files, facts)] == [1, 1, 1]


def test_every_file_is_in_one_recording() -> None:
    files = [
        Path(f"card/G{letter}{chapter:02}{number:04}.MP4")
        for letter in "XH"
        for chapter in range(4)
        for number in range(5)
    ]
    facts = {path: full() for path in files}
    found = [path for recording in recordings(reversed(files), facts) for path in recording.files]
    assert sorted(found) == sorted(files)
