"""Pieces of what is looked at are made around the playhead, are those of an assembly, and give way to it."""

import functools
import threading
from pathlib import Path

import pytest

from desk.errors import FfmpegError, OutputError
from desk.ffmpeg.program import find_program
from desk.film import edits
from desk.film.timing import Include
from desk.jobs import Cancelled
from desk.render.plan import Black, Footage
from desk.render.run import make_piece
from desk.render.showing import Origin
from desk.ui.job_runner import Lane
from desk.ui.viewer.piece_making import PieceMaking
from desk.ui.viewer.player import Player
from tests.render.films import run_assembly
from tests.ui.viewing import (
    FRAMES_1,
    FRAMES_2,
    number_at,
    number_of,
    numbered_footage,
    put_footage,
    viewed_film,
    wait_for_frame,
    wait_for_media,
)

pytestmark = pytest.mark.ffmpeg


@pytest.fixture(scope="session")
def footage(tmp_path_factory):
    return numbered_footage(tmp_path_factory)


@pytest.fixture
def bench(make_bench, footage, tmp_path, qtbot):
    made = make_bench(viewed_film(), put_footage(footage, tmp_path / "film"))
    wait_for_media(made, qtbot)
    made.cut.open("s1")
    return made


@pytest.fixture
def player(bench):
    made = Player(bench, make_output=lambda _: None)
    yield made
    made.close()
    made.deleteLater()


@pytest.fixture
def make_pieces(bench, player):
    made = []

    def make(**options):
        made.append(PieceMaking(bench, player, player, **options))
        return made[-1]

    yield make
    for pieces in made:
        pieces.close()


class Maker:
    """Makes nothing, but remembers what it was asked for; waits for a sign where it is told to."""

    def __init__(self, *, waits: bool = False) -> None:
        self.asked: list[object] = []
        self.cancelled: list[object] = []
        self.faults: dict[type, Exception] = {}
        self.is_held = lambda: False
        self.go = threading.Semaphore(0 if waits else 1000)

    def __call__(self, piece, *, rate, size, kit, cancel, progress, low_priority, is_held):
        assert low_priority
        self.asked.append(piece)
        self.is_held = is_held
        while not self.go.acquire(timeout=0.01):
            if cancel.is_set:
                self.cancelled.append(piece)
                raise Cancelled
        if fault := self.faults.get(type(piece)):
            raise fault
        return Path("made")


def source_of(piece):
    return "black" if isinstance(piece, Black) else piece.source


def test_they_are_made_as_an_assembly_makes_them(bench, player, make_pieces, qtbot):
    """The assembly of the same film finds all of them, and the viewer shows from them."""
    pieces = make_pieces()
    assert pieces.ready == ()
    qtbot.waitUntil(lambda: pieces.ready == ((0, FRAMES_1),), timeout=60_000)
    player.go_to(7)
    picture = wait_for_frame(player, qtbot, 7)
    assert (picture.origin, number_of(picture)) == (Origin.PIECE, number_at(7))
    bench.cut.open("s2")
    qtbot.waitUntil(lambda: pieces.ready == ((0, FRAMES_2),), timeout=60_000)
    bench.saving.save_now()
    bench.saving.stop()
    made = run_assembly(bench.session.folder, find_program(), include=Include.ALL).made
    assert (made.pieces_made, made.pieces_found) == (0, 4)


def test_the_nearest_is_made_first_and_what_comes_before_what_was(player, make_pieces, qtbot):
    maker = Maker()
    player.go_to(24)
    pieces = make_pieces(make=maker)
    qtbot.waitUntil(lambda: pieces.ready == ((0, FRAMES_1),))
    assert [source_of(piece) for piece in maker.asked] == ["black", "b.mov", "a.mov"]


def test_a_piece_that_is_not_wanted_any_more_is_given_up(bench, player, make_pieces, qtbot):
    maker = Maker(waits=True)
    pieces = make_pieces(make=maker)
    qtbot.waitUntil(lambda: len(maker.asked) == 1)
    assert pieces.making == (0, 20)
    bench.session.do(lambda film: edits.trim_tail(film, "s1", "c1", 2))
    qtbot.waitUntil(lambda: len(maker.cancelled) == 1)
    maker.go.release(3)
    qtbot.waitUntil(lambda: pieces.ready == ((0, FRAMES_1 - 2),))
    made = [piece for piece in maker.asked if isinstance(piece, Footage) and piece.source == "a.mov"]
    assert [piece.frames for piece in made] == [20, 18]


