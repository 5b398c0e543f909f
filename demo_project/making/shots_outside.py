"""The shots under the open sky."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QPainter, QPen

from making import people, sea, things
from making.paint import (
    Canvas,
    Point,
    colour,
    fbm,
    flowing,
    glow,
    linear,
    rgb,
    shade,
    smooth,
    straight,
    vertical,
)
from making.people import ILSE, MAREN, PASSENGER, bust, figure
from making.take import Shot, SoftSea, Take, blend, hand_held, still
from making.things import DAWN, DAY, DUSK, LAMP, MORNING, NIGHT, Ambience, Kiosk

INSIDE = Ambience("#ffd3a0", 0.86, "#ffe2b4", (0.5, -0.8), 1.0)


def coast(name: str) -> tuple[sea.Headland, ...]:
    """Returns the island's headlands in the light of a time of day."""
    haze, tone, rim, lamps, gain = {
        "dawn": ("#e6c8a4", "#44606a", "#f0c79a", 4, 1.1),
        "day": ("#dfd8c0", "#5d7168", "", 0, 1.0),
        "dusk": ("#c98f8a", "#2e3352", "#d98a78", 10, 1.3),
        "night": ("#2b445a", "#0d1824", "", 12, 1.3),
        "morning": ("#e6e2cc", "#4f7474", "#fff0d0", 0, 1.0),
    }[name]
    return sea.coast(haze, tone, rim=rim, lamps=lamps, gain=gain)


def _shadow(painter: QPainter, x: float, y: float, width: float, height: float, strength: float) -> None:
    shade(painter, x, y, width * 1.5, height * 1.6, strength)


def _edge_water(
    painter: QPainter,
    start: Point,
    end: Point,
    seconds: float,
    tone: str,
    alpha: float,
    *,
    rows: int = 3,
    reach: float = 7.0,
) -> None:
    """Draws the thin moving lines of water along stone."""
    for row in range(rows):
        points = []
        for i in range(25):
            part = i / 24
            x = start[0] + (end[0] - start[0]) * part
            y = start[1] + (end[1] - start[1]) * part
            move = math.sin(seconds * 1.5 + part * 9 + row) + 0.6 * math.sin(
                seconds * 2.3 - part * 17 + row * 2
            )
            points.append((x, y - 2 - row * 4.5 + move * reach * 0.28))
        pen = QPen(QBrush(colour(tone, alpha / (1 + row * 0.9))), 2.4 - row * 0.5)
        pen.setCapStyle(Qt.PenCapStyle.RoundCap)
        painter.strokePath(flowing(points, closed=False), pen)


# --- the quay with the kiosk ---------------------------------------------------------


class Quay:
    """A stone quay across the foot of the frame."""

    def __init__(self, width: int, height: int, edge_y: float, amb: Ambience, tone: str = "#8d8a80") -> None:
        self.width, self.height, self.edge, self.amb = width, height, edge_y, amb
        self.stone = things.stones(width + 160, height - int(edge_y) + 60, tone, amb, seed=8)

    def draw(self, painter: QPainter, shift: float = 0.0) -> None:
        """Draws it, moved to the left by shift px."""
        amb, edge = self.amb, self.edge
        ground = straight(
            [
                (-80, edge),
                (self.width + 80, edge),
                (self.width + 80, self.height + 20),
                (-80, self.height + 20),
            ]
        )
        things.fill_with(painter, ground, self.stone, (-80 - shift, edge - 10))
        painter.fillRect(QRectF(-80, edge, self.width + 160, 2.2), amb("#d8d4c4", 0.95))
        painter.fillRect(QRectF(-80, edge - 7, self.width + 160, 7), amb("#4a4c4a", 0.8))
        # Slabs in perspective.
        painter.setPen(QPen(QBrush(colour("#101418", 0.20)), 1.3))
        middle = self.width / 2
        for i in range(-14, 15):
            x = middle + i * 92 - shift
            painter.drawLine(QPointF(x, edge + 2), QPointF(middle + (x - middle) * 2.1, self.height + 10))
        for k in (0.24, 0.62):
            y = edge + (self.height - edge) * k
            painter.drawLine(QPointF(-80, y), QPointF(self.width + 80, y))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.fillRect(
            QRectF(-80, edge, self.width + 160, self.height - edge),
            vertical(
                edge,
                self.height,
                (0, colour("#ffffff", 0.05)),
                (0.4, colour("#000000", 0.0)),
                (1, colour("#000000", 0.30)),
            ),
        )


def kiosk_dawn_wide(take: Take) -> Shot:
    """The kiosk at dawn; the shutter rolls up and light falls on the stones."""
    width, height = take.width, take.height
    view = sea.Seascape(width, height, 246, sea.dawn(), coast("dawn"), camera_m=4.2, shore_y=440)
    quay = Quay(width, height, 428, DAWN)
    kiosk = Kiosk(DAWN)

    def frame(seconds: float) -> Canvas:
        move = 0.10 * seconds
        shift = 1100 * move / 16
        boat_x = 905 - seconds * 5
        glow_in = smooth(seconds, 0.9, 3.4)

        def boat(painter: QPainter, lift: float) -> None:
            things.ferry(
                painter,
                boat_x - 1100 * move / 420,
                258 - lift,
                92,
                DAWN,
                facing=-1,
                windows=1.15,
                haze="#d9bf9f",
                haze_amount=0.22,
            )

        canvas = view.frame(seconds, move, mirrored=lambda p: boat(p, 24))
        painter = canvas.painter()
        boat(painter, 0)
        for k in range(5):
            things.far_gull(
                painter,
                560 + k * 34 + seconds * 9,
                112 + (k * 29) % 46 + 5 * math.sin(seconds + k),
                7 + k % 3,
                seconds * 1.1 + k * 0.27,
                DAWN("#40525a", 0.9, 0.8),
            )
        _edge_water(painter, (-20, 424), (width + 20, 424), seconds, "#f2d9b4", 0.16)
        quay.draw(painter, shift)
        things.lamp_post(
            painter, 846 - shift, 452, 226, DAWN, 0.75 * things.flicker(seconds), facing=-1, reach=0.8
        )
        for x in (640, 948):
            things.bollard(painter, x - shift, 452, 30, DAWN)
        _shadow(painter, 286 - shift, 476, 150, 7, 0.5)

        def within(inner: QPainter) -> None:
            reach = smooth(seconds, 0.8, 3.2)
            bust(
                inner,
                MAREN,
                -30,
                -104 - 3 * reach,
                25,
                blend(DAWN, INSIDE, 0.35 + 0.65 * glow_in),
                facing=1,
                seconds=seconds,
                rim_px=1.0,
                lids=1.0,
                nod=5,
            )

        kiosk.draw(
            painter,
            290 - shift,
            478,
            1.18,
            shutter=smooth(seconds, 0.9, 3.5),
            lamp=things.flicker(seconds),
            inside=within,
        )
        glow(painter, (262 - shift, 500), 210, LAMP, 0.34 * glow_in, squash=0.22)
        glow(painter, (262 - shift, 400), 200, LAMP, 0.12 * glow_in)
        walk = min(seconds, 4.4)
        x = 742 - walk * 40 - shift
        _shadow(painter, x, 503, 26, 3.4, 0.4)
        figure(
            painter,
            ILSE,
            x,
            503,
            152,
            DAWN,
            facing=-1,
            step=seconds * 0.82 if seconds < 4.4 else None,
            seconds=seconds,
            near_hand=(0.06, -0.50),
            far_hand=(-0.04, -0.50),
        )
        painter.end()
        return canvas

    return frame


