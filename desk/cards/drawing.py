"""Cards and slates drawn to PNG files: RGB or RGBA, 8 bits, full range, without colour tags.

Drawing may go on in several threads at once, once `desk.cards.fonts.prepare_drawing` was called in the main
thread. The same input gives the same bytes with one release of Qt and the same fonts on the machine; the
machine's fonts matter only for characters that the program's own lack.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QRectF, QSize, Qt, qVersion
from PySide6.QtGui import QColor, QImage, QPainter, QPen

from desk.cards.colours import Colour, dimmed, parse_colour, veil_share
from desk.cards.fonts import SANS, SERIF_SMALL, TYPEWRITER, prepare_drawing
from desk.cards.layout import HEIGHT, Placed, lay_out_roll, lay_out_still
from desk.cards.picture import load_picture
from desk.cards.png import write_png
from desk.cards.text import Face, Shaped, fold, paint_line
from desk.film.model import Card, Motion, Size
from desk.film.reading import card_text, plan_roll

DRAWING_VERSION = f"1, Qt {qVersion()}"
"""Differs when the same card may be drawn differently; part of the key of every drawn piece."""

_BAND_LINES = 1024

_SLATE: Colour = (0x2A, 0x2A, 0x29)
_SLATE_FRAME: Colour = (0x78, 0x76, 0x70)
_INK: Colour = (0xE9, 0xE6, 0xDD)
_DIM: Colour = (0xA9, 0xA6, 0x9C)
_WAX_PENCIL: Colour = (0xE6, 0xB9, 0x3F)

_SLATE_NUMBER = Face(TYPEWRITER, weight=700)
_SLATE_SLUGLINE = Face(TYPEWRITER)
_SLATE_NOTE = Face(SANS)

_SLATE_ROOM = 0.7
_LEAST_SLATE_SHARE = 0.6
_MOST_SLATE_SIGNS = 140

_SAMPLE = QSize(64, 36)

_Paint = Callable[[QPainter, int, int], None]


def draw_card(card: Card, *, film_size: Size, size: Size, target: Path, picture: Path | None = None) -> None:
    """Draw a card to a PNG file.

    A card that stands is drawn at `size`. A roll is a strip: a blank frame, the list, a blank frame, as wide
    as `size`; frame n of it shows the rows from n · px_per_frame on, as `plan_roll` says. A roll with a
    picture is drawn on nothing, with alpha, to be laid over what `draw_backdrop` draws, which stands still.

    Args:
        card: The card.
        film_size: The film's frame size. It decides where lines break, so that copies break alike.
        size: The frame size of the copy, of the same shape.
        target: The file.
        picture: The picture behind the text, or None.

    Raises:
        AssemblyError: when the text doesn't fit, or a colour is none.
        MediaError: when the picture can't be read.
        OutputError: when the file can't be written.
        DeskError: when the program's own fonts are missing.
    """
    prepare_drawing()
    background, ink = parse_colour(card.background), parse_colour(card.ink)
    frame = _Frame.of(film_size, size)
    quiet = ink if picture else dimmed(ink, background)
    backdrop: QImage | Colour | None = background
    if card.motion is Motion.ROLL:
        list_px = plan_roll(card, film_size, size).list_px
        lines, top_px = lay_out_roll(card, frame.width, list_px / frame.scale), float(size.height)
        height_px = list_px + 2 * size.height
        backdrop = None if picture else background
    else:
        lines, top_px, height_px = lay_out_still(card, frame.width), frame.top_px, size.height
        backdrop = _veiled(picture, size, ink, background) if picture else background

    def paint(painter: QPainter, first_px: int, end_px: int) -> None:
        painter.translate(frame.left_px, top_px)
        painter.scale(frame.scale, frame.scale)
        for item in lines:
            if top_px + item.bottom * frame.scale >= first_px and top_px + item.top * frame.scale <= end_px:
                _paint_placed(painter, item, quiet if item.quiet else ink)

    _write(target, size.width, height_px, backdrop, paint)


def draw_backdrop(card: Card, *, size: Size, target: Path, picture: Path) -> None:
    """Draw what stands still behind a roll: its picture, dimmed so that the text reads.

    Args:
        card: The card.
        size: The frame size of the copy.
        target: The PNG file.
        picture: The picture.

    Raises:
        AssemblyError: when a colour is none.
        MediaError: when the picture can't be read.
        OutputError: when the file can't be written.
        DeskError: when the program's own fonts are missing.
    """
    prepare_drawing()
    backdrop = _veiled(picture, size, parse_colour(card.ink), parse_colour(card.background))
    _write(target, size.width, size.height, backdrop, lambda painter, first_px, end_px: None)


def draw_slate(*, number: str, slugline: str, note: str, size: Size, target: Path) -> None:
    """Draw a stand-in picture that names a scene.

    Args:
        number: The scene's number.
        slugline: Its slugline.
        note: Why the scene itself is not there, such as `not locked`.
        size: The frame size.
        target: The PNG file.

    Raises:
        OutputError: when the file can't be written.
        DeskError: when the program's own fonts are missing.
    """
    prepare_drawing()
    frame = _Frame.of(size, size)
    _write(target, size.width, size.height, _SLATE, _slate_painter(frame, number, slugline, note))


def missing_characters(card: Card) -> str:
    """Return the characters of a card that no font on this machine can draw; they would show as boxes.

    Raises:
        DeskError: when the program's own fonts are missing.
    """
    prepare_drawing()
    return Shaped(card_text(card), Face(SERIF_SMALL)).missing()


@dataclass(frozen=True, slots=True)
class _Frame:
    """How units of layout become pixels.

    Attributes:
        width: Width of the picture in units.
        scale: Pixels of a unit.
        left_px: Where the first unit begins.
        top_px: The same, downwards.
    """

    width: float
    scale: float
    left_px: float
    top_px: float

    @classmethod
    def of(cls, film_size: Size, size: Size) -> "_Frame":
        """Return the frame for a copy of a film."""
        width = HEIGHT * film_size.width / film_size.height
        scale = min(size.height / HEIGHT, size.width / width)
        return cls(width, scale, (size.width - width * scale) / 2, (size.height - HEIGHT * scale) / 2)


def _slate_painter(frame: _Frame, number: str, slugline: str, note: str) -> _Paint:
    small = min(1.0, frame.width / HEIGHT)
    middle = HEIGHT * 0.49
    number_lines = _slate_lines(number, _SLATE_NUMBER, 190 * small, frame.width, middle)
    slugline_lines = _slate_lines(slugline, _SLATE_SLUGLINE, 50 * small, frame.width, middle + 96 * small)
    below = slugline_lines[-1].baseline if slugline_lines else middle
    note_lines = _slate_lines(note, _SLATE_NOTE, 30 * small, frame.width, below + 92 * small)
    outline = QRectF(0.08 * frame.width, 0.08 * HEIGHT, 0.84 * frame.width, 0.84 * HEIGHT)
    ring = 19 * small

    def paint(painter: QPainter, first_px: int, end_px: int) -> None:
        painter.translate(frame.left_px, frame.top_px)
        painter.scale(frame.scale, frame.scale)
        painter.setPen(QPen(QColor(*_SLATE_FRAME), 2))
        painter.drawRoundedRect(outline, 6, 6)
        for item in (*number_lines, *slugline_lines):
            _paint_placed(painter, item, _INK)
        for item in note_lines:
            _paint_placed(painter, replace(item, left=item.left + 0.9 * ring), _DIM)
        if note_lines:
            # A ring in wax pencil marks what is still open.
            painter.setPen(QPen(QColor(*_WAX_PENCIL), 0.16 * ring))
            painter.drawEllipse(
                QRectF(note_lines[0].left - 0.9 * ring, note_lines[0].baseline - 1.07 * ring, ring, ring)
            )

    return paint


def _slate_lines(text: str, face: Face, size: float, width: float, baseline: float) -> list[Placed]:
    """Return the centred lines of a slate: one, unless it would be much smaller than is meant."""
    text = fold(text)
    if len(text) > _MOST_SLATE_SIGNS:
        text = f"{text[: _MOST_SLATE_SIGNS - 1]}…"
    shaped = Shaped(text, face)
    if not shaped.width:
        return []
    room = _SLATE_ROOM * width
    size = max(_LEAST_SLATE_SHARE * size, min(size, room / shaped.width))
    return [
        Placed(line, (width - line.width * size) / 2, baseline + 1.25 * size * row, size)
        for row, line in enumerate(shaped.lines(room / size, balanced=True))
    ]


def _paint_placed(painter: QPainter, item: Placed, ink: Colour) -> None:
    paint_line(painter, item.line, left=item.left, baseline=item.baseline, size=item.size, ink=QColor(*ink))


def _veiled(picture: Path, size: Size, ink: Colour, background: Colour) -> QImage:
    """Return a picture filling a frame, with so much of the background over it that the ink reads."""
    loaded = load_picture(picture, size)
    image = QImage(size.width, size.height, QImage.Format.Format_RGB32)
    image.fill(QColor(*background))
    with QPainter(image) as painter:
        painter.drawImage(0, 0, loaded)
    sample = image.scaled(
        _SAMPLE, Qt.AspectRatioMode.IgnoreAspectRatio, Qt.TransformationMode.SmoothTransformation
    )
    with QPainter(image) as painter:
        painter.setOpacity(veil_share(_pixels(sample, alpha=False), ink, background))
        painter.fillRect(image.rect(), QColor(*background))
    return image


def _write(
    target: Path, width_px: int, height_px: int, backdrop: QImage | Colour | None, paint: _Paint
) -> None:
    """Write a picture band by band.

    Args:
        target: The PNG file.
        width_px: Pixels across.
        height_px: Lines.
        backdrop: A picture or a colour to paint on, or None for nothing.
        paint: Paints all that touches some lines, with the picture's top left at 0, 0.
    """
    alpha = backdrop is None

    def bands() -> Iterator[NDArray[np.uint8]]:
        for first_px in range(0, height_px, _BAND_LINES):
            end_px = min(height_px, first_px + _BAND_LINES)
            formats = QImage.Format
            image = QImage(
                width_px,
                end_px - first_px,
                formats.Format_ARGB32_Premultiplied if alpha else formats.Format_RGB32,
            )
            image.fill(QColor(*backdrop) if isinstance(backdrop, tuple) else Qt.GlobalColor.transparent)
            with QPainter(image) as painter:
                painter.setRenderHints(
                    QPainter.RenderHint.Antialiasing | QPainter.RenderHint.SmoothPixmapTransform
                )
                painter.translate(0, -first_px)
                if isinstance(backdrop, QImage):
                    painter.drawImage(0, 0, backdrop)
                paint(painter, first_px, end_px)
            yield _pixels(image, alpha=alpha)

    write_png(target, width=width_px, height=height_px, channels=4 if alpha else 3, bands=bands())


def _pixels(image: QImage, *, alpha: bool) -> NDArray[np.uint8]:
    """Return the pixels as rows of red, green, blue and, if asked for, alpha."""
    formats = QImage.Format
    channels = 4 if alpha else 3
    plain = image.convertToFormat(formats.Format_RGBA8888 if alpha else formats.Format_RGB888)
    rows = np.frombuffer(plain.constBits(), dtype=np.uint8).reshape(plain.height(), plain.bytesPerLine())
    return rows[:, : plain.width() * channels].reshape(plain.height(), plain.width(), channels).copy()
