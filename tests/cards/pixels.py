"""Pictures read back with FFmpeg's decoder, not with the code that wrote them, and measured."""

from pathlib import Path

import av
import numpy as np
from numpy.typing import NDArray

from desk.cards.drawing import draw_card
from desk.film.model import Card, Size

Pixels = NDArray[np.uint8]


def decode(path: Path) -> Pixels:
    """Return the rows of red, green, blue (and alpha) of a PNG file."""
    with av.open(str(path)) as container:
        frame = next(container.decode(video=0))
        return frame.to_ndarray(format=frame.format.name)


def drawn(
    card: Card, folder: Path, size: Size, film_size: Size | None = None, picture: Path | None = None
) -> Pixels:
    """Draw a card at a size, which is the film's unless told otherwise, and return its pixels."""
    target = folder / "card.png"
    draw_card(card, film_size=film_size or size, size=size, target=target, picture=picture)
    return decode(target)


def ink(pixels: Pixels) -> NDArray[np.bool_]:
    """Return where something is drawn that differs from the top left pixel by more than a trace."""
    return np.abs(pixels.astype(np.int16) - pixels[0, 0].astype(np.int16)).max(axis=2) > 24


def runs(marked: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Return the half-open runs of True in a row of truths."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], marked.astype(np.int8), [0]))))
    return [(int(start), int(end)) for start, end in zip(edges[::2], edges[1::2], strict=True)]


def box(marked: NDArray[np.bool_]) -> tuple[int, int, int, int]:
    """Return left, top, right and bottom, half-open, of what is True."""
    rows, columns = np.flatnonzero(marked.any(axis=1)), np.flatnonzero(marked.any(axis=0))
    return int(columns[0]), int(rows[0]), int(columns[-1]) + 1, int(rows[-1]) + 1
