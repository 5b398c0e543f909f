"""What the window says of an assembly, before it is made and after."""

from desk.assembly.outlook import Outlook, Work
from desk.assembly.review import Assembly
from desk.assembly.speed import about
from desk.film.model import Film, Size
from desk.film.problem import Problem, Severity
from desk.film.timecode import format_length
from desk.film.timing import Layout
from desk.film.wording import counted, listed

STOPPED = "Stopped. Finished pieces are kept, so the next time is shorter."
LISTEN = "Listen at a moderate level first."
FLASHES = (
    "Flashing light is not looked for: lightning or strobes can set off seizures, so warn whoever watches. "
    "See ITU-R BT.1702 and WCAG 2.3.1."
)


def shown_size(size: Size) -> str:
    """Return a frame size as the window writes it."""
    return f"{size.width} × {size.height}"


def what_goes_in(film: Film, layout: Layout) -> str:
    """Return how much of the running order is in an assembly."""
    entries, out = counted(len(film.order), "entry"), len(layout.left_out)
    if not film.order:
        return "Nothing is in the running order."
    if not out:
        return f"All {entries} of the running order." if len(film.order) != 1 else f"{entries}."
    return f"{len(layout.slots):,} of {entries}; {out:,} left out."


def what_is_to_make(work: Work, film: Film) -> str:
    """Return what has to be rendered and about how long it takes."""
    pieces = counted(work.pieces, "piece")
    if work.pieces_to_make:
        length = format_length(work.frames_to_make, film.rate)
        verb = "has" if work.pieces_to_make == 1 else "have"
        to_make = f"{work.pieces_to_make:,} of {pieces} {verb} to be made, {length} of picture."
    elif work.sounds_to_make:
        to_make = "All picture is there; some of the sound has to be made."
    else:
        to_make = "Picture and sound are there already; they are put together."
    time = about(work.time.seconds)
    if work.time.is_measured or not work.pieces_to_make:
        return f"{to_make} That takes {time}."
    return f"{to_make} That takes {time}, as a guess: this machine has not made such a copy of it yet."


def what_blocks(outlook: Outlook) -> str:
    """Return the first thing that stands in the way, with what to do, or ""."""
    blocking = outlook.blocking
    if not blocking:
        return ""
    others = f" ({len(blocking) - 1:,} more below.)" if len(blocking) > 1 else ""
    return f"{told(blocking[0])}{others}"


def told(problem: Problem) -> str:
    """Return a problem in sentences, with what to do."""
    subject = f"{problem.subject}: " if problem.place else ""
    return f"{subject}{problem.sentence} {problem.advice}".strip()


def counted_problems(problems: tuple[Problem, ...]) -> str:
    """Return how many problems there are, as a heading."""
    blocking = sum(problem.severity is Severity.BLOCKS for problem in problems)
    looks = len(problems) - blocking
    parts = []
    if blocking:
        parts.append(f"{blocking:,} in the way")
    if looks:
        parts.append(f"{looks:,} to look at")
    return " · ".join(parts) or "Nothing in the way, nothing to look at"


def what_was_made(made: Assembly) -> str:
    """Return how much was made and how much was there."""
    return f"{counted(made.made.pieces_made, 'piece')} made, {made.made.pieces_found:,} already there."


def copy_name(made: Assembly) -> str:
    """Return what a sentence calls a copy, with its length."""
    return f"Review copy {made.number}, {format_length(made.frames, made.film.rate)}"


def listed_files(made: Assembly) -> str:
    """Return the files of a copy, which share their name."""
    copy, *others = made.files
    endings = [file.name.removeprefix(copy.stem) for file in others]
    return f"{copy.name}, beside it {listed(endings, most=len(endings))}"


def not_entered(made: Assembly) -> str:
    """Return why a copy is not entered in the film, or ""."""
    return f"The copy is not entered in the film: {made.notice}" if made.notice else ""
