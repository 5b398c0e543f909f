"""The list of recent films."""

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from PySide6.QtCore import (
    QAbstractListModel,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    QRect,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import QFont, QFontMetrics, QKeyEvent, QPainter
from PySide6.QtWidgets import QListView, QStyle, QStyledItemDelegate, QStyleOptionViewItem, QWidget

from desk.ui.dates import short_date
from desk.ui.look.icons import icon
from desk.ui.look.theme import Theme
from desk.ui.look.type import HEADING_PX, SMALL_PX, sans, serif
from desk.ui.recent import Recent

_Index = QModelIndex | QPersistentModelIndex

RECENT_ROLE = Qt.ItemDataRole.UserRole
MISSING_ROLE = Qt.ItemDataRole.UserRole + 1

_ROW_PX = 60
_GAP_PX = 4
_EDGE_PX = 16
_BAR_PX = 3
_CORNER_PX = 3
_ICON_PX = 16


def said_when(when: datetime, now: datetime) -> str:
    """Return when something was, as it is said: `today 14:03`, `yesterday`, `21 Nov 2026`."""
    here, today = when.astimezone(), now.astimezone().date()
    days = (today - here.date()).days
    if days == 0:
        return f"today {here:%H:%M}"
    return "yesterday" if days == 1 else short_date(here.date().isoformat())


class RecentListModel(QAbstractListModel):
    """Recent films, the last one first. Which are missing is told later, since a disk may take a while."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._films: tuple[Recent, ...] = ()
        self._missing: frozenset[Path] = frozenset()
        self._now = datetime.now().astimezone()

    @property
    def films(self) -> tuple[Recent, ...]:
        """What is shown."""
        return self._films

    def show_films(self, films: Sequence[Recent]) -> None:
        """Show other films."""
        self.beginResetModel()
        self._films = tuple(films)
        self._now = datetime.now().astimezone()
        self.endResetModel()

    def mark_missing(self, folders: frozenset[Path]) -> None:
        """Mark the films that are not there."""
        if folders != self._missing:
            self._missing = folders
            if self._films:
                self.dataChanged.emit(self.index(0), self.index(len(self._films) - 1))

    def rowCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own default
        return 0 if parent.isValid() else len(self._films)

    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        if not index.isValid():
            return None
        film = self._films[index.row()]
        is_missing = film.folder in self._missing
        when = said_when(film.when, self._now)
        match role:
            case Qt.ItemDataRole.DisplayRole:
                return film.title
            case Qt.ItemDataRole.StatusTipRole:
                return "missing" if is_missing else when
            case Qt.ItemDataRole.AccessibleTextRole:
                state = "missing" if is_missing else f"opened {when}"
                return f"{film.title}, {state}, {film.folder}"
            case Qt.ItemDataRole.ToolTipRole:
                gone = "\nThere is no film there now. Connect its disk, or remove it from the list."
                return f"{film.folder}{gone if is_missing else ''}"
        if role == RECENT_ROLE:
            return film
        return is_missing if role == MISSING_ROLE else None


class RecentDelegate(QStyledItemDelegate):
    """Draws a film as a row of the ledger: title, folder, when."""

    def __init__(self, theme: Theme, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._warning = icon("warning", theme, colour="pencil_text")

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: _Index) -> None:
        film, is_missing = index.data(RECENT_ROLE), bool(index.data(MISSING_ROLE))
        assert isinstance(film, Recent)
        state: QStyle.StateFlag = option.state
        rect: QRect = option.rect.adjusted(0, 0, 0, -_GAP_PX)
        is_chosen = bool(state & QStyle.StateFlag.State_Selected)
        has_focus = bool(state & QStyle.StateFlag.State_HasFocus)
        is_lit = is_chosen or bool(state & QStyle.StateFlag.State_MouseOver)
        colour = self._theme.colour
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(colour("row_chosen" if is_lit else "row"))
        painter.drawRoundedRect(rect, _CORNER_PX, _CORNER_PX)
        if is_chosen:
            painter.fillRect(QRect(rect.topLeft(), QSize(_BAR_PX, rect.height())), colour("pencil"))
        if has_focus:
            painter.setPen(colour("pencil"))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(rect.adjusted(1, 1, -1, -1), _CORNER_PX, _CORNER_PX)
        inside = rect.adjusted(_EDGE_PX, 8, -_EDGE_PX, -8)
        used = self._paint_state(painter, inside, str(index.data(Qt.ItemDataRole.StatusTipRole)), is_missing)
        room = inside.adjusted(0, 0, -used - _EDGE_PX, 0)
        top = QRect(room.topLeft(), QSize(room.width(), 24))
        painter.setPen(colour("dim" if is_missing else "ink"))
        _write(painter, top, serif(HEADING_PX), film.title, Qt.TextElideMode.ElideRight)
        painter.setPen(colour("dim"))
        bottom = QRect(inside.left(), top.bottom() + 1, inside.width(), inside.bottom() - top.bottom())
        _write(painter, bottom, sans(SMALL_PX), str(film.folder), Qt.TextElideMode.ElideMiddle)
        painter.restore()

    def _paint_state(self, painter: QPainter, rect: QRect, text: str, is_missing: bool) -> int:
        """Write when it was opened, or that it is missing, at the right; returns the width that it took."""
        font = sans()
        metrics = QFontMetrics(font)
        width = metrics.horizontalAdvance(text)
        place = QRect(rect.right() - width, rect.top(), width + 1, 24)
        painter.setFont(font)
        painter.setPen(self._theme.colour("pencil_text" if is_missing else "dim"))
        painter.drawText(place, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignRight, text)
        if not is_missing:
            return width
        mark = QRect(place.left() - _ICON_PX - 6, place.center().y() - _ICON_PX // 2, _ICON_PX, _ICON_PX)
        self._warning.paint(painter, mark)
        return width + _ICON_PX + 6

    def sizeHint(self, option: QStyleOptionViewItem, index: _Index) -> QSize:
        return QSize(240, _ROW_PX + _GAP_PX)


class RecentListView(QListView):
    """Shows recent films. Return or a double click opens one, Delete takes it off the list.

    Signals:
        open_requested: The Path of a project folder.
        remove_requested: The Path of a project folder.
    """

    open_requested = Signal(object)
    remove_requested = Signal(object)

    def __init__(self, model: RecentListModel, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setModel(model)
        self.setItemDelegate(RecentDelegate(theme, self))
        self.setAccessibleName("Recent films")
        self.setMouseTracking(True)
        self.setUniformItemSizes(True)
        self.setVerticalScrollMode(QListView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setProperty("kind", "plain")
        self.doubleClicked.connect(self._on_double_clicked)
        theme.changed.connect(self.viewport().update)

    def chosen(self) -> Recent | None:
        """Return the film that is chosen, or None."""
        film = self.currentIndex().data(RECENT_ROLE)
        return film if isinstance(film, Recent) else None

    def open_chosen(self) -> None:
        """Open the film that is chosen."""
        if film := self.chosen():
            self.open_requested.emit(film.folder)

    def remove_chosen(self) -> None:
        """Take the film that is chosen off the list."""
        if film := self.chosen():
            self.remove_requested.emit(film.folder)

    def _on_double_clicked(self, index: QModelIndex) -> None:
        self.setCurrentIndex(index)
        self.open_chosen()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.open_chosen()
        elif event.key() in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
            self.remove_chosen()
        else:
            super().keyPressEvent(event)


def _write(painter: QPainter, rect: QRect, font: QFont, text: str, mode: Qt.TextElideMode) -> None:
    painter.setFont(font)
    shown = QFontMetrics(font).elidedText(text, mode, rect.width())
    painter.drawText(rect, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft, shown)
