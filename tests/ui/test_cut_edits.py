"""Every edit of a cut by key: it is the pure edit, it can be taken back, and it says what it can't do."""

import dataclasses
import os
import subprocess
import sys
from collections import Counter
from fractions import Fraction
from random import Random

import pytest
from PySide6.QtCore import QMimeData
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QWidget

from desk.errors import EditError
from desk.film import edits
from desk.film.faults import faults
from desk.film.model import SoundKind
from desk.film.rates import Rate
from desk.film.timing import content_frames
from desk.ui.cutting.cut import Loop
from desk.ui.cutting.keys.copying import CLIPS_TYPE, clips_of_clipboard
from desk.ui.cutting.keys.grips import Grip
from desk.ui.cutting.keys.keyed_edits import CutEdits
from tests.film.cutting import draft_film, frames_of
from tests.ui.conftest import MakeBench
from tests.ui.cut_films import ROWS, Told, content_now, cut_film, do

FILM = cut_film()


@pytest.fixture
def bench(make_bench: MakeBench):
    made = make_bench(FILM)
    made.cut.open("s1")
    return made


@pytest.fixture
def told(bench):
    return Told(bench)


def starts(film):
    """The first frame of each clip of scene 1, by counting."""
    found, at = {}, 0
    for clip in film.scene("s1").content.clips:
        found[clip.id] = at + clip.gap_frames
        at += clip.gap_frames + clip.length_frames
    return found


def one(film, clip_id, **fields):
    return edits.edit_clip_sound(film, "s1", (clip_id,), **fields)


