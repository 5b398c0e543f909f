"""The voices of a scene as a table: a row for each clip, with a bar for how far it lies from the target."""

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import (
    QAbstractTableModel,
    QItemSelection,
    QItemSelectionModel,
    QModelIndex,
    QPersistentModelIndex,
    QPointF,
    QRectF,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import QColor, QKeyEvent, QPainter, QPen, QPolygonF, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QWidget,
)

from desk.ui.look.theme import Theme
from desk.ui.scene.clip_facts import gain_text
from desk.ui.scene.fitted_table import FittedTable
from desk.ui.scene.voices.rows import EVEN_LU, VoiceRow, away_text, figure

CLIP, SPEAKER, GAIN, SPEECH, AWAY, NOISE, PEAK = range(7)
_TITLES = ("Clip", "Who speaks", "Gain", "Speech", "From target", "Noise", "Peak")
_WORDS = (
    "The clip, and whether samples of its recording are clipped.",
    "Who speaks in it.",
    "Its gain.",
    "How loud the speech is, after what is done to the voice and the gain, in LUFS.",
    "How far the speech lies from this scene's target, in LU. The line in the middle is the target.",
    "The noise floor between the words, after the gain, in dBFS.",
    "The highest peak, after the gain, in dBTP.",
)
_WIDTHS_PX = {GAIN: 72, SPEECH: 84, AWAY: 128, NOISE: 56, PEAK: 56}
_NARROW_WIDTHS_PX = {GAIN: 68, SPEECH: 76, AWAY: 108}
_NARROW_PX = 600
"""Below this, noise and peak have no column; they are told below the table for what is selected."""

_BAR_LU = 12.0
"""A bar this long, up or down, fills its side."""

_FIGURE_PX, _MARK_PX = 44, 14
_ROW_ROLE = Qt.ItemDataRole.UserRole

_Index = QModelIndex | QPersistentModelIndex
_NO_INDEX = QModelIndex()


