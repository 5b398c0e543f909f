"""What a change does to the film, in one line."""

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass

from desk.film.filling import filled_rows, shown_card
from desk.film.model import Card, CreditRow, Film, Scene
from desk.film.reading import is_empty
from desk.film.timecode import format_length
from desk.film.timing import entry_frames
from desk.film.wording import counted, listed, true_minus

_MOST_NAMED = 2
"""Lines of credits that are named; of more it is told how many."""


@dataclass(frozen=True, slots=True)
class Figures:
    """What a film amounts to.

    Attributes:
        frames: Running time with everything that is in the running order.
        locked_frames: How much of it is locked scenes.
        cues: Music cues that have a choice.
        cards: Cards that show something.
        credits: The lines that fill themselves on its credit cards, in order.
    """

    frames: int
    locked_frames: int
    cues: int
    cards: int
    credits: tuple[CreditRow, ...] = ()

    @classmethod
    def of(cls, film: Film) -> "Figures":
        """Return a film's figures."""
        # By identity: comparing two films would take longer than counting one.
        for known, figures in tuple(_RECENT):
            if known is film:
                return figures
        figures = cls._count(film)
        _RECENT.append((film, figures))
        return figures

    @classmethod
    def _count(cls, film: Film) -> "Figures":
        entries = film.entries()
        order = [entries[placement.entry] for placement in film.order]
        scenes = [entry for entry in order if isinstance(entry, Scene)]
        cards = [
            entry for entry in order if isinstance(entry, Card) and not is_empty(shown_card(entry, film))
        ]
        return cls(
            frames=sum(entry_frames(scene, film) for scene in scenes)
            + sum(entry_frames(card, film) for card in cards),
            locked_frames=sum(
                entry_frames(scene, film) for scene in scenes if scene.lock and scene.content.clips
            ),
            cues=sum(cue.choice is not None for scene in scenes for cue in scene.content.cues),
            cards=len(cards),
            credits=tuple(row for card in cards for row in filled_rows(card, film)),
        )


_RECENT: deque[tuple[Film, Figures]] = deque(maxlen=4)
"""The last that were asked for: an edit is asked about from several sides, with the film before it."""


def describe_effect(before: Film, after: Film) -> str:
    """Return the figures of a film after a change, each with what the change did to it."""
    old, new = Figures.of(before), Figures.of(after)
    told = [
        "Running time " + _length(old.frames, new.frames, after),
        "locked " + _length(old.locked_frames, new.locked_frames, after),
    ]
    told += [
        f"{noun} {now} ({true_minus(f'{now - was:+}')})"
        for noun, was, now in (("music cues", old.cues, new.cues), ("cards", old.cards, new.cards))
        if was != now
    ]
    told += _credits(old.credits, new.credits)
    return ", ".join(told) + "."


def _credits(old: tuple[CreditRow, ...], new: tuple[CreditRow, ...]) -> Iterator[str]:
    """Yield what becomes of the lines that fill themselves."""
    if old == new:
        return
    lost = [row for row in old if row not in new]
    gained = [row for row in new if row not in old]
    if lost:
        yield f"credits lose {_lines(lost)}"
    if gained:
        yield f"credits gain {_lines(gained)}"
    if not lost and not gained:
        yield "credits in another order"


def _lines(rows: list[CreditRow]) -> str:
    if len(rows) > _MOST_NAMED:
        return counted(len(rows), "line")
    return listed([_name(row) for row in rows])


def _name(row: CreditRow) -> str:
    """Return what is credited; of a line with a licence what comes before it."""
    return row.role or listed(row.names).partition(",")[0]


def _length(old: int, new: int, film: Film) -> str:
    length = format_length(new, film.rate)
    if old == new:
        return length
    return f"{length} ({'+' if new > old else ''}{format_length(new - old, film.rate)})"
