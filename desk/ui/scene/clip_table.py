"""Tables of a scene's sounds: of its clips, and of its spots."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, QSize, Qt
from PySide6.QtGui import QColor
from PySide6.QtWidgets import QAbstractItemView, QFrame, QHeaderView, QSizePolicy, QTableView, QWidget

from desk.film.media import MediaFacts
from desk.film.model import Clip, Scene, SoundKind
from desk.film.problem import Facts, MediaTrouble
from desk.film.wording import true_minus
from desk.ui.look.theme import Theme
from desk.ui.scene.clip_facts import file_name, gain_text

_ROW_PX = 28
_MOST_ROWS = 10

_Index = QModelIndex | QPersistentModelIndex
_NO_INDEX = QModelIndex()


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell.

    Attributes:
        text: What stands in it.
        kind: "" for what is plain, `open` for what deserves a look, `fault` for what is wrong, `dim`.
        more: What the tool tip says, or "" for the text.
    """

    text: str
    kind: str = ""
    more: str = ""


@dataclass(frozen=True, slots=True)
class Column:
    """One column.

    Attributes:
        title: Its heading.
        width_px: Its width for figures, which stand at the right; 0 for words, which share the rest.
    """

    title: str
    width_px: int = 0


Rows = tuple[tuple[Cell, ...], ...]

CLIP_COLUMNS = (
    Column("Clip"),
    Column("Sound"),
    Column("Gain", 64),
    Column("Lead", 44),
    Column("Lag", 40),
    Column("Fades", 60),
)
_COLOURS = {"open": "pencil_text", "fault": "broken_text", "dim": "dim"}


class SoundModel(QAbstractTableModel):
    """Rows of cells. It is filled anew where their number changes, else only the rows that differ change."""

    def __init__(self, columns: Sequence[Column], theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._columns = tuple(columns)
        self._theme = theme
        self._rows: Rows = ()
        theme.changed.connect(self._on_theme_changed)

    def show_rows(self, rows: Rows) -> None:
        """Show these rows."""
        if len(rows) != len(self._rows):
            self.beginResetModel()
            self._rows = rows
            self.endResetModel()
            return
        before, self._rows = self._rows, rows
        last = len(self._columns) - 1
        for number, (old, new) in enumerate(zip(before, rows, strict=True)):
            if old != new:
                self.dataChanged.emit(self.index(number, 0), self.index(number, last))

    def _on_theme_changed(self) -> None:
        if self._rows:
            last = self.index(len(self._rows) - 1, len(self._columns) - 1)
            self.dataChanged.emit(self.index(0, 0), last, [Qt.ItemDataRole.ForegroundRole])

    def rowCount(self, parent: _Index = _NO_INDEX) -> int:
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: _Index = _NO_INDEX) -> int:
        return 0 if parent.isValid() else len(self._columns)

    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:  # noqa: ANN401 - Qt's own
        if not self.checkIndex(index, QAbstractTableModel.CheckIndexOption.IndexIsValid):
            return None
        cell, column = self._rows[index.row()][index.column()], self._columns[index.column()]
        match role:
            case Qt.ItemDataRole.DisplayRole:
                return cell.text
            case Qt.ItemDataRole.ToolTipRole:
                return cell.more or cell.text
            case Qt.ItemDataRole.AccessibleTextRole:
                return f"{column.title}: {cell.text or 'none'}"
            case Qt.ItemDataRole.ForegroundRole if cell.kind:
                return QColor(self._theme.colour(_COLOURS[cell.kind]))
            case Qt.ItemDataRole.TextAlignmentRole:
                side = Qt.AlignmentFlag.AlignRight if column.width_px else Qt.AlignmentFlag.AlignLeft
                return int(side | Qt.AlignmentFlag.AlignVCenter)
        return None

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:  # noqa: ANN401 - Qt's own
        if orientation is not Qt.Orientation.Horizontal or not 0 <= section < len(self._columns):
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return self._columns[section].title
        if role == Qt.ItemDataRole.TextAlignmentRole:
            side = (
                Qt.AlignmentFlag.AlignRight if self._columns[section].width_px else Qt.AlignmentFlag.AlignLeft
            )
            return int(side | Qt.AlignmentFlag.AlignVCenter)
        return None