EDITS = {
    # What is done: what is selected, the playhead, the rows, and the pure edit that is the same.
    "split": ("", 60, ["cut-split"], lambda film: edits.split(film, "s1", 60)),
    "remove": ("c2", 60, ["cut-remove"], lambda film: edits.remove_clips(film, "s1", ("c2",))),
    "remove at playhead": ("", 60, ["cut-remove"], lambda film: edits.remove_clips(film, "s1", ("c2",))),
    "remove, leaving black": (
        "c2",
        60,
        ["cut-remove-black"],
        lambda film: edits.remove_clips(film, "s1", ("c2",), close=False),
    ),
    "remove a spot": ("f1", 0, ["cut-remove"], lambda film: edits.remove_spots(film, "s1", ("f1",))),
    "remove a cue": ("m1", 0, ["cut-remove"], lambda film: edits.remove_cues(film, "s1", ("m1",))),
    "close black at playhead": ("", 125, ["cut-close-gap"], lambda film: edits.set_gap(film, "s1", "c3", 0)),
    "close black before": ("c3", 0, ["cut-close-gap"], lambda film: edits.set_gap(film, "s1", "c3", 0)),
    "earlier": ("c3", 0, ["cut-earlier"], lambda film: edits.move_clips(film, "s1", ("c3",), 1)),
    "later": ("c1 c2", 0, ["cut-later"], lambda film: edits.move_clips(film, "s1", ("c1", "c2"), 1)),
    "head": (
        "c2",
        0,
        ["cut-hold-head", "cut-frame-later"],
        lambda film: edits.trim_head(film, "s1", "c2", 1),
    ),
    "head of playhead's": (
        "",
        60,
        ["cut-hold-head", "cut-second-earlier"],
        lambda film: edits.trim_head(film, "s1", "c2", -24),
    ),
    "tail": (
        "c2",
        0,
        ["cut-hold-tail", "cut-frame-later"],
        lambda film: edits.trim_tail(film, "s1", "c2", -1),
    ),
    "tail by a second": (
        "c2",
        0,
        ["cut-hold-tail", "cut-second-earlier"],
        lambda film: edits.trim_tail(film, "s1", "c2", 24),
    ),
    "cut": ("", 50, ["cut-hold-cut", "cut-frame-later"], lambda film: edits.move_cut(film, "s1", "c2", 1)),
    "cut by a second": (
        "",
        40,
        ["cut-hold-cut", "cut-second-earlier"],
        lambda film: edits.move_cut(film, "s1", "c2", -24),
    ),
    "shown": (
        "c2",
        0,
        ["cut-hold-shown", "cut-second-later"],
        lambda film: edits.slide(film, "s1", "c2", 24),
    ),
    "place of a clip": (
        "c1",
        0,
        ["cut-hold-place", "cut-frame-later"],
        lambda film: edits.move_clips(film, "s1", ("c1",), 1),
    ),
    "place of a spot": (
        "f1",
        0,
        ["cut-hold-place", "cut-frame-earlier"],
        lambda film: edits.move_spots(film, "s1", ("f1",), -1),
    ),
    "place of a cue": (
        "m1",
        0,
        ["cut-hold-place", "cut-second-later"],
        lambda film: edits.move_cues(film, "s1", ("m1",), 24),
    ),
    "head of a spot": (
        "f1",
        0,
        ["cut-hold-head", "cut-frame-later"],
        lambda film: edits.trim_spot_head(film, "s1", "f1", 1),
    ),
    "tail of a spot": (
        "f1",
        0,
        ["cut-hold-tail", "cut-frame-later"],
        lambda film: edits.trim_spot_tail(film, "s1", "f1", -1),
    ),
    "head of a cue": (
        "m1",
        0,
        ["cut-hold-head", "cut-frame-earlier"],
        lambda film: edits.trim_cue_head(film, "s1", "m1", -1),
    ),
    "tail of a cue": (
        "m1",
        0,
        ["cut-hold-tail", "cut-second-earlier"],
        lambda film: edits.trim_cue_tail(film, "s1", "m1", 24),
    ),
    "lead": (
        "c2",
        0,
        ["cut-hold-lead", "cut-frame-earlier"],
        lambda film: edits.drag_sound_head(film, "s1", "c2", -1),
    ),
    "lag": (
        "c2",
        0,
        ["cut-hold-lag", "cut-frame-later"],
        lambda film: edits.drag_sound_tail(film, "s1", "c2", 1),
    ),
    "fade in": (
        "c2",
        0,
        ["cut-hold-fade-in", "cut-frame-later"],
        lambda film: one(film, "c2", fade_in_frames=4),
    ),
    "fade out": (
        "c2",
        0,
        ["cut-hold-fade-out", "cut-second-earlier"],
        lambda film: one(film, "c2", fade_out_frames=24),
    ),
    "fade out of a spot": (
        "f1",
        0,
        ["cut-hold-fade-out", "cut-frame-earlier"],
        lambda film: edits.edit_spot(film, "s1", "f1", fade_out_frames=1),
    ),
    "fade out of a cue": (
        "m1",
        0,
        ["cut-hold-fade-out", "cut-frame-later"],
        lambda film: edits.edit_candidate(film, "s1", "m1", "a1", fade_out_frames=4),
    ),
    "louder": ("c2", 0, ["cut-louder"], lambda film: one(film, "c2", gain_db=-1.0)),
    "quieter": ("f1", 0, ["cut-quieter"], lambda film: edits.edit_spot(film, "s1", "f1", gain_db=-1.0)),
    "louder music": (
        "m1",
        0,
        ["cut-louder"],
        lambda film: edits.edit_candidate(film, "s1", "m1", "a1", gain_db=1.0),
    ),
    "silence": ("c2", 0, ["cut-silence"], lambda film: one(film, "c2", kind=SoundKind.SILENCE)),
    "head to playhead": ("", 60, ["cut-bring-head"], lambda film: edits.trim_head(film, "s1", "c2", 12)),
    "tail to playhead": ("", 60, ["cut-bring-tail"], lambda film: edits.trim_tail(film, "s1", "c2", 60)),
    "cut to playhead": ("", 60, ["cut-bring-cut"], lambda film: edits.move_cut(film, "s1", "c2", 12)),
    "spot to playhead": (
        "f1",
        100,
        ["cut-bring-place"],
        lambda film: edits.move_spots(film, "s1", ("f1",), 90),
    ),
    "spot's head to playhead": (
        "f1",
        5,
        ["cut-bring-head"],
        lambda film: edits.trim_spot_head(film, "s1", "f1", -5),
    ),
    "cue's tail to playhead": (
        "m1",
        130,
        ["cut-bring-tail"],
        lambda film: edits.trim_cue_tail(film, "s1", "m1", -10),
    ),
    "sound's head to playhead": (
        "c2",
        40,
        ["cut-bring-lead"],
        lambda film: edits.drag_sound_head(film, "s1", "c2", -4),
    ),
    "sound's tail to playhead": (
        "c2",
        130,
        ["cut-bring-lag"],
        lambda film: edits.drag_sound_tail(film, "s1", "c2", 4),
    ),
    "fade in to playhead": ("c2", 60, ["cut-bring-fade-in"], lambda film: one(film, "c2", fade_in_frames=16)),
    "fade out from playhead": (
        "c2",
        110,
        ["cut-bring-fade-out"],
        lambda film: one(film, "c2", fade_out_frames=16),
    ),
}


