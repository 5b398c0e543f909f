"""A search by name over the maker's own folders of sounds, with quick listening."""

import functools
import json
from collections.abc import Iterable, Sequence
from pathlib import Path

from PySide6.QtCore import (
    QAbstractListModel,
    QMimeData,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    Qt,
    QTimer,
    QUrl,
    Signal,
)
from PySide6.QtGui import QKeyEvent, QShowEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFileDialog,
    QHBoxLayout,
    QLineEdit,
    QListView,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from desk.errors import DeskError, MediaError
from desk.film.wording import counted
from desk.jobs import Progress
from desk.ui.bench import Bench
from desk.ui.cutting.clip_sheet.sound_files import film_path
from desk.ui.cutting.footage.model import MIME_TYPE
from desk.ui.job_runner import Job, Lane
from desk.ui.labels import label, note, say
from desk.ui.music.hearing import Hearing, file_blocks
from desk.ui.music.sound_folders import (
    Sound,
    Sounds,
    matching,
    name_folders,
    named_folders,
    read_folders,
)
from desk.ui.sheet.picks import Picks

_SETTLE_MS = 120
_LIST_PX = 168
_KEYS = "Enter adds the sound at the playhead, Space listens. Sounds can be dragged to the lanes too."
_NO_FOLDERS = "Name a folder of your own sounds to find effects in it."
_Index = QModelIndex | QPersistentModelIndex
_ROOT = QModelIndex()


class SoundsModel(QAbstractListModel):
    """Sounds that were found, as a list."""

    def __init__(self, bench: Bench, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._sounds: Sequence[Sound] = ()

    def show_sounds(self, sounds: Sequence[Sound]) -> None:
        """Be a list of other sounds."""
        self.beginResetModel()
        self._sounds = sounds
        self.endResetModel()

    def sound_at(self, row: int) -> Sound | None:
        """Return the sound in a row, or None."""
        return self._sounds[row] if 0 <= row < len(self._sounds) else None

    def rowCount(self, parent: _Index = _ROOT) -> int:
        return 0 if parent.isValid() else len(self._sounds)

    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        sound = self.sound_at(index.row()) if index.isValid() else None
        if sound is None:
            return None
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole):
            return sound.place
        if role == Qt.ItemDataRole.ToolTipRole:
            return str(sound.path)
        return None

    def flags(self, index: _Index) -> Qt.ItemFlag:
        if not index.isValid():
            return Qt.ItemFlag.NoItemFlags
        flags = Qt.ItemFlag
        return (
            flags.ItemIsEnabled
            | flags.ItemIsSelectable
            | flags.ItemIsDragEnabled
            | flags.ItemNeverHasChildren
        )

    def mimeTypes(self) -> list[str]:
        return [MIME_TYPE, "text/uri-list"]

    def mimeData(self, indexes: Iterable[QModelIndex]) -> QMimeData:
        found = [self.sound_at(row) for row in sorted({index.row() for index in indexes})]
        paths = [sound.path for sound in found if sound is not None]
        data = QMimeData()
        data.setUrls([QUrl.fromLocalFile(str(path)) for path in paths])
        try:
            named = [film_path(str(path), self._bench) for path in paths]
        except MediaError:
            # Where it is dropped it is said why the film can't name it.
            return data
        data.setData(MIME_TYPE, json.dumps(named).encode())
        return data

    def supportedDragActions(self) -> Qt.DropAction:
        return Qt.DropAction.CopyAction


class SoundList(QListView):
    """The sounds that fit.

    Signals:
        add_wanted: The current sound is to be added at the playhead.
        listen_wanted: The current sound is to be heard, or silent.
    """

    add_wanted = Signal()
    listen_wanted = Signal()

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setAccessibleName("Sounds found")
        self.setAccessibleDescription(_KEYS)
        self.setUniformItemSizes(True)
        self.setTextElideMode(Qt.TextElideMode.ElideMiddle)
        self.setFixedHeight(_LIST_PX)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setDragEnabled(True)
        self.setDragDropMode(QAbstractItemView.DragDropMode.DragOnly)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.doubleClicked.connect(self.listen_wanted)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.add_wanted.emit()
        elif event.key() == Qt.Key.Key_Space:
            self.listen_wanted.emit()
        else:
            super().keyPressEvent(event)


