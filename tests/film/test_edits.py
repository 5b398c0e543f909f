"""Edits of the running order, its scenes and cards, and the film: what each makes and what it refuses."""

import dataclasses
from fractions import Fraction

import pytest

from desk.film import edits
from desk.film.edits import Change, ChangeKind, IdMaker
from desk.film.faults import faults
from desk.film.model import (
    CUT,
    CameraLook,
    Card,
    Clip,
    Delivery,
    Film,
    Join,
    JoinKind,
    Motion,
    Person,
    ReviewCopy,
    SceneContent,
    Size,
)
from desk.film.rates import Rate
from desk.film.timecode import format_label
from tests.film.editing import DAY, FILM, camera_film, done, locked, order, refused

# Running order


@pytest.mark.parametrize(
    ("ids", "to_index", "after"),
    [
        (["s1"], 0, "s1 k1 s2 s4 k2"),
        (["s1"], 1, "k1 s1 s2 s4 k2"),
        (["s1"], 4, "k1 s2 s4 k2 s1"),
        (["k2"], 0, "k2 k1 s1 s2 s4"),
        (["s4", "s1"], 0, "s1 s4 k1 s2 k2"),
        (["s4", "k1"], 1, "s1 k1 s4 s2 k2"),
        (["k1", "s1", "s2", "s4", "k2"], 0, "k1 s1 s2 s4 k2"),
    ],
)
def test_moving(ids, to_index, after):
    edit = edits.move(FILM, ids, to_index)
    assert order(done(edit)) == after
    assert edit.change.kind is ChangeKind.MOVED
    assert set(edit.change.entries) == set(ids)


def test_a_join_goes_with_its_entry():
    after = done(edits.move(FILM, ["s1"], 4))
    assert after.order[4].join.kind is JoinKind.DISSOLVE
    assert after.order[0].join == CUT


def test_moving_to_where_it_is_changes_nothing():
    assert edits.move(FILM, ["s1"], 1).changes_nothing
    assert not edits.move(FILM, ["s1"], 2).changes_nothing


def test_what_can_not_be_moved():
    assert "s9" in refused(edits.move, FILM, ["s9"], 0, code="edit.unknown")
    assert refused(edits.move, FILM, ["s3"], 0, code="edit.aside") == "Scene 3 is set aside."
    refused(edits.move, FILM, [], 0, code="edit.unknown")
    for place in (-1, 5):
        refused(edits.move, FILM, ["s1"], place, code="edit.place")


def test_setting_aside_and_putting_back():
    edit = edits.set_aside(FILM, ["s1"], "slows the start")
    assert edit.text == "Set aside scene 1"
    assert edit.change == Change(ChangeKind.SET_ASIDE, ("s1",))
    assert edit.inverse().change.kind is ChangeKind.PUT_BACK
    after = done(edit)
    assert order(after) == "k1 s2 s4 k2"
    assert after.aside[-1].reason == "slows the start"
    assert after.scenes == FILM.scenes
    back = done(edits.put_back(after, ["s1"]))
    assert back.order == FILM.order
    assert back.aside == FILM.aside


@pytest.mark.parametrize("first", ["s1", "s2", "s4"])
@pytest.mark.parametrize("second", ["s1", "s2", "s4"])
@pytest.mark.parametrize("back_first", ["s1", "s2", "s4"])
def test_entries_come_back_to_their_places_in_whatever_order(first, second, back_first):
    film = FILM
    for entry_id in dict.fromkeys((first, second, back_first)):
        film = done(edits.set_aside(film, [entry_id]))
    gone = [aside.entry for aside in film.aside if aside.entry != "s3"]
    for entry_id in sorted(gone, key=lambda item: item != back_first):
        film = done(edits.put_back(film, [entry_id]))
    assert film.order == FILM.order


