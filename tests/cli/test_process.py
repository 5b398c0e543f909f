"""Commands as processes of their own: how they end, are stopped, meet each other and lose their reader."""

import json
import os
import pty
import re
import select
import signal
import stat
import struct
import subprocess
import sys
import termios
import time
from fcntl import ioctl
from pathlib import Path

import pytest

from desk.store.lock import hold
from desk.store.project import open_film
from tests.cli.running import Desk, left_over, snapshot
from tests.making import bundled_ffmpeg

pytestmark = [
    pytest.mark.ffmpeg,
    pytest.mark.skipif(sys.platform == "win32", reason="signals and terminals are others there"),
]

PATIENCE_SECONDS = 60


def script(path: Path, text: str) -> Path:
    """Write a stand-in for ffmpeg that tells the real one's version and then does as `text` says."""
    path.write_text(
        f'#!/bin/bash\nreal={bundled_ffmpeg()}\ncase "$*" in *-version*) exec "$real" "$@";; esac\n{text}\n'
    )
    path.chmod(path.stat().st_mode | stat.S_IXUSR)
    return path


def wait_for(path: Path) -> None:
    end = time.monotonic() + PATIENCE_SECONDS
    while not path.exists():
        assert time.monotonic() < end, f"{path.name} did not come"
        time.sleep(0.02)


