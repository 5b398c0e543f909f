"""Pictures and outlines of sounds in the lanes, drawn once in stretches and kept until they look otherwise.

A tile is a stretch of one clip, spot or cue at one zoom, whatever its place in the scene: while a trim is
dragged, all that follows moves along and is not drawn anew.
"""

import dataclasses
import math
from collections import OrderedDict
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QImage, QPainter, QPixmap

from desk.film.lanes import Span
from desk.film.model import Clip, Film
from desk.film.rates import SAMPLE_RATE_HZ
from desk.sound.waveform import FULL_SCALE
from desk.ui.cutting.lanes.axis import TimeAxis
from desk.ui.cutting.lanes.clip_pictures import ClipPictures, picture_cells
from desk.ui.cutting.lanes.layout import Box, Row, Thing
from desk.ui.cutting.lanes.waveforms import Waveforms
from desk.ui.look.theme import Theme

TILE_PX = 512
_LIMIT_BYTES = 48 << 20
_LEAST_FOR_GAP_PX = 6
_LOUDNESS_POWER = 0.6
"""Outlines are drawn higher than they are in proportion, so that a quiet voice is seen beside a loud one."""

_Key = tuple[Row, str, int]
_View = tuple[float, float, str]
"""Zoom, pixels of the screen in each device-independent one, and palette."""


@dataclass(frozen=True, slots=True)
class _Tile:
    """A stretch that was drawn, with all that decides how it looks but for what its file holds."""

    thing: Thing
    span: Span | None
    shape: tuple[int, int, float]
    view: _View
    file: str
    pixmap: QPixmap

    def shows(self, box: Box) -> bool:
        """Return whether a box is what was drawn; a spot or cue may have moved since."""
        if self.thing is box.thing:
            return True
        if self.span is None or box.span is None or isinstance(box.thing, Clip):
            return self.thing == box.thing
        return dataclasses.replace(self.span, start_frames=box.span.start_frames) == box.span


