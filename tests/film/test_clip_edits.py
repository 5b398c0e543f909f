"""Clips in, out, cut in two, moved, copied, and black between them: frame by frame, as each rule has it."""

import dataclasses
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from desk.errors import EditError
from desk.film import edits
from desk.film.change_list import change_list
from desk.film.edits import CopiedClips
from desk.film.model import Clip, ClipSound, SceneContent
from tests.film.cutting import (
    begun_after,
    content_of,
    drafts,
    frames_of,
    made,
    sounds_of,
    starts_of,
    voices_of,
)
from tests.film.editing import FILM, camera_film, done, locked, refused


def new_clips(data) -> list[Clip]:
    """Clips to put in; their ids do not count, so they may be any."""
    lengths = data.draw(st.lists(st.integers(1, 30), min_size=1, max_size=3))
    return [
        Clip(id="c0_0", source=f"new{index}.mov", in_seconds=Fraction(index, 7), length_frames=length)
        for index, length in enumerate(lengths)
    ]


def names(content: SceneContent) -> list[str]:
    return [clip.id for clip in content.clips]


@given(drafts(), st.data())
def test_inserting_between_clips_adds_its_frames_and_moves_the_rest(film, data):
    content, rate, new = content_of(film), film.rate, new_clips(data)
    index = data.draw(st.integers(0, len(content.clips)))
    after = made(edits.insert_clips, film, new, index)
    assert isinstance(after, SceneContent)
    before = frames_of(content, rate)
    at = sum(clip.gap_frames + clip.length_frames for clip in content.clips[:index])
    added = frames_of(SceneContent(clips=tuple(new)), rate)
    assert frames_of(after, rate) == before[:at] + added + before[at:]
    assert sounds_of(after) == begun_after(sounds_of(content), at, len(added))
    assert [name for name in names(after) if name in names(content)] == names(content)
    assert len(set(names(after))) == len(content.clips) + len(new)


@given(drafts(), st.data())
def test_inserting_at_a_frame_adds_its_frames_there(film, data):
    """Anywhere: at a cut, within a clip or within black, which then lies on both sides."""
    content, rate, new = content_of(film), film.rate, new_clips(data)
    before = frames_of(content, rate)
    at = data.draw(st.integers(0, len(before)))
    after = made(edits.insert_clips_at, film, new, at)
    assert isinstance(after, SceneContent)
    added = frames_of(SceneContent(clips=tuple(new)), rate)
    assert frames_of(after, rate) == before[:at] + added + before[at:]
    assert sounds_of(after) == begun_after(sounds_of(content), at, len(added))
    outside = made(edits.insert_clips_at, film, new, len(before) + 1)
    assert isinstance(outside, EditError)
    assert outside.code == "edit.place"


@given(drafts(), st.data())
def test_a_split_changes_neither_picture_nor_sound(film, data):
    content, rate = content_of(film), film.rate
    before = frames_of(content, rate)
    at = data.draw(st.integers(-1, len(before)))
    after = made(edits.split, film, at)
    starts = starts_of(content)
    inside = [
        index
        for index, (clip, start) in enumerate(zip(content.clips, starts, strict=True))
        if start < at < start + clip.length_frames
    ]
    if isinstance(after, EditError):
        assert (after.code, inside) == ("edit.place", [])
        return
    (index,) = inside
    assert frames_of(after, rate) == before
    assert voices_of(after, rate) == voices_of(content, rate)
    assert dataclasses.replace(after, clips=content.clips) == content
    old, first, second = content.clips[index], *after.clips[index : index + 2]
    assert (first.id, starts_of(after)[index + 1]) == (old.id, at)
    kept = ("source", "speed", "framing", "camera", "note")
    assert all(getattr(old, name) == getattr(half, name) for name in kept for half in (first, second))
    sounds = (first.sound, second.sound)
    assert [sound.lead_frames for sound in sounds] == [old.sound.lead_frames, 0]
    assert [sound.lag_frames for sound in sounds] == [0, old.sound.lag_frames]
    assert [sound.fade_out_frames for sound in sounds[:1]] == [0]
    assert [sound.fade_in_frames for sound in sounds[1:]] == [0]
    assert first.sound.fade_in_frames == min(
        old.sound.fade_in_frames, old.sound.lead_frames + first.length_frames
    )


