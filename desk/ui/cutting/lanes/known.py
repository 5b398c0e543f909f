"""How long files are, of what is known of them: only of those that a drag concerns."""

import math
from fractions import Fraction

from desk.film.media import MediaFacts
from desk.film.model import Clip
from desk.film.problem import Facts
from desk.film.rates import Rate
from desk.film.timing import head_handle_frames, tail_handle_frames


def picture_seconds(facts: Facts, *paths: str) -> dict[str, Fraction]:
    """Return the length of the picture of files, by path; those not known are left out."""
    found = {path: facts.get(path) for path in paths}
    return {
        path: known.picture.seconds
        for path, known in found.items()
        if isinstance(known, MediaFacts) and known.picture
    }


def sound_seconds(facts: Facts, *paths: str) -> dict[str, Fraction]:
    """Return the length of the sound of files, by path; those not known are left out."""
    found = {path: facts.get(path) for path in paths}
    return {
        path: known.sound.seconds
        for path, known in found.items()
        if isinstance(known, MediaFacts) and known.sound
    }


def handles(clip: Clip, rate: Rate, facts: Facts) -> tuple[int, int | None]:
    """Return how many frames of footage lie before a clip's head and after its tail; None where not known."""
    seconds = picture_seconds(facts, clip.source).get(clip.source)
    tail = None if seconds is None else max(0, tail_handle_frames(clip, rate, seconds))
    return head_handle_frames(clip, rate), tail


def whole_frames(seconds: Fraction, rate: Rate) -> int:
    """Return how many film frames it takes to show or hear all of so many seconds, 1 or more."""
    return max(1, math.ceil(seconds * rate.fraction))
