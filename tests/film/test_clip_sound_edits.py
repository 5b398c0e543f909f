"""A clip's own sound: its fields, and its edges, which move while picture and sound stay in step."""

import dataclasses
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from desk.errors import EditError
from desk.film import edits
from desk.film.model import Clip, ClipSound, SceneContent, SoundKind
from tests.film.cutting import content_of, drafts, frames_of, made, voices_of
from tests.film.editing import FILM, done, locked, refused

FRAMES = st.sampled_from([-60, -12, -2, -1, 0, 1, 3, 17, 80])


def sound_places(film, clip, frames: range) -> list[Fraction]:
    """Places in the file that so many frames from a clip's head sound at."""
    shift = clip.sound.offset_seconds if clip.sound.kind is SoundKind.SEPARATE else 0
    return [clip.in_seconds + shift + frame * clip.speed / film.rate.fraction for frame in frames]


@given(drafts(), FRAMES, st.data())
def test_the_head_of_a_sound_moves_alone(film, frames, data):
    content, rate = content_of(film), film.rate
    index = data.draw(st.integers(0, len(content.clips) - 1))
    clip = content.clips[index]
    lead = clip.sound.lead_frames
    after = made(edits.drag_sound_head, film, clip.id, frames)
    if isinstance(after, EditError):
        silent = clip.sound.kind is SoundKind.SILENCE
        assert (after.code == "edit.silent") == silent
        if after.code == "edit.sound":
            assert frames > lead
        if after.code == "edit.footage":
            assert sound_places(film, clip, range(-lead + frames, 0))[0] < 0
        return
    assert after.clips[index].sound == dataclasses.replace(clip.sound, lead_frames=lead - frames)
    assert frames_of(after, rate) == frames_of(content, rate)
    gone, come = voices_of(content, rate), voices_of(after, rate)
    gone, come = gone - come, come - gone
    # Every frame between the old edge and the new one, once.
    assert (gone.total(), come.total()) == (0, -frames) if frames < 0 else come.total() == 0
    assert gone.total() <= max(0, frames)


@given(drafts(), FRAMES, st.none() | st.fractions(0, 20), st.data())
def test_the_tail_of_a_sound_moves_alone(film, frames, seconds, data):
    content, rate = content_of(film), film.rate
    index = data.draw(st.integers(0, len(content.clips) - 1))
    clip = content.clips[index]
    lag = clip.sound.lag_frames
    file = clip.sound.file if clip.sound.kind is SoundKind.SEPARATE else clip.source
    known = {} if seconds is None else {file: seconds}
    after = made(edits.drag_sound_tail, film, clip.id, frames, sound_seconds=known)
    if isinstance(after, EditError):
        assert (after.code == "edit.silent") == (clip.sound.kind is SoundKind.SILENCE)
        if after.code == "edit.sound":
            assert -frames > lag
        if after.code == "edit.footage":
            end = clip.length_frames + lag + frames
            assert sound_places(film, clip, range(end, end + 1))[0] > known[file]
        return
    assert after.clips[index].sound == dataclasses.replace(clip.sound, lag_frames=lag + frames)
    assert frames_of(after, rate) == frames_of(content, rate)
    gone, come = voices_of(content, rate), voices_of(after, rate)
    assert (gone - come).total() <= max(0, -frames)
    assert (come - gone).total() <= max(0, frames)
    if known and frames > 0:
        end = clip.length_frames + lag + frames
        assert sound_places(film, clip, range(end, end + 1))[0] <= known[file]


def with_sound(**sound) -> object:
    clip = Clip(id="c30", source="a.mov", in_seconds=Fraction(1), length_frames=40, sound=ClipSound(**sound))
    return done(edits.set_content(FILM, "s2", SceneContent(clips=(clip,)), "x"))


def sound_after(edit) -> ClipSound:
    return done(edit).scene("s2").content.clips[0].sound


def test_edges_by_hand():
    film = with_sound(lead_frames=6, lag_frames=4)
    edit = edits.drag_sound_head(film, "s2", "c30", -18)
    assert edit.text == "Move the head of the sound of clip 1 in scene 2"
    assert sound_after(edit).lead_frames == 24  # a second before the picture: the source's second 0
    assert sound_after(edits.drag_sound_head(film, "s2", "c30", 6)).lead_frames == 0
    assert sound_after(edits.drag_sound_tail(film, "s2", "c30", -4)).lag_frames == 0
    edit = edits.drag_sound_tail(film, "s2", "c30", 9)
    assert (edit.text, sound_after(edit).lag_frames) == (
        "Move the tail of the sound of clip 1 in scene 2",
        13,
    )


def refusal(call, film, frames, code, **known) -> tuple[str, str]:
    with pytest.raises(EditError) as caught:
        call(film, "s2", "c30", frames, **known)
    assert caught.value.code == code
    return caught.value.message, caught.value.advice


