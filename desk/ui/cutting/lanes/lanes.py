"""The lanes of the scene that is being cut, with what scrolls them and a line of words about them."""

from collections.abc import Sequence

from PySide6.QtCore import QPoint, Qt, Signal
from PySide6.QtWidgets import QScrollBar, QVBoxLayout, QWidget

from desk.ui.bench import Bench
from desk.ui.cutting.lanes.layout import LABELS_PX, RIGHT_PX
from desk.ui.cutting.lanes.view import LanesView
from desk.ui.cutting.lanes.waveforms import Waveforms
from desk.ui.elided import ElidedLabel

_WORDS_PX = 18
_STEPS = 10
"""Arrows of the scroll bar go on by a tenth of what is shown."""


class Lanes(QWidget):
    """The lanes of `bench.cut`'s scene.

    Attributes:
        view: The lanes themselves, which take keys and the pointer.
        bar: Scrolls them.
        words: What the pointer would do or is doing.
        waveforms: Outlines of the film's sounds.

    Signals:
        menu_wanted: The person asks for what can be done with the selection; where on the screen.
    """

    menu_wanted = Signal(QPoint)

    def __init__(
        self, bench: Bench, parent: QWidget | None = None, *, waveforms: Waveforms | None = None
    ) -> None:
        """Show the lanes.

        Args:
            bench: The film and what is known of it.
            parent: Who owns them.
            waveforms: Outlines of the film's sounds, or None to make them here.
        """
        super().__init__(parent)
        self.waveforms = waveforms or Waveforms(bench, self)
        self.view = LanesView(bench, self.waveforms)
        self.bar = QScrollBar(Qt.Orientation.Horizontal)
        self.bar.setAccessibleName("Scroll the lanes")
        self.bar.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.words = ElidedLabel()
        self.words.say(" ", kind="small")
        self.words.setFixedHeight(_WORDS_PX)
        self._arrange()
        self.setFocusProxy(self.view)
        self.view.menu_wanted.connect(self.menu_wanted)
        self.view.said.connect(self._on_said)
        self.view.axis_changed.connect(self._show_bar)
        self.bar.valueChanged.connect(self._on_scrolled)
        self._show_bar()

    def set_ready(self, ranges: Sequence[tuple[int, int]]) -> None:
        """Mark frames that can be played at once.

        Args:
            ranges: First frame, and the one after the last, of each range, from the scene's start.
        """
        self.view.set_ready(ranges)

    def zoom_in(self) -> None:
        """Show frames wider, around the playhead."""
        self.view.zoom(2)

    def zoom_out(self) -> None:
        """Show frames narrower, around the playhead."""
        self.view.zoom(0.5)

    def show_whole(self) -> None:
        """Show the whole scene."""
        self.view.show_whole()

    def _arrange(self) -> None:
        page = QVBoxLayout(self)
        page.setContentsMargins(0, 0, 0, 0)
        page.setSpacing(4)
        page.addWidget(self.view)
        foot = QVBoxLayout()
        foot.setContentsMargins(LABELS_PX, 0, RIGHT_PX, 0)
        foot.setSpacing(4)
        foot.addWidget(self.bar)
        foot.addWidget(self.words)
        page.addLayout(foot)
        page.addStretch(1)

    def _show_bar(self) -> None:
        axis, (first, end) = self.view.base_axis, self.view.lanes.reach
        shown = round(axis.width_px)
        most = round(max(0.0, (end - first - axis.shown_frames) * axis.px_per_frame))
        # What is set here is where the lanes are, and not where they are to go.
        self.bar.blockSignals(True)
        self.bar.setRange(0, most)
        self.bar.setPageStep(shown)
        self.bar.setSingleStep(max(1, shown // _STEPS))
        self.bar.setValue(round((axis.first - first) * axis.px_per_frame))
        self.bar.blockSignals(False)

    def _on_scrolled(self, px: int) -> None:
        axis = self.view.base_axis
        self.view.scroll_to(self.view.lanes.reach[0] + px / axis.px_per_frame)

    def _on_said(self, words: str, is_refusal: bool) -> None:
        self.words.say(words or " ", kind="fault" if is_refusal else "small")
