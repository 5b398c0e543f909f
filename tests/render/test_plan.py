"""The plan of a film with black in it, and the names of pieces, which stay from version to version."""

import dataclasses
from fractions import Fraction

import pytest

from desk.errors import AssemblyError
from desk.film.media import MediaFacts, PictureFacts
from desk.film.model import Clip, Film, Framing, Join, JoinKind, Placement, Scene, SceneContent, Size
from desk.film.rates import Rate
from desk.film.timing import Include, lay_out
from desk.render.plan import Black, Footage, Mix, PicturePlan, piece_key, plan_picture

RATE, SIZE = Rate(25), Size(1280, 720)
MEDIA = MediaFacts(
    size_bytes=9,
    sample_hash="0" * 32,
    modified_ns=5,
    picture=PictureFacts(
        width=1920, height=1080, rate=RATE, frames=500, seconds=Fraction(20), time_base=Fraction(1, 12800)
    ),
)


def clip(clip_id: str, length: int, gap: int = 0) -> Clip:
    return Clip(id=clip_id, source="a.mov", in_seconds=Fraction(2), length_frames=length, gap_frames=gap)


def film_of(*scenes: tuple[Clip, ...], join: Join | None = None, **fields) -> Film:
    made = tuple(
        Scene(id=f"s{index}", number=str(index), content=SceneContent(clips=clips))
        for index, clips in enumerate(scenes)
    )
    order = tuple(
        Placement(entry=scene.id, join=join) if join and index == 0 else Placement(entry=scene.id)
        for index, scene in enumerate(made)
    )
    return Film(title="x", rate=RATE, size=SIZE, start_frames=90_000, scenes=made, order=order, **fields)


def plan(film: Film) -> PicturePlan:
    return plan_picture(film, lay_out(film, Include.ALL), {"a.mov": MEDIA}, SIZE, slate_notes={})


def told(film: Film) -> list[tuple[str, int]]:
    """Kind and length of each piece, which have to meet."""
    made = plan(film)
    at = 0
    for placed in made.placed:
        assert placed.start_frames == at
        at += placed.piece.frames
    assert at == made.frames == lay_out(film, Include.ALL).length_frames
    return [(type(placed.piece).__name__, placed.piece.frames) for placed in made.placed]


def test_black_is_pieces_of_its_own():
    film = film_of((clip("a", 10, 4), clip("b", 20), clip("c", 30, 7)))
    assert told(film) == [("Black", 4), ("Footage", 10), ("Footage", 20), ("Black", 7), ("Footage", 30)]
    # More than 10 s in several.
    assert told(film_of((clip("a", 10), clip("b", 5, 260)))) == [
        ("Footage", 10),
        ("Black", 250),
        ("Black", 10),
        ("Footage", 5),
    ]


def test_clips_after_black_begin_with_their_own_first_frame():
    pieces = [placed.piece for placed in plan(film_of((clip("a", 10, 4), clip("b", 20, 3)))).placed]
    assert [piece.in_seconds for piece in pieces if isinstance(piece, Footage)] == [2, 2]


def test_a_fade_over_black_is_black():
    film = film_of((clip("a", 10, 4), clip("b", 8)), (clip("c", 3, 5),), fade_in_frames=6, fade_out_frames=2)
    assert told(film) == [
        ("Black", 4),
        ("Mix", 2),
        ("Footage", 8),
        ("Footage", 8),
        ("Black", 5),
        ("Footage", 1),
        ("Mix", 2),
    ]
    mix = plan(film).placed[1].piece
    assert isinstance(mix, Mix)
    # The fade has gone on under the black.
    assert (mix.first, mix.passage_frames) == (4, 6)


@pytest.mark.parametrize(("before", "after"), [(3, 3), (0, 3), (3, 0)])
def test_a_dissolve_into_black_is_refused(before, after):
    join = Join(kind=JoinKind.DISSOLVE, before_frames=before, after_frames=after)
    with pytest.raises(AssemblyError, match="scene 1 meets black"):
        plan(film_of((clip("a", 10),), (clip("b", 10, 5),), join=join))
    # One that is longer than the last clip would reach black as well.
    if before:
        with pytest.raises(AssemblyError, match="scene 0 meets black"):
            plan(film_of((clip("a", 10), clip("b", 2, 5)), (clip("c", 10),), join=join))
    assert ("Mix", before + after) in told(film_of((clip("a", 10, 5),), (clip("b", 10),), join=join))


NAMES = {
    "footage": "1de1c7f0cafd5889360615655ed59e67",
    "black": "69dafe044d627a534b1937a03e084f02",
    "mix": "1f6ee0a2f6181122338402c0558832c2",
}
"""Of pieces as they were named before there was black between clips."""


def test_names_of_pieces_stay():
    footage = Footage(
        source="a.mov",
        media=MEDIA,
        in_seconds=Fraction(7, 3),
        speed=Fraction(1, 2),
        frames=40,
        framing=Framing(scale=1.5),
    )
    black = Black(frames=40)
    pieces = {
        "footage": footage,
        "black": black,
        "mix": Mix(outgoing=footage, incoming=black, first=3, passage_frames=60),
    }
    made = {
        name: piece_key(piece, rate=RATE, size=SIZE, making={"ffmpeg": "9.0", "crf": 18})
        for name, piece in pieces.items()
    }
    assert made == NAMES


def test_black_before_a_clip_is_not_part_of_the_name_of_its_piece():
    with_black, without = (
        [placed.piece for placed in plan(film_of((clip("a", 10, gap),))).placed][-1] for gap in (6, 0)
    )
    assert with_black == without
    assert dataclasses.replace(with_black, frames=9) != without
