"""The shots in the kiosk and in the back room, with people."""

from __future__ import annotations

import math
from dataclasses import replace

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QPainter, QPen

from making import sea, things
from making.paint import Canvas, colour, flowing, glow, linear, smooth, straight, vertical
from making.people import ILSE, MAREN, PASSENGER, bust
from making.shots_outside import coast
from making.take import Shot, Take, blend, still
from making.things import DAWN, DAY, LAMP, MORNING, NIGHT, Ambience

LAMPLIT = Ambience("#ffcf9a", 0.92, "#ffdfae", (0.3, -0.95), 1.0)
WINDOW = QRectF(214, 74, 596, 262)


def _spines(
    painter: QPainter, x: float, y: float, count: int, amb: Ambience, scale: float = 1.0, seed: int = 0
) -> None:
    """Draws rolls, tins and ledgers on a shelf whose top is y."""
    tones = ("#a2543f", "#d8c9a0", "#5d7f7c", "#c49a55", "#7d6a5a", "#344f5c")
    at = x
    for i in range(count):
        pick = (i * 37 + seed * 13) % 7
        wide, tall = (12 + pick * 2.4) * scale, (30 + (pick * 11) % 23) * scale
        tone = tones[(i + seed) % len(tones)]
        if pick in (2, 5):
            radius = tall * 0.42
            for dx, gain in ((3.0, 0.62), (0.0, 1.0)):
                painter.setBrush(amb("#e6d6ac", gain))
                painter.drawEllipse(QPointF(at + radius + dx * scale, y - radius), radius, radius)
            painter.setBrush(amb("#6b4a30", 0.9))
            painter.drawEllipse(QPointF(at + radius, y - radius), radius * 0.3, radius * 0.3)
            at += radius * 2 + 6 * scale
        else:
            painter.fillRect(
                QRectF(at, y - tall, wide, tall),
                linear(
                    (at, 0), (at + wide, 0), (0, amb(tone, 0.75)), (0.4, amb(tone, 1.05)), (1, amb(tone, 0.7))
                ),
            )
            painter.fillRect(QRectF(at, y - tall * 0.8, wide, 2 * scale), amb("#f0e2bc", 0.8))
            at += wide + 3 * scale


# --- looking out of the kiosk -----------------------------------------------------------


def _room(width: int, height: int, amb: Ambience, lamp: float) -> Canvas:
    """Returns the wall with its counter window, the window cut out."""
    wall = things.boards(width + 40, height + 20, "#5f807c", amb, board_px=44, seed=61)

    def paint(painter: QPainter) -> None:
        painter.save()
        painter.setClipPath(things.cutout(QRectF(0, 0, width + 40, height + 20), [WINDOW.translated(20, 10)]))
        painter.drawImage(0, 0, wall.image)
        painter.translate(20, 10)
        painter.fillRect(
            QRectF(-20, -10, width + 40, 140),
            vertical(-10, 130, (0, colour("#000000", 0.40)), (1, colour("#000000", 0))),
        )
        if not lamp:
            painter.fillRect(QRectF(-20, -10, width + 40, height + 20), colour("#0a141c", 0.28))
        painter.restore()
        painter.translate(20, 10)
        frame = things.cutout(WINDOW.adjusted(-18, -16, 18, 12), [WINDOW])
        painter.fillPath(frame, vertical(60, 350, (0, amb("#c9b48c", 0.9)), (1, amb("#a98d63"))))
        painter.fillPath(things.cutout(WINDOW.adjusted(-3, -3, 3, 0), [WINDOW]), amb("#4a3524"))
        # Shutter box, notices, keys.
        painter.fillRect(
            QRectF(WINDOW.left() - 24, WINDOW.top() - 34, WINDOW.width() + 48, 22),
            vertical(40, 64, (0, amb("#8d9a98")), (1, amb("#4a5656"))),
        )
        for x, y, wide, tall, turn, tone in (
            (66, 150, 74, 96, -2, "#efe6cf"),
            (120, 268, 54, 40, 3, "#e3c98f"),
            (884, 122, 86, 60, 1.5, "#efe6cf"),
            (900, 206, 58, 72, -2, "#d6dccb"),
        ):
            painter.save()
            painter.translate(x, y)
            painter.rotate(turn)
            painter.fillRect(QRectF(3, 4, wide, tall), colour("#000000", 0.25))
            painter.fillRect(QRectF(0, 0, wide, tall), amb(tone))
            for i in range(int(tall / 9) - 2):
                painter.fillRect(QRectF(7, 12 + i * 9, wide - 14 - (i * 13) % 21, 1.8), amb("#5d5a50", 0.9))
            painter.setBrush(amb("#a2432f"))
            painter.drawEllipse(QPointF(wide / 2, 4), 3, 3)
            painter.restore()

    room = still(width + 40, height + 20, paint, clear=True)
    if lamp:
        # Added light must not fill the window: it is scaled by the wall's own cover.
        light = still(width + 40, height + 20, lambda p: glow(p, (532, 130), 560, LAMP, 0.34 * lamp))
        room.px[..., :3] += light.px[..., :3] * room.px[..., 3:4]
    return room


