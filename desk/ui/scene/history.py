"""The locked versions of a scene, what changed from one to the next, and the way back."""

import functools

from PySide6.QtCore import Qt
from PySide6.QtGui import QStandardItem, QStandardItemModel
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QHBoxLayout,
    QListView,
    QPlainTextEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from desk.film import edits
from desk.film.change_list import change_list
from desk.film.edits import Edit
from desk.film.model import Film, LockedVersion, Scene, SceneContent
from desk.film.timecode import format_length
from desk.film.timing import content_frames
from desk.film.wording import counted, entry_name, sentence
from desk.ui.bench import Bench
from desk.ui.dates import short_date
from desk.ui.labels import heading, label

_SIZE_PX = (680, 520)
_LEAST_ROW_PX = 20
_MOST_ROWS = 8
_SAME = "Nothing: picture, sound and grade are the same."


def version_title(version: LockedVersion) -> str:
    """Return one line on an earlier lock: when it was closed and opened, and why."""
    lock = version.lock
    dates = f"locked {short_date(lock.date)}, unlocked {short_date(version.unlocked)}"
    why = f": {version.reason}" if version.reason else ""
    return f"Version {lock.version}, {dates}{why}"


def why_not_back(scene: Scene, version: LockedVersion) -> str:
    """Return why a version can't be brought back now, as a sentence, or ""."""
    if scene.lock:
        return f"{sentence(entry_name(scene))} is locked. Unlock it first to bring an earlier version back."
    if version.content == scene.content:
        return "The scene is like this version now."
    return ""


class HistoryDialog(QDialog):
    """The earlier locked versions of a scene. Stands beside the work and follows the film."""

    def __init__(self, bench: Bench, scene_id: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self.scene_id = scene_id
        self.resize(*_SIZE_PX)
        self._model = QStandardItemModel(self)
        self.versions = QListView(self)
        self.versions.setModel(self._model)
        self.versions.setEditTriggers(QListView.EditTrigger.NoEditTriggers)
        self.versions.setAccessibleName("Locked versions")
        self.versions.setUniformItemSizes(True)
        self.versions.setTextElideMode(Qt.TextElideMode.ElideRight)
        self.versions.selectionModel().currentChanged.connect(self._on_chosen)
        self.empty = label("", self, kind="dim", wraps=True)
        self._from_heading = heading("", self)
        self.from_before = _changes("What changed from the version before", self)
        self._since_heading = heading("", self)
        self.since = _changes("What changed since this version", self)
        self.why = label("", self, kind="dim", wraps=True)
        self.back = QPushButton("Bring back", self)
        self.back.setAutoDefault(False)
        self.back.clicked.connect(self._on_back)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close, parent=self)
        buttons.rejected.connect(self.reject)
        self._arrange(buttons)
        bench.session.changed.connect(self._fill)
        self._fill()
        self.versions.setFocus()

    def _arrange(self, buttons: QDialogButtonBox) -> None:
        foot = QHBoxLayout()
        foot.setSpacing(12)
        foot.addWidget(self.back)
        foot.addWidget(self.why, 1)
        foot.addWidget(buttons)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 16, 16, 16)
        layout.setSpacing(8)
        layout.addWidget(self.empty)
        layout.addWidget(self.versions)
        for title, changes in ((self._from_heading, self.from_before), (self._since_heading, self.since)):
            layout.addSpacing(4)
            layout.addWidget(title)
            layout.addWidget(changes, 2)
        layout.addSpacing(4)
        layout.addLayout(foot)

    def _scene(self) -> Scene | None:
        return next((scene for scene in self._bench.session.film.scenes if scene.id == self.scene_id), None)

    def _fill(self) -> None:
        scene = self._scene()
        if scene is None:
            self.reject()
            return
        self.setWindowTitle(f"Locked versions of {entry_name(scene)}")
        self.empty.setText(f"{sentence(entry_name(scene))} has not been locked and opened before.")
        self.empty.setVisible(not scene.history)
        titles = [version_title(version) for version in reversed(scene.history)]
        if titles != [self._model.item(row).text() for row in range(self._model.rowCount())]:
            chosen = self.versions.currentIndex().row()
            self._model.clear()
            for title in titles:
                item = QStandardItem(title)
                item.setToolTip(title)
                self._model.appendRow(item)
            row_px = max(self.versions.sizeHintForRow(0), _LEAST_ROW_PX)
            self.versions.setFixedHeight(min(len(titles), _MOST_ROWS) * row_px + 4)
            self.versions.setCurrentIndex(self._model.index(min(max(chosen, 0), len(titles) - 1), 0))
        self._show(scene)

    def _on_chosen(self) -> None:
        if scene := self._scene():
            self._show(scene)

    def _chosen(self, scene: Scene) -> LockedVersion | None:
        row = self.versions.currentIndex().row()
        return scene.history[len(scene.history) - 1 - row] if 0 <= row < len(scene.history) else None

    def _show(self, scene: Scene) -> None:
        version = self._chosen(scene)
        shown = (
            self.versions,
            self._from_heading,
            self.from_before,
            self._since_heading,
            self.since,
            self.back,
        )
        for widget in shown:
            widget.setVisible(version is not None)
        if version is None:
            self.why.setText("")
            return
        film = self._bench.session.film
        number = version.lock.version
        if number > 1:
            before = scene.history[number - 2].content
            self._from_heading.setText(f"VERSION {number}, AGAINST VERSION {number - 1}")
            self.from_before.setPlainText(_told(before, version.content, film))
        else:
            self._from_heading.setText("VERSION 1")
            self.from_before.setPlainText(_first(version.content, film))
        self._since_heading.setText(f"THE SCENE NOW, AGAINST VERSION {number}")
        self.since.setPlainText(_told(version.content, scene.content, film))
        why_not = self._bench.session.read_only or why_not_back(scene, version)
        self.back.setText(f"Bring back version {number}")
        self.back.setEnabled(not why_not)
        self.back.setToolTip(why_not)
        self.why.setText(why_not)

    def _on_back(self) -> None:
        scene = self._scene()
        version = self._chosen(scene) if scene else None
        if version is None:
            return
        if self._bench.session.do(functools.partial(_bring_back, self.scene_id, version.lock.version)):
            self._bench.messages.notice(f"Version {version.lock.version} is back, as a draft.")


def _changes(name: str, parent: QWidget) -> QPlainTextEdit:
    made = QPlainTextEdit(parent)
    made.setReadOnly(True)
    made.setTabChangesFocus(True)
    made.setAccessibleName(name)
    made.setTextInteractionFlags(
        Qt.TextInteractionFlag.TextSelectableByMouse | Qt.TextInteractionFlag.TextSelectableByKeyboard
    )
    return made


def _told(before: SceneContent, after: SceneContent, film: Film) -> str:
    return "\n".join(change_list(before, after, film.rate)) or _SAME


def _first(content: SceneContent, film: Film) -> str:
    length = format_length(content_frames(content), film.rate)
    return f"The first locked version: {counted(len(content.clips), 'clip')}, {length}."


def _bring_back(scene_id: str, version: int, film: Film) -> Edit:
    return edits.bring_back(film, scene_id, version)
