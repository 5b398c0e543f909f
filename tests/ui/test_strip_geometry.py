"""Where things are on the strip, against the layout of the film itself."""

import itertools
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from desk.film.model import Film
from desk.film.timing import Include, Layout, lay_out
from desk.ui.look.marks import Mark
from desk.ui.strip.cells import Cell, cells_of, changed_columns
from desk.ui.strip.geometry import (
    Label,
    Span,
    column_of,
    frame_of,
    place_at,
    spans_of,
    spread,
    tension_lines,
)
from tests.film.films import films, small_film

WIDTHS = st.integers(1, 3000)


def owner(layout: Layout, column_px: int, width_px: int) -> str:
    """Return who is on screen at the middle of what a column stands for."""
    at = (Fraction(column_px) + Fraction(1, 2)) * layout.length_frames / width_px
    return next(slot.entry.id for slot in layout.slots if slot.start_frames <= at < slot.end_frames)


@given(film=films(), width_px=WIDTHS, share=st.floats(0, 1))
def test_a_column_belongs_to_who_is_on_screen_at_its_middle(film: Film, width_px: int, share: float) -> None:
    layout = lay_out(film, Include.SLATES)
    if not layout.slots:
        assert spans_of(layout, width_px) == ()
        return
    spans = spans_of(layout, width_px)
    for column_px in {0, round(share * (width_px - 1)), width_px - 1}:
        (found,) = (span.entry for span in spans if span.left_px <= column_px < span.right_px)
        assert found == owner(layout, column_px, width_px)
        span, frame = place_at(spans, column_px, width_px)
        assert span.entry == found
        assert span.start_frames <= frame < span.end_frames


@given(film=films(), width_px=WIDTHS)
def test_the_entries_fill_the_strip_in_order(film: Film, width_px: int) -> None:
    spans = spans_of(lay_out(film, Include.SLATES), width_px)
    edges = [edge for span in spans for edge in (span.left_px, span.right_px)]
    if spans:
        assert edges[0] == 0
        assert edges[-1] == width_px
    assert edges[1:-1:2] == edges[2::2]


@given(total=st.integers(1, 10**6), width_px=WIDTHS, share=st.floats(0, 1))
def test_a_frame_lies_at_the_first_column_that_shows_it_or_a_later_one(
    total: int, width_px: int, share: float
) -> None:
    frame = round(share * (total - 1))
    column_px = column_of(frame, total, width_px)
    if column_px < width_px:
        assert frame_of(column_px, total, width_px) >= frame
    if column_px:
        assert frame_of(column_px - 1, total, width_px) < frame


def test_a_small_film() -> None:
    """24 frames a second: title 3 s, scenes of 120, 96 and 60 frames, credits 3 s; 420 frames on 840 px."""
    spans = spans_of(lay_out(small_film(), Include.SLATES), 840)
    assert [(span.entry, span.left_px, span.right_px) for span in spans] == [
        ("k1", 0, 144),
        ("s1", 144, 384),
        ("s2", 384, 576),
        ("s4", 576, 696),
        ("k2", 696, 840),
    ]


def span(left_px: int, right_px: int) -> Span:
    return Span(entry="", start_frames=left_px, end_frames=right_px, left_px=left_px, right_px=right_px)


def test_tension_rises_in_steps_with_a_gentle_slope() -> None:
    spans = [span(0, 100), span(100, 200), span(200, 300), span(300, 400), span(400, 402)]
    assert tension_lines(spans, [1, 3, 3, 0, 5], 20) == [
        [(0, 1), (90, 1), (110, 3), (290, 3), (310, 0), (399, 0), (401, 5), (402, 5)]
    ]


def test_tension_that_was_not_said_is_a_gap() -> None:
    spans = [span(0, 100), span(100, 200), span(200, 300)]
    assert tension_lines(spans, [None, 2, None], 20) == [[(100, 2), (200, 2)]]
    assert tension_lines(spans, [1, None, 2], 20) == [[(0, 1), (100, 1)], [(200, 2), (300, 2)]]
    assert tension_lines(spans, [None, None, None], 20) == []


LABELS = st.lists(
    st.builds(Label, st.floats(0, 1400), st.floats(8, 60), st.sampled_from([1, 2])), max_size=130
)


@given(labels=LABELS, chosen=st.integers(0, 129))
def test_labels_never_touch_and_the_chosen_one_is_shown(labels: list[Label], chosen: int) -> None:
    labels.sort(key=lambda label: label.left_px)
    if chosen < len(labels):
        labels[chosen] = Label(labels[chosen].left_px, labels[chosen].width_px, 0)
    placed = spread(labels, 1400, 8)
    assert chosen >= len(labels) or chosen in placed
    taken = sorted((left, left + labels[index].width_px) for index, left in placed.items())
    assert all(left >= 0 and right <= 1400 for left, right in taken)
    assert all(one[1] + 8 <= other[0] for one, other in itertools.pairwise(taken))


def test_a_label_that_matters_more_takes_the_place() -> None:
    labels = [Label(0, 30, 2), Label(10, 30, 1), Label(60, 30, 2), Label(80, 30, 0)]
    assert spread(labels, 200, 8) == {3: 80, 1: 10}


def cells(film: Film) -> tuple[Cell, ...]:
    return cells_of(film, 840, lambda _: Mark.DRAFT)


def test_what_an_edit_changed_is_known() -> None:
    film = small_film()
    before = cells(film)
    assert changed_columns(before, cells(film)) is None
    one = list(before)
    one[2] = Cell(span=before[2].span, mark=Mark.LOCKED, number="2", tension=3, join=before[2].join)
    assert changed_columns(before, one) == (384, 576)
    assert changed_columns(before, before[:-1]) == (696, 840)
    assert changed_columns((), before) == (0, 840)
    assert changed_columns(before, ()) == (0, 840)


@pytest.mark.parametrize("width_px", [1, 7])
def test_a_strip_narrower_than_its_entries(width_px: int) -> None:
    spans = spans_of(lay_out(small_film(), Include.SLATES), width_px)
    assert sum(item.width_px for item in spans) == width_px
