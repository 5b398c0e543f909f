"""Drags of clips in the lanes: each does what its edit does, in one step of undoing, or nothing."""

import dataclasses
from fractions import Fraction

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt

from desk.film import edits
from desk.film.model import SceneContent
from desk.film.timing import content_frames
from desk.ui.cutting.lanes.grips import Hold, grip_at
from desk.ui.cutting.lanes.layout import Row
from tests.film.editing import locked
from tests.film.films import facts
from tests.ui.lanes import (
    CTRL,
    LEFT,
    SHIFT,
    THREE,
    box_of,
    colour_at,
    drag,
    edge,
    middle,
    move,
    press,
    release,
    show,
)
from tests.ui.scene_parts import many_clips, paths, scene_with

__all__ = ["show"]

CLIPS = SceneContent(
    clips=tuple(
        dataclasses.replace(
            clip, in_seconds=Fraction(20), sound=dataclasses.replace(clip.sound, lead_frames=0)
        )
        for clip in THREE.clips
    )
)


def known(content=CLIPS, seconds=100):
    return {path: facts(seconds=seconds) for path in paths(scene_with(content)[0])}


@pytest.mark.parametrize(
    ("hold", "owner", "modifiers", "frames", "wanted"),
    [
        (Hold.TAIL, "c3", None, 7, lambda film: edits.trim_tail(film, "s2", "c3", -7)),
        (Hold.TAIL, "c50", None, -5, lambda film: edits.trim_tail(film, "s2", "c50", 5)),
        (Hold.HEAD, "c3", None, 9, lambda film: edits.trim_head(film, "s2", "c3", 9)),
        (Hold.HEAD, "c51", None, -6, lambda film: edits.trim_head(film, "s2", "c51", -6)),
        (Hold.HEAD, "c50", CTRL, 11, lambda film: edits.move_cut(film, "s2", "c50", 11)),
        (Hold.TAIL, "c50", CTRL, -8, lambda film: edits.move_cut(film, "s2", "c51", -8)),
        (Hold.BODY, "c50", CTRL, 10, lambda film: edits.slide(film, "s2", "c50", -10)),
        (Hold.BODY, "c50", CTRL, -10, lambda film: edits.slide(film, "s2", "c50", 10)),
    ],
)
def test_a_drag_is_its_edit(show, qtbot, hold, owner, modifiers, frames, wanted):
    view, bench = show(CLIPS, known())
    before = bench.session.film
    modifiers = modifiers or Qt.KeyboardModifier.NoModifier
    drag(view, edge(view, owner, hold), frames, modifiers, free=hold is not Hold.BODY)
    assert bench.session.film == wanted(before).after != before
    assert bench.session.stack.count() == 1
    assert bench.cut.trial is None
    bench.session.stack.undo()
    assert bench.session.film == before
    bench.session.stack.redo()
    assert bench.session.film == wanted(before).after


def test_nothing_is_edited_while_it_goes_on(show):
    view, bench = show(CLIPS, known())
    film = bench.session.film
    point = edge(view, "c3", Hold.TAIL)
    press(view, point)
    for px in (4, 30, 60, 40):
        move(view, point + QPoint(px, 0), SHIFT)
    frames = round(40 / view.axis.px_per_frame)
    assert bench.session.film is film
    assert bench.cut.content.clips[0].length_frames == 48 + frames
    # It is drawn already.
    assert box_of(view, "c3").end_frames == 48 + frames
    assert bench.cut.trial.edge == 48 + frames
    assert view.parent().words.text().startswith(f"Tail +{frames} frames, clip 0:02:{frames:02}, scene 0:06:")


def test_escape_leaves_the_film(show, qtbot):
    view, bench = show(CLIPS, known())
    film = bench.session.film
    point = edge(view, "c3", Hold.TAIL)
    press(view, point)
    move(view, point + QPoint(50, 0))
    assert bench.cut.trial is not None
    qtbot.keyClick(view, Qt.Key.Key_Escape)
    assert bench.cut.trial is None
    qtbot.mouseRelease(view, LEFT, pos=point + QPoint(50, 0))
    assert bench.session.film is film
    assert bench.session.stack.count() == 0
    assert box_of(view, "c3").end_frames == 48


def test_a_film_that_changes_under_it_ends_a_drag(show, qtbot):
    view, bench = show(CLIPS, known())
    point = edge(view, "c3", Hold.TAIL)
    press(view, point)
    move(view, point + QPoint(50, 0))
    bench.session.do(lambda film: edits.remove_clips(film, "s2", ("c51",)))
    move(view, point + QPoint(70, 0))
    qtbot.mouseRelease(view, LEFT, pos=point + QPoint(70, 0))
    assert bench.session.stack.count() == 1
    assert not view.is_dragging


