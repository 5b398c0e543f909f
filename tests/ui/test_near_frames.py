"""The viewer while an exact frame takes long: a near one, told as such, and the exact one after it."""

import threading

import pytest

from desk.ffmpeg.program import find_program
from desk.film import edits
from desk.footage.key_pictures import make_key_pictures
from desk.footage.probe import probe
from desk.render.showing import Origin, Showing
from desk.ui.viewer.player import Player
from desk.ui.viewer.viewer import Viewer
from tests.ui.viewing import (
    number_at,
    number_of,
    numbered_footage,
    put_footage,
    viewed_film,
    wait_for_frame,
    wait_for_media,
)

pytestmark = pytest.mark.ffmpeg

GOP = 12


class Held:
    """Makes what shows pictures; exact frames only while it is let, or until a newer one breaks them off."""

    def __init__(self, keys):
        self.keys = keys
        self.let = threading.Event()
        self.let.set()
        self.is_stuck = False
        self.begun = []

    def __call__(self, kit, check):
        return _HeldShowing(self, kit, check)


class _HeldShowing(Showing):
    def __init__(self, held, kit, check):
        super().__init__(kit, proxy=lambda _: None, key_pictures=held.keys.get, check=check)
        self._held = held
        self._look = check

    def picture(self, reel, frame, width_px, height_px, *, quick=False):
        self._held.begun.append(frame)
        while not self._held.let.wait(0.002):
            if not self._held.is_stuck:
                self._look()
        return super().picture(reel, frame, width_px, height_px, quick=quick)


@pytest.fixture(scope="session")
def footage(tmp_path_factory):
    return numbered_footage(tmp_path_factory)


@pytest.fixture(scope="session")
def keys(footage, tmp_path_factory):
    folder = tmp_path_factory.mktemp("keys")
    for name in ("a.mov", "b.mov"):
        make_key_pictures(footage / name, probe(footage / name), folder / name, program=find_program())
    return {name: folder / name for name in ("a.mov", "b.mov")}


@pytest.fixture
def bench(make_bench, footage, tmp_path, qtbot):
    made = make_bench(viewed_film(), put_footage(footage, tmp_path / "film"))
    wait_for_media(made, qtbot)
    made.cut.open("s1")
    return made


@pytest.fixture
def held(keys):
    return Held(keys)


@pytest.fixture
def viewer(bench, held, qtbot):
    player = Player(bench, make_maker=held, make_output=lambda _: None)
    made = Viewer(bench, player=player)
    player.setParent(made)
    qtbot.addWidget(made)
    made.resize(640, 520)
    made.show()
    wait_for_frame(player, qtbot, 0)
    yield made
    made.shut()


@pytest.fixture
def seen(viewer):
    """The frames shown from now on but the first of all, and where each comes from."""
    pictures = []

    def note(picture):
        if picture.frame:
            pictures.append((picture.frame, picture.origin, number_of(picture)))

    viewer.player.pictured.connect(note)
    return pictures


def near_number(frame):
    """The number of the last key frame up to what scene 1 has at a frame."""
    number = number_at(frame)
    return number // 1000 * 1000 + number % 1000 // GOP * GOP


def is_marked(view):
    """Return whether white on black stands in the lower left corner of the frame."""
    frame = view.frame_rect().toRect()
    image = view.grab(frame).toImage()
    corner = [image.pixelColor(x, image.height() - 20) for x in range(9, 120)]
    levels = [colour.lightness() for colour in corner]
    return max(levels) > 200 and min(levels) < 80


@pytest.mark.parametrize("frame", [17, 39])
def test_a_near_frame_is_shown_and_told_until_the_exact_one_is_there(viewer, held, qtbot, seen, frame):
    held.let.clear()
    viewer.player.go_to(frame)
    near = wait_for_frame(viewer.player, qtbot, frame)
    assert (near.origin, number_of(near)) == (Origin.NEAR, near_number(frame))
    assert viewer.state_words == "near frame, while the exact one is made"
    assert near.note == ""
    held.let.set()
    qtbot.waitUntil(lambda: viewer.player.picture.origin is not Origin.NEAR)
    assert number_of(viewer.player.picture) == number_at(frame)
    assert viewer.state_words == "from the footage"
    assert [item[1] for item in seen] == [Origin.NEAR, Origin.FOOTAGE]


def test_a_newer_wish_is_bridged_at_once_however_long_the_exact_one_takes(viewer, held, qtbot, seen):
    held.let.clear()
    for frame in (17, 39, 16, 30):
        viewer.player.go_to(frame)
        near = wait_for_frame(viewer.player, qtbot, frame)
        assert (near.origin, number_of(near)) == (Origin.NEAR, near_number(frame))
    held.let.set()
    qtbot.waitUntil(lambda: viewer.player.picture.origin is not Origin.NEAR)
    assert seen[-1] == (30, Origin.FOOTAGE, number_at(30))


