"""The line of figures at the foot: running time, how much is locked, and what the last change did."""

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QHBoxLayout, QLabel, QProgressBar, QWidget

from desk.film.effects import Figures, describe_effect
from desk.film.model import Film
from desk.film.timecode import format_length
from desk.film.wording import uncapped
from desk.jobs import Progress
from desk.ui.bench import Bench
from desk.ui.messages import Notice
from desk.ui.strip.remark import Remark

NOTICE_MS = 8000
"""How long a passing notice can be read before the last change is shown again."""

_NO_CHANGE = "no change since it was opened"
_PROGRESS_WIDTH_PX = 72
_LOOKING_WIDTH_PX = 220


class FootLine(QWidget):
    """One line: the film's figures at the left, at the right what was last said or done.

    What a drop would do is shown there before all else, then a passing notice for a while, then the last
    change. A notice stays while the pointer is on it, and after a click until the next click; it goes when
    another step is taken or undone, since it told of the film before that.
    """

    def __init__(self, bench: Bench, parent: QWidget | None = None, *, notice_ms: int = NOTICE_MS) -> None:
        super().__init__(parent)
        self._bench = bench
        self._preview = ""
        self._notice: Notice | None = None
        self._pinned = False
        self._is_read = False
        self._effect = ""
        self._undone = False
        self._index_before = 0
        self._notice_before: Notice | None = None
        # The stack goes back only after the film has.
        self._after_change = QTimer(self, singleShot=True, interval=0)
        self._after_change.timeout.connect(self._see_whether_undone)
        self._passing = QTimer(self, singleShot=True, interval=notice_ms)
        self._passing.timeout.connect(self._on_passed)
        heading = QLabel("FILM", self)
        heading.setProperty("kind", "heading")
        self._figures = QLabel(self)
        self._looking = Remark(self)
        self._looking.setFixedWidth(_LOOKING_WIDTH_PX)
        self._progress = QProgressBar(self)
        self._progress.setTextVisible(False)
        self._progress.setFixedSize(_PROGRESS_WIDTH_PX, 10)
        self._progress.setAccessibleName("Looking at the footage")
        self._said = Remark(self)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(12)
        row.addWidget(heading)
        row.addWidget(self._figures)
        row.addWidget(self._said, 1)
        row.addWidget(self._looking)
        row.addWidget(self._progress)
        self._said.entered.connect(self._on_entered)
        self._said.left.connect(self._on_left)
        self._said.clicked.connect(self._on_clicked)
        bench.session.changed.connect(self._on_changed)
        bench.messages.noticed.connect(self._on_noticed)
        bench.media.looking.connect(self._on_looking)
        self._show_looking(Progress("media", "", 1.0))
        self._show_figures(bench.session.film)
        self._take_effect()

    @property
    def figures(self) -> str:
        """What stands at the left."""
        return self._figures.text()

    @property
    def said(self) -> str:
        """What stands at the right, whole."""
        return self._said.full_text

    def preview(self, text: str) -> None:
        """Show what a drop would do, until "" is shown."""
        self._preview = text
        self._say()

    def _say(self) -> None:
        if self._preview:
            self._said.say(self._preview, "open")
        elif self._notice:
            self._said.say(self._notice.text, "fault" if self._notice.urgent else "", passing=True)
        else:
            undone = "undone: " if self._undone else ""
            self._said.say(f"last change: {undone}{self._effect}" if self._effect else _NO_CHANGE, "dim")

    def _show_figures(self, film: Film) -> None:
        figures = Figures.of(film)
        running, locked = (
            format_length(frames, film.rate) for frames in (figures.frames, figures.locked_frames)
        )
        self._figures.setText(f"{running} running time · {locked} locked")
        self._figures.setToolTip("minutes:seconds:frames")

    def _take_effect(self) -> None:
        edit = self._bench.session.last_effect
        self._effect = f"{uncapped(edit.text)}. {describe_effect(edit.before, edit.after)}" if edit else ""
        self._say()

    def _show_looking(self, progress: Progress) -> None:
        busy = progress.fraction < 1
        self._looking.setVisible(busy)
        self._progress.setVisible(busy)
        if busy:
            self._looking.say(progress.text, "small")
            self._progress.setValue(round(progress.fraction * 100))

    def _on_changed(self, film: Film) -> None:
        self._undone = False
        self._show_figures(film)
        self._take_effect()
        self._index_before = self._bench.session.stack.index()
        self._notice_before = self._notice
        self._after_change.start()

    def _see_whether_undone(self) -> None:
        stack = self._bench.session.stack
        # Typing back to what was there takes a step away too, but leaves nothing to do again.
        self._undone = stack.index() < self._index_before and stack.canRedo()
        # A step that took up the one before it tells what both did.
        self._take_effect()
        notice = self._notice
        is_past = notice is not None and notice is self._notice_before and not notice.urgent
        if is_past and not self._pinned and stack.index() != self._index_before:
            self._on_passed()
        elif self._undone:
            self._say()

    def _on_noticed(self, notice: object) -> None:
        assert isinstance(notice, Notice)
        self._notice, self._pinned = notice, False
        if self._is_read:
            self._passing.stop()
        else:
            self._passing.start()
        self._say()

    def _on_passed(self) -> None:
        self._notice, self._pinned = None, False
        self._say()

    def _on_entered(self) -> None:
        self._is_read = True
        self._passing.stop()

    def _on_left(self) -> None:
        self._is_read = False
        if self._notice and not self._pinned:
            self._passing.start()

    def _on_clicked(self) -> None:
        if self._pinned:
            self._on_passed()
        elif self._notice:
            self._pinned = True
            self._passing.stop()

    def _on_looking(self, progress: object) -> None:
        assert isinstance(progress, Progress)
        self._show_looking(progress)
