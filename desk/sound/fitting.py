"""Make a piece of music longer or shorter: it is cut where what sounds is like what would follow.

How places are found. The onsets of the music (how much its energy rises, in sixteen bands, each 10 ms) are
compared with themselves shifted, which gives the distance of its beats. On a grid of beats, places are
compared with each other by what sounds in the second before and the second after: two places that are alike
are a seam, at which the music can go back, to become longer, or jump ahead, to become shorter. Of the seams
that come near the length that is wanted, the one whose sides are most alike is taken. It is then moved, by up
to 20 ms, to where both sides have the same shape, and to where both go up through zero. (Our own way; common
practice, no source.)

At each seam one part fades into the next, see `desk.sound.stems`. The parts fill the length exactly; what is
too much goes off the end, where the cue's fade out is.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from desk.errors import MediaError
from desk.film.media import MediaFacts
from desk.film.model import MusicPart
from desk.film.rates import SAMPLE_RATE_HZ
from desk.jobs import CancelToken, Progress, ProgressListener, no_progress
from desk.sound.reading import read_sound

STEP_SAMPLES = SAMPLE_RATE_HZ // 100
MOST_SECONDS = 900
"""Longer music is looked at up to here alone."""

MOST_REPEATS = 200
LEAST_LOOP_SECONDS = 1.0
"""What repeats sooner than this is heard as a stutter."""

_BANDS_HZ = (0, 100, 150, 200, 250, 300, 350, 400, 500, 600, 800, 1000, 1500, 2000, 3000, 5000)
_SHORTEST_BEAT, _LONGEST_BEAT = 30, 100
_PLAIN_BEAT = 50
_CONTEXT_STEPS = 100
_SHIFT_SAMPLES = 960
_ZERO_SAMPLES = 480
_MATCHED_SAMPLES = 2400
_ALIKE_ENOUGH = 0.5
_TOO_MUCH = 0.02
"""How much less alike a seam may be for each second that it lets go off the end."""

_TIRING = 0.03
"""How much less alike a seam may be for each time more that the same is played."""

_Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Seam:
    """Two places that sound alike, in samples from the start of the music.

    Attributes:
        early: The first.
        late: The second.
        alike: How much so: 1 for the same, 0 for nothing in common.
    """

    early: int
    late: int
    alike: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitted:
    """Music made to fit.

    Attributes:
        parts: What to play, one after the other, as `Candidate.parts` has it.
        beat_seconds: The distance of its beats, or None where none was found.
        alike: How much alike the sides of its seams are, at least; None without a seam.
    """

    parts: tuple[MusicPart, ...]
    beat_seconds: float | None
    alike: float | None


def fit_music(
    path: Path,
    facts: MediaFacts,
    in_seconds: Fraction,
    length_seconds: Fraction,
    *,
    progress: ProgressListener = no_progress,
    cancel: CancelToken | None = None,
) -> Fitted:
    """Return parts of a file that fill a length.

    Args:
        path: The music.
        facts: What was read of it.
        in_seconds: Place in it that sounds first.
        length_seconds: How long it has to sound, above 0.
        progress: Told how far it is.
        cancel: Stops it.

    Raises:
        MediaError: when it can't be read, has no sound after the in point, or too little to be repeated that
            often.
        Cancelled: when stopped on request.
    """
    there = min(facts.sound.seconds - in_seconds if facts.sound else Fraction(0), Fraction(MOST_SECONDS))
    samples = math.floor(there * SAMPLE_RATE_HZ)
    if samples <= 0:
        raise MediaError(
            f"“{path.name}” has no sound from there on.",
            advice="Set its in point earlier, or take other music.",
            path=path,
        )
    found: list[NDArray[np.float32]] = []
    done = 0
    for block in read_sound(path, facts, in_seconds=in_seconds, samples=samples):
        if cancel is not None:
            cancel.check()
        found.append(block.mean(axis=1))
        done += len(block)
        progress(Progress("fitting", f"Listening to “{path.name}”", 0.8 * done / samples))
    music = np.concatenate(found)
    wanted = math.floor(length_seconds * SAMPLE_RATE_HZ + Fraction(1, 2))
    seams, beat = find_seams(music)
    if cancel is not None:
        cancel.check()
    ranges, alike = arrange(music, wanted, seams)
    if not ranges:
        raise MediaError(
            f"“{path.name}” is too short to be repeated for that long.",
            advice="Take longer music, or an earlier in point.",
            code="music.too-short",
            path=path,
        )
    return Fitted(parts=_parts(ranges, in_seconds, length_seconds), beat_seconds=beat, alike=alike)


def find_seams(music: NDArray[np.float32]) -> tuple[tuple[Seam, ...], float | None]:
    """Return pairs of places that sound alike, best first, and the distance of beats in seconds.

    Args:
        music: Samples at 48 kHz, one channel.
    """
    bands = _band_levels(music)
    if len(bands) < 2 * _PLAIN_BEAT:
        return (), None
    onsets = np.maximum(np.diff(bands, axis=0, prepend=bands[:1]), 0).sum(axis=1)
    beat = _beat(onsets)
    places = _grid(onsets, beat or _PLAIN_BEAT)
    if len(places) < 2:
        return (), beat / 100 if beat else None
    sounds = _around(bands, onsets, places)
    alike = sounds @ sounds.T
    least = round(LEAST_LOOP_SECONDS * 100)
    first, second = np.nonzero(np.triu(alike > _ALIKE_ENOUGH, 1))
    apart = places[second] - places[first] >= least
    seams = [
        Seam(int(places[one]) * STEP_SAMPLES, int(places[other]) * STEP_SAMPLES, float(alike[one, other]))
        for one, other in zip(first[apart], second[apart], strict=True)
    ]
    seams.sort(key=lambda seam: -seam.alike)
    return tuple(seams), beat / 100 if beat else None


def arrange(
    music: NDArray[np.float32], wanted: int, seams: Sequence[Seam]
) -> tuple[tuple[tuple[int, int], ...], float | None]:
    """Return ranges of samples that follow each other and have a length together, and how alike seams are.

    Args:
        music: Samples at 48 kHz, one channel.
        wanted: How many samples they have to have.
        seams: Pairs of places that sound alike.

    Returns:
        The ranges, none where the music is too short to be repeated that often; and how alike the sides of
        the seam are, None without one.
    """
    have = len(music)
    if wanted == have:
        return ((0, have),), None
    if wanted < have:
        return _shortened(music, wanted, seams)
    return _lengthened(music, wanted, seams)


def _shortened(
    music: NDArray[np.float32], wanted: int, seams: Sequence[Seam]
) -> tuple[tuple[tuple[int, int], ...], float | None]:
    """Jump ahead once, so that the end is kept; without a fitting seam, end sooner."""
    have = len(music)
    best, best_worth = None, _ALIKE_ENOUGH
    for seam in seams:
        beyond = have - (seam.late - seam.early) - wanted
        worth = seam.alike - _TOO_MUCH * beyond / SAMPLE_RATE_HZ
        if beyond >= 0 and seam.early < wanted and worth > best_worth:
            best, best_worth = seam, worth
    if best is not None:
        leave, go_on = _fine(music, best.early, best.late)
        rest = wanted - leave
        if leave > 0 and 0 < rest <= have - go_on:
            return ((0, leave), (go_on, go_on + rest)), best.alike
    return ((0, wanted),), None


def _lengthened(
    music: NDArray[np.float32], wanted: int, seams: Sequence[Seam]
) -> tuple[tuple[tuple[int, int], ...], float | None]:
    """Go back from late to early as often as it takes, then play on to the end."""
    have = len(music)
    best, best_worth = None, -math.inf
    for seam in seams:
        loop = seam.late - seam.early
        times = -(-(wanted - have) // loop)
        beyond = have + times * loop - wanted
        # Ten times the same is tiring: a longer loop counts for more.
        worth = seam.alike - _TOO_MUCH * beyond / SAMPLE_RATE_HZ - _TIRING * (times - 1)
        if times <= MOST_REPEATS and worth > best_worth:
            best, best_worth = seam, worth
    if best is None:
        best = _whole_again(music)
        if best is None:
            return (), None
    early, late = _fine(music, best.early, best.late)
    loop = late - early
    times = -(-(wanted - have) // loop)
    if loop <= 0 or times > MOST_REPEATS:
        return (), None
    ranges = [(0, late), *[(early, late)] * (times - 1), (early, have)]
    beyond = sum(end - start for start, end in ranges) - wanted
    while beyond >= ranges[-1][1] - ranges[-1][0]:
        beyond -= ranges[-1][1] - ranges[-1][0]
        ranges.pop()
    start, end = ranges[-1]
    ranges[-1] = start, end - beyond
    return tuple(ranges), best.alike


def _whole_again(music: NDArray[np.float32]) -> Seam | None:
    """Return the seam of playing all again from its start, where nothing in it is alike."""
    least = round(LEAST_LOOP_SECONDS * SAMPLE_RATE_HZ)
    return Seam(0, len(music), 0.0) if len(music) >= least else None


def _fine(music: NDArray[np.float32], early: int, late: int) -> tuple[int, int]:
    """Return a seam's places moved to where both sides have the same shape and go up through zero."""
    if early - _MATCHED_SAMPLES >= _SHIFT_SAMPLES and late + _MATCHED_SAMPLES + _SHIFT_SAMPLES <= len(music):
        pattern = music[early - _MATCHED_SAMPLES : early + _MATCHED_SAMPLES].astype(np.float64)
        around = music[
            late - _MATCHED_SAMPLES - _SHIFT_SAMPLES : late + _MATCHED_SAMPLES + _SHIFT_SAMPLES
        ].astype(np.float64)
        size = 1 << (len(around) + len(pattern)).bit_length()
        product = np.fft.irfft(np.fft.rfft(around, size) * np.conj(np.fft.rfft(pattern, size)), size)
        power = np.concatenate([[0.0], np.cumsum(around**2)])
        powers = power[len(pattern) :] - power[: len(around) - len(pattern) + 1]
        shifts = product[: len(powers)] / np.sqrt(np.maximum(powers, 1e-12))
        late += int(np.argmax(shifts)) - _SHIFT_SAMPLES
    both = _crossing(music, early, late)
    return early + both, late + both


