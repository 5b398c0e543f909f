"""The curve by which music goes down under speech, against its definition."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from desk.film.model import Duck
from desk.film.rates import SAMPLE_RATE_HZ, Rate
from desk.sound.ducking import DuckPoint, duck_curve, duck_points, gains_of, merged, reaching

STRETCHES = st.lists(
    st.tuples(st.integers(0, 400_000), st.integers(1, 60_000)).map(lambda pair: (pair[0], sum(pair))),
    max_size=8,
)
DUCKS = st.builds(
    Duck, depth_db=st.floats(0, 40), attack_ms=st.floats(0, 3000), release_ms=st.floats(0, 3000)
)


def by_definition(duck, stretches, at):
    """At each sample the lowest of the gains that each stretch alone would ask for."""
    attack, release = (max(1.0, ms * 48) for ms in (duck.attack_ms, duck.release_ms))
    shares = np.zeros(len(at))
    for start, end in stretches:
        alone = np.minimum(1 - (start - at) / attack, 1 - (at - end) / release)
        shares = np.maximum(shares, np.clip(alone, 0, 1))
    return -duck.depth_db * shares


@given(DUCKS, STRETCHES)
def test_the_curve_is_the_lowest_of_what_each_stretch_asks_for(duck, stretches):
    stretches = merged(stretches)
    at = np.arange(-200_000, 700_000, 997)
    wanted = 10 ** (by_definition(duck, stretches, at) / 20)
    points = duck_points(duck, stretches)
    np.testing.assert_allclose(
        [gains_of(points, int(place), 1)[0] for place in at[::7]], wanted[::7], atol=1e-5
    )
    block = gains_of(points, -200_000, 900_000)
    np.testing.assert_allclose(block[::997], wanted[: len(block[::997])], atol=1e-5)


@given(DUCKS, STRETCHES, st.integers(-100_000, 500_000), st.integers(1, 200_000))
def test_what_reaches_a_range_is_all_that_decides_it(duck, stretches, first, count):
    stretches = merged(stretches)
    near = reaching(duck, stretches, first, first + count)
    np.testing.assert_allclose(
        gains_of(duck_points(duck, near), first, count),
        gains_of(duck_points(duck, stretches), first, count),
        atol=1e-5,
    )


@given(STRETCHES)
def test_merged_stretches_are_apart_and_cover_the_same(stretches):
    found = merged(stretches)
    edges = [edge for stretch in found for edge in stretch]
    assert edges == sorted(set(edges))
    for start, end in stretches:
        assert any(low <= start and end <= high for low, high in found)
    assert {edge for stretch in found for edge in stretch} <= {
        edge for stretch in stretches for edge in stretch
    }


def test_the_curve_for_drawing_is_in_frames():
    duck = Duck(depth_db=9.0, attack_ms=200.0, release_ms=400.0)
    assert duck_curve(duck, ((SAMPLE_RATE_HZ, 2 * SAMPLE_RATE_HZ),), Rate(25)) == (
        DuckPoint(20.0, 0.0),
        DuckPoint(25.0, -9.0),
        DuckPoint(50.0, -9.0),
        DuckPoint(60.0, 0.0),
    )
    assert duck_curve(duck, (), Rate(25)) == ()
