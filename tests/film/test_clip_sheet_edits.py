"""What a clip's sheet holds: source, speed, framing, look and note, by the rule that clips show frames by."""

import dataclasses
import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from desk.errors import EditError
from desk.film import edits
from desk.film.model import Clip, Fit, Framing, SceneContent
from desk.film.rates import FILM_RATES, Rate
from tests.film.cutting import (
    begun_after,
    content_of,
    drafts,
    footage_frames,
    frames_of,
    made,
    sounds_of,
    starts_of,
)
from tests.film.editing import FILM, camera_film, done, locked, refused

SPEEDS = st.sampled_from(
    [Fraction(1, 4), Fraction(24, 25), Fraction(1), Fraction(3, 2), Fraction(4), Fraction(7, 3)]
)


@given(drafts(), SPEEDS, st.none() | st.fractions(0, 30), st.data())
def test_another_speed_shows_the_same_stretch_of_footage(film, speed, seconds, data):
    """All frames that begin within the stretch, from the same in point; nothing outside of it."""
    content, rate = content_of(film), film.rate
    index = data.draw(st.integers(0, len(content.clips) - 1))
    clip, start = content.clips[index], starts_of(content)[index]
    known = {} if seconds is None else {clip.source: clip.in_seconds + seconds}
    after = made(edits.set_speed, film, clip.id, speed, source_seconds=known)
    assert isinstance(after, SceneContent)
    new = after.clips[index]
    before, end = frames_of(content, rate), start + clip.length_frames
    step = speed / rate.fraction
    stretch = clip.length_frames * clip.speed / rate.fraction
    held = (
        footage_frames(film, clip.source, known[clip.source], clip.in_seconds, clip.speed) if known else 500
    )
    if held >= clip.length_frames and known:
        stretch = min(stretch, known[clip.source] - clip.in_seconds)
    assert (new.length_frames - 1) * step < stretch <= new.length_frames * step or new.length_frames == 1
    assert (
        frames_of(after, rate)
        == before[:start]
        + [(clip.source, clip.in_seconds + frame * step) for frame in range(new.length_frames)]
        + before[end:]
    )
    longer = new.length_frames - clip.length_frames
    assert sounds_of(after) == begun_after(sounds_of(content), end + min(0, longer), longer)
    assert dataclasses.replace(new, speed=clip.speed, length_frames=clip.length_frames) == clip


@given(drafts(), SPEEDS, st.none() | st.fractions(0, 30), st.data())
def test_another_speed_at_the_same_length(film, speed, seconds, data):
    content, rate = content_of(film), film.rate
    index = data.draw(st.integers(0, len(content.clips) - 1))
    clip = content.clips[index]
    known = {} if seconds is None else {clip.source: clip.in_seconds + seconds}
    after = made(edits.set_speed, film, clip.id, speed, keep_footage=False, source_seconds=known)

    def held(of_speed: Fraction) -> int:
        if not known:
            return clip.length_frames
        return min(
            clip.length_frames,
            footage_frames(film, clip.source, known[clip.source], clip.in_seconds, of_speed),
        )

    if isinstance(after, EditError):
        assert after.code == "edit.footage"
        assert held(speed) < held(clip.speed)
        few = clip.length_frames - held(speed)
        assert f"{few} frame{'s' * (few > 1)} too short" in after.message
        return
    assert held(speed) >= held(clip.speed)
    clips = list(content.clips)
    clips[index] = dataclasses.replace(clip, speed=speed)
    assert after == dataclasses.replace(content, clips=tuple(clips))
    assert len(frames_of(after, rate)) == len(frames_of(content, rate))


@given(
    st.sampled_from(FILM_RATES),
    st.sampled_from(
        [Rate(24), Rate(25), Rate(50), Rate(60000, 1001), Rate(100), Rate(120), Rate(240000, 1001)]
    ),
    st.fractions(0, 10),
    st.integers(1, 60),
)
def test_every_frame_shows_each_source_frame_once(film_rate, source_rate, in_seconds, length):
    """The source frame on screen is the one that began last: floor(time · source rate)."""
    film = dataclasses.replace(FILM, rate=film_rate)
    clip = Clip(id="c30", source="a.mov", in_seconds=in_seconds, length_frames=length)
    film = done(edits.set_content(film, "s2", SceneContent(clips=(clip,)), "x"))
    edit = edits.show_every_frame(film, "s2", "c30", source_rate)
    assert edit.text == "Show every frame in clip 1 in scene 2"
    (made_clip,) = done(edit).scene("s2").content.clips
    shown = [
        math.floor((in_seconds + frame * made_clip.speed / film_rate.fraction) * source_rate.fraction)
        for frame in range(made_clip.length_frames)
    ]
    assert shown == list(range(shown[0], shown[0] + len(shown)))


def test_every_frame_speeds():
    assert edits.every_frame_speed(Rate(120), Rate(24)) == Fraction(1, 5)
    assert edits.every_frame_speed(Rate(60000, 1001), Rate(24000, 1001)) == Fraction(2, 5)
    assert edits.every_frame_speed(Rate(24), Rate(25)) == Fraction(25, 24)


