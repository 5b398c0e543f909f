"""The inserts: clock, roll, machine, ticket, hands."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QPainter, QPainterPath, QPen

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
from making.people import ILSE, MAREN, PASSENGER
from making.shots_inside import LAMPLIT
from making.shots_outside import coast
from making.take import Shot, SoftSea, Take, blend, hand_held, still
from making.things import DAWN, DAY, LAMP, MORNING, Ambience


def _wood(
    width: int, height: int, amb: Ambience, tone: str = "#a97c4e", seed: int = 3, board_px: float = 150
) -> Canvas:
    """Returns a table top seen from above, with grain and rings."""
    y = np.mgrid[0:height, 0:width][0].astype(np.float32)
    bend = fbm(height, width, (260, 520), 3, seed) * 34
    board = np.floor((y + 20) / board_px)
    rings = np.sin((y + bend + board * 37) * 0.17 + 2.2 * fbm(height, width, (120, 700), 2, seed + 1))
    fine = fbm(height, width, (4.5, 60), 3, seed + 2, 0.6)
    value = 1 + 0.055 * rings + 0.075 * fine + 0.05 * np.sin(board * 2.3)
    seam = np.exp(-((((y + 20) % board_px) - 1.5) ** 2) / 2.2) * 0.5
    value = value * (1 - seam)
    return Canvas.of((value[..., None] * rgb(tone) * rgb(amb.tint) * amb.gain).astype(np.float32))


def clock_dawn(take: Take) -> Shot:
    """Ten to six on the kiosk's clock."""
    width, height = take.width, take.height
    amb = replace(blend(DAWN, LAMPLIT, 0.62), gain=0.92)
    wall = things.boards(width + 60, height + 40, "#5f807c", amb, board_px=62, seed=101)
    painter = wall.painter()
    glow(painter, (120, 130), 760, LAMP, 0.42)
    painter.fillRect(
        QRectF(0, 0, width + 60, height + 40),
        linear((0, 0), (width, 0), (0, colour("#000000", 0)), (1, colour("#04080c", 0.5))),
    )
    # A shelf below, with a cup hook and keys.
    painter.fillRect(
        QRectF(0, 500, width + 60, 14), vertical(500, 514, (0, amb("#c9a06c", 1.1)), (1, amb("#6b4a2c")))
    )
    painter.fillRect(
        QRectF(0, 514, width + 60, 70),
        vertical(514, 580, (0, colour("#000000", 0.6)), (1, colour("#000000", 0.2))),
    )
    painter.end()

    def frame(seconds: float) -> Canvas:
        canvas = Canvas(width, height)
        painter = canvas.painter()
        drift = seconds * 3.2
        painter.drawImage(QPointF(-30 + drift * 0.5, -20), wall.image)
        things.clock(painter, 556 + drift, 246, 186, 5 + 50 / 60, 41 + seconds, amb)
        # Keys on a hook, swinging a little.
        painter.save()
        painter.translate(846 + drift * 1.1, 196)
        painter.setBrush(amb("#2b2622"))
        painter.drawEllipse(QPointF(0, 0), 4, 4)
        painter.rotate(2.2 * math.sin(seconds * 2.4) * math.exp(-seconds * 0.25))
        brass = amb("#c9a056", 1.05)
        painter.setPen(QPen(QBrush(brass), 3))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawEllipse(QPointF(0, 20), 14, 16)
        for turn, long in ((-12, 74), (4, 86), (18, 66)):
            painter.save()
            painter.translate(0, 34)
            painter.rotate(turn)
            painter.drawEllipse(QPointF(0, 12), 9, 9)
            painter.drawLine(QPointF(0, 21), QPointF(0, long))
            painter.drawLine(QPointF(0, long - 3), QPointF(8, long - 3))
            painter.drawLine(QPointF(0, long - 11), QPointF(6, long - 11))
            painter.restore()
        painter.restore()
        glow(painter, (90, 150), 560, LAMP, 0.10 * things.flicker(seconds))
        painter.end()
        return canvas

    return frame


