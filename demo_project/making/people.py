"""The three people of the film, small in a landscape or close in profile, and their hands."""

from __future__ import annotations

import math
from dataclasses import dataclass

from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QBrush, QPainter, QPainterPath, QPen, QRadialGradient

from making.paint import Point, colour, flowing, linear, rim_lit, shade, straight, vertical
from making.things import Ambience


@dataclass(frozen=True, slots=True)
class Person:
    """What somebody wears.

    Attributes:
        coat, coat_dark: cloth in light and in shade.
        skin, skin_dark: the same for the face.
        hair: colour of the hair.
        accent: scarf, cap or hat.
        kind: 'scarf', 'cap' or 'hat'.
    """

    coat: str
    coat_dark: str
    skin: str
    skin_dark: str
    hair: str
    accent: str
    accent_dark: str
    kind: str


MAREN = Person("#54485a", "#2c2734", "#e2b595", "#a97a66", "#3d2820", "#bf5330", "#82341f", "scarf")
ILSE = Person("#d8a43a", "#93672a", "#e6bb9a", "#b08368", "#a8683c", "#2b4763", "#182a3d", "cap")
PASSENGER = Person("#8f8672", "#524c43", "#d9ac8d", "#9d7460", "#b8b2a6", "#4a4440", "#2a2725", "hat")


def _limb(painter: QPainter, points: list[Point], tone: QBrush, width: float) -> None:
    pen = QPen(tone, width)
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    painter.strokePath(flowing(points, closed=False, tight=0.6), pen)