def _counter(
    painter: QPainter, width: int, height: int, amb: Ambience, top: float, shift: float = 0.0
) -> None:
    painter.fillRect(
        QRectF(0, top, width, 16), vertical(top, top + 16, (0, amb("#d3a873", 1.12)), (1, amb("#8d6740")))
    )
    painter.fillRect(
        QRectF(0, top + 16, width, height - top),
        vertical(top + 16, height, (0, amb("#4a3626", 0.9)), (1, amb("#1d150f", 0.9))),
    )
    for i in range(9):
        painter.fillRect(QRectF(40 + i * 128 - shift, top + 20, 2, height), colour("#000000", 0.28))


def looking_out_dawn(take: Take) -> Shot:
    """Ilse lights the lamp and says so; Maren does not look up."""
    width, height = take.width, take.height
    view = sea.Seascape(width, height, 222, sea.dawn(), coast("dawn"), camera_m=4, shore_y=352)
    cold, warm = _room(width, height, DAWN, 0.0), _room(width, height, blend(DAWN, LAMPLIT, 0.72), 1.0)

    def frame(seconds: float) -> Canvas:
        lit = smooth(seconds, 1.15, 2.1)
        alive = things.flicker(seconds)
        move = 0.06 * seconds
        near = -8 + seconds * 3.0
        canvas = view.frame(seconds, move)
        painter = canvas.painter()
        things.far_gull(painter, 420 + seconds * 16, 130, 8, seconds * 1.2, DAWN("#40525a", 0.9, 0.8))
        painter.drawImage(QPointF(-20 + near * 0.3, -10), cold.image)
        painter.setOpacity(lit)
        painter.drawImage(QPointF(-20 + near * 0.3, -10), warm.image)
        painter.setOpacity(1)
        amb = blend(DAWN, LAMPLIT, 0.75 * lit)
        things.hanging_lamp(
            painter,
            512 + near * 0.5,
            106,
            52,
            amb,
            lit * alive,
            cord_px=140,
            sway=0.8 * math.sin(seconds * 1.9) * (1 - smooth(seconds, 1, 6) * 0.5),
        )
        _counter(painter, width, height, amb, 404, near)
        things.machine(painter, 506 + near * 0.8, 408, 0.62, amb, 40)
        things.roll(painter, 400 + near * 0.8, 378, 28, amb, 12, depth_px=16)
        things.mug(painter, 622 + near * 0.8, 409, 34, amb, seconds, steam=0.22)
        glow(painter, (512, 410), 330, LAMP, 0.20 * lit * alive, squash=0.22)
        maren_light = replace(blend(DAWN, LAMPLIT, 0.62 * lit), towards=(0.8, -0.5))
        bust(
            painter,
            MAREN,
            166 + near * 1.6,
            236,
            172,
            maren_light,
            facing=1,
            seconds=seconds,
            lids=1.0,
            nod=7 + math.sin(seconds * 0.8),
            rim_px=3,
        )
        ilse_light = replace(blend(DAWN, LAMPLIT, 0.7 * lit), towards=(-0.8, -0.5))
        look = smooth(seconds, 0.2, 0.9) - smooth(seconds, 1.5, 2.3)
        bust(
            painter,
            ILSE,
            842 + near * 1.4,
            214,
            168,
            ilse_light,
            facing=-1,
            seconds=seconds + 1,
            mouth=take.mouth("ILSE", seconds),
            nod=-7 * look,
            rim_px=3,
        )
        painter.end()
        return canvas

    return frame


