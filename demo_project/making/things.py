"""Everything that is built or flies: kiosk, ferry, lamps, gulls, clock, ticket, machine."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import (
    QBrush,
    QColor,
    QFont,
    QFontDatabase,
    QPainter,
    QPainterPath,
    QPen,
    QTransform,
)

from making.paint import (
    Canvas,
    Point,
    colour,
    fbm,
    flowing,
    glow,
    linear,
    polygon,
    rgb,
    smooth,
    straight,
    vertical,
)

LAMP = "#ffc27a"


@dataclass(frozen=True, slots=True)
class Ambience:
    """How a time of day tints what stands in it.

    Attributes:
        tint: colour of the light that comes from everywhere.
        gain: its brightness.
        rim: colour of the light on edges.
        towards: direction to that light.
        lamp: brightness of lamps, 0 when they are off.
        edge_alpha: how much the light on edges shows.
    """

    tint: str
    gain: float
    rim: str
    towards: Point
    lamp: float
    edge_alpha: float = 0.85

    def __call__(self, material: str, gain: float = 1.0, alpha: float = 1.0) -> QColor:
        """Returns the colour of a material under this light."""
        red, green, blue = (float(v) for v in rgb(material) * rgb(self.tint) * (self.gain * gain))
        return QColor.fromRgbF(red, green, blue, alpha)

    def edge(self, gain: float = 1.0) -> QColor:
        """Returns the colour of a lit edge."""
        return colour(self.rim, self.edge_alpha, gain)


DAWN = Ambience("#b9c3cc", 0.72, "#ffd9ac", (0.8, -0.5), 1.0)
DAY = Ambience("#fff6e4", 0.98, "#fffaf0", (0.4, -1.0), 0.0, 0.5)
DUSK = Ambience("#a29ac0", 0.70, "#ffab86", (-0.9, -0.35), 1.0)
NIGHT = Ambience("#6385ac", 0.48, "#9fbad6", (0.7, -0.8), 1.0)
MORNING = Ambience("#eef6f4", 0.92, "#fff1cf", (-0.7, -0.7), 0.0, 0.8)


def font(family: str, size_px: float, *, bold: bool = False, spacing_px: float = 0) -> QFont:
    """Returns the typewriter face ('type') or the book face ('book')."""
    name = _family(family)
    face = QFont(name)
    face.setPixelSize(max(1, round(size_px)))
    face.setBold(bold)
    face.setStyle(QFont.Style.StyleNormal)
    if spacing_px:
        face.setLetterSpacing(QFont.SpacingType.AbsoluteSpacing, spacing_px)
    face.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    return face


_FAMILIES: dict[str, str] = {}


def _family(kind: str) -> str:
    if not _FAMILIES:
        shipped = Path(__file__).resolve().parents[2] / "resources" / "fonts"
        if shipped.is_dir():
            for file in sorted(shipped.rglob("*.[ot]tf")):
                QFontDatabase.addApplicationFont(str(file))
        known = set(QFontDatabase.families())
        for name, wanted in (
            ("type", ("Desk Typewriter", "Courier Prime", "DejaVu Sans Mono", "Monospace")),
            ("book", ("Desk Serif", "EB Garamond", "DejaVu Serif", "Serif")),
        ):
            _FAMILIES[name] = next((w for w in wanted if w in known), wanted[-1])
    return _FAMILIES[kind]


def lettering(
    painter: QPainter, text: str, centre: Point, face: QFont, tone: QColor, *, angle: float = 0
) -> None:
    """Draws text as outlines, so that it moves smoothly, centred on a point."""
    path = QPainterPath()
    path.addText(0, 0, face, text)
    # Letters whose strokes overlap would else have holes where they do.
    path.setFillRule(Qt.FillRule.WindingFill)
    box = path.boundingRect()
    painter.save()
    painter.translate(*centre)
    painter.rotate(angle)
    painter.translate(-box.center().x(), -box.center().y())
    painter.fillPath(path, tone)
    painter.restore()


def _pen(tone: QColor, width_px: float, *, flat: bool = False) -> QPen:
    pen = QPen(QBrush(tone), width_px)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap if flat else Qt.PenCapStyle.RoundCap)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    return pen


def stroke(
    painter: QPainter, points: list[Point], tone: QColor, width_px: float, *, soft: bool = True
) -> None:
    """Draws a line through points."""
    path = flowing(points, closed=False) if soft and len(points) > 2 else QPainterPath()
    if path.isEmpty():
        path.moveTo(*points[0])
        for point in points[1:]:
            path.lineTo(*point)
    painter.strokePath(path, _pen(tone, width_px))


# --- the ferry -----------------------------------------------------------------------


def ferry(
    painter: QPainter,
    x: float,
    waterline_y: float,
    length_px: float,
    amb: Ambience,
    *,
    facing: int = 1,
    windows: float = 0.0,
    haze: str = "#ffffff",
    haze_amount: float = 0.0,
    roll: float = 0.0,
) -> None:
    """Draws the island ferry from the side.

    Args:
        painter: painter on the canvas.
        x, waterline_y: middle of the hull at the water.
        length_px: length of the hull.
        amb: light.
        facing: 1 bow to the right, -1 to the left.
        windows: brightness of its lit windows.
        haze, haze_amount: air between the lens and the boat.
        roll: angle in degrees.
    """
    painter.save()
    painter.translate(x, waterline_y)
    painter.rotate(roll)
    painter.scale(facing * length_px / 200, length_px / 200)

    def tone(material: str, gain: float = 1.0) -> QColor:
        lit = np.array(amb(material, gain).getRgbF()[:3]) * (1 - haze_amount)
        red, green, blue = (float(v) for v in lit + rgb(haze) * haze_amount)
        return QColor.fromRgbF(red, green, blue, 1)

    white, shade, hull = "#efe9da", "#c9c6bb", "#28505c"
    # Hull: sheer rising to the bow, a pale line, rust at the water.
    sheer = flowing([(-98, -17), (-60, -16), (0, -16), (60, -18), (102, -27)], closed=False)
    body = QPainterPath(sheer)
    body.lineTo(90, 1)
    body.lineTo(-92, 1)
    body.closeSubpath()
    painter.fillPath(body, QBrush(vertical(-26, 1, (0, tone(hull, 1.1)), (1, tone(hull, 0.7)))))
    painter.setClipPath(body)
    painter.fillRect(QRectF(-110, -3.4, 220, 6), tone("#8c4534"))
    painter.setClipping(False)
    painter.strokePath(sheer, _pen(tone(white), 2.2))
    # Car deck bulwark and ramp at the bow.
    painter.fillPath(straight([(78, -22), (101, -27), (108, -43), (103, -43), (94, -29)]), tone(shade))
    # Main house.
    painter.fillPath(
        straight([(-82, -16), (-82, -38), (46, -38), (54, -17)]),
        QBrush(vertical(-38, -16, (0, tone(white)), (1, tone(shade)))),
    )
    painter.fillPath(straight([(-86, -38), (-86, -41), (52, -41), (50, -38)]), tone(white, 1.03))
    # Upper house and bridge.
    painter.fillPath(straight([(-40, -41), (-38, -56), (22, -56), (28, -41)]), tone(white, 0.97))
    painter.fillPath(straight([(-44, -56), (-43, -58.5), (29, -58.5), (26, -56)]), tone(shade))
    painter.fillPath(straight([(0, -58), (2, -70), (20, -70), (25, -58)]), tone(white))
    painter.fillPath(straight([(-2, -70), (-1, -72.5), (25, -72.5), (23, -70)]), tone(shade))
    # Funnel with a pale band, mast, rails.
    painter.fillPath(straight([(-34, -58), (-31, -80), (-15, -80), (-14, -58)]), tone("#a24a36"))
    painter.fillPath(straight([(-32.2, -71), (-31.7, -75), (-15, -75), (-14.8, -71)]), tone("#f0dfb8"))
    painter.fillPath(straight([(-31.2, -78), (-31, -81), (-15, -81), (-15, -78)]), tone("#2b2b2b"))
    for start, end, width in (
        ((8, -72), (8, -94), 1.3),
        ((3, -86), (13, -86), 0.9),
        ((-70, -41), (-70, -58), 1.0),
        ((-84, -47), (-42, -47), 0.7),
        ((30, -47), (50, -47), 0.7),
        ((8, -92), (-70, -57), 0.4),
        ((8, -92), (98, -44), 0.4),
    ):
        painter.setPen(_pen(tone(shade if width > 0.5 else "#555a5c"), width))
        painter.drawLine(QPointF(*start), QPointF(*end))
    for post in (*range(-84, -44, 6), *range(32, 51, 6)):
        painter.setPen(_pen(tone(shade), 0.6))
        painter.drawLine(QPointF(post, -47), QPointF(post, -41))
    painter.setPen(Qt.PenStyle.NoPen)
    # Windows.
    dark = tone("#33505c", 0.9)
    lit = colour("#ffcf8a", 1, windows) if windows > 0 else dark
    for i in range(14):
        dim = 1.0 if (i * 5) % 7 else 0.72
        pane = colour("#ffcf8a", 1, windows * dim) if windows > 0 else dark
        painter.fillRect(QRectF(-76 + i * 8.4, -33, 5.6, 5.2), pane)
    for i in range(6):
        painter.fillRect(QRectF(-34 + i * 8.4, -52.4, 5.4, 5.4), lit)
    painter.fillPath(
        straight([(4, -62), (5, -68), (20.5, -68), (23, -62)]),
        colour("#ffdca6", 1, windows * 0.55) if windows > 0 else dark,
    )
    # Life rafts, a stripe of deck light.
    for i in range(3):
        painter.setBrush(tone("#d8703c"))
        painter.drawRoundedRect(QRectF(-68 + i * 9, -44.5, 6.5, 3.2), 1.5, 1.5)
    if windows > 0:
        painter.fillRect(QRectF(-80, -25.5, 126, 0.9), colour("#ffcf8a", 0.5, windows))
        glow(painter, (8, -95), 9, "#fff0d0", windows * 0.9)
        glow(painter, (-15, -32), 95, "#ffb060", windows * 0.10, squash=0.55)
        glow(painter, (104, -45), 6, "#7ee0a0", windows * 0.7)
    painter.restore()


def wake(
    painter: QPainter, x: float, y: float, length_px: float, facing: int, tone: str, strength: float
) -> None:
    """Draws foam at the bow and a pale trail behind a boat."""
    painter.save()
    painter.translate(x, y)
    painter.scale(facing, 1)
    light = colour(tone, strength)
    none = colour(tone, 0)
    painter.setBrush(
        linear(
            (length_px * 0.45, 0),
            (-length_px * 1.6, 0),
            (0, light),
            (0.35, colour(tone, strength * 0.6)),
            (1, none),
        )
    )
    painter.drawPath(
        flowing(
            [
                (length_px * 0.48, 0),
                (0, -1.2),
                (-length_px * 1.6, -1.0),
                (-length_px * 1.6, 2.2),
                (0, 2.4),
                (length_px * 0.4, 2),
            ],
            tight=0.4,
        )
    )
    painter.restore()


# --- gulls -----------------------------------------------------------------------------


def gull(
    painter: QPainter,
    x: float,
    y: float,
    span_px: float,
    beat: float,
    amb: Ambience,
    *,
    facing: int = 1,
    bank: float = 0.0,
) -> None:
    """Draws a gull in flight; `beat` is the phase of its wings in turns."""
    painter.save()
    painter.translate(x, y)
    painter.rotate(bank)
    painter.scale(facing * span_px / 100, span_px / 100)
    lift = math.sin(2 * math.pi * beat)
    hand = math.sin(2 * math.pi * (beat - 0.14))

    # Far wing, body, near wing. A wing is an arm (to the wrist) and a hand (to the tip).
    def wing(side: float, shade: float) -> None:
        wrist = (5 - 4 * side, -21 * lift - 8)
        tip = (-18 - 12 * side, wrist[1] - 34 * hand - 2)
        reach = 1.0 if side > 0 else 0.86
        wrist = (wrist[0] * reach, wrist[1] * reach - (0 if side > 0 else 2))
        tip = (tip[0] * reach, tip[1] * reach)
        fold = flowing(
            [
                (9, -2),
                (wrist[0] + 8, wrist[1] - 2),
                (tip[0] + 2, tip[1]),
                (wrist[0] - 8, wrist[1] + 6),
                (-8, 1),
            ],
            tight=0.42,
        )
        painter.fillPath(
            fold,
            QBrush(
                linear(
                    wrist,
                    tip,
                    (0, amb("#e8e6df" if side > 0 else "#b9bec0", shade)),
                    (0.7, amb("#cfd2d2", shade)),
                    (1, amb("#3a3f44", shade)),
                )
            ),
        )

    wing(-1.0, 0.86)
    painter.fillPath(
        flowing(
            [
                (23, -3),
                (19, -6),
                (12, -6),
                (-4, -5),
                (-18, -1.5),
                (-26, -2.5),
                (-25, 1.5),
                (-15, 2.5),
                (0, 4.2),
                (13, 2.6),
            ],
            tight=0.5,
        ),
        QBrush(vertical(-6, 5, (0, amb("#fbf9f2", 1.04)), (1, amb("#b5bbbd")))),
    )
    painter.fillPath(straight([(22, -4.0), (28, -1.4), (22, -1.2)]), amb("#d9a13a"))
    painter.setBrush(amb("#22262a"))
    painter.drawEllipse(QPointF(18.6, -3.7), 0.8, 0.8)
    wing(1.0, 1.0)
    painter.restore()


def far_gull(painter: QPainter, x: float, y: float, size_px: float, beat: float, tone: QColor) -> None:
    """Draws a distant gull: two strokes."""
    lift = math.sin(2 * math.pi * beat) * 0.30 + 0.56
    stroke(
        painter,
        [
            (x - size_px, y - lift * size_px * 0.5),
            (x - size_px * 0.5, y - lift * size_px * 0.8),
            (x, y),
            (x + size_px * 0.5, y - lift * size_px * 0.8),
            (x + size_px, y - lift * size_px * 0.5),
        ],
        tone,
        max(1.0, size_px * 0.16),
    )


# --- textures --------------------------------------------------------------------------


def boards(
    width: int,
    height: int,
    tone: str,
    amb: Ambience,
    *,
    board_px: float = 34,
    upright: bool = True,
    seed: int = 7,
    contrast: float = 1.0,
) -> Canvas:
    """Returns a wall of painted boards."""
    rng = np.random.default_rng(seed)
    long, wide = (height, width) if upright else (width, height)
    grain = fbm(long, wide, (long * 0.7, 7), 4, seed, 0.6)
    grain += 0.6 * fbm(long, wide, (long * 0.25, 60), 3, seed + 1)
    across = np.arange(wide, dtype=np.float32)
    index = np.floor(across / board_px).astype(int)
    shift = rng.uniform(-0.06, 0.06, index.max() + 1).astype(np.float32)[index]
    within = across - index * board_px
    seam = np.exp(-(((within - 0.8) / 0.9) ** 2)) * 0.42 - np.exp(-(((within - 3.0) / 1.2) ** 2)) * 0.10
    value = 1 + contrast * (0.075 * grain + shift[None] - seam[None])
    if not upright:
        value = value.T
    lit = rgb(tone) * rgb(amb.tint) * amb.gain
    return Canvas.of((value[..., None] * lit).astype(np.float32))


def stones(width: int, height: int, tone: str, amb: Ambience, *, seed: int = 5) -> Canvas:
    """Returns worn concrete or stone."""
    value = (
        1
        + 0.10 * fbm(height, width, (height * 0.4, width * 0.3), 5, seed, 0.6)
        + 0.06 * fbm(height, width, (9, 26), 3, seed + 2, 0.7)
    )
    return Canvas.of((value[..., None] * rgb(tone) * rgb(amb.tint) * amb.gain).astype(np.float32))


def fill_with(painter: QPainter, path: QPainterPath, texture: Canvas, origin: Point = (0, 0)) -> None:
    """Fills a path with a texture whose top left lies at origin."""
    painter.save()
    painter.setClipPath(path, Qt.ClipOperation.IntersectClip)
    painter.drawImage(QPointF(*origin), texture.image)
    painter.restore()


# --- the kiosk from outside --------------------------------------------------------------


class Kiosk:
    """The ticket kiosk on the quay, 300 wide and 250 high in its own units, feet at y = 0."""

    def __init__(self, amb: Ambience) -> None:
        self.amb = amb
        self.wall = boards(300, 200, "#4f7f83", amb, board_px=20, seed=3)
        self.roof = boards(380, 90, "#6a5a52", amb, board_px=13, upright=False, seed=4, contrast=1.3)

    def draw(
        self,
        painter: QPainter,
        x: float,
        y: float,
        scale: float,
        *,
        shutter: float = 1.0,
        lamp: float = 0.0,
        inside: object = None,
    ) -> None:
        """Draws it.

        Args:
            painter: painter on the canvas.
            x, y: middle of its foot.
            scale: px per unit.
            shutter: 0 shut, 1 rolled up.
            lamp: brightness of the light inside.
            inside: called with the painter to draw who stands behind the counter.
        """
        amb = self.amb
        painter.save()
        painter.translate(x, y)
        painter.scale(scale, scale)
        # Body with its shaded side.
        painter.fillPath(straight([(118, -178), (150, -168), (150, 0), (118, 0)]), amb("#355c62", 0.8))
        painter.save()
        painter.setClipRect(QRectF(-130, -182, 250, 182))
        painter.drawImage(QPointF(-150, -190), self.wall.image)
        painter.restore()
        painter.fillRect(
            QRectF(-130, -182, 250, 60),
            linear((0, -182), (0, -140), (0, colour("#000000", 0.35)), (1, colour("#000000", 0))),
        )
        # Window opening.
        opening = QRectF(-104, -146, 168, 84)
        painter.fillRect(opening.adjusted(-6, -6, 6, 6), amb("#e9e2cf"))
        if lamp > 0:
            painter.fillRect(
                opening,
                linear(
                    (-20, -146),
                    (-20, -62),
                    (0, colour("#ffcf90", 1, 0.55 + 0.65 * lamp)),
                    (0.55, colour("#e8a660", 1, 0.35 + 0.6 * lamp)),
                    (1, colour("#8a5a3a", 1, 0.3 + 0.5 * lamp)),
                ),
            )
        else:
            painter.fillRect(opening, vertical(-146, -62, (0, amb("#2c2a28")), (1, amb("#4a423a"))))
        painter.save()
        painter.setClipRect(opening)
        # Shelves at the back of the room.
        for row in (-124, -104):
            painter.fillRect(QRectF(-104, row, 60, 2.4), amb("#5a4030", 0.9 + lamp))
            for i in range(5):
                height = 7 + (i * 37 + int(-row)) % 6
                painter.fillRect(
                    QRectF(-100 + i * 11, row - height, 8, height),
                    amb(("#a2543f", "#d8c9a0", "#6d8a86", "#c49a55", "#8a7a6a")[i], 0.7 + 0.8 * lamp),
                )
        if lamp > 0:
            painter.fillPath(straight([(18, -146), (19, -146), (19, -132), (18, -132)]), amb("#222222"))
            painter.fillPath(straight([(8, -122), (14, -132), (23, -132), (29, -122)]), amb("#2c4a44", 1.2))
            glow(painter, (18.5, -119), 46, LAMP, 1.25 * lamp)
        if callable(inside):
            inside(painter)
        # The shutter, slats and a bottom rail.
        if shutter < 1:
            drop = (1 - shutter) * 84
            painter.fillRect(QRectF(-104, -146, 168, drop), amb("#8d9a98"))
            offset = drop % 6
            count = int(drop / 6) + 2
            for i in range(count):
                yy = -146 + drop - offset - (i - 1) * 6 + offset
                painter.fillRect(QRectF(-104, yy - 6, 168, 1.6), amb("#5f6c6c"))
                painter.fillRect(QRectF(-104, yy - 4.2, 168, 1.0), amb("#b4bebb"))
            painter.fillRect(QRectF(-104, -146 + drop - 4, 168, 4), amb("#4a5656"))
        painter.restore()
        painter.fillRect(QRectF(-106, -152, 172, 8), amb("#5d6b6b"))
        # Counter board, posters, life ring, bench.
        painter.fillRect(QRectF(-114, -62, 188, 6), amb("#b98d5f", 1.05))
        painter.fillRect(QRectF(-114, -56, 188, 3), amb("#4a3524"))
        if lamp > 0:
            painter.fillRect(QRectF(-110, -62.6, 176, 1.6), colour("#ffdfae", 0.9, lamp * shutter))
        painter.fillRect(QRectF(78, -140, 30, 42), amb("#ece4cf"))
        painter.fillRect(QRectF(80, -138, 26, 8), amb("#a24a36"))
        for i in range(6):
            painter.fillRect(QRectF(82, -127 + i * 4.6, 22 - (i * 5) % 9, 1.5), amb("#6b6a63"))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for tone, start in (("#d9583c", 0), ("#f3ead6", 45)):
            painter.setPen(_pen(amb(tone), 6.5, flat=True))
            for k in range(4):
                painter.drawArc(QRectF(80, -84, 26, 26), (start + k * 90) * 16, 46 * 16)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.fillRect(QRectF(-130, -8, 280, 8), amb("#2c4a50", 0.9))
        # Roof and its fascia with the sign.
        painter.save()
        roof = straight([(-150, -180), (-122, -222), (134, -222), (168, -172), (122, -180)])
        fill_with(painter, roof, self.roof, (-170, -240))
        painter.restore()
        painter.fillPath(
            straight([(-152, -182), (124, -182), (124, -174), (-152, -174)]), amb("#e9e2cf", 0.95)
        )
        painter.fillPath(straight([(124, -182), (170, -173), (170, -165), (124, -174)]), amb("#a8a596", 0.8))
        painter.fillRect(QRectF(-84, -208, 156, 26), amb("#f1e8d2", 1.02))
        painter.fillRect(QRectF(-82, -206, 152, 22), amb("#22464d"))
        lettering(painter, "FERRY TICKETS", (-6, -195), font("book", 17, spacing_px=2), amb("#f3e6c4", 1.1))
        # A chimney pipe.
        painter.fillRect(QRectF(92, -244, 9, 26), amb("#4b4f50"))
        painter.fillRect(QRectF(89, -248, 15, 5), amb("#3a3d3e"))
        painter.restore()


# --- lamps, posts ------------------------------------------------------------------------


def lamp_post(
    painter: QPainter,
    x: float,
    y: float,
    height_px: float,
    amb: Ambience,
    brightness: float,
    *,
    facing: int = 1,
    reach: float = 1.0,
) -> None:
    """Draws a quay lamp; its light lies at height_px above its foot."""
    painter.save()
    painter.translate(x, y)
    painter.scale(facing * height_px / 100, height_px / 100)
    iron = amb("#39434a")
    stroke(painter, [(0, 0), (0, -92), (5, -101), (17, -102)], iron, 2.0)
    painter.fillPath(straight([(-3, 0), (-2.2, -12), (2.2, -12), (3, 0)]), iron)
    painter.fillPath(straight([(11, -99), (14, -103.5), (23, -103.5), (26, -99)]), iron)
    if brightness > 0:
        painter.setBrush(colour("#ffe2b0", 1, 1.2 + brightness))
        painter.drawEllipse(QPointF(18.5, -98.4), 5.2, 2.0)
        glow(painter, (18.5, -97), 70 * reach, LAMP, 0.62 * brightness)
        glow(painter, (18.5, -97), 14, "#fff0d4", 0.9 * brightness)
    painter.restore()


def cone(painter: QPainter, apex: Point, foot_y: float, half_px: float, tone: str, strength: float) -> None:
    """Adds the light that hangs in the air below a lamp and the pool where it falls."""
    painter.save()
    painter.setCompositionMode(QPainter.CompositionMode.CompositionMode_Plus)
    layers = 16
    for k in range(layers):
        wide = half_px * (0.25 + 0.80 * k / layers)
        shape = straight(
            [
                (apex[0] - 5, apex[1]),
                (apex[0] + 5, apex[1]),
                (apex[0] + wide, foot_y),
                (apex[0] - wide, foot_y),
            ]
        )
        near = rgb(tone) * strength * 0.30 / layers
        painter.fillPath(
            shape,
            vertical(
                apex[1],
                foot_y,
                (0, QColor.fromRgbF(*map(float, near), 1)),
                (0.75, QColor.fromRgbF(*map(float, near * 0.22), 1)),
                (1, QColor.fromRgbF(0, 0, 0, 1)),
            ),
        )
    painter.restore()
    glow(painter, (apex[0], foot_y), half_px * 1.35, tone, strength * 0.5, squash=0.26)


def bollard(painter: QPainter, x: float, y: float, size_px: float, amb: Ambience) -> None:
    """Draws an iron bollard."""
    painter.save()
    painter.translate(x, y)
    painter.scale(size_px / 20, size_px / 20)
    side = linear((-7, 0), (8, 0), (0, amb("#23292e")), (0.7, amb("#4b555c")), (1, amb("#6d7880")))
    painter.fillPath(
        flowing(
            [(-6, 0), (-5, -10), (-8, -15), (-7, -20), (0, -21.5), (7, -20), (8, -15), (5, -10), (6, 0)],
            tight=0.45,
        ),
        side,
    )
    painter.restore()


# --- clock -------------------------------------------------------------------------------


def clock(
    painter: QPainter, x: float, y: float, radius_px: float, hours: float, seconds: float, amb: Ambience
) -> None:
    """Draws the wall clock; its second hand steps and settles."""
    painter.save()
    painter.translate(x, y)
    painter.scale(radius_px / 100, radius_px / 100)
    painter.setBrush(QBrush(colour("#000000", 0.28)))
    painter.drawEllipse(QPointF(9, 13), 113, 113)
    painter.setBrush(
        linear((-80, -80), (80, 90), (0, amb("#a87648", 1.25)), (0.5, amb("#704524")), (1, amb("#4a2c18")))
    )
    painter.drawEllipse(QPointF(0, 0), 114, 114)
    painter.setBrush(linear((-70, -80), (70, 80), (0, amb("#3a2415")), (1, amb("#b58352"))))
    painter.drawEllipse(QPointF(0, 0), 100, 100)
    painter.setBrush(linear((-70, -80), (70, 90), (0, amb("#f8efd8", 1.06)), (1, amb("#d9caa6"))))
    painter.drawEllipse(QPointF(0, 0), 96, 96)
    ink = amb("#2b2622")
    for minute in range(60):
        painter.save()
        painter.rotate(minute * 6)
        if minute % 5 == 0:
            painter.fillRect(QRectF(-1.3, -90, 2.6, 8), ink)
        else:
            painter.fillRect(QRectF(-0.5, -90, 1.0, 4), amb("#6a6054"))
        painter.restore()
    for hour in range(1, 13):
        turn = math.radians(hour * 30)
        lettering(painter, str(hour), (70 * math.sin(turn), -70 * math.cos(turn)), font("book", 21), ink)
    lettering(painter, "FENNAY", (0, -34), font("book", 10, spacing_px=2), amb("#6a6054"))
    whole, part = divmod(seconds, 1.0)
    # The hand overshoots by a degree and comes to rest.
    settle = 1 - math.exp(-part * 26) * math.cos(part * 48)
    second = (whole - 1 + settle) * 6
    minute = (hours * 60 % 60) * 6
    hour = (hours % 12) * 30
    for angle, points, tone, shadow in (
        (hour, [(-3.6, 14), (-4.4, -30), (0, -52), (4.4, -30), (3.6, 14)], ink, 3),
        (minute, [(-2.6, 18), (-3.0, -50), (0, -80), (3.0, -50), (2.6, 18)], ink, 4),
        (second, [(-1.3, 26), (-0.6, -84), (0.6, -84), (1.3, 26)], amb("#a2432f"), 5),
    ):
        for dx, dy, fill in ((shadow * 0.7, shadow, colour("#3a2a18", 0.22)), (0, 0, tone)):
            painter.save()
            painter.translate(dx, dy)
            painter.rotate(angle)
            painter.fillPath(straight(points), fill)
            painter.restore()
    painter.setBrush(amb("#a2432f"))
    painter.drawEllipse(QPointF(0, 0), 4.6, 4.6)
    # A sheen on the glass.
    painter.save()
    sheen = QPainterPath()
    sheen.addEllipse(QPointF(0, 0), 96, 96)
    painter.setClipPath(sheen)
    painter.fillPath(
        flowing([(-110, -20), (-40, -110), (40, -110), (-110, 70)], tight=0.3),
        linear((-90, -80), (0, 10), (0, colour("#ffffff", 0.16)), (1, colour("#ffffff", 0.0))),
    )
    painter.restore()
    painter.restore()


# --- ticket and machine --------------------------------------------------------------------

TICKET_SIZE = (380.0, 176.0)


def ticket_outline() -> QPainterPath:
    """Returns the ticket's shape around its middle: torn along perforations at both ends."""
    width, height = TICKET_SIZE
    points: list[Point] = [(-width / 2, -height / 2), (width / 2, -height / 2)]
    teeth = 17
    for i in range(teeth):
        y = -height / 2 + height * (i + 0.5) / teeth
        points.append((width / 2 + (3.0 if i % 2 else -0.6), y))
    points += [(width / 2, height / 2), (-width / 2, height / 2)]
    for i in range(teeth):
        y = height / 2 - height * (i + 0.5) / teeth
        points.append((-width / 2 + (3.0 if i % 2 else -0.6), y))
    return straight(points)


