"""What would come of the footage: a table of scenes and remarks, or why there is none yet."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QPlainTextEdit,
    QPushButton,
    QSizePolicy,
    QSplitter,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from desk.film.timecode import format_length
from desk.film.wording import counted
from desk.ui.look.theme import Theme
from desk.ui.start.preview import Preview
from desk.ui.start.progress_row import ProgressRow
from desk.ui.start.scene_table import SceneTableModel, SceneTableView

HINT = (
    "Choose the folder that holds a sub-folder for each scene, or drop it here. The scenes that would come "
    "of it are shown before anything is written, and footage is never changed."
)


class PreviewPanel(QWidget):
    """The preview of a new film.

    Signals:
        again_requested: The person wants the footage read again.
    """

    again_requested = Signal()

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.progress = ProgressRow(theme)
        self.model = SceneTableModel(theme, self)
        self.table = SceneTableView(self.model)
        self.remarks = QPlainTextEdit()
        self.summary = QLabel()
        self.words = QLabel()
        self.again_button = QPushButton("Read it again")
        self._remarks_box = QWidget()
        self._remarks_heading = QLabel()
        self._stack = QStackedWidget()
        self._arrange()
        self.say(HINT)
        self.again_button.clicked.connect(self.again_requested)

    def say(self, text: str, *, fault: bool = False, again: bool = False) -> None:
        """Say why there is no preview.

        Args:
            text: One or more sentences.
            fault: Whether something is wrong.
            again: Whether reading the footage again may help.
        """
        self.model.show_preview(None)
        self.words.setText(text)
        _set_kind(self.words, "fault" if fault else "dim")
        self.again_button.setVisible(again)
        self.summary.setText("")
        self._stack.setCurrentIndex(0)

    def show_preview(self, preview: Preview) -> None:
        """Show what would come of the footage."""
        self.model.show_preview(preview)
        film = preview.film
        self.summary.setText(
            f"{counted(len(preview.scenes), 'scene')}, {counted(preview.clips, 'clip')}, "
            f"{format_length(preview.length_frames, film.rate)}"
        )
        self.remarks.setPlainText("\n".join(preview.remarks))
        self._remarks_heading.setText(f"TO LOOK AT ({len(preview.remarks):,})")
        self._remarks_box.setVisible(bool(preview.remarks))
        self._stack.setCurrentIndex(1)

    def _arrange(self) -> None:
        heading = QLabel("WHAT WOULD COME OF IT")
        heading.setProperty("kind", "heading")
        self.words.setWordWrap(True)
        self.words.setTextFormat(Qt.TextFormat.PlainText)
        self.words.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.again_button.setAutoDefault(False)
        self.again_button.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        head = QHBoxLayout()
        head.addWidget(heading)
        head.addStretch(1)
        head.addWidget(self.summary)
        nothing = QWidget()
        column = QVBoxLayout(nothing)
        column.setContentsMargins(120, 0, 120, 0)
        column.addStretch(1)
        column.addWidget(self.words)
        column.addWidget(self.again_button, 0, Qt.AlignmentFlag.AlignHCenter)
        column.addStretch(1)
        self._stack.addWidget(nothing)
        self._stack.addWidget(self._split())
        page = QVBoxLayout(self)
        page.setContentsMargins(0, 0, 0, 0)
        page.setSpacing(8)
        page.addLayout(head)
        page.addWidget(self._stack, 1)
        page.addWidget(self.progress)

    def _split(self) -> QSplitter:
        self._remarks_heading.setProperty("kind", "heading")
        self.remarks.setReadOnly(True)
        self.remarks.setTabChangesFocus(True)
        self.remarks.setAccessibleName("To look at")
        box = QVBoxLayout(self._remarks_box)
        box.setContentsMargins(0, 8, 0, 0)
        box.setSpacing(4)
        box.addWidget(self._remarks_heading)
        box.addWidget(self.remarks, 1)
        split = QSplitter(Qt.Orientation.Vertical)
        split.setChildrenCollapsible(False)
        split.addWidget(self.table)
        split.addWidget(self._remarks_box)
        split.setStretchFactor(0, 3)
        split.setStretchFactor(1, 1)
        split.setSizes([300, 100])
        return split


def _set_kind(label: QLabel, kind: str) -> None:
    if label.property("kind") != kind:
        label.setProperty("kind", kind)
        label.style().polish(label)
