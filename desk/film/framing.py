"""How large a source is shown in the film's frame."""

from fractions import Fraction

from desk.film.model import Fit, Framing, Size


def enlargement(framing: Framing, upright: tuple[Fraction, Fraction], frame: Size) -> Fraction:
    """Return how many frame pixels a source pixel is stretched over along one side; 1 is as it is.

    Args:
        framing: Fit, scale and place.
        upright: The picture's width and height as shown, in square pixels.
        frame: The frame that it is shown in.
    """
    width, height = upright
    across, down = frame.width / width, frame.height / height
    return (min if framing.fit is Fit.FIT else max)(across, down) * Fraction(framing.scale)