_TICKET = ticket_outline  # built on demand: paths need no application, fonts do


def ticket(
    painter: QPainter,
    amb: Ambience,
    *,
    number: str = "0413",
    date: str = "TUESDAY 1 DECEMBER",
    blank: bool = False,
    shade: float = 0.0,
    crease: bool = True,
) -> None:
    """Draws a ticket around the origin, TICKET_SIZE in its own units.

    Args:
        painter: painter, already moved and turned.
        amb: light.
        number: running number, in red.
        date: printed date; not shown when blank.
        blank: True for a ticket that has not been printed.
        shade: 0 lit, 1 turned away from the light.
        crease: True for paper that was folded once.
    """
    width, height = TICKET_SIZE
    outline = _TICKET()
    dark = 1 - 0.45 * shade
    painter.fillPath(
        outline,
        linear(
            (-width / 2, -height / 2),
            (width / 2, height / 2),
            (0, amb("#f7ecd0", 1.06 * dark)),
            (0.6, amb("#efe1bf", dark)),
            (1, amb("#dcc99f", dark)),
        ),
    )
    painter.save()
    painter.setClipPath(outline, Qt.ClipOperation.IntersectClip)
    ink, red = amb("#3a3833", dark), amb("#ab3a2a", dark)
    teal = amb("#2f6068", dark)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(_pen(teal, 1.6))
    painter.drawRect(QRectF(-width / 2 + 13, -height / 2 + 11, width - 26, height - 22))
    painter.setPen(_pen(teal, 0.7))
    painter.drawRect(QRectF(-width / 2 + 17, -height / 2 + 15, width - 34, height - 30))
    # A printed ground of waves, very pale.
    painter.setPen(_pen(amb("#9cb7ac", dark, 0.45), 1.0))
    for row in range(9):
        y = -height / 2 + 24 + row * 16
        wave = QPainterPath(QPointF(-width / 2 + 20, y))
        step = 12
        for k in range(int((width - 40) / step)):
            x = -width / 2 + 20 + k * step
            wave.quadTo(x + step / 2, y + (4 if k % 2 else -4), x + step, y)
        painter.drawPath(wave)
    painter.setPen(Qt.PenStyle.NoPen)
    lettering(painter, "FENNAY ISLAND FERRY", (0, -height / 2 + 34), font("book", 21, spacing_px=2.6), teal)
    painter.fillRect(QRectF(-width / 2 + 40, -height / 2 + 48, width - 80, 1.0), teal)
    lettering(painter, "SINGLE", (-width / 2 + 74, height / 2 - 36), font("book", 20, spacing_px=2), teal)
    lettering(painter, f"No. {number}", (width / 2 - 84, height / 2 - 36), font("type", 25, bold=True), red)
    if not blank:
        lettering(painter, date, (0, 6), font("type", 29, bold=True), ink)
    else:
        painter.setPen(_pen(amb("#8a8575", dark), 1.0))
        for x in range(-140, 141, 8):
            painter.drawLine(QPointF(x, 18), QPointF(x + 4, 18))
        painter.setPen(Qt.PenStyle.NoPen)
    if crease:
        painter.fillRect(QRectF(56, -height / 2, 2.0, height), colour("#5a4a30", 0.16))
        painter.fillRect(
            QRectF(58, -height / 2, 26, height),
            linear((58, 0), (84, 0), (0, colour("#fff8e0", 0.22)), (1, colour("#fff8e0", 0))),
        )
        painter.fillRect(
            QRectF(30, -height / 2, 26, height),
            linear((30, 0), (56, 0), (0, colour("#5a4a30", 0)), (1, colour("#5a4a30", 0.14))),
        )
    painter.restore()