def test_putting_back_goes_to_the_nearest_earlier_neighbour_that_is_there():
    film = done(edits.set_aside(FILM, ["s1", "s2"]))
    film = done(edits.move(film, ["k1"], 2))
    assert order(film) == "s4 k2 k1"
    assert order(done(edits.put_back(film, ["s2"]))) == "s4 k2 k1 s2"
    film = done(edits.delete_entry(film, "k1"))
    assert order(done(edits.put_back(film, ["s2", "s1"]))) == "s1 s2 s4 k2"


def test_putting_back_at_a_place():
    film = done(edits.set_aside(FILM, ["s1"]))
    after = done(edits.put_back_at(film, "s1", 4))
    assert order(after) == "k1 s2 s4 k2 s1"
    assert after.order[4].join == FILM.order[1].join
    refused(edits.put_back_at, film, "s1", 5, code="edit.place")
    refused(edits.put_back_at, film, "s2", 0, code="edit.not-aside")
    refused(edits.put_back, film, ["s2"], code="edit.not-aside")
    refused(edits.put_back, film, [], code="edit.unknown")


def test_the_full_order_shows_what_is_aside_in_its_place():
    assert edits.full_order(FILM) == ("k1", "s1", "s2", "s3", "s4", "k2")


def test_setting_the_join():
    join = Join(kind=JoinKind.THROUGH_BLACK, before_frames=5, after_frames=7)
    edit = edits.set_join(FILM, "s2", join)
    assert edit.text == "Change the join after scene 2"
    assert done(edit).order[2].join == join
    bad = Join(kind=JoinKind.DISSOLVE)
    assert "1 frame or more" in refused(edits.set_join, FILM, "s2", bad, code="edit.value")
    refused(edits.set_join, FILM, "s3", join, code="edit.aside")


# Scenes and cards as entries


def test_inserting_a_scene():
    edit = edits.insert_scene(FILM, 3, slugline="INT. STORE - DAY", tension=2)
    after = done(edit)
    (scene_id,) = edit.change.entries
    assert order(after) == f"k1 s1 s2 {scene_id} s4 k2"
    assert after.scene(scene_id).number == "2A"
    assert after.scene(scene_id).slugline == "INT. STORE - DAY"
    assert edit.text == "Insert scene 2A"
    assert edit.inverse().change.kind is ChangeKind.DELETED


@pytest.mark.parametrize(("index", "number"), [(0, "A1"), (1, "A1"), (2, "1A"), (4, "5"), (5, "5")])
def test_the_number_of_an_inserted_scene(index, number):
    edit = edits.insert_scene(FILM, index)
    assert done(edit).scene(edit.change.entries[0]).number == number


def test_a_scene_needs_a_number_of_its_own_and_a_place():
    told = refused(edits.insert_scene, FILM, 0, "3", code="edit.number")
    assert told == "There is a scene 3 already (EXT. FERRY - DAY)."
    assert done(edits.insert_scene(FILM, 0, " 9 ")).scenes[-1].number == "9"
    refused(edits.insert_scene, FILM, 6, code="edit.place")
    refused(edits.insert_scene, FILM, -1, code="edit.place")
    refused(edits.insert_scene, FILM, 0, "a b", code="edit.value")
    refused(edits.insert_scene, FILM, 0, tension=9, code="edit.value")


def test_a_scene_comes_with_content_under_ids_of_its_own():
    ids = IdMaker(FILM)
    content = SceneContent(clips=(Clip(id=ids.new("c"), source="a.mov", length_frames=9),))
    after = done(edits.insert_scene(FILM, 0, content=content))
    assert after.next_id > ids.next_id - 1
    assert IdMaker(after).new("c") not in [clip.id for clip in content.clips]
    taken = SceneContent(clips=(Clip(id="c1", source="a.mov", length_frames=9),))
    assert "scene 1" in refused(edits.insert_scene, FILM, 0, content=taken, code="edit.value")


def test_ids_are_never_dealt_out_twice():
    film = FILM
    seen = set()
    for _ in range(3):
        edit = edits.insert_scene(film, 0)
        seen.add(edit.change.entries[0])
        film = done(edits.delete_entry(done(edit), edit.change.entries[0]))
    assert len(seen) == 3
    behind = dataclasses.replace(FILM, next_id=1)  # as in a file edited by hand
    assert IdMaker(behind).new("s") == "s5"
    assert done(edits.insert_scene(behind, 0)).scenes[-1].id == "s5"