def _strip_path(start: Point, end: Point, sag: float) -> QPainterPath:
    path = QPainterPath(QPointF(*start))
    path.cubicTo(
        start[0] + (end[0] - start[0]) * 0.35,
        start[1] + sag,
        start[0] + (end[0] - start[0]) * 0.7,
        end[1] + sag * 0.7,
        *end,
    )
    return path


def roll_dawn(take: Take) -> Shot:
    """A new roll runs into the machine; Maren turns the crank."""
    width, height = take.width, take.height
    view = SoftSea(width, height, 190, sea.dawn(), coast("dawn"))
    amb = replace(blend(DAWN, LAMPLIT, 0.72), gain=0.95, towards=(-0.4, -0.9))
    top = _wood(width, 220, amb, "#b98a58", 8, 110)

    def room(painter: QPainter) -> None:
        painter.fillPath(
            things.cutout(QRectF(0, 0, width, height), [QRectF(96, -20, 640, 306)]), amb("#3f5c5c", 0.75)
        )
        painter.fillPath(
            things.cutout(QRectF(78, -40, 676, 344), [QRectF(96, -20, 640, 306)]), amb("#c9b48c", 0.85)
        )

    wall = still(width, height, room, clear=True, soft_px=8)
    light = still(width, height, lambda p: glow(p, (880, 60), 420, LAMP, 0.45))
    wall.px[..., :3] += light.px[..., :3] * wall.px[..., 3:4]

    def frame(seconds: float) -> Canvas:
        canvas = view.frame(seconds, 0.03 * seconds)
        painter = canvas.painter()
        painter.drawImage(0, 0, wall.image)
        painter.drawImage(QPointF(0, 396), top.image)
        painter.fillRect(QRectF(0, 396, width, 5), colour("#ffe6bd", 0.55))
        painter.fillRect(
            QRectF(0, 396, width, 150),
            vertical(396, 546, (0, colour("#000000", 0.0)), (1, colour("#000000", 0.45))),
        )
        glow(painter, (600, 430), 460, LAMP, 0.22, squash=0.3)
        travel = things.eased_step(seconds, 0.72, 1.0)
        drift = -6 + seconds * 4
        # Spindle stand and roll.
        x, y, radius = 262 + drift, 322, 104 - travel * 0.6
        shade(painter, x + 16, 448, 170, 20, 0.6, "#0c0704")
        things.roll(painter, x, y, radius, amb, -travel * 34, depth_px=58)
        painter.fillPath(
            straight(
                [
                    (x - 62, 446),
                    (x - 9, 320),
                    (x + 9, 320),
                    (x + 62, 446),
                    (x + 40, 446),
                    (x, 348),
                    (x - 40, 446),
                ]
            ),
            linear((x - 60, 320), (x + 60, 446), (0, amb("#8d744e", 1.1)), (1, amb("#3d3020"))),
        )
        painter.setBrush(amb("#d9b060", 1.1))
        painter.drawEllipse(QPointF(x, 322), 12, 12)
        # The strip, with marks for the numbers.
        path = _strip_path((x + 8, y + radius - 3), (652 + drift, 382), 26)
        for pen_width, tone in ((29, colour("#1a0f08", 0.35)), (26, amb("#f3e6c2", 1.05))):
            pen = QPen(QBrush(tone), pen_width)
            painter.strokePath(path.translated(0, 5) if pen_width == 29 else path, pen)
        count = 5
        for i in range(count + 1):
            part = (i + (travel % 1.0)) / count
            if not 0.02 < part < 0.99:
                continue
            at = path.pointAtPercent(part)
            angle = path.angleAtPercent(part)
            painter.save()
            painter.translate(at)
            painter.rotate(-angle)
            painter.setPen(QPen(QBrush(amb("#8a744c")), 1.6, Qt.PenStyle.DotLine))
            painter.drawLine(QPointF(0, -13), QPointF(0, 13))
            painter.setPen(Qt.PenStyle.NoPen)
            things.lettering(
                painter,
                f"{378 + count - i + int(travel):04d}",
                (-40, 1),
                things.font("type", 15, bold=True),
                amb("#ab3a2a"),
            )
            painter.fillRect(QRectF(-66, 7, 52, 1.6), amb("#2f6068", 1, 0.6))
            painter.restore()
        crank = 40 + travel * 90
        shade(painter, 752 + drift, 453, 200, 22, 0.65, "#0c0704")
        things.machine(painter, 744 + drift, 450, 1.36, amb, crank)
        # Her hand on the crank.
        turn = math.radians(crank)
        hx = 744 + drift + 1.36 * (92 + math.sin(turn) * 66)
        hy = 450 + 1.36 * (-84 - math.cos(turn) * 66)
        sleeve = QPen(
            linear((hx, hy), (hx + 200, hy + 160), (0, amb(MAREN.coat)), (1, amb(MAREN.coat_dark))), 74
        )
        sleeve.setCapStyle(Qt.PenCapStyle.RoundCap)
        painter.strokePath(
            flowing([(hx + 66, hy + 40), (hx + 150, hy + 120), (hx + 260, hy + 250)], closed=False), sleeve
        )
        painter.save()
        painter.translate(hx, hy)
        painter.rotate(24)
        for k in range(4):
            pen = QPen(linear((-20, 0), (50, 20), (0, amb(MAREN.skin, 1.05)), (1, amb(MAREN.skin_dark))), 20)
            pen.setCapStyle(Qt.PenCapStyle.RoundCap)
            dark = QPen(QBrush(amb(MAREN.skin_dark, 0.75)), 22.5)
            dark.setCapStyle(Qt.PenCapStyle.RoundCap)
            points = [(40, -24 + k * 15), (2, -30 + k * 17), (-18, -18 + k * 15)]
            painter.strokePath(flowing(points, closed=False), dark)
            painter.strokePath(flowing(points, closed=False), pen)
        painter.fillPath(
            flowing([(20, -36), (70, -28), (92, 8), (74, 44), (30, 42)], tight=0.45),
            linear((20, -30), (90, 40), (0, amb(MAREN.skin)), (1, amb(MAREN.skin_dark))),
        )
        painter.restore()
        painter.end()
        return canvas

    return frame


