"""Asks where a copy of the demo film goes, and makes it."""

import functools
from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QLabel, QPushButton, QVBoxLayout, QWidget

from desk.errors import DeskError
from desk.jobs import Progress
from desk.ui.job_runner import Job, JobRunner
from desk.ui.look.theme import Theme
from desk.ui.look.type import TITLE_PX, serif
from desk.ui.messages import Messages
from desk.ui.start.demo import DEMO_NAME, copy_demo
from desk.ui.start.folder_field import FolderField
from desk.ui.start.places import AskFolder, ask_folder, films_folder
from desk.ui.start.progress_row import ProgressRow

_WIDTH_PX = 560


class DemoDialog(QDialog):
    """Copies the demo film into a folder that the person chooses.

    Signals:
        copied: The copy is made; the Path of its project folder.
    """

    copied = Signal(object)

    def __init__(
        self,
        demo: Path,
        theme: Theme,
        messages: Messages,
        jobs: JobRunner,
        parent: QWidget | None = None,
        *,
        ask: AskFolder = ask_folder,
    ) -> None:
        """Make the dialog.

        Args:
            demo: Where the demo film is; nothing is written there.
            theme: Colours in use.
            messages: Says things to the person.
            jobs: Copies beside the window.
            parent: Over which window it is.
            ask: Asks for a folder.
        """
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("Open the demo")
        self.setMinimumWidth(_WIDTH_PX)
        self._demo = demo
        self._messages = messages
        self._jobs = jobs
        self._job: Job | None = None
        self.field = FolderField(
            "Folder for the demo", theme, ask, "The folder to put a copy of the demo into"
        )
        self.progress = ProgressRow(theme)
        self.copy_button = QPushButton("Copy and open")
        self.cancel_button = QPushButton("Cancel")
        self._arrange()
        self.field.show_folder(films_folder())
        self.field.changed.connect(self._on_changed)
        self.progress.stop_requested.connect(self.stop)
        self.copy_button.clicked.connect(self.copy)
        self.cancel_button.clicked.connect(self.reject)

    def copy(self) -> None:
        """Copy the demo."""
        self.field.settle()
        folder = self.field.folder()
        if folder is None or self._job is not None:
            return
        self.field.say("")
        self._job = self._jobs.start("copy the demo", functools.partial(copy_demo, self._demo, folder))
        self._job.progressed.connect(self._on_progressed)
        self._job.succeeded.connect(self._on_copied)
        self._job.failed.connect(self._on_failed)
        self._job.finished.connect(self._on_finished)
        self.progress.begin("Copying the demo…")
        self._refresh()

    def stop(self) -> None:
        """Stop copying; nothing of the copy is left."""
        if self._job is not None:
            self._job.cancel()

    def _on_changed(self) -> None:
        self.field.say_unless_whole()
        self._refresh()

    def _on_progressed(self, progress: Progress) -> None:
        self.progress.show_progress(progress)

    def _on_copied(self, folder: Path) -> None:
        self.copied.emit(folder)
        self._job = None
        self.accept()

    def _on_failed(self, error: object) -> None:
        if isinstance(error, DeskError):
            self.field.say(str(error))
        else:
            self._messages.fault(error)

    def _on_finished(self) -> None:
        self._job = None
        self.progress.end()
        self._refresh()

    def _refresh(self) -> None:
        self.field.setEnabled(self._job is None)
        self.copy_button.setEnabled(self._job is None and self.field.folder() is not None)

    def _arrange(self) -> None:
        heading = QLabel("The demo film")
        heading.setFont(serif(TITLE_PX))
        words = QLabel(
            "The demo is copied, so that everything in it can be tried out and changed. The copy goes into a "
            f"folder “{DEMO_NAME}” of its own, here:"
        )
        words.setWordWrap(True)
        self.copy_button.setProperty("kind", "main")
        self.copy_button.setDefault(True)
        self.cancel_button.setAutoDefault(False)
        # In the platform's order.
        foot = QDialogButtonBox()
        foot.addButton(self.copy_button, QDialogButtonBox.ButtonRole.AcceptRole)
        foot.addButton(self.cancel_button, QDialogButtonBox.ButtonRole.RejectRole)
        page = QVBoxLayout(self)
        page.setContentsMargins(24, 20, 24, 16)
        page.setSpacing(12)
        page.addWidget(heading)
        page.addWidget(words)
        page.addWidget(self.field)
        page.addWidget(self.progress)
        page.addStretch(1)
        page.addWidget(foot)

    def reject(self) -> None:
        # A copy that is being made is stopped first, so that nothing of it is left.
        if self._job is not None:
            self.stop()
        else:
            super().reject()