def test_inserting_and_editing_a_card():
    edit = edits.insert_card(FILM, 5, name="Thanks", lines=("With thanks to the harbour",))
    (card_id,) = edit.change.entries
    after = done(edit)
    assert order(after).endswith(f"k2 {card_id}")
    after = done(edits.edit_card(after, card_id, motion=Motion.ROLL, roll_px=4, ink="#ffffff"))
    card = after.entry(card_id)
    assert isinstance(card, Card)
    assert (card.name, card.motion, card.roll_px, card.ink) == ("Thanks", Motion.ROLL, 4, "#ffffff")
    refused(edits.edit_card, after, card_id, roll_px=0, code="edit.value")
    refused(edits.edit_card, after, "s1", name="x", code="edit.unknown")
    refused(edits.insert_card, FILM, 9, code="edit.place")


def test_duplicating_a_scene():
    film = locked(FILM, "s1")
    edit = edits.duplicate_scene(film, "s1")
    after = done(edit)
    (copy_id,) = edit.change.entries
    copy, scene = after.scene(copy_id), after.scene("s1")
    assert order(after) == f"k1 s1 {copy_id} s2 s4 k2"
    assert (copy.number, copy.lock, copy.proofs, copy.history) == ("1A", None, (), ())
    assert (copy.slugline, copy.purpose) == (scene.slugline, scene.purpose)
    assert [clip.source for clip in copy.content.clips] == [clip.source for clip in scene.content.clips]
    assert copy.content.cues[0].choice is not None
    assert copy.content.cues[0].choice.file == "music/tide.wav"
    assert scene.lock is not None


def test_duplicating_the_last_scene_and_one_that_is_aside():
    assert done(edits.duplicate_scene(FILM, "s4")).scenes[-1].number == "4A"
    edit = edits.duplicate_scene(FILM, "s3")
    after = done(edit)
    assert after.scenes[-1].number == "3A"
    assert [aside.entry for aside in after.aside] == ["s3", *edit.change.entries]
    assert edits.full_order(after) == ("k1", "s1", "s2", "s3", *edit.change.entries, "s4", "k2")
    refused(edits.duplicate_scene, FILM, "s1", "4", code="edit.number")
    refused(edits.duplicate_scene, FILM, "k1", code="edit.unknown")


def test_deleting():
    after = done(edits.delete_entry(FILM, "s2"))
    assert order(after) == "k1 s1 s4 k2"
    assert [scene.id for scene in after.scenes] == ["s1", "s3", "s4"]
    assert after.aside[0].after == ("s1", "k1")
    after = done(edits.delete_entry(after, "s3"))
    assert after.aside == ()
    assert done(edits.delete_entry(after, "k1")).cards == FILM.cards[1:]
    assert "locked" in refused(edits.delete_entry, locked(FILM, "s1"), "s1", code="edit.locked")


def test_renumbering():
    edit = edits.renumber(FILM, "s1", "1X")
    assert edit.text == "Renumber scene 1 as 1X"
    assert done(edit).scene("s1").number == "1X"
    refused(edits.renumber, FILM, "s1", "2", code="edit.number")
    refused(edits.renumber, FILM, "s1", "", code="edit.value")
    film = done(edits.renumber(FILM, "s1", "1a"))
    refused(edits.renumber, film, "s2", "1A", code="edit.number")


def test_the_story_of_a_scene():
    edit = edits.edit_story(FILM, "s1", purpose="She sees the ticket.", tension=None)
    assert edit.text == "Change the purpose and tension of scene 1"
    scene = done(edit).scene("s1")
    assert (scene.purpose, scene.tension, scene.slugline) == (
        "She sees the ticket.",
        None,
        "EXT. QUAY - DAWN",
    )
    assert edits.edit_story(FILM, "s1", planned_frames=240).after.scene("s1").planned_frames == 240
    told = refused(edits.edit_story, FILM, "s1", tension=7, code="edit.value")
    assert told == "The tension of scene 1 must be 0 (light) to 5 (dread), not 7."
    refused(edits.edit_story, FILM, "k1", purpose="x", code="edit.unknown")


