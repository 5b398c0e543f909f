"""Scene numbers after the letter rule: common practice, no source (from memory)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from desk.film.scene_numbers import next_whole_number, number_between


@pytest.mark.parametrize(
    ("before", "after", "others", "number"),
    [
        ("4", "5", "", "4A"),
        ("4A", "5", "4", "4B"),
        ("4", "4A", "5", "A4A"),
        ("A4A", "4A", "4", "B4A"),
        ("4", "A4A", "4A", "AA4A"),
        ("A4A", "B4A", "4A", "AB4A"),
        ("4A", "4B", "4", "A4B"),
        ("4", "5", "4A", "4B"),  # 4A is set aside, say
        ("4H", "5", "", "4J"),  # I looks like 1
        ("4N", "5", "", "4P"),  # O looks like 0
        ("4Z", "5", "", "4AA"),
        ("4AA", "5", "", "4AB"),
        ("4", "7", "", "4A"),  # 5 and 6 were dropped, and stay dropped
        (None, "1", "", "A1"),
        (None, "A1", "1", "AA1"),
        ("A1", "1", "", "B1"),
        (None, "1", "A1", "B1"),
        ("7", None, "", "8"),
        ("7B", None, "7", "8"),
        ("7", None, "9", "10"),  # 9 is set aside, say
        (None, None, "", "1"),
        ("9", "3", "", "9A"),  # out of order
        ("4a", "5", "4", "4B"),
        ("Coda", "5", "", "A5"),
        ("5", "Coda", "", "5A"),
        ("Coda", "Epilogue", "3", "4"),
    ],
)
def test_numbers_in_between(before, after, others, number):
    taken = [item for item in (before, after, *others.split()) if item]
    assert number_between(before, after, taken) == number


def test_the_next_whole_number_is_above_all_that_were_dealt_out():
    assert next_whole_number(["2", "17B", "A3", "Coda"]) == "18"
    assert next_whole_number([]) == "1"


@given(st.lists(st.integers(0, 8), max_size=14))
def test_scenes_put_in_anywhere_get_numbers_that_are_their_own(places):
    numbers: list[str] = []
    for place in places:
        at = min(place, len(numbers))
        before = numbers[at - 1] if at else None
        after = numbers[at] if at < len(numbers) else None
        made = number_between(before, after, numbers)
        assert made not in numbers
        numbers.insert(at, made)
    assert sorted(numbers, key=_order) == numbers


def _order(number: str) -> tuple:
    """Where a number stands by the rule, found another way: spelled from the inside out."""
    whole = "".join(sign for sign in number if sign.isdigit())
    front, _, back = number.partition(whole)
    return int(whole), len(back), back, [*reversed(front), "Ω"]
