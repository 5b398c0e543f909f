"""What a card shows, drawn by the very functions that draw it for an assembly."""

import tempfile
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import QRect
from PySide6.QtGui import QImage, QPainter

from desk.cards.drawing import draw_backdrop, draw_card, missing_characters
from desk.errors import AssemblyError
from desk.film.model import Card, Motion, Size
from desk.film.reading import Roll, plan_roll
from desk.jobs import CancelToken, ProgressListener
from desk.render.placing import review_size

_HEIGHTS = (1080, 720, 540, 360, 240)
"""Most lines of a preview: the film's own size up to full HD; of a roll that is very long, fewer."""

_MOST_PX = 12_000_000
"""Pixels of the largest strip of a roll that is kept for showing."""


@dataclass(frozen=True, slots=True)
class Sitting:
    """What decides how a card looks.

    Attributes:
        card: The card.
        film_size: The film's frame size.
        picture: The picture behind it, or None.
    """

    card: Card
    film_size: Size
    picture: Path | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """A card as it was drawn.

    Attributes:
        sitting: What it was drawn from.
        size: The frame size that it was drawn at.
        strip: The whole of it: one frame, or the strip of a roll.
        behind: What stands still behind a roll, or None.
        roll: How it rolls, or None.
        missing: Characters that no font here can draw.
    """

    sitting: Sitting
    size: Size
    strip: QImage
    behind: QImage | None
    roll: Roll | None
    missing: str

    @property
    def frames(self) -> int:
        """How many frames differ."""
        return self.roll.frames if self.roll else 1

    def frame(self, number: int) -> QImage:
        """Return a frame as it is rendered: of a roll, the rows that frame `number` shows."""
        if self.roll is None:
            return self.strip
        top = min(max(0, number * self.roll.px_per_frame), self.roll.list_px + self.size.height)
        shown = self.strip.copy(QRect(0, top, self.size.width, self.size.height))
        if self.behind is None:
            return shown
        frame = self.behind.copy()
        with QPainter(frame) as painter:
            painter.drawImage(0, 0, shown)
        return frame


def draw(sitting: Sitting, _: ProgressListener, cancel: CancelToken) -> Drawn:
    """Draw a card; a job.

    Args:
        sitting: What decides how it looks.
        cancel: Stops it between its steps.

    Raises:
        AssemblyError: when its text does not fit, or the roll is too long to be shown.
        MediaError: when its picture can't be read.
        OutputError: when the folder for temporary files can't be written to.
        Cancelled: when stopped on request.
    """
    card, film_size = sitting.card, sitting.film_size
    size = preview_size(card, film_size)
    with tempfile.TemporaryDirectory(prefix="desk-card-") as name:
        target = Path(name) / "card.png"
        draw_card(card, film_size=film_size, size=size, target=target, picture=sitting.picture)
        strip = QImage(str(target))
        cancel.check()
        roll = plan_roll(card, film_size, size) if card.motion is Motion.ROLL else None
        behind = None
        if roll and sitting.picture:
            target = Path(name) / "behind.png"
            draw_backdrop(card, size=size, target=target, picture=sitting.picture)
            behind = QImage(str(target))
    return Drawn(
        sitting=sitting, size=size, strip=strip, behind=behind, roll=roll, missing=missing_characters(card)
    )


def preview_size(card: Card, film_size: Size) -> Size:
    """Return the size at which a card is shown: the film's own, or the largest of its shape that fits.

    Raises:
        AssemblyError: when a roll is too long for every size.
    """
    for lines in _HEIGHTS:
        size = review_size(film_size, lines)
        if card.motion is not Motion.ROLL:
            return size
        if (plan_roll(card, film_size, size).list_px + 2 * size.height) * size.width <= _MOST_PX:
            return size
    raise AssemblyError(
        "The roll is too long to be shown here; an assembly draws it all the same.",
        advice="A shorter length, or more pixels a frame, makes it shorter.",
        code="card.roll-not-shown",
    )
