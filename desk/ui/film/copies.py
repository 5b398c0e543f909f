"""The part of the film's sheet that lists the review copies made so far."""

import functools
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt, QUrl
from PySide6.QtGui import QDesktopServices, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableView, QWidget

from desk.assembly.copies import find_copy
from desk.assembly.copy_sound import CopySound, read_copy_sound
from desk.film.model import Film, ReviewCopy
from desk.film.rates import Rate
from desk.film.timecode import format_length
from desk.film.timing import Include
from desk.jobs import CancelToken, ProgressListener
from desk.ui.bench import Bench
from desk.ui.film.section import FilmSection
from desk.ui.labels import note, say
from desk.ui.look.theme import Theme
from desk.ui.loudness.copy_view import CopySoundView
from desk.ui.sheet.page import row_of

Index = QModelIndex | QPersistentModelIndex

_SHOWN = Qt.ItemDataRole.DisplayRole
_NOWHERE = QModelIndex()
_ROW_PX = 28
_MOST_ROWS = 8
_HEADS = ("No.", "Made", "Length", "With", "File")
_INCLUDED = {
    Include.LOCKED.value: "locked scenes",
    Include.ALL.value: "drafts too",
    Include.SLATES.value: "slates for drafts",
}
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")

Places = Mapping[int, Path | None]
"""Where copies are, by their number; None for one that is not found. The others were not looked for."""


class CopiesModel(QAbstractTableModel):
    """Review copies, the newest first."""

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._theme = theme
        self._copies: tuple[ReviewCopy, ...] = ()
        self._places: Places = {}
        self._rate = Rate(24)

    def show_copies(self, copies: tuple[ReviewCopy, ...], rate: Rate) -> None:
        """Show other copies."""
        self.beginResetModel()
        self._copies, self._rate = copies[::-1], rate
        self.endResetModel()

    def show_places(self, places: Places) -> None:
        """Show where they are."""
        self._places = places
        if self._copies:
            self.dataChanged.emit(self.index(0, 0), self.index(len(self._copies) - 1, len(_HEADS) - 1))

    def copy_at(self, row: int) -> ReviewCopy | None:
        """Return the copy of a row, or None."""
        return self._copies[row] if 0 <= row < len(self._copies) else None

    def place_of(self, copy: ReviewCopy) -> Path | None:
        """Return where a copy is, as far as is known."""
        return self._places.get(copy.number)

    def is_gone(self, copy: ReviewCopy) -> bool:
        """Return whether a copy was looked for and not found."""
        return copy.number in self._places and self._places[copy.number] is None

    def rowCount(self, parent: Index = _NOWHERE) -> int:
        return 0 if parent.isValid() else len(self._copies)

    def columnCount(self, parent: Index = _NOWHERE) -> int:
        return 0 if parent.isValid() else len(_HEADS)

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = _SHOWN) -> object:
        if orientation is Qt.Orientation.Horizontal and role == _SHOWN:
            return _HEADS[section]
        return None

    def data(self, index: Index, role: int = _SHOWN) -> object:
        copy = self.copy_at(index.row()) if index.isValid() else None
        if copy is None:
            return None
        if role == _SHOWN:
            return self._cells(copy)[index.column()]
        if role == Qt.ItemDataRole.ToolTipRole:
            return told_gone(copy) if self.is_gone(copy) else str(self.place_of(copy) or copy.file)
        if role == Qt.ItemDataRole.ForegroundRole and index.column() == len(_HEADS) - 1:
            return self._theme.colour("broken_text" if self.is_gone(copy) else "dim")
        return None

    def _cells(self, copy: ReviewCopy) -> tuple[str, ...]:
        name = copy.file.rpartition("/")[2]
        return (
            str(copy.number),
            shown_date(copy.date),
            format_length(copy.frames, self._rate),
            _INCLUDED.get(copy.include, copy.include),
            f"not found: {name}" if self.is_gone(copy) else name,
        )