def _hand_with_ticket(painter: QPainter, person: people.Person, amb: Ambience, turn: float) -> None:
    people.holding_hand(painter, person, amb, front=False)
    painter.save()
    painter.translate(-158, -34)
    painter.rotate(turn)
    things.ticket(painter, amb)
    painter.restore()
    # The hand's shadow on the paper.
    painter.save()
    painter.translate(-158, -34)
    painter.rotate(turn)
    painter.setClipPath(things.ticket_outline())
    painter.rotate(-turn)
    painter.translate(158, 34)
    painter.fillPath(
        flowing([(-34, 6), (-20, -6), (40, 6), (80, 60), (20, 60), (-20, 30)], tight=0.5),
        colour("#2a1a0c", 0.28),
    )
    painter.restore()
    people.holding_hand(painter, person, amb, front=True)


def ticket_day_phone(take: Take) -> Shot:
    """The passenger holds out the ticket; filmed by hand."""
    width, height = 1008, 568
    view = SoftSea(width, height, 250, sea.day(), coast("day"))
    slip = still(
        width,
        height,
        lambda p: p.fillPath(
            flowing([(-40, 400), (300, 372), (560, 380), (700, 470), (640, 640), (-40, 640)], tight=0.4),
            vertical(370, 600, (0, DAY("#b3a88e")), (1, DAY("#7d7462"))),
        ),
        clear=True,
        soft_px=12,
    )

    def frame(seconds: float) -> Canvas:
        canvas = view.frame(seconds, 0.05 * seconds)
        painter = canvas.painter()
        painter.drawImage(0, 0, slip.image)
        near = smooth(seconds, 0.0, 0.9)
        painter.translate(566 + 40 * (1 - near), 322 + 26 * (1 - near) + 3 * math.sin(seconds * 1.9))
        painter.scale(1.36, 1.36)
        painter.rotate(1.5 * math.sin(seconds * 1.2))
        _hand_with_ticket(painter, PASSENGER, DAY, -5)
        painter.end()
        return hand_held(canvas, take, seconds, 1.0)

    return frame


