"""A bench with a film on it, and what must not be left over by a test."""

import gc
import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QEvent, QObject, QSettings, QTimer
from PySide6.QtWidgets import QApplication
from shiboken6 import isValid

from desk.cards.fonts import prepare_drawing
from desk.film.model import Film
from desk.store.project import new_project
from desk.ui.bench import Bench
from desk.ui.building import clear_bench, lay_bench
from desk.ui.look.theme import Appearance, Theme
from desk.ui.messages import Messages

MakeBench = Callable[[Film], Bench]


@pytest.fixture(autouse=True)
def _settings_aside(tmp_path: Path) -> None:
    """Settings of the person who runs the tests are not touched, and each test begins without any."""
    QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, str(tmp_path / "settings"))


@pytest.fixture(scope="session", autouse=True)
def _clipboard_cleared(qapp: QApplication) -> Iterator[None]:
    """What was copied must not outlive the interpreter, which then ends in a fault of memory."""
    yield
    qapp.clipboard().clear()


@pytest.fixture(autouse=True)
def _nothing_left_over(qapp: QApplication) -> Iterator[None]:
    """Fail a test that leaves a window, a running timer or a thread of ours behind."""
    before = set(QApplication.topLevelWidgets())
    yield
    for _ in range(3):
        qapp.processEvents()
        qapp.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    gc.collect()
    windows = [widget for widget in QApplication.topLevelWidgets() if widget not in before]
    assert not windows, f"left over: {windows}"
    threads = [thread.name for thread in threading.enumerate() if thread.name.startswith("desk-")]
    assert not threads, f"left running: {threads}"
    timers = [item for item in gc.get_objects() if type(item) is QTimer]
    timers = [timer for timer in timers if isValid(timer) and timer.isActive()]
    assert not timers, f"left ticking: {timers}"


@pytest.fixture
def theme(qapp: QApplication) -> Iterator[Theme]:
    prepare_drawing()
    made = Theme(Appearance.DARK)
    made.apply_to(qapp)
    yield made
    made.deleteLater()


@pytest.fixture
def make_bench(tmp_path: Path, theme: Theme) -> Iterator[MakeBench]:
    """Makes a project of a film in a folder, and opens it; several in one test lie side by side."""
    owner = QObject()
    benches: list[Bench] = []

    def make(film: Film, folder: Path | None = None) -> Bench:
        opened = new_project(folder or tmp_path / f"project{len(benches) or ''}", film)
        bench = lay_bench(opened, theme=theme, messages=Messages(parent=owner), parent=owner)
        benches.append(bench)
        return bench

    yield make
    for bench in benches:
        clear_bench(bench)
    owner.deleteLater()
