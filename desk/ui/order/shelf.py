"""The shelf below the running order: what is set aside, and the way back."""

from PySide6.QtCore import Signal
from PySide6.QtGui import QDragEnterEvent, QDragLeaveEvent, QDragMoveEvent, QDropEvent
from PySide6.QtWidgets import QFrame, QGridLayout, QHBoxLayout, QLabel, QPushButton, QWidget

from desk.film.timecode import format_length
from desk.film.wording import counted
from desk.ui.bench import Bench
from desk.ui.look.icons import icon
from desk.ui.order.entry_view import NOWHERE, answer
from desk.ui.order.shelf_model import ShelfModel
from desk.ui.order.tiles import EMPTY_WORDS, ROW_PX, ShelfView

_MARGIN_PX = 8
_HEAD_PX = 32
_LINE_PX = 32
"""The whole shelf while nothing is on it."""

SHARE_OF_PANEL = 1 / 3
LOW_PANEL_PX = 560
"""A panel that is lower has no room for more than one row of tiles beside the running order."""


class Shelf(QFrame):
    """What is set aside, as high as it needs to be up to a share of the panel.

    With nothing on it, it is one line, which grows while something is dragged over it. What is dragged may
    be dropped on its heading as well.

    Signals:
        put_back_wanted: What is chosen on it is to go back where it was.
    """

    put_back_wanted = Signal()

    def __init__(self, bench: Bench, model: ShelfModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = bench.session
        self._model = model
        self.setProperty("kind", "shelf")
        self.setAcceptDrops(True)
        heading = QLabel("SET ASIDE", self)
        heading.setObjectName("shelf-heading")
        heading.setProperty("kind", "heading")
        self._told = QLabel(self)
        self._told.setProperty("kind", "small")
        self._back = QPushButton("Back where it was", self)
        self._back.setProperty("kind", "plain")
        self._back.setIcon(icon("put-back", bench.theme))
        self._back.setToolTip("Puts what is chosen here back into the film where it was.")
        self._back.clicked.connect(self.put_back_wanted)
        self.view = ShelfView(bench, model, self)
        self.view.put_back_wanted.connect(self.put_back_wanted)
        self.view.laid_out.connect(self.fit)
        head = QHBoxLayout()
        head.setSpacing(8)
        head.addWidget(heading)
        head.addWidget(self._told, 1)
        head.addWidget(self._back)
        self._places = QGridLayout(self)
        self._places.setContentsMargins(_MARGIN_PX, 2, _MARGIN_PX - 4, _MARGIN_PX - 4)
        self._places.setHorizontalSpacing(_MARGIN_PX)
        self._places.setVerticalSpacing(2)
        self._places.setColumnStretch(1, 1)
        self._places.addLayout(head, 0, 0)
        self._is_line = False
        self._place_view()
        for signal in (model.rowsInserted, model.rowsRemoved, model.dataChanged, model.modelReset):
            signal.connect(self._on_listed)
        self.view.selectionModel().selectionChanged.connect(self.refresh)
        self.view.dragged_over.connect(self.fit)
        self.refresh()

    def fit(self) -> None:
        """Take the height that is needed, up to a share of the panel."""
        panel = self.parentWidget()
        around = _HEAD_PX + _MARGIN_PX + 4
        one_row = ROW_PX + around
        room = panel.height() if panel else 0
        most = one_row if room < LOW_PANEL_PX else max(one_row, int(room * SHARE_OF_PANEL))
        height = min(most, self.view.height_wanted() + around)
        if self._is_line and self.view.drop_place == NOWHERE:
            height = _LINE_PX
        if height != self.height():
            self.setFixedHeight(height)

    def _place_view(self) -> None:
        """Put the tiles below the heading, or beside it where there are none."""
        self._is_line = not self._model.ids
        self.view.setToolTip(EMPTY_WORDS if self._is_line else "")
        self._places.removeWidget(self.view)
        if self._is_line:
            self._places.addWidget(self.view, 0, 1)
        else:
            self._places.addWidget(self.view, 1, 0, 1, 2)
        self._places.setRowStretch(0, int(self._is_line))
        self._places.setRowStretch(1, int(not self._is_line))

    def refresh(self) -> None:
        """Say how much stands here, and whether something of it can be put back."""
        frames = sum(self._model.tile_at(row).facts.length_frames for row in range(len(self._model.ids)))
        count = len(self._model.ids)
        rate = self._session.film.rate
        told = f"{counted(count, 'entry')}, {format_length(frames, rate)}" if count else ""
        self._told.setText(told)
        self._told.setVisible(bool(count))
        self._back.setVisible(bool(count))
        self._back.setEnabled(bool(self.view.chosen_ids()) and not self._session.read_only)

    def _on_listed(self) -> None:
        self.refresh()
        if self._is_line is bool(self._model.ids):
            self._place_view()
        self.fit()

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        self.dragMoveEvent(event)

    def dragMoveEvent(self, event: QDragMoveEvent) -> None:
        answer(event, taken=self.view.carry_over(event.mimeData(), len(self._model.ids)))

    def dragLeaveEvent(self, _: QDragLeaveEvent) -> None:
        self.view.carry_away()

    def dropEvent(self, event: QDropEvent) -> None:
        answer(event, taken=self.view.drop_at(event.mimeData(), len(self._model.ids)))