def kiosk_morning_wide(take: Take) -> Shot:
    """Next Tuesday: the kiosk in clean light, nobody on the quay, the ferry leaves."""
    width, height = take.width, take.height
    view = sea.Seascape(width, height, 246, sea.morning(), coast("morning"), camera_m=4.2, shore_y=440)
    quay = Quay(width, height, 428, MORNING)
    kiosk = Kiosk(MORNING)

    def frame(seconds: float) -> Canvas:
        move = 0.34 - 0.07 * seconds
        shift = 1100 * move / 16

        def boat(painter: QPainter, lift: float) -> None:
            things.ferry(
                painter,
                640 + seconds * 13,
                262 - lift,
                150,
                MORNING,
                facing=1,
                haze="#f0e6cc",
                haze_amount=0.16,
            )

        canvas = view.frame(seconds, move, mirrored=lambda p: boat(p, 32))
        painter = canvas.painter()
        things.wake(painter, 640 + seconds * 13, 262, 150, 1, "#ffffff", 0.55)
        boat(painter, 0)
        _edge_water(painter, (-20, 424), (width + 20, 424), seconds, "#fff6de", 0.22)
        quay.draw(painter, shift)
        # Long shadows, away from the low sun.
        for x, wide, long in ((290, 170, 0.5), (846, 5, 0.9)):
            painter.fillPath(
                straight(
                    [
                        (x - wide - shift, 478),
                        (x + wide - shift, 478),
                        (x + wide * 1.2 + 260 * long - shift, 545),
                        (x - wide * 0.6 + 260 * long - shift, 545),
                    ]
                ),
                vertical(476, 545, (0, colour("#12303a", 0.42)), (1, colour("#12303a", 0.10))),
            )
        things.lamp_post(painter, 846 - shift, 452, 226, MORNING, 0.0, facing=-1)
        for x in (640, 948):
            things.bollard(painter, x - shift, 452, 30, MORNING)

        def within(inner: QPainter) -> None:
            bust(
                inner, MAREN, -48, -104, 25, replace(MORNING, gain=0.6), facing=1, seconds=seconds, rim_px=1.0
            )
            bust(
                inner,
                ILSE,
                26,
                -106,
                25,
                replace(MORNING, gain=0.6),
                facing=-1,
                seconds=seconds + 1,
                rim_px=1.0,
            )

        kiosk.draw(painter, 290 - shift, 478, 1.18, shutter=1.0, lamp=0.16, inside=within)
        things.far_gull(
            painter,
            470 + seconds * 16,
            150 + 6 * math.sin(seconds),
            12,
            seconds * 1.2,
            MORNING("#e9eeee", 1, 0.9),
        )
        things.far_gull(
            painter,
            520 + seconds * 15,
            172 + 5 * math.sin(seconds + 1),
            9,
            seconds * 1.25 + 0.3,
            MORNING("#e9eeee", 1, 0.9),
        )
        painter.end()
        return canvas

    return frame


# --- the slipway ---------------------------------------------------------------------


class Slipway:
    """The concrete slope that runs from the lower left into the water."""

    LINE: tuple[Point, ...] = (
        (-40, 392),
        (300, 362),
        (566, 352),
        (700, 360),
        (742, 392),
        (700, 460),
        (600, 570),
        (-40, 570),
    )

    def __init__(self, width: int, height: int, amb: Ambience, tone: str = "#a9a08c") -> None:
        self.amb = amb
        self.stone = things.stones(width + 120, 240, tone, amb, seed=14)
        self.path = flowing(self.LINE, tight=0.34)

    def draw(self, painter: QPainter, seconds: float, foam: str, shift: float = 0.0) -> None:
        """Draws it with the water's edge."""
        amb = self.amb
        painter.save()
        painter.translate(-shift, 0)
        wash = 5 * math.sin(seconds * 1.15)
        # Shade in the water before it.
        painter.fillPath(self.path.translated(10, 9), colour("#0a1a20", 0.30))
        things.fill_with(painter, self.path, self.stone, (-60, 345))
        painter.save()
        painter.setClipPath(self.path)
        # Wet stone and weed towards the water.
        painter.fillRect(
            QRectF(420, 340, 360, 240),
            linear(
                (470, 420),
                (730, 400),
                (0, colour("#182a26", 0.0)),
                (0.55, colour("#182a26", 0.38)),
                (1, colour("#12241c", 0.72)),
            ),
        )
        rng = np.random.default_rng(4)
        for _ in range(110):
            x, y = rng.uniform(520, 740), rng.uniform(352, 560)
            if x < 520 + (y - 352) * 0.2:
                continue
            painter.setBrush(
                amb(
                    "#3c5a36" if rng.random() < 0.6 else "#4a4a2a",
                    0.9,
                    0.22 + 0.3 * max(0.0, (x - 560) / 180),
                )
            )
            painter.drawEllipse(QPointF(x, y), rng.uniform(3, 9), rng.uniform(0.9, 2.0))
        # Grooves across and a kerb along the far side.
        painter.setPen(QPen(QBrush(colour("#141a1c", 0.20)), 1.6))
        for i in range(13):
            x = -20 + i * 62
            painter.drawLine(QPointF(x, 352), QPointF(x - 130 + i * 4, 570))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.fillRect(
            QRectF(-60, 345, 860, 230),
            vertical(
                350,
                560,
                (0, colour("#ffffff", 0.10)),
                (0.3, colour("#000000", 0)),
                (1, colour("#000000", 0.32)),
            ),
        )
        painter.restore()
        kerb = flowing(
            [(-40, 386), (300, 356), (566, 346), (640, 350), (566, 352), (300, 362), (-40, 394)], tight=0.3
        )
        painter.fillPath(kerb, amb("#c2baa4", 0.95))
        # The wash, running up and back.
        edge = [
            (566, 352),
            (690 - wash * 0.4, 357),
            (736 - wash, 390),
            (694 - wash * 1.3, 458),
            (596 - wash * 1.5, 572),
        ]
        for k, (width, alpha) in enumerate(((9, 0.12), (4.5, 0.26), (1.7, 0.62))):
            moved = [
                (x + 3 * math.sin(seconds * 2.1 + i * 1.7 + k) - k * 1.5, y) for i, (x, y) in enumerate(edge)
            ]
            pen = QPen(QBrush(colour(foam, alpha)), width)
            pen.setCapStyle(Qt.PenCapStyle.RoundCap)
            painter.strokePath(flowing(moved, closed=False), pen)
        back = [(x + 16 + 4 * math.sin(seconds * 1.4 + i), y + 3) for i, (x, y) in enumerate(edge)]
        painter.strokePath(flowing(back, closed=False), QPen(QBrush(colour(foam, 0.22)), 1.6))
        painter.restore()


