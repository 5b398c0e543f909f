"""How sentences name the things of a film."""

from collections.abc import Sequence
from fractions import Fraction

from desk.film.model import Card, Join, JoinKind, Scene
from desk.film.reading import kind_name

_LONGEST_SHOWN = 60
_SHORT_NUMBER = 10**18


def counted(count: int, noun: str) -> str:
    """Return a count with its noun: `1 frame`, `1,200 frames`."""
    if count != 1 and noun.endswith("y"):
        noun = noun[:-1] + "ie"
    return f"{shown_number(count)} {noun}{'' if count == 1 else 's'}"


def listed(items: Sequence[str], *, most: int = 4) -> str:
    """Return items as a person lists them: `a, b and c`, or `a, b, c and 3 more`.

    Args:
        items: What to list; none gives "".
        most: How many to name before the rest is only counted.
    """
    if len(items) > most:
        return f"{', '.join(items[: most - 1])} and {len(items) - most + 1} more"
    return " and ".join(part for part in (", ".join(items[:-1]), *items[-1:]) if part)


def quoted(text: str) -> str:
    """Return text in quotation marks, shortened, with signs that can't be printed made visible."""
    short = text if len(text) <= _LONGEST_SHOWN else f"{text[: _LONGEST_SHOWN - 1]}…"
    visible = short if short.isprintable() else short.encode("unicode_escape").decode("ascii")
    return f"“{visible}”"


def true_minus(figure: str) -> str:
    """Return a figure as a person reads it, with a minus sign in the place of its hyphen: `−3 dB`."""
    return figure.replace("-", "−")


def shown_number(value: float | Fraction) -> str:
    """Return a number as a sentence shows it; of a very long one only that it is."""
    if isinstance(value, int):
        return true_minus(f"{value:,}") if abs(value) < _SHORT_NUMBER else "a number of more than 18 digits"
    if isinstance(value, Fraction):
        short = abs(value.numerator) < _SHORT_NUMBER and value.denominator < _SHORT_NUMBER
        return true_minus(str(value)) if short else "a fraction of more than 18 digits"
    return true_minus(f"{value:g}")


def sentence(text: str) -> str:
    """Return text with a capital first letter."""
    return text[:1].upper() + text[1:]


def uncapped(text: str) -> str:
    """Return a sentence as part of another one."""
    return text[:1].lower() + text[1:]


def entry_name(entry: Scene | Card) -> str:
    """Return what a sentence calls an entry: `scene 4A`, `card “Harbour Light”`."""
    if isinstance(entry, Scene):
        return f"scene {entry.number}" if entry.number.isprintable() else f"scene {quoted(entry.number)}"
    return f"card {quoted(kind_name(entry))}"


def join_name(join: Join) -> str:
    """Return what a sentence calls a join."""
    return "fade through black" if join.kind is JoinKind.THROUGH_BLACK else join.kind.value


def entry_names(entries: Sequence[Scene | Card]) -> str:
    """Return what a sentence calls several entries; more than three are only counted."""
    if len(entries) > 3:
        return f"{len(entries)} entries"
    return listed([entry_name(entry) for entry in entries])