@pytest.mark.parametrize("name", EDITS)
def test_it_is_the_pure_edit_and_can_be_taken_back(bench, told, name):
    selected, frame, ids, make = EDITS[name]
    bench.cut.select(selected.split())
    bench.cut.go_to(frame)
    do(bench, *ids)
    expected = make(FILM).after
    assert expected != FILM
    assert bench.session.film == expected, told.said
    assert bench.session.stack.count() == 1
    CutEdits.of(bench).nudges.let_go()
    bench.session.stack.undo()
    assert bench.session.film == FILM
    bench.session.stack.redo()
    assert bench.session.film == expected


def test_every_row_that_edits_is_tried_above():
    """Rows that need an answer, or copy, have tests of their own, and so have those that only look."""
    tried = {row for _, _, ids, _ in EDITS.values() for row in ids}
    asking = {"cut-speed", "cut-gain", "cut-number", "cut-add-spot", "cut-add-cue"}
    copying = {"cut-copy", "cut-out", "cut-paste", "cut-paste-after"}
    looking = {row.id for row in ROWS.values() if row.id.startswith("cut-select") or row.group in ("&Go",)}
    loops = {"cut-loop", "cut-clear-loop", "cut-leave"}
    assert set(ROWS) == tried | asking | copying | looking | loops


# Where playhead and selection stand.


@pytest.mark.parametrize(
    ("selected", "frame", "row", "selection", "playhead"),
    [
        ("c1", 60, "cut-split", ["c20"], 60),
        ("c2", 10, "cut-remove", ["c3"], 48),
        ("c3", 200, "cut-remove", ["c4"], 120),
        ("c4", 0, "cut-remove", ["c3"], 191),
        ("c2", 60, "cut-remove-black", ["c3"], 60),
        ("", 125, "cut-close-gap", ["c3"], 120),
        ("f1", 30, "cut-remove", ["f2"], 30),
        ("f2", 30, "cut-remove", ["f1"], 30),
        ("c2", 60, "cut-later", ["c2"], 132),
        ("", 60, "cut-bring-head", [], 48),
        ("", 60, "cut-bring-tail", [], 60),
        ("", 60, "cut-bring-cut", [], 60),
        ("c2", 60, "cut-louder", ["c2"], 60),
        ("c2", 60, "cut-silence", ["c2"], 60),
    ],
)
def test_playhead_and_selection_stand_where_they_are_expected(
    bench, selected, frame, row, selection, playhead
):
    bench.cut.select(selected.split())
    bench.cut.go_to(frame)
    do(bench, row)
    assert list(bench.cut.selection) == selection
    assert bench.cut.frame == playhead


@pytest.mark.parametrize(
    ("grip", "selected", "first", "after"),
    [
        ("cut-hold-head", "c2", 48, 48),
        ("cut-hold-tail", "c2", 119, 120),
        ("cut-hold-cut", "", 48, 49),
        ("cut-hold-shown", "c2", 48, 48),
        ("cut-hold-lead", "c2", 40, 40),
        ("cut-hold-place", "f1", 40, 40),
    ],
)
def test_what_is_held_has_the_playhead_and_both_sides_of_its_cut_are_shown(
    bench, grip, selected, first, after
):
    bench.cut.select(selected.split())
    bench.cut.go_to(40)
    do(bench, grip)
    assert bench.cut.frame == first
    trial = bench.cut.trial
    assert trial is not None
    assert trial.film is bench.session.film
    edge = trial.edge
    do(bench, "cut-frame-later" if grip != "cut-hold-lead" else "cut-frame-earlier")
    assert bench.cut.frame == after
    assert bench.cut.trial is not None
    assert " frame" in bench.cut.trial.words
    moves = {"cut-hold-tail", "cut-hold-cut"}
    assert bench.cut.trial.edge == (None if edge is None else edge + (grip in moves))
    do(bench, "cut-leave")
    assert bench.cut.trial is None


# What merges.


def test_steps_of_what_is_held_are_one_step_of_undoing(bench):
    bench.cut.select(("c2",))
    do(bench, "cut-hold-tail", "cut-frame-later", "cut-frame-later", "cut-second-earlier", "cut-frame-later")
    assert content_now(bench).clips[1].length_frames == 72 + 3 - 24
    assert bench.session.stack.count() == 1
    do(bench, "cut-leave", "cut-hold-tail", "cut-frame-later")
    assert bench.session.stack.count() == 2
    bench.session.stack.undo()
    bench.session.stack.undo()
    assert bench.session.film == FILM


