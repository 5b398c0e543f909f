"""Make an assembly: review copy, timeline file, chapters and manifest, all or nothing."""

import contextlib
import os
import shutil
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from desk.assembly.chapters import chapters_text, chapters_vtt
from desk.assembly.manifest import manifest, used_paths
from desk.assembly.survey import Survey, survey
from desk.assembly.timeline import build_timeline
from desk.assembly.timeline_file import relative_url, write_bundle, write_timeline
from desk.errors import AssemblyError, FilmBusyError, OutputError
from desk.ffmpeg.program import Program
from desk.files import output_error, plain_name, sync_folder, write_whole
from desk.film.checks import Problem, Severity
from desk.film.edits import add_review_copy
from desk.film.model import Film, ReviewCopy, Scene
from desk.film.timecode import format_label
from desk.film.timing import Include, Layout, lay_out
from desk.jobs import CancelToken, Progress, ProgressListener, no_progress
from desk.render.cache import PieceStore
from desk.render.encoding import FULL, REVIEW
from desk.render.join import Finish, join_pieces
from desk.render.kit import CardDrawer, Kit
from desk.render.placing import review_size
from desk.render.plan import PicturePlan, plan_picture
from desk.render.run import Made, make_all
from desk.sound.plan import plan_sound
from desk.store.folder import make_inside
from desk.store.lock import hold
from desk.store.project import OpenFilm, open_film
from desk.store.save import save_film

_ASSEMBLING = ".assembling-"
_STALE_SECONDS = 24 * 3600


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """What is to be assembled, and how.

    Attributes:
        folder: The project folder.
        out: Where the files go; made when it is missing.
        include: Which scenes.
        full: The film's own size and finer encoding, rather than a review copy's.
        flat: Write the timeline file without nesting.
        bundle: Write the timeline file also as a bundle with its media.
        program: Which ffmpeg.
        drawer: What draws cards.
        workers: How many pieces are made at once, or None for one a core.
    """

    folder: Path
    out: Path
    include: Include = Include.LOCKED
    full: bool = False
    flat: bool = False
    bundle: bool = False
    program: Program
    drawer: CardDrawer
    workers: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Assembly:
    """What came of it.

    Attributes:
        number: Number of the review copy.
        files: Every file that was written, the review copy first.
        frames: Running time.
        film: The film that was assembled.
        layout: What is in it.
        made: What was made and what was there.
        problems: What deserves a look.
        notice: Why the copy could not be entered in the film, or "".
    """

    number: int
    files: tuple[Path, ...]
    frames: int
    film: Film
    layout: Layout
    made: Made
    problems: tuple[Problem, ...]
    notice: str = ""


def assemble(
    order: Order, *, progress: ProgressListener = no_progress, cancel: CancelToken | None = None
) -> Assembly:
    """Make an assembly of the film as it is at this moment; it may be edited meanwhile.

    The files get their names at the very end, the review copy last: a copy that has its name is whole.

    Args:
        order: What is to be assembled.
        progress: Told how far it is, from several threads.
        cancel: Stops it; nothing but finished pieces is left then.

    Raises:
        AssemblyError: when something stands in the way; the detail lists all of it.
        FilmFileError: when the film can't be read.
        MediaError: when a source can't be read.
        OutputError: when the output folder can't be used, or the disk is full.
        FfmpegError: when ffmpeg fails.
        Cancelled: when stopped on request.
    """
    cancel = cancel or CancelToken()
    opened = open_film(order.folder)
    film = opened.film
    found = survey(film, order.folder, progress=_share(progress, 0.0, 0.05), cancel=cancel)
    problems = found.problems(order.include)
    _refuse_blocked(problems)
    _refuse_out(order.out, order.folder, found)
    layout = lay_out(film, order.include)
    size = film.size if order.full else review_size(film.size, film.delivery.review_height)
    plan = plan_picture(film, layout, found.media, size, slate_notes=_slate_notes(layout))
    kit = _kit(order, film, found)
    making = _share(progress, 0.05, 0.95)
    made = make_all(plan, plan_sound(film, layout), kit, progress=making, cancel=cancel)
    progress(Progress("join", "Putting the copy together", 0.95))
    number, files, notice = _Writing(order, opened, layout, plan, made, kit).write(cancel)
    kit.store.tidy()
    return Assembly(
        number=number,
        files=files,
        frames=layout.length_frames,
        film=film,
        layout=layout,
        made=made,
        problems=problems,
        notice=notice,
    )