def _quay_block(
    painter: QPainter, kiosk: Kiosk, amb: Ambience, shift: float, *, lamp: float = 0.0, shutter: float = 1.0
) -> None:
    """Draws the end of the quay with the kiosk on it, behind the slipway."""
    block = straight([(-60, 332), (236, 332), (252, 338), (256, 372), (-60, 396)])
    painter.save()
    painter.translate(-shift * 0.8, 0)
    painter.fillPath(block, vertical(332, 396, (0, amb("#8b8678")), (1, amb("#4a4a44"))))
    painter.fillPath(straight([(-60, 330), (238, 330), (252, 338), (-60, 340)]), amb("#b5ae9a"))
    for i in range(7):
        painter.fillRect(QRectF(-20 + i * 42, 342, 1.4, 44), colour("#101414", 0.25))
    painter.fillRect(QRectF(-60, 358, 320, 1.4), colour("#101414", 0.2))
    kiosk.draw(painter, 118, 334, 0.50, shutter=shutter, lamp=lamp)
    things.bollard(painter, 224, 334, 13, amb)
    painter.restore()


def slipway_day_wide(take: Take) -> Shot:
    """The passenger comes up the slipway to Ilse; the ferry waits."""
    width, height = take.width, take.height
    view = sea.Seascape(width, height, 222, sea.day(), coast("day"), camera_m=4.6)
    slip, kiosk = Slipway(width, height, DAY), Kiosk(DAY)

    def frame(seconds: float) -> Canvas:
        move = 0.06 * seconds
        shift = 1100 * move / 26
        bob = 0.8 * math.sin(seconds * 1.2)

        def boat(painter: QPainter, lift: float) -> None:
            things.ferry(
                painter,
                800 - shift * 0.35,
                262 + bob - lift,
                300,
                DAY,
                facing=-1,
                haze="#e9e0c8",
                haze_amount=0.14,
                roll=0.4 * math.sin(seconds * 0.9),
            )

        canvas = view.frame(seconds, move, mirrored=lambda p: boat(p, 80))
        painter = canvas.painter()
        boat(painter, 0)
        painter.fillRect(QRectF(640, 262, 320, 2), colour("#ffffff", 0.22))
        _quay_block(painter, kiosk, DAY, shift)
        slip.draw(painter, seconds, "#fbf6e6", shift)
        for k in range(4):
            things.far_gull(
                painter,
                420 + k * 60 + seconds * 14,
                88 + (k * 37) % 60 + 6 * math.sin(seconds * 0.9 + k),
                8 + 2 * (k % 3),
                seconds * 1.2 + k * 0.31,
                DAY("#5d6a6c", 1, 0.85),
            )
        _shadow(painter, 312 - shift, 456, 40, 5, 0.30)
        figure(
            painter,
            ILSE,
            300 - shift,
            456,
            176,
            DAY,
            facing=1,
            seconds=seconds,
            near_hand=(0.09, -0.52),
            far_hand=(0.05, -0.53),
            wind=0.3,
        )
        walk = min(seconds, 3.9)
        x = 596 - walk * 44 - shift
        y = 420 + walk * 7.5
        _shadow(painter, x + 12, y, 38, 5, 0.30)
        holds = smooth(seconds, 3.6, 4.6)
        figure(
            painter,
            PASSENGER,
            x,
            y,
            172 + walk * 4,
            DAY,
            facing=-1,
            step=seconds * 0.8 if seconds < 3.9 else None,
            seconds=seconds,
            near_hand=(0.02, -0.44),
            far_hand=(0.02 + 0.20 * holds, -0.46 - 0.14 * holds),
            wind=0.5,
            case=True,
        )
        painter.end()
        return canvas

    return frame


def slipway_day_two(take: Take) -> Shot:
    """Ilse and the passenger, close; a ticket between them."""
    width, height = take.width, take.height
    land = coast("day")
    view = SoftSea(width, height, 250, sea.day(), land)
    boat = still(
        width,
        height,
        lambda p: things.ferry(p, 524, 282, 330, DAY, facing=-1, haze="#e4dfcc", haze_amount=0.42),
        clear=True,
        soft_px=3.0,
    )

    def frame(seconds: float) -> Canvas:
        canvas = view.frame(seconds, 0.05 * seconds)
        painter = canvas.painter()
        drift = -6 + seconds * 2.4
        # The ferry behind them, out of focus.
        painter.drawImage(QPointF(-drift * 0.4, 0), boat.image)
        mouth_i, mouth_p = take.mouth("ILSE", seconds), take.mouth("PASSENGER", seconds)
        offer = smooth(seconds, 0.1, 1.1)
        hand_x = 560 - 44 * offer + drift * 0.5
        hand_y = 432 - 30 * offer
        bust(
            painter,
            PASSENGER,
            742 + drift,
            196,
            182,
            DAY,
            facing=-1,
            seconds=seconds,
            mouth=mouth_p,
            nod=2 + 2 * math.sin(seconds * 0.9),
            wind=0.4,
        )
        # His arm with the ticket.
        pen = QPen(
            linear(
                (hand_x + 150, hand_y + 160),
                (hand_x + 210, hand_y + 80),
                (0, DAY(PASSENGER.coat_dark)),
                (1, DAY(PASSENGER.coat, 0.98)),
            ),
            84,
        )
        pen.setCapStyle(Qt.PenCapStyle.RoundCap)
        painter.strokePath(
            flowing(
                [(hand_x + 106, hand_y + 96), (hand_x + 190, hand_y + 162), (hand_x + 300, hand_y + 250)],
                closed=False,
            ),
            pen,
        )
        painter.save()
        painter.translate(hand_x + 8, hand_y)
        painter.scale(0.36, 0.36)
        people.holding_hand(painter, PASSENGER, DAY, front=False)
        painter.save()
        painter.translate(-152, -26)
        painter.rotate(-9 + 2 * math.sin(seconds * 1.6))
        things.ticket(painter, DAY)
        painter.restore()
        people.holding_hand(painter, PASSENGER, DAY, front=True)
        painter.restore()
        look = smooth(seconds, 0.8, 1.5) - smooth(seconds, 2.2, 2.8)
        bust(
            painter,
            ILSE,
            268 + drift * 1.3,
            218,
            186,
            DAY,
            facing=1,
            seconds=seconds + 2,
            mouth=mouth_i,
            nod=7 * look,
            lids=1.0 if look > 0.5 else 0.0,
            wind=0.4,
        )
        painter.end()
        return canvas

    return frame


