"""The effects of a scene: its spots, the fields of the one that is selected, and the search for sounds."""

import functools
from pathlib import Path

from PySide6.QtCore import QItemSelectionModel, QModelIndex, Qt
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QPushButton, QVBoxLayout, QWidget

from desk.assembly.survey import Survey, survey
from desk.errors import MediaError
from desk.film import edits
from desk.film.edits import Edit
from desk.film.media import MediaFacts
from desk.film.model import Film, Scene, Spot
from desk.jobs import CancelToken, ProgressListener
from desk.ui.bench import Bench
from desk.ui.cutting.clip_sheet.part import Shown
from desk.ui.cutting.clip_sheet.sound_files import film_path
from desk.ui.cutting.footage.adding import Known
from desk.ui.job_runner import Job
from desk.ui.labels import heading
from desk.ui.music import music_edits
from desk.ui.music.hearing import Hearing, file_blocks
from desk.ui.music.sound_search import SoundSearch
from desk.ui.music.spot_details import SPOT_COLUMNS, SpotDetails, spot_rows
from desk.ui.scene.clip_facts import file_name
from desk.ui.scene.clip_table import SoundTable

_WIDE_PX = 600


class SpotTable(SoundTable):
    """The spots; Delete takes out the selected one."""

    def __init__(self, part: "EffectsPart", bench: Bench) -> None:
        super().__init__("Effects", SPOT_COLUMNS, bench.theme, part)
        self._part = part

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Delete:
            self._part.remove_selected()
        elif event.key() == Qt.Key.Key_Space:
            self._part.listen_to_selected()
        else:
            super().keyPressEvent(event)


