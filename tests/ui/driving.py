"""Drives a real window under a virtual screen with a real pointer and keyboard, from a thread of its own.

The pointer and the keys are the X server's (`xdotool`), so drags run as a person's do, nested loops and all.
What is on the screen is asked in the window's thread.
"""

import subprocess
import threading
import time
from collections.abc import Callable
from queue import Queue
from typing import TypeVar

from PySide6.QtCore import QObject, QPoint, QRect, Qt, Signal
from PySide6.QtWidgets import QApplication, QWidget

Answer = TypeVar("Answer")

WAIT_SECONDS = 60
_STEP_SECONDS = 0.02
_DRAG_STEPS = 12


class Asker(QObject):
    """Runs a call in the window's thread; made there."""

    _asked = Signal(object)

    def __init__(self) -> None:
        super().__init__()
        self._asked.connect(self._on_asked, Qt.ConnectionType.QueuedConnection)

    def ask(self, call: Callable[[], Answer]) -> Answer:
        """Return what a call gives, or raise what it raises."""
        answers: Queue[tuple[Answer | None, BaseException | None]] = Queue()
        self._asked.emit((call, answers))
        value, error = answers.get(timeout=WAIT_SECONDS)
        if error is not None:
            raise error
        return value  # type: ignore[return-value]

    def _on_asked(self, asked: tuple[Callable[[], object], Queue[object]]) -> None:
        call, answers = asked
        try:
            answers.put((call(), None))
        except BaseException as error:  # noqa: BLE001 - it is raised in the thread that asked
            answers.put((None, error))


class Driver:
    """A person at the window."""

    def __init__(self, asker: Asker) -> None:
        self._asker = asker

    def ask(self, call: Callable[[], Answer]) -> Answer:
        """Return something of the window."""
        return self._asker.ask(call)

    def wait(self, what: str, holds: Callable[[], object], seconds: float = WAIT_SECONDS) -> None:
        """Wait until something holds in the window."""
        until = time.monotonic() + seconds
        while not self.ask(holds):
            assert time.monotonic() < until, f"waited in vain for: {what}"
            time.sleep(_STEP_SECONDS)

    def find(self, kind: type[QWidget], name: str, within: QWidget | None = None) -> QWidget:
        """Return a visible widget by its text or accessible name; waits until there is one."""
        found: list[QWidget] = []

        def look() -> bool:
            found[:] = [
                widget
                for widget in QApplication.allWidgets()
                if isinstance(widget, kind)
                and widget.isVisible()
                and (within is None or within.isAncestorOf(widget))
                and name in (widget.accessibleName(), _text(widget))
            ]
            return bool(found)

        self.wait(f"{kind.__name__} “{name}”", look)
        return found[0]

    def click(self, widget: QWidget, place: Callable[[], QPoint] | None = None, times: int = 1) -> None:
        """Click on a widget, or on a place in it."""
        self.move_to(widget, place)
        _xdotool("click", "--repeat", str(times), "--delay", "60", "1")
        time.sleep(0.1)

    def move_to(self, widget: QWidget, place: Callable[[], QPoint] | None = None) -> None:
        """Move the pointer to the middle of a widget, or to a place in it."""
        point = self.ask(lambda: widget.mapToGlobal(place() if place else widget.rect().center()))
        _xdotool("mousemove", str(point.x()), str(point.y()))
        time.sleep(_STEP_SECONDS)

    def drag(
        self,
        source: QWidget,
        start: Callable[[], QPoint],
        target: QWidget,
        end: Callable[[], QPoint],
        on_the_way: Callable[[], None] | None = None,
        *,
        held: str = "",
    ) -> None:
        """Drag from a place in one widget to a place in another, with a key held such as `ctrl`."""
        begin = self.ask(lambda: source.mapToGlobal(start()))
        until = self.ask(lambda: target.mapToGlobal(end()))
        keys = ("keydown", held) if held else ()
        _xdotool("mousemove", str(begin.x()), str(begin.y()), *keys, "mousedown", "1")
        for step in range(1, _DRAG_STEPS + 1):
            share = step / _DRAG_STEPS
            x = round(begin.x() + (until.x() - begin.x()) * share)
            y = round(begin.y() + (until.y() - begin.y()) * share)
            _xdotool("mousemove", str(x), str(y))
            time.sleep(2 * _STEP_SECONDS)
        if on_the_way:
            on_the_way()
        _xdotool("mouseup", "1", *(("keyup", held) if held else ()))
        time.sleep(0.2)

    def turn(self, button: str) -> None:
        """Turn the wheel by a notch, where the pointer is; button 4 is up, 5 is down."""
        _xdotool("click", button)
        time.sleep(2 * _STEP_SECONDS)

    def press(self, *keys: str) -> None:
        """Press keys, such as `ctrl+z`."""
        _xdotool("key", "--delay", "40", *keys)
        time.sleep(0.1)

    def write(self, text: str) -> None:
        """Type text."""
        _xdotool("type", "--delay", "8", text)
        time.sleep(0.1)


def start_driving(drive: Callable[[Driver], None]) -> list[BaseException]:
    """Drive in a thread while the event loop runs, then end the loop; returns what went wrong by then."""
    asker = Asker()
    faults: list[BaseException] = []

    def run() -> None:
        try:
            drive(Driver(asker))
        except BaseException as error:  # noqa: BLE001 - the test raises it
            faults.append(error)
        finally:
            asker.ask(QApplication.closeAllWindows)
            asker.ask(QApplication.quit)

    threading.Thread(target=run, name="driver", daemon=True).start()
    return faults


def middle_of(rect: QRect) -> QPoint:
    """Return the middle of a rectangle."""
    return rect.center()


def _text(widget: QWidget) -> str:
    text = getattr(widget, "text", None)
    return text().replace("&", "") if callable(text) else ""


def _xdotool(*arguments: str) -> None:
    subprocess.run(["xdotool", *arguments], check=True, timeout=WAIT_SECONDS)
