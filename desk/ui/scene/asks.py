"""What a lock asks for, with a tick or a ring each."""

from collections.abc import Iterable

from PySide6.QtCore import QRectF, QSize, Signal
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QGridLayout, QLabel, QPushButton, QWidget

from desk.film.locking import Open, Part, what_a_lock_tells
from desk.film.model import Scene
from desk.film.rights import NO_LEGAL_ADVICE
from desk.film.wording import counted
from desk.ui.labels import label, set_kind
from desk.ui.look.theme import Theme
from desk.ui.scene.part import paint_ring, paint_tick

_SIDE_PX = 14
_SETTLED = {
    Part.PICTURE: "Its footage is there.",
    Part.DIALOGUE: "Its voices are called level, or it has none.",
    Part.MUSIC: "Its music is chosen, or declared none.",
    Part.GRADE: "Its grade note is written.",
}
_NAMES = {Part.PICTURE: "Picture", Part.DIALOGUE: "Dialogue", Part.MUSIC: "Music", Part.GRADE: "Grade"}


class SettledMark(QWidget):
    """A tick, or a ring while something is open."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._is_open = False
        self.setFixedSize(_SIDE_PX, _SIDE_PX + 4)
        theme.changed.connect(self.update)
        self.show_open(False)

    @property
    def is_open(self) -> bool:
        """Whether it is a ring."""
        return self._is_open

    def show_open(self, is_open: bool) -> None:
        """Be a ring or a tick."""
        self._is_open = is_open
        self.setAccessibleName("open" if is_open else "settled")
        self.update()

    def sizeHint(self) -> QSize:
        return self.minimumSize()

    def paintEvent(self, _: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = QRectF(0, (self.height() - _SIDE_PX) / 2, _SIDE_PX, _SIDE_PX)
        if self._is_open:
            paint_ring(painter, box, self._theme.colour("pencil"))
        else:
            paint_tick(painter, box, self._theme.colour("locked"))


class AskList(QWidget):
    """The five things that a lock asks for.

    Signals:
        part_wanted: The person wants to settle one: the `Part` where that is done.
    """

    part_wanted = Signal(object)

    def __init__(self, theme: Theme, parent: QWidget | None = None, *, with_ways: bool = False) -> None:
        """Make the list.

        Args:
            theme: Colours in use.
            parent: Who owns it.
            with_ways: Whether a button beside what is open leads to where it is settled.
        """
        super().__init__(parent)
        self._marks: dict[Part, SettledMark] = {}
        self._words: dict[Part, QLabel] = {}
        self._ways: dict[Part, QPushButton] = {}
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(10)
        grid.setVerticalSpacing(4)
        grid.setColumnStretch(1, 1)
        for row, part in enumerate((*_SETTLED, Part.PROOFS)):
            self._marks[part] = SettledMark(theme, self)
            self._words[part] = label("", self, wraps=True)
            grid.addWidget(self._marks[part], row, 0)
            grid.addWidget(self._words[part], row, 1)
            if with_ways and part in _NAMES:
                way = QPushButton(f"Go to {_NAMES[part]}", self)
                way.setProperty("kind", "plain")
                way.clicked.connect(self._on_way)
                self._ways[part] = way
                grid.addWidget(way, row, 2)

    @property
    def words(self) -> dict[Part, str]:
        """What it says of each part."""
        return {part: words.text() for part, words in self._words.items()}

    @property
    def open_parts(self) -> tuple[Part, ...]:
        """The parts with a ring."""
        return tuple(part for part, mark in self._marks.items() if mark.is_open)

    def show_asks(self, asked: Iterable[Open], proofs: int) -> None:
        """Show what is open of what a lock asks for, and the rest as settled.

        Args:
            asked: What is open, as `desk.film.locking.what_a_lock_asks` says.
            proofs: Proofs that the scene has since its last change.
        """
        missing: dict[Part, list[str]] = {}
        for item in asked:
            missing.setdefault(item.part, []).append(item.sentence)
        enough = f"It has {counted(proofs, 'proof')} since its last change."
        settled = {**_SETTLED, Part.PROOFS: enough if proofs else "The film asks for no proof."}
        for part, words in self._words.items():
            is_open = part in missing
            self._marks[part].show_open(is_open)
            words.setText(" ".join(missing[part]) if is_open else settled[part])
            set_kind(words, "open" if is_open else "")
            if part in self._ways:
                self._ways[part].setVisible(is_open)

    def _on_way(self) -> None:
        sender = self.sender()
        for part, way in self._ways.items():
            if way is sender:
                self.part_wanted.emit(part)


def told_before_lock(scene: Scene) -> str:
    """Return what a person should know of a scene's rights before it is locked, or ""."""
    told = [item.sentence for item in what_a_lock_tells(scene)]
    return "\n".join([*told, NO_LEGAL_ADVICE]) if told else ""
