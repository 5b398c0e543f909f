"""The colours of each scene on the strip: one row of pixels, stretched to the strip's height."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desk.film.model import Clip, Scene
from desk.film.timing import content_frames
from desk.ui.thumbnails import Thumbnails

_OPAQUE = 0xFF000000
_SLACK = 0.1
"""A row is stretched by so much before it is made anew, as when another scene becomes longer."""


@dataclass(frozen=True, slots=True)
class _Row:
    """Colours of a scene.

    Attributes:
        clips: The clips that they are of.
        width_px: The width on the strip that it was made for; it has no more pixels than frames.
        pixels: Colours as 0xAARRGGBB, from left to right; 0 where one is not known yet.
        missing: Sources of which colours are not known yet.
        known: Colours of clips as 0xAARRGGBB, with their source.
    """

    clips: tuple[Clip, ...]
    width_px: int
    pixels: NDArray[np.uint32]
    missing: frozenset[str]
    known: dict[str, tuple[str, NDArray[np.uint32]]]


class ColourRows:
    """Rows by scene, made one by one by whoever has time."""

    def __init__(self, thumbnails: Thumbnails) -> None:
        self._thumbnails = thumbnails
        self._rows: dict[str, _Row] = {}

    def columns(self, scene_id: str, width_px: int) -> NDArray[np.uint32]:
        """Return a scene's colours as they were last made, stretched to a width.

        Args:
            scene_id: The scene.
            width_px: How many there are to be.

        Returns:
            Colours as 0xAARRGGBB; 0 where one is not known yet.
        """
        row = self._rows.get(scene_id)
        if row is None:
            return np.zeros(width_px, np.uint32)
        count = len(row.pixels)
        return row.pixels if count == width_px else row.pixels[np.arange(width_px) * count // width_px]

    def is_stale(self, scene: Scene, width_px: int) -> bool:
        """Return whether a scene's row is of other clips, or too coarse or too fine for its width."""
        row = self._rows.get(scene.id)
        if row is None or row.clips is not scene.content.clips:
            return bool(scene.content.clips) and width_px > 0
        return abs(row.width_px - width_px) > max(2, row.width_px * _SLACK)

    def is_wanted(self, scene: Scene, width_px: int) -> bool:
        """Return whether making a scene's row, perhaps again, could show more than there is."""
        row = self._rows.get(scene.id)
        return self.is_stale(scene, width_px) or bool(row and row.missing)

    def waiting_for(self, source: str) -> list[str]:
        """Return the scenes that lack colours of a source."""
        return [scene_id for scene_id, row in self._rows.items() if source in row.missing]

    def make(self, scene: Scene, width_px: int, moment_px: int) -> None:
        """Make a scene's row from the colours that are known, and have the others read.

        Args:
            scene: The scene.
            width_px: How wide it is on the strip.
            moment_px: Least width of one colour.
        """
        clips = scene.content.clips
        total = content_frames(scene.content)
        count_px = max(1, min(width_px, total))
        pixels = np.zeros(count_px, dtype=np.uint32)
        before = self._rows.get(scene.id)
        missing: set[str] = set()
        known: dict[str, tuple[str, NDArray[np.uint32]]] = {}
        at = left = 0
        for clip in clips:
            at += clip.length_frames
            right = (at * count_px + total // 2) // total
            # A clip without a pixel of its own needs no colour.
            if (width := right - left) > 0:
                levels = self._levels(clip, width // moment_px)
                if levels is None:
                    missing.add(clip.source)
                    # What was known of it, more coarsely or finely, is better than nothing.
                    source, levels = before.known.get(clip.id, ("", None)) if before else ("", None)
                    levels = levels if source == clip.source else None
                if levels is not None:
                    known[clip.id] = (clip.source, levels)
                    pixels[left:right] = levels[np.arange(width) * len(levels) // width]
            left = right
        self._rows[scene.id] = _Row(clips, width_px, pixels, frozenset(missing), known)

    def _levels(self, clip: Clip, most: int) -> NDArray[np.uint32] | None:
        # A power of two, so that another width asks for other moments rarely.
        count = 1 << max(0, most.bit_length() - 1)
        colours = self._thumbnails.colours(clip, count)
        if colours is None:
            return None
        return np.array([colour.rgb() | _OPAQUE for colour in colours], dtype=np.uint32)

    def keep(self, scene_ids: set[str]) -> None:
        """Let go of the rows of all other scenes."""
        for scene_id in self._rows.keys() - scene_ids:
            del self._rows[scene_id]
