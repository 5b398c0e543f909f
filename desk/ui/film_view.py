"""The window's inside while a film is open: order, sheet and foot, and what their commands do."""

from collections.abc import Iterator

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QHBoxLayout,
    QPushButton,
    QSplitter,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)
from shiboken6 import isValid

from desk.errors import DeskError
from desk.film.edits import Change
from desk.film.locking import Part
from desk.film.model import Card, Film, Scene
from desk.film.timecode import format_label
from desk.film.wording import entry_name, sentence
from desk.ui.assembling.bar import AssemblyBar
from desk.ui.assembling.dialog import AssembleDialog
from desk.ui.assembling.run import Assembling
from desk.ui.bench import Bench
from desk.ui.card.sheet import CardSheet
from desk.ui.cutting.keys.keyed_edits import CutEdits
from desk.ui.film.sheet import FilmSheet
from desk.ui.labels import label, set_kind
from desk.ui.look.marks import Mark
from desk.ui.look.type import TITLE_PX, serif
from desk.ui.order.panel import OrderPanel
from desk.ui.playhead import Playhead
from desk.ui.scene.picture import PictureBody
from desk.ui.scene.sheet import SceneSheet
from desk.ui.scene_place import ScenePlaces
from desk.ui.strip.foot import Foot
from desk.ui.viewer.subject import Kind

_ORDER_SHARE, _SHEET_SHARE = 44, 56


