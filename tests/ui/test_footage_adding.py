"""Files become clips, spots and cues: where they belong, how long, and with which sound."""

import dataclasses
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from desk.errors import EditError
from desk.film.edits import lock, set_content
from desk.film.model import Clip, ClipSound, SceneContent, SoundKind
from desk.film.timing import clip_starts, content_frames
from desk.ui.cutting.footage.adding import (
    add_as_cue,
    add_as_spot,
    add_at,
    add_at_end,
    add_in_order,
    clips_of,
    new_ids,
)
from desk.ui.cutting.marks import Marked
from tests.film.films import facts, locked_media, small_film
from tests.ui.scene_parts import MISSING

ORDER = tuple(f"f/{number}.mov" for number in range(1, 7))
KNOWN = {path: facts(place + 1) for place, path in enumerate(ORDER)}


def film_with(*sources, **more):
    clips = tuple(
        Clip(id=f"c{60 + place}", source=source, length_frames=24) for place, source in enumerate(sources)
    )
    return set_content(small_film(), "s2", SceneContent(clips=clips, **more), "For the test").after


def sources(film):
    return [clip.source for clip in film.scene("s2").content.clips]


def names(*numbers):
    return [f"f/{number}.mov" for number in numbers]


@pytest.mark.parametrize(
    ("there", "added", "after"),
    [
        ((), (2, 1), (1, 2)),
        ((1, 3), (2,), (1, 2, 3)),
        ((2, 3), (1,), (1, 2, 3)),
        ((1, 2), (3,), (1, 2, 3)),
        ((3, 1), (2,), (3, 1, 2)),  # the maker's own order stays: after the nearest that was shot before
        ((1, 2, 1), (1,), (1, 2, 1, 1)),
        ((1, 6), (5, 3, 4, 2), (1, 2, 3, 4, 5, 6)),
    ],
)
def test_in_natural_order(there, added, after):
    film = film_with(*names(*there))
    edit = add_in_order(film, "s2", names(*added), KNOWN, order=ORDER)
    assert sources(edit.after) == names(*after)
    assert edit.before is film
    assert edit.inverse().after is film


def test_files_from_elsewhere_go_to_the_end():
    film = film_with(*names(1, 2))
    known = {**KNOWN, "x/0.mov": facts(1)}
    edit = add_in_order(film, "s2", ["x/0.mov", "f/3.mov"], known, order=ORDER)
    assert sources(edit.after) == ["f/1.mov", "f/2.mov", "f/3.mov", "x/0.mov"]
    assert edit.text == "Insert 2 clips in scene 2"


def test_after_the_last_clip():
    film = film_with(*names(2, 1))
    assert sources(add_at_end(film, "s2", names(4, 3), KNOWN).after) == names(2, 1, 4, 3)


@given(st.integers(0, 48), st.lists(st.sampled_from(ORDER), min_size=1, max_size=4))
def test_at_a_frame_the_first_begins_there_and_no_frame_is_lost(frame, added):
    film = film_with(*names(1, 2))
    after = add_at(film, "s2", added, KNOWN, frame=frame).after.scene("s2").content
    new = new_ids(film.scene("s2").content, after)
    assert [clip.source for clip in after.clips if clip.id in new] == added
    starts = dict(zip((clip.id for clip in after.clips), clip_starts(after), strict=True))
    assert starts[new[0]] == frame
    lengths = sum(clip.length_frames for clip in clips_of(film, added, KNOWN))
    assert content_frames(after) == 48 + lengths


@given(
    st.integers(0, 48),
    st.lists(st.sampled_from(ORDER), min_size=1, max_size=3, unique=True),
    st.dictionaries(
        st.sampled_from(ORDER),
        st.tuples(st.integers(0, 23), st.integers(1, 200)).map(lambda pair: Marked(pair[0], sum(pair))),
    ),
)
def test_what_is_marked_of_a_file_is_the_clip(frame, added, marks):
    """Files have 24 frames a second and 1 to 6 s; what is marked beyond the end is not there."""
    film = film_with(*names(1, 2))
    whole = {clip.source: clip.length_frames for clip in clips_of(film, ORDER, KNOWN)}
    after = add_at(film, "s2", added, KNOWN, frame=frame, marks=marks).after.scene("s2").content
    new = new_ids(film.scene("s2").content, after)
    made = [clip for clip in after.clips if clip.id in new]
    assert [clip.source for clip in made] == added
    for clip in made:
        all_of_it = Marked(0, whole[clip.source])
        marked = marks.get(clip.source, all_of_it)
        if marked.first >= all_of_it.end:
            marked = all_of_it
        assert clip.in_seconds == Fraction(marked.first, 24)
        assert clip.length_frames == min(marked.end, whole[clip.source]) - marked.first
    assert content_frames(after) == 48 + sum(clip.length_frames for clip in made)


