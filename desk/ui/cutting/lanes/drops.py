"""Files dropped on the lanes: footage between the clips, sounds as spots and cues."""

import functools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import QMimeData, QObject, QPointF, Signal

from desk.assembly.survey import Survey, survey
from desk.errors import MediaError
from desk.film import edits
from desk.film.edit import Edit, find_open_scene
from desk.film.media import MediaFacts
from desk.film.model import Film
from desk.film.problem import MediaTrouble
from desk.film.snapping import nearest, snap_places
from desk.film.timecode import format_length
from desk.film.wording import counted
from desk.footage.first_film import film_path_of
from desk.jobs import CancelToken, ProgressListener
from desk.ui.bench import Bench
from desk.ui.cutting.footage.adding import add_as_cue, add_as_spot, add_at, clips_of, new_ids
from desk.ui.cutting.footage.model import footage_in
from desk.ui.cutting.lanes.axis import TimeAxis
from desk.ui.cutting.lanes.drag import SNAP_PX
from desk.ui.cutting.lanes.gestures import cut_nearest, told_place
from desk.ui.cutting.lanes.layout import LanesLayout, Row
from desk.ui.cutting.marks import Marked
from desk.ui.job_runner import Job

Known = Mapping[str, MediaFacts | MediaTrouble]


@dataclass(frozen=True, slots=True, kw_only=True)
class Landing:
    """Where files would be put in.

    Attributes:
        row: `PICTURE` for clips, `EFFECTS` for spots, `MUSIC` for cues.
        frame: Where, from the scene's start.
        index: For clips, the place among the clips; None to begin with just that frame.
        words: The same in words.
    """

    row: Row
    frame: int
    index: int | None
    words: str


class LaneDrops(QObject):
    """Takes files that are dragged over the lanes of the scene that is being cut.

    Signals:
        put_in: Files were put in; ids of the new clips, spots or cues.
    """

    put_in = Signal(object)

    def __init__(self, bench: Bench, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._waiting: dict[Job, tuple[str, tuple[str, ...], Landing]] = {}

    def accepts(self, data: QMimeData) -> bool:
        """Return whether something that is dragged holds files."""
        return bool(footage_in(data)) or any(url.isLocalFile() for url in data.urls())

    def landing(self, layout: LanesLayout, axis: TimeAxis, point: QPointF, *, free: bool) -> Landing:
        """Return where files would be put in at a point of the screen.

        Args:
            layout: What stands in the lanes.
            axis: Where on the screen.
            point: The point.
            free: Whether nothing stops it by itself; a clip that is there is then cut in two.
        """
        content, rate = self._bench.cut.content, self._bench.session.film.rate
        row = layout.row_at(point.y())
        place = axis.place(point.x())
        if row in (Row.EFFECTS, Row.MUSIC):
            frame = round(place)
            if not free:
                within = round(SNAP_PX / axis.px_per_frame)
                frame = nearest(frame, set(snap_places(content, rate)), self._bench.cut.frame, within)
            at = format_length(frame, rate)
            return Landing(
                row=row,
                frame=frame,
                index=None,
                words=f"Drop: {'a spot' if row is Row.EFFECTS else 'a cue'} from {at} on.",
            )
        if free:
            frame = max(0, min(round(place), layout.length_frames))
            return Landing(
                row=Row.PICTURE,
                frame=frame,
                index=None,
                words=f"Drop: clips from {format_length(frame, rate)} on; what follows moves along.",
            )
        index, frame = cut_nearest(content, place)
        return Landing(
            row=Row.PICTURE,
            frame=frame,
            index=index,
            words=f"Drop: clips {told_place(content, index)}. With Shift: just where the pointer is.",
        )

    def drop(self, data: QMimeData, landing: Landing) -> None:
        """Put files in; those that were not looked at yet are looked at first, beside the window."""
        session, scene_id = self._bench.session, self._bench.cut.scene_id
        try:
            paths = footage_in(data) or tuple(
                _film_path(Path(url.toLocalFile()), session.folder)
                for url in data.urls()
                if url.isLocalFile()
            )
        except MediaError as error:
            self._bench.messages.fault(error)
            return
        scene = self._bench.cut.scene
        if session.read_only or (scene is not None and scene.lock):
            # Said before files are looked at.
            session.do(functools.partial(edits.insert_clips, scene_id=scene_id, clips=(), index=0))
            return
        if all(path in self._bench.media.facts for path in paths):
            self._put_in(scene_id, paths, landing, self._bench.media.facts)
            return
        job = self._bench.jobs.start(
            "look at dropped files", functools.partial(_look, session.film, session.folder, paths)
        )
        self._waiting[job] = (scene_id, paths, landing)
        job.succeeded.connect(self._on_looked)
        job.failed.connect(self._bench.messages.fault)
        job.finished.connect(self._on_finished)

    def _put_in(self, scene_id: str, paths: Sequence[str], landing: Landing, known: Known) -> None:
        session = self._bench.session
        scenes = {scene.id: scene.content for scene in session.film.scenes}
        if scene_id not in scenes:
            return
        make = functools.partial(
            _put_in,
            scene_id=scene_id,
            paths=tuple(paths),
            landing=landing,
            known=known,
            marks=self._bench.cut.marks.all,
        )
        if session.do(make):
            new = new_ids(scenes[scene_id], session.film.scene(scene_id).content)
            if scene_id == self._bench.cut.scene_id:
                self._bench.cut.select(new)
            self.put_in.emit(new)

    def _on_looked(self, found: object) -> None:
        assert isinstance(found, Survey)
        job = self.sender()
        assert isinstance(job, Job)
        scene_id, paths, landing = self._waiting[job]
        self._put_in(scene_id, paths, landing, found.facts)

    def _on_finished(self) -> None:
        job = self.sender()
        assert isinstance(job, Job)
        self._waiting.pop(job, None)


def _look(
    film: Film, folder: Path, paths: tuple[str, ...], progress: ProgressListener, cancel: CancelToken
) -> Survey:
    return survey(film, folder, paths=paths, progress=progress, cancel=cancel)


def _film_path(path: Path, folder: Path) -> str:
    return film_path_of(path, path.parent, folder)


def _put_in(
    film: Film,
    *,
    scene_id: str,
    paths: tuple[str, ...],
    landing: Landing,
    known: Known,
    marks: Mapping[str, Marked],
) -> Edit:
    if landing.row is Row.PICTURE:
        if landing.index is None:
            return add_at(film, scene_id, paths, known, frame=landing.frame, marks=marks)
        # Clips may have been taken out while the files were looked at.
        index = min(landing.index, len(find_open_scene(film, scene_id).content.clips))
        return edits.insert_clips(film, scene_id, clips_of(film, paths, known, marks), index)
    add = add_as_spot if landing.row is Row.EFFECTS else add_as_cue
    now, frame, last = film, landing.frame, None
    for path in paths:
        last = add(now, scene_id, path, known, frame=frame)
        now = last.after
    assert last is not None
    if len(paths) == 1:
        return last
    what = "spot" if landing.row is Row.EFFECTS else "cue"
    return Edit(f"Add {counted(len(paths), what)}", film, now, last.change)
