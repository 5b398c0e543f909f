"""The Picture part: viewer, clip sheet, lanes and footage together, missing media, a scene without clips."""

import dataclasses
import shutil
from fractions import Fraction

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QDialog, QLabel, QMenu, QPushButton, QWidget

from desk.film.edits import edit_story, lock, remove_clips, set_aside
from desk.film.locking import Part
from desk.film.model import Clip, Framing, LockedMedia, SceneContent
from desk.ui.scene import empty_scene
from desk.ui.scene.part import PartFrame
from desk.ui.scene.picture import PictureBody
from desk.ui.viewer.subject import Kind
from tests.film.editing import locked
from tests.film.films import HASH, SHA256, facts, small_film
from tests.making import make_numbered
from tests.ui.scene_parts import MISSING, focus_chain, many_clips, scene_with, with_media

TWO = SceneContent(
    clips=(
        Clip(id="c3", source="footage/2/a.mov", in_seconds=Fraction(1), length_frames=48),
        Clip(
            id="c60",
            source="footage/2/b.mov",
            in_seconds=Fraction(2),
            length_frames=96,
            speed=Fraction(1, 2),
        ),
    )
)


@pytest.fixture
def show(make_bench, qtbot):
    def show_it(film, scene_id="s2", known=None, **options):
        bench = with_media(make_bench(film), known, **options)
        body = PictureBody(bench)
        qtbot.addWidget(body)
        body.resize(640, 700)
        body.show_scene(film.scene(scene_id))
        body.show()
        return body

    return show_it


def film_of(content):
    return scene_with(content)[0]


def shown_words(widget: QWidget) -> str:
    return "\n".join(label.text() for label in widget.findChildren(QLabel) if label.isVisible()).replace(
        "\u200b", ""
    )


def test_it_is_the_picture_part(show):
    body = show(film_of(TWO))
    assert (body.part, body.title) == (Part.PICTURE, "Picture")
    assert body.summary(body.bench.session.film.scene("s2")) == "2 clips, 0:06:00"


def test_nothing_is_selected_at_first_and_the_viewer_says_where_it_stands(show):
    body = show(film_of(TWO))
    assert body.clip_sheet.title.text() == "SCENE 2"
    readouts = body.viewer.readouts
    assert readouts.scene.text() == "0:00:00"
    # Title 3 s and scene 1 of 5 s come before it, from 01:00:00:00.
    assert readouts.film.text() == "01:00:08:00"
    assert readouts.clip.text() == "a.mov"


def test_choosing_a_clip_shows_its_sheet_and_its_frame(show, qtbot):
    body = show(film_of(TWO))
    qtbot.keyClick(body.lanes.view, Qt.Key.Key_End)
    assert body.clip_sheet.title.text() == "CLIP 2 OF 2"
    assert body.clip_sheet.footage.source.name.text() == "b.mov"
    assert body.viewer.player.frame == 48
    assert body.viewer.readouts.scene.text() == "0:02:00"


def test_the_playhead_of_the_film_is_followed_both_ways(show, qtbot):
    body = show(film_of(TWO))
    body.bench.choice.go_to(8 * 24 + 60)
    assert body.bench.cut.frame == 60
    assert body.viewer.readouts.clip.text() == "b.mov"
    qtbot.keyClick(body.lanes.view, Qt.Key.Key_Home)
    assert body.bench.choice.frame == 8 * 24
    # Elsewhere in the film, the scene stays where it was.
    body.bench.choice.go_to(0)
    assert body.bench.cut.frame == 0
    assert body.viewer.readouts.clip.text() == "a.mov"


def test_a_scene_that_is_set_aside_moves_no_playhead_of_the_film(show, qtbot):
    body = show(set_aside(film_of(TWO), ["s2"]).after)
    before = body.bench.choice.frame
    qtbot.keyClick(body.lanes.view, Qt.Key.Key_End)
    assert body.bench.cut.main == "c60"
    assert body.bench.choice.frame == before


def test_what_deserves_a_look_in_the_clip_is_said(show, qtbot):
    large = dataclasses.replace(TWO.clips[1], framing=Framing(scale=3.0))
    body = show(film_of(SceneContent(clips=(TWO.clips[0], large))))
    assert not body.looks.isVisible()
    qtbot.keyClick(body.lanes.view, Qt.Key.Key_End)
    qtbot.waitUntil(body.looks.isVisible)
    assert "enlarges the picture" in body.looks.text()


def test_the_chosen_clip_stays_chosen_through_other_changes(show, qtbot):
    body = show(film_of(TWO))
    qtbot.keyClick(body.lanes.view, Qt.Key.Key_End)
    body.show_scene(body.bench.session.film.scene("s2"))
    assert body.clip_sheet.footage.source.name.text() == "b.mov"
    body.bench.session.do(lambda film: remove_clips(film, "s2", ("c60",)))
    body.show_scene(body.bench.session.film.scene("s2"))
    assert body.clip_sheet.title.text() == "SCENE 2"
    assert body.bench.cut.frame == 47


