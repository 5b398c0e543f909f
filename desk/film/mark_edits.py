"""The part of footage that is marked as wanted, before it is used. No lock closes over it."""

import dataclasses
from fractions import Fraction

from desk.film.content_faults import Findings
from desk.film.edit import Change, ChangeKind, Edit, refuse_faults
from desk.film.faults import find_in_mark
from desk.film.model import Film, FootageMark
from desk.film.wording import quoted


def mark_footage(film: Film, source: str, in_seconds: Fraction, out_seconds: Fraction) -> Edit:
    """Mark a part of a file, instead of what was marked of it before.

    Args:
        film: The film.
        source: The file, as the film names it.
        in_seconds: Where the part begins.
        out_seconds: Where it ends.

    Raises:
        EditError: when the path or one of the two times is not allowed.
    """
    mark = FootageMark(source=source, in_seconds=in_seconds, out_seconds=out_seconds)
    findings = Findings.of(film)
    find_in_mark(findings, mark, "mark")
    refuse_faults(findings)
    marks = [item for item in film.footage_marks if item.source != source]
    after = dataclasses.replace(film, footage_marks=(*marks, mark))
    if mark in film.footage_marks:
        after = film
    return Edit(f"Mark a part of {_name(source)}", film, after, Change(ChangeKind.STORY))


def clear_footage_mark(film: Film, source: str) -> Edit:
    """Mark nothing of a file any more, so that all of it is wanted."""
    marks = tuple(item for item in film.footage_marks if item.source != source)
    after = dataclasses.replace(film, footage_marks=marks) if marks != film.footage_marks else film
    return Edit(f"Mark nothing of {_name(source)}", film, after, Change(ChangeKind.STORY))


def _name(source: str) -> str:
    return quoted(source.rpartition("/")[2])
