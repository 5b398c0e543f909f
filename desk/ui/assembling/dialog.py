"""The dialog that makes an assembly: what is wanted, and what comes of it before anything runs."""

from itertools import pairwise

from PySide6.QtCore import Qt, QTimer
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from desk.film.edits import Change
from desk.film.model import Film
from desk.film.timecode import format_length
from desk.ui.assembling.choices import Choices
from desk.ui.assembling.forecast import Forecast, Forecaster, as_fault
from desk.ui.assembling.ledger import LedgerView
from desk.ui.assembling.problem_list import ProblemList
from desk.ui.assembling.run import Assembling
from desk.ui.assembling.wishes import last_wishes, remember
from desk.ui.assembling.wording import FLASHES, LISTEN, what_blocks, what_goes_in, what_is_to_make
from desk.ui.bench import Bench
from desk.ui.elided import ElidedLabel
from desk.ui.labels import set_kind
from desk.ui.look.type import TITLE_PX, sans, serif

_SETTLE_MS = 250
"""Edits that follow each other are looked at once."""

_CHOICES_PX = 320
_FOOT_PX = 64
_LOOKING = "Looking at the film…"
_RUNNING = "An assembly is being made. Wait until it is done, or stop it."


class AssembleDialog(QDialog):
    """What an assembly would be, kept up with the choices and with edits of the film while it is open.

    It does not block the window: what stands in the way can be mended beside it. Accepting it starts the
    assembly.
    """

    def __init__(self, bench: Bench, assembling: Assembling, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._assembling = assembling
        self._forecast: Forecast | None = None
        self._fault = ""
        self._forecaster = Forecaster(bench, self)
        self.choices = Choices(bench, last_wishes(bench.session.folder, bench.session.film), self)
        self.title = ElidedLabel()
        self.length = QLabel()
        self.going_in = ElidedLabel()
        self.ledger = LedgerView(bench, self)
        self.problems = ProblemList(bench, self)
        self.work = QLabel()
        self.reason = QLabel()
        self.assemble_button = QPushButton("Assemble")
        self.close_button = QPushButton("Close")
        self._settling = QTimer(self, singleShot=True, interval=_SETTLE_MS)
        self._settling.timeout.connect(self._ask)
        self.setWindowTitle("Assemble the film")
        self.setModal(False)
        self._arrange()
        self._follow()
        self._set_tab_order()
        self.resize(980, 660)
        self._show_film(bench.session.film)
        self._ask()

    @property
    def is_settled(self) -> bool:
        """Whether what is shown is of the film and the choices as they are now."""
        return self._fault != "" or self._is_current()

    def _arrange(self) -> None:
        left = QWidget()
        left_column = QVBoxLayout(left)
        left_column.setContentsMargins(16, 16, 16, 16)
        left_column.setSpacing(8)
        left_column.addWidget(self.choices)
        left_column.addStretch(1)
        for text in (LISTEN, FLASHES):
            caution = QLabel(text)
            caution.setProperty("kind", "small")
            caution.setWordWrap(True)
            left_column.addWidget(caution)
        scroll = QScrollArea()
        scroll.setWidget(left)
        scroll.setWidgetResizable(True)
        scroll.setFrameShape(QFrame.Shape.NoFrame)
        scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        scroll.setFixedWidth(_CHOICES_PX)
        columns = QHBoxLayout()
        columns.setSpacing(0)
        columns.addWidget(scroll)
        columns.addLayout(self._outlook_column(), 1)
        page = QVBoxLayout(self)
        page.setContentsMargins(0, 0, 0, 0)
        page.setSpacing(0)
        page.addLayout(columns, 1)
        page.addWidget(self._foot())

    def _outlook_column(self) -> QVBoxLayout:
        self.title.setFont(serif(TITLE_PX))
        self.title.setProperty("kind", "title")
        self.length.setFont(sans(TITLE_PX, strong=True))
        self.length.setProperty("kind", "title")
        self.length.setAccessibleName("Running time")
        self.going_in.setProperty("kind", "dim")
        head = QHBoxLayout()
        head.setSpacing(16)
        head.addWidget(self.title, 1)
        head.addWidget(self.length)
        column = QVBoxLayout()
        column.setContentsMargins(0, 16, 16, 12)
        column.setSpacing(8)
        column.addLayout(head)
        column.addWidget(self.going_in)
        column.addWidget(self.ledger, 3)
        column.addWidget(self.problems, 2)
        return column

    def _foot(self) -> QFrame:
        said = QVBoxLayout()
        for label in (self.work, self.reason):
            label.setWordWrap(True)
            said.addWidget(label)
        self.assemble_button.setProperty("kind", "main")
        self.assemble_button.setDefault(True)
        self.assemble_button.setAccessibleName("Assemble")
        self.close_button.setAutoDefault(False)
        buttons = QDialogButtonBox()
        buttons.addButton(self.assemble_button, QDialogButtonBox.ButtonRole.AcceptRole)
        buttons.addButton(self.close_button, QDialogButtonBox.ButtonRole.RejectRole)
        buttons.accepted.connect(self._on_assemble)
        buttons.rejected.connect(self.reject)
        foot = QFrame()
        foot.setProperty("kind", "bar")
        foot.setMinimumHeight(_FOOT_PX)
        row = QHBoxLayout(foot)
        row.setContentsMargins(16, 12, 16, 12)
        row.setSpacing(16)
        row.addLayout(said, 1)
        row.addWidget(buttons)
        return foot

    def _set_tab_order(self) -> None:
        """Down the choices, then what comes of them, then the buttons."""
        order = [
            *self.choices.controls(),
            self.ledger,
            self.problems.go_button,
            self.problems.view,
            self.assemble_button,
            self.close_button,
        ]
        for before, after in pairwise(order):
            QWidget.setTabOrder(before, after)
        self.choices.scenes[self.choices.wishes.include].setFocus()

    def _follow(self) -> None:
        self.choices.changed.connect(self._ask)
        self.problems.went.connect(self._on_went)
        self._forecaster.told.connect(self._on_told)
        self._forecaster.failed.connect(self._on_forecast_failed)
        self._bench.session.changed.connect(self._on_film_changed)
        self._bench.media.changed.connect(self._on_media_changed)
        self._assembling.started.connect(self._say)
        self._assembling.finished.connect(self._on_assembled)

    # What is known.

    def _ask(self) -> None:
        self._settling.stop()
        self._fault = ""
        self._forecaster.ask(self.choices.wishes)
        self._say()

    def _on_film_changed(self, film: Film, _: Change) -> None:
        self._show_film(film)
        self._settling.start()
        self._say()

    def _on_media_changed(self) -> None:
        self._forecast = None
        self._settling.start()
        self._say()

    def _on_assembled(self) -> None:
        # What was to be made may be there now, and the next is quicker.
        self._forecast = None
        self._ask()

    def _on_told(self, forecast: object) -> None:
        assert isinstance(forecast, Forecast)
        self._forecast = forecast
        if self._is_current() and forecast.refusal is None:
            remember(self._bench.session.folder, forecast.wishes)
        self._say()

    def _on_forecast_failed(self, error: object) -> None:
        self._fault = as_fault(error)
        self._say()

    def _is_current(self) -> bool:
        forecast = self._forecast
        return (
            forecast is not None
            and forecast.film is self._bench.session.film
            and forecast.wishes == self.choices.wishes
        )

    # What is said.

    def _show_film(self, film: Film) -> None:
        self.title.say(film.title)
        self.choices.show_film(film)

    def _say(self) -> None:
        forecast = self._forecast
        if forecast is not None:
            ahead = forecast.outlook
            self.length.setText(format_length(ahead.layout.length_frames, forecast.film.rate))
            self.going_in.say(what_goes_in(forecast.film, ahead.layout))
            self.ledger.show_lines(forecast.film, ahead.lines)
            self.problems.show_problems(ahead.problems)
            self.work.setText(self._work_to_do(forecast))
        self._say_reason(self._reason())

    def _say_reason(self, reason: str) -> None:
        """Say why nothing can be assembled, or what it takes; what was known is dim while it is looked at."""
        is_waiting = reason == _LOOKING
        in_place_of_work = bool(reason) and not (is_waiting and self.work.text())
        self.reason.setText(reason)
        self.reason.setVisible(in_place_of_work)
        self.work.setVisible(not in_place_of_work)
        set_kind(self.reason, "dim" if is_waiting or self._assembling.is_running else "fault")
        set_kind(self.work, "dim" if is_waiting else "")
        self.assemble_button.setEnabled(not reason)
        self.assemble_button.setToolTip(reason)
        self.assemble_button.setAccessibleDescription(reason)

    def _work_to_do(self, forecast: Forecast) -> str:
        work, read_only = forecast.outlook.work, self._bench.session.read_only
        if work is None:
            return ""
        to_make = what_is_to_make(work, forecast.film)
        return f"{to_make} The copy will not be entered in the film: {read_only}" if read_only else to_make

    def _reason(self) -> str:
        """Return why nothing can be assembled now, or ""."""
        if self._assembling.is_running:
            return _RUNNING
        if self._fault:
            return self._fault
        if not self._is_current() or self._forecast is None:
            return _LOOKING
        if self._forecast.refusal is not None:
            return str(self._forecast.refusal)
        return what_blocks(self._forecast.outlook)

    def _on_went(self) -> None:
        """Get out of the way of what was gone to; beside the window, on another screen, it may stay."""
        parent = self.parentWidget()
        window = parent.window() if parent is not None else None
        if window is not None and window.frameGeometry().intersects(self.frameGeometry()):
            self.reject()
            window.activateWindow()

    def _on_assemble(self) -> None:
        wishes = self.choices.wishes
        if not self._reason() and self._assembling.start(wishes):
            remember(self._bench.session.folder, wishes)
            self.accept()

    def done(self, result: int) -> None:
        self._settling.stop()
        self._forecaster.forget()
        super().done(result)
