"""Media and states: files are watched, and a lock that does not hold any more is told at once."""

import dataclasses
from pathlib import Path

import pytest

from desk.film import edits
from desk.film.media import MediaFacts
from desk.film.model import Clip, Film, Placement, Scene, SceneContent, Size
from desk.film.rates import Rate
from desk.footage.locking import hash_media
from desk.footage.seen_files import read_seen, seen_path
from desk.store.folder import desk_folder
from desk.ui import media as media_module
from desk.ui.look.marks import Mark
from tests.making import make_numbered

DAY = "2026-03-01"
pytestmark = pytest.mark.ffmpeg


@pytest.fixture(scope="module")
def made(tmp_path_factory) -> Path:
    path = tmp_path_factory.mktemp("media") / "a.mov"
    make_numbered(path, frames=8, size=(160, 96))
    return path


@pytest.fixture
def bench(make_bench, tmp_path, made, monkeypatch):
    monkeypatch.setattr(media_module, "_SETTLE_MS", 30)
    folder = tmp_path / "project"
    folder.mkdir()
    (folder / "a.mov").write_bytes(made.read_bytes())
    scenes = (
        Scene(id="s1", number="1", content=SceneContent(clips=(clip("c1", "a.mov"),))),
        Scene(id="s2", number="2", content=SceneContent(clips=(clip("c2", "gone.mov"),))),
        Scene(id="s3", number="3"),
    )
    film = Film(
        title="Kiosk",
        rate=Rate(25),
        size=Size(160, 96),
        start_frames=90_000,
        scenes=scenes,
        order=tuple(Placement(entry=scene.id) for scene in scenes),
        next_id=10,
    )
    return make_bench(film, folder)


def clip(clip_id: str, source: str) -> Clip:
    return Clip(id=clip_id, source=source, length_frames=4)


def looked(bench, qtbot):
    with qtbot.waitSignal(bench.media.changed):
        bench.media.look()


def mark(bench, scene_id: str) -> Mark:
    return bench.statuses.mark(bench.session.film.scene(scene_id))


def test_nothing_is_called_missing_before_it_was_looked_at(bench, qtbot):
    assert bench.media.is_present("gone.mov")
    looked(bench, qtbot)
    assert bench.media.is_present("a.mov")
    assert not bench.media.is_present("gone.mov")
    assert isinstance(bench.media.facts["a.mov"], MediaFacts)
    assert set(bench.media.source_seconds()) == {"a.mov"}


def test_marks_say_what_a_scene_is(bench, qtbot):
    looked(bench, qtbot)
    assert [mark(bench, name) for name in ("s1", "s2", "s3")] == [Mark.DRAFT, Mark.DRAFT, Mark.SLATE]
    open_items = bench.statuses.of(bench.session.film.scene("s2")).open
    assert any("gone.mov" in item.sentence for item in open_items)


def lock(bench, scene_id: str):
    media = hash_media(["a.mov"], bench.session.folder)
    assert bench.session.do(lambda film: edits.lock(film, scene_id, DAY, media, "for the test"))


def test_a_lock_breaks_as_soon_as_its_file_changes_and_holds_again_when_it_is_back(bench, qtbot, made):
    looked(bench, qtbot)
    lock(bench, "s1")
    assert mark(bench, "s1") is Mark.LOCKED
    path = bench.session.folder / "a.mov"
    with qtbot.waitSignal(bench.statuses.changed) as told:
        path.write_bytes(made.read_bytes() + b"more")
    assert told.args[0] == {"s1"}
    assert mark(bench, "s1") is Mark.BROKEN
    assert "a.mov" in bench.statuses.of(bench.session.film.scene("s1")).broken[0]
    with qtbot.waitSignal(bench.statuses.changed):
        path.write_bytes(made.read_bytes())
    assert mark(bench, "s1") is Mark.LOCKED


def test_a_file_that_is_removed_and_comes_back_is_noticed(bench, qtbot, made):
    looked(bench, qtbot)
    path = bench.session.folder / "a.mov"
    with qtbot.waitSignal(bench.media.changed):
        path.unlink()
    assert not bench.media.is_present("a.mov")
    with qtbot.waitSignal(bench.media.changed):
        path.write_bytes(made.read_bytes())
    assert bench.media.is_present("a.mov")


@pytest.mark.parametrize("moved", ["footage/1 kiosk", "footage"])
def test_a_folder_that_is_moved_as_a_whole_and_comes_back_is_noticed(bench, qtbot, made, tmp_path, moved):
    folder, away = bench.session.folder, tmp_path / "away"
    (folder / "footage" / "1 kiosk").mkdir(parents=True)
    path = "footage/1 kiosk/a.mov"
    (folder / path).write_bytes(made.read_bytes())
    content = SceneContent(clips=(clip("c1", path),))
    bench.session.do(lambda film: edits.set_content(film, "s1", content, "Use another file"))
    qtbot.waitUntil(lambda: isinstance(bench.media.facts.get(path), MediaFacts))
    (folder / moved).rename(away)
    qtbot.waitUntil(lambda: not bench.media.is_present(path))
    away.rename(folder / moved)
    qtbot.waitUntil(lambda: bench.media.is_present(path))