def ticket_counter_day(take: Take) -> Shot:
    """The ticket on the counter: next Tuesday's date. Ilse's finger moves it straight."""
    width, height = take.width, take.height
    amb = replace(DAY, tint="#fff0d8", gain=0.94, towards=(-0.7, -0.7), edge_alpha=0.5)
    wide, tall = 1120, 600
    top = _wood(wide, tall, amb, "#b98a58", 5, 190)
    painter = top.painter()
    # Window light falls across in bars; the sill keeps the rest in shade.
    painter.fillRect(QRectF(0, 0, wide, tall), colour("#20160e", 0.26))
    painter.end()
    bars = still(
        wide,
        tall,
        lambda p: (
            [
                p.fillPath(
                    straight(
                        [
                            (80 + k * 330, -20),
                            (330 + k * 330, -20),
                            (190 + k * 330, 640),
                            (-60 + k * 330, 640),
                        ]
                    ),
                    colour("#ffe9bd", 0.30),
                )
                for k in range(3)
            ]
            and None
        ),
        clear=True,
        soft_px=12,
    )

    def frame(seconds: float) -> Canvas:
        canvas = Canvas(width, height)
        painter = canvas.painter()
        push = 1 + 0.014 * seconds
        painter.translate(width / 2, height / 2)
        painter.scale(push, push)
        painter.translate(-width / 2, -height / 2)
        painter.drawImage(QPointF(-48, -30), top.image)
        painter.drawImage(QPointF(-48 + seconds * 2, -30), bars.image)
        set_right = smooth(seconds, 0.5, 1.5)
        angle = -11 + 8.5 * set_right
        cx, cy = 470 + 14 * set_right, 268
        painter.save()
        painter.translate(cx + 8, cy + 12)
        painter.rotate(angle)
        painter.scale(1.62, 1.62)
        for k in range(5):
            painter.save()
            painter.scale(1 + k * 0.008, 1 + k * 0.016)
            painter.fillPath(things.ticket_outline(), colour("#1a0e05", 0.09))
            painter.restore()
        painter.restore()
        painter.save()
        painter.translate(cx, cy)
        painter.rotate(angle)
        painter.scale(1.62, 1.62)
        things.ticket(painter, amb)
        painter.restore()
        # Her hand comes from the right, moves it and goes.
        away = smooth(seconds, 1.9, 2.9)
        come = smooth(seconds, 0.0, 0.45)
        hx = 742 + 14 * set_right + 330 * (away + 1 - come)
        hy = 318 - 22 * set_right + 60 * (away + 1 - come)
        painter.save()
        painter.translate(hx + 12, hy + 18)
        painter.rotate(14)
        painter.scale(1.25, 1.25)
        painter.setOpacity(0.24)
        painter.fillPath(
            flowing([(-10, -40), (90, -56), (480, -90), (480, 110), (90, 60), (0, 40)], tight=0.3),
            colour("#140a04"),
        )
        painter.restore()
        painter.save()
        painter.translate(hx, hy)
        painter.rotate(14)
        painter.scale(1.25, 1.25)
        people.flat_hand(painter, ILSE, amb)
        painter.restore()
        painter.end()
        return canvas

    return frame


def _machine_set(take: Take, amb: Ambience, *, warm: bool) -> tuple[Canvas, Canvas]:
    width, height = take.width, take.height
    wall = things.boards(width, height, "#5f807c", replace(amb, gain=amb.gain * 0.42), board_px=66, seed=131)
    painter = wall.painter()
    if warm:
        glow(painter, (250, 40), 520, LAMP, 0.5)
    else:
        glow(painter, (180, 90), 560, "#ffeccc", 0.34)
    painter.end()
    top = _wood(width, 190, amb, "#a97c4e", 13, 95)
    return wall.soften(10), top


