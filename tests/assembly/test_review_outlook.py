"""The outlook on an assembly against what making it then does; and assembling a film that somebody holds."""

import dataclasses
import shutil
from fractions import Fraction
from pathlib import Path

import pytest

from desk.assembly.outlook import outlook
from desk.assembly.survey import survey
from desk.cards import drawing
from desk.ffmpeg.program import find_program
from desk.film.model import Candidate, Card, ClipSound, Cue, ReviewCopy, Scene
from desk.film.rates import Rate
from desk.film.timing import Include
from desk.store.lock import hold
from desk.store.project import open_film
from tests.cli.running import snapshot
from tests.render.films import (
    SIZE,
    clip,
    decode_copy,
    dissolve,
    make_film,
    make_once,
    put,
    run_assembly,
    scene,
    session_folder,
    through_black,
)

pytestmark = pytest.mark.ffmpeg

RATE = Rate(25)


@pytest.fixture(scope="session")
def reel(tmp_path_factory):
    path = session_folder(tmp_path_factory, "outlook-reels") / "reel.mov"
    return make_once(path, rate=RATE, frames=150, size=(SIZE.width, SIZE.height), sound="beeps")


@pytest.fixture
def project(tmp_path):
    return tmp_path / "project"


def mixed_film(reel):
    """A title, two scenes with clips, one without, an empty card; the same pictures twice."""
    music = Candidate(id="a1", file=str(reel), in_seconds=Fraction(1), gain_db=-12)
    return make_film(
        RATE,
        Card(id="k1", lines=("The Late Ferry",), length_frames=12),
        scene(
            clip(reel, 1, 20, sound=ClipSound()),
            clip(reel, 2, 16, Fraction(1, 2)),
            cues=(Cue(id="m1", length_frames=30, candidates=(music,), chosen="a1"),),
            number="1",
        ),
        Scene(id="s900", number="2", planned_frames=9),
        scene(clip(reel, 1, 8), clip(reel, 4, 10), clip(reel, 1, 8), number="3"),
        Card(id="k2"),
        joins={0: through_black(3, 4), 1: dissolve(4, 5)},
        fade_out_frames=2,
    )


def look_ahead(project: Path, include: Include = Include.ALL, *, full: bool = False):
    found = survey(open_film(project).film, project)
    return outlook(found, project, include, full=full, program=find_program(), drawer=drawing, workers=2)


def assert_agree(ahead, made):
    """Entries, lengths, what is left out and why, and the pieces that had to be made."""
    assert ahead.layout == made.layout
    assert ahead.problems == made.problems
    assert ahead.work is not None
    assert ahead.work.pieces_to_make == made.made.pieces_made
    assert ahead.work.pieces - ahead.work.pieces_to_make == made.made.pieces_found


@pytest.mark.parametrize("full", [False, True])
@pytest.mark.parametrize("include", [Include.ALL, Include.SLATES])
def test_what_is_foretold_is_what_is_made(project, reel, include, full):
    film = mixed_film(reel)
    if full:
        film = dataclasses.replace(film, delivery=dataclasses.replace(film.delivery, review_height=36))
    put(project, film)
    ahead = look_ahead(project, include, full=full)
    made = run_assembly(project, find_program(), include=include, full=full)
    assert_agree(ahead, made)
    first = decode_copy(made.files[0]).luma[0]
    assert (ahead.size.height, ahead.size.width) == first.shape
    again = look_ahead(project, include, full=full)
    assert again.work is not None
    assert (again.work.pieces_to_make, again.work.frames_to_make, again.work.sounds_to_make) == (0, 0, 0)
    assert_agree(again, run_assembly(project, find_program(), include=include, full=full))


def test_the_frames_to_make_are_those_of_the_pieces(project, reel):
    """Each kind of piece is made once, however often it stands in the film."""
    put(project, make_film(RATE, scene(clip(reel, 1, 8), clip(reel, 4, 10), clip(reel, 1, 8))))
    work = look_ahead(project).work
    assert work is not None
    assert (work.pieces, work.pieces_to_make, work.frames_to_make) == (2, 2, 18)


def test_a_trim_makes_one_piece_and_a_move_none(project, reel):
    film = put(project, make_film(RATE, scene(clip(reel, 1, 8)), scene(clip(reel, 3, 9), clip(reel, 5, 7))))
    run_assembly(project, find_program())
    moved = dataclasses.replace(film, order=film.order[::-1])
    put(project, moved)
    ahead = look_ahead(project)
    assert ahead.work is not None
    assert ahead.work.pieces_to_make == 0
    one = film.scenes[1]
    trimmed = dataclasses.replace(one.content.clips[0], length_frames=6)
    content = dataclasses.replace(one.content, clips=(trimmed, *one.content.clips[1:]))
    put(
        project,
        dataclasses.replace(moved, scenes=(film.scenes[0], dataclasses.replace(one, content=content))),
    )
    ahead = look_ahead(project)
    assert ahead.work is not None
    assert (ahead.work.pieces_to_make, ahead.work.frames_to_make) == (1, 6)
    assert_agree(ahead, run_assembly(project, find_program()))


