"""Builds the window program: the application, its window, and what catches faults and signals.

A fault of our own never costs work: the hook saves first, then shows a report to copy, and all goes on.
"""

import contextlib
import functools
import locale
import logging
import signal
import socket
import sys
import threading
from collections.abc import Callable
from pathlib import Path
from types import TracebackType

from PySide6.QtCore import QObject, QSocketNotifier, Qt, Signal
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication

from desk.cards.fonts import prepare_drawing
from desk.errors import DeskError
from desk.film.wording import sentence
from desk.ui.collecting import Collecting
from desk.ui.commands import MENUS, commands
from desk.ui.look.theme import Appearance, Theme
from desk.ui.messages import Messages
from desk.ui.settings import settings
from desk.ui.window import PROGRAM_NAME, MainWindow

_log = logging.getLogger(__name__)


def run(folder: Path | None = None) -> int:
    """Show the window until the person leaves; returns the exit code.

    Args:
        folder: The project folder to open, or None for the start page.

    Raises:
        DeskError: when the program's own fonts are missing or damaged.
    """
    application = make_application()
    theme = Theme(_appearance())
    theme.apply_to(application)
    window = build_window(theme, Messages(application))
    with _Faults(window), _Signals(window.close), collecting_for(window):
        window.show()
        if folder is not None:
            window.open_film(folder)
        return application.exec()


def build_window(theme: Theme, messages: Messages) -> MainWindow:
    """Return the window with its menus."""
    window = MainWindow(theme, messages)
    window.take_commands(commands(window), MENUS)
    return window


def collecting_for(window: MainWindow) -> Collecting:
    """Return what collects unused objects in the window's thread, and sets those of its film aside."""
    collecting = Collecting(functools.partial(_is_busy, window), window)
    window.film_opened.connect(collecting.set_aside)
    window.film_closed.connect(collecting.take_back)
    return collecting


def _is_busy(window: MainWindow) -> bool:
    """Return whether something is dragged or plays."""
    if QGuiApplication.mouseButtons() != Qt.MouseButton.NoButton:
        return True
    return window.view is not None and window.view.picture.viewer.player.is_playing


def make_application() -> QApplication:
    """Return the application, with the program's fonts.

    Raises:
        DeskError: when the fonts are missing or damaged.
    """
    numeric = locale.setlocale(locale.LC_NUMERIC)
    application = QApplication.instance()
    if not isinstance(application, QApplication):
        application = QApplication(["desk"])
    # Qt takes the person's locale for the whole process; ffmpeg's libraries would then misread numbers.
    locale.setlocale(locale.LC_NUMERIC, numeric)
    application.setApplicationName("assembly-desk")
    application.setApplicationDisplayName(PROGRAM_NAME)
    prepare_drawing()
    return application


def _appearance() -> Appearance:
    with contextlib.suppress(ValueError):
        return Appearance(str(settings().value("appearance", Appearance.DARK.value)))
    return Appearance.DARK


class _Faults(QObject):
    """Catches what nobody caught, in any thread, and passes on what the rooms below log for a person."""

    _caught = Signal(object)
    _remarked = Signal(str)

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self._window = window
        self._messages = window.messages
        self._handler = _Remarks(self._remarked.emit)
        self._caught.connect(self._on_caught)
        self._remarked.connect(self._on_remarked)

    def __enter__(self) -> None:
        self._before = sys.excepthook, threading.excepthook
        sys.excepthook = self._hook
        threading.excepthook = self._thread_hook
        logging.getLogger("desk").addHandler(self._handler)

    def __exit__(self, *_: object) -> None:
        logging.getLogger("desk").removeHandler(self._handler)
        sys.excepthook, threading.excepthook = self._before

    def _hook(self, kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
        if issubclass(kind, KeyboardInterrupt):
            self._window.close()
            return
        self._caught.emit(error.with_traceback(trace))

    def _thread_hook(self, caught: threading.ExceptHookArgs) -> None:
        if caught.exc_value is not None:
            self._caught.emit(caught.exc_value)

    def _on_caught(self, error: object) -> None:
        # The work first; a disk that refuses is told by the saving itself.
        with contextlib.suppress(DeskError):
            if self._window.view is not None:
                self._window.view.bench.saving.save_now()
        self._messages.fault(error)

    def _on_remarked(self, text: str) -> None:
        self._messages.notice(text)


class _Remarks(logging.Handler):
    """Passes warnings on as sentences."""

    def __init__(self, say: Callable[[str], None]) -> None:
        super().__init__(logging.WARNING)
        self._say = say

    def emit(self, record: logging.LogRecord) -> None:
        # Faults are shown by the hook with a report; saying them twice helps nobody.
        if record.levelno < logging.ERROR:
            self._say(f"{sentence(record.getMessage()).rstrip('.')}.")


class _Signals:
    """Turns Ctrl-C and a request to end into closing the window, which saves first.

    Qt's loop runs no Python by itself, so Python writes to a socket that Qt watches when a signal comes.
    """

    _NUMBERS = (signal.SIGINT, signal.SIGTERM)

    def __init__(self, close: Callable[[], object]) -> None:
        self._close = close
        self._read, self._write = socket.socketpair()

    def __enter__(self) -> None:
        self._is_used = threading.current_thread() is threading.main_thread()
        if not self._is_used:
            return
        self._read.setblocking(False)
        self._write.setblocking(False)
        self._old_descriptor = signal.set_wakeup_fd(self._write.fileno(), warn_on_full_buffer=False)
        self._old = [signal.signal(number, self._on_signal) for number in self._NUMBERS]
        self._notifier = QSocketNotifier(self._read.fileno(), QSocketNotifier.Type.Read)
        self._notifier.activated.connect(self._on_activated)

    def __exit__(self, *_: object) -> None:
        if self._is_used:
            self._notifier.setEnabled(False)
            signal.set_wakeup_fd(self._old_descriptor)
            for number, old in zip(self._NUMBERS, self._old, strict=True):
                signal.signal(number, old)
        self._read.close()
        self._write.close()

    def _on_signal(self, _number: int, _frame: object) -> None:
        """Leave it to the socket: here the interpreter may be anywhere."""

    def _on_activated(self) -> None:
        with contextlib.suppress(BlockingIOError):
            while self._read.recv(64):
                pass
        self._close()
