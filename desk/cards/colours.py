"""Colours of cards, and how well they are told apart.

Contrast is that of WCAG 2.x, "relative luminance" and "contrast ratio"; 4.5:1 is its level AA for text.
"""

import re

import numpy as np
from numpy.typing import NDArray

from desk.errors import AssemblyError

LEAST_CONTRAST = 4.5

Colour = tuple[int, int, int]

_DIM_SHARE = 0.2
_VEIL_SHARES = tuple(share / 20 for share in range(6, 19))


def parse_colour(text: str) -> Colour:
    """Return red, green and blue, 0 to 255, of `#rrggbb`.

    Raises:
        AssemblyError: when the text is no colour.
    """
    if not re.fullmatch(r"#[0-9a-fA-F]{6}", text):
        raise AssemblyError(
            f"“{text}” is no colour.",
            advice="Write it as # and six digits, such as #e9e6dd.",
            code="card.colour",
        )
    value = bytes.fromhex(text[1:])
    return value[0], value[1], value[2]


def luminance(levels: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the relative luminance of colours whose last axis is red, green, blue, 0 to 255."""
    share = levels / 255
    linear = np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)
    return np.asarray(linear @ np.array([0.2126, 0.7152, 0.0722]))


def contrast(one: Colour, other: Colour) -> float:
    """Return the contrast ratio of two colours, 1 to 21."""
    first, second = luminance(np.array([one, other], dtype=np.float64))
    return float((max(first, second) + 0.05) / (min(first, second) + 0.05))


def mixed(one: Colour, other: Colour, share: float) -> Colour:
    """Return `one` with a share, 0 to 1, of `other`."""
    red, green, blue = (round(a + (b - a) * share) for a, b in zip(one, other, strict=True))
    return red, green, blue


def dimmed(ink: Colour, background: Colour) -> Colour:
    """Return a quieter ink for what matters less, or the ink itself where that would be hard to read."""
    quiet = mixed(ink, background, _DIM_SHARE)
    return quiet if contrast(quiet, background) >= LEAST_CONTRAST else ink


def veil_share(picture: NDArray[np.uint8], ink: Colour, background: Colour) -> float:
    """Return how much of the background colour to lay over a picture, so that ink reads on it.

    Args:
        picture: Rows of red, green, blue.
        ink: The colour of the text.
        background: The colour of the veil.

    Returns:
        The least share that gives the ink its contrast on 95 % of the picture, within limits that leave
        the picture a picture.
    """
    levels = picture.reshape(-1, 3).astype(np.float64)
    ink_luminance = luminance(np.array(ink, dtype=np.float64))
    for share in _VEIL_SHARES:
        below = luminance(levels + (np.array(background) - levels) * share)
        ratios = (np.maximum(below, ink_luminance) + 0.05) / (np.minimum(below, ink_luminance) + 0.05)
        if np.quantile(ratios, 0.05) >= LEAST_CONTRAST:
            return share
    return _VEIL_SHARES[-1]
