"""Canvas, colour, noise, blur and the finish that every picture of the film gets."""

from __future__ import annotations

import functools
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import (
    QBrush,
    QColor,
    QImage,
    QLinearGradient,
    QPainter,
    QPainterPath,
    QPolygonF,
    QRadialGradient,
    QTransform,
)

from making.plan import Camera

Array = NDArray[np.float32]
Point = tuple[float, float]


def colour(text: str, alpha: float = 1.0, gain: float = 1.0) -> QColor:
    """Returns a colour from '#rrggbb'; a gain above 1 makes it brighter than paper white."""
    base = QColor(text)
    return QColor.fromRgbF(
        base.redF() * gain, base.greenF() * gain, base.blueF() * gain, min(1.0, max(0.0, alpha))
    )


def rgb(text: str, gain: float = 1.0) -> Array:
    """Returns '#rrggbb' as three floats."""
    return np.array([int(text[i : i + 2], 16) / 255 for i in (1, 3, 5)], np.float32) * gain


def mix(first: str, second: str, amount: float) -> str:
    """Returns the colour that lies `amount` of the way from first to second."""
    both = _from_oklab(_to_oklab(rgb(first)) * (1 - amount) + _to_oklab(rgb(second)) * amount)
    red, green, blue = (round(255 * float(v)) for v in np.clip(both, 0, 1))
    return f"#{red:02x}{green:02x}{blue:02x}"


def smooth(value: float, low: float = 0.0, high: float = 1.0) -> float:
    """Returns 0 below low, 1 above high, and an eased value between."""
    place = min(1.0, max(0.0, (value - low) / (high - low)))
    return place * place * (3 - 2 * place)


# The matrices of the Oklab colour space; colours mixed there keep their brightness,
# which a sky from peach to slate needs.
_TO_LMS = np.array(
    [
        [0.4122214708, 0.5363325363, 0.0514459929],
        [0.2119034982, 0.6806995451, 0.1073969566],
        [0.0883024619, 0.2817188376, 0.6299787005],
    ]
)
_TO_LAB = np.array(
    [
        [0.2104542553, 0.7936177850, -0.0040720468],
        [1.9779984951, -2.4285922050, 0.4505937099],
        [0.0259040371, 0.7827717662, -0.8086757660],
    ]
)


def _to_oklab(value: Array) -> Array:
    linear = np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)
    return (np.cbrt(linear @ _TO_LMS.T) @ _TO_LAB.T).astype(np.float32)


def _from_oklab(value: Array) -> Array:
    linear = ((value @ np.linalg.inv(_TO_LAB).T) ** 3) @ np.linalg.inv(_TO_LMS).T
    linear = np.clip(linear, 0, 1)
    return np.where(linear <= 0.0031308, linear * 12.92, 1.055 * linear ** (1 / 2.4) - 0.055).astype(
        np.float32
    )


def ramp(stops: Sequence[tuple[float, str]], places: Array) -> Array:
    """Returns the colours of a gradient at the given places (0 to 1)."""
    labs = np.stack([_to_oklab(rgb(text)) for _, text in stops])
    where = [place for place, _ in stops]
    lab = np.stack([np.interp(places, where, labs[:, i]) for i in range(3)], axis=-1)
    return _from_oklab(lab.astype(np.float32))


# --- noise and blur -----------------------------------------------------------------


@functools.lru_cache(maxsize=64)
def _resize_matrix(source: int, target: int) -> Array:
    """Returns a matrix that stretches a column of samples with a smooth cubic."""
    place = np.clip((np.arange(target) + 0.5) * source / target - 0.5, 0, source - 1)
    base = np.floor(place).astype(int)
    part = place - base
    matrix = np.zeros((target, source), np.float32)
    weights = (
        -0.5 * part**3 + part**2 - 0.5 * part,
        1.5 * part**3 - 2.5 * part**2 + 1,
        -1.5 * part**3 + 2 * part**2 + 0.5 * part,
        0.5 * part**3 - 0.5 * part**2,
    )
    for shift, weight in zip((-1, 0, 1, 2), weights, strict=True):
        np.add.at(matrix, (np.arange(target), np.clip(base + shift, 0, source - 1)), weight)
    return matrix


