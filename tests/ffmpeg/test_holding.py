"""Runs of ffmpeg that make way for others: at the lowest priority, standing still, and ended with us."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from desk.ffmpeg.program import find_program
from desk.ffmpeg.run import run
from desk.jobs import Cancelled, CancelToken

pytestmark = [
    pytest.mark.ffmpeg,
    pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="the system tells processes otherwise"),
]

ENDLESS = ["-re", "-f", "lavfi", "-i", "color=s=16x16:r=25", "-f", "null", "-"]
HELD = """
from desk.ffmpeg.program import find_program
from desk.ffmpeg.run import run
from desk.jobs import CancelToken
run(find_program(), {arguments!r}, cancel=CancelToken(), is_held=lambda: True)
"""


def children(pid: int) -> list[int]:
    found = []
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = stat.read_text().rpartition(")")[2].split()
        except (FileNotFoundError, ProcessLookupError):
            continue
        if int(fields[1]) == pid:
            found.append(int(stat.parent.name))
    return found


def state(pid: int) -> str:
    """Return the letter of how a process stands, `T` for one that is held; "" for one that is gone."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except (FileNotFoundError, ProcessLookupError):
        return ""


def wait_for(condition, what: str) -> None:
    for _ in range(1000):
        if condition():
            return
        time.sleep(0.02)
    pytest.fail(f"{what} did not happen")


def test_all_of_it_gives_way_to_everything_else() -> None:
    cancel, nice = CancelToken(), []

    def on_frame(_: int) -> None:
        [pid] = children(os.getpid())
        threads = [int(task.name) for task in Path(f"/proc/{pid}/task").iterdir()]
        nice.extend(os.getpriority(os.PRIO_PROCESS, thread) for thread in threads)
        cancel.set()

    with pytest.raises(Cancelled):
        run(find_program(), ENDLESS, cancel=cancel, on_frame=on_frame, low_priority=True)
    assert len(nice) > 1
    assert set(nice) == {19}
    assert os.getpriority(os.PRIO_PROCESS, 0) < 19


def test_what_stands_still_ends_when_we_are_killed() -> None:
    ours = subprocess.Popen([sys.executable, "-c", HELD.format(arguments=ENDLESS)])
    try:
        wait_for(lambda: any(state(pid) == "T" for pid in children(ours.pid)), "holding")
        [held] = [pid for pid in children(ours.pid) if state(pid) == "T"]
        ours.send_signal(signal.SIGKILL)
        ours.wait()
        wait_for(lambda: state(held) in ("", "Z"), "its end")
    finally:
        ours.kill()
        ours.wait()