def looking_out_morning(take: Take) -> Shot:
    """Next Tuesday: the passenger is at the window; Maren's back is to us."""
    width, height = take.width, take.height
    light = replace(sea.morning(), disc=replace(sea.morning().disc, x=330, y=128))
    view = sea.Seascape(width, height, 214, light, coast("morning"), camera_m=4, shore_y=352)
    amb = replace(MORNING, gain=0.62)
    room = _room(width, height, amb, 0.12)

    def frame(seconds: float) -> Canvas:
        near = 10 - seconds * 3.4
        canvas = view.frame(seconds, 0.3 - 0.05 * seconds)
        painter = canvas.painter()

        def boat(x: float) -> None:
            things.ferry(painter, x, 228, 150, MORNING, facing=-1, haze="#f0e6cc", haze_amount=0.2)

        boat(330 - seconds * 3)
        painter.save()
        painter.setClipRect(WINDOW.translated(near * 0.3, 0))
        step = smooth(seconds, 0.0, 1.2)
        outside = replace(MORNING, towards=(-0.9, -0.5), gain=0.9)
        bust(
            painter,
            PASSENGER,
            634 - 34 * step + near * 0.2,
            190,
            116,
            outside,
            facing=-1,
            seconds=seconds,
            mouth=take.mouth("PASSENGER", seconds),
            nod=2,
            wind=0.3,
            rim_px=2.6,
        )
        painter.restore()
        painter.drawImage(QPointF(-20 + near * 0.3, -10), room.image)
        # Sun from the window across sill and counter.
        _counter(painter, width, height, amb, 404, near)
        painter.fillPath(
            straight([(300 + near, 404), (760 + near, 404), (880 + near, 420), (330 + near, 420)]),
            colour("#fff0cc", 0.55),
        )
        things.machine(painter, 700 + near * 0.8, 408, 0.62, amb, 40)
        things.roll(painter, 824 + near * 0.8, 378, 28, amb, 12, depth_px=16)
        things.mug(painter, 606 + near * 0.8, 409, 32, amb, seconds, steam=0.14)
        glow(painter, (500, 210), 420, "#fff2d4", 0.10)
        bust(
            painter,
            MAREN,
            214 + near * 1.9,
            232,
            196,
            replace(amb, towards=(0.9, -0.35), edge_alpha=0.95),
            facing=1,
            seconds=seconds,
            nod=-3 + 1.5 * math.sin(seconds * 0.7),
            rim_px=3.6,
        )
        painter.end()
        return canvas

    return frame


# --- looking in ----------------------------------------------------------------------------


