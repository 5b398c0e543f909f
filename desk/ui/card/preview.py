"""The card as it will be rendered, drawn beside the window after each change."""

import functools

from PySide6.QtCore import QRectF, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QImage, QPainter, QPaintEvent, QPen, QPixmap, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QSizePolicy, QSlider, QVBoxLayout, QWidget

from desk.errors import DeskError
from desk.film.model import Size
from desk.film.rates import Rate
from desk.film.reading import is_empty, kind_name
from desk.film.timecode import format_length
from desk.ui.card.still import Drawn, Sitting, draw
from desk.ui.job_runner import JobRunner
from desk.ui.labels import note, say
from desk.ui.look.theme import Theme

SETTLE_MS = 150
"""From the last change to its drawing."""

_LEAST_PX = 96
_EMPTY = "The card is empty, so it is left out of the film. Write its first line."
_OUR_FAULT = "The card could not be drawn. This is a fault of the program itself."


class Preview(QWidget):
    """A card's picture, and for a roll the place in it.

    Signals:
        drawn: A newer picture is shown.
    """

    drawn = Signal()

    def __init__(self, jobs: JobRunner, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._jobs = jobs
        self._wanted: Sitting | None = None
        self._running: Sitting | None = None
        self._settled: Sitting | None = None
        self._drawn: Drawn | None = None
        self._rate = Rate(24)
        self._most_px = 10_000
        self._timer = QTimer(self, singleShot=True)
        self._timer.timeout.connect(self._start)
        self.frame = PictureFrame(theme, self)
        self.slider = QSlider(Qt.Orientation.Horizontal, self)
        self.slider.setAccessibleName("Place in the roll")
        self.slider.valueChanged.connect(self._on_moved)
        self._place = QLabel(self)
        self._place.setProperty("kind", "dim")
        self._travel = QWidget(self)
        travel = QHBoxLayout(self._travel)
        travel.setContentsMargins(0, 0, 0, 0)
        travel.setSpacing(12)
        travel.addWidget(self.slider, 1)
        travel.addWidget(self._place)
        self._travel.hide()
        self.told = note("fault", self)
        page = QVBoxLayout(self)
        page.setContentsMargins(0, 0, 0, 0)
        page.setSpacing(4)
        page.addWidget(self.frame)
        page.addWidget(self._travel)
        page.addWidget(self.told)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    @property
    def shown(self) -> Drawn | None:
        """What is shown, or None where nothing is."""
        return self._drawn

    @property
    def is_current(self) -> bool:
        """Whether what is shown is the card as it is now."""
        return self._settled is not None and self._settled == self._wanted

    def show_card(self, sitting: Sitting, rate: Rate) -> None:
        """Show a card as it is now; what is shown of it stays until the newer picture is drawn."""
        if self._drawn is not None and self._drawn.sitting.card.id != sitting.card.id:
            self._settled = None
            self._show(None)
        if self._wanted is None or self._wanted.film_size != sitting.film_size:
            self.frame.set_shape(sitting.film_size)
            self._fit()
        self._wanted, self._rate = sitting, rate
        self.frame.setAccessibleName(f"Preview of card “{kind_name(sitting.card)}”")
        if sitting != self._settled:
            self._timer.start(SETTLE_MS)
        self._say_place()

    def draw_again(self) -> None:
        """Draw it again, since its picture is not what it was."""
        self._settled = None
        if self._wanted is not None:
            self._timer.start(SETTLE_MS)

    def set_most_height(self, px: int) -> None:
        """Make the picture as large as the width allows, but not higher than this."""
        if px != self._most_px:
            self._most_px = px
            self._fit()

    def _fit(self) -> None:
        self.frame.setFixedHeight(max(_LEAST_PX, min(self._most_px, self.frame.heightForWidth(self.width()))))

    def _start(self) -> None:
        """Draw what is wanted, unless something is being drawn, after which this is asked again."""
        if self._wanted is None or self._running or self._wanted == self._settled or not self.isVisible():
            return
        self._running = self._wanted
        job = self._jobs.start("draw a card", functools.partial(draw, self._wanted))
        job.succeeded.connect(self._on_drawn)
        job.failed.connect(self._on_failed)
        job.finished.connect(self._on_finished)

    def _on_drawn(self, drawn: object) -> None:
        assert isinstance(drawn, Drawn)
        if drawn.sitting != self._wanted:
            return
        self._settled = drawn.sitting
        self._show(drawn)
        if is_empty(drawn.sitting.card):
            say(self.told, _EMPTY, "open")
        elif drawn.missing:
            say(self.told, f"No font on this machine can draw {_named(drawn.missing)}.", "fault")
        else:
            say(self.told, "")
        self.drawn.emit()

    def _on_failed(self, error: object) -> None:
        if self._running != self._wanted:
            return
        self._settled = self._running
        self._show(None)
        say(self.told, str(error) if isinstance(error, DeskError) else _OUR_FAULT, "fault")
        self.drawn.emit()

    def _on_finished(self) -> None:
        self._running = None
        if self._wanted != self._settled and not self._timer.isActive():
            self._start()

    def _show(self, drawn: Drawn | None) -> None:
        before, self._drawn = self._drawn, drawn
        rolls = drawn is not None and drawn.roll is not None
        self._travel.setVisible(rolls)
        if drawn is None:
            self.frame.show_picture(None)
            say(self.told, "")
            return
        if before is None or before.frames != drawn.frames:
            share = self.slider.value() / before.frames if before and before.roll else 0.5
            self.slider.blockSignals(True)
            self.slider.setRange(0, drawn.frames - 1)
            self.slider.setPageStep(self._rate.nominal)
            self.slider.setValue(round(share * drawn.frames))
            self.slider.blockSignals(False)
        self._on_moved()

    def _on_moved(self) -> None:
        if self._drawn is not None:
            self.frame.show_picture(self._drawn.frame(self.slider.value()))
            self._say_place()

    def _say_place(self) -> None:
        if self._drawn is not None and self._drawn.roll is not None:
            at, whole = self.slider.value(), self._drawn.frames
            self._place.setText(f"{format_length(at, self._rate)} of {format_length(whole, self._rate)}")

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        if self._wanted != self._settled:
            self._timer.start(0)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()


class PictureFrame(QWidget):
    """A picture, as large as it fits, in a neutral surround."""

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._theme = theme
        self._shape = Size(16, 9)
        self._picture: QImage | None = None
        self._scaled: QPixmap | None = None
        theme.changed.connect(self.update)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    @property
    def picture(self) -> QImage | None:
        """The picture before it is scaled, or None."""
        return self._picture

    def set_shape(self, size: Size) -> None:
        """Take the shape of a frame."""
        self._shape = size
        self.update()

    def show_picture(self, picture: QImage | None) -> None:
        """Show a picture, or an empty frame."""
        self._picture, self._scaled = picture, None
        self.update()

    def place(self) -> QRectF:
        """Return where the picture is, to the pixel of the screen."""
        ratio = self.devicePixelRatioF()
        room = QSize(int((self.width() - 2) * ratio), int((self.height() - 2) * ratio))
        size = QSize(self._shape.width, self._shape.height).scaled(room, Qt.AspectRatioMode.KeepAspectRatio)
        left = (round(self.width() * ratio) - size.width()) // 2
        top = (round(self.height() * ratio) - size.height()) // 2
        return QRectF(left / ratio, top / ratio, size.width() / ratio, size.height() / ratio)

    def heightForWidth(self, width: int) -> int:
        return round((width - 2) * self._shape.height / self._shape.width) + 2

    def paintEvent(self, _: QPaintEvent) -> None:
        painter = QPainter(self)
        place = self.place()
        if self._picture is not None:
            ratio = self.devicePixelRatioF()
            wanted = QSize(round(place.width() * ratio), round(place.height() * ratio))
            if self._scaled is None or self._scaled.size() != wanted:
                picture = self._picture.scaled(
                    wanted,
                    Qt.AspectRatioMode.IgnoreAspectRatio,
                    Qt.TransformationMode.SmoothTransformation,
                )
                self._scaled = QPixmap.fromImage(picture)
                self._scaled.setDevicePixelRatio(ratio)
            painter.drawPixmap(place.topLeft(), self._scaled)
        painter.setPen(QPen(self._theme.colour("line"), 1))
        painter.drawRect(place.adjusted(-0.5, -0.5, 0.5, 0.5))


def _named(signs: str) -> str:
    """Return characters as a sentence names them, some of them if there are many."""
    most = 8
    named = ", ".join(f"“{sign}” (U+{ord(sign):04X})" for sign in signs[:most])
    return named if len(signs) <= most else f"{named} and {len(signs) - most} more"
