"""Pictures of clips ready for painting, kept at the size and scale of the screen."""

from collections import OrderedDict
from fractions import Fraction

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QImage, QPixmap

from desk.film.model import Clip
from desk.film.rates import Rate
from desk.ui.bench import Bench

_MOST_KEPT = 600
_MOST_IN_A_CLIP = 16
_ROW_PICTURE_PX = 96
"""Height in which small pictures are asked for: that of the other rows, so that they are made once."""

_Key = tuple[str, Fraction]


class ClipPictures(QObject):
    """Keeps small pictures of footage.

    Signals:
        changed: There are other pictures than before; what shows them is painted again.
    """

    changed = Signal()

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
        bench.thumbnails.made.connect(self._on_made)
        bench.media.changed.connect(self._on_media_changed)

    def set_ratio(self, ratio: float) -> None:
        """Take another scale of the screen."""
        if ratio != self._ratio:
            self._ratio = ratio
            self._kept.clear()

    def picture(self, source: str, seconds: Fraction) -> QPixmap | None:
        """Return the picture of a source at a place, or None while it is being made."""
        key = (source, seconds)
        kept = self._kept.get(key)
        if kept is not None:
            self._kept.move_to_end(key)
            return kept
        if not self._bench.media.is_present(source):
            return None
        image = self._bench.thumbnails.picture(source, seconds, height_px=_ROW_PICTURE_PX)
        if image is None or image.isNull():
            return None
        pixmap = self._scaled(image)
        self._kept[key] = pixmap
        if len(self._kept) > _MOST_KEPT:
            self._kept.popitem(last=False)
        return pixmap

    def _scaled(self, image: QImage) -> QPixmap:
        height = max(1, round(self._height_px * (self._ratio or 1)))
        scaled = image.scaledToHeight(height, Qt.TransformationMode.SmoothTransformation)
        pixmap = QPixmap.fromImage(scaled)
        pixmap.setDevicePixelRatio(self._ratio or 1)
        return pixmap

    def _on_made(self, _: str) -> None:
        self.changed.emit()

    def _on_media_changed(self, paths: frozenset[str]) -> None:
        for key in [key for key in self._kept if key[0] in paths]:
            del self._kept[key]
        self.changed.emit()


def picture_places(clip: Clip, rate: Rate, width_px: float, picture_width_px: float) -> tuple[Fraction, ...]:
    """Return the places in a source of the pictures that fill a clip's box, side by side.

    Their number is a power of two, so that another width of the window asks for other pictures rarely.

    Args:
        clip: The clip.
        rate: The film's rate.
        width_px: Width of its box.
        picture_width_px: Width of a whole picture; each is shown at most that wide.
    """
    count = 1
    while count < _MOST_IN_A_CLIP and width_px / count > picture_width_px and 2 * count <= clip.length_frames:
        count *= 2
    seconds = rate.seconds(clip.length_frames) * clip.speed
    return tuple(clip.in_seconds + seconds * (2 * place + 1) / (2 * count) for place in range(count))
