"""Files that were moved: finding one finds the others, and the film is told with one step of undoing."""

import shutil

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QListWidget, QPushButton

from desk.errors import MediaError
from desk.files import sample_hash, whole_hash
from desk.film.edits import lock
from desk.film.media import MediaFacts
from desk.film.model import Clip, LockedMedia, SceneContent
from desk.jobs import Cancelled, CancelToken
from desk.ui.scene import relinking
from desk.ui.scene.picture import PictureBody
from desk.ui.scene.relink_search import find_moved
from tests.film.films import facts, small_film
from tests.making import make_numbered
from tests.ui.scene_parts import MISSING, scene_with, with_media


def put(path, text="x"):
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text)
    return path


class TestSearch:
    @pytest.fixture
    def project(self, tmp_path):
        folder = tmp_path / "project"
        folder.mkdir()
        return folder

    def test_files_in_the_same_folder(self, project, tmp_path):
        moved = put(tmp_path / "disk" / "card" / "a.mov")
        put(moved.with_name("b.mov"))
        missing = ["footage/1/a.mov", "footage/1/b.mov", "footage/1/c.mov"]
        found = find_moved("footage/1/a.mov", moved, missing, project, locked={})
        assert found.moves == {
            "footage/1/a.mov": "../disk/card/a.mov",
            "footage/1/b.mov": "../disk/card/b.mov",
        }
        assert (found.others, found.missing) == (("footage/1/b.mov",), ("footage/1/c.mov",))

    def test_files_in_folders_that_moved_as_a_whole(self, project, tmp_path):
        moved = put(tmp_path / "disk" / "footage" / "1" / "a.mov")
        put(tmp_path / "disk" / "footage" / "2 pier" / "DCIM" / "x.mov")
        put(tmp_path / "disk" / "music" / "tide.wav")
        missing = ["footage/1/a.mov", "footage/2 pier/DCIM/x.mov", "music/tide.wav"]
        found = find_moved("footage/1/a.mov", moved, missing, project, locked={})
        assert set(found.others) == {"footage/2 pier/DCIM/x.mov", "music/tide.wav"}
        assert found.moves["music/tide.wav"] == "../disk/music/tide.wav"
        assert found.missing == ()

    def test_a_file_that_was_renamed_too(self, project, tmp_path):
        moved = put(tmp_path / "disk" / "one.mov")
        put(tmp_path / "disk" / "b.mov")
        found = find_moved("1/a.mov", moved, ["1/b.mov", "2/b.mov"], project, locked={})
        assert found.moves == {"1/a.mov": "../disk/one.mov", "1/b.mov": "../disk/b.mov"}
        assert found.missing == ("2/b.mov",)

    def test_namesakes_from_other_folders_are_not_taken(self, project, tmp_path):
        moved = put(tmp_path / "disk" / "1" / "a.mov")
        found = find_moved("cards/1/a.mov", moved, ["cards/2/a.mov"], project, locked={})
        assert found.missing == ("cards/2/a.mov",)

    def test_what_was_locked_has_to_be_the_very_file(self, project, tmp_path):
        moved = put(tmp_path / "disk" / "a.mov", "other")
        right, wrong = put(moved.with_name("b.mov"), "right"), put(moved.with_name("c.mov"), "wrong")
        state = (right.stat().st_size, sample_hash(right))
        locked = dict.fromkeys(["1/a.mov", "1/b.mov", "1/c.mov"], state)
        found = find_moved("1/a.mov", moved, ["1/b.mov", "1/c.mov"], project, locked=locked)
        assert found.others == ("1/b.mov",)
        assert found.missing == ("1/c.mov",)
        # The person named this one, so it is offered, with a warning.
        assert found.differing == ("1/a.mov",)
        assert wrong.read_text() == "wrong"

    def test_a_name_that_no_film_can_hold(self, project, tmp_path):
        moved = put(tmp_path / "disk" / "a\\b.mov")
        with pytest.raises(MediaError, match="backslashes"):
            find_moved("1/a.mov", moved, [], project, locked={})

    def test_it_can_be_stopped(self, project, tmp_path):
        cancel = CancelToken()
        cancel.set()
        moved = put(tmp_path / "disk" / "a.mov")
        with pytest.raises(Cancelled):
            find_moved("1/a.mov", moved, ["1/b.mov"], project, locked={}, cancel=cancel)

    def test_through_links(self, project, tmp_path):
        moved = put(tmp_path / "disk" / "1" / "a.mov")
        put(tmp_path / "disk" / "1" / "b.mov")
        (tmp_path / "link").symlink_to(tmp_path / "disk")
        found = find_moved("1/a.mov", tmp_path / "link" / "1" / "a.mov", ["1/b.mov"], project, locked={})
        assert set(found.moves) == {"1/a.mov", "1/b.mov"}
        assert all((project / path).exists() for path in found.moves.values())
        assert moved.read_text() == "x"