def test_it_stops_at_cuts_and_the_playhead_unless_shift_is_held(show):
    view, bench = show(CLIPS, known())
    bench.cut.go_to(30)
    near = round(4 / view.axis.px_per_frame)
    assert near >= 1
    point = edge(view, "c3", Hold.TAIL)
    press(view, point)
    x = point.x() + round((30 - 48 + near) * view.axis.px_per_frame)
    move(view, QPoint(x, point.y()))
    assert bench.cut.content.clips[0].length_frames == 30
    assert "Stops at cuts" in view.parent().words.text()
    move(view, QPoint(x, point.y()), SHIFT)
    assert bench.cut.content.clips[0].length_frames == 30 + near
    # Far from any, it goes with the pointer.
    move(view, QPoint(point.x() - round(9 * view.axis.px_per_frame), point.y()))
    assert bench.cut.content.clips[0].length_frames == 39


def test_a_head_stays_under_the_pointer(show):
    view, bench = show(CLIPS, known())
    view.zoom(3, 300)
    point = edge(view, "c50", Hold.HEAD)
    tail = box_of(view, "c50").rect(view.axis).right()
    press(view, point)
    frames = 8
    to = point + QPoint(round(frames * view.axis.px_per_frame), 0)
    move(view, to, SHIFT)
    rect = box_of(view, "c50").rect(view.axis)
    assert bench.cut.content.clips[1].length_frames == 24 - frames
    assert rect.left() <= to.x() <= rect.left() + 8
    # What follows the head stands still; what is before it moves.
    assert rect.right() == pytest.approx(tail)
    assert bench.cut.trial.edge == 48


@pytest.mark.parametrize(
    ("hold", "owner", "modifiers", "frames", "wanted"),
    [
        # 23 s are 552 frames: 24 after the tail of the first clip, which goes from 480 to 528.
        (Hold.TAIL, "c3", None, 90, lambda film: edits.trim_tail(film, "s2", "c3", -24)),
        (Hold.TAIL, "c51", None, -90, lambda film: edits.trim_tail(film, "s2", "c51", 71)),
        (Hold.HEAD, "c50", None, 80, lambda film: edits.trim_head(film, "s2", "c50", 23)),
        (Hold.HEAD, "c50", CTRL, 90, lambda film: edits.move_cut(film, "s2", "c50", 23)),
        (Hold.HEAD, "c50", CTRL, -90, lambda film: edits.move_cut(film, "s2", "c50", -47)),
        (Hold.BODY, "c50", CTRL, -90, lambda film: edits.slide(film, "s2", "c50", 48)),
    ],
)
def test_a_hand_that_goes_too_far_means_as_far_as_it_goes(show, hold, owner, modifiers, frames, wanted):
    view, bench = show(CLIPS, known(seconds=23))
    told = []
    bench.session.refused.connect(told.append)
    before = bench.session.film
    point, modifiers = edge(view, owner, hold), modifiers or Qt.KeyboardModifier.NoModifier
    press(view, point, modifiers)
    to = point + QPoint(round(frames * view.axis.px_per_frame), 0)
    move(view, to, modifiers)
    assert "It goes no further." in view.parent().words.text()
    release(view, to, modifiers)
    assert bench.session.film == wanted(before).after
    assert told == []


def test_what_is_refused_is_told_and_leaves_what_was_allowed(show):
    view, bench = show(CLIPS, known())
    told = []
    bench.session.refused.connect(told.append)
    point = edge(view, "c51", Hold.TAIL)
    press(view, point, CTRL)
    move(view, point - QPoint(20, 0), CTRL)
    assert "There is no cut after clip 3" in view.parent().words.text()
    assert view.parent().words.property("kind") == "fault"
    release(view, point - QPoint(20, 0), CTRL)
    assert [error.code for error in told] == ["edit.place"]
    assert bench.session.stack.count() == 0


