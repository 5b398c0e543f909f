"""What differs between two versions of a scene, in words."""

import dataclasses
from fractions import Fraction
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from desk.film.change_list import change_list
from desk.film.model import (
    Candidate,
    Clip,
    ClipSound,
    Compression,
    Fit,
    Framing,
    Grade,
    Rights,
    SceneContent,
    SoundKind,
    Spot,
)
from desk.film.rates import Rate
from tests.film.films import VOICES, random_content, small_film

CONTENT = small_film().scenes[0].content
RATE = Rate(24)


def clip_with(**fields) -> SceneContent:
    first, second = CONTENT.clips
    return dataclasses.replace(CONTENT, clips=(first, dataclasses.replace(second, **fields)))


def changes(after: SceneContent, before: SceneContent = CONTENT) -> list[str]:
    return [line for line in change_list(before, after, RATE) if not line.startswith("Length")]


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({"length_frames": 68}, ["trimmed by 4 frames at the tail"]),
        ({"length_frames": 73}, ["extended by 1 frame at the tail"]),
        ({"in_seconds": Fraction(30, 24), "length_frames": 66}, ["trimmed by 6 frames at the head"]),
        ({"in_seconds": Fraction(18, 24), "length_frames": 78}, ["extended by 6 frames at the head"]),
        ({"in_seconds": Fraction(2), "length_frames": 72}, ["shows footage 24 frames later"]),
        ({"in_seconds": Fraction(0)}, ["shows footage 24 frames earlier"]),
        (
            {"in_seconds": Fraction(30, 24), "length_frames": 60},
            ["trimmed by 6 frames at the head", "trimmed by 6 frames at the tail"],
        ),
        (
            {"in_seconds": Fraction(30, 24)},
            ["shows footage 6 frames later"],
        ),
        ({"in_seconds": Fraction(1) + Fraction(1, 48)}, ["shows footage 0.50 frames later"]),
        ({"source": "b.mov"}, ["source “footage/1/kiosk.mov” → “b.mov”"]),
        ({"speed": Fraction(1, 2), "length_frames": 144}, ["speed 1 → 1/2", "length 72 → 144 frames"]),
        ({"speed": Fraction(2), "in_seconds": Fraction(5, 2)}, ["speed 1 → 2", "in point 1 s → 2.500 s"]),
        (
            {"framing": Framing(fit=Fit.FILL, scale=1.5, x=0.1)},
            ["fit fit → fill", "scale 1 → 1.5", "x 0 → 0.1"],
        ),
        (
            {"sound": ClipSound(gain_db=-3.5, lead_frames=6, fade_out_frames=2)},
            ["gain 0 → −3.5 dB", "lead 0 → 6 frames", "fade out 0 → 2 frames"],
        ),
        (
            {"sound": ClipSound(kind=SoundKind.SEPARATE, file="v.wav", offset_seconds=Fraction(1, 3))},
            ["sound own → separate", "separate recording “” → “v.wav”", "sound offset 0 s → 0.333 s"],
        ),
        ({"camera": "l1"}, ["other camera look"]),
        ({"note": "soft"}, ["note “” → “soft”"]),
    ],
)
def test_clips(fields, told):
    assert changes(clip_with(**fields)) == [f"Clip 2: {line}" for line in told]


def test_the_length_is_told_first():
    assert (
        change_list(CONTENT, clip_with(length_frames=68), RATE)[0]
        == "Length 0:05:00 → 0:04:20, 4 frames shorter"
    )
    assert (
        change_list(CONTENT, clip_with(length_frames=73), RATE)[0]
        == "Length 0:05:00 → 0:05:01, 1 frame longer"
    )


def test_clips_that_come_go_and_move():
    clips = [Clip(id=f"c{index}", source=f"{index}.mov", length_frames=10) for index in range(1, 6)]

    def content(*numbers: int) -> SceneContent:
        return SceneContent(clips=tuple(clips[number - 1] for number in numbers))

    assert changes(content(1, 3, 4), content(1, 2, 3, 4)) == ["Clip 2: removed"]
    assert changes(content(1, 5, 2), content(1, 2)) == ["Clip 2: added"]
    assert changes(content(4, 1, 2, 3), content(1, 2, 3, 4)) == ["Clip 1: moved from place 4"]
    assert changes(content(2, 3, 1), content(1, 2, 3)) == ["Clip 3: moved from place 1"]
    assert changes(content(5, 1), content(1, 2, 5)) == ["Clip 2: removed", "Clip 1: moved from place 3"]
    assert changes(content(), content(1)) == ["Clip 1: removed"]


