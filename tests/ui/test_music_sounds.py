"""The maker's own folders of sounds: reading them, finding in them, and putting sounds in."""

import os
import shutil
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QAbstractItemModelTester

from desk.jobs import Cancelled, CancelToken, no_progress
from desk.ui.cutting.footage.model import footage_in
from desk.ui.music import sound_folders
from desk.ui.music.sound_folders import Sound, matching, name_folders, named_folders, read_folders
from desk.ui.music.sound_search import SoundsModel
from desk.ui.scene.music import MusicBody
from tests.film.films import small_film
from tests.ui.music_parts import content, tone, write_sound


@pytest.fixture
def library(tmp_path):
    """A folder of sounds with sub-folders, and what is none."""
    folder = tmp_path / "my sounds"
    for name in ("rain/Rain 10.wav", "rain/Rain 2.wav", "doors/gate, heavy.flac", "horn.opus"):
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(b"")
    (folder / "rain" / "notes.txt").write_text("")
    (folder / "rain" / ".hidden.wav").write_bytes(b"")
    return folder


def places(sounds):
    return [sound.place.replace(os.sep, "/") for sound in sounds]


class TestReading:
    def test_sounds_in_natural_order_without_what_is_none(self, library):
        found = read_folders([str(library)], no_progress, CancelToken())
        assert places(found.found) == [
            "horn.opus",
            "doors/gate, heavy.flac",
            "rain/Rain 2.wav",
            "rain/Rain 10.wav",
        ]
        assert found.remarks == ()

    def test_a_folder_that_is_missing_is_told_and_the_others_read(self, library, tmp_path):
        found = read_folders([str(tmp_path / "gone"), str(library)], no_progress, CancelToken())
        assert len(found.found) == 4
        assert "is missing. Connect its disk" in found.remarks[0]

    def test_a_folder_within_another_lists_nothing_twice(self, library):
        found = read_folders([str(library), str(library / "rain")], no_progress, CancelToken())
        assert len(found.found) == 4

    def test_no_more_than_the_limit(self, library, monkeypatch):
        monkeypatch.setattr(sound_folders, "MOST_FILES", 2)
        found = read_folders([str(library)], no_progress, CancelToken())
        assert len(found.found) == 2
        assert "the rest is left out" in found.remarks[-1]

    def test_it_can_be_stopped(self, library):
        cancel = CancelToken()
        cancel.set()
        with pytest.raises(Cancelled):
            read_folders([str(library)], no_progress, cancel)

    def test_folders_are_kept_with_the_settings(self):
        assert named_folders() == ()
        name_folders(["/sounds/one"])
        assert named_folders() == ("/sounds/one",)
        name_folders(["/sounds/one", "/sounds/two"])
        assert named_folders() == ("/sounds/one", "/sounds/two")
        name_folders([])
        assert named_folders() == ()


class TestFinding:
    def sounds(self, *names):
        return [Sound(Path("/s") / name, name, name.casefold()) for name in names]

    def test_all_words_in_any_order_whatever_their_case(self):
        sounds = self.sounds("rain/Rain 2.wav", "rain/roof.wav", "roof tiles.wav")
        assert places(matching(sounds, "ROOF rain")) == ["rain/roof.wav"]
        assert places(matching(sounds, "")) == places(sounds)
        assert matching(sounds, "thunder") == []

    def test_fifty_thousand_names(self):
        sounds = self.sounds(*(f"{at % 97}/sound {at}.wav" for at in range(50_000)))
        assert places(matching(sounds, "sound 49999")) == ["44/sound 49999.wav"]

    def test_the_model_keeps_the_rules(self, make_bench):
        bench = make_bench(small_film())
        model = SoundsModel(bench)
        QAbstractItemModelTester(model, QAbstractItemModelTester.FailureReportingMode.Warning, model)
        for names in (("a.wav", "b.wav"), (), ("c.wav",)):
            model.show_sounds(self.sounds(*names))
            assert [model.index(row).data() for row in range(model.rowCount())] == list(names)
        model.deleteLater()


