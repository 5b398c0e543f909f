"""How one list becomes another: the steps lead there, and nothing moves that could stay."""

from hypothesis import given
from hypothesis import strategies as st

from desk.ui.order.differences import Insertion, Move, Removal, apply_step, runs, steps_between


def after(old: str, new: str) -> str:
    now = list(old)
    for step in steps_between(old, new):
        apply_step(now, step)
    return "".join(now)


@given(
    st.permutations("abcdefghij"), st.permutations("abcdefghijklm"), st.integers(0, 10), st.integers(0, 13)
)
def test_the_steps_lead_from_any_list_to_any_other(old, new, old_length, new_length):
    first, last = "".join(old[:old_length]), "".join(new[:new_length])
    assert after(first, last) == last


def test_one_row_that_goes_far_is_one_move():
    assert steps_between("abcdef", "bcdefa") == [Move(0, 0, 6)]
    assert steps_between("abcdef", "fabcde") == [Move(5, 5, 0)]


def test_a_block_moves_as_one():
    assert steps_between("abcdef", "adefbc") == [Move(1, 2, 6)]


def test_rows_side_by_side_go_and_come_together():
    assert steps_between("abcdef", "af") == [Removal(1, 4)]
    assert steps_between("af", "abcdef") == [Insertion(1, ("b", "c", "d", "e"))]


def test_the_same_list_takes_no_steps():
    assert steps_between("abc", "abc") == []


@given(st.permutations("abcdefgh"))
def test_as_few_rows_move_as_can_be(new):
    """Those that stay are a longest rising run; found here by trying all subsets."""
    old = "abcdefgh"
    moved = sum(step.last - step.first + 1 for step in steps_between(old, new) if isinstance(step, Move))
    longest = max(
        bin(mask).count("1")
        for mask in range(1 << len(new))
        if (kept := [item for at, item in enumerate(new) if mask >> at & 1]) == sorted(kept)
    )
    assert moved <= len(old) - longest


def test_runs_are_unbroken():
    assert runs([1, 2, 3, 5, 7, 8]) == [(1, 3), (5, 5), (7, 8)]
    assert runs([]) == []