def figure(
    painter: QPainter,
    person: Person,
    x: float,
    y: float,
    height_px: float,
    amb: Ambience,
    *,
    facing: int = 1,
    step: float | None = None,
    near_hand: Point = (0.07, -0.50),
    far_hand: Point = (-0.02, -0.50),
    lean: float = 0.0,
    wind: float = 0.0,
    seconds: float = 0.0,
    case: bool = False,
    rim_px: float = 1.6,
) -> None:
    """Draws a whole person, feet at x, y.

    Args:
        painter: painter on the canvas.
        person: who.
        x, y: place of the feet.
        height_px: from feet to crown.
        amb: light.
        facing: 1 to the right, -1 to the left.
        step: phase of the walk in turns; None stands.
        near_hand, far_hand: where the hands are, in heights, forward and up (negative).
        lean: degrees forward.
        wind: how far scarf and hem blow back, 0 to 1.
        seconds: time, for what the wind moves.
        case: True for a suitcase in the near hand.
        rim_px: width of the lit edge.
    """
    painter.save()
    painter.translate(x, y)
    painter.scale(facing * height_px, height_px)
    towards = (amb.towards[0] * facing, amb.towards[1])
    rim = rim_px / height_px
    bob = abs(math.sin(2 * math.pi * step)) * 0.008 if step is not None else 0.0
    swing = math.sin(2 * math.pi * step) * 0.085 if step is not None else 0.0
    breath = math.sin(seconds * 1.5) * 0.0016
    cloth = linear(
        (-0.13, 0),
        (0.13, 0),
        (0, amb(person.coat_dark)),
        (0.75, amb(person.coat)),
        (1, amb(person.coat, 1.08)),
    )
    dark = QBrush(amb(person.coat_dark, 0.85))
    leg = amb("#2b2f36" if person.kind != "hat" else "#35322d")
    # A soft shadow on the ground.
    shade(painter, 0.01, 0.0, 0.20, 0.022, 0.34)
    # Legs and shoes.
    for side in (-1, 1):
        foot = side * swing if step is not None else side * 0.035
        lift = max(0.0, math.cos(2 * math.pi * step) * side) * 0.03 if step is not None else 0.0
        _limb(
            painter,
            [(side * 0.02, -0.45), (foot * 0.55 + 0.012, -0.22), (foot, -0.03 - lift)],
            QBrush(leg),
            0.062 if person.kind == "cap" else 0.05,
        )
        shoe = flowing(
            [
                (foot - 0.035, 0.0 - lift),
                (foot - 0.03, -0.045 - lift),
                (foot + 0.02, -0.04 - lift),
                (foot + 0.066, -0.012 - lift),
                (foot + 0.066, 0.0 - lift),
            ],
            tight=0.4,
        )
        painter.fillPath(shoe, amb("#1d1f22" if person.kind != "cap" else "#2f4a3c"))
    painter.translate(0, -bob)
    painter.rotate(lean)
    # Far arm behind the body.
    elbow = ((far_hand[0] + 0.0) * 0.45 - 0.03, (-0.80 + far_hand[1]) / 2)
    _limb(painter, [(0.0, -0.80), elbow, far_hand], dark, 0.062)
    painter.setBrush(amb(person.skin_dark))
    painter.drawEllipse(QPointF(far_hand[0] + 0.008, far_hand[1]), 0.021, 0.021)
    sway = wind * (0.6 + 0.4 * math.sin(seconds * 3.1))
    if person.kind == "scarf":
        tail = [
            (-0.05, -0.85),
            (-0.12 - 0.10 * sway, -0.83 + 0.02 * math.sin(seconds * 4.2)),
            (-0.17 - 0.20 * sway, -0.75 + 0.03 * math.sin(seconds * 4.2 - 1.2) - 0.05 * sway),
            (-0.13 - 0.20 * sway, -0.70),
            (-0.10 - 0.08 * sway, -0.78),
            (-0.04, -0.81),
        ]
        painter.fillPath(flowing(tail), amb(person.accent_dark))
        coat = flowing(
            [
                (-0.055, -0.85),
                (-0.108, -0.79),
                (-0.098, -0.62),
                (-0.135 - 0.02 * sway, -0.40),
                (-0.165 - 0.06 * sway, -0.21),
                (-0.02, -0.195),
                (0.128 - 0.03 * sway, -0.21),
                (0.10, -0.42),
                (0.088, -0.60),
                (0.105, -0.76),
                (0.055, -0.85 - breath),
            ],
            tight=0.45,
        )
    elif person.kind == "cap":
        coat = flowing(
            [
                (-0.06, -0.855),
                (-0.12, -0.80),
                (-0.118, -0.62),
                (-0.128, -0.45),
                (-0.02, -0.435),
                (0.118, -0.45),
                (0.108, -0.62),
                (0.112, -0.79),
                (0.06, -0.855 - breath),
            ],
            tight=0.42,
        )
    else:
        coat = flowing(
            [
                (-0.06, -0.86),
                (-0.122, -0.80),
                (-0.115, -0.60),
                (-0.12 - 0.02 * sway, -0.36),
                (-0.14 - 0.07 * sway, -0.155),
                (-0.02, -0.14),
                (0.102 - 0.03 * sway, -0.15),
                (0.10, -0.40),
                (0.10, -0.62),
                (0.112, -0.79),
                (0.06, -0.86 - breath),
            ],
            tight=0.42,
        )
    rim_lit(painter, coat, cloth, amb.edge(), towards, rim)
    if person.kind == "hat":
        painter.strokePath(
            flowing([(0.035, -0.80), (0.03, -0.5), (0.02 - 0.03 * sway, -0.16)], closed=False),
            QPen(dark, 0.008),
        )
    if person.kind == "cap":
        painter.fillRect(-0.118, -0.475, 0.232, 0.018, dark)
    # Neck and head.
    painter.fillPath(
        straight([(-0.028, -0.84), (-0.03, -0.89), (0.03, -0.89), (0.028, -0.84)]), amb(person.skin_dark)
    )
    face = flowing(
        [
            (-0.045, -0.945),
            (-0.03, -0.99),
            (0.02, -0.995),
            (0.050, -0.965),
            (0.052, -0.935),
            (0.064, -0.920),
            (0.052, -0.908),
            (0.047, -0.885),
            (0.02, -0.868),
            (-0.02, -0.88),
            (-0.042, -0.91),
        ],
        tight=0.5,
    )
    rim_lit(
        painter,
        face,
        linear((-0.05, 0), (0.06, 0), (0, amb(person.skin_dark)), (0.8, amb(person.skin))),
        amb.edge(1.05),
        towards,
        rim * 0.8,
    )
    if person.kind == "scarf":
        painter.fillPath(
            flowing(
                [
                    (0.03, -0.995),
                    (-0.02, -1.005),
                    (-0.058, -0.975),
                    (-0.056, -0.915),
                    (-0.035, -0.885),
                    (-0.018, -0.915),
                    (0.0, -0.96),
                    (0.045, -0.975),
                ],
                tight=0.5,
            ),
            amb(person.hair),
        )
        painter.setBrush(amb(person.hair))
        painter.drawEllipse(QPointF(-0.066, -0.955), 0.027, 0.027)
        wrap = flowing(
            [
                (-0.072, -0.865),
                (-0.05, -0.892),
                (0.01, -0.885),
                (0.062, -0.893),
                (0.078, -0.862),
                (0.06, -0.828),
                (0.0, -0.815),
                (-0.06, -0.828),
            ],
            tight=0.5,
        )
        rim_lit(
            painter,
            wrap,
            linear((-0.07, 0), (0.08, 0), (0, amb(person.accent_dark)), (0.7, amb(person.accent))),
            amb.edge(),
            towards,
            rim,
        )
        painter.fillPath(
            flowing(
                [
                    (0.02, -0.84),
                    (0.062, -0.84),
                    (0.07, -0.72),
                    (0.055, -0.64),
                    (0.02, -0.645),
                    (0.025, -0.74),
                ],
                tight=0.4,
            ),
            amb(person.accent, 0.92),
        )
    elif person.kind == "cap":
        painter.fillPath(
            flowing(
                [(-0.055, -0.955), (-0.058, -0.90), (-0.04, -0.868), (-0.012, -0.885), (-0.008, -0.945)],
                tight=0.5,
            ),
            amb(person.hair),
        )
        cap = flowing(
            [
                (-0.068, -0.952),
                (-0.062, -0.995),
                (-0.01, -1.018),
                (0.045, -1.002),
                (0.058, -0.962),
                (0.0, -0.948),
            ],
            tight=0.5,
        )
        rim_lit(
            painter,
            cap,
            linear((-0.06, 0), (0.06, 0), (0, amb(person.accent_dark)), (0.8, amb(person.accent))),
            amb.edge(),
            towards,
            rim,
        )
        painter.fillPath(
            flowing(
                [(0.03, -0.968), (0.06, -0.972), (0.098, -0.955), (0.06, -0.952), (0.03, -0.954)], tight=0.4
            ),
            amb(person.accent_dark, 1.1),
        )
        painter.fillPath(
            flowing(
                [
                    (-0.06, -0.86),
                    (-0.02, -0.875),
                    (0.05, -0.868),
                    (0.07, -0.845),
                    (0.02, -0.83),
                    (-0.06, -0.835),
                ],
                tight=0.5,
            ),
            amb(person.coat_dark, 1.15),
        )
    else:
        painter.fillPath(
            flowing(
                [(-0.05, -0.955), (-0.05, -0.91), (-0.03, -0.885), (-0.014, -0.91), (-0.01, -0.955)],
                tight=0.5,
            ),
            amb(person.hair),
        )
        painter.fillPath(
            flowing(
                [
                    (0.052, -0.90),
                    (0.05, -0.872),
                    (0.015, -0.858),
                    (-0.012, -0.885),
                    (0.01, -0.895),
                    (0.03, -0.905),
                ],
                tight=0.5,
            ),
            amb(person.hair, 0.92),
        )
        crown = flowing(
            [
                (-0.058, -0.962),
                (-0.052, -1.015),
                (-0.015, -1.03),
                (0.03, -1.026),
                (0.052, -1.005),
                (0.058, -0.962),
            ],
            tight=0.4,
        )
        rim_lit(
            painter,
            crown,
            linear((-0.06, 0), (0.06, 0), (0, amb(person.accent_dark)), (0.8, amb(person.accent))),
            amb.edge(),
            towards,
            rim,
        )
        painter.fillPath(
            flowing(
                [
                    (-0.10, -0.965),
                    (-0.05, -0.978),
                    (0.06, -0.976),
                    (0.102, -0.955),
                    (0.05, -0.952),
                    (-0.05, -0.954),
                ],
                tight=0.5,
            ),
            amb(person.accent_dark, 1.25),
        )
        collar = flowing(
            [
                (-0.07, -0.84),
                (-0.058, -0.915),
                (-0.02, -0.885),
                (0.03, -0.872),
                (0.062, -0.888),
                (0.07, -0.83),
            ],
            tight=0.35,
        )
        rim_lit(painter, collar, cloth, amb.edge(), towards, rim)
    # Near arm.
    if case:
        hand = near_hand
        painter.save()
        painter.translate(hand[0], hand[1])
        painter.rotate(4 * math.sin(2 * math.pi * (step or 0)))
        painter.fillPath(
            straight([(-0.11, 0.02), (0.11, 0.02), (0.115, 0.20), (-0.115, 0.20)]),
            linear((-0.1, 0), (0.1, 0), (0, amb("#5a3826")), (1, amb("#9a6540"))),
        )
        painter.fillRect(-0.07, 0.02, 0.014, 0.18, amb("#3d2618"))
        painter.fillRect(0.055, 0.02, 0.014, 0.18, amb("#3d2618"))
        painter.restore()
    elbow = (near_hand[0] * 0.42 - 0.035, (-0.80 + near_hand[1]) / 2 + 0.02)
    sleeve = linear((-0.08, 0), (0.1, 0), (0, amb(person.coat_dark)), (1, amb(person.coat, 1.02)))
    _limb(painter, [(-0.012, -0.79), elbow, near_hand], QBrush(amb(person.coat_dark, 0.9)), 0.076)
    _limb(painter, [(-0.008, -0.79), (elbow[0] + 0.004, elbow[1]), near_hand], sleeve, 0.066)
    painter.setBrush(amb(person.skin))
    painter.drawEllipse(QPointF(near_hand[0] + 0.004, near_hand[1] + 0.008), 0.024, 0.024)
    painter.restore()


