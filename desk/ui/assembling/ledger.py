"""The running order as an assembly takes it: what goes in and where, what is left out and why."""

from PySide6.QtCore import (
    QAbstractListModel,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    QRect,
    QRectF,
    QSize,
    Qt,
)
from PySide6.QtGui import QColor, QFont, QFontMetrics, QKeyEvent, QPainter
from PySide6.QtWidgets import QListView, QStyle, QStyledItemDelegate, QStyleOptionViewItem, QWidget

from desk.assembly.outlook import Line
from desk.film.model import Card, Film, Scene
from desk.film.reading import kind_name
from desk.film.timecode import format_label, format_length
from desk.film.wording import entry_name, sentence
from desk.ui.bench import Bench
from desk.ui.look.marks import Mark, paint_mark
from desk.ui.look.type import SMALL_PX, sans, typewriter

LINE_ROLE = int(Qt.ItemDataRole.UserRole)

_ROW_PX = 28
_MARGIN_PX = 8
_MARK_PX = 14
_NUMBER_PX = 40
_GAP_PX = 8
_START_PX = 96

_Index = QModelIndex | QPersistentModelIndex


class LedgerModel(QAbstractListModel):
    """The lines of a running order."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._film: Film | None = None
        self._lines: tuple[Line, ...] = ()

    @property
    def film(self) -> Film | None:
        """The film whose lines they are."""
        return self._film

    def show_lines(self, film: Film, lines: tuple[Line, ...]) -> None:
        """Show other lines."""
        if film is self._film and lines == self._lines:
            return
        self.beginResetModel()
        self._film, self._lines = film, lines
        self.endResetModel()

    def line_at(self, row: int) -> Line:
        """Return the line of a row."""
        return self._lines[row]

    def rowCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own default
        return 0 if parent.isValid() else len(self._lines)

    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        if not index.isValid() or self._film is None:
            return None
        line = self._lines[index.row()]
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole):
            return line_text(line, self._film)
        if role == Qt.ItemDataRole.ToolTipRole:
            return line_text(line, self._film)
        return line if role == LINE_ROLE else None


def line_text(line: Line, film: Film) -> str:
    """Return a line in words: `Scene 4A, EXT. SLIPWAY - DUSK: 0:39:20 at 01:02:51:17`."""
    name = sentence(entry_name(line.entry))
    if isinstance(line.entry, Scene) and line.entry.slugline:
        name = f"{name}, {line.entry.slugline}"
    if line.start_frames is None:
        return f"{name}: left out, {line.why_not}"
    slate = ", a slate" if line.slate else ""
    return (
        f"{name}: {format_length(line.length_frames, film.rate)} at {_label(line.start_frames, film)}{slate}"
    )


class ReadingList(QListView):
    """A list in a dialog that is only read: Return on a row is for the row, and not for the main button."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setEditTriggers(QListView.EditTrigger.NoEditTriggers)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setVerticalScrollMode(QListView.ScrollMode.ScrollPerPixel)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        super().keyPressEvent(event)
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            event.accept()


class LedgerView(ReadingList):
    """Shows the lines. Return or a double click on one shows its sheet."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._model = LedgerModel(self)
        self.setModel(self._model)
        self.setItemDelegate(_Delegate(bench, self))
        self.setUniformItemSizes(True)
        self.setAccessibleName("What goes in and what is left out")
        self.activated.connect(self._on_activated)
        bench.theme.changed.connect(self.viewport().update)

    def show_lines(self, film: Film, lines: tuple[Line, ...]) -> None:
        """Show what an assembly takes of a running order."""
        self._model.show_lines(film, lines)

    def texts(self) -> list[str]:
        """Return what the rows say."""
        return [str(self._model.index(row).data()) for row in range(self._model.rowCount())]

    def _on_activated(self, index: QModelIndex) -> None:
        go_to_entry(self._bench, self._model.line_at(index.row()).entry.id)


def go_to_entry(bench: Bench, entry_id: str) -> None:
    """Show the sheet of an entry, or the film's with ""; says so where it is not in the film any more."""
    if entry_id and entry_id not in bench.session.film.entries():
        bench.messages.notice("It is not in the film any more.", urgent=True)
        return
    bench.choice.choose(entry_id)


