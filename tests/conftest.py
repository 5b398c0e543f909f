"""Qt for all tests: without a screen, as a window program that also draws cards."""

import gc
import locale
import os
from collections.abc import Iterator

import pytest

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")


@pytest.fixture(scope="session", autouse=True)
def _window_application(qapp):
    """One application for the whole run: cards would make one without widgets, which can't be replaced."""
    # Qt takes the person's locale for the process; numbers that ffmpeg's libraries read stay as they are.
    locale.setlocale(locale.LC_NUMERIC, "C")
    return qapp


@pytest.fixture(scope="session", autouse=True)
def _modules_aside() -> Iterator[None]:
    """What was there before the first test, by far the most, is not looked through for garbage again."""
    gc.collect()
    gc.freeze()
    yield
    gc.unfreeze()


@pytest.fixture(scope="module", autouse=True)
def _tested_aside(_modules_aside: None) -> Iterator[None]:
    """Nor is what stays of a module that was tested: what it imported, and what is noted of its tests.

    The tests of the window look for what each of them left over, and took longer the later they came.
    """
    yield
    gc.collect()
    gc.freeze()


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Begin with the long ones: at the end, one of them would keep one worker busy and the others idle."""
    items.sort(key=lambda item: item.get_closest_marker("slow") is None)
