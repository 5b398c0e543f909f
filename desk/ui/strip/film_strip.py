"""The film to scale: every entry in proportion, in its own colours, with the playhead over it."""

from PySide6.QtCore import QEvent, QPointF, QRect, QRectF, QSize, Qt
from PySide6.QtGui import (
    QFocusEvent,
    QFontMetricsF,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPolygonF,
    QResizeEvent,
)
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from desk.ui.bench import Bench
from desk.ui.look.marks import Mark, paint_mark
from desk.ui.look.type import sans, typewriter
from desk.ui.strip.cells import Cell, place_words, tip
from desk.ui.strip.drawing import (
    BAR_HEIGHT_PX,
    BAR_TOP_PX,
    HEIGHT_PX,
    LABEL_HEIGHT_PX,
    LABEL_TOP_PX,
    TENSION_TOP_PX,
)
from desk.ui.strip.film_picture import FilmPicture
from desk.ui.strip.geometry import Label, Span, column_of, place_at, span_of, spread

_MARK_PX = 12
_MARK_GAP_PX = 4
_LABEL_GAP_PX = 8
_HEAD_PX = 5
_LEAST_OUTLINE_PX = 6
_NOTHING_YET = "Nothing is in the running order yet. Add a scene or a card, or put one back from the shelf."
_KEYS = "Left and right go from entry to entry, with Shift by a second. Home and End go to the film's ends."
_ENTRY_KEYS = (Qt.Key.Key_Left, Qt.Key.Key_Right, Qt.Key.Key_Home, Qt.Key.Key_End)


