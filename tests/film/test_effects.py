"""What a change does to the film's figures: the lengths are counted by hand from the film in `films.py`."""

import dataclasses

import pytest

from desk.film import edits
from desk.film.effects import Figures, describe_effect
from desk.film.model import CreditBlock, CreditRow, Film, Rights, Size
from desk.film.rates import Rate
from tests.film.films import RATE, locked_media, small_film

TITLE, CREDITS = 72, 72
"""A card of few words stands 3 s, at 24 frames a second."""

SCENE_1, SCENE_2, SCENE_4 = 48 + 72, 96, 60


def locked(film: Film, scene_id: str) -> Film:
    media = locked_media(film.scene(scene_id).content)
    return edits.lock(film, scene_id, "2026-11-25", media, "rough").after


def test_figures_count_what_is_in_the_running_order():
    film = small_film()
    whole = TITLE + SCENE_1 + SCENE_2 + SCENE_4 + CREDITS
    assert Figures.of(film) == Figures(frames=whole, locked_frames=0, cues=1, cards=2)
    assert Figures.of(locked(film, "s2")) == Figures(frames=whole, locked_frames=SCENE_2, cues=1, cards=2)


def test_an_empty_card_counts_for_nothing():
    film = edits.edit_card(small_film(), "k2", credits=()).after
    assert Figures.of(film).cards == 1
    assert Figures.of(film).frames == TITLE + SCENE_1 + SCENE_2 + SCENE_4


def test_a_scene_without_clips_counts_as_its_slate_and_is_never_finished():
    film = edits.put_back(small_film(), ["s3"]).after
    assert Figures.of(film).frames == Figures.of(small_film()).frames + 5 * 24
    assert Figures.of(locked(film, "s3")).locked_frames == 0


def test_a_film_without_anything():
    film = Film(title="", rate=Rate(25), size=Size(16, 16), start_frames=0)
    assert Figures.of(film) == Figures(frames=0, locked_frames=0, cues=0, cards=0)
    assert describe_effect(film, film) == "Running time 0:00:00, locked 0:00:00."


# 420 frames at 24 a second are 17 s and 12 frames.
@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda film: edits.move(film, ["s4"], 0), "Running time 0:17:12, locked 0:00:00."),
        (lambda film: edits.set_aside(film, ["s4"]), "Running time 0:15:00 (−0:02:12), locked 0:00:00."),
        (
            lambda film: edits.set_aside(film, ["s1", "k2"]),
            "Running time 0:09:12 (−0:08:00), locked 0:00:00, music cues 0 (−1), cards 1 (−1).",
        ),
        (lambda film: edits.put_back(film, ["s3"]), "Running time 0:22:12 (+0:05:00), locked 0:00:00."),
        (
            lambda film: edits.lock(
                film, "s2", "2026-11-25", locked_media(film.scene("s2").content), "rough"
            ),
            "Running time 0:17:12, locked 0:04:00 (+0:04:00).",
        ),
        (
            lambda film: edits.choose_candidate(film, "s1", "m1", ""),
            "Running time 0:17:12, locked 0:00:00, music cues 0 (−1).",
        ),
    ],
)
def test_what_a_change_did(change, told):
    edit = change(small_film())
    assert describe_effect(edit.before, edit.after) == told


def test_taking_a_change_back_tells_the_opposite():
    edit = edits.set_aside(small_film(), ["s1"])
    assert describe_effect(edit.after, edit.before) == (
        "Running time 0:17:12 (+0:05:00), locked 0:00:00, music cues 1 (+1)."
    )


def test_lengths_are_counted_at_the_film_s_rate():
    film = dataclasses.replace(small_film(), rate=Rate(30000, 1001), start_frames=0)
    assert film.rate != RATE
    # Cards stand ceil(3 s × 30000/1001) = 90 frames: 456 frames are 15 s and 6 frames, non-drop.
    assert describe_effect(film, film).startswith("Running time 0:15:06,")


def with_music_credits(film: Film, *titles: str) -> Film:
    """Return a film whose credits fill themselves, with music of these titles in scene 1."""
    block = CreditBlock(heading="Music", rows=(CreditRow(role="“Thanks”", names=("all",)),), fills="music")
    film = edits.edit_card(film, "k2", credits=(block,)).after
    cue = film.scene("s1").content.cues[0]
    candidate = cue.candidates[0]
    cues = []
    for number, title in enumerate(titles):
        rights = Rights(title=title, author="Oda Linnmark")
        music = dataclasses.replace(candidate, id=f"a{number}", rights=rights)
        cues.append(dataclasses.replace(cue, id=f"m{number}", candidates=(music,), chosen=music.id))
    content = dataclasses.replace(film.scene("s1").content, cues=tuple(cues))
    return edits.set_content(film, "s1", content, "Score it").after


@pytest.mark.parametrize(
    ("titles", "told"),
    [
        (("Low Water",), "credits lose “Low Water”."),
        (("Low Water", "Shutters"), "credits lose “Low Water” and “Shutters”."),
        (("Low Water", "Shutters", "Twice"), "credits lose 3 lines."),
    ],
)
def test_credits_that_go_with_a_scene_are_told(titles, told):
    film = with_music_credits(small_film(), *titles)
    edit = edits.set_aside(film, ["s1"])
    assert describe_effect(film, edit.after).endswith(f", {told}")
    assert describe_effect(edit.after, film).endswith(f", {told.replace('lose', 'gain')}")


def test_credits_that_stay_are_not_told():
    film = with_music_credits(small_film(), "Low Water")
    assert "credits" not in describe_effect(film, edits.set_aside(film, ["s2"]).after)
    # Only what fills itself is told: what is typed on a card is seen there.
    typed = edits.edit_card(film, "k2", credits=(CreditBlock(heading="Music", fills="music"),)).after
    assert "credits" not in describe_effect(film, typed)


def test_credits_follow_the_order_of_the_film():
    film = with_music_credits(small_film(), "Low Water", "Shutters")
    content = film.scene("s1").content
    other = dataclasses.replace(content, cues=tuple(reversed(content.cues)))
    assert describe_effect(film, edits.set_content(film, "s1", other, "Score it").after).endswith(
        ", credits in another order."
    )