def placed(painter: QPainter, corners: list[Point]) -> bool:
    """Sets a painter up so that a ticket fills four corners (clockwise from top left)."""
    width, height = TICKET_SIZE
    source = polygon(
        [
            (-width / 2, -height / 2),
            (width / 2, -height / 2),
            (width / 2, height / 2),
            (-width / 2, height / 2),
        ]
    )
    transform = QTransform()
    if not QTransform.quadToQuad(source, polygon(corners), transform):
        return False
    painter.setTransform(transform, True)
    return True


def roll(
    painter: QPainter,
    x: float,
    y: float,
    radius_px: float,
    amb: Ambience,
    turn: float,
    *,
    depth_px: float = 30,
) -> None:
    """Draws a roll of tickets on its spindle; `turn` in degrees."""
    painter.save()
    painter.translate(x, y)
    # The thickness, towards the back.
    for k in range(int(depth_px), 0, -2):
        painter.setBrush(amb("#c3b083", 0.62 + 0.25 * (1 - k / depth_px)))
        painter.drawEllipse(QPointF(k * 0.55, -k * 0.32), radius_px, radius_px)
    painter.setBrush(
        linear(
            (-radius_px, -radius_px), (radius_px, radius_px), (0, amb("#f6e9c8", 1.08)), (1, amb("#cdb98b"))
        )
    )
    painter.drawEllipse(QPointF(0, 0), radius_px, radius_px)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.save()
    painter.rotate(turn)
    count = int(radius_px / 5)
    for i in range(count):
        ring = radius_px * (0.34 + 0.64 * i / count)
        painter.setPen(_pen(amb("#a8946a", 1.0, 0.35 + 0.3 * ((i * 7) % 3 == 0)), 1.0))
        painter.drawEllipse(QPointF(math.sin(i * 1.7) * 0.7, math.cos(i * 2.1) * 0.7), ring, ring)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(amb("#6b4a30"))
    painter.drawEllipse(QPointF(0, 0), radius_px * 0.32, radius_px * 0.32)
    painter.setBrush(amb("#8a6644", 1.1))
    painter.drawEllipse(QPointF(-1, -1), radius_px * 0.28, radius_px * 0.28)
    painter.setBrush(amb("#2f2a26"))
    painter.drawEllipse(QPointF(0, 0), radius_px * 0.10, radius_px * 0.10)
    painter.fillRect(QRectF(-radius_px * 0.24, -1.6, radius_px * 0.48, 3.2), amb("#4a3524"))
    painter.restore()
    painter.restore()


