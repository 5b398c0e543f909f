"""Reads the command line and runs a command. `EXIT_CODES` says how each may end."""

import argparse
import logging
import shutil
import signal
import sys
import tempfile
import threading
import traceback
from collections.abc import Sequence
from types import FrameType
from typing import NoReturn

from desk import __version__
from desk.cli import commands, opening
from desk.cli.command import Command
from desk.cli.console import Words
from desk.errors import DeskError, UsageError
from desk.film.wording import listed, quoted, sentence
from desk.jobs import Cancelled, CancelToken

OWN_FAULT = 70
INTERRUPTED = 130
EXIT_CODES = {
    0: "done",
    1: "something stands in the way of an assembly",
    2: "the command or the edit was refused",
    3: "the film file is missing, damaged or of a newer version",
    4: "footage or sound is missing or can't be read",
    5: "the place to write to is missing, read-only, full or in the footage",
    6: "ffmpeg is missing or failed",
    7: "the film is in use by another command or window",
    OWN_FAULT: "a fault of the program itself",
    INTERRUPTED: "stopped with Ctrl-C",
}


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command and return its exit code.

    Args:
        arguments: The command line after the program's name, or None for the real one.
    """
    words = Words()
    cancel = CancelToken()
    try:
        with _Stoppable(cancel), _Remarks(words):
            asked = _read(sys.argv[1:] if arguments is None else arguments)
            return int(asked.run(asked, words, cancel))
    except DeskError as error:
        words.fault(error)
        return error.exit_code
    except (Cancelled, KeyboardInterrupt):
        words.note("Stopped. Nothing half-made is left.")
        return INTERRUPTED
    except SystemExit as asked_for_help:
        return int(asked_for_help.code or 0)
    except Exception:  # noqa: BLE001 - the last hook: a person gets a sentence, and a report to send
        words.fault(_own_fault())
        return OWN_FAULT


def _own_fault() -> DeskError:
    """Return what is said of a fault of the program itself; the traceback goes to a file."""
    try:
        with tempfile.NamedTemporaryFile(
            "w", prefix="desk-report-", suffix=".txt", delete=False, encoding="utf-8", errors="replace"
        ) as stream:
            traceback.print_exc(file=stream)
            report = f"A report is in {stream.name}."
    except OSError:
        report = traceback.format_exc(limit=-1).strip()
    return DeskError(
        "This is a fault of the program itself, and not of your film.",
        advice=f"The film file is whole, and the footage was not touched. {report}",
    )


def _read(arguments: Sequence[str]) -> argparse.Namespace:
    """Return what is asked.

    Raises:
        UsageError: when it can't be understood.
    """
    asked, unknown = parser().parse_known_args(arguments or [opening.COMMAND.name])
    if unknown:
        dashed = any(word.startswith("-") for word in unknown)
        name = "; a scene's name that begins with a dash stands after “ -- ”" if dashed else ""
        raise UsageError(
            f"`desk {asked.command}` does not know {listed([quoted(word) for word in unknown])}.",
            advice=f"`desk {asked.command} --help` shows what it takes{name}.",
        )
    return asked


def parser() -> argparse.ArgumentParser:
    """Return the parser of the whole command line."""
    codes = "\n".join(f"  {code:<5}{meaning}" for code, meaning in EXIT_CODES.items())
    top = _Parser(
        prog="desk",
        description="Scenes that are really finished, in order, made into a review copy.",
        epilog=f"exit codes:\n{codes}",
        formatter_class=_Form,
        allow_abbrev=False,
    )
    top.add_argument("--version", action="version", version=f"assembly-desk {__version__}")
    added = top.add_subparsers(title="commands", metavar="COMMAND", dest="command", required=True)
    for command in commands.ALL:
        _add(added, command)
    return top


def _add(added: "argparse._SubParsersAction[_Parser]", command: Command) -> None:
    more = f"{command.more}\n\n" if command.more else ""
    sub = added.add_parser(
        command.name,
        help=command.help,
        description=f"{sentence(command.help)}.",
        epilog=f"{more}example:\n  {command.example}",
        formatter_class=_Form,
        allow_abbrev=False,
    )
    command.arguments(sub)
    sub.set_defaults(run=command.run)


class _Form(argparse.RawDescriptionHelpFormatter):
    """Help in lines that are neither too long to read nor broken more than the terminal asks."""

    def __init__(self, prog: str) -> None:
        width = min(shutil.get_terminal_size().columns, 100) - 2
        super().__init__(prog, indent_increment=1, max_help_position=26, width=width)


class _Parser(argparse.ArgumentParser):
    """A parser that tells a fault as all faults are told."""

    def error(self, message: str) -> NoReturn:
        raise UsageError(f"{sentence(message)}.", advice=f"`{self.prog} --help` shows what it takes.")


class _Remarks(logging.Handler):
    """Passes on what the rooms below log for a person, such as that a damaged piece is made again."""

    def __init__(self, words: Words) -> None:
        super().__init__(logging.WARNING)
        self._words = words

    def __enter__(self) -> None:
        logging.getLogger("desk").addHandler(self)

    def __exit__(self, *_: object) -> None:
        logging.getLogger("desk").removeHandler(self)

    def emit(self, record: logging.LogRecord) -> None:
        self._words.note(f"{sentence(record.getMessage()).rstrip('.')}.")


class _Stoppable:
    """Turns Ctrl-C into a request to stop, so that what runs can clean up; a second one stops at once."""

    def __init__(self, cancel: CancelToken) -> None:
        self._cancel = cancel

    def __enter__(self) -> None:
        self._on_main_thread = threading.current_thread() is threading.main_thread()
        if self._on_main_thread:
            self._before = signal.signal(signal.SIGINT, self._stop)
            self._before_term = signal.signal(signal.SIGTERM, self._stop)

    def __exit__(self, *_: object) -> None:
        if self._on_main_thread:
            signal.signal(signal.SIGINT, self._before)
            signal.signal(signal.SIGTERM, self._before_term)

    def _stop(self, _number: int, _frame: FrameType | None) -> None:
        if self._cancel.is_set:
            raise KeyboardInterrupt
        self._cancel.set()
