"""Where a picture goes in a frame: the table of sizes is STANDARDS.md §7, from DCI and UHD sizes."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from desk.film.framing import enlargement
from desk.film.model import Fit, Framing, Size
from desk.render.placing import place, review_size


@pytest.mark.parametrize(
    ("picture", "frame", "scaled", "at"),
    [
        # 16:9 in DCI: bars left and right of 64 px at 2K, 128 px at 4K.
        ((1920, 1080), Size(2048, 1080), Size(1920, 1080), (64, 0)),
        ((3840, 2160), Size(4096, 2160), Size(3840, 2160), (128, 0)),
        # 2.39 in HD: 804 lines, bars of 138.
        ((2048, 858), Size(1920, 1080), Size(1920, 804), (0, 138)),
        ((1440, 1080), Size(1920, 1080), Size(1440, 1080), (240, 0)),
    ],
)
def test_fit_letterboxes_as_the_size_table_says(picture, frame, scaled, at):
    placing = place(Framing(), (Fraction(picture[0]), Fraction(picture[1])), frame)
    assert placing.scaled == scaled
    assert placing.at == at
    assert placing.crop == (0, 0, scaled.width, scaled.height)


def test_fill_cuts_off_equally_on_both_sides():
    placing = place(Framing(fit=Fit.FILL), (Fraction(4096), Fraction(2160)), Size(1920, 1080))
    assert placing.scaled == Size(2048, 1080)
    assert placing.crop == (64, 0, 1920, 1080)
    assert placing.at == (0, 0)


@given(
    width=st.integers(16, 8192),
    height=st.integers(16, 8192),
    frame=st.builds(
        Size, st.integers(8, 2048).map(lambda n: 2 * n), st.integers(8, 1200).map(lambda n: 2 * n)
    ),
    framing=st.builds(
        Framing,
        fit=st.sampled_from(Fit),
        scale=st.floats(0.05, 8),
        x=st.floats(-2, 2),
        y=st.floats(-2, 2),
    ),
)
def test_every_number_is_even_and_inside(width, height, frame, framing):
    """4:2:0 colour stands on every second pixel: an odd place would blur or shift it."""
    placing = place(framing, (Fraction(width), Fraction(height)), frame)
    left, top, seen_width, seen_height = placing.crop
    numbers = (placing.scaled.width, placing.scaled.height, *placing.crop, *placing.at)
    assert all(number % 2 == 0 and number >= 0 for number in numbers)
    assert left + seen_width <= placing.scaled.width
    assert top + seen_height <= placing.scaled.height
    assert placing.at[0] + seen_width <= frame.width
    assert placing.at[1] + seen_height <= frame.height
    assert seen_width >= 2
    assert seen_height >= 2


@pytest.mark.parametrize(
    ("film", "review"),
    [
        (Size(1920, 1080), Size(1280, 720)),
        (Size(3840, 2160), Size(1280, 720)),
        (Size(2048, 1080), Size(1280, 676)),
        (Size(1024, 540), Size(1024, 540)),
        (Size(1080, 1920), Size(404, 720)),
    ],
)
def test_review_copies_fit_a_box_and_are_never_enlarged(film, review):
    assert review_size(film, 720) == review


def test_enlargement_tells_pixels_per_pixel():
    assert enlargement(Framing(scale=1.12), (Fraction(1920), Fraction(1080)), Size(1920, 1080)) == Fraction(
        1.12
    )
    assert enlargement(Framing(), (Fraction(3840), Fraction(2160)), Size(1920, 1080)) == Fraction(1, 2)
