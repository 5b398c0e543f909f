"""What is shown at a frame is what the assembly has there: directly, through a made piece, and in the file.

Footage carries its frame numbers in its pictures. They are read from what is shown and compared with what the
rule says (`expected`), which the assembled file is compared with too.
"""

import dataclasses
import itertools
import os
import random
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from desk.assembly.planning import copy_size, open_pieces, rendering_kit
from desk.assembly.survey import survey
from desk.cards import drawing
from desk.cards.fonts import prepare_drawing
from desk.cards.png import write_png
from desk.ffmpeg.program import find_program
from desk.film.model import Card, CardKind, CreditBlock, CreditRow, Fit, Framing, Motion, Size
from desk.film.rates import FILM_RATES, Rate
from desk.footage.probe import probe
from desk.footage.proxy import make_proxy
from desk.jobs import CancelToken
from desk.render.cache import PieceStore
from desk.render.reel import reel_of_film, reel_of_footage
from desk.render.run import make_piece
from desk.render.showing import Origin, Showing, Shown
from tests.making import make_numbered, read_pictures, run_ffmpeg
from tests.render.films import (
    FOOTAGE,
    RATES,
    SIZE,
    assert_shows,
    clip,
    decode_copy,
    dissolve,
    expected,
    make_film,
    put,
    run_assembly,
    scene,
    through_black,
    with_paths,
)
from tests.render.stills import COLOURS, make_still, patches, plain

pytestmark = pytest.mark.ffmpeg

SPEEDS = (Fraction(1), Fraction(1, 4), Fraction(1, 2), Fraction(2), Fraction(3, 2))
PROGRAM = find_program()


class Desk:
    """A film's reels, and what shows them."""

    def __init__(self, folder, film, proxy=lambda path: None, **options):
        prepare_drawing()
        self.film = put(folder, film)
        self.found = survey(self.film, folder)
        self.size = copy_size(self.film, full=False)
        self.kit = rendering_kit(
            self.found, open_pieces(folder), full=False, program=PROGRAM, drawer=drawing, workers=2
        )
        self.showing = Showing(self.kit, proxy=proxy, **options)

    def reel(self):
        return reel_of_film(self.film, self.found.media, self.size)

    def make(self, reel):
        for placed in reel.placed:
            make_piece(placed.piece, rate=reel.rate, size=reel.size, kit=self.kit, cancel=CancelToken())

    def shown(self, reel, frames=None, size=None):
        width, height = size or (reel.size.width, reel.size.height)
        asked = range(reel.frames) if frames is None else frames
        return [self.showing.picture(reel, frame, width, height) for frame in asked]


def luma(shown: Shown):
    """Return Y of BT.709, limited, of what is shown, so that it compares with a decoded copy."""
    assert shown.pixels.dtype == np.uint8
    assert (shown.pixels[..., 3] == 255).all()
    blue, green, red = (shown.pixels[..., at].astype(np.float64) for at in range(3))
    return np.round(16 + 219 / 255 * (0.2126 * red + 0.7152 * green + 0.0722 * blue)).astype(np.uint8)


def numbers(pictures: list[Shown]) -> list[int]:
    return [reading.number for reading in read_pictures([luma(shown) for shown in pictures])]


def wrong_numbers(pictures, wanted):
    """Return where another frame is shown than is wanted, as far as it can be read."""
    found = []
    for frame, (number, shown) in enumerate(zip(numbers(pictures), wanted, strict=True)):
        readable = shown.number is not None and shown.share >= Fraction(1, 3) and not shown.black
        if readable and number != shown.number:
            found.append((frame, shown.number, number))
    return found