class LaneTiles:
    """Draws what stands in the lanes, tile by tile.

    Attributes:
        drawn: How many tiles were drawn so far; those that were kept do not count.
    """

    def __init__(self, pictures: ClipPictures, waveforms: Waveforms, theme: Theme) -> None:
        self.drawn = 0
        self._pictures = pictures
        self._waveforms = waveforms
        self._theme = theme
        self._kept: OrderedDict[_Key, _Tile] = OrderedDict()
        self._bytes = 0

    def forget(self, path: str) -> None:
        """Draw what shows a file anew."""
        for key in [key for key, tile in self._kept.items() if tile.file == path]:
            self._drop(key)

    def paint(
        self, painter: QPainter, boxes: Iterable[Box], axis: TimeAxis, film: Film, ratio: float
    ) -> None:
        """Paint pictures and sounds as far as they are on the screen, each with a gap after it.

        Args:
            painter: Paints them.
            boxes: What to paint, from left to right in each lane.
            axis: Where on the screen.
            film: The film.
            ratio: Pixels of the screen in each device-independent one.
        """
        view: _View = (axis.px_per_frame, ratio, self._theme.palette.name)
        first_px, last_px = axis.left_px, axis.right_px
        gaps: list[QRectF] = []
        # Hundreds of times in each repaint of a drag, so that little is made here that is not used.
        for box in boxes:
            left = on_pixels(axis.x(box.start_frames), ratio)
            right = on_pixels(axis.x(box.end_frames), ratio)
            top = box.top_px
            begin, end = max(left, first_px), min(max(right, left + 1 / ratio), last_px)
            number = int((begin - left) // TILE_PX)
            while begin < end:
                at = left + number * TILE_PX
                pixmap = self._tile(box, number, view, film)
                until = min(at + TILE_PX, end)
                # What the edge of the screen or of the box cuts off is not painted.
                seen = QRectF((begin - at) * ratio, 0, (until - begin) * ratio, pixmap.height())
                painter.drawPixmap(QPointF(begin, top), pixmap, seen)
                begin, number = until, number + 1
            if right - left > _LEAST_FOR_GAP_PX:
                gaps.append(QRectF(right - 1, top, 1, box.height_px))
        painter.save()
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(self._theme.colour("field"))
        painter.drawRects(gaps)
        painter.restore()

    def _tile(self, box: Box, number: int, view: _View, film: Film) -> QPixmap:
        key = (box.row, box.owner, number)
        start = box.start_frames - box.picture_frames[0] if box.row is Row.DIALOGUE else 0
        shape = (start, box.end_frames - box.start_frames, box.height_px)
        kept = self._kept.get(key)
        if kept is not None and kept.shape == shape and kept.view == view and kept.shows(box):
            return kept.pixmap
        self._drop(key)
        scale, ratio, _ = view
        # A pixel wider than the box is on average: by where it stands, its edges round either way.
        width = min(float(TILE_PX), box.length_frames * scale - number * TILE_PX + 1)
        pixmap = QPixmap(max(1, math.ceil(width * ratio)), max(1, round(box.height_px * ratio)))
        pixmap.setDevicePixelRatio(ratio)
        if box.row is Row.PICTURE:
            assert isinstance(box.thing, Clip)
            file = box.thing.source
            self._draw_picture(pixmap, box, number * TILE_PX, view, film)
        else:
            file = box.span.file if box.span else ""
            self._draw_sound(pixmap, box, number * TILE_PX, view, film)
        self.drawn += 1
        self._kept[key] = _Tile(box.thing, box.span, shape, view, file, pixmap)
        self._bytes += _bytes_of(pixmap)
        while self._bytes > _LIMIT_BYTES and len(self._kept) > 1:
            self._drop(next(iter(self._kept)))
        return pixmap

    def _drop(self, key: _Key) -> None:
        kept = self._kept.pop(key, None)
        if kept is not None:
            self._bytes -= _bytes_of(kept.pixmap)

    def _draw_picture(self, tile: QPixmap, box: Box, from_px: float, view: _View, film: Film) -> None:
        clip = box.thing
        assert isinstance(clip, Clip)
        tile.fill(self._theme.colour("bench"))
        scale, ratio, _ = view
        width = box.height_px * film.size.width / film.size.height
        first, end = from_px / scale, (from_px + tile.width() / ratio) / scale
        painter = QPainter(tile)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        for cell in picture_cells(clip, film.rate, width / scale, first, end):
            picture = self._pictures.picture(clip.source, cell.seconds)
            if picture is not None:
                left, right = (on_pixels(place * scale - from_px, ratio) for place in (cell.first, cell.end))
                _fill(painter, QRectF(left, 0, right - left, box.height_px), picture, width)
        painter.end()

    def _draw_sound(self, tile: QPixmap, box: Box, from_px: float, view: _View, film: Film) -> None:
        dialogue = box.row is Row.DIALOGUE
        tile.fill(self._theme.colour("unlit" if dialogue else "line"))
        scale, ratio, _ = view
        painter = QPainter(tile)
        if dialogue:
            self._draw_beyond_picture(painter, box, from_px, scale)
        waveform = self._waveforms.waveform(box.span.file) if box.span else None
        if waveform is not None and box.span is not None:
            span = box.span
            columns = tile.width()
            step = 1 / (scale * ratio)
            first = from_px / scale
            per_frame = float(SAMPLE_RATE_HZ * film.rate.seconds(1) * span.speed)
            begin = float(span.in_seconds * SAMPLE_RATE_HZ)
            low, high = waveform.columns(
                round(begin + per_frame * first),
                round(begin + per_frame * (first + columns * step)),
                columns,
            )
            # In the middle of each column.
            frames = first + (np.arange(columns, dtype=np.float64) + 0.5) * step
            level = 10 ** (span.gain_db / 20) * fade_levels(
                frames, box.length_frames, span.fade_in_frames, span.fade_out_frames
            )
            image = outline_image(
                low * level / FULL_SCALE, high * level / FULL_SCALE, tile.height(), self._theme.colour("dim")
            )
            image.setDevicePixelRatio(ratio)
            painter.drawImage(QPointF(0, 0), image)
        painter.end()

    def _draw_beyond_picture(self, painter: QPainter, box: Box, from_px: float, scale: float) -> None:
        """Draw what runs ahead of its picture, or on after it, so that it stands out."""
        begin, end = box.picture_frames
        for first, last in ((box.start_frames, begin), (end, box.end_frames)):
            if last > first:
                left = (first - box.start_frames) * scale - from_px
                rect = QRectF(left, 0, (last - first) * scale, box.height_px)
                painter.fillRect(rect, self._theme.colour("line"))


def on_pixels(x: float, ratio: float) -> float:
    """Return a place on the screen moved to the nearest pixel."""
    return math.floor(x * ratio + 0.5) / ratio


def fade_levels(frames: NDArray[np.float64], length: int, fade_in: int, fade_out: int) -> NDArray[np.float64]:
    """Return how much of a sound its fades leave, 0 to 1, at places from its head: quarters of a sine."""
    level = np.ones(len(frames))
    if fade_in:
        level *= np.sin(np.pi / 2 * (frames / fade_in).clip(0, 1))
    if fade_out:
        level *= np.sin(np.pi / 2 * ((length - frames) / fade_out).clip(0, 1))
    return level


def outline_image(low: NDArray[np.float64], high: NDArray[np.float64], height: int, colour: QColor) -> QImage:
    """Return a picture of an outline: one column of pixels for each, at least one pixel high.

    Args:
        low: The lowest sample of each column, full scale being -1.
        high: The highest, full scale being 1.
        height: Height in pixels.
        colour: Its colour; the rest is transparent.
    """
    middle = (height - 1) / 2
    tops, bottoms = (
        middle - np.sign(level) * np.minimum(1, np.abs(level)) ** _LOUDNESS_POWER * middle
        for level in (high, low)
    )
    rows = np.arange(height)[:, None]
    inside = (rows >= np.floor(tops)[None, :]) & (rows <= np.ceil(bottoms)[None, :])
    pixels = np.where(inside, np.uint32(colour.rgba()), np.uint32(0))
    image = QImage(pixels.tobytes(), pixels.shape[1], height, QImage.Format.Format_ARGB32)
    # The copy owns its pixels.
    return image.copy()


def _fill(painter: QPainter, cell: QRectF, picture: QPixmap, width_px: float) -> None:
    """Fill a cell with the middle of a picture; one that is narrower keeps its shape."""
    width, height = picture.width(), picture.height()
    share = min(1.0, cell.width() / width_px) if width_px else 1.0
    seen = QRectF(width * (1 - share) / 2, 0, width * share, height)
    if share < 1.0:
        painter.drawPixmap(cell, picture, seen)
        return
    shown = QRectF(cell.left(), 0, min(cell.width(), cell.height() * width / height), cell.height())
    painter.drawPixmap(shown, picture, seen)


def _bytes_of(tile: QPixmap) -> int:
    return tile.width() * tile.height() * 4