def machine(
    painter: QPainter, x: float, y: float, scale: float, amb: Ambience, crank: float, *, lit: float = 1.0
) -> None:
    """Draws the printing machine (180 wide, 190 high): cast body, brass plate, slot, crank."""
    painter.save()
    painter.translate(x, y)
    painter.scale(scale, scale)
    body = flowing(
        [
            (-90, 0),
            (-92, -70),
            (-84, -128),
            (-52, -166),
            (0, -176),
            (52, -166),
            (84, -128),
            (92, -70),
            (90, 0),
        ],
        tight=0.42,
    )
    painter.fillPath(
        body,
        linear(
            (-90, -170),
            (90, 0),
            (0, amb("#4f8385", 1.15 * lit)),
            (0.45, amb("#2d5a60", lit)),
            (1, amb("#16343a", lit)),
        ),
    )
    painter.save()
    painter.setClipPath(body)
    painter.fillPath(
        flowing([(-96, -40), (-84, -130), (-40, -176), (-10, -178), (-58, -120), (-74, -40)], tight=0.4),
        colour("#ffffff", 0.10 * lit),
    )
    painter.restore()
    painter.fillRect(
        QRectF(-100, -10, 200, 12),
        linear(
            (-100, 0),
            (100, 0),
            (0, amb("#5b4a33", lit)),
            (0.3, amb("#8d744e", lit)),
            (1, amb("#3d3020", lit)),
        ),
    )
    # Brass plate.
    brass = linear(
        (-50, -140),
        (50, -90),
        (0, amb("#f0cf86", 1.15 * lit)),
        (0.5, amb("#b98d45", lit)),
        (1, amb("#8b652c", lit)),
    )
    painter.setBrush(brass)
    painter.drawRoundedRect(QRectF(-54, -140, 108, 46), 7, 7)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(_pen(amb("#6b4a20", lit), 1.4))
    painter.drawRoundedRect(QRectF(-50, -136, 100, 38), 5, 5)
    painter.setPen(Qt.PenStyle.NoPen)
    lettering(painter, "FENNAY", (0, -124), font("book", 17, spacing_px=3), amb("#3d2a12", lit))
    lettering(painter, "TICKETS", (0, -107), font("book", 12, spacing_px=3), amb("#3d2a12", lit))
    # Slot with a lip.
    painter.setBrush(amb("#0e1c1f"))
    painter.drawRoundedRect(QRectF(-70, -64, 140, 16), 4, 4)
    painter.fillRect(QRectF(-74, -48, 148, 5), brass)
    # Crank at the side.
    painter.save()
    painter.translate(92, -84)
    painter.setBrush(amb("#b98d45", lit))
    painter.drawEllipse(QPointF(0, 0), 13, 13)
    painter.rotate(crank)
    painter.fillPath(straight([(-5, 0), (-3.5, -58), (3.5, -58), (5, 0)]), amb("#c9a056", 1.1 * lit))
    painter.setBrush(amb("#5a2e20", 1.2 * lit))
    painter.drawRoundedRect(QRectF(-8, -80, 16, 28), 7, 7)
    painter.setBrush(amb("#6b4a20", lit))
    painter.drawEllipse(QPointF(0, 0), 5, 5)
    painter.restore()
    painter.restore()


