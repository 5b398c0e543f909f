"""Pictures that stand behind a card."""

import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from PySide6.QtCore import (
    QBuffer,
    QByteArray,
    QIODevice,
    QMessageLogContext,
    QRect,
    QSize,
    Qt,
    QtMsgType,
    qInstallMessageHandler,
)
from PySide6.QtGui import QColorSpace, QImage, QImageReader

from desk.cards.png import SIGNATURE, is_whole_png
from desk.errors import MediaError
from desk.film.model import Size

_FORMATS = {"bmp", "gif", "jfif", "jpeg", "jpg", "png", "tif", "tiff", "webp"}
"""Formats of plain pixels. Those that can refer to other files, such as SVG, are left out."""

_MOST_BYTES = 256 << 20

_lock = threading.Lock()


def load_picture(path: Path, size: Size) -> QImage:
    """Return a picture scaled so that it fills a frame, with what is outside cut off at both sides alike.

    Raises:
        MediaError: when it is missing, damaged or of an unknown kind.
    """
    image = _read(path)
    if image.colorSpace().isValid():
        image.convertToColorSpace(QColorSpace(QColorSpace.NamedColorSpace.SRgb))
    image = image.convertToFormat(QImage.Format.Format_ARGB32_Premultiplied)
    # Cut before scaling: a very long and thin picture would otherwise grow beyond all memory.
    width = min(image.width(), max(1, round(image.height() * size.width / size.height)))
    height = min(image.height(), max(1, round(image.width() * size.height / size.width)))
    cut = image.copy(QRect((image.width() - width) // 2, (image.height() - height) // 2, width, height))
    return cut.scaled(
        QSize(size.width, size.height),
        Qt.AspectRatioMode.IgnoreAspectRatio,
        Qt.TransformationMode.SmoothTransformation,
    )


def _read(path: Path) -> QImage:
    try:
        if path.stat().st_size > _MOST_BYTES:
            raise _unreadable(path, "it is larger than 256 MB")
        data = path.read_bytes()
    except FileNotFoundError as error:
        raise MediaError(
            f"The picture “{path.name}” behind a card is missing.",
            advice="Put it back, or choose another picture for the card.",
            code="media.missing",
            path=path,
        ) from error
    except OSError as error:
        raise _unreadable(path, error.strerror or str(error)) from error
    # libpng writes its complaints straight to the terminal, so a damaged file is told before it sees it.
    if data.startswith(SIGNATURE) and not is_whole_png(data):
        raise _unreadable(path, "it is damaged")
    buffer = QBuffer()
    buffer.setData(QByteArray(data))
    buffer.open(QIODevice.OpenModeFlag.ReadOnly)
    with _complaints() as complaints:
        reader = QImageReader(buffer)
        reader.setAutoTransform(True)
        if not reader.canRead() or bytes(reader.format().data()).decode() not in _FORMATS:
            raise _unreadable(path, "it is not a picture of a kind that this program knows")
        image = reader.read()
    if image.isNull():
        raise _unreadable(
            path, "it is damaged or too large", detail="\n".join([reader.errorString(), *complaints])
        )
    if any("premature end" in complaint for complaint in complaints):
        raise _unreadable(path, "its end is missing", detail="\n".join(complaints))
    return image


def _unreadable(path: Path, reason: str, *, detail: str = "") -> MediaError:
    return MediaError(
        f"The picture “{path.name}” behind a card can't be read: {reason}.",
        advice="Choose a whole PNG or JPEG picture.",
        code="media.unreadable",
        path=path,
        detail=detail,
    )


@contextmanager
def _complaints() -> Iterator[list[str]]:
    """Collect what Qt's picture readers would print, and let all other messages pass."""
    found: list[str] = []

    def listen(kind: QtMsgType, context: QMessageLogContext, text: str) -> None:
        if (context.category or "").startswith("qt.gui.imageio"):
            found.append(text)
        elif earlier is None:
            sys.stderr.write(f"{text}\n")
        else:
            earlier(kind, context, text)

    with _lock:
        earlier = qInstallMessageHandler(listen)
        try:
            yield found
        finally:
            qInstallMessageHandler(earlier)