def _crossing(music: NDArray[np.float32], early: int, late: int) -> int:
    """Return by how many samples to move both places so that both are near zero and go up there."""
    low = -min(_ZERO_SAMPLES, early)
    high = min(_ZERO_SAMPLES, len(music) - late)
    if high - low < 2:
        return 0
    one, other = (music[place + low : place + high].astype(np.float64) for place in (early, late))
    rising = (np.diff(one) > 0) & (np.diff(other) > 0)
    off = np.maximum(np.abs(one[:-1]), np.abs(other[:-1]))
    off = np.where(rising, off, off + 10.0)
    return int(np.argmin(off)) + low


def _band_levels(music: NDArray[np.float32]) -> _Floats:
    """Return the level of each band each 10 ms, in dB down to -60."""
    steps = max(0, len(music) - STEP_SAMPLES) // STEP_SAMPLES
    window = np.hanning(2 * STEP_SAMPLES)
    hz = np.fft.rfftfreq(2 * STEP_SAMPLES, 1 / SAMPLE_RATE_HZ)
    edges = np.searchsorted(hz, _BANDS_HZ)
    found = [np.zeros((0, len(edges)))]
    for first in range(0, steps, 1000):
        count = min(1000, steps - first)
        at = (first + np.arange(count))[:, None] * STEP_SAMPLES + np.arange(2 * STEP_SAMPLES)
        power = np.abs(np.fft.rfft(music[at] * window, axis=1)) ** 2
        found.append(np.add.reduceat(power, edges, axis=1))
    power = np.concatenate(found)
    if not len(power) or not power.max():
        return np.zeros((0, len(edges)))
    levels: _Floats = 10 * np.log10(np.maximum(power / power.max(), 1e-6)) + 60
    return levels


