"""The estimate's arithmetic: what is learned from measured runs, and what it says of the next."""

import json

import pytest

from desk.assembly.speed import Estimate, Run, Speed, SpeedFile, about, estimate, learned
from desk.film.model import Size
from desk.render.encoding import FULL, REVIEW

SIZE = Size(1280, 720)
PLAN = {"size": SIZE, "encoding": REVIEW, "workers": 2}


def seconds_of(speed: Speed, made_frames: int, film_frames: int) -> float:
    return estimate(speed, made_frames=made_frames, film_frames=film_frames, **PLAN).seconds


def test_a_run_that_made_nothing_tells_what_the_film_takes_besides():
    speed = learned(Speed(), Run(made_frames=0, film_frames=1000, seconds=4.0))
    assert speed == Speed(rest_seconds=0.004)
    assert seconds_of(speed, 0, 2500) == pytest.approx(10)


def test_a_run_that_made_pictures_tells_what_one_takes_beyond_that():
    speed = learned(
        Speed(rest_seconds=0.004), Run(made_frames=500, film_frames=1000, seconds=4.0 + 500 * 0.02)
    )
    assert speed.picture_seconds == pytest.approx(0.02)
    # Two minutes of film at 25 frames a second, half of it to be made.
    assert seconds_of(speed, 1500, 3000) == pytest.approx(1500 * 0.02 + 3000 * 0.004)


@pytest.mark.parametrize("made", [50, 2500, 100_000])
def test_the_same_run_again_takes_what_it_took(made):
    run = Run(made_frames=made, film_frames=100_000, seconds=200.0 + made * 0.03)
    known = Speed(rest_seconds=0.002)
    for _ in range(3):
        known = learned(known, run)
        assert seconds_of(known, made, 100_000) == pytest.approx(run.seconds)


def test_a_slower_run_moves_the_estimate_half_way():
    known = Speed(picture_seconds=0.01, rest_seconds=0.0)
    known = learned(known, Run(made_frames=1000, film_frames=1000, seconds=30.0))
    assert known.picture_seconds == pytest.approx(0.02)


def test_a_handful_of_frames_says_nothing():
    known = Speed(picture_seconds=0.01, rest_seconds=0.001)
    assert learned(known, Run(made_frames=3, film_frames=1000, seconds=9.0)) == known
    assert learned(known, Run(made_frames=0, film_frames=0, seconds=9.0)) == known


def test_a_run_quicker_than_the_rest_was_does_not_go_below_nothing():
    speed = learned(Speed(rest_seconds=1.0), Run(made_frames=100, film_frames=100, seconds=5.0))
    assert speed.picture_seconds == 0


def test_what_was_not_measured_is_a_guess_that_grows_with_the_work():
    first = estimate(Speed(), made_frames=1000, film_frames=1000, **PLAN)
    assert not first.is_measured
    assert estimate(Speed(), made_frames=2000, film_frames=2000, **PLAN).seconds == pytest.approx(
        2 * first.seconds
    )
    full = {**PLAN, "encoding": FULL, "size": Size(2560, 1440)}
    assert estimate(Speed(), made_frames=1000, film_frames=1000, **full).seconds > 4 * first.seconds
    alone = {**PLAN, "workers": 1}
    assert estimate(Speed(), made_frames=1000, film_frames=1000, **alone).seconds > first.seconds


