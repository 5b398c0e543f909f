"""The control of a scene's tension."""

from PySide6.QtCore import QRect, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen, QWheelEvent
from PySide6.QtWidgets import QSizePolicy, QSlider, QWidget

from desk.ui.look.marks import MOST_TENSION, paint_tension
from desk.ui.look.theme import Theme
from desk.ui.look.type import sans

NOT_SAID = -1
_BARS_PX = QSize(80, 22)
_EDGE_PX = 5
_WORDS_PX = 88


def tension_words(tension: int | None) -> str:
    """Return what a tension is called: `not said`, `0, light`, `3`, `5, dread`."""
    if tension is None:
        return "not said"
    ends = {0: ", light", MOST_TENSION: ", dread"}
    return f"{tension}{ends.get(tension, '')}"


class TensionControl(QSlider):
    """Five steps that light up, and a word for none said.

    A click lights the steps up to there, or puts out the last one. Arrows go up and down, a figure sets it,
    Delete takes it back.

    Signals:
        chosen: What the person has set it to: 0 to 5, or None.
        left: It has lost the focus.
    """

    chosen = Signal(object)
    left = Signal()

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(Qt.Orientation.Horizontal, parent)
        self._theme = theme
        self._is_showing = False
        self.setRange(NOT_SAID, MOST_TENSION)
        self.setPageStep(1)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("Tension")
        self.setToolTip("0 (light) to 5 (dread). Delete takes it back.")
        self.setValue(NOT_SAID)
        self._tell()
        self.valueChanged.connect(self._on_value)
        theme.changed.connect(self.update)

    @property
    def tension(self) -> int | None:
        """What it shows."""
        return None if self.value() == NOT_SAID else self.value()

    def show_value(self, tension: int | None) -> None:
        """Show what the film says."""
        self._is_showing = True
        self.setValue(NOT_SAID if tension is None else tension)
        self._is_showing = False
        self._tell()

    def _on_value(self) -> None:
        self._tell()
        if not self._is_showing:
            self.chosen.emit(self.tension)

    def _tell(self) -> None:
        self.setAccessibleDescription(tension_words(self.tension))
        self.update()

    def _bars(self) -> QRectF:
        top = (self.height() - _BARS_PX.height()) / 2
        return QRectF(_EDGE_PX, top, _BARS_PX.width(), _BARS_PX.height())

    def sizeHint(self) -> QSize:
        return QSize(2 * _EDGE_PX + _BARS_PX.width() + _WORDS_PX, _BARS_PX.height() + 2 * _EDGE_PX)

    def minimumSizeHint(self) -> QSize:
        return self.sizeHint()

    def paintEvent(self, _: QPaintEvent) -> None:
        painter = QPainter(self)
        bars = self._bars()
        paint_tension(painter, bars, self.tension, self._theme.palette)
        painter.setPen(self._theme.colour("dim" if self.tension is None else "ink"))
        painter.setFont(sans())
        left = round(bars.right()) + 8
        painter.drawText(
            QRect(left, 0, self.width() - left, self.height()),
            Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft,
            tension_words(self.tension),
        )
        if self.hasFocus():
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.setPen(QPen(self._theme.colour("pencil"), 2))
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(1, 1, -1, -1), 3, 3)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        bars = self._bars()
        place = event.position().x() - bars.left()
        if event.button() is Qt.MouseButton.LeftButton and place < bars.width():
            step = max(1, min(MOST_TENSION, int(place * MOST_TENSION / bars.width()) + 1))
            self.setValue(step - 1 if step == self.value() else step)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        event.accept()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        event.accept()

    def wheelEvent(self, event: QWheelEvent) -> None:
        # The wheel moves the page.
        event.ignore()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.text() in tuple("012345"):
            self.setValue(int(event.text()))
        elif event.key() in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
            self.setValue(NOT_SAID)
        else:
            super().keyPressEvent(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.left.emit()