def _printing(
    take: Take,
    amb: Ambience,
    wall: Canvas,
    top: Canvas,
    seconds: float,
    travel: float,
    *,
    number: str,
    blank: bool,
    date: str,
    crank: float,
) -> Canvas:
    width, height = take.width, take.height
    canvas = wall.copy()
    painter = canvas.painter()
    painter.drawImage(QPointF(0, 430), top.image)
    painter.fillRect(QRectF(0, 430, width, 4), colour("#ffe6bd", 0.4))
    painter.fillRect(
        QRectF(0, 430, width, 110),
        vertical(430, 540, (0, colour("#000000", 0.05)), (1, colour("#000000", 0.55))),
    )
    drift = -4 + seconds * 3
    mx, my, scale = 496 + drift, 470, 2.36
    shade(painter, mx + 12, my + 3, 340, 30, 0.75, "#0a0604")
    things.machine(painter, mx, my, scale, amb, crank)
    # The ticket comes out of the slot and bends towards us.
    slot_y = my - 48 * scale
    half = 62 * scale
    out = max(0.0, min(1.0, travel))
    if out > 0.01:
        painter.save()
        painter.setClipRect(QRectF(0, slot_y - 6, width, height))
        drop = 168 * out
        grow = 1 + 0.09 * out
        shadow = straight(
            [
                (mx - half, slot_y),
                (mx + half, slot_y),
                (mx + half * grow + 8, slot_y + drop + 16),
                (mx - half * grow + 8, slot_y + drop + 16),
            ]
        )
        painter.fillPath(shadow, colour("#070a0a", 0.30))
        painter.save()
        hidden = 138 * (1 - out)
        corners = [
            (mx - half, slot_y - hidden),
            (mx + half, slot_y - hidden),
            (mx + half * grow, slot_y - hidden + 150 + 14 * out),
            (mx - half * grow, slot_y - hidden + 150 + 14 * out),
        ]
        painter.setClipRect(QRectF(0, slot_y - 1, width, height), Qt.ClipOperation.IntersectClip)
        if things.placed(painter, corners):
            things.ticket(painter, amb, number=number, blank=blank, date=date, crease=False)
        painter.restore()
        painter.fillRect(
            QRectF(mx - half, slot_y, half * 2, 26),
            vertical(slot_y, slot_y + 26, (0, colour("#05090a", 0.55)), (1, colour("#05090a", 0))),
        )
        painter.restore()
        painter.setBrush(amb("#0e1c1f"))
        painter.fillRect(
            QRectF(mx - 72 * scale, slot_y - 6, 144 * scale, 8),
            linear(
                (mx - 170, 0),
                (mx + 170, 0),
                (0, amb("#f0cf86", 1.1)),
                (0.5, amb("#b98d45")),
                (1, amb("#8b652c")),
            ),
        )
    painter.end()
    return canvas


def machine_day(take: Take) -> Shot:
    """The next ticket on the roll: 0397, not printed."""
    amb = replace(DAY, tint="#fff0d8", gain=0.80, towards=(-0.6, -0.8))
    wall, top = _machine_set(take, amb, warm=False)

    def frame(seconds: float) -> Canvas:
        click = smooth(seconds, 0.5, 0.8) * 0.42 + smooth(seconds, 1.1, 1.4) * 0.58
        return _printing(
            take, amb, wall, top, seconds, click, number="0397", blank=True, date="", crank=40 + 160 * click
        )

    return frame


def printing_night(take: Take) -> Shot:
    """On the quay at night the machine prints 0413, in five clicks."""
    amb = Ambience("#ffca94", 0.74, "#ffdca8", (-0.4, -0.9), 1.0)
    wall, top = _machine_set(take, amb, warm=True)
    # Outside: the wall becomes night, with lamps out of focus.
    painter = wall.painter()
    painter.fillRect(
        QRectF(0, 0, take.width, take.height),
        vertical(0, take.height, (0, colour("#0c1626")), (0.6, colour("#1c3148")), (1, colour("#0a1522"))),
    )
    for x, y, size in ((120, 150, 30), (214, 196, 17), (820, 176, 24), (936, 138, 40), (742, 214, 12)):
        painter.save()
        painter.setBrush(colour("#e08a3e", 0.66))
        painter.drawEllipse(QPointF(x, y), size, size)
        painter.restore()
        glow(painter, (x, y), size * 4, "#ff9d48", 0.14)
    painter.end()

    def frame(seconds: float) -> Canvas:
        clicks = sum(smooth(seconds, 0.45 + 0.42 * k, 0.62 + 0.42 * k) for k in range(5)) / 5
        canvas = _printing(
            take,
            amb,
            wall,
            top,
            seconds,
            clicks,
            number="0413",
            blank=False,
            date="TUESDAY 1 DECEMBER",
            crank=20 + 300 * clicks,
        )
        painter = canvas.painter()
        glow(painter, (430, -40), 560, LAMP, 0.26 * things.flicker(seconds))
        painter.end()
        return canvas

    return frame


