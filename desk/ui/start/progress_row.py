"""How far a job of the start page is, with a way to stop it."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QProgressBar, QPushButton, QSizePolicy, QWidget

from desk.jobs import Progress
from desk.ui.look.icons import icon
from desk.ui.look.theme import Theme

_STEPS = 1000


class ProgressRow(QWidget):
    """What is being done, a bar and a button.

    Signals:
        stop_requested: The person wants it stopped.
    """

    stop_requested = Signal()

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.label = QLabel()
        self.label.setProperty("kind", "dim")
        self.label.setTextFormat(Qt.TextFormat.PlainText)
        # Names of files come and go: the bar stays where it is.
        self.label.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.bar = QProgressBar()
        self.bar.setTextVisible(False)
        self.bar.setFixedWidth(200)
        self.button = QPushButton("Stop")
        self.button.setIcon(icon("stop", theme))
        self.button.setAutoDefault(False)
        self.button.clicked.connect(self.stop_requested)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(8)
        row.addWidget(self.label, 1)
        row.addWidget(self.bar)
        row.addWidget(self.button)
        self.hide()

    def begin(self, text: str) -> None:
        """Show that something is being done whose length is not known yet."""
        self.bar.setRange(0, 0)
        self._say(text)
        self.button.setEnabled(True)
        self.show()

    def show_progress(self, progress: Progress) -> None:
        """Show how far it is."""
        self.bar.setRange(0, _STEPS)
        self.bar.setValue(round(progress.fraction * _STEPS))
        self._say(progress.text)
        self.show()

    def end(self) -> None:
        """Show nothing any more."""
        self.hide()
        # A bar without an end moves for as long as it is there.
        self.bar.setRange(0, _STEPS)

    def _say(self, text: str) -> None:
        self.label.setText(text)
        self.label.setToolTip(text)
        self.bar.setAccessibleName(text)
