"""Pictures and outlines of sounds in the lanes, drawn once in stretches and kept until they look otherwise.

A tile is a stretch of one clip, spot or cue at one zoom, whatever its place in the scene: while a trim is
dragged, all that follows moves along and is not drawn anew.
"""

import math
from collections import OrderedDict
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QColor, QImage, QPainter, QPixmap

from desk.film.model import Clip, Film
from desk.film.rates import SAMPLE_RATE_HZ
from desk.sound.waveform import FULL_SCALE
from desk.ui.cutting.clip_pictures import ClipPictures, picture_cells
from desk.ui.cutting.lanes_axis import TimeAxis
from desk.ui.cutting.lanes_layout import Box, Row, Thing
from desk.ui.cutting.waveforms import Waveforms
from desk.ui.look.theme import Theme

TILE_PX = 512
_LIMIT_BYTES = 48 << 20
_LOUDNESS_POWER = 0.6
"""Outlines are drawn higher than they are in proportion, so that a quiet voice is seen beside a loud one."""

_Key = tuple[Row, str, int]


@dataclass(frozen=True, slots=True)
class _Face:
    """All that decides how a tile looks, but for what its file holds."""

    thing: Thing
    start_in_thing: int
    length: int
    height_px: float
    px_per_frame: float
    ratio: float
    theme: str

    def same_as(self, other: "_Face") -> bool:
        return (
            self.start_in_thing,
            self.length,
            self.height_px,
            self.px_per_frame,
            self.ratio,
            self.theme,
        ) == (
            other.start_in_thing,
            other.length,
            other.height_px,
            other.px_per_frame,
            other.ratio,
            other.theme,
        ) and (self.thing is other.thing or self.thing == other.thing)


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
        self._kept: OrderedDict[_Key, tuple[_Face, str, QPixmap]] = OrderedDict()
        self._bytes = 0

    def forget(self, path: str) -> None:
        """Draw what shows a file anew."""
        for key in [key for key, (_, file, _) in self._kept.items() if file == path]:
            self._drop(key)

    def paint(self, painter: QPainter, box: Box, axis: TimeAxis, film: Film, ratio: float) -> QRectF:
        """Paint what is on the screen of a picture or of a sound; returns where its whole box is."""
        left, right = on_pixels(axis.x(box.start_frames), ratio), on_pixels(axis.x(box.end_frames), ratio)
        rect = QRectF(left, box.top_px, max(1 / ratio, right - left), box.height_px)
        shown_left, shown_right = max(left, axis.left_px), min(rect.right(), axis.right_px)
        if shown_right <= shown_left:
            return rect
        face = _Face(
            thing=box.thing,
            start_in_thing=box.start_frames - box.picture_frames[0] if box.row is Row.DIALOGUE else 0,
            length=box.length_frames,
            height_px=box.height_px,
            px_per_frame=axis.px_per_frame,
            ratio=ratio,
            theme=self._theme.palette.name,
        )
        number = int((shown_left - left) // TILE_PX)
        while (at := left + number * TILE_PX) < shown_right:
            tile = self._tile(box, number, face, film)
            # What the edge of the screen or of the box cuts off is not painted.
            begin, end = max(at, shown_left), min(at + TILE_PX, shown_right)
            seen = QRectF((begin - at) * ratio, 0, (end - begin) * ratio, tile.height())
            painter.drawPixmap(QRectF(begin, box.top_px, end - begin, box.height_px), tile, seen)
            number += 1
        return rect

    def _tile(self, box: Box, number: int, face: _Face, film: Film) -> QPixmap:
        key = (box.row, box.owner, number)
        kept = self._kept.get(key)
        if kept is not None and kept[0].same_as(face):
            self._kept.move_to_end(key)
            return kept[2]
        self._drop(key)
        # A pixel wider than the box is on average: by where it stands, its edges round either way.
        width = min(float(TILE_PX), face.length * face.px_per_frame - number * TILE_PX + 1)
        tile = QPixmap(max(1, math.ceil(width * face.ratio)), max(1, round(face.height_px * face.ratio)))
        tile.setDevicePixelRatio(face.ratio)
        if box.row is Row.PICTURE:
            assert isinstance(box.thing, Clip)
            file = box.thing.source
            self._draw_picture(tile, box.thing, number * TILE_PX, face, film)
        else:
            file = box.span.file if box.span else ""
            self._draw_sound(tile, box, number * TILE_PX, face, film)
        self.drawn += 1
        self._kept[key] = (face, file, tile)
        self._bytes += _bytes_of(tile)
        while self._bytes > _LIMIT_BYTES and len(self._kept) > 1:
            self._drop(next(iter(self._kept)))
        return tile

    def _drop(self, key: _Key) -> None:
        kept = self._kept.pop(key, None)
        if kept is not None:
            self._bytes -= _bytes_of(kept[2])

    def _draw_picture(self, tile: QPixmap, clip: Clip, from_px: float, face: _Face, film: Film) -> None:
        tile.fill(self._theme.colour("bench"))
        width = face.height_px * film.size.width / film.size.height
        scale = face.px_per_frame
        first, end = from_px / scale, (from_px + tile.width() / face.ratio) / scale
        painter = QPainter(tile)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        for cell in picture_cells(clip, film.rate, width / scale, first, end):
            picture = self._pictures.picture(clip.source, cell.seconds)
            if picture is not None:
                rect = QRectF(
                    cell.first * scale - from_px, 0, (cell.end - cell.first) * scale, face.height_px
                )
                _fill(painter, rect, picture, width)
        painter.end()

    def _draw_sound(self, tile: QPixmap, box: Box, from_px: float, face: _Face, film: Film) -> None:
        dialogue = box.row is Row.DIALOGUE
        tile.fill(self._theme.colour("unlit" if dialogue else "line"))
        painter = QPainter(tile)
        if dialogue:
            self._draw_beyond_picture(painter, box, from_px, face)
        waveform = self._waveforms.waveform(box.span.file) if box.span else None
        if waveform is not None and box.span is not None:
            span = box.span
            columns = tile.width()
            step = 1 / (face.px_per_frame * face.ratio)
            first = from_px / face.px_per_frame
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
            painter.resetTransform()
            image.setDevicePixelRatio(face.ratio)
            painter.drawImage(QPointF(0, 0), image)
        painter.end()

    def _draw_beyond_picture(self, painter: QPainter, box: Box, from_px: float, face: _Face) -> None:
        """Draw what runs ahead of its picture, or on after it, so that it stands out."""
        begin, end = box.picture_frames
        for first, last in ((box.start_frames, begin), (end, box.end_frames)):
            if last > first:
                rect = QRectF(
                    (first - box.start_frames) * face.px_per_frame - from_px,
                    0,
                    (last - first) * face.px_per_frame,
                    face.height_px,
                )
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