# --- close, in profile -------------------------------------------------------------------

_PROFILE: tuple[Point, ...] = (
    (0.20, -0.43),
    (0.305, -0.27),
    (0.335, -0.13),
    (0.318, -0.055),
    (0.358, 0.045),
    (0.418, 0.125),
    (0.392, 0.165),
    (0.335, 0.182),
    (0.352, 0.222),
    (0.372, 0.246),
    (0.338, 0.268),
)
_JAW: tuple[Point, ...] = (
    (0.352, 0.296),
    (0.318, 0.335),
    (0.336, 0.385),
    (0.308, 0.448),
    (0.225, 0.478),
    (0.10, 0.44),
    (0.02, 0.40),
)
_NECK: tuple[Point, ...] = (
    (0.045, 0.58),
    (0.09, 0.80),
    (-0.34, 0.80),
    (-0.30, 0.45),
    (-0.33, 0.25),
    (-0.43, 0.02),
    (-0.42, -0.24),
    (-0.26, -0.45),
    (-0.02, -0.52),
)


def bust(
    painter: QPainter,
    person: Person,
    x: float,
    y: float,
    head_px: float,
    amb: Ambience,
    *,
    facing: int = 1,
    nod: float = 0.0,
    mouth: float = 0.0,
    lids: float = 0.0,
    lean: float = 0.0,
    wind: float = 0.0,
    seconds: float = 0.0,
    rim_px: float = 3.0,
    hand: Point | None = None,
) -> None:
    """Draws head and shoulders in profile; x, y is the middle of the head.

    Args:
        painter: painter on the canvas.
        person: who.
        x, y: place of the head's middle.
        head_px: from chin to crown.
        amb: light.
        facing: 1 looks to the right, -1 to the left.
        nod: degrees the head tips forward.
        mouth: 0 shut, 1 open.
        lids: 0 eyes open, 1 shut or looking down.
        lean: degrees the body leans forward.
        wind: how much hair and scarf move.
        seconds: time.
        rim_px: width of the lit edge.
        hand: where the near hand is, in head heights; None leaves it out of sight.
    """
    painter.save()
    painter.translate(x, y)
    painter.scale(facing * head_px, head_px)
    painter.rotate(lean)
    towards = (amb.towards[0] * facing, amb.towards[1])
    rim = rim_px / head_px
    breath = 0.012 * math.sin(seconds * 1.45)
    lit_front = towards[0] >= 0
    front, back = (person.coat, person.coat_dark) if lit_front else (person.coat_dark, person.coat)
    cloth = linear((-0.95, 0.9), (0.85, 1.3), (0, amb(back)), (0.6, amb(front, 0.92)), (1, amb(front, 1.06)))
    # Shoulders and chest.
    torso = flowing(
        [
            (-0.22, 0.60),
            (-0.55, 0.78),
            (-0.88, 1.05 + breath),
            (-1.02, 1.7),
            (-1.06, 3.6),
            (0.92, 3.6),
            (0.86, 2.3),
            (0.80, 1.55),
            (0.58, 1.02 - breath),
            (0.20, 0.74),
        ],
        tight=0.42,
    )
    rim_lit(painter, torso, cloth, amb.edge(), towards, rim)
    seam = QPen(QBrush(amb(person.coat_dark, 0.8)), 0.018)
    seam.setCapStyle(Qt.PenCapStyle.RoundCap)
    painter.strokePath(flowing([(-0.42, 1.15), (-0.52, 1.6), (-0.45, 2.3), (-0.50, 3.4)], closed=False), seam)
    painter.strokePath(flowing([(0.30, 0.95), (0.52, 1.5), (0.60, 2.3), (0.62, 3.4)], closed=False), seam)
    for row in (1.55, 2.15, 2.75):
        painter.setBrush(amb("#d9c08a" if person.kind == "cap" else "#2a2626", 0.9))
        painter.drawEllipse(QPointF(0.47 + (row - 1.55) * 0.06, row), 0.05, 0.06)
    painter.save()
    painter.translate(-0.05, 0.30)
    painter.rotate(nod)
    painter.translate(0.05, -0.30)
    painter.save()
    _head(painter, person, amb, towards, rim, mouth, lids, wind, seconds)
    painter.restore()
    painter.restore()
    _collar(painter, person, amb, towards, rim, cloth, wind, seconds, breath)
    if hand is not None:
        arm = [(-0.45, 1.35), (-0.30, 2.35), (hand[0] * 0.5, (2.3 + hand[1]) / 2), hand]
        _limb(painter, arm, cloth, 0.47)
        under = [(px - 0.03, py + 0.215) for px, py in arm[1:]]
        shade = QPen(QBrush(amb(person.coat_dark, 0.9, 0.75)), 0.03)
        shade.setCapStyle(Qt.PenCapStyle.RoundCap)
        painter.strokePath(flowing(under, closed=False, tight=0.6), shade)
        fist = flowing(
            [
                (hand[0] - 0.12, hand[1] - 0.13),
                (hand[0] + 0.12, hand[1] - 0.17),
                (hand[0] + 0.26, hand[1] - 0.06),
                (hand[0] + 0.22, hand[1] + 0.12),
                (hand[0], hand[1] + 0.16),
            ]
        )
        rim_lit(painter, fist, amb(person.skin, 0.95), amb.edge(), towards, rim * 0.7)
    painter.restore()


