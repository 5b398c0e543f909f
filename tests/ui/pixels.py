"""Pictures as numbers."""

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import Qt
from PySide6.QtGui import QImage

Plane = NDArray[np.int32]


def blank(side_px: int) -> QImage:
    """Return a transparent square."""
    image = QImage(side_px, side_px, QImage.Format.Format_ARGB32_Premultiplied)
    image.fill(Qt.GlobalColor.transparent)
    return image


def alphas(image: QImage) -> Plane:
    """Return how much each pixel is covered, 0 to 255."""
    return _pixels(image)[:, :, 3]


def greys(image: QImage) -> Plane:
    """Return the lightness of each pixel, 0 to 255, with the weights of ITU-R BT.709."""
    red, green, blue = (_pixels(image)[:, :, place] for place in range(3))
    return (0.2126 * red + 0.7152 * green + 0.0722 * blue).round().astype(np.int32)


def _pixels(image: QImage) -> Plane:
    image = image.convertToFormat(QImage.Format.Format_RGBA8888)
    data = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.bytesPerLine())
    return data[:, : 4 * image.width()].reshape(image.height(), image.width(), 4).astype(np.int32)