def strip_night(take: Take) -> Shot:
    """The roll under the lamp: 0410, 0411, 0412 — 0414."""
    width, height = take.width, take.height
    amb = Ambience("#ffcb94", 0.86, "#ffdca8", (0.2, -1.0), 1.0)
    top = _wood(width + 20, height + 20, replace(amb, gain=0.62), "#8a5f3a", 17, 210)
    light = still(width, height, lambda p: glow(p, (512, 230), 640, LAMP, 0.62, squash=0.75), clear=False)
    numbers = ("0408", "0409", "0410", "0411", "0412", "0414", "0415", "0416")

    def frame(seconds: float) -> Canvas:
        canvas = Canvas(width, height)
        painter = canvas.painter()
        painter.drawImage(QPointF(-10, -10), top.image)
        painter.end()
        canvas.px[..., :3] += light.px[..., :3] * rgb("#6b4a2c") * things.flicker(seconds) * 0.9
        painter = canvas.painter()
        travel = min(2.0, things.eased_step(seconds, 1.0, 1.0)) + 0.5 * smooth(seconds, 2.45, 2.8)
        scale = 1.15
        pitch = 380 * scale
        painter.translate(width / 2, 262)
        painter.rotate(-3.2)
        painter.save()
        painter.translate(4, 16)
        painter.fillRect(QRectF(-800, -88 * scale, 1600, 176 * scale), colour("#120a04", 0.42))
        painter.restore()
        for i, number in enumerate(numbers):
            x = (i - 2.0 - travel) * pitch
            if abs(x) > 900:
                continue
            painter.save()
            painter.translate(x, 2.5 * math.sin(x * 0.004 + seconds))
            painter.scale(scale, scale)
            things.ticket(painter, amb, number=number, blank=True, crease=False, shade=min(1.0, abs(x) / 900))
            painter.restore()
        painter.resetTransform()
        pull = travel - math.floor(travel)
        lead = 22 * math.sin(math.pi * pull)
        painter.save()
        painter.translate(232 - lead, 352)
        painter.scale(-1.3, 1.3)
        painter.rotate(32)
        people.flat_hand(painter, MAREN, amb)
        painter.restore()
        painter.fillRect(
            QRectF(0, 0, width, height),
            linear(
                (0, 0),
                (width, 0),
                (0, colour("#04060a", 0.30)),
                (0.3, colour("#04060a", 0)),
                (0.75, colour("#04060a", 0)),
                (1, colour("#04060a", 0.40)),
            ),
        )
        painter.end()
        return canvas

    return frame


