"""Changes the join after an entry, live: what is set is in the film at once, and is one step to undo."""

import dataclasses

from PySide6.QtCore import QElapsedTimer, QPoint, Qt
from PySide6.QtGui import QCloseEvent, QMouseEvent
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QButtonGroup,
    QDialog,
    QFormLayout,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QRadioButton,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from desk.film import edits
from desk.film.edits import Edit
from desk.film.model import CUT, Film, Join, JoinKind
from desk.film.timing import JoinRoom, fitting_join
from desk.film.wording import entry_name, sentence
from desk.ui.bench import Bench
from desk.ui.order.gaps import lengths_of, most_of, places, room_after, shortage
from desk.ui.order.join_picture import JoinPicture

_KINDS = {
    JoinKind.CUT: "Cut",
    JoinKind.DISSOLVE: "Dissolve",
    JoinKind.THROUGH_BLACK: "Fade through black",
}
_WIDTH_PX = 368
LINE_PX = 17


def frames_field(name: str, parent: QWidget, most: int = 9_999) -> QSpinBox:
    """Return a field for a number of frames."""
    field = QSpinBox(parent)
    field.setRange(0, most)
    field.setSuffix(" frames")
    field.setAccessibleName(name)
    field.setAlignment(Qt.AlignmentFlag.AlignRight)
    return field


def told_label(parent: QWidget, *, lines: int) -> QLabel:
    """Return a label with room for so many lines, so that nothing moves when its words change."""
    label = QLabel(parent)
    label.setWordWrap(True)
    label.setAlignment(Qt.AlignmentFlag.AlignTop)
    label.setMinimumHeight(lines * LINE_PX)
    return label


class Popup(QDialog):
    """A small dialog beside what it changes; it closes when the person goes on with something else."""

    def __init__(self, title: str, parent: QWidget | None) -> None:
        super().__init__(parent, Qt.WindowType.Popup)
        self._shown_for = QElapsedTimer()
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle(title)
        self.setAccessibleName(title)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        frame = QFrame(self)
        frame.setProperty("kind", "shelf")
        outer.addWidget(frame)
        self.column = QVBoxLayout(frame)
        self.column.setContentsMargins(12, 12, 12, 12)
        self.column.setSpacing(8)
        self.heading = QLabel(title, frame)
        self.heading.setWordWrap(True)
        self.column.addWidget(self.heading)
        self.setFixedWidth(_WIDTH_PX)

    def show_at(self, place: QPoint) -> None:
        """Show it at a place on the screen, or as near as it fits.

        Args:
            place: Where its upper left corner goes.
        """
        self.adjustSize()
        screen = self.screen().availableGeometry()
        left = max(screen.left(), min(place.x(), screen.right() - self.width()))
        top = max(screen.top(), min(place.y(), screen.bottom() - self.height()))
        self.move(left, top)
        self._shown_for.start()
        self.show()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        # The second click of two on what opens it stands beside it, and would close it again.
        is_second = not self._shown_for.hasExpired(QApplication.doubleClickInterval())
        if self.rect().contains(event.position().toPoint()) or not is_second:
            super().mousePressEvent(event)


