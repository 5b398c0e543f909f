"""What the clip sheet says while nothing is selected: the figures of the scene, and what can be done."""

from collections.abc import Iterator

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QGridLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from desk.film.model import Scene, SoundKind
from desk.film.rates import Rate
from desk.film.timecode import format_length
from desk.film.timing import content_frames
from desk.film.wording import counted
from desk.ui.bench import Bench
from desk.ui.cutting.clip_sheet.part import NAMES_PX
from desk.ui.labels import label

_WHAT_TO_DO = (
    "Select a clip, a spot or a cue in the lanes: what it is made of stands here then, to be changed. Select "
    "several to change them together."
)
_EMPTY = "The scene has no clips yet. Add some of its footage."


class ScenePage(QWidget):
    """The figures of a scene.

    Signals:
        finding_asked: The person wants the offsets of recordings found; a tuple of ids of clips.
    """

    finding_asked = Signal(object)

    def __init__(self, bench: Bench, parent: QWidget) -> None:
        super().__init__(parent)
        self._bench = bench
        self._separate: tuple[str, ...] = ()
        self._rows: list[tuple[QLabel, QLabel]] = []
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(8)
        self._grid.setVerticalSpacing(4)
        self._grid.setColumnMinimumWidth(0, NAMES_PX)
        self._grid.setColumnStretch(1, 1)
        self.advice = label("", self, kind="dim", wraps=True)
        self.find_offsets = QPushButton(self)
        self.find_offsets.clicked.connect(self._on_find)
        page = QVBoxLayout(self)
        page.setContentsMargins(0, 0, 0, 0)
        page.setSpacing(8)
        page.addLayout(self._grid)
        page.addWidget(self.find_offsets)
        page.addWidget(self.advice)
        page.addStretch(1)

    def show_scene(self, scene: Scene, rate: Rate, *, reason: str) -> None:
        """Show a scene.

        Args:
            scene: The scene.
            rate: The film's rate.
            reason: Why nothing in it can be changed, or "".
        """
        figures = list(scene_figures(scene, rate))
        while len(self._rows) < len(figures):
            self._add_row()
        for at, (name, value) in enumerate(self._rows):
            is_used = at < len(figures)
            name.setVisible(is_used)
            value.setVisible(is_used)
            if is_used:
                name.setText(figures[at][0])
                value.setText(figures[at][1])
                value.setAccessibleName(f"{figures[at][0]}: {figures[at][1]}")
        self._separate = tuple(
            clip.id for clip in scene.content.clips if clip.sound.kind is SoundKind.SEPARATE
        )
        count = len(self._separate)
        self.find_offsets.setVisible(bool(count))
        self.find_offsets.setText("Find offset…" if count == 1 else f"Find {count} offsets…")
        self.find_offsets.setEnabled(not reason)
        about = "Compare every separate recording of the scene with the sound of its footage."
        self.find_offsets.setToolTip(reason or about)
        self.advice.setText(_WHAT_TO_DO if scene.content.clips else _EMPTY)

    def _add_row(self) -> None:
        name, value = label("", self, kind="dim"), label("", self, wraps=True)
        row = len(self._rows)
        self._grid.addWidget(name, row, 0)
        self._grid.addWidget(value, row, 1)
        self._rows.append((name, value))

    def _on_find(self) -> None:
        self.finding_asked.emit(self._separate)


def scene_figures(scene: Scene, rate: Rate) -> Iterator[tuple[str, str]]:
    """Yield the figures of a scene's cut, each with its name."""
    content = scene.content
    frames = content_frames(content)
    yield "length", f"{format_length(frames, rate)}, {counted(frames, 'frame')}"
    yield "clips", str(len(content.clips))
    if len(content.clips) > 1:
        lengths = [clip.length_frames for clip in content.clips]
        yield "each", f"{format_length(min(lengths), rate)} to {format_length(max(lengths), rate)}"
    if black := sum(clip.gap_frames for clip in content.clips):
        yield "black", counted(black, "frame")
    separate = sum(clip.sound.kind is SoundKind.SEPARATE for clip in content.clips)
    silent = sum(clip.sound.kind is SoundKind.SILENCE for clip in content.clips)
    own = len(content.clips) - separate - silent
    sounds = ((own, "own"), (separate, "separate"), (silent, "silent"))
    if content.clips:
        yield "sound", ", ".join(f"{count} {word}" for count, word in sounds if count)
    if content.spots:
        yield "spots", str(len(content.spots))
    if content.cues:
        chosen = sum(cue.choice is not None for cue in content.cues)
        yield "cues", f"{len(content.cues)}, {chosen} with music"