def test_exit_codes(desk: Desk, kiosk: Path) -> None:
    assert desk.process("check", "kiosk").code == 1
    desk.process("move", "kiosk", "9", "--to", "1").refused(2, "no scene or card")
    desk.process("show", "nowhere").refused(3, "missing")


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
@pytest.mark.parametrize("whom", ["the program alone", "ffmpeg too, as a terminal does"])
def test_stopping_an_assembly_leaves_nothing_half_made(desk, kiosk, tmp_path, number, whom):
    started = tmp_path / "started"
    slow = script(tmp_path / "slow", f'touch "{started}"; exec sleep 60')
    footage = snapshot(desk.rushes)
    before = (kiosk / "film.json").read_bytes()
    process = subprocess.Popen(
        desk.command("assemble", "kiosk", "--out", "copies", "--include", "all", "--ffmpeg", slow),
        cwd=tmp_path,
        env=desk.environment(),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    try:
        wait_for(started)
        if whom == "the program alone":
            process.send_signal(number)
        else:
            os.killpg(process.pid, number)
        out, err = process.communicate(timeout=PATIENCE_SECONDS)
    finally:
        process.kill()
    assert process.returncode == 130, err
    assert out == ""
    assert err.splitlines() == [
        "No copy was made. The pieces that are finished are kept, so the next time is shorter.",
        "Stopped. Nothing half-made is left.",
    ]
    assert snapshot(desk.rushes) == footage
    assert left_over(tmp_path) == []
    assert not list((tmp_path / "copies").glob("*"))
    assert (kiosk / "film.json").read_bytes() == before
    desk("assemble", "kiosk", "--out", "copies", "--include", "all").done("Review copy 1")


def test_stopping_while_the_program_is_loaded_shows_no_traceback(desk, kiosk):
    process = subprocess.Popen(
        [sys.executable, "-X", "importtime", "-m", "desk", "show", "kiosk"],
        cwd=desk.folder,
        env=desk.environment(),
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert process.stderr
    told = []
    for line in process.stderr:
        told.append(line)
        if "desk.errors" in line:  # the program itself is running, and its rooms are being loaded
            process.send_signal(signal.SIGINT)
            break
    told += process.stderr.readlines()
    process.stderr.close()
    assert process.wait(PATIENCE_SECONDS) in (-signal.SIGINT, 130, 0)
    assert not any("Traceback" in line for line in told)


class TestTwoAtOnce:
    def test_the_second_is_refused_with_who_has_it(self, desk, kiosk):
        with hold(kiosk, "desk move"):
            for arguments in (
                ("lock", "kiosk", "1", "--reason", "rough"),
                ("move", "kiosk", "1", "--to", "1"),
                ("note", "kiosk", "1", "--tension", "1"),
                ("recover", "kiosk"),
            ):
                desk(*arguments).refused(7, "in use by `desk move`", "Wait until it is done")
            desk("show", "kiosk").done()
            desk("check", "kiosk", "--include", "all").done()
        desk("move", "kiosk", "1", "--to", "1").done()

    def test_many_edits_at_once_lose_none_that_was_done(self, desk, kiosk):
        notes = [("1", "a"), ("2", "b"), ("4A", "c")]
        processes = [
            subprocess.Popen(
                desk.command("note", "kiosk", number, "--purpose", text),
                cwd=desk.folder,
                env=desk.environment(),
                stdout=subprocess.PIPE,
                stderr=subprocess.STDOUT,
                text=True,
            )
            for number, text in notes
        ]
        said = [process.communicate(timeout=PATIENCE_SECONDS)[0] for process in processes]
        purposes = {scene.number: scene.purpose for scene in open_film(kiosk).film.scenes}
        for (number, text), process, words in zip(notes, processes, said, strict=True):
            assert process.returncode in (0, 7), words
            assert purposes[number] == (text if process.returncode == 0 else ""), words

    def test_an_assembly_lets_others_work(self, desk, kiosk, tmp_path):
        started, go = tmp_path / "started", tmp_path / "go"
        slow = script(
            tmp_path / "slow",
            f'touch "{started}"; while [ ! -e "{go}" ]; do sleep 0.05; done; exec "$real" "$@"',
        )
        process = subprocess.Popen(
            desk.command("assemble", "kiosk", "--out", "copies", "--include", "all", "--ffmpeg", slow),
            cwd=tmp_path,
            env=desk.environment(),
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        try:
            wait_for(started)
            # Not through `desk`, which would take the pieces that are being made for left-overs.
            assert (
                subprocess.run(
                    desk.command("note", "kiosk", "1", "--tension", "2"),
                    cwd=tmp_path,
                    env=desk.environment(),
                    capture_output=True,
                    check=False,
                ).returncode
                == 0
            )
            go.touch()
            said = process.communicate(timeout=PATIENCE_SECONDS)[0]
        finally:
            process.kill()
        assert process.returncode == 0, said
        film = open_film(kiosk).film
        assert next(scene for scene in film.scenes if scene.number == "1").tension == 2
        assert [copy.number for copy in film.review_copies] == [1]

    def test_two_assemblies_make_two_copies(self, desk, kiosk, tmp_path):
        processes = [
            subprocess.Popen(
                desk.command("assemble", "kiosk", "--out", "copies", "--include", "all"),
                cwd=tmp_path,
                env=desk.environment(),
                stdout=subprocess.PIPE,
                stderr=subprocess.STDOUT,
                text=True,
            )
            for _ in range(2)
        ]
        said = [process.communicate(timeout=PATIENCE_SECONDS)[0] for process in processes]
        assert [process.returncode for process in processes] == [0, 0], said
        assert len(list((tmp_path / "copies").glob("*.mp4"))) == 2
        assert left_over(tmp_path) == []


class TestReaders:
    @pytest.mark.parametrize(
        "command", ["show kiosk", "show kiosk --json", "check kiosk --include all", "--help"]
    )
    def test_one_that_goes_away(self, desk, kiosk, command):
        said = desk.process(shell=f"{{desk}} {command} | head -c 1 > /dev/null; exit ${{{{PIPESTATUS[0]}}}}")
        assert (said.code, said.err) == (0, "")

    def test_work_goes_on_without_a_reader(self, desk, kiosk):
        desk.process(shell="{desk} lock kiosk --all --reason rough | true; exit ${{PIPESTATUS[0]}}").done()
        assert all(scene.lock for scene in open_film(kiosk).film.scenes)

    @pytest.mark.parametrize("encoding", ["ascii", "utf-16"])
    def test_one_of_another_encoding(self, desk, kiosk, encoding):
        desk.process("show", "kiosk", PYTHONIOENCODING=encoding, PYTHONUTF8="0").done()
        assert desk.process("unlock", "kiosk", "1", PYTHONIOENCODING=encoding, PYTHONUTF8="0").code == 2

    def test_a_program_that_reads_ascii(self, desk, kiosk):
        told = desk.process("show", "kiosk", "--json", PYTHONIOENCODING="ascii", PYTHONUTF8="0")
        assert json.loads(told.out)["title"] == "The Unprinted Ticket"

    def test_a_full_disk(self, desk, kiosk):
        if not Path("/dev/full").exists():
            pytest.skip("there is no /dev/full here")
        desk.process(shell="{desk} show kiosk > /dev/full").refused(5, "could not be written")

    def test_closed_streams(self, desk, kiosk):
        desk.process(shell="{desk} show kiosk >&- 2>&-").done()


TAKE_TERMINAL = """
import fcntl, os, sys, termios
fcntl.ioctl(0, termios.TIOCSCTTY, 0)
os.execv(sys.argv[1], sys.argv[1:])
"""


class Terminal:
    """A process on a terminal of its own, so that the keys that are pressed there reach it as signals."""

    def __init__(self, desk: Desk, columns: int, *arguments: str | Path) -> None:
        self._screen, keyboard = pty.openpty()
        ioctl(keyboard, termios.TIOCSWINSZ, struct.pack("HHHH", 40, columns, 0, 0))
        self._process = subprocess.Popen(
            [sys.executable, "-c", TAKE_TERMINAL, *desk.command(*arguments)],
            cwd=desk.folder,
            env=desk.environment(TERM="xterm"),
            stdin=keyboard,
            stdout=keyboard,
            stderr=keyboard,
            start_new_session=True,
        )
        os.close(keyboard)

    def press(self, keys: bytes) -> None:
        os.write(self._screen, keys)

    def read(self) -> tuple[int, str]:
        """Return how it ended, and what was on the terminal."""
        shown = b""
        try:
            while select.select([self._screen], [], [], PATIENCE_SECONDS)[0]:
                part = os.read(self._screen, 1 << 16)
                if not part:
                    break
                shown += part
        except OSError:
            pass  # what Linux gives when the other end is closed
        finally:
            os.close(self._screen)
            code = self._process.wait(PATIENCE_SECONDS)
        return code, shown.decode()


def lines(shown: str) -> list[str]:
    return [re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", line) for line in re.split(r"[\r\n]+", shown)]


class TestTerminals:
    @pytest.mark.parametrize("columns", [40, 80, 160])
    def test_nothing_is_wider(self, desk, kiosk, columns):
        for arguments in (("show", "kiosk"), ("lock", "kiosk", "--all")):
            _, shown = Terminal(desk, columns, *arguments).read()
            # A table can't be made narrower than its times.
            widest = max(columns, 60) if arguments[0] == "show" else columns
            assert max(map(len, lines(shown))) <= widest

    @pytest.mark.parametrize("columns", [40, 80])
    def test_an_assembly_shows_how_far_it_is(self, desk, kiosk, tmp_path, columns):
        slow = script(tmp_path / "slow", 'sleep 0.4; exec "$real" "$@"')
        code, shown = Terminal(
            desk, columns, "assemble", "kiosk", "--out", "copies", "--include", "all", "--ffmpeg", slow
        ).read()
        assert code == 0, shown
        assert re.search(r"Making pieces.*\d+%.*left", shown)
        bars = [line for line in lines(shown) if "%" in line]
        assert max(map(len, bars)) <= columns
        assert "Review copy 1" in shown

    def test_ctrl_c(self, desk, kiosk, tmp_path):
        started = tmp_path / "started"
        slow = script(tmp_path / "slow", f'touch "{started}"; exec sleep 60')
        terminal = Terminal(
            desk, 80, "assemble", "kiosk", "--out", "copies", "--include", "all", "--ffmpeg", slow
        )
        wait_for(started)
        terminal.press(b"\x03")
        code, shown = terminal.read()
        assert code == 130, shown
        assert "Stopped. Nothing half-made is left." in shown
        # The cursor is there again.
        assert shown.rfind("\x1b[?25h") >= shown.rfind("\x1b[?25l")
