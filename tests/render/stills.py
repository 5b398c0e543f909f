"""Footage of one unmoving picture, whose colours are known by the standards.

Luma weights of the matrices: ITU-R BT.601-7 (0.299, 0.587, 0.114), BT.709-6 (0.2126, 0.7152, 0.0722) and
BT.2020-2 (0.2627, 0.6780, 0.0593); limited range is 16 to 235 for Y and 16 to 240 for colour, times 4
in 10 bits.
"""

from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from desk.film.rates import Rate
from tests.making import RATE_25, run_ffmpeg

WEIGHTS = {
    "smpte170m": (0.299, 0.114),
    "bt470bg": (0.299, 0.114),
    "bt709": (0.2126, 0.0722),
    "bt2020nc": (0.2627, 0.0593),
}
COLOURS = {
    "white": (1.0, 1.0, 1.0),
    "black": (0.0, 0.0, 0.0),
    "red": (1.0, 0.0, 0.0),
    "green": (0.0, 1.0, 0.0),
    "blue": (0.0, 0.0, 1.0),
    "yellow": (1.0, 1.0, 0.0),
    "grey": (0.5, 0.5, 0.5),
    "skin": (0.8, 0.6, 0.5),
}


def ycbcr(
    rgb: Sequence[float], matrix: str = "bt709", *, full_range: bool = False, bits: int = 8
) -> tuple[float, float, float]:
    """Return Y, Cb and Cr of a colour from 0 to 1, unrounded."""
    red, green, blue = rgb
    of_red, of_blue = WEIGHTS[matrix]
    luma = of_red * red + (1 - of_red - of_blue) * green + of_blue * blue
    blue_difference, red_difference = (blue - luma) / (2 - 2 * of_blue), (red - luma) / (2 - 2 * of_red)
    step = 1 << (bits - 8)
    if full_range:
        top = 256 * step - 1
        return luma * top, blue_difference * top + 128 * step, red_difference * top + 128 * step
    return (
        (16 + 219 * luma) * step,
        (128 + 224 * blue_difference) * step,
        (128 + 224 * red_difference) * step,
    )


def make_still(
    path: Path,
    rgb: NDArray[np.float64],
    *,
    frames: int = 3,
    rate: Rate = RATE_25,
    matrix: str = "bt709",
    tagged: bool = True,
    full_range: bool = False,
    bits: int = 8,
    halved: bool = True,
    codec: str = "libx264",
    rotation: int = 0,
    pixel_aspect: Fraction = Fraction(1),
    extra: Sequence[str] = (),
) -> Path:
    """Make footage of one picture.

    Args:
        path: Where; its suffix decides the container.
        rgb: The picture as stored: rows of colours from 0 to 1.
        frames: How many.
        rate: Frames a second.
        matrix: Which matrix turns it into Y, Cb and Cr.
        tagged: Whether the file says so.
        full_range: Whether its levels are full.
        bits: 8 or 10.
        halved: Whether colour has half the resolution each way (4:2:0), else it has all (4:4:4).
        codec: FFmpeg's name of an encoder.
        rotation: Clockwise turn that shows it upright.
        pixel_aspect: Width of a pixel over its height.
        extra: More arguments for FFmpeg's output.
    """
    planes = np.array(ycbcr(np.moveaxis(rgb, -1, 0), matrix, full_range=full_range, bits=bits))
    top = (256 << (bits - 8)) - 1
    luma, blue, red = np.clip(np.round(planes), 0, top)
    step = 2 if halved else 1
    kind = np.uint8 if bits == 8 else np.dtype("<u2")
    raw = b"".join(
        np.ascontiguousarray(plane, dtype=kind).tobytes()
        for plane in (luma, blue[::step, ::step], red[::step, ::step])
    )
    pixels = f"yuv{'420' if halved else '444'}p{'10le' if bits == 10 else ''}"
    levels = "pc" if full_range else "tv"
    names = {"bt2020nc": ("bt2020", "bt2020-10")}.get(
        matrix, (matrix, "smpte170m" if matrix == "bt470bg" else matrix)
    )
    tags = f"setparams=range={levels}:colorspace={matrix}:color_primaries={names[0]}:color_trc={names[1]}"
    if not tagged:
        tags = "setparams=range=unknown:colorspace=unknown:color_primaries=unknown:color_trc=unknown"
    sar = f"setsar={pixel_aspect.numerator}/{pixel_aspect.denominator}"
    made = path.with_name(f"flat-{path.name}") if rotation else path
    height, width = rgb.shape[:2]
    run_ffmpeg(
        "-f", "rawvideo", "-pix_fmt", pixels, "-video_size", f"{width}x{height}", "-framerate", str(rate),
        "-i", "pipe:0",
        "-vf", f"{tags},{sar}", "-c:v", codec, "-pix_fmt", pixels, "-crf", "1", "-preset", "ultrafast",
        *(("-x265-params", "log-level=error") if codec == "libx265" else ()), *extra, f"file:{made}",
        data=raw * frames,
    )  # fmt: skip
    if rotation:
        turn = ("-display_rotation", str(-rotation % 360), "-i", f"file:{made}", "-c", "copy", f"file:{path}")
        run_ffmpeg(*turn)
        made.unlink()
    return path


def plain(colour: Sequence[float], size: tuple[int, int]) -> NDArray[np.float64]:
    """Return a picture of one colour."""
    return np.broadcast_to(np.array(colour, dtype=np.float64), (size[1], size[0], 3)).copy()


def patches(size: tuple[int, int]) -> NDArray[np.float64]:
    """Return a picture of COLOURS in eight patches, four across and two down."""
    width, height = size
    picture = plain((0.0, 0.0, 0.0), size)
    for place, colour in enumerate(COLOURS.values()):
        row, column = divmod(place, 4)
        picture[
            row * height // 2 : (row + 1) * height // 2, column * width // 4 : (column + 1) * width // 4
        ] = colour
    return picture
