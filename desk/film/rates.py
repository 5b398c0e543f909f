"""Frame rates as exact fractions."""

import contextlib
import re
from dataclasses import dataclass
from fractions import Fraction

SAMPLE_RATE_HZ = 48_000
"""Sample rate of every mix the program makes."""


@dataclass(frozen=True, slots=True, order=True)
class Rate:
    """Frames a second, exactly: 30000/1001 and never 29.97.

    Attributes:
        numerator: Frames in `denominator` seconds, in lowest terms.
        denominator: Seconds, a whole number.
    """

    numerator: int
    denominator: int = 1

    def __post_init__(self) -> None:
        if self.numerator <= 0 or self.denominator <= 0:
            raise ValueError(f"a frame rate must be above zero (got {self.numerator}/{self.denominator})")
        lowest = Fraction(self.numerator, self.denominator)
        object.__setattr__(self, "numerator", lowest.numerator)
        object.__setattr__(self, "denominator", lowest.denominator)

    @classmethod
    def of(cls, fraction: Fraction) -> "Rate":
        """Return the rate with the value of a fraction."""
        return cls(fraction.numerator, fraction.denominator)

    @classmethod
    def parse(cls, text: str) -> "Rate":
        """Return the rate that a person means by `25`, `30000/1001` or the short names `23.976`, `29.97`.

        Raises:
            ValueError: when the text names no rate.
        """
        short = {
            "23.976": (24000, 1001),
            "23.98": (24000, 1001),
            "29.97": (30000, 1001),
            "59.94": (60000, 1001),
        }
        text = text.strip()
        if text in short:
            return cls(*short[text])
        # Only as many digits as a rate can need: a fraction of a million digits would take for ever.
        if re.fullmatch(r"\d{1,9}(/\d{1,9}|\.\d{1,9})?", text, re.ASCII):
            with contextlib.suppress(ValueError, ZeroDivisionError):
                return cls.of(Fraction(text))
        raise ValueError(f"“{text}” is not a frame rate")

    @property
    def fraction(self) -> Fraction:
        """Frames a second."""
        return Fraction(self.numerator, self.denominator)

    @property
    def nominal(self) -> int:
        """The whole count that timecode uses: 24 for 24000/1001, 30 for 30000/1001."""
        return -(-self.numerator // self.denominator)

    def seconds(self, frames: int) -> Fraction:
        """Return how long `frames` frames last."""
        return Fraction(frames * self.denominator, self.numerator)

    def samples(self, frame: int) -> int:
        """Return the sample, at 48 kHz, on which frame `frame` starts: round(frame × 48000 / rate).

        Halves go up. Counted from frame 0, so that nothing drifts.
        """
        scaled = 2 * frame * SAMPLE_RATE_HZ * self.denominator
        return (scaled + self.numerator) // (2 * self.numerator)

    def __str__(self) -> str:
        return str(self.numerator) if self.denominator == 1 else f"{self.numerator}/{self.denominator}"


FILM_RATES: tuple[Rate, ...] = (
    Rate(24000, 1001),
    Rate(24),
    Rate(25),
    Rate(30000, 1001),
    Rate(30),
    Rate(48),
    Rate(50),
    Rate(60000, 1001),
    Rate(60),
)
"""The rates a film may have: those with a timecode count of their own."""