def gulls_slow(take: Take) -> Shot:
    """Gulls over the slipway, 100 frames a second."""
    width, height = take.width, take.height
    view = sea.Seascape(width, height, 420, sea.day(), sea.coast("#dfd8c0", "#5d7168"), camera_m=8)
    flock = (
        (250, 250, 250, 0.0, 1, 90, -4),
        (560, 190, 170, 0.37, 1, 62, 3),
        (770, 320, 210, 0.66, 1, 74, -2),
        (130, 120, 80, 0.2, 1, 34, 2),
        (860, 90, 64, 0.8, 1, 28, 0),
    )

    def frame(seconds: float) -> Canvas:
        canvas = view.frame(seconds, 0.3 * seconds)
        painter = canvas.painter()
        for x, y, span, phase, facing, speed, bank in flock:
            rate = 2.3 if span > 150 else 2.6
            beat = seconds * rate + phase
            rise = -7 * math.sin(2 * math.pi * beat - 0.9) * span / 200
            things.gull(
                painter,
                x + (seconds - 0.9) * speed,
                y + rise,
                span,
                beat,
                DAY,
                facing=facing,
                bank=bank + 2 * math.sin(seconds * 2 + phase * 6),
            )
        painter.end()
        return canvas

    return frame


def _sisters_dusk(
    painter: QPainter, take: Take, amb: Ambience, seconds: float, *, wave: float, shift: float
) -> None:
    _shadow(painter, 302 - shift, 486, 34, 4, 0.45)
    figure(
        painter,
        MAREN,
        294 - shift,
        486,
        232,
        amb,
        facing=1,
        seconds=seconds,
        wind=0.8,
        near_hand=(0.075, -0.53),
        far_hand=(0.05, -0.54),
        rim_px=1.9,
    )
    lift = wave * (0.5 + 0.5 * math.sin(seconds * 5.2))
    near = (0.07 + 0.10 * wave + 0.03 * lift, -0.50 - 0.42 * wave - 0.02 * lift)
    _shadow(painter, 416 - shift, 474, 34, 4, 0.45)
    figure(
        painter,
        ILSE,
        410 - shift,
        474,
        222,
        amb,
        facing=1,
        seconds=seconds + 1,
        wind=0.4,
        near_hand=near,
        far_hand=(0.03, -0.50),
        rim_px=1.9,
    )


def _dusk_crossing(take: Take, *, late: float) -> Shot:
    width, height = take.width, take.height
    light = sea.dusk()
    amb = replace(DUSK, gain=DUSK.gain * (1 - 0.16 * late))
    view = sea.Seascape(width, height, 236, light, coast("dusk"), camera_m=4.6, seed=1 + int(late))
    slip, kiosk = Slipway(width, height, amb, "#8f8a86"), Kiosk(amb)
    veil = np.array([0.60, 0.66, 0.80], np.float32)

    def frame(seconds: float) -> Canvas:
        move = 0.05 * seconds
        shift = 1100 * move / 26
        boat_x = 560 + seconds * 30

        def boat(painter: QPainter, lift: float) -> None:
            things.ferry(
                painter,
                boat_x,
                264 - lift,
                236,
                amb,
                facing=1,
                windows=1.15 + 0.3 * late,
                haze="#b0848e",
                haze_amount=0.10,
                roll=0.5 * math.sin(seconds * 0.8),
            )

        canvas = view.frame(seconds + 14 * late, move, mirrored=lambda p: boat(p, 56))
        painter = canvas.painter()
        if late:
            canvas.px[..., :3] *= veil
        things.wake(painter, boat_x, 264, 236, 1, "#ffd9c4", 0.42)
        boat(painter, 0)
        _quay_block(painter, kiosk, amb, shift, lamp=0.85 * things.flicker(seconds))
        glow(painter, (108 - shift, 300), 90, LAMP, 0.30)
        slip.draw(painter, seconds, "#f0b9a4", shift)
        wave = 0.0 if late else smooth(seconds, 1.6, 2.2) * (1 - smooth(seconds, 4.0, 4.6))
        _sisters_dusk(painter, take, amb, seconds, wave=wave, shift=shift * 1.3)
        painter.end()
        return canvas

    return frame


def slipway_dusk_first(take: Take) -> Shot:
    """The ferry leaves; Ilse waves."""
    return _dusk_crossing(take, late=0.0)


def slipway_dusk_second(take: Take) -> Shot:
    """A little darker: the same ferry leaves again; nobody waves."""
    return _dusk_crossing(take, late=1.0)


