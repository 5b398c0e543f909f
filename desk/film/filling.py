"""Credit lists that fill themselves from what is in the film."""

import dataclasses
from collections.abc import Sequence

from desk.film.model import Card, CreditBlock, CreditRow, Film, Scene
from desk.film.rights import effect_credits, music_credits

FILLS = ("", "music", "effects")
"""What a block of a credit list can fill itself with; "" for nothing."""


def fills_itself(card: Card) -> bool:
    """Return whether a part of a card's credit list fills itself."""
    return any(block.fills for block in card.credits)


def filled_card(card: Card, scenes: Sequence[Scene]) -> Card:
    """Return a card as it is shown: what is written on it, and after that what fills itself.

    Args:
        card: The card.
        scenes: The scenes that are in the film with it, in order.
    """
    if not fills_itself(card):
        return card
    blocks = (_filled(block, scenes) for block in card.credits)
    return dataclasses.replace(card, credits=tuple(block for block in blocks if block is not None))


def shown_card(card: Card, film: Film) -> Card:
    """Return a card as it is shown with all scenes of the film that have clips, drafts too."""
    return filled_card(card, playing_scenes(film)) if fills_itself(card) else card


def filled_rows(card: Card, film: Film) -> tuple[CreditRow, ...]:
    """Return the lines that a card fills itself with, with all scenes of the film that have clips."""
    if not fills_itself(card):
        return ()
    written = {row for block in card.credits for row in block.rows}
    shown = (row for block in shown_card(card, film).credits for row in block.rows)
    return tuple(row for row in shown if row not in written)


def playing_scenes(film: Film) -> tuple[Scene, ...]:
    """Return the scenes of the running order that have clips, drafts too."""
    entries = film.entries()
    return tuple(
        entry
        for placement in film.order
        if isinstance(entry := entries[placement.entry], Scene) and entry.content.clips
    )


def _filled(block: CreditBlock, scenes: Sequence[Scene]) -> CreditBlock | None:
    """Return a block with its rows, or None where it fills itself and there is nothing."""
    if not block.fills:
        return block
    found = music_credits(scenes) if block.fills == "music" else effect_credits(scenes)
    rows = tuple(dict.fromkeys((*block.rows, *found.rows)))
    return CreditBlock(heading=block.heading or found.heading, rows=rows) if rows else None
