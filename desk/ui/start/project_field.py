"""A field for the project folder of a new film: looked at beside the window, refused where no film can be."""

import functools
from pathlib import Path

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from desk.jobs import CancelToken, ProgressListener
from desk.ui.job_runner import Job, JobRunner
from desk.ui.look.theme import Theme
from desk.ui.start.folder_field import FolderField
from desk.ui.start.places import AskFolder, films_folder, proposed_project
from desk.ui.start.preview import refused


class ProjectField(FolderField):
    """The project folder of a new film.

    Signals:
        checked: It is known, or not known any more, whether a film can be made there; see `is_free`.
    """

    checked = Signal()

    def __init__(self, theme: Theme, jobs: JobRunner, ask: AskFolder, parent: QWidget | None = None) -> None:
        """Make the field.

        Args:
            theme: Colours in use.
            jobs: Looks at the folder beside the window.
            ask: Asks for a folder.
            parent: Who owns it.
        """
        super().__init__("Project folder", theme, ask, "The folder to keep the film in", parent)
        self._jobs = jobs
        self._footage: Path | None = None
        self._check: Job | None = None
        self._is_free = False
        self.line.setPlaceholderText(str(films_folder() / "My film"))
        self.changed.connect(self.check)

    @property
    def is_free(self) -> bool:
        """Whether a film can be made there, as far as was looked."""
        return self._is_free

    def set_footage(self, footage: Path | None) -> None:
        """Propose a folder beside the footage, unless the person has named one, and look at it."""
        self._footage = footage
        if footage is not None and not self.was_typed:
            self.show_folder(proposed_project(footage))
        self.check()

    def check(self) -> None:
        """Look whether a film can be made there."""
        self._is_free = False
        self._check = None
        self.say("")
        folder = self.folder()
        if folder is not None:
            work = functools.partial(_refused, folder, self._footage)
            self._check = self._jobs.start("look at the project folder", work)
            self._check.succeeded.connect(self._on_checked)
        else:
            self.say_unless_whole()
        self.checked.emit()

    def _on_checked(self, sentence: str) -> None:
        if self.sender() is not self._check:
            return
        self._check = None
        self._is_free = not sentence
        self.say(sentence)
        self.checked.emit()


def _refused(folder: Path, footage: Path | None, _: ProgressListener, __: CancelToken) -> str:
    return refused(folder, footage)
