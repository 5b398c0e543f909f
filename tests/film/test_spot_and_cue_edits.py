"""The Effects and Music lanes: what still sounds stays where it is, whatever is trimmed."""

import dataclasses
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from desk.errors import EditError
from desk.film import edits
from desk.film.model import Candidate, Cue, MusicPart, Rights, SceneContent, Spot
from tests.film.editing import FILM, done, locked, refused

RATE = FILM.rate
COUNTS = st.integers(-60, 60)


def heard(start: int, length: int, in_seconds: Fraction) -> dict[int, Fraction]:
    """Which place of its file sounds in which frame of the scene."""
    return {start + frame: in_seconds + RATE.seconds(frame) for frame in range(length)}


def with_spot(**fields):
    spot = Spot(**{"id": "f30", "file": "horn.wav", "start_frames": 12, "length_frames": 24, **fields})
    return done(edits.set_content(FILM, "s2", SceneContent(spots=(spot,)), "x")), spot


def with_cue(*seconds, **fields):
    candidates = tuple(
        Candidate(id=f"a{40 + index}", file=f"{index}.wav", in_seconds=Fraction(value))
        for index, value in enumerate(seconds)
    )
    cue = Cue(**{"id": "m30", "start_frames": 12, "length_frames": 24, "candidates": candidates, **fields})
    return done(edits.set_content(FILM, "s2", SceneContent(cues=(cue,)), "x")), cue


def attempt(call, film, *args, **kwargs):
    try:
        return done(call(film, "s2", *args, **kwargs)).scene("s2").content
    except EditError as error:
        return error


@given(COUNTS, st.fractions(0, 3), st.integers(1, 40), st.integers(-30, 60))
def test_a_spot_trimmed_at_its_head_keeps_what_sounds_in_its_place(frames, in_seconds, length, start):
    film, spot = with_spot(in_seconds=in_seconds, length_frames=length, start_frames=start)
    after = attempt(edits.trim_spot_head, film, "f30", frames)
    if isinstance(after, EditError):
        assert frames >= length or in_seconds + RATE.seconds(frames) < 0
        return
    (trimmed,) = after.spots
    old, new = (heard(item.start_frames, item.length_frames, item.in_seconds) for item in (spot, trimmed))
    assert len(new) == length - frames
    assert max(new) == max(old)
    assert all(old[frame] == place for frame, place in new.items() if frame in old)
    assert min(new.values()) >= 0


@given(COUNTS, st.none() | st.fractions(0, 3), st.integers(1, 40))
def test_a_spot_trimmed_at_its_tail_keeps_its_head(frames, seconds, length):
    film, spot = with_spot(length_frames=length)
    known = {} if seconds is None else {"horn.wav": seconds}
    after = attempt(edits.trim_spot_tail, film, "f30", frames, sound_seconds=known)
    if isinstance(after, EditError):
        assert frames >= length or RATE.seconds(length - frames) > seconds
        return
    assert after.spots == (dataclasses.replace(spot, length_frames=length - frames),)
    assert frames >= 0 or seconds is None or RATE.seconds(length - frames) <= seconds


@given(
    COUNTS, st.fractions(0, 3), st.fractions(0, 3), st.integers(1, 40), st.sampled_from(["a40", "a41", ""])
)
def test_a_cue_trimmed_at_its_head_keeps_its_music_in_its_place(frames, first, other, length, chosen):
    film, cue = with_cue(first, other, length_frames=length, chosen=chosen)
    after = attempt(edits.trim_cue_head, film, "m30", frames)
    shift = RATE.seconds(frames)
    if isinstance(after, EditError):
        assert frames >= length or (cue.choice and cue.choice.in_seconds + shift < 0)
        return
    (trimmed,) = after.cues
    assert (trimmed.start_frames, trimmed.length_frames) == (12 + frames, length - frames)
    assert [item.in_seconds for item in trimmed.candidates] == [
        max(0, item.in_seconds + shift) for item in cue.candidates
    ]
    if cue.choice:
        assert trimmed.choice.in_seconds == cue.choice.in_seconds + shift


