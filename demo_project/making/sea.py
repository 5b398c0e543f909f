"""Sky, headlands and the sea that mirrors them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import QPointF
from PySide6.QtGui import QPainter

from making.paint import Array, Canvas, blur, fbm, mix, ramp, rgb, stretch

# How far the painted sky reaches above the frame, so that near water has something to mirror.
SKY_ABOVE_PX = 140
GRAVITY = 9.81


@dataclass(frozen=True, slots=True)
class Disc:
    """Sun or moon: place in px (y from the top of the frame), radius, colour, brightness."""

    x: float
    y: float
    radius_px: float
    tone: str
    gain: float
    halo: float
    halo_px: float


@dataclass(frozen=True, slots=True)
class Clouds:
    """A bank of clouds: where it lies, how large its forms are, and how it is lit."""

    centre_y: float
    spread_px: float
    cell: tuple[float, float]
    lit: str
    shade: str
    cover: float
    alpha: float
    seed: int
    drift_px_per_second: float = 1.5


@dataclass(frozen=True, slots=True)
class Headland:
    """Land on the horizon: distance in metres decides how it moves when the camera does."""

    distance_m: float
    base_px: float
    rise_px: float
    cell_px: float
    tone: str
    haze: str
    seed: int
    start: float = -1.0
    end: float = 2.0
    rim: str = ""
    houses: int = 0
    house_tone: str = "#ffcf8a"
    house_gain: float = 1.2


@dataclass(frozen=True, slots=True)
class Light:
    """A time of day: sky gradient (0 top, 1 horizon), water colour, haze."""

    stops: Sequence[tuple[float, str]]
    deep: str
    disc: Disc | None
    clouds: Sequence[Clouds]
    stars: float = 0.0
    wind: float = 1.0


class Seascape:
    """Paints sky, land and water for a moment and a place of the camera.

    Args:
        width, height: size of the picture in px.
        horizon_y: row of the horizon.
        light: time of day.
        headlands: far ones first.
        camera_m: height of the lens above the water.
        focal_px: focal length in px.
        seed: of the waves.
        shore_y: last row of water that can be seen; rows below it are not computed.
    """

    def __init__(
        self,
        width: int,
        height: int,
        horizon_y: int,
        light: Light,
        headlands: Sequence[Headland],
        *,
        camera_m: float = 5.0,
        focal_px: float = 1100.0,
        seed: int = 1,
        shore_y: int | None = None,
    ) -> None:
        self.width, self.height, self.horizon = width, height, horizon_y
        self.light, self.focal, self.camera_m = light, focal_px, camera_m
        self.headlands = tuple(headlands)
        self.top = SKY_ABOVE_PX
        self.sky = self._paint_sky()
        self.clouds = [self._paint_clouds(bank) for bank in light.clouds]
        self.land = [self._paint_headland(land) for land in self.headlands]
        self.bottom = min(height, shore_y or height)
        self._prepare_waves(seed)

    # -- parts painted once --

    def _paint_sky(self) -> Canvas:
        rows = self.horizon + self.top
        y = np.arange(rows, dtype=np.float32) - self.top
        column = ramp(self.light.stops, np.clip(y / self.horizon, 0, 1))
        sky = np.repeat(column[:, None], self.width, axis=1)
        drift = fbm(rows, self.width, (rows * 0.9, self.width * 0.6), 3, 91)[..., None]
        sky *= 1 + 0.035 * drift
        if self.light.stars:
            rng = np.random.default_rng(17)
            count = round(170 * self.light.stars)
            xs = rng.integers(1, self.width - 1, count)
            ys = (rng.random(count) ** 1.5 * rows * 0.85).astype(int)
            size = rng.random(count).astype(np.float32) ** 3
            for x, yy, bright in zip(xs, ys, size, strict=True):
                sky[yy, x] += (0.12 + 0.5 * bright) * rgb("#dfe6ff") * self.light.stars
        disc = self.light.disc
        if disc:
            yy, xx = np.mgrid[0:rows, 0 : self.width].astype(np.float32)
            away = np.hypot(xx - disc.x, (yy - self.top - disc.y) * 1.0)
            tone = rgb(disc.tone)
            soft = disc.halo / (1 + (away / disc.halo_px) ** 2) ** 1.25
            sky += soft[..., None] * tone
            body = np.clip(disc.radius_px + 0.5 - away, 0, 1)[..., None]
            sky = sky * (1 - body) + body * tone * disc.gain
        return Canvas.of(sky.astype(np.float32))

    def _paint_clouds(self, bank: Clouds) -> tuple[Canvas, float]:
        rows, columns = self.horizon + self.top, self.width + 120
        noise = fbm(rows, columns, bank.cell, 6, bank.seed, 0.55)
        below = np.roll(noise, 7, axis=0)
        y = np.arange(rows, dtype=np.float32)[:, None] - self.top
        band = np.exp(-(((y - bank.centre_y) / bank.spread_px) ** 2))
        # Clouds thin out and flatten near the horizon.
        dense = np.clip((noise + bank.cover - 1 + band * 0.9) * 1.7, 0, 1)
        dense = dense * dense * (3 - 2 * dense) * band
        lit = np.clip(0.5 + (noise - below) * 2.2, 0, 1)[..., None]
        tone = rgb(bank.shade) * (1 - lit) + rgb(bank.lit) * lit
        alpha = (dense * bank.alpha)[..., None]
        picture = np.concatenate([tone * alpha, alpha], axis=-1).astype(np.float32)
        return Canvas.of(picture), bank.drift_px_per_second

    def _paint_headland(self, land: Headland) -> tuple[Canvas, float]:
        margin = 90
        columns = self.width + 2 * margin
        rows = int(land.rise_px * 2.4 + land.base_px) + 4
        ridge = fbm(2, columns, (2, land.cell_px), 6, land.seed, 0.48)[0]
        x = np.linspace(-margin / self.width, 1 + margin / self.width, columns)
        edge = np.clip((x - land.start) / 0.16, 0, 1) * np.clip((land.end - x) / 0.16, 0, 1)
        edge = edge * edge * (3 - 2 * edge)
        top = rows - (land.base_px + (ridge * 0.5 + 0.62) * land.rise_px) * edge
        y = np.arange(rows, dtype=np.float32)[:, None]
        cover = np.clip(y - top[None] + 0.5, 0, 1) * (edge > 0.01)
        depth = np.clip((y - top[None]) / np.maximum(rows - top[None], 1), 0, 1)[..., None]
        tone = rgb(land.tone) * (1 - depth**1.3 * 0.85) + rgb(land.haze) * depth**1.3 * 0.85
        folds = fbm(rows, columns, (max(6, land.rise_px * 0.35), land.cell_px * 0.22), 4, land.seed + 5)
        slope = np.gradient(blur(ridge[None, :, None], 3.0)[0, :, 0])
        side = np.clip(slope * 4, -1, 1)[None, :, None]
        tone = tone * (1 + 0.10 * folds[..., None] - 0.05 * side)
        if land.rim:
            lit = np.clip(1 - (y - top[None]) / 3.0, 0, 1)[..., None] * 0.6
            tone = tone * (1 - lit) + rgb(land.rim) * lit
        rng = np.random.default_rng(land.seed + 9)
        for _ in range(land.houses):
            place = int(
                (land.start + 0.1 + rng.random() * max(0.05, land.end - land.start - 0.2)) * self.width
            )
            column = int(np.clip(place + margin, 2, columns - 6))
            row = int(top[column] + (rows - top[column]) * rng.uniform(0.35, 0.9))
            if 2 < row < rows - 2:
                tone[row - 1 : row + 1, column : column + 2] = rgb(land.house_tone) * land.house_gain
        alpha = cover[..., None].astype(np.float32)
        picture = np.concatenate([tone * alpha, alpha], axis=-1).astype(np.float32)
        return Canvas.of(picture), margin

    def _prepare_waves(self, seed: int) -> None:
        rng = np.random.default_rng(seed)
        rows = self.bottom - self.horizon
        y = np.arange(rows, dtype=np.float32)[:, None] + 0.7
        x = np.arange(self.width, dtype=np.float32)[None] - self.width / 2
        depth_m = self.focal * self.camera_m / y
        across_m = x * depth_m / self.focal
        foot_m = np.maximum(depth_m**2 / (self.focal * self.camera_m), 0.01)
        count = 26
        length = np.geomspace(0.28, 14.0, count) * rng.uniform(0.85, 1.15, count)
        angle = rng.normal(0.35, 0.55, count)
        number = 2 * np.pi / length
        self.kx = (number * np.sin(angle)).astype(np.float32)
        self.kz = (number * np.cos(angle)).astype(np.float32)
        self.omega = np.sqrt(GRAVITY * number)
        self.phase = rng.uniform(0, 2 * np.pi, count)
        steep = 0.020 * self.light.wind * (length / 2.0) ** -0.12
        gust = fbm(rows, self.width, (rows * 0.22, self.width * 0.5), 4, seed + 3)
        gust = np.clip(1 + 0.55 * gust, 0.25, 1.7)
        self.basis = np.empty((2 * count, rows, self.width), np.float32)
        for i in range(count):
            phase = self.kx[i] * across_m + self.kz[i] * depth_m
            wide_m = depth_m / self.focal
            keep = np.exp(-((self.kz[i] * foot_m) ** 2 + (self.kx[i] * wide_m * 2) ** 2) / 4.5) * gust
            self.basis[2 * i] = np.cos(phase) * keep
            self.basis[2 * i + 1] = np.sin(phase) * keep
        self.steep = steep
        self.basis = self.basis.reshape(2 * count, -1)
        self.rows = rows
        self.dip = (y / self.focal).astype(np.float32)
        self.row_px = y
        self.column = np.broadcast_to(np.arange(self.width, dtype=np.float32)[None], (rows, self.width))
        # Where waves are too small to see they still smear what is mirrored.
        seen = np.sqrt(
            (steep[:, None] ** 2 * np.exp(-((abs(self.kz[:, None]) * foot_m[:, 0][None]) ** 2) / 4)).sum(
                axis=0
            )
        )
        self.smear = np.clip(1 - seen / np.sqrt((steep**2).sum()), 0, 1)[:, None].astype(np.float32)
        self.spread_px = float(self.focal * np.sqrt((steep**2).sum()) * 0.55)

    # -- a moment --

    def above(self, seconds: float, camera_x_m: float) -> Canvas:
        """Returns sky and land, with SKY_ABOVE_PX rows over the frame's top."""
        canvas = self.sky.copy()
        painter = canvas.painter()
        for cloud, speed in self.clouds:
            painter.drawImage(QPointF(-60 + speed * seconds - camera_x_m * 0.4, 0), cloud.image)
        for (sprite, margin), land in zip(self.land, self.headlands, strict=True):
            shift = self.focal * camera_x_m / land.distance_m
            painter.drawImage(QPointF(-margin - shift, self.top + self.horizon - sprite.height), sprite.image)
        painter.end()
        return canvas

    def frame(
        self,
        seconds: float,
        camera_x_m: float = 0.0,
        camera_z_m: float = 0.0,
        mirrored: Callable[[QPainter], None] | None = None,
    ) -> Canvas:
        """Returns the view of sky, land and water.

        A boat whose waterline lies n px below the horizon has its mirror image n px below that
        again: `mirrored` paints it 2n px higher than it stands. It is seen only in the water;
        paint the thing itself on the canvas that comes back.

        Args:
            seconds: time since the start of the clip.
            camera_x_m: how far the camera has moved to the right.
            camera_z_m: how far it has moved forward.
            mirrored: called with a painter whose origin is the frame's.
        """
        above = self.above(seconds, camera_x_m)
        canvas = Canvas(self.width, self.height)
        canvas.px[: self.horizon] = above.px[self.top :]
        if mirrored is not None:
            painter = above.painter()
            painter.translate(0, self.top)
            mirrored(painter)
            painter.end()
        canvas.px[self.horizon : self.bottom, :, :3] = self._water(above, seconds, camera_x_m, camera_z_m)
        return canvas

    def _water(self, above: Canvas, seconds: float, x_m: float, z_m: float) -> Array:
        turn = self.phase + self.kx * x_m + self.kz * z_m + self.omega * seconds
        count = len(turn)
        weights = np.zeros((2, 2 * count), np.float32)
        for row, part in enumerate((self.kx, self.kz)):
            size = self.steep * part / np.hypot(self.kx, self.kz)
            weights[row, 0::2] = size * np.cos(turn)
            weights[row, 1::2] = -size * np.sin(turn)
        slope_x, slope_z = (weights @ self.basis).reshape(2, self.rows, self.width)
        source = above.px[..., :3]
        height = above.height
        rise = np.abs(self.row_px + 2 * self.focal * slope_z)
        row = np.clip(height - 1 - rise, 0, height - 1).astype(np.int32)
        aside = self.column + 2 * self.focal * slope_x * (self.dip * 1.2 + 0.035)
        column = np.clip(aside, 0, self.width - 1).astype(np.int32)
        mirror = source.reshape(-1, 3)[(row * self.width + column).ravel()]
        mirror = mirror.reshape(self.rows, self.width, 3)
        # The smeared mirror: a quarter size copy, blurred up and down.
        step = 4
        cut = height - height % step
        small = source[height - cut :].reshape(cut // step, step, self.width // step, step, 3)
        small = small.mean(axis=(1, 3))
        rows = small.shape[0]
        index = np.arange(rows, dtype=np.float32)
        flipped = np.concatenate([small, small[::-1]])
        wide = np.arange(2 * rows, dtype=np.float32)
        matrix = np.exp(
            -((wide[None] - (rows + index[: self.rows // step + 1, None])) ** 2)
            / (2 * max(1.0, self.spread_px / step) ** 2)
        )
        matrix /= matrix.sum(axis=1, keepdims=True)
        soft = np.tensordot(matrix.astype(np.float32), flipped, axes=(1, 0))
        soft = stretch(soft, self.rows, self.width)
        smear = self.smear[..., None] * 0.85
        mirror = mirror * (1 - smear) + soft * smear
        gleam = np.clip(1 - np.clip(self.dip - slope_z * 1.3 + 0.02, 0, 1), 0, 1) ** 5
        gleam = gleam[..., None]
        return mirror * gleam * 0.96 + rgb(self.light.deep) * (1 - gleam)


# --- times of day ---------------------------------------------------------------------


def dawn() -> Light:
    """Before sunrise: slate to peach, mist on the water."""
    return Light(
        stops=((0, "#55748c"), (0.35, "#86a0a8"), (0.62, "#bfc0ae"), (0.82, "#ecc9a0"), (1, "#f7d8ae")),
        deep="#2e4a55",
        disc=Disc(690, 232, 13, "#ffd9a0", 2.2, 0.42, 95),
        clouds=(
            Clouds(85, 70, (46, 330), "#e9c7a8", "#6f8794", 0.66, 0.75, 5, 1.6),
            Clouds(178, 34, (17, 260), "#ffdcae", "#a9a59c", 0.62, 0.8, 8, 1.0),
        ),
        wind=0.75,
    )


def day() -> Light:
    """Hazy warm noon."""
    return Light(
        stops=((0, "#8fb0bb"), (0.45, "#bccbc4"), (0.8, "#e3dcc2"), (1, "#efe3c6")),
        deep="#476a70",
        disc=None,
        clouds=(
            Clouds(70, 95, (95, 330), "#fbf3df", "#b9bdb6", 0.74, 0.9, 21, 3.0),
            Clouds(182, 30, (22, 210), "#fdf5e2", "#cfcdbf", 0.66, 0.8, 23, 1.6),
        ),
        wind=1.0,
    )


def dusk() -> Light:
    """After sunset: indigo to rose."""
    return Light(
        stops=((0, "#2c3a5e"), (0.4, "#5a5f86"), (0.68, "#a77f92"), (0.87, "#e2977f"), (1, "#f3b083")),
        deep="#1d2942",
        disc=Disc(250, 262, 20, "#ffb078", 1.25, 0.35, 120),
        clouds=(
            Clouds(92, 62, (40, 360), "#e09a8c", "#4a5076", 0.68, 0.85, 31, 1.4),
            Clouds(176, 28, (15, 300), "#ffb98c", "#80698a", 0.62, 0.85, 33, 0.9),
        ),
        wind=0.8,
    )


def night() -> Light:
    """Moonlit, clear between thin clouds."""
    return Light(
        stops=((0, "#0c1626"), (0.45, "#152740"), (0.8, "#263f58"), (1, "#38546a")),
        deep="#0a1522",
        disc=Disc(770, 84, 19, "#e8eef2", 1.15, 0.20, 70),
        clouds=(Clouds(165, 60, (34, 330), "#6f8598", "#1c2d42", 0.64, 0.5, 41, 1.8),),
        stars=1.0,
        wind=0.7,
    )


def morning() -> Light:
    """Clear and a little too clean."""
    return Light(
        stops=((0, "#6fa0b6"), (0.4, "#a5c6cb"), (0.75, "#dfe3d2"), (1, "#fdeccb")),
        deep="#2f5a68",
        disc=Disc(300, 150, 15, "#fff0cf", 2.6, 0.45, 110),
        clouds=(Clouds(195, 24, (14, 320), "#fff3dc", "#c2cdc9", 0.58, 0.6, 52, 1.0),),
        wind=0.7,
    )


def coast(haze: str, tone: str, *, rim: str = "", lamps: int = 0, gain: float = 1.2) -> tuple[Headland, ...]:
    """Returns three headlands that stand behind each other, paler with distance."""
    return (
        Headland(5200, 10, 44, 300, mix(tone, haze, 0.72), mix(tone, haze, 0.9), 3),
        Headland(
            2300,
            5,
            62,
            420,
            mix(tone, haze, 0.45),
            mix(tone, haze, 0.72),
            12,
            0.42,
            1.6,
            rim,
            lamps,
            house_gain=gain,
        ),
        Headland(
            900,
            3,
            50,
            300,
            mix(tone, haze, 0.12),
            mix(tone, haze, 0.42),
            27,
            -0.7,
            0.30,
            rim,
            lamps // 2,
            house_gain=gain,
        ),
    )
