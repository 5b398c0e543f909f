"""The words of the running order: starts, music, joins that fit and joins that do not."""

import dataclasses
from fractions import Fraction

import pytest

from desk.film import edits
from desk.film.model import (
    Candidate,
    Card,
    CardKind,
    CreditBlock,
    CreditRow,
    Cue,
    Film,
    Join,
    JoinKind,
    Motion,
    Rights,
)
from desk.film.timing import JoinRoom
from desk.ui.order.facts import FactsCache, cue_words, facts_of, spread
from desk.ui.order.gaps import Stroke, Tone, join_gap, most_of
from desk.ui.order.rows import Row, rows_of, tiles_of
from tests.film.films import RATE, small_film

FILM = small_film()
SECONDS = {
    path: Fraction(10) for path in ("footage/1/kiosk.mov", "footage/2/ticket.mov", "footage/4/lamp.mov")
}


def rows(film: Film, seconds=SECONDS) -> tuple[Row, ...]:
    return rows_of(film, FactsCache(), seconds)


def with_join(join: Join, film: Film = FILM, entry: str = "s1") -> Film:
    return edits.set_join(film, entry, join).after


def dissolve(before: int, after: int) -> Join:
    return Join(kind=JoinKind.DISSOLVE, before_frames=before, after_frames=after)


def test_starts_run_with_every_scene_drafts_too():
    # Title 72 frames (3 s at 24), scene 1 48 + 72, scene 2 96, scene 4 60; the film starts at one hour.
    starts = [row.start for row in rows(FILM)]
    assert starts == ["01:00:00:00", "01:00:03:00", "01:00:08:00", "01:00:12:00", "01:00:14:12"]
    assert [row.facts.length for row in rows(FILM)] == ["0:03:00", "0:05:00", "0:04:00", "0:02:12", "0:03:00"]


def test_an_empty_card_takes_no_time():
    film = edits.insert_card(FILM, 1).after
    assert rows(film)[1].facts.length_frames == 0
    assert rows(film)[2].start == rows(FILM)[1].start


def test_a_dissolve_that_fits_tells_the_handles():
    # The kiosk clip: 1 s + 72 frames of 10 s leave 240 - 24 - 72 = 144 after its tail; the ticket clip has
    # 3 s before its head.
    gap = rows(FILM)[1].gap
    assert gap.words == "dissolve 24, handles 72 / 144"
    assert (gap.stroke, gap.tone) == (Stroke.DISSOLVE, Tone.MARKED)


def test_a_dissolve_that_is_too_long_tells_by_how_many_frames():
    short = {**SECONDS, "footage/1/kiosk.mov": Fraction(100, 24)}
    gap = rows(FILM, short)[1].gap
    assert gap.words == "dissolve 24: 8 frames too few after the cut; 16 would fit"
    assert gap.tone is Tone.FAULT
    both = rows(with_join(dissolve(73, 5)), short)[1].gap
    assert both.words == "dissolve 78: 1 frame too few before the cut, 1 after it; 76 would fit"


def test_where_no_handles_are_only_a_cut_fits():
    none = {**SECONDS, "footage/1/kiosk.mov": Fraction(96, 24)}
    gap = rows(with_join(dissolve(0, 4)), none)[1].gap
    assert gap.words == "dissolve 4: 4 frames too few after the cut; only a cut fits"


def test_footage_that_was_not_looked_at_counts_as_endless():
    assert rows(FILM, {})[1].gap.words == "dissolve 24, handles 72 / –"


def test_through_black_needs_no_handles():
    assert rows(FILM, {})[3].gap.words == "through black 20"
    assert rows(FILM, {})[3].gap.stroke is Stroke.THROUGH_BLACK


def test_the_join_of_the_last_waits():
    film = with_join(dissolve(4, 4), entry="k2")
    gap = rows(film)[-1].gap
    assert (gap.words, gap.tone) == ("dissolve 8 waits for what follows", Tone.IDLE)


def test_an_empty_card_does_not_come_between_two_scenes():
    film = edits.insert_card(FILM, 2).after
    assert rows(film)[1].gap == rows(FILM)[1].gap


def test_fades_stand_at_the_start_and_at_the_end():
    film = edits.set_fades(FILM, 12, 200).after
    shown = rows(film)
    assert (shown[0].lead.words, shown[0].lead.stroke) == ("fade up 12", Stroke.FADE_UP)
    # The join before the credits takes 10 of their 72 frames.
    assert shown[-1].gap.words == "fade out 200: 138 frames too few; 62 would fit"
    assert [row.is_first for row in shown] == [True, False, False, False, False]
    assert [row.is_last for row in shown] == [False, False, False, False, True]


