"""Missing files are found in a folder at once, by what they are: renamed, moved, and never a namesake."""

import pytest
from PySide6.QtWidgets import QWidget

from desk.errors import MediaError
from desk.files import sample_hash
from desk.film import edits
from desk.film.media import MediaFacts
from desk.film.model import Clip, SceneContent
from desk.jobs import Cancelled, CancelToken
from desk.ui.cutting.footage import relinking as footage_relinking
from desk.ui.cutting.footage.relinking import FolderRelinking
from desk.ui.messages import Answer
from desk.ui.scene.relink_search import find_in_folder, find_moved
from desk.ui.scene.relinking import missing_files
from tests.film.films import facts
from tests.making import make_numbered
from tests.ui.scene_parts import MISSING, scene_with, with_media


def put(path, text="x"):
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text)
    return path


def state(path):
    return path.stat().st_size, sample_hash(path)


class TestSearch:
    @pytest.fixture
    def project(self, tmp_path):
        (tmp_path / "project").mkdir()
        return tmp_path / "project"

    @pytest.fixture
    def disk(self, tmp_path):
        return tmp_path / "disk"

    def test_renamed_and_moved_files_are_known_again(self, project, disk):
        one, two = put(disk / "day 1" / "renamed.mov", "one"), put(disk / "deep" / "er" / "b.mov", "two")
        known = {"1/a.mov": state(one), "2/b.mov": state(two)}
        found = find_in_folder(disk, known, project, known=known)
        assert found.moves == {"1/a.mov": "../disk/day 1/renamed.mov", "2/b.mov": "../disk/deep/er/b.mov"}
        assert (found.by_name, found.strangers, found.missing) == ((), (), ())

    def test_another_file_of_the_same_name_and_size_is_not_taken(self, project, disk):
        right = put(disk.parent / "kept.mov", "right")
        put(disk / "a.mov", "wrong")
        found = find_in_folder(disk, ["1/a.mov"], project, known={"1/a.mov": state(right)})
        assert found.moves == {}
        assert (found.strangers, found.missing) == (("1/a.mov",), ("1/a.mov",))

    def test_the_right_one_of_two_namesakes(self, project, disk):
        put(disk / "1" / "a.mov", "wrong")
        right = put(disk / "2" / "a.mov", "right")
        found = find_in_folder(disk, ["1/a.mov"], project, known={"1/a.mov": state(right)})
        assert found.moves == {"1/a.mov": "../disk/2/a.mov"}

    def test_of_copies_the_one_of_its_name(self, project, disk):
        put(disk / "0 copy.mov", "one")
        right = put(disk / "a.mov", "one")
        found = find_in_folder(disk, ["1/a.mov"], project, known={"1/a.mov": state(right)})
        assert found.moves == {"1/a.mov": "../disk/a.mov"}

    def test_what_was_never_seen_is_found_by_name_and_said_to_be(self, project, disk):
        put(disk / "1" / "a.mov")
        put(disk / "2" / "a.mov")
        put(disk / "b.mov")
        put(disk / "c" / "c.mov")
        put(disk / "d" / "c.mov")
        missing = ["card/1/a.mov", "card/b.mov", "card/c.mov"]
        found = find_in_folder(disk, missing, project, known={})
        assert found.moves == {"card/1/a.mov": "../disk/1/a.mov", "card/b.mov": "../disk/b.mov"}
        assert found.by_name == ("card/1/a.mov", "card/b.mov")
        assert found.strangers == ("card/c.mov",), "two could be it"

    def test_a_file_that_is_there_and_can_not_be_read_is_not_found_in_its_own_place(self, project):
        put(project / "1" / "a.mov")
        found = find_in_folder(project / "1", ["1/a.mov"], project, known={})
        assert found.missing == ("1/a.mov",)

    def test_a_folder_that_is_not_there(self, project, disk):
        with pytest.raises(MediaError, match="is missing"):
            find_in_folder(disk, ["1/a.mov"], project, known={})

    def test_it_can_be_stopped(self, project, disk):
        put(disk / "a.mov")
        cancel = CancelToken()
        cancel.set()
        with pytest.raises(Cancelled):
            find_in_folder(disk, ["1/a.mov"], project, known={}, cancel=cancel)

    def test_beside_a_file_that_was_named_a_namesake_is_not_taken_either(self, project, disk):
        place = put(disk / "a.mov", "a")
        put(disk / "b.mov", "wrong")
        seen = {"1/b.mov": state(put(disk.parent / "b.mov", "right"))}
        found = find_moved("1/a.mov", place, ["1/b.mov"], project, locked={}, seen=seen)
        assert (found.others, found.missing) == ((), ("1/b.mov",))


def test_a_file_that_is_listed_and_not_used_yet_is_found_too(make_bench):
    film = edits.list_footage(scene_with(CONTENT)[0], "s2", ["../disk/x.mov"]).after
    known = {path: facts(5) for path in SOURCES} | {"../disk/x.mov": MISSING}
    bench = with_media(make_bench(film), known)
    assert missing_files(bench) == ("../disk/x.mov",)


