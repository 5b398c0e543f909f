"""Things to pick one of, and paths that were picked."""

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent, QWheelEvent
from PySide6.QtWidgets import QButtonGroup, QComboBox, QHBoxLayout, QLabel, QRadioButton, QSizePolicy, QWidget


class Alternatives(QWidget):
    """A few things of which one holds.

    Signals:
        picked: What the person has picked.
    """

    picked = Signal(object)

    def __init__(self, name: str, choices: Sequence[tuple[str, object]], parent: QWidget) -> None:
        """Make it.

        Args:
            name: What is picked, for those who can't see it.
            choices: Words and value of each.
            parent: Who owns it.
        """
        super().__init__(parent)
        self.setAccessibleName(name)
        self._values = [value for _, value in choices]
        self._group = QButtonGroup(self)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(16)
        self.buttons: list[QRadioButton] = []
        for number, (text, _) in enumerate(choices):
            button = QRadioButton(text, self)
            button.setAccessibleName(f"{name}: {text}")
            self._group.addButton(button, number)
            self.buttons.append(button)
            row.addWidget(button)
        row.addStretch(1)
        self._group.idClicked.connect(self._on_clicked)

    def show_value(self, value: object) -> None:
        """Show what holds."""
        self.buttons[self._values.index(value)].setChecked(True)

    def set_read_only(self, reason: str) -> None:
        """Say that nothing can be picked, and why; "" to take that back."""
        for button in self.buttons:
            button.setEnabled(not reason)
            button.setToolTip(reason)

    def _on_clicked(self, number: int) -> None:
        self.picked.emit(self._values[number])


class Picks(QComboBox):
    """A list to pick from. A page that is scrolled under the pointer changes nothing in it.

    Signals:
        picked: The value that the person has picked.
    """

    picked = Signal(object)

    OTHER = "Other"

    def __init__(self, name: str, choices: Sequence[tuple[str, object]], parent: QWidget) -> None:
        """Make it.

        Args:
            name: What is picked, for those who can't see it.
            choices: Words and value of each.
            parent: Who owns it.
        """
        super().__init__(parent)
        self.setAccessibleName(name)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.setMinimumContentsLength(14)
        self._values: list[object] = []
        self._shown = -1
        self.offer(choices)
        self.activated.connect(self._on_activated)

    def offer(self, choices: Sequence[tuple[str, object]]) -> None:
        """Let other things be picked from; none of them is shown until `show_value`."""
        self.clear()
        self._values = [value for _, value in choices]
        for text, _ in choices:
            self.addItem(text)

    def show_value(self, value: object) -> None:
        """Show what holds; what is not in the list is called another."""
        if value in self._values:
            self._shown = self._values.index(value)
            if self.count() > len(self._values):
                self.removeItem(len(self._values))
        else:
            self._shown = len(self._values)
            if self.count() == self._shown:
                self.addItem(self.OTHER)
        self.setCurrentIndex(self._shown)

    def set_read_only(self, reason: str) -> None:
        """Say that nothing can be picked, and why; "" to take that back."""
        self.setEnabled(not reason)
        self.setToolTip(reason)

    def _on_activated(self, index: int) -> None:
        if index < len(self._values) and index != self._shown:
            self.picked.emit(self._values[index])

    def wheelEvent(self, event: QWheelEvent) -> None:
        event.ignore()


class PathLabel(QLabel):
    """A path that is shortened in its middle where there is no room for it."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._path = ""
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)

    def show_path(self, path: str) -> None:
        """Show a path."""
        self._path = path
        self.setToolTip(path)
        self.setAccessibleName(path)
        self._elide()

    def _elide(self) -> None:
        self.setText(
            self.fontMetrics().elidedText(self._path, Qt.TextElideMode.ElideMiddle, max(24, self.width()))
        )

    def resizeEvent(self, event: QResizeEvent) -> None:
        self._elide()
        super().resizeEvent(event)
