"""Where the gain and the fades of a sound are drawn in its box, and so where they are taken hold of."""

import math
from collections.abc import Sequence

import numpy as np
from PySide6.QtCore import QPointF, QRectF

from desk.film.content_faults import LEAST_GAIN_DB, MOST_GAIN_DB
from desk.sound.ducking import DuckPoint

_ZERO_AT = 0.62
"""Height of 0 dB in a box, as a part of it from below."""

_FADE_POINTS = 12


def gain_line_y(rect: QRectF, gain_db: float) -> float:
    """Return at which height of a box the line of a gain stands: as even steps below 0 dB as above."""
    if gain_db >= 0:
        part = _ZERO_AT + (1 - _ZERO_AT) * min(1.0, gain_db / MOST_GAIN_DB)
    else:
        # Half way down at -12 dB, and never quite at the bottom before silence.
        part = _ZERO_AT * 2 ** (gain_db / 12) if gain_db > LEAST_GAIN_DB else 0.0
    return rect.bottom() - 2 - part * (rect.height() - 4)


def duck_line(
    rect: QRectF, first: int, end: int, gain_db: float, points: Sequence[DuckPoint]
) -> list[QPointF]:
    """Return the line of a gain in a box where music goes down under speech.

    Args:
        rect: The box.
        first: Its first frame.
        end: The frame after its last.
        gain_db: The gain where nobody speaks.
        points: How it goes down, in the frames of `first` and `end`.
    """
    at, down_db = [point.at for point in points], [point.gain_db for point in points]
    places = [float(first), *(place for place in at if first < place < end), float(end)]
    line = []
    for place, down in zip(places, np.interp(places, at, down_db), strict=True):
        x = rect.left() + 1 + (place - first) / (end - first) * (rect.width() - 2)
        line.append(QPointF(x, gain_line_y(rect, gain_db + float(down))))
    return line


def fade_line(rect: QRectF, width_px: float, *, is_in: bool) -> list[QPointF]:
    """Return the line of a fade in a box, as its sound comes and goes: a quarter of a sine.

    Args:
        rect: The box.
        width_px: How long the fade is on the screen.
        is_in: Whether it is that at the start.
    """
    line = []
    for number in range(_FADE_POINTS + 1):
        part = number / _FADE_POINTS
        x = rect.left() + part * width_px if is_in else rect.right() - part * width_px
        line.append(QPointF(x, rect.bottom() - math.sin(math.pi / 2 * part) * (rect.height() - 1)))
    return line
