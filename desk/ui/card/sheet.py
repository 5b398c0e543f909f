"""The sheet of a card: its picture as it will be rendered, and all that decides it."""

from pathlib import Path

from PySide6.QtCore import QMimeData
from PySide6.QtGui import QDragEnterEvent, QDropEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QVBoxLayout, QWidget

from desk.film.edits import Change
from desk.film.filling import shown_card
from desk.film.model import Card, CardKind, Film
from desk.film.reading import card_frames, kind_name
from desk.film.timecode import format_label, format_length
from desk.film.timing import Include, lay_out
from desk.ui.bench import Bench
from desk.ui.card.credits_section import CreditsSection
from desk.ui.card.lasting import LastingSection
from desk.ui.card.preview import Preview
from desk.ui.card.sections import PICTURE_SUFFIXES, BehindSection, WordsSection
from desk.ui.card.still import Sitting
from desk.ui.look.marks import Mark
from desk.ui.sheet.page import GAP_PX, WIDE_PX, ColumnPage, ScrolledPage, SheetHead

_PREVIEW_SHARE = 0.38
"""Most of the sheet's height that the picture takes, so that there is room to write below it."""


class CardSheet(QFrame):
    """The sheet of one card.

    The picture stays in sight above the text; the rest scrolls below it, or beside it where there is room.
    """

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("kind", "panel")
        self.setAccessibleName("Card")
        self.setAcceptDrops(True)
        self._bench = bench
        self._card_id = ""
        self._card: Card | None = None
        self._shown_of: tuple[object, ...] = ()
        self._is_wide: bool | None = None
        self.head = SheetHead(Mark.CARD, bench.theme, self)
        self.preview = Preview(bench.jobs, bench.theme, self)
        self._main = ColumnPage(self)
        self._side = ColumnPage(self)
        self.words = WordsSection(bench, self)
        self.credits = CreditsSection(bench, self)
        self.lasting = LastingSection(bench, self)
        self.behind = BehindSection(bench, self)
        self._sections = (self.words, self.credits, self.lasting, self.behind)
        self._scroll = ScrolledPage(self._main, "Card", self)
        self._side_scroll = ScrolledPage(self._side, "Look and length of the card", self)
        left = QVBoxLayout()
        left.setSpacing(GAP_PX)
        left.addWidget(self.preview)
        left.addWidget(self._scroll, 1)
        body = QHBoxLayout()
        body.setSpacing(GAP_PX)
        body.addLayout(left, 1)
        body.addWidget(self._side_scroll, 1)
        page = QVBoxLayout(self)
        page.setContentsMargins(GAP_PX, GAP_PX, GAP_PX, GAP_PX)
        page.setSpacing(GAP_PX)
        page.addWidget(self.head)
        page.addLayout(body, 1)
        for section in self._sections:
            section.set_read_only(bench.session.read_only)
        self._arrange(wide=False)
        bench.session.changed.connect(self._on_changed)
        bench.media.changed.connect(self._on_media_changed)

    @property
    def card_id(self) -> str:
        """Id of the card that is shown, or ""."""
        return self._card_id

    def show_card(self, card_id: str) -> None:
        """Show a card of the film."""
        anew = card_id != self._card_id
        if anew:
            self._bench.session.end_gesture()
        self._card_id = card_id
        self._show(anew=anew)

    def _show(self, *, anew: bool) -> None:
        film = self._bench.session.film
        card = next((card for card in film.cards if card.id == self._card_id), None)
        if card is None:
            return
        self._show_head(card, film)
        shown_of = (film.rate, film.size, film.people, film.scenes, film.order)
        if not anew and card is self._card and shown_of == self._shown_of:
            return
        self._card, self._shown_of = card, shown_of
        self.credits.setVisible(card.kind is CardKind.CREDITS or bool(card.credits))
        for section in self._sections:
            section.show_card(card, film, anew=anew)
        picture = self._bench.session.folder / card.picture if card.picture else None
        self.preview.show_card(Sitting(shown_card(card, film), film.size, picture), film.rate)

    def _show_head(self, card: Card, film: Film) -> None:
        layout = lay_out(film, Include.SLATES)
        slot = next((slot for slot in layout.slots if slot.entry.id == card.id), None)
        if slot is not None:
            start = film.start_frames + slot.start_frames
            place = f"starts at {format_label(start, film.rate, drop_frame=film.drop_frame)}"
        elif any(aside.entry == card.id for aside in film.aside):
            place = "set aside"
        else:
            place = dict(layout.left_out).get(card.id, "not in the film")
        length = format_length(card_frames(shown_card(card, film), film.rate, film.size), film.rate)
        self.head.show_line(kind_name(card), length, place)

    def _on_changed(self, _: Film, __: Change) -> None:
        if self._card_id and self.isVisible():
            self._show(anew=False)

    def _on_media_changed(self, paths: frozenset[str]) -> None:
        if self._card is not None and self._card.picture in paths:
            self.preview.draw_again()

    def _arrange(self, *, wide: bool) -> None:
        """Put the sections in two columns, or in one."""
        if wide == self._is_wide:
            return
        self._is_wide = wide
        if wide:
            self._main.take(self._sections[:1])
            self._side.take(self._sections[1:])
        else:
            self._main.take(self._sections)
        self._side_scroll.setVisible(wide)

    def showEvent(self, event: QShowEvent) -> None:
        # What changed while another sheet was shown.
        self._show(anew=False)
        super().showEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        self._arrange(wide=event.size().width() >= WIDE_PX)
        self.preview.set_most_height(round(event.size().height() * _PREVIEW_SHARE))
        super().resizeEvent(event)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        if self._dropped(event.mimeData()) is not None:
            event.acceptProposedAction()
        else:
            event.ignore()

    def dropEvent(self, event: QDropEvent) -> None:
        picture = self._dropped(event.mimeData())
        if picture is None:
            event.ignore()
            return
        event.acceptProposedAction()
        self.behind.take_picture(str(picture))

    def _dropped(self, data: QMimeData) -> Path | None:
        """Return the picture that is dragged, or None."""
        urls = data.urls()
        if len(urls) != 1 or not urls[0].isLocalFile() or self._bench.session.read_only or not self._card_id:
            return None
        path = Path(urls[0].toLocalFile())
        return path if path.suffix.lower() in PICTURE_SUFFIXES else None