@given(drafts(), st.data())
def test_moving_clips_moves_their_frames_whole(film, data):
    content, rate = content_of(film), film.rate
    moving = data.draw(st.lists(st.sampled_from(names(content)), min_size=1, max_size=3, unique=True))
    rest = [name for name in names(content) if name not in moving]
    place = data.draw(st.integers(0, len(rest)))
    after = made(edits.move_clips, film, moving, place)
    assert isinstance(after, SceneContent)
    block = [name for name in names(content) if name in moving]
    assert names(after) == rest[:place] + block + rest[place:]
    assert sorted(after.clips, key=lambda clip: clip.id) == sorted(content.clips, key=lambda clip: clip.id)
    assert len(frames_of(after, rate)) == len(frames_of(content, rate))
    assert dataclasses.replace(after, clips=content.clips) == content


@given(drafts(), st.booleans(), st.data())
def test_removing_takes_out_what_the_clips_showed(film, close, data):
    content, rate = content_of(film), film.rate
    gone = data.draw(st.lists(st.sampled_from(names(content)), min_size=1, max_size=5, unique=True))
    after = made(edits.remove_clips, film, gone, close=close)
    assert isinstance(after, SceneContent)
    shown = frames_of(content, rate)
    places = sounds_of(content)
    starts = starts_of(content)
    for clip, start in reversed(list(zip(content.clips, starts, strict=True))):
        if clip.id not in gone:
            continue
        first, end = start - clip.gap_frames, start + clip.length_frames
        if close:
            del shown[first:end]
            places = begun_after(places, first, first - end)
        else:
            shown[start:end] = [None] * clip.length_frames
    if not close:
        # There is no black after the last clip.
        while shown and shown[-1] is None:
            shown.pop()
    assert frames_of(after, rate) == shown
    assert sounds_of(after) == places
    assert names(after) == [name for name in names(content) if name not in gone]
    if not close:
        starts_left = {clip.id: start for clip, start in zip(content.clips, starts, strict=True)}
        assert all(
            starts_left[name] == start for name, start in zip(names(after), starts_of(after), strict=True)
        )


@given(drafts(), st.integers(0, 60), st.data())
def test_a_gap_grows_and_closes(film, frames, data):
    content, rate = content_of(film), film.rate
    index = data.draw(st.integers(0, len(content.clips) - 1))
    clip, start = content.clips[index], starts_of(content)[index]
    after = made(edits.set_gap, film, clip.id, frames)
    assert isinstance(after, SceneContent)
    shown, first = frames_of(content, rate), start - clip.gap_frames
    assert frames_of(after, rate) == shown[:first] + [None] * frames + shown[start:]
    longer = frames - clip.gap_frames
    assert sounds_of(after) == begun_after(sounds_of(content), min(start, first + frames), longer)


@given(drafts(), st.data())
def test_what_is_copied_is_shown_where_it_is_pasted(film, data):
    """Into the other scene, which has clips of its own: same frames and sound, new ids, looks that exist."""
    chosen = data.draw(st.lists(st.sampled_from(names(content_of(film))), min_size=1, max_size=4))
    copied = edits.copy_clips(film, "s0", chosen)
    assert [clip.id for clip in copied.clips] == [name for name in names(content_of(film)) if name in chosen]
    added = frames_of(SceneContent(clips=copied.clips), film.rate)
    assert len(added) == copied.length_frames
    assert added[0] is not None
    without = data.draw(st.booleans())
    if without:
        film = dataclasses.replace(
            film,
            camera_looks=(),
            scenes=tuple(
                dataclasses.replace(scene, content=dataclasses.replace(scene.content, clips=()))
                for scene in film.scenes
            ),
        )
    target = film.scene("s1").content
    before = frames_of(target, film.rate)
    if data.draw(st.booleans()):
        at = data.draw(st.integers(0, len(before)))
        edit = edits.paste_clips_at(film, "s1", copied, at)
    else:
        index = data.draw(st.integers(0, len(target.clips)))
        at = sum(clip.gap_frames + clip.length_frames for clip in target.clips[:index])
        edit = edits.paste_clips(film, "s1", copied, index)
    after = done(edit)
    assert after.scene("s0") == film.scene("s0")
    pasted = after.scene("s1").content
    assert frames_of(pasted, film.rate) == before[:at] + added + before[at:]
    assert sounds_of(pasted) == begun_after(sounds_of(target), at, len(added))
    if without:
        assert {clip.camera for clip in pasted.clips} == {""}
    old = set(names(target))
    looks = [clip.camera for clip in pasted.clips if clip.id not in old]
    if not without and len(looks) == len(copied.clips):
        assert looks == [clip.camera for clip in copied.clips]


# By hand: clips of 48 and 72 frames, m1 from frame 0, a horn at frame 10.


