"""Where a picture of any shape goes in a frame."""

from dataclasses import dataclass
from fractions import Fraction

from desk.film.framing import enlargement
from desk.film.model import Framing, Size


@dataclass(frozen=True, slots=True)
class Placing:
    """What is done to a picture, in pixels; all even, as 4:2:0 colour asks for.

    Attributes:
        scaled: Size after scaling.
        crop: Left, top, width and height of what of it is seen.
        at: Left and top of that in the frame.
    """

    scaled: Size
    crop: tuple[int, int, int, int]
    at: tuple[int, int]


def place(framing: Framing, upright: tuple[Fraction, Fraction], frame: Size) -> Placing:
    """Return how a picture is scaled, cut and put into a frame.

    Args:
        framing: Fit, scale and shift.
        upright: The picture's width and height as shown, in square pixels.
        frame: The frame.
    """
    width, height = upright
    factor = enlargement(framing, upright, frame)
    scaled = Size(_even(width * factor, least=2), _even(height * factor, least=2))
    left = _even(Fraction(frame.width - scaled.width, 2) + Fraction(framing.x) * frame.width)
    top = _even(Fraction(frame.height - scaled.height, 2) + Fraction(framing.y) * frame.height)
    crop_left, at_left, seen_width = _seen(left, scaled.width, frame.width)
    crop_top, at_top, seen_height = _seen(top, scaled.height, frame.height)
    return Placing(scaled, (crop_left, crop_top, seen_width, seen_height), (at_left, at_top))


def review_size(film: Size, most_lines: int) -> Size:
    """Return the size of a review copy: the film's shape in a 16:9 box, never enlarged.

    Args:
        film: The film's frame size.
        most_lines: Height of the box.
    """
    factor = min(Fraction(most_lines * 16, 9 * film.width), Fraction(most_lines, film.height), Fraction(1))
    return Size(_even(film.width * factor, least=2), _even(film.height * factor, least=2))


def _even(value: Fraction, *, least: int | None = None) -> int:
    even = 2 * round(value / 2)
    return even if least is None else max(least, even)


def _seen(start: int, length: int, frame: int) -> tuple[int, int, int]:
    """Return how much is cut off at the start, where the rest begins in the frame, and its length."""
    start = min(max(start, 2 - length), frame - 2)
    cut, at = max(0, -start), max(0, start)
    return cut, at, min(length - cut, frame - at)