class FilmStrip(QWidget):
    """The film to scale.

    A click chooses an entry and moves the playhead there, a drag moves the playhead.
    """

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._picture = FilmPicture(bench, self)
        self._labels: dict[int, float] = {}
        self._labels_shown: list[tuple[QRectF, Mark]] = []
        self._label_widths: dict[str, float] = {}
        self._playhead_x = 0.0
        self.setFixedHeight(HEIGHT_PX)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setAccessibleDescription(_KEYS)
        self._picture.laid.connect(self._on_laid)
        self._picture.stale.connect(self._on_stale)
        bench.choice.chosen.connect(self._on_chosen)
        bench.choice.moved.connect(self._on_moved)
        bench.theme.changed.connect(self.update)
        self._picture.fit(self.width(), self.devicePixelRatioF())
        self._on_laid()

    @property
    def cells(self) -> tuple[Cell, ...]:
        """What is shown, in order; spans are in pixels of the screen."""
        return self._picture.cells

    @property
    def labels(self) -> dict[str, QRectF]:
        """Where the labels stand that are shown, by entry."""
        return {self.cells[index].span.entry: self._label_place(index) for index in self._labels}

    @property
    def playhead_x(self) -> float:
        """Where the playhead stands."""
        return self._playhead_x

    def tip_at(self, x: float) -> str:
        """Return what is said when the pointer rests at a place."""
        if not self.cells:
            return _NOTHING_YET
        span, frame = self._place_at(x)
        cell = next(cell for cell in self.cells if cell.span == span)
        return tip(self._picture.film, cell, frame)

    # What is shown

    def _on_laid(self) -> None:
        self._place_labels()
        self._place_playhead()
        self._tell_place()

    def _on_stale(self, area: QRectF) -> None:
        self.update(area.toAlignedRect())

    def _on_chosen(self) -> None:
        self._place_labels()
        self._tell_place()
        self.update()

    def _on_moved(self) -> None:
        self._place_playhead()
        if self.hasFocus():
            self._tell_place()

    def _place_labels(self) -> None:
        chosen = self._bench.choice.entry
        labels = []
        for cell in self.cells:
            rank = 0 if cell.span.entry == chosen else 1 if cell.mark is Mark.BROKEN else 2
            labels.append(Label(cell.span.left_px / self._picture.ratio, self._label_width(cell), rank))
        self._labels = spread(labels, self.width(), _LABEL_GAP_PX)
        shown = [(self._label_place(index), self.cells[index].mark) for index in self._labels]
        if shown != self._labels_shown:
            self._labels_shown = shown
            self.update(0, LABEL_TOP_PX, self.width(), LABEL_HEIGHT_PX)

    def _label_place(self, index: int) -> QRectF:
        width = self._label_width(self.cells[index])
        return QRectF(self._labels[index], LABEL_TOP_PX, width, LABEL_HEIGHT_PX)

    def _label_width(self, cell: Cell) -> float:
        if not cell.number:
            return _MARK_PX
        if cell.number not in self._label_widths:
            metrics = QFontMetricsF(typewriter())
            self._label_widths[cell.number] = _MARK_PX + _MARK_GAP_PX + metrics.horizontalAdvance(cell.number)
        return self._label_widths[cell.number]

    def _place_playhead(self) -> None:
        self._update_playhead()
        if self.cells:
            width = self._picture.width_px
            column = column_of(self._frame(), self._picture.total_frames, width)
            self._playhead_x = (min(column, width - 1) + 0.5) / self._picture.ratio
        self._update_playhead()

    def _update_playhead(self) -> None:
        self.update(QRectF(self._playhead_x - 8, 0, 16, LABEL_TOP_PX).toAlignedRect())

    def _frame(self) -> int:
        """Return where the playhead stands within the film."""
        return min(self._bench.choice.frame, self._picture.total_frames - 1)

    def _tell_place(self) -> None:
        if not self.cells:
            self.setAccessibleName(f"Film. {_NOTHING_YET}")
            return
        span = span_of(self._picture.spans, self._frame())
        self.setAccessibleName(place_words(self._picture.film, self.cells, span, self._frame()))

    # What the person does

    def _go(self, span: Span, frame: int, *, choose: bool) -> None:
        if choose:
            self._bench.choice.choose(span.entry)
        self._bench.choice.go_to(frame)
        self._tell_place()

    def _place_at(self, x: float) -> tuple[Span, int]:
        return place_at(self._picture.spans, int(x * self._picture.ratio), self._picture.width_px)

    def _step(self, by: int) -> None:
        """Go to the entry before or after the chosen one; with none chosen, to that at the playhead."""
        spans = self._picture.spans
        chosen = self._bench.choice.entry
        index = next((index + by for index, span in enumerate(spans) if span.entry == chosen), None)
        if index is None:
            index = spans.index(span_of(spans, self._frame()))
        span = spans[min(max(index, 0), len(spans) - 1)]
        self._go(span, span.start_frames, choose=True)

    def _step_a_second(self, by: int) -> None:
        nominal = self._bench.session.film.rate.nominal
        frame = min(max(self._frame() + by * nominal, 0), self._picture.total_frames - 1)
        self._go(span_of(self._picture.spans, frame), frame, choose=False)

    # How it is painted

    def _paint_nothing_yet(self, painter: QPainter) -> None:
        theme = self._bench.theme
        bar = QRectF(0, BAR_TOP_PX, self.width(), BAR_HEIGHT_PX).adjusted(0.5, 0.5, -0.5, -0.5)
        painter.setPen(QPen(theme.colour("outline"), 1, Qt.PenStyle.DashLine))
        painter.drawRect(bar)
        painter.setPen(theme.colour("dim"))
        painter.setFont(sans())
        room = int(bar.width()) - 16
        text = painter.fontMetrics().elidedText(_NOTHING_YET, Qt.TextElideMode.ElideRight, room)
        painter.drawText(bar, Qt.AlignmentFlag.AlignCenter, text)

    def _paint_labels(self, painter: QPainter, area: QRect) -> None:
        theme = self._bench.theme
        painter.setFont(typewriter())
        for index in self._labels:
            place = self._label_place(index)
            if not place.intersects(QRectF(area)):
                continue
            cell = self.cells[index]
            mark = QRectF(place.left(), 0, _MARK_PX, _MARK_PX)
            mark.moveTop(place.center().y() - _MARK_PX / 2)
            paint_mark(painter, mark, cell.mark, theme.palette)
            chosen = cell.span.entry == self._bench.choice.entry
            painter.setPen(theme.colour("pencil_text" if chosen else "ink"))
            place.setLeft(mark.right() + _MARK_GAP_PX)
            # A little to spare, since text is drawn from whole pixels.
            painter.drawText(place.adjusted(0, 0, 4, 0), Qt.AlignmentFlag.AlignVCenter, cell.number)

    def _paint_chosen(self, painter: QPainter) -> None:
        chosen = self._bench.choice.entry
        span = next((span for span in self._picture.spans if span.entry == chosen), None)
        if span is not None:
            ratio = self._picture.ratio
            left, right = span.left_px / ratio, span.right_px / ratio
            widened = max(0.0, _LEAST_OUTLINE_PX - (right - left)) / 2
            bar = QRectF(left - widened, BAR_TOP_PX, right - left + 2 * widened, BAR_HEIGHT_PX)
            pen = QPen(self._bench.theme.colour("pencil"), 2)
            pen.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
            painter.setPen(pen)
            painter.drawRect(bar.adjusted(1, 1, -1, -1))

    def _paint_focus(self, painter: QPainter) -> None:
        painter.setPen(QPen(self._bench.theme.colour("pencil"), 1))
        painter.drawRect(QRectF(0.5, BAR_TOP_PX - 2.5, self.width() - 1, BAR_HEIGHT_PX + 5))

    def _paint_playhead(self, painter: QPainter) -> None:
        x, top, bottom = self._playhead_x, TENSION_TOP_PX - 3, BAR_TOP_PX + BAR_HEIGHT_PX + 2
        theme = self._bench.theme
        for colour, width in (("bench", 4), ("pencil", 2)):
            painter.setPen(QPen(theme.colour(colour), width, c=Qt.PenCapStyle.FlatCap))
            painter.drawLine(QPointF(x, top), QPointF(x, bottom))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(theme.colour("pencil"))
        head = [QPointF(x - _HEAD_PX, top), QPointF(x + _HEAD_PX, top), QPointF(x, top + 1.4 * _HEAD_PX)]
        painter.drawPolygon(QPolygonF(head))

    # Called by Qt

    def sizeHint(self) -> QSize:
        return QSize(960, HEIGHT_PX)

    def minimumSizeHint(self) -> QSize:
        return QSize(240, HEIGHT_PX)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        if not self.cells:
            self._paint_nothing_yet(painter)
            return
        area = event.rect()
        ratio = self._picture.ratio
        part = QRectF(area.x() * ratio, area.y() * ratio, area.width() * ratio, area.height() * ratio)
        painter.drawPixmap(QRectF(area), self._picture.pixmap(), part)
        self._paint_labels(painter, area)
        self._paint_chosen(painter)
        if self.hasFocus():
            self._paint_focus(painter)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._paint_playhead(painter)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._picture.fit(self.width(), self.devicePixelRatioF())

    def focusInEvent(self, event: QFocusEvent) -> None:
        self._tell_place()
        super().focusInEvent(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if self.cells and event.button() is Qt.MouseButton.LeftButton:
            self._go(*self._place_at(event.position().x()), choose=True)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if self.cells and event.buttons() & Qt.MouseButton.LeftButton:
            self._go(*self._place_at(event.position().x()), choose=False)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = event.key()
        if not self.cells or key not in _ENTRY_KEYS:
            super().keyPressEvent(event)
        elif key == Qt.Key.Key_Home:
            self._go(self._picture.spans[0], 0, choose=True)
        elif key == Qt.Key.Key_End:
            self._go(self._picture.spans[-1], self._picture.total_frames - 1, choose=True)
        else:
            step = (
                self._step_a_second if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else self._step
            )
            step(1 if key == Qt.Key.Key_Right else -1)

    def event(self, event: QEvent) -> bool:
        if isinstance(event, QHelpEvent) and event.type() is QEvent.Type.ToolTip:
            x = event.pos().x()
            # It goes when the pointer leaves the place of which it tells.
            QToolTip.showText(event.globalPos(), self.tip_at(x), self, QRect(x - 1, 0, 3, HEIGHT_PX))
            return True
        if event.type() is QEvent.Type.DevicePixelRatioChange:
            self._picture.fit(self.width(), self.devicePixelRatioF())
        return super().event(event)