class SearchWords(QLineEdit):
    """What is searched for.

    Signals:
        went_down: Down was pressed, to go on to what was found.
    """

    went_down = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Down:
            self.went_down.emit()
        else:
            super().keyPressEvent(event)


class SoundSearch(QWidget):
    """Finds sounds in the maker's folders, lets them be heard, and gives them on.

    Signals:
        picked: A sound is to be added at the playhead; its path on this machine.
    """

    picked = Signal(str)

    def __init__(self, bench: Bench, hearing: Hearing, parent: QWidget) -> None:
        super().__init__(parent)
        self._bench = bench
        self._hearing = hearing
        self._sounds: Sounds | None = None
        self._job: Job | None = None
        self._reason = ""
        self.dialog: QFileDialog | None = None
        self.words = SearchWords(self)
        self.words.setPlaceholderText("Find a sound by name")
        self.words.setAccessibleName("Find a sound by name")
        self.words.setClearButtonEnabled(True)
        self.words.textEdited.connect(self._on_edited)
        self.words.returnPressed.connect(self._on_returned)
        self.words.went_down.connect(self._on_returned)
        self.model = SoundsModel(bench, self)
        self.list = SoundList(self)
        self.list.setModel(self.model)
        self.list.add_wanted.connect(self.add_current)
        self.list.listen_wanted.connect(self.listen_to_current)
        self.told = label(_NO_FOLDERS, self, kind="dim", wraps=True)
        self.keys = label(_KEYS, self, kind="small", wraps=True)
        self.fault = note("fault", self)
        self.add_folder = QPushButton("Name a folder…", self)
        self.add_folder.setAccessibleName("Name a folder of your own sounds")
        self.add_folder.clicked.connect(self._on_add_folder)
        self.read_again = QPushButton("Read again", self)
        self.read_again.setAccessibleName("Read the folders again")
        self.read_again.clicked.connect(self.read)
        self.folders = Picks("Folders of sounds", (), self)
        self.folders.setToolTip("Your own folders of sounds, on this machine.")
        self.remove_folder = QPushButton("Take off", self)
        self.remove_folder.setAccessibleName("Take the folder off the list")
        self.remove_folder.clicked.connect(self._on_remove_folder)
        self.listen = QPushButton("Listen", self)
        self.listen.setAccessibleName("Listen to the sound")
        self.listen.clicked.connect(self.listen_to_current)
        self.add = QPushButton("Add at the playhead", self)
        self.add.setAccessibleName("Add the sound at the playhead")
        self.add.clicked.connect(self.add_current)
        self._settling = QTimer(self, singleShot=True, interval=_SETTLE_MS)
        self._settling.timeout.connect(self._find)
        hearing.changed.connect(self._on_heard)
        self._arrange()
        self._show_folders()

    @property
    def is_read(self) -> bool:
        """Whether the folders were read."""
        return self._sounds is not None and self._job is None

    def set_read_only(self, reason: str) -> None:
        """Say that nothing can be added, and why; "" to take that back. Listening goes on."""
        self._reason = reason
        self.add.setEnabled(not reason)
        self.add.setToolTip(reason)

    def name_folder(self, folder: str) -> None:
        """Look for sounds in one more folder."""
        folders = named_folders()
        if folder and folder not in folders:
            name_folders((*folders, folder))
            self._show_folders()
            self.read()

    def read(self) -> None:
        """Read the folders, beside the window."""
        if self._job is not None:
            self._job.cancel()
        folders = named_folders()
        if not folders:
            self._job = None
            self._sounds = Sounds(found=())
            self._find()
            return
        job = self._bench.jobs.start(
            "read folders of sounds", functools.partial(read_folders, folders), lane=Lane.LOOKING
        )
        self._job = job
        job.progressed.connect(self._on_progressed)
        job.succeeded.connect(self._on_read)
        job.failed.connect(self._on_failed)
        self.told.setText("Reading the folders…")

    def listen_to_current(self) -> None:
        """Let the current sound be heard, or be silent where it is heard already."""
        sound = self._current()
        if sound is not None:
            self._hearing.toggle(str(sound.path), file_blocks(sound.path))

    def add_current(self) -> None:
        """Give the current sound on, to be added at the playhead."""
        sound = self._current()
        if sound is not None:
            self.picked.emit(str(sound.path))

    def _current(self) -> Sound | None:
        return self.model.sound_at(self.list.currentIndex().row())

    def _arrange(self) -> None:
        def row(*widgets: QWidget, wide: QWidget | None = None) -> QHBoxLayout:
            line = QHBoxLayout()
            line.setSpacing(8)
            for widget in widgets:
                line.addWidget(widget, 1 if widget is wide else 0)
            if wide is None:
                line.addStretch(1)
            return line

        page = QVBoxLayout(self)
        page.setContentsMargins(0, 0, 0, 0)
        page.setSpacing(6)
        page.addWidget(self.words)
        page.addWidget(self.list)
        page.addLayout(row(self.listen, self.add))
        page.addWidget(self.fault)
        page.addWidget(self.told)
        page.addWidget(self.keys)
        page.addLayout(row(self.folders, self.remove_folder, wide=self.folders))
        page.addLayout(row(self.add_folder, self.read_again))

    def _show_folders(self) -> None:
        folders = named_folders()
        self.folders.offer([(folder, folder) for folder in folders])
        has_folders = bool(folders)
        if folders:
            self.folders.setCurrentIndex(len(folders) - 1)
        for widget in (
            self.words,
            self.list,
            self.listen,
            self.add,
            self.keys,
            self.folders,
            self.remove_folder,
            self.read_again,
        ):
            widget.setVisible(has_folders)
        if not has_folders:
            self.told.setText(_NO_FOLDERS)

    def _find(self) -> None:
        self._settling.stop()
        if self._sounds is None:
            return
        found = matching(self._sounds.found, self.words.text())
        self.model.show_sounds(found)
        if found:
            self.list.setCurrentIndex(self.model.index(0))
        if not named_folders():
            self.told.setText(_NO_FOLDERS)
            return
        whole = len(self._sounds.found)
        words = (
            f"{len(found):,} of {counted(whole, 'sound')}."
            if whole
            else "There are no sounds in the folders."
        )
        remarks = self._sounds.remarks
        more = f" And {len(remarks) - 3} more remarks." if len(remarks) > 3 else ""
        self.told.setText("\n".join((words, *remarks[:3])) + more)

    def _on_edited(self) -> None:
        self._settling.start()

    def _on_returned(self) -> None:
        """Go from the words to the first sound that fits."""
        self._find()
        if self.model.rowCount():
            self.list.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def _on_progressed(self, progress: Progress) -> None:
        if self.sender() is self._job:
            self.told.setText(f"Reading the folders: {progress.text}…")

    def _on_read(self, found: object) -> None:
        assert isinstance(found, Sounds)
        if self.sender() is self._job:
            self._job, self._sounds = None, found
            say(self.fault, "")
            self._find()

    def _on_failed(self, error: object) -> None:
        if self.sender() is self._job:
            self._job, self._sounds = None, Sounds(found=())
            self._find()
            say(self.fault, str(error) if isinstance(error, DeskError) else "The folders could not be read.")

    def _on_heard(self, name: str) -> None:
        sound = self._current()
        is_own = sound is not None and str(sound.path) == name
        self.listen.setText("Stop" if is_own else "Listen")

    def _on_add_folder(self) -> None:
        dialog = QFileDialog(self, "Name a folder of sounds", str(Path.home()))
        dialog.setFileMode(QFileDialog.FileMode.Directory)
        dialog.setOption(QFileDialog.Option.ShowDirsOnly)
        dialog.fileSelected.connect(self.name_folder)
        dialog.finished.connect(dialog.deleteLater)
        self.dialog = dialog
        dialog.open()

    def _on_remove_folder(self) -> None:
        gone = self.folders.currentText()
        name_folders([folder for folder in named_folders() if folder != gone])
        self._show_folders()
        self.read()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        if self._sounds is None and self._job is None and named_folders():
            self.read()