def looking_in_day(take: Take) -> Shot:
    """Both sisters behind the counter, seen from outside; the ticket lies between them."""
    width, height = take.width, take.height
    room_light = replace(DAY, tint="#ffe9c8", gain=0.80, towards=(0.2, -1.0))
    wall = things.boards(width, height, "#4f7f83", DAY, board_px=52, seed=71)
    back_wall = things.boards(width, height, "#9a7d58", replace(room_light, gain=0.44), board_px=36, seed=72)
    opening = QRectF(96, 60, 832, 346)

    def inside(painter: QPainter) -> None:
        painter.drawImage(0, 0, back_wall.image)
        dim = replace(room_light, gain=0.50)
        for y in (166, 262):
            for x, seed in ((130, 1), (640, 4)):
                _spines(painter, x, y, 11, dim, 1.0, seed + y % 5)
            painter.fillRect(QRectF(110, y, 330, 8), dim("#7a5636", 1.1))
            painter.fillRect(QRectF(620, y, 330, 8), dim("#7a5636", 1.1))
        things.clock(painter, 522, 150, 50, 12 + 20 / 60, 8, dim)
        glow(painter, (520, 60), 560, "#ffd9a0", 0.22)

    behind = still(width, height, inside, soft_px=3.2)

    def facade(painter: QPainter) -> None:
        painter.save()
        painter.setClipPath(things.cutout(QRectF(0, 0, width, height), [opening]))
        painter.drawImage(0, 0, wall.image)
        painter.restore()
        painter.fillPath(
            things.cutout(opening.adjusted(-20, -18, 20, 14), [opening]),
            vertical(40, 420, (0, DAY("#f1e9d4", 0.92)), (1, DAY("#fbf3de"))),
        )
        painter.fillRect(
            QRectF(0, 0, width, 46),
            vertical(0, 46, (0, DAY("#6d7a78")), (0.8, DAY("#97a3a0")), (1, DAY("#4a5656"))),
        )
        for y in range(4, 44, 9):
            painter.fillRect(QRectF(0, y, width, 2), colour("#1c2626", 0.35))
        painter.fillRect(
            QRectF(96, 60, 832, 44),
            vertical(60, 104, (0, colour("#0a0f12", 0.55)), (1, colour("#0a0f12", 0))),
        )
        painter.fillRect(
            QRectF(0, 410, width, 24), vertical(410, 434, (0, DAY("#d8ad76", 1.15)), (1, DAY("#a27a4c")))
        )
        painter.fillRect(QRectF(0, 434, width, 10), DAY("#4a3524"))
        painter.fillRect(
            QRectF(0, 444, width, 40),
            vertical(444, 484, (0, colour("#000000", 0.45)), (1, colour("#000000", 0))),
        )

    front = still(width, height, facade, clear=True)

    def frame(seconds: float) -> Canvas:
        drift = -5 + seconds * 2.2
        canvas = Canvas(width, height)
        painter = canvas.painter()
        painter.drawImage(QPointF(drift * 0.6, 0), behind.image)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        things.hanging_lamp(
            painter, 524 + drift * 0.5, 92, 40, room_light, 0.35 * things.flicker(seconds), cord_px=60
        )
        down = 1.0 if seconds < 2.1 or seconds > 3.4 else 0.0
        bust(
            painter,
            MAREN,
            322 + drift * 0.2,
            206,
            148,
            replace(room_light, towards=(0.7, -0.7)),
            facing=1,
            seconds=seconds,
            mouth=take.mouth("MAREN", seconds),
            nod=8 + math.sin(seconds),
            lids=down,
        )
        look = smooth(seconds, 1.6, 2.3)
        bust(
            painter,
            ILSE,
            716 + drift * 0.2,
            214,
            146,
            replace(room_light, towards=(-0.7, -0.7)),
            facing=-1,
            seconds=seconds + 1,
            mouth=take.mouth("ILSE", seconds),
            nod=9 - 9 * look,
            lids=1.0 - look if look < 0.5 else 0.0,
        )
        painter.drawImage(0, 0, front.image)
        # The ticket on the counter, small and in the middle of everything.
        painter.save()
        painter.fillPath(straight([(470, 416), (566, 414), (578, 429), (464, 431)]), colour("#3a2412", 0.35))
        if things.placed(painter, [(474, 411), (560, 410), (572, 426), (468, 428)]):
            things.ticket(painter, DAY)
        painter.restore()
        painter.end()
        return canvas

    return frame


