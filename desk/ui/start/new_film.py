"""A new film from a folder of footage, shown before anything is written."""

import functools
from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from desk.errors import DeskError
from desk.film.faults import Findings
from desk.footage.probing import ProbeCache
from desk.jobs import Progress
from desk.ui.job_runner import Job, JobRunner, Work
from desk.ui.look.theme import Theme
from desk.ui.look.type import TITLE_PX, serif
from desk.ui.messages import Messages
from desk.ui.start.folder_field import FolderField, dropped_folder
from desk.ui.start.format_choice import FormatChoice
from desk.ui.start.places import AskFolder, ask_folder, proposed_project, proposed_title
from desk.ui.start.preview import Preview, Wish, look_at, make_film
from desk.ui.start.preview_panel import HINT, PreviewPanel
from desk.ui.start.project_field import ProjectField

_FIRST_SIZE_PX = (880, 660)
_LABEL_PX = 112


class NewFilmDialog(QDialog):
    """Asks for footage, project folder, title, rate and size, shows the scenes, and makes the film.

    The footage is read beside the window. What was read is kept while the dialog is open, so that another
    rate or size costs no second reading.

    Signals:
        made: The film was made; the Path of its project folder.
    """

    made = Signal(object)

    def __init__(
        self,
        theme: Theme,
        messages: Messages,
        jobs: JobRunner,
        parent: QWidget | None = None,
        *,
        footage: Path | None = None,
        ask: AskFolder = ask_folder,
    ) -> None:
        """Make the dialog.

        Args:
            theme: Colours in use.
            messages: Says things to the person.
            jobs: Reads the footage beside the window.
            parent: Over which window it is.
            footage: The folder of footage to begin with, or None.
            ask: Asks for a folder.
        """
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("New film from footage")
        self.setAcceptDrops(True)
        self.resize(*_FIRST_SIZE_PX)
        self._messages = messages
        self._jobs = jobs
        # In memory alone: a folder can't be read as a cache, and it is never saved.
        self._cache = ProbeCache(Path())
        self._preview: Preview | None = None
        self._look: Job | None = None
        self._making: Job | None = None
        self.footage_field = FolderField(
            "Footage folder", theme, ask, "The folder that holds the scenes' folders"
        )
        self.project_field = ProjectField(theme, jobs, ask)
        self.title_line = QLineEdit()
        self.title_fault = QLabel()
        self.format = FormatChoice()
        self.panel = PreviewPanel(theme)
        self.fault = QLabel()
        self.make_button = QPushButton("Make the film")
        self.cancel_button = QPushButton("Cancel")
        self._arrange()
        self._follow()
        self._refresh()
        if footage:
            self.take_footage(footage)

    def take_footage(self, footage: Path) -> None:
        """Take a folder of footage, as when it is chosen or dropped."""
        self.footage_field.take(footage)

    def make(self) -> None:
        """Make the film that is shown."""
        self.footage_field.settle()
        self.project_field.settle()
        wish = self._wish()
        if wish is None or self._preview is None or not self.make_button.isEnabled():
            return
        self._say("")
        self._making = self._start(
            "make the film", functools.partial(make_film, wish, self._preview, self._cache)
        )
        self._making.succeeded.connect(self._on_made)
        self._making.failed.connect(self._on_make_failed)
        self._making.finished.connect(self._on_making_finished)
        self.panel.progress.begin("Making the film…")
        self._refresh()

    def stop(self) -> None:
        """Stop what runs; what was read of the footage stays known."""
        if self._making is not None:
            self._making.cancel()
        elif self._look is not None:
            self._drop_look()
            self._preview = None
            self.panel.progress.end()
            self.panel.say("Reading the footage was stopped. What was read so far is kept.", again=True)
            self._refresh()

    # The footage.

    def _on_footage_changed(self, footage: Path | None) -> None:
        self._drop_look()
        self._preview = None
        self._say("")
        self.format.propose(None, None, "Rate and size are proposed when the footage has been read.")
        self.footage_field.say_unless_whole()
        if footage is None:
            self.panel.progress.end()
            self.panel.say(HINT)
        elif not self.title_line.isModified():
            self.title_line.setText(proposed_title(footage))
        self.project_field.set_footage(footage)
        self._read(anew=True)

    def _on_format_changed(self) -> None:
        if self._preview is not None:
            self._read(anew=False)

    def _read_again(self) -> None:
        self._read(anew=True)

    def _read(self, *, anew: bool) -> None:
        """Read the footage, or what is known of it, beside the window.

        Args:
            anew: Whether what is shown is of no use any more.
        """
        self._drop_look()
        wish = self._wish()
        if wish is not None:
            self._look = self._start("look at the footage", functools.partial(look_at, wish, self._cache))
            self._look.succeeded.connect(self._on_looked)
            self._look.failed.connect(self._on_look_failed)
            if anew:
                self.panel.say("The footage is being read. This takes a moment for each file.")
                self.panel.progress.begin("Looking for scenes…")
        self._refresh()

    def _start(self, name: str, work: Work) -> Job:
        job = self._jobs.start(name, work)
        job.progressed.connect(self._on_progressed)
        return job

    def _drop_look(self) -> None:
        if self._look is not None:
            self._look.cancel()
            self._look = None

    def _on_progressed(self, progress: Progress) -> None:
        if self.sender() in (self._look, self._making):
            self.panel.progress.show_progress(progress)

    def _on_looked(self, preview: Preview) -> None:
        if self.sender() is self._look:
            self._look = None
            self._show(preview)

    def _show(self, preview: Preview) -> None:
        self._preview = preview
        if self.format.rate() is None and self.format.size_px() is None:
            self.format.propose(preview.film.rate, preview.film.size, preview.why)
        self.panel.progress.end()
        self.panel.show_preview(preview)
        self._refresh()

    def _on_look_failed(self, error: object) -> None:
        if self.sender() is not self._look:
            return
        self._look = self._preview = None
        self.panel.progress.end()
        if isinstance(error, DeskError):
            self.panel.say(str(error), fault=True, again=True)
        else:
            self.panel.say("The footage could not be read.", fault=True, again=True)
            self._messages.fault(error)
        self._refresh()

    # Making it.

    def _wish(self) -> Wish | None:
        footage = self.footage_field.folder()
        if footage is None:
            return None
        return Wish(
            footage=footage,
            folder=self.project_field.folder() or proposed_project(footage),
            title=self.title_line.text().strip(),
            rate=self.format.rate(),
            size=self.format.size_px(),
        )

    def _title_fault(self) -> str:
        findings = Findings(day_frames=0)
        findings.line(self.title_line.text().strip(), "title", "the title of the film")
        return findings.found[0].sentence if findings.found else ""

    def _on_title_changed(self) -> None:
        sentence = self._title_fault()
        self.title_fault.setText(sentence)
        self.title_fault.setVisible(bool(sentence))
        self._refresh()

    def _on_made(self, made: object) -> None:
        if isinstance(made, Preview):
            self._show(made)
            self._say("The footage has changed since it was shown. Look at the scenes again.")
        else:
            self.made.emit(made)
            self.accept()

    def _on_make_failed(self, error: object) -> None:
        if isinstance(error, DeskError):
            self._say(str(error))
            self.project_field.check()
        else:
            self._messages.fault(error)

    def _on_making_finished(self) -> None:
        self._making = None
        self.panel.progress.end()
        self._refresh()

    def _say(self, sentence: str) -> None:
        self.fault.setText(sentence)
        self.fault.setVisible(bool(sentence))

    def _refresh(self) -> None:
        is_making = self._making is not None
        for part in (self.footage_field, self.project_field, self.title_line, self.format):
            part.setEnabled(not is_making)
        is_ready = self._preview is not None and self._look is None and not is_making
        self.make_button.setEnabled(is_ready and self.project_field.is_free and not self._title_fault())

    def _follow(self) -> None:
        self.footage_field.changed.connect(self._on_footage_changed)
        self.project_field.checked.connect(self._refresh)
        self.title_line.textChanged.connect(self._on_title_changed)
        self.format.changed.connect(self._on_format_changed)
        self.panel.again_requested.connect(self._read_again)
        self.panel.progress.stop_requested.connect(self.stop)
        self.make_button.clicked.connect(self.make)
        self.cancel_button.clicked.connect(self.reject)

    def _arrange(self) -> None:
        heading = QLabel("New film from a folder of footage")
        heading.setFont(serif(TITLE_PX))
        self.title_line.setAccessibleName("Title of the film")
        self.title_line.setPlaceholderText("The project folder's name")
        for label in (self.title_fault, self.fault):
            label.setProperty("kind", "fault")
            label.setWordWrap(True)
            label.hide()
        self.make_button.setProperty("kind", "main")
        self.make_button.setDefault(True)
        self.cancel_button.setAutoDefault(False)
        title = QVBoxLayout()
        title.setSpacing(4)
        title.addWidget(self.title_line)
        title.addWidget(self.title_fault)
        page = QVBoxLayout(self)
        page.setContentsMargins(24, 20, 24, 16)
        page.setSpacing(12)
        page.addWidget(heading)
        page.addLayout(_line("Footage", self.footage_field))
        page.addLayout(_line("Title", title))
        page.addLayout(_line("Project folder", self.project_field))
        page.addLayout(_line("Rate and size", self.format))
        page.addWidget(self.panel, 1)
        page.addWidget(self.fault)
        page.addLayout(self._foot())

    def _foot(self) -> QHBoxLayout:
        promise = QLabel("Nothing is written before you make the film. Footage is only read.")
        promise.setProperty("kind", "small")
        foot = QHBoxLayout()
        foot.setSpacing(8)
        foot.addWidget(promise)
        foot.addStretch(1)
        # In the platform's order.
        buttons = QDialogButtonBox()
        buttons.addButton(self.make_button, QDialogButtonBox.ButtonRole.AcceptRole)
        buttons.addButton(self.cancel_button, QDialogButtonBox.ButtonRole.RejectRole)
        foot.addWidget(buttons)
        return foot

    def reject(self) -> None:
        # A film that is being made is stopped first, so that it is known what came of it.
        if self._making is not None:
            self.stop()
        else:
            super().reject()

    def done(self, result: int) -> None:
        self._drop_look()
        super().done(result)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        if self._making is None and dropped_folder(event.mimeData().urls()) is not None:
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        folder = dropped_folder(event.mimeData().urls())
        if folder is not None and self._making is None:
            event.acceptProposedAction()
            self.take_footage(folder)


def _line(name: str, field: QWidget | QVBoxLayout) -> QHBoxLayout:
    label = QLabel(name)
    label.setFixedWidth(_LABEL_PX)
    label.setProperty("kind", "dim")
    label.setMinimumHeight(28)
    row = QHBoxLayout()
    row.setSpacing(8)
    row.addWidget(label, 0, Qt.AlignmentFlag.AlignTop)
    if isinstance(field, QWidget):
        row.addWidget(field, 1)
    else:
        row.addLayout(field, 1)
    return row
