"""The picture in the film's frame, on a neutral surround."""

import math

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QImage, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from desk.film.model import Size
from desk.ui.look.theme import Theme
from desk.ui.look.type import TEXT_PX, sans
from desk.ui.viewer.sides import CutLook, SideLook

_LEAST_PX, _USUAL_PX = 120, 288
_BETWEEN_PX = 8
_NAME_PX = 24
_MARK_PX = 8
_LATE = "Not this frame yet"


class PictureView(QWidget):
    """Shows a picture as large as it fits, pixel for pixel where it has as many as there is room for.

    Signals:
        resized: The frame takes another size; it, in pixels of the screen.

    Attributes:
        words: What stands in place of a picture, or "".
    """

    resized = Signal(object)

    def __init__(self, theme: Theme, parent: QWidget | None = None, *, is_dark: bool = False) -> None:
        """Show nothing yet.

        Args:
            theme: Colours in use.
            parent: Who owns it.
            is_dark: Whether the surround is black, for a whole screen, rather than the window's grey.
        """
        super().__init__(parent)
        self._theme = theme
        self._is_dark = is_dark
        self._shape = Size(16, 9)
        self._image = QImage()
        self._look: CutLook | None = None
        self._overlay: QWidget | None = None
        self._told = Size(0, 0)
        self._lag = ""
        self.words = ""
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setAccessibleName("Picture")
        theme.changed.connect(self.update)

    @property
    def image(self) -> QImage:
        """The picture that is shown."""
        return self._image

    @property
    def lag(self) -> str:
        """How the picture that is shown is not the frame that is stood on, or ""."""
        return self._lag

    @property
    def look(self) -> CutLook | None:
        """Both sides of a cut that are shown instead, or None."""
        return self._look

    def frame_rect(self) -> QRectF:
        """Return where the film's frame stands, on whole pixels of the screen."""
        return self._fitted(QRectF(self.rect()))

    def set_shape(self, shape: Size) -> None:
        """Take the shape of the film's frame."""
        if shape != self._shape:
            self._shape = shape
            self.updateGeometry()
            self._tell_size()
            self.update()

    def set_overlay(self, overlay: QWidget | None) -> None:
        """Lay something over all of it, such as handles, or nothing; what was there before is let go."""
        if self._overlay is not None and self._overlay is not overlay:
            self._overlay.setParent(None)
        self._overlay = overlay
        if overlay is not None:
            overlay.setParent(self)
            overlay.setGeometry(self.rect())
            overlay.raise_()

    def show_image(self, image: QImage, words: str = "") -> None:
        """Show a picture, or words in place of one.

        Args:
            image: The picture of the whole frame; a null one for none.
            words: Why there is none, or "".
        """
        self._image, self.words = image, words
        self._describe()
        self.update()

    def show_lag(self, lag: str) -> None:
        """Tell on the picture that it is not the frame that is stood on, and why; "" when it is again."""
        if lag != self._lag:
            self._lag = lag
            self._describe()
            self.update()

    def show_sides(self, look: CutLook | None) -> None:
        """Show the frames on both sides of a cut instead of the picture, or the picture again."""
        self._look = look
        if look is not None:
            self.setAccessibleDescription(f"{look.before.name}, {look.after.name}")
        self.update()

    def _describe(self) -> None:
        told = f"{_LATE}: {self._lag}." if self._lag and not self.words else ""
        self.setAccessibleDescription(self.words or told)

    def _fitted(self, room: QRectF) -> QRectF:
        """Return the largest rectangle of the frame's shape in the middle of a room."""
        ratio = self.devicePixelRatioF()
        across, down = room.width() * ratio, room.height() * ratio
        width = max(1, math.floor(min(across, down * self._shape.width / self._shape.height)))
        height = max(1, round(width * self._shape.height / self._shape.width))
        left = math.floor(room.left() * ratio + (across - width) / 2)
        top = math.floor(room.top() * ratio + (down - height) / 2)
        return QRectF(left / ratio, top / ratio, width / ratio, height / ratio)

    def _tell_size(self) -> None:
        frame, ratio = self.frame_rect(), self.devicePixelRatioF()
        size = Size(round(frame.width() * ratio), round(frame.height() * ratio))
        if size != self._told:
            self._told = size
            self.resized.emit(size)

    def _surround(self) -> QColor:
        return QColor(Qt.GlobalColor.black) if self._is_dark else self._theme.colour("bench")

    def _paint_image(self, painter: QPainter, frame: QRectF, image: QImage) -> None:
        ratio = self.devicePixelRatioF()
        fits = (image.width(), image.height()) == (
            round(frame.width() * ratio),
            round(frame.height() * ratio),
        )
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform, not fits)
        painter.drawImage(frame, image)

    def _paint_late(self, painter: QPainter, frame: QRectF) -> None:
        """Mark a picture in its corner; in black and white, since no colour belongs near it."""
        painter.setFont(sans(TEXT_PX))
        width = painter.fontMetrics().horizontalAdvance(_LATE) + 2 * _MARK_PX
        chip = QRectF(frame.left() + _MARK_PX, frame.bottom() - 24 - _MARK_PX, width, 24)
        painter.fillRect(chip, QColor(0, 0, 0, 200))
        painter.setPen(QColor(Qt.GlobalColor.white))
        painter.drawText(chip, Qt.AlignmentFlag.AlignCenter, _LATE)

    def _paint_words(self, painter: QPainter, frame: QRectF, words: str) -> None:
        painter.fillRect(frame, self._surround())
        painter.setPen(QPen(self._theme.colour("line"), 1))
        painter.drawRect(frame.adjusted(0.5, 0.5, -0.5, -0.5))
        painter.setPen(QColor(Qt.GlobalColor.white) if self._is_dark else self._theme.colour("dim"))
        painter.setFont(sans(TEXT_PX))
        flags = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
        painter.drawText(frame.adjusted(12, 8, -12, -8), flags, words)

    def _paint_sides(self, painter: QPainter, look: CutLook) -> None:
        half = (self.width() - _BETWEEN_PX) / 2
        room = QRectF(0, 0, half, self.height() - _NAME_PX)
        self._paint_side(painter, room, look.before, Qt.AlignmentFlag.AlignRight)
        self._paint_side(
            painter, room.translated(half + _BETWEEN_PX, 0), look.after, Qt.AlignmentFlag.AlignLeft
        )

    def _paint_side(self, painter: QPainter, room: QRectF, side: SideLook, towards: Qt.AlignmentFlag) -> None:
        frame = self._fitted(room)
        # The two meet in the middle, as they do in the cut.
        inner = room.right() - frame.width() if towards == Qt.AlignmentFlag.AlignRight else room.left()
        ratio = self.devicePixelRatioF()
        frame.moveLeft(math.floor(inner * ratio) / ratio)
        if side.words:
            self._paint_words(painter, frame, side.words)
        elif side.picture is None or side.picture.image.isNull():
            painter.fillRect(frame, Qt.GlobalColor.black)
        else:
            self._paint_image(painter, frame, side.picture.image)
        if side.is_late and not side.words:
            self._paint_late(painter, frame)
        painter.setPen(QColor(Qt.GlobalColor.white) if self._is_dark else self._theme.colour("ink"))
        painter.setFont(sans(TEXT_PX))
        line = QRectF(frame.left(), frame.bottom(), frame.width(), _NAME_PX)
        name = painter.fontMetrics().elidedText(side.name, Qt.TextElideMode.ElideMiddle, int(line.width()))
        painter.drawText(line, towards | Qt.AlignmentFlag.AlignVCenter, name)

    def sizeHint(self) -> QSize:
        return QSize(round(_USUAL_PX * self._shape.width / self._shape.height), _USUAL_PX)

    def minimumSizeHint(self) -> QSize:
        return QSize(_LEAST_PX, round(_LEAST_PX * self._shape.height / self._shape.width))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if self._overlay is not None:
            self._overlay.setGeometry(self.rect())
        self._tell_size()

    def event(self, event: QEvent) -> bool:
        if event.type() == QEvent.Type.DevicePixelRatioChange:
            self._tell_size()
        return super().event(event)

    def paintEvent(self, _: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.fillRect(self.rect(), self._surround())
        if self._look is not None:
            self._paint_sides(painter, self._look)
            return
        frame = self.frame_rect()
        if self.words:
            self._paint_words(painter, frame, self.words)
        elif self._image.isNull():
            painter.fillRect(frame, Qt.GlobalColor.black)
        else:
            self._paint_image(painter, frame, self._image)
        if self._lag and not self.words:
            self._paint_late(painter, frame)
        if self.hasFocus() and not self._is_dark:
            edge = QRectF(QPointF(0.5, 0.5), self.size() - QSize(1, 1))
            painter.setPen(QPen(self._theme.colour("outline"), 1))
            painter.drawRect(edge)
