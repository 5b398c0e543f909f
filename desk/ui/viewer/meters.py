"""The meters under the picture: peaks left and right, and how loud it is, in a picture and in figures."""

from collections.abc import Callable

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent, QPen, QPixmap, QPolygonF
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from desk.film.model import Delivery
from desk.ui.labels import label
from desk.ui.level_words import plain_level, shown_level
from desk.ui.look.theme import Theme
from desk.ui.look.type import SMALL_PX, sans
from desk.ui.viewer.metering import LEAST_DB, Metering

_BARS_PX = 5
_GAP_PX = 2
_MARK_PX = 4
_SCALE_PX = 12
_HEIGHT_PX = 3 * _BARS_PX + 2 * _GAP_PX + _MARK_PX + _SCALE_PX
_TOPS_PX = tuple(number * (_BARS_PX + _GAP_PX) for number in range(3))
"""Where the bars begin: left, right, loudness."""

_MARKS_DB = (-60, -50, -40, -30, -20, -10, 0)
_SIDE_PX = 8
_WIDEST = "M −00.0  S −00.0 LUFS"

DeliveryNow = Callable[[], Delivery]


class LevelMeter(QWidget):
    """Shows what a metering reads, repainted no more often than it reads; nothing moves while nothing plays.

    Attributes:
        bars: The picture of it.
        loudness: Momentary and short-term loudness in figures.
        peak: The highest peak in figures.
        over: There while full scale was reached; pressing it takes the mark back.
    """

    def __init__(
        self, metering: Metering, delivery: DeliveryNow, theme: Theme, parent: QWidget | None = None
    ) -> None:
        """Show what is read.

        Args:
            metering: What is read.
            delivery: Gives the film's targets as they are now.
            theme: Colours in use.
            parent: Who owns it.
        """
        super().__init__(parent)
        self._metering = metering
        self._delivery = delivery
        self.bars = LevelBars(metering, delivery, theme, self)
        self.loudness = self._figures()
        self.peak = self._figures()
        self.over = QPushButton("Over", self)
        self.over.setAccessibleName("Over full scale. Take the mark back.")
        self.over.setToolTip(
            "The mix went over full scale, where sound devices distort. Lower what is loudest; in the "
            "finished film the master holds its peaks. Press to take the mark back."
        )
        self.over.setProperty("kind", "danger")
        keeping = self.over.sizePolicy()
        keeping.setRetainSizeWhenHidden(True)
        self.over.setSizePolicy(keeping)
        figures = QVBoxLayout()
        figures.setContentsMargins(0, 0, 0, 0)
        figures.setSpacing(0)
        figures.addWidget(self.loudness)
        figures.addWidget(self.peak)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(8)
        row.addWidget(self.bars, 1)
        row.addWidget(self.over, 0, Qt.AlignmentFlag.AlignVCenter)
        row.addLayout(figures)
        self.over.clicked.connect(metering.clear_over)
        metering.changed.connect(self._on_changed)
        metering.told.connect(self.tell)
        self.tell()

    def tell(self) -> None:
        """Say the figures as they are now."""
        read = self._metering
        momentary, short_term = shown_level(read.momentary_lufs), shown_level(read.short_term_lufs)
        peak = shown_level(read.peak_dbfs)
        self.loudness.setText(f"M {momentary}  S {short_term} LUFS")
        self.peak.setText(f"Peak {peak} dBFS")
        self.over.setVisible(read.is_over)
        told = (
            f"Levels: momentary {momentary} LUFS, short-term {short_term} LUFS, highest peak {peak} dBFS"
            f"{', over full scale' if read.is_over else ''}"
        )
        self.setAccessibleName(told)
        delivery = self._delivery()
        targets = (
            f"The mix as it is, before the volume and the master. Marks: voices at "
            f"{plain_level(delivery.voices_lufs)} LUFS, the master's target "
            f"{plain_level(delivery.integrated_lufs)} LUFS."
        )
        if targets != self.toolTip():
            self.setToolTip(f"{targets}")
            self.setAccessibleDescription(targets)
            self.bars.update()

    def _figures(self) -> QLabel:
        made = label("", self, kind="small")
        made.setFont(sans(SMALL_PX))
        made.setFixedWidth(round(QFontMetricsF(sans(SMALL_PX)).horizontalAdvance(_WIDEST)) + 4)
        return made

    def _on_changed(self) -> None:
        if self.isVisible():
            self.bars.update()