def clips_after(edit, scene_id="s1") -> list[tuple[int, str, int]]:
    content = done(edit).scene(scene_id).content
    return [(clip.gap_frames, clip.id, clip.length_frames) for clip in content.clips]


NEW = Clip(id="", source="new.mov", length_frames=10)


def test_by_hand():
    assert clips_after(edits.split(FILM, "s1", 20)) == [(0, "c1", 20), (0, "c20", 28), (0, "c2", 72)]
    assert clips_after(edits.insert_clips(FILM, "s1", [NEW], 1)) == [
        (0, "c1", 48),
        (0, "c20", 10),
        (0, "c2", 72),
    ]
    assert clips_after(edits.insert_clips_at(FILM, "s1", [NEW, NEW], 20)) == [
        (0, "c1", 20),
        (0, "c21", 10),
        (0, "c22", 10),
        (0, "c20", 28),
        (0, "c2", 72),
    ]
    assert clips_after(edits.remove_clips(FILM, "s1", ["c1"])) == [(0, "c2", 72)]
    assert clips_after(edits.remove_clips(FILM, "s1", ["c1"], close=False)) == [(48, "c2", 72)]
    assert clips_after(edits.remove_clips(FILM, "s1", ["c2"], close=False)) == [(0, "c1", 48)]
    assert clips_after(edits.remove_clips(FILM, "s1", ["c2", "c1"], close=False)) == []
    assert clips_after(edits.move_clips(FILM, "s1", ["c1"], 1)) == [(0, "c2", 72), (0, "c1", 48)]
    gap = done(edits.remove_clips(FILM, "s1", ["c1"], close=False))
    assert clips_after(edits.insert_clips_at(gap, "s1", [NEW], 40)) == [(40, "c20", 10), (8, "c2", 72)]
    assert clips_after(edits.set_gap(gap, "s1", "c2", 0)) == [(0, "c2", 72)]
    assert clips_after(edits.insert_clips(FILM, "s3", [NEW], 0), "s3") == [(0, "c20", 10)]


def test_ids_that_were_used_once_are_not_used_again():
    """Not even those of a clip that is only in an earlier version, or that was made by the edit before."""
    film = done(edits.split(FILM, "s1", 20))
    film = done(edits.remove_clips(film, "s1", ["c20"]))
    assert clips_after(edits.split(film, "s1", 5))[1] == (0, "c21", 15)


def test_a_split_keeps_sound_without_a_seam_and_fades_at_the_outer_ends():
    sound = ClipSound(gain_db=-3, lead_frames=4, lag_frames=6, fade_in_frames=30, fade_out_frames=12)
    clip = Clip(id="c30", source="a.mov", in_seconds=Fraction(1), length_frames=40, sound=sound, note="soft")
    film = done(edits.set_content(FILM, "s2", SceneContent(clips=(clip,)), "x"))
    first, second = done(edits.split(film, "s2", 10)).scene("s2").content.clips
    assert first.sound == dataclasses.replace(sound, lag_frames=0, fade_in_frames=14, fade_out_frames=0)
    assert second.sound == dataclasses.replace(sound, lead_frames=0, fade_in_frames=0)
    assert (second.in_seconds, second.note) == (1 + Fraction(10, 24), "soft")


def test_black_comes_along_in_a_copy_only_between_clips_that_were_copied():
    film = done(edits.set_gap(done(edits.set_gap(FILM, "s1", "c1", 3)), "s1", "c2", 5))
    assert [clip.gap_frames for clip in edits.copy_clips(film, "s1", ["c2", "c1"]).clips] == [0, 5]
    assert [clip.gap_frames for clip in edits.copy_clips(film, "s1", ["c2"]).clips] == [0]


def test_a_camera_look_is_kept_where_it_exists():
    film = camera_film()
    copied = edits.copy_clips(film, "s2", ["c3"])
    (first, pasted, _) = done(edits.paste_clips(film, "s1", copied, 1)).scene("s1").content.clips
    assert (first.camera, pasted.camera) == ("", "l1")
    assert done(edits.paste_clips(FILM, "s1", copied, 2)).scene("s1").content.clips[2].camera == ""


def test_what_is_pasted_twice_has_other_ids():
    copied = edits.copy_clips(FILM, "s1", ["c1", "c2"])
    film = done(edits.paste_clips(FILM, "s1", copied, 2))
    film = done(edits.paste_clips(film, "s4", copied, 0))
    assert names(film.scene("s1").content) == ["c1", "c2", "c20", "c21"]
    assert names(film.scene("s4").content) == ["c22", "c23", "c4"]