def test_gain_and_places_merge_until_another_command(bench):
    bench.cut.select(("c2",))
    do(bench, "cut-louder", "cut-louder", "cut-quieter", "cut-louder")
    assert bench.session.stack.count() == 1
    do(bench, "cut-frame-later", "cut-louder", "cut-split", "cut-louder")
    assert bench.session.stack.count() == 3, "moving the playhead alone ends nothing that is the same"
    bench.cut.select(("c1",))
    bench.cut.select(("c2",))
    do(bench, "cut-later", "cut-later")
    assert bench.session.stack.count() == 4


def test_after_undoing_the_same_is_a_step_of_its_own(bench):
    bench.cut.select(("c2",))
    do(bench, "cut-louder")
    bench.session.stack.undo()
    do(bench, "cut-louder", "cut-louder")
    assert content_now(bench).clips[1].sound.gain_db == 0
    bench.session.stack.undo()
    assert bench.session.film == FILM


def test_undoing_while_it_is_held_goes_on_holding(bench):
    bench.cut.select(("c2",))
    do(bench, "cut-hold-tail", "cut-frame-later")
    bench.session.stack.undo()
    assert bench.session.film == FILM
    assert bench.cut.trial is not None
    do(bench, "cut-frame-earlier")
    assert content_now(bench).clips[1].length_frames == 71
    bench.session.stack.undo()
    assert bench.session.film == FILM


# What lets go.


@pytest.mark.parametrize("how", ["return", "leave", "select", "scene", "drag", "command", "gone"])
def test_it_is_let_go(bench, how):
    edits_of = CutEdits.of(bench)
    bench.cut.select(("c2",))
    do(bench, "cut-hold-head")
    held = []
    edits_of.nudges.held_changed.connect(held.append)
    match how:
        case "return":
            do(bench, "cut-split")
            assert bench.session.film == FILM, "Return lets go, and splits nothing"
        case "leave":
            do(bench, "cut-leave")
            assert bench.cut.selection == ("c2",)
        case "select":
            bench.cut.select(("c1",))
        case "scene":
            bench.cut.open("s2")
        case "drag":
            bench.cut.attempt(lambda film: edits.trim_head(film, "s1", "c3", 1))
            assert bench.cut.trial is not None, "the drag goes on"
        case "command":
            do(bench, "cut-to-head")
        case "gone":
            bench.session.do(lambda film: edits.remove_clips(film, "s1", ("c2",)))
    assert edits_of.nudges.held is None
    assert held == [None]
    before = bench.cut.frame
    do(bench, "cut-frame-earlier")
    assert bench.cut.frame in (before - 1, 0), "the arrows move the playhead again"


def test_going_to_another_part_of_the_window_lets_go(bench, qtbot):
    window = QWidget()
    qtbot.addWidget(window)
    lanes, other = QWidget(window), QWidget(window)
    window.show()
    lanes.setFocus()
    qtbot.waitUntil(lanes.hasFocus)
    bench.cut.select(("c2",))
    do(bench, "cut-hold-head")
    other.setFocus()
    qtbot.waitUntil(lambda: CutEdits.of(bench).nudges.held is None)


# What is said.


def test_a_scene_without_anything_says_so_or_has_nothing_to_say(make_bench, qtbot):
    bench = make_bench(FILM)
    told = Told(bench)
    bench.cut.open("s3")
    over = QWidget()
    qtbot.addWidget(over)
    CutEdits.of(bench).asks.set_window(over)
    quiet = {"cut-leave", "cut-number"} | {item.id for item in ROWS.values() if item.group == "&Go"}
    quiet -= {"cut-to-selected-head", "cut-to-selected-tail"}
    others = {"cut-clear-loop": "No loop is set.", "cut-close-gap": "There is no black at the playhead"}
    for row in ROWS:
        if row.startswith(("cut-paste", "cut-add")):
            continue
        do(bench, row)
        said = told.last
        assert bench.session.film == FILM
        if row in quiet:
            assert not said, row
        elif row in others:
            assert said.startswith(others[row])
        else:
            assert "scene 3 has" in said.replace("Scene", "scene"), row


def test_in_black_with_nothing_selected_it_says_so(bench, told):
    bench.cut.go_to(125)
    for row in ("cut-remove", "cut-hold-head", "cut-louder", "cut-copy", "cut-bring-tail", "cut-loop"):
        do(bench, row)
        assert told.last == "Nothing is selected, and the playhead stands in black. Select something first."
    assert bench.session.film == FILM


