"""What is on at every frame of a scene, the film or raw footage, also where something is missing."""

import dataclasses
import itertools
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given

from desk.errors import AssemblyError
from desk.film.media import MediaFacts, PictureFacts
from desk.film.model import (
    CUT,
    Card,
    Clip,
    Film,
    Join,
    JoinKind,
    Placement,
    Scene,
    SceneContent,
    Size,
)
from desk.film.paths import film_paths
from desk.film.rates import FILM_RATES, Rate
from desk.film.timing import Include, content_frames, lay_out
from desk.render.plan import Black, CardPicture, Footage, Missing, Mix, piece_key, plan_picture
from desk.render.reel import Reel, reel_of_film, reel_of_footage, reel_of_scene
from tests.film.films import films

RATE, SIZE = Rate(25), Size(1280, 720)
MEDIA = MediaFacts(
    size_bytes=9,
    sample_hash="0" * 32,
    picture=PictureFacts(
        width=1920, height=1080, rate=RATE, frames=1000, seconds=Fraction(40), time_base=Fraction(1, 12800)
    ),
)
FACTS = {"a.mov": MEDIA}


def clip(clip_id: str, length: int, gap: int = 0, in_seconds: int = 2, source: str = "a.mov") -> Clip:
    return Clip(
        id=clip_id, source=source, in_seconds=Fraction(in_seconds), length_frames=length, gap_frames=gap
    )


def film_of(*entries: tuple[Clip, ...] | Card, joins: dict[int, Join] | None = None, **fields: Any) -> Film:
    made = [
        entry
        if isinstance(entry, Card)
        else Scene(id=f"s{index}", number=str(index), content=SceneContent(clips=entry))
        for index, entry in enumerate(entries)
    ]
    order = tuple(
        Placement(entry=entry.id, join=(joins or {}).get(index, CUT)) for index, entry in enumerate(made)
    )
    return Film(
        title="x",
        rate=RATE,
        size=SIZE,
        start_frames=90_000,
        scenes=tuple(entry for entry in made if isinstance(entry, Scene)),
        cards=tuple(entry for entry in made if isinstance(entry, Card)),
        **{"order": order, **fields},
    )


def dissolve(before: int, after: int) -> Join:
    return Join(kind=JoinKind.DISSOLVE, before_frames=before, after_frames=after)


def through_black(before: int, after: int) -> Join:
    return Join(kind=JoinKind.THROUGH_BLACK, before_frames=before, after_frames=after)


def told(reel: Reel) -> list[tuple[str, int]]:
    """Kind and length of each piece, which have to meet."""
    at = 0
    for placed in reel.placed:
        assert placed.start_frames == at
        at += placed.piece.frames
    assert at == reel.frames
    return [(type(placed.piece).__name__, placed.piece.frames) for placed in reel.placed]


def keys(pieces: Any) -> list[str]:
    return [
        piece_key(placed.piece, rate=RATE, size=SIZE, making={})
        for placed in pieces
        if not isinstance(placed.piece, Missing)
    ]


CARD = Card(id="k", name="Title", lines=("The Late Ferry",), length_frames=30)
WHOLE = film_of(
    CARD,
    (clip("a", 300), clip("b", 20, 7)),
    (clip("c", 40),),
    (clip("d", 15, 4), clip("e", 33)),
    joins={0: through_black(5, 6), 1: dissolve(8, 9), 2: through_black(10, 0)},
    fade_in_frames=4,
    fade_out_frames=12,
)


def test_the_film_is_what_its_assembly_is_made_of():
    plan = plan_picture(WHOLE, lay_out(WHOLE, Include.ALL), FACTS, SIZE, slate_notes={})
    reel = reel_of_film(WHOLE, FACTS, SIZE)
    assert reel.placed == plan.placed
    assert (reel.frames, reel.rate, reel.size) == (plan.frames, RATE, SIZE)
    assert {"CardPicture", "Footage", "Mix", "Black"} == {kind for kind, _ in told(reel)}


@pytest.mark.parametrize(
    ("scene", "wanted"),
    [
        # A fade from black of 6 frames; a piece ends 10 s after its clip's head; a dissolve takes 8.
        ("s1", [("Footage", 6), ("Footage", 244), ("Footage", 50), ("Black", 7), ("Footage", 12),
                ("Footage", 8)]),
        ("s2", [("Footage", 9), ("Footage", 21), ("Footage", 10)]),
        # The film's fade at its end.
        ("s3", [("Black", 4), ("Footage", 15), ("Footage", 21), ("Footage", 12)]),
    ],
)  # fmt: skip
def test_a_scene_is_whole_and_straight_and_made_of_the_films_pieces(scene, wanted):
    reel = reel_of_scene(WHOLE, scene, FACTS, SIZE)
    assert told(reel) == wanted
    content = WHOLE.entries()[scene].content
    assert reel.frames == content_frames(content)
    # Every frame is the one that its clip says, whatever it is cut into.
    frame = 0
    for item in content.clips:
        for _ in range(item.gap_frames):
            assert isinstance(reel.at(frame)[0].piece, Black)
            frame += 1
        for at in range(item.length_frames):
            placed, within = reel.at(frame)
            assert placed.piece.in_seconds + RATE.seconds(within) == item.in_seconds + RATE.seconds(at)
            frame += 1
    of_film = plan_picture(WHOLE, lay_out(WHOLE, Include.ALL), FACTS, SIZE, slate_notes={}).placed
    whole = [
        placed for placed in of_film if placed.entry == scene and isinstance(placed.piece, Footage | Black)
    ]
    assert set(keys(whole)) <= set(keys(reel.placed))


