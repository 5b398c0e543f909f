"""The sheet of a scene, down the page in the order of the craft."""

import functools

from PySide6.QtCore import Qt, QTimer
from PySide6.QtWidgets import QFrame, QScrollArea, QVBoxLayout, QWidget

from desk.errors import EditError
from desk.film import edits
from desk.film.edits import Change, ChangeKind, Edit
from desk.film.locking import Part
from desk.film.model import Film, Scene
from desk.film.paths import content_paths
from desk.film.wording import entry_name, sentence
from desk.ui.bench import Bench
from desk.ui.dates import today
from desk.ui.labels import label
from desk.ui.scene.dialogue import DialogueBody
from desk.ui.scene.grade import GradeBody
from desk.ui.scene.header import BrokenLock, SceneHeader
from desk.ui.scene.history import HistoryDialog
from desk.ui.scene.lock_dialog import LockDialog
from desk.ui.scene.locking import LockBar, LockRun
from desk.ui.scene.music import MusicBody
from desk.ui.scene.part import PartBody, PartFrame
from desk.ui.scene.picture import PictureBody
from desk.ui.scene.proof_dialog import ProofAnswer, ProofDialog
from desk.ui.scene.proofs import ProofsBody
from desk.ui.scene.story import StoryBody
from desk.ui.scene.unlock_dialog import UnlockDialog

_BODIES: tuple[type[PartBody], ...] = (
    StoryBody,
    PictureBody,
    DialogueBody,
    MusicBody,
    GradeBody,
    ProofsBody,
)
_CLOSED = "Locked. Unlock to change picture, sound or grade."
_WITH_FILES = (Part.PICTURE, Part.DIALOGUE, Part.MUSIC)
_ARRIVAL_MS = 300
"""So long a part that was gone to is kept in view while the page gets its height."""

_EVERY_SCENE = (ChangeKind.FILM, ChangeKind.MEDIA)