def test_what_is_refused_and_what_is_said():
    film = with_sound(lead_frames=6)
    assert refusal(edits.drag_sound_head, film, -20, "edit.footage") == (
        "There are 2 frames too few of sound before clip 1 in scene 2.",
        "Move it by 18 frames at most.",
    )
    assert refusal(edits.drag_sound_head, film, 7, "edit.sound") == (
        "The sound of clip 1 in scene 2 can't begin after its picture.",
        "Move it by 6 frames at most, or fade it in.",
    )
    assert refusal(edits.drag_sound_tail, film, -1, "edit.sound") == (
        "The sound of clip 1 in scene 2 can't end before its picture.",
        "They meet already; fade it out instead.",
    )
    # 1 s and 40 frames are used of 3 s: 8 frames are left.
    known = {"sound_seconds": {"a.mov": Fraction(3)}}
    assert (
        refusal(edits.drag_sound_tail, film, 9, "edit.footage", **known)[1] == "Move it by 8 frames at most."
    )
    silent = with_sound(kind=SoundKind.SILENCE)
    for call in (edits.drag_sound_head, edits.drag_sound_tail):
        assert "is silent" in refusal(call, silent, 1, "edit.silent")[0]


def test_a_separate_recording_has_its_own_room():
    film = with_sound(kind=SoundKind.SEPARATE, file="v.wav", offset_seconds=Fraction(-1, 2))
    # Second 1 of the source is half a second into the recording: 12 frames.
    assert refusal(edits.drag_sound_head, film, -13, "edit.footage")[1] == "Move it by 12 frames at most."
    known = {"sound_seconds": {"v.wav": Fraction(13, 6) + Fraction(1, 24)}}
    assert (
        refusal(edits.drag_sound_tail, film, 2, "edit.footage", **known)[1] == "Move it by 1 frame at most."
    )


def test_fields_of_one_or_several():
    edit = edits.edit_clip_sound(FILM, "s1", ["c1", "c2"], gain_db=-4.5, fade_in_frames=6)
    assert edit.text == "Change the gain and fade in of 2 clips in scene 1"
    sounds = [clip.sound for clip in done(edit).scene("s1").content.clips]
    assert sounds == [ClipSound(gain_db=-4.5, fade_in_frames=6)] * 2
    edit = edits.edit_clip_sound(FILM, "s1", ["c2"], kind=SoundKind.SILENCE)
    assert edit.text == "Change the sound of clip 2 in scene 1"
    edit = edits.edit_clip_sound(FILM, "s1", ["c1"], lead_frames=3, lag_frames=5)
    assert done(edit).scene("s1").content.clips[0].sound == ClipSound(lead_frames=3, lag_frames=5)


def test_a_fade_is_not_longer_than_what_sounds():
    edit = edits.edit_clip_sound(FILM, "s1", ["c1"], lead_frames=2, fade_out_frames=50)
    assert done(edit).scene("s1").content.clips[0].sound.fade_out_frames == 50
    message = refused(edits.edit_clip_sound, FILM, "s1", ["c1"], fade_in_frames=49, code="edit.length")
    assert message == "A fade in of 49 frames is longer than the sound of clip 1 in scene 1."


def test_values_that_are_not_allowed():
    for fields in (
        {"gain_db": 25},
        {"gain_db": float("nan")},
        {"lead_frames": -1},
        {"kind": SoundKind.SEPARATE},
        {"file": "/v.wav"},
        {"offset_seconds": Fraction(100_000)},
    ):
        refused(edits.edit_clip_sound, FILM, "s1", ["c1"], code="edit.value", **fields)


def test_laying_a_recording():
    edit = edits.lay_recording(FILM, "s1", "c2", "sound/take 2.wav", Fraction(12345, 48000))
    assert edit.text == "Lay “take 2.wav” under clip 2 in scene 1"
    sound = done(edit).scene("s1").content.clips[1].sound
    assert sound == ClipSound(
        kind=SoundKind.SEPARATE, file="sound/take 2.wav", offset_seconds=Fraction(12345, 48000)
    )
    refused(edits.lay_recording, FILM, "s1", "c2", "", Fraction(0), code="edit.value")


@pytest.mark.parametrize(
    "call",
    [
        lambda film: edits.edit_clip_sound(film, "s1", ["c1"], gain_db=-1),
        lambda film: edits.lay_recording(film, "s1", "c1", "a.wav", Fraction(0)),
        lambda film: edits.drag_sound_head(film, "s1", "c1", -1),
        lambda film: edits.drag_sound_tail(film, "s1", "c1", 1),
    ],
)
def test_a_locked_scene_refuses(call):
    assert "Scene 1 is locked" in refused(call, locked(FILM, "s1"), code="edit.locked")
