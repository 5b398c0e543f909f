"""Levels as a person reads them."""

from desk.film.wording import shown_number, true_minus

NOTHING = "–"


def shown_level(level: float | None) -> str:
    """Return a level to a tenth, with a sign for what lies below 0, or a dash where there is none."""
    if level is None:
        return NOTHING
    # What rounds to 0 has no sign.
    return true_minus(f"{round(level, 1) + 0.0:.1f}")


def signed_level(level: float | None) -> str:
    """Return a difference of levels to a tenth, with its sign, or a dash where there is none."""
    if level is None:
        return NOTHING
    rounded = round(level, 1) + 0.0
    return f"+{rounded:.1f}" if rounded > 0 else shown_level(rounded)


def plain_level(level: float) -> str:
    """Return a level that was chosen, with no more digits than it has."""
    return shown_number(level)
