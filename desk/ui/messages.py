"""What the window says: the one place that opens message boxes.

Parts of the window call `notice`, `fault` or `ask`; the window shows notices in its foot line. A fault is one
sentence that names the thing, with what to do next; more is behind "Details".
"""

import logging
import traceback
from dataclasses import dataclass
from enum import Enum, auto

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QMessageBox, QWidget  # noqa: TID251 - the one place

from desk.errors import DeskError
from desk.jobs import Cancelled

_log = logging.getLogger(__name__)


class Answer(Enum):
    """What a person answers when something would be lost."""

    FIRST = auto()
    SECOND = auto()
    CANCEL = auto()


@dataclass(frozen=True, slots=True)
class Notice:
    """A passing remark.

    Attributes:
        text: One or two sentences.
        urgent: Whether it tells of something that went wrong.
    """

    text: str
    urgent: bool = False


class Messages(QObject):
    """Tells the person things.

    Signals:
        noticed: A `Notice` to show without getting in the way.
    """

    noticed = Signal(object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._window: QWidget | None = None

    def set_window(self, window: QWidget) -> None:
        """Open boxes over a window from now on."""
        self._window = window

    def notice(self, text: str, *, urgent: bool = False) -> None:
        """Say something in passing."""
        self.noticed.emit(Notice(text, urgent))

    def fault(self, error: object) -> None:
        """Say what went wrong, in a box that waits. What was cancelled is no fault.

        Args:
            error: A DeskError; any other exception is told as a fault of the program, with a report to copy.
        """
        if isinstance(error, Cancelled):
            return
        box = _fault_box(error, self._window)
        box.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        box.open()

    def refusal(self, error: object) -> None:
        """Say in passing why an edit was refused: the film is as it was, so nothing needs an answer."""
        self.notice(str(error), urgent=True)

    def ask(
        self, question: str, advice: str, *, first: str, second: str = "", dangerous: bool = False
    ) -> Answer:
        """Ask before something is lost, and wait for the answer.

        Args:
            question: What is asked, as a sentence.
            advice: What either answer means.
            first: The answer that does it, as a verb.
            second: Another way, or "".
            dangerous: Whether the first answer loses something, so that Cancel is what Return presses.
        """
        box = QMessageBox(self._window)
        # The text is a question by itself; the icon is for what would be lost.
        box.setIcon(QMessageBox.Icon.Warning if dangerous else QMessageBox.Icon.NoIcon)
        box.setText(question)
        box.setInformativeText(advice)
        does = box.addButton(first, QMessageBox.ButtonRole.AcceptRole)
        other = box.addButton(second, QMessageBox.ButtonRole.DestructiveRole) if second else None
        cancel = box.addButton(QMessageBox.StandardButton.Cancel)
        box.setDefaultButton(cancel if dangerous else does)
        box.exec()
        clicked = box.clickedButton()
        box.deleteLater()
        if clicked is does:
            return Answer.FIRST
        return Answer.SECOND if other is not None and clicked is other else Answer.CANCEL


def _fault_box(error: object, window: QWidget | None) -> QMessageBox:
    box = QMessageBox(window)
    box.setIcon(QMessageBox.Icon.Warning)
    if isinstance(error, DeskError):
        box.setText(error.message)
        box.setInformativeText(error.advice)
        if error.detail:
            box.setDetailedText(error.detail)
        return box
    _log.error("a fault of the program: %s", error)
    box.setText("This is a fault of the program itself, and not of your film.")
    box.setInformativeText("The film is as it was before, and the footage was not touched.")
    report = "".join(traceback.format_exception(error)) if isinstance(error, BaseException) else str(error)
    box.setDetailedText(report)
    copy = box.addButton("Copy report", QMessageBox.ButtonRole.ActionRole)
    box.addButton(QMessageBox.StandardButton.Close)
    copy.clicked.connect(lambda: QGuiApplication.clipboard().setText(report))
    return box
