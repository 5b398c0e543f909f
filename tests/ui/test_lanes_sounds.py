"""Drags of what sounds: leads and lags, spots and cues, gains and fades."""

import dataclasses
import math
from fractions import Fraction

import pytest
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtGui import QFontMetricsF

from desk.film import edits
from desk.film.model import Candidate, ClipSound, SceneContent, Spot
from desk.ui.cutting.lanes.grips import Hold, fade_zone, grip_at
from desk.ui.cutting.lanes.layout import Row
from desk.ui.cutting.lanes.shapes import gain_line_y
from desk.ui.cutting.lanes.words import thing_gain_db
from desk.ui.look.type import SMALL_PX, sans
from tests.film.editing import locked
from tests.film.films import facts
from tests.ui.lanes import SHIFT, THREE, box_of, drag, edge, middle, move, press, release, show
from tests.ui.scene_parts import paths, scene_with

__all__ = ["show"]

LOUD = SceneContent(
    clips=tuple(
        dataclasses.replace(
            clip,
            in_seconds=Fraction(20),
            sound=ClipSound(gain_db=-3, fade_in_frames=4) if clip.id == "c50" else ClipSound(),
        )
        for clip in THREE.clips
    ),
    spots=tuple(dataclasses.replace(spot, in_seconds=Fraction(5)) for spot in THREE.spots),
    cues=(
        dataclasses.replace(
            THREE.cues[0],
            length_frames=90,
            candidates=(Candidate(id="a50", file="music/tide.wav", in_seconds=Fraction(9)),),
        ),
    ),
)
ROWS = {"c": Row.DIALOGUE, "f": Row.EFFECTS, "m": Row.MUSIC}


def known(content=LOUD):
    return {path: facts() for path in paths(scene_with(content)[0])}


@pytest.mark.parametrize(
    ("owner", "hold", "frames", "wanted"),
    [
        ("c50", Hold.HEAD, -9, lambda film: edits.drag_sound_head(film, "s2", "c50", -9)),
        ("c50", Hold.TAIL, 7, lambda film: edits.drag_sound_tail(film, "s2", "c50", 7)),
        ("f52", Hold.HEAD, 4, lambda film: edits.trim_spot_head(film, "s2", "f52", 4)),
        ("f52", Hold.HEAD, -11, lambda film: edits.trim_spot_head(film, "s2", "f52", -11)),
        ("f52", Hold.TAIL, 13, lambda film: edits.trim_spot_tail(film, "s2", "f52", -13)),
        ("f51", Hold.BODY, 15, lambda film: edits.move_spots(film, "s2", ["f51"], 15)),
        ("m50", Hold.HEAD, -13, lambda film: edits.trim_cue_head(film, "s2", "m50", -13)),
        ("m50", Hold.TAIL, -17, lambda film: edits.trim_cue_tail(film, "s2", "m50", 17)),
        ("m50", Hold.BODY, 9, lambda film: edits.move_cues(film, "s2", ["m50"], 9)),
    ],
)
def test_a_drag_is_its_edit(show, owner, hold, frames, wanted):
    view, bench = show(LOUD, known(), width=1100)
    before = bench.session.film
    drag(view, edge(view, owner, hold, ROWS[owner[0]]), frames, free=True)
    assert bench.session.film == wanted(before).after != before
    assert bench.session.stack.count() == 1
    bench.session.stack.undo()
    assert bench.session.film == before


def test_spots_and_cues_that_are_selected_go_together(show):
    view, bench = show(LOUD, known())
    before = bench.session.film
    bench.cut.select(("f51", "f52", "m50"))
    drag(view, edge(view, "f52", Hold.BODY, Row.EFFECTS), 12, free=True)
    spots = edits.move_spots(before, "s2", ["f51", "f52"], 12).after
    assert bench.session.film == edits.move_cues(spots, "s2", ["m50"], 12).after
    assert bench.session.stack.count() == 1
    bench.session.stack.undo()
    assert bench.session.film == before


def test_either_end_of_a_spot_stops_at_a_cut(show):
    view, bench = show(LOUD, known())
    # The bell goes from 60 to 70; the second cut is at 72.
    point = edge(view, "f52", Hold.BODY, Row.EFFECTS)
    press(view, point)
    move(view, point + QPoint(round(3 * view.axis.px_per_frame), 0))
    assert next(spot for spot in bench.cut.content.spots if spot.id == "f52").start_frames == 62
    move(view, point + QPoint(round(3 * view.axis.px_per_frame), 0), SHIFT)
    assert next(spot for spot in bench.cut.content.spots if spot.id == "f52").start_frames == 63
    release(view, point, SHIFT)


@pytest.mark.parametrize("owner", ["c51", "f51", "m50"])
@pytest.mark.parametrize(("px", "wanted"), [(-10, 5.0), (13, -6.5), (0, 0.0), (-300, 24.0), (400, -96.0)])
def test_the_line_of_the_gain_goes_up_and_down(show, owner, px, wanted):
    view, bench = show(LOUD, known())
    row = ROWS[owner[0]]
    box = box_of(view, owner, row)
    rect = box.rect(view.axis)
    at = QPoint(round(rect.center().x()), round(gain_line_y(rect, thing_gain_db(box.thing))))
    assert grip_at(view.lanes, view.axis, at.toPointF()).hold is Hold.GAIN
    press(view, at)
    move(view, at + QPoint(0, 8))
    move(view, at + QPoint(0, px))
    release(view, at + QPoint(0, px))
    thing = box_of(view, owner, row).thing
    assert thing_gain_db(thing) == wanted
    assert bench.session.stack.count() == (1 if wanted else 0)


