"""Words, tables and progress on a terminal, in a file or down a pipe."""

import codecs
import contextlib
import io
import json
import math
import os
import re
import textwrap
import threading
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from rich.cells import cell_len
from rich.console import Console
from rich.markup import escape
from rich.progress import BarColumn, TaskProgressColumn, TextColumn, TimeRemainingColumn
from rich.progress import Progress as Bar
from rich.table import Column
from rich.text import Text

from desk.errors import DeskError, OutputError
from desk.jobs import Progress, ProgressListener

_WIDE_COLUMNS = 120
_LEAST_COLUMNS, _LEAST_FLEXIBLE = 20, 12
_GAP = "  "
_UNDER = " " * len("desk: ")
_BAR_DELAY_SECONDS = 0.5
"""Work that is done sooner shows no bar."""

_CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069]")
_TYPEWRITTEN = str.maketrans(
    {"“": '"', "”": '"', "‘": "'", "’": "'", "…": "...", "–": "-", "—": "-", "−": "-", "×": "x", "·": "-"}
)


def _type_plainly(error: UnicodeError) -> tuple[str, int]:
    """Stand in for signs that a stream's encoding lacks."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    lacking = error.object[error.start : error.end].translate(_TYPEWRITTEN)
    return "".join(sign if sign.isascii() else "?" for sign in lacking), error.end


codecs.register_error("desk.plain", _type_plainly)


def plain(text: str) -> str:
    r"""Return text as one line that can't move a terminal's cursor: control characters show as `\x1b`."""
    return _CONTROL.sub(lambda sign: sign[0].encode("unicode_escape").decode(), text)


class _Stream(Console):
    """Where words go. A reader that has gone away does not end the work: what is left is said to nobody."""

    def __init__(self, *, is_error: bool) -> None:
        super().__init__(stderr=is_error, highlight=False, soft_wrap=True)
        if isinstance(self.file, io.TextIOWrapper):
            self.file.reconfigure(errors="desk.plain")

    def emit(self, text: str, style: str = "") -> None:
        """Print a line as it is, however long.

        Raises:
            OutputError: when a file that it goes to can't be written.
        """
        try:
            self.print(Text(text, style=style))
        except OSError as error:
            self.on_broken_pipe()
            if not isinstance(error, BrokenPipeError):
                raise OutputError(
                    f"What there is to say could not be written: {error.strerror}.",
                    advice="Send the output elsewhere; the work itself is done as far as it was said.",
                    detail=str(error),
                ) from error

    def on_broken_pipe(self) -> None:
        """Go on in silence; rich's own way would end the program in the middle of its work."""
        self.quiet = True
        with contextlib.suppress(OSError, ValueError):
            nowhere = os.open(os.devnull, os.O_WRONLY)
            os.dup2(nowhere, self.file.fileno())
            os.close(nowhere)


@dataclass(frozen=True, slots=True)
class Head:
    """The head of a table's column.

    Attributes:
        text: What it says.
        is_number: Whether its cells are numbers and stand to the right.
        is_flexible: Whether its cells are broken into lines where the table is too wide.
    """

    text: str
    is_number: bool = False
    is_flexible: bool = False


