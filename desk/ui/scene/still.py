"""One picture of a scene, as it sits in the film's frame."""

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QImage, QPainter, QPaintEvent, QPen, QPixmap
from PySide6.QtWidgets import QSizePolicy, QWidget

from desk.film.model import Fit, Framing, Size
from desk.ui.look.theme import Theme
from desk.ui.look.type import SMALL_PX, TEXT_PX, sans, typewriter

STILL_PX = 260
"""Height of the still where there is room."""

_LEAST_PX = 112


class StillView(QWidget):
    """Shows a picture in the film's frame, or quietly says why there is none."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._frame = Size(16, 9)
        self._picture: QPixmap | None = None
        self._framing = Framing()
        self._number = ""
        self._place = ""
        self._words = ""
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        theme.changed.connect(self.update)
        self.setAccessibleName("Still of the scene")

    @property
    def words(self) -> str:
        """What it says in place of a picture, or ""."""
        return self._words

    @property
    def place(self) -> str:
        """The place that its picture shows, or ""."""
        return self._place

    def set_frame(self, frame: Size) -> None:
        """Take the shape of the film's frame."""
        if frame != self._frame:
            self._frame = frame
            self.updateGeometry()
            self.update()
        self.setMaximumWidth(round(STILL_PX * frame.width / frame.height))

    def show_picture(self, image: QImage, framing: Framing, number: str, place: str) -> None:
        """Show a picture of the footage, upright, as it sits in the frame.

        Args:
            image: The picture.
            framing: How the clip sits in the frame.
            number: Number of the scene.
            place: The place in the scene, in words.
        """
        self._picture = QPixmap.fromImage(image)
        self._framing, self._number, self._place, self._words = framing, number, place, ""
        self.setAccessibleDescription(f"Scene {number} at {place}")
        self.update()

    def show_words(self, words: str) -> None:
        """Say why there is no picture."""
        if words != self._words or self._picture is not None:
            self._picture, self._place, self._words = None, "", words
            self.setAccessibleDescription(words)
            self.update()

    def hasHeightForWidth(self) -> bool:
        return True

    def heightForWidth(self, width: int) -> int:
        return min(STILL_PX, round(width * self._frame.height / self._frame.width))

    def sizeHint(self) -> QSize:
        return QSize(round(STILL_PX * self._frame.width / self._frame.height), STILL_PX)

    def minimumSizeHint(self) -> QSize:
        return QSize(round(_LEAST_PX * self._frame.width / self._frame.height), _LEAST_PX)

    def paintEvent(self, _: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        frame = _inside(QRectF(self.rect()), self._frame.width / self._frame.height)
        if self._picture is None:
            painter.fillRect(frame, self._theme.colour("bench"))
            painter.setPen(QPen(self._theme.colour("line"), 1))
            painter.drawRect(frame.adjusted(0.5, 0.5, -0.5, -0.5))
            painter.setPen(self._theme.colour("dim"))
            painter.setFont(sans())
            flags = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
            painter.drawText(frame.adjusted(12, 12, -12, -12), flags, self._words)
            return
        painter.fillRect(frame, Qt.GlobalColor.black)
        painter.setClipRect(frame)
        painter.drawPixmap(self.placed(frame), self._picture, QRectF(self._picture.rect()))
        self._paint_place(painter, frame)

    def placed(self, frame: QRectF) -> QRectF:
        """Return where the whole picture lies when the frame is at `frame`; what is outside is cut off."""
        if self._picture is None:
            return QRectF()
        across = frame.width() / self._picture.width()
        down = frame.height() / self._picture.height()
        factor = (min if self._framing.fit is Fit.FIT else max)(across, down) * self._framing.scale
        size = QRectF(0, 0, self._picture.width() * factor, self._picture.height() * factor)
        size.moveCenter(frame.center())
        size.translate(self._framing.x * frame.width(), self._framing.y * frame.height())
        return size

    def _paint_place(self, painter: QPainter, frame: QRectF) -> None:
        """Write number and place onto a corner that is made dark, so that they are read on any picture."""
        number, words = typewriter(TEXT_PX), sans(SMALL_PX + 1)
        painter.setFont(number)
        first = painter.fontMetrics().horizontalAdvance(self._number)
        painter.setFont(words)
        second = painter.fontMetrics().horizontalAdvance(self._place)
        corner = QRectF(frame.left(), frame.bottom() - 22, first + second + 26, 22)
        painter.setOpacity(0.72)
        painter.fillRect(corner, Qt.GlobalColor.black)
        painter.setOpacity(1)
        painter.setPen(Qt.GlobalColor.white)
        middle = Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft
        painter.setFont(number)
        painter.drawText(corner.adjusted(8, 0, 0, 0), middle, self._number)
        painter.setFont(words)
        painter.drawText(corner.adjusted(first + 16, 0, 0, 0), middle, self._place)


def _inside(rect: QRectF, aspect: float) -> QRectF:
    """Return the largest rectangle of a shape at the top left of another."""
    width = min(rect.width(), rect.height() * aspect)
    return QRectF(rect.left(), rect.top(), width, width / aspect)