def test_a_file_of_the_list_is_looked_at_in_the_viewer(show):
    body = show(film_of(TWO))
    body.footage.show_wanted.emit("footage/2/b.mov")
    assert body.viewer.player.kind is Kind.FOOTAGE
    assert "b.mov" in shown_words(body.viewer)


def test_framing_lies_over_the_picture_of_the_scene(show, qtbot):
    body = show(film_of(TWO))
    body.footage.show_wanted.emit("footage/2/b.mov")
    qtbot.keyClick(body.lanes.view, Qt.Key.Key_End)
    body.clip_sheet.framing.frame.click()
    assert body.framing.is_on
    assert body.framing.parent() is body.viewer.picture
    assert body.viewer.player.kind is Kind.SCENE
    qtbot.keyClick(body.framing, Qt.Key.Key_Escape)
    assert not body.framing.is_on


def test_the_lanes_have_a_menu(show, qtbot):
    body = show(film_of(TWO))
    qtbot.keyClick(body.lanes.view, Qt.Key.Key_End)
    before = set(body.findChildren(QMenu))
    body.lanes.menu_wanted.emit(body.lanes.mapToGlobal(QPoint(200, 60)))
    menu = next(menu for menu in body.findChildren(QMenu) if menu.isVisible())
    assert any("Split" in action.text() for action in menu.actions())
    menu.close()
    qtbot.waitUntil(lambda: set(body.findChildren(QMenu)) == before)


def test_the_picture_is_as_high_as_its_width_asks_for(show, qtbot):
    body = show(film_of(TWO))
    body.resize(900, 1200)
    body.resize(800, 1200)
    picture = body.viewer.picture
    qtbot.waitUntil(lambda: abs(picture.height() - picture.width() * 1080 / 1920) < 2)
    assert body.clip_sheet.width() + picture.width() <= 800


class TestMissing:
    def test_it_says_what_is_missing_and_offers_to_find_it(self, show):
        film = film_of(TWO)
        body = show(film, known={"footage/2/a.mov": MISSING, "footage/2/b.mov": facts()})
        words = shown_words(body.troubles)
        assert "“footage/2/a.mov” is missing. Connect its disk, or say where it is now." in words
        buttons = [
            button for button in body.troubles.findChildren(QPushButton) if button.isVisibleTo(body.troubles)
        ]
        assert [button.accessibleName() for button in buttons] == ["Find the file a.mov"]
        assert body.summary(film.scene("s2")) == "2 clips, 0:06:00 · 1 file missing"

    def test_of_many_it_shows_some_and_counts_the_rest(self, show):
        film = film_of(many_clips(200))
        body = show(film, known={f"footage/2/{number}.mov": MISSING for number in range(10)})
        buttons = [
            button for button in body.troubles.findChildren(QPushButton) if button.isVisibleTo(body.troubles)
        ]
        assert len(buttons) == 4
        assert "There are 6 more files like these." in shown_words(body.troubles)

    def test_a_file_that_changed_under_a_lock(self, show):
        film = film_of(TWO)
        media = tuple(
            LockedMedia(path=f"footage/2/{name}.mov", size_bytes=9, sample_hash=HASH, sha256=SHA256)
            for name in "ab"
        )
        film = lock(film, "s2", "2026-03-01", media, "trial").after
        changed = dataclasses.replace(facts(), size_bytes=10)
        body = show(film, known={"footage/2/a.mov": facts(), "footage/2/b.mov": changed})
        assert "“b.mov” is another file than the one that was locked." in shown_words(body.troubles)
        assert body.summary(film.scene("s2")) == "2 clips, 0:06:00 · 1 file changed"
        # Finding the file that was locked repairs the lock, so a locked scene allows it.
        (button,) = (
            button for button in body.troubles.findChildren(QPushButton) if button.isVisibleTo(body.troubles)
        )
        assert button.isEnabled()

    def test_where_all_is_well_nothing_is_said(self, show):
        body = show(film_of(TWO))
        assert not body.troubles.isVisible()


SIZE = (64, 36)


@pytest.fixture(scope="session")
def footage(tmp_path_factory):
    return make_numbered(tmp_path_factory.mktemp("clip") / "a.mov", frames=10, size=SIZE, sound="beeps")