class FilmView(QWidget):
    """One open film."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.bench = bench
        # Each is made where it is going to stand: moving so many widgets takes a tenth of a second.
        self._split = QSplitter(Qt.Orientation.Horizontal, self)
        self.order = OrderPanel(bench, self._split)
        self._sheets = QStackedWidget(self._split)
        self.film_sheet = FilmSheet(bench, self._sheets)
        self.scene_sheet = SceneSheet(bench, self._sheets)
        self.card_sheet = CardSheet(bench, self._sheets)
        self.foot = Foot(bench, self)
        self.cut_edits = CutEdits.of(bench)
        self.cut_edits.asks.set_window(self)
        self.assembling = Assembling(bench, self)
        self.assembly_bar = AssemblyBar(bench, self.assembling, self)
        self._places = ScenePlaces(bench.session, self)
        self._dialog: AssembleDialog | None = None
        self._title = label("", self)
        self._format = label("", self, kind="dim")
        self._saved = label("", self, kind="small")
        self._broken: frozenset[str] = frozenset()
        self.assemble_button = QPushButton("Assemble…")
        self._arrange()
        self._follow()
        self._show_film(bench.session.film)
        self._show_sheet(bench.choice.entry)
        self._show_saved()
        self._playhead = Playhead(bench.session, bench.choice, self)

    def assemble(self) -> None:
        """Open the dialog that makes an assembly."""
        if self._dialog is None:
            self._dialog = AssembleDialog(self.bench, self.assembling, self)
            self._dialog.finished.connect(self._on_dialog_finished)
        self._dialog.show()
        self._dialog.raise_()
        self._dialog.activateWindow()

    def take_focus(self) -> None:
        """Put the keyboard into the running order."""
        self.order.order.setFocus(Qt.FocusReason.OtherFocusReason)

    def choose_film(self) -> None:
        """Show the film's own sheet."""
        self.bench.choice.choose("")

    def save_now(self) -> None:
        """Save without waiting for a pause; a fault is told."""
        try:
            self.bench.saving.save_now()
        except DeskError as error:
            self.bench.messages.fault(error)

    @property
    def picture(self) -> PictureBody:
        """The Picture part of the scene's sheet."""
        body = self.scene_sheet.frames[Part.PICTURE].body
        assert isinstance(body, PictureBody)
        return body

    def cutting_places(self) -> tuple[QWidget, ...]:
        """Return where the keys of cutting act."""
        return (self.picture.lanes, self.picture.viewer)

    def go_to_lanes(self) -> None:
        """Show the lanes of the scene and put the focus there."""
        self.scene_sheet.focus_part(Part.PICTURE)
        self.picture.lanes.setFocus(Qt.FocusReason.ShortcutFocusReason)
        self.picture.reveal_lanes()

    def end_typing(self) -> None:
        """Take what is being typed as it stands. The keyboard stays where it is."""
        focus = self.focusWidget()
        if focus is None:
            self.bench.session.end_gesture()
            return
        around = [focus, *_ancestors(focus, self)]
        focus.clearFocus()
        self.bench.session.end_gesture()
        # A field that was opened in a row is gone by now; then the list that it stood in goes on.
        for widget in around:
            if isValid(widget) and widget.isVisible() and widget.focusPolicy() is not Qt.FocusPolicy.NoFocus:
                widget.setFocus(Qt.FocusReason.OtherFocusReason)
                return

    def chosen_scene(self) -> Scene | None:
        """Return the scene whose sheet is shown, or None."""
        entry = self.bench.session.film.entries().get(self.bench.choice.entry)
        return entry if isinstance(entry, Scene) else None

    def _arrange(self) -> None:
        for sheet in (self.film_sheet, self.scene_sheet, self.card_sheet):
            self._sheets.addWidget(sheet)
        split = self._split
        split.setChildrenCollapsible(False)
        split.setHandleWidth(12)
        split.addWidget(self.order)
        split.addWidget(self._sheets)
        split.setStretchFactor(0, _ORDER_SHARE)
        split.setStretchFactor(1, _SHEET_SHARE)
        split.setSizes([_ORDER_SHARE * 100, _SHEET_SHARE * 100])
        middle = QVBoxLayout()
        middle.setContentsMargins(8, 4, 8, 4)
        middle.addWidget(split)
        page = QVBoxLayout(self)
        page.setContentsMargins(0, 0, 0, 0)
        page.setSpacing(0)
        page.addWidget(self._bar())
        page.addWidget(self.assembly_bar)
        page.addLayout(middle, 1)
        page.addWidget(self.foot)

    def _bar(self) -> QWidget:
        bar = QWidget()
        bar.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        bar.setProperty("kind", "bar")
        self._title.setFont(serif(TITLE_PX))
        self.assemble_button.setProperty("kind", "main")
        self.assemble_button.setAccessibleName("Assemble the film")
        self.assemble_button.clicked.connect(self.assemble)
        row = QHBoxLayout(bar)
        row.setContentsMargins(16, 6, 16, 6)
        row.setSpacing(16)
        row.addWidget(self._title)
        row.addWidget(self._format)
        row.addStretch(1)
        row.addWidget(self._saved)
        row.addWidget(self.assemble_button)
        return bar

    def _follow(self) -> None:
        bench = self.bench
        bench.session.changed.connect(self._on_changed)
        bench.choice.chosen.connect(self._leave_sheet)
        bench.choice.chosen.connect(self._show_sheet)
        bench.saving.saved.connect(self._show_saved)
        bench.saving.unsaved.connect(self._show_saved)
        bench.saving.failed.connect(self._on_save_failed)
        bench.statuses.changed.connect(self._on_statuses_changed)
        self.order.effect_previewed.connect(self.foot.preview)

    def _on_changed(self, film: Film, _: Change) -> None:
        self._show_film(film)
        if self.bench.choice.entry not in {"", *film.entries()}:
            self.bench.choice.choose("")

    def _leave_sheet(self, entry_id: str) -> None:
        """Take the keyboard out of a sheet that is going to be replaced.

        Qt would pass it on to the next button, which may be the one that locks the scene.
        """
        entry = self.bench.session.film.entries().get(entry_id)
        sheets = {Scene: self.scene_sheet, Card: self.card_sheet}
        shown, focus = self._sheets.currentWidget(), self.focusWidget()
        if shown is sheets.get(type(entry), self.film_sheet) or focus is None:
            return
        if self._sheets.isAncestorOf(focus):
            self.take_focus()

    def _on_save_failed(self, error: object) -> None:
        self._show_saved()
        self.bench.messages.fault(error)

    def _on_statuses_changed(self) -> None:
        """Say at once which locks do not hold any more, whatever is on the screen."""
        film, statuses = self.bench.session.film, self.bench.statuses
        locked = [scene for scene in film.scenes if scene.lock]
        broken = {scene.id: scene for scene in locked if statuses.mark(scene) is Mark.BROKEN}
        for scene_id in broken.keys() - self._broken:
            why = statuses.of(broken[scene_id]).broken[0]
            name = sentence(entry_name(broken[scene_id]))
            self.bench.messages.notice(f"{name}: its lock is broken. {why}", urgent=True)
        self._broken = frozenset(broken)

    def _on_dialog_finished(self) -> None:
        if self._dialog is not None:
            self._dialog.deleteLater()
            self._dialog = None

    def _show_film(self, film: Film) -> None:
        start = format_label(film.start_frames, film.rate, drop_frame=film.drop_frame)
        self._title.setText(film.title)
        size = f"{film.size.width} × {film.size.height}"
        self._format.setText(f"{film.rate} frames a second · {size} · starts {start}")

    def _show_sheet(self, entry_id: str) -> None:
        entry = self.bench.session.film.entries().get(entry_id)
        # Another scene ends the playing; the playhead is to stand then where it was heard last.
        plays_film = self._plays_film()
        if isinstance(entry, Scene):
            self.bench.cut.open(entry.id)
            self.scene_sheet.show_scene(entry.id)
            self._sheets.setCurrentWidget(self.scene_sheet)
        elif isinstance(entry, Card):
            self.card_sheet.show_card(entry.id)
            self._sheets.setCurrentWidget(self.card_sheet)
        else:
            self._sheets.setCurrentWidget(self.film_sheet)
        if not plays_film:
            self._bring_playhead(entry_id)

    def _plays_film(self) -> bool:
        player = self.picture.viewer.player
        return player.is_playing and player.kind is Kind.FILM

    def _bring_playhead(self, entry_id: str) -> None:
        """Put the playhead on the first frame of what is chosen, where it stands outside of it."""
        frames = self._places.frames(entry_id)
        if frames and self.bench.choice.frame not in frames:
            self.bench.choice.go_to(frames.start)

    def _show_saved(self) -> None:
        saving = self.bench.saving
        if self.bench.session.read_only:
            text, kind = "open for reading only", "open"
        elif saving.fault is not None and not saving.is_saved:
            text, kind = "not saved", "fault"
        else:
            text, kind = ("saved" if saving.is_saved else "saving…"), "small"
        self._saved.setText(text)
        self._saved.setToolTip(self.bench.session.read_only or str(saving.fault or ""))
        set_kind(self._saved, kind)

    def resizeEvent(self, event: QResizeEvent) -> None:
        # What the film is made in says itself again on its sheet; a narrow bar has no room for it.
        self._format.setVisible(event.size().width() >= 900)
        super().resizeEvent(event)


def _ancestors(widget: QWidget, page: QWidget) -> Iterator[QWidget]:
    """Return the widgets around a widget, from the inside, up to a page."""
    around = widget.parentWidget()
    while around is not None and around is not page:
        yield around
        around = around.parentWidget()
