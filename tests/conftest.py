"""Qt for all tests: without a screen, as a window program that also draws cards."""

import locale
import os

import pytest

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")


@pytest.fixture(scope="session", autouse=True)
def _window_application(qapp):
    """One application for the whole run: cards would make one without widgets, which can't be replaced."""
    # Qt takes the person's locale for the process; numbers that ffmpeg's libraries read stay as they are.
    locale.setlocale(locale.LC_NUMERIC, "C")
    return qapp


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Begin with the long ones: at the end, one of them would keep a single worker busy and the others idle."""
    items.sort(key=lambda item: item.get_closest_marker("slow") is None)
