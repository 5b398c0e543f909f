"""Figures as a person writes them."""

import re
from fractions import Fraction

from desk.film.rates import Rate

_LENGTH = re.compile(r"(?:(\d{1,4}):)?(\d{1,5}):(\d{1,3})", re.ASCII)
_SECONDS = re.compile(r"(\d{1,6}(?:[.,]\d{1,6})?) ?s", re.ASCII)
_NUMBER = re.compile(r"[-−]?\d{1,9}(?:[.,]\d{1,6})?", re.ASCII)
_STEPS = re.compile(r"([-+−]) ?(\d{1,7}) ?(?:f|fr|frames?)?", re.ASCII)
_PLACE = re.compile(r"([-+−]?)(\d{1,6})(?:[.,](\d{1,9}))? ?s?", re.ASCII)
_SPEED = re.compile(r"([-−]?)(\d{1,9})(?:[.,](\d{1,6}))?(?: ?/ ?(\d{1,9}))? ?(%?)", re.ASCII)
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


def parse_steps(text: str) -> int | None:
    """Return by how many frames something is to move, as in `+12` or `-3 frames`; None for other text."""
    match = _STEPS.fullmatch(text.strip())
    if match is None:
        return None
    return int(match[2]) * (1 if match[1] == "+" else -1)


def parse_seconds(text: str) -> Fraction:
    """Return a place in seconds, exactly; it may be below 0.

    Raises:
        ValueError: with a sentence, when the text is none.
    """
    text = text.strip()
    match = _PLACE.fullmatch(text)
    if match is None:
        raise ValueError(f"“{text}” is not a place. Write it in seconds, such as 12.48 s.")
    seconds = Fraction(f"{match[2]}.{match[3] or 0}")
    return seconds if match[1] in ("", "+") else -seconds


def parse_speed(text: str) -> Fraction:
    """Return a speed: `1/2`, `0.5`, `50 %`; below 0 for backwards.

    Raises:
        ValueError: with a sentence, when the text is none.
    """
    text = text.strip()
    match = _SPEED.fullmatch(text)
    below = int(match[4] or 1) if match else 0
    if match is None or not below:
        raise ValueError(f"“{text}” is not a speed. Write it as 1/2, 0.5 or 50 %.")
    speed = Fraction(f"{match[2]}.{match[3] or 0}") / below / (100 if match[5] else 1)
    return -speed if match[1] else speed
