"""Words that sentences are made of."""

from fractions import Fraction

import pytest

from desk.film.model import Card, CardKind, Scene
from desk.film.wording import counted, entry_name, entry_names, listed, quoted, shown_number


@pytest.mark.parametrize(
    ("items", "told"),
    [
        ([], ""),
        (["a"], "a"),
        (["a", "b"], "a and b"),
        (["a", "b", "c", "d"], "a, b, c and d"),
        (["a", "b", "c", "d", "e"], "a, b, c and 2 more"),
    ],
)
def test_lists(items, told):
    assert listed(items) == told


def test_counts():
    assert [counted(count, "frame") for count in (0, 1, 2, 1200)] == [
        "0 frames",
        "1 frame",
        "2 frames",
        "1,200 frames",
    ]
    assert counted(2, "entry") == "2 entries"
    assert counted(1, "entry") == "1 entry"


def test_numbers_of_any_length_are_told_in_a_few_signs():
    assert shown_number(-1234) == "−1,234"
    assert shown_number(-3.5) == "−3.5"
    assert shown_number(Fraction(-1, 3)) == "−1/3"
    assert counted(-12, "frame") == "−12 frames"
    assert shown_number(Fraction(1, 3)) == "1/3"
    assert shown_number(0.25) == "0.25"
    for long in (10**5000, Fraction(1, 10**5000), Fraction(10**5000)):
        assert len(shown_number(long)) < 50


def test_quotes_are_short_and_printable():
    assert quoted("Æ 渡") == "“Æ 渡”"
    assert quoted("a\x1b\nb") == "“a\\x1b\\nb”"
    assert quoted("half \ud800") == "“half \\ud800”"
    assert len(quoted("x" * 500)) == 62


def test_names_of_entries():
    scenes = [Scene(id=f"s{number}", number=str(number)) for number in range(1, 6)]
    assert entry_name(scenes[0]) == "scene 1"
    assert entry_name(Card(id="k", kind=CardKind.CREDITS)) == "card “Credits”"
    assert entry_name(Card(id="k", name="Low Water")) == "card “Low Water”"
    assert entry_names(scenes[:3]) == "scene 1, scene 2 and scene 3"
    assert entry_names(scenes) == "5 entries"