def lapping_dusk(take: Take) -> Shot:
    """Water runs up the stone, 100 frames a second."""
    width, height = take.width, take.height
    light = replace(sea.dusk(), wind=1.5)
    view = sea.Seascape(width, height, 96, light, (), camera_m=1.5, focal_px=900, seed=9)
    stone = things.stones(width, height, "#b3a59a", DUSK, seed=21)
    wet = stone.copy()
    wet.px[..., :3] *= 0.55
    wet.px[..., :3] += rgb("#c98a86") * 0.10
    painter = stone.painter()
    for i in range(-4, 16):
        painter.setPen(QPen(QBrush(colour("#120e18", 0.34)), 3.0))
        painter.drawLine(QPointF(i * 92, 540), QPointF(i * 70 + 260, 240))
    painter.setPen(Qt.PenStyle.NoPen)
    glow(painter, (860, 300), 620, "#ff9c74", 0.34, squash=0.6)
    painter.end()
    ragged = fbm(4, 240, (4, 34), 5, 3)[1]

    def frame(seconds: float) -> Canvas:
        canvas = view.frame(seconds, 0.0)
        painter = canvas.painter()
        run = 44 * math.sin(seconds * 1.9 - 0.7)

        def line(offset: float, wobble: float) -> list[Point]:
            points = []
            for i in range(41):
                part = i / 40
                k = int((part * 150 + seconds * 7) % 239)
                y = (
                    432
                    - part * 104
                    - offset
                    + ragged[k] * 15 * wobble
                    + 6 * math.sin(part * 7 + seconds * 2.2) * wobble
                )
                points.append((-12 + part * (width + 24), y))
            return points

        dry = line(-62, 0.7)
        damp = line(-run + 4, 1.0)
        below = [(width + 12, height + 12), (-12, height + 12)]
        # Wet stone where the water has been, dry stone below it, the film of water on top.
        painter.save()
        shore = flowing(damp, closed=False)
        shore.lineTo(*below[0])
        shore.lineTo(*below[1])
        shore.closeSubpath()
        painter.setClipPath(shore)
        painter.drawImage(0, 0, wet.image)
        painter.fillRect(
            QRectF(0, 240, width, 300),
            vertical(250, 470, (0, colour("#f3a98a", 0.34)), (1, colour("#3a3050", 0.05))),
        )
        painter.restore()
        painter.save()
        dry_path = flowing(dry, closed=False)
        dry_path.lineTo(*below[0])
        dry_path.lineTo(*below[1])
        dry_path.closeSubpath()
        painter.setClipPath(dry_path)
        painter.drawImage(0, 0, stone.image)
        painter.restore()
        painter.strokePath(flowing(dry, closed=False), QPen(QBrush(colour("#1a1426", 0.35)), 5))
        shade = [(x, y + 7) for x, y in damp]
        painter.strokePath(flowing(shade, closed=False), QPen(QBrush(colour("#140f20", 0.30)), 9))
        # Shallow water: the stone shows through it.
        for width_px, alpha in ((96, 0.10), (70, 0.11), (48, 0.13), (30, 0.15), (16, 0.15)):
            painter.save()
            painter.setClipRect(QRectF(0, 96, width, height))
            wide = QPen(QBrush(colour("#7d625f", alpha)), width_px)
            painter.strokePath(flowing([(x, y - width_px * 0.5) for x, y in damp], closed=False), wide)
            painter.restore()
        for k in range(3):
            lace = [(x, y - 22 - k * 19 + 7 * math.sin(x * 0.021 + seconds * 1.4 + k * 2)) for x, y in damp]
            painter.strokePath(
                flowing(lace, closed=False), QPen(QBrush(colour("#ffe1d0", 0.26 - 0.07 * k)), 2.6 - 0.5 * k)
            )
        for width_px, alpha, lift in ((18, 0.14, 9), (9, 0.28, 4), (3.6, 0.85, 0)):
            pen = QPen(QBrush(colour("#ffe1d0", alpha)), width_px)
            pen.setCapStyle(Qt.PenCapStyle.RoundCap)
            painter.strokePath(flowing([(x, y - lift) for x, y in damp], closed=False), pen)
        rng = np.random.default_rng(6)
        for _ in range(90):
            part, up, size = rng.random(), rng.random() ** 2, rng.uniform(1.0, 3.6)
            x, y = damp[int(part * 40)]
            painter.setBrush(colour("#ffe9dc", 0.55 * (1 - up)))
            painter.drawEllipse(
                QPointF(x + rng.uniform(-12, 12), y - 4 - up * 46 + 2 * math.sin(seconds * 3 + part * 9)),
                size * 1.7,
                size * 0.62,
            )
        painter.end()
        return canvas

    return frame


def ferry_dusk_phone(take: Take) -> Shot:
    """The ferry's lit windows, filmed by hand."""
    width, height = 1008, 568
    light = replace(sea.dusk(), disc=None)
    view = sea.Seascape(width, height, 262, light, coast("dusk"), camera_m=5)

    def frame(seconds: float) -> Canvas:
        boat_x = 330 + seconds * 52

        def boat(painter: QPainter, lift: float) -> None:
            things.ferry(
                painter,
                boat_x,
                322 - lift,
                500,
                DUSK,
                facing=1,
                windows=1.35,
                haze="#b0848e",
                haze_amount=0.05,
                roll=0.5 * math.sin(seconds),
            )
            # Somebody stands at the rail: hat and coat.
            if lift == 0:
                painter.save()
                figure(painter, PASSENGER, boat_x - 150, 220, 29, DUSK, facing=1, seconds=seconds, rim_px=0.8)
                painter.restore()

        canvas = view.frame(seconds, 0.5 * seconds, mirrored=lambda p: boat(p, 120))
        painter = canvas.painter()
        things.wake(painter, boat_x, 323, 500, 1, "#ffd9c4", 0.45)
        boat(painter, 0)
        painter.end()
        return hand_held(canvas, take, seconds, 2.0)

    return frame


# --- on the ferry (set aside) ------------------------------------------------------------


def deck_day(take: Take) -> Shot:
    """The passenger at the rail; the island goes by."""
    width, height = take.width, take.height
    view = sea.Seascape(width, height, 236, sea.day(), coast("day"), camera_m=7)
    floor = things.boards(width + 40, 170, "#a4835c", DAY, board_px=15, upright=False, seed=12)

    def frame(seconds: float) -> Canvas:
        canvas = view.frame(seconds, 5.0 * seconds)
        roll = 0.8 * math.sin(seconds * 0.9)
        out = Canvas(width, height)
        painter = out.painter()
        painter.translate(width / 2, 236)
        painter.rotate(roll)
        painter.scale(1.07, 1.07)
        painter.drawImage(QPointF(-width / 2, -236 + 3 * math.sin(seconds * 1.1)), canvas.image)
        painter.end()
        painter = out.painter()
        things.far_gull(
            painter,
            640 + 30 * math.sin(seconds * 0.6),
            120 + 14 * math.sin(seconds * 1.1),
            20,
            seconds * 1.0,
            DAY("#6a7476", 1, 0.9),
        )
        things.far_gull(
            painter,
            760 + 20 * math.sin(seconds * 0.7 + 1),
            84 + 10 * math.sin(seconds * 0.9),
            13,
            seconds * 1.15 + 0.4,
            DAY("#7a8486", 1, 0.9),
        )
        painter.fillPath(straight([(0, 452), (width, 438), (width, height), (0, height)]), DAY("#5d6a66"))
        things.fill_with(
            painter, straight([(0, 456), (width, 442), (width, height), (0, height)]), floor, (0, 440)
        )
        white = linear((0, 250), (0, 460), (0, DAY("#f6f1e2", 1.05)), (1, DAY("#b9b6a8")))
        for x in (70, 292, 514, 736, 958):
            painter.fillRect(QRectF(x - 6, 262, 12, 190), white)
            painter.fillRect(QRectF(x - 14, 440, 28, 12), DAY("#c9c4b4"))
        for y, thick in ((262, 13), (320, 6), (366, 6), (410, 6)):
            painter.fillRect(
                QRectF(0, y, width, thick),
                vertical(y, y + thick, (0, DAY("#fbf7ea", 1.08)), (1, DAY("#a9a698"))),
            )
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for k in range(8):
            pen = QPen(QBrush(DAY("#d9583c" if k % 2 else "#f3ead6")), 26)
            pen.setCapStyle(Qt.PenCapStyle.FlatCap)
            painter.setPen(pen)
            painter.drawArc(QRectF(770, 302, 112, 112), int((k * 45) * 16), 46 * 16)
        painter.setPen(Qt.PenStyle.NoPen)
        bust(
            painter,
            PASSENGER,
            310,
            182,
            156,
            DAY,
            facing=1,
            seconds=seconds,
            mouth=take.mouth("PASSENGER", seconds),
            wind=0.8,
            lean=3 + roll * 0.5,
        )
        painter.end()
        return out

    return frame


