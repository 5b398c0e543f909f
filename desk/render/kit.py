"""What rendering works with."""

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from desk.ffmpeg.program import Program
from desk.film.media import MediaFacts
from desk.film.model import Card, Size
from desk.render.cache import PieceStore
from desk.render.encoding import Encoding


class CardDrawer(Protocol):
    """What draws cards and slates to PNG files; `desk.cards.drawing` is one."""

    DRAWING_VERSION: str

    def draw_card(
        self, card: Card, *, film_size: Size, size: Size, target: Path, picture: Path | None = None
    ) -> None:
        """Draw a card, or the strip of a rolling one."""

    def draw_backdrop(self, card: Card, *, size: Size, target: Path, picture: Path) -> None:
        """Draw what stands still behind a rolling card with a picture."""

    def draw_slate(self, *, number: str, slugline: str, note: str, size: Size, target: Path) -> None:
        """Draw the slate of a scene."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kit:
    """What rendering works with.

    Attributes:
        program: Which ffmpeg.
        store: Where pieces are kept.
        encoding: Encoder settings.
        drawer: What draws cards.
        film_size: The film's frame size, for which rolls are planned.
        files: Where each source is, by its path in the film.
        media: What was read of each.
        workers: How many pieces are made at once.
    """

    program: Program
    store: PieceStore
    encoding: Encoding
    drawer: CardDrawer
    film_size: Size
    files: Mapping[str, Path]
    media: Mapping[str, MediaFacts]
    workers: int = os.cpu_count() or 1