def test_a_locked_scene_refuses_in_the_edits_own_words(make_bench):
    bench = make_bench(FILM)
    told = Told(bench)
    bench.cut.open("s4")
    looking = {row.id for row in ROWS.values() if row.group == "&Go"}
    for row in {row for _, _, ids, _ in EDITS.values() for row in ids} - looking - {"cut-close-gap"}:
        bench.cut.select(("c9",))
        bench.cut.go_to(20)
        do(bench, row)
        assert bench.session.film == FILM
        assert CutEdits.of(bench).nudges.held is None
        assert told.last == (
            "Scene 4 is locked, so its picture, sound and grade can't be changed. "
            "Unlock it first; the locked version stays in its history."
        ), row


def test_a_film_open_for_reading_only_says_why(make_bench):
    bench = make_bench(FILM)
    told = Told(bench)
    bench.cut.open("s1")
    bench.session.read_only = "Another window has it open."
    bench.cut.select(("c2",))
    for row in ("cut-hold-head", "cut-split", "cut-remove", "cut-bring-cut", "cut-louder", "cut-gain"):
        do(bench, row)
        assert told.last.endswith("Another window has it open."), row
    assert bench.session.film == FILM


@pytest.mark.parametrize(
    ("selected", "frame", "ids", "says"),
    [
        ("", 48, ["cut-split"], "There is nothing to split"),
        ("", 20, ["cut-close-gap"], "There is no black at the playhead"),
        ("f1", 0, ["cut-hold-lead"], "Spot horn has no head of the sound: only clips have. Select a clip."),
        ("f1", 0, ["cut-silence"], "Only clips can be silenced."),
        ("f1", 0, ["cut-copy"], "Only clips can be copied."),
        ("m2", 0, ["cut-louder"], "Cue m2 has no music chosen"),
        ("c1", 60, ["cut-bring-head"], "The playhead is not in clip 1"),
        ("c2", 48, ["cut-bring-head"], "The head of clip 2 is at the playhead already."),
        ("c1", 0, ["cut-bring-fade-in"], "The fade in of clip 1 is at the playhead already."),
        ("c1", 100, ["cut-bring-fade-out"], "The sound of clip 1 is not at the playhead"),
        ("c1", 60, ["cut-bring-place"], "The place of clip 1 can't be brought"),
        ("c1", 0, ["cut-hold-place", "cut-frame-earlier"], "The place of clip 1 can't go any further"),
        ("c1", 0, ["cut-hold-fade-in", "cut-frame-earlier"], "The fade in of clip 1 can't go any further"),
        ("c1", 0, ["cut-hold-head"] + 3 * ["cut-second-earlier"], "There are 24 frames too few before"),
        ("c1", 0, ["cut-select-previous"], "It is the first one of its lane."),
        ("m1", 0, ["cut-select-lane-below"], "There is nothing in a lane below"),
        ("", 0, ["cut-clear-loop"], "No loop is set."),
        ("", 0, ["cut-paste"], "There are no clips on the clipboard."),
    ],
)
def test_what_can_not_be_done_is_said(bench, told, selected, frame, ids, says):
    QGuiApplication.clipboard().clear()
    bench.cut.select(selected.split())
    bench.cut.go_to(frame)
    do(bench, *ids)
    assert told.last.startswith(says)


def test_without_a_scene_it_says_so(make_bench):
    bench = make_bench(FILM)
    told = Told(bench)
    for row in ROWS:
        if row not in ("cut-leave", "cut-clear-loop"):
            do(bench, row)
            assert told.last in (
                "No scene is shown. Choose one in the running order.",
                "There are no clips on the clipboard. Select clips and copy them first.",
            ), row
    assert bench.session.film == FILM


def test_a_gain_stops_at_its_ends(bench, told):
    bench.cut.select(("c1",))
    for _ in range(25):
        do(bench, "cut-louder")
    assert content_now(bench).clips[0].sound.gain_db == 24
    assert told.last == "A gain goes from −96 to 24 dB."


def test_silenced_clips_get_their_own_sound_back(bench):
    bench.cut.select(("c1", "c4", "f1"))
    do(bench, "cut-silence")
    kinds = [clip.sound.kind for clip in content_now(bench).clips]
    assert kinds == [SoundKind.SILENCE, SoundKind.OWN, SoundKind.OWN, SoundKind.SILENCE]
    do(bench, "cut-silence")
    assert [clip.sound.kind for clip in content_now(bench).clips] == [
        clip.sound.kind for clip in FILM.scene("s1").content.clips
    ]
    assert bench.session.stack.count() == 2