def wake_portrait(take: Take) -> Shot:
    """The wake and the island, a phone held upright."""
    width, height = 576, 996
    view = sea.Seascape(
        width,
        height,
        372,
        replace(sea.day(), clouds=(replace(sea.day().clouds[0], centre_y=150, spread_px=150),)),
        coast("day"),
        camera_m=8,
    )
    rng = np.random.default_rng(5)
    flecks = rng.random((420, 3))

    def frame(seconds: float) -> Canvas:
        canvas = view.frame(seconds, 0.0, -6.0 * seconds)
        painter = canvas.painter()
        cx = 300 + 6 * math.sin(seconds * 0.5)
        for k in range(9):
            half = 30 + 18 * k + 4 * math.sin(seconds * 1.3 + k)
            fan = [(cx - 3, 378), (cx + 3, 378), (cx + half, 1000), (cx - half - 6, 1000)]
            painter.fillPath(
                straight(fan),
                vertical(378, 1000, (0, colour("#ffffff", 0.07)), (1, colour("#cfeae2", 0.045))),
            )
        for u, side, size in flecks:
            depth = ((u + seconds * 0.16) % 1.0) or 0.01
            near = (1 - depth) ** 2.4
            y = 380 + near * 640
            spread = 150 * near
            across = side * 2 - 1
            edge = abs(across) ** 0.5 * (1 if across > 0 else -1)
            painter.setBrush(colour("#ffffff", 0.16 + 0.5 * abs(across)))
            painter.drawEllipse(
                QPointF(cx + edge * spread, y), (3 + 16 * size) * near + 0.6, (1.4 + 4 * size) * near + 0.3
            )
        for k in range(4):
            things.gull(
                painter,
                140 + k * 96 + 18 * math.sin(seconds * 0.8 + k),
                190 + (k * 83) % 150 + 12 * math.sin(seconds + k),
                52 + 14 * (k % 3),
                seconds * 2.1 + k * 0.3,
                DAY,
                facing=1 if k % 2 else -1,
            )
        painter.fillRect(
            QRectF(0, 905, width, 16), vertical(905, 921, (0, DAY("#fbf7ea", 1.08)), (1, DAY("#a9a698")))
        )
        painter.fillRect(QRectF(120, 905, 14, 120), DAY("#d8d3c2"))
        painter.fillRect(QRectF(430, 905, 14, 120), DAY("#d8d3c2"))
        painter.end()
        return hand_held(canvas, take, seconds, 4.0, tilt=0.9)

    return frame


# --- night --------------------------------------------------------------------------------


def car_park(take: Take) -> Shot:
    """One lamp, painted bays, nobody's car; the sisters look."""
    width, height = take.width, take.height
    view = sea.Seascape(width, height, 206, sea.night(), coast("night"), camera_m=6, shore_y=300)
    ground = things.stones(width + 80, 330, "#8b8f94", NIGHT, seed=33)

    def frame(seconds: float) -> Canvas:
        move = 0.08 * seconds
        shift = 1100 * move / 22
        canvas = view.frame(seconds, move)
        painter = canvas.painter()
        edge = 268
        things.fill_with(
            painter,
            straight([(0, edge), (width, edge), (width, height), (0, height)]),
            ground,
            (-shift * 0.5, edge),
        )
        painter.fillRect(QRectF(0, edge - 10, width, 12), NIGHT("#868a8c", 0.8))
        painter.fillRect(
            QRectF(0, edge, width, height - edge),
            vertical(edge, height, (0, colour("#000000", 0.05)), (1, colour("#000000", 0.40))),
        )
        vanish = (520 - shift * 0.4, 150)
        for i in range(-5, 7):
            near_x = 520 + i * 190 - shift * 1.6

            def at(y: float, x: float = near_x) -> float:
                return vanish[0] + (x - vanish[0]) * (y - vanish[1]) / (520 - vanish[1])

            painter.fillPath(
                straight(
                    [(at(318) - 1.6, 318), (at(318) + 1.6, 318), (at(470) + 4, 470), (at(470) - 4, 470)]
                ),
                NIGHT("#d8d8cc", 0.9, 0.8),
            )
        apex = (392 - shift, 104)
        things.cone(painter, (apex[0] + 2, apex[1]), 398, 190, "#ffbe74", 1.0 * things.flicker(seconds))
        things.lamp_post(painter, 354 - shift, 400, 300, NIGHT, 0.95 * things.flicker(seconds), reach=0.75)
        walk = min(seconds, 3.6)
        for who, x, y, tall, phase in (
            (ILSE, 742 - walk * 34, 436, 150, 0.0),
            (MAREN, 812 - walk * 33, 440, 156, 0.4),
        ):
            warm = smooth(760 - x, 40, 320)
            amb = blend(NIGHT, replace(INSIDE, gain=0.66, towards=(-0.8, -0.6)), warm)
            x -= shift
            painter.fillPath(
                flowing(
                    [(x - 8, y), (x + 10, y + 2), (x + 120, y + 16), (x + 150, y + 26), (x + 60, y + 15)],
                    tight=0.3,
                ),
                colour("#000000", 0.32 * (0.4 + warm)),
            )
            figure(
                painter,
                who,
                x,
                y,
                tall,
                amb,
                facing=-1,
                step=seconds * 0.75 + phase if seconds < 3.6 else None,
                seconds=seconds,
                wind=0.4,
            )
        # A torch in Ilse's hand.
        tx = 742 - walk * 34 - shift - 16
        painter.save()
        painter.setCompositionMode(QPainter.CompositionMode.CompositionMode_Plus)
        for k in range(9):
            wide = 6 + 3.6 * k
            beam = straight(
                [
                    (tx, 362),
                    (tx - 168 - wide * 1.6, 436 - wide * 0.35),
                    (tx - 168 + wide * 1.6, 440 + wide * 0.4),
                    (tx, 366),
                ]
            )
            painter.fillPath(
                beam,
                linear(
                    (tx, 364), (tx - 190, 436), (0, colour("#fff0cc", 1, 0.034)), (1, colour("#000000", 1))
                ),
            )
        painter.restore()
        glow(painter, (tx - 168, 438), 96, "#fff0cc", 0.42, squash=0.26)
        painter.end()
        return canvas

    return frame


