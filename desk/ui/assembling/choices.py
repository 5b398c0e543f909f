"""What the person chooses of an assembly: scenes, size, folder and what else is written."""

from pathlib import Path

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtWidgets import (
    QAbstractButton,
    QButtonGroup,
    QCheckBox,
    QFileDialog,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QRadioButton,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from desk.assembly.planning import copy_size
from desk.film.model import Film
from desk.film.timing import Include
from desk.ui.assembling.wishes import Wishes
from desk.ui.assembling.wording import shown_size
from desk.ui.bench import Bench
from desk.ui.look.icons import icon

_TYPING_MS = 400
"""A folder that is being typed is looked at when the person pauses."""

_SCENES = (
    (Include.LOCKED, "Locked scenes only"),
    (Include.ALL, "Drafts too"),
    (Include.SLATES, "A slate for each scene that is not locked"),
)


class Choices(QWidget):
    """The choices, and nothing of what comes of them.

    Signals:
        changed: Something else is wanted; see `wishes`.
    """

    changed = Signal()

    def __init__(self, bench: Bench, wishes: Wishes, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._wishes = wishes
        self.scenes = {way: QRadioButton(text) for way, text in _SCENES}
        self.review = QRadioButton()
        self.full = QRadioButton()
        self.folder = QLineEdit(str(wishes.out))
        self.choose_button = QPushButton("Choose…")
        self.more_button = QToolButton()
        self.stems = QCheckBox("Stems too (dialogue, music, effects)")
        self.flat = QCheckBox("Timeline file without nested scenes")
        self.bundle = QCheckBox("Also a bundle of it with all media")
        self._scenes_heading = _heading("Scenes")
        self._more = QWidget()
        self._typing = QTimer(self, singleShot=True, interval=_TYPING_MS)
        self._typing.timeout.connect(self._take)
        self._set_up()
        self._arrange()
        self.show_film(bench.session.film)

    @property
    def wishes(self) -> Wishes:
        """What is wanted now."""
        return self._wishes

    def controls(self) -> tuple[QWidget, ...]:
        """Return the controls in the order in which the keyboard reaches them."""
        sizes, where = (self.review, self.full), (self.folder, self.choose_button)
        more = (self.more_button, self.flat, self.bundle)
        return (*self.scenes.values(), *sizes, self.stems, *where, *more)

    def show_film(self, film: Film) -> None:
        """Say what depends on the film: how many scenes are locked, and how large a copy is."""
        in_order = {placement.entry for placement in film.order}
        scenes = [scene for scene in film.scenes if scene.id in in_order]
        locked = sum(scene.lock is not None for scene in scenes)
        self._scenes_heading.setText(f"SCENES · {locked:,} OF {len(scenes):,} LOCKED")
        self.review.setText(f"Review copy, {shown_size(copy_size(film, full=False))}")
        self.full.setText(f"Full size, {shown_size(copy_size(film, full=True))}, finer and slower")

    def _set_up(self) -> None:
        wishes = self._wishes
        scenes, sizes = QButtonGroup(self), QButtonGroup(self)
        for way, button in self.scenes.items():
            scenes.addButton(button)
            button.setChecked(way is wishes.include)
        for button in (self.review, self.full):
            sizes.addButton(button)
        (self.full if wishes.full else self.review).setChecked(True)
        self.stems.setChecked(wishes.stems)
        self.stems.setToolTip(
            "Three 24-bit WAV files as long as the film, before the master; together they are the mix."
        )
        self.flat.setChecked(wishes.flat)
        self.bundle.setChecked(wishes.bundle)
        self.bundle.setToolTip("An .otioz file, as large as all the footage that the film uses.")
        self.folder.setAccessibleName("Folder of the copies")
        self.folder.setToolTip(str(wishes.out))
        self.choose_button.setAccessibleName("Choose the folder of the copies")
        self.choose_button.setAutoDefault(False)
        self.more_button.setText("More")
        self.more_button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        self.more_button.setProperty("kind", "plain")
        self.more_button.setAccessibleName("More choices")
        self._fold(is_open=wishes.flat or wishes.bundle)
        boxes: tuple[QAbstractButton, ...] = (self.review, self.full, self.stems, self.flat, self.bundle)
        for box in (*self.scenes.values(), *boxes):
            box.clicked.connect(self._take)
        self.folder.textEdited.connect(self._on_typed)
        self.folder.editingFinished.connect(self._take)
        self.choose_button.clicked.connect(self._choose_folder)
        self.more_button.clicked.connect(self._on_more)

    def _arrange(self) -> None:
        where = QHBoxLayout()
        where.setSpacing(8)
        where.addWidget(self.folder, 1)
        where.addWidget(self.choose_button)
        more = QVBoxLayout(self._more)
        more.setContentsMargins(0, 0, 0, 0)
        more.setSpacing(4)
        more.addWidget(self.flat)
        more.addWidget(self.bundle)
        page = QVBoxLayout(self)
        page.setContentsMargins(0, 0, 0, 0)
        page.setSpacing(4)
        page.addWidget(self._scenes_heading)
        for button in self.scenes.values():
            page.addWidget(button)
        page.addSpacing(12)
        page.addWidget(_heading("Size"))
        page.addWidget(self.review)
        page.addWidget(self.full)
        page.addSpacing(12)
        page.addWidget(_heading("Sound"))
        page.addWidget(self.stems)
        page.addSpacing(12)
        page.addWidget(_heading("Where to"))
        page.addLayout(where)
        page.addSpacing(8)
        row = QHBoxLayout()
        row.addWidget(self.more_button)
        row.addStretch(1)
        page.addLayout(row)
        page.addWidget(self._more)

    def _on_typed(self) -> None:
        self._typing.start()

    def _take(self) -> None:
        """Take what is chosen."""
        self._typing.stop()
        text = self.folder.text().strip()
        # A folder that is not named from the root lies in the project.
        out = self._bench.session.folder / Path(text) if text else self._wishes.out
        include = next(way for way, button in self.scenes.items() if button.isChecked())
        wishes = Wishes(
            out=out,
            include=include,
            full=self.full.isChecked(),
            flat=self.flat.isChecked(),
            bundle=self.bundle.isChecked(),
            stems=self.stems.isChecked(),
        )
        if wishes != self._wishes:
            self._wishes = wishes
            self.folder.setToolTip(str(out))
            self.changed.emit()

    def take_folder(self, out: Path) -> None:
        """Send the copies to a folder."""
        self.folder.setText(str(out))
        self._take()

    def _choose_folder(self) -> None:
        start = next((place for place in (self._wishes.out, *self._wishes.out.parents) if place.is_dir()), "")
        chosen = QFileDialog.getExistingDirectory(self, "Folder of the copies", str(start))
        if chosen:
            self.take_folder(Path(chosen))

    def _on_more(self) -> None:
        self._fold(is_open=self._more.isHidden())

    def _fold(self, *, is_open: bool) -> None:
        self._more.setVisible(is_open)
        self.more_button.setIcon(icon("fold" if is_open else "unfold", self._bench.theme))
        self.more_button.setAccessibleDescription("Unfolded" if is_open else "Folded")


def _heading(text: str) -> QLabel:
    label = QLabel(text.upper())
    label.setProperty("kind", "heading")
    return label
