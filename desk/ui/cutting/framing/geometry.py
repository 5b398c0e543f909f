"""Framing as it is done by hand: a picture moved and scaled in the film's frame.

All places are in pixels of the film's frame, from its top left. What comes out is tidy, so that the same
movement gives the same framing however large the viewer is: moved by whole pixels, scaled by whole tenths of
a per cent.
"""

import dataclasses
from fractions import Fraction

from desk.film.framing import enlargement
from desk.film.model import Framing, Size

Box = tuple[float, float, float, float]
"""Left, top, width and height."""

_LEAST_SCALE = 0.01
_SCALE_DECIMALS = 3


def picture_box(framing: Framing, upright: tuple[Fraction, Fraction], size: Size) -> Box:
    """Return where a picture lies in the frame; parts of it may be outside.

    Args:
        framing: Fit, scale and shift.
        upright: The picture's width and height as shown, in square pixels.
        size: The film's frame.
    """
    factor = enlargement(framing, upright, size)
    width, height = float(upright[0] * factor), float(upright[1] * factor)
    left = (size.width - width) / 2 + framing.x * size.width
    top = (size.height - height) / 2 + framing.y * size.height
    return left, top, width, height


def moved(framing: Framing, right_px: float, down_px: float, size: Size) -> Framing:
    """Return a framing moved from where it is, to a whole pixel."""
    x = round(framing.x * size.width + right_px) / size.width
    y = round(framing.y * size.height + down_px) / size.height
    return dataclasses.replace(framing, x=x, y=y)


def scaled(framing: Framing, factor: float, about: tuple[float, float] | None, size: Size) -> Framing:
    """Return a framing scaled so that what is at a place stays there.

    Args:
        framing: The framing.
        factor: Times what it is now.
        about: The place, or None for the middle of the picture.
        size: The film's frame.
    """
    scale = max(_LEAST_SCALE, round(framing.scale * factor, _SCALE_DECIMALS))
    if about is None:
        return dataclasses.replace(framing, scale=scale)
    ratio = scale / framing.scale
    x, y = (
        round((place - middle) + (middle + shift - place) * ratio) / side
        for place, middle, shift, side in (
            (about[0], size.width / 2, framing.x * size.width, size.width),
            (about[1], size.height / 2, framing.y * size.height, size.height),
        )
    )
    return dataclasses.replace(framing, scale=scale, x=x, y=y)