@pytest.mark.parametrize(
    ("owner", "hold"), [("c51", Hold.FADE_IN), ("f51", Hold.FADE_OUT), ("m50", Hold.FADE_IN)]
)
def test_a_fade_is_dragged_by_its_corner(show, owner, hold):
    view, bench = show(LOUD, known(), width=1400)
    view.zoom(2, 400) if owner == "f51" else None
    row = ROWS[owner[0]]
    before = bench.session.film
    box = box_of(view, owner, row)
    zone = fade_zone(box, view.axis, hold)
    assert zone.width() >= 6
    point = zone.center().toPoint()
    assert grip_at(view.lanes, view.axis, point.toPointF()).hold is hold
    inwards = 11 if hold is Hold.FADE_IN else -11
    drag(view, point, inwards, free=True)
    name = "fade_in_frames" if hold is Hold.FADE_IN else "fade_out_frames"
    span = box_of(view, owner, row).span
    assert getattr(span, name) == 11
    assert bench.session.film != before
    assert bench.session.stack.count() == 1
    # It can be taken hold of again where it ends now, and goes no further than the corner.
    point = fade_zone(box_of(view, owner, row), view.axis, hold).center().toPoint()
    drag(view, point, -9 * inwards, free=True)
    assert getattr(box_of(view, owner, row).span, name) == 0


def test_zones_of_a_sound_are_wide_enough(show):
    view, _ = show(LOUD, known())
    for owner in ("c51", "m50"):
        box = box_of(view, owner, ROWS[owner[0]])
        rect = box.rect(view.axis)
        holds: dict[Hold, set[tuple[int, int]]] = {}
        for x in range(math.ceil(rect.left()), math.floor(rect.right())):
            for y in range(round(rect.top()), round(rect.bottom())):
                grip = grip_at(view.lanes, view.axis, QPoint(x, y).toPointF())
                holds.setdefault(grip.hold, set()).add((x, y))
        assert set(holds) == set(Hold) - {Hold.BLACK}
        for hold, points in holds.items():
            assert len({x for x, _ in points}) >= 6, hold
            assert len({y for _, y in points}) >= 6, hold


def test_a_locked_scene_lets_no_sound_move(show):
    view, bench = show(LOUD, known(), edit=lambda film: locked(film, "s2"))
    told = []
    bench.session.refused.connect(told.append)
    film = bench.session.film
    for owner in ("c50", "f52", "m50"):
        for hold in (Hold.HEAD, Hold.TAIL) if owner == "c50" else (Hold.HEAD, Hold.TAIL, Hold.BODY):
            told.clear()
            drag(view, edge(view, owner, hold, ROWS[owner[0]]), 9, free=True)
            assert [error.code for error in told] == ["edit.locked"]
            assert bench.session.film is film


def test_escape_leaves_a_gain(show, qtbot):
    view, bench = show(LOUD, known())
    rect = box_of(view, "c51", Row.DIALOGUE).rect(view.axis)
    at = QPoint(round(rect.center().x()), round(gain_line_y(rect, 0)))
    press(view, at)
    move(view, at + QPoint(0, -12))
    assert "Gain +6 dB" in view.parent().words.text()
    assert "moderate level" in view.parent().words.text()
    qtbot.keyClick(view, Qt.Key.Key_Escape)
    release(view, at)
    assert bench.session.stack.count() == 0
    assert thing_gain_db(box_of(view, "c51", Row.DIALOGUE).thing) == 0


def test_the_value_of_a_gain_leaves_what_is_written_on_a_sound(show):
    """Both stand on a spot while the pointer is over it."""
    label = "the horn of the ferry, far out"
    spot = Spot(id="f60", file="effects/horn.wav", label=label, start_frames=0, length_frames=70, gain_db=-3)
    view, _ = show(dataclasses.replace(LOUD, spots=(spot,), cues=()), known())
    rect = box_of(view, "f60", Row.EFFECTS).rect(view.axis)
    told = rect.adjusted(6, 3, 0, 0).toRect()
    told.setWidth(round(QFontMetricsF(sans(SMALL_PX)).horizontalAdvance(f"{label}, −3 dB")))
    told.setHeight(9)
    # Where its fade is taken hold of stands over the first letters.
    told.setLeft(told.left() + 24)
    assert rect.center().x() < told.right() < rect.right() - 60
    before = view.grab(told).toImage()

    move(view, middle(view, "f60", Row.EFFECTS), button=Qt.MouseButton.NoButton)

    assert view.grip is not None
    assert view.grab(told).toImage() == before
    beyond = QRect(told.right() + 8, round(rect.top()), round(rect.right()) - told.right() - 8, 29)
    shown = view.grab(beyond).toImage()
    move(view, QPoint(300, 4), button=Qt.MouseButton.NoButton)
    assert view.grab(beyond).toImage() != shown
