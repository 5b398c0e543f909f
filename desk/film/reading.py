"""How long a card stands, and how a roll travels.

Reading: 180 words a minute and 17 characters a second, whichever takes longer; the ranges are broadcasters'
subtitle guidance (160 to 180 words a minute, 15 to 17 characters a second). Roll: whole pixels a frame, over
the height of the list plus the height of the frame, in a whole number of frames (common practice, no source).
"""

import math
from dataclasses import dataclass
from fractions import Fraction

from desk.film.model import Card, CardKind, Motion, Size
from desk.film.rates import Rate

WORDS_PER_MINUTE = 180
CHARACTERS_PER_SECOND = 17
LEAST_TITLE_SECONDS = 3
"""A title stands at least this long (common practice, no source)."""

LINES_PER_FRAME = 18
"""Text lines, with their spacing, in the height of a rolling frame."""


@dataclass(frozen=True, slots=True)
class Roll:
    """How a list travels up a frame of a given size.

    Attributes:
        px_per_frame: Pixels that it moves each frame.
        frames: How many frames it takes.
        list_px: Height of the list, padded so that it leaves the frame on a whole frame.
    """

    px_per_frame: int
    frames: int
    list_px: int


def card_text(card: Card) -> str:
    """Return all words on a card."""
    rows = [
        " ".join((block.heading, *(f"{row.role} {' '.join(row.names)}" for row in block.rows)))
        for block in card.credits
    ]
    return " ".join(" ".join((*card.lines, *rows)).split())


def is_empty(card: Card) -> bool:
    """Return whether a card shows nothing."""
    return not card_text(card) and not card.picture


def reading_seconds(text: str) -> Fraction:
    """Return how long a text takes to read once."""
    words = Fraction(len(text.split()) * 60, WORDS_PER_MINUTE)
    return max(words, Fraction(len(text), CHARACTERS_PER_SECOND))


def reading_frames(text: str, rate: Rate) -> int:
    """Return the least frames that a text has to stand to be read once, rounded up."""
    return math.ceil(reading_seconds(text) * rate.fraction)


def card_frames(card: Card, rate: Rate, size: Size) -> int:
    """Return how long a card is in the film.

    Args:
        card: The card.
        rate: The film's rate.
        size: The film's frame size.
    """
    if card.motion is Motion.ROLL:
        return plan_roll(card, size, size).frames
    if card.length_frames is not None:
        return card.length_frames
    least = math.ceil(LEAST_TITLE_SECONDS * rate.fraction)
    return max(least, reading_frames(card_text(card), rate))


def roll_lines(card: Card) -> int:
    """Return the height of a card's list in text lines: titles take two, a gap stands before each heading."""
    titles = 2 * len(card.lines)
    blocks = sum(
        1 + bool(block.heading) + sum(max(1, len(row.names)) for row in block.rows) for block in card.credits
    )
    return max(1, titles + blocks)


def plan_roll(card: Card, film_size: Size, size: Size) -> Roll:
    """Return how a rolling card travels at `size`, in the frames that it has at the film's own size.

    A copy of another size is not a resized roll, which would lose its whole pixels: the list is drawn anew
    and padded, so that it moves by whole pixels there too. Those are rounded up, so that there is room for
    the whole list in the same number of frames.

    Args:
        card: A rolling card.
        film_size: The film's frame size, for which `roll_px` is meant.
        size: The frame size of the copy.
    """
    list_px = math.ceil(Fraction(roll_lines(card) * film_size.height, LINES_PER_FRAME))
    travel_px = list_px + film_size.height
    if card.length_frames is None:
        px_per_frame, frames = card.roll_px, math.ceil(Fraction(travel_px, card.roll_px))
    else:
        px_per_frame, frames = math.ceil(Fraction(travel_px, card.length_frames)), card.length_frames
    if size != film_size:
        px_per_frame = math.ceil(Fraction(px_per_frame * size.height, film_size.height))
    return Roll(px_per_frame, frames, px_per_frame * frames - size.height)


def kind_name(card: Card) -> str:
    """Return what the running order calls a card."""
    return card.name or ("Title" if card.kind is CardKind.TITLE else "Credits")