def test_a_scene_that_is_set_aside_is_alone():
    film = dataclasses.replace(WHOLE, order=WHOLE.order[:1])
    assert told(reel_of_scene(film, "s1", FACTS, SIZE)) == [
        ("Footage", 250), ("Footage", 50), ("Black", 7), ("Footage", 20)
    ]  # fmt: skip


def test_a_scene_without_clips_and_one_that_is_not_there():
    film = film_of((), (clip("a", 10),))
    assert told(reel_of_scene(film, "s0", FACTS, SIZE)) == []
    assert told(reel_of_film(film, FACTS, SIZE)) == [("Footage", 10)]
    for name in ("s7", "k"):
        with pytest.raises(KeyError):
            reel_of_scene(WHOLE, name, FACTS, SIZE)


def test_no_frame_outside_is_told():
    reel = reel_of_film(WHOLE, FACTS, SIZE)
    for frame in (-1, reel.frames):
        with pytest.raises(IndexError):
            reel.at(frame)
    placed, within = reel.at(reel.frames - 1)
    assert (placed, within) == (reel.placed[-1], reel.placed[-1].piece.frames - 1)


@pytest.mark.parametrize("rate", FILM_RATES, ids=str)
def test_raw_footage_runs_from_its_first_frame_to_its_last(rate):
    """40 s; at 24000/1001 that is frames 0 to 959 (40 × 24000/1001 = 959.04), of which the last begins."""
    reel = reel_of_footage("/reels/a.mov", MEDIA, rate, SIZE)
    assert reel.frames == -(-40 * rate.numerator // rate.denominator)
    ((piece),) = [placed.piece for placed in reel.placed]
    assert isinstance(piece, Footage)
    assert (piece.source, piece.in_seconds, piece.speed) == ("/reels/a.mov", 0, 1)
    assert rate.seconds(reel.frames - 1) < 40 <= rate.seconds(reel.frames)


def test_footage_without_a_picture_is_an_empty_reel():
    sound_alone = dataclasses.replace(MEDIA, picture=None)
    assert told(reel_of_footage("a.wav", sound_alone, RATE, SIZE)) == []


# -- what is missing


def missing(reel: Reel) -> list[Missing]:
    return [placed.piece for placed in reel.placed if isinstance(placed.piece, Missing)]


def test_footage_that_is_not_known_is_missing_alone():
    film = film_of((clip("a", 10), clip("b", 20, source="gone.mov")), (clip("c", 30),))
    for reel in (reel_of_film(film, FACTS, SIZE), reel_of_scene(film, "s0", FACTS, SIZE)):
        assert told(reel)[:2] == [("Footage", 10), ("Missing", 20)]
        assert "gone.mov" in missing(reel)[0].sentence
    sound_alone = {**FACTS, "gone.mov": dataclasses.replace(MEDIA, picture=None)}
    assert told(reel_of_scene(film, "s0", sound_alone, SIZE)) == [("Footage", 10), ("Missing", 20)]


def test_frames_beyond_the_end_of_footage_are_missing():
    """The footage ends at 40 s; frame k of a clip from 39 s on is there for k / 25 < 1."""
    film = film_of((clip("a", 40, in_seconds=39), clip("b", 5, in_seconds=41)))
    reel = reel_of_film(film, FACTS, SIZE)
    assert told(reel) == [("Footage", 25), ("Missing", 15), ("Missing", 5)]
    assert all("a.mov" in item.sentence for item in missing(reel))


@pytest.mark.parametrize(
    ("clips", "join", "word"),
    [
        ((clip("a", 10), clip("b", 10, in_seconds=0)), dissolve(3, 3), "scene 1|Scene 1"),  # no head handle
        ((clip("a", 10, in_seconds=39), clip("b", 10)), dissolve(3, 20), "longer"),
        ((clip("a", 25, in_seconds=39), clip("b", 30)), dissolve(3, 3), "beyond the end"),
        ((clip("a", 10), clip("b", 30, 5)), dissolve(3, 3), "black"),
        ((clip("a", 10), clip("b", 30)), through_black(15, 3), "longer"),
        ((clip("a", 10), clip("b", 30)), through_black(3, 31), "longer"),
    ],
)  # fmt: skip
def test_a_join_that_asks_for_too_much_is_missing_and_scenes_alone_are_whole(clips, join, word):
    film = film_of((clips[0],), (clips[1],), joins={0: join})
    reel = reel_of_film(film, FACTS, SIZE)
    assert sum(length for _, length in told(reel)) == lay_out(film, Include.ALL).length_frames
    assert any(part in item.sentence for item in missing(reel) for part in word.split("|"))
    for index, item in enumerate(clips):
        alone = reel_of_scene(film, f"s{index}", FACTS, SIZE)
        assert alone.frames == item.gap_frames + item.length_frames
        assert missing(alone) == []


def test_what_is_missing_still_ends_an_assembly():
    film = film_of((clip("a", 10), clip("b", 20, source="gone.mov")))
    with pytest.raises(AssemblyError, match=r"gone\.mov"):
        plan_picture(film, lay_out(film, Include.ALL), FACTS, SIZE, slate_notes={})


@given(films())
def test_a_reel_is_as_long_as_what_it_shows(film):
    """Of random films, whose joins may ask for anything and whose footage is partly missing."""
    paths = sorted(film_paths(film))
    media = dict.fromkeys(itertools.islice(paths, 0, None, 2), MEDIA)
    reel = reel_of_film(film, media, film.size)
    told(reel)
    assert reel.frames == lay_out(film, Include.ALL).length_frames
    for scene in film.scenes:
        alone = reel_of_scene(film, scene.id, media, film.size)
        told(alone)
        assert alone.frames == content_frames(scene.content)
        assert not any(isinstance(placed.piece, Mix | CardPicture) for placed in alone.placed)
