"""Make an assembly: review copy, timeline file, chapters and manifest, all or nothing."""

import contextlib
import math
import tempfile
import time
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from desk.assembly.chapters import chapters_text, chapters_vtt
from desk.assembly.copies import ASSEMBLING, claimed_number, kept_path, prepare_out, refuse_in_footage
from desk.assembly.cue_sheet import cue_lines, cue_sheet_csv, cue_sheet_page
from desk.assembly.levels import SceneLevels, scene_levels, sound_remarks
from desk.assembly.manifest import manifest, used_paths
from desk.assembly.planning import (
    NamesOfPieces,
    Plan,
    listen_for_speech,
    open_pieces,
    plan_assembly,
    rendering_kit,
)
from desk.assembly.speed import Run, SpeedFile
from desk.assembly.stems import WrittenStem, clipped_remarks, write_stems
from desk.assembly.survey import survey
from desk.assembly.timeline import build_timeline
from desk.assembly.timeline_file import relative_url, write_bundle, write_timeline
from desk.errors import AssemblyError, FilmBusyError, OutputError
from desk.ffmpeg.program import Program
from desk.files import output_error, sync_folder, write_whole
from desk.film.checks import Problem, Severity
from desk.film.edits import add_review_copy
from desk.film.model import Film, ReviewCopy
from desk.film.timecode import format_label
from desk.film.timing import Include, Layout
from desk.jobs import CancelToken, Progress, ProgressListener, no_progress
from desk.render.join import Finish, join_pieces
from desk.render.kit import CardDrawer, Kit
from desk.render.run import Made, make_all
from desk.sound.plan import SpeechOf
from desk.store.lock import hold
from desk.store.project import OpenFilm, open_film
from desk.store.save import save_film

