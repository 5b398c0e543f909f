"""The bands of a voice's chain as rows of fields."""

import dataclasses
from collections.abc import Callable

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtWidgets import QGridLayout, QPushButton, QToolButton, QWidget

from desk.film.content_faults import MOST_BANDS
from desk.film.model import Band
from desk.ui.fields import NumberField
from desk.ui.labels import label
from desk.ui.look.icons import icon
from desk.ui.look.theme import Theme

_FIRST = Band(frequency_hz=1000.0, gain_db=0.0, q=1.0)
_HEADINGS = ("", "Frequency, Hz", "Gain, dB", "Narrowness", "")
_NARROWNESS = "1 is about an octave and a half wide; higher is narrower."
TakeBands = Callable[[tuple[Band, ...], str], str]
"""Takes bands and which field they come from; returns why that is refused, or ""."""


class BandRow(QWidget):
    """The fields of one band; they stand in the rows of `Bands`.

    Signals:
        removed: The person wants it gone; its place.

    Attributes:
        fields: Frequency, gain and narrowness.
    """

    removed = Signal(int)

    def __init__(
        self, at: int, take: Callable[[int, str, float], str], theme: Theme, parent: QWidget
    ) -> None:
        super().__init__(parent)
        self._at = at
        self._take = take
        number = f"of band {at + 1}"
        self.number = label(str(at + 1), parent, kind="dim")
        self.frequency = NumberField(
            f"Frequency {number}, in hertz", self._frequency, parent, step=50, whole=False
        )
        self.gain = NumberField(f"Gain {number}, in decibels", self._gain, parent, step=0.5, whole=False)
        self.q = NumberField(f"Narrowness {number}", self._q, parent, step=0.1, whole=False)
        self.q.edit.setToolTip(_NARROWNESS)
        self.remove = QToolButton(parent)
        self.remove.setIcon(icon("delete", theme))
        self.remove.setIconSize(QSize(16, 16))
        self.remove.setProperty("kind", "plain")
        self.remove.setAccessibleName(f"Remove band {at + 1}")
        self.remove.setToolTip(f"Remove band {at + 1}")
        self.remove.clicked.connect(self._on_remove)
        self.hide()

    @property
    def fields(self) -> tuple[NumberField, ...]:
        """Frequency, gain and narrowness."""
        return self.frequency, self.gain, self.q

    def show_band(self, band: Band, *, anew: bool) -> None:
        """Show a band."""
        self.frequency.show_number(band.frequency_hz, anew=anew)
        self.gain.show_number(band.gain_db, anew=anew)
        self.q.show_number(band.q, anew=anew)

    def set_shown(self, is_shown: bool) -> None:
        """Show or hide all of it."""
        for widget in (self.number, *self.fields, self.remove):
            widget.setVisible(is_shown)
        if not is_shown:
            for field in self.fields:
                field.tell("")

    def _frequency(self, value: float) -> str:
        return self._take(self._at, "frequency_hz", value)

    def _gain(self, value: float) -> str:
        return self._take(self._at, "gain_db", value)

    def _q(self, value: float) -> str:
        return self._take(self._at, "q", value)

    def _on_remove(self) -> None:
        self.removed.emit(self._at)


class Bands(QWidget):
    """Up to three bands.

    Signals:
        left: The person is done with a field.
    """

    left = Signal()

    def __init__(self, take: TakeBands, theme: Theme, parent: QWidget) -> None:
        """Make it.

        Args:
            take: Takes the bands as the person wants them.
            theme: Colours in use.
            parent: Who owns it.
        """
        super().__init__(parent)
        self._take = take
        self._bands: tuple[Band, ...] = ()
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(12)
        grid.setVerticalSpacing(4)
        grid.setColumnStretch(len(_HEADINGS), 1)
        self._headings = [label(text, self, kind="small") for text in _HEADINGS]
        for column, heading in enumerate(self._headings):
            grid.addWidget(heading, 0, column)
        self.rows = [BandRow(at, self._take_value, theme, self) for at in range(MOST_BANDS)]
        for at, row in enumerate(self.rows):
            grid.addWidget(row.number, 2 * at + 1, 0)
            for column, field in enumerate(row.fields, start=1):
                grid.addWidget(field, 2 * at + 1, column)
                grid.addWidget(field.fault, 2 * at + 2, 0, 1, len(_HEADINGS) + 1)
                field.left.connect(self.left)
            grid.addWidget(row.remove, 2 * at + 1, len(_HEADINGS) - 1)
            row.removed.connect(self._on_removed)
        self.add_button = QPushButton("Add a band", self)
        self.add_button.clicked.connect(self.add)
        grid.addWidget(self.add_button, 2 * MOST_BANDS + 1, 0, 1, 3, Qt.AlignmentFlag.AlignLeft)
        self.show_bands((), anew=True)

    def show_bands(self, bands: tuple[Band, ...], *, anew: bool) -> None:
        """Show bands; `anew` where they are another voice's."""
        self._bands = bands
        for heading in self._headings:
            heading.setVisible(bool(bands))
        for at, row in enumerate(self.rows):
            is_there = at < len(bands)
            row.set_shown(is_there)
            if is_there:
                row.show_band(bands[at], anew=anew)
        self.add_button.setVisible(len(bands) < MOST_BANDS)

    def set_read_only(self, reason: str) -> None:
        """Say that nothing can be changed, and why; "" to take that back."""
        for row in self.rows:
            for field in row.fields:
                field.set_read_only(reason)
            row.remove.setEnabled(not reason)
        self.add_button.setEnabled(not reason)
        self.add_button.setToolTip(reason)

    def add(self) -> None:
        """Add a band that does nothing yet, and put the keyboard into it."""
        at = len(self._bands)
        if not self._take((*self._bands, _FIRST), "") and at < MOST_BANDS:
            self.rows[at].frequency.setFocus()

    def _take_value(self, at: int, name: str, value: float) -> str:
        if at >= len(self._bands):
            return ""
        values: dict[str, float] = {name: value}
        bands = list(self._bands)
        bands[at] = dataclasses.replace(bands[at], **values)
        return self._take(tuple(bands), f"band {at} {name}")

    def _on_removed(self, at: int) -> None:
        self._take(self._bands[:at] + self._bands[at + 1 :], "")
        self.add_button.setFocus()
