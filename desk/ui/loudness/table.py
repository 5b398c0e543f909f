"""A table of how loud scenes are, with the way to the loudest moment of each."""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QKeyEvent
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableView, QWidget

from desk.ui.bench import Bench
from desk.ui.level_words import NOTHING, shown_level, signed_level
from desk.ui.look.theme import Theme
from desk.ui.look.type import SMALL_PX, sans
from desk.ui.scene_place import ScenePlaces

Index = QModelIndex | QPersistentModelIndex

_SHOWN = Qt.ItemDataRole.DisplayRole
_NOWHERE = QModelIndex()
_ROW_PX = 28
_PADDING_PX = 16
_LOUDEST = "Loudest\nat"
_GO_KEYS = (Qt.Key.Key_Return, Qt.Key.Key_Enter)


@dataclass(frozen=True, slots=True, kw_only=True)
class SoundRow:
    """How loud a scene is.

    Attributes:
        entry: Its id.
        number: Its number.
        integrated_lufs: All of it; None where that is not known, or nothing is heard.
        voices_lufs: Its voices.
        music_below_voices_lu: How far its music lies below them.
        true_peak_dbtp: Its true peak.
        loudest_at: When its loudest moment is, for the person, or "".
        loudest_frames: The frame of that, from the scene's start, or None.
        stands_out_lu: By how much it is louder than its neighbours, below 0 for softer; None where it does
            not stand out.
        is_known: Whether it was measured as it is now.
    """

    entry: str
    number: str
    integrated_lufs: float | None = None
    voices_lufs: float | None = None
    music_below_voices_lu: float | None = None
    true_peak_dbtp: float | None = None
    loudest_at: str = ""
    loudest_frames: int | None = None
    stands_out_lu: float | None = None
    is_known: bool = True


_COLUMNS = (
    ("Scene", "Number of the scene"),
    ("LUFS", "Integrated loudness, LUFS"),
    ("Voices", "Loudness of the voices in the mix, LUFS"),
    ("Music\nbelow", "How far the music lies below the voices, LU"),
    ("Peak", "True peak, dBTP"),
    (_LOUDEST, "The loudest 400 ms; Return goes there"),
    ("Beside", "Where it stands out: how much louder than the scenes beside it, LU"),
)
_PEAK_COLUMN = 4
_LOUDEST_COLUMN = 5


class SoundModel(QAbstractTableModel):
    """Rows of scenes in their order."""

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._theme = theme
        self._rows: tuple[SoundRow, ...] = ()

    @property
    def rows(self) -> tuple[SoundRow, ...]:
        """What is shown."""
        return self._rows

    def show_rows(self, rows: Sequence[SoundRow]) -> None:
        """Show other rows; where the scenes are the same ones, only their figures change."""
        rows = tuple(rows)
        if rows == self._rows:
            return
        if [row.entry for row in rows] == [row.entry for row in self._rows]:
            self._rows = rows
            self.dataChanged.emit(self.index(0, 0), self.index(len(rows) - 1, len(_COLUMNS) - 1))
            return
        self.beginResetModel()
        self._rows = rows
        self.endResetModel()

    def rowCount(self, parent: Index = _NOWHERE) -> int:
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: Index = _NOWHERE) -> int:
        return 0 if parent.isValid() else len(_COLUMNS)

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = _SHOWN) -> object:
        if orientation is not Qt.Orientation.Horizontal:
            return None
        if role == _SHOWN:
            return _COLUMNS[section][0]
        if role in (Qt.ItemDataRole.ToolTipRole, Qt.ItemDataRole.AccessibleTextRole):
            return _COLUMNS[section][1]
        if role == Qt.ItemDataRole.TextAlignmentRole and not section:
            return int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        return None

    def data(self, index: Index, role: int = _SHOWN) -> object:
        if not index.isValid():
            return None
        row, column = self._rows[index.row()], index.column()
        if role == _SHOWN:
            return _cells(row)[column]
        if role in (Qt.ItemDataRole.ToolTipRole, Qt.ItemDataRole.AccessibleTextRole):
            return f"{_COLUMNS[column][1]}: {_cells(row)[column]}" if column else row_words(row)
        if role == Qt.ItemDataRole.ForegroundRole:
            if row.stands_out_lu is not None and column in (1, len(_COLUMNS) - 1):
                return self._theme.colour("pencil_text")
            return self._theme.colour("ink" if row.is_known else "dim")
        if role == Qt.ItemDataRole.TextAlignmentRole and column:
            return int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        return None