class EffectsPart(QWidget):
    """The spots of a scene and the maker's own sounds.

    Attributes:
        heading: Says whether there are any.
        spots: One row for each.
        details: The fields of the selected one.
        finding: Shows or hides the search.
        search: The maker's own sounds.
    """

    def __init__(self, bench: Bench, hearing: Hearing, parent: QWidget) -> None:
        super().__init__(parent)
        self._bench = bench
        self._hearing = hearing
        self._scene_id = ""
        self._spot_id = ""
        self._is_marking = False
        self._reason = ""
        self._start: int | None = None
        self._waiting: dict[Job, tuple[str, str, int]] = {}
        self.heading = heading("Effects", self)
        self.heading.setContentsMargins(0, 8, 0, 0)
        self.spots = SpotTable(self, bench)
        self.spots.selectionModel().currentRowChanged.connect(self._on_row)
        self.details = SpotDetails(bench, self)
        self.details.spot.listen_wanted.connect(self.listen_to_selected)
        self.details.spot.removal_wanted.connect(self.remove_selected)
        self.finding = QPushButton("Find a sound…", self)
        self.finding.setCheckable(True)
        self.finding.setAccessibleName("Find a sound in your own folders")
        self.finding.toggled.connect(self._on_finding)
        self.search = SoundSearch(bench, hearing, self)
        self.search.picked.connect(self.add_at_playhead)
        self.search.hide()
        page = QVBoxLayout(self)
        page.setContentsMargins(0, 0, 0, 0)
        page.setSpacing(8)
        for widget in (self.heading, self.spots, self.details):
            page.addWidget(widget)
        page.addWidget(self.finding, 0, Qt.AlignmentFlag.AlignLeft)
        page.addWidget(self.search)

    @property
    def spot_id(self) -> str:
        """Id of the spot that is selected, or ""."""
        return self._spot_id

    def show_scene(self, scene: Scene, scene_start: int | None, reason: str) -> None:
        """Show the spots of a scene.

        Args:
            scene: The scene.
            scene_start: Its first frame in the film, or None where it is set aside.
            reason: Why nothing can be changed, or "".
        """
        film, facts = self._bench.session.film, self._bench.media.facts
        content = scene.content
        if scene.id != self._scene_id:
            self._spot_id = ""
        self._scene_id, self._reason = scene.id, reason
        ids = [spot.id for spot in content.spots]
        if self._spot_id not in ids:
            self._spot_id = ids[0] if ids else ""
        self.heading.setText("EFFECTS" if ids else "NO EFFECTS")
        self.heading.setAccessibleName("Effects" if ids else "No effects")
        self.spots.show_rows(spot_rows(film, scene, facts))
        self.spots.setVisible(bool(ids))
        self.details.setVisible(bool(ids))
        if ids:
            self._mark(ids.index(self._spot_id))
            spot = content.spots[ids.index(self._spot_id)]
            self.details.show_spot(Shown(film=film, scene=scene, spots=(spot,), facts=facts), scene_start)
        self.details.set_read_only(reason)
        self.search.set_read_only(reason)
        self._start = scene_start

    def select(self, spot_id: str) -> None:
        """Select a spot of the scene; another id does nothing."""
        scene = self._scene()
        if scene is not None and spot_id in {spot.id for spot in scene.content.spots}:
            self._spot_id = spot_id
            self.show_scene(scene, self._start, self._reason)

    def show_heard(self, name: str) -> None:
        """Show what is heard by itself."""
        self.details.spot.show_heard(bool(name) and name == self._spot_id)

    def listen_to_selected(self) -> None:
        """Let the file of the selected spot be heard as it is, or be silent."""
        spot = self._spot()
        if spot is None:
            return
        path = self._bench.session.folder / spot.file
        if not Path(path).exists():
            told = f"“{file_name(spot.file)}” is missing. Connect its disk, or say where it is."
            self._bench.messages.notice(told, urgent=True)
            return
        self._hearing.toggle(spot.id, file_blocks(path))

    def remove_selected(self) -> None:
        """Take the selected spot out."""
        if self._spot_id:
            self._bench.session.do(functools.partial(_without, self._scene_id, self._spot_id))

    def add_at_playhead(self, name: str) -> None:
        """Put a sound in as a spot at the playhead; it is looked at first, beside the window.

        Args:
            name: Its path on this machine.
        """
        session, cut = self._bench.session, self._bench.cut
        if self._reason:
            self._bench.messages.notice(f"Nothing was changed. {self._reason}", urgent=True)
            return
        try:
            path = film_path(name, self._bench)
        except MediaError as error:
            self._bench.messages.fault(error)
            return
        frame = cut.frame if cut.scene_id == self._scene_id else 0
        known = self._bench.media.facts.get(path)
        if isinstance(known, MediaFacts):
            self._put_in(self._scene_id, path, frame, {path: known})
            return
        job = self._bench.jobs.start(
            "look at a sound", functools.partial(_look, session.film, session.folder, path)
        )
        self._waiting[job] = (self._scene_id, path, frame)
        job.succeeded.connect(self._on_looked)
        job.failed.connect(self._bench.messages.fault)
        job.finished.connect(self._on_finished)

    def _put_in(self, scene_id: str, path: str, frame: int, known: Known) -> None:
        session = self._bench.session
        if any(scene.id == scene_id for scene in session.film.scenes) and session.do(
            functools.partial(_with_spot, scene_id=scene_id, path=path, known=known, frame=frame)
        ):
            spot = session.film.scene(scene_id).content.spots[-1]
            if scene_id == self._scene_id:
                self.select(spot.id)
            self._bench.messages.notice(f"“{file_name(path)}” was added at the playhead.")

    def _on_looked(self, found: object) -> None:
        assert isinstance(found, Survey)
        job = self.sender()
        assert isinstance(job, Job)
        scene_id, path, frame = self._waiting[job]
        self._put_in(scene_id, path, frame, found.facts)

    def _on_finished(self) -> None:
        job = self.sender()
        assert isinstance(job, Job)
        self._waiting.pop(job, None)

    def _scene(self) -> Scene | None:
        scenes = self._bench.session.film.scenes
        return next((item for item in scenes if item.id == self._scene_id), None)

    def _spot(self) -> Spot | None:
        scene = self._scene()
        spots = scene.content.spots if scene is not None else ()
        return next((spot for spot in spots if spot.id == self._spot_id), None)

    def _mark(self, row: int) -> None:
        """Select a row without telling of it."""
        model = self.spots.selectionModel()
        if self._is_marking or model.isRowSelected(row, QModelIndex()):
            return
        self._is_marking = True
        flags = QItemSelectionModel.SelectionFlag
        model.setCurrentIndex(self.spots.sounds.index(row, 0), flags.ClearAndSelect | flags.Rows)
        self._is_marking = False

    def _on_row(self, index: QModelIndex) -> None:
        scene = self._scene()
        if self._is_marking or scene is None or not 0 <= index.row() < len(scene.content.spots):
            return
        self._spot_id = scene.content.spots[index.row()].id
        # The table selects the row itself when this is over.
        self._is_marking = True
        self.show_scene(scene, self._start, self._reason)
        self._is_marking = False

    def _on_finding(self, is_on: bool) -> None:
        self.search.setVisible(is_on)
        self.finding.setText("Hide the search" if is_on else "Find a sound…")
        if is_on:
            self.search.words.setFocus(Qt.FocusReason.OtherFocusReason)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.details.set_wide(event.size().width() >= _WIDE_PX)


def _without(scene_id: str, spot_id: str, film: Film) -> Edit:
    return edits.remove_spots(film, scene_id, [spot_id])


def _with_spot(film: Film, scene_id: str, path: str, known: Known, frame: int) -> Edit:
    return music_edits.add_spot_with(film, scene_id, path, known, frame=frame)


def _look(film: Film, folder: Path, path: str, progress: ProgressListener, cancel: CancelToken) -> Survey:
    return survey(film, folder, paths=(path,), progress=progress, cancel=cancel)