def ticket_falls(take: Take) -> Shot:
    """The ticket falls through lamplight, turning; 100 frames a second."""
    width, height = take.width, take.height
    amb = Ambience("#ffcb94", 0.98, "#ffdca8", (0.2, -1.0), 1.0)

    def paint(painter: QPainter) -> None:
        painter.fillRect(
            QRectF(0, 0, width, height),
            vertical(
                0,
                height,
                (0, colour("#1b1512")),
                (0.62, colour("#2a1d15")),
                (0.66, colour("#4a301d")),
                (1, colour("#2b1b10")),
            ),
        )
        glow(painter, (480, -60), 620, LAMP, 0.55)
        glow(painter, (480, 470), 420, LAMP, 0.42, squash=0.28)
        for x, y, size in ((120, 150, 40), (236, 120, 26), (760, 140, 34), (850, 178, 22)):
            painter.setBrush(colour("#8a6a48", 0.22))
            painter.drawEllipse(QPointF(x, y), size, size)

    room = still(width, height, paint, soft_px=8)
    rng = np.random.default_rng(9)
    motes = rng.random((60, 4))

    def corners(seconds: float) -> tuple[list[Point], float]:
        fall = smooth(seconds, -0.25, 1.55)
        cx = 480 + 70 * math.sin(seconds * 3.1 + 0.4)
        cy = -60 + 500 * fall
        roll_angle = math.radians(24 * math.sin(seconds * 3.1 + 0.9) * (1 - 0.8 * smooth(seconds, 1.1, 1.55)))
        tip = math.radians(58 * math.sin(seconds * 4.4 + 0.2)) * (
            1 - smooth(seconds, 1.15, 1.55)
        ) + math.radians(64) * smooth(seconds, 1.15, 1.55)
        yaw = math.radians(38 * math.sin(seconds * 2.3)) * (1 - smooth(seconds, 1.1, 1.5))
        points = []
        for sx, sy in ((-1, -1), (1, -1), (1, 1), (-1, 1)):
            x, y, z = sx * 190.0, sy * 88.0, 0.0
            y, z = y * math.cos(tip) - z * math.sin(tip), y * math.sin(tip) + z * math.cos(tip)
            x, z = x * math.cos(yaw) + z * math.sin(yaw), -x * math.sin(yaw) + z * math.cos(yaw)
            x, y = (
                x * math.cos(roll_angle) - y * math.sin(roll_angle),
                x * math.sin(roll_angle) + y * math.cos(roll_angle),
            )
            depth = 760 / (760 - z)
            points.append((cx + x * depth, cy + y * depth))
        return points, tip

    def frame(seconds: float) -> Canvas:
        canvas = room.copy()
        painter = canvas.painter()
        for u, v, size, speed in motes:
            x = width * u + 18 * math.sin(seconds * (0.6 + speed) + u * 9)
            y = (height * v + seconds * 16 * (0.4 + speed)) % height
            painter.setBrush(colour("#ffdca6", 0.10 + 0.25 * size * max(0.0, 1 - abs(x - 480) / 420)))
            painter.drawEllipse(QPointF(x, y), 0.8 + 1.5 * size, 0.8 + 1.5 * size)
        points, tip = corners(seconds)
        near = smooth(seconds, 0.7, 1.5)
        cx = sum(x for x, _ in points) / 4
        shade(painter, cx, 462, 330 - 90 * near, 56 - 8 * near, 0.25 + 0.35 * near, "#0c0704")
        painter.save()
        if things.placed(painter, points):
            things.ticket(painter, amb, shade=0.75 * max(0.0, math.sin(tip)) * (1 - 0.6 * near))
        painter.restore()
        painter.end()
        return canvas

    return frame


def hands_morning_phone(take: Take) -> Shot:
    """Maren gives him 0413 over the counter; filmed by hand."""
    width, height = 1008, 568
    light = replace(sea.morning(), disc=replace(sea.morning().disc, x=260, y=90))
    view = SoftSea(width, height, 230, light, coast("morning"))
    amb = replace(MORNING, gain=0.95, towards=(-0.7, -0.7))
    top = _wood(width, 190, amb, "#c29a68", 23, 95)

    def frame(seconds: float) -> Canvas:
        canvas = view.frame(seconds, 0.02 * seconds)
        painter = canvas.painter()
        painter.drawImage(QPointF(0, 430), top.image)
        painter.fillRect(QRectF(0, 430, width, 5), colour("#fff6e0", 0.7))
        painter.fillRect(
            QRectF(0, 430, width, 140),
            vertical(430, 570, (0, colour("#fff0cc", 0.18)), (1, colour("#0a1418", 0.35))),
        )
        give = smooth(seconds, 0.2, 1.3)
        take_it = smooth(seconds, 1.7, 2.9)
        # His hand from the left, mirrored, behind; hers from the right.
        tx = 612 - 60 * give - 150 * take_it
        ty = 300 - 14 * give + 10 * take_it
        reach = smooth(seconds, 0.7, 1.6)
        painter.save()
        painter.translate(tx - 330 + 40 - 200 * (1 - reach), ty + 44 + 60 * (1 - reach))
        painter.scale(-1.15, 1.15)
        people.holding_hand(painter, PASSENGER, amb, front=False)
        painter.restore()
        let_go = smooth(seconds, 1.75, 2.3)
        hx, hy = tx + 40 + 240 * let_go + 150 * take_it, ty + 44 + 90 * let_go
        painter.save()
        painter.translate(hx, hy)
        painter.scale(1.15, 1.15)
        people.holding_hand(painter, MAREN, amb, front=False)
        painter.restore()
        painter.save()
        painter.translate(tx - 144, ty)
        painter.rotate(-3 + 4 * take_it)
        painter.scale(1.12, 1.12)
        things.ticket(painter, amb, crease=False)
        painter.restore()
        painter.save()
        painter.translate(hx, hy)
        painter.scale(1.15, 1.15)
        people.holding_hand(painter, MAREN, amb, front=True)
        painter.restore()
        painter.save()
        painter.translate(tx - 330 + 40 - 200 * (1 - reach), ty + 44 + 60 * (1 - reach))
        painter.scale(-1.15, 1.15)
        people.holding_hand(painter, PASSENGER, amb, front=True)
        painter.restore()
        painter.end()
        return hand_held(canvas, take, seconds, 3.0)

    return frame