def puddle(take: Take) -> Shot:
    """The lamp in a puddle; a drop falls and rings run out."""
    width, height = take.width, take.height
    ground = things.stones(width, height, "#a2a6aa", NIGHT, seed=36)
    painter = ground.painter()
    painter.fillPath(straight([(20, -10), (70, -10), (330, 560), (230, 560)]), NIGHT("#e6e4d6", 1.0, 0.75))
    glow(painter, (690, 10), 620, LAMP, 0.34, squash=0.7)
    painter.fillRect(
        QRectF(0, 300, width, 240), vertical(300, 540, (0, colour("#000000", 0)), (1, colour("#000000", 0.5)))
    )
    painter.end()
    shape = flowing(
        [
            (210, 330),
            (270, 236),
            (430, 246),
            (560, 186),
            (720, 214),
            (770, 268),
            (900, 300),
            (880, 392),
            (740, 400),
            (660, 462),
            (470, 440),
            (390, 478),
            (260, 430),
        ],
        tight=0.5,
    )
    yy, xx = np.mgrid[0:height, 0:width].astype(np.float32)
    hit = (470.0, 330.0)
    away = np.hypot((xx - hit[0]), (yy - hit[1]) * 2.1)
    mirror_base = Canvas(width + 80, height + 80)
    painter = mirror_base.painter()
    painter.fillRect(
        QRectF(0, 0, width + 80, height + 80),
        vertical(120, 520, (0, colour("#2a3f55")), (1, colour("#101d2e"))),
    )
    painter.fillPath(straight([(640, 150), (648, 150), (641, 372), (636, 372)]), colour("#0a0f16"))
    stroke_points = [(638, 366), (634, 386), (616, 390)]
    things.stroke(painter, stroke_points, colour("#0a0f16"), 5)
    glow(painter, (604, 388), 300, LAMP, 0.75)
    glow(painter, (604, 388), 60, "#ffe6b8", 1.5)
    painter.setBrush(colour("#ffe6b8", 1, 2.2))
    painter.drawEllipse(QPointF(604, 388), 20, 7)
    for x in (200, 260, 352, 830):
        painter.setBrush(colour("#dfe6ff", 0.6))
        painter.drawEllipse(QPointF(x, 260 + x % 70), 1.3, 1.3)
    painter.end()
    mirror_rgb = np.ascontiguousarray(mirror_base.px[..., :3]).reshape(-1, 3)
    mask = (
        still(width, height, lambda p: p.fillPath(shape, colour("#ffffff")), clear=True)
        .soften(2.0)
        .px[..., 3:4]
    )
    rim = (
        still(width, height, lambda p: p.strokePath(shape, QPen(QBrush(colour("#ffffff")), 9)), clear=True)
        .soften(4.0)
        .px[..., 3:4]
    )

    def frame(seconds: float) -> Canvas:
        push = np.zeros_like(away)
        for start in (0.5, 1.7):
            age = seconds - start
            if age <= 0:
                continue
            front = age * 190
            ring = np.exp(-(((away - front) / (26 + age * 20)) ** 2)) * np.sin((away - front) * 0.16)
            push += ring * 8 * math.exp(-age * 0.9)
        push += 0.9 * np.sin(xx * 0.03 + seconds * 1.1) + 0.7 * np.sin(yy * 0.05 - seconds * 1.4)
        column = np.clip(xx + 40 + push * (xx - hit[0]) / np.maximum(away, 20), 0, width + 79).astype(
            np.int32
        )
        row = np.clip(yy + 40 + push * 1.6, 0, height + 79).astype(np.int32)
        mirrored = mirror_rgb[(row * (width + 80) + column).ravel()].reshape(height, width, 3)
        canvas = ground.copy()
        canvas.px[..., :3] = canvas.px[..., :3] * (1 - mask) + mirrored * mask
        canvas.px[..., :3] *= 1 - 0.35 * rim
        painter = canvas.painter()
        glow(painter, (690, 20), 420, LAMP, 0.10 * things.flicker(seconds))
        painter.end()
        return canvas

    return frame


def quay_night_wide(take: Take) -> Shot:
    """Lamps along the quay, their light in the water; Ilse with the machine, Maren comes."""
    width, height = take.width, take.height
    view = sea.Seascape(
        width,
        height,
        214,
        replace(sea.night(), disc=replace(sea.night().disc, x=245, y=92)),
        coast("night"),
        camera_m=3.4,
    )
    stone = things.stones(width + 80, 380, "#7a7c7e", NIGHT, seed=44)
    posts = ((905, 470, 330), (722, 344, 178), (640, 292, 108), (594, 262, 68))

    def frame(seconds: float) -> Canvas:
        move = 0.05 * seconds
        alive = things.flicker(seconds)

        def lamps(painter: QPainter, shadow: bool) -> None:
            for x, y, tall in posts[1:] if shadow else posts:
                shift = move * tall * 0.55
                base = y - 2 * (y - 214) if shadow else y
                things.lamp_post(
                    painter,
                    x - shift - (26 if shadow else 0),
                    base,
                    tall * (1.0),
                    NIGHT,
                    alive * (1.0 if not shadow else 1.7),
                    facing=-1,
                    reach=0.62,
                )

        canvas = view.frame(seconds, move, mirrored=lambda p: lamps(p, True))
        painter = canvas.painter()
        shift = move * 120
        # The quay runs away from lower right to the middle.
        top = straight(
            [
                (1040, 430),
                (1040, 560),
                (470 - shift, 560),
                (566 - shift * 0.3, 262),
                (590 - shift * 0.3, 250),
                (640, 250),
            ]
        )
        wall = straight(
            [(566 - shift * 0.3, 262), (470 - shift, 560), (420 - shift, 560), (560 - shift * 0.3, 268)]
        )
        painter.fillPath(wall, linear((420, 500), (500, 500), (0, NIGHT("#33383c")), (1, NIGHT("#50565a"))))
        things.fill_with(painter, top, stone, (-shift * 0.4 - 20, 240))
        painter.save()
        painter.setClipPath(top)
        painter.setPen(QPen(QBrush(colour("#04070a", 0.35)), 1.6))
        for k in range(7):
            y = 270 + k * k * 6.5
            painter.drawLine(QPointF(400, y), QPointF(1040, y))
        painter.setPen(Qt.PenStyle.NoPen)
        for x, y, tall in reversed(posts):
            sway = move * tall * 0.55
            glow(painter, (x - sway - tall * 0.18, y + 4), tall * 0.85, LAMP, 0.52 * alive, squash=0.30)
        painter.restore()
        painter.fillPath(
            straight(
                [(566 - shift * 0.3, 262), (573 - shift * 0.3, 261), (484 - shift, 560), (470 - shift, 560)]
            ),
            NIGHT("#a9adaf", 1.1),
        )
        for (x, y, tall), size in zip(posts[1:], (20, 13, 8), strict=True):
            things.bollard(painter, x - tall * 0.55 - move * tall * 0.5, y + 8, size, NIGHT)
        things.bollard(painter, 540 - shift, 520, 46, NIGHT)
        lamps(painter, False)
        # Far away a boat with lit windows that should not be there.
        things.ferry(painter, 128 + seconds * 4, 222, 74, NIGHT, facing=1, windows=1.2)
        lamp_light = Ambience("#ffcf98", 0.62, "#ffd9a4", (0.55, -0.9), 1.0)
        _shadow(painter, 776 - shift * 0.5, 474, 38, 6, 0.6)
        table = straight(
            [
                (800 - shift * 0.5, 420),
                (856 - shift * 0.5, 420),
                (856 - shift * 0.5, 428),
                (800 - shift * 0.5, 428),
            ]
        )
        painter.fillPath(table, lamp_light("#6a5238"))
        for x in (806, 846):
            painter.fillRect(QRectF(x - shift * 0.5, 428, 4, 48), lamp_light("#3d3020"))
        things.machine(painter, 828 - shift * 0.5, 421, 0.20, lamp_light, 40)
        figure(
            painter,
            ILSE,
            764 - shift * 0.5,
            474,
            206,
            lamp_light,
            facing=1,
            seconds=seconds,
            near_hand=(0.21, -0.36),
            far_hand=(0.17, -0.34),
            lean=3,
            rim_px=2.0,
        )
        walk = min(seconds, 3.2)
        mx = 600 + walk * 17 - shift * 0.5
        my = 418 + walk * 10
        warm = smooth(seconds, 0.5, 3.5)
        _shadow(painter, mx - 8, my, 30, 4, 0.5)
        figure(
            painter,
            MAREN,
            mx,
            my,
            168 + walk * 8,
            blend(replace(NIGHT, towards=(0.8, -0.5), rim="#ffcf98"), lamp_light, warm * 0.7),
            facing=1,
            step=seconds * 0.7 if seconds < 3.2 else None,
            seconds=seconds,
            wind=0.6,
            rim_px=1.8,
        )
        painter.end()
        return canvas

    return frame


