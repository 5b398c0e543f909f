"""Edits of what is in a scene, of its locks, and of where its files are."""

import dataclasses
from fractions import Fraction

import pytest

from desk.errors import EditError
from desk.film import edits
from desk.film.edits import Change, ChangeKind
from desk.film.fingerprint import fingerprint
from desk.film.model import (
    CUT,
    Clip,
    ClipSound,
    SceneContent,
    SoundKind,
)
from tests.film.editing import DAY, FILM, camera_film, done, locked, ready, refused
from tests.film.films import locked_media

# What is in a scene


def test_setting_the_content():
    content = SceneContent(clips=(Clip(id="c30", source="footage/2/b.mov", length_frames=9),))
    edit = edits.set_content(FILM, "s2", content, "Replace the clip")
    assert (edit.text, edit.change) == ("Replace the clip", Change(ChangeKind.CONTENT, ("s2",)))
    after = done(edit)
    assert after.scene("s2").content == content
    assert after.next_id == 31
    short = dataclasses.replace(content, clips=(dataclasses.replace(content.clips[0], length_frames=0),))
    assert "clip 1 in scene 2" in refused(edits.set_content, FILM, "s2", short, "x", code="edit.value")
    stolen = dataclasses.replace(content, clips=(dataclasses.replace(content.clips[0], id="c1"),))
    assert "scene 1" in refused(edits.set_content, FILM, "s2", stolen, "x", code="edit.value")


def test_a_locked_scene_refuses_to_be_changed_and_says_what_to_do():
    film = locked(FILM, "s1")
    content = film.scene("s1").content
    for call in (
        lambda: edits.set_content(film, "s1", content, "x"),
        lambda: edits.set_grade_note(film, "s1", "cold"),
        lambda: edits.declare_no_music(film, "s1", False),
        lambda: edits.set_voices_levelled(film, "s1"),
        lambda: edits.choose_candidate(film, "s1", "m1", "a2"),
        lambda: edits.bring_back(film, "s1", 1),
    ):
        with pytest.raises(EditError, match=r"Scene 1 is locked.* Unlock it first") as caught:
            call()
        assert caught.value.code == "edit.locked"


def test_a_locked_scene_may_be_moved_named_joined_and_set_aside():
    film = locked(FILM, "s1")
    content = film.scene("s1").content
    for edit in (
        edits.move(film, ["s1"], 0),
        edits.set_aside(film, ["s1"]),
        edits.renumber(film, "s1", "9"),
        edits.edit_story(film, "s1", slugline="EXT. QUAY - DAY", tension=5),
        edits.set_join(film, "s1", CUT),
        edits.add_proof(film, "s1", DAY),
    ):
        after = done(edit)
        assert after.scene("s1").content == content
        assert after.scene("s1").lock == film.scene("s1").lock


def test_small_changes_of_content():
    assert (
        done(edits.set_grade_note(FILM, "s1", "cold mornings")).scene("s1").content.grade_note
        == "cold mornings"
    )
    after = done(edits.set_voices_levelled(FILM, "s1"))
    assert after.scene("s1").content.voices_levelled
    assert not done(edits.set_voices_levelled(after, "s1", False)).scene("s1").content.voices_levelled
    after = done(edits.declare_no_music(FILM, "s2"))
    assert after.scene("s2").content.no_music
    assert not done(edits.declare_no_music(after, "s2", False)).scene("s2").content.no_music
    assert "cue m1" in refused(edits.declare_no_music, FILM, "s1", code="edit.music")


def test_choosing_music():
    edit = edits.choose_candidate(FILM, "s1", "m1", "a2")
    assert edit.text == "Choose the music of cue m1 in scene 1"
    assert done(edit).scene("s1").content.cues[0].chosen == "a2"
    after = done(edits.choose_candidate(FILM, "s1", "m1", ""))
    assert after.scene("s1").content.cues[0].choice is None
    silent = done(edits.declare_no_music(after, "s1"))
    assert not done(edits.choose_candidate(silent, "s1", "m1", "a1")).scene("s1").content.no_music
    refused(edits.choose_candidate, FILM, "s1", "m9", "a1", code="edit.unknown")
    refused(edits.choose_candidate, FILM, "s1", "m1", "a9", code="edit.unknown")