class Words:
    """What a command says: results on one stream, faults, remarks and progress on the other."""

    def __init__(self) -> None:
        self._out = _Stream(is_error=False)
        self._err = _Stream(is_error=True)

    @property
    def is_narrow(self) -> bool:
        """Whether results go to a terminal that a wide table does not fit."""
        return self._out.is_terminal and self._out.width < _WIDE_COLUMNS

    def say(self, text: str, *, indent: str = "", style: str = "") -> None:
        """Print a sentence or more of the result.

        Args:
            text: What to say.
            indent: What stands before each line.
            style: How it looks on a terminal.
        """
        _wrapped(self._out, plain(text), indent, indent, style)

    def line(self, text: str) -> None:
        """Print a line of the result as it is, such as a path that somebody may want to copy."""
        self._out.emit(plain(text))

    def note(self, text: str) -> None:
        """Print a remark beside the result."""
        _wrapped(self._err, plain(text), "", "  ")

    def fault(self, error: DeskError) -> None:
        """Print a fault: what is wrong, then what to do."""
        self.faults([error])

    def faults(self, errors: Sequence[DeskError], *advice: str) -> None:
        """Print several faults, then what to do about them, each advice once.

        Args:
            errors: What is wrong.
            *advice: What else to do.
        """
        for error in errors:
            _wrapped(self._err, plain(f"desk: {error.message}"), "", _UNDER, "bold")
        for text in dict.fromkeys([*(error.advice for error in errors), *advice]):
            if text:
                _wrapped(self._err, plain(text), _UNDER, _UNDER)

    def json(self, value: object) -> None:
        """Print a value for another program; in ASCII alone where the stream is not UTF-8."""
        is_unicode = codecs.lookup(self._out.encoding).name == "utf-8"
        for line in json.dumps(value, ensure_ascii=not is_unicode, indent=1).split("\n"):
            self._out.emit(line)

    def table(self, heads: Sequence[Head], rows: Sequence[tuple[Sequence[str], str]]) -> None:
        """Print a table.

        Args:
            heads: The columns.
            rows: The cells of each row, and what stands on a line of its own below it, or "".
        """
        cells = [[plain(cell) for cell in row] for row, _ in rows]
        columns = [list(column) for column in zip([head.text for head in heads], *cells, strict=True)]
        widths = [max(map(cell_len, column)) for column in columns]
        if self._out.is_terminal:
            over = sum(widths) + len(_GAP) * (len(widths) - 1) - self._out.width
            for place, head in enumerate(heads):
                if head.is_flexible and over > 0:
                    widths[place] = max(_LEAST_FLEXIBLE, widths[place] - over)
        self._out.emit(_row([head.text for head in heads], heads, widths), "dim")
        for row, (_, below) in zip(cells, rows, strict=True):
            broken = [
                textwrap.wrap(cell, width) or [""] if head.is_flexible else [cell]
                for cell, head, width in zip(row, heads, widths, strict=True)
            ]
            for index in range(max(map(len, broken))):
                parts = [lines[index] if index < len(lines) else "" for lines in broken]
                self._out.emit(_row(parts, heads, widths))
            if below:
                indent = " " * (widths[0] + len(_GAP))
                _wrapped(self._out, plain(below), indent, indent + _GAP, "dim")

    @contextlib.contextmanager
    def progress(self) -> Iterator[ProgressListener]:
        """Give a listener that draws a bar with the time left, on a terminal; elsewhere it stays quiet."""
        columns = (
            TextColumn("{task.description}", table_column=Column(ratio=3, no_wrap=True, overflow="ellipsis")),
            BarColumn(bar_width=None, table_column=Column(ratio=2)),
            TaskProgressColumn(),
            TimeRemainingColumn(compact=True),
            TextColumn("left"),
        )
        quiet = not self._err.is_interactive
        bar = Bar(*columns, console=self._err, transient=True, expand=True, disable=quiet)
        task = bar.add_task("", total=1.0)
        lock = threading.Lock()
        show_from = time.monotonic() + _BAR_DELAY_SECONDS

        def listen(report: Progress) -> None:
            with lock:
                bar.update(task, completed=report.fraction, description=escape(plain(report.text)))
                if time.monotonic() > show_from:
                    bar.start()

        try:
            yield listen
        finally:
            with lock:
                show_from = math.inf  # a report that comes late must not bring the bar back
                bar.stop()


def _wrapped(stream: _Stream, text: str, first: str, rest: str, style: str = "") -> None:
    """Print text broken at words on a terminal, and as one line elsewhere."""
    lines = [first + text]
    if stream.is_terminal:
        lines = textwrap.wrap(
            text,
            max(_LEAST_COLUMNS, stream.width),
            initial_indent=first,
            subsequent_indent=rest,
            break_long_words=False,
            break_on_hyphens=False,
        )
    for line in lines:
        stream.emit(line, style)


def _row(cells: Sequence[str], heads: Sequence[Head], widths: Sequence[int]) -> str:
    padded = []
    for cell, head, width in zip(cells, heads, widths, strict=True):
        space = " " * (width - cell_len(cell))
        padded.append(space + cell if head.is_number else cell + space)
    return _GAP.join(padded).rstrip()
