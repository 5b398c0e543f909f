"""The whole job in a real window under a virtual screen, with the pointer and the keyboard of the X server.

New film from footage, reorder, set aside, card, lock, assemble; then the copy is decoded and compared
with what the film asks for: each frame of the footage carries its number.
"""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from desk.store.project import open_film
from tests.making import make_numbered, read_numbers

TOOLS = ("Xvfb", "xdotool")
MISSING = [name for name in TOOLS if not shutil.which(name)]
RUSHES = (
    ("01 boathouse", 25, 0),
    ("02-shore", 30, 100),
    ("03 landing", 20, 200),
    ("4A_slipway dusk", 35, 300),
)
SIZE = (96, 54)

pytestmark = [
    pytest.mark.ffmpeg,
    pytest.mark.slow,
    pytest.mark.skipif(sys.platform != "linux", reason="the X server is Linux's"),
    pytest.mark.skipif(bool(MISSING), reason=f"{' and '.join(MISSING)} not installed"),
]


@pytest.fixture
def rushes(tmp_path: Path) -> Path:
    folder = tmp_path / "rushes"
    for name, frames, first in RUSHES:
        (folder / name).mkdir(parents=True)
        make_numbered(folder / name / "C0001.mov", frames=frames, start=first, size=SIZE, sound="beeps")
    return folder


@pytest.fixture
def screen():
    """A virtual screen of its own; gives what DISPLAY has to be."""
    reading, writing = os.pipe()
    server = subprocess.Popen(
        ["Xvfb", "-displayfd", str(writing), "-screen", "0", "1440x900x24", "-nolisten", "tcp"],
        pass_fds=(writing,),
        stderr=subprocess.DEVNULL,
    )
    os.close(writing)
    with os.fdopen(reading) as number:
        display = f":{number.readline().strip()}"
    yield display
    server.terminate()
    server.wait()


def test_from_a_folder_of_footage_to_a_review_copy(tmp_path: Path, rushes: Path, screen: str):
    before = {path: path.read_bytes() for path in rushes.rglob("*") if path.is_file()}
    project = tmp_path / "kiosk"
    environment = {
        **os.environ,
        "DISPLAY": screen,
        "QT_QPA_PLATFORM": "xcb",
        "QT_SCALE_FACTOR": "1",
        "XDG_CONFIG_HOME": str(tmp_path / "settings"),
        "PYTHONPATH": os.pathsep.join(sys.path),
    }
    script = [sys.executable, "-m", "tests.ui.whole_job", str(rushes), str(project)]
    done = subprocess.run(script, capture_output=True, text=True, env=environment, timeout=400, check=False)
    if "could not load the Qt platform plugin" in done.stderr.lower():
        pytest.skip("Qt's plugin for X lacks system libraries here")
    assert done.returncode == 0, done.stderr

    film = open_film(project).film
    entries = film.entries()
    in_order = [getattr(entries[item.entry], "number", "card") for item in film.order]
    assert in_order == ["card", "3", "1", "card", "4A", "card"]
    assert [film.scene(item.entry).number for item in film.aside] == ["2"]
    locked = [scene.number for scene in film.scenes if scene.lock]
    assert sorted(locked) == ["1", "3"]
    assert film.scene(film.order[1].entry).lock.reason == "a trial"
    card = film.entry(film.order[3].entry)
    assert card.lines == ("Meanwhile",)

    (copy,) = project.rglob("*-review-001.mp4")
    timeline = json.loads(copy.with_suffix(".otio").read_text())
    assert timeline["name"] == film.title
    numbers = read_numbers(copy)
    title, meanwhile = (numbers.count(-1) - 75, 75)
    assert title >= 75
    middle = numbers[title : title + 45]
    assert middle == [*range(200, 220), *range(25)]
    assert len(numbers) == title + 45 + meanwhile
    assert film.review_copies[0].frames == len(numbers)
    after = {path: path.read_bytes() for path in rushes.rglob("*") if path.is_file()}
    assert after == before, "footage was changed"