def test_proofs_remember_what_was_seen():
    after = done(edits.add_proof(FILM, "s1", DAY, "Ida", "The horn is late."))
    (proof,) = after.scene("s1").proofs
    assert (proof.by, proof.remark) == ("Ida", "The horn is late.")
    assert proof.content == fingerprint(FILM.scene("s1").content)
    refused(edits.add_proof, FILM, "s1", "yesterday", code="edit.value")


def test_a_scene_without_clips_has_nothing_to_proof():
    message = refused(edits.add_proof, FILM, "s3", DAY, code="edit.nothing-to-proof")
    assert message == "Scene 3 has no clips yet, so there is nothing to watch."


# Locks


def test_locking_what_is_ready():
    film = ready(FILM, "s1")
    media = locked_media(film.scene("s1").content)
    edit = edits.lock(film, "s1", DAY, media, "not needed")
    assert edit.text == "Lock scene 1"
    lock = done(edit).scene("s1").lock
    assert lock is not None
    assert (lock.version, lock.date, lock.reason) == (1, DAY, "")
    assert lock.content == fingerprint(film.scene("s1").content)
    assert [item.path for item in lock.media] == [
        "footage/1/quay.mov",
        "footage/1/kiosk.mov",
        "music/tide.wav",
        "effects/horn.wav",
    ]
    assert (
        refused(edits.lock, edit.after, "s1", DAY, media, code="edit.locked") == "Scene 1 is locked already."
    )
    refused(edits.lock, film, "s1", "soon", media, code="edit.value")


def test_locking_what_is_not_ready_wants_a_reason():
    media = locked_media(FILM.scene("s2").content)
    with pytest.raises(EditError) as caught:
        edits.lock(FILM, "s2", DAY, media, "  ")
    assert caught.value.code == "edit.not-ready"
    assert caught.value.message == (
        "Scene 2 is not ready to be locked: its voices are not called level; it has no music, and is not "
        "declared to have none; it has no grade note; it has no proof since its last change, and 1 is needed."
    )
    assert len(caught.value.detail.splitlines()) == 4
    lock = done(edits.lock(FILM, "s2", DAY, media, "festival deadline")).scene("s2").lock
    assert lock is not None
    assert lock.reason == "festival deadline"


def test_a_missing_file_keeps_a_scene_from_being_locked():
    film = ready(FILM, "s2")
    assert "footage/2/ticket.mov" in refused(edits.lock, film, "s2", DAY, (), code="edit.not-ready")
    lock = done(edits.lock(film, "s2", DAY, (), "the disk is away")).scene("s2").lock
    assert lock is not None
    assert lock.media == ()


def test_a_change_after_the_proof_asks_for_another():
    film = done(edits.set_grade_note(ready(FILM, "s2"), "s2", "colder"))
    media = locked_media(film.scene("s2").content)
    refused(edits.lock, film, "s2", DAY, media, code="edit.not-ready")
    back = done(edits.set_grade_note(film, "s2", "plain"))
    assert done(edits.lock(back, "s2", DAY, media)).scene("s2").lock


def test_unlocking_keeps_the_locked_version_and_it_can_be_brought_back():
    film = locked(FILM, "s1")
    first = film.scene("s1").content
    film = done(edits.unlock(film, "s1", "2026-03-02", "the horn is late"))
    scene = film.scene("s1")
    assert scene.lock is None
    assert (scene.history[0].content, scene.history[0].reason) == (first, "the horn is late")
    film = done(
        edits.set_content(film, "s1", dataclasses.replace(first, clips=first.clips[:1]), "Drop the kiosk")
    )
    film = locked(film, "s1")
    assert film.scene("s1").lock is not None
    assert film.scene("s1").lock.version == 2
    film = done(edits.unlock(film, "s1", "2026-03-04"))
    edit = edits.bring_back(film, "s1", 1)
    assert edit.text == "Bring back version 1 of scene 1"
    scene = done(edit).scene("s1")
    assert (scene.content, scene.lock, len(scene.history)) == (first, None, 2)
    assert "no locked version 3" in refused(edits.bring_back, film, "s1", 3, code="edit.unknown")
    refused(edits.bring_back, FILM, "s1", 1, code="edit.unknown")
    refused(edits.unlock, FILM, "s1", DAY, code="edit.not-locked")
    refused(edits.unlock, locked(FILM, "s1"), "s1", "x", code="edit.value")


