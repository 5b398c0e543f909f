"""`desk show` and `desk check`: how a film stands, and what stands in its way."""

import argparse
import re
from collections.abc import Iterable, Iterator

from desk.assembly.survey import survey
from desk.cli import listing
from desk.cli.command import Command, add_folder, add_include, add_json, included
from desk.cli.console import Words
from desk.cli.project import opened
from desk.film.problem import Problem, Severity
from desk.film.timing import Include
from desk.film.wording import counted, listed, sentence, uncapped
from desk.jobs import CancelToken

_INCLUDED = {
    Include.LOCKED: "the locked scenes",
    Include.ALL: "all scenes",
    Include.SLATES: "locked scenes and slates",
}
_MOST_SUBJECTS = 12
_SCENE = re.compile(r"Scene ([^\s,]+)")


def _show_arguments(parser: argparse.ArgumentParser) -> None:
    add_folder(parser)
    add_json(parser)


def _show(asked: argparse.Namespace, words: Words, _: CancelToken) -> int:
    film = opened(asked.folder, words).film
    told = listing.whole(film, asked.folder)
    if asked.json:
        words.json(told)
        return 0
    words.say(f"{film.title}: {film.rate} frames a second, {film.size}")
    words.table(*listing.table(film, told["running_order"], narrow=words.is_narrow))
    words.say(listing.figures_line(film))
    if told["set_aside"]:
        words.say("Set aside:")
        for entry in told["set_aside"]:
            words.say(listing.aside_line(entry, film), indent="  ")
    return 0


def _check_arguments(parser: argparse.ArgumentParser) -> None:
    add_folder(parser)
    add_include(parser)
    add_json(parser)


def _check(asked: argparse.Namespace, words: Words, cancel: CancelToken) -> int:
    include = included(asked)
    film = opened(asked.folder, words).film
    with words.progress() as progress:
        problems = survey(film, asked.folder, progress=progress, cancel=cancel).problems(include)
    blocking = [problem for problem in problems if problem.severity is Severity.BLOCKS]
    if asked.json:
        words.json(
            {
                "include": include.value,
                "blocking": len(blocking),
                "problems": [_as_values(problem) for problem in problems],
            }
        )
        return int(bool(blocking))
    for subjects, problem in _grouped(problems):
        blocks = problem.severity is Severity.BLOCKS
        words.say(f"{'BLOCKS' if blocks else 'look'}: {subjects}", style="bold" if blocks else "")
        words.say(f"{problem.sentence} {problem.advice}".rstrip(), indent="    ")
    words.say(_sum(len(blocking), len(problems) - len(blocking), include))
    return int(bool(blocking))


def _as_values(problem: Problem) -> dict[str, str]:
    return {
        "severity": problem.severity.value,
        "place": problem.place,
        "subject": problem.subject,
        "sentence": problem.sentence,
        "advice": problem.advice,
        "code": problem.code,
    }


def _grouped(problems: Iterable[Problem]) -> Iterator[tuple[str, Problem]]:
    """Yield what is said of several things once, with all of them."""
    groups: dict[tuple[str, ...], list[Problem]] = {}
    for problem in problems:
        same = (problem.severity, problem.code, problem.sentence, problem.advice)
        groups.setdefault(same, []).append(problem)
    for group in groups.values():
        yield _subjects([problem.subject for problem in group]), group[0]


def _subjects(subjects: list[str]) -> str:
    """Return what is spoken of: `Scene 4A`, or `Scenes 1, 2 and 4A, each`."""
    if len(subjects) == 1:
        return subjects[0]
    numbers = [match[1] for subject in subjects if (match := _SCENE.fullmatch(subject))]
    if len(numbers) == len(subjects):
        return f"Scenes {listed(numbers, most=_MOST_SUBJECTS)}, each"
    named = [subjects[0], *(uncapped(subject) for subject in subjects[1:])]
    return f"{listed(named, most=_MOST_SUBJECTS)}, each"


def _sum(blocking: int, look: int, include: Include) -> str:
    of_what = f"in the way of an assembly of {_INCLUDED[include]}"
    first = f"{counted(blocking, 'thing')} {'stands' if blocking == 1 else 'stand'} {of_what}"
    if not blocking:
        first = f"nothing stands {of_what}"
    return sentence(f"{first}; {counted(look, 'thing') if look else 'nothing'} to look at.")


SHOW = Command(
    name="show",
    help="show the running order",
    example="desk show kiosk",
    arguments=_show_arguments,
    run=_show,
    more="""\
--json prints one object: title, rate, size, frames, locked_frames, running_order, set_aside and
review_copies. An entry has kind, id, name, state, frames and open; a scene also number, clips, tension,
purpose, synopsis, grade_note, cues and version; in the running order start_frames, timecode and join. Keys
may be added, and are not renamed.""",
)
CHECK = Command(
    name="check",
    help="tell what stands in the way of an assembly, and what deserves a look",
    example="desk check kiosk --include all",
    arguments=_check_arguments,
    run=_check,
    more="""\
Ends with exit code 1 when something stands in the way.

--json prints one object: include, blocking (how many) and problems, each with severity (“blocks” or “look”),
place (id of a scene or card, or “”), subject, sentence, advice and code. Keys may be added, and are not
renamed.""",
)
