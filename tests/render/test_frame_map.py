"""Frame maps against the rule itself: film frame k shows the source frame on screen at t0 + k·speed/rate."""

import math
import re
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from desk.film.media import PictureFacts
from desk.film.rates import FILM_RATES, Rate
from desk.render.frame_map import FrameMap, map_constant, map_variable, shown_frames

SOURCE_RATES = (*FILM_RATES, Rate(100), Rate(120), Rate(120000, 1001), Rate(12), Rate(15))
CLOCKS = (1000, 1200, 12800, 15360, 24000, 30000, 60000, 90000, 1_000_000)


def facts(
    rate: Rate, frames: int, *, clock: int = 90_000, start_pts: int = 0, variable: bool = False
) -> PictureFacts:
    return PictureFacts(
        width=320,
        height=180,
        rate=rate,
        variable=variable,
        frames=frames,
        seconds=rate.seconds(frames),
        time_base=Fraction(1, clock),
        start_pts=start_pts,
    )


def played(frame_map: FrameMap, source_ticks: list[int], frames: int, rate: Rate) -> list[int]:
    """Return which of the frames that ffmpeg lets through each film frame shows, doing what its filters do.

    `trim` drops what is before `first_tick`; `setpts` numbers what is left; `fps` shows the last frame whose
    time has come.
    """
    kept = [index for index, tick in enumerate(source_ticks) if tick >= frame_map.first_tick]
    functions = {"ceil": math.ceil, "max": max, "round": round, "gte": lambda one, other: one >= other}
    assert re.fullmatch(r"[\w\s.()+*,\-]+", frame_map.number)
    per_frame = frame_map.clock * rate.denominator // rate.numerator
    starts = [
        eval(frame_map.number, {**functions, "N": n, "PTS": source_ticks[index]})
        for n, index in enumerate(kept)
    ]
    shown = []
    for frame in range(frames):
        ready = [index for start, index in zip(starts, kept, strict=True) if start <= frame * per_frame]
        shown.append(ready[-1])
    return shown


@given(
    source=st.sampled_from(SOURCE_RATES),
    rate=st.sampled_from(FILM_RATES),
    clock=st.sampled_from(CLOCKS),
    start_pts=st.integers(0, 5000),
    first=st.integers(0, 400),
    speed=st.fractions(Fraction(1, 8), Fraction(8), max_denominator=12),
    frames=st.integers(1, 60),
    between=st.fractions(Fraction(0), Fraction(6, 7), max_denominator=7),
)
def test_constant_rate_shows_the_frame_on_screen(
    source, rate, clock, start_pts, first, speed, frames, between
):
    """Also where the container's clock is coarser than the frames are exact: a Matroska file counts in ms."""
    known = facts(source, 500, clock=clock, start_pts=start_pts)
    in_seconds = (first + between) / source.fraction
    frame_map = map_constant(known, rate, in_seconds, speed, frames)
    scale = Fraction(frame_map.clock, clock)
    stamps = [start_pts + round(index * clock / source.fraction) for index in range(500)]
    ticks = [int(stamp * scale) for stamp in stamps]
    wanted = [
        min(math.floor((in_seconds + k * speed / rate.fraction) * source.fraction), 499)
        for k in range(frames)
    ]
    assert played(frame_map, ticks, frames, rate) == wanted
    assert list(shown_frames(known, rate, in_seconds, speed, frames)) == wanted
    assert frame_map.key_seconds >= Fraction(stamps[wanted[0]], clock)
    assert wanted[0] == 499 or frame_map.key_seconds < Fraction(stamps[wanted[0] + 1], clock)


@given(
    steps=st.lists(st.sampled_from([3000, 3003, 3750, 1500, 6000]), min_size=20, max_size=200),
    rate=st.sampled_from(FILM_RATES),
    start_pts=st.integers(0, 90_000),
    at=st.fractions(Fraction(0), Fraction(9, 10), max_denominator=50),
    speed=st.sampled_from([Fraction(1), Fraction(1, 2), Fraction(3, 2), Fraction(1, 4), Fraction(4)]),
    frames=st.integers(1, 40),
)
def test_variable_rate_shows_the_frame_on_screen(steps, rate, start_pts, at, speed, frames):
    stamps = [start_pts]
    for step in steps:
        stamps.append(stamps[-1] + step)
    known = facts(Rate(30), len(stamps), start_pts=start_pts, variable=True)
    length = Fraction(stamps[-1] - start_pts, 90_000)
    in_seconds = at * length
    asked = [in_seconds + k * speed / rate.fraction for k in range(frames)]
    on_screen = [
        max(index for index, stamp in enumerate(stamps) if Fraction(stamp - start_pts, 90_000) <= time)
        for time in asked
    ]
    needed = stamps[on_screen[0] : on_screen[-1] + 2]
    frame_map = map_variable(known, needed, rate, in_seconds, speed, frames)
    ticks = [stamp * frame_map.clock // 90_000 for stamp in stamps]
    assert played(frame_map, ticks, frames, rate) == on_screen


def test_every_frame_of_a_high_rate_source_is_shown_once():
    """100 frames a second at a quarter of the speed in a film of 25: each source frame in turn."""
    known = facts(Rate(100), 200)
    assert shown_frames(known, Rate(25), Fraction(1, 2), Fraction(1, 4), 20) == tuple(range(50, 70))


def test_real_time_of_a_high_rate_source_shows_every_fourth():
    known = facts(Rate(100), 200)
    assert shown_frames(known, Rate(25), Fraction(0), Fraction(1), 5) == (0, 4, 8, 12, 16)


def test_the_last_frame_is_held_beyond_the_end():
    known = facts(Rate(25), 480)
    shown = shown_frames(known, Rate(25), Fraction(19), Fraction(1), 30)
    assert (shown[0], shown[-1]) == (475, 479)
    ticks = [index * 3600 for index in range(480)]
    frame_map = map_constant(known, Rate(25), Fraction(19), Fraction(1), 30)
    assert played(frame_map, ticks, 30, Rate(25)) == list(shown)