@pytest.mark.parametrize("kind", [JoinKind.DISSOLVE, JoinKind.THROUGH_BLACK])
def test_the_most_that_fits_is_what_the_film_says_fits(kind):
    room = JoinRoom(before=30, after=40, head_handle=12, tail_handle=22)
    expected = (12, 22) if kind is JoinKind.DISSOLVE else (30, 40)
    assert most_of(kind, room) == expected
    longest = Join(kind=kind, before_frames=expected[0], after_frames=expected[1])
    assert join_gap(longest, room).tone is Tone.MARKED
    longer = dataclasses.replace(longest, before_frames=expected[0] + 1)
    assert join_gap(longer, room).tone is Tone.FAULT


def cue(label: str, *titles: str, chosen: int | None = None) -> Cue:
    candidates = tuple(
        Candidate(id=f"a{label}{at}", file=f"music/{title}.wav", rights=Rights(title=title.title()))
        for at, title in enumerate(titles)
    )
    return Cue(
        id=label,
        label=label,
        length_frames=9,
        candidates=candidates,
        chosen="" if chosen is None else candidates[chosen].id,
    )


@pytest.mark.parametrize(
    ("cues", "no_music", "words", "is_open"),
    [
        ((), False, "", False),
        ((), True, "no music", False),
        ((cue("m1", "tide", "fog", chosen=1),), False, "m1 “Fog”", False),
        ((cue("m1", "tide", "fog", "low"),), False, "3 candidates, none chosen", True),
        ((cue("m1"),), False, "m1: nothing tried yet", True),
        (
            (cue("m1", "tide", chosen=0), cue("m2", "fog")),
            False,
            "m1 “Tide”, m2: 1 candidate, none chosen",
            True,
        ),
    ],
)
def test_words_about_music(cues, no_music, words, is_open):
    content = dataclasses.replace(FILM.scene("s2").content, cues=cues, no_music=no_music)
    assert cue_words(content) == (words, is_open)


def test_pictures_are_spread_over_the_scene():
    # Scene 1 has 48 frames of one clip from 2 s and 72 of another from 1 s: frames 20, 60 and 100.
    moments = spread(FILM.scene("s1").content, RATE)
    assert [moment.source for moment in moments] == ["footage/1/quay.mov", *["footage/1/kiosk.mov"] * 2]
    assert [moment.seconds for moment in moments] == [
        2 + Fraction(20, 24),
        1 + Fraction(12, 24),
        1 + Fraction(52, 24),
    ]
    assert spread(FILM.scene("s3").content, RATE) == ()


@pytest.mark.parametrize(
    ("card", "detail"),
    [
        (Card(id="k", lines=("", "The Late Ferry")), "The Late Ferry"),
        (
            Card(id="k", kind=CardKind.CREDITS, lines=(), motion=Motion.ROLL, picture="a.png"),
            "roll, 3 px a frame",
        ),
        (Card(id="k"), ""),
        (Card(id="k", picture="a.png"), "a picture"),
        (Card(id="k", name="The late ferry", lines=("The Late Ferry", "a film")), "a film"),
        (Card(id="k", name="The Late Ferry", lines=("The Late Ferry",)), ""),
        (
            Card(
                id="k",
                name="Players",
                kind=CardKind.CREDITS,
                credits=(CreditBlock(heading="Players", rows=(CreditRow(role="Ida", names=("M. Holm",)),)),),
            ),
            "Ida M. Holm",
        ),
    ],
)
def test_a_card_is_told_by_its_first_line(card, detail):
    assert facts_of(card, FILM).detail == detail


def test_facts_are_prepared_once_for_each_value_of_an_entry():
    cache = FactsCache()
    before = rows_of(FILM, cache, {})
    film = edits.edit_story(FILM, "s2", purpose="Another").after
    after = rows_of(film, cache, {})
    same = [old.facts is new.facts for old, new in zip(before, after, strict=True)]
    assert same == [True, True, False, True, True]
    wider = edits.edit_film(film, size=dataclasses.replace(film.size, width=1280, height=720)).after
    assert rows_of(wider, cache, {})[2].facts is not after[2].facts


def test_tiles_keep_the_reason():
    film = edits.set_aside(FILM, ["s2"], "  it says\nwhat 4 says ").after
    assert [(tile.entry.id, tile.reason) for tile in tiles_of(film, FactsCache())] == [
        ("s3", ""),
        ("s2", "it says what 4 says"),
    ]
