"""The lane under the lanes that shows how loud the scene is, with its figures in words."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QHideEvent, QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QToolButton, QVBoxLayout, QWidget

from desk.film.model import Film
from desk.film.timecode import format_length
from desk.sound.loudness import SHORT_TERM_SECONDS
from desk.sound.scene_loudness import SceneLoudness
from desk.ui.bench import Bench
from desk.ui.cutting.lanes.lanes import Lanes
from desk.ui.elided import ElidedLabel
from desk.ui.level_words import shown_level
from desk.ui.look.icons import icon
from desk.ui.loudness.canvas import LoudnessCanvas
from desk.ui.loudness.scene_meter import SceneMeter
from desk.ui.settings import settings

_FOLDED = "scene/loudness-folded"
_NOTHING = "Nothing is heard in this scene."
_MEASURING = "Measuring how loud the scene is"


class LoudnessLine(QWidget):
    """Loudness of the scene that is cut, on the time line of its lanes; folded it measures nothing.

    Attributes:
        meter: Measures.
        canvas: The drawing.
        words: Its figures in words.
        fold_button: Folds and unfolds it.
        loudest: Goes to the loudest moment.
    """

    def __init__(self, bench: Bench, lanes: Lanes, parent: QWidget | None = None) -> None:
        """Show the scene's loudness.

        Args:
            bench: The film and what is known of it.
            lanes: The lanes whose time line it shares.
            parent: Who owns it.
        """
        super().__init__(parent)
        self._bench = bench
        self._lanes = lanes
        self._loudest_frame: int | None = None
        self._delivery = bench.session.film.delivery
        self.meter = SceneMeter(bench, self)
        self.canvas = LoudnessCanvas(bench, lanes.view.axis, self)
        self.words = ElidedLabel("", self)
        self.fold_button = QToolButton(self)
        self.loudest = QPushButton(self)
        self._arrange()
        lanes.view.axis_changed.connect(self._on_axis_changed)
        self.meter.changed.connect(self.tell)
        self.canvas.went.connect(bench.cut.go_to)
        bench.session.changed.connect(self._on_film_changed)
        self.fold_button.clicked.connect(self._on_fold)
        self.loudest.clicked.connect(self._on_loudest)
        self._fold(is_open=settings().value(_FOLDED) != "yes")

    @property
    def is_open(self) -> bool:
        """Whether the drawing is unfolded."""
        return not self.canvas.isHidden()

    def tell(self) -> None:
        """Show what is known of the scene now."""
        meter = self.meter
        loudness = meter.loudness
        self.canvas.show_loudness(loudness.mix if loudness else None, is_old=meter.is_old)
        rate = self._bench.session.film.rate
        seconds = loudness.mix.loudest_seconds if loudness else None
        self._loudest_frame = None if seconds is None else int(seconds * rate.fraction)
        self.loudest.setVisible(self._loudest_frame is not None)
        if self._loudest_frame is not None:
            label = format_length(self._loudest_frame, rate)
            self.loudest.setText(f"Loudest at {label}")
            self.loudest.setAccessibleName(f"Go to the loudest moment, at {label}")
        words = self._words()
        self.words.say(words, kind="fault" if meter.fault else "small")
        self.canvas.setAccessibleName(f"Loudness over the scene. {words}")

    def _words(self) -> str:
        meter = self.meter
        if meter.fault:
            return meter.fault
        if meter.loudness is None:
            if meter.fraction is None:
                return ""
            return f"{_MEASURING}: {meter.fraction:.0%}." if meter.fraction else f"{_MEASURING}…"
        found = scene_words(meter.loudness)
        return f"{found} Measuring anew…" if meter.is_old and self.is_open else found

    def _arrange(self) -> None:
        self.fold_button.setText("Loudness")
        self.fold_button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        self.fold_button.setProperty("kind", "plain")
        self.fold_button.setAccessibleName("Loudness of the scene")
        self.loudest.setProperty("kind", "plain")
        self.canvas.setToolTip("")
        head = QHBoxLayout()
        head.setContentsMargins(0, 0, 0, 0)
        head.setSpacing(8)
        head.addWidget(self.fold_button)
        head.addWidget(self.words, 1)
        head.addWidget(self.loudest)
        page = QVBoxLayout(self)
        page.setContentsMargins(0, 0, 0, 0)
        page.setSpacing(4)
        page.addLayout(head)
        page.addWidget(self.canvas)

    def _fold(self, *, is_open: bool) -> None:
        self.canvas.setVisible(is_open)
        self.fold_button.setIcon(icon("fold" if is_open else "unfold", self._bench.theme))
        self.fold_button.setAccessibleDescription("Unfolded" if is_open else "Folded")
        self._want()

    def _want(self) -> None:
        self.meter.set_wanted(self.isVisible() and self.is_open)

    def _on_fold(self) -> None:
        is_open = not self.is_open
        settings().setValue(_FOLDED, "no" if is_open else "yes")
        self._fold(is_open=is_open)
        self.tell()

    def _on_axis_changed(self) -> None:
        self.canvas.show_axis(self._lanes.view.axis)

    def _on_film_changed(self, film: Film) -> None:
        if film.delivery != self._delivery:
            self._delivery = film.delivery
            self.canvas.refresh()

    def _on_loudest(self) -> None:
        if self._loudest_frame is not None:
            self._bench.cut.go_to(self._loudest_frame)

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._on_axis_changed()
        self._want()

    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        self._want()


def scene_words(loudness: SceneLoudness) -> str:
    """Return how loud a scene is, in a sentence."""
    mix = loudness.mix
    if mix.integrated_lufs is None:
        return _NOTHING
    parts = [f"{shown_level(mix.integrated_lufs)} LUFS"]
    if mix.seconds >= SHORT_TERM_SECONDS:
        parts.append(f"range {shown_level(mix.range_lu)} LU")
    parts.append(f"true peak {shown_level(mix.true_peak_dbtp)} dBTP")
    if loudness.voices_lufs is not None:
        parts.append(f"voices {shown_level(loudness.voices_lufs)} LUFS")
    below = loudness.music_below_voices_lu
    if below is not None:
        parts.append(f"music {shown_level(abs(below))} LU {'below' if below >= 0 else 'above'} them")
    return f"The mix of this scene: {', '.join(parts)}."
