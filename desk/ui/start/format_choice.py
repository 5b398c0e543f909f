"""Rate and size of a new film: what the footage speaks for, with the reason, and all others."""

from PySide6.QtCore import QSignalBlocker, Signal
from PySide6.QtWidgets import QComboBox, QGridLayout, QHBoxLayout, QLabel, QSpinBox, QWidget

from desk.film.faults import LEAST_SIDE_PX, MOST_SIDE_PX
from desk.film.model import Size
from desk.film.rates import FILM_RATES, Rate
from desk.footage.propose import size_name

# Sizes of DCI Digital Cinema System Specification and SMPTE ST 2036-1, ST 274 and ST 296; upright and square
# ones as phones show them (common practice, no source).
SIZES = (
    Size(3840, 2160),
    Size(1920, 1080),
    Size(1280, 720),
    Size(4096, 2160),
    Size(2048, 1080),
    Size(1998, 1080),
    Size(2048, 858),
    Size(1080, 1920),
    Size(1080, 1080),
)
_OTHER = "Another size…"
_MARK = "  (as the footage)"
_MOST_SIZE_PX = 340


class FormatChoice(QWidget):
    """Rate and size.

    Signals:
        changed: The person chose another rate or size.
    """

    changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._proposed_rate: Rate | None = None
        self._proposed_size: Size | None = None
        self._rates: list[Rate] = []
        self._sizes: list[Size] = []
        self.rate_box = QComboBox()
        self.rate_box.setAccessibleName("Frames a second")
        self.size_box = QComboBox()
        self.size_box.setAccessibleName("Frame size")
        self.width_box = _side_box("Width in pixels")
        self.height_box = _side_box("Height in pixels")
        self._times = QLabel("×")
        self._why = QLabel()
        self._why.setProperty("kind", "dim")
        self._why.setWordWrap(True)
        self._arrange()
        self.propose(None, None, "Rate and size are proposed when the footage has been read.")
        self.rate_box.activated.connect(self.changed)
        self.size_box.activated.connect(self._on_size_activated)
        self.width_box.valueChanged.connect(self.changed)
        self.height_box.valueChanged.connect(self.changed)

    def rate(self) -> Rate | None:
        """Return the rate that was chosen, or None for the one proposed."""
        index = self.rate_box.currentIndex()
        chosen = self._rates[index] if 0 <= index < len(self._rates) else None
        return None if chosen == self._proposed_rate else chosen

    def size_px(self) -> Size | None:
        """Return the size that was chosen, or None for the one proposed."""
        index = self.size_box.currentIndex()
        if index >= len(self._sizes):
            return Size(self.width_box.value(), self.height_box.value())
        chosen = self._sizes[index] if index >= 0 else None
        return None if chosen == self._proposed_size else chosen

    def why(self) -> str:
        """Return the reason that is shown."""
        return self._why.text()

    def propose(self, rate: Rate | None, size: Size | None, why: str) -> None:
        """Propose a rate and a size, and choose them; None where nothing is known yet.

        Args:
            rate: The rate that the footage speaks for.
            size: The size that it speaks for.
            why: The reason, in sentences.
        """
        self._proposed_rate, self._proposed_size = rate, size
        self._why.setText(why)
        known = rate is not None
        self._rates = list(FILM_RATES) if known else []
        self._sizes = list(dict.fromkeys((size, *SIZES))) if size is not None else []
        with QSignalBlocker(self.rate_box), QSignalBlocker(self.size_box):
            self.rate_box.clear()
            for item in self._rates:
                self.rate_box.addItem(rate_text(item) + (_MARK if item == rate else ""))
            self.size_box.clear()
            for shape in self._sizes:
                self.size_box.addItem(size_text(shape) + (_MARK if shape == size else ""))
            if rate is not None and size is not None:
                self.rate_box.setCurrentIndex(self._rates.index(rate))
                self.size_box.addItem(_OTHER)
                self.size_box.setCurrentIndex(0)
        self.rate_box.setEnabled(known)
        self.size_box.setEnabled(known)
        self._show_sides(size)

    def _on_size_activated(self) -> None:
        index = self.size_box.currentIndex()
        chosen = self._sizes[index] if index < len(self._sizes) else None
        self._show_sides(chosen)
        if chosen is None:
            self.width_box.setFocus()
            self.width_box.selectAll()
        self.changed.emit()

    def _show_sides(self, size: Size | None) -> None:
        """Show the fields for another size, or put a size into them for when they are shown."""
        is_other = size is None and self.size_box.count() > 0
        for part in (self.width_box, self._times, self.height_box):
            part.setVisible(is_other)
        if size is not None:
            with QSignalBlocker(self.width_box), QSignalBlocker(self.height_box):
                self.width_box.setValue(size.width)
                self.height_box.setValue(size.height)

    def _arrange(self) -> None:
        self.rate_box.setMinimumContentsLength(18)
        self.size_box.setMinimumContentsLength(20)
        row = QHBoxLayout()
        row.setSpacing(8)
        row.addWidget(self.rate_box)
        row.addWidget(QLabel("frames a second"))
        row.addSpacing(8)
        # A size with what it is called takes the room that the fields of another size leave.
        self.size_box.setMaximumWidth(_MOST_SIZE_PX)
        row.addWidget(self.size_box, 1)
        for part in (self.width_box, self._times, self.height_box):
            row.addWidget(part)
        row.addStretch(0)
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setVerticalSpacing(4)
        grid.addLayout(row, 0, 0)
        grid.addWidget(self._why, 1, 0)


class _SideBox(QSpinBox):
    """A side of a frame: even, since colour is kept for two pixels at a time."""

    def valueFromText(self, text: str) -> int:
        return super().valueFromText(text) // 2 * 2


def rate_text(rate: Rate) -> str:
    """Return a rate as it is said, with its exact value: `29.97 (30000/1001)`."""
    if rate.denominator == 1:
        return str(rate)
    return f"{float(rate.fraction):.3f}".rstrip("0") + f" ({rate})"


def size_text(size: Size) -> str:
    """Return a size with what it is called: `2048 × 1080, DCI 2K`."""
    name = size_name(size)
    return f"{size.width} × {size.height}{f', {name}' if name else ''}"


def _side_box(name: str) -> QSpinBox:
    box = _SideBox()
    box.setRange(LEAST_SIDE_PX, MOST_SIDE_PX)
    box.setSingleStep(2)
    box.setKeyboardTracking(False)
    box.setAccessibleName(name)
    return box