class LevelBars(QWidget):
    """Three bars to one scale in dB: peaks left and right with what they hold, and short-term loudness."""

    def __init__(self, metering: Metering, delivery: DeliveryNow, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._metering = metering
        self._delivery = delivery
        self._theme = theme
        self._still: QPixmap | None = None
        self._made_of: tuple[object, ...] = ()
        self.painted = 0
        self.setFixedHeight(_HEIGHT_PX)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        theme.changed.connect(self.update)

    def x_of(self, level_db: float) -> float:
        """Return where a level stands."""
        room = max(1.0, self.width() - 2 * _SIDE_PX)
        part = (min(0.0, max(LEAST_DB, level_db)) - LEAST_DB) / -LEAST_DB
        return _SIDE_PX + part * room

    def _paint_still(self, ratio: float) -> QPixmap:
        """Return what stays while it is played: grounds of the bars, scale, and the targets' marks."""
        still = QPixmap(self.size() * ratio)
        still.setDevicePixelRatio(ratio)
        still.fill(Qt.GlobalColor.transparent)
        painter = QPainter(still)
        left, right = self.x_of(LEAST_DB), self.x_of(0)
        for top in _TOPS_PX:
            painter.fillRect(QRectF(left, top, right - left, _BARS_PX), self._theme.colour("field"))
        base = _TOPS_PX[-1] + _BARS_PX
        self._paint_scale(painter, base + _MARK_PX)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        for level, colour, filled in self._targets():
            x = self._line_x(level)
            painter.setPen(QPen(colour, 1))
            painter.setBrush(colour if filled else Qt.BrushStyle.NoBrush)
            bottom = base + _MARK_PX
            painter.drawPolygon(QPolygonF([QPointF(x, base), QPointF(x + 3, bottom), QPointF(x - 3, bottom)]))
        painter.end()
        return still

    def _targets(self) -> tuple[tuple[float, QColor, bool], ...]:
        """Return the levels to be reached: each with its colour, and whether its mark is filled."""
        delivery = self._delivery()
        return (
            (delivery.voices_lufs, self._theme.colour("ink"), False),
            (delivery.integrated_lufs, self._theme.colour("pencil"), True),
        )

    def _line_x(self, level_db: float) -> float:
        return round(self.x_of(level_db)) + 0.5

    def _paint_scale(self, painter: QPainter, top: float) -> None:
        painter.setFont(sans(SMALL_PX))
        painter.setPen(self._theme.colour("dim"))
        metrics = QFontMetricsF(painter.font())
        room = self.x_of(-50) - self.x_of(-60)
        step = 1 if room >= metrics.horizontalAdvance("−60  ") else 2
        for level in _MARKS_DB[::step]:
            text = plain_level(level)
            width = metrics.horizontalAdvance(text)
            left = min(max(0.0, self.x_of(level) - width / 2), self.width() - width)
            painter.drawText(QPointF(left, top + _SCALE_PX - 2), text)

    def sizeHint(self) -> QSize:
        return QSize(240, _HEIGHT_PX)

    def minimumSizeHint(self) -> QSize:
        return QSize(96, _HEIGHT_PX)

    def paintEvent(self, _: QPaintEvent) -> None:
        self.painted += 1
        made_of = (self.size(), self.devicePixelRatioF(), self._theme.palette.name, self._delivery())
        if self._still is None or made_of != self._made_of:
            self._still, self._made_of = self._paint_still(self.devicePixelRatioF()), made_of
        painter = QPainter(self)
        painter.drawPixmap(QPointF(0, 0), self._still)
        left, level_colour = self.x_of(LEAST_DB), self._theme.colour("draft")
        for top, needle in zip(_TOPS_PX, self._metering.needles, strict=False):
            painter.fillRect(QRectF(left, top, self.x_of(needle.level_db) - left, _BARS_PX), level_colour)
            if needle.hold_db > LEAST_DB:
                x = min(self.x_of(needle.hold_db), self.x_of(0) - 2)
                colour = self._theme.colour("broken" if needle.hold_db >= 0 else "ink")
                painter.fillRect(QRectF(x, top, 2, _BARS_PX), colour)
        loudness, top = self._metering.short_term_lufs, _TOPS_PX[-1]
        if loudness is None:
            loudness = self._metering.momentary_lufs
        if loudness is not None:
            width = self.x_of(loudness) - left
            painter.fillRect(QRectF(left, top, width, _BARS_PX), self._theme.colour("ink"))
        for level, colour, filled in self._targets():
            # Seen on the bar as well as on its ground.
            is_reached = not filled and loudness is not None and loudness >= level
            painter.setPen(QPen(self._theme.colour("field") if is_reached else colour, 1))
            x = self._line_x(level)
            painter.drawLine(QPointF(x, top), QPointF(x, top + _BARS_PX - 1))
