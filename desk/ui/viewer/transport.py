"""What is under the picture to play it with."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QWidget

from desk.ui.look.theme import Theme
from desk.ui.viewer.controls import CAUTION, PlayerButton, VolumeSlider
from desk.ui.viewer.player import Player
from desk.ui.viewer.subject import Kind

_NO_SOUND = "No sound device was found. The picture plays without sound."


class Transport(QWidget):
    """Play, step, go to cuts, play around one, loop, and the volume.

    Signals:
        full_view_asked: The picture is to fill the screen, or to leave it.
    """

    full_view_asked = Signal()

    def __init__(
        self, player: Player, theme: Theme, parent: QWidget | None = None, *, is_full: bool = False
    ) -> None:
        """Make it.

        Args:
            player: What it plays.
            theme: Colours in use.
            parent: Who owns it.
            is_full: Whether it lies on a picture that fills the screen.
        """
        super().__init__(parent)
        self._player = player
        self.previous_cut = PlayerButton("cut-back", "Previous cut", "Ctrl+Left", theme, self)
        self.back = PlayerButton("step-back", "One frame back", "Left", theme, self)
        self.play = PlayerButton("play", "Play", "Space", theme, self)
        self.forth = PlayerButton("step-forth", "One frame forth", "Right", theme, self)
        self.next_cut = PlayerButton("cut-forth", "Next cut", "Ctrl+Right", theme, self)
        self.around = PlayerButton("around", "Play around this place", "Shift+Space", theme, self)
        self.loop = PlayerButton("loop", "Loop", "", theme, self)
        self.loop.setCheckable(True)
        self.mute = PlayerButton("sound-on", "Sound off", "", theme, self)
        self.volume = VolumeSlider(self)
        self.full = PlayerButton(
            "leave-full-view" if is_full else "full-view",
            "Leave the full view" if is_full else "Full view",
            "Escape" if is_full else "Shift+F11",
            theme,
            self,
        )
        self._arrange()
        self._follow()
        self.refresh()

    def refresh(self) -> None:
        """Show how the player is."""
        player, playing = self._player, self._player.playing
        is_on, has_frames = player.is_playing, player.frames > 0
        self.play.say("pause" if is_on else "play", "Pause" if is_on else "Play", "Space")
        for button in (
            self.play,
            self.previous_cut,
            self.back,
            self.forth,
            self.next_cut,
            self.around,
            self.loop,
        ):
            button.setEnabled(has_frames)
        for button in (self.previous_cut, self.next_cut):
            button.setVisible(player.kind is not Kind.FOOTAGE)
        self.loop.setChecked(player.is_looping)
        self.loop.say("loop", "Loop", self._loop_words())
        is_silent = playing.is_muted or playing.volume == 0
        self.mute.say("sound-off" if is_silent else "sound-on", "Sound on" if is_silent else "Sound off")
        self.volume.blockSignals(True)
        self.volume.setValue(round(playing.volume * 100))
        self.volume.blockSignals(False)
        self.volume.setToolTip(f"Volume. {CAUTION}" if playing.has_sound else _NO_SOUND)
        self.volume.setAccessibleDescription(self.volume.toolTip())
        if not playing.has_sound:
            self.mute.setToolTip(_NO_SOUND)

    def _loop_words(self) -> str:
        loop = self._player.loop
        if loop is None:
            return "off"
        whole = loop.first == 0 and loop.end == self._player.frames
        return "all" if whole else f"frames {loop.first} to {loop.end - 1}"

    def _arrange(self) -> None:
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(2)
        for button in (self.previous_cut, self.back, self.play, self.forth, self.next_cut):
            row.addWidget(button)
        row.addSpacing(8)
        row.addWidget(self.around)
        row.addWidget(self.loop)
        row.addStretch(1)
        row.addWidget(self.mute)
        row.addWidget(self.volume)
        row.addSpacing(8)
        row.addWidget(self.full)
        row.setAlignment(Qt.AlignmentFlag.AlignVCenter)

    def _follow(self) -> None:
        player = self._player
        self.previous_cut.clicked.connect(self._on_previous_cut)
        self.back.clicked.connect(self._on_back)
        self.play.clicked.connect(player.toggle)
        self.forth.clicked.connect(self._on_forth)
        self.next_cut.clicked.connect(self._on_next_cut)
        self.around.clicked.connect(self._on_around)
        self.loop.clicked.connect(player.set_looping)
        self.mute.clicked.connect(self._on_mute)
        self.volume.valueChanged.connect(self._on_volume)
        self.full.clicked.connect(self.full_view_asked)
        player.played.connect(self.refresh)
        player.adjusted.connect(self.refresh)
        player.subject_changed.connect(self.refresh)

    def _on_previous_cut(self) -> None:
        self._player.go_to_cut(-1)

    def _on_next_cut(self) -> None:
        self._player.go_to_cut(1)

    def _on_back(self) -> None:
        self._player.step(-1)

    def _on_forth(self) -> None:
        self._player.step(1)

    def _on_around(self) -> None:
        self._player.play_around()

    def _on_mute(self) -> None:
        playing = self._player.playing
        if playing.volume == 0:
            self._player.set_volume(0.1)
        else:
            self._player.set_muted(not playing.is_muted)

    def _on_volume(self, value: int) -> None:
        self._player.set_volume(value / 100)
