"""What is to be said of a clip, as a list of names and values."""

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QLabel, QSizePolicy, QWidget

from desk.ui.elided import ElidedLabel
from desk.ui.labels import heading, label, set_kind
from desk.ui.scene.clip_facts import Fact

_LEAST_PX = 212
_FILE = "source"


class FactsView(QWidget):
    """A heading, and facts below it. The name of the file is cut in its middle, the rest takes more lines."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._rows: list[tuple[QLabel, QLabel]] = []
        self._heading = heading("", self)
        self._file = ElidedLabel(parent=self, mode=Qt.TextElideMode.ElideMiddle)
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(8)
        self._grid.setVerticalSpacing(3)
        self._grid.setColumnStretch(1, 1)
        self._grid.addWidget(self._heading, 0, 0, 1, 2)
        self._grid.addWidget(label(_FILE, self, kind="dim"), 1, 0)
        self._grid.addWidget(self._file, 1, 1)
        self.setMinimumWidth(_LEAST_PX)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)

    def show_facts(self, title: str, facts: Sequence[Fact]) -> None:
        """Show facts under a heading; the first one is the clip's source."""
        self._heading.setText(title.upper())
        self._heading.setAccessibleName(title)
        source, *others = facts
        self._file.say(source.text, kind=source.kind, more=source.more)
        self._file.setAccessibleName(f"{source.name}: {source.text}")
        while len(self._rows) < len(others):
            self._add_row()
        for place, (name, value) in enumerate(self._rows):
            is_used = place < len(others)
            name.setVisible(is_used)
            value.setVisible(is_used)
            if is_used:
                fact = others[place]
                name.setText(fact.name)
                set_kind(value, fact.kind)
                value.setText(fact.text)
                value.setToolTip(fact.more)
                value.setAccessibleName(f"{fact.name}: {fact.text}".removeprefix(": "))

    def value_of(self, name: str) -> str:
        """Return the value that is shown under a name, or ""."""
        if name == _FILE:
            return self._file.text()
        shown = (value for about, value in self._rows if about.text() == name and not about.isHidden())
        return next((value.text() for value in shown), "")

    def _add_row(self) -> None:
        name, value = label("", self, kind="dim"), label("", self, wraps=True)
        # A word that is too long for the column doesn't widen it.
        value.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        row = len(self._rows) + 2
        self._grid.addWidget(name, row, 0, Qt.AlignmentFlag.AlignTop)
        self._grid.addWidget(value, row, 1, Qt.AlignmentFlag.AlignTop)
        self._rows.append((name, value))