def _close_room(
    width: int,
    height: int,
    amb: Ambience,
    *,
    lamp_at: tuple[float, float] | None = None,
    window: bool = False,
) -> Canvas:
    wall = things.boards(width, height, "#8a6f50", amb, board_px=58, seed=83)

    def paint(painter: QPainter) -> None:
        painter.drawImage(0, 0, wall.image)
        for y in (150, 300):
            _spines(painter, 560, y, 14, amb, 1.7, y)
            painter.fillRect(QRectF(540, y, 500, 12), amb("#6b4a30"))
        if window:
            painter.fillRect(
                QRectF(0, 60, 150, 330),
                vertical(
                    60,
                    390,
                    (0, colour("#b9d0d2")),
                    (0.55, colour("#f3ead0")),
                    (0.56, colour("#7f9fa2")),
                    (1, colour("#5f868c")),
                ),
            )
        if lamp_at:
            glow(painter, lamp_at, 420, LAMP, 0.55)
            glow(painter, lamp_at, 60, "#fff0d0", 1.3)

    return still(width, height, paint, soft_px=11)


def maren_day_close(take: Take) -> Shot:
    """Maren says where the roll is."""
    width, height = take.width, take.height
    amb = replace(DAY, tint="#ffeed4", gain=0.92, towards=(-0.9, -0.35), edge_alpha=0.8)
    room = _close_room(width, height, replace(DAY, tint="#f4dcb4", gain=0.50), window=True)

    def frame(seconds: float) -> Canvas:
        canvas = room.copy()
        painter = canvas.painter()
        glow(painter, (40, 210), 460, "#fff1d6", 0.30)
        lift = smooth(seconds, 0.15, 0.9)
        bust(
            painter,
            MAREN,
            478 - seconds * 2.5,
            212,
            236,
            amb,
            facing=-1,
            seconds=seconds,
            mouth=take.mouth("MAREN", seconds),
            nod=9 - 10 * lift,
            lids=1.0 if lift < 0.4 else 0.0,
            rim_px=4,
        )
        painter.end()
        return canvas

    return frame


def maren_morning_close(take: Take) -> Shot:
    """Maren knows the number before she prints it."""
    width, height = take.width, take.height
    amb = replace(MORNING, tint="#eef4f0", gain=0.94, towards=(0.95, -0.3), edge_alpha=1.0)
    room = _close_room(width, height, replace(MORNING, tint="#cfd9d2", gain=0.46))

    def frame(seconds: float) -> Canvas:
        canvas = room.copy()
        painter = canvas.painter()
        painter.fillRect(
            QRectF(0, 0, width, height),
            linear((0, 0), (width, 0), (0.3, colour("#0a1a20", 0.34)), (1, colour("#fff3d8", 0.16))),
        )
        glow(painter, (1010, 200), 520, "#fff1d6", 0.36)
        lift = smooth(seconds, 0.3, 1.2)
        bust(
            painter,
            MAREN,
            430 + seconds * 3,
            208,
            252,
            amb,
            facing=1,
            seconds=seconds,
            mouth=take.mouth("MAREN", seconds),
            nod=8 - 8 * lift,
            lids=1.0 if lift < 0.45 or 3.1 < seconds < 3.25 else 0.0,
            rim_px=4.4,
        )
        painter.end()
        return canvas

    return frame


# --- the back room -------------------------------------------------------------------------


def _strip(
    painter: QPainter,
    points: list[tuple[float, float]],
    amb: Ambience,
    width_px: float,
    count: int,
    travel: float,
) -> None:
    """Draws a paper strip with perforations along a curve."""
    path = flowing(points, closed=False)
    pen = QPen(QBrush(colour("#1a0f08", 0.4)), width_px)
    painter.strokePath(path.translated(3, 6), pen)
    pen.setBrush(QBrush(amb("#f1e3bf", 1.02)))
    painter.strokePath(path, pen)
    for i in range(count):
        part = ((i + travel) / count) % 1.0
        at = path.pointAtPercent(part)
        angle = math.radians(path.angleAtPercent(part))
        nx, ny = math.sin(angle) * width_px / 2, math.cos(angle) * width_px / 2
        painter.setPen(QPen(QBrush(amb("#8a744c", 0.9, 0.8)), 1.3))
        painter.drawLine(QPointF(at.x() - nx, at.y() - ny), QPointF(at.x() + nx, at.y() + ny))
    painter.setPen(Qt.PenStyle.NoPen)