def _beat(onsets: _Floats) -> int | None:
    """Return after how many steps onsets come again, or None where they do not."""
    lively = onsets - onsets.mean()
    size = 1 << (2 * len(lively)).bit_length()
    spectrum = np.fft.rfft(lively, size)
    alike = np.fft.irfft(spectrum * np.conj(spectrum), size)[: 2 * _LONGEST_BEAT + 1]
    if len(alike) <= _LONGEST_BEAT or alike[0] <= 0:
        return None
    alike = alike / alike[0]
    best = int(np.argmax(alike[_SHORTEST_BEAT : _LONGEST_BEAT + 1])) + _SHORTEST_BEAT
    return best if alike[best] > 0.1 else None


def _grid(onsets: _Floats, beat: int) -> NDArray[np.int64]:
    """Return places a beat apart, moved to the strongest onset within 60 ms."""
    phases = [onsets[phase::beat].sum() / max(1, len(onsets[phase::beat])) for phase in range(beat)]
    start = int(np.argmax(phases))
    found = []
    for place in range(start, len(onsets), beat):
        low = max(0, place - 6)
        found.append(low + int(np.argmax(onsets[low : place + 7])))
    return np.unique(np.array(found, np.int64))


def _around(bands: _Floats, onsets: _Floats, places: NDArray[np.int64]) -> _Floats:
    """Return what sounds around each place as a row of length 1; there is nothing beside the music."""
    shaped = np.concatenate([bands - bands.mean(axis=0), (onsets - onsets.mean())[:, None]], axis=1)
    shaped = shaped / np.maximum(shaped.std(axis=0), 1e-9)
    padded = np.pad(shaped, ((_CONTEXT_STEPS, _CONTEXT_STEPS), (0, 0)))
    rows = np.stack([padded[place : place + 2 * _CONTEXT_STEPS].ravel() for place in places])
    found: _Floats = rows / np.maximum(np.linalg.norm(rows, axis=1, keepdims=True), 1e-9)
    return found


def _parts(
    ranges: Sequence[tuple[int, int]], in_seconds: Fraction, length_seconds: Fraction
) -> tuple[MusicPart, ...]:
    """Return ranges as parts; the last one takes what whole samples leave of the length."""
    found = []
    left = length_seconds
    for index, (start, end) in enumerate(ranges):
        length = left if index == len(ranges) - 1 else Fraction(end - start, SAMPLE_RATE_HZ)
        left -= length
        found.append(
            MusicPart(in_seconds=in_seconds + Fraction(start, SAMPLE_RATE_HZ), length_seconds=length)
        )
    return tuple(found)
