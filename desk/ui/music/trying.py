"""Music tried against the picture: a small picture beside the candidates, as the viewer's player shows it."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QHideEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from desk.film.model import Size
from desk.ui.elided import ElidedLabel
from desk.ui.labels import label, note, say
from desk.ui.look.theme import Theme
from desk.ui.viewer.picture_view import PictureView
from desk.ui.viewer.pictures import Picture
from desk.ui.viewer.player import NOT_DOWN_YET, Player
from desk.ui.viewer.subject import Kind

LEAD_SECONDS = 2
"""So much before a cue begins, it is played (common practice, no source)."""

_WHO = "music"
_LEAST_PX, _MOST_PX = 120, 216
_SHARE = 0.36


def play_from(player: Player, frame: int) -> bool:
    """Play the scene from two seconds before a frame; returns whether there is any picture to play.

    Args:
        player: The viewer's player, which shows the scene that is being cut.
        frame: The frame, from the scene's start.
    """
    player.pause()
    if player.kind is not Kind.SCENE:
        player.show_scene()
    if not player.frames:
        return False
    start = max(0, frame - round(LEAD_SECONDS * player.subject.rate.fraction))
    if start >= player.frames:
        return False
    loop = player.loop
    if loop is not None and not loop.first <= start < loop.end:
        player.set_looping(False)
    player.go_to(start)
    player.play()
    return True


class TryView(QWidget):
    """What is tried, in words, with the picture that it is tried against.

    Signals:
        next_wanted: The next candidate is to be tried (1), or the one before (-1).
        done: The person has heard enough.
    """

    next_wanted = Signal(int)
    done = Signal()

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._player: Player | None = None
        self.picture = PictureView(theme, self)
        self.picture.setAccessibleName("Picture that the music is tried against")
        self.picture.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.picture.resized.connect(self._on_resized)
        self.name = ElidedLabel(parent=self)
        self.count = label("", self, kind="dim", wraps=True)
        self.waiting = note("open", self)
        self.keys = label(
            "F7 the next, Shift+F7 back. Undo takes back all tries at once.", self, kind="small", wraps=True
        )
        self.play = QPushButton("Stop", self)
        self.play.setAccessibleName("Stop playing")
        self.close_button = QPushButton("Done", self)
        self.play.clicked.connect(self._on_play)
        self.close_button.clicked.connect(self.done)
        self.close_button.setAccessibleName("Done with trying music")
        buttons = QHBoxLayout()
        buttons.setSpacing(8)
        buttons.addWidget(self.play)
        buttons.addWidget(self.close_button)
        buttons.addStretch(1)
        side = QVBoxLayout()
        side.setSpacing(4)
        for widget in (self.name, self.count, self.waiting, self.keys):
            side.addWidget(widget)
        side.addLayout(buttons)
        side.addStretch(1)
        row = QHBoxLayout(self)
        row.setContentsMargins(10, 4, 0, 4)
        row.setSpacing(12)
        row.addWidget(self.picture, 0, Qt.AlignmentFlag.AlignTop)
        row.addLayout(side, 1)
        self.hide()

    def attach(self, player: Player) -> None:
        """Follow a player."""
        self._player = player
        player.pictured.connect(self._on_pictured)
        player.played.connect(self._on_played)
        player.listened.connect(self._on_listened)
        self._on_listened(player.is_listening)

    def say(self, name: str, number: int, count: int, told: str = "") -> None:
        """Say what is tried.

        Args:
            name: The music.
            number: Its place among the candidates, from 1.
            count: How many there are.
            told: What else is to be said of it, or "".
        """
        self.name.say(name)
        words = f"{number} of {count}. It is chosen now."
        self.count.setText(f"{words}\n{told}".strip())

    def _on_pictured(self, picture: Picture | None) -> None:
        if not self.isVisible():
            return
        if picture is not None:
            self.picture.show_image(picture.image, picture.note)

    def _on_played(self, plays: bool) -> None:
        self.play.setText("Stop" if plays else "Play again")
        self.play.setAccessibleName("Stop playing" if plays else "Play the cue again")

    def _on_listened(self, is_listening: bool) -> None:
        say(self.waiting, NOT_DOWN_YET if is_listening else "")

    def _on_play(self) -> None:
        if self._player is not None and self._player.is_playing:
            self._player.pause()
        else:
            self.next_wanted.emit(0)

    def _on_resized(self, size: Size) -> None:
        if self._player is not None and self.isVisible():
            self._player.set_size(_WHO, size)

    def _fit(self) -> None:
        shape = self._player.subject.film.size if self._player is not None else Size(16, 9)
        self.picture.set_shape(shape)
        width = round(min(max(self.width() * _SHARE, _LEAST_PX), _MOST_PX * shape.width / shape.height))
        height = round(width * shape.height / shape.width)
        self.picture.setFixedSize(width, min(height, _MOST_PX))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._fit()
        if self._player is not None:
            ratio = self.devicePixelRatioF()
            size = self.picture.size() * ratio
            self._player.set_size(_WHO, Size(max(2, size.width()), max(2, size.height())))
            self._on_pictured(self._player.picture)

    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        if self._player is not None:
            self._player.set_size(_WHO, None)