def test_parts_of_one_file_come_in_the_order_in_which_they_begin():
    film = film_with()
    for first in (20, 4, 30, 12):
        marks = {"f/3.mov": Marked(first, first + 5)}
        film = add_in_order(film, "s2", ["f/3.mov"], KNOWN, order=ORDER, marks=marks).after
    clips = film.scene("s2").content.clips
    assert [clip.in_seconds * 24 for clip in clips] == [4, 12, 20, 30]
    film = add_in_order(film, "s2", names(2, 4), KNOWN, order=ORDER).after
    assert sources(film) == names(2, 3, 3, 3, 3, 4)


def test_a_clip_is_the_whole_file_at_the_films_rate():
    """24 frames a second: 4.2 s are 100.8 frames, and the last is shown too."""
    known = {"a.mov": facts(Fraction("4.2")), "mute.mov": facts(1, sound=None)}
    whole, mute = clips_of(small_film(), known, known)
    assert (whole.in_seconds, whole.length_frames, whole.sound.kind) == (0, 101, SoundKind.OWN)
    assert mute.sound.kind is SoundKind.SILENCE


def test_a_separate_recording_that_is_known_goes_with_its_footage():
    sound = ClipSound(
        kind=SoundKind.SEPARATE, file="f/r.wav", offset_seconds=Fraction(7, 3), gain_db=6, lead_frames=2
    )
    film = film_with("f/1.mov")
    clips = (dataclasses.replace(film.scene("s2").content.clips[0], sound=sound),)
    film = set_content(film, "s2", SceneContent(clips=clips), "For the test").after
    (new,) = clips_of(film, ["f/1.mov"], KNOWN)
    assert new.sound == ClipSound(kind=SoundKind.SEPARATE, file="f/r.wav", offset_seconds=Fraction(7, 3)), (
        "its offset, and not its gain or lead"
    )


def test_spots_and_cues_have_the_length_of_their_sound():
    film = small_film()
    known = {"s/gulls far.wav": facts(None, sound=Fraction("2.01"))}
    spot = add_as_spot(film, "s2", "s/gulls far.wav", known, frame=5).after.scene("s2").content.spots[0]
    assert (spot.label, spot.start_frames, spot.length_frames) == ("gulls far", 5, 49)
    cue = add_as_cue(film, "s2", "s/gulls far.wav", known, frame=7).after.scene("s2").content.cues[0]
    assert (cue.label, cue.start_frames, cue.length_frames) == ("m2", 7, 49)
    assert cue.choice.file == "s/gulls far.wav"


@pytest.mark.parametrize(
    ("known", "words"),
    [
        ({}, "“1.mov” is being looked at. Wait a moment"),
        ({"f/1.mov": MISSING}, "“1.mov” can't be used. It is missing. Connect its disk"),
        ({"f/1.mov": facts(None)}, "“1.mov” has no picture. Use it as a spot"),
    ],
)
def test_what_makes_no_clip_is_refused(known, words):
    with pytest.raises(EditError) as told:
        add_at_end(small_film(), "s2", ["f/1.mov"], known)
    assert words in str(told.value)


def test_a_file_without_sound_makes_no_spot():
    with pytest.raises(EditError, match="has no sound"):
        add_as_spot(small_film(), "s2", "a.mov", {"a.mov": facts(sound=None)}, frame=0)


@pytest.mark.parametrize("make", [add_at_end, add_in_order, add_at])
def test_a_locked_scene_refuses(make):
    film = small_film()
    film = lock(film, "s2", "2026-03-01", locked_media(film.scene("s2").content), "for the test").after
    more = {"add_in_order": {"order": ORDER}, "add_at": {"frame": 0}}.get(make.__name__, {})
    with pytest.raises(EditError, match="locked"):
        make(film, "s2", ["f/1.mov"], KNOWN, **more)
