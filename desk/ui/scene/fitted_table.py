"""A table on the sheet of a scene that is as high as its rows."""

from collections.abc import Sequence

from PySide6.QtCore import QAbstractTableModel, Qt
from PySide6.QtWidgets import QAbstractItemView, QFrame, QHeaderView, QSizePolicy, QTableView, QWidget

_ROW_PX, _MOST_ROWS = 28, 10
_LEAST_COLUMN_PX = 32


class FittedTable(QTableView):
    """A table as high as its rows, up to ten; then it scrolls. Rows are selected as a whole."""

    def __init__(
        self, model: QAbstractTableModel, name: str, widths_px: Sequence[int], parent: QWidget | None = None
    ) -> None:
        """Show a model.

        Args:
            model: What is shown.
            name: What the table is called for the ear.
            widths_px: Width of each column; 0 for those that share the rest.
            parent: Who owns it.
        """
        super().__init__(parent)
        model.setParent(self)
        self.setModel(model)
        self.setAccessibleName(name)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setShowGrid(False)
        self.setWordWrap(False)
        self.setTextElideMode(Qt.TextElideMode.ElideMiddle)
        self.setTabKeyNavigation(False)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
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
        header.setMinimumSectionSize(_LEAST_COLUMN_PX)
        for column, width in enumerate(widths_px):
            mode = QHeaderView.ResizeMode.Fixed if width else QHeaderView.ResizeMode.Stretch
            header.setSectionResizeMode(column, mode)
            if width:
                self.setColumnWidth(column, width)
        self.fit()

    def fit(self) -> None:
        """Become as high as the rows that there are now."""
        rows = min(self.model().rowCount(), _MOST_ROWS)
        height = self.horizontalHeader().sizeHint().height() + rows * _ROW_PX + 2 * self.frameWidth() + 2
        if height != self.minimumHeight():
            self.setFixedHeight(height)