def _head(
    painter: QPainter,
    person: Person,
    amb: Ambience,
    towards: Point,
    rim: float,
    mouth: float,
    lids: float,
    wind: float,
    seconds: float,
) -> None:
    drop = 0.035 * mouth
    jaw = [(px - 0.012 * mouth, py + drop * min(1.0, (px + 0.1) / 0.35)) for px, py in _JAW]
    outline = flowing([*_PROFILE, *jaw, *_NECK], tight=0.5)
    lit = towards[0] >= 0
    skin = linear(
        (-0.30, -0.1),
        (0.40, 0.1),
        (0, amb(person.skin_dark, 0.82 if lit else 1.1)),
        (0.55, amb(person.skin, 0.93)),
        (1, amb(person.skin, 1.06 if lit else 0.86)),
    )
    rim_lit(painter, outline, skin, amb.edge(1.05), towards, rim)
    painter.save()
    painter.setClipPath(outline)
    # Shade under jaw and cheekbone, warmth on the cheek.
    painter.fillPath(
        flowing(
            [(0.30, 0.47 + drop), (0.10, 0.40), (-0.06, 0.28), (-0.20, 0.50), (-0.40, 0.90), (0.20, 0.90)],
            tight=0.4,
        ),
        colour("#2a1420", 0.22),
    )
    blush = QRadialGradient(QPointF(0.20, 0.10), 0.17)
    blush.setColorAt(0, colour("#c4523c", 0.22))
    blush.setColorAt(1, colour("#c4523c", 0))
    painter.setBrush(QBrush(blush))
    painter.drawEllipse(QPointF(0.20, 0.10), 0.17, 0.17)
    painter.fillPath(
        flowing([(0.335, -0.10), (0.25, -0.075), (0.19, -0.03), (0.27, 0.015), (0.33, -0.02)], tight=0.5),
        colour("#3a1a20", 0.16),
    )
    painter.restore()
    # Lips and the line between them.
    line = QPen(QBrush(amb("#7a3a34")), 0.016)
    line.setCapStyle(Qt.PenCapStyle.RoundCap)
    painter.strokePath(
        flowing(
            [(0.350, 0.268 + drop * 0.3), (0.30, 0.272 + drop * 0.3), (0.262, 0.266 + drop * 0.25)],
            closed=False,
        ),
        line,
    )
    if mouth > 0.08:
        painter.fillPath(
            flowing(
                [(0.345, 0.264), (0.285, 0.267), (0.30, 0.270 + drop * 0.6), (0.340, 0.276 + drop * 0.6)],
                tight=0.4,
            ),
            amb("#5a2628"),
        )
    # Eye and brow.
    ink = QPen(QBrush(amb("#2a1c1a")), 0.020)
    ink.setCapStyle(Qt.PenCapStyle.RoundCap)
    if lids < 0.5:
        eye = flowing([(0.300, -0.022), (0.262, -0.046), (0.205, -0.018), (0.262, -0.002)], tight=0.5)
        painter.fillPath(eye, amb("#f3ece0", 0.92))
        painter.save()
        painter.setClipPath(eye)
        painter.setBrush(amb("#2f3f44"))
        painter.drawEllipse(QPointF(0.278, -0.026), 0.021, 0.026)
        painter.restore()
        painter.strokePath(flowing([(0.312, -0.020), (0.264, -0.050), (0.196, -0.018)], closed=False), ink)
    else:
        painter.strokePath(flowing([(0.304, -0.012), (0.256, 0.006), (0.198, -0.010)], closed=False), ink)
    brow = QPen(QBrush(amb(person.hair, 0.85)), 0.030)
    brow.setCapStyle(Qt.PenCapStyle.RoundCap)
    painter.strokePath(flowing([(0.318, -0.112), (0.26, -0.140), (0.178, -0.112)], closed=False), brow)
    hair = amb(person.hair)
    hair_lit = amb(person.hair, 1.45)
    if person.kind != "scarf":
        _ear(painter, person, amb)
    if person.kind == "scarf":
        mane = flowing(
            [
                (0.22, -0.40),
                (0.13, -0.53),
                (-0.08, -0.58),
                (-0.32, -0.50),
                (-0.475, -0.27),
                (-0.46, 0.02),
                (-0.36, 0.24),
                (-0.22, 0.28),
                (-0.10, 0.12),
                (-0.055, -0.06),
                (0.02, -0.22),
                (0.14, -0.31),
            ],
            tight=0.5,
        )
        knot = QPainterPath()
        sway = 0.01 * math.sin(seconds * 1.1)
        knot.addEllipse(QPointF(-0.545, 0.02 + sway), 0.185, 0.175)
        rim_lit(
            painter,
            knot,
            linear((-0.7, -0.1), (-0.4, 0.1), (0, hair), (1, hair_lit)),
            amb.edge(0.9),
            towards,
            rim,
        )
        rim_lit(
            painter,
            mane,
            linear((-0.4, -0.5), (0.2, 0.1), (0, hair), (0.6, hair_lit), (1, hair)),
            amb.edge(0.9),
            towards,
            rim,
        )
        strand = QPen(QBrush(amb(person.hair, 0.6, 0.8)), 0.012)
        for k in range(5):
            painter.strokePath(
                flowing(
                    [
                        (0.12 - k * 0.03, -0.42 - k * 0.012),
                        (-0.18 - k * 0.02, -0.34 + k * 0.05),
                        (-0.42, -0.08 + k * 0.05),
                    ],
                    closed=False,
                ),
                strand,
            )
            painter.strokePath(
                flowing(
                    [
                        (-0.66 + k * 0.05, -0.05 + k * 0.02),
                        (-0.54 + k * 0.03, -0.10 + k * 0.03),
                        (-0.44, 0.02 + k * 0.04),
                    ],
                    closed=False,
                ),
                strand,
            )
        _ear(painter, person, amb)
        loose = QPen(QBrush(hair), 0.014)
        loose.setCapStyle(Qt.PenCapStyle.RoundCap)
        for k in range(3):
            drift = wind * 0.10 * math.sin(seconds * 2.3 + k)
            painter.strokePath(
                flowing(
                    [
                        (0.17 - 0.03 * k, -0.36),
                        (0.10 - 0.04 * k - drift * 0.4, -0.14),
                        (0.06 - 0.05 * k - drift, 0.10 + 0.03 * k),
                    ],
                    closed=False,
                ),
                loose,
            )
    elif person.kind == "cap":
        bob = flowing(
            [
                (0.02, -0.20),
                (-0.02, 0.02),
                (-0.075, 0.18),
                (-0.10, 0.38),
                (-0.22, 0.47),
                (-0.42, 0.42),
                (-0.50, 0.20),
                (-0.49, -0.16),
                (-0.30, -0.26),
            ],
            tight=0.5,
        )
        rim_lit(
            painter,
            bob,
            linear((-0.5, -0.2), (0, 0.3), (0, hair), (0.6, hair_lit), (1, hair)),
            amb.edge(0.9),
            towards,
            rim,
        )
        strand = QPen(QBrush(amb(person.hair, 0.62, 0.8)), 0.012)
        for k in range(5):
            painter.strokePath(
                flowing(
                    [
                        (-0.06 - k * 0.08, -0.18),
                        (-0.10 - k * 0.085, 0.10),
                        (-0.14 - k * 0.07, 0.40 - k * 0.01),
                    ],
                    closed=False,
                ),
                strand,
            )
        painter.fillPath(
            flowing([(0.17, -0.30), (0.10, -0.16), (0.055, 0.02), (0.02, -0.12), (0.04, -0.30)], tight=0.5),
            hair,
        )
        crown = flowing(
            [
                (0.30, -0.255),
                (0.265, -0.44),
                (0.10, -0.61),
                (-0.18, -0.66),
                (-0.44, -0.54),
                (-0.545, -0.32),
                (-0.52, -0.19),
                (-0.20, -0.165),
                (0.10, -0.205),
            ],
            tight=0.5,
        )
        rim_lit(
            painter,
            crown,
            linear(
                (-0.5, -0.4),
                (0.3, -0.3),
                (0, amb(person.accent_dark)),
                (0.7, amb(person.accent)),
                (1, amb(person.accent, 1.15)),
            ),
            amb.edge(),
            towards,
            rim,
        )
        painter.strokePath(
            flowing([(0.285, -0.30), (0.08, -0.27), (-0.20, -0.235), (-0.53, -0.26)], closed=False),
            QPen(QBrush(amb(person.accent_dark, 0.8)), 0.020),
        )
        peak = flowing(
            [(0.16, -0.245), (0.32, -0.285), (0.48, -0.235), (0.545, -0.165), (0.40, -0.195), (0.20, -0.195)],
            tight=0.45,
        )
        rim_lit(painter, peak, amb(person.accent_dark, 1.1), amb.edge(), towards, rim * 0.8)
        painter.setBrush(amb("#e0b65c"))
        painter.drawEllipse(QPointF(0.215, -0.275), 0.022, 0.022)
    else:
        nape = flowing(
            [
                (0.02, -0.22),
                (0.0, 0.02),
                (-0.05, 0.20),
                (-0.20, 0.36),
                (-0.36, 0.32),
                (-0.46, 0.10),
                (-0.455, -0.20),
                (-0.40, -0.36),
                (-0.10, -0.34),
            ],
            tight=0.5,
        )
        rim_lit(
            painter,
            nape,
            linear((-0.45, 0), (0, 0), (0, amb(person.hair, 0.7)), (1, hair)),
            amb.edge(0.9),
            towards,
            rim,
        )
        beard = flowing(
            [
                (0.335, 0.32 + drop),
                (0.345, 0.40 + drop),
                (0.315, 0.475 + drop),
                (0.20, 0.52 + drop),
                (0.06, 0.46 + drop),
                (-0.035, 0.28),
                (-0.03, 0.10),
                (0.03, 0.12),
                (0.07, 0.24),
                (0.17, 0.30 + drop * 0.5),
                (0.25, 0.30 + drop * 0.6),
            ],
            tight=0.5,
        )
        rim_lit(
            painter,
            beard,
            linear((0, 0.1), (0.3, 0.5), (0, amb(person.hair, 0.72)), (1, hair)),
            amb.edge(),
            towards,
            rim,
        )
        painter.fillPath(
            flowing(
                [
                    (0.375, 0.205),
                    (0.30, 0.195),
                    (0.215, 0.275),
                    (0.225, 0.32 + drop * 0.4),
                    (0.27, 0.262),
                    (0.355, 0.250),
                ],
                tight=0.5,
            ),
            hair,
        )
        _ear(painter, person, amb)
        crown = flowing(
            [
                (0.30, -0.27),
                (0.27, -0.56),
                (0.16, -0.72),
                (-0.02, -0.69),
                (-0.20, -0.74),
                (-0.38, -0.62),
                (-0.44, -0.27),
            ],
            tight=0.36,
        )
        rim_lit(
            painter,
            crown,
            linear(
                (-0.45, 0),
                (0.3, 0),
                (0, amb(person.accent_dark)),
                (0.7, amb(person.accent)),
                (1, amb(person.accent, 1.15)),
            ),
            amb.edge(),
            towards,
            rim,
        )
        painter.fillPath(
            flowing(
                [
                    (0.312, -0.27),
                    (0.305, -0.37),
                    (-0.06, -0.34),
                    (-0.445, -0.37),
                    (-0.452, -0.27),
                    (-0.05, -0.24),
                ],
                tight=0.4,
            ),
            amb(person.accent_dark, 0.75),
        )
        brim = flowing(
            [
                (-0.74, -0.31),
                (-0.45, -0.315),
                (0.0, -0.265),
                (0.34, -0.30),
                (0.62, -0.24),
                (0.66, -0.195),
                (0.36, -0.205),
                (0.0, -0.185),
                (-0.42, -0.235),
                (-0.72, -0.265),
            ],
            tight=0.5,
        )
        rim_lit(
            painter,
            brim,
            linear((-0.7, 0), (0.6, 0), (0, amb(person.accent_dark, 0.9)), (1, amb(person.accent, 1.1))),
            amb.edge(),
            towards,
            rim * 0.8,
        )


