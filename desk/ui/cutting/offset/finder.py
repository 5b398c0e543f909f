"""The dialog that looks for the offsets of separate recordings, and shows whether they fit."""

import functools
from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import (
    QDialog,
    QFileDialog,
    QHBoxLayout,
    QListWidget,
    QListWidgetItem,
    QProgressBar,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from desk.errors import MediaError
from desk.film.model import Scene
from desk.film.wording import counted, quoted
from desk.jobs import Progress
from desk.sound.offset import LEAST_TRUST
from desk.ui.bench import Bench
from desk.ui.cutting.clip_sheet import sheet_edits
from desk.ui.cutting.clip_sheet.fields import seconds_text
from desk.ui.cutting.clip_sheet.sheet_edits import Recording
from desk.ui.cutting.clip_sheet.sound_files import SOUNDS, film_path
from desk.ui.cutting.offset.comparison import ComparisonView
from desk.ui.cutting.offset.search import BY_HAND, Outcome, Wanted, search, trust_words
from desk.ui.fields import attempt
from desk.ui.job_runner import Job
from desk.ui.labels import label, note, say
from desk.ui.scene.clip_facts import file_name

_WIDTH_PX = 520
_MOST_ROWS = 6
_ROW_PX = 28
_KEY = "Filled: the sound of the footage. Line: the recording. Where it fits, both rise and fall together."
_LISTEN = "Then play it, and watch the lips."
_WHICH = "{} has its own sound. Choose the separate recording that belongs to it."


class OffsetFinder(QDialog):
    """Looks for where separate recordings belong, one after the other, and lays those that are taken.

    Attributes:
        rows: The clips, where there are several.
        found: What was found for the clip that is shown, or why nothing was.
        places: Both sounds laid over each other.
    """

    def __init__(self, bench: Bench, scene_id: str, clip_ids: Sequence[str], parent: QWidget) -> None:
        super().__init__(parent)
        self._bench = bench
        self._scene_id = scene_id
        scene = bench.session.film.scene(scene_id)
        wanted = set(clip_ids)
        self._wanted = [
            Wanted.of(bench.session.film, scene, clip, bench.session.folder, bench.media.facts)
            for clip in scene.content.clips
            if clip.id in wanted
        ]
        self._outcomes: dict[str, Outcome] = {}
        self._job: Job | None = None
        self._running: Wanted | None = None
        self._was_stopped = False
        self.dialog: QFileDialog | None = None
        self.setWindowTitle("Find the offset" if len(self._wanted) == 1 else "Find offsets")
        self.setMinimumWidth(_WIDTH_PX)
        self._make_widgets()
        self._lay_out()
        self._show()

    def start(self) -> None:
        """Look for all that was not looked for yet."""
        self._was_stopped = False
        self._go_on()

    def stop(self) -> None:
        """Look no further; what was found stays."""
        self._was_stopped = True
        if self._job is not None:
            self._job.cancel()
        self._show()

    def take(self) -> None:
        """Lay the recordings that are ticked where they belong, as one step, and close."""
        laid = [
            Recording(one.wanted.clip_id, one.wanted.recording, one.found.offset_seconds)
            for one in self._ticked()
            if one.found is not None
        ]
        if not laid:
            return
        make = functools.partial(sheet_edits.lay_recordings, scene_id=self._scene_id, recordings=laid)
        refused = attempt(self._bench.session, make)
        say(self.fault, refused)
        if not refused:
            self.accept()

    def choose(self) -> None:
        """Ask for another recording."""
        first = self._wanted[0]
        beside = Path(first.recording or first.source).parent
        dialog = QFileDialog(
            self, "Choose a separate recording", str(self._bench.session.folder / beside), SOUNDS
        )
        dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
        dialog.fileSelected.connect(self.take_recording)
        dialog.finished.connect(dialog.deleteLater)
        self.dialog = dialog
        dialog.open()

    def take_recording(self, name: str) -> None:
        """Compare another recording.

        Args:
            name: Its path on this machine.
        """
        try:
            recording = film_path(name, self._bench)
        except MediaError as error:
            say(self.fault, str(error))
            return
        say(self.fault, "")
        first = self._wanted[0]
        if self._job is not None:
            self._job.cancel()
        self._outcomes.pop(first.clip_id, None)
        self._wanted[0] = first.with_recording(recording, self._bench.media.facts)
        self.start()

    def _make_widgets(self) -> None:
        self.about = label("", self, wraps=True)
        self.rows = QListWidget(self)
        self.rows.setAccessibleName("Clips")
        self.rows.setTextElideMode(Qt.TextElideMode.ElideMiddle)
        self.rows.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.rows.setFixedHeight(min(_MOST_ROWS, len(self._wanted)) * _ROW_PX + 8)
        self.rows.setVisible(len(self._wanted) > 1)
        for one in self._wanted:
            QListWidgetItem(one.name, self.rows).setSizeHint(QSize(0, _ROW_PX))
        self.rows.currentRowChanged.connect(self._show)
        self.rows.itemChanged.connect(self._show_buttons)
        self.bar = QProgressBar(self)
        self.bar.setRange(0, 100)
        self.bar.setTextVisible(False)
        self.bar.setAccessibleName("How far it is")
        self.stop_button = QPushButton("Stop", self)
        self.stop_button.clicked.connect(self.stop)
        self.found = label("", self, wraps=True)
        self.trust = note("small", self)
        self.places = ComparisonView(self._bench.theme, self)
        self.key = note("small", self)
        self.fault = note("fault", self)
        self.choose_button = QPushButton("Choose…", self)
        self.choose_button.setAccessibleName("Choose another recording")
        self.choose_button.setVisible(len(self._wanted) == 1)
        self.choose_button.clicked.connect(self.choose)
        self.again = QPushButton("Go on", self)
        self.again.clicked.connect(self.start)
        self.take_button = QPushButton("Take", self)
        self.take_button.setProperty("kind", "main")
        self.take_button.clicked.connect(self.take)
        self.not_now = QPushButton("Not now", self)
        self.not_now.clicked.connect(self.reject)
        for button in (self.stop_button, self.choose_button, self.again, self.not_now):
            # Return takes what was found, wherever the keyboard is.
            button.setAutoDefault(False)
        self.take_button.setDefault(True)

    def _lay_out(self) -> None:
        page = QVBoxLayout(self)
        page.setSpacing(8)
        page.addWidget(self.about)
        page.addWidget(self.rows)
        running = QHBoxLayout()
        running.setSpacing(8)
        running.addWidget(self.bar, 1)
        running.addWidget(self.stop_button)
        page.addLayout(running)
        for widget in (self.found, self.trust, self.places, self.key, self.fault):
            page.addWidget(widget)
        page.addStretch(1)
        buttons = QHBoxLayout()
        buttons.setSpacing(8)
        buttons.addWidget(self.choose_button)
        buttons.addWidget(self.again)
        buttons.addStretch(1)
        buttons.addWidget(self.not_now)
        buttons.addWidget(self.take_button)
        page.addLayout(buttons)

    def _next(self) -> Wanted | None:
        waiting = (one for one in self._wanted if one.recording and one.clip_id not in self._outcomes)
        return next(waiting, None)

    def _go_on(self) -> None:
        wanted = self._next()
        if self._job is None and wanted is not None and not self._was_stopped:
            job = self._bench.jobs.start("find an offset", functools.partial(search, wanted))
            self._job, self._running = job, wanted
            job.progressed.connect(self._on_progressed)
            job.succeeded.connect(self._on_succeeded)
            job.failed.connect(self._on_failed)
            job.finished.connect(self._on_finished)
            self.bar.setValue(0)
        self._show()

    def _on_progressed(self, progress: Progress) -> None:
        self.bar.setValue(round(100 * progress.fraction))
        self.bar.setAccessibleDescription(progress.text)

    def _on_succeeded(self, outcome: Outcome) -> None:
        # Another recording may have been chosen meanwhile.
        if outcome.wanted in self._wanted:
            self._outcomes[outcome.wanted.clip_id] = outcome

    def _on_failed(self, error: object) -> None:
        self._bench.messages.fault(error)
        self._was_stopped = True

    def _on_finished(self) -> None:
        self._job = self._running = None
        self._go_on()
        if self._job is None and self.take_button.isEnabled() and not self.rows.hasFocus():
            self.take_button.setFocus(Qt.FocusReason.OtherFocusReason)

    def _show(self) -> None:
        """Show how far it is, and what came of the clip that is chosen in the list."""
        is_running = self._job is not None
        self.bar.setVisible(is_running)
        self.stop_button.setVisible(is_running)
        self.again.setVisible(not is_running and self._was_stopped and self._next() is not None)
        self._show_about()
        self._show_rows()
        at = self.rows.currentRow() if len(self._wanted) > 1 else 0
        wanted = self._wanted[at] if 0 <= at < len(self._wanted) else None
        outcome = self._outcomes.get(wanted.clip_id) if wanted else None
        found = outcome.found if outcome else None
        self.places.show_places(outcome.places if outcome else ())
        say(self.key, f"{_KEY} {_LISTEN}" if found else "")
        if outcome is None:
            say(self.found, "")
            say(self.trust, "")
        elif found is None:
            say(self.found, f"{outcome.sentence} {outcome.advice}".strip(), "fault")
            say(self.trust, BY_HAND)
        else:
            name = quoted(file_name(outcome.wanted.recording))
            told = f"{name} belongs at {seconds_text(found.offset_seconds)}: that place in it goes with the "
            say(self.found, f"{told}first picture of the footage.", "dim")
            trust = f"Trust: {trust_words(found.trust)}. It fits there {found.trust:.1f} times as well as at "
            say(self.trust, f"{trust}the next best place; {LEAST_TRUST:g} times is the least.")
        self._show_buttons()
        self._grow()

    def _grow(self) -> None:
        """Make room for all that is shown."""
        page = self.layout()
        if page is not None:
            page.activate()
            self.resize(self.width(), max(self.height(), page.totalHeightForWidth(self.width())))

    def _show_about(self) -> None:
        first = self._wanted[0] if self._wanted else None
        if first is not None and not first.recording:
            told = _WHICH.format(first.name)
        elif len(self._wanted) == 1 and first is not None:
            told = f"{first.name} and {quoted(file_name(first.recording))}"
            told = f"{told} {'are being' if self._job else 'were'} compared."
        else:
            done = len(self._outcomes)
            told = f"{done} of {counted(len(self._wanted), 'recording')} compared with the sound of their "
            told += "footage."
        self.about.setText(told)

    def _show_rows(self) -> None:
        self.rows.blockSignals(True)
        for at, wanted in enumerate(self._wanted):
            item = self.rows.item(at)
            outcome = self._outcomes.get(wanted.clip_id)
            text = f"{wanted.name}, {file_name(wanted.recording)}: {self._standing(wanted, outcome)}"
            is_new = outcome is not None and item.data(Qt.ItemDataRole.UserRole) is None
            item.setText(text)
            item.setToolTip(text)
            if is_new and outcome is not None:
                item.setData(Qt.ItemDataRole.UserRole, True)
                if outcome.found is not None:
                    item.setCheckState(Qt.CheckState.Checked)
        if self._outcomes and not self.rows.selectedItems():
            done = (at for at, one in enumerate(self._wanted) if one.clip_id in self._outcomes)
            self.rows.setCurrentRow(next(done))
        self.rows.blockSignals(False)

    def _standing(self, wanted: Wanted, outcome: Outcome | None) -> str:
        if outcome is None:
            return "comparing" if wanted is self._running else "waiting"
        if outcome.found is None:
            return "not found"
        return f"{seconds_text(outcome.found.offset_seconds)}, {trust_words(outcome.found.trust)}"

    def _ticked(self) -> list[Outcome]:
        """Return what was found and is to be taken, of clips that are still what they were."""
        scene = self._scene()
        sources = {clip.id: clip.source for clip in scene.content.clips} if scene else {}
        ticked = []
        for at, wanted in enumerate(self._wanted):
            outcome = self._outcomes.get(wanted.clip_id)
            is_ticked = len(self._wanted) == 1 or self.rows.item(at).checkState() is Qt.CheckState.Checked
            is_same = sources.get(wanted.clip_id) == wanted.source
            if outcome is not None and outcome.found is not None and is_ticked and is_same:
                ticked.append(outcome)
        return ticked

    def _scene(self) -> Scene | None:
        scenes = self._bench.session.film.scenes
        return next((scene for scene in scenes if scene.id == self._scene_id), None)

    def _show_buttons(self) -> None:
        count = len(self._ticked())
        self.take_button.setEnabled(bool(count) and self._job is None)
        self.take_button.setText("Take" if len(self._wanted) == 1 else f"Take {count}")

    def done(self, result: int) -> None:
        if self._job is not None:
            self._job.cancel()
        self._was_stopped = True
        super().done(result)
