"""Each room can be used without Qt, but for the ones that draw and those above them."""

import pkgutil
import subprocess
import sys

import pytest

import desk

WITH_QT = {"app", "cards", "cli", "ui"}
ROOMS = sorted(
    module.name for module in pkgutil.iter_modules(desk.__path__) if module.name not in {*WITH_QT, "__main__"}
)


@pytest.mark.parametrize("room", ROOMS)
def test_a_room_is_loaded_whole_without_qt(room):
    """In an interpreter of its own, with every module of the room."""
    script = (
        "import importlib, pkgutil, sys\n"
        f"room = importlib.import_module('desk.{room}')\n"
        "for module in pkgutil.iter_modules(getattr(room, '__path__', [])):\n"
        f"    importlib.import_module('desk.{room}.' + module.name)\n"
        "print([name for name in sys.modules if name.startswith('PySide6')])\n"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_the_rooms_that_are_meant_are_looked_at():
    assert {"assembly", "film", "footage", "render", "sound", "store"} <= set(ROOMS)