def test_marking_footage():
    edit = edits.mark_footage(FILM, "footage/1/kiosk.mov", Fraction(3, 2), Fraction(4))
    assert edit.text == "Mark a part of “kiosk.mov”"
    film = done(edit)
    assert edit.inverse().after == FILM
    assert edits.mark_footage(film, "footage/1/kiosk.mov", Fraction(3, 2), Fraction(4)).changes_nothing
    again = done(edits.mark_footage(film, "footage/1/kiosk.mov", Fraction(0), Fraction(1)))
    assert [(mark.in_seconds, mark.out_seconds) for mark in again.footage_marks] == [(0, 1)]
    (moved,) = done(edits.relink(film, "footage/1/kiosk.mov", "moved/kiosk.mov")).footage_marks
    assert (moved.source, moved.in_seconds) == ("moved/kiosk.mov", Fraction(3, 2))
    assert done(edits.clear_footage_mark(film, "footage/1/kiosk.mov")) == FILM
    assert edits.clear_footage_mark(FILM, "footage/1/kiosk.mov").changes_nothing
    told = refused(edits.mark_footage, FILM, "a.mov", Fraction(2), Fraction(2), code="edit.value")
    assert told == "The end of what is marked of “a.mov” must come after its start."
    refused(edits.mark_footage, FILM, "/a.mov", Fraction(0), Fraction(2), code="edit.value")
    refused(edits.mark_footage, FILM, "a.mov", Fraction(-1), Fraction(2), code="edit.value")
    told = refused(edits.mark_footage, FILM, "a.mov", Fraction(0), Fraction(10**6), code="edit.value")
    assert told.startswith("The out point of what is marked of “a.mov” must be 0 to 86,400 s")
    twice = dataclasses.replace(film, footage_marks=film.footage_marks * 2)
    assert [fault.place for fault in faults(twice)] == ["footage_marks"]


def test_listing_footage_from_elsewhere():
    edit = edits.list_footage(FILM, "s1", ["../disk/x.mov", "../disk/y.mov", "../disk/x.mov"])
    assert edit.text == "List 2 files with scene 1"
    film = done(edit)
    assert film.scene("s1").more_footage == ("../disk/x.mov", "../disk/y.mov")
    assert edit.inverse().after == FILM
    assert done(edits.relink(film, "../disk/x.mov", "moved/x.mov")).scene("s1").more_footage == (
        "moved/x.mov",
        "../disk/y.mov",
    )
    edit = edits.list_footage(film, "s1", ["../disk/y.mov"])
    assert edit.text == "Take 1 file off the list of scene 1"
    told = refused(edits.list_footage, FILM, "s1", ["http://x/y.mov"], code="edit.value")
    assert "address" in told
    refused(edits.list_footage, FILM, "s9", [], code="edit.unknown")


# The film


def test_the_film_itself():
    people = (Person(name="Ida Holm", roles=("Camera", "Edit")),)
    after = done(
        edits.edit_film(FILM, title="The Last Ferry", people=people, delivery=Delivery(proofs_needed=2))
    )
    assert (after.title, after.people, after.delivery.proofs_needed) == ("The Last Ferry", people, 2)
    assert done(edits.edit_film(FILM, size=Size(2048, 858))).size == Size(2048, 858)
    refused(edits.edit_film, FILM, size=Size(2048, 857), code="edit.value")
    refused(edits.edit_film, FILM, delivery=Delivery(proofs_needed=-1), code="edit.value")
    refused(edits.edit_film, FILM, drop_frame=True, code="edit.value")
    assert done(edits.edit_film(FILM, footage="../cards")).footage == "../cards"
    refused(edits.edit_film, FILM, footage="/media/cards", code="edit.value")