class JoinEditor(Popup):
    """Changes how an entry meets the next."""

    def __init__(self, bench: Bench, entry_id: str, parent: QWidget | None = None) -> None:
        film = bench.session.film
        super().__init__(f"Join after {entry_name(film.entry(entry_id))}", parent)
        self._bench = bench
        self._entry_id = entry_id
        self._last_length = film.rate.nominal
        self.kinds = QButtonGroup(self)
        for kind, text in _KINDS.items():
            button = QRadioButton(text, self)
            self.kinds.addButton(button, list(_KINDS).index(kind))
            self.column.addWidget(button)
        self.picture = JoinPicture(bench.theme, self)
        self.column.addWidget(self.picture)
        self.length = frames_field("Length, half before the cut and half after", self)
        self.before = frames_field("Frames before the cut", self)
        self.after = frames_field("Frames after the cut", self)
        form = QFormLayout()
        form.setHorizontalSpacing(12)
        form.addRow("Length, centred", self.length)
        form.addRow("Before the cut", self.before)
        form.addRow("After the cut", self.after)
        self.column.addLayout(form)
        self.told = told_label(self, lines=3)
        self.column.addWidget(self.told)
        self.fit = QPushButton("Use what fits", self)
        self.done_button = QPushButton("Done", self)
        self.done_button.setProperty("kind", "main")
        self.done_button.setDefault(True)
        buttons = QHBoxLayout()
        buttons.addWidget(self.fit)
        buttons.addStretch(1)
        buttons.addWidget(self.done_button)
        self.column.addLayout(buttons)
        self._refresh()
        self.kinds.idClicked.connect(self._on_kind)
        self.length.valueChanged.connect(self._on_length)
        self.before.valueChanged.connect(self._on_sides)
        self.after.valueChanged.connect(self._on_sides)
        self.fit.clicked.connect(self._on_fit)
        self.done_button.clicked.connect(self.close)
        bench.session.changed.connect(self._on_changed)
        bench.media.changed.connect(self._refresh)
        self._kind_button(self.join.kind).setFocus()

    @property
    def join(self) -> Join:
        """The join as the film has it."""
        film = self._bench.session.film
        return next((item.join for item in film.order if item.entry == self._entry_id), CUT)

    def room(self) -> JoinRoom | None:
        """Return what there is for the join, or None where nothing follows."""
        film = self._bench.session.film
        index = next((at for at, item in enumerate(film.order) if item.entry == self._entry_id), -1)
        if index < 0:
            return None
        order = places(film, lengths_of(film))
        return room_after(order, index, film, self._bench.media.source_seconds())

    def _kind_button(self, kind: JoinKind) -> QAbstractButton:
        return self.kinds.buttons()[list(_KINDS).index(kind)]

    def _set(self, join: Join) -> None:
        if join == self.join:
            return
        entry_id = self._entry_id

        def make(film: Film) -> Edit:
            return edits.set_join(film, entry_id, join)

        self._bench.session.do(make, merge=f"join {entry_id}")
        self._refresh()

    def _on_kind(self, number: int) -> None:
        kind = list(_KINDS)[number]
        if kind is JoinKind.CUT:
            self._set(CUT)
            return
        if self.join.kind is not JoinKind.CUT:
            self._set(dataclasses.replace(self.join, kind=kind))
            return
        wanted = _centred(kind, self._last_length)
        if room := self.room():
            fits = fitting_join(wanted, room)
            wanted = fits if fits.kind is kind else wanted
        self._set(wanted)

    def _on_length(self, frames: int) -> None:
        self._set(_centred(self.join.kind, frames))

    def _on_sides(self) -> None:
        before, after = self.before.value(), self.after.value()
        if not before and not after:
            # A join of no frames is a cut: the side that was not touched keeps one.
            before, after = (0, 1) if self.sender() is self.before else (1, 0)
        self._set(Join(kind=self.join.kind, before_frames=before, after_frames=after))

    def _on_fit(self) -> None:
        room = self.room()
        if room is not None:
            self._set(fitting_join(self.join, room))

    def _on_changed(self, film: Film) -> None:
        if all(item.entry != self._entry_id for item in film.order):
            self.close()
        else:
            self._refresh()

    def _refresh(self) -> None:
        """Show the join as it is; a field that says so already is left alone, so that typing goes on."""
        join, room = self.join, self.room()
        if join.length_frames:
            self._last_length = join.length_frames
        self._kind_button(join.kind).setChecked(True)
        is_cut = join.kind is JoinKind.CUT
        for field, frames in (
            (self.length, join.length_frames),
            (self.before, join.before_frames),
            (self.after, join.after_frames),
        ):
            blocked = field.blockSignals(True)
            field.setEnabled(not is_cut)
            field.setSpecialValueText("–" if is_cut else "")
            field.setMinimum(0 if is_cut or field is not self.length else 1)
            if field.value() != frames:
                field.setValue(frames)
            field.blockSignals(blocked)
        self.picture.show_join(join, room)
        told, is_fault = told_of_room(join, room)
        self.told.setText(told)
        self.told.setProperty("kind", "fault" if is_fault else "dim")
        self.told.style().polish(self.told)
        self.fit.setEnabled(is_fault)

    def closeEvent(self, event: QCloseEvent) -> None:
        self._bench.session.end_gesture()
        super().closeEvent(event)


def told_of_room(join: Join, room: JoinRoom | None) -> tuple[str, bool]:
    """Return what the footage allows of a join in sentences, and whether the join does not fit."""
    if room is None:
        return "Nothing follows it yet; the join waits until something does.", False
    if join.kind is JoinKind.CUT:
        return "A cut needs no handles.", False
    before, after = most_of(join.kind, room)
    what = "footage" if join.kind is JoinKind.DISSOLVE else "length of the scenes"
    allows = f"The {what} allows at most {before:,} before the cut and {after:,} after it."
    if short := shortage(join, room):
        return f"{sentence(short)}. {allows}", True
    return allows, False


def _centred(kind: JoinKind, length_frames: int) -> Join:
    half = length_frames // 2
    return Join(kind=kind, before_frames=half, after_frames=length_frames - half)
