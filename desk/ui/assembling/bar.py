"""The bar in the window while an assembly is made, and what came of it afterwards."""

import time

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLabel,
    QProgressBar,
    QPushButton,
    QStackedLayout,
    QToolButton,
    QWidget,
)

from desk.assembly.review import TOO_LOUD, Assembly
from desk.assembly.speed import about
from desk.jobs import Progress
from desk.ui.assembling.made import MadeDialog
from desk.ui.assembling.opening import open_outside
from desk.ui.assembling.run import Assembling
from desk.ui.assembling.time_left import TimeLeft
from desk.ui.assembling.wording import (
    LISTEN,
    STOPPED,
    copy_name,
    not_entered,
    what_was_made,
)
from desk.ui.bench import Bench
from desk.ui.elided import ElidedLabel
from desk.ui.labels import set_kind
from desk.ui.look.icons import icon

_STEPS = 1000
_FIRST_STAGE, _LAST_STAGE = "probe", "join"
_TEXT_PX, _LEFT_PX = 180, 150


class AssemblyBar(QFrame):
    """Shows how far an assembly is and stops it; then says what was made, until it is closed.

    It takes no focus of its own, so that nobody who types meanwhile is interrupted.
    """

    def __init__(self, bench: Bench, assembling: Assembling, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._assembling = assembling
        self._left = TimeLeft()
        self._made: Assembly | None = None
        self.stage = ElidedLabel()
        self.progress = QProgressBar()
        self.left = QLabel()
        self.stop_button = QPushButton("Stop")
        self.result = ElidedLabel()
        self.play_button = QPushButton("Play")
        self.folder_button = QPushButton("Open folder")
        self.inside_button = QPushButton("What is in it…")
        self.close_button = QToolButton()
        self.setProperty("kind", "bar")
        self.setAccessibleName("Assembly")
        self._running, self._ended = QWidget(), QWidget()
        self._rows = QStackedLayout(self)
        self._rows.setContentsMargins(0, 0, 0, 0)
        self._rows.addWidget(self._running)
        self._rows.addWidget(self._ended)
        self._arrange_running()
        self._arrange_ended()
        self._follow()
        self.hide()

    def show_made(self) -> None:
        """Say in full what was made last."""
        if self._made is not None:
            MadeDialog(self._bench, self._made, self.window()).show()

    def _arrange_running(self) -> None:
        self.stage.setFixedWidth(_TEXT_PX)
        self.progress.setRange(0, _STEPS)
        self.progress.setTextVisible(False)
        self.progress.setAccessibleName("How far the assembly is")
        self.left.setFixedWidth(_LEFT_PX)
        self.left.setProperty("kind", "dim")
        self.left.setAccessibleName("Time left")
        self.stop_button.setIcon(icon("stop", self._bench.theme))
        self.stop_button.setAccessibleName("Stop the assembly")
        row = _row(self._running)
        row.addWidget(self.stage)
        row.addWidget(self.progress, 1)
        row.addWidget(self.left)
        row.addWidget(self.stop_button)

    def _arrange_ended(self) -> None:
        theme = self._bench.theme
        self.play_button.setIcon(icon("play", theme))
        self.play_button.setAccessibleName("Play the review copy")
        self.play_button.setToolTip(LISTEN)
        self.folder_button.setIcon(icon("folder", theme))
        self.folder_button.setAccessibleName("Open the folder of the copies")
        self.inside_button.setAccessibleName("Show what is in the review copy")
        self.close_button.setIcon(icon("close", theme))
        self.close_button.setIconSize(QSize(16, 16))
        self.close_button.setProperty("kind", "plain")
        self.close_button.setAccessibleName("Close what is said of the copy")
        self.close_button.setToolTip("Close")
        row = _row(self._ended)
        row.addWidget(self.result, 1)
        for button in (self.play_button, self.folder_button, self.inside_button, self.close_button):
            row.addWidget(button)

    def _follow(self) -> None:
        assembling = self._assembling
        assembling.started.connect(self._on_started)
        assembling.progressed.connect(self._on_progressed)
        assembling.stopping.connect(self._on_stopping)
        assembling.made.connect(self._on_made)
        assembling.stopped.connect(self._on_stopped)
        assembling.failed.connect(self._on_failed)
        self.stop_button.clicked.connect(assembling.stop)
        self.play_button.clicked.connect(self._play)
        self.folder_button.clicked.connect(self._open_folder)
        self.inside_button.clicked.connect(self.show_made)
        self.close_button.clicked.connect(self.hide)

    def _on_started(self) -> None:
        self._left = TimeLeft()
        self.stage.say("Looking at the footage")
        self.progress.setValue(0)
        self.left.setText("")
        self.stop_button.setText("Stop")
        self.stop_button.setEnabled(True)
        self._rows.setCurrentWidget(self._running)
        self.show()

    def _on_progressed(self, report: object) -> None:
        assert isinstance(report, Progress)
        if self._assembling.is_stopping:
            return
        self._left.note(report.fraction, time.monotonic(), stage=_kind_of_stage(report.stage))
        self.stage.say(report.text)
        self.progress.setValue(round(report.fraction * _STEPS))
        self.left.setText(_words(report.stage, self._left.seconds()))

    def _on_stopping(self) -> None:
        self.stop_button.setEnabled(False)
        self.stop_button.setText("Stopping…")
        self.stage.say("Stopping")
        self.left.setText("")

    def _on_made(self, made: object) -> None:
        assert isinstance(made, Assembly)
        self._made = made
        remarks = [f"{copy_name(made)}, is made.", not_entered(made), TOO_LOUD if made.is_too_loud else ""]
        remarks.append(what_was_made(made))
        self.result.say(" ".join(remark for remark in remarks if remark))
        set_kind(self.result, "open" if made.is_too_loud or made.notice else "")
        self._rows.setCurrentWidget(self._ended)

    def _on_stopped(self) -> None:
        self.hide()
        self._bench.messages.notice(STOPPED)

    def _on_failed(self, error: object) -> None:
        self.hide()
        self._bench.messages.fault(error)

    def _play(self) -> None:
        if self._made is not None:
            open_outside(self._made.files[0], self._bench.messages)

    def _open_folder(self) -> None:
        if self._made is not None:
            open_outside(self._made.files[0].parent, self._bench.messages)


def _row(widget: QWidget) -> QHBoxLayout:
    row = QHBoxLayout(widget)
    row.setContentsMargins(16, 6, 16, 6)
    row.setSpacing(12)
    row.setAlignment(Qt.AlignmentFlag.AlignVCenter)
    return row


def _kind_of_stage(stage: str) -> str:
    """Return the stages that go side by side, and so at one speed, under one name."""
    return "make" if stage in ("pieces", "sound") else stage


def _words(stage: str, seconds: float | None) -> str:
    if stage == _LAST_STAGE:
        return "nearly done"
    # Looking at the footage says nothing about how fast pieces are made.
    return "" if stage == _FIRST_STAGE or seconds is None else f"{about(seconds)} left"