def _ear(painter: QPainter, person: Person, amb: Ambience) -> None:
    ear = flowing(
        [(-0.01, -0.06), (-0.06, -0.09), (-0.115, -0.04), (-0.10, 0.06), (-0.055, 0.13), (-0.02, 0.09)],
        tight=0.5,
    )
    painter.fillPath(ear, amb(person.skin, 0.86))
    pen = QPen(QBrush(amb(person.skin_dark, 0.8)), 0.014)
    painter.strokePath(
        flowing([(-0.03, -0.045), (-0.08, -0.03), (-0.07, 0.05), (-0.045, 0.08)], closed=False), pen
    )


def _collar(
    painter: QPainter,
    person: Person,
    amb: Ambience,
    towards: Point,
    rim: float,
    cloth: QBrush,
    wind: float,
    seconds: float,
    breath: float,
) -> None:
    if person.kind == "scarf":
        lift = wind * 0.06 * math.sin(seconds * 2.2)
        tail = flowing(
            [
                (0.16, 0.88),
                (0.42, 0.90),
                (0.46 + lift, 1.5),
                (0.44 + lift * 2, 2.15),
                (0.12 + lift * 2, 2.12),
                (0.18 + lift, 1.5),
            ],
            tight=0.36,
        )
        scarf = linear(
            (-0.55, 0.6),
            (0.55, 0.9),
            (0, amb(person.accent_dark)),
            (0.65, amb(person.accent)),
            (1, amb(person.accent, 1.12)),
        )
        rim_lit(
            painter,
            tail,
            vertical(
                0.8,
                2.2,
                (0, amb(person.accent_dark, 1.1)),
                (0.4, amb(person.accent, 0.95)),
                (1, amb(person.accent_dark, 1.1)),
            ),
            amb.edge(),
            towards,
            rim,
        )
        fringe = QPen(QBrush(amb(person.accent_dark, 1.05)), 0.022)
        for k in range(7):
            base = 0.15 + k * 0.045 + lift * 2
            painter.drawLine(QPointF(base, 2.1), QPointF(base, 2.1))
            painter.strokePath(
                flowing([(base, 2.10), (base + lift, 2.2), (base + lift * 1.4, 2.28)], closed=False), fringe
            )
        for k, (top, bottom, wide) in enumerate(((0.66, 1.05, 0.62), (0.45, 0.80, 0.50))):
            wrap = flowing(
                [
                    (-wide, (top + bottom) / 2 + breath),
                    (-wide * 0.72, top + 0.02),
                    (-0.1, top + 0.09),
                    (wide * 0.62, top - 0.03),
                    (wide * 0.92, (top + bottom) / 2 - 0.02),
                    (wide * 0.68, bottom - 0.02),
                    (0.0, bottom + 0.07),
                    (-wide * 0.75, bottom - 0.02),
                ],
                tight=0.5,
            )
            rim_lit(painter, wrap, scarf, amb.edge(), towards, rim)
            fold = QPen(QBrush(amb(person.accent_dark, 0.9, 0.7)), 0.020)
            fold.setCapStyle(Qt.PenCapStyle.RoundCap)
            for i in range(3):
                yy = top + 0.12 + i * (bottom - top) * 0.26
                painter.strokePath(
                    flowing(
                        [
                            (-wide * (0.75 - 0.1 * i), yy),
                            (-0.05, yy + 0.08 - 0.02 * k),
                            (wide * (0.72 - 0.08 * i), yy - 0.03),
                        ],
                        closed=False,
                    ),
                    fold,
                )
    elif person.kind == "cap":
        collar = flowing(
            [
                (-0.42, 0.82),
                (-0.38, 0.50),
                (-0.22, 0.52),
                (-0.02, 0.72),
                (0.20, 0.66),
                (0.32, 0.78),
                (0.30, 1.02),
                (0.02, 0.96),
                (-0.22, 0.90),
            ],
            tight=0.42,
        )
        rim_lit(painter, collar, cloth, amb.edge(), towards, rim)
        painter.strokePath(
            flowing([(-0.38, 0.60), (-0.16, 0.74), (0.06, 0.86), (0.27, 0.84)], closed=False),
            QPen(QBrush(amb(person.coat_dark, 0.9)), 0.018),
        )
    else:
        collar = flowing(
            [
                (-0.52, 0.98),
                (-0.48, 0.34),
                (-0.34, 0.26),
                (-0.18, 0.50),
                (0.0, 0.66),
                (0.20, 0.62),
                (0.34, 0.72),
                (0.36, 1.12),
                (0.04, 1.06),
                (-0.24, 1.02),
            ],
            tight=0.40,
        )
        rim_lit(painter, collar, cloth, amb.edge(), towards, rim)
        painter.strokePath(
            flowing([(-0.36, 0.36), (-0.24, 0.62), (0.0, 0.82), (0.26, 0.82)], closed=False),
            QPen(QBrush(amb(person.coat_dark, 0.85)), 0.020),
        )


