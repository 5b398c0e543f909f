"""Figures as a person writes them."""

import re
from fractions import Fraction

from desk.film.rates import Rate

_LENGTH = re.compile(r"(?:(\d{1,4}):)?(\d{1,5}):(\d{1,3})", re.ASCII)
_SECONDS = re.compile(r"(\d{1,6}(?:[.,]\d{1,6})?) ?s", re.ASCII)
_NUMBER = re.compile(r"[-−]?\d{1,9}(?:[.,]\d{1,6})?", re.ASCII)
_MOST_DIGITS = 9


def parse_length(text: str, rate: Rate) -> int:
    """Return the frames of a length: `0:04:12`, `4:12`, `4.5 s`, or a count of frames.

    Raises:
        ValueError: with a sentence, when the text is no length.
    """
    text = text.strip()
    if text.isdecimal() and text.isascii() and len(text) <= _MOST_DIGITS:
        return int(text)
    if match := _SECONDS.fullmatch(text):
        return int(Fraction(match[1].replace(",", ".")) * rate.fraction + Fraction(1, 2))
    match = _LENGTH.fullmatch(text)
    if match is None:
        raise ValueError(f"“{text}” is not a length. Write it as 0:04:12, or as a count of frames.")
    minutes, seconds, frames = int(match[1] or 0), int(match[2]), int(match[3])
    if match[1] and seconds > 59:
        raise ValueError(f"“{text}” has {seconds} seconds; the most is 59.")
    if frames >= rate.nominal:
        raise ValueError(
            f"“{text}” has {frames} frames; at {rate} frames a second the most is {rate.nominal - 1}."
        )
    return (minutes * 60 + seconds) * rate.nominal + frames


def parse_number(text: str, *, whole: bool) -> float:
    """Return a number as a person writes it.

    Raises:
        ValueError: with a sentence, when the text is none.
    """
    text = text.strip()
    if not _NUMBER.fullmatch(text):
        raise ValueError(f"“{text}” is not a number.")
    value = float(text.replace("−", "-").replace(",", "."))
    if whole and not value.is_integer():
        raise ValueError(f"“{text}” is not a whole number.")
    return value