@given(COUNTS, st.none() | st.fractions(0, 3), st.integers(1, 40), st.booleans())
def test_a_cue_trimmed_at_its_tail_keeps_its_head(frames, seconds, length, chosen):
    film, cue = with_cue(0, length_frames=length, chosen="a40" if chosen else "")
    known = {} if seconds is None else {"0.wav": seconds}
    after = attempt(edits.trim_cue_tail, film, "m30", frames, sound_seconds=known)
    if isinstance(after, EditError):
        assert frames >= length or RATE.seconds(length - frames) > seconds
        return
    assert after.cues == (dataclasses.replace(cue, length_frames=length - frames),)


def test_spots_in_and_out():
    edit = edits.add_spot(FILM, "s1", "effects/gull.wav", -5, 30, label="gull", gain_db=-6.0)
    assert edit.text == "Add spot gull in scene 1"
    added = done(edit).scene("s1").content.spots[1]
    assert added == Spot(
        id="f20", file="effects/gull.wav", label="gull", start_frames=-5, length_frames=30, gain_db=-6.0
    )
    film = done(edit)
    edit = edits.move_spots(film, "s1", ["f20", "f1"], 12)
    assert edit.text == "Move 2 spots in scene 1"
    assert [spot.start_frames for spot in done(edit).scene("s1").content.spots] == [22, 7]
    edit = edits.edit_spot(film, "s1", "f1", gain_db=-3.0, fade_out_frames=12, rights=Rights(licence="own"))
    assert edit.text == "Change the gain, fade out and rights of spot horn in scene 1"
    horn = done(edit).scene("s1").content.spots[0]
    assert (horn.gain_db, horn.fade_out_frames, horn.rights.licence) == (-3.0, 12, "own")
    edit = edits.remove_spots(film, "s1", ["f1"])
    assert edit.text == "Remove spot horn in scene 1"
    assert done(edit).scene("s1").content.spots == (added,)
    assert done(edits.remove_spots(film, "s1", ["f1", "f20"])).scene("s1").content.spots == ()


def place_of_music(candidate, cue, seconds):
    """Which place of its file sounds so many seconds after the scene's start; None for none."""
    at = seconds - RATE.seconds(cue.start_frames)
    if not 0 <= at < RATE.seconds(cue.length_frames):
        return None
    for part in candidate.parts:
        if at < part.length_seconds:
            return part.in_seconds + at
        at -= part.length_seconds
    return None


PARTS = st.lists(
    st.builds(
        MusicPart, in_seconds=st.fractions(0, 3), length_seconds=st.fractions(Fraction(1, 10), Fraction(2))
    ),
    min_size=1,
    max_size=4,
).map(tuple)


def with_parts(parts, **fields):
    candidate = Candidate(id="a40", file="0.wav", parts=parts)
    cue = Cue(id="m30", start_frames=12, candidates=(candidate,), chosen="a40", **fields)
    return done(edits.set_content(FILM, "s2", SceneContent(cues=(cue,)), "x")), cue


@given(COUNTS, PARTS, st.integers(1, 60), st.lists(st.fractions(-1, 4), min_size=1, max_size=8))
def test_music_in_parts_stays_in_its_place_when_the_cue_is_trimmed_at_its_head(frames, parts, length, times):
    film, cue = with_parts(parts, length_frames=length)
    after = attempt(edits.trim_cue_head, film, "m30", frames)
    if isinstance(after, EditError):
        assert frames >= length or parts[0].in_seconds + RATE.seconds(frames) < 0
        return
    (trimmed,) = after.cues
    assert (trimmed.start_frames, trimmed.length_frames) == (12 + frames, length - frames)
    for seconds in times:
        before, now = (place_of_music(item.choice, item, seconds) for item in (cue, trimmed))
        if RATE.seconds(12 + max(0, frames) + 1) <= seconds < RATE.seconds(12 + length):
            assert now == before, "what still sounds has moved"
    if frames < 0:
        first = place_of_music(trimmed.choice, trimmed, RATE.seconds(12 + frames))
        assert first == parts[0].in_seconds + RATE.seconds(frames)


