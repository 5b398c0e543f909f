"""What a check says: problems, and media that can't be used."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from desk.film.media import MediaFacts
from desk.film.wording import quoted


class Severity(StrEnum):
    """What a problem means for an assembly."""

    BLOCKS = "blocks"
    LOOK = "look"


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """Something that stands in the way of an assembly, or deserves a look.

    Attributes:
        severity: Which of the two.
        place: Id of the scene or card, or "" for the film.
        subject: What it is about: `Scene 4A, clip 3`.
        sentence: What is the matter, to be read after the subject.
        advice: What to do.
        code: A stable name of the kind, such as `clip.overrun`.
    """

    severity: Severity
    place: str
    subject: str
    sentence: str
    advice: str
    code: str


@dataclass(frozen=True, slots=True)
class MediaTrouble:
    """Why a media file can't be used.

    Attributes:
        sentence: What is wrong with it.
        advice: What to do.
        code: A stable name of the kind, such as `media.missing`.
    """

    sentence: str
    advice: str
    code: str


Facts = Mapping[str, MediaFacts | MediaTrouble]
"""What is known of each file, by its path in the film. A file that is not in it has not been read."""

UNREAD = MediaTrouble("It has not been read yet.", "Read the footage and check again.", "media.unread")


def trouble_with(path: str, facts: Facts) -> MediaTrouble | None:
    """Return why a file can't be used, or None when it can."""
    known = facts.get(path, UNREAD)
    return known if isinstance(known, MediaTrouble) else None


def told_of(path: str, trouble: MediaTrouble) -> str:
    """Return what is wrong with a file as a sentence that names it."""
    return trouble.sentence if path in trouble.sentence else f"{quoted(path)}: {trouble.sentence}"
