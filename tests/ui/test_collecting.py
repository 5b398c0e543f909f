"""Unused objects are destroyed in the window's thread and nowhere else, and never in the midst of a drag."""

import gc
import threading
from collections.abc import Iterator
from typing import ClassVar

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest

from desk.app import build_window, collecting_for
from desk.store.project import new_project
from desk.ui.collecting import INTERVAL_MS, Collecting
from desk.ui.messages import Messages
from desk.ui.viewer.player import Player
from desk.ui.window import MainWindow
from tests.film.films import small_film


class Ring:
    """Something that only a collection destroys; it remembers in which thread."""

    threads: ClassVar[set[threading.Thread]] = set()
    gone = 0

    def __init__(self) -> None:
        self.itself = self

    def __del__(self) -> None:
        Ring.threads.add(threading.current_thread())
        Ring.gone += 1


@pytest.fixture(autouse=True)
def _thresholds() -> Iterator[None]:
    """Without rings of earlier tests, and with the thresholds as they were.

    What the tests of the window set aside is taken back, as a window would, and is set aside again for those
    that follow: else each of them looks through all that was ever imported.
    """
    before = gc.get_threshold()
    gc.unfreeze()
    gc.collect()
    Ring.threads, Ring.gone = set(), 0
    yield
    gc.set_threshold(*before)
    assert gc.isenabled()
    assert gc.get_freeze_count() == 0
    gc.collect()
    gc.freeze()


def make_rings(count: int) -> None:
    for _ in range(count):
        Ring()


def is_quiet() -> bool:
    return False


def test_rings_made_in_a_worker_are_destroyed_in_the_window_s_thread(qtbot):
    with Collecting(is_quiet, interval_ms=1):
        worker = threading.Thread(target=make_rings, args=(20_000,))
        worker.start()
        worker.join()
        assert Ring.gone == 0, "nothing is destroyed where it was made"
        qtbot.waitUntil(lambda: Ring.gone == 20_000)
    assert Ring.threads == {threading.main_thread()}


def test_collecting_all_waits_for_a_drag_to_end_and_the_young_go_on(qtbot):
    busy = [True]
    with Collecting(lambda: busy[0], interval_ms=1) as collecting:
        make_rings(1)
        gc.collect(0)
        gc.collect(1)
        old = Ring()
        gc.collect(0)
        gc.collect(1)
        # It is among the oldest now; losing its name leaves it to a collection of all.
        Ring.gone = 0
        del old
        collecting.set_aside()
        gc.set_threshold(10, 2, 1)
        make_rings(1_000)
        qtbot.waitUntil(lambda: Ring.gone == 1_000)
        qtbot.wait(30)
        assert Ring.gone == 1_000
        busy[0] = False
        qtbot.waitUntil(lambda: Ring.gone == 1_001)


def test_what_is_set_aside_is_left_alone_until_it_is_taken_back(qtbot):
    with Collecting(is_quiet, interval_ms=1) as collecting:
        kept = Ring()
        collecting.set_aside()
        before = gc.get_freeze_count()
        qtbot.waitUntil(lambda: gc.get_freeze_count() > before)
        del kept
        gc.collect()
        assert Ring.gone == 0
        collecting.take_back()
        qtbot.waitUntil(lambda: Ring.gone == 1)
        assert gc.get_freeze_count() > 0, "what stays is set aside again"


@pytest.fixture
def window(theme) -> Iterator[MainWindow]:
    made = build_window(theme, Messages())
    made.show()
    yield made
    made.close()
    made.deleteLater()


def test_the_window_sets_a_film_aside_and_takes_it_back(window, qtbot, tmp_path):
    folder = tmp_path / "kiosk"
    new_project(folder, small_film())
    with collecting_for(window):
        started = gc.get_freeze_count()
        window.open_film(folder)
        qtbot.waitUntil(lambda: window.view is not None)
        qtbot.waitUntil(lambda: gc.get_freeze_count() > started + 1_000)
        window.close_film()
        assert gc.get_freeze_count() == 0
        qtbot.waitUntil(lambda: gc.get_freeze_count() > 0)


@pytest.mark.parametrize("what", ["a button is pressed", "something plays"])
def test_the_window_is_busy_while(window, qtbot, monkeypatch, tmp_path, what):
    new_project(tmp_path / "kiosk", small_film())
    window.open_film(tmp_path / "kiosk")
    qtbot.waitUntil(lambda: window.view is not None)
    with collecting_for(window) as collecting:
        started = gc.get_freeze_count()
        if what == "something plays":
            monkeypatch.setattr(Player, "is_playing", property(lambda _: True))
        else:
            QTest.mousePress(window.windowHandle(), Qt.MouseButton.LeftButton, pos=QPoint(5, 5))
        collecting.set_aside()
        qtbot.wait(3 * INTERVAL_MS)
        assert gc.get_freeze_count() <= started
        if what == "something plays":
            monkeypatch.undo()
        else:
            QTest.mouseRelease(window.windowHandle(), Qt.MouseButton.LeftButton, pos=QPoint(5, 5))
        qtbot.waitUntil(lambda: gc.get_freeze_count() > started)
