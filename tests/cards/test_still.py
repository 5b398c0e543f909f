"""Cards that stand: titles and lists, measured in pixels."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from desk.cards.drawing import draw_card
from desk.errors import AssemblyError
from desk.film.model import Card, CardKind, CreditBlock, CreditRow, Size
from tests.cards.pixels import Pixels, box, decode, drawn, ink, runs

DCI = Size(2048, 1080)
REVIEW = Size(1280, 674)
UPRIGHT = Size(1080, 1920)
SMALL = Size(640, 336)

TITLE = Card(id="c1", lines=("The Unprinted Ticket", "a ferry mystery in seven scenes"))
LIST = Card(
    id="c2",
    kind=CardKind.CREDITS,
    credits=(
        CreditBlock(
            heading="With",
            rows=(
                CreditRow(role="Held", names=("Hanna Hauk",)),
                CreditRow(role="The kiosk bell", names=("Berit Holm", "Berta Holm")),
            ),
        ),
    ),
)
LONG_TEXTS = {
    "one word": ("W" * 90,),
    "a sentence": (
        "The Extraordinarily Long Name of a Ferry Ticket That Nobody on This Island Has Printed Yet",
    ),
    "a paragraph": ("Tickets " * 200,),
    "many lines": tuple(f"Line {number} of the harbour rules" for number in range(24)),
    "a long line below": ("Ferry", "and what the passenger said about it, " * 12),
}


def in_safe_area(pixels: Pixels) -> bool:
    # Safe title area: the middle 90 % of width and height. SMPTE ST 2046-1 (from memory).
    left, top, right, bottom = box(ink(pixels))
    height, width = pixels.shape[:2]
    return left >= 0.05 * width and right <= 0.95 * width and top >= 0.05 * height and bottom <= 0.95 * height


def with_rows(*rows: CreditRow) -> Card:
    return Card(id="c3", kind=CardKind.CREDITS, credits=(CreditBlock(rows=rows),))


@pytest.mark.parametrize("size", [DCI, REVIEW, UPRIGHT])
@pytest.mark.parametrize("card", [TITLE, LIST], ids=["title", "list"])
def test_a_card_has_the_size_asked_for_and_keeps_inside_the_safe_area(tmp_path, card, size):
    pixels = drawn(card, tmp_path, size)
    assert pixels.shape == (size.height, size.width, 3)
    assert in_safe_area(pixels)


@pytest.mark.parametrize("size", [SMALL, Size(360, 640)])
@pytest.mark.parametrize("lines", LONG_TEXTS.values(), ids=LONG_TEXTS.keys())
def test_long_text_is_made_smaller_or_broken_but_never_cut_off(tmp_path, lines, size):
    assert in_safe_area(drawn(Card(id="c1", lines=lines), tmp_path, size))


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.lists(st.text(st.characters(codec="utf-8"), max_size=60), max_size=3),
    st.lists(st.tuples(st.text(max_size=30), st.lists(st.text(max_size=40), max_size=2)), max_size=5),
)
def test_any_text_is_drawn_inside_the_safe_area(tmp_path, lines, rows):
    credits = (CreditBlock(rows=tuple(CreditRow(role=role, names=tuple(names)) for role, names in rows)),)
    card = Card(id="c1", lines=tuple(lines), credits=credits if rows else ())
    pixels = drawn(card, tmp_path, SMALL)
    assert not ink(pixels).any() or in_safe_area(pixels)


def test_a_text_for_no_still_card_is_refused_with_what_to_do(tmp_path):
    row = CreditRow(role="Deckhand", names=("Somebody Else",))
    card = Card(id="c1", name="All hands", credits=(CreditBlock(rows=(row,) * 40),))
    with pytest.raises(AssemblyError, match="“All hands” has more text") as caught:
        drawn(card, tmp_path, SMALL)
    assert "Let it roll" in caught.value.advice
    with pytest.raises(AssemblyError, match="more text"):
        drawn(Card(id="c1", lines=("ticket " * 900,)), tmp_path, SMALL)
    assert list(tmp_path.iterdir()) == []


def test_a_list_gets_smaller_before_it_is_refused(tmp_path):
    heights = []
    for rows in (4, 12, 20):
        pixels = drawn(with_rows(*(CreditRow(role="H", names=("H",)),) * rows), tmp_path, REVIEW)
        letters = runs(ink(pixels).any(axis=1))
        assert len(letters) == rows
        heights.append(letters[0][1] - letters[0][0])
    assert heights[0] > heights[1] > heights[2]


def test_the_first_line_is_the_largest_and_stands_above_the_middle(tmp_path):
    first, second = runs(ink(drawn(replace(TITLE, lines=("HHHH", "HHHH")), tmp_path, DCI)).any(axis=1))
    assert first[1] - first[0] > 2 * (second[1] - second[0])
    (only,) = runs(ink(drawn(replace(TITLE, lines=("HHHH",)), tmp_path, DCI)).any(axis=1))
    middle = (only[0] + only[1]) / 2 / DCI.height
    assert 0.45 < middle < 0.5


def test_a_title_is_centred(tmp_path):
    left, _, right, _ = box(ink(drawn(replace(TITLE, lines=("HAH",)), tmp_path, DCI)))
    assert abs((left + right) - DCI.width) <= 2


def test_the_columns_meet_at_a_gutter_in_the_middle(tmp_path):
    # Letters with upright ends, of different lengths, so that only alignment makes the edges agree.
    roles, names = ("Md", "All hands", "Kind"), ("Hh", "Bertil", "Ellen Hill")
    card = with_rows(*(CreditRow(role=role, names=(name,)) for role, name in zip(roles, names, strict=True)))
    marked = ink(drawn(card, tmp_path, DCI))
    half = DCI.width // 2
    rows = runs(marked.any(axis=1))
    assert len(rows) == 3
    role_ends = [box(marked[top:bottom, :half])[2] for top, bottom in rows]
    name_starts = [half + box(marked[top:bottom, half:])[0] for top, bottom in rows]
    assert max(role_ends) - min(role_ends) <= 1
    assert max(name_starts) - min(name_starts) <= 1
    assert abs((half - role_ends[0]) - (name_starts[0] - half)) <= 2
    assert name_starts[0] - role_ends[0] > 20


def test_several_names_stand_one_under_another(tmp_path):
    marked = ink(drawn(with_rows(CreditRow(role="H", names=("HH", "HH", "HH"))), tmp_path, DCI))
    half = DCI.width // 2
    assert len(runs(marked[:, :half].any(axis=1))) == 1
    lines = runs(marked[:, half:].any(axis=1))
    assert len(lines) == 3
    first, second, third = (top for top, _ in lines)
    assert abs((second - first) - (third - second)) <= 1
    assert runs(marked[:, :half].any(axis=1))[0][1] in range(lines[0][1] - 1, lines[0][1] + 2)


@pytest.mark.parametrize("row", [CreditRow(names=("HAH HAH",)), CreditRow(role="HAH HAH")])
def test_a_name_or_a_role_alone_is_centred(tmp_path, row):
    left, _, right, _ = box(ink(drawn(with_rows(row), tmp_path, DCI)))
    assert abs((left + right) - DCI.width) <= 2


def test_a_heading_is_centred_and_in_small_capitals(tmp_path):
    card = Card(id="c1", credits=(CreditBlock(heading="hah", rows=(CreditRow(names=("H",)),)),))
    heading, name = runs(ink(pixels := drawn(card, tmp_path, DCI)).any(axis=1))
    left, _, right, _ = box(ink(pixels)[heading[0] : heading[1]])
    assert abs((left + right) - DCI.width) <= 2
    upper = drawn(replace(card, credits=(replace(card.credits[0], heading="HAH"),)), tmp_path, DCI)
    assert np.array_equal(upper, pixels)
    assert heading[1] - heading[0] < name[1] - name[0]


def test_a_card_is_the_same_picture_at_every_size(tmp_path):
    for card in (TITLE, LIST, Card(id="c1", lines=LONG_TEXTS["a sentence"])):
        large, small = (ink(drawn(card, tmp_path, size, DCI)) for size in (DCI, REVIEW))
        scale = REVIEW.height / DCI.height
        assert np.allclose(np.array(box(large)) * scale, box(small), atol=2)
        assert len(runs(large.any(axis=1))) == len(runs(small.any(axis=1)))


def test_breaks_and_tabs_in_a_text_are_spaces(tmp_path):
    plain = drawn(replace(TITLE, lines=("The Unprinted Ticket",)), tmp_path, SMALL)
    broken = drawn(replace(TITLE, lines=("\tThe\nUnprinted \r\n\u2028 Ticket\x00\ud800 ",)), tmp_path, SMALL)
    assert np.array_equal(plain, broken)


@pytest.mark.parametrize(
    "text",
    ["שלום עולם", "مرحبا بالعالم", "日本語の題名", "👩‍👩‍👧 🎬", "Привет", "e\u0301\u0323\u0308", "ﬀ\u202ee"],
)
def test_every_script_is_drawn(tmp_path, text):
    card = Card(
        id="c1",
        lines=(text, text),
        credits=(CreditBlock(heading=text, rows=(CreditRow(role=text, names=(text,)),)),),
    )
    assert ink(drawn(replace(card, credits=()), tmp_path, SMALL)).any()
    assert in_safe_area(drawn(card, tmp_path, SMALL))


@pytest.mark.parametrize(
    "card", [Card(id="c1"), Card(id="c1", lines=("", " ")), Card(id="c1", credits=(CreditBlock(),))]
)
def test_a_card_without_text_is_blank(tmp_path, card):
    assert not ink(drawn(replace(card, background="#102030"), tmp_path, SMALL)).any()
    assert tuple(decode(tmp_path / "card.png")[5, 5]) == (0x10, 0x20, 0x30)


def test_a_colour_that_is_none_is_told(tmp_path):
    for card in (replace(TITLE, ink="red"), replace(TITLE, background="#12345")):
        with pytest.raises(AssemblyError, match="is no colour"):
            drawn(card, tmp_path, SMALL)


def test_a_refused_card_leaves_the_earlier_picture(tmp_path):
    target = tmp_path / "card.png"
    target.write_bytes(b"earlier")
    with pytest.raises(AssemblyError):
        draw_card(replace(TITLE, ink=""), film_size=SMALL, size=SMALL, target=target)
    assert target.read_bytes() == b"earlier"
    assert list(tmp_path.iterdir()) == [target]