class VoiceModel(QAbstractTableModel):
    """Rows of voices. It is filled anew where other clips are shown, else only what differs changes."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self.rows: tuple[VoiceRow, ...] = ()
        theme.changed.connect(self._on_theme_changed)

    def show_rows(self, rows: Sequence[VoiceRow]) -> bool:
        """Show rows; returns whether they are of other clips than before."""
        before, new = self.rows, tuple(rows)
        if [row.clip for row in before] != [row.clip for row in new]:
            self.beginResetModel()
            self.rows = new
            self.endResetModel()
            return True
        self.rows = new
        for number, (old, now) in enumerate(zip(before, new, strict=True)):
            if old != now:
                self.dataChanged.emit(self.index(number, CLIP), self.index(number, PEAK))
        return False

    def _on_theme_changed(self) -> None:
        if self.rows:
            self.dataChanged.emit(self.index(0, CLIP), self.index(len(self.rows) - 1, PEAK))

    def _text(self, row: VoiceRow, column: int) -> str:
        match column:
            case 0:
                return f"{row.number}  {row.name}"
            case 1:
                return row.speaker or ("" if row.gain_db is None else "–")
            case 2:
                return "" if row.gain_db is None else gain_text(row.gain_db)
            case 3:
                return row.loudness_text
            case 4:
                return "" if row.away_lu is None else away_text(row.away_lu)
            case 5:
                return "" if row.noise_dbfs is None else figure(row.noise_dbfs)
        return "" if row.peak_dbtp is None else figure(row.peak_dbtp)

    def _colour(self, row: VoiceRow, column: int) -> str:
        if column in (SPEECH, AWAY) and row.away_lu is not None:
            return "pencil_text" if abs(row.away_lu) > EVEN_LU else "ink"
        if column == SPEECH and row.state == "missing":
            return "broken_text"
        if column == SPEECH or (column == SPEAKER and not row.speaker):
            return "dim"
        return "ink"

    def rowCount(self, parent: _Index = _NO_INDEX) -> int:
        return 0 if parent.isValid() else len(self.rows)

    def columnCount(self, parent: _Index = _NO_INDEX) -> int:
        return 0 if parent.isValid() else len(_TITLES)

    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:  # noqa: ANN401 - Qt's own
        if not self.checkIndex(index, QAbstractTableModel.CheckIndexOption.IndexIsValid):
            return None
        row, column = self.rows[index.row()], index.column()
        match role:
            case Qt.ItemDataRole.DisplayRole:
                return self._text(row, column)
            case Qt.ItemDataRole.ToolTipRole:
                return row.spoken
            case Qt.ItemDataRole.AccessibleTextRole:
                return row.spoken if column == CLIP else f"{_TITLES[column]}: {self._text(row, column)}"
            case Qt.ItemDataRole.ForegroundRole:
                return QColor(self._theme.colour(self._colour(row, column)))
            case Qt.ItemDataRole.TextAlignmentRole:
                side = Qt.AlignmentFlag.AlignRight if column in _WIDTHS_PX else Qt.AlignmentFlag.AlignLeft
                return int(side | Qt.AlignmentFlag.AlignVCenter)
        return row if role == _ROW_ROLE else None

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:  # noqa: ANN401 - Qt's own
        if orientation is not Qt.Orientation.Horizontal or not 0 <= section < len(_TITLES):
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return _TITLES[section]
        if role == Qt.ItemDataRole.ToolTipRole:
            return _WORDS[section]
        if role == Qt.ItemDataRole.TextAlignmentRole:
            side = Qt.AlignmentFlag.AlignRight if section in _WIDTHS_PX else Qt.AlignmentFlag.AlignLeft
            return int(side | Qt.AlignmentFlag.AlignVCenter)
        return None


class VoiceDelegate(QStyledItemDelegate):
    """Draws the bar around the target, and the mark of a clipped recording."""

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._theme = theme

    def initStyleOption(self, option: QStyleOptionViewItem, index: _Index) -> None:
        super().initStyleOption(option, index)
        row = index.data(_ROW_ROLE)
        if index.column() == CLIP and isinstance(row, VoiceRow) and row.clipped_samples:
            # Room for the mark behind the name.
            option.text = option.fontMetrics.elidedText(
                option.text,
                Qt.TextElideMode.ElideMiddle,
                option.rect.width() - _MARK_PX - 16,
            )

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: _Index) -> None:
        super().paint(painter, option, index)
        row = index.data(_ROW_ROLE)
        if not isinstance(row, VoiceRow):
            return
        rect = QRectF(option.rect)
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if index.column() == AWAY and row.away_lu is not None:
            place = rect.adjusted(8, 9, -_FIGURE_PX - 8, -9)
            paint_bar(painter, place, row.away_lu, self._theme)
        elif index.column() == CLIP and row.clipped_samples:
            mark = QRectF(rect.right() - _MARK_PX - 4, rect.center().y() - 5, _MARK_PX, 10)
            paint_clipped(painter, mark, self._theme.colour("broken"))
        painter.restore()


def paint_bar(painter: QPainter, place: QRectF, away_lu: float, theme: Theme) -> None:
    """Paint how far something lies from its target: to the left softer, to the right louder."""
    middle = place.center().x()
    share = max(-1.0, min(1.0, away_lu / _BAR_LU))
    reach = middle + share * place.width() / 2
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(theme.colour("pencil" if abs(away_lu) > EVEN_LU else "locked"))
    painter.drawRect(QRectF(min(middle, reach), place.top(), abs(reach - middle), place.height()))
    painter.setPen(QPen(theme.colour("dim"), 1))
    painter.drawLine(QPointF(middle, place.top() - 4), QPointF(middle, place.bottom() + 4))


def paint_clipped(painter: QPainter, place: QRectF, colour: QColor) -> None:
    """Paint the mark of a clipped recording: a wave whose top is cut flat."""
    pen = QPen(colour, 1.8)
    pen.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    points = ((0, 1), (0.22, 0.12), (0.5, 0.12), (0.72, 1), (0.86, 1), (1, 0.4))
    left, top, width, height = place.left(), place.top(), place.width(), place.height()
    painter.drawPolyline(QPolygonF([QPointF(left + x * width, top + y * height) for x, y in points]))
    painter.drawLine(QPointF(left, top - 1), QPointF(left + width, top - 1))


class VoicesTable(FittedTable):
    """The clips of a scene, as high as its rows, up to ten; then it scrolls. Several can be selected.

    Signals:
        picked: Other clips are selected; a tuple of their ids.
        wanted: The person wants to see a clip; its id.
    """

    picked = Signal(object)
    wanted = Signal(str)

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        voices = VoiceModel(theme)
        widths = [_WIDTHS_PX.get(column, 0) for column in range(len(_TITLES))]
        super().__init__(voices, "Voices of the clips", widths, parent)
        self.voices = voices
        self.setItemDelegate(VoiceDelegate(theme, self))
        self.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.selectionModel().selectionChanged.connect(self._on_selected)
        self.doubleClicked.connect(self._on_wanted)

    @property
    def is_narrow(self) -> bool:
        """Whether there is no room for noise and peak."""
        return self.width() < _NARROW_PX

    @property
    def selected(self) -> tuple[str, ...]:
        """Ids of the clips that are selected, in the order of the scene."""
        rows = sorted(index.row() for index in self.selectionModel().selectedRows())
        return tuple(self.voices.rows[row].clip for row in rows)

    def show_rows(self, rows: Sequence[VoiceRow]) -> None:
        """Show rows; what is selected stays so as far as it is there."""
        before = self.selected
        if self.voices.show_rows(rows):
            self.fit()
            self.select(before)

    def select(self, clips: Sequence[str]) -> None:
        """Select clips.

        Args:
            clips: Their ids; what is not there is left out.
        """
        found, wanted = QItemSelection(), set(clips)
        for number, row in enumerate(self.voices.rows):
            if row.clip in wanted:
                index = self.voices.index(number, CLIP)
                found.select(index, self.voices.index(number, PEAK))
        flags = QItemSelectionModel.SelectionFlag.ClearAndSelect
        self.selectionModel().select(found, flags)

    def _on_selected(self) -> None:
        self.picked.emit(self.selected)

    def _on_wanted(self, index: QModelIndex) -> None:
        self.wanted.emit(self.voices.rows[index.row()].clip)

    def sizeHint(self) -> QSize:
        return QSize(480, self.minimumHeight())

    def minimumSizeHint(self) -> QSize:
        return QSize(320, self.minimumHeight())

    def resizeEvent(self, event: QResizeEvent) -> None:
        for column in (NOISE, PEAK):
            self.setColumnHidden(column, self.is_narrow)
        for column, width in _NARROW_WIDTHS_PX.items():
            self.setColumnWidth(column, width if self.is_narrow else _WIDTHS_PX[column])
        super().resizeEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        index = self.currentIndex()
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and index.isValid():
            self._on_wanted(index)
        else:
            super().keyPressEvent(event)
