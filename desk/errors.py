"""All errors that a person may meet, in one tree.

    DeskError
    ├── UsageError           a command line that can't be carried out as it is written
    ├── EditError            an edit that the film does not allow
    ├── TimecodeError        a label that names no frame
    ├── FilmFileError        the film file can't be read, understood or written
    │   └── FilmBusyError    another command or window holds the film
    ├── MediaError           footage or sound that is missing or can't be read
    ├── AssemblyError        the film can't be assembled as it stands
    ├── OutputError          the place to write to is missing, read-only or full
    └── FfmpegError          ffmpeg is missing, or stopped with a fault

A DeskError is a fault of the world, told in one sentence with what to do next. Misuse by our own code
raises the builtins. Cancelling is an outcome and not an error: see `desk.jobs`.
"""

from pathlib import Path
from typing import ClassVar


class DeskError(Exception):
    """A fault that a person can understand and act on.

    Attributes:
        message: One sentence that names the thing.
        advice: What the person can do next, or "".
        code: A stable name of the kind of fault, such as `media.missing`.
        path: The file or folder concerned, or None.
        detail: The tail of a log or the text of the error below, or "".
        exit_code: What the command line returns for this branch.
    """

    exit_code: ClassVar[int] = 1
    default_code: ClassVar[str] = "desk"

    def __init__(
        self, message: str, *, advice: str = "", code: str = "", path: Path | None = None, detail: str = ""
    ) -> None:
        super().__init__(message)
        self.message = message
        self.advice = advice
        self.code = code or self.default_code
        self.path = path
        self.detail = detail

    def __str__(self) -> str:
        return f"{self.message} {self.advice}".rstrip()


class UsageError(DeskError):
    """A command line that can't be carried out as it is written."""

    exit_code = 2
    default_code = "command.refused"


class EditError(DeskError):
    """An edit that the film does not allow."""

    exit_code = 2
    default_code = "edit.refused"


class TimecodeError(DeskError):
    """A label or a number that names no frame."""

    exit_code = 2
    default_code = "timecode.illegal"


class FilmFileError(DeskError):
    """The film file can't be read, understood or written."""

    exit_code = 3
    default_code = "film.unreadable"


class FilmBusyError(FilmFileError):
    """Another command or window holds the film."""

    exit_code = 7
    default_code = "film.busy"


class MediaError(DeskError):
    """Footage or sound that is missing or can't be read."""

    exit_code = 4
    default_code = "media.unreadable"


class AssemblyError(DeskError):
    """The film can't be assembled as it stands."""

    exit_code = 1
    default_code = "assembly.blocked"


class OutputError(DeskError):
    """The place to write to is missing, read-only or full."""

    exit_code = 5
    default_code = "output.unwritable"


class FfmpegError(DeskError):
    """The ffmpeg program is missing, or stopped with a fault."""

    exit_code = 6
    default_code = "ffmpeg.failed"
