"""Files that are gone or not what they were: what is the matter, and a button to find each."""

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from desk.film.wording import counted
from desk.ui.bench import Bench
from desk.ui.labels import label
from desk.ui.scene.clip_facts import FileTrouble, file_name
from desk.ui.scene.relinking import Relinking

_MOST_SHOWN = 4


class MediaTroubles(QWidget):
    """Says of each file what is the matter, and finds it again. It is hidden where nothing is."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._told: tuple[FileTrouble, ...] | None = None
        self.relinking = Relinking(bench, self)
        # Made at once, so that Tab meets them before what stands below.
        self._rows = [_Row(self) for _ in range(_MOST_SHOWN)]
        self._more = label("", self, kind="dim", wraps=True)
        page = QVBoxLayout(self)
        page.setContentsMargins(0, 0, 0, 0)
        page.setSpacing(8)
        for row in self._rows:
            row.find_requested.connect(self.relinking.find)
            page.addWidget(row)
        page.addWidget(self._more)
        self.hide()

    @property
    def buttons(self) -> tuple[QPushButton, ...]:
        """The buttons that find files, whether they are shown or not."""
        return tuple(row.find_button for row in self._rows)

    def show_troubles(self, troubles: Sequence[FileTrouble]) -> None:
        """Show what is the matter with files."""
        told = tuple(troubles)
        if told == self._told:
            return
        self._told = told
        shown = told[:_MOST_SHOWN]
        for place, row in enumerate(self._rows):
            row.setVisible(place < len(shown))
            row.find_button.setEnabled(not self._bench.session.read_only)
            if place < len(shown):
                row.show_trouble(shown[place])
        self._more.setText(_more_words(len(told), len(told) - len(shown)))
        self._more.setVisible(len(told) > 1)
        self.setVisible(bool(told))


class _Row(QWidget):
    find_requested = Signal(str)

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._path = ""
        self._words = label("", self, kind="fault", wraps=True)
        self._words.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self.find_button = QPushButton("Find the file…")
        self.find_button.setAutoDefault(False)
        self.find_button.clicked.connect(self._on_clicked)
        line = QHBoxLayout(self)
        line.setContentsMargins(0, 0, 0, 0)
        line.setSpacing(12)
        line.addWidget(self._words, 1)
        line.addWidget(self.find_button, 0, Qt.AlignmentFlag.AlignTop)

    def show_trouble(self, trouble: FileTrouble) -> None:
        self._path = trouble.path
        # A path has no place to be broken at; it is given some.
        self._words.setText(f"{trouble.sentence} {trouble.advice}".strip().replace("/", "/\u200b"))
        self._words.setAccessibleName(f"{trouble.sentence} {trouble.advice}".strip())
        self.find_button.setAccessibleName(f"Find the file {file_name(trouble.path)}")
        self.find_button.setToolTip(trouble.path)

    def _on_clicked(self) -> None:
        self.find_requested.emit(self._path)


def _more_words(count: int, hidden: int) -> str:
    told = "Name the place of one: missing files that lie beside it are found with it."
    return f"There are {counted(hidden, 'more file')} like these. {told}" if hidden else told if count else ""
