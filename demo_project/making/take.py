"""What every shot is given, and the ways a camera moves."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from PySide6.QtCore import QPointF
from PySide6.QtGui import QPainter

from making.paint import Canvas, mix, stretch
from making.sea import Headland, Light, Seascape
from making.things import Ambience

Shot = Callable[[float], Canvas]


@dataclass(frozen=True, slots=True)
class Take:
    """One clip to be drawn.

    Attributes:
        width, height: size of the finished picture in px.
        seconds: its duration.
        spans: who speaks from when to when (seconds).
    """

    width: int
    height: int
    seconds: float
    spans: tuple[tuple[str, float, float], ...] = ()

    def mouth(self, who: str, seconds: float) -> float:
        """Returns how far somebody's mouth is open, 0 to 1."""
        for name, start, end in self.spans:
            if name == who and start <= seconds <= end:
                edge = min(1.0, (seconds - start) / 0.08, (end - seconds) / 0.1)
                wave = 0.5 + 0.32 * math.sin(seconds * 27) + 0.22 * math.sin(seconds * 41.3 + 1)
                return max(0.0, min(1.0, wave)) * max(0.0, edge)
        return 0.0


def blend(first: Ambience, second: Ambience, amount: float) -> Ambience:
    """Returns the light between two."""
    return replace(
        first,
        tint=mix(first.tint, second.tint, amount),
        gain=first.gain * (1 - amount) + second.gain * amount,
        rim=mix(first.rim, second.rim, amount),
        towards=(
            first.towards[0] * (1 - amount) + second.towards[0] * amount,
            first.towards[1] * (1 - amount) + second.towards[1] * amount,
        ),
        edge_alpha=first.edge_alpha * (1 - amount) + second.edge_alpha * amount,
    )


def hand_held(view: Canvas, take: Take, seconds: float, seed: float, *, tilt: float = 0.5) -> Canvas:
    """Returns the middle of a larger view, moved as a hand moves a phone."""
    out = Canvas(take.width, take.height)
    room_x = (view.width - take.width) / 2
    room_y = (view.height - take.height) / 2
    sway_x = (
        0.55 * math.sin(seconds * 1.3 + seed)
        + 0.27 * math.sin(seconds * 2.9 + seed * 2)
        + 0.10 * math.sin(seconds * 6.1)
    )
    sway_y = (
        0.50 * math.sin(seconds * 1.7 + seed * 3)
        + 0.26 * math.sin(seconds * 3.4 + seed)
        + 0.10 * math.sin(seconds * 5.3)
    )
    painter = out.painter()
    painter.translate(take.width / 2 + sway_x * room_x * 0.7, take.height / 2 + sway_y * room_y * 0.7)
    painter.rotate(tilt * math.sin(seconds * 1.1 + seed))
    painter.scale(1.012, 1.012)
    painter.drawImage(QPointF(-view.width / 2, -view.height / 2), view.image)
    painter.end()
    return out


class SoftSea:
    """A seascape out of focus: drawn at a quarter of the size and stretched."""

    def __init__(
        self,
        width: int,
        height: int,
        horizon_y: int,
        light: Light,
        land: tuple[Headland, ...],
        *,
        step: int = 4,
        **more: float,
    ) -> None:
        self.size = (width, height)
        small = replace(
            light,
            disc=None
            if light.disc is None
            else replace(
                light.disc,
                x=light.disc.x / step,
                y=light.disc.y / step,
                radius_px=light.disc.radius_px / step,
                halo_px=light.disc.halo_px / step,
            ),
            clouds=tuple(
                replace(
                    c,
                    centre_y=c.centre_y / step,
                    spread_px=c.spread_px / step,
                    cell=(c.cell[0] / step, c.cell[1] / step),
                    drift_px_per_second=c.drift_px_per_second / step,
                )
                for c in light.clouds
            ),
            stars=0.0,
        )
        near = tuple(
            replace(h, base_px=h.base_px / step, rise_px=h.rise_px / step, cell_px=h.cell_px / step, houses=0)
            for h in land
        )
        columns = -(-width // step // 4) * 4
        rows = -(-height // step // 4) * 4
        self.sea = Seascape(
            columns,
            rows,
            horizon_y // step,
            small,
            near,
            focal_px=1100 / step,
            camera_m=more.get("camera_m", 5.0),
        )

    def frame(self, seconds: float, camera_x_m: float = 0.0) -> Canvas:
        """Returns the view at full size."""
        view = self.sea.frame(seconds, camera_x_m)
        return Canvas.of(stretch(view.px[..., :3], self.size[1], self.size[0]))


def still(
    width: int, height: int, paint: Callable[[QPainter], None], *, clear: bool = False, soft_px: float = 0.0
) -> Canvas:
    """Returns a layer that is painted once."""
    canvas = Canvas(width, height, clear=clear)
    painter = canvas.painter()
    paint(painter)
    painter.end()
    return canvas.soften(soft_px) if soft_px else canvas