def test_the_lines_follow_the_running_order_with_what_is_left_out(project, reel):
    put(project, mixed_film(reel))
    lines = look_ahead(project).lines
    assert [line.why_not for line in lines] == ["", "", "no clips yet", "", "the card is empty"]
    assert [line.start_frames for line in lines] == [0, 12, None, 48, None]
    assert [line.length_frames for line in lines] == [12, 36, 0, 26, 0]
    slates = look_ahead(project, Include.SLATES).lines
    assert [line.slate for line in slates] == [False, True, True, True, False]
    assert slates[2].length_frames == 9


def test_what_is_in_the_way_is_told_and_nothing_is_planned(project, tmp_path, reel):
    source = Path(shutil.copy(reel, tmp_path / "gone.mov"))
    put(project, make_film(RATE, scene(clip(source, 1, 5)), scene(clip(reel, 1, 5))))
    source.unlink()
    ahead = look_ahead(project)
    assert ahead.work is None
    assert [problem.code for problem in ahead.blocking] == ["media.missing"]
    assert ahead.layout.length_frames == 10
    locked = look_ahead(project, Include.LOCKED)
    assert [problem.code for problem in locked.blocking] == ["film.nothing"]


def test_looking_ahead_makes_no_piece(project, reel):
    put(project, mixed_film(reel))
    look_ahead(project)  # which remembers what it read of the footage
    before = snapshot(project)
    look_ahead(project, full=True)
    assert snapshot(project) == before
    assert not (project / ".desk" / "pieces").exists()


def test_the_time_is_measured_once_the_film_was_assembled(project, reel):
    put(project, make_film(RATE, scene(clip(reel, 1, 60))))
    ahead = look_ahead(project)
    assert ahead.work is not None
    assert not ahead.work.time.is_measured
    run_assembly(project, find_program())
    run_assembly(project, find_program())
    put(project, make_film(RATE, scene(clip(reel, 2, 61))))
    ahead = look_ahead(project)
    assert ahead.work is not None
    assert ahead.work.frames_to_make == 61
    assert ahead.work.time.is_measured
    assert ahead.work.time.seconds > 0


# -- a film that the caller holds


def held_assembly(project, film, **order):
    """Assemble for somebody who has the film open, holds its lock and has edited it since."""
    with hold(project, "a window"):
        opened = dataclasses.replace(open_film(project), film=film)
        return run_assembly(project, find_program(), opened=opened, **order)


def test_a_film_that_is_held_is_assembled_as_it_is_given(project, reel):
    film = put(project, make_film(RATE, scene(clip(reel, 1, 9)), scene(clip(reel, 2, 7))))
    before = (project / "film.json").read_bytes()
    edited = dataclasses.replace(film, title="Slack Water", order=film.order[:1], scenes=film.scenes[:1])
    made = held_assembly(project, edited)
    assert made.notice == ""
    assert made.film is edited
    assert len(decode_copy(made.files[0]).frames) == made.frames == 9
    assert made.copy.file == "out/slack-water-review-001.mp4"
    assert (project / made.copy.file).samefile(made.files[0])
    assert (project / "film.json").read_bytes() == before


def test_the_number_is_above_those_of_the_given_film_and_of_the_folder(project, reel):
    film = put(project, make_film(RATE, scene(clip(reel, 1, 5))))
    had = ReviewCopy(number=4, date="2026-03-01", file="gone.mp4", frames=5)
    edited = dataclasses.replace(film, review_copies=(had,))
    out = project / "out"
    out.mkdir()
    (out / "the-late-ferry-review-005.otio").write_text("mine")
    made = held_assembly(project, edited)
    assert made.number == made.copy.number == 6
    assert (out / "the-late-ferry-review-005.otio").read_text() == "mine"


def test_the_command_enters_the_copy_that_it_gives_back(project, reel):
    put(project, make_film(RATE, scene(clip(reel, 1, 5))))
    made = run_assembly(project, find_program(), out=project / ".." / "copies")
    (copy,) = open_film(project).film.review_copies
    assert copy == made.copy
    assert copy.file == f"../copies/{made.files[0].name}"
    assert (project / copy.file).is_file()
