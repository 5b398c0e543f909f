"""What licences ask for, and how music is credited.

Sources: Creative Commons, "Recommended practices for attribution" (title, author, source, licence), and the
legal code of the 4.0 licences, section 1(a): music synchronised in timed relation with a moving image is
always adapted material.
"""

import dataclasses
import itertools
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from desk.errors import EditError
from desk.film import edits
from desk.film.checks import check
from desk.film.filling import filled_card
from desk.film.locking import what_a_lock_asks, what_a_lock_tells
from desk.film.model import (
    Candidate,
    Card,
    CardKind,
    Clip,
    CreditBlock,
    CreditRow,
    Cue,
    Placement,
    Rights,
    Scene,
    SceneContent,
    Spot,
)
from desk.film.reading import card_text, is_empty
from desk.film.rights import (
    NO_LEGAL_ADVICE,
    Kind,
    credit_line,
    effect_credits,
    missing,
    music_credits,
    obligations,
    terms_of,
)
from desk.film.timing import Include, entry_frames, lay_out
from tests.film.films import films, small_film

RAIN = Rights(title="Rain", author="A. Bee", source="https://example.org/rain", licence="CC BY 4.0")


def test_the_credit_has_title_author_source_and_licence_and_says_what_changed():
    """The worked example of Creative Commons' order, with its licence linked (computed by hand)."""
    assert credit_line(RAIN, "shortened from the original") == (
        '"Rain" by A. Bee (https://example.org/rain), licensed under CC BY 4.0 '
        "(https://creativecommons.org/licenses/by/4.0/), shortened from the original."
    )
    assert credit_line(RAIN).endswith("licenses/by/4.0/).")


@pytest.mark.parametrize(
    ("rights", "line"),
    [
        (Rights(title="Fog", author="C. Dee", licence="own work"), '"Fog" by C. Dee.'),
        (
            Rights(title="Fog", licence="CC0"),
            '"Fog", CC0 1.0 (https://creativecommons.org/publicdomain/zero/1.0/), set to picture.',
        ),
        (
            Rights(author="C. Dee", licence="by permission"),
            "Music by C. Dee, by permission, set to picture.",
        ),
        (Rights(title="Fog", author="C. Dee"), '"Fog" by C. Dee, set to picture.'),
        (Rights(licence="CC BY 4.0"), ""),
        (
            Rights(title="Fog", licence="CC BY 3.0", required_credit="Fog (c) 2020 C. Dee, CC BY 3.0"),
            "Fog (c) 2020 C. Dee, CC BY 3.0. Set to picture.",
        ),
        (Rights(licence="by permission", required_credit="Courtesy of C. Dee"), "Courtesy of C. Dee"),
    ],
)
def test_credits_of_other_music(rights, line):
    assert credit_line(rights, "set to picture") == line


ELEMENTS = ("SA", "NC", "ND", "NC-SA", "NC-ND", "")


@pytest.mark.parametrize(("elements", "version"), list(itertools.product(ELEMENTS, ("2.0", "3.0", "4.0"))))
def test_licences_are_read_however_they_are_written(elements, version):
    code = f"BY-{elements}".rstrip("-")
    words = {"NC": "NonCommercial", "SA": "ShareAlike", "ND": "NoDerivatives", "BY": "Attribution"}
    long = "-".join(words[part] for part in code.split("-"))
    link = f"https://creativecommons.org/licenses/{code.lower()}/{version}/"
    wanted = terms_of(Rights(licence=f"CC {code} {version}"))
    assert (wanted.kind, wanted.name, wanted.link) == (Kind.CREATIVE_COMMONS, f"CC {code} {version}", link)
    assert (wanted.share_alike, wanted.non_commercial, wanted.no_derivatives) == tuple(
        part in elements for part in ("SA", "NC", "ND")
    )
    for text in (f"cc-{code.lower()}-{version}", f"Creative Commons {long} {version} International", link):
        assert terms_of(Rights(licence=text)) == wanted
    assert terms_of(Rights(licence_link=link)) == wanted


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("", Kind.UNKNOWN),
        ("  ", Kind.UNKNOWN),
        ("CC0 1.0 Universal", Kind.DEDICATED),
        ("Public Domain Mark", Kind.PUBLIC_DOMAIN),
        ("Own work", Kind.OWN),
        ("my own recording.", Kind.OWN),
        ("bought for this film, receipt 12", Kind.OTHER),
        ("All rights reserved", Kind.OTHER),
        ("licensed by the band", Kind.OTHER),
        ("on his own terms", Kind.OTHER),
    ],
)
def test_kinds_of_terms(text, kind):
    terms = terms_of(Rights(licence=text))
    assert terms.kind is kind
    assert (terms.share_alike, terms.non_commercial, terms.no_derivatives) == (False, False, False)