SOURCES = ("footage/2/a.mov", "footage/2/b.mov", "footage/2/c.mov")
CONTENT = SceneContent(
    clips=tuple(
        Clip(id=f"c{60 + place}", source=path, length_frames=24) for place, path in enumerate(SOURCES)
    )
)


@pytest.fixture
def disk(tmp_path):
    """Two of three files lie in a new place."""
    for name in ("a", "b"):
        put(tmp_path / "disk" / f"{name}.mov", name)
    return tmp_path / "disk"


@pytest.fixture
def show(make_bench, qtbot, monkeypatch, disk):
    def show_it(film, named=None):
        bench = with_media(make_bench(film), dict.fromkeys(SOURCES, MISSING))
        body = PictureBody(bench)
        qtbot.addWidget(body)
        bench.session.changed.connect(lambda film, change: body.show_scene(film.scene("s2")))
        body.resize(640, 700)
        body.show_scene(film.scene("s2"))
        body.show()
        monkeypatch.setattr(relinking, "ask_where", lambda *_: named or disk / "a.mov")
        return body

    return show_it


def find_button(body, name="a.mov"):
    return next(
        button
        for button in body.troubles.findChildren(QPushButton)
        if button.accessibleName() == f"Find the file {name}"
    )


def sources(body):
    return [clip.source for clip in body.bench.session.film.scene("s2").content.clips]


def dialog_of(body, qtbot):
    qtbot.waitUntil(lambda: body.troubles.relinking.dialog is not None)
    return body.troubles.relinking.dialog


def test_finding_one_finds_the_others(show, qtbot):
    film, _ = scene_with(CONTENT)
    body = show(film)
    qtbot.mouseClick(find_button(body), Qt.MouseButton.LeftButton)
    dialog = dialog_of(body, qtbot)
    words = "\n".join(label.text() for label in dialog.findChildren(QLabel))
    assert "“a.mov” is now “../disk/a.mov”. 1 other missing file lies there too:" in words
    assert "Still missing: “c.mov”." in words
    assert dialog.findChild(QListWidget).item(0).text() == "b.mov: ../disk/b.mov"
    assert dialog.all_button.text() == "Relink 2 files"
    before = body.bench.session.film
    with qtbot.waitSignal(body.troubles.relinking.finished):
        qtbot.mouseClick(dialog.all_button, Qt.MouseButton.LeftButton)
    assert sources(body) == ["../disk/a.mov", "../disk/b.mov", "footage/2/c.mov"]
    after = body.bench.session.film
    body.bench.session.stack.undo()
    assert body.bench.session.film == before
    body.bench.session.stack.redo()
    assert body.bench.session.film == after
    qtbot.waitUntil(lambda: not body.bench.jobs.jobs)


def test_only_the_one(show, qtbot):
    film, _ = scene_with(CONTENT)
    body = show(film)
    qtbot.mouseClick(find_button(body), Qt.MouseButton.LeftButton)
    dialog = dialog_of(body, qtbot)
    with qtbot.waitSignal(body.troubles.relinking.finished):
        qtbot.mouseClick(dialog.one_button, Qt.MouseButton.LeftButton)
    assert sources(body) == ["../disk/a.mov", *SOURCES[1:]]
    qtbot.waitUntil(lambda: not body.bench.jobs.jobs)