def test_reverse_is_refused_with_a_reason():
    message = refused(edits.set_speed, FILM, "s1", "c1", Fraction(-1), code="edit.reverse")
    assert message == (
        "Clip 1 in scene 1 can't run backwards: pictures and sound are read forwards from the in point on."
    )
    assert "stand still" in refused(edits.set_speed, FILM, "s1", "c1", Fraction(0), code="edit.value")
    assert "1/100 to 100" in refused(edits.set_speed, FILM, "s1", "c1", Fraction(101), code="edit.value")


def test_speeds_by_hand():
    # 48 frames at half the speed take 96; the horn at frame 10 lies inside and stays.
    content = done(edits.set_speed(FILM, "s1", "c1", Fraction(1, 2))).scene("s1").content
    assert [clip.length_frames for clip in content.clips] == [96, 72]
    assert content.spots[0].start_frames == 10
    known = {"footage/1/quay.mov": Fraction(4)}  # 2 s from the in point
    call = edits.set_speed
    options = {"keep_footage": False, "source_seconds": known}
    assert refused(call, FILM, "s1", "c1", Fraction(2), code="edit.footage", **options) == (
        "The footage of clip 1 in scene 1 is 24 frames too short for that speed."
    )
    assert (
        done(call(FILM, "s1", "c1", Fraction(2), source_seconds=known))
        .scene("s1")
        .content.clips[0]
        .length_frames
        == 24
    )


def test_a_last_frame_that_ends_after_its_footage_does_not_become_several_without_any():
    clip = Clip(id="c30", source="a.mov", length_frames=1)
    film = done(edits.set_content(FILM, "s2", SceneContent(clips=(clip,)), "x"))
    # Half a frame of footage, at a quarter of the speed: two frames begin within it, not four.
    known = {"a.mov": Fraction(1, 48)}
    edit = edits.set_speed(film, "s2", "c30", Fraction(1, 4), source_seconds=known)
    assert done(edit).scene("s2").content.clips[0].length_frames == 2


def test_replacing_a_source_keeps_place_and_length():
    edit = edits.replace_source(FILM, "s1", "c2", "footage/1/take 2.mov", in_seconds=Fraction(5))
    assert edit.text == "Replace the source of clip 2 in scene 1"
    old, new = FILM.scene("s1").content.clips[1], done(edit).scene("s1").content.clips[1]
    assert new == dataclasses.replace(old, source="footage/1/take 2.mov", in_seconds=Fraction(5))
    kept = done(edits.replace_source(FILM, "s1", "c2", "b.mov")).scene("s1").content.clips[1]
    assert kept == dataclasses.replace(old, source="b.mov")


@pytest.mark.parametrize(
    ("seconds", "told", "advice"),
    [
        # 72 frames from second 1 on, at 24 a second: up to second 4.
        (3, "24 frames too short", "Trim the clip to 48 frames first, or begin earlier in it."),
        (2, "48 frames too short", "Trim the clip to 24 frames first."),
        (1, "72 frames too short", "Choose longer footage."),
    ],
)
def test_footage_that_is_too_short_is_refused(seconds, told, advice):
    with pytest.raises(EditError) as caught:
        edits.replace_source(FILM, "s1", "c2", "b.mov", source_seconds={"b.mov": Fraction(seconds)})
    assert told in caught.value.message
    assert (caught.value.advice, caught.value.code) == (advice, "edit.footage")


def test_framing_look_and_note_of_one_or_several():
    framing = Framing(fit=Fit.FILL, scale=1.5, x=0.1)
    film = camera_film()
    edit = edits.edit_clips(film, "s1", ["c2", "c1"], framing=framing, camera="l1")
    assert edit.text == "Change the framing and camera look of 2 clips in scene 1"
    clips = done(edit).scene("s1").content.clips
    assert [(clip.framing, clip.camera, clip.note) for clip in clips] == [(framing, "l1", "")] * 2
    edit = edits.edit_clips(film, "s1", ["c2"], note="soft")
    assert edit.text == "Change the note of clip 2 in scene 1"
    assert [clip.note for clip in done(edit).scene("s1").content.clips] == ["", "soft"]
    refused(edits.edit_clips, FILM, "s1", ["c1"], camera="l1", code="edit.value")
    refused(edits.edit_clips, FILM, "s1", ["c1"], framing=Framing(scale=0), code="edit.value")
    refused(edits.edit_clips, FILM, "s1", [], note="x", code="edit.unknown")


@pytest.mark.parametrize(
    "call",
    [
        lambda film: edits.edit_clips(film, "s1", ["c1"], note="x"),
        lambda film: edits.replace_source(film, "s1", "c1", "b.mov"),
        lambda film: edits.set_speed(film, "s1", "c1", Fraction(2)),
        lambda film: edits.show_every_frame(film, "s1", "c1", Rate(50)),
    ],
)
def test_a_locked_scene_refuses(call):
    assert "Scene 1 is locked" in refused(call, locked(FILM, "s1"), code="edit.locked")
