"""What an assembly would be, before anything runs: what goes in, what is in the way, how long it takes."""

import contextlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from desk.assembly.planning import NamesOfPieces, Plan, copy_size, plan_assembly, rendering_kit
from desk.assembly.speed import Estimate, SpeedFile, estimate
from desk.assembly.survey import Survey
from desk.errors import AssemblyError
from desk.ffmpeg.program import Program
from desk.film.checks import Problem, Severity
from desk.film.model import Card, Film, Scene, Size
from desk.film.timing import Include, Layout, lay_out
from desk.render.kit import CardDrawer, Kit
from desk.render.run import needed_pieces
from desk.sound.plan import speech_kept, stem_key
from desk.sound.speech import SpeechFile
from desk.sound.stems import LANES, stem_range


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """What has to be made.

    Attributes:
        pieces: How many pieces of picture the copy has, each kind once.
        pieces_to_make: How many of them are not there yet.
        frames_to_make: Their frames.
        sounds: How many lanes of scenes sound.
        sounds_to_make: How many of them are not there yet. The mix and its encoding come on top.
        time: About how long all of it takes.
    """

    pieces: int
    pieces_to_make: int
    frames_to_make: int
    sounds: int
    sounds_to_make: int
    time: Estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """An entry of the running order, as the assembly takes it.

    Attributes:
        entry: The scene or card.
        start_frames: Its first frame in the copy, or None where it is left out.
        length_frames: Its length there.
        slate: Whether a slate stands in for it.
        why_not: Why it is left out, or "".
    """

    entry: Scene | Card
    start_frames: int | None = None
    length_frames: int = 0
    slate: bool = False
    why_not: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """An assembly before it is made.

    Attributes:
        film: The film.
        include: Which scenes.
        full: The film's own size and finer encoding, rather than a review copy's.
        size: Frame size of the copy.
        layout: What is in it, where, and what is left out.
        problems: What stands in the way, then what deserves a look.
        work: What has to be made, or None where something stands in the way.
    """

    film: Film
    include: Include
    full: bool
    size: Size
    layout: Layout
    problems: tuple[Problem, ...]
    work: Work | None

    @property
    def blocking(self) -> tuple[Problem, ...]:
        """What stands in the way."""
        return tuple(problem for problem in self.problems if problem.severity is Severity.BLOCKS)

    @property
    def lines(self) -> tuple[Line, ...]:
        """The running order, with what goes in and what does not."""
        return running_order(self.film, self.layout)


def running_order(film: Film, layout: Layout) -> tuple[Line, ...]:
    """Return a film's running order, with what an assembly takes of it and what it leaves out."""
    slots = {slot.entry.id: slot for slot in layout.slots}
    reasons = dict(layout.left_out)
    entries = film.entries()
    lines = []
    for placement in film.order:
        entry = entries[placement.entry]
        if slot := slots.get(entry.id):
            line = Line(
                entry=entry,
                start_frames=slot.start_frames,
                length_frames=slot.length_frames,
                slate=slot.slate,
            )
        else:
            line = Line(entry=entry, why_not=reasons.get(entry.id, ""))
        lines.append(line)
    return tuple(lines)


def outlook(
    found: Survey,
    folder: Path,
    include: Include,
    *,
    full: bool,
    program: Program,
    drawer: CardDrawer,
    workers: int | None = None,
) -> Outlook:
    """Return what an assembly would be. Nothing is made or written.

    Pieces are looked up by their names alone, which is quick however many there are; so it does not promise
    to notice one that is damaged, and is then made again.

    Args:
        found: The film and its media.
        folder: Its project folder.
        include: Which scenes.
        full: The film's own size and finer encoding, rather than a review copy's.
        program: Which ffmpeg would make it.
        drawer: What would draw its cards.
        workers: How many pieces would be made at once, or None for one a core.
    """
    film = found.film
    problems = found.problems(include)
    blocked = any(problem.severity is Severity.BLOCKS for problem in problems)
    work = None
    if not blocked:
        # What a check lets through can be made; should it not, making it says why.
        with contextlib.suppress(AssemblyError):
            heard = speech_kept(SpeechFile(folder), film.rate, found.media)
            plan = plan_assembly(found, include, full=full, speech_of=heard)
            store = NamesOfPieces(folder)
            kit = rendering_kit(found, store, full=full, program=program, drawer=drawer, workers=workers)
            work = _work(plan, kit, store, folder)
    return Outlook(
        film=film,
        include=include,
        full=full,
        size=copy_size(film, full=full),
        layout=lay_out(film, include),
        problems=problems,
        work=work,
    )


def _work(plan: Plan, kit: Kit, store: NamesOfPieces, folder: Path) -> Work:
    missing = needed_pieces(plan.picture, kit)
    pieces = len(store.asked)
    stems = set(_stems(plan, kit))
    frames = sum(piece.frames for piece in missing.values())
    size = plan.picture.size
    time = estimate(
        SpeedFile(folder).speed(size, kit.encoding),
        made_frames=frames,
        film_frames=plan.layout.length_frames,
        size=size,
        encoding=kit.encoding,
        workers=kit.workers,
    )
    return Work(
        pieces=pieces,
        pieces_to_make=len(missing),
        frames_to_make=frames,
        sounds=len(stems),
        sounds_to_make=sum(store.find(key) is None for key in stems),
        time=time,
    )


def _stems(plan: Plan, kit: Kit) -> Iterator[str]:
    rate = plan.picture.rate
    for sound in plan.sounds:
        for lane in LANES:
            if stem_range(sound, lane, rate):
                yield stem_key(sound, lane, rate, kit.media)
