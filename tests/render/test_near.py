"""A near frame: of the right key frame, placed like the exact one, and only where the exact one takes longer.

Footage carries its frame numbers in its pictures; it has a key frame every 12 frames.
"""

import dataclasses
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from desk.assembly.planning import copy_size, open_pieces, rendering_kit
from desk.assembly.survey import survey
from desk.cards import drawing
from desk.cards.fonts import prepare_drawing
from desk.ffmpeg.program import find_program
from desk.film.model import Card, Clip, Fit, Framing
from desk.film.rates import Rate
from desk.footage.key_pictures import make_key_pictures
from desk.footage.probe import probe
from desk.footage.proxy import make_proxy
from desk.jobs import CancelToken
from desk.render.reel import Reel, reel_of_film
from desk.render.run import make_piece
from desk.render.showing import Origin, Showing, Shown
from tests.making import make_numbered, read_pictures
from tests.render.films import dissolve, make_film, put, scene

pytestmark = pytest.mark.ffmpeg

RATE = Rate(25)
GOP = 12
FRAMES = 96
PROGRAM = find_program()


@pytest.fixture(scope="module")
def footage(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("near")
    for name, options in (("a", {}), ("turned", {"rotation": 90})):
        path = make_numbered(folder / f"{name}.mov", frames=FRAMES, gop=GOP, rate=RATE, **options)
        make_key_pictures(path, probe(path), folder / f"{name}-keys.mov", program=PROGRAM)
        make_proxy(path, probe(path), folder / f"{name}-proxy.mov", program=PROGRAM)
    return folder


class Near:
    """A film, and what shows near frames of it."""

    def __init__(self, folder: Path, footage: Path, *content, proxies=False, keys=True, **options) -> None:
        prepare_drawing()
        self.folder = folder
        film = put(folder, make_film(RATE, *content, **options))
        found = survey(film, folder)
        self.kit = rendering_kit(
            found, open_pieces(folder), full=False, program=PROGRAM, drawer=drawing, workers=1
        )
        self.reel: Reel = reel_of_film(film, found.media, copy_size(film, full=False))
        self.showing = Showing(
            self.kit,
            proxy=lambda source: footage / f"{Path(source).stem}-proxy.mov" if proxies else None,
            key_pictures=lambda source: footage / f"{Path(source).stem}-keys.mov" if keys else None,
        )

    def at(self, frame: int, on: int | None = None) -> Shown | None:
        size = self.reel.size
        return self.showing.near(self.reel, frame, size.width, size.height, on=on)

    def exact(self, frame: int) -> Shown:
        size = self.reel.size
        return self.showing.picture(self.reel, frame, size.width, size.height)

    def number_at(self, frame: int, on: int | None = None) -> int | None:
        shown = self.at(frame, on)
        return None if shown is None else number(shown)


def number(shown: Shown) -> int | None:
    return read_pictures([shown.pixels[..., 1]])[0].number


def clip(footage: Path, first: int, frames: int, name: str = "a", **fields) -> Clip:
    return Clip(
        id=f"c{first}-{name}",
        source=str(footage / f"{name}.mov"),
        in_seconds=RATE.seconds(first),
        length_frames=frames,
        **fields,
    )


def test_it_is_the_last_key_frame_before_the_place(tmp_path, footage):
    film = Near(tmp_path, footage, scene(clip(footage, 5, 80)))
    for frame in (79, 0, 40, 7, 6, 8):
        shown = film.at(frame)
        assert shown is not None
        assert shown.origin is Origin.NEAR
        assert number(shown) == (5 + frame) // GOP * GOP
        assert (shown.pixels[..., 3] == 255).all()
    film.showing.close()


def test_at_another_speed_too(tmp_path, footage):
    film = Near(tmp_path, footage, scene(clip(footage, 10, 60, speed=Fraction(3, 2))))
    for frame in (50, 3, 21):
        assert film.number_at(frame) == (10 + frame * 3 // 2) // GOP * GOP


@pytest.mark.parametrize("name", ["a", "turned"])
@pytest.mark.parametrize("framing", [Framing(), Framing(fit=Fit.FILL), Framing(scale=0.5, x=0.1)], ids=str)
def test_it_is_placed_like_the_exact_one(tmp_path, footage, name, framing):
    film = Near(tmp_path, footage, scene(clip(footage, 0, 60, name, framing=framing)))
    near, exact = film.at(24), film.exact(24)
    assert near is not None
    off = np.abs(near.pixels.astype(int) - exact.pixels)
    assert off.mean() < 6
    dark = [shown.pixels[..., :3].max(axis=-1) < 24 for shown in (near, exact)]
    assert (dark[0] == dark[1]).mean() > 0.9


def test_what_is_at_hand_is_not_bridged(tmp_path, footage):
    film = Near(tmp_path, footage, scene(clip(footage, 0, 90)))
    film.exact(30)
    assert [film.number_at(frame) for frame in (30, 31, 32)] == [None, None, None]
    # What was decoded is nearer than the key frame 24, and for the place before that, the key frame is.
    assert film.number_at(35) == 30
    assert film.number_at(23) == 12
    assert film.number_at(36) == 36


def test_what_is_on_already_and_nearer_stays(tmp_path, footage):
    film = Near(tmp_path, footage, scene(clip(footage, 0, 40), clip(footage, 50, 40)))
    # Key frame 24 is 6 frames off.
    assert film.number_at(30, on=25) is None
    assert film.number_at(30, on=36) is None
    assert film.number_at(30, on=37) == 24
    # What is on is of another clip, or of nothing that is there.
    assert film.number_at(30, on=40) == 24
    assert film.number_at(30, on=500) == 24


def test_without_key_pictures_or_with_a_proxy_there_is_none(tmp_path, footage):
    content = scene(clip(footage, 0, 40))
    without = Near(tmp_path / "without", footage, content, keys=False)
    proxied = Near(tmp_path / "proxied", footage, content, proxies=True)
    for film in (without, proxied):
        film.exact(2)
        assert film.at(30) is None
    assert proxied.exact(30).origin is Origin.PROXY


def test_damaged_key_pictures_count_as_none(tmp_path, footage):
    damaged = tmp_path / "damaged"
    damaged.mkdir()
    (damaged / "a-keys.mov").write_bytes(b"not a film of key frames at all")
    film = Near(tmp_path / "film", damaged, scene(clip(footage, 0, 40)))
    assert film.at(30) is None
    assert film.exact(30).origin is Origin.FOOTAGE


def test_a_made_piece_is_never_bridged_and_near_frames_make_none(tmp_path, footage):
    film = Near(tmp_path, footage, scene(clip(footage, 0, 40)))
    assert film.number_at(30) == 24
    assert list((tmp_path / ".desk" / "pieces").iterdir()) == []
    piece = film.reel.placed[0].piece
    make_piece(piece, rate=film.reel.rate, size=film.reel.size, kit=film.kit, cancel=CancelToken())
    film.showing.renew(film.kit)
    assert film.at(30) is None
    assert number(film.exact(30)) == 30


def test_cards_and_black_are_never_bridged(tmp_path, footage):
    card = Card(id="k1", lines=("Later",), length_frames=20)
    film = Near(tmp_path, footage, card, scene(clip(footage, 0, 40, gap_frames=5)))
    assert [film.at(frame) for frame in (3, 21)] == [None, None]
    assert film.number_at(20 + 5 + 30) == 24


def test_a_mix_is_one_of_near_frames(tmp_path, footage):
    film = Near(
        tmp_path,
        footage,
        scene(clip(footage, 0, 40)),
        scene(clip(footage, 44, 40)),
        joins={0: dissolve(5, 5)},
    )
    mixed = next(placed for placed in film.reel.placed if hasattr(placed.piece, "outgoing"))
    near = film.at(mixed.start_frames + 4)
    assert near is not None
    assert near.origin is Origin.NEAR
    piece = mixed.piece
    sides = [
        Near(tmp_path / name, footage, scene(clip(footage, at // GOP * GOP, 1))).exact(0).pixels
        for name, at in (("out", 39), ("in", 44))
    ]
    share = (piece.first + 5) / (piece.passage_frames + 1)
    off = np.abs(near.pixels - (sides[0] * (1 - share) + sides[1] * share)).mean()
    assert off < 6


def test_other_footage_under_the_same_name_is_not_taken_for_it(tmp_path, footage):
    film = Near(tmp_path, footage, scene(clip(footage, 0, 40)))
    film.exact(10)
    placed = film.reel.placed[0]
    picture = placed.piece.media.picture
    other = dataclasses.replace(placed.piece.media, picture=dataclasses.replace(picture, matrix="bt2020nc"))
    piece = dataclasses.replace(placed.piece, media=other)
    film.reel = dataclasses.replace(film.reel, placed=(dataclasses.replace(placed, piece=piece),))
    # What was decoded under other facts is not at hand.
    assert film.number_at(10) == 0
