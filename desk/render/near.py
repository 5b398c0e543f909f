"""Frames near a place that are there at once: of the key pictures, or of those decoded on the way to it."""

import collections
import contextlib
import dataclasses
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from av.video.frame import VideoFrame

from desk.errors import DeskError
from desk.film.media import PictureFacts
from desk.render.open_footage import OpenFile

_MOST_FILES = 12
_KEPT_BYTES = 8 << 20
"""What the decoded pictures of a file may take: 40 of 480 x 270."""


@dataclass(frozen=True, slots=True)
class NearFrame:
    """A frame near a place.

    Attributes:
        file: The file that it is of.
        frame: The frame.
        seconds: When it comes on, from the first frame of the footage.
    """

    file: OpenFile
    frame: VideoFrame
    seconds: Fraction


class NearPictures:
    """Finds frames near places. One thread owns it and its files."""

    def __init__(self, key_pictures: Callable[[str], Path | None]) -> None:
        """Open nothing yet.

        Args:
            key_pictures: Tells the file of a source's key pictures, or None where there is none.
        """
        self._key_pictures = key_pictures
        self._files: collections.OrderedDict[Path, OpenFile] = collections.OrderedDict()

    def close(self) -> None:
        """Close all files."""
        while self._files:
            self._files.popitem()[1].reader.close()

    def find(
        self, source: str, facts: PictureFacts, seconds: Fraction, opened: OpenFile | None
    ) -> NearFrame | None:
        """Return the last frame up to a place that is there; None for a source without key pictures.

        Args:
            source: The source's path in the film.
            facts: What is known of its picture.
            seconds: The place, from the first frame.
            opened: The source itself, if it is open.
        """
        path = self._key_pictures(source)
        if path is None:
            return None
        found: list[NearFrame] = []
        if opened is not None and opened.facts == facts and (kept := opened.reader.kept_before(seconds)):
            found.append(NearFrame(opened, kept[1], kept[0]))
        with contextlib.suppress(DeskError):
            # Fields are made whole where they are written.
            small = self._open(path, dataclasses.replace(facts, interlaced=False))
            small.frame_at(seconds)
            if kept := small.reader.kept_before(seconds):
                found.append(NearFrame(small, kept[1], kept[0]))
        return max(found, key=lambda near: near.seconds, default=None)

    def _open(self, path: Path, facts: PictureFacts) -> OpenFile:
        opened = self._files.pop(path, None)
        if opened is not None and opened.facts != facts:
            opened.reader.close()
            opened = None
        if opened is None:
            opened = OpenFile(path, facts, _KEPT_BYTES)
            while len(self._files) >= _MOST_FILES:
                self._files.popitem(last=False)[1].reader.close()
        self._files[path] = opened
        return opened
