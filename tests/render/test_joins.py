"""Dissolves, fades, cards and slates in the assembled file: measured against the weights and rules stated.

Frame j of a passage of n frames, from 0, is (j + 1) / (n + 1) of what comes; the length of the film and the
frames outside are those of a cut (OpenTimelineIO's in_offset and out_offset).
"""

import dataclasses
import itertools
import os
from fractions import Fraction

import av
import numpy as np
import pytest

from desk.cards import drawing
from desk.cards.png import write_png
from desk.cli.main import main
from desk.film.model import Card, CardKind, CreditBlock, CreditRow, Delivery, Motion, Size
from desk.film.rates import Rate
from desk.film.timing import Include
from tests.making import read_pictures
from tests.render.films import (
    assert_shows,
    clip,
    decode_copy,
    dissolve,
    expected,
    make_film,
    put,
    run_assembly,
    scene,
    session_folder,
    through_black,
    with_paths,
)
from tests.render.stills import make_still, plain, ycbcr

pytestmark = pytest.mark.ffmpeg

DARK, LIGHT = (0.15, 0.2, 0.3), (0.85, 0.75, 0.6)
BLACK = (16.0, 128.0, 128.0)
SIZE = (128, 72)


@pytest.fixture(scope="module")
def dark(tmp_path_factory):
    return still(tmp_path_factory, "dark", DARK)


@pytest.fixture(scope="module")
def light(tmp_path_factory):
    return still(tmp_path_factory, "light", LIGHT)


def still(factory, name, colour):
    path = session_folder(factory, "stills") / f"{name}.mp4"
    if not path.exists():
        make_still(path.with_name(f"{name}-{os.getpid()}.mp4"), plain(colour, SIZE), frames=700).replace(path)
    return path


def levels(decoded):
    """Return the mean Y, U and V of each frame."""
    return np.array([[plane.mean() for plane in frame] for frame in decoded.frames])


def mixed(outgoing, incoming, frames):
    return [
        tuple(a + (b - a) * (j + 1) / (frames + 1) for a, b in zip(outgoing, incoming, strict=True))
        for j in range(frames)
    ]


@pytest.mark.parametrize(("before", "after"), [(5, 6), (0, 1), (1, 0), (12, 0), (0, 9)])
def test_a_dissolve_has_the_weights_stated(project, program, dark, light, before, after):
    rate = Rate(25)
    film = make_film(
        rate, scene(clip(dark, 2, 20)), scene(clip(light, 2, 20)), joins={0: dissolve(before, after)}
    )
    decoded = decode_copy(run_assembly(project, program, film).files[0])
    one, other = ycbcr(DARK), ycbcr(LIGHT)
    wanted = [one] * (20 - before) + mixed(one, other, before + after) + [other] * (20 - after)
    np.testing.assert_allclose(levels(decoded), wanted, atol=1.5)


@pytest.mark.parametrize("rate", [Rate(24000, 1001), Rate(25), Rate(30000, 1001)], ids=str)
def test_long_fades_in_pieces_and_through_black(project, program, dark, light, rate):
    """A fade that is longer than a piece may be goes on evenly from piece to piece."""
    before = int(11 * rate.fraction)
    length = before + 20
    film = make_film(
        rate,
        scene(clip(dark, 1, length)),
        scene(clip(light, 1, 60)),
        joins={0: through_black(before, 7)},
        fade_in_frames=4,
        fade_out_frames=6,
    )
    decoded = decode_copy(run_assembly(project, program, film).files[0])
    one, other = ycbcr(DARK), ycbcr(LIGHT)
    wanted = [
        *mixed(BLACK, one, 4), *[one] * (length - before - 4), *mixed(one, BLACK, before),
        *mixed(BLACK, other, 7), *[other] * (60 - 7 - 6), *mixed(other, BLACK, 6),
    ]  # fmt: skip
    np.testing.assert_allclose(levels(decoded), wanted, atol=1.5)