def test_music():
    (cue,) = CONTENT.cues
    other = dataclasses.replace(CONTENT, cues=(dataclasses.replace(cue, chosen="a2", start_frames=-12),))
    assert changes(other) == ["Cue m1: start 0 → −12 frames", "Cue m1: other candidate, “fog.wav”"]
    assert changes(CONTENT, other)[-1] == "Cue m1: other candidate, “tide.wav”"
    none = dataclasses.replace(CONTENT, cues=(dataclasses.replace(cue, chosen=""),))
    assert changes(none) == ["Cue m1: choice taken back"]
    assert changes(CONTENT, none) == ["Cue m1: candidate chosen, “tide.wav”"]
    assert changes(dataclasses.replace(CONTENT, cues=())) == ["Cue m1: removed"]
    assert changes(SceneContent(no_music=True), SceneContent()) == ["No music: declared"]
    assert changes(SceneContent(), SceneContent(no_music=True)) == ["No music: taken back"]


def test_candidates():
    (cue,) = CONTENT.cues
    tide, fog = cue.candidates
    louder = dataclasses.replace(
        tide, gain_db=2, in_seconds=Fraction(4), rights=Rights(licence="own", title="Tide")
    )
    new = Candidate(id="a3", file="music/rain.wav")
    after = dataclasses.replace(CONTENT, cues=(dataclasses.replace(cue, candidates=(louder, new)),))
    assert fog.id not in [item.id for item in after.cues[0].candidates]
    assert changes(after) == [
        "Cue m1: candidate “fog.wav”: removed",
        "Cue m1: candidate “Tide”: in point 0 s → 4 s",
        "Cue m1: candidate “Tide”: gain 0 → 2 dB",
        "Cue m1: candidate “Tide”: other title and licence",
        "Cue m1: candidate “rain.wav”: added",
    ]


def test_effects():
    (spot,) = CONTENT.spots
    after = dataclasses.replace(spot, start_frames=14, gain_db=-6.0, file="effects/bell.wav", label="bell")
    assert changes(dataclasses.replace(CONTENT, spots=(after,))) == [
        "Spot bell: file “effects/horn.wav” → “effects/bell.wav”",
        "Spot bell: label “horn” → “bell”",
        "Spot bell: start 10 → 14 frames",
        "Spot bell: gain 0 → −6 dB",
    ]
    added = Spot(id="f9", file="x.wav", start_frames=0, length_frames=1)
    assert changes(dataclasses.replace(CONTENT, spots=(spot, added))) == ["Spot f9: added"]


def test_sound_and_grade():
    after = dataclasses.replace(
        CONTENT, voices_levelled=True, grade=Grade(slope=(1.1, 1.0, 0.9), saturation=0.8), grade_note="cold"
    )
    assert changes(after) == [
        "Voices: called level",
        "Grade: slope 1 1 1 → 1.1 1 0.9",
        "Grade: saturation 1 → 0.8",
        "Grade note: “” → “cold”",
    ]
    assert changes(CONTENT, after)[0] == "Voices: not called level any more"


@given(st.integers(0, 2**32), st.integers(0, 2**32))
def test_there_are_changes_exactly_where_the_versions_differ(first, second):
    before, after = (
        random_content(Random(first), "x", voices=VOICES),
        random_content(Random(second), "x", voices=VOICES),
    )
    assert change_list(before, before, RATE) == ()
    assert bool(change_list(before, after, RATE)) == (before != after)
    assert all(line.isprintable() for line in change_list(before, after, RATE))


@given(st.data())
def test_a_change_of_any_one_field_is_told(data):
    """Every field of a content, found by going through the values themselves, so that a new one is not
    forgotten."""
    content = random_content(Random(data.draw(st.integers(0, 2**32))), "x", voices=VOICES)
    places = list(_places(content))
    place, value = data.draw(st.sampled_from(places))
    other = _other(value)
    if other is None or place[-1] == "id":
        return
    assert change_list(content, _replaced(content, place, other), RATE)


def _places(value, place=()):
    if dataclasses.is_dataclass(value):
        for field in dataclasses.fields(value):
            yield from _places(getattr(value, field.name), (*place, field.name))
    elif isinstance(value, tuple):
        for index, item in enumerate(value):
            yield from _places(item, (*place, index))
    else:
        yield place, value


def _other(value):
    if isinstance(value, bool):
        return not value
    if isinstance(value, Compression | Fit | SoundKind):
        return next(item for item in type(value) if item is not value)
    if isinstance(value, int | float | Fraction):
        return value + 1
    return value + "!" if isinstance(value, str) else None


def _replaced(value, place, new):
    if not place:
        return new
    head, *rest = place
    if isinstance(value, tuple):
        return tuple(
            _replaced(item, rest, new) if index == head else item for index, item in enumerate(value)
        )
    return dataclasses.replace(value, **{head: _replaced(getattr(value, head), rest, new)})