def test_a_link_takes_back_nothing_of_what_a_licence_says():
    zero = "https://creativecommons.org/publicdomain/zero/1.0/"
    terms = terms_of(Rights(licence="CC BY-NC-ND 4.0", licence_link=zero))
    assert (terms.kind, terms.no_derivatives, terms.credit) == (Kind.CREATIVE_COMMONS, True, True)
    assert terms_of(Rights(licence="Creative Commons Zero", licence_link=zero)).kind is Kind.DEDICATED
    assert terms_of(Rights(licence_link=zero)).kind is Kind.DEDICATED


def test_obligations_in_a_film_follow_the_licence():
    def told(licence):
        return " ".join(obligations(Rights(licence=licence)))

    for elements in ELEMENTS:
        text = told(f"CC BY-{elements} 4.0".replace("- ", " "))
        assert "Credit it" in text
        assert ("whole film has to be given out under the same licence" in text) == ("SA" in elements)
        assert ("may not be used commercially" in text) == ("NC" in elements)
        assert ("music set to picture is an adaptation" in text) == ("ND" in elements)
    assert "may not be used" in told("")
    assert "needs no credit" in told("CC0")
    assert "recording" in told("public domain")
    assert "no legal advice" in NO_LEGAL_ADVICE


@pytest.mark.parametrize(
    ("rights", "lacking"),
    [
        (Rights(), ("title", "author", "licence")),
        (Rights(licence="own work"), ()),
        (RAIN, ()),
        (dataclasses.replace(RAIN, source="", author=" "), ("author", "source")),
        (dataclasses.replace(RAIN, licence="CC BY"), ("link to the licence",)),
        (Rights(licence="CC BY", required_credit="Rain, by A. Bee"), ()),
        (Rights(title="Rain", author="A. Bee"), ("licence",)),
        (Rights(title="Rain", author="A. Bee", licence="by permission"), ()),
    ],
)
def test_what_is_missing_is_named(rights, lacking):
    assert missing(rights) == lacking


# -- in the film


def scene_with(*rights, scene_id="s1"):
    cues = tuple(
        Cue(
            id=f"{scene_id}m{index}",
            label=f"m{index}",
            length_frames=10,
            candidates=(Candidate(id=f"{scene_id}a{index}", file=f"{index}.wav", rights=item),),
            chosen=f"{scene_id}a{index}",
        )
        for index, item in enumerate(rights)
    )
    clips = (Clip(id=f"{scene_id}c", source="a.mov", length_frames=50),)
    return Scene(id=scene_id, number=scene_id[1:], content=SceneContent(clips=clips, cues=cues))


FOG = Rights(title="Fog", author="C. Dee", licence="own work")
CARD = Card(
    id="k1",
    kind=CardKind.CREDITS,
    credits=(
        CreditBlock(heading="Camera", rows=(CreditRow(role="Camera", names=("E. Eff",)),)),
        CreditBlock(fills="music", rows=(CreditRow(names=("Thanks to the choir",)),)),
    ),
)


def film_with(card, *scenes):
    film = small_film()
    order = tuple(Placement(entry=item.id) for item in (*scenes, card))
    return dataclasses.replace(
        film, scenes=scenes, cards=(card,), order=order, aside=(), voices=(), camera_looks=()
    )