def back_room_wide(take: Take) -> Shot:
    """One lamp, one table, the roll unwound between the sisters."""
    width, height = take.width, take.height
    dim = replace(NIGHT, tint="#a98f86", gain=0.36)
    wall = things.boards(width, height, "#8a6f5c", dim, board_px=48, seed=91)

    def paint(painter: QPainter) -> None:
        painter.drawImage(0, 0, wall.image)
        # A window with the moon in it.
        pane = QRectF(96, 74, 150, 172)
        painter.fillRect(pane.adjusted(-12, -12, 12, 12), dim("#b89a6c", 1.1))
        painter.fillRect(
            pane,
            vertical(
                74,
                246,
                (0, colour("#10203a")),
                (0.7, colour("#2c4a66")),
                (0.71, colour("#182c40")),
                (1, colour("#0e1c2c")),
            ),
        )
        painter.setBrush(colour("#e8eef2", 1, 1.05))
        painter.drawEllipse(QPointF(200, 116), 15, 15)
        glow(painter, (200, 116), 80, "#9fbad6", 0.35)
        for k in range(5):
            painter.fillRect(
                QRectF(196 - k * 2, 208 + k * 8, 8 + k * 4, 1.8), colour("#c9d6e2", 0.7 - 0.1 * k)
            )
        painter.fillRect(QRectF(168, 74, 6, 172), dim("#b89a6c", 1.0))
        painter.fillRect(QRectF(96, 156, 150, 6), dim("#b89a6c", 1.0))
        painter.fillRect(QRectF(78, 256, 186, 9), dim("#c9aa78", 1.2))
        for y in (130, 218):
            _spines(painter, 742, y, 11, dim, 1.05, y % 7)
            painter.fillRect(QRectF(722, y, 260, 8), dim("#7a5636", 1.3))
        things.clock(painter, 640, 116, 34, 11 + 12 / 60, 4, dim)
        glow(painter, (512, 190), 520, LAMP, 0.34)

    room = still(width, height, paint)

    def frame(seconds: float) -> Canvas:
        alive = things.flicker(seconds)
        drift = -5 + seconds * 2
        canvas = Canvas(width, height)
        painter = canvas.painter()
        painter.drawImage(QPointF(drift * 0.3, 0), room.image)
        left = replace(LAMPLIT, tint="#ffc78c", gain=0.80, towards=(0.85, -0.6))
        right = replace(left, towards=(-0.85, -0.6))
        count = seconds * 1.1
        bust(
            painter,
            MAREN,
            250 - drift * 0.4,
            250,
            146,
            left,
            facing=1,
            seconds=seconds,
            mouth=take.mouth("MAREN", seconds),
            nod=12 + 1.5 * math.sin(count * 2),
            lids=1.0,
            lean=5,
            rim_px=3,
        )
        look = smooth(seconds, 3.6, 4.3)
        bust(
            painter,
            ILSE,
            778 - drift * 0.4,
            252,
            144,
            right,
            facing=-1,
            seconds=seconds + 1.4,
            mouth=take.mouth("ILSE", seconds),
            nod=10 - 10 * look,
            lids=1.0 if look < 0.5 else 0.0,
            lean=4,
            rim_px=3,
        )
        # The table in the lamp's light.
        top = straight([(96, 420), (928, 420), (1060, 560), (-36, 560)])
        painter.fillPath(
            top, linear((512, 420), (512, 560), (0, LAMPLIT("#a8784a", 0.9)), (1, LAMPLIT("#5a3a22", 0.7)))
        )
        painter.save()
        painter.setClipPath(top)
        glow(painter, (512, 452), 430, LAMP, 0.62 * alive, squash=0.32)
        for k in range(6):
            painter.setPen(QPen(QBrush(colour("#2a160a", 0.26)), 1.4))
            painter.drawLine(QPointF(512 + (k - 2.5) * 160, 420), QPointF(512 + (k - 2.5) * 214, 560))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.restore()
        painter.fillRect(QRectF(96, 418, 832, 3), colour("#ffdca6", 0.5))
        travel = things.eased_step(seconds, 1.25, 1.0)
        _strip(
            painter,
            [
                (330, 446),
                (420, 462),
                (470, 502),
                (390, 524),
                (330, 496),
                (430, 470),
                (560, 462),
                (640, 488),
                (700, 516),
                (780, 496),
                (742, 466),
                (660, 458),
            ],
            LAMPLIT,
            23,
            26,
            travel,
        )
        things.roll(painter, 614, 432, 31, LAMPLIT, -travel * 40, depth_px=18)
        things.mug(painter, 566, 540, 40, LAMPLIT, seconds, steam=0.10)
        for hx, hy, facing, person in ((352, 446, 1, MAREN), (700, 452, -1, ILSE)):
            painter.save()
            painter.translate(hx + (6 * math.sin(count * 3.1) if facing == 1 else 0), hy)
            painter.scale(facing, 1)
            pen = QPen(
                linear(
                    (-170, -60),
                    (0, 20),
                    (0, left(person.coat_dark)),
                    (0.55, left(person.coat, 0.8)),
                    (1, left(person.coat)),
                ),
                52,
            )
            pen.setCapStyle(Qt.PenCapStyle.RoundCap)
            pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
            painter.setBrush(colour("#120a06", 0.35))
            painter.drawEllipse(QPointF(-80, 28), 96, 9)
            painter.strokePath(flowing([(-176, -86), (-178, -30), (-140, 6), (-36, 2)], closed=False), pen)
            painter.setPen(Qt.PenStyle.NoPen)
            painter.fillPath(
                flowing(
                    [(-34, -18), (0, -18), (30, -8), (34, 2), (12, 10), (-12, 16), (-34, 16)], tight=0.45
                ),
                left(person.skin, 1.0),
            )
            painter.restore()
        things.hanging_lamp(
            painter, 512, 118, 66, LAMPLIT, 0.95 * alive, cord_px=170, sway=0.5 * math.sin(seconds * 1.3)
        )
        things.cone(painter, (512, 122), 452, 330, LAMP, 0.55 * alive)
        painter.fillRect(
            QRectF(0, 0, width, height),
            vertical(
                0,
                height,
                (0, colour("#04060a", 0.30)),
                (0.25, colour("#04060a", 0)),
                (1, colour("#04060a", 0.18)),
            ),
        )
        painter.end()
        return canvas

    return frame


