"""Which ffmpeg is used, and what it is."""

import functools
import os
import re
import shutil
import subprocess
from dataclasses import dataclass
from pathlib import Path

import imageio_ffmpeg

from desk.errors import FfmpegError

PROGRAM_VARIABLE = "DESK_FFMPEG"
"""Environment variable that names another ffmpeg than the bundled one."""

_OTHERWISE = "Name another, or none to use the bundled one."


@dataclass(frozen=True, slots=True)
class Program:
    """An ffmpeg that can be started.

    Attributes:
        path: The executable.
        version: What it calls its release; part of every piece's name.
    """

    path: Path
    version: str


def find_program(path: str | None = None) -> Program:
    """Return the ffmpeg to use: the one given, else the one `DESK_FFMPEG` names, else the bundled one.

    Args:
        path: A path or a name on the PATH.

    Raises:
        FfmpegError: when it is missing or does not run.
    """
    wanted = path or os.environ.get(PROGRAM_VARIABLE)
    if wanted:
        found = shutil.which(wanted)
        if not found:
            raise FfmpegError(
                f"There is no ffmpeg at “{wanted}”.",
                advice=_OTHERWISE if path else f"Correct or unset {PROGRAM_VARIABLE} to use the bundled one.",
                code="ffmpeg.missing",
            )
        return _inspect(found)
    try:
        return _inspect(imageio_ffmpeg.get_ffmpeg_exe())
    except RuntimeError as error:
        raise FfmpegError(
            "No ffmpeg came with this installation.",
            advice=f"Install ffmpeg and name it in {PROGRAM_VARIABLE}.",
            code="ffmpeg.missing",
            detail=str(error),
        ) from error


@functools.lru_cache(maxsize=8)
def _inspect(path: str) -> Program:
    try:
        done = subprocess.run(
            [path, "-hide_banner", "-version"],
            capture_output=True,
            text=True,
            timeout=30,
            check=False,
            stdin=subprocess.DEVNULL,
        )
    except (OSError, subprocess.TimeoutExpired) as error:
        raise FfmpegError(
            f"“{path}” can't be started.",
            advice=f"Install it again. {_OTHERWISE}",
            code="ffmpeg.missing",
            detail=str(error),
        ) from error
    match = re.match(r"ffmpeg version (\S+)", done.stdout)
    if done.returncode or not match:
        raise FfmpegError(
            f"“{path}” is not an ffmpeg.",
            advice=_OTHERWISE,
            code="ffmpeg.missing",
            detail=done.stderr[-2000:],
        )
    return Program(Path(path), match[1])
