"""The viewer: the picture, what to play it with, and where it stands."""

from pathlib import Path

from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QCloseEvent, QKeyEvent
from PySide6.QtWidgets import QButtonGroup, QHBoxLayout, QPushButton, QScrollArea, QVBoxLayout, QWidget

from desk.film.media import MediaFacts
from desk.film.model import Delivery, Size
from desk.film.wording import counted, entry_name, sentence
from desk.render.showing import Origin
from desk.ui.bench import Bench
from desk.ui.elided import ElidedLabel
from desk.ui.viewer.footage_bar import FootageBar
from desk.ui.viewer.full_view import FullView
from desk.ui.viewer.marking import Marking
from desk.ui.viewer.meters import LevelMeter
from desk.ui.viewer.picture_view import PictureView
from desk.ui.viewer.pictures import Picture
from desk.ui.viewer.piece_making import PieceMaking
from desk.ui.viewer.player import NOT_DOWN_YET, Player
from desk.ui.viewer.player_keys import is_player_key, press_player_key
from desk.ui.viewer.readouts import Readouts
from desk.ui.viewer.sides import CutLook
from desk.ui.viewer.subject import Kind
from desk.ui.viewer.transport import Transport

_LOOKING = "Looking at the files…"
_ORIGINS = {
    Origin.PIECE: "as in the copy",
    Origin.FOOTAGE: "from the footage",
    Origin.PROXY: "from a proxy",
    Origin.DRAWING: "",
    Origin.MISSING: "",
    Origin.NEAR: Origin.NEAR.value,
}
_WHO = "viewer"


