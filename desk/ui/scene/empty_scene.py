"""What to do with a scene that has no clips: its folder, and the files in it."""

import contextlib
import functools
from pathlib import Path

from PySide6.QtCore import Qt, QUrl, Signal
from PySide6.QtGui import QDesktopServices
from PySide6.QtWidgets import (
    QFileDialog,
    QHBoxLayout,
    QProgressBar,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from desk.errors import MediaError, OutputError
from desk.film import edits
from desk.film.edits import Edit
from desk.film.model import Film, Scene
from desk.film.wording import counted, quoted, sentence
from desk.footage.first_film import film_path_of
from desk.footage.probing import ProbeCache
from desk.footage.scene_clips import SceneFootage, read_scene_folder, take_clips
from desk.jobs import CancelToken, Progress, ProgressListener
from desk.store.folder import desk_folder
from desk.ui.bench import Bench
from desk.ui.elided import ElidedLabel
from desk.ui.job_runner import Job
from desk.ui.labels import label

_WHOLE = 1000
_CARD_CAUTION = "Do not erase a card before two verified copies of it exist."


def ask_for_folder(parent: QWidget, start: Path) -> Path | None:
    """Ask for the folder of a scene and return it, or None."""
    chosen = QFileDialog.getExistingDirectory(parent, "Choose the folder of the scene", str(start))
    return Path(chosen) if chosen else None


def show_folder(folder: Path) -> bool:
    """Open a folder in the system's own window; returns whether it could."""
    return folder.is_dir() and QDesktopServices.openUrl(QUrl.fromLocalFile(str(folder)))


class EmptyScene(QWidget):
    """Says what a scene without clips needs, and makes clips of the files of its folder.

    Signals:
        taken: Clips were made: the scene's id, and what deserves a look in its folder, in sentences.
    """

    taken = Signal(str, object)

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._scene_id = ""
        self._job: Job | None = None
        self._job_scene = ""
        self._job_folder = ""
        self.words = label("", self, wraps=True)
        self.take_button = QPushButton("Take the files of its folder")
        self.take_button.setProperty("kind", "main")
        self.take_button.clicked.connect(self._on_take)
        self.open_button = QPushButton("Open the folder")
        self.open_button.clicked.connect(self._on_open)
        self.choose_button = QPushButton("Choose its folder…")
        self.choose_button.clicked.connect(self._on_choose)
        self.progress = QProgressBar()
        self.progress.setRange(0, _WHOLE)
        self.progress.setTextVisible(False)
        self.progress.setAccessibleName("Reading footage")
        self.progress_words = ElidedLabel()
        self.stop_button = QPushButton("Stop")
        self.stop_button.clicked.connect(self._on_stop)
        self._arrange()

    def show_scene(self, scene: Scene) -> None:
        """Show what a scene without clips needs."""
        self._scene_id = scene.id
        if scene.folder:
            words = (
                f"Its folder is {quoted(scene.folder)}. The files there become clips in the order in which "
                "they were shot, each whole; or choose some of them below."
            )
        else:
            words = (
                "It has no folder yet. Copy what was shot for it into a folder of its own, then choose that "
                "folder."
            )
        if scene.planned_frames:
            words += " Until then it counts with its planned length."
        self.words.setText(words)
        self.choose_button.setText("Choose another folder…" if scene.folder else "Choose its folder…")
        self._refresh(scene)

    def take_focus(self) -> None:
        """Put the keyboard on what comes first."""
        buttons = (self.take_button, self.choose_button)
        usable = (button for button in buttons if button.isEnabled() and not button.isHidden())
        next(usable, self.open_button).setFocus(Qt.FocusReason.OtherFocusReason)

    def _arrange(self) -> None:
        caution = label(_CARD_CAUTION, self, kind="small", wraps=True)
        buttons = QHBoxLayout()
        buttons.setSpacing(8)
        for button in (self.take_button, self.open_button, self.choose_button):
            button.setAutoDefault(False)
            buttons.addWidget(button)
        buttons.addStretch(1)
        self._running = QWidget()
        running = QHBoxLayout(self._running)
        running.setContentsMargins(0, 0, 0, 0)
        running.setSpacing(12)
        running.addWidget(self.progress, 1)
        running.addWidget(self.progress_words, 2)
        running.addWidget(self.stop_button)
        self._running.hide()
        page = QVBoxLayout(self)
        page.setContentsMargins(0, 0, 0, 0)
        page.setSpacing(8)
        page.addWidget(self.words)
        page.addLayout(buttons)
        page.addWidget(self._running)
        page.addWidget(caution)

    def _refresh(self, scene: Scene) -> None:
        free = not scene.lock and not self._bench.session.read_only
        busy = self._job is not None
        self.take_button.setVisible(bool(scene.folder))
        self.open_button.setVisible(bool(scene.folder))
        self.take_button.setEnabled(free and not busy)
        self.choose_button.setEnabled(not self._bench.session.read_only and not busy)
        self._running.setVisible(busy and self._job_scene == scene.id)

    def _refresh_now(self) -> None:
        scene = _scene_of(self._bench.session.film, self._scene_id)
        if scene is not None:
            self._refresh(scene)

    def _on_take(self) -> None:
        session = self._bench.session
        scene = _scene_of(session.film, self._scene_id)
        if scene is None or self._job is not None:
            return
        self._job_scene, self._job_folder = scene.id, scene.folder
        work = functools.partial(_read, session.folder / scene.folder, session.folder)
        self._job = self._bench.jobs.start("read the folder of a scene", work)
        self._job.progressed.connect(self._on_progressed)
        self._job.succeeded.connect(self._on_read)
        self._job.failed.connect(self._bench.messages.fault)
        self._job.finished.connect(self._on_finished)
        self.progress.setValue(0)
        self.progress_words.say("Reading the folder…", kind="dim")
        self._refresh_now()

    def _on_stop(self) -> None:
        if self._job is not None:
            self._job.cancel()

    def _on_progressed(self, report: Progress) -> None:
        self.progress.setValue(round(report.fraction * _WHOLE))
        self.progress_words.say(report.text, kind="dim")

    def _on_read(self, found: object) -> None:
        assert isinstance(found, SceneFootage)
        scene = _scene_of(self._bench.session.film, self._job_scene)
        if scene is None or scene.content.clips or scene.lock or scene.folder != self._job_folder:
            # What was read was read for a scene that is another one now.
            return
        if self._bench.session.do(functools.partial(take_clips, scene_id=scene.id, found=found)):
            name = sentence(f"scene {scene.number}")
            self._bench.messages.notice(f"{name} has {counted(len(found.files), 'clip')} now.")
            self.taken.emit(scene.id, found.remarks)

    def _on_finished(self) -> None:
        self._job = None
        self._refresh_now()

    def _on_open(self) -> None:
        scene = _scene_of(self._bench.session.film, self._scene_id)
        if scene is None:
            return
        folder = self._bench.session.folder / scene.folder
        if not show_folder(folder):
            self._bench.messages.notice(
                f"The folder {quoted(scene.folder)} can't be opened. Connect its disk, or choose another.",
                urgent=True,
            )

    def _on_choose(self) -> None:
        choose_folder(self._bench, self._scene_id, self)


def choose_folder(bench: Bench, scene_id: str, parent: QWidget) -> bool:
    """Ask for the folder of a scene and put it into the film; returns whether the scene has another now.

    Args:
        bench: The film.
        scene_id: The scene.
        parent: What asks.
    """
    session = bench.session
    scene = _scene_of(session.film, scene_id)
    if scene is None:
        return False
    start = session.folder / (scene.folder or session.film.footage)
    folder = ask_for_folder(parent, start if start.is_dir() else session.folder)
    return folder is not None and take_folder(bench, scene_id, folder)


def take_folder(bench: Bench, scene_id: str, folder: Path) -> bool:
    """Make a folder that of a scene; returns whether the film allowed it.

    Args:
        bench: The film.
        scene_id: The scene.
        folder: The folder.
    """
    try:
        path = film_path_of(folder, folder, bench.session.folder)
    except MediaError as error:
        bench.messages.fault(error)
        return False
    return bench.session.do(functools.partial(_with_folder, scene_id=scene_id, path=path))


def _scene_of(film: Film, scene_id: str) -> Scene | None:
    return next((scene for scene in film.scenes if scene.id == scene_id), None)


def _with_folder(film: Film, scene_id: str, path: str) -> Edit:
    return edits.edit_story(film, scene_id, folder=path)


def _read(scene_folder: Path, folder: Path, progress: ProgressListener, cancel: CancelToken) -> SceneFootage:
    cache = ProbeCache(desk_folder(folder) / "probes.json")
    try:
        return read_scene_folder(scene_folder, folder, cache=cache, progress=progress, cancel=cancel)
    finally:
        # A project on a read-only disk is read anew each time.
        with contextlib.suppress(OutputError):
            cache.save()