# --- hands ---------------------------------------------------------------------------------


def holding_hand(
    painter: QPainter, person: Person, amb: Ambience, *, front: bool, glove: str | None = None
) -> None:
    """Draws a right hand that holds paper between thumb and fingers.

    The pinch lies at 0, 0; the hand comes from below right; 100 units are about a palm's width.
    Draw once with front False (fingers behind the paper), then the paper, then with front True.

    Args:
        painter: painter, already moved and scaled.
        person: whose hand.
        amb: light.
        front: False for what lies behind the paper.
        glove: colour of a fingerless glove, or None.
    """
    skin = linear((-40, -30), (90, 110), (0, amb(person.skin, 1.06)), (1, amb(person.skin_dark)))
    towards = amb.towards
    if not front:
        for start, tip, width in (
            ((58, 40), (-34, -6), 25),
            ((66, 56), (-38, 22), 26),
            ((74, 74), (-32, 49), 25),
            ((80, 92), (-18, 73), 22),
        ):
            knuckle = ((start[0] + tip[0]) / 2 - 4, (start[1] + tip[1]) / 2 - 9)
            finger = QPen(QBrush(amb(person.skin_dark, 0.95)), width + 2.5)
            finger.setCapStyle(Qt.PenCapStyle.RoundCap)
            painter.strokePath(flowing([start, knuckle, tip], closed=False), finger)
            finger.setWidthF(width)
            finger.setBrush(skin)
            painter.strokePath(flowing([start, knuckle, tip], closed=False), finger)
        return
    palm = flowing(
        [(52, 18), (86, 26), (118, 60), (150, 118), (120, 168), (70, 150), (52, 110), (44, 66)], tight=0.5
    )
    rim_lit(painter, palm, skin, amb.edge(), towards, 2.0)
    thumb = flowing(
        [
            (-26, -6),
            (-20, -19),
            (0, -23),
            (30, -14),
            (62, 8),
            (92, 44),
            (78, 76),
            (44, 50),
            (14, 20),
            (-12, 10),
        ],
        tight=0.5,
    )
    rim_lit(
        painter,
        thumb,
        linear(
            (-20, -20),
            (70, 60),
            (0, amb(person.skin, 1.1)),
            (0.6, amb(person.skin)),
            (1, amb(person.skin_dark, 1.1)),
        ),
        amb.edge(),
        towards,
        2.0,
    )
    nail = flowing([(-24, -6), (-19, -15), (-5, -17), (2, -9), (-8, -1), (-18, 1)], tight=0.5)
    painter.fillPath(nail, amb("#f2d3c0", 1.05))
    crease = QPen(QBrush(amb(person.skin_dark, 0.9)), 1.6)
    crease.setCapStyle(Qt.PenCapStyle.RoundCap)
    painter.strokePath(flowing([(27, -8), (32, 0), (32, 8)], closed=False), crease)
    painter.strokePath(flowing([(33, -6), (37, 1), (37, 9)], closed=False), crease)
    painter.strokePath(flowing([(60, 62), (72, 74), (90, 78)], closed=False), crease)
    cuff_tone, cuff_dark = (glove, None) if glove else (person.coat, person.coat_dark)
    if glove:
        knit = flowing(
            [(58, 12), (92, 24), (124, 60), (158, 120), (130, 178), (72, 160), (52, 112), (74, 92), (80, 58)],
            tight=0.45,
        )
        rim_lit(
            painter,
            knit,
            linear((50, 20), (150, 170), (0, amb(glove, 1.1)), (1, amb(glove, 0.6))),
            amb.edge(),
            towards,
            2.0,
        )
        rib = QPen(QBrush(amb(glove, 0.55)), 1.6)
        for k in range(7):
            painter.strokePath(
                flowing(
                    [(66 + k * 9, 28 + k * 9), (78 + k * 8, 78 + k * 10), (72 + k * 9, 128 + k * 7)],
                    closed=False,
                ),
                rib,
            )
    sleeve = flowing([(104, 108), (150, 92), (420, 330), (330, 470), (80, 190), (76, 150)], tight=0.3)
    base = cuff_dark or person.coat_dark
    rim_lit(
        painter,
        sleeve,
        linear((110, 170), (190, 100), (0, amb(base)), (1, amb(person.coat))),
        amb.edge(),
        towards,
        2.5,
    )
    band = flowing([(92, 128), (142, 84), (162, 100), (104, 166)], tight=0.3)
    rim_lit(
        painter,
        band,
        linear(
            (92, 140), (150, 90), (0, amb(base, 1.1)), (1, amb(cuff_tone if not glove else person.coat, 1.08))
        ),
        amb.edge(),
        towards,
        2.0,
    )