@given(COUNTS, PARTS, st.integers(1, 60), st.none() | st.fractions(0, 6))
def test_music_in_parts_keeps_its_head_when_the_cue_is_trimmed_at_its_tail(frames, parts, length, known):
    film, cue = with_parts(parts, length_frames=length)
    seconds = {} if known is None else {"0.wav": known}
    after = attempt(edits.trim_cue_tail, film, "m30", frames, sound_seconds=seconds)
    whole = sum(part.length_seconds for part in parts)
    filled = RATE.seconds(length - frames)
    end = parts[-1].in_seconds + parts[-1].length_seconds
    if isinstance(after, EditError):
        assert frames >= length or end + filled - whole > known
        return
    (trimmed,) = after.cues
    assert trimmed.length_frames == length - frames
    if frames >= 0 or whole >= filled:
        assert trimmed.choice == cue.choice
    else:
        assert trimmed.choice.parts[:-1] == parts[:-1]
        assert sum(part.length_seconds for part in trimmed.choice.parts) == filled
        assert trimmed.choice.parts[-1].in_seconds == parts[-1].in_seconds


def test_a_new_in_point_makes_music_in_parts_the_file_as_it_is():
    film, _ = with_parts((MusicPart(in_seconds=Fraction(1), length_seconds=Fraction(2)),), length_frames=24)
    edit = edits.edit_candidate(film, "s2", "m30", "a40", in_seconds=Fraction(3))
    assert edit.after.scene("s2").content.cues[0].choice == Candidate(
        id="a40", file="0.wav", in_seconds=Fraction(3)
    )
    parts = (MusicPart(in_seconds=Fraction(0), length_seconds=Fraction(1)),)
    edit = edits.edit_candidate(film, "s2", "m30", "a40", in_seconds=Fraction(3), parts=parts)
    assert edit.after.scene("s2").content.cues[0].choice.parts == parts


def test_cues_in_and_out():
    assert edits.next_cue_label(FILM) == "m2"
    film = done(edits.declare_no_music(FILM, "s2"))
    edit = edits.add_cue(film, "s2", -12, 60)
    assert edit.text == "Add cue m2 in scene 2"
    assert done(edit).scene("s2").content.no_music  # nothing sounds yet
    edit = edits.add_cue(film, "s2", -12, 60, file="music/rain.wav", gain_db=-9.0)
    content = done(edit).scene("s2").content
    (cue,) = content.cues
    assert (cue.id, cue.label, cue.start_frames, cue.length_frames) == ("m21", "m2", -12, 60)
    assert cue.choice == Candidate(id="a20", file="music/rain.wav", gain_db=-9.0)
    assert not content.no_music
    film = done(edit)
    assert edits.add_cue(film, "s1", 0, 5).text == "Add cue m3 in scene 1"
    edit = edits.move_cues(film, "s2", ["m21"], 20)
    assert (edit.text, done(edit).scene("s2").content.cues[0].start_frames) == ("Move cue m2 in scene 2", 8)
    edit = edits.edit_cue(film, "s2", "m21", label="fog", length_frames=90)
    assert edit.text == "Change the label and length of cue m2 in scene 2"
    assert done(edit).scene("s2").content.cues[0].length_frames == 90
    edit = edits.remove_cues(film, "s2", ["m21"])
    assert (edit.text, done(edit).scene("s2").content.cues) == ("Remove cue m2 in scene 2", ())


def test_music_that_is_tried():
    edit = edits.add_candidate(FILM, "s1", "m1", "music/rain.wav", rights=Rights(title="Rain"))
    assert edit.text == "Try “Rain” for cue m1 in scene 1"
    (cue,) = done(edit).scene("s1").content.cues
    assert [item.id for item in cue.candidates] == ["a1", "a2", "a20"]
    assert cue.chosen == "a1"
    film = done(edit)
    edit = edits.edit_candidate(
        film, "s1", "m1", "a20", in_seconds=Fraction(3, 2), gain_db=-6.0, fade_in_frames=12
    )
    assert edit.text == "Change the in point, gain and fade in of “Rain” in cue m1 in scene 1"
    changed = done(edit).scene("s1").content.cues[0].candidates[2]
    assert (changed.in_seconds, changed.gain_db, changed.fade_in_frames) == (Fraction(3, 2), -6.0, 12)
    edit = edits.remove_candidate(film, "s1", "m1", "a1")
    assert edit.text == "Take “tide.wav” off cue m1 in scene 1"
    (cue,) = done(edit).scene("s1").content.cues
    assert ([item.id for item in cue.candidates], cue.chosen) == (["a2", "a20"], "")
    (cue,) = done(edits.remove_candidate(film, "s1", "m1", "a20")).scene("s1").content.cues
    assert cue.chosen == "a1"