class SoundTable(QTableView):
    """A table as high as its rows, up to ten; then it scrolls."""

    def __init__(
        self, name: str, columns: Sequence[Column], theme: Theme, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.sounds = SoundModel(columns, theme, self)
        self.setModel(self.sounds)
        self.setAccessibleName(name)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setShowGrid(False)
        self.setWordWrap(False)
        self.setTextElideMode(Qt.TextElideMode.ElideMiddle)
        self.setTabKeyNavigation(False)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.verticalHeader().hide()
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.verticalHeader().setDefaultSectionSize(_ROW_PX)
        header = self.horizontalHeader()
        header.setSectionsClickable(False)
        header.setHighlightSections(False)
        header.setMinimumSectionSize(32)
        for number, column in enumerate(columns):
            mode = QHeaderView.ResizeMode.Fixed if column.width_px else QHeaderView.ResizeMode.Stretch
            header.setSectionResizeMode(number, mode)
            if column.width_px:
                self.setColumnWidth(number, column.width_px)
        self._fit()

    def show_rows(self, rows: Rows) -> None:
        """Show these rows, as high as they are."""
        self.sounds.show_rows(rows)
        self._fit()

    def _fit(self) -> None:
        rows = min(self.sounds.rowCount(), _MOST_ROWS)
        height = self.horizontalHeader().sizeHint().height() + rows * _ROW_PX + 2 * self.frameWidth() + 2
        if height != self.minimumHeight():
            self.setFixedHeight(height)

    def sizeHint(self) -> QSize:
        return QSize(480, self.minimumHeight())

    def minimumSizeHint(self) -> QSize:
        return QSize(320, self.minimumHeight())


def clip_rows(scene: Scene, facts: Facts) -> Rows:
    """Return a row for the sound of each clip of a scene."""
    return tuple(_clip_row(number, clip, facts) for number, clip in enumerate(scene.content.clips, start=1))


def _clip_row(number: int, clip: Clip, facts: Facts) -> tuple[Cell, ...]:
    sound = clip.sound
    name = Cell(f"{number}  {file_name(clip.source)}", more=clip.source)
    if sound.kind is SoundKind.SILENCE:
        return (name, Cell("silence", "dim"), *(Cell("") for _ in range(4)))
    return (
        name,
        _clip_sound(clip, facts),
        Cell(gain_text(sound.gain_db)),
        Cell(str(sound.lead_frames), more=f"Starts {sound.lead_frames} frames before its picture."),
        Cell(str(sound.lag_frames), more=f"Runs on {sound.lag_frames} frames after its picture."),
        _fades(sound.fade_in_frames, sound.fade_out_frames),
    )


def _clip_sound(clip: Clip, facts: Facts) -> Cell:
    sound = clip.sound
    path = sound.file if sound.kind is SoundKind.SEPARATE else clip.source
    known = facts.get(path)
    separate = sound.kind is SoundKind.SEPARATE
    words = file_name(path) if separate else "own"
    if separate and sound.offset_seconds:
        sign = "+" if sound.offset_seconds > 0 else "−"
        words += f", {sign}{abs(float(sound.offset_seconds)):.3f} s"
    more = f"{path}, separate recording" if separate else "The sound of its own footage"
    if separate:
        offset = true_minus(f"{float(sound.offset_seconds):.3f} s")
        more += f"; {offset} into it belong to the first picture of the footage"
    if isinstance(known, MediaTrouble):
        return Cell(f"{words}, missing", "fault", f"{known.sentence} {known.advice}".strip())
    if isinstance(known, MediaFacts) and known.sound is None:
        return Cell(f"{words}, has no sound", "open", f"{path} has no sound.")
    return Cell(words, more=f"{more}.")


def _fades(up: int, down: int) -> Cell:
    words = f"{up} / {down}" if up or down else "none"
    return Cell(words, "" if up or down else "dim", f"Fade up over {up} frames, fade out over {down}.")
