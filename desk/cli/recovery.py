"""`desk recover`: the last good version of a damaged film file."""

import argparse

from desk.cli.command import Command, add_folder
from desk.cli.console import Words
from desk.jobs import CancelToken
from desk.store.folder import desk_folder
from desk.store.lock import hold
from desk.store.project import open_film
from desk.store.recover import recover


def _run(asked: argparse.Namespace, words: Words, _: CancelToken) -> int:
    if not desk_folder(asked.folder).is_dir():
        open_film(asked.folder)  # tells what is the matter, where nothing is kept to bring back
    with hold(asked.folder, "desk recover"):
        done = recover(asked.folder)
    words.say(f"Brought back “{done.film.title}” as saved on {done.version.saved_text}.")
    if done.damaged:
        words.line(f"The damaged file is kept as {done.damaged}")
    return 0


COMMAND = Command(
    name="recover",
    help="bring back the last good version of a damaged film file",
    example="desk recover kiosk",
    arguments=add_folder,
    run=_run,
)
