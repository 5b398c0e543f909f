"""The picture of the film on the strip, kept and drawn anew only where the film looks different."""

import math
import time

from PySide6.QtCore import QObject, QRectF, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QPainter, QPixmap

from desk.film.model import Scene
from desk.ui.bench import Bench
from desk.ui.look.marks import Mark
from desk.ui.strip.cells import Cell, cells_of, changed_columns
from desk.ui.strip.colour_rows import ColourRows
from desk.ui.strip.drawing import HEIGHT_PX, REACH_PX, StripDrawing
from desk.ui.strip.geometry import Span

_MOMENT_PX = 2
"""Least width of one colour."""

_SLICE_SECONDS = 0.006
"""What can wait, colours and broken locks, is done in slices that leave the window its frame."""

_LATER_MS = 60
_AFTER_EDIT_MS = 250
"""Colours are refined when the person pauses, so that one edit after the other is on the screen at once."""


class FilmPicture(QObject):
    """What the strip shows, without what moves over it.

    Signals:
        laid: The entries, or where they are, are others now.
        stale: A part is to be painted anew: a QRectF in device-independent pixels.
    """

    laid = Signal()
    stale = Signal(object)

    def __init__(self, bench: Bench, parent: QObject) -> None:
        super().__init__(parent)
        self._bench = bench
        self._width_px = 1
        self._ratio = 1.0
        self.film = bench.session.film
        self._cells: tuple[Cell, ...] = ()
        self._fades = (0, 0)
        self._rows = ColourRows(bench.thumbnails)
        self._marks: dict[str, tuple[Scene | None, Mark]] = {}
        self._pixmap = QPixmap()
        self._stale: QRectF | None = None
        self._waiting: dict[str, None] = {}
        self._later = QTimer(self, singleShot=True)
        self._later.timeout.connect(self._do_a_slice)
        bench.session.changed.connect(self._on_changed)
        bench.statuses.changed.connect(self._on_statuses_changed)
        bench.thumbnails.made.connect(self._on_thumbnails_made)
        bench.theme.changed.connect(self._on_theme_changed)

    @property
    def cells(self) -> tuple[Cell, ...]:
        """What is shown, in order; spans are in pixels of the screen."""
        return self._cells

    @property
    def spans(self) -> tuple[Span, ...]:
        """Where each entry is, in pixels of the screen."""
        return tuple(cell.span for cell in self._cells)

    @property
    def total_frames(self) -> int:
        """Running time; 0 for an empty film."""
        return self._cells[-1].span.end_frames if self._cells else 0

    @property
    def width_px(self) -> int:
        """How many pixels of the screen it is wide."""
        return self._width_px

    @property
    def ratio(self) -> float:
        """Pixels of the screen in a device-independent one."""
        return self._ratio

    def fit(self, width: int, ratio: float) -> None:
        """Take another width.

        Args:
            width: Device-independent pixels.
            ratio: Pixels of the screen in one of them.
        """
        self._width_px, self._ratio = max(1, round(width * ratio)), ratio
        self._lay()

    def pixmap(self) -> QPixmap:
        """Return the picture as it is now."""
        size = QSize(self._width_px, round(HEIGHT_PX * self._ratio))
        if self._pixmap.size() != size or self._pixmap.devicePixelRatio() != self._ratio:
            self._pixmap = QPixmap(size)
            self._pixmap.setDevicePixelRatio(self._ratio)
            self._pixmap.fill(Qt.GlobalColor.transparent)
            self._stale = self._area(0, self._width_px)
        if self._stale is not None:
            film, look = self.film, self._bench.theme.palette
            painter = QPainter(self._pixmap)
            drawing = StripDrawing(film, self._cells, self._rows, look, self._ratio)
            drawing.paint(painter, QRectF(self._stale.toAlignedRect()))
            painter.end()
            self._stale = None
        return self._pixmap

    def _lay(self) -> None:
        # Others may ask before this has followed a change: what is laid out belongs to this film.
        film = self.film = self._bench.session.film
        entries = film.entries()
        before, fades = self._cells, self._fades
        self._fades = film.fade_in_frames, film.fade_out_frames
        self._cells = cells_of(film, self._width_px, self._mark)
        for cell in self._cells:
            entry = entries[cell.span.entry]
            if isinstance(entry, Scene) and self._rows.is_stale(entry, cell.span.width_px):
                self._do_later(entry.id)
        shown = {cell.span.entry for cell in self._cells}
        self._rows.keep(shown)
        self._marks = {name: known for name, known in self._marks.items() if name in shown}
        if columns := changed_columns(before, self._cells):
            joins_px = max(self._longest_join_px(before), self._longest_join_px(self._cells))
            self._make_stale(columns[0] - joins_px, columns[1] + joins_px)
            self.laid.emit()
        if fades != self._fades:
            self._make_stale(0, self._width_px)

    def _longest_join_px(self, cells: tuple[Cell, ...]) -> int:
        frames = max((cell.join.length_frames for cell in cells), default=0)
        return math.ceil(frames * self._width_px / cells[-1].span.end_frames) if frames else 0

    def _mark(self, scene: Scene) -> Mark:
        if scene.lock is None:
            return Mark.DRAFT if scene.content.clips else Mark.SLATE
        if self._known_of(scene.id) is not scene:
            # Whether a lock holds takes a while to find out.
            self._do_later(scene.id)
        known = self._marks.get(scene.id)
        return known[1] if known else Mark.LOCKED

    def _known_of(self, scene_id: str) -> Scene | None:
        known = self._marks.get(scene_id)
        return known[0] if known else None

    def _make_stale(self, left_px: int, right_px: int) -> None:
        area = self._area(left_px, right_px)
        self._stale = area if self._stale is None else self._stale | area
        self.stale.emit(area)

    def _area(self, left_px: int, right_px: int) -> QRectF:
        left, right = left_px / self._ratio, right_px / self._ratio
        return QRectF(left - REACH_PX, 0, right - left + 2 * REACH_PX, HEIGHT_PX)

    def _do_later(self, scene_id: str) -> None:
        self._waiting[scene_id] = None
        if not self._later.isActive():
            self._later.start(_LATER_MS)

    def _do_a_slice(self) -> None:
        until = time.perf_counter() + _SLICE_SECONDS
        spans = {span.entry: span for span in self.spans}
        entries = self._bench.session.film.entries()
        moment_px = max(1, round(_MOMENT_PX * self._ratio))
        marked = False
        while self._waiting and time.perf_counter() < until:
            scene_id = next(iter(self._waiting))
            del self._waiting[scene_id]
            scene, span = entries.get(scene_id), spans.get(scene_id)
            if not isinstance(scene, Scene) or span is None:
                continue
            if self._rows.is_wanted(scene, span.width_px):
                self._rows.make(scene, span.width_px, moment_px)
                self._make_stale(span.left_px, span.right_px)
            if scene.lock and self._known_of(scene_id) is not scene:
                self._marks[scene_id] = (scene, self._bench.statuses.mark(scene))
                marked = True
        if marked:
            self._lay()
        if self._waiting:
            self._later.start(_LATER_MS)

    def _on_changed(self) -> None:
        self._lay()
        if self._waiting:
            self._later.start(_AFTER_EDIT_MS)

    def _on_statuses_changed(self, scene_ids: frozenset[str]) -> None:
        for scene_id in scene_ids & self._marks.keys():
            # The mark stays until it is known whether another takes its place.
            self._marks[scene_id] = (None, self._marks[scene_id][1])
            self._do_later(scene_id)

    def _on_thumbnails_made(self, source: str) -> None:
        for scene_id in self._rows.waiting_for(source):
            self._do_later(scene_id)

    def _on_theme_changed(self) -> None:
        self._make_stale(0, self._width_px)