def test_a_near_frame_waits_for_no_decoder(viewer, held, qtbot, seen):
    """While a frame is being decoded nothing can break it off; what it is of is not shown any more then."""
    held.is_stuck = True
    held.let.clear()
    try:
        viewer.player.go_to(17)
        wait_for_frame(viewer.player, qtbot, 17)
        viewer.player.go_to(39)
        near = wait_for_frame(viewer.player, qtbot, 39)
        assert (near.origin, number_of(near)) == (Origin.NEAR, near_number(39))
        assert held.begun[-1] == 17
    finally:
        held.let.set()
    qtbot.waitUntil(lambda: viewer.player.picture.origin is not Origin.NEAR)
    assert seen[-1] == (39, Origin.FOOTAGE, number_at(39))
    assert (17, Origin.FOOTAGE, number_at(17)) not in seen


def test_standing_and_stepping_show_exact_frames_alone(viewer, held, qtbot, seen):
    viewer.player.go_to(14)
    qtbot.waitUntil(lambda: seen[-1:] == [(14, Origin.FOOTAGE, number_at(14))])
    seen.clear()
    for step in (1, 1, 1, -1, -1, -1, -1):
        viewer.player.step(step)
        wait_for_frame(viewer.player, qtbot, viewer.player.frame)
    viewer.player.ask_again()
    count = len(held.begun)
    qtbot.waitUntil(lambda: len(held.begun) > count)
    assert {origin for _, origin, _ in seen} == {Origin.FOOTAGE}
    assert [number for _, _, number in seen[:7]] == [
        number_at(frame) for frame in (15, 16, 17, 16, 15, 14, 13)
    ]


def test_the_picture_itself_tells_that_it_is_near_in_every_view(viewer, held, qtbot, seen):
    viewer.toggle_full_view()
    views = (viewer.picture, viewer.full_view.picture)
    held.let.clear()
    viewer.player.go_to(17)
    wait_for_frame(viewer.player, qtbot, 17)
    for view in views:
        assert view.accessibleDescription() == (
            "Not this frame yet: near frame, while the exact one is made."
        )
        assert is_marked(view)
    held.let.set()
    qtbot.waitUntil(lambda: viewer.player.picture.origin is not Origin.NEAR)
    for view in views:
        assert view.accessibleDescription() == ""
        assert not is_marked(view)


def test_a_picture_that_stays_on_while_another_is_made_is_told_too(viewer, held, qtbot, seen):
    viewer.player.go_to(14)
    qtbot.waitUntil(lambda: seen[-1:] == [(14, Origin.FOOTAGE, number_at(14))])
    held.let.clear()
    viewer.player.step(1)
    qtbot.waitUntil(lambda: viewer.picture.lag != "")
    assert number_of(viewer.player.picture) == number_at(14)
    assert viewer.state_words == "another frame stays on, while the exact one is made"
    assert is_marked(viewer.picture)
    held.let.set()
    wait_for_frame(viewer.player, qtbot, 15)
    assert viewer.state_words == "from the footage"
    assert not is_marked(viewer.picture)


def test_a_side_of_a_cut_that_is_not_there_yet_is_told(viewer, bench, held, qtbot):
    held.let.clear()
    bench.cut.attempt(lambda film: edits.trim_tail(film, "s1", "c1", -2), edge=18)
    qtbot.waitUntil(lambda: viewer.player.look is not None and viewer.player.look.before.is_late)
    assert viewer.player.look.after.is_late
    held.let.set()
    qtbot.waitUntil(lambda: not viewer.player.look.before.is_late and not viewer.player.look.after.is_late)
    assert number_of(viewer.player.look.before.picture) == number_at(17)


def test_black_is_at_hand(viewer, held, qtbot, seen):
    viewer.player.go_to(22)
    wait_for_frame(viewer.player, qtbot, 22)
    assert seen == [(22, Origin.DRAWING, None)]


def test_playing_and_standing_still_after_it_show_exact_frames_alone(viewer, qtbot, seen):
    player = viewer.player
    with qtbot.waitSignal(player.played, timeout=20_000, check_params_cb=lambda is_on: not is_on):
        player.play()
    wait_for_frame(player, qtbot, player.frame)
    assert seen
    assert Origin.NEAR not in {origin for _, origin, _ in seen}


def test_closing_ends_at_once_while_an_exact_frame_is_made(viewer, held, qtbot):
    held.let.clear()
    viewer.player.go_to(17)
    wait_for_frame(viewer.player, qtbot, 17)
    viewer.shut()
    assert viewer.player.picture.origin is Origin.NEAR


def test_nothing_near_is_written_into_pieces(viewer, bench, held, qtbot):
    held.let.clear()
    viewer.pieces.close()
    viewer.player.go_to(17)
    wait_for_frame(viewer.player, qtbot, 17)
    folder = bench.session.folder / ".desk" / "pieces"
    before = sorted(folder.iterdir())
    viewer.player.go_to(39)
    wait_for_frame(viewer.player, qtbot, 39)
    assert sorted(folder.iterdir()) == before
