"""The part of a card's sheet that says how long it stands or rolls."""

import dataclasses
import math
from fractions import Fraction

from PySide6.QtWidgets import QWidget

from desk.film.filling import shown_card
from desk.film.model import Card, Film, Motion
from desk.film.reading import (
    CHARACTERS_PER_SECOND,
    LEAST_TITLE_SECONDS,
    WORDS_PER_MINUTE,
    card_frames,
    card_text,
    plan_roll,
    reading_frames,
)
from desk.film.timecode import format_length
from desk.film.wording import counted
from desk.ui.bench import Bench
from desk.ui.card.sections import CardSection
from desk.ui.fields import LengthField, NumberField
from desk.ui.labels import say
from desk.ui.sheet.picks import Alternatives


class LastingSection(CardSection):
    """Hold or roll, and the length."""

    def __init__(self, bench: Bench, parent: QWidget) -> None:
        super().__init__("Hold or roll", bench, parent)
        self.motion = Alternatives("Motion", (("Hold", Motion.HOLD), ("Roll", Motion.ROLL)), self)
        self.speed = NumberField("Pixels a frame", self._speed, self, unit="pixels a frame")
        self.own = Alternatives("Length", (("As long as reading takes", False), ("Its own", True)), self)
        self.length = LengthField("Length of its own", self._length, self)
        self._form = self.add_form()
        self._form.add("motion", self.motion)
        self._form.add("speed", self.speed)
        self._form.add("length", self.own)
        self._form.add("its own length", self.length)
        self.takes = self.add_note("small")
        self.short = self.add_note("open")
        self.motion.picked.connect(self._pick_motion)
        self.own.picked.connect(self._pick_own)
        for field in (self.speed, self.length):
            field.left.connect(bench.session.end_gesture)

    def fill(self, card: Card, film: Film, anew: bool) -> None:
        card = shown_card(card, film)
        rolls, is_own = card.motion is Motion.ROLL, card.length_frames is not None
        proposed = proposed_frames(card, film)
        self.motion.show_value(card.motion)
        self.speed.show_number(card.roll_px, anew=anew)
        self._form.setRowVisible(self.speed, rolls and not is_own)
        words = "As long as the roll takes" if rolls else "As long as reading takes"
        self.own.buttons[0].setText(f"{words} ({format_length(proposed, film.rate)})")
        self.own.buttons[0].setAccessibleName(f"Length: {self.own.buttons[0].text()}")
        self.own.show_value(is_own)
        self.length.show_frames(card_frames(card, film.rate, film.size), film.rate, anew=anew)
        self._form.setRowVisible(self.length, is_own)
        say(self.takes, told_of_roll(card, film) if rolls else told_of_hold(card, film))
        say(self.short, told_too_short(card, film))

    def set_read_only(self, reason: str) -> None:
        for field in (self.motion, self.speed, self.own, self.length):
            field.set_read_only(reason)

    def _pick_motion(self, motion: Motion) -> None:
        self.change(motion=motion)

    def _pick_own(self, is_own: bool) -> None:
        film = self.bench.session.film
        card = next((card for card in film.cards if card.id == self.card_id), None)
        if card is not None:
            self.change(length_frames=proposed_frames(shown_card(card, film), film) if is_own else None)

    def _speed(self, px: float) -> str:
        return self.change("speed", roll_px=int(px))

    def _length(self, frames: int) -> str:
        return self.change("length", length_frames=frames)


def proposed_frames(card: Card, film: Film) -> int:
    """Return how long a card would be without a length of its own."""
    return card_frames(dataclasses.replace(card, length_frames=None), film.rate, film.size)


def told_of_hold(card: Card, film: Film) -> str:
    """Return how long reading a card takes, and by which measure."""
    text = card_text(card)
    if not text:
        return ""
    needed = reading_frames(text, film.rate)
    told = (
        f"Reading takes {format_length(needed, film.rate)}: {counted(len(text.split()), 'word')} at "
        f"{WORDS_PER_MINUTE} a minute, {counted(len(text), 'character')} at {CHARACTERS_PER_SECOND} a second."
    )
    if needed < math.ceil(LEAST_TITLE_SECONDS * film.rate.fraction):
        told += f" A card stands {LEAST_TITLE_SECONDS} seconds at least."
    return told


def told_of_roll(card: Card, film: Film) -> str:
    """Return how long a roll takes, how fast it is, and how long each of its lines is seen."""
    roll = plan_roll(card, film.size, film.size)
    seen = Fraction(film.size.height, roll.px_per_frame) / film.rate.fraction
    return (
        f"It takes {format_length(roll.frames, film.rate)} at {counted(roll.px_per_frame, 'pixel')} a frame; "
        f"each line is on the screen for {float(seen):.1f} seconds."
    )


def told_too_short(card: Card, film: Film) -> str:
    """Return that a length of its own is shorter than reading takes, where it is."""
    needed = reading_frames(card_text(card), film.rate)
    if card.length_frames is None or card.length_frames >= needed:
        return ""
    return (
        f"{format_length(card.length_frames, film.rate)} is shorter than reading takes; "
        f"{format_length(needed, film.rate)} is the least."
    )