def test_not_after_all(show, qtbot):
    film, _ = scene_with(CONTENT)
    body = show(film)
    qtbot.mouseClick(find_button(body), Qt.MouseButton.LeftButton)
    dialog = dialog_of(body, qtbot)
    with qtbot.waitSignal(body.troubles.relinking.finished):
        qtbot.keyClick(dialog, Qt.Key.Key_Escape)
    assert body.bench.session.film == film
    qtbot.waitUntil(lambda: not body.bench.jobs.jobs)


def test_without_others_nothing_is_asked(show, qtbot, tmp_path):
    film, _ = scene_with(CONTENT)
    body = show(film, put(tmp_path / "far" / "anything.mov"))
    with qtbot.waitSignal(body.troubles.relinking.finished):
        qtbot.mouseClick(find_button(body), Qt.MouseButton.LeftButton)
    assert sources(body) == ["../far/anything.mov", *SOURCES[1:]]


def test_another_file_than_was_locked_is_warned_of(show, qtbot, disk):
    film, scene = scene_with(CONTENT)
    kept = [disk / "a.mov", disk / "b.mov", put(disk.parent / "kept.mov", "c")]
    media = tuple(
        LockedMedia(
            path=path, size_bytes=file.stat().st_size, sample_hash=sample_hash(file), sha256=whole_hash(file)
        )
        for path, file in zip(SOURCES, kept, strict=True)
    )
    film = lock(film, scene.id, "2026-03-01", media, "trial").after
    shutil.copy(disk / "b.mov", disk / "a.mov")
    body = show(film)
    qtbot.mouseClick(find_button(body), Qt.MouseButton.LeftButton)
    dialog = dialog_of(body, qtbot)
    words = "\n".join(label.text() for label in dialog.findChildren(QLabel))
    assert "“a.mov” is not the file that was locked: the locks over it will be broken." in words
    with qtbot.waitSignal(body.troubles.relinking.finished):
        qtbot.mouseClick(dialog.all_button, Qt.MouseButton.LeftButton)
    # A locked scene is told where its files are, too.
    assert sources(body)[:2] == ["../disk/a.mov", "../disk/b.mov"]
    assert body.bench.session.film.scene("s2").lock is not None
    qtbot.waitUntil(lambda: not body.bench.jobs.jobs)


def test_a_read_only_film_is_not_relinked(make_bench, qtbot):
    film, scene = scene_with(CONTENT)
    bench = with_media(make_bench(film), dict.fromkeys(SOURCES, MISSING))
    bench.session.read_only = "It is open elsewhere."
    body = PictureBody(bench)
    qtbot.addWidget(body)
    body.show_scene(scene)
    assert not find_button(body).isEnabled()


@pytest.mark.ffmpeg
def test_the_real_media_are_told_missing_and_found(make_bench, qtbot, monkeypatch, tmp_path):
    """With the bench's own media: what is on the disk is looked at, and looked at again after the relink."""
    (tmp_path / "disk").mkdir()
    moved = make_numbered(tmp_path / "disk" / "quay.mov", frames=60, size=(64, 36), sound="beeps")
    bench = make_bench(small_film())
    body = PictureBody(bench)
    qtbot.addWidget(body)
    bench.media.changed.connect(lambda _: body.show_scene(bench.session.film.scene("s1")))
    body.show_scene(bench.session.film.scene("s1"))
    with qtbot.waitSignal(bench.media.changed):
        bench.media.look()
    assert not bench.media.is_present("footage/1/quay.mov")
    monkeypatch.setattr(relinking, "ask_where", lambda *_: moved)
    with qtbot.waitSignal(bench.media.changed):
        find_button(body, "quay.mov").click()
    assert isinstance(bench.media.facts["../disk/quay.mov"], MediaFacts)
    qtbot.waitUntil(lambda: not bench.jobs.jobs)


def test_facts_of_other_files_stay(show):
    film, _ = scene_with(CONTENT)
    body = show(film)
    body.bench.media.now(**{path: facts() for path in SOURCES})
    body.show_scene(film.scene("s2"))
    assert not body.troubles.isVisible()
