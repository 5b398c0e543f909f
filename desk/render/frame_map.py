"""Which source frame each film frame shows, and how ffmpeg is told so that no release can read it otherwise.

Film frame k of a run shows the source frame on screen at t0 + k·speed/rate. For a constant rate the frames
stand at i / source rate, whatever a coarse container clock says; for a variable rate at their own times.

ffmpeg gets no seconds to round: frames are chosen by time stamp, and each is given the number of the first
film frame that shows it by one linear expression, so that one that can't be decoded shifts no other. Asked
times are moved by half the smallest gap to the next source frame, which changes no choice and keeps the
expression's floating point away from every edge; the result is checked here, frame by frame, before use.
"""

import bisect
import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from desk.film.media import PictureFacts
from desk.film.rates import Rate


@dataclass(frozen=True, slots=True)
class FrameMap:
    """How ffmpeg is told which frames to show.

    Attributes:
        clock: Ticks a second in which the two following values count.
        first_tick: Frames before this time are left out.
        number: Expression for `setpts`: the film frame, from 0, that first shows a source frame, in ticks.
        key_seconds: A key frame shown by this time has to be read, for the first frame to be decoded.
    """

    clock: int
    first_tick: int
    number: str
    key_seconds: Fraction


def shown_frames(
    facts: PictureFacts, rate: Rate, in_seconds: Fraction, speed: Fraction, frames: int
) -> tuple[int, ...]:
    """Return the source frame, from 0, that each film frame shows, for a constant rate.

    After the last frame of the source, that one is held.

    Args:
        facts: The source, of constant rate.
        rate: The film's rate.
        in_seconds: Place in the source of film frame 0, 0 or more.
        speed: Source seconds for each film second.
        frames: How many film frames.
    """
    first, step = in_seconds * facts.rate.fraction, speed * facts.rate.fraction / rate.fraction
    last = facts.frames - 1
    return tuple(min(math.floor(first + k * step), last) for k in range(frames))


def map_constant(
    facts: PictureFacts, rate: Rate, in_seconds: Fraction, speed: Fraction, frames: int
) -> FrameMap:
    """Return the frame map for a source of constant rate."""
    shown = shown_frames(facts, rate, in_seconds, speed, frames)
    first, last = shown[0], shown[-1]
    step = 1 / facts.rate.fraction
    times = [index * step for index in range(first, min(last + 2, facts.frames))]
    choice = [index - first for index in shown]
    clock = _clock(facts, rate)
    start_seconds = facts.start_pts * facts.time_base
    start, frames_per_tick = int(start_seconds * clock), float(facts.rate.fraction / clock)
    index = f"(round((PTS-({start}))*{frames_per_tick!r})-{first})"
    number = _number(index, step, range(len(times)), times, choice, _Asked(rate, in_seconds, speed), clock)
    # Half a frame of room: a container's clock may be coarser than the frames are exact. Rounded up, since
    # where it ticks once a frame, half a frame early is already the frame before.
    first_seconds = start_seconds + first * step
    first_tick = math.ceil((first_seconds - step / 2) * clock) if first else start
    return FrameMap(clock, first_tick, number, first_seconds + step / 2)


def map_variable(
    facts: PictureFacts,
    shown_pts: Sequence[int],
    rate: Rate,
    in_seconds: Fraction,
    speed: Fraction,
    frames: int,
) -> FrameMap:
    """Return the frame map for a source of variable rate.

    Args:
        facts: The source.
        shown_pts: Times of its frames, in its time base and in order, from the one on screen at `in_seconds`
            to the first one after the last film frame, or the last there is.
        rate: The film's rate.
        in_seconds: Place in the source of film frame 0.
        speed: Source seconds for each film second.
        frames: How many film frames.
    """
    asked = _Asked(rate, in_seconds, speed)
    times = [(pts - facts.start_pts) * facts.time_base for pts in shown_pts]
    choice = [max(bisect.bisect_right(times, asked.seconds(frame)) - 1, 0) for frame in range(frames)]
    clock = _clock(facts, rate)
    ticks = [int(pts * facts.time_base * clock) for pts in shown_pts]
    positions = [tick - ticks[0] for tick in ticks]
    unit = Fraction(1, clock)
    number = _number(f"(PTS-({ticks[0]}))", unit, positions, times, choice, asked, clock)
    return FrameMap(clock, ticks[0], number, shown_pts[0] * facts.time_base)


@dataclass(frozen=True, slots=True)
class _Asked:
    """The source times that film frames ask for."""

    rate: Rate
    in_seconds: Fraction
    speed: Fraction

    def seconds(self, frame: int) -> Fraction:
        return self.in_seconds + frame * self.speed / self.rate.fraction

    def frame(self, seconds: Fraction) -> Fraction:
        return (seconds - self.in_seconds) * self.rate.fraction / self.speed


def _clock(facts: PictureFacts, rate: Rate) -> int:
    """Return ticks a second in which source times and film frames are both whole."""
    return math.lcm(facts.time_base.denominator, rate.numerator)


def _number(
    variable: str,
    unit: Fraction,
    positions: Sequence[int],
    times: Sequence[Fraction],
    choice: Sequence[int],
    asked: _Asked,
    clock: int,
) -> str:
    """Return the expression for the first film frame that shows a source frame, in ticks.

    Args:
        variable: What ffmpeg calls a source frame's position.
        unit: Seconds in which it counts.
        positions: The value of it for each source frame, linear in `times`.
        times: When each source frame comes on screen.
        choice: The source frame, as an index of `times`, that each film frame shows.
        asked: The times that film frames ask for.
        clock: Ticks a second.
    """
    gaps = [
        times[index + 1] - asked.seconds(frame)
        for frame, index in enumerate(choice)
        if index + 1 < len(times)
    ]
    later = asked.in_seconds + min((gap for gap in gaps if gap > 0), default=Fraction(0)) / 2
    moved = _Asked(asked.rate, later, asked.speed)
    scale, shift = float(unit * asked.rate.fraction / asked.speed), float(-moved.frame(times[0]))
    starts = [max(0, math.ceil(position * scale - shift)) for position in positions]
    for frame, index in enumerate(choice):
        if bisect.bisect_right(starts, frame) - 1 != index:
            raise AssertionError(f"film frame {frame} would not show source frame {index}")
    ticks_per_frame = clock * asked.rate.denominator // asked.rate.numerator
    # Once all frames needed are through, what is next, or the end of the file, is beyond the last film frame.
    started, beyond = f"max(0,ceil({variable}*{scale!r}-({shift!r})))", f"gte(N,{len(times)})*{len(choice)}"
    return f"max({started},{beyond})*{ticks_per_frame}"