def test_what_is_refused_and_what_is_said():
    film, _ = with_spot(in_seconds=Fraction(1, 4), label="horn")
    with pytest.raises(EditError) as caught:
        edits.trim_spot_head(film, "s2", "f30", -8)
    assert str(caught.value) == (
        "There are 2 frames too few of sound before spot horn in scene 2. Extend it by 6 frames at most."
    )
    with pytest.raises(EditError) as caught:
        edits.trim_spot_tail(film, "s2", "f30", 24)
    assert str(caught.value) == (
        "Spot horn in scene 2 has 24 frames, so 24 can't be trimmed off. "
        "Trim 23 frames at most, or remove it."
    )
    for call in (edits.trim_spot_head, edits.trim_spot_tail):
        refused(call, FILM, "s1", "f9", 1, code="edit.unknown")
    for call in (edits.trim_cue_head, edits.trim_cue_tail):
        refused(call, FILM, "s1", "m9", 1, code="edit.unknown")
    for call in (edits.move_spots, edits.move_cues):
        refused(call, FILM, "s1", ["x"], 1, code="edit.unknown")
        refused(call, FILM, "s1", [], 1, code="edit.unknown")
    refused(edits.edit_spot, FILM, "s1", "f9", label="x", code="edit.unknown")
    refused(edits.edit_cue, FILM, "s1", "m9", label="x", code="edit.unknown")
    refused(edits.remove_spots, FILM, "s1", ["f9"], code="edit.unknown")
    refused(edits.remove_cues, FILM, "s1", ["m9"], code="edit.unknown")
    for call in (edits.edit_candidate, edits.remove_candidate):
        assert "Cue m1 in scene 1 has no candidate" in refused(
            call, FILM, "s1", "m1", "a9", code="edit.unknown"
        )
    refused(edits.add_spot, FILM, "s1", "", 0, 5, code="edit.value")
    refused(edits.add_spot, FILM, "s1", "a.wav", 0, 0, code="edit.value")
    refused(edits.add_cue, FILM, "s1", 0, 0, code="edit.value")
    refused(edits.add_candidate, FILM, "s1", "m1", "/a.wav", code="edit.value")
    refused(edits.move_spots, FILM, "s1", ["f1"], 10**9, code="edit.value")


@pytest.mark.parametrize(
    "call",
    [
        lambda film: edits.add_spot(film, "s1", "a.wav", 0, 5),
        lambda film: edits.edit_spot(film, "s1", "f1", label="x"),
        lambda film: edits.move_spots(film, "s1", ["f1"], 1),
        lambda film: edits.trim_spot_head(film, "s1", "f1", 1),
        lambda film: edits.trim_spot_tail(film, "s1", "f1", 1),
        lambda film: edits.remove_spots(film, "s1", ["f1"]),
        lambda film: edits.add_cue(film, "s1", 0, 5),
        lambda film: edits.edit_cue(film, "s1", "m1", label="x"),
        lambda film: edits.move_cues(film, "s1", ["m1"], 1),
        lambda film: edits.trim_cue_head(film, "s1", "m1", 1),
        lambda film: edits.trim_cue_tail(film, "s1", "m1", 1),
        lambda film: edits.remove_cues(film, "s1", ["m1"]),
        lambda film: edits.add_candidate(film, "s1", "m1", "a.wav"),
        lambda film: edits.edit_candidate(film, "s1", "m1", "a1", gain_db=1),
        lambda film: edits.remove_candidate(film, "s1", "m1", "a1"),
    ],
)
def test_a_locked_scene_refuses(call):
    assert "Scene 1 is locked" in refused(call, locked(FILM, "s1"), code="edit.locked")
