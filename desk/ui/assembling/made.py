"""What was made: the copy, what is in it, what deserves a look, its files, and what to do with them."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from desk.assembly.copy_sound import copy_sound
from desk.assembly.outlook import running_order
from desk.assembly.review import TOO_LOUD, Assembly
from desk.film.timecode import format_length
from desk.ui.assembling.ledger import LedgerView
from desk.ui.assembling.opening import open_outside
from desk.ui.assembling.problem_list import ProblemList
from desk.ui.assembling.wording import (
    FLASHES,
    LISTEN,
    listed_files,
    not_entered,
    what_goes_in,
    what_was_made,
)
from desk.ui.bench import Bench
from desk.ui.elided import ElidedLabel
from desk.ui.look.icons import icon
from desk.ui.look.type import TITLE_PX, sans, serif
from desk.ui.loudness.copy_view import CopySoundView


class MadeDialog(QDialog):
    """What came of an assembly. It does not block the window."""

    def __init__(self, bench: Bench, made: Assembly, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._made = made
        self.ledger = LedgerView(bench, self)
        self.sound = CopySoundView(bench, self, most_rows=5)
        self.problems = ProblemList(bench, self)
        self.play_button = QPushButton("Play")
        self.folder_button = QPushButton("Open folder")
        self.close_button = QPushButton("Close")
        self.setWindowTitle(f"Review copy {made.number}")
        self.setModal(False)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.ledger.setAccessibleName("What is in the copy and what is left out")
        self.ledger.show_lines(made.film, running_order(made.film, made.layout))
        self.problems.show_problems(made.problems)
        self.sound.show_sound(copy_sound(made))
        self._arrange()
        self.play_button.setFocus()
        self.resize(760, 720)

    def cautions(self) -> tuple[str, ...]:
        """Return what to heed before the copy is played or sent."""
        return (TOO_LOUD, LISTEN, FLASHES) if self._made.is_too_loud else (LISTEN, FLASHES)

    def _arrange(self) -> None:
        made, film = self._made, self._made.film
        column = QVBoxLayout(self)
        column.setContentsMargins(16, 16, 16, 16)
        column.setSpacing(8)
        column.addLayout(self._head())
        summary = f"{what_goes_in(film, made.layout)} {what_was_made(made)}"
        column.addWidget(_line(f"Review copy {made.number}. {summary}", "dim"))
        if notice := not_entered(made):
            column.addWidget(_line(notice, "open"))
        column.addWidget(self.ledger, 3)
        column.addWidget(self.sound)
        column.addWidget(self.problems, 2)
        column.addWidget(_line(f"FILES IN {made.files[0].parent}", "heading"))
        column.addWidget(_line(listed_files(made)))
        for caution in self.cautions():
            column.addWidget(_line(caution, "fault" if caution == TOO_LOUD else "small"))
        column.addWidget(self._buttons())

    def _head(self) -> QHBoxLayout:
        title = ElidedLabel()
        title.setFont(serif(TITLE_PX))
        title.setProperty("kind", "title")
        title.say(self._made.film.title)
        length = QLabel(format_length(self._made.frames, self._made.film.rate))
        length.setFont(sans(TITLE_PX, strong=True))
        length.setProperty("kind", "title")
        length.setAccessibleName("Running time")
        head = QHBoxLayout()
        head.setSpacing(16)
        head.addWidget(title, 1)
        head.addWidget(length)
        return head

    def _buttons(self) -> QDialogButtonBox:
        self.play_button.setProperty("kind", "main")
        self.play_button.setIcon(icon("play", self._bench.theme, colour="on_pencil"))
        self.play_button.setAccessibleName("Play the review copy")
        self.play_button.setDefault(True)
        self.folder_button.setIcon(icon("folder", self._bench.theme))
        self.folder_button.setAccessibleName("Open the folder of the copies")
        self.folder_button.setAutoDefault(False)
        self.close_button.setAutoDefault(False)
        self.play_button.clicked.connect(self._play)
        self.folder_button.clicked.connect(self._open_folder)
        buttons = QDialogButtonBox()
        buttons.addButton(self.play_button, QDialogButtonBox.ButtonRole.ActionRole)
        buttons.addButton(self.folder_button, QDialogButtonBox.ButtonRole.ActionRole)
        buttons.addButton(self.close_button, QDialogButtonBox.ButtonRole.RejectRole)
        buttons.rejected.connect(self.reject)
        return buttons

    def _play(self) -> None:
        open_outside(self._made.files[0], self._bench.messages)

    def _open_folder(self) -> None:
        open_outside(self._made.files[0].parent, self._bench.messages)


def _line(text: str, kind: str = "") -> QLabel:
    label = QLabel(text)
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setWordWrap(True)
    label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
    if kind:
        label.setProperty("kind", kind)
    return label