def mug(
    painter: QPainter,
    x: float,
    y: float,
    size_px: float,
    amb: Ambience,
    seconds: float,
    *,
    steam: float = 0.16,
) -> None:
    """Draws an enamel mug with steam."""
    painter.save()
    painter.translate(x, y)
    painter.scale(size_px / 40, size_px / 40)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(_pen(amb("#d9d5c8"), 3.4))
    painter.drawEllipse(QPointF(18, -19), 8, 10)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.fillPath(
        straight([(-16, -36), (16, -36), (15, 0), (-15, 0)]),
        linear((-16, 0), (16, 0), (0, amb("#f2eee2", 1.05)), (0.6, amb("#d2cec0")), (1, amb("#9fa09a"))),
    )
    painter.fillRect(QRectF(-16.5, -38, 33, 3), amb("#2f5f78"))
    if steam > 0:
        for k in range(3):
            height = 40 + 8 * k
            points = []
            for i in range(6):
                lift = i / 5
                sway = math.sin(seconds * 1.3 + lift * 4 + k * 2.1) * 7 * lift
                points.append((-7 + 7 * k + sway, -38 - lift * height))
            for width, alpha in ((9, 0.22), (5, 0.35)):
                path = flowing(points, closed=False)
                pen = QPen(
                    vertical(
                        -38 - height,
                        -36,
                        (0, colour("#ffffff", 0)),
                        (0.5, colour("#ffffff", steam * alpha)),
                        (1, colour("#ffffff", 0)),
                    ),
                    width,
                )
                pen.setCapStyle(Qt.PenCapStyle.RoundCap)
                painter.strokePath(path, pen)
    painter.restore()


