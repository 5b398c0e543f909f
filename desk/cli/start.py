"""`desk start`: a film from a folder of footage."""

import argparse
import contextlib
import shlex
from pathlib import Path

from desk.cli.command import Command
from desk.cli.console import Words
from desk.errors import OutputError, UsageError
from desk.film.faults import LEAST_SIDE_PX, MOST_SIDE_PX, Findings
from desk.film.model import Size
from desk.film.rates import FILM_RATES, Rate
from desk.film.wording import counted
from desk.footage.first_film import first_film
from desk.footage.place import refuse_project_in_footage
from desk.footage.probing import ProbeCache
from desk.jobs import CancelToken
from desk.store.folder import desk_folder
from desk.store.making import make_project, refuse_taken

_RATES = ", ".join(str(rate) for rate in FILM_RATES)


def _arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "folder", type=Path, metavar="FOLDER", help="the project folder to make; outside of the footage"
    )
    parser.add_argument(
        "--footage",
        type=Path,
        required=True,
        metavar="DIR",
        help="the folder that holds a sub-folder for each scene; nothing in it is changed",
    )
    parser.add_argument(
        "--title", default="", metavar="TEXT", help="the film's title; by default the folder's name"
    )
    parser.add_argument(
        "--rate", type=_rate, help=f"frames a second: {_RATES}; by default as most of the footage"
    )
    parser.add_argument("--size", type=_size, help="such as 2048x1080; by default as most of the footage")


def _rate(text: str) -> Rate:
    try:
        rate = Rate.parse(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(str(error)) from error
    if rate not in FILM_RATES:
        raise argparse.ArgumentTypeError(f"a film can't have {rate} frames a second; it can have {_RATES}")
    return rate


def _size(text: str) -> Size:
    width, _, height = text.lower().partition("x")
    if not all(side.isascii() and side.isdecimal() and len(side) < 9 for side in (width, height)):
        raise argparse.ArgumentTypeError(f"“{text}” is not a size such as 2048x1080")
    size = Size(int(width), int(height))
    if not all(LEAST_SIDE_PX <= side <= MOST_SIDE_PX and side % 2 == 0 for side in (size.width, size.height)):
        raise argparse.ArgumentTypeError(
            f"{size} is not possible: both sides are even, from {LEAST_SIDE_PX} to {MOST_SIDE_PX}"
        )
    return size


def _run(asked: argparse.Namespace, words: Words, cancel: CancelToken) -> int:
    folder: Path = asked.folder
    _refuse(asked)
    cache = ProbeCache(desk_folder(folder) / "probes.json")
    with words.progress() as progress:
        made = first_film(
            folder,
            asked.footage,
            title=asked.title,
            rate=asked.rate,
            size=asked.size,
            cache=cache,
            progress=progress,
            cancel=cancel,
        )
    make_project(folder, made.film, "desk start")
    with contextlib.suppress(OutputError):
        cache.save()
    for remark in made.remarks:
        words.note(remark)
    film = made.film
    clips = sum(len(scene.content.clips) for scene in film.scenes)
    words.say(made.why)
    words.say(
        f"Made “{film.title}” in {folder}: {counted(len(film.scenes), 'scene')}, "
        f"{counted(clips, 'clip')}, {film.rate} frames a second, {film.size}."
    )
    words.say("Do not erase a card before two verified copies exist.")
    shown = shlex.quote(str(folder))
    words.line(f"To see the running order: desk show {shown}")
    words.line(f"To watch all of it in order: desk assemble {shown} --out copies --include all")
    return 0


def _refuse(asked: argparse.Namespace) -> None:
    """Refuse what could only fail after all footage has been read."""
    findings = Findings(day_frames=0)
    findings.line(asked.title, "title", "the title of the film")
    if findings.found:
        raise UsageError(findings.found[0].sentence, advice="Give another --title.")
    refuse_taken(asked.folder)
    refuse_project_in_footage(asked.folder, asked.footage)


COMMAND = Command(
    name="start",
    help="make a film from a folder of footage, one scene for each sub-folder",
    example='desk start kiosk --footage rushes --title "The Unprinted Ticket"',
    arguments=_arguments,
    run=_run,
)