def test_several_kinds_are_removed_in_one_step(bench):
    bench.cut.select(("c1", "f1", "m2"))
    do(bench, "cut-remove")
    content = content_now(bench)
    assert [clip.id for clip in content.clips] == ["c2", "c3", "c4"]
    assert [spot.id for spot in content.spots] == ["f2"]
    assert [cue.id for cue in content.cues] == ["m1"]
    assert bench.session.stack.undoText() == "Remove 3 things in scene 1"
    bench.session.stack.undo()
    assert bench.session.film == FILM


# Copying.


def test_clips_copied_in_one_scene_are_pasted_in_another(bench, told):
    bench.cut.select(("c3", "c4", "f1"))
    do(bench, "cut-copy")
    assert told.last == "2 clips copied. Spots and cues stay with their scene."
    bench.cut.open("s2")
    bench.cut.go_to(30)
    do(bench, "cut-paste")
    copied = edits.copy_clips(FILM, "s1", ("c3", "c4"))
    expected = edits.paste_clips_at(FILM, "s2", copied, 30).after
    assert bench.session.film == expected
    assert [clip.source for clip in content_now(bench, "s2").clips[1:3]] == [
        "footage/1/rope.mov",
        "footage/1/gulls.mov",
    ]
    assert list(bench.cut.selection) == [clip.id for clip in content_now(bench, "s2").clips[1:3]]
    assert bench.cut.frame == 30
    bench.session.stack.undo()
    assert bench.session.film == FILM


def test_pasting_after_the_selection_and_into_an_empty_scene(bench):
    bench.cut.select(("c1",))
    do(bench, "cut-copy", "cut-paste-after")
    copied = edits.copy_clips(FILM, "s1", ("c1",))
    assert bench.session.film == edits.paste_clips(FILM, "s1", copied, 1).after
    assert bench.cut.frame == 48
    do(bench, "cut-select-all")
    do(bench, "cut-paste-after")
    assert content_now(bench).clips[-1].source == "footage/1/quay.mov"
    for row in ("cut-paste", "cut-paste-after"):
        bench.cut.open("s3")
        do(bench, row)
        assert len(content_now(bench, "s3").clips) == 1
        bench.session.stack.undo()


def test_pasted_in_black_part_of_it_stays_before(bench):
    bench.cut.select(("c1",))
    do(bench, "cut-copy")
    bench.cut.select(())
    bench.cut.go_to(125)
    do(bench, "cut-paste")
    copied = edits.copy_clips(FILM, "s1", ("c1",))
    assert bench.session.film == edits.paste_clips_at(FILM, "s1", copied, 125).after
    assert bench.cut.frame == 125
    assert [clip.source for clip in bench.cut.content.clips if clip.id in bench.cut.selection] == [
        "footage/1/quay.mov"
    ]


def test_pasted_on_the_last_frame_it_comes_after_it(bench):
    bench.cut.select(("c1",))
    do(bench, "cut-copy", "cut-to-tail", "cut-paste")
    count = len(FILM.scene("s1").content.clips)
    copied = edits.copy_clips(FILM, "s1", ("c1",))
    assert bench.session.film == edits.paste_clips(FILM, "s1", copied, count).after
    assert bench.cut.selection == (content_now(bench).clips[-1].id,)


def test_cutting_out_copies_and_removes(bench):
    bench.cut.select(("c2", "f1"))
    do(bench, "cut-out")
    assert bench.session.film == edits.remove_clips(FILM, "s1", ("c2",)).after
    do(bench, "cut-paste")
    assert [clip.source for clip in content_now(bench).clips][1] == "footage/1/kiosk.mov"
    assert bench.session.stack.count() == 2


def test_a_locked_scene_may_be_copied_from_and_nothing_is_cut_out_of_it(bench, told):
    bench.cut.open("s4")
    do(bench, "cut-out")
    assert "locked" in told.last
    bench.cut.open("s3")
    do(bench, "cut-paste")
    assert content_now(bench, "s3").clips[0].source == "footage/4/lamp.mov"


def test_clips_of_another_film_are_refused(bench, make_bench):
    do(bench, "cut-copy")
    other = make_bench(dataclasses.replace(FILM, title="Other"))
    told = Told(other)
    other.cut.open("s1")
    do(other, "cut-paste")
    assert told.last.startswith(
        "The 1 clip on the clipboard can't be pasted here: their footage is that of another film, “The Late"
    )
    assert other.session.stack.count() == 0


