"""Commands on the running order: `desk move`, `desk set-aside`, `desk put-back`, `desk join`."""

import argparse
import shlex
from pathlib import Path

from desk.assembly.survey import survey
from desk.cli.command import Command, add_folder, add_names, add_reason
from desk.cli.console import Words
from desk.cli.project import edit, find, find_ids, say_effect
from desk.errors import EditError, UsageError
from desk.film import edits
from desk.film.checks import check
from desk.film.edits import ChangeKind, Edit
from desk.film.model import CUT, Film, Join, JoinKind, Scene
from desk.film.problem import Facts, Problem
from desk.film.timecode import format_label
from desk.film.timing import Include, lay_out
from desk.film.wording import entry_name, join_name, sentence
from desk.jobs import CancelToken

_KINDS = {"cut": JoinKind.CUT, "dissolve": JoinKind.DISSOLVE, "black": JoinKind.THROUGH_BLACK}


def _move_arguments(parser: argparse.ArgumentParser) -> None:
    add_folder(parser)
    add_names(parser)
    place = parser.add_mutually_exclusive_group(required=True)
    _add_neighbours(place)
    place.add_argument("--to", type=int, metavar="N", help="the place in the running order, from 1")


def _add_neighbours(place: "argparse._MutuallyExclusiveGroup") -> None:
    place.add_argument("--before", metavar="SCENE", help="the scene or card to stand before")
    place.add_argument("--after", metavar="SCENE", help="the scene or card to stand after")


def _move(asked: argparse.Namespace, words: Words, cancel: CancelToken) -> int:
    def make(film: Film) -> Edit:
        ids = find_ids(film, asked.names)
        index = asked.to - 1 if asked.to is not None else _beside(film, asked, ids)
        return edits.move(film, ids, index)

    done = edit(asked.folder, "desk move", words, make)
    _say_places(done, words)
    say_effect(done, words)
    _say_new_problems(done, asked.folder, words, cancel)
    return 0


def _beside(film: Film, asked: argparse.Namespace, moving: tuple[str, ...]) -> int:
    """Return the place before or after what was named, counted without what moves there."""
    other = find(film, asked.before or asked.after)
    staying = [placement.entry for placement in film.order if placement.entry not in moving]
    if other.id in staying:
        return staying.index(other.id) + (0 if asked.before else 1)
    if other.id in moving:
        raise EditError(
            f"{sentence(entry_name(other))} can't stand beside itself.", advice="Name another neighbour."
        )
    raise EditError(
        f"{sentence(entry_name(other))} is set aside, so nothing can stand beside it.",
        advice="Name another neighbour, or put it back first.",
        code="edit.aside",
    )


def _set_aside_arguments(parser: argparse.ArgumentParser) -> None:
    add_folder(parser)
    add_names(parser)
    add_reason(parser, "why it does not move the plot; it is kept")


def _set_aside(asked: argparse.Namespace, words: Words, cancel: CancelToken) -> int:
    def make(film: Film) -> Edit:
        return edits.set_aside(film, find_ids(film, asked.names), asked.reason)

    done = edit(asked.folder, "desk set-aside", words, make)
    say_effect(done, words)
    _say_new_problems(done, asked.folder, words, cancel)
    return 0


def _put_back_arguments(parser: argparse.ArgumentParser) -> None:
    add_folder(parser)
    add_names(parser)
    _add_neighbours(parser.add_mutually_exclusive_group())


def _put_back(asked: argparse.Namespace, words: Words, cancel: CancelToken) -> int:
    def make(film: Film) -> Edit:
        ids = find_ids(film, asked.names)
        if not (asked.before or asked.after):
            return edits.put_back(film, ids)
        if len(ids) > 1:
            raise UsageError(
                "Only one entry at a time can be put back at a place of choice.", advice="Name one."
            )
        return edits.put_back_at(film, ids[0], _beside(film, asked, ids))

    done = edit(asked.folder, "desk put-back", words, make)
    _say_places(done, words)
    say_effect(done, words)
    _say_new_problems(done, asked.folder, words, cancel)
    return 0


def _join_arguments(parser: argparse.ArgumentParser) -> None:
    add_folder(parser)
    parser.add_argument("name", metavar="SCENE", help="the scene or card before the join")
    parser.add_argument("kind", choices=list(_KINDS), help="how it meets the next")
    parser.add_argument(
        "frames",
        type=int,
        nargs="?",
        metavar="FRAMES",
        help="length of a dissolve or fade through black; half of it lies before the cut",
    )


