"""A part of the film's own sheet."""

import functools

from PySide6.QtWidgets import QWidget

from desk.film import edits
from desk.film.edits import Edit, FilmFields
from desk.film.model import Film
from desk.ui.bench import Bench
from desk.ui.fields import attempt
from desk.ui.sheet.page import Section


class FilmSection(Section):
    """A part of the film's sheet."""

    def __init__(self, title: str, bench: Bench, parent: QWidget) -> None:
        super().__init__(title, parent)
        self.bench = bench

    def show_film(self, film: Film) -> None:
        """Show the film as it is now."""
        raise NotImplementedError

    def set_read_only(self, reason: str) -> None:
        """Say that nothing can be changed, and why; a part that changes nothing has nothing to say."""

    def change(self, merge: str = "", **fields: object) -> str:
        """Change the film; returns why that is refused, or "".

        Args:
            merge: Names the gesture that it belongs to; "" for a step of its own.
            **fields: As in `desk.film.edits.edit_film`.
        """
        make = functools.partial(_edited, fields)
        return attempt(self.bench.session, make, merge=f"film {merge}" if merge else "")


def _edited(fields: dict[str, object], film: Film) -> Edit:
    allowed: FilmFields = fields  # type: ignore[assignment]
    return edits.edit_film(film, **allowed)
