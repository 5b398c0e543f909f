"""A part of a scene's sheet: a line that says how it stands, and what is under it."""

from typing import ClassVar

from PySide6.QtCore import QPointF, QRect, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QFontMetrics,
    QKeyEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPolygonF,
    QResizeEvent,
)
from PySide6.QtWidgets import QFrame, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from desk.film.locking import Part
from desk.film.model import Scene
from desk.ui.bench import Bench
from desk.ui.labels import label
from desk.ui.look.type import sans
from desk.ui.scene.tab_order import tab_down

_LINE_HEIGHT_PX = 36
_MARGIN_PX = 12
_MARK_PX = 14
_GAP_PX = 12


class PartBody(QWidget):
    """What stands in a part of a scene's sheet when it is unfolded.

    Attributes:
        part: Which part it is.
        title: What it is called.
        bench: What it gets to work with.

    Signals:
        rearranged: Its controls stand in another order now.
    """

    part: ClassVar[Part]
    title: ClassVar[str]
    rearranged = Signal()

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.bench = bench

    def show_scene(self, scene: Scene) -> None:
        """Show a scene as it is now.

        Called when the scene is chosen and after every change of it or its media, and put off while the part
        is folded. It must not disturb a field that is being typed in.
        """
        raise NotImplementedError

    def summary(self, scene: Scene) -> str:
        """Return one line that says why the part is settled or what it holds: `7 clips, 0:39:20`.

        It is asked for while the part is folded too, before `show_scene`.
        """
        raise NotImplementedError

    def open_lines(self, scene: Scene) -> tuple[str, ...]:
        """Return what is open in the part, one sentence each."""
        return self.bench.statuses.of(scene).open_in(self.part)

    def told_inside(self, scene: Scene) -> tuple[str, ...]:
        """Return which of the open lines the body tells itself, with what can be done about them."""
        return ()


class PartFrame(QFrame):
    """A part of the sheet with its fold.

    Signals:
        folded: The person has folded or unfolded it: the `Part`, and whether it is unfolded now.
    """

    folded = Signal(object, bool)

    def __init__(self, body: PartBody, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("kind", "part")
        self.body = body
        self.fold = Fold(body.title, body.bench, self)
        self.fold.clicked.connect(self._on_clicked)
        body.rearranged.connect(self._order)
        self._scene: Scene | None = None
        self._is_stale = False
        self._open_lines = label("", self, kind="open", wraps=True)
        self._inside = QWidget(self)
        inside = QVBoxLayout(self._inside)
        inside.setContentsMargins(_MARGIN_PX, 4, _MARGIN_PX, _MARGIN_PX)
        inside.setSpacing(8)
        inside.addWidget(self._open_lines)
        inside.addWidget(body)
        self._inside.hide()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self.fold)
        layout.addWidget(self._inside)

    @property
    def part(self) -> Part:
        """Which part it is."""
        return self.body.part

    @property
    def is_unfolded(self) -> bool:
        """Whether its body is shown."""
        return self.fold.is_unfolded

    def set_unfolded(self, unfolded: bool) -> None:
        """Show or hide the body."""
        if unfolded == self.is_unfolded:
            return
        self.fold.is_unfolded = unfolded
        if unfolded and self._is_stale:
            self._fill()
        self._say()
        self._inside.setVisible(unfolded)

    def show_scene(self, scene: Scene) -> None:
        """Show how the part stands in a scene, and the body where it is unfolded."""
        self._scene = scene
        self._is_stale = True
        if self.is_unfolded:
            self._fill()
        self._say()

    def _fill(self) -> None:
        if self._scene is not None:
            self._is_stale = False
            self.body.show_scene(self._scene)
            self._order()

    def _order(self) -> None:
        tab_down(self.fold, self.body)

    def _say(self) -> None:
        if self._scene is None:
            return
        lines = self.body.open_lines(self._scene)
        self.fold.say(self.body.summary(self._scene), lines)
        inside = self.body.told_inside(self._scene)
        text = "\n".join(line for line in lines if line not in inside)
        if self._open_lines.text() != text:
            self._open_lines.setText(text)
        self._open_lines.setVisible(bool(text))

    def _on_clicked(self) -> None:
        self.set_unfolded(not self.is_unfolded)
        self.folded.emit(self.part, self.is_unfolded)