def test_joins_of_footage_leave_all_other_frames_as_they_are(project, program, footage):
    """Numbered frames around joins of all kinds; in fades also those inside, as far as they can be read."""
    rate = Rate(25)
    names = ("mp4 25", "mkv 29.97", "phone mp4", "ts 25", "mov 100", "open hevc")
    shots = [
        clip(footage[name], footage[name].frame_seconds(20, into=Fraction(1, 3)), 24, speed)
        for name, speed in zip(names, (1, 1, Fraction(1, 2), 2, Fraction(1, 4), 1), strict=True)
    ]
    film = make_film(
        rate,
        scene(shots[0]),
        scene(shots[1], clip(footage["mp4 50"], 1, 12)),
        scene(shots[2]),
        scene(shots[3]),
        scene(shots[4]),
        scene(shots[5]),
        joins={
            0: dissolve(6, 6),
            1: through_black(5, 5),
            2: dissolve(0, 7),
            3: dissolve(7, 0),
            4: through_black(0, 9),
        },
        fade_in_frames=5,
        fade_out_frames=8,
    )
    film = put(project, film)
    made = run_assembly(project, program)
    wanted = expected(film, with_paths(project, footage))
    assert_shows(decode_copy(made.files[0]), wanted, rate)


def test_a_single_clip_between_two_dissolves(project, program, footage):
    """All of a short clip may be in its joins, with nothing of its own between them."""
    rate = Rate(25)
    source = footage["mp4 25"]
    film = make_film(
        rate,
        scene(clip(source, 1, 20)),
        scene(clip(source, 4, 10)),
        scene(clip(source, 8, 20)),
        joins={0: dissolve(4, 5), 1: dissolve(5, 4)},
    )
    film = put(project, film)
    wanted = expected(film, with_paths(project, footage))
    assert sum(frame.number is None for frame in wanted) == 18
    assert_shows(decode_copy(run_assembly(project, program).files[0]), wanted, rate)


# -- cards and slates


def drawn(path):
    """Return a drawn PNG as Y of BT.709, limited."""
    with av.open(str(path)) as container:
        rgb = next(container.decode(video=0)).to_ndarray(format="rgb24").astype(np.float64) / 255
    return ycbcr(np.moveaxis(rgb, -1, 0))[0]


TITLE = Card(
    id="k1", name="Title", lines=("The Late Ferry", "a film"), length_frames=20, background="#203040"
)


def test_a_card_stands_as_it_was_drawn_and_joins_like_a_scene(project, program, light, tmp_path):
    film = make_film(
        Rate(25),
        TITLE,
        scene(clip(light, 1, 20)),
        joins={0: dissolve(3, 4)},
        fade_in_frames=3,
        size=Size(320, 180),
    )
    decoded = decode_copy(run_assembly(project, program, film).files[0])
    drawing.draw_card(TITLE, film_size=Size(320, 180), size=Size(320, 180), target=tmp_path / "card.png")
    card = drawn(tmp_path / "card.png")
    assert len(decoded.frames) == 40
    for frame in range(3, 17):
        assert np.abs(decoded.luma[frame] - card).mean() < 2
    other = ycbcr(LIGHT)[0]
    for j in range(7):
        wanted = card + (other - card) * (j + 1) / 8
        assert np.abs(decoded.luma[17 + j] - wanted).mean() < 2
    for j in range(3):
        assert np.abs(decoded.luma[j] - (16 + (card - 16) * (j + 1) / 4)).mean() < 2
    assert np.abs(levels(decoded)[24:] - ycbcr(LIGHT)).max() < 1.5


def credits_card(**fields):
    names = ("Ida Holm", "Jon Aske", "Mara Lund", "Per Vik", "Lise Dahl", "Olav Moe")
    rows = tuple(CreditRow(role=f"Role {at}", names=(name,)) for at, name in enumerate(names))
    block = CreditBlock(heading="Crew", rows=rows)
    return Card(
        id="k2", kind=CardKind.CREDITS, name="Credits", credits=(block,), motion=Motion.ROLL, **fields
    )