class SoundTable(QTableView):
    """The rows, as high as they are up to a limit.

    Return, a double click, or a click on the time goes to the loudest moment of a scene.

    Signals:
        went: A row was gone to; a `SoundRow`.
    """

    went = Signal(object)

    def __init__(
        self, name: str, theme: Theme, parent: QWidget, *, has_peaks: bool, most_rows: int = 8
    ) -> None:
        """Make it.

        Args:
            name: What it shows, for who can't see it.
            theme: Colours in use.
            parent: Who owns it.
            has_peaks: Whether each scene has a true peak of its own.
            most_rows: So many rows are shown at once.
        """
        super().__init__(parent)
        self._most_rows = most_rows
        self.sounds = SoundModel(theme, self)
        self.setModel(self.sounds)
        self.setAccessibleName(name)
        self.setAccessibleDescription("Return goes to the loudest moment of a scene.")
        self.setShowGrid(False)
        self.setWordWrap(False)
        self.setTabKeyNavigation(False)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setColumnHidden(_PEAK_COLUMN, not has_peaks)
        self.verticalHeader().hide()
        self.verticalHeader().setDefaultSectionSize(_ROW_PX)
        head = self.horizontalHeader()
        head.setHighlightSections(False)
        head.setSectionsClickable(False)
        head.setMinimumSectionSize(36)
        head.setDefaultAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        head.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        head.setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        theme.changed.connect(self.viewport().update)
        self.clicked.connect(self._on_clicked)
        self.doubleClicked.connect(self._on_gone)

    def show_rows(self, rows: Sequence[SoundRow]) -> None:
        """Show other rows, and take their height."""
        self.sounds.show_rows(rows)
        self.setVisible(bool(rows))
        self._fit_columns(rows)
        count = min(max(1, len(rows)), self._most_rows)
        height = count * _ROW_PX + self.horizontalHeader().sizeHint().height() + 2
        if height != self.minimumHeight():
            self.setFixedHeight(height)

    def _fit_columns(self, rows: Sequence[SoundRow]) -> None:
        """Make each column as wide as what is in it; to ask the style about each cell takes long."""
        metrics, head = QFontMetricsF(sans()), QFontMetricsF(sans(SMALL_PX, strong=True))
        cells = [_cells(row) for row in rows]
        for column, (title, _) in enumerate(_COLUMNS):
            if column:
                widest = max((metrics.horizontalAdvance(row[column]) for row in cells), default=0.0)
                named = max(head.horizontalAdvance(line) for line in title.splitlines())
                self.setColumnWidth(column, round(max(widest, named)) + _PADDING_PX)

    def _on_clicked(self, index: QModelIndex) -> None:
        if index.column() == _LOUDEST_COLUMN:
            self._on_gone(index)

    def _on_gone(self, index: QModelIndex) -> None:
        if index.isValid():
            self.went.emit(self.sounds.rows[index.row()])

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in _GO_KEYS:
            self._on_gone(self.currentIndex())
        else:
            super().keyPressEvent(event)


def row_words(row: SoundRow) -> str:
    """Return how loud a scene is, in words."""
    if not row.is_known:
        return f"Scene {row.number}: not measured as it is now."
    if row.integrated_lufs is None:
        return f"Scene {row.number}: nothing is heard."
    parts = [f"{shown_level(row.integrated_lufs)} LUFS"]
    if row.voices_lufs is not None:
        parts.append(f"voices {shown_level(row.voices_lufs)} LUFS")
    below = row.music_below_voices_lu
    if below is not None:
        parts.append(f"music {shown_level(abs(below))} LU {'below' if below >= 0 else 'above'} them")
    if row.true_peak_dbtp is not None:
        parts.append(f"true peak {shown_level(row.true_peak_dbtp)} dBTP")
    if row.loudest_at:
        parts.append(f"loudest at {row.loudest_at}")
    if row.stands_out_lu is not None:
        parts.append(stands_out_words(row.stands_out_lu))
    return f"Scene {row.number}: {', '.join(parts)}."


def stands_out_words(louder_lu: float) -> str:
    """Return that a scene stands out from its neighbours, and how."""
    how = "louder" if louder_lu > 0 else "softer"
    return f"{shown_level(abs(louder_lu))} LU {how} than what is beside it"


def go_to_row(bench: Bench, places: ScenePlaces, row: SoundRow) -> None:
    """Show a scene, with the playhead on its loudest moment.

    Args:
        bench: The film and what the person looks at.
        places: Where its scenes are.
        row: The scene.
    """
    scenes = {scene.id for scene in bench.session.film.scenes}
    if row.entry not in scenes:
        bench.messages.notice(f"Scene {row.number} is not in the film any more.", urgent=True)
        return
    bench.choice.choose(row.entry)
    start = places.start_frames(row.entry)
    if start is not None and row.loudest_frames is not None:
        bench.choice.go_to(start + row.loudest_frames)


def _cells(row: SoundRow) -> tuple[str, ...]:
    return (
        row.number or NOTHING,
        shown_level(row.integrated_lufs),
        shown_level(row.voices_lufs),
        shown_level(row.music_below_voices_lu),
        shown_level(row.true_peak_dbtp),
        row.loudest_at or NOTHING,
        "" if row.stands_out_lu is None else signed_level(row.stands_out_lu),
    )