class Fold(QPushButton):
    """The line over a part: its mark, its title, and how it stands. A click, Space or Enter folds the part.

    Attributes:
        line: What it says after the title.
        is_open: Whether something is open in the part.
    """

    def __init__(self, title: str, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.line = ""
        self.is_open = False
        self._title = title
        self._summary = ""
        self._lines: tuple[str, ...] = ()
        self._is_unfolded = False
        self._bench = bench
        self.setAutoDefault(False)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        bench.theme.changed.connect(self.update)
        self._tell()

    @property
    def is_unfolded(self) -> bool:
        """Whether the part is unfolded."""
        return self._is_unfolded

    @is_unfolded.setter
    def is_unfolded(self, unfolded: bool) -> None:
        self._is_unfolded = unfolded
        self._tell()

    def say(self, summary: str, open_lines: tuple[str, ...]) -> None:
        """Say how the part stands.

        Args:
            summary: Why it is settled, or what it holds.
            open_lines: What is open in it, in sentences; none where it is settled.
        """
        if (summary, open_lines) != (self._summary, self._lines):
            self._summary, self._lines = summary, open_lines
            self._tell()

    def _tell(self) -> None:
        self.is_open = bool(self._lines)
        # Unfolded, what is open stands under the line in full.
        self.line = " ".join(self._lines) if self._lines and not self._is_unfolded else self._summary
        self.setAccessibleName(f"{self._title}, {'open' if self.is_open else 'settled'}: {self.line}")
        self.setAccessibleDescription("Unfolded" if self._is_unfolded else "Folded")
        self._tell_in_full()
        self.update()

    def _line_left_px(self) -> int:
        title_px = QFontMetrics(sans(strong=True)).horizontalAdvance(self._title)
        return _MARGIN_PX + _MARK_PX + 10 + title_px + _GAP_PX

    def _line_width_px(self) -> int:
        return max(0, self.width() - self._line_left_px() - _MARGIN_PX - _MARK_PX - _GAP_PX)

    def _tell_in_full(self) -> None:
        cut = QFontMetrics(sans()).horizontalAdvance(self.line) > self._line_width_px()
        self.setToolTip(self.line if cut else "")

    def sizeHint(self) -> QSize:
        return QSize(240, _LINE_HEIGHT_PX)

    def minimumSizeHint(self) -> QSize:
        return QSize(160, _LINE_HEIGHT_PX)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._tell_in_full()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.click()
        else:
            super().keyPressEvent(event)

    def paintEvent(self, _: QPaintEvent) -> None:
        colour = self._bench.theme.colour
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        frame = QRectF(self.rect()).adjusted(1, 1, -1, -1)
        if self.underMouse():
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(colour("row_chosen"))
            painter.drawRoundedRect(frame, 3, 3)
        if self.hasFocus():
            painter.setPen(QPen(colour("pencil"), 2))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(frame, 3, 3)
        middle = self.height() / 2
        mark = QRectF(_MARGIN_PX, middle - _MARK_PX / 2, _MARK_PX, _MARK_PX)
        if self.is_open:
            paint_ring(painter, mark, colour("pencil"))
        else:
            paint_tick(painter, mark, colour("locked"))
        vertical = Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft
        painter.setPen(colour("ink"))
        painter.setFont(sans(strong=True))
        left = _MARGIN_PX + _MARK_PX + 10
        painter.drawText(QRect(left, 0, self.width() - left, self.height()), vertical, self._title)
        is_amber = self.is_open and not self._is_unfolded
        painter.setPen(colour("pencil_text" if is_amber else "dim"))
        painter.setFont(sans())
        width = self._line_width_px()
        text = painter.fontMetrics().elidedText(self.line, Qt.TextElideMode.ElideRight, width)
        painter.drawText(QRect(self._line_left_px(), 0, width, self.height()), vertical, text)
        at = QPointF(self.width() - _MARGIN_PX - _MARK_PX / 2, middle)
        _paint_chevron(painter, at, colour("dim"), down=self._is_unfolded)


def paint_tick(painter: QPainter, box: QRectF, colour: QColor) -> None:
    """Paint the mark of what is settled."""
    pen = QPen(colour, 2)
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    side = box.width()
    points = ((0.05, 0.55), (0.36, 0.86), (0.95, 0.16))
    painter.drawPolyline(QPolygonF([box.topLeft() + QPointF(x * side, y * side) for x, y in points]))


def paint_ring(painter: QPainter, box: QRectF, colour: QColor) -> None:
    """Paint the mark of what is open."""
    painter.setPen(QPen(colour, 2))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawEllipse(box.adjusted(1.5, 1.5, -1.5, -1.5))


def _paint_chevron(painter: QPainter, at: QPointF, colour: QColor, *, down: bool) -> None:
    painter.setPen(QPen(colour, 1.6))
    points = ((-4, -2), (0, 2), (4, -2)) if down else ((-2, -4), (2, 0), (-2, 4))
    painter.drawPolyline(QPolygonF([at + QPointF(x, y) for x, y in points]))
