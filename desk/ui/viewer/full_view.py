"""The picture over a whole screen."""

from PySide6.QtCore import QEvent, QObject, Qt, QTimer, Signal
from PySide6.QtGui import QCloseEvent, QCursor, QKeyEvent, QMouseEvent, QResizeEvent, QScreen
from PySide6.QtWidgets import QFrame, QVBoxLayout, QWidget

from desk.film.model import Delivery, Size
from desk.ui.look.theme import Theme
from desk.ui.session import Session
from desk.ui.viewer.marking import Marking
from desk.ui.viewer.meters import LevelMeter
from desk.ui.viewer.picture_view import PictureView
from desk.ui.viewer.player import Player
from desk.ui.viewer.player_keys import press_player_key
from desk.ui.viewer.readouts import Readouts
from desk.ui.viewer.time_scale import TimeScale
from desk.ui.viewer.transport import Transport

_SHOWN_MS = 2500
"""So long the transport stays after the pointer was moved."""

_BAR_PX = 640
"""Width of what lies on the picture."""

_WHO = "full view"


class FullView(QWidget):
    """A window without a frame that fills the screen with the picture, and follows the same player.

    Escape, or the key that opened it, leaves it. The transport appears when the pointer moves or something in
    it has the keyboard.

    Signals:
        left: It was closed.

    Attributes:
        picture: The picture.
        scale: What is shown to scale.
        transport: What it is played with.
        meter: How loud it is.
        readouts: Where it stands, in figures.
    """

    left = Signal()

    def __init__(
        self, session: Session, player: Player, marking: Marking, theme: Theme, parent: QWidget
    ) -> None:
        """Make it.

        Args:
            session: The film.
            player: What it shows.
            marking: What is marked of raw footage, and takes the keys for it.
            theme: Colours in use.
            parent: Who owns it.
        """
        super().__init__(parent, Qt.WindowType.Window | Qt.WindowType.FramelessWindowHint)
        self._session = session
        self._player = player
        self._marking = marking
        self.setWindowTitle("Full view")
        self.setAccessibleName("Full view")
        self.picture = PictureView(theme, self, is_dark=True)
        self.picture.set_shape(player.subject.film.size)
        self.picture.setMouseTracking(True)
        self.picture.installEventFilter(self)
        self._bar = QFrame(self)
        self._bar.setProperty("kind", "panel")
        self._bar.setMouseTracking(True)
        self.scale = TimeScale(player, marking, theme, self._bar)
        self.readouts = Readouts(session, player, self._bar)
        self.transport = Transport(player, theme, self._bar, is_full=True)
        self.meter = LevelMeter(player.metering, self._delivery, theme, self._bar)
        inside = QVBoxLayout(self._bar)
        inside.setContentsMargins(12, 8, 12, 8)
        inside.setSpacing(8)
        for widget in (self.scale, self.transport, self.meter, self.readouts):
            inside.addWidget(widget)
        page = QVBoxLayout(self)
        page.setContentsMargins(0, 0, 0, 0)
        page.addWidget(self.picture)
        self._hiding = QTimer(self, singleShot=True, interval=_SHOWN_MS)
        self._hiding.timeout.connect(self._hide_bar)
        self.transport.full_view_asked.connect(self.close)
        self.picture.resized.connect(self._on_resized)
        self._bar.hide()

    @property
    def is_bar_shown(self) -> bool:
        """Whether the transport is to be seen."""
        return self._bar.isVisible()

    def open_on(self, screen: QScreen) -> None:
        """Fill a screen."""
        self.setGeometry(screen.geometry())
        self.showFullScreen()
        self.picture.setFocus()
        self.raise_()
        self.activateWindow()

    def _delivery(self) -> Delivery:
        return self._session.film.delivery

    def _show_bar(self) -> None:
        self._bar.show()
        self._bar.raise_()
        self.picture.unsetCursor()
        self._hiding.start()

    def _hide_bar(self) -> None:
        if self._bar.isAncestorOf(self.focusWidget() or self) or self._bar.geometry().contains(
            self.mapFromGlobal(QCursor.pos())
        ):
            self._hiding.start()
            return
        self._bar.hide()
        self.picture.setCursor(Qt.CursorShape.BlankCursor)

    def _on_resized(self, size: Size) -> None:
        self._player.set_size(_WHO, size)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if watched is self.picture:
            if event.type() == QEvent.Type.MouseMove and isinstance(event, QMouseEvent):
                self._show_bar()
            elif event.type() == QEvent.Type.MouseButtonDblClick:
                self.close()
                return True
        return super().eventFilter(watched, event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Escape, Qt.Key.Key_F11):
            self.close()
        elif event.key() == Qt.Key.Key_Tab:
            self._show_bar()
            self.transport.play.setFocus()
        elif not self._marking.press(event) and not press_player_key(self._player, event):
            super().keyPressEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        width, height = min(_BAR_PX, self.width() - 16), self._bar.sizeHint().height()
        self._bar.setGeometry((self.width() - width) // 2, self.height() - height - 24, width, height)

    def closeEvent(self, event: QCloseEvent) -> None:
        self._hiding.stop()
        self._player.set_size(_WHO, None)
        super().closeEvent(event)
        self.left.emit()
