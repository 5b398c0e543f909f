"""`desk open`, and `desk` alone: what the window is given, and what is said where none can be shown."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from desk import app
from tests.cli.running import REPOSITORY, Desk


@pytest.fixture
def shown(monkeypatch: pytest.MonkeyPatch) -> list[Path | None]:
    """What windows were asked for, none of which is shown."""
    asked: list[Path | None] = []
    monkeypatch.setattr(app, "run", lambda folder: asked.append(folder) or 0)
    return asked


def test_a_folder_is_opened(desk: Desk, kiosk: Path, shown: list[Path | None]):
    desk("open", "kiosk").done()
    assert shown == [Path("kiosk")]


def test_the_name_alone_opens_the_start_page(desk: Desk, shown: list[Path | None]):
    desk().done()
    assert shown == [None]


def test_a_folder_that_is_missing_is_told_on_the_command_line(desk: Desk, shown: list[Path | None]):
    desk("open", "no such folder").refused(3, "no such folder")
    assert not shown


def test_without_a_screen_it_says_so(desk: Desk, shown: list[Path | None], monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(sys, "platform", "linux")
    for name in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"):
        monkeypatch.delenv(name, raising=False)
    desk("open").refused(1, "There is no screen")
    assert not shown


_QUIT_SOON = """
import sys
from pathlib import Path
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication
from desk import app
built = app.build_window
def build(*given):
    window = built(*given)
    timer = QTimer(window)
    def look():
        if window.view is not None:
            print(window.windowTitle(), flush=True)
            window.close()
    timer.timeout.connect(look)
    timer.start(50)
    return window
app.build_window = build
sys.exit(app.run(Path(sys.argv[1])))
"""


def test_a_window_opens_on_the_film_and_closes_with_code_0(kiosk: Path, tmp_path: Path):
    """A process of its own, without a screen."""
    environment = {
        **os.environ,
        "QT_QPA_PLATFORM": "offscreen",
        "XDG_CONFIG_HOME": str(tmp_path / "settings"),
    }
    done = subprocess.run(
        [sys.executable, "-c", _QUIT_SOON, str(kiosk.absolute())],
        capture_output=True,
        text=True,
        env=environment,
        timeout=120,
        cwd=REPOSITORY,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert "The Unprinted Ticket" in done.stdout
    assert "Traceback" not in done.stderr
