"""One writer at a time, across processes."""

import os
import signal
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from desk.errors import FilmBusyError, OutputError
from desk.store.lock import hold
from desk.store.project import new_project, open_film
from tests.store.films import SMALLEST

ROOT = Path(__file__).parents[2]
HOLDER = """
import sys
from pathlib import Path
from desk.store.lock import hold
with hold(Path(sys.argv[1]), "desk assemble"):
    print("held", flush=True)
    sys.stdin.read()
"""


def holder(folder: Path) -> subprocess.Popen[str]:
    process = subprocess.Popen(
        [sys.executable, "-c", HOLDER, str(folder)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        cwd=ROOT,
    )
    assert process.stdout
    assert process.stdout.readline() == "held\n"
    return process


def close(process: subprocess.Popen[str]) -> None:
    process.communicate("")


def test_a_second_process_is_told_who_holds_the_film(tmp_path):
    process = holder(tmp_path)
    try:
        with pytest.raises(FilmBusyError) as caught, hold(tmp_path, "desk lock"):
            pass
        assert "in use by `desk assemble` since" in caught.value.message
        assert f"(process {process.pid} on " in caught.value.message
        assert caught.value.message.endswith(".")
        assert caught.value.advice
    finally:
        close(process)
    with hold(tmp_path, "desk lock"):
        pass


def test_a_killed_holder_blocks_nobody(tmp_path):
    process = holder(tmp_path)
    process.send_signal(signal.SIGKILL)
    close(process)
    assert (tmp_path / ".desk/film.lock").read_bytes()
    with hold(tmp_path, "desk lock"):
        pass


def test_the_same_process_holds_once_and_then_again(tmp_path):
    for _ in range(2):
        with hold(tmp_path, "desk"):
            with pytest.raises(FilmBusyError, match=f"process {os.getpid()} "), hold(tmp_path, "desk"):
                pass
            with pytest.raises(FilmBusyError), hold(tmp_path, "desk"):
                pass


def test_of_many_at_once_one_holds_it(tmp_path):
    inside, most, lock = [0], [0], threading.Lock()

    def work() -> None:
        for _ in range(50):
            try:
                with hold(tmp_path, "desk"):
                    with lock:
                        inside[0] += 1
                        most[0] = max(most[0], inside[0])
                    with lock:
                        inside[0] -= 1
            except FilmBusyError:
                continue

    threads = [threading.Thread(target=work) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert most == [1]


def test_an_error_inside_gives_the_lock_back(tmp_path):
    with pytest.raises(ZeroDivisionError), hold(tmp_path, "desk"):
        raise ZeroDivisionError
    with hold(tmp_path, "desk"):
        pass


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"{",
        b"\xff\x00",
        b'{"pid": "x"}',
        b"x" * 10_000,
        b'{"command":"\\u001b[2J","pid":1,"host":"h","since":"never"}',
    ],
)
def test_whatever_is_in_the_lock_file_blocks_nobody(tmp_path, data):
    (tmp_path / ".desk").mkdir()
    (tmp_path / ".desk/film.lock").write_bytes(data)
    with hold(tmp_path, "desk"):
        (tmp_path / ".desk/film.lock").write_bytes(data)
        with (
            pytest.raises(FilmBusyError, match="in use by another command") as caught,
            hold(tmp_path, "desk"),
        ):
            pass
        assert caught.value.message.isprintable()


def test_reading_needs_no_lock(tmp_path):
    made = new_project(tmp_path, SMALLEST)
    with hold(tmp_path, "desk"):
        assert open_film(tmp_path) == made


def test_a_link_in_its_place_is_not_written_through(tmp_path):
    (tmp_path / ".desk").mkdir()
    (tmp_path / "mine.txt").write_text("mine")
    (tmp_path / ".desk/film.lock").symlink_to(tmp_path / "mine.txt")
    with pytest.raises(OutputError, match="not a plain file"), hold(tmp_path, "desk"):
        pass
    assert (tmp_path / "mine.txt").read_text() == "mine"


@pytest.mark.parametrize("make", [Path.mkdir, getattr(os, "mkfifo", Path.mkdir)])
def test_what_is_no_file_in_its_place_is_told(tmp_path, make):
    (tmp_path / ".desk").mkdir()
    make(tmp_path / ".desk/film.lock")
    with pytest.raises(OutputError, match="not a plain file"), hold(tmp_path, "desk"):
        pass


def test_a_folder_that_is_missing_is_told_and_not_made(tmp_path):
    with pytest.raises(OutputError, match="the folder is missing"), hold(tmp_path / "gone", "desk"):
        pass
    assert not list(tmp_path.iterdir())