def test_music_that_sounds_is_credited_once_in_the_order_of_the_film():
    undecided = dataclasses.replace(
        scene_with(Rights(title="Never", author="X", licence="CC0")).content.cues[0], chosen=""
    )
    first = scene_with(FOG, RAIN)
    first = dataclasses.replace(
        first, content=dataclasses.replace(first.content, cues=(*first.content.cues, undecided))
    )
    block = music_credits((first, scene_with(RAIN, Rights(), scene_id="s2")))
    assert block == CreditBlock(
        heading="Music",
        rows=(
            CreditRow(role="“Fog”", names=("C. Dee",)),
            CreditRow(names=(credit_line(RAIN, "set to picture"),)),
        ),
    )


def test_a_card_fills_itself_from_the_scenes_that_are_in_the_assembly():
    locked = scene_with(FOG)
    film = film_with(CARD, locked, scene_with(RAIN, scene_id="s2"))
    media = ()
    film = edits.lock(film, "s1", "2026-11-25", media, reason="for the test").after
    shown = {
        include: next(slot for slot in lay_out(film, include).slots if slot.entry.id == "k1")
        for include in Include
    }
    own = ("Camera", "Music")
    for include, music in (
        (Include.ALL, ["Fog", "Rain"]),
        (Include.LOCKED, ["Fog"]),
        (Include.SLATES, ["Fog"]),
    ):
        card = shown[include].entry
        assert tuple(block.heading for block in card.credits) == own
        assert [name for name in ("Fog", "Rain") if name in card_text(card)] == music
        assert card.credits[1].rows[0] == CreditRow(names=("Thanks to the choir",))
        assert not any(block.fills for block in card.credits)
    assert shown[Include.ALL].length_frames > shown[Include.LOCKED].length_frames
    assert entry_frames(CARD, film) == shown[Include.ALL].length_frames
    assert film.cards == (CARD,), "the film itself keeps what is written"


def test_a_part_that_finds_nothing_is_not_shown():
    card = dataclasses.replace(CARD, credits=(CreditBlock(heading="Music", fills="music"),))
    film = film_with(card, scene_with())
    assert is_empty(filled_card(card, film.scenes))
    assert ("k1", "the card is empty") in lay_out(film, Include.ALL).left_out
    assert "card.empty" in [problem.code for problem in check(film, {}, Include.ALL)]
    with_music = film_with(card, scene_with(FOG))
    assert "card.empty" not in [problem.code for problem in check(with_music, {}, Include.ALL)]


@given(films(), st.sampled_from(Include))
def test_films_whose_cards_do_not_fill_themselves_are_laid_out_as_they_are(film, include):
    entries = film.entries()
    assert all(slot.entry is entries[slot.entry.id] for slot in lay_out(film, include).slots)


def test_only_what_is_known_can_fill_a_card():
    card = dataclasses.replace(CARD, credits=(CreditBlock(fills="weather"),))
    film = film_with(CARD, scene_with())
    with pytest.raises(EditError, match="must be “music”, “effects” or nothing, not “weather”"):
        edits.edit_card(film, "k1", credits=card.credits)


BELL = Rights(title="Bell", author="D. Ohm", source="https://example.org/bell", licence="CC BY 4.0")


def with_spots(scene, *rights):
    spots = tuple(
        Spot(
            id=f"{scene.id}f{at}",
            label=f"f{at}",
            file=f"{at}.wav",
            start_frames=at,
            length_frames=9,
            rights=item,
        )
        for at, item in enumerate(rights)
    )
    return dataclasses.replace(scene, content=dataclasses.replace(scene.content, spots=spots))


def test_effects_that_have_to_be_credited_are_once_and_others_are_not():
    asked = Rights(required_credit="Wind by G. Hay, with thanks")
    later = with_spots(scene_with(scene_id="s2"), BELL, asked)
    spots = tuple(
        dataclasses.replace(spot, in_seconds=Fraction(1)) if spot.rights == BELL else spot
        for spot in later.content.spots
    )
    later = dataclasses.replace(later, content=dataclasses.replace(later.content, spots=spots))
    first = with_spots(scene_with(), BELL, FOG, BELL, Rights(), Rights(title="Sea", licence="CC0"))
    assert effect_credits((first, later)) == CreditBlock(
        heading="Effects",
        rows=(
            CreditRow(names=(credit_line(BELL, "set to picture"),)),
            CreditRow(names=(credit_line(BELL, "shortened from the original"),)),
            CreditRow(names=("Wind by G. Hay, with thanks",)),
        ),
    )
    card = dataclasses.replace(CARD, credits=(CreditBlock(fills="effects"),))
    (block,) = filled_card(card, (first,)).credits
    assert block == effect_credits((first,))