def _join(asked: argparse.Namespace, words: Words, cancel: CancelToken) -> int:
    join = _wanted_join(asked)

    def make(film: Film) -> Edit:
        return edits.set_join(film, find(film, asked.name).id, join)

    done = edit(asked.folder, "desk join", words, make)
    film, entry_id = done.after, done.change.entries[0]
    if join.kind is not JoinKind.CUT:
        words.say(f"{join.before_frames:,} before the cut, {join.after_frames:,} after it.")
    if film.order[-1].entry == entry_id:
        words.note("Nothing follows it yet; the join waits until something does.")
    if join.kind is JoinKind.DISSOLVE and _say_new_problems(done, asked.folder, words, cancel):
        again = shlex.join(["desk", "join", str(asked.folder), asked.name, "black", str(asked.frames)])
        words.note(f"A fade through black needs no handles: {again}")
    return 0


def _wanted_join(asked: argparse.Namespace) -> Join:
    kind, frames = _KINDS[asked.kind], asked.frames
    if kind is JoinKind.CUT:
        if frames:
            raise UsageError("A cut has no length.", advice="Leave the number out.")
        return CUT
    if frames is None or frames < 1:
        raise UsageError(
            f"A {join_name(Join(kind=kind))} has a length of 1 frame or more"
            f"{'' if frames is None else f', not {frames:,}'}.",
            advice=f"Such as: desk join FOLDER SCENE {asked.kind} 18",
        )
    return Join(kind=kind, before_frames=frames // 2, after_frames=frames - frames // 2)


def _say_places(done: Edit, words: Words) -> None:
    """Say where what was moved begins now."""
    film = done.after
    starts = {slot.entry.id: slot.start_frames for slot in lay_out(film, Include.SLATES).slots}
    for entry_id in done.change.entries:
        if entry_id in starts:
            at = format_label(film.start_frames + starts[entry_id], film.rate, drop_frame=film.drop_frame)
            words.say(f"{sentence(entry_name(film.entry(entry_id)))} starts at {at}.")


def _say_new_problems(done: Edit, folder: Path, words: Words, cancel: CancelToken) -> bool:
    """Say which joins and fades lack room or handles since an edit, which is saved all the same.

    Returns:
        Whether there are any.
    """
    before, after = done.before, done.after
    with words.progress() as progress:
        facts = survey(after, folder, paths=_paths_at_joins(after), progress=progress, cancel=cancel).facts
    # Of a join that was just set all is told, also what was the matter before.
    told_anew = done.change.entries if done.change.kind is ChangeKind.JOIN else ()
    known = [problem for problem in _lacking(before, facts) if problem.place not in told_anew]
    new = [problem for problem in _lacking(after, facts) if problem not in known]
    for problem in new:
        words.note(f"{problem.subject}: {problem.sentence} {problem.advice}".rstrip())
    if new:
        words.note("Saved all the same; an assembly is refused until this is settled.")
    return bool(new)


def _paths_at_joins(film: Film) -> list[str]:
    """Return the footage that may be dissolved: at the head and the tail of each scene."""
    entries = [film.entry(placement.entry) for placement in film.order]
    scenes = [entry.content.clips for entry in entries if isinstance(entry, Scene) and entry.content.clips]
    return list(dict.fromkeys(clip.source for clips in scenes for clip in (clips[0], clips[-1])))


def _lacking(film: Film, facts: Facts) -> list[Problem]:
    problems = check(film, facts, Include.ALL)
    return [problem for problem in problems if problem.code.startswith(("join.", "fade."))]


MOVE = Command(
    name="move",
    help="move scenes and cards",
    example="desk move kiosk 4A --after 2",
    arguments=_move_arguments,
    run=_move,
)
SET_ASIDE = Command(
    name="set-aside",
    help="take scenes out of the film and keep them whole",
    example='desk set-aside kiosk 6 --reason "nothing changes"',
    arguments=_set_aside_arguments,
    run=_set_aside,
)
PUT_BACK = Command(
    name="put-back",
    help="put scenes back where they were",
    example="desk put-back kiosk 6",
    arguments=_put_back_arguments,
    run=_put_back,
)
JOIN = Command(
    name="join",
    help="set how a scene meets the next",
    example="desk join kiosk 4A dissolve 18",
    arguments=_join_arguments,
    run=_join,
)
