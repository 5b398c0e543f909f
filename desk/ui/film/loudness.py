"""The part of the film's sheet that says how loud its scenes are."""

from PySide6.QtGui import QHideEvent, QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QProgressBar, QWidget

from desk.film.model import Film
from desk.film.wording import counted
from desk.jobs import Progress
from desk.ui.bench import Bench
from desk.ui.film.section import FilmSection
from desk.ui.labels import label, note, say
from desk.ui.level_words import plain_level, shown_level, signed_level
from desk.ui.loudness.film_meter import FilmMeter, FilmNumbers
from desk.ui.loudness.film_picture import FilmLoudness
from desk.ui.loudness.table import SoundRow, SoundTable, go_to_row, stands_out_words
from desk.ui.scene_place import ScenePlaces

_NOT_YET = "Not measured yet. “Measure the film” reads the sound of each scene; nothing is changed."
_EMPTY = "There are no scenes in the running order to measure."
_ABOUT = "Each scene's mix by itself, before the master and without joins."
_MOST_TOLD = 6


class LoudnessSection(FilmSection):
    """How loud the scenes are: measured when the person asks, drawn over the film, and in figures.

    Attributes:
        meter: Measures.
        picture: The drawing.
        table: The figures.
        told: What is known of the film.
        outstanding: Which scenes stand out.
        measure_button: Begins.
        stop_button: Ends.
        bar: How far it is.
    """

    def __init__(self, bench: Bench, parent: QWidget) -> None:
        super().__init__("Loudness", bench, parent)
        self._places = ScenePlaces(bench.session, self)
        self.meter = FilmMeter(bench, self)
        row = QHBoxLayout()
        row.setSpacing(8)
        self.measure_button = self.add_button("Measure the film", row)
        self.stop_button = self.add_button("Stop", row, name="Stop measuring")
        self.bar = QProgressBar(self)
        self.bar.setRange(0, 1000)
        self.bar.setTextVisible(False)
        self.bar.setFixedHeight(8)
        self.bar.setAccessibleName("How far measuring is")
        self._at = label("", self, kind="small")
        row.addWidget(self.bar, 1)
        row.addWidget(self._at)
        row.addStretch(0)
        self.told = note("", self)
        self.picture = FilmLoudness(bench, self)
        self.table = SoundTable("Loudness of the scenes", bench.theme, self, has_peaks=True)
        self.outstanding = note("open", self)
        self.body.addWidget(self.told)
        self.body.addLayout(row)
        self.body.addWidget(self.picture)
        self.body.addWidget(self.table)
        self.body.addWidget(self.outstanding)
        say(self.add_note(indented=False), _ABOUT)
        self.measure_button.clicked.connect(self._on_measure)
        self.stop_button.clicked.connect(self.meter.stop)
        self.table.went.connect(self._go)
        self.picture.went.connect(self._go)
        self.meter.changed.connect(self._show)
        self.meter.progressed.connect(self._on_progressed)
        self.meter.ended.connect(self._on_ended)
        bench.media.changed.connect(self._on_media_changed)
        self._show_state()

    def show_film(self, film: Film) -> None:
        self._show()
        self.meter.look_soon()

    def _show(self) -> None:
        if not self.isVisible():
            return
        numbers = self.meter.numbers()
        known = numbers.known
        is_some = any(row.integrated_lufs is not None for row in numbers.rows)
        self.picture.setVisible(is_some)
        self.picture.show_numbers(numbers)
        self.table.show_rows(numbers.rows if known else ())
        self.measure_button.setEnabled(known < len(numbers.rows) and not self.meter.is_measuring)
        say(self.told, self._film_words(numbers), "")
        standing = [row for row in numbers.rows if row.stands_out_lu is not None]
        say(self.outstanding, _standing_words(standing))

    def _film_words(self, numbers: FilmNumbers) -> str:
        if not numbers.rows:
            return _EMPTY
        if not numbers.known:
            return "" if self.meter.is_measuring else _NOT_YET
        words = f"Nothing is heard in {counted(numbers.known, 'scene')}."
        if numbers.integrated_lufs is not None:
            target = self.bench.session.film.delivery.integrated_lufs
            words = (
                f"The mix: {shown_level(numbers.integrated_lufs)} LUFS, true peak "
                f"{shown_level(numbers.true_peak_dbtp)} dBTP. The master changes it by about "
                f"{signed_level(target - numbers.integrated_lufs)} dB, to {plain_level(target)} LUFS."
            )
        if left := len(numbers.rows) - numbers.known:
            words += f" {counted(left, 'scene')} not measured yet, or changed since."
        return words

    def _show_state(self) -> None:
        is_on = self.meter.is_measuring
        for widget in (self.stop_button, self.bar, self._at):
            widget.setVisible(is_on)
        self.measure_button.setVisible(not is_on)

    def _on_measure(self) -> None:
        self.bar.setValue(0)
        self._at.setText("Measuring…")
        self.meter.measure()
        self._show_state()
        self._show()
        if self.meter.is_measuring:
            self.stop_button.setFocus()

    def _on_progressed(self, report: Progress) -> None:
        self.bar.setValue(round(report.fraction * 1000))
        self._at.setText(report.text)

    def _on_ended(self, fault: str) -> None:
        had_focus = self.stop_button.hasFocus()
        self._show_state()
        self._show()
        if had_focus and self.measure_button.isEnabled():
            self.measure_button.setFocus()
        if fault:
            say(self.told, fault, "fault")

    def _on_media_changed(self) -> None:
        if self.isVisible():
            self.meter.look_soon()

    def _go(self, row: SoundRow) -> None:
        go_to_row(self.bench, self._places, row)

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._show()
        self.meter.look_soon()

    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        self.meter.rest()


def _standing_words(rows: list[SoundRow]) -> str:
    told = [
        f"Scene {row.number} is {stands_out_words(row.stands_out_lu)}."
        for row in rows[:_MOST_TOLD]
        if row.stands_out_lu is not None
    ]
    if len(rows) > _MOST_TOLD:
        told.append(f"{counted(len(rows) - _MOST_TOLD, 'more scene')} stand out too.")
    return " ".join([*told, "It may be meant."]) if told else ""