@pytest.fixture
def show(make_bench, qtbot):
    def show_it(film=None):
        bench = make_bench(film or small_film())
        body = MusicBody(bench)
        qtbot.addWidget(body)
        bench.session.changed.connect(lambda film, change: body.show_scene(film.scene("s2")))
        body.resize(560, 900)
        body.show_scene(bench.session.film.scene("s2"))
        body.show()
        return body

    return show_it


def searching(body, library, qtbot):
    """Name a folder and wait until it is read."""
    body.effects.finding.click()
    search = body.effects.search
    search.name_folder(str(library))
    qtbot.waitUntil(lambda: search.is_read, timeout=10_000)
    return search


class TestSearch:
    def test_without_folders_it_says_what_to_do(self, show):
        body = show()
        body.effects.finding.click()
        search = body.effects.search
        assert search.told.text() == "Name a folder of your own sounds to find effects in it."
        assert not search.list.isVisible()
        assert search.add_folder.isVisible()

    @pytest.mark.parametrize("key", [Qt.Key.Key_Return, Qt.Key.Key_Down])
    def test_finding_by_name(self, show, library, qtbot, key):
        search = searching(show(), library, qtbot)
        assert search.told.text() == "4 of 4 sounds."
        qtbot.keyClicks(search.words, "rain 2")
        qtbot.waitUntil(lambda: search.model.rowCount() == 1)
        assert search.told.text() == "1 of 4 sounds."
        qtbot.keyClick(search.words, key)
        assert search.list.hasFocus()
        assert search.model.sound_at(search.list.currentIndex().row()).path.name == "Rain 2.wav"

    def test_taking_a_folder_off(self, show, library, qtbot):
        search = searching(show(), library, qtbot)
        search.remove_folder.click()
        assert named_folders() == ()
        assert search.model.rowCount() == 0
        assert not search.list.isVisible()
        assert (library / "horn.opus").exists()

    def test_enter_adds_at_the_playhead_and_undo_takes_it_back(self, show, library, qtbot):
        body = show()
        write_sound(library / "horn.wav", tone(1.5))
        search = searching(body, library, qtbot)
        body.bench.cut.open("s2")
        body.bench.cut.go_to(30)
        qtbot.keyClicks(search.words, "horn.wav")
        qtbot.waitUntil(lambda: search.model.rowCount() == 1)
        qtbot.keyClick(search.list, Qt.Key.Key_Return)
        qtbot.waitUntil(lambda: bool(content(body).spots), timeout=10_000)
        (spot,) = content(body).spots
        # The folder lies beside the project; 1.5 s are 36 frames at 24 a second.
        assert spot.file == "../my sounds/horn.wav"
        assert (spot.label, spot.start_frames, spot.length_frames) == ("horn", 30, 36)
        assert body.effects.spot_id == spot.id
        body.bench.session.stack.undo()
        assert content(body).spots == ()
        body.bench.session.stack.redo()
        assert content(body).spots == (spot,)

    def test_what_is_no_sound_is_told_and_not_added(self, show, library, qtbot):
        body = show()
        search = searching(body, library, qtbot)
        told = []
        body.bench.session.refused.connect(told.append)
        search.list.setCurrentIndex(search.model.index(0))
        search.add_current()
        qtbot.waitUntil(lambda: bool(told), timeout=10_000)
        assert content(body).spots == ()

    def test_what_is_dragged_names_files_as_the_film_does(self, show, library, qtbot):
        search = searching(show(), library, qtbot)
        data = search.model.mimeData([search.model.index(0)])
        assert footage_in(data) == ("../my sounds/horn.opus",)
        assert [url.toLocalFile() for url in data.urls()] == [str(library / "horn.opus")]

    def test_it_is_read_again_when_asked(self, show, library, qtbot):
        search = searching(show(), library, qtbot)
        shutil.copyfile(library / "horn.opus", library / "bell.opus")
        search.read_again.click()
        qtbot.waitUntil(lambda: search.model.rowCount() == 5, timeout=10_000)

    def test_nothing_is_added_to_a_film_for_reading_only(self, show, library, qtbot):
        body = show()
        search = searching(body, library, qtbot)
        body.bench.session.read_only = "It is open elsewhere."
        body.show_scene(body.bench.session.film.scene("s2"))
        assert not search.add.isEnabled()
        search.add_current()
        assert content(body).spots == ()
