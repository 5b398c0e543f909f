"""What is under the picture while raw footage is shown: the file to scale, the part of it to be used."""

from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from desk.film.timecode import format_length
from desk.ui.bench import Bench
from desk.ui.elided import ElidedLabel
from desk.ui.viewer.marking import Marking
from desk.ui.viewer.player import Player
from desk.ui.viewer.subject import Kind
from desk.ui.viewer.time_scale import TimeScale


class FootageBar(QWidget):
    """Marks the part of a file that is wanted, and adds it to the scene. It is hidden while a scene is shown.

    Attributes:
        scale: The file to scale.
        words: How much is marked.
    """

    def __init__(self, bench: Bench, player: Player, marking: Marking, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._player = player
        self._marking = marking
        self.scale = TimeScale(player, marking, bench.theme, self)
        self.head_button = self._button("Head here", "Begin with this frame: its in point (H)")
        self.tail_button = self._button("Tail here", "End with this frame: its out point (T)")
        self.whole_button = self._button("All of it", "Mark nothing: the whole file is added (Del)")
        self.words = ElidedLabel("", self)
        self.words.setProperty("kind", "dim")
        self.order_button = self._button("Add in order", "Add it to the scene in natural order (Return)")
        self.playhead_button = self._button(
            "Add at the playhead", "Add it where the playhead stands in the scene (Ctrl+Return)"
        )
        page = QVBoxLayout(self)
        page.setContentsMargins(0, 0, 0, 0)
        page.setSpacing(8)
        page.addWidget(self.scale)
        marks, adds = QHBoxLayout(), QHBoxLayout()
        for row in (marks, adds):
            row.setSpacing(8)
            page.addLayout(row)
        for button in (self.head_button, self.tail_button, self.whole_button):
            marks.addWidget(button)
        marks.addWidget(self.words, 1)
        for button in (self.order_button, self.playhead_button):
            adds.addWidget(button)
        adds.addStretch(1)
        self.head_button.clicked.connect(marking.mark_head)
        self.tail_button.clicked.connect(marking.mark_tail)
        self.whole_button.clicked.connect(marking.clear)
        self.order_button.clicked.connect(marking.add_in_order)
        self.playhead_button.clicked.connect(marking.add_at_playhead)
        bench.cut.marks.changed.connect(self.refresh)
        bench.session.changed.connect(self.refresh)
        player.subject_changed.connect(self.refresh)
        self.refresh()

    def refresh(self) -> None:
        """Show what is marked of the footage that is shown now."""
        player, marked = self._player, self._marking.marked
        is_footage = player.kind is Kind.FOOTAGE
        self.setVisible(is_footage)
        if not is_footage:
            return
        rate = player.subject.rate
        if marked is None:
            self.words.say(f"all of it, {format_length(player.frames, rate)}")
        else:
            first, last = format_length(marked.first, rate), format_length(marked.end - 1, rate)
            self.words.say(f"{format_length(marked.frames, rate)} marked", more=f"Head {first}, tail {last}.")
        for button in (self.head_button, self.tail_button, self.order_button, self.playhead_button):
            button.setEnabled(self._marking.is_on)
        self.whole_button.setEnabled(marked is not None)
        self.scale.show_used(self._used())
        self.scale.setAccessibleDescription(self.words.text())

    def _used(self) -> list[tuple[int, int]]:
        """Return which frames of the file the scene that is cut uses."""
        subject = self._player.subject
        used = []
        for clip in self._bench.cut.content.clips:
            if clip.source == subject.name:
                first = round(clip.in_seconds * subject.rate.fraction)
                used.append((first, first + round(clip.length_frames * clip.speed)))
        return used

    def _button(self, text: str, tip: str) -> QPushButton:
        button = QPushButton(text, self)
        button.setAutoDefault(False)
        button.setToolTip(tip)
        button.setAccessibleDescription(tip)
        return button
