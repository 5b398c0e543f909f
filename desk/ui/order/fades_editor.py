"""Changes the film's fade up from black and its fade to black, live."""

from PySide6.QtGui import QCloseEvent
from PySide6.QtWidgets import QFormLayout, QHBoxLayout, QPushButton, QWidget

from desk.film import edits
from desk.film.edits import Edit
from desk.film.model import Film
from desk.film.wording import sentence
from desk.ui.bench import Bench
from desk.ui.order.gaps import Tone, fade_out_gap, fade_up_gap, lengths_of, places
from desk.ui.order.join_editor import Popup, frames_field, told_label


class FadesEditor(Popup):
    """Changes how the film begins and ends."""

    def __init__(self, bench: Bench, parent: QWidget | None = None, *, at_end: bool = False) -> None:
        super().__init__("Fades of the film", parent)
        self._bench = bench
        self.up = frames_field("Fade up at the start", self)
        self.out = frames_field("Fade out at the end", self)
        for field in (self.up, self.out):
            field.setSpecialValueText("none")
        form = QFormLayout()
        form.setHorizontalSpacing(12)
        form.addRow("Fade up at the start", self.up)
        form.addRow("Fade out at the end", self.out)
        self.column.addLayout(form)
        self.told = told_label(self, lines=2)
        self.column.addWidget(self.told)
        done = QPushButton("Done", self)
        done.setProperty("kind", "main")
        done.setDefault(True)
        buttons = QHBoxLayout()
        buttons.addStretch(1)
        buttons.addWidget(done)
        self.column.addLayout(buttons)
        self._refresh()
        self.up.valueChanged.connect(self._on_typed)
        self.out.valueChanged.connect(self._on_typed)
        done.clicked.connect(self.close)
        bench.session.changed.connect(self._refresh)
        first = self.out if at_end else self.up
        first.setFocus()
        first.selectAll()

    def _on_typed(self) -> None:
        up, out = self.up.value(), self.out.value()

        def make(film: Film) -> Edit:
            return edits.set_fades(film, up, out)

        self._bench.session.do(make, merge="fades of the film")
        self._refresh()

    def _refresh(self) -> None:
        film = self._bench.session.film
        for field, frames in ((self.up, film.fade_in_frames), (self.out, film.fade_out_frames)):
            if field.value() != frames:
                blocked = field.blockSignals(True)
                field.setValue(frames)
                field.blockSignals(blocked)
        order = places(film, lengths_of(film))
        faults = [
            gap.words
            for gap in (fade_up_gap(film, order), fade_out_gap(film, order))
            if gap.tone is Tone.FAULT
        ]
        self.told.setText(" ".join(f"{sentence(words)}." for words in faults) or "A fade needs no handles.")
        self.told.setProperty("kind", "fault" if faults else "dim")
        self.told.style().polish(self.told)

    def closeEvent(self, event: QCloseEvent) -> None:
        self._bench.session.end_gesture()
        super().closeEvent(event)