def test_one_that_is_still_wanted_goes_on_after_an_edit_elsewhere(bench, player, make_pieces, qtbot):
    maker = Maker(waits=True)
    pieces = make_pieces(make=maker)
    qtbot.waitUntil(lambda: len(maker.asked) == 1)
    bench.session.do(lambda film: edits.trim_tail(film, "s1", "c2", 2))
    qtbot.wait(400)
    maker.go.release(3)
    qtbot.waitUntil(lambda: pieces.ready == ((0, FRAMES_1 - 2),))
    assert not maker.cancelled
    assert len(maker.asked) == 3


def test_nothing_of_a_drag_is_made_before_it_is_left(bench, player, make_pieces, qtbot):
    maker = Maker()
    pieces = make_pieces(make=maker)
    qtbot.waitUntil(lambda: pieces.ready == ((0, FRAMES_1),))
    asked = len(maker.asked)
    bench.cut.attempt(lambda film: edits.trim_tail(film, "s1", "c2", 5), edge=35)
    qtbot.wait(400)
    assert len(maker.asked) == asked
    assert pieces.ready == ()
    bench.cut.take()
    qtbot.waitUntil(lambda: pieces.ready == ((0, FRAMES_1 - 5),))
    assert len(maker.asked) == asked + 3


def test_it_stands_still_while_something_is_played(player, make_pieces, qtbot):
    maker = Maker(waits=True)
    pieces = make_pieces(make=maker)
    qtbot.waitUntil(lambda: len(maker.asked) == 1)
    player.set_looping(True)
    player.play()
    assert pieces.is_held
    assert maker.is_held()
    maker.go.release(3)
    qtbot.wait(100)
    assert len(maker.asked) == 1
    player.pause()
    assert not maker.is_held()
    qtbot.waitUntil(lambda: pieces.ready == ((0, FRAMES_1),))


def test_it_stands_still_while_an_assembly_runs_and_then_sees_what_that_made(
    bench, player, make_pieces, qtbot
):
    maker = Maker()
    go = threading.Event()

    def assemble(_progress, cancel):
        make = functools.partial(
            make_piece, rate=player.subject.rate, size=player.subject.size, kit=kit, cancel=cancel
        )
        for placed in player.subject.reel.placed:
            make(placed.piece)
        go.wait(20)

    kit = player.kits.kit(player.subject)
    player.kits.look_again()
    job = bench.jobs.start("assemble", assemble, lane=Lane.MAKING)
    pieces = make_pieces(make=maker)
    qtbot.wait(400)
    assert pieces.is_held
    assert not maker.asked
    with qtbot.waitSignal(job.finished):
        go.set()
    qtbot.waitUntil(lambda: pieces.ready == ((0, FRAMES_1),))
    assert not pieces.is_held
    assert not maker.asked


def test_one_that_fails_is_told_once_and_not_tried_again(bench, player, make_pieces, qtbot):
    maker = Maker()
    maker.faults[Black] = FfmpegError("ffmpeg stopped.")
    pieces = make_pieces(make=maker)
    told = []
    pieces.failed.connect(told.append)
    qtbot.waitUntil(lambda: pieces.ready == ((0, 20), (25, FRAMES_1)))
    bench.session.do(lambda film: edits.trim_tail(film, "s1", "c2", 1))
    qtbot.waitUntil(lambda: pieces.ready == ((0, 20), (25, FRAMES_1 - 1)))
    assert [str(error) for error in told] == ["ffmpeg stopped."]
    assert sum(isinstance(piece, Black) for piece in maker.asked) == 1


def test_a_full_disk_ends_it(player, make_pieces, qtbot):
    maker = Maker()
    maker.faults[Footage] = OutputError("The disk is full.")
    pieces = make_pieces(make=maker)
    with qtbot.waitSignal(pieces.failed):
        pass
    qtbot.wait(100)
    assert len(maker.asked) == 1


def test_footage_has_no_pieces(bench, player, make_pieces, qtbot):
    maker = Maker()
    player.show_footage("a.mov", bench.media.facts["a.mov"])
    pieces = make_pieces(make=maker)
    qtbot.wait(400)
    assert not maker.asked
    assert pieces.ready == ()
    player.show_film()
    qtbot.waitUntil(lambda: pieces.ready == ((0, FRAMES_1 + FRAMES_2),))


def test_a_film_open_for_reading_only_is_left_as_it_is(bench, player, make_pieces, qtbot):
    bench.session.read_only = "It is open elsewhere."
    maker = Maker()
    make_pieces(make=maker)
    qtbot.wait(400)
    assert not maker.asked