@pytest.mark.ffmpeg
class TestEmpty:
    """Scene 3 has no clips."""

    @pytest.fixture
    def rushes(self, tmp_path, footage):
        folder = tmp_path / "rushes" / "03 deck"
        folder.mkdir(parents=True)
        for name in ("C10.mov", "C9.mov"):
            shutil.copy(footage, folder / name)
        return folder

    def test_without_a_folder_it_says_what_to_do(self, show):
        body = show(small_film(), "s3")
        assert "It has no folder yet." in body.empty.words.text()
        assert body.empty.choose_button.text() == "Choose its folder…"
        assert not body.empty.take_button.isVisible()
        assert not body.lanes.isVisible()
        assert not body.viewer.isVisible()
        assert not body.footage.isVisible()
        assert body.summary(body.bench.session.film.scene("s3")) == "no clips yet"
        assert "two verified copies" in shown_words(body.empty)

    def test_choosing_its_folder_can_be_undone(self, show, rushes, monkeypatch, qtbot):
        body = show(small_film(), "s3")
        monkeypatch.setattr(empty_scene, "ask_for_folder", lambda parent, start: rushes)
        session = body.bench.session
        session.changed.connect(lambda film, change: body.show_scene(film.scene("s3")))
        qtbot.mouseClick(body.empty.choose_button, Qt.MouseButton.LeftButton)
        assert session.film.scene("s3").folder == "../rushes/03 deck"
        assert "“../rushes/03 deck”" in body.empty.words.text()
        assert body.empty.take_button.isVisible()
        session.stack.undo()
        assert session.film.scene("s3").folder == ""
        assert not body.empty.take_button.isVisible()
        session.stack.redo()
        assert session.film.scene("s3").folder == "../rushes/03 deck"

    @pytest.fixture
    def body(self, show, rushes):
        film = edit_story(small_film(), "s3", folder="../rushes/03 deck").after
        body = show(film, "s3")
        body.bench.session.changed.connect(lambda film, change: body.show_scene(film.scene("s3")))
        return body

    def test_one_file_of_its_folder_is_enough_to_begin_with(self, body, qtbot):
        """The files are listed before there are clips, and one of them can be added."""
        assert body.footage.isVisible()
        qtbot.waitUntil(lambda: [row.name for row in body.footage.rows] == ["C9.mov", "C10.mov"])
        body.bench.media.now(**{row.path: facts() for row in body.footage.rows})
        assert not body.footage.state.isVisible()
        body.footage.view.choose(body.footage.rows[1].path)
        qtbot.keyClick(body.footage.view, Qt.Key.Key_Return)
        clips = body.bench.session.film.scene("s3").content.clips
        assert [clip.source for clip in clips] == ["../rushes/03 deck/C10.mov"]
        assert not body.empty.isVisible()
        assert body.viewer.isVisible()

    def test_an_empty_folder_offers_each_thing_once(self, body, rushes, qtbot):
        for path in rushes.iterdir():
            path.unlink()
        qtbot.waitUntil(lambda: "There is no footage in" in shown_words(body.footage.state))
        texts = [button.text() for button in body.findChildren(QPushButton) if button.isVisible()]
        assert len(texts) == len(set(texts))
        assert "Add files…" in texts

    def test_taking_the_files_of_its_folder(self, body, qtbot):
        session = body.bench.session
        before = session.film
        with qtbot.waitSignal(body.empty.taken):
            qtbot.mouseClick(body.empty.take_button, Qt.MouseButton.LeftButton)
        clips = session.film.scene("s3").content.clips
        assert [clip.source for clip in clips] == ["../rushes/03 deck/C9.mov", "../rushes/03 deck/C10.mov"]
        assert not body.empty.isVisible()
        assert body.viewer.isVisible()
        assert body.viewer.readouts.clip.text() == clips[0].source.rpartition("/")[2]
        after = session.film
        session.stack.undo()
        assert session.film == before
        assert body.empty.isVisible()
        session.stack.redo()
        assert session.film == after
        qtbot.waitUntil(lambda: not body.bench.jobs.jobs)

    def test_what_was_left_out_is_said(self, body, rushes, qtbot):
        (rushes / "empty.mov").touch()
        with qtbot.waitSignal(body.empty.taken):
            qtbot.mouseClick(body.empty.take_button, Qt.MouseButton.LeftButton)
        assert "empty.mov” is empty: it has no bytes. It is left out." in body.remarks.text()
        assert body.remarks.isVisible()
        qtbot.waitUntil(lambda: not body.bench.jobs.jobs)

    def test_what_was_read_for_a_scene_that_changed_is_dropped(self, body, qtbot):
        session = body.bench.session
        qtbot.mouseClick(body.empty.take_button, Qt.MouseButton.LeftButton)
        session.do(lambda film: edit_story(film, "s3", folder="elsewhere"))
        qtbot.waitUntil(lambda: not body.bench.jobs.jobs)
        assert session.film.scene("s3").content.clips == ()
        assert body.empty.take_button.isEnabled()

    def test_it_can_be_stopped_and_tried_again(self, body, qtbot, monkeypatch):
        def read_for_ever(*_, cancel, **__):
            assert cancel.wait(30)
            cancel.check()

        with monkeypatch.context() as slow:
            slow.setattr(empty_scene, "read_scene_folder", read_for_ever)
            self.start_and_stop(body, qtbot)
        with qtbot.waitSignal(body.empty.taken):
            qtbot.mouseClick(body.empty.take_button, Qt.MouseButton.LeftButton)
        qtbot.waitUntil(lambda: not body.bench.jobs.jobs)

    def start_and_stop(self, body, qtbot):
        qtbot.mouseClick(body.empty.take_button, Qt.MouseButton.LeftButton)
        assert body.empty.stop_button.isVisible()
        assert not body.empty.take_button.isEnabled()
        (job,) = (job for job in body.bench.jobs.jobs if job.name == "read the folder of a scene")
        with qtbot.waitSignal(job.cancelled):
            qtbot.mouseClick(body.empty.stop_button, Qt.MouseButton.LeftButton)
        assert body.bench.session.film.scene("s3").content.clips == ()
        qtbot.waitUntil(lambda: not body.bench.jobs.jobs)
        assert not body.empty.stop_button.isVisible()

    def test_opening_the_folder(self, body, monkeypatch, rushes, qtbot):
        opened = []
        monkeypatch.setattr(empty_scene, "show_folder", lambda folder: not opened.append(folder.resolve()))
        qtbot.mouseClick(body.empty.open_button, Qt.MouseButton.LeftButton)
        assert opened == [rushes.resolve()]

    def test_a_folder_that_is_gone(self, body, rushes, qtbot):
        shutil.rmtree(rushes)
        with qtbot.waitSignal(body.bench.messages.noticed) as told:
            qtbot.mouseClick(body.empty.open_button, Qt.MouseButton.LeftButton)
        assert "03 deck” can't be opened. Connect its disk, or choose another." in told.args[0].text

    def test_a_folder_that_gives_nothing_is_told(self, body, rushes, qtbot, monkeypatch):
        for path in rushes.iterdir():
            path.unlink()
        told = []
        monkeypatch.setattr(type(body.bench.messages), "fault", lambda self, error: told.append(error))
        qtbot.mouseClick(body.empty.take_button, Qt.MouseButton.LeftButton)
        qtbot.waitUntil(lambda: bool(told))
        assert told[0].code == "media.none"
        qtbot.waitUntil(lambda: not body.bench.jobs.jobs)

    def test_a_read_only_film_takes_nothing(self, body):
        body.bench.session.read_only = "It is open elsewhere."
        body.show_scene(body.bench.session.film.scene("s3"))
        assert not body.empty.take_button.isEnabled()
        assert not body.empty.choose_button.isEnabled()

    def test_a_locked_scene_takes_nothing(self, body):
        film = lock(body.bench.session.film, "s3", "2026-03-01", (), "trial").after
        body.show_scene(film.scene("s3"))
        assert not body.empty.take_button.isEnabled()


