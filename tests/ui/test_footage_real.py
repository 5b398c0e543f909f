"""The contact strip over real files: copied in while it is open, looked at, added, and gone again."""

import dataclasses

import pytest
from PySide6.QtCore import Qt

from desk.film.model import Scene
from desk.film.timing import content_frames
from desk.footage.probing import ProbeCache
from desk.store.folder import desk_folder
from desk.ui import media
from desk.ui.cutting.footage import folder as footage_folder
from desk.ui.cutting.footage.footage import FootageList
from tests.film.films import small_film
from tests.making import make_numbered

pytestmark = pytest.mark.ffmpeg


@pytest.fixture
def shown(make_bench, qtbot, monkeypatch, tmp_path):
    monkeypatch.setattr(footage_folder, "_SETTLE_MS", 30)
    monkeypatch.setattr(media, "_SETTLE_MS", 30)
    film = small_film()
    scene = Scene(id="s4", number="4", folder="footage/4")
    film = dataclasses.replace(film, scenes=(*film.scenes[:3], scene))
    folder = tmp_path / "project"
    (folder / "footage" / "4").mkdir(parents=True)
    bench = make_bench(film, folder)
    bench.cut.open("s4")
    shown = FootageList(bench)
    qtbot.addWidget(shown)
    shown.bench = bench
    shown.resize(700, 600)
    shown.show_scene(scene)
    shown.show()
    yield shown
    shown._watch.stop()
    bench.media.stop()
    qtbot.waitUntil(lambda: not bench.jobs.jobs)


def row_of(shown, name):
    return next((row for row in shown.rows if row.name == name), None)


def is_known(shown, name):
    row = row_of(shown, name)
    return row is not None and row.is_known


def test_files_are_copied_in_looked_at_and_added(shown, qtbot):
    bench, place = shown.bench, shown.bench.session.folder / "footage" / "4"
    qtbot.waitUntil(lambda: "There is no footage in" in shown.state.words.text())
    make_numbered(place / "take 10.mov", frames=12, size=(96, 54), sound="beeps")
    make_numbered(place / "take 2.mov", frames=6, size=(54, 96))
    (place / "broken.mov").write_bytes((place / "take 2.mov").read_bytes()[:900])
    qtbot.waitUntil(lambda: is_known(shown, "take 10.mov") and is_known(shown, "take 2.mov"), timeout=15_000)
    qtbot.waitUntil(lambda: row_of(shown, "broken.mov").trouble != "", timeout=15_000)
    assert [row.name for row in shown.model.rows] == ["broken.mov", "take 2.mov", "take 10.mov"]
    assert row_of(shown, "broken.mov").trouble == "can't be read"
    assert row_of(shown, "take 2.mov").format == "54×96 · 25"
    shown.view.choose("footage/4/take 10.mov")
    qtbot.keyClick(shown.view, Qt.Key.Key_Return)
    shown.view.choose("footage/4/take 2.mov")
    qtbot.keyClick(shown.view, Qt.Key.Key_Return)
    content = bench.session.film.scene("s4").content
    assert [clip.source for clip in content.clips] == ["footage/4/take 2.mov", "footage/4/take 10.mov"]
    # 0.24 s and 0.48 s at 24 frames a second, each begun frame shown.
    assert content_frames(content) == 6 + 12
    assert [row.uses for row in shown.rows] == [0, 1, 1]
    qtbot.waitUntil(lambda: not bench.jobs.jobs)
    cache = ProbeCache(desk_folder(bench.session.folder) / "probes.json")
    assert cache.get(place / "take 10.mov") is not None

    (place / "take 10.mov").unlink()
    qtbot.waitUntil(lambda: row_of(shown, "take 10.mov").trouble == "missing", timeout=15_000)
    assert shown.missing.isVisible()
    (place / "broken.mov").unlink()
    qtbot.waitUntil(lambda: row_of(shown, "broken.mov") is None, timeout=15_000)


def test_a_file_that_is_still_being_copied_is_read_when_it_is_whole(shown, qtbot, tmp_path):
    place = shown.bench.session.folder / "footage" / "4"
    whole = make_numbered(tmp_path / "whole.mov", frames=12, size=(96, 54)).read_bytes()
    (place / "a.mov").write_bytes(whole[: len(whole) // 2])
    qtbot.waitUntil(lambda: row_of(shown, "a.mov") is not None and row_of(shown, "a.mov").trouble != "")
    (place / "a.mov").write_bytes(whole)
    qtbot.waitUntil(lambda: is_known(shown, "a.mov"), timeout=15_000)