def fbm(
    height: int, width: int, cell: tuple[float, float], octaves: int, seed: int, gain: float = 0.5
) -> Array:
    """Returns cloudy noise of about -1 to 1; `cell` is the size of its largest form in px (y, x)."""
    rng = np.random.default_rng(seed)
    out = np.zeros((height, width), np.float32)
    weight, total = 1.0, 0.0
    for octave in range(octaves):
        rows = max(2, round(height / cell[0] * 2**octave) + 1)
        columns = max(2, round(width / cell[1] * 2**octave) + 1)
        if rows > height and columns > width:
            break
        rows, columns = min(rows, height), min(columns, width)
        grid = rng.uniform(-1, 1, (rows, columns)).astype(np.float32)
        out += weight * (_resize_matrix(rows, height) @ grid @ _resize_matrix(columns, width).T)
        total += weight
        weight *= gain
    return out / max(total * 0.75, 1e-6)


@functools.lru_cache(maxsize=64)
def _blur_matrix(size: int, sigma: float) -> Array:
    index = np.arange(size, dtype=np.float32)
    matrix = np.exp(-((index[:, None] - index[None]) ** 2) / (2 * sigma**2))
    return (matrix / matrix.sum(axis=1, keepdims=True)).astype(np.float32)


def blur(image: Array, sigma_px: float) -> Array:
    """Returns the image (rows, columns, channels) softened by a Gaussian."""
    if sigma_px <= 0.3:
        return image
    rows, columns, channels = image.shape
    step = next((n for n, least in ((4, 7), (2, 3)) if sigma_px > least and not (rows % n or columns % n)), 1)
    small = image.reshape(rows // step, step, columns // step, step, channels).mean(axis=(1, 3))
    down = _blur_matrix(small.shape[0], sigma_px / step)
    across = _blur_matrix(small.shape[1], sigma_px / step)
    soft = np.einsum("ij,jkc->ikc", down, small, optimize=True)
    soft = np.einsum("lk,ikc->ilc", across, soft, optimize=True)
    return soft if step == 1 else stretch(soft, rows, columns)


def stretch(image: Array, rows: int, columns: int) -> Array:
    """Returns the image (rows, columns, channels) at another size."""
    before, across, channels = image.shape
    tall = _resize_matrix(before, rows) @ image.reshape(before, across * channels)
    lines = np.ascontiguousarray(tall.reshape(rows, across, channels).transpose(0, 2, 1)).reshape(-1, across)
    wide = lines @ _resize_matrix(across, columns).T
    return np.ascontiguousarray(wide.reshape(rows, channels, columns).transpose(0, 2, 1))


# --- canvas --------------------------------------------------------------------------


class Canvas:
    """A float picture that Qt paints on: no banding, and lights may be brighter than white.

    Does not promise that pixels outside a painter's life are safe to keep: end the painter first.
    """

    def __init__(self, width: int, height: int, *, clear: bool = False) -> None:
        self.width, self.height = width, height
        self.px: Array = np.zeros((height, width, 4), np.float32)
        if not clear:
            self.px[..., 3] = 1
        self.image = QImage(
            self.px.data,
            width,
            height,
            width * 16,
            QImage.Format.Format_RGBA32FPx4_Premultiplied,
        )

    @classmethod
    def of(cls, picture: Array) -> Canvas:
        """Returns a canvas that holds a copy of (rows, columns, 3 or 4) floats."""
        canvas = cls(picture.shape[1], picture.shape[0])
        canvas.px[..., : picture.shape[2]] = picture
        return canvas

    def copy(self) -> Canvas:
        """Returns a canvas with the same pixels."""
        return Canvas.of(self.px)

    def painter(self) -> QPainter:
        """Returns a painter with smooth edges."""
        painter = QPainter(self.image)
        painter.setRenderHints(QPainter.RenderHint.Antialiasing | QPainter.RenderHint.SmoothPixmapTransform)
        painter.setPen(Qt.PenStyle.NoPen)
        return painter

    def soften(self, sigma_px: float) -> Canvas:
        """Blurs in place and returns itself: things out of focus."""
        self.px[...] = blur(self.px, sigma_px)
        return self


def polygon(points: Sequence[Point]) -> QPolygonF:
    """Returns a Qt polygon."""
    return QPolygonF([QPointF(x, y) for x, y in points])


def flowing(points: Sequence[Point], *, closed: bool = True, tight: float = 0.5) -> QPainterPath:
    """Returns a soft curve through the points (Catmull-Rom)."""
    count = len(points)
    path = QPainterPath(QPointF(*points[0]))
    for i in range(count if closed else count - 1):
        if closed:
            p0, p1, p2, p3 = (points[(i + k) % count] for k in (-1, 0, 1, 2))
        else:
            p0, p1 = points[max(0, i - 1)], points[i]
            p2, p3 = points[i + 1], points[min(count - 1, i + 2)]
        k = tight / 3
        path.cubicTo(
            QPointF(p1[0] + (p2[0] - p0[0]) * k, p1[1] + (p2[1] - p0[1]) * k),
            QPointF(p2[0] - (p3[0] - p1[0]) * k, p2[1] - (p3[1] - p1[1]) * k),
            QPointF(*p2),
        )
    if closed:
        path.closeSubpath()
    return path


def straight(points: Sequence[Point]) -> QPainterPath:
    """Returns a closed path of straight edges."""
    path = QPainterPath()
    path.addPolygon(polygon(points))
    path.closeSubpath()
    return path


def vertical(top: float, bottom: float, *stops: tuple[float, QColor]) -> QBrush:
    """Returns a brush that changes from top to bottom."""
    return linear((0, top), (0, bottom), *stops)


def linear(start: Point, end: Point, *stops: tuple[float, QColor]) -> QBrush:
    """Returns a brush that changes from start to end."""
    gradient = QLinearGradient(QPointF(*start), QPointF(*end))
    for place, tone in stops:
        gradient.setColorAt(place, tone)
    return QBrush(gradient)


def glow(
    painter: QPainter,
    centre: Point,
    radius_px: float,
    tone: str,
    strength: float,
    *,
    squash: float = 1.0,
) -> None:
    """Adds soft light around a point; `squash` below 1 makes it flat."""
    painter.save()
    painter.setCompositionMode(QPainter.CompositionMode.CompositionMode_Plus)
    painter.translate(*centre)
    painter.scale(1.0, squash)
    gradient = QRadialGradient(QPointF(0, 0), radius_px)
    for place in (0.0, 0.12, 0.25, 0.4, 0.55, 0.7, 0.85, 1.0):
        fall = (1 - place) ** 2 / (1 + 6 * place * place)
        # Light is added without alpha, so that it does not hide what lies under it.
        light = colour(tone, 1.0, strength * fall)
        gradient.setColorAt(place, QColor.fromRgbF(light.redF(), light.greenF(), light.blueF(), 1))
    painter.setBrush(QBrush(gradient))
    painter.setPen(Qt.PenStyle.NoPen)
    painter.drawEllipse(QPointF(0, 0), radius_px, radius_px)
    painter.restore()


def shade(
    painter: QPainter, x: float, y: float, width: float, height: float, strength: float, tone: str = "#04060a"
) -> None:
    """Darkens a soft ellipse: the shadow under a thing. Width and height are half sizes in px."""
    painter.save()
    painter.translate(x, y)
    painter.scale(1.0, height / width)
    gradient = QRadialGradient(QPointF(0, 0), width)
    for place in (0.0, 0.35, 0.6, 0.8, 1.0):
        gradient.setColorAt(place, colour(tone, strength * (1 - place * place) ** 1.5))
    painter.setBrush(QBrush(gradient))
    painter.setPen(Qt.PenStyle.NoPen)
    painter.drawEllipse(QPointF(0, 0), width, width)
    painter.restore()


def rim_lit(
    painter: QPainter,
    path: QPainterPath,
    body: QBrush | QColor,
    edge: QColor,
    towards: Point,
    width_px: float = 2.0,
) -> None:
    """Fills a path and leaves a lit edge on the side that faces the light.

    Args:
        painter: painter on the canvas.
        path: the outline.
        body: what fills it.
        edge: colour of the lit edge.
        towards: direction to the light, any length.
        width_px: width of the lit edge.
    """
    painter.fillPath(path, body)
    length = max(1e-6, float(np.hypot(*towards)))
    # Cutting paths needs coordinates of about a pixel, else Qt's curves turn to corners.
    scale = max(1.0, abs(painter.transform().determinant()) ** 0.5)
    grown = QTransform.fromScale(scale, scale).map(path)
    shift = width_px * scale / length
    crescent = grown.subtracted(grown.translated(-towards[0] * shift, -towards[1] * shift))
    painter.save()
    painter.scale(1 / scale, 1 / scale)
    painter.fillPath(crescent, edge)
    painter.restore()


def whole(width: float, height: float) -> QRectF:
    """Returns the rectangle from 0, 0."""
    return QRectF(0, 0, width, height)


# --- finish --------------------------------------------------------------------------


class Finish:
    """Bloom, shoulder, vignette and dither: the lens and film of every camera.

    Args:
        width, height: size of the picture in px.
        bloom: how much light spreads from bright places, 0 to 1.
        vignette: how much darker the corners are, 0 to 1.
        lift: colour of the deepest shadow, which keeps night from being a hole.
        seed: of the dither.
        camera: whose colours the picture gets; None leaves them.
    """

    def __init__(
        self,
        width: int,
        height: int,
        *,
        bloom: float = 0.35,
        vignette: float = 0.22,
        lift: str = "#06080c",
        seed: int = 1,
        camera: Camera | None = None,
    ) -> None:
        self.size = (height, width)
        self.bloom = bloom
        self.camera = camera
        y, x = np.mgrid[0:height, 0:width].astype(np.float32)
        away = ((x / width - 0.5) ** 2 * 1.1 + (y / height - 0.5) ** 2 * 1.3) / 0.55
        self.dark = (1 - vignette * np.clip(away * 1.3, 0, 1) ** 1.4)[..., None].astype(np.float32)
        self.lift = rgb(lift)
        rng = np.random.default_rng(seed)
        self.dither = (rng.random((height, width, 1), np.float32) - 0.5) / 255

    def __call__(self, canvas: Canvas) -> NDArray[np.uint8]:
        """Returns the picture as 8-bit RGB."""
        rows, columns = self.size
        light = np.ascontiguousarray(canvas.px[..., :3])
        step = 6 if columns % 6 == 0 and rows % 6 == 0 else 4
        # Two means, first down then across, are quicker than one over both.
        small = light.reshape(rows // step, step, columns * 3).mean(axis=1)
        small = small.reshape(rows // step, columns // step, step, 3).mean(axis=2)
        bright = small * np.clip((small.max(axis=2, keepdims=True) - 0.55) * 1.6, 0, 1)
        if float(bright.max()) > 0.004:
            wide = blur(bright, 16 / step * 2.2)
            near = blur(bright, 4.5 / step * 1.4)
            spread = stretch((0.5 * self.bloom) * (wide + near), rows, columns)
            light *= self.dark
            spread *= 1 - 0.6 * np.clip(light, 0, 1)
            light += spread
        else:
            light *= self.dark
        # A shoulder from 0.75 up, so that lamps and sun keep their colour.
        over = light > 0.75
        light[over] = 1 - 0.25 * np.exp((0.75 - light[over]) * 4)
        light *= 1 - self.lift
        light += self.lift
        out = light
        camera = self.camera
        if camera is not None and (camera.saturation, camera.contrast, camera.lift) != (1.0, 1.0, 0.0):
            grey = out.mean(axis=2, keepdims=True)
            out = grey + (out - grey) * camera.saturation
            out = (out - 0.4) * camera.contrast + 0.4 + camera.lift
            out *= np.array(camera.tint, np.float32)
            out = out.astype(np.float32, copy=False)
        out += self.dither
        out *= 255
        out += 0.5
        return np.clip(out, 0, 255, out=out).astype(np.uint8)