def test_a_version_comes_back_without_looks_that_are_gone_and_under_free_ids():
    film = done(edits.unlock(locked(camera_film(), "s2"), "s2", DAY))
    (clip,) = film.scene("s2").content.clips
    film = done(edits.set_content(film, "s2", SceneContent(), "Empty it"))
    film = done(edits.edit_film(film, camera_looks=()))
    moved = dataclasses.replace(clip, camera="")
    film = done(edits.set_content(film, "s4", SceneContent(clips=(moved,)), "Move the clip here"))
    after = done(edits.bring_back(film, "s2", 1))
    (back,) = after.scene("s2").content.clips
    assert back.camera == ""
    assert back.id != clip.id
    assert dataclasses.replace(back, id=clip.id) == moved


# Moved files


def test_relinking_in_every_place():
    content = SceneContent(
        clips=(
            Clip(
                id="c3",
                source="a.mov",
                length_frames=1,
                sound=ClipSound(kind=SoundKind.SEPARATE, file="a.mov", offset_seconds=Fraction(1, 3)),
            ),
        )
    )
    film = done(edits.set_content(FILM, "s2", content, "x"))
    film = done(edits.edit_story(film, "s3", reference_picture="a.mov"))
    film = done(edits.edit_card(film, "k1", picture="a.mov"))
    edit = edits.relink(film, "a.mov", "moved/a.mov")
    after = done(edit)
    assert edit.change == Change(ChangeKind.MEDIA, ("s2", "s3", "k1"))
    clip = after.scene("s2").content.clips[0]
    assert (clip.source, clip.sound.file) == ("moved/a.mov", "moved/a.mov")
    assert after.scene("s3").reference_picture == "moved/a.mov"
    assert after.cards[0].picture == "moved/a.mov"
    assert after.scene("s1") is film.scene("s1")
    assert done(edits.relink(after, "moved/a.mov", "a.mov")) == film


def test_relinking_several_files_at_once():
    moves = {"music/tide.wav": "m/1.wav", "music/fog.wav": "m/2.wav", "effects/horn.wav": "music/tide.wav"}
    edit = edits.relink_all(FILM, moves)
    assert edit.text == "Relink 3 files"
    content = done(edit).scene("s1").content
    assert [item.file for item in content.cues[0].candidates] == ["m/1.wav", "m/2.wav"]
    assert content.spots[0].file == "music/tide.wav"


def test_relinking_keeps_locks_proofs_and_history():
    film = done(edits.unlock(locked(ready(FILM, "s2"), "s2"), "s2", DAY))
    film = locked(film, "s2")
    scene = done(edits.relink(film, "footage/2/ticket.mov", "../disk/ticket.mov")).scene("s2")
    assert scene.lock is not None
    now = fingerprint(scene.content)
    assert scene.lock.content == scene.proofs[0].content == scene.history[0].lock.content == now
    assert scene.history[0].content == scene.content
    assert [item.path for item in scene.lock.media] == ["../disk/ticket.mov"]


def test_relinking_does_not_mend_a_broken_lock():
    film = locked(FILM, "s2")
    scene = film.scene("s2")
    changed = dataclasses.replace(scene.content, grade_note="edited in the file")
    others = tuple(item for item in film.scenes if item.id != "s2")
    broken = dataclasses.replace(film, scenes=(dataclasses.replace(scene, content=changed), *others))
    after = done(edits.relink(broken, "footage/2/ticket.mov", "b.mov")).scene("s2")
    assert after.lock is not None
    assert after.lock.content == scene.lock.content != fingerprint(after.content)


def test_what_can_not_be_relinked():
    refused(edits.relink, FILM, "nowhere.mov", "a.mov", code="edit.unknown")
    for new in ("", "/abs.mov", "http://example.org/a.mov", "pipe:0"):
        refused(edits.relink, FILM, "music/tide.wav", new, code="edit.value")


def test_all_edits_are_in_one_place():
    assert sorted(edits.__all__) == list(edits.__all__)
    assert all(hasattr(edits, name) for name in edits.__all__)