class TestLocked:
    @pytest.mark.parametrize("hold", [Hold.HEAD, Hold.TAIL, Hold.BODY])
    @pytest.mark.parametrize("modifiers", [Qt.KeyboardModifier.NoModifier, CTRL])
    def test_nothing_moves_and_it_says_why_once(self, show, hold, modifiers):
        view, bench = show(CLIPS, known(), edit=lambda film: locked(film, "s2"))
        told = []
        bench.session.refused.connect(told.append)
        film, boxes = bench.session.film, view.lanes.boxes
        point = edge(view, "c50", hold)
        press(view, point, modifiers)
        for px in (5, 20, 60):
            move(view, point + QPoint(px, 0), modifiers)
            assert "locked" in view.parent().words.text()
            assert view.lanes.boxes == boxes
            assert told == []
        release(view, point + QPoint(60, 0), modifiers)
        assert [error.code for error in told] == ["edit.locked"]
        assert bench.session.film is film

    @pytest.mark.parametrize("hold", [Hold.HEAD, Hold.TAIL, Hold.BODY])
    def test_the_pointer_is_told_before_a_drag_begins(self, show, hold):
        view, _ = show(CLIPS, known(), edit=lambda film: locked(film, "s2"))
        move(view, edge(view, "c50", hold), button=Qt.MouseButton.NoButton)
        assert view.parent().words.text() == "Scene 2 is locked. Unlock it to cut it."
        assert view.cursor().shape() is Qt.CursorShape.ArrowCursor
        assert view.grip is None

    def test_it_can_still_be_selected(self, show, qtbot):
        view, bench = show(CLIPS, known(), edit=lambda film: locked(film, "s2"))
        qtbot.mouseClick(view, LEFT, pos=middle(view, "c51"))
        assert bench.cut.selection == ("c51",)


class TestOrder:
    def test_a_clip_is_dragged_to_another_place(self, show):
        view, bench = show(CLIPS, known())
        before = bench.session.film
        start, to = middle(view, "c3"), middle(view, "c51") + QPoint(120, 0)
        press(view, start)
        move(view, start + QPoint(10, 0))
        move(view, to)
        # A line shows where it would go; the lanes stay as they are until it is let go.
        assert [box.owner for box in view.lanes.boxes if box.row is Row.PICTURE] == ["c3", "c50", "c51"]
        x = round(view.axis.x(content_frames(CLIPS)))
        assert colour_at(view, QPoint(x - 1, to.y())) == bench.theme.colour("ink")
        release(view, to)
        assert bench.session.film == edits.move_clips(before, "s2", ("c3",), 2).after
        assert bench.session.stack.count() == 1
        bench.session.stack.undo()
        assert bench.session.film == before

    def test_what_is_selected_goes_along(self, show, qtbot):
        view, bench = show(CLIPS, known())
        before = bench.session.film
        bench.cut.select(("c50", "c51"))
        start = middle(view, "c51")
        press(view, start)
        move(view, start - QPoint(10, 0))
        move(view, QPoint(round(view.axis.x(3)), start.y()))
        assert "Moves 2 clips to the start of the scene." in view.parent().words.text()
        release(view, QPoint(round(view.axis.x(3)), start.y()))
        assert bench.session.film == edits.move_clips(before, "s2", ("c50", "c51"), 0).after
        assert bench.cut.selection == ("c50", "c51")

    def test_put_back_where_it_was_it_is_no_edit(self, show):
        view, bench = show(CLIPS, known())
        start = middle(view, "c3")
        press(view, start)
        move(view, start + QPoint(10, 0))
        move(view, start + QPoint(2, 0))
        release(view, start + QPoint(2, 0))
        assert bench.session.stack.count() == 0

    def test_a_press_without_a_drag_is_a_click(self, show):
        view, bench = show(CLIPS, known())
        point = edge(view, "c50", Hold.TAIL)
        press(view, point)
        move(view, point + QPoint(1, 1))
        release(view, point + QPoint(1, 1))
        assert bench.cut.selection == ("c50",)
        assert bench.session.stack.count() == 0


def test_zones_are_wide_enough_and_told(show):
    view, _ = show(CLIPS, known())
    rect = box_of(view, "c3").rect(view.axis)
    y = rect.center().y()
    holds = {}
    for x in range(round(rect.left()), round(rect.right())):
        grip = grip_at(view.lanes, view.axis, QPointF(x, y))
        holds.setdefault(grip.hold, []).append(x)
    assert {hold: len(found) >= 6 for hold, found in holds.items()} == {
        Hold.HEAD: True,
        Hold.BODY: True,
        Hold.TAIL: True,
    }
    shapes = set()
    for hold, words in (
        (Hold.HEAD, "trims the head"),
        (Hold.TAIL, "trims the tail"),
        (Hold.BODY, "moves the clip"),
    ):
        move(view, edge(view, "c3", hold), button=Qt.MouseButton.NoButton)
        assert words in view.parent().words.text()
        shapes.add(view.cursor().shape())
    assert shapes == {Qt.CursorShape.SizeHorCursor, Qt.CursorShape.OpenHandCursor}
    move(view, edge(view, "c3", Hold.TAIL), CTRL, button=Qt.MouseButton.NoButton)
    assert "moves the cut; the scene keeps its length" in view.parent().words.text()
    assert view.cursor().shape() is Qt.CursorShape.SplitHCursor
    move(view, edge(view, "c3", Hold.TAIL), button=Qt.MouseButton.NoButton)
    # 100 s of footage are 2,400 frames, and the clip ends at 528.
    assert "1,872 frames of footage beyond it." in view.parent().words.text()