def every_source(footage, rate):
    """Clips of every kind of footage, from within a group of pictures and part of a frame in."""
    speeds, clips = itertools.cycle(SPEEDS), []
    for name in FOOTAGE:
        source = footage[name]
        for at in (7, len(source.times) // 2):
            speed = next(speeds)
            left = source.times[-1] - source.times[at]
            frames = min(8, int(left * rate.fraction / speed))
            clips.append(clip(source, source.frame_seconds(at, into=Fraction(at % 4, 4)), frames, speed))
        next(speeds)
    return [scene(*clips[at : at + 6]) for at in range(0, len(clips), 6)]


@pytest.mark.parametrize("rate", FILM_RATES, ids=str)
def test_every_source_shows_the_same_frames_directly_and_in_any_order(project, footage, rate):
    # Without memory, so that every frame is looked for anew.
    desk = Desk(project, make_film(rate, *every_source(footage, rate)), cache_bytes=0)
    reel = desk.reel()
    wanted = expected(desk.film, with_paths(project, footage))
    assert reel.frames == len(wanted)
    shown = desk.shown(reel)
    assert {picture.origin for picture in shown} == {Origin.FOOTAGE}
    assert wrong_numbers(shown, wanted) == []
    order = list(range(reel.frames))
    random.Random(7).shuffle(order)
    again = dict(zip(order, desk.shown(reel, order), strict=True))
    for frame in range(reel.frames):
        np.testing.assert_array_equal(again[frame].pixels, shown[frame].pixels)
    desk.showing.close()


@pytest.mark.parametrize("rate", RATES, ids=str)
def test_pieces_show_what_the_assembled_file_has(project, footage, rate):
    """The same number at each frame directly, through pieces made alone and in the file, which uses them."""
    names = ("mp4 25", "phone mp4", "hevc 10", "ts 25", "open mp4", "mov 23.976")
    shots = [
        clip(footage[name], footage[name].frame_seconds(20, into=Fraction(1, 3)), 12, speed)
        for name, speed in zip(names, itertools.cycle(SPEEDS), strict=False)
    ]
    film = make_film(rate, scene(*shots[:3]), scene(*shots[3:]))
    desk = Desk(project, film)
    reel = desk.reel()
    wanted = expected(desk.film, with_paths(project, footage))
    direct = desk.shown(reel)
    desk.make(reel)
    made = desk.shown(reel)
    assert {picture.origin for picture in direct} == {Origin.FOOTAGE}
    assert {picture.origin for picture in made} == {Origin.PIECE}
    assert wrong_numbers(direct, wanted) == []
    assert wrong_numbers(made, wanted) == []
    copy = run_assembly(project, PROGRAM)
    assert copy.made.pieces_made == 0
    decoded = decode_copy(copy.files[0])
    assert_shows(decoded, wanted, rate)
    for frame in random.Random(3).sample(range(reel.frames), 40):
        (picture,) = desk.shown(reel, [frame])
        # Y, U and V are rounded once more on the way through red, green and blue.
        assert np.abs(luma(picture).astype(int) - decoded.luma[frame].astype(int)).mean() < 1


def difference(one: Shown, other: Shown) -> float:
    """Return the mean absolute difference of two pictures' levels, of 255."""
    return float(np.abs(one.pixels[..., :3].astype(int) - other.pixels[..., :3].astype(int)).mean())


def directly_and_made(desk, reel, frames, size=None):
    direct = desk.shown(reel, frames, size)
    desk.make(reel)
    made = desk.shown(reel, frames, size)
    assert all(picture.origin is Origin.PIECE for picture in made if not is_black(picture))
    return direct, made


def is_black(picture):
    return not picture.pixels[..., :3].any()


# -- joins, black, cards


def test_joins_and_black_are_mixed_as_in_pieces(project, footage):
    rate = Rate(25)
    shots = [
        clip(footage[name], footage[name].frame_seconds(20, into=Fraction(1, 3)), 24, speed, **fields)
        for name, speed, fields in (
            ("mp4 25", 1, {"gap_frames": 3}),
            ("mkv 29.97", 1, {}),
            ("phone mp4", Fraction(1, 2), {}),
            ("ts 25", 2, {"gap_frames": 4}),
        )
    ]
    joins = {0: dissolve(6, 5), 1: through_black(5, 6), 2: through_black(7, 0)}
    film = make_film(rate, *(scene(shot) for shot in shots), joins=joins, fade_in_frames=6, fade_out_frames=8)
    desk = Desk(project, film)
    reel = desk.reel()
    wanted = expected(desk.film, with_paths(project, footage))
    direct, made = directly_and_made(desk, reel, range(reel.frames))
    for pictures in (direct, made):
        assert wrong_numbers(pictures, wanted) == []
        assert [is_black(picture) for picture in pictures if picture.origin is Origin.DRAWING] == [True] * 7
    # Compression at this size; a weight that is one frame off would be 20 levels off.
    assert max(itertools.starmap(difference, zip(direct, made, strict=True))) < 3


def test_a_dissolve_has_the_weights_stated(project, tmp_path):
    """Frame j of n, from 0, is (j + 1) / (n + 1) of what comes."""
    dark, light = (
        make_still(tmp_path / f"{name}.mp4", plain((level,) * 3, (128, 72)), frames=60)
        for name, level in (("dark", 0.2), ("light", 0.8))
    )
    film = make_film(Rate(25), scene(clip(dark, 1, 10)), scene(clip(light, 1, 10)), joins={0: dissolve(4, 3)})
    desk = Desk(project, film)
    means = [float(picture.pixels[..., :3].mean()) for picture in desk.shown(desk.reel())]
    wanted = [51.0] * 6 + [51 + 153 * (j + 1) / 8 for j in range(7)] + [204.0] * 7
    np.testing.assert_allclose(means, wanted, atol=1.5)


NAMES = ("Ida Holm", "Jon Aske", "Mara Lund", "Per Vik", "Lise Dahl", "Olav Moe")
ROWS = tuple(CreditRow(role=f"Role {at}", names=(name,)) for at, name in enumerate(NAMES))
ROLL = Card(
    id="k1",
    kind=CardKind.CREDITS,
    name="Credits",
    credits=(CreditBlock(heading="Crew", rows=ROWS),),
    motion=Motion.ROLL,
    roll_px=3,
)
TITLE = Card(
    id="k2", name="Title", lines=("The Late Ferry", "a film"), length_frames=20, background="#203040"
)


@pytest.mark.parametrize("card", [TITLE, ROLL], ids=["title", "roll"])
@pytest.mark.parametrize("with_picture", [False, True])
def test_cards_and_rolls_stand_where_they_stand_in_pieces(project, tmp_path, card, with_picture):
    if with_picture:
        rows = np.zeros((90, 160, 3), np.uint8)
        rows[:, :80], rows[:, 80:] = 200, 40
        write_png(tmp_path / "kiosk.png", width=160, height=90, channels=3, bands=[rows])
        card = dataclasses.replace(card, picture=str(tmp_path / "kiosk.png"))
    film = make_film(Rate(25), card, size=Size(320, 180), fade_in_frames=5, fade_out_frames=5)
    desk = Desk(project, film)
    reel = desk.reel()
    frames = range(0, reel.frames, 3)
    direct, made = directly_and_made(desk, reel, frames)
    assert {picture.origin for picture in direct} == {Origin.DRAWING}
    assert max(itertools.starmap(difference, zip(direct, made, strict=True))) < 3
    if card.motion is Motion.ROLL:
        # Each is another picture: one from another frame would be farther off.
        for at in range(5, len(frames) - 5):
            assert difference(direct[at], made[at]) < difference(direct[at], made[at + 1])


# -- places, shapes, colours


FRAMINGS = {
    "whole": Framing(),
    "fill": Framing(fit=Fit.FILL),
    "half": Framing(scale=0.5),
    "moved": Framing(scale=0.5, x=0.1, y=-0.1),
    "larger": Framing(fit=Fit.FILL, scale=1.5, x=0.25, y=0.125),
    "corner": Framing(scale=0.25, x=0.5, y=0.5),
    "close": Framing(scale=6, x=0.4, y=-1.1),
}


@pytest.mark.parametrize("framing", FRAMINGS.values(), ids=FRAMINGS)
@pytest.mark.parametrize(
    "shape",
    [{}, {"rotation": 90}, {"rotation": 180}, {"rotation": 270}, {"pixel_aspect": Fraction(16, 15)}],
    ids=["upright", "90", "180", "270", "16:15"],
)
def test_framing_puts_the_picture_where_pieces_have_it(project, tmp_path, framing, shape):
    source = make_still(tmp_path / "reel.mov", patches((240, 180)), **shape)
    film = make_film(Rate(25), scene(clip(source, 0, 2, framing=framing)), size=Size(320, 180))
    desk = Desk(project, film)
    reel = desk.reel()
    sizes = ((320, 180), (160, 90), (300, 169))
    direct = [desk.shown(reel, [0], size)[0] for size in sizes]
    assert [picture.pixels.shape for picture in direct] == [(high, wide, 4) for wide, high in sizes]
    assert {picture.origin for picture in direct} == {Origin.FOOTAGE}
    desk.make(reel)
    made = [desk.shown(reel, [0], size)[0] for size in sizes]
    # Edges are soft by a pixel, since the one is scaled once and the other twice; wrong by a whole patch
    # would be some 60 levels.
    assert max(itertools.starmap(difference, zip(direct, made, strict=True))) < 5


def test_a_picture_of_which_little_is_seen_is_not_made_as_a_whole(project, tmp_path):
    """At a hundred times the size it would have 24,000 x 18,000 pixels."""
    source = make_still(tmp_path / "reel.mov", patches((240, 180)))
    framing = Framing(scale=100, x=-8, y=4)
    film = make_film(Rate(25), scene(clip(source, 0, 2, framing=framing)), size=Size(320, 180))
    desk = Desk(project, film)
    (shown,) = desk.shown(desk.reel(), [0])
    # 8 of its 75 widths right of its middle and 4 of 100 above it: in the third patch of the upper row.
    wanted = [255 * level for level in reversed(COLOURS["red"])]
    assert np.abs(shown.pixels[..., :3].astype(int) - wanted).max() <= 3


KINDS = {
    "bt709": {},
    "bt709 full": {"full_range": True},
    "10-bit hevc": {"bits": 10, "codec": "libx265"},
    "bt2020 10-bit": {"bits": 10, "codec": "libx265", "matrix": "bt2020nc"},
    "4:4:4": {"halved": False},
    "pal": {"matrix": "bt470bg"},
    "sd untagged": {"matrix": "smpte170m", "tagged": False},
}


@pytest.mark.parametrize("kind", KINDS)
def test_colours_are_those_that_were_filmed(project, tmp_path, kind):
    """Compared with the colours themselves, which the standards' matrices brought into the file."""
    source = make_still(tmp_path / "reel.mp4", patches((128, 72)), **KINDS[kind])
    desk = Desk(project, make_film(Rate(25), scene(clip(source, 0, 2))))
    reel = desk.reel()
    direct, made = directly_and_made(desk, reel, [0])
    quick = desk.showing.picture(reel, 0, SIZE.width, SIZE.height, quick=True)
    for shown, tolerance in ((direct[0], 3), (made[0], 4), (quick, 5)):
        for place, colour in enumerate(COLOURS.values()):
            row, column = divmod(place, 4)
            part = shown.pixels[row * 36 + 9 : row * 36 + 27, column * 32 + 8 : column * 32 + 24, :3]
            wanted = [255 * level for level in reversed(colour)]
            np.testing.assert_allclose(part.mean(axis=(0, 1)), wanted, atol=tolerance)


def test_two_fields_are_one_picture_as_in_pieces(project, tmp_path):
    """Where things move from field to field, fields that are only woven comb."""
    source = tmp_path / "fields.mov"
    moving = "testsrc2=s=128x72:r=50:d=1"
    run_ffmpeg(
        "-f", "lavfi", "-i", moving, "-vf", "tinterlace=interleave_top,setfield=tff", "-c:v", "libx264",
        "-crf", "1", "-flags", "+ildct+ilme", "-x264-params", "tff=1", source,
    )  # fmt: skip
    desk = Desk(project, make_film(Rate(25), scene(clip(source, 0, 25))))
    (media,) = desk.found.media.values()
    assert media.picture.interlaced
    # So little compression that what is left is one rounding; fields that are woven differ by 2.5 and more.
    desk.kit = dataclasses.replace(desk.kit, encoding=dataclasses.replace(desk.kit.encoding, crf=4))
    desk.showing.renew(desk.kit)
    direct, made = directly_and_made(desk, desk.reel(), range(25))
    for one, other in zip(direct, made, strict=True):
        assert np.abs(luma(one).astype(int) - luma(other)).mean() < 2


# -- raw footage, proxies, what is missing


def test_raw_footage_is_shown_from_its_first_to_its_last_frame(project, footage):
    for name in ("mp4 25", "phone mkv", "mp4 50"):
        source = footage[name]
        desk = Desk(project / name, make_film(Rate(25), scene(clip(source, 0, 5))))
        (path,) = desk.found.media
        reel = reel_of_footage(path, desk.found.media[path], Rate(25), SIZE)
        wanted = [source.number_at(Rate(25).seconds(frame)) for frame in range(reel.frames)]
        assert wanted[-1] >= source.first_number + len(source.times) - 2
        assert numbers(desk.shown(reel)) == wanted


def test_a_proxy_is_shown_where_there_is_one_and_a_piece_before_it(project, footage, tmp_path):
    source = footage["phone mp4"]
    film = make_film(Rate(30000, 1001), scene(clip(source, Fraction(1, 3), 40, Fraction(3, 2))))
    proxy = tmp_path / "proxy.mov"
    make_proxy(source.path, probe(source.path), proxy, program=PROGRAM)
    proxies = {}
    desk = Desk(project, film, proxies.get)
    reel = desk.reel()
    (path,) = desk.found.media
    wanted = expected(desk.film, with_paths(project, footage))
    for origin in (Origin.FOOTAGE, Origin.PROXY, Origin.PIECE):
        if origin is Origin.PROXY:
            proxies[path] = proxy
        if origin is Origin.PIECE:
            desk.make(reel)
        pictures = desk.shown(reel)
        assert {picture.origin for picture in pictures} == {origin}
        assert wrong_numbers(pictures, wanted) == []
    proxies[path] = tmp_path / "gone.mov"
    desk.showing.renew(dataclasses.replace(desk.kit, store=PieceStore(tmp_path / "empty")))
    assert desk.shown(reel, [3])[0].origin is Origin.FOOTAGE


def test_a_piece_that_is_damaged_or_gone_is_shown_directly(project, footage):
    film = make_film(Rate(25), scene(clip(footage["mp4 25"], 1, 20)))
    desk = Desk(project, film)
    reel = desk.reel()
    desk.make(reel)
    assert desk.shown(reel, [3])[0].origin is Origin.PIECE
    (piece,) = desk.kit.store.folder.glob("*.mp4")
    piece.unlink()
    fresh = Desk(project, film)
    (shown,) = fresh.shown(reel, [3])
    assert shown.origin is Origin.FOOTAGE
    assert numbers([shown]) == [footage["mp4 25"].first_number + 28]
    fresh.make(reel)
    (piece,) = desk.kit.store.folder.glob("*.mp4")
    piece.write_bytes(bytes(piece.stat().st_size))
    assert Desk(project, film).shown(reel, [3])[0].origin is Origin.FOOTAGE


def test_what_is_missing_is_black_with_a_sentence(project, footage, tmp_path):
    gone = make_numbered(tmp_path / "gone.mp4", frames=40, size=(128, 72))
    shots = [clip(footage["mp4 25"], 1, 5), clip(gone, 0, 5), clip(footage["mp4 25"], Fraction(314, 25), 9)]
    film = make_film(Rate(25), scene(shots[0], shots[1]), scene(shots[2]), joins={0: dissolve(2, 2)})
    desk = Desk(project, film)
    gone.unlink()
    reel = desk.reel()
    shown = desk.shown(reel)
    origins = [picture.origin.value for picture in shown]
    assert origins == ["footage"] * 5 + ["missing"] * 7 + ["footage"] * 4 + ["missing"] * 3
    for picture in shown:
        assert (picture.origin is Origin.MISSING) == bool(picture.note)
        assert is_black(picture) == bool(picture.note)
    assert all("gone.mp4" in picture.note for picture in shown[5:12])
    with pytest.raises(IndexError):
        desk.showing.picture(reel, reel.frames, 128, 72)


def test_only_so_many_files_are_open(project, tmp_path):
    sources = [make_numbered(tmp_path / f"{at}.mp4", frames=5, size=(128, 72), start=at) for at in range(12)]
    film = make_film(Rate(25), scene(*(clip(source, 0, 3) for source in sources)))
    desk = Desk(project, film)
    reel = desk.reel()
    assert numbers(desk.shown(reel)) == [at + frame for at in range(12) for frame in range(3)]
    folder = str(tmp_path)
    opened = [path for path in Path("/proc/self/fd").iterdir() if os.path.realpath(path).startswith(folder)]
    assert 0 < len(opened) <= 6
    desk.showing.close()
    opened = [path for path in Path("/proc/self/fd").iterdir() if os.path.realpath(path).startswith(folder)]
    assert opened == []
