"""What a command is, and the arguments that several commands take."""

import argparse
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from desk.cli.console import Words
from desk.film.timing import Include
from desk.jobs import CancelToken

Run = Callable[[argparse.Namespace, Words, CancelToken], int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Command:
    """A command.

    Attributes:
        name: Its name.
        help: What it does, as the rest of a sentence.
        example: A command line.
        arguments: Adds its arguments to a parser.
        run: Does it, and returns the exit code.
        more: What else there is to know, for its help.
    """

    name: str
    help: str
    example: str
    arguments: Callable[[argparse.ArgumentParser], None]
    run: Run
    more: str = ""


def add_folder(parser: argparse.ArgumentParser) -> None:
    """Add the project folder."""
    parser.add_argument(
        "folder", type=Path, metavar="FOLDER", help="the project folder, which holds film.json"
    )


def add_names(parser: argparse.ArgumentParser, *, optional: bool = False) -> None:
    """Add one or more scenes and cards, or any number of them."""
    parser.add_argument(
        "names",
        nargs="*" if optional else "+",
        metavar="SCENE",
        help="number of a scene (4A), or name of a card (Title)",
    )


def add_reason(parser: argparse.ArgumentParser, why: str) -> None:
    """Add a reason."""
    parser.add_argument("--reason", default="", metavar="TEXT", help=why)


def add_json(parser: argparse.ArgumentParser) -> None:
    """Add the choice of an output for other programs."""
    parser.add_argument("--json", action="store_true", help="print JSON for another program")


def add_include(parser: argparse.ArgumentParser) -> None:
    """Add which scenes an assembly takes; `included` reads it."""
    parser.add_argument(
        "--include",
        choices=[item.value for item in Include],
        default=Include.LOCKED.value,
        help="locked: locked scenes only (default); all: drafts too; slates: a slate for each draft",
    )


def included(asked: argparse.Namespace) -> Include:
    """Return which scenes an assembly takes."""
    return Include(asked.include)


def today() -> str:
    """Return the date as films have it."""
    return date.today().isoformat()
