"""`desk open`: the window. `desk` alone opens its start page."""

import argparse
import os
import sys
from pathlib import Path

from desk.cli.command import Command
from desk.cli.console import Words
from desk.errors import DeskError
from desk.jobs import CancelToken
from desk.store.project import open_film


def _arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "folder",
        type=Path,
        nargs="?",
        metavar="FOLDER",
        help="the project folder, which holds film.json; without one, the start page",
    )


def _run(asked: argparse.Namespace, words: Words, _: CancelToken) -> int:
    if asked.folder is not None and not asked.folder.exists():
        open_film(asked.folder)  # tells that it is missing
    _refuse_without_screen()
    from desk import app  # widgets take a while to load, and no other command needs them

    return app.run(asked.folder)


def _refuse_without_screen() -> None:
    """Tell that there is no screen, where Qt would end the process.

    Raises:
        DeskError: when there is none.
    """
    has_screen = os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")
    if sys.platform.startswith("linux") and not has_screen and not os.environ.get("QT_QPA_PLATFORM"):
        raise DeskError(
            "There is no screen to open the window on.",
            advice="Start it on a desktop; `desk --help` lists the commands that need none.",
            code="window.no-screen",
        )


COMMAND = Command(
    name="open",
    help="open the window on a film, or on its start page",
    example="desk open kiosk",
    arguments=_arguments,
    run=_run,
)