def test_clips_copied_at_another_rate_are_refused(bench):
    do(bench, "cut-copy")
    with pytest.raises(EditError, match="copied at 24 frames a second, and the film has 25 now"):
        clips_of_clipboard(dataclasses.replace(FILM, rate=Rate(25)), bench.session.folder)


@pytest.mark.parametrize("junk", [b"", b"{", b'{"a": 1}', b"\xff" * 50])
def test_junk_on_the_clipboard_is_refused(bench, told, junk):
    data = QMimeData()
    data.setData(CLIPS_TYPE, junk)
    QGuiApplication.clipboard().setMimeData(data)
    do(bench, "cut-paste")
    assert told.last == "What is on the clipboard can't be read as clips. Copy them again."
    assert bench.session.film == FILM


@pytest.mark.parametrize("seed", range(6))
def test_all_that_clips_hold_goes_along_on_the_clipboard(make_bench, seed):
    film = draft_film(seed)
    bench = make_bench(film)
    bench.cut.open("s0")
    do(bench, "cut-select-all", "cut-copy")
    bench.cut.open("s1")
    frame = bench.cut.frame
    do(bench, "cut-paste")
    clips = [clip.id for clip in film.scene("s0").content.clips]
    expected = edits.paste_clips_at(film, "s1", edits.copy_clips(film, "s0", clips), frame).after
    assert bench.session.film == expected


# Looking.


@pytest.mark.parametrize(
    ("frame", "row", "after"),
    [
        (60, "cut-frame-later", 61),
        (60, "cut-frame-earlier", 59),
        (0, "cut-frame-earlier", 0),
        (60, "cut-second-later", 84),
        (60, "cut-second-earlier", 36),
        (221, "cut-second-later", 221),
        (60, "cut-next-cut", 120),
        (120, "cut-next-cut", 132),
        (200, "cut-next-cut", 221),
        (60, "cut-previous-cut", 48),
        (48, "cut-previous-cut", 0),
        (60, "cut-to-head", 0),
        (60, "cut-to-tail", 221),
        (60, "cut-to-selected-head", 48),
        (60, "cut-to-selected-tail", 119),
    ],
)
def test_the_playhead_goes(bench, frame, row, after):
    bench.cut.go_to(frame)
    do(bench, row)
    assert bench.cut.frame == after
    assert bench.cut.selection == ()


@pytest.mark.parametrize(
    ("selected", "frame", "rows", "selection", "playhead"),
    [
        ("", 60, ["cut-select-next"], ["c2"], 48),
        ("", 125, ["cut-select-next"], ["c3"], 132),
        ("", 125, ["cut-select-previous"], ["c2"], 48),
        ("c2", 0, ["cut-select-next"], ["c3"], 132),
        ("c2", 0, ["cut-select-previous"], ["c1"], 0),
        ("f1", 0, ["cut-select-next"], ["f2"], 140),
        ("c2", 0, ["cut-select-and-next"], ["c2", "c3"], 132),
        ("c2", 0, ["cut-select-and-next", "cut-select-and-next"], ["c2", "c3", "c4"], 192),
        ("c2", 0, ["cut-select-and-previous"], ["c1", "c2"], 0),
        ("", 20, ["cut-select-lane-below"], ["c1"], 20),
        ("", 20, ["cut-select-lane-below", "cut-select-lane-below"], ["f1"], 20),
        ("c3", 145, ["cut-select-lane-below"], ["f2"], 145),
        ("f2", 160, ["cut-select-lane-below"], ["m2"], 160),
        ("m2", 160, ["cut-select-lane-above"], ["f2"], 160),
        ("", 0, ["cut-select-all"], ["c1", "c2", "c3", "c4", "m1", "m2", "f1", "f2"], 0),
        ("c2", 0, ["cut-leave"], [], 0),
    ],
)
def test_things_are_selected(bench, selected, frame, rows, selection, playhead):
    bench.cut.select(selected.split())
    bench.cut.go_to(frame)
    do(bench, *rows)
    assert list(bench.cut.selection) == selection
    assert bench.cut.frame == playhead


def test_loops(bench):
    bench.cut.select(("c2", "f2"))
    do(bench, "cut-loop")
    assert bench.cut.loop == Loop(48, 152)
    do(bench, "cut-clear-loop")
    assert bench.cut.loop is None
    bench.cut.select_none()
    bench.cut.go_to(200)
    do(bench, "cut-loop")
    assert bench.cut.loop == Loop(192, 222)


# Any commands, in any order.