@pytest.mark.parametrize(
    ("film_size", "roll_px", "moved_px"),
    [(Size(320, 180), 1, 1), (Size(640, 360), 2, 1), (Size(320, 180), 3, 3)],
)
def test_a_roll_moves_by_whole_pixels_each_frame(project, program, light, film_size, roll_px, moved_px):
    """Each frame is the one before, moved up; also from piece to piece, and in a copy of another size."""
    film = make_film(
        Rate(24000, 1001),
        credits_card(roll_px=roll_px),
        scene(clip(light, 1, 5)),
        size=film_size,
        delivery=Delivery(review_height=180),
        # So that another piece begins while the list is well within the frame.
        fade_in_frames=120 // moved_px,
    )
    decoded = decode_copy(run_assembly(project, program, film).files[0])
    frames = [picture.astype(np.float64) for picture in decoded.luma[:-5]]
    # Common practice, no source: a list of 8 lines, of which a frame has 18, and one frame pass by.
    assert len(frames) == -(-(180 + 80) // moved_px)
    assert frames[0].max() < 20
    assert max(frame.max() for frame in frames) > 120
    judged = 0
    for before, after in itertools.pairwise(frames):
        error = {px: np.abs(before[px:] - after[: len(after) - px]).mean() for px in range(moved_px + 3)}
        if error[0] > 0.3:  # else hardly anything has come into the frame, or is left of it
            assert min(error, key=error.__getitem__) == moved_px
            assert error[moved_px] < error[0] / 2
            judged += 1
    assert judged > 0.5 * len(frames)


@pytest.fixture(scope="module")
def painting(tmp_path_factory):
    """A still picture: a light left half and a dark right one."""
    path = tmp_path_factory.mktemp("pictures") / "kiosk.png"
    paint(path, 200, 40)
    return path


def paint(path, left, right):
    picture = np.zeros((90, 160, 3), np.uint8)
    picture[:, :80], picture[:, 80:] = left, right
    write_png(path, width=160, height=90, channels=3, bands=[picture])


def halves(frame):
    """Return the mean Y of two stripes at the left and right edge."""
    return frame[:, :12].mean(), frame[:, -12:].mean()


def test_a_picture_behind_a_card_is_seen_and_a_changed_one_is_drawn_again(project, program, light, tmp_path):
    picture = tmp_path / "pictures" / "kiosk.png"
    picture.parent.mkdir()
    paint(picture, 200, 40)
    card = dataclasses.replace(TITLE, picture=str(picture), background="#000000")
    film = make_film(Rate(25), card, scene(clip(light, 1, 5)), size=Size(320, 180))
    made = run_assembly(project, program, film)
    drawing.draw_card(
        card, film_size=film.size, size=film.size, target=tmp_path / "card.png", picture=picture
    )
    wanted = drawn(tmp_path / "card.png")
    assert halves(wanted)[0] > halves(wanted)[1] + 20
    assert np.abs(decode_copy(made.files[0]).luma[10] - wanted).mean() < 2
    paint(picture, 40, 200)
    again = run_assembly(project, program)
    assert again.made.pieces_made == 1
    left, right = halves(decode_copy(again.files[0]).luma[10])
    assert right > left + 20


def test_a_roll_goes_over_a_picture_that_stands(project, program, light, painting):
    card = credits_card(roll_px=3, picture=str(painting))
    film = make_film(Rate(25), card, scene(clip(light, 1, 5)), size=Size(320, 180))
    frames = decode_copy(run_assembly(project, program, film).files[0]).luma[:-5]
    for frame in frames:
        left, right = halves(frame.astype(np.float64))
        assert left == pytest.approx(halves(frames[0])[0], abs=1.5)
        assert left > right + 10
    middle = [frame[:, 60:260].max() for frame in frames]
    assert middle[len(frames) // 2] > middle[0] + 30


def test_slates_stand_for_scenes_that_are_not_locked(project, program, footage, tmp_path):
    """As long as planned, or as the clips are; named by number, slugline and why the scene is not there."""
    rate = Rate(25)
    locked = scene(clip(footage["mp4 25"], 1, 20), number="1")
    draft = dataclasses.replace(
        scene(clip(footage["mp4 25"], 2, 15), number="2"), slugline="INT. KIOSK - DAY"
    )
    planned = dataclasses.replace(scene(number="3"), slugline="EXT. QUAY - DAWN", planned_frames=12)
    size = Size(320, 180)
    put(project, make_film(rate, locked, draft, planned, joins={0: dissolve(2, 2)}, size=size))
    assert main(["lock", str(project), "1", "--reason", "test"]) == 0
    made = run_assembly(project, program, include=Include.SLATES)
    decoded = decode_copy(made.files[0])
    assert len(decoded.frames) == 20 + 15 + 12
    readings = read_pictures(decoded.luma[:18])
    assert [reading.number for reading in readings] == list(range(1025, 1043))
    for first, end, number, slugline, note in (
        (22, 35, "2", "INT. KIOSK - DAY", "not locked"),
        (35, 47, "3", "EXT. QUAY - DAWN", "no footage yet"),
    ):
        target = tmp_path / f"{number}.png"
        drawing.draw_slate(number=number, slugline=slugline, note=note, size=size, target=target)
        slate = drawn(target)
        for frame in range(first, end):
            assert np.abs(decoded.luma[frame] - slate).mean() < 2