class Viewer(QWidget):
    """Shows and plays the scene that is cut, the whole film, or raw footage.

    Attributes:
        player: What is shown, and where it stands.
        pieces: Makes the pieces of what is shown, and tells which are there.
        picture: The picture.
        marking: Marks raw footage, and asks for it to be added.
        footage_bar: The footage that is shown to scale, with what can be done with it.
        transport: What it is played with.
        meter: How loud it is.
        readouts: Where it stands, in figures.
        full_view: The picture over a whole screen, or None.
    """

    def __init__(self, bench: Bench, parent: QWidget | None = None, *, player: Player | None = None) -> None:
        """Show the scene that is being cut.

        Args:
            bench: The film and all that shows it.
            parent: Who owns it.
            player: What is shown; None for one of its own.
        """
        super().__init__(parent)
        self._bench = bench
        self.player = player or Player(bench, self)
        self.pieces = PieceMaking(bench, self.player, self)
        self.picture = PictureView(bench.theme, self)
        self.marking = Marking(self.player, bench.cut.marks, self)
        self.footage_bar = FootageBar(bench, self.player, self.marking, self)
        self.transport = Transport(self.player, bench.theme, self)
        self.meter = LevelMeter(self.player.metering, self._delivery, bench.theme, self)
        self.readouts = Readouts(bench.session, self.player, self)
        self.full_view: FullView | None = None
        self.scene_button, self.film_button = QPushButton(self), QPushButton("Whole film", self)
        self._footage = ElidedLabel("", self, mode=Qt.TextElideMode.ElideMiddle)
        self.back_button = QPushButton("Back to the scene", self)
        self.back_button.setToolTip("Show the scene again (Escape)")
        self._state = ElidedLabel("", self)
        self._arrange()
        self._follow()
        self._on_subject_changed()
        self._show_picture(self.player.picture)

    @property
    def state_words(self) -> str:
        """What is said of the picture: where it comes from, and what was dropped."""
        return self._state.text()

    def show_footage(self, path: str, facts: MediaFacts) -> None:
        """Show a file of footage, with a way back, and put the keyboard there, to play it.

        Args:
            path: The file, as the film has it, or absolute.
            facts: What was read of it.
        """
        self.player.show_footage(path, facts)
        self.picture.setFocus(Qt.FocusReason.OtherFocusReason)
        page = self.parentWidget()
        while page is not None and not isinstance(page, QScrollArea):
            page = page.parentWidget()
        if page is not None:
            # It was asked for further down the page, where the footage is listed.
            page.ensureWidgetVisible(self.picture)

    def toggle_full_view(self) -> None:
        """Fill the screen with the picture, or leave that."""
        if self.full_view is not None:
            self.full_view.close()
            return
        self.full_view = FullView(
            self._bench.session, self.player, self.marking, self._bench.theme, self.window()
        )
        self.full_view.left.connect(self._on_full_view_left)
        self._show_everywhere()
        self.full_view.open_on(self.screen())

    def toggle_whole_film(self) -> None:
        """Show the whole film, or the scene again."""
        if self.player.kind is Kind.FILM:
            self.player.show_scene()
        else:
            self.player.show_film()

    def shut(self) -> None:
        """Stop, end all threads, and close the full view. Comes before the window lets the film go."""
        if self.full_view is not None:
            self.full_view.close()
        self.pieces.close()
        self.player.close()

    def _arrange(self) -> None:
        group = QButtonGroup(self)
        head = QHBoxLayout()
        head.setContentsMargins(0, 0, 0, 0)
        head.setSpacing(4)
        for button in (self.scene_button, self.film_button):
            button.setCheckable(True)
            group.addButton(button)
            head.addWidget(button)
        self.film_button.setAccessibleName("Show the whole film")
        self.film_button.setToolTip("Show the whole film, drafts included (Ctrl+Shift+Space)")
        head.addWidget(self.back_button)
        head.addWidget(self._footage, 2)
        head.addStretch(0)
        self._state.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self._state.setProperty("kind", "small")
        head.addWidget(self._state, 1)
        page = QVBoxLayout(self)
        page.setContentsMargins(0, 0, 0, 0)
        page.setSpacing(8)
        page.addLayout(head)
        page.addWidget(self.picture, 1)
        page.addWidget(self.footage_bar)
        page.addWidget(self.transport)
        page.addWidget(self.meter)
        page.addWidget(self.readouts)

    def _follow(self) -> None:
        player = self.player
        player.pictured.connect(self._show_picture)
        player.looked.connect(self._show_sides)
        player.lagged.connect(self._on_lagged)
        player.listened.connect(self._on_listened)
        player.subject_changed.connect(self._on_subject_changed)
        player.played.connect(self._on_played)
        self.pieces.failed.connect(self._bench.messages.refusal)
        self._bench.media.changed.connect(self._show_everywhere)
        self._bench.session.changed.connect(self.meter.tell)
        self.picture.resized.connect(self._on_resized)
        self.picture.installEventFilter(self)
        self.scene_button.clicked.connect(player.show_scene)
        self.film_button.clicked.connect(player.show_film)
        self.back_button.clicked.connect(player.show_scene)
        self.transport.full_view_asked.connect(self.toggle_full_view)
        self._on_resized_first()

    def _on_resized_first(self) -> None:
        frame, ratio = self.picture.frame_rect(), self.devicePixelRatioF()
        self._on_resized(Size(max(2, round(frame.width() * ratio)), max(2, round(frame.height() * ratio))))

    def _on_resized(self, size: Size) -> None:
        self.player.set_size(_WHO, size)

    def _on_subject_changed(self) -> None:
        subject = self.player.subject
        scene = self._bench.cut.scene
        name = sentence(entry_name(scene)) if scene is not None else "Scene"
        self.scene_button.setText(name)
        self.scene_button.setAccessibleName(
            f"Show {entry_name(scene)}" if scene is not None else "Show the scene"
        )
        self.scene_button.setToolTip(f"Show {entry_name(scene)} alone" if scene is not None else "")
        self.scene_button.setChecked(subject.kind is Kind.SCENE)
        self.film_button.setChecked(subject.kind is Kind.FILM)
        is_footage = subject.kind is Kind.FOOTAGE
        for button in (self.scene_button, self.film_button):
            button.setVisible(not is_footage)
        self.back_button.setVisible(is_footage)
        self._footage.setVisible(is_footage)
        if is_footage:
            self._footage.say(f"Footage: {Path(subject.name).name}", more=subject.name)
        self.picture.set_shape(subject.film.size)
        if not subject.frames:
            self._show_picture(None)

    def _delivery(self) -> Delivery:
        return self._bench.session.film.delivery

    def _on_played(self) -> None:
        self._show_state(self.player.picture)

    def _words(self, picture: Picture | None) -> str:
        """Return what stands in place of the picture, or ""."""
        subject = self.player.subject
        if not subject.frames:
            if subject.kind is Kind.FILM:
                return "Nothing in the running order has a picture yet. Give a scene clips, or add a card."
            if subject.kind is Kind.FOOTAGE:
                return "This file has no picture."
            if self._bench.cut.scene is None:
                return "Choose a scene to see it here."
            return "This scene has no clips yet. Add some of its footage."
        if picture is None or not picture.note:
            return ""
        return picture.note if self._bench.media.facts else _LOOKING

    def _show_picture(self, picture: Picture | None) -> None:
        words = self._words(picture)
        views = (self.picture, self.full_view.picture) if self.full_view is not None else (self.picture,)
        for view in views:
            if picture is not None or words:
                view.show_image(picture.image if picture is not None and not words else view.image, words)
        self._show_state(picture)

    def _show_sides(self, look: CutLook | None) -> None:
        self.picture.show_sides(look)
        if self.full_view is not None:
            self.full_view.picture.show_sides(look)

    def _show_everywhere(self) -> None:
        self._show_picture(self.player.picture)
        self._show_sides(self.player.look)
        self._show_lag()

    def _on_listened(self) -> None:
        self._show_state(self.player.picture)

    def _on_lagged(self) -> None:
        self._show_lag()
        self._show_state(self.player.picture)

    def _show_lag(self) -> None:
        """Tell on the picture itself, wherever it is shown, that it is not the frame that is stood on."""
        self.picture.show_lag(self.player.lag)
        if self.full_view is not None:
            self.full_view.picture.show_lag(self.player.lag)

    def _show_state(self, picture: Picture | None) -> None:
        player = self.player
        text = ""
        if not player.is_playing and player.dropped:
            text = f"{counted(player.dropped, 'frame')} not shown in time"
        elif player.lag:
            text = player.lag.value
        elif player.is_listening:
            text = NOT_DOWN_YET
        elif picture is not None and not picture.note:
            text = _ORIGINS[picture.origin]
        if text != self._state.text():
            self._state.say(text)

    def _on_full_view_left(self) -> None:
        if self.full_view is not None:
            self.full_view.deleteLater()
            self.full_view = None
            self.picture.setFocus()

    def _takes(self, event: QKeyEvent) -> bool:
        """Return whether a key is meant for what is shown rather than for the scene's cut, which is not."""
        if self.player.kind is Kind.SCENE:
            return False
        if is_player_key(event) or self.marking.takes(event):
            return True
        is_plain = not event.modifiers() & ~(
            Qt.KeyboardModifier.ShiftModifier | Qt.KeyboardModifier.KeypadModifier
        )
        is_letter_or_deletes = bool(event.text()) and event.key() not in (Qt.Key.Key_Tab, Qt.Key.Key_Backtab)
        return self.player.kind is Kind.FOOTAGE and is_plain and is_letter_or_deletes

    def event(self, event: QEvent) -> bool:
        # Whatever of the viewer has the keyboard: what it does not take itself comes here.
        is_asked = event.type() == QEvent.Type.ShortcutOverride
        if is_asked and isinstance(event, QKeyEvent) and self._takes(event):
            event.accept()
            return True
        return super().event(event)

    def eventFilter(self, watched: QWidget, event: QEvent) -> bool:  # type: ignore[override]
        if watched is self.picture and event.type() == QEvent.Type.MouseButtonDblClick:
            self.toggle_full_view()
            return True
        return super().eventFilter(watched, event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if not self.marking.press(event) and not press_player_key(self.player, event):
            super().keyPressEvent(event)

    def closeEvent(self, event: QCloseEvent) -> None:
        self.shut()
        super().closeEvent(event)