def test_the_rate_is_fixed_once_there_are_clips():
    told = refused(edits.edit_film, FILM, rate=Rate(25), code="edit.rate")
    assert "25" in told
    assert "24" in told


def test_a_new_rate_keeps_seconds_and_labels():
    film = done(edits.insert_scene(Film(title="", rate=Rate(24), size=Size(64, 64), start_frames=86400), 0))
    film = done(edits.edit_story(film, "s1", planned_frames=240))
    film = done(edits.insert_card(film, 1, length_frames=1))
    film = done(edits.set_join(film, "s1", Join(kind=JoinKind.DISSOLVE, before_frames=12, after_frames=1)))
    film = done(edits.set_fades(film, 24, 0))
    after = done(edits.edit_film(film, rate=Rate(60000, 1001)))
    assert after.start_frames == 216000
    assert after.scenes[0].planned_frames == 599  # 10 s at 59.94
    assert after.cards[0].length_frames == 2  # 1/24 s
    assert (after.order[0].join.before_frames, after.order[0].join.after_frames) == (30, 2)
    assert (after.fade_in_frames, after.fade_out_frames) == (60, 0)
    back = done(edits.edit_film(after, rate=Rate(24)))
    assert back.order[0].join.length_frames == 13
    slow = done(
        edits.edit_film(
            done(edits.edit_card(film, film.cards[0].id, length_frames=1)), rate=Rate(24000, 1001)
        )
    )
    assert slow.cards[0].length_frames == 1
    refused(edits.edit_film, film, rate=Rate(23), code="edit.value")


def test_drop_frame_keeps_the_label_of_the_start():
    film = Film(title="", rate=Rate(30000, 1001), size=Size(64, 64), start_frames=108000)
    after = done(edits.edit_film(film, drop_frame=True))
    assert after.start_frames == 107892
    assert format_label(after.start_frames, after.rate, drop_frame=True) == "01:00:00;00"
    assert done(edits.edit_film(after, drop_frame=False)) == film
    assert done(edits.edit_film(after, rate=Rate(25))).drop_frame is False
    minute = dataclasses.replace(film, start_frames=1800)  # 00:01:00:00, which drop-frame leaves out
    after = done(edits.edit_film(minute, drop_frame=True))
    assert format_label(after.start_frames, after.rate, drop_frame=True) == "00:01:00;02"


def test_fades():
    after = done(edits.set_fades(FILM, 24, 48))
    assert (after.fade_in_frames, after.fade_out_frames) == (24, 48)
    refused(edits.set_fades, FILM, -1, 0, code="edit.value")


def test_review_copies_have_rising_numbers():
    copy = ReviewCopy(number=1, date=DAY, file="review/a.mp4", frames=100)
    film = done(edits.add_review_copy(FILM, copy))
    refused(edits.add_review_copy, film, copy, code="edit.value")
    film = done(edits.add_review_copy(film, dataclasses.replace(copy, number=2)))
    assert [item.number for item in film.review_copies] == [1, 2]
    refused(edits.add_review_copy, FILM, dataclasses.replace(copy, file="/tmp/a.mp4"), code="edit.value")


def test_camera_looks():
    film = camera_film()
    assert "scene 2" in refused(edits.edit_film, film, camera_looks=(), code="edit.camera-used")
    warm = dataclasses.replace(film.camera_looks[0].grade, saturation=1.2)
    look = dataclasses.replace(film.camera_looks[0], grade=warm)
    assert done(edits.edit_film(film, camera_looks=(look,))).camera_looks == (look,)
    refused(edits.edit_film, locked(film, "s2"), camera_looks=(look,), code="edit.locked")
    renamed = dataclasses.replace(film.camera_looks[0], name="Phone")
    assert done(edits.edit_film(locked(film, "s2"), camera_looks=(renamed,))).camera_looks == (renamed,)
    refused(edits.edit_film, film, camera_looks=(look, look), code="edit.value")
    refused(edits.edit_film, FILM, camera_looks=(CameraLook(id="c1", name="A"),), code="edit.value")