class CopiesSection(FilmSection):
    """The review copies made so far, to play and to find."""

    def __init__(self, bench: Bench, parent: QWidget) -> None:
        super().__init__("Review copies", bench, parent)
        self._shown: tuple[object, ...] = ()
        self._looking: tuple[ReviewCopy, ...] | None = None
        self.model = CopiesModel(bench.theme, self)
        self.view = _CopiesView(self.model, self)
        self.play = self.add_button("Play", name="Play the review copy")
        self.folder = self.add_button("Open folder", name="Open the folder of the review copy")
        for button in (self.play, self.folder):
            self.body.removeWidget(button)
        self.told = note("small", self)
        self.sound = CopySoundView(bench, self)
        self._sounds: dict[Path, CopySound | None] = {}
        self.body.addWidget(self.view)
        self.body.addLayout(row_of(self.play, self.folder, spacing_px=4))
        self.body.addWidget(self.told)
        self.body.addWidget(self.sound)
        self.play.clicked.connect(self.play_chosen)
        self.folder.clicked.connect(self.open_folder)
        self.view.activated.connect(self.play_chosen)
        self.view.selectionModel().currentRowChanged.connect(self._say)

    def show_film(self, film: Film) -> None:
        shown = (film.review_copies, film.rate)
        if shown != self._shown:
            self._shown = shown
            self.model.show_copies(film.review_copies, film.rate)
            self.view.fit()
            self.view.setVisible(bool(film.review_copies))
            if film.review_copies:
                self.view.selectRow(0)
            self.look()
        self._say()

    def look(self) -> None:
        """Look beside the window whether the files are still where they were."""
        copies = self.bench.session.film.review_copies
        if not copies or self._looking is copies:
            return
        self._looking = copies
        work = functools.partial(_find, copies, self.bench.session.folder)
        job = self.bench.jobs.start("look for review copies", work)
        job.succeeded.connect(self._on_found)
        job.finished.connect(self._on_looked)

    def play_chosen(self) -> None:
        """Play the chosen copy with the program that the machine plays such files with."""
        copy, place = self._chosen()
        if copy is None or place is None:
            return
        if not place.is_file():
            self.look()
        elif not QDesktopServices.openUrl(QUrl.fromLocalFile(str(place))):
            self.bench.messages.notice(f"This machine has no program that plays “{place.name}”.", urgent=True)

    def open_folder(self) -> None:
        """Show the folder of the chosen copy in the platform's file browser."""
        _, place = self._chosen()
        if place is not None and not QDesktopServices.openUrl(QUrl.fromLocalFile(str(place.parent))):
            self.bench.messages.notice(f"The folder “{place.parent}” could not be opened.", urgent=True)

    def _chosen(self) -> tuple[ReviewCopy | None, Path | None]:
        copy = self.model.copy_at(self.view.currentIndex().row())
        return copy, self.model.place_of(copy) if copy else None

    def _on_found(self, found: object) -> None:
        assert isinstance(found, _Found)
        if found.copies is self.bench.session.film.review_copies:
            self.model.show_places(found.places)
            self._say()

    def _on_looked(self) -> None:
        self._looking = None

    def _say(self) -> None:
        copy, place = self._chosen()
        for button in (self.play, self.folder):
            button.setVisible(copy is not None)
            button.setEnabled(place is not None)
        if copy is None:
            say(self.told, "None yet. “Assemble…” makes one, for other people's eyes.")
        elif self.model.is_gone(copy):
            say(self.told, told_gone(copy))
        else:
            say(self.told, str(place.parent) if place else "")
        self._show_sound(place)

    def _show_sound(self, place: Path | None) -> None:
        """Show what the manifest of a copy tells of its sound, once it was read beside the window."""
        self.sound.show_sound(self._sounds.get(place) if place else None)
        if place is None or place in self._sounds:
            return
        self._sounds[place] = None
        try:
            job = self.bench.jobs.start("read a manifest", functools.partial(_read_sound, place))
        except RuntimeError:
            return  # the window is being closed
        job.succeeded.connect(self._on_sound_read)

    def _on_sound_read(self, read: object) -> None:
        assert isinstance(read, _ReadSound)
        self._sounds[read.place] = read.sound
        _, place = self._chosen()
        if place == read.place:
            self.sound.show_sound(read.sound)

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.look()


class _CopiesView(QTableView):
    """A table of review copies, as high as its rows up to a limit."""

    def __init__(self, model: CopiesModel, parent: QWidget) -> None:
        super().__init__(parent)
        self.setModel(model)
        self.setAccessibleName("Review copies")
        self.setShowGrid(False)
        self.setWordWrap(False)
        self.setTabKeyNavigation(False)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.verticalHeader().hide()
        self.verticalHeader().setDefaultSectionSize(_ROW_PX)
        head = self.horizontalHeader()
        head.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        head.setHighlightSections(False)
        head.setSectionsClickable(False)
        head.setMinimumSectionSize(36)

    def fit(self) -> None:
        """Take the height of the rows."""
        rows = min(max(1, self.model().rowCount()), _MOST_ROWS)
        self.setFixedHeight(rows * _ROW_PX + self.horizontalHeader().sizeHint().height() + 2)
        self._fit_columns()

    def _fit_columns(self) -> None:
        head = self.horizontalHeader()
        for column in range(len(_HEADS) - 1):
            head.setSectionResizeMode(column, QHeaderView.ResizeMode.ResizeToContents)
        head.setSectionResizeMode(len(_HEADS) - 1, QHeaderView.ResizeMode.Stretch)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit_columns()


def shown_date(text: str) -> str:
    """Return an ISO 8601 date as a person writes it: `21 Nov 2026`."""
    try:
        day = date.fromisoformat(text[:10])
    except ValueError:
        return text
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def told_gone(copy: ReviewCopy) -> str:
    """Return that a copy was not found, and where it was looked for."""
    folder, _, name = copy.file.rpartition("/")
    if not folder:
        return f"“{name}” is not in the project folder, and the film does not remember where else it is."
    return f"“{name}” is not in “{folder}” any more; it was moved, renamed or deleted."


@dataclass(frozen=True, slots=True)
class _Found:
    copies: tuple[ReviewCopy, ...]
    places: Places


@dataclass(frozen=True, slots=True)
class _ReadSound:
    place: Path
    sound: CopySound | None


def _read_sound(place: Path, _: ProgressListener, __: CancelToken) -> _ReadSound:
    return _ReadSound(place, read_copy_sound(place))


def _find(copies: tuple[ReviewCopy, ...], folder: Path, _: ProgressListener, cancel: CancelToken) -> _Found:
    places: dict[int, Path | None] = {}
    for copy in copies:
        cancel.check()
        places[copy.number] = find_copy(copy, folder)
    return _Found(copies, places)