BLACK = SceneContent(
    clips=(CLIPS.clips[0], dataclasses.replace(CLIPS.clips[1], gap_frames=30), CLIPS.clips[2])
)


@pytest.mark.parametrize("frames", [12, -10, -30, -90])
def test_the_black_before_a_clip_is_dragged_longer_and_shorter(show, frames):
    view, bench = show(BLACK, known(BLACK))
    before = bench.session.film
    point = edge(view, "c50", Hold.BLACK)
    move(view, point, button=Qt.MouseButton.NoButton)
    assert "black before the clip longer or shorter" in view.parent().words.text()
    drag(view, point, frames, free=True)
    after = max(0, 30 + frames)
    assert bench.session.film == edits.set_gap(before, "s2", "c50", after).after
    assert bench.session.stack.count() == 1
    bench.session.stack.undo()
    assert bench.session.film == before


def test_where_there_is_no_black_none_is_taken_hold_of(show):
    view, _ = show(BLACK, known(BLACK))
    holds = {}
    for owner in ("c3", "c50", "c51"):
        point = QPointF(edge(view, owner, Hold.BLACK))
        grip = grip_at(view.lanes, view.axis, point)
        holds[owner] = grip and (grip.hold, grip.box.owner)
    assert holds == {"c3": None, "c50": (Hold.BLACK, "c50"), "c51": (Hold.TAIL, "c50")}
    far = QPointF(edge(view, "c50", Hold.BLACK) - QPoint(20, 0))
    assert grip_at(view.lanes, view.axis, far) is None


def test_a_narrow_clip_has_ends_and_a_middle_too(show):
    view, bench = show(many_clips(24), known(many_clips(24)))
    rect = box_of(view, "c1001").rect(view.axis)
    assert 12 < rect.width() < 22
    found = [
        grip_at(view.lanes, view.axis, QPointF(rect.left() + x, rect.center().y())).hold
        for x in (1, rect.width() / 2, rect.width() - 1)
    ]
    assert found == [Hold.HEAD, Hold.BODY, Hold.TAIL]
    before = bench.session.film
    drag(view, edge(view, "c1001", Hold.TAIL), -12, free=True)
    (was, now) = (film.scene("s2").content.clips[1].length_frames for film in (before, bench.session.film))
    assert now < was


def test_a_clip_too_narrow_for_zones_is_taken_as_a_whole(show):
    view, _ = show(many_clips(200))
    rect = box_of(view, "c1000").rect(view.axis)
    assert grip_at(view.lanes, view.axis, rect.center()).hold is Hold.BODY


def test_beyond_the_edge_it_scrolls(show, qtbot):
    view, bench = show(many_clips(20))
    view.zoom(8, 90)
    first = view.axis.first
    point = edge(view, "c1000", Hold.TAIL)
    press(view, point)
    move(view, QPoint(view.width() + 60, point.y()), SHIFT)
    length = bench.cut.content.clips[0].length_frames
    qtbot.waitUntil(lambda: bench.cut.content.clips[0].length_frames > length + 10)
    assert view.axis.first > first
    qtbot.keyClick(view, Qt.Key.Key_Escape)
    assert bench.cut.trial is None


def test_a_drag_draws_only_what_it_changes_anew(show):
    view, bench = show(many_clips(200))
    view.zoom(16, 80)
    assert box_of(view, "c1001").rect(view.axis).width() > 22
    point = edge(view, "c1001", Hold.TAIL)
    press(view, point)
    move(view, point + QPoint(4, 0), SHIFT)
    view.grab()
    for px in range(5, 40):
        drawn, painted = view.tiles.drawn, view.painted
        before = bench.cut.content
        move(view, point + QPoint(px, 0), SHIFT)
        view.grab()
        if bench.cut.content == before:
            continue
        assert view.painted == painted + 1
        # The clip's picture and sound; at the right edge one clip more may come into view.
        assert view.tiles.drawn - drawn <= 4


def test_a_key_that_is_held_later_counts(show, qtbot):
    view, bench = show(CLIPS, known())
    bench.cut.go_to(30)
    point = edge(view, "c3", Hold.TAIL)
    press(view, point)
    x = point.x() + round((30 - 48 + 2) * view.axis.px_per_frame)
    move(view, QPoint(x, point.y()))
    assert bench.cut.content.clips[0].length_frames == 30
    qtbot.keyPress(view, Qt.Key.Key_Shift)
    assert bench.cut.content.clips[0].length_frames == 32
    qtbot.keyRelease(view, Qt.Key.Key_Shift, SHIFT)
    assert bench.cut.content.clips[0].length_frames == 30
    qtbot.keyClick(view, Qt.Key.Key_Escape)
