"""The shelf below the running order: what is set aside, and the way back."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from desk.film.timecode import format_length
from desk.film.wording import counted
from desk.ui.bench import Bench
from desk.ui.look.icons import icon
from desk.ui.order.shelf_model import ShelfModel
from desk.ui.order.tiles import ShelfView

_MARGIN_PX = 8
_HEAD_PX = 32
SHARE_OF_PANEL = 1 / 3


class Shelf(QFrame):
    """What is set aside, as high as it needs to be up to a share of the panel.

    Signals:
        put_back_wanted: What is chosen on it is to go back where it was.
    """

    put_back_wanted = Signal()

    def __init__(self, bench: Bench, model: ShelfModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = bench.session
        self._model = model
        self.setProperty("kind", "shelf")
        heading = QLabel("SET ASIDE", self)
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
        column = QVBoxLayout(self)
        column.setContentsMargins(_MARGIN_PX, 2, _MARGIN_PX - 4, _MARGIN_PX - 4)
        column.setSpacing(2)
        column.addLayout(head)
        column.addWidget(self.view, 1)
        for signal in (model.rowsInserted, model.rowsRemoved, model.dataChanged, model.modelReset):
            signal.connect(self._on_listed)
        self.view.selectionModel().selectionChanged.connect(self.refresh)
        self.refresh()

    def fit(self) -> None:
        """Take the height that is needed, up to a share of the panel."""
        panel = self.parentWidget()
        most = max(96, int(panel.height() * SHARE_OF_PANEL)) if panel else 96
        height = min(most, self.view.height_wanted() + _HEAD_PX + _MARGIN_PX + 4)
        if height != self.height():
            self.setFixedHeight(height)

    def refresh(self) -> None:
        """Say how much stands here, and whether something of it can be put back."""
        frames = sum(self._model.tile_at(row).facts.length_frames for row in range(len(self._model.ids)))
        count = len(self._model.ids)
        rate = self._session.film.rate
        told = f"{counted(count, 'entry')}, {format_length(frames, rate)}" if count else ""
        self._told.setText(told)
        self._back.setVisible(bool(count))
        self._back.setEnabled(bool(self.view.chosen_ids()) and not self._session.read_only)

    def _on_listed(self) -> None:
        self.refresh()
        self.fit()