TOO_LOUD = "The sound is louder than full scale and distorts: lower the ceiling of the master."


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
        stems: Write dialogue, music and effects of the whole film as WAV, before the master.
        program: Which ffmpeg.
        drawer: What draws cards.
        workers: How many pieces are made at once, or None for one a core.
        opened: The film, of a caller who holds its lock: it is assembled as it is here, and the caller enters
            `Assembly.copy` in it. None to assemble what the film file holds and enter the copy there.
    """

    folder: Path
    out: Path
    include: Include = Include.LOCKED
    full: bool = False
    flat: bool = False
    bundle: bool = False
    stems: bool = False
    program: Program
    drawer: CardDrawer
    workers: int | None = None
    opened: OpenFilm | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Assembly:
    """What came of it.

    Attributes:
        copy: The review copy as its film remembers it.
        files: Every file that was written, the review copy first.
        film: The film that was assembled.
        layout: What is in it.
        made: What was made and what was there.
        problems: What deserves a look.
        levels: How loud each scene is.
        sound_remarks: What deserves a look in the sound, in sentences.
        notice: Why the copy could not be entered in the film, or "".
    """

    copy: ReviewCopy
    files: tuple[Path, ...]
    film: Film
    layout: Layout
    made: Made
    problems: tuple[Problem, ...]
    levels: tuple[SceneLevels, ...]
    sound_remarks: tuple[str, ...]
    notice: str = ""

    @property
    def number(self) -> int:
        """Number of the review copy."""
        return self.copy.number

    @property
    def frames(self) -> int:
        """Running time."""
        return self.copy.frames

    @property
    def is_too_loud(self) -> bool:
        """Whether the copy is louder than full scale, so that it distorts in spite of the master."""
        return (self.made.sound.loudness.sample_peak_dbfs or -math.inf) > 0


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
    begun_seconds = time.monotonic()
    opened = order.opened or open_film(order.folder)
    film = opened.film
    found = survey(film, order.folder, progress=_share(progress, 0.0, 0.05), cancel=cancel)
    problems = found.problems(order.include)
    _refuse_blocked(problems)
    refuse_in_footage(order.out, order.folder, film, found.files)
    prepare_out(order.out)
    speech_of = listen_for_speech(
        found, order.folder, order.include, progress=_share(progress, 0.05, 0.1), cancel=cancel
    )
    plan = plan_assembly(found, order.include, full=order.full, speech_of=speech_of)
    store, before = open_pieces(order.folder), NamesOfPieces(order.folder)
    kit = rendering_kit(
        found, store, full=order.full, program=order.program, drawer=order.drawer, workers=order.workers
    )
    made = make_all(
        plan.picture, plan.sounds, film.delivery, kit, progress=_share(progress, 0.1, 0.95), cancel=cancel
    )
    progress(Progress("join", "Putting the copy together", 0.95))
    writing = _Writing(order, opened, plan, made, kit, speech_of)
    copy, files, notice = writing.write(cancel)
    seconds = time.monotonic() - begun_seconds
    run = Run(made_frames=_made_frames(plan, made, before), film_frames=copy.frames, seconds=seconds)
    SpeedFile(order.folder).note(plan.picture.size, kit.encoding, run)
    store.tidy()
    levels = scene_levels(film, plan.layout, made)
    return Assembly(
        copy=copy,
        files=files,
        film=film,
        layout=plan.layout,
        made=made,
        problems=problems,
        levels=levels,
        sound_remarks=(*sound_remarks(film, levels, made), *clipped_remarks(writing.stems)),
        notice=notice,
    )


def _made_frames(plan: Plan, made: Made, before: NamesOfPieces) -> int:
    """Return how many frames of picture were not there before."""
    frames = {key: placed.piece.frames for key, placed in zip(made.keys, plan.picture.placed, strict=True)}
    return sum(count for key, count in frames.items() if before.find(key) is None)


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


class _Writing:
    """The files of an assembly on their way to their names."""

    def __init__(
        self, order: Order, opened: OpenFilm, plan: Plan, made: Made, kit: Kit, speech_of: SpeechOf
    ) -> None:
        self._order = order
        self._speech_of = speech_of
        self._opened = opened
        self._film = opened.film
        self._plan = plan
        self._made = made
        self._kit = kit
        self.stems: tuple[WrittenStem, ...] = ()

    def write(self, cancel: CancelToken) -> tuple[ReviewCopy, tuple[Path, ...], str]:
        """Return the copy, its files, and why it is not entered in the film, or ""."""
        try:
            with tempfile.TemporaryDirectory(prefix=ASSEMBLING, dir=self._order.out) as stage:
                return self._write(Path(stage), cancel)
        except OSError as error:
            raise output_error(self._order.out, error) from error

    def _write(self, stage: Path, cancel: CancelToken) -> tuple[ReviewCopy, tuple[Path, ...], str]:
        film, layout = self._film, self._plan.layout
        timecode = format_label(film.start_frames, film.rate, drop_frame=film.drop_frame)
        finish = Finish(chapters=chapters_text(film, layout), timecode=timecode, rate=film.rate)
        staged = stage / "copy.mp4"
        frames = [placed.piece.frames for placed in self._plan.picture.placed]
        join_pieces(
            self._made.pieces,
            frames,
            self._made.sound.track,
            finish,
            staged,
            self._kit.program,
            cancel=cancel,
        )
        if self._order.stems:
            samples = film.rate.samples(layout.length_frames)
            self.stems = write_stems(self._made.stems, samples, stage, cancel=cancel)
        with contextlib.ExitStack() as stack:
            now, notice = self._film_to_enter_in(stack)
            number, name = stack.enter_context(claimed_number(self._order.out, now.film))
            side_files = self._side_files(stage, name, number)
            cancel.check()
            staged = staged.rename(stage / f"{name}.mp4")
            files = self._publish([*side_files, staged])
            copy = ReviewCopy(
                number=number,
                date=date.today().isoformat(),
                file=kept_path(files[-1], self._order.folder),
                frames=layout.length_frames,
                include=self._order.include.value,
            )
            if not notice and self._order.opened is None:
                save_film(now, add_review_copy(now.film, copy).after)
        return copy, (files[-1], *files[:-1]), notice

    def _film_to_enter_in(self, stack: contextlib.ExitStack) -> tuple[OpenFilm, str]:
        """Return the film to enter the copy in, held until the stack closes; and why it can't be, or ""."""
        if self._order.opened is not None:
            return self._opened, ""
        if self._opened.read_only:
            return self._opened, self._opened.notice
        try:
            stack.enter_context(hold(self._order.folder, "desk assemble"))
        except (FilmBusyError, OutputError) as error:
            return self._opened, error.message
        return open_film(self._order.folder), ""

    def _side_files(self, stage: Path, name: str, number: int) -> list[Path]:
        film, layout, out = self._film, self._plan.layout, self._order.out
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
        self.stems = tuple(stem.renamed(stage, name) for stem in self.stems)
        made += [stage / stem.file for stem in self.stems]
        cue_sheet = self._cue_sheet(stage, name)
        made += cue_sheet
        told = {
            "file": f"{name}.mp4",
            "number": number,
            "date": date.today().isoformat(),
            "cue_sheet": [path.name for path in cue_sheet],
        }
        settings = {"include": self._order.include.value, "size": "full" if self._order.full else "review"}
        data = manifest(
            film,
            layout,
            self._plan.picture,
            self._made,
            self._kit,
            facts_of_copy=told,
            settings=settings,
            stems=[stem.told() for stem in self.stems],
        )
        write_whole(made[2], data)
        return made

    def _cue_sheet(self, stage: Path, name: str) -> list[Path]:
        """Write the cue sheet where there is music; return its files."""
        film, layout = self._film, self._plan.layout
        lines = cue_lines(film, layout, self._speech_of)
        if not lines:
            return []
        made = [stage / f"{name}.cue-sheet.csv", stage / f"{name}.cue-sheet.html"]
        write_whole(made[0], cue_sheet_csv(film, lines))
        write_whole(made[1], cue_sheet_page(film, layout, lines))
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
