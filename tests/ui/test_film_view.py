"""The window's inside while a film is open: what its parts do together."""

import pytest
from PySide6.QtWidgets import QApplication

from desk.film import edits
from desk.film.timing import Include, lay_out
from desk.ui.film_view import FilmView
from desk.ui.viewer.player import Player
from tests.film.films import small_film

FILM = small_film()
STARTS = {slot.entry.id: slot.start_frames for slot in lay_out(FILM, Include.SLATES).slots}


@pytest.fixture
def bench(make_bench):
    return make_bench(FILM)


@pytest.fixture
def view(bench, qtbot):
    made = FilmView(bench)
    qtbot.addWidget(made)
    made.resize(1200, 800)
    made.show()
    QApplication.processEvents()
    return made


@pytest.mark.parametrize("entry", ["s1", "s4", "k2"])
def test_the_playhead_comes_along_to_the_start_of_what_is_chosen(view, bench, entry):
    bench.choice.go_to(STARTS["s2"] + 3)
    view.order.choose((entry,))
    assert bench.choice.frame == STARTS[entry]
    if entry != "k2":
        assert (bench.cut.scene_id, bench.cut.frame) == (entry, 0)


def test_within_what_is_chosen_the_playhead_stays(view, bench):
    bench.choice.go_to(STARTS["s2"] + 3)
    view.order.choose(("s2",))
    assert bench.choice.frame == STARTS["s2"] + 3
    assert bench.cut.frame == 3


def test_a_scene_that_is_chosen_again_after_a_look_elsewhere_has_the_playhead_again(view, bench):
    view.order.choose(("s1",))
    view.order.choose(("k2",))
    view.order.choose(("s1",))
    assert bench.choice.frame == STARTS["s1"]


@pytest.mark.parametrize("entry", ["", "s3"])
def test_the_film_and_what_is_set_aside_leave_the_playhead_where_it_is(view, bench, entry):
    view.order.choose(("s1",))
    bench.choice.go_to(STARTS["s2"] + 3)
    view.order.choose((entry,) if entry else ())
    assert bench.choice.frame == STARTS["s2"] + 3


def test_choosing_does_not_move_the_playhead_while_the_film_plays(view, bench, monkeypatch):
    view.order.choose(("s1",))
    player = view.picture.viewer.player
    player.show_film()
    bench.choice.go_to(STARTS["s2"] + 3)
    monkeypatch.setattr(Player, "is_playing", property(lambda _: True))
    view.order.choose(("k2",))
    assert bench.choice.frame == STARTS["s2"] + 3
    monkeypatch.undo()
    view.order.choose(("s4",))
    assert bench.choice.frame == STARTS["s4"]


def test_an_edit_of_what_is_chosen_leaves_the_playhead(view, bench):
    view.order.choose(("s2",))
    bench.choice.go_to(STARTS["s2"] + 3)
    bench.session.do(lambda film: edits.edit_story(film, "s2", purpose="The lamp goes out."))
    assert bench.choice.frame == STARTS["s2"] + 3


def test_the_playhead_goes_with_the_scene_in_which_it_stands(view, bench, qtbot):
    view.order.choose(("s2",))
    bench.choice.go_to(STARTS["s2"] + 3)
    readouts = view.picture.viewer.readouts
    assert readouts.film.text() == "01:00:08:03"  # a title of 3 s and scene 1 of 5 s come before it
    bench.session.do(lambda film: edits.move(film, ["s2"], 1))
    assert (bench.choice.frame, bench.cut.frame) == (STARTS["s1"] + 3, 3)
    assert readouts.film.text() == "01:00:03:03"
    bench.session.stack.undo()
    assert (bench.choice.frame, bench.cut.frame) == (STARTS["s2"] + 3, 3)
    bench.choice.go_to(STARTS["k2"] + 1)
    bench.session.do(lambda film: edits.set_aside(film, ["s1"]))
    assert bench.choice.frame == STARTS["k2"] + 1 - (STARTS["s2"] - STARTS["s1"])


def test_a_scene_that_comes_back_from_the_shelf_has_the_playhead_again(view, bench):
    view.order.choose(("s2",))
    bench.choice.go_to(STARTS["s2"] + 3)
    bench.session.do(lambda film: edits.set_aside(film, ["s2"]))
    assert view.order.selected() == ("s2",)
    bench.session.stack.undo()
    assert (bench.choice.frame, bench.cut.frame) == (STARTS["s2"] + 3, 3)


def test_what_is_chosen_on_the_shelf_takes_the_playhead_into_the_film(view, bench):
    bench.choice.go_to(STARTS["s2"] + 3)
    view.order.choose(("s3",))
    assert bench.choice.frame == STARTS["s2"] + 3
    bench.session.do(lambda film: edits.put_back_at(film, "s3", 1))
    assert (bench.choice.entry, bench.choice.frame, bench.cut.frame) == ("s3", STARTS["s1"], 0)


def test_the_film_time_of_the_viewer_follows_where_the_film_begins(view, bench):
    view.order.choose(("s2",))
    bench.session.do(lambda film: edits.edit_film(film, start_frames=0))
    assert view.picture.viewer.readouts.film.text() == "00:00:08:00"
