"""Asks for one value: a line, Return takes it, Escape leaves."""

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from desk.ui.labels import label, note, say

_WIDTH_PX = 380

Take = Callable[[str], str]
"""Takes what was typed; returns why it is refused, as a sentence, or ""."""


class ValueDialog(QDialog):
    """A line to type a value in, which stays open with the reason while the value is refused."""

    def __init__(
        self, title: str, verb: str, hint: str, take: Take, parent: QWidget | None, *, start: str = ""
    ) -> None:
        """Make the dialog.

        Args:
            title: What is asked for: `Gain of clip 2, in dB`.
            verb: What the button does.
            hint: How it can be written.
            take: Takes what was typed.
            parent: The window that it stands over.
            start: What stands there at first, selected.
        """
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle(title)
        self.setFixedWidth(_WIDTH_PX)
        self._take = take
        self.line = QLineEdit(start)
        self.line.setAccessibleName(title)
        self.line.setAccessibleDescription(hint)
        self.line.selectAll()
        self.fault = note("fault", self)
        does = QPushButton(verb)
        does.setProperty("kind", "main")
        does.setDefault(True)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel)
        buttons.addButton(does, QDialogButtonBox.ButtonRole.AcceptRole)
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        self.line.textEdited.connect(self._on_edited)
        page = QVBoxLayout(self)
        page.setContentsMargins(16, 16, 16, 16)
        page.setSpacing(8)
        page.addWidget(label(title, self, wraps=True))
        page.addWidget(self.line)
        page.addWidget(label(hint, self, kind="dim", wraps=True))
        page.addWidget(self.fault)
        page.addStretch(1)
        page.addWidget(buttons)
        self._page = page
        self.line.setFocus()
        self._fit()

    def _on_edited(self) -> None:
        say(self.fault, "")
        self._fit()

    def _fit(self) -> None:
        """Be as high as the words need that stand there now."""
        self.setFixedHeight(self._page.totalHeightForWidth(_WIDTH_PX))

    def accept(self) -> None:
        refused = self._take(self.line.text().strip())
        if refused:
            say(self.fault, refused)
            self._fit()
            self.line.selectAll()
            self.line.setFocus()
            return
        super().accept()