def test_a_locked_scene_is_shown_and_looked_through(show, qtbot):
    film = locked(film_of(TWO), "s2")
    body = show(film)
    qtbot.keyClick(body.lanes.view, Qt.Key.Key_End)
    assert body.clip_sheet.footage.source.name.text() == "b.mov"
    assert "locked" in body.clip_sheet.why.text()


def test_tab_goes_down_the_page(show, qtbot):
    body = show(film_of(TWO), known={"footage/2/a.mov": MISSING, "footage/2/b.mov": facts()})
    frame = PartFrame(body)
    qtbot.addWidget(frame)
    frame.show_scene(body.bench.session.film.scene("s2"))
    frame.set_unfolded(True)
    frame.resize(900, 900)
    frame.show()
    body.bench.cut.select(["c60"])
    chain = focus_chain(frame.fold)
    parts = (body.troubles, body.viewer, body.clip_sheet, body.lanes, body.footage)
    places = [
        next((place for place, widget in enumerate(chain) if part.isAncestorOf(widget)), -1) for part in parts
    ]
    assert -1 not in places
    assert places == sorted(places)


def test_a_dialog_over_the_clip_sheet_is_no_part_of_the_page(show, qtbot):
    """Qt would refuse to let the Tab key go from one window to another, and leave the rest as it was."""
    body = show(film_of(TWO))
    dialog = QDialog(body.clip_sheet)
    button = QPushButton("Look", dialog)
    frame = PartFrame(body)
    qtbot.addWidget(frame)
    frame.show_scene(body.bench.session.film.scene("s2"))
    frame.set_unfolded(True)
    frame.show()
    chain = focus_chain(frame.fold)
    assert button not in chain
    assert body.lanes.view in chain


def test_everything_has_a_name(show):
    body = show(film_of(TWO))
    for widget in focus_chain(body):
        text = widget.text() if isinstance(widget, QPushButton) else ""
        assert widget.accessibleName() or text, widget