def test_only_what_decides_has_to_be_measured():
    rest = Speed(rest_seconds=0.125)
    assert estimate(rest, made_frames=0, film_frames=8, **PLAN) == Estimate(1.0, is_measured=True)
    assert not estimate(rest, made_frames=9, film_frames=9, **PLAN).is_measured
    picture = Speed(picture_seconds=0.02)
    assert estimate(picture, made_frames=9, film_frames=9, **PLAN).is_measured


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (0, "a few seconds"),
        (9.9, "a few seconds"),
        (10, "about 10 seconds"),
        (31, "about 40 seconds"),
        (45, "about a minute"),
        (89, "about a minute"),
        (95, "about 2 minutes"),
        (130, "about 2 minutes"),
        (1190, "about 20 minutes"),
        (1270, "about 20 minutes"),
        (1400, "about 25 minutes"),
        (3000, "about 50 minutes"),
        (3400, "about an hour"),
        (5400, "about 1½ hours"),
        (7300, "about 2 hours"),
        (36_000, "about 10 hours"),
    ],
)
def test_time_is_said_no_finer_than_it_is_known(seconds, words):
    assert about(seconds) == words


def test_what_is_learned_is_kept_for_each_kind_of_copy(tmp_path):
    SpeedFile(tmp_path).note(SIZE, REVIEW, Run(made_frames=0, film_frames=1000, seconds=4.0))
    SpeedFile(tmp_path).note(SIZE, REVIEW, Run(made_frames=500, film_frames=1000, seconds=14.0))
    SpeedFile(tmp_path).note(SIZE, FULL, Run(made_frames=500, film_frames=500, seconds=50.0))
    kept = SpeedFile(tmp_path)
    assert kept.speed(SIZE, REVIEW) == Speed(picture_seconds=0.02, rest_seconds=0.004)
    assert kept.speed(SIZE, FULL).rest_seconds is None
    assert kept.speed(SIZE, FULL).picture_seconds == pytest.approx(0.1, rel=0.01)
    assert kept.speed(Size(640, 360), REVIEW) == Speed()


def test_the_speed_of_another_machine_is_not_used(tmp_path):
    SpeedFile(tmp_path).note(SIZE, REVIEW, Run(made_frames=0, film_frames=10, seconds=1.0))
    path = tmp_path / ".desk" / "speed.json"
    kept = json.loads(path.read_text())
    path.write_text(json.dumps(kept | {"machine": "another"}))
    assert SpeedFile(tmp_path).speed(SIZE, REVIEW) == Speed()
    path.write_text(json.dumps(kept))
    assert SpeedFile(tmp_path).speed(SIZE, REVIEW) != Speed()


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[" * 100_000,
        "[]",
        '{"format": 1}',
        '{"format": 9, "machine": "x", "speeds": {}}',
        '{"format": 1, "machine": "x", "speeds": {"1280x720 veryfast 21": {"rest_seconds": "fast"}}}',
    ],
)
def test_a_file_that_says_nothing_sensible_is_no_fault(tmp_path, text):
    (tmp_path / ".desk").mkdir()
    (tmp_path / ".desk" / "speed.json").write_text(text)
    assert SpeedFile(tmp_path).speed(SIZE, REVIEW) == Speed()
    SpeedFile(tmp_path).note(SIZE, REVIEW, Run(made_frames=0, film_frames=10, seconds=1.0))
    assert SpeedFile(tmp_path).speed(SIZE, REVIEW) == Speed(rest_seconds=0.1)


@pytest.mark.parametrize("figure", [-1, 1e300])
def test_figures_that_no_machine_has_are_not_believed(tmp_path, figure):
    SpeedFile(tmp_path).note(SIZE, REVIEW, Run(made_frames=0, film_frames=10, seconds=1.0))
    path = tmp_path / ".desk" / "speed.json"
    kept = json.loads(path.read_text())
    kept["speeds"]["1280x720 veryfast 21"] = {"picture_seconds": figure, "rest_seconds": 0.1}
    path.write_text(json.dumps(kept))
    assert SpeedFile(tmp_path).speed(SIZE, REVIEW) == Speed(rest_seconds=0.1)


def test_a_place_that_can_not_be_written_is_no_fault(tmp_path):
    (tmp_path / ".desk").touch()
    SpeedFile(tmp_path).note(SIZE, REVIEW, Run(made_frames=0, film_frames=10, seconds=1.0))
    assert (tmp_path / ".desk").read_bytes() == b""
