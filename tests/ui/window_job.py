"""What a person does in a real window in every job, and how a test starts one on a screen of its own."""

import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from PySide6.QtWidgets import QLineEdit, QPushButton

from desk.app import build_window, make_application
from desk.film.model import Scene
from desk.ui.film_view import FilmView
from desk.ui.look.theme import Theme
from desk.ui.messages import Messages
from desk.ui.window import MainWindow
from tests.ui.driving import Driver, start_driving

TOOLS = ("Xvfb", "xdotool")
MISSING = [name for name in TOOLS if not shutil.which(name)]
WITH_A_SCREEN = [
    pytest.mark.ffmpeg,
    pytest.mark.slow,
    pytest.mark.skipif(sys.platform != "linux", reason="the X server is Linux's"),
    pytest.mark.skipif(bool(MISSING), reason=f"{' and '.join(MISSING)} not installed"),
]
"""Marks of a test that needs the X server."""

_MOST_SECONDS = 400


class WindowJob:
    """A job in a window, step by step."""

    def __init__(self, window: MainWindow, driver: Driver) -> None:
        self.window = window
        self.driver = driver

    @property
    def view(self) -> FilmView:
        """The film that is open."""
        return self.driver.ask(self.window.shown)

    def order(self) -> list[str]:
        """Numbers of the running order, asked in the window's thread; "card" for a card."""
        film = self.window.shown().bench.session.film
        entries = [film.entry(item.entry) for item in film.order]
        return [entry.number if isinstance(entry, Scene) else "card" for entry in entries]

    def choose(self, number: str) -> None:
        """Click on a scene in the running order."""
        driver, ledger = self.driver, self.view.order.order
        row = driver.ask(lambda: self.order().index(number))
        driver.click(ledger.viewport(), lambda: ledger.layout_at(row).row.center())
        driver.wait(
            f"scene {number} chosen",
            lambda: (scene := self.window.shown().chosen_scene()) is not None and scene.number == number,
        )

    def lock(self, number: str) -> None:
        """Lock a scene although something in it is open."""
        driver = self.driver
        self.choose(number)
        driver.press("ctrl+l")
        reason = driver.find(QLineEdit, "Reason for locking it anyway")
        driver.click(reason)
        driver.write("a trial")
        driver.click(driver.find(QPushButton, "Lock anyway"))
        driver.wait(
            f"scene {number} locked",
            lambda: (scene := self.window.shown().chosen_scene()) is not None and scene.lock is not None,
        )

    def assemble(self) -> None:
        """Assemble the film and wait for the review copy."""
        driver = self.driver
        driver.click(driver.find(QPushButton, "Assemble the film"))
        button = driver.find(QPushButton, "Assemble")
        driver.wait("something to assemble", button.isEnabled)
        driver.click(button)
        driver.wait(
            "the review copy", lambda: bool(self.window.shown().bench.session.film.review_copies), seconds=180
        )
        driver.find(QPushButton, "Play the review copy")


def do_in_window(do: Callable[[MainWindow, Driver], None], *, size: tuple[int, int] = (1400, 860)) -> int:
    """Do a job in the window of this process; returns the exit code.

    Args:
        do: Does it, in a thread of its own.
        size: Of the window.
    """
    application = make_application()
    theme = Theme()
    theme.apply_to(application)
    window = build_window(theme, Messages(application))
    window.resize(*size)
    window.move(10, 10)
    window.show()
    faults = start_driving(lambda driver: do(window, driver))
    application.exec()
    for fault in faults:
        raise fault
    return 0


def run_on_screen(module: str, *arguments: Path, settings: Path, size: tuple[int, int] = (1440, 900)) -> None:
    """Run a module on a virtual screen, and fail with what it says where it fails.

    Args:
        module: The module that calls `do_in_window`.
        arguments: What it is given.
        settings: Folder for the settings of the program.
        size: Of the screen.
    """
    with _virtual_screen(size) as display:
        environment = {
            **os.environ,
            "DISPLAY": display,
            "QT_QPA_PLATFORM": "xcb",
            "QT_SCALE_FACTOR": "1",
            "XDG_CONFIG_HOME": str(settings),
            "PYTHONPATH": os.pathsep.join(sys.path),
        }
        script = [sys.executable, "-m", module, *map(str, arguments)]
        done = subprocess.run(
            script, capture_output=True, text=True, env=environment, timeout=_MOST_SECONDS, check=False
        )
    if "could not load the Qt platform plugin" in done.stderr.lower():
        pytest.skip("Qt's plugin for X lacks system libraries here")
    assert done.returncode == 0, done.stderr


@contextmanager
def _virtual_screen(size: tuple[int, int]) -> Iterator[str]:
    """Start a virtual screen of its own; gives what DISPLAY has to be."""
    reading, writing = os.pipe()
    server = subprocess.Popen(
        ["Xvfb", "-displayfd", str(writing), "-screen", "0", f"{size[0]}x{size[1]}x24", "-nolisten", "tcp"],
        pass_fds=(writing,),
        stderr=subprocess.DEVNULL,
    )
    os.close(writing)
    try:
        with os.fdopen(reading) as number:
            yield f":{number.readline().strip()}"
    finally:
        server.terminate()
        server.wait()