def _share(progress: ProgressListener, low: float, high: float) -> ProgressListener:
    def listen(report: Progress) -> None:
        progress(Progress(report.stage, report.text, low + (high - low) * report.fraction))

    return listen


def _refuse_blocked(problems: tuple[Problem, ...]) -> None:
    blocking = [problem for problem in problems if problem.severity is Severity.BLOCKS]
    if not blocking:
        return
    first = blocking[0]
    more = f" {len(blocking) - 1} more stand in the way; desk check lists them." if len(blocking) > 1 else ""
    subject = f"{first.subject}: " if first.place else ""
    raise AssemblyError(
        f"The film can't be assembled yet. {subject}{first.sentence}",
        advice=first.advice + more,
        code=first.code,
        detail="\n".join(problem.sentence for problem in blocking),
    )


def _refuse_out(out: Path, folder: Path, found: Survey) -> None:
    """Keep copies out of the footage: the next look at it would take them for clips."""
    wanted, project = _real(out), _real(folder)
    named = [found.film.footage, *(scene.folder for scene in found.film.scenes)]
    folders = {_real(folder / name) for name in named if name} - {project}
    # A file may lie in a folder that holds the whole project.
    around = {project, *project.parents}
    folders |= {_real(file.parent) for file in found.files.values()} - around
    if any(wanted == folder or folder in wanted.parents for folder in folders):
        raise OutputError(
            f"“{out}” lies in the footage, where nothing is written.",
            advice="Choose another folder.",
            code="output.in_footage",
            path=out,
        )
    try:
        out.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=out):
            pass
        _remove_left_over(out)
    except OSError as error:
        raise output_error(out, error) from error


def _real(path: Path) -> Path:
    """Return where a path leads to; unlike `Path.resolve`, also for a link that leads round in a circle."""
    return Path(os.path.realpath(path))


def _remove_left_over(out: Path) -> None:
    """Remove what assemblies that were killed left a day ago or longer."""
    oldest = time.time() - _STALE_SECONDS
    for path in out.glob(f"{_ASSEMBLING}*"):
        with contextlib.suppress(OSError):
            if path.lstat().st_mtime < oldest:
                shutil.rmtree(path)


def _slate_notes(layout: Layout) -> dict[str, str]:
    return {
        slot.entry.id: "not locked" if slot.entry.content.clips else "no footage yet"
        for slot in layout.slots
        if slot.slate and isinstance(slot.entry, Scene)
    }


def _kit(order: Order, film: Film, found: Survey) -> Kit:
    return Kit(
        program=order.program,
        store=PieceStore(make_inside(order.folder, ".desk", "pieces")),
        encoding=FULL if order.full else REVIEW,
        drawer=order.drawer,
        film_size=film.size,
        files=found.files,
        media=found.media,
        workers=order.workers or os.cpu_count() or 1,
    )


