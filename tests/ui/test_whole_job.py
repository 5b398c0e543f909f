"""The whole job in a real window under a virtual screen, with the pointer and the keyboard of the X server.

New film from footage, reorder, set aside, card, lock, assemble; then the copy is decoded and compared
with what the film asks for: each frame of the footage carries its number.
"""

import json
from pathlib import Path

import pytest

from desk.store.project import open_film
from tests.making import make_numbered, read_numbers
from tests.ui.window_job import WITH_A_SCREEN, run_on_screen

RUSHES = (
    ("01 boathouse", 25, 0),
    ("02-shore", 30, 100),
    ("03 landing", 20, 200),
    ("4A_slipway dusk", 35, 300),
)
SIZE = (96, 54)

pytestmark = WITH_A_SCREEN


@pytest.fixture
def rushes(tmp_path: Path) -> Path:
    folder = tmp_path / "rushes"
    for name, frames, first in RUSHES:
        (folder / name).mkdir(parents=True)
        make_numbered(folder / name / "C0001.mov", frames=frames, start=first, size=SIZE, sound="beeps")
    return folder


def test_from_a_folder_of_footage_to_a_review_copy(tmp_path: Path, rushes: Path):
    before = {path: path.read_bytes() for path in rushes.rglob("*") if path.is_file()}
    project = tmp_path / "kiosk"
    run_on_screen("tests.ui.whole_job", rushes, project, settings=tmp_path / "settings")

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
