"""Dates as the sheet shows them."""

import datetime

_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def today() -> str:
    """Return the date as films have it."""
    return datetime.date.today().isoformat()


def short_date(date: str) -> str:
    """Return a date of the film as it is said: `21 Nov 2026`; what is no date stays as it is.

    Args:
        date: ISO 8601, with or without a time of day.
    """
    try:
        day = datetime.datetime.fromisoformat(date)
    except ValueError:
        return date
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"
