"""Which versions of the film file are kept."""

from collections import Counter
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from desk.store.earlier import KEPT_RECENT, Kept, keep, kept_versions, last_good, superfluous, thin_out
from desk.store.format import encode
from tests.store.films import titled

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
NONE = "0" * 12


def version(sequence: int, saved: datetime) -> Kept:
    return Kept(sequence, saved, NONE)


def data(title: str) -> bytes:
    return encode(titled(title), Path("film.json"))


@given(st.lists(st.integers(0, 40 * 24 * 60), max_size=300))
@settings(max_examples=100, deadline=None)
def test_the_last_ones_and_one_an_hour_and_one_a_day_are_kept(minutes_ago):
    ordered = [
        version(number, NOON - timedelta(minutes=minutes))
        for number, minutes in enumerate(sorted(minutes_ago, reverse=True), 1)
    ]
    dropped = superfluous(ordered, now=NOON)
    kept = [item for item in ordered if item not in dropped]
    assert kept[-KEPT_RECENT:] == ordered[-KEPT_RECENT:]

    older = kept[:-KEPT_RECENT]
    young = [item for item in older if NOON - item.saved < timedelta(days=1)]
    assert all(count == 1 for count in Counter(f"{item.saved:%d %H}" for item in young).values())
    old = [item for item in older if item not in young]
    assert all(count == 1 for count in Counter(f"{item.saved:%m-%d}" for item in old).values())

    # Nothing is dropped whose hour (for a day) or day is not spoken for by a later one.
    for item in dropped:
        form = "%d %H" if NOON - item.saved < timedelta(days=1) else "%m-%d"
        later = [other for other in kept if other.sequence > item.sequence]
        assert any(f"{other.saved:{form}}" == f"{item.saved:{form}}" for other in later)
    assert superfluous(kept, now=NOON) == ()


def test_two_weeks_of_saving_every_ten_minutes_keep_few():
    kept: list[Kept] = []
    for number in range(14 * 24 * 6):
        now = NOON + timedelta(minutes=10 * number)
        kept.append(version(number + 1, now))
        dropped = set(superfluous(kept, now=now))
        kept = [item for item in kept if item not in dropped]
    # 20 recent ones; of the day's 24 hours those that no recent one speaks for; one for each other day.
    assert KEPT_RECENT + 20 + 13 <= len(kept) <= KEPT_RECENT + 24 + 14
    assert {item.saved.date() for item in kept} == {(NOON + timedelta(days=day)).date() for day in range(15)}


def test_names_tell_order_time_and_content(tmp_path):
    first = keep(tmp_path, data("a"), now=NOON)
    second = keep(tmp_path, data("b"), now=NOON)
    assert kept_versions(tmp_path) == (first, second)
    assert first.name.startswith("000001-20261125T120000Z-")
    assert (tmp_path / ".desk/earlier" / second.name).read_bytes() == data("b")


def test_the_same_bytes_are_kept_once_in_a_row(tmp_path):
    for title in ("a", "a", "b", "b", "a"):
        keep(tmp_path, data(title), now=NOON)
    assert [item.sequence for item in kept_versions(tmp_path)] == [1, 2, 3]


def test_a_copy_that_was_damaged_does_not_count_as_kept(tmp_path):
    first = keep(tmp_path, data("a"), now=NOON)
    (tmp_path / ".desk/earlier" / first.name).write_bytes(b"{")
    assert keep(tmp_path, data("a"), now=NOON).sequence == 2


def test_order_does_not_hang_on_the_clock(tmp_path):
    keep(tmp_path, data("a"), now=NOON)
    keep(tmp_path, data("b"), now=NOON - timedelta(days=400))
    found = last_good(tmp_path)
    assert found is not None
    assert found[2].film == titled("b")


def test_the_last_good_one_passes_over_damaged_ones_and_strangers(tmp_path):
    folder = tmp_path / ".desk/earlier"
    good = keep(tmp_path, data("a"), now=NOON)
    cut = keep(tmp_path, data("b"), now=NOON)
    (folder / cut.name).write_bytes(data("b")[:-40])
    swapped = keep(tmp_path, data("c"), now=NOON)
    (folder / swapped.name).write_bytes(data("another film under that name"))
    (folder / "notes.txt").write_text("mine")
    (folder / "000009-99999999T999999Z-000000000000.json").write_text("no such time")
    (folder / "000010-20261125T120000Z-000000000000.json").mkdir()
    found = last_good(tmp_path)
    assert found is not None
    assert found[0] == good
    assert found[2].film == titled("a")


@pytest.mark.parametrize("make", [lambda path: None, lambda path: path.mkdir(), lambda path: path.touch()])
def test_without_versions_there_is_no_good_one(tmp_path, make):
    make(tmp_path / ".desk")
    assert last_good(tmp_path) is None
    assert kept_versions(tmp_path) == ()


def test_thinning_removes_the_superfluous_and_nothing_else(tmp_path):
    for number in range(30):
        keep(tmp_path, data(str(number)), now=NOON - timedelta(days=30, seconds=-number))
    folder = tmp_path / ".desk/earlier"
    (folder / "notes.txt").write_text("mine")
    thin_out(tmp_path, now=NOON)
    assert [item.sequence for item in kept_versions(tmp_path)] == list(range(11, 31))
    assert (folder / "notes.txt").exists()
