"""Pictures of clips ready for painting, kept at the size and scale of the screen."""

import math
from collections import OrderedDict
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QImage, QPixmap

from desk.film.model import Clip
from desk.film.rates import Rate
from desk.ui.bench import Bench

_MOST_KEPT = 800
_ROW_PICTURE_PX = 96
"""Height in which small pictures are asked for: that of the other rows, so that they are made once."""

_Key = tuple[str, Fraction]


class ClipPictures(QObject):
    """Keeps small pictures of footage.

    Signals:
        changed: There are other pictures of a source than before; its path in the film.
    """

    changed = Signal(str)

    def __init__(self, bench: Bench, height_px: int, parent: QObject | None = None) -> None:
        """Keep pictures of one height.

        Args:
            bench: Where they come from.
            height_px: Their height on the screen, in device-independent pixels.
            parent: Who owns it.
        """
        super().__init__(parent)
        self._bench = bench
        self._height_px = height_px
        self._ratio = 0.0
        self._kept: OrderedDict[_Key, QPixmap] = OrderedDict()
        self._places: dict[str, dict[Fraction, float]] = {}
        bench.thumbnails.made.connect(self.changed)
        bench.media.changed.connect(self._on_media_changed)

    def set_ratio(self, ratio: float) -> None:
        """Take another scale of the screen."""
        if ratio != self._ratio:
            self._ratio = ratio
            self._kept.clear()
            self._places.clear()

    def picture(self, source: str, seconds: Fraction) -> QPixmap | None:
        """Return the picture of a source at a place; while it is being made the nearest one, or None."""
        key = (source, seconds)
        kept = self._kept.get(key)
        if kept is not None:
            self._kept.move_to_end(key)
            return kept
        if not self._bench.media.is_present(source):
            return None
        image = self._bench.thumbnails.picture(source, seconds, height_px=_ROW_PICTURE_PX)
        if image is None or image.isNull():
            return self._nearest(source, float(seconds))
        pixmap = self._scaled(image)
        self._kept[key] = pixmap
        self._places.setdefault(source, {})[seconds] = float(seconds)
        if len(self._kept) > _MOST_KEPT:
            self._forget(next(iter(self._kept)))
        return pixmap

    def _nearest(self, source: str, seconds: float) -> QPixmap | None:
        places = self._places.get(source)
        if not places:
            return None
        return self._kept[source, min(places, key=lambda place: abs(places[place] - seconds))]

    def _forget(self, key: _Key) -> None:
        del self._kept[key]
        del self._places[key[0]][key[1]]

    def _scaled(self, image: QImage) -> QPixmap:
        height = max(1, round(self._height_px * (self._ratio or 1)))
        scaled = image.scaledToHeight(height, Qt.TransformationMode.SmoothTransformation)
        pixmap = QPixmap.fromImage(scaled)
        pixmap.setDevicePixelRatio(self._ratio or 1)
        return pixmap

    def _on_media_changed(self, paths: frozenset[str]) -> None:
        for key in [key for key in self._kept if key[0] in paths]:
            self._forget(key)
        for path in sorted(paths):
            self.changed.emit(path)


@dataclass(frozen=True, slots=True)
class Cell:
    """Where a picture stands in a clip.

    Attributes:
        first: Where it begins, in frames from the clip's head.
        end: Where it ends.
        seconds: The place in the source that it shows.
    """

    first: float
    end: float
    seconds: Fraction


def picture_cells(clip: Clip, rate: Rate, picture_frames: float, first: float, end: float) -> Iterator[Cell]:
    """Yield the pictures that fill a stretch of a clip, side by side.

    Those of a clip that is long enough stand on steps of its footage that are a power of two of film frames
    long, so that a trim or another zoom asks for few other pictures; a shorter clip has the one of its
    middle.

    Args:
        clip: The clip.
        rate: The film's rate.
        picture_frames: How many frames a whole picture covers on the screen; each is shown at most that wide.
        first: Where the stretch begins, in frames from the clip's head.
        end: Where it ends.
    """
    length = clip.length_frames
    step = 1
    while step * 2 <= picture_frames:
        step *= 2
    if length <= step:
        middle = clip.in_seconds + rate.seconds(length) * clip.speed / 2
        yield Cell(0.0, float(length), middle)
        return
    frame_seconds = rate.seconds(1) * clip.speed
    into = float(clip.in_seconds / frame_seconds)
    number = math.floor((into + max(0.0, first)) / step)
    while (begin := number * step - into) < min(end, length):
        # The first one of a clip shows its first frame: that is what is looked for while its head is trimmed.
        seconds = max(clip.in_seconds, number * step * frame_seconds)
        yield Cell(max(0.0, begin), min(float(length), begin + step), seconds)
        number += 1
