"""Run one ffmpeg: progress, cancel, holding, errors."""

import contextlib
import errno
import os
import re
import signal
import subprocess
import threading
from collections import deque
from collections.abc import Callable, Sequence

from desk.errors import FfmpegError, OutputError
from desk.ffmpeg.program import Program
from desk.jobs import Cancelled, CancelToken

_GRACE_SECONDS = 3
_CANCEL_POLL_SECONDS = 0.1
_LOG_LINES = 40
_LOWEST_PRIORITY = 19
_BELOW_NORMAL = getattr(subprocess, "BELOW_NORMAL_PRIORITY_CLASS", 0)
"""How Windows is asked for the same, when a process is started."""

_CAN_HOLD = hasattr(signal, "SIGSTOP")
_FULL = re.compile(r"No space left on device|Disk quota exceeded", re.IGNORECASE)


def run(
    program: Program,
    arguments: Sequence[str],
    *,
    cancel: CancelToken,
    on_frame: Callable[[int], None] | None = None,
    doing: str = "ffmpeg",
    low_priority: bool = False,
    is_held: Callable[[], bool] | None = None,
) -> None:
    """Run ffmpeg to its end.

    Does not promise that a partial output is gone after a fault: the caller writes to a part-file
    (`desk.files.replacing`).

    Args:
        program: Which ffmpeg.
        arguments: All arguments after the program's name. Paths are whole arguments.
        cancel: Stops the process when set.
        on_frame: Called with the number of frames written so far, a few times a second, from another thread.
        doing: What this run is for, named in the error.
        low_priority: Whether everything else that wants the machine comes first.
        is_held: Asked a few times a second: while it says so the process stands still, and keeps what it has
            done. Windows can't do that, and goes on.

    Raises:
        Cancelled: when stopped on request.
        FfmpegError: when ffmpeg ends with a fault or is killed.
        OutputError: when the disk is full.
    """
    command = [
        str(program.path), "-hide_banner", "-nostdin", "-nostats", "-loglevel", "warning", "-y",
        *(("-progress", "pipe:1") if on_frame else ()), *arguments,
    ]  # fmt: skip
    cancel.check()
    try:
        process = subprocess.Popen(
            command,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE if on_frame else subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
            errors="replace",
            creationflags=_BELOW_NORMAL if low_priority else 0,
            # A process that stands still when we die is ended by the system, if it is in a group of its own.
            process_group=0 if is_held and _CAN_HOLD else None,
        )
    except OSError as error:
        raise FfmpegError(
            f"“{program.path}” can't be started.", advice="Install it again.", detail=str(error)
        ) from error
    if low_priority:
        _lower(process)
    log: deque[str] = deque(maxlen=_LOG_LINES)
    readers = [threading.Thread(target=_read_log, args=(process, log), daemon=True)]
    if on_frame:
        readers.append(threading.Thread(target=_read_progress, args=(process, on_frame), daemon=True))
    for reader in readers:
        reader.start()
    stands = False
    try:
        # The log ends when the process does; waiting for that costs no polling delay.
        while readers[0].is_alive():
            if is_held and is_held() != stands:
                stands = not stands
                _hold(process, stands=stands)
            readers[0].join(_CANCEL_POLL_SECONDS)
            if cancel.is_set:
                raise Cancelled
        process.wait()
    finally:
        # At the lowest priority it would not come to ending by itself, and what it wrote is thrown away.
        _end(process, grace_seconds=0 if low_priority else _GRACE_SECONDS)
        for reader in readers:
            reader.join()
        for stream in (process.stdout, process.stderr):
            if stream:
                stream.close()
    cancel.check()
    if process.returncode:
        raise _fault(doing, process.returncode, "".join(log))


def _read_log(process: "subprocess.Popen[str]", log: deque[str]) -> None:
    assert process.stderr is not None
    log.extend(process.stderr)


def _read_progress(process: "subprocess.Popen[str]", on_frame: Callable[[int], None]) -> None:
    assert process.stdout is not None
    for line in process.stdout:
        key, _, value = line.partition("=")
        if key == "frame" and value.strip().isdigit():
            on_frame(int(value))


def _lower(process: "subprocess.Popen[str]") -> None:
    """Put a process behind all others; it has no threads yet, and those that it starts take after it."""
    if hasattr(os, "setpriority"):
        with contextlib.suppress(OSError):
            os.setpriority(os.PRIO_PROCESS, process.pid, _LOWEST_PRIORITY)


def _hold(process: "subprocess.Popen[str]", *, stands: bool) -> None:
    if _CAN_HOLD:
        process.send_signal(signal.SIGSTOP if stands else signal.SIGCONT)


def _end(process: "subprocess.Popen[str]", *, grace_seconds: float) -> None:
    if process.poll() is not None:
        return
    process.terminate()
    # One that stands still has to go on to be able to end.
    _hold(process, stands=False)
    try:
        process.wait(grace_seconds)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()


def _fault(doing: str, return_code: int, log: str) -> FfmpegError | OutputError:
    if _FULL.search(log) or return_code == 256 - errno.ENOSPC:
        return OutputError(
            f"The disk filled up while making {doing}.",
            advice="Free some space and try again; what was finished is kept.",
            code="output.full",
            detail=log,
        )
    if return_code < 0:
        return FfmpegError(
            f"ffmpeg was stopped from outside (signal {-return_code}) while making {doing}.",
            advice="Try again; what was finished is kept. If it happens again, memory may be short.",
            code="ffmpeg.killed",
            detail=log,
        )
    lines = (line.strip().rstrip(".") for line in reversed(log.splitlines()))
    last = next((line for line in lines if line), "it gave no reason")
    return FfmpegError(
        f"ffmpeg could not make {doing}: {last}.",
        advice="Look at the footage named, or replace it.",
        detail=log,
    )