class _Delegate(QStyledItemDelegate):
    """Paints a line as a row of a ledger."""

    def __init__(self, bench: Bench, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._bench = bench

    def sizeHint(self, _: QStyleOptionViewItem, __: _Index) -> QSize:
        return QSize(320, _ROW_PX)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: _Index) -> None:
        line, model = index.data(LINE_ROLE), index.model()
        if not isinstance(line, Line) or not isinstance(model, LedgerModel) or model.film is None:
            return
        painter.save()
        rect: QRect = option.rect
        state: QStyle.StateFlag = option.state
        self._paint_ground(painter, rect, state)
        _Row(painter, rect, self._bench).paint(line, model.film)
        painter.restore()

    def _paint_ground(self, painter: QPainter, rect: QRect, state: QStyle.StateFlag) -> None:
        colour = self._bench.theme.colour
        chosen = bool(state & QStyle.StateFlag.State_Selected)
        painter.fillRect(rect.adjusted(0, 0, 0, -1), colour("row_chosen" if chosen else "row"))
        if state & QStyle.StateFlag.State_HasFocus:
            painter.fillRect(QRect(rect.left(), rect.top(), 3, rect.height() - 1), colour("pencil"))


class _Row:
    """One row being painted."""

    def __init__(self, painter: QPainter, rect: QRect, bench: Bench) -> None:
        self._painter = painter
        self._rect = rect.adjusted(_MARGIN_PX, 0, -_MARGIN_PX, -1)
        self._bench = bench

    def paint(self, line: Line, film: Film) -> None:
        """Paint all of it: mark, number, slugline; where it stands and how long it is, or why it does not."""
        look, colour = self._bench.theme.palette, self._bench.theme.colour
        is_in = line.start_frames is not None
        ink = colour("ink" if is_in else "dim")
        square = QRectF(self._rect.left(), self._rect.center().y() - _MARK_PX / 2 + 0.5, _MARK_PX, _MARK_PX)
        paint_mark(self._painter, square, self._mark(line), look)
        left = self._rect.left() + _MARK_PX + _GAP_PX
        right = self._paint_right(line, film)
        number, name = _names(line.entry)
        is_scene = isinstance(line.entry, Scene)
        if is_scene:
            self._text(QRect(left, 0, _NUMBER_PX, 0), number, typewriter(), ink)
            left += _NUMBER_PX
        font = typewriter(strong=False) if is_scene else sans(italic=True)
        self._text(QRect(left, 0, max(0, right - left - _GAP_PX), 0), name, font, ink)

    def _paint_right(self, line: Line, film: Film) -> int:
        """Paint what stands at the right, and return where it begins."""
        colour, right = self._bench.theme.colour, self._rect.right()
        if line.start_frames is None:
            text, font = f"left out: {line.why_not}", sans()
            width = min(QFontMetrics(font).horizontalAdvance(text) + 2, self._rect.width() // 2)
            self._text(QRect(right - width, 0, width, 0), text, font, colour("pencil_text"), end=True)
            return right - width
        length, font = format_length(line.length_frames, film.rate), sans(strong=True)
        width = QFontMetrics(font).horizontalAdvance("0:00:00:00")
        self._text(QRect(right - width, 0, width, 0), length, font, colour("ink"), end=True)
        right -= width
        start = _label(line.start_frames, film)
        self._text(QRect(right - _START_PX, 0, _START_PX, 0), start, sans(SMALL_PX), colour("dim"), end=True)
        right -= _START_PX
        if line.slate:
            font = sans()
            width = QFontMetrics(font).horizontalAdvance("slate") + 2
            self._text(QRect(right - width, 0, width, 0), "slate", font, colour("pencil_text"), end=True)
            right -= width
        return right

    def _text(self, box: QRect, text: str, font: QFont, colour: QColor, *, end: bool = False) -> None:
        box = QRect(box.left(), self._rect.top(), box.width(), self._rect.height())
        self._painter.setFont(font)
        self._painter.setPen(colour)
        shown = self._painter.fontMetrics().elidedText(text, Qt.TextElideMode.ElideRight, box.width())
        side = Qt.AlignmentFlag.AlignRight if end else Qt.AlignmentFlag.AlignLeft
        self._painter.drawText(box, int(Qt.AlignmentFlag.AlignVCenter | side), shown)

    def _mark(self, line: Line) -> Mark:
        if isinstance(line.entry, Card):
            return Mark.CARD
        if line.slate:
            return Mark.SLATE
        return self._bench.statuses.mark(line.entry)


def _names(entry: Scene | Card) -> tuple[str, str]:
    if isinstance(entry, Scene):
        return entry.number, entry.slugline
    first = next((text for text in entry.lines if text.strip()), "")
    name = kind_name(entry)
    return "", f"{name}  {first}" if first and first != name else name


def _label(frame: int, film: Film) -> str:
    return format_label(film.start_frames + frame, film.rate, drop_frame=film.drop_frame)