def maren_night_close(take: Take) -> Shot:
    """Maren counts past the number that is not there."""
    width, height = take.width, take.height
    amb = Ambience("#ffc58c", 0.86, "#ffdda8", (0.55, -0.9), 1.0)
    room = _close_room(width, height, replace(NIGHT, tint="#a98f86", gain=0.30))

    def frame(seconds: float) -> Canvas:
        alive = things.flicker(seconds)
        canvas = room.copy()
        painter = canvas.painter()
        glow(painter, (830, 20), 560, LAMP, 0.42 * alive)
        glow(painter, (700, 540), 420, LAMP, 0.22 * alive, squash=0.5)
        halt = smooth(seconds, 0.9, 1.5)
        rise = smooth(seconds, 2.4, 3.2)
        bust(
            painter,
            MAREN,
            410 + 6 * halt + seconds * 2.5,
            222,
            244,
            replace(amb, gain=amb.gain * alive),
            facing=1,
            seconds=seconds,
            mouth=take.mouth("MAREN", seconds),
            nod=13 - 5 * halt - 8 * rise,
            lids=1.0 if rise < 0.45 else 0.0,
            lean=4 - 2 * rise,
            rim_px=4.2,
        )
        painter.end()
        return canvas

    return frame


SHOTS = {
    "looking out dawn": looking_out_dawn,
    "looking out morning": looking_out_morning,
    "looking in day": looking_in_day,
    "maren day close": maren_day_close,
    "maren morning close": maren_morning_close,
    "back room wide": back_room_wide,
    "maren night close": maren_night_close,
}