SOURCES = ("footage/2/a.mov", "footage/2/b.mov")
CONTENT = SceneContent(
    clips=tuple(
        Clip(id=f"c{60 + place}", source=path, length_frames=24) for place, path in enumerate(SOURCES)
    )
)


@pytest.fixture
def make(make_bench, qtbot):
    def make_it(known=None):
        film, _ = scene_with(CONTENT)
        bench = with_media(make_bench(film), known or dict.fromkeys(SOURCES, MISSING))
        window = QWidget()
        qtbot.addWidget(window)
        relinking = FolderRelinking(bench, window)
        told = []
        bench.messages.noticed.connect(told.append)
        return bench, relinking, told

    return make_it


def sources(bench):
    return [clip.source for clip in bench.session.film.scene("s2").content.clips]


def answer(monkeypatch, bench, given):
    asked = []

    def ask(self, question, advice, **buttons):
        asked.append((question, buttons))
        return given

    monkeypatch.setattr(type(bench.messages), "ask", ask)
    return asked


def test_files_known_by_name_alone_are_asked_about(make, qtbot, tmp_path, monkeypatch):
    bench, relinking, told = make()
    put(tmp_path / "disk" / "a.mov")
    asked = answer(monkeypatch, bench, Answer.CANCEL)
    monkeypatch.setattr(footage_relinking, "ask_for_place", lambda parent, start: tmp_path / "disk")
    with qtbot.waitSignal(relinking.finished):
        relinking.find()
    assert asked[0][0] == "“a.mov” was found by name alone."
    assert asked[0][1] == {"first": "Relink 1 file", "second": ""}
    assert sources(bench) == list(SOURCES)
    assert told[-1].text == "Nothing was relinked."
    answer(monkeypatch, bench, Answer.FIRST)
    with qtbot.waitSignal(relinking.finished):
        relinking.find()
    assert sources(bench) == ["../disk/a.mov", "footage/2/b.mov"]
    assert told[-1].text == "1 file was found in “disk”: “a.mov”. Still missing: “b.mov”."
    qtbot.waitUntil(lambda: not bench.jobs.jobs)


def test_nothing_is_found(make, qtbot, tmp_path):
    bench, relinking, told = make()
    (tmp_path / "disk").mkdir()
    with qtbot.waitSignal(relinking.finished):
        relinking.look(tmp_path / "disk")
    assert told[-1].urgent
    assert told[-1].text == "No missing file of the film lies in “disk”. Still missing: “a.mov” and “b.mov”."
    qtbot.waitUntil(lambda: not bench.jobs.jobs)


def test_nothing_is_missing(make, qtbot, tmp_path):
    _, relinking, told = make({path: facts() for path in SOURCES})
    with qtbot.waitSignal(relinking.finished):
        relinking.look(tmp_path)
    assert told[-1].text == "No file of the film is missing, as far as is known."


def test_files_that_the_film_does_not_name_are_not_missed(make):
    bench, *_ = make({SOURCES[0]: MISSING, "footage/2/broken card file.mov": MISSING})
    assert missing_files(bench) == (SOURCES[0],)


@pytest.mark.ffmpeg
def test_a_folder_that_was_moved_with_one_file_renamed(make_bench, qtbot, tmp_path):
    """With the bench's own media: seen, moved away beside a namesake, found, undone."""
    film, _ = scene_with(CONTENT)
    bench = make_bench(film)
    folder = bench.session.folder / "footage" / "2"
    folder.mkdir(parents=True)
    for place, name in enumerate(("a.mov", "b.mov")):
        make_numbered(folder / name, frames=6, size=(64, 36), start=100 * place)
    with qtbot.waitSignal(bench.media.changed):
        bench.media.look()
    disk = tmp_path / "disk"
    disk.mkdir()
    (folder / "a.mov").rename(disk / "first take.mov")
    (folder / "b.mov").rename(disk / "b.mov")
    make_numbered(disk / "a.mov", frames=6, size=(64, 36), start=900)
    with qtbot.waitSignal(bench.media.changed):
        bench.media.look()
    window = QWidget()
    qtbot.addWidget(window)
    relinking = FolderRelinking(bench, window)
    told = []
    bench.messages.noticed.connect(told.append)
    before = bench.session.film
    with qtbot.waitSignal(relinking.finished):
        relinking.look(disk)
    assert sources(bench) == ["../disk/first take.mov", "../disk/b.mov"]
    assert "“a.mov”, now “first take.mov”" in told[-1].text
    assert bench.session.stack.count() == 1
    qtbot.waitUntil(lambda: isinstance(bench.media.facts.get(sources(bench)[0]), MediaFacts))
    bench.session.stack.undo()
    assert bench.session.film == before
    bench.session.stack.redo()
    assert sources(bench)[1].endswith("disk/b.mov")
    qtbot.waitUntil(lambda: not bench.jobs.jobs)