class SceneSheet(QFrame):
    """All of one scene."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("kind", "panel")
        self._bench = bench
        self._scene_id = ""
        self._folds: dict[Part, bool] = {}
        self._runs: dict[str, LockRun] = {}
        self._wanted: PartFrame | None = None
        self._scroll_timer = QTimer(self, singleShot=True, interval=0)
        self._scroll_timer.timeout.connect(self._scroll_to_wanted)
        self._arrival_timer = QTimer(self, singleShot=True, interval=_ARRIVAL_MS)
        self._arrival_timer.timeout.connect(self._on_arrived)
        self.header = SceneHeader(bench, self)
        self.broken = BrokenLock(self)
        self.lock_bar = LockBar(self)
        self._scroll = QScrollArea(self)
        self._scroll.setWidgetResizable(True)
        self._scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._page = QWidget(self._scroll)
        # Before anything stands on it: moving it with all its parts takes a while.
        self._scroll.setWidget(self._page)
        self._closed = label(_CLOSED, self._page, kind="dim")
        self._closed.setContentsMargins(12, 4, 12, 4)
        self.frames: dict[Part, PartFrame] = {}
        self._arrange()
        self._follow()
        self._allow()

    @property
    def scene_id(self) -> str:
        """The scene that is shown, or ""."""
        return self._scene_id

    def show_scene(self, scene_id: str) -> None:
        """Show a scene.

        Args:
            scene_id: A scene of the film.

        Raises:
            KeyError: when the film has none with this id, which is our own mistake.
        """
        scene = self._bench.session.film.scene(scene_id)
        if scene_id == self._scene_id:
            self._refresh(scene)
            return
        self._scene_id = scene_id
        unfolded = self._unfolded(scene)
        for part, frame in self.frames.items():
            if part not in unfolded:
                frame.set_unfolded(False)
        self._refresh(scene)
        for part in unfolded:
            self.frames[part].set_unfolded(True)
        self._scroll.verticalScrollBar().setValue(0)

    def lock(self) -> None:
        """Ask about a lock of the scene, or about a new one where the lock it has does not hold."""
        scene = self._scene()
        if scene is None or not self._may_lock(scene):
            return
        dialog = LockDialog(self._bench, scene.id, self, again=scene.lock is not None)
        dialog.accepted.connect(self._on_lock_answered)
        dialog.finished.connect(dialog.deleteLater)
        dialog.open()

    def lock_now(self) -> None:
        """Lock the scene without asking, as nothing in it is open."""
        scene = self._scene()
        if scene is not None and self._may_lock(scene):
            self._start_lock(scene, "")

    def unlock(self) -> None:
        """Ask about unlocking the scene."""
        scene = self._scene()
        if scene is None or scene.lock is None or not self._may_edit():
            return
        dialog = UnlockDialog(self._bench, scene.id, self)
        dialog.accepted.connect(self._on_unlock_answered)
        dialog.finished.connect(dialog.deleteLater)
        dialog.open()

    def add_proof(self) -> None:
        """Ask about a proof of the scene."""
        scene = self._scene()
        if scene is None or not self._may_edit():
            return
        try:
            # Tried before anything is asked, as a scene without clips can't be watched.
            edits.add_proof(self._bench.session.film, scene.id, today())
        except EditError as error:
            self._bench.messages.refusal(error)
            return
        dialog = ProofDialog(self._bench, scene.id, self)
        dialog.accepted.connect(self._on_proof_answered)
        dialog.finished.connect(dialog.deleteLater)
        dialog.open()

    def show_history(self) -> None:
        """Show the earlier locked versions of the scene."""
        scene = self._scene()
        if scene is None:
            return
        dialog = HistoryDialog(self._bench, scene.id, self)
        dialog.finished.connect(dialog.deleteLater)
        dialog.open()

    def level(self) -> None:
        """Show what levelling the voices of the scene would change."""
        self.frames[Part.DIALOGUE].set_unfolded(True)
        self.dialogue.open_level_scene()

    def level_film(self) -> None:
        """Show what levelling all drafts would change."""
        self.dialogue.open_level_film()

    def focus_part(self, part: Part) -> None:
        """Unfold a part, bring it to the top and put the focus on its fold."""
        frame = self.frames[part]
        frame.set_unfolded(True)
        frame.fold.setFocus(Qt.FocusReason.ShortcutFocusReason)
        self._wanted = frame
        # The page has its new height only when it was laid out, and again when words in it were wrapped.
        self._scroll_timer.start()
        self._arrival_timer.start()

    def _arrange(self) -> None:
        page = QVBoxLayout(self._page)
        page.setContentsMargins(12, 0, 12, 12)
        page.setSpacing(8)
        for kind in _BODIES:
            frame = PartFrame(kind(self._bench), self._page)
            self.frames[frame.part] = frame
            if frame.part is Part.PICTURE:
                page.addWidget(self._closed)
            page.addWidget(frame)
        page.addStretch(1)
        picture = self.frames[Part.PICTURE].body
        assert isinstance(picture, PictureBody)
        self.dialogue.attach(picture.viewer.player)
        self.music.attach(picture.viewer.player)
        top = QVBoxLayout()
        top.setContentsMargins(12, 0, 12, 0)
        top.setSpacing(8)
        top.addWidget(self.broken)
        top.addWidget(self.lock_bar)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 4, 0, 0)
        layout.setSpacing(8)
        layout.addWidget(self.header)
        layout.addLayout(top)
        layout.addWidget(self._scroll, 1)

    def _follow(self) -> None:
        bench = self._bench
        bench.session.changed.connect(self._on_changed)
        bench.statuses.changed.connect(self._on_statuses)
        bench.media.changed.connect(self._on_media)
        self._scroll.verticalScrollBar().rangeChanged.connect(self._on_page_height)
        self.header.lock_wanted.connect(self.lock)
        self.header.unlock_wanted.connect(self.unlock)
        self.broken.lock_wanted.connect(self.lock)
        self.broken.proof_wanted.connect(self.add_proof)
        self.broken.file_wanted.connect(self._go_to_file)
        for frame in self.frames.values():
            frame.folded.connect(self._on_folded)
        proofs = self.proofs
        proofs.proof_wanted.connect(self.add_proof)
        proofs.lock_wanted.connect(self.lock)
        proofs.lock_now_wanted.connect(self.lock_now)
        proofs.unlock_wanted.connect(self.unlock)
        proofs.history_wanted.connect(self.show_history)
        proofs.part_wanted.connect(self.focus_part)

    @property
    def runs(self) -> tuple[LockRun, ...]:
        """The locks that are on their way."""
        return tuple(self._runs.values())

    @property
    def story(self) -> StoryBody:
        """The body of Story."""
        body = self.frames[Part.STORY].body
        assert isinstance(body, StoryBody)
        return body

    @property
    def music(self) -> MusicBody:
        """The body of Music and effects."""
        body = self.frames[Part.MUSIC].body
        assert isinstance(body, MusicBody)
        return body

    def try_music(self, step: int) -> None:
        """Try the next music for the cue that the person is at (1), or the one before (-1)."""
        self.frames[Part.MUSIC].set_unfolded(True)
        self.music.music.try_music(step)
        # The page has its new height only when it was laid out.
        QTimer.singleShot(0, self, self._show_trying)

    def _show_trying(self) -> None:
        """Bring what is tried into view, unless the viewer's own picture is to be seen."""
        picture = self.frames[Part.PICTURE].body
        assert isinstance(picture, PictureBody)
        trying = self.music.music.trying
        if trying.isVisible() and picture.viewer.picture.visibleRegion().isEmpty():
            self._scroll.ensureWidgetVisible(trying, 0, 24)

    @property
    def dialogue(self) -> DialogueBody:
        """The body of Dialogue."""
        body = self.frames[Part.DIALOGUE].body
        assert isinstance(body, DialogueBody)
        return body

    @property
    def proofs(self) -> ProofsBody:
        """The body of Proofs and lock."""
        body = self.frames[Part.PROOFS].body
        assert isinstance(body, ProofsBody)
        return body

    def _scene(self) -> Scene | None:
        scenes = self._bench.session.film.scenes
        return next((scene for scene in scenes if scene.id == self._scene_id), None)

    def _refresh(self, scene: Scene) -> None:
        self.header.show_scene(scene)
        self.broken.show_scene(scene, self._bench.statuses.of(scene).broken)
        self._closed.setVisible(scene.lock is not None)
        for frame in self.frames.values():
            frame.show_scene(scene)

    def _unfolded(self, scene: Scene) -> set[Part]:
        """Return the parts that are unfolded for a scene that was not shown before.

        What the person folded or unfolded stays so from scene to scene. Of the rest, the first part with
        something open is unfolded; where nothing is open, Picture is, so that there is something to see.
        """
        unfolded = {part for part, is_unfolded in self._folds.items() if is_unfolded}
        rest = (frame for part, frame in self.frames.items() if part not in self._folds)
        first = next((frame.part for frame in rest if frame.body.open_lines(scene)), None)
        if first is None and not unfolded and self._folds.get(Part.PICTURE, True):
            first = Part.PICTURE
        return unfolded if first is None else {*unfolded, first}

    def _allow(self) -> None:
        why_not = self._bench.session.read_only
        self.header.allow(not why_not, why_not)
        self.broken.allow(not why_not, why_not)
        self.proofs.allow(not why_not, why_not)

    def _may_edit(self) -> bool:
        if why_not := self._bench.session.read_only:
            self._bench.messages.notice(f"Nothing was changed. {why_not}", urgent=True)
        return not why_not

    def _may_lock(self, scene: Scene) -> bool:
        if not self._may_edit():
            return False
        name = sentence(entry_name(scene))
        if scene.id in self._runs:
            self._bench.messages.notice(f"{name} is being locked already.")
            return False
        if scene.lock and not self._bench.statuses.of(scene).broken:
            self._bench.messages.notice(f"{name} is locked already.")
            return False
        return True

    def _start_lock(self, scene: Scene, reason: str) -> None:
        run = LockRun(self._bench, scene, reason, self, again=scene.lock is not None)
        self._runs[scene.id] = run
        run.ended.connect(self._on_run_ended)
        self.lock_bar.add(run)

    def _on_lock_answered(self) -> None:
        dialog = self.sender()
        assert isinstance(dialog, LockDialog)
        scene = next((item for item in self._bench.session.film.scenes if item.id == dialog.scene_id), None)
        if scene is not None:
            self._start_lock(scene, dialog.reason)

    def _on_unlock_answered(self) -> None:
        dialog = self.sender()
        assert isinstance(dialog, UnlockDialog)
        self._bench.session.do(functools.partial(_unlock, dialog.scene_id, dialog.reason))

    def _on_proof_answered(self) -> None:
        dialog = self.sender()
        assert isinstance(dialog, ProofDialog)
        self._bench.session.do(functools.partial(_add_proof, dialog.scene_id, dialog.answer))

    def _on_run_ended(self) -> None:
        run = self.sender()
        assert isinstance(run, LockRun)
        self._runs.pop(run.scene_id, None)
        run.deleteLater()

    def _scroll_to_wanted(self) -> None:
        if self._wanted is not None:
            self._scroll.verticalScrollBar().setValue(self._wanted.y())

    def _on_page_height(self) -> None:
        # The parts take their new places after this.
        if self._wanted is not None:
            self._scroll_timer.start()

    def _on_arrived(self) -> None:
        self._wanted = None

    def _go_to_file(self) -> None:
        """Go to the first part whose files are not as they were locked."""
        scene = self._scene()
        if scene is not None:
            parts = (part for part in _WITH_FILES if self.frames[part].body.open_lines(scene))
            self.focus_part(next(parts, Part.PICTURE))

    def _on_folded(self, part: Part, unfolded: bool) -> None:
        self._folds[part] = unfolded

    def _on_changed(self, _: Film, change: Change) -> None:
        if not self._scene_id:
            return
        scene = self._scene()
        if scene is None:
            gone, self._scene_id = self._scene_id, ""
            if self._bench.choice.entry == gone:
                self._bench.choice.choose("")
        elif change.kind in _EVERY_SCENE or self._scene_id in change.entries:
            self._refresh(scene)

    def _on_statuses(self, scene_ids: frozenset[str]) -> None:
        scene = self._scene()
        if scene is not None and scene.id in scene_ids:
            self._refresh(scene)

    def _on_media(self, paths: frozenset[str]) -> None:
        scene = self._scene()
        if scene is None:
            return
        used = {*content_paths(scene.content, every_candidate=True), scene.reference_picture}
        if scene.lock:
            used.update(media.path for media in scene.lock.media)
        if not used.isdisjoint(paths):
            self._refresh(scene)


def _unlock(scene_id: str, reason: str, film: Film) -> Edit:
    return edits.unlock(film, scene_id, today(), reason)


def _add_proof(scene_id: str, answer: ProofAnswer, film: Film) -> Edit:
    return edits.add_proof(film, scene_id, answer.date, answer.by, answer.remark)
