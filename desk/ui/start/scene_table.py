"""The table of scenes that would come of a folder of footage."""

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableView, QWidget

from desk.film.rates import Rate
from desk.film.timecode import format_length
from desk.film.wording import counted
from desk.ui.look.theme import Theme
from desk.ui.look.type import typewriter
from desk.ui.start.preview import Preview, SceneToCome

_Index = QModelIndex | QPersistentModelIndex

NUMBER, SLUGLINE, CLIPS, LENGTH, REMARK = range(5)
HEADINGS = ("Scene", "Slugline", "Clips", "Length", "Remarks")
_WIDTHS_PX = (64, 280, 56, 88)
_ROW_PX = 28


class SceneTableModel(QAbstractTableModel):
    """The scenes of a preview."""

    def __init__(self, theme: Theme, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._scenes: tuple[SceneToCome, ...] = ()
        self._rate = Rate(24)

    def show_preview(self, preview: Preview | None) -> None:
        """Show another preview, or none."""
        self.beginResetModel()
        self._scenes = preview.scenes if preview else ()
        if preview:
            self._rate = preview.film.rate
        self.endResetModel()

    def rowCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own default
        return 0 if parent.isValid() else len(self._scenes)

    def columnCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own default
        return 0 if parent.isValid() else len(HEADINGS)

    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        if not index.isValid():
            return None
        scene, column = self._scenes[index.row()], index.column()
        match role:
            case Qt.ItemDataRole.DisplayRole:
                return self._text(scene, column)
            case Qt.ItemDataRole.AccessibleTextRole:
                return self._said(scene, column)
            case Qt.ItemDataRole.ToolTipRole:
                return scene.details or scene.slugline or None
            case Qt.ItemDataRole.FontRole if column in (NUMBER, SLUGLINE):
                return typewriter()
            case Qt.ItemDataRole.ForegroundRole if column == REMARK:
                return self._theme.colour("pencil_text")
            case Qt.ItemDataRole.TextAlignmentRole:
                side = (
                    Qt.AlignmentFlag.AlignRight if column in (CLIPS, LENGTH) else Qt.AlignmentFlag.AlignLeft
                )
                return side | Qt.AlignmentFlag.AlignVCenter
        return None

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        if orientation is not Qt.Orientation.Horizontal:
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return HEADINGS[section]
        if role == Qt.ItemDataRole.TextAlignmentRole:
            side = Qt.AlignmentFlag.AlignRight if section in (CLIPS, LENGTH) else Qt.AlignmentFlag.AlignLeft
            return side | Qt.AlignmentFlag.AlignVCenter
        return None

    def _text(self, scene: SceneToCome, column: int) -> str:
        if column == LENGTH:
            return format_length(scene.length_frames, self._rate) if scene.clips else "–"
        return (scene.number, scene.slugline, f"{scene.clips:,}", "", scene.remark)[column]

    def _said(self, scene: SceneToCome, column: int) -> str:
        if column == CLIPS:
            return counted(scene.clips, "clip")
        return f"{HEADINGS[column]} {self._text(scene, column) or 'none'}"


class SceneTableView(QTableView):
    """Shows the table; rows are chosen whole, and Tab leaves it."""

    def __init__(self, model: SceneTableModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setModel(model)
        self.setAccessibleName("Scenes that would come of the footage")
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setTabKeyNavigation(False)
        self.setShowGrid(False)
        self.setAlternatingRowColors(True)
        self.setWordWrap(False)
        self.setCornerButtonEnabled(False)
        self.verticalHeader().hide()
        # Rows of one height, so that thousands of them cost nothing to lay out.
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.verticalHeader().setDefaultSectionSize(_ROW_PX)
        header = self.horizontalHeader()
        header.setHighlightSections(False)
        header.setSectionsClickable(False)
        header.setStretchLastSection(True)
        for column, width in enumerate(_WIDTHS_PX):
            self.setColumnWidth(column, width)