def second_ticket_morning(take: Take) -> Shot:
    """Another ticket on the counter, dated the Tuesday after; his shadow leaves it."""
    width, height = take.width, take.height
    amb = replace(MORNING, tint="#fdf6e6", gain=0.98, towards=(-0.8, -0.6), edge_alpha=0.5)
    wide, tall = 1140, 610
    top = _wood(wide, tall, amb, "#b28a5e", 29, 200)

    def passenger(painter: QPainter) -> None:
        dark = colour("#0c1c24", 0.62)
        figure = flowing(
            [
                (470, 60),
                (520, 40),
                (600, 52),
                (680, 40),
                (730, 60),
                (742, 150),
                (690, 260),
                (660, 300),
                (840, 360),
                (930, 470),
                (960, 700),
                (240, 700),
                (270, 470),
                (360, 360),
                (540, 300),
                (510, 260),
                (458, 150),
            ],
            tight=0.45,
        )
        brim = flowing(
            [(300, 160), (430, 138), (600, 150), (770, 138), (900, 160), (760, 186), (600, 178), (440, 186)],
            tight=0.5,
        )
        painter.fillPath(figure.united(brim), dark)

    cast = still(wide, tall, passenger, clear=True, soft_px=9)
    sun = still(
        wide,
        tall,
        lambda p: p.fillPath(
            straight([(120, -20), (940, -20), (1060, 640), (40, 640)]), colour("#fff0c8", 0.22)
        ),
        clear=True,
        soft_px=16,
    )

    def frame(seconds: float) -> Canvas:
        canvas = Canvas(width, height)
        painter = canvas.painter()
        push = 1 + 0.016 * seconds
        painter.translate(width / 2, height / 2)
        painter.scale(push, push)
        painter.translate(-width / 2, -height / 2)
        painter.drawImage(QPointF(-58, -35), top.image)
        painter.drawImage(QPointF(-58, -35), sun.image)
        cx, cy, angle = 512, 272, 3.5
        painter.save()
        painter.translate(cx + 12, cy + 13)
        painter.rotate(angle)
        painter.scale(1.72, 1.72)
        for k in range(5):
            painter.save()
            painter.scale(1 + k * 0.008, 1 + k * 0.016)
            painter.fillPath(things.ticket_outline(), colour("#101418", 0.09))
            painter.restore()
        painter.restore()
        painter.save()
        painter.translate(cx, cy)
        painter.rotate(angle)
        painter.scale(1.72, 1.72)
        things.ticket(painter, amb, number="0432", date="TUESDAY 8 DECEMBER", crease=False)
        painter.restore()
        leave = smooth(seconds, 1.2, 3.6)
        painter.setOpacity(1 - 0.25 * leave)
        painter.drawImage(QPointF(-58 + 20 * math.sin(seconds * 0.8) - 1000 * leave, -35), cast.image)
        painter.setOpacity(1)
        painter.end()
        return canvas

    return frame


SHOTS = {
    "clock dawn": clock_dawn,
    "roll dawn": roll_dawn,
    "ticket day phone": ticket_day_phone,
    "ticket counter day": ticket_counter_day,
    "machine day": machine_day,
    "printing night": printing_night,
    "strip night": strip_night,
    "ticket falls": ticket_falls,
    "hands morning phone": hands_morning_phone,
    "second ticket morning": second_ticket_morning,
}