def test_names_for_the_undo_menu():
    copied = edits.copy_clips(FILM, "s1", ["c1"])
    told = [
        edits.insert_clips(FILM, "s1", [NEW], 0).text,
        edits.insert_clips_at(FILM, "s1", [NEW, NEW], 5).text,
        edits.paste_clips(FILM, "s2", copied, 0).text,
        edits.split(FILM, "s1", 50).text,
        edits.move_clips(FILM, "s1", ["c2"], 0).text,
        edits.move_clips(FILM, "s1", ["c2", "c1"], 0).text,
        edits.remove_clips(FILM, "s1", ["c2"]).text,
        edits.remove_clips(FILM, "s1", ["c2"], close=False).text,
        edits.set_gap(FILM, "s1", "c2", 4).text,
        edits.set_gap(FILM, "s1", "c2", 0).text,
    ]
    assert told == [
        "Insert 1 clip in scene 1",
        "Insert 2 clips in scene 1",
        "Paste 1 clip in scene 2",
        "Split clip 2 in scene 1",
        "Move clip 2 in scene 1",
        "Move 2 clips in scene 1",
        "Remove clip 2 in scene 1",
        "Remove clip 2 in scene 1 and leave black",
        "Change the black before clip 2 in scene 1",
        "Close the gap before clip 2 in scene 1",
    ]


def test_the_change_list_tells_of_black():
    before = FILM.scene("s1").content
    after = done(edits.remove_clips(FILM, "s1", ["c1"], close=False)).scene("s1").content
    assert change_list(before, after, FILM.rate) == (
        "Clip 1: removed",
        "Clip 1: black before it 0 → 48 frames",
    )
    back = change_list(after, dataclasses.replace(after, clips=before.clips[1:]), FILM.rate)
    assert back == ("Length 0:05:00 → 0:03:00, 48 frames shorter", "Clip 1: black before it 48 → 0 frames")


def test_what_is_refused():
    assert refused(edits.split, FILM, "s1", 48, code="edit.place") == (
        "There is nothing to split: clip 2 in scene 1 begins with frame 48 already."
    )
    gap = done(edits.set_gap(FILM, "s1", "c2", 4))
    assert "frame 50 of scene 1 is black" in refused(edits.split, gap, "s1", 50, code="edit.place")
    assert "it is 120 frames long" in refused(edits.split, FILM, "s1", 120, code="edit.place")
    refused(edits.split, FILM, "s1", -1, code="edit.place")
    refused(edits.insert_clips, FILM, "s1", [], 0, code="edit.unknown")
    refused(edits.insert_clips, FILM, "s1", [NEW], 3, code="edit.place")
    refused(edits.insert_clips_at, FILM, "s1", [NEW], 121, code="edit.place")
    refused(edits.move_clips, FILM, "s1", ["c1"], 2, code="edit.place")
    refused(edits.move_clips, FILM, "s1", [], 0, code="edit.unknown")
    refused(edits.remove_clips, FILM, "s1", ["c1", "c3"], code="edit.unknown")
    refused(edits.copy_clips, FILM, "s1", ["c3"], code="edit.unknown")
    refused(edits.copy_clips, FILM, "s1", [], code="edit.unknown")
    refused(edits.set_gap, FILM, "s1", "c1", -1, code="edit.value")
    for wrong in ({"length_frames": 0}, {"source": "/a.mov"}, {"gap_frames": -3}, {"camera": "l9"}):
        clip = dataclasses.replace(NEW, **wrong)
        refused(edits.insert_clips, FILM, "s1", [clip], 1, code="edit.value")


@pytest.mark.parametrize(
    "call",
    [
        lambda film: edits.insert_clips(film, "s1", [NEW], 0),
        lambda film: edits.insert_clips_at(film, "s1", [NEW], 0),
        lambda film: edits.paste_clips(film, "s1", CopiedClips((NEW,)), 0),
        lambda film: edits.paste_clips_at(film, "s1", CopiedClips((NEW,)), 0),
        lambda film: edits.split(film, "s1", 5),
        lambda film: edits.move_clips(film, "s1", ["c2"], 0),
        lambda film: edits.remove_clips(film, "s1", ["c2"]),
        lambda film: edits.set_gap(film, "s1", "c2", 3),
    ],
)
def test_a_locked_scene_refuses(call):
    film = locked(FILM, "s1")
    assert "Scene 1 is locked" in refused(call, film, code="edit.locked")
    assert edits.copy_clips(film, "s1", ["c1"]).clips[0].id == "c1"