class _Writing:
    """The files of an assembly on their way to their names."""

    def __init__(
        self, order: Order, opened: OpenFilm, layout: Layout, plan: PicturePlan, made: Made, kit: Kit
    ) -> None:
        self._order = order
        self._opened = opened
        self._film = opened.film
        self._layout = layout
        self._plan = plan
        self._made = made
        self._kit = kit

    def write(self, cancel: CancelToken) -> tuple[int, tuple[Path, ...], str]:
        """Return the copy's number, its files, and why it is not entered in the film, or ""."""
        try:
            with tempfile.TemporaryDirectory(prefix=_ASSEMBLING, dir=self._order.out) as stage:
                return self._write(Path(stage), cancel)
        except OSError as error:
            raise output_error(self._order.out, error) from error

    def _write(self, stage: Path, cancel: CancelToken) -> tuple[int, tuple[Path, ...], str]:
        film = self._film
        timecode = format_label(film.start_frames, film.rate, drop_frame=film.drop_frame)
        finish = Finish(chapters=chapters_text(film, self._layout), timecode=timecode, rate=film.rate)
        copy = stage / "copy.mp4"
        frames = [placed.piece.frames for placed in self._plan.placed]
        join_pieces(
            self._made.pieces, frames, self._made.sound, finish, copy, self._kit.program, cancel=cancel
        )
        with contextlib.ExitStack() as stack:
            notice = self._opened.notice if self._opened.read_only else ""
            if not notice:
                try:
                    stack.enter_context(hold(self._order.folder, "desk assemble"))
                except (FilmBusyError, OutputError) as error:
                    notice = error.message
            now = open_film(self._order.folder) if not notice else self._opened
            number, name = stack.enter_context(self._claimed(now.film))
            side_files = self._side_files(stage, name, number)
            cancel.check()
            copy = copy.rename(stage / f"{name}.mp4")
            files = self._publish([*side_files, copy])
            if not notice:
                entry = ReviewCopy(
                    number=number,
                    date=date.today().isoformat(),
                    file=files[-1].name,
                    frames=self._layout.length_frames,
                    include=self._order.include.value,
                )
                save_film(now, add_review_copy(now.film, entry).after)
        return number, (files[-1], *files[:-1]), notice

    @contextlib.contextmanager
    def _claimed(self, film: Film) -> Iterator[tuple[int, str]]:
        """Give the next number that neither the film nor the folder has, and the files' name with it.

        While the block runs, no other assembly takes it: making a folder succeeds for one alone.
        """
        title = plain_name(film.title)
        number = max((copy.number for copy in film.review_copies), default=0)
        while True:
            number += 1
            name = f"{title}-review-{number:03}"
            claim = self._order.out / f"{_ASSEMBLING}{name}"
            try:
                claim.mkdir()
            except FileExistsError:
                continue
            try:
                if not any(self._order.out.glob(f"{name}.*")):
                    yield number, name
                    return
            finally:
                claim.rmdir()

    def _side_files(self, stage: Path, name: str, number: int) -> list[Path]:
        film, layout, out = self._film, self._layout, self._order.out
        files = self._kit.files

        def locate(source: str) -> str:
            return relative_url(files[source], out)

        timeline = build_timeline(
            film,
            layout,
            self._kit.media,
            review_file=f"{name}.mp4",
            flat=self._order.flat,
            locate=locate,
        )
        made = [stage / f"{name}.otio", stage / f"{name}.chapters.vtt", stage / f"{name}.manifest.json"]
        write_timeline(timeline, made[0])
        if self._order.bundle:
            made.append(stage / f"{name}.otioz")
            write_bundle(timeline, made[-1], {path: files[path] for path in used_paths(layout)})
        write_whole(made[1], chapters_vtt(film, layout).encode())
        told = {"file": f"{name}.mp4", "number": number, "date": date.today().isoformat()}
        settings = {"include": self._order.include.value, "size": "full" if self._order.full else "review"}
        data = manifest(
            film, layout, self._plan, self._made, self._kit, facts_of_copy=told, settings=settings
        )
        write_whole(made[2], data)
        return made

    def _publish(self, staged: list[Path]) -> tuple[Path, ...]:
        """Give the files their names, the last one last; on a fault, take back those that have theirs."""
        placed: list[Path] = []
        try:
            for path in staged:
                placed.append(path.rename(self._order.out / path.name))
        except OSError:
            for path in placed:
                path.unlink(missing_ok=True)
            raise
        sync_folder(self._order.out)
        return tuple(placed)