def quay_night_close(take: Take) -> Shot:
    """Ilse in the lamp's light, the water's lights behind her."""
    width, height = take.width, take.height
    lights = ((90, 190, 26), (180, 214, 15), (238, 206, 10), (690, 204, 12), (830, 196, 22), (960, 186, 34))
    view = SoftSea(width, height, 250, replace(sea.night(), disc=None), coast("night"))
    light = Ambience("#ffd3a0", 0.95, "#ffe2b4", (0.75, -0.75), 1.0)

    def frame(seconds: float) -> Canvas:
        canvas = view.frame(seconds, 0.04 * seconds)
        painter = canvas.painter()
        for x, y, size in lights:
            beat = things.flicker(seconds, x)
            # Lamps out of focus: flat discs, and their broken light on the water.
            painter.save()
            painter.setBrush(colour("#e08a3e", 0.62, beat))
            painter.drawEllipse(QPointF(x - seconds * 1.5, y), size, size)
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(QBrush(colour("#ffb870", 0.5, beat)), size * 0.14))
            painter.drawEllipse(QPointF(x - seconds * 1.5, y), size * 0.9, size * 0.9)
            painter.restore()
            glow(painter, (x - seconds * 1.5, y), size * 4.5, "#ff9d48", 0.16 * beat)
            for k in range(7):
                wide = (
                    size * (1.5 - 0.1 * k) * (0.75 + 0.25 * math.sin(seconds * (1.4 + 0.3 * k) + x + k * 1.9))
                )
                glow(
                    painter,
                    (x - seconds * 1.5 + 5 * math.sin(seconds * 1.2 + k * 2.2 + x), 276 + k * 27),
                    wide * 1.9,
                    "#ff9d48",
                    0.30 * beat / (1 + 0.35 * k),
                    squash=0.42,
                )
        turn = smooth(seconds, 0.3, 1.0)
        look = 1 - smooth(seconds, 1.0, 1.5) + smooth(seconds, 2.6, 3.1)
        bust(
            painter,
            ILSE,
            430 + 8 * turn + seconds * 2.5,
            236,
            250,
            light,
            facing=1,
            seconds=seconds,
            mouth=take.mouth("ILSE", seconds),
            nod=9 * look,
            lids=1.0 if look > 0.5 else 0.0,
            wind=0.5,
            rim_px=4.2,
        )
        painter.end()
        return canvas

    return frame


def night_water(take: Take) -> Shot:
    """Lamp light breaking on black water, 100 frames a second."""
    width, height = take.width, take.height
    view = sea.Seascape(
        width,
        height,
        60,
        replace(sea.night(), disc=None, wind=1.25),
        (),
        camera_m=2.2,
        focal_px=1000,
        seed=12,
    )
    wall = things.stones(width, 64, "#8a8278", NIGHT, seed=51)
    painter = wall.painter()
    for x in (250, 520, 760):
        glow(painter, (x, 0), 150, LAMP, 0.34)
    for x in range(30, width, 118):
        painter.fillRect(QRectF(x, 0, 2, 64), colour("#05080c", 0.5))
    painter.fillRect(QRectF(0, 30, width, 2), colour("#05080c", 0.5))
    painter.end()

    def frame(seconds: float) -> Canvas:
        def lamps(painter: QPainter) -> None:
            for x, y, size in ((250, -20, 15), (520, -4, 11), (760, -50, 21)):
                glow(painter, (x, y), size * 9, LAMP, 0.9)
                painter.setBrush(colour("#ffdca6", 1, 5.0))
                painter.drawEllipse(QPointF(x, y), size, size * 1.3)

        canvas = view.frame(seconds, 0.05 * seconds, mirrored=lamps)
        painter = canvas.painter()
        painter.drawImage(0, 0, wall.image)
        painter.fillRect(
            QRectF(0, 0, width, 64),
            vertical(0, 64, (0, colour("#05080c", 0.25)), (1, colour("#05080c", 0.85))),
        )
        painter.end()
        return canvas

    return frame


SHOTS = {
    "kiosk dawn wide": kiosk_dawn_wide,
    "kiosk morning wide": kiosk_morning_wide,
    "slipway day wide": slipway_day_wide,
    "slipway day two": slipway_day_two,
    "gulls slow": gulls_slow,
    "slipway dusk first": slipway_dusk_first,
    "slipway dusk second": slipway_dusk_second,
    "lapping dusk": lapping_dusk,
    "ferry dusk phone": ferry_dusk_phone,
    "deck day": deck_day,
    "wake portrait": wake_portrait,
    "car park": car_park,
    "puddle": puddle,
    "quay night wide": quay_night_wide,
    "quay night close": quay_night_close,
    "night water": night_water,
}