def test_what_has_to_be_credited_and_is_on_no_card_is_told():
    card = dataclasses.replace(CARD, credits=(CreditBlock(heading="Thanks"),))
    scene = with_spots(scene_with(RAIN, FOG), BELL, BELL)
    film = film_with(card, scene)

    def told(film, include=Include.ALL):
        return [problem.sentence for problem in check(film, {}, include) if problem.code == "credits.missing"]

    assert told(film) == ["“Rain” and “Bell” have to be credited, and no card names them."]
    assert told(film, Include.SLATES) == [], "what is not in the copy needs no credit in it"
    music = dataclasses.replace(card, credits=(CreditBlock(fills="music"),))
    assert told(film_with(music, scene)) == ["“Bell” has to be credited, and no card names it."]
    both = dataclasses.replace(card, credits=(CreditBlock(fills="music"), CreditBlock(fills="effects")))
    assert told(film_with(both, scene)) == []
    by_hand = CreditBlock(
        rows=(CreditRow(role="Rain", names=("A. Bee",)), CreditRow(names=("BELL, D.  Ohm",)))
    )
    assert told(film_with(dataclasses.replace(card, credits=(by_hand,)), scene)) == []
    asked = scene_with(Rights(required_credit="Fog by C. Dee."))
    assert len(told(film_with(by_hand_card(by_hand), asked))) == 1
    words = CreditBlock(rows=(CreditRow(names=("Fog by C. Dee",)),))
    assert told(film_with(by_hand_card(words), asked)) == []


def by_hand_card(*credits):
    return dataclasses.replace(CARD, credits=credits)


def test_effects_whose_licence_lacks_something_or_bars_films_are_told():
    barred = dataclasses.replace(BELL, licence="CC BY-ND 4.0")
    nameless = dataclasses.replace(BELL, author="")
    scene = with_spots(scene_with(), barred, barred, nameless, Rights(title="Creak"), Rights(), FOG)
    told = [
        (problem.code, problem.subject, problem.sentence)
        for problem in check(film_with(CARD, scene), {}, Include.ALL)
        if problem.code.startswith("effect.")
    ]
    assert told == [
        (
            "effect.no-derivatives",
            "Scene 1, spot f0",
            "The licence of its sound “Bell” allows no adaptation; setting it to picture is one.",
        ),
        (
            "effect.no-credit",
            "Scene 1, spot f2",
            "Its sound “Bell” has to be credited, and lacks its author.",
        ),
        ("effect.no-licence", "Scene 1, spot f3", "No licence is entered for its sound “Creak”."),
    ]
    assert "an effect set to picture is an adaptation" in " ".join(obligations(barred, "effect"))


def test_music_that_lacks_a_licence_or_may_not_be_adapted_is_told_and_is_no_obstacle():
    barred = dataclasses.replace(RAIN, licence="CC BY-ND 4.0")
    nameless = dataclasses.replace(RAIN, author="", source="")
    scene = scene_with(Rights(title="Dusk"), barred, nameless, FOG)
    film = film_with(CARD, scene)
    told = {
        problem.code: problem.sentence
        for problem in check(film, {}, Include.ALL)
        if problem.code.startswith("music.")
    }
    assert told == {
        "music.no-licence": "No licence is entered for its music “Dusk”.",
        "music.no-derivatives": "The licence of its music “Rain” allows no adaptation; "
        "setting it to picture is one.",
        "music.no-credit": "Its music “Rain” has to be credited, and lacks its author and source.",
    }
    assert [item.sentence for item in what_a_lock_tells(with_spots(scene, barred, BELL, Rights()))] == [
        "No licence is entered for “Dusk” in cue m0.",
        "The licence of “Rain” in cue m1 allows no adaptation; setting it to picture is one.",
        "The licence of “Rain” in spot f0 allows no adaptation; setting it to picture is one.",
    ]
    asks = what_a_lock_asks(film, scene, lambda path: True)
    assert not any("licence" in item.sentence for item in asks)