_RULES = {
    "same frames": {"cut-split", "cut-louder", "cut-quieter", "cut-silence"}
    | {f"cut-bring-{name}" for name in ("lead", "lag", "fade-in", "fade-out")},
    "same in another order": {"cut-earlier", "cut-later"},
    "no longer": {"cut-remove", "cut-out", "cut-close-gap", "cut-bring-head", "cut-bring-tail"},
    "as long": {"cut-remove-black", "cut-bring-cut"},
    "longer": {"cut-paste", "cut-paste-after"},
}
_MOVES = ("cut-frame-later", "cut-frame-earlier", "cut-second-later", "cut-second-earlier")


@pytest.mark.parametrize("seed", range(12))
def test_any_commands_in_any_order_lose_and_double_no_frame_and_can_be_taken_back(make_bench, seed):
    film = draft_film(seed)
    bench = make_bench(film)
    edits_of = CutEdits.of(bench)
    bench.cut.open("s0")
    random = Random(seed)
    states = [film]
    names = [
        row
        for row in ROWS
        if row not in ("cut-speed", "cut-gain", "cut-number", "cut-add-spot", "cut-add-cue")
    ]
    for _ in range(120):
        row = random.choice([*names, *_MOVES * 3, "cut-select-next", "cut-select-lane-below"])
        before, held = bench.session.film, edits_of.nudges.held
        picture = frames_of(content_now(bench, "s0"), film.rate)
        do(bench, row)
        after = bench.session.film
        now = frames_of(content_now(bench, "s0"), film.rate)
        assert faults(after) == ()
        assert 0 <= bench.cut.frame < max(1, content_frames(bench.cut.content))
        if row in _MOVES and held is not None:
            _check_held(held, before, after, row, film.rate.nominal)
        elif row in _RULES["same frames"]:
            assert now == picture
        elif row in _RULES["same in another order"]:
            assert Counter(now) == Counter(picture)
        elif row in _RULES["no longer"]:
            assert not Counter(now) - Counter(picture), row
        elif row in _RULES["as long"]:
            assert len(now) == len(picture) or row == "cut-remove-black"
        elif row in _RULES["longer"]:
            assert not Counter(picture) - Counter(now), row
        elif row not in ("cut-bring-place",):
            assert after is before, row
        if after not in states:
            states.append(after)
        if not content_now(bench, "s0").clips:
            bench.session.stack.undo()
    final = bench.session.film
    edits_of.nudges.let_go()
    steps = bench.session.stack.index()
    while bench.session.stack.canUndo():
        bench.session.stack.undo()
        assert bench.session.film in states
    assert bench.session.film == film
    bench.session.stack.setIndex(steps)
    assert bench.session.film == final
    assert len(states) > 10


def _check_held(held, before, after, row, second):
    """What is held moves by just as many frames as were asked for, or not at all."""
    frames = {"frame": 1, "second": second}[row.split("-")[1]] * (1 if row.endswith("later") else -1)
    if after == before:
        return
    old, new = (frames_of(film.scene("s0").content, film.rate) for film in (before, after))
    match held.grip:
        case Grip.HEAD | Grip.TAIL if held.main.startswith("c"):
            longer = -frames if held.grip is Grip.HEAD else frames
            assert len(new) == len(old) + longer
            less = Counter(old) - Counter(new) if longer < 0 else Counter(new) - Counter(old)
            assert sum(less.values()) == abs(longer)
        case Grip.CUT | Grip.SHOWN:
            assert len(new) == len(old)
            assert sum((Counter(old) - Counter(new)).values()) <= (
                abs(frames) if held.grip is Grip.CUT else len(old)
            )
        case Grip.PLACE:
            assert Counter(new) == Counter(old)
        case _:
            assert new == old
    assert Fraction(len(new)) == content_frames(after.scene("s0").content)


def test_the_program_ends_well_with_clips_on_the_clipboard():
    """What Python made must not be left to Qt after Python has gone: that ends in a crash."""
    program = """
import sys
from pathlib import Path
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication
from desk.film.edits import copy_clips
from desk.ui.cutting.keys.copying import has_clips, put_on_clipboard
from tests.ui.cut_films import cut_film

def main():
    application = QApplication([])
    film = cut_film()
    put_on_clipboard(copy_clips(film, "s1", ("c1",)), film, Path())
    assert has_clips()
    QTimer.singleShot(0, application.quit)
    return application.exec()

sys.exit(main())
"""
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    done = subprocess.run([sys.executable, "-c", program], env=environment, check=False)
    assert done.returncode == 0