def flat_hand(painter: QPainter, person: Person, amb: Ambience, spread: float = 0.0) -> None:
    """Draws a hand that lies on a table, coming from the right; the fingertips are near 0, 0."""
    skin = linear((0, -40), (120, 70), (0, amb(person.skin, 1.05)), (1, amb(person.skin_dark)))
    towards = amb.towards
    for i, (tip_x, tip_y, length) in enumerate(((8, -34, 96), (-4, -12, 104), (0, 12, 100), (16, 34, 84))):
        root = (tip_x + length, tip_y * 0.72 + 2)
        bend = ((tip_x + root[0]) / 2, (tip_y + root[1]) / 2 - 8 - spread * 3)
        for width, brush in ((26, QBrush(amb(person.skin_dark, 0.85))), (22.5, skin)):
            pen = QPen(brush, width - (3 if i == 3 else 0))
            pen.setCapStyle(Qt.PenCapStyle.RoundCap)
            painter.strokePath(flowing([root, bend, (tip_x, tip_y)], closed=False), pen)
        painter.setBrush(amb("#f0cdb8", 1.05))
        painter.drawEllipse(QPointF(tip_x - 3, tip_y - 2), 7, 5)
    back = flowing([(84, -38), (140, -46), (190, -30), (196, 34), (140, 46), (92, 36), (80, 0)], tight=0.5)
    rim_lit(painter, back, skin, amb.edge(), towards, 2.0)
    for width, brush in ((28, QBrush(amb(person.skin_dark, 0.9))), (24, skin)):
        pen = QPen(brush, width)
        pen.setCapStyle(Qt.PenCapStyle.RoundCap)
        painter.strokePath(flowing([(150, 40), (112, 66), (62, 62)], closed=False), pen)
    sleeve = flowing([(178, -50), (460, -92), (470, 110), (182, 54)], tight=0.2)
    rim_lit(
        painter,
        sleeve,
        vertical(-60, 60, (0, amb(person.coat, 1.05)), (1, amb(person.coat_dark))),
        amb.edge(),
        towards,
        2.5,
    )
    cuff = flowing([(170, -54), (200, -58), (204, 60), (172, 58)], tight=0.3)
    rim_lit(
        painter,
        cuff,
        vertical(-60, 60, (0, amb(person.coat, 1.15)), (1, amb(person.coat_dark, 1.1))),
        amb.edge(),
        towards,
        2.0,
    )