def test_what_else_is_done_above_the_footage_lets_nobody_look(bench, qtbot, made):
    folder = bench.session.folder
    (folder / "footage" / "1 kiosk").mkdir(parents=True)
    path = "footage/1 kiosk/a.mov"
    (folder / path).write_bytes(made.read_bytes())
    for scene_id in ("s1", "s2"):
        content = SceneContent(clips=(clip(f"c{scene_id[1]}", path),))
        bench.session.do(
            lambda film, scene_id=scene_id, content=content: edits.set_content(
                film, scene_id, content, "Use another file"
            )
        )
    qtbot.waitUntil(lambda: isinstance(bench.media.facts.get(path), MediaFacts) and not bench.jobs.jobs)
    looks = []
    bench.media.looking.connect(looks.append)
    touched = []
    bench.media._watcher.directoryChanged.connect(touched.append)
    (folder / "footage" / "notes.txt").write_text("x")
    qtbot.waitUntil(lambda: bool(touched))
    assert not bench.media._timer.isActive()
    assert looks == []


def test_a_file_that_an_edit_brings_in_is_looked_at(bench, qtbot, made):
    looked(bench, qtbot)
    (bench.session.folder / "b.mov").write_bytes(made.read_bytes())
    content = SceneContent(clips=(clip("c9", "b.mov"),))
    with qtbot.waitSignal(bench.media.changed) as told:
        bench.session.do(lambda film: edits.set_content(film, "s3", content, "Add a clip"))
    assert told.args[0] == {"b.mov"}


def test_a_status_is_remembered_until_its_scene_changes(bench, qtbot):
    looked(bench, qtbot)
    first = bench.statuses.of(bench.session.film.scene("s1"))
    bench.session.do(lambda film: edits.edit_story(film, "s3", purpose="Another scene"))
    assert bench.statuses.of(bench.session.film.scene("s1")) is first
    bench.session.do(lambda film: edits.edit_story(film, "s1", purpose="This one"))
    assert bench.statuses.of(bench.session.film.scene("s1")) is not first


def test_the_number_of_proofs_a_film_asks_for_changes_what_is_open(bench, qtbot):
    looked(bench, qtbot)
    scene = bench.session.film.scene("s1")
    assert any("1 is needed" in item.sentence for item in bench.statuses.of(scene).asked)
    delivery = dataclasses.replace(bench.session.film.delivery, proofs_needed=3)
    bench.session.do(lambda film: edits.edit_film(film, delivery=delivery))
    assert any("3 are needed" in item.sentence for item in bench.statuses.of(scene).asked)


class TestOtherFiles:
    """Files that the film does not use are looked at for those who ask, and the film's own come first."""

    def test_they_are_looked_at_and_let_go(self, bench, qtbot, made):
        looked(bench, qtbot)
        for name in ("x.mov", "y.mov"):
            (bench.session.folder / name).write_bytes(made.read_bytes())
        with qtbot.waitSignal(bench.media.changed) as told:
            bench.media.also(["x.mov", "y.mov", "a.mov"])
        assert told.args[0] == {"x.mov", "y.mov"}
        assert isinstance(bench.media.facts["y.mov"], MediaFacts)
        bench.media.also(["y.mov"])
        assert set(bench.media.facts) == {"a.mov", "gone.mov", "y.mov"}

    def test_they_stay_when_the_film_is_looked_at_again(self, bench, qtbot, made):
        (bench.session.folder / "x.mov").write_bytes(made.read_bytes())
        with qtbot.waitSignal(bench.media.changed):
            bench.media.also(["x.mov"])
        looked(bench, qtbot)
        qtbot.waitUntil(lambda: not bench.jobs.jobs)
        assert set(bench.media.facts) == {"a.mov", "gone.mov", "x.mov"}

    def test_one_that_is_still_being_copied_is_looked_at_again(self, bench, qtbot, made):
        looked(bench, qtbot)
        path = bench.session.folder / "x.mov"
        path.write_bytes(made.read_bytes()[:2000])
        with qtbot.waitSignal(bench.media.changed):
            bench.media.also(["x.mov"])
        assert not bench.media.is_present("x.mov")
        with qtbot.waitSignal(bench.media.changed):
            path.write_bytes(made.read_bytes())
        assert bench.media.is_present("x.mov")

    def test_many_are_told_of_a_few_at_a_time(self, bench, qtbot, made):
        looked(bench, qtbot)
        names = [f"x{place}.mov" for place in range(30)]
        for name in names:
            (bench.session.folder / name).write_bytes(made.read_bytes())
        told: list[frozenset[str]] = []
        bench.media.changed.connect(told.append)
        bench.media.also(names)
        qtbot.waitUntil(lambda: frozenset().union(*told) == frozenset(names), timeout=20_000)
        assert len(told) == 3
        bench.media.changed.disconnect(told.append)

    def test_the_film_finds_one_known_that_it_begins_to_use(self, bench, qtbot, made):
        looked(bench, qtbot)
        (bench.session.folder / "b.mov").write_bytes(made.read_bytes())
        with qtbot.waitSignal(bench.media.changed):
            bench.media.also(["b.mov"])
        content = SceneContent(clips=(clip("c9", "b.mov"),))
        bench.session.do(lambda film: edits.set_content(film, "s3", content, "Add a clip"))
        assert isinstance(bench.media.facts["b.mov"], MediaFacts)
        qtbot.waitUntil(lambda: not bench.jobs.jobs)
        bench.media.also([])
        qtbot.waitUntil(lambda: isinstance(bench.media.facts.get("b.mov"), MediaFacts))

    def test_what_files_were_is_remembered(self, bench, qtbot):
        looked(bench, qtbot)
        (bench.session.folder / "a.mov").unlink()
        with qtbot.waitSignal(bench.media.changed):
            bench.media.look()
        seen = read_seen(seen_path(desk_folder(bench.session.folder)))
        assert set(seen) == {"a.mov"}
