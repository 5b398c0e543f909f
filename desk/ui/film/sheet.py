"""The film's own sheet, shown when no entry is chosen."""

from PySide6.QtGui import QResizeEvent, QShowEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QVBoxLayout, QWidget

from desk.film.edits import Change
from desk.film.model import Film
from desk.ui.bench import Bench
from desk.ui.film.about import LooksSection, PeopleSection, TitleSection
from desk.ui.film.copies import CopiesSection
from desk.ui.film.delivery import DeliverySection
from desk.ui.film.frame import FrameSection
from desk.ui.film.loudness import LoudnessSection
from desk.ui.film.obstacles import ObstaclesSection
from desk.ui.sheet.page import GAP_PX, WIDE_PX, ColumnPage, ScrolledPage


class FilmSheet(QFrame):
    """The sheet of the film as a whole: how it stands on the left, what it is on the right or below."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("kind", "panel")
        self.setAccessibleName("The film")
        self._bench = bench
        self._is_wide: bool | None = None
        self._is_stale = True
        inside = QWidget(self)
        self._left, self._right = ColumnPage(inside), ColumnPage(inside)
        self.title = TitleSection(bench, self._left)
        self.obstacles = ObstaclesSection(bench, self._left)
        self.copies = CopiesSection(bench, self._left)
        self.loudness = LoudnessSection(bench, self._left)
        self.frame = FrameSection(bench, self._left)
        self.people = PeopleSection(bench, self._left)
        self.delivery = DeliverySection(bench, self._left)
        self.looks = LooksSection(bench, self._left)
        self._standing = (self.title, self.obstacles, self.copies, self.loudness)
        self._being = (self.frame, self.people, self.delivery, self.looks)
        columns = QHBoxLayout(inside)
        columns.setContentsMargins(0, 0, 0, 0)
        columns.setSpacing(GAP_PX)
        columns.addWidget(self._left, 1)
        columns.addWidget(self._right, 1)
        page = QVBoxLayout(self)
        page.setContentsMargins(GAP_PX, GAP_PX, GAP_PX, GAP_PX)
        page.addWidget(ScrolledPage(inside, "The film", self))
        for section in (*self._standing, *self._being):
            section.set_read_only(bench.session.read_only)
        self._arrange(wide=False)
        bench.session.changed.connect(self._on_changed)

    def _show(self) -> None:
        self._is_stale = False
        film = self._bench.session.film
        for section in (*self._standing, *self._being):
            section.show_film(film)

    def _on_changed(self, _: Film, __: Change) -> None:
        if self.isVisible():
            self._show()
        else:
            self._is_stale = True

    def _arrange(self, *, wide: bool) -> None:
        if wide == self._is_wide:
            return
        self._is_wide = wide
        if wide:
            self._left.take(self._standing)
            self._right.take(self._being)
        else:
            self._left.take((*self._standing, *self._being))
        self._right.setVisible(wide)

    def resizeEvent(self, event: QResizeEvent) -> None:
        self._arrange(wide=event.size().width() >= WIDE_PX)
        super().resizeEvent(event)

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        if self._is_stale:
            self._show()