def hanging_lamp(
    painter: QPainter,
    x: float,
    y: float,
    size_px: float,
    amb: Ambience,
    brightness: float,
    *,
    cord_px: float = 300,
    sway: float = 0.0,
) -> None:
    """Draws an enamel lamp on a cord; x, y is the rim's middle."""
    painter.save()
    painter.translate(x, y - cord_px)
    painter.rotate(sway)
    painter.translate(0, cord_px)
    painter.scale(size_px / 60, size_px / 60)
    painter.fillRect(QRectF(-0.8, -cord_px * 60 / size_px, 1.6, cord_px * 60 / size_px - 30), amb("#2a2520"))
    shade = flowing(
        [(-46, 0), (-36, -16), (-12, -25), (-6, -36), (6, -36), (12, -25), (36, -16), (46, 0)], tight=0.5
    )
    painter.fillPath(
        shade,
        linear((-46, -30), (46, 0), (0, amb("#5d8a80", 1.2)), (0.5, amb("#2f5650")), (1, amb("#1c3834"))),
    )
    painter.setBrush(colour("#ffe0ac", 1, 0.25 + 1.7 * brightness) if brightness > 0 else amb("#c9c2b0"))
    painter.drawEllipse(QPointF(0, 0), 45, 6)
    painter.restore()
    if brightness > 0:
        glow(painter, (x, y + size_px * 0.2), size_px * 4.2, LAMP, 0.36 * brightness)
        glow(painter, (x, y + size_px * 0.05), size_px * 1.2, "#ffe7bd", 0.5 * brightness)


def cutout(outer: QRectF, holes: list[QRectF]) -> QPainterPath:
    """Returns a wall with openings."""
    path = QPainterPath()
    path.setFillRule(Qt.FillRule.OddEvenFill)
    path.addRect(outer)
    for hole in holes:
        path.addRect(hole)
    return path


def flicker(seconds: float, seed: float = 0.0) -> float:
    """Returns a lamp's slow unrest: within 4 % of 1, slower than twice a second."""
    return 1 + 0.025 * math.sin(seconds * 2.1 + seed) + 0.015 * math.sin(seconds * 3.7 + seed * 2)


def eased_step(seconds: float, period: float, travel: float) -> float:
    """Returns a ratchet's place: it moves `travel` in the first part of each period, then rests."""
    count, part = divmod(seconds, period)
    return (count + smooth(part / period, 0.05, 0.42)) * travel
