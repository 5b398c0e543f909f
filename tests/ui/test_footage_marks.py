"""The part of raw footage that is wanted: marked in the viewer by key and pointer, and added to the scene."""

from fractions import Fraction

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtTest import QTest

from desk.film import edits
from desk.film.model import FootageMark
from desk.ui.cutting.marks import Marked, Marks
from desk.ui.scene.picture import PictureBody
from desk.ui.viewer.subject import Kind
from tests.ui.viewing import (
    number_of,
    numbered_footage,
    put_footage,
    viewed_film,
    wait_for_frame,
    wait_for_media,
)

KEY, SHIFT = Qt.Key, Qt.KeyboardModifier.ShiftModifier


def test_head_and_tail_never_cross(make_bench):
    session = make_bench(viewed_film()).session
    marks, told = Marks(session), []
    marks.changed.connect(told.append)
    marks.mark_head("a", 30, 100)
    assert marks.of("a") == Marked(30, 100)
    marks.mark_tail("a", 49, 100)
    assert marks.of("a") == Marked(30, 50)
    marks.mark_tail("a", 10, 100)
    assert marks.of("a") == Marked(0, 11), "a tail before the head takes all up to it"
    marks.mark_head("a", 11, 100)
    assert marks.of("a") == Marked(11, 100), "a head after the tail takes all from it on"
    marks.mark_head("a", 0, 100)
    assert marks.of("a") is None, "all of it is no mark"
    assert told == ["a"] * 5
    marks.clear("a")
    assert len(told) == 5


def test_marks_are_in_the_film_and_those_of_one_file_are_undone_together(make_bench):
    session = make_bench(viewed_film()).session
    marks = Marks(session)
    marks.mark_head("a.mov", 30, 100)
    marks.mark_tail("a.mov", 49, 100)
    assert session.film.footage_marks == (
        FootageMark(source="a.mov", in_seconds=Fraction(30, 25), out_seconds=Fraction(2)),
    )
    marks.mark_tail("b.mov", 9, 100)
    assert [session.stack.text(step) for step in range(session.stack.count())] == [
        "Mark a part of “a.mov”",
        "Mark a part of “b.mov”",
    ]
    session.stack.undo()
    assert marks.all == {"a.mov": Marked(30, 50)}
    session.stack.undo()
    assert marks.all == {}
    session.stack.redo()
    assert Marks(session).of("a.mov") == Marked(30, 50), "as when the film is opened again"


@pytest.fixture(scope="session")
def footage(tmp_path_factory):
    return numbered_footage(tmp_path_factory)


@pytest.fixture
def make(make_bench, footage, tmp_path, qtbot):
    """Makes the Picture part of a scene of a film with real footage."""
    made = []

    def make_it(film=None, scene_id="s1"):
        bench = make_bench(film or viewed_film(), put_footage(footage, tmp_path / "film"))
        body = PictureBody(bench)
        qtbot.addWidget(body)
        body.resize(800, 1400)
        body.show_scene(bench.session.film.scene(scene_id))
        body.show()
        wait_for_media(bench, qtbot)
        qtbot.waitUntil(lambda: "b.mov" in bench.media.facts, timeout=20_000)
        bench.session.changed.connect(lambda film, _: body.show_scene(film.scene(scene_id)))
        made.append(body)
        return body

    yield make_it
    for body in made:
        body.viewer.shut()
        body.footage._watch.stop()


def shown(body, qtbot, path="b.mov"):
    body.footage.show_wanted.emit(path)
    qtbot.waitUntil(lambda: body.viewer.player.subject.name == path)
    return body.viewer


def press(viewer, *keys, with_=Qt.KeyboardModifier.NoModifier):
    for key in keys:
        QTest.keyClick(viewer.picture, key, with_)


pytestmark = pytest.mark.ffmpeg


def test_a_part_is_marked_by_key_and_added_in_order(make, qtbot):
    body = make()
    viewer = shown(body, qtbot)
    viewer.player.go_to(40)
    press(viewer, KEY.Key_H)
    viewer.player.go_to(59)
    press(viewer, KEY.Key_T)
    assert viewer.footage_bar.words.text() == "0:00:20 marked"
    row = next(row for row in body.footage.rows if row.path == "b.mov")
    assert row.format_words == "marked 0:00:20"
    assert "0:00:20 of it marked" in row.spoken
    press(viewer, KEY.Key_Home, with_=SHIFT)
    assert viewer.player.frame == 40
    press(viewer, KEY.Key_End, with_=SHIFT)
    assert number_of(wait_for_frame(viewer.player, qtbot, 59)) == 2059
    press(viewer, KEY.Key_Return)
    clips = body.bench.session.film.scene("s1").content.clips
    assert [(clip.source, clip.in_seconds * 25, clip.length_frames) for clip in clips] == [
        ("a.mov", 10, 20),
        ("b.mov", 30, 15),
        ("b.mov", 40, 20),
    ]
    assert body.bench.cut.selection == (clips[2].id,)
    assert viewer.player.kind is Kind.FOOTAGE, "the next part of it can be marked"
    press(viewer, KEY.Key_Escape)
    assert viewer.player.kind is Kind.SCENE
    assert not viewer.footage_bar.isVisible()
    first, last = viewer.player.frames - 20, viewer.player.frames - 1
    for frame, number in ((first, 2040), (last, 2059)):
        viewer.player.go_to(frame)
        assert number_of(wait_for_frame(viewer.player, qtbot, frame)) == number
    assert body.bench.session.stack.count() == 2
    body.bench.session.stack.undo()
    assert len(body.bench.session.film.scene("s1").content.clips) == 2


def test_at_the_playhead_the_clip_there_is_cut_in_two_and_the_part_is_selected(make, qtbot):
    body = make()
    body.bench.cut.go_to(8)
    viewer = shown(body, qtbot)
    viewer.player.go_to(70)
    viewer.footage_bar.head_button.click()
    viewer.footage_bar.playhead_button.click()
    clips = body.bench.session.film.scene("s1").content.clips
    assert [(clip.source, clip.in_seconds * 25, clip.length_frames) for clip in clips[:3]] == [
        ("a.mov", 10, 8),
        ("b.mov", 70, 30),
        ("a.mov", 18, 12),
    ]
    assert body.bench.cut.selection == (clips[1].id,)


def test_the_footage_is_scrubbed_and_its_marks_are_moved_by_pointer(make, qtbot):
    body = make()
    viewer = shown(body, qtbot)
    scale = viewer.footage_bar.scale

    def at(frame):
        return QPoint(round(scale.axis.x(frame)), 28)

    QTest.mousePress(scale, Qt.MouseButton.LeftButton, pos=at(20.5))
    QTest.mouseMove(scale, at(33.5))
    QTest.mouseRelease(scale, Qt.MouseButton.LeftButton, pos=at(33.5))
    assert number_of(wait_for_frame(viewer.player, qtbot, 33)) == 2033
    viewer.footage_bar.head_button.click()
    viewer.player.go_to(60)
    QTest.mousePress(scale, Qt.MouseButton.LeftButton, pos=at(33))
    QTest.mouseMove(scale, at(12))
    QTest.mouseRelease(scale, Qt.MouseButton.LeftButton, pos=at(12))
    assert viewer.marking.marked == Marked(12, 100)
    assert viewer.player.frame == 12, "the frame that it begins with is looked at"
    QTest.mousePress(scale, Qt.MouseButton.LeftButton, pos=at(100))
    QTest.mouseMove(scale, at(50))
    QTest.mouseRelease(scale, Qt.MouseButton.LeftButton, pos=at(50))
    assert viewer.marking.marked == Marked(12, 50)
    assert viewer.player.frame == 49
    viewer.player.set_looping(True)
    assert (viewer.player.loop.first, viewer.player.loop.end) == (12, 50)
    press(viewer, KEY.Key_Delete)
    assert viewer.marking.marked is None
    assert viewer.footage_bar.words.text() == "all of it, 0:04:00"


def test_the_keys_that_mark_are_those_of_the_full_view_too(make, qtbot):
    body = make()
    viewer = shown(body, qtbot)
    viewer.toggle_full_view()
    viewer.player.go_to(40)
    QTest.keyClick(viewer.full_view, KEY.Key_H)
    assert viewer.marking.marked == Marked(40, 100)
    QTest.keyClick(viewer.full_view, KEY.Key_Escape)
    assert viewer.player.kind is Kind.FOOTAGE, "Escape leaves the full view alone"


def test_the_next_file_of_the_scene_is_shown_by_key(make, qtbot):
    body = make()
    viewer = shown(body, qtbot, "a.mov")
    press(viewer, KEY.Key_PageDown)
    assert viewer.player.subject.name == "b.mov"
    assert [row.path for row in body.footage.view.chosen_rows()] == ["b.mov"]
    press(viewer, KEY.Key_PageDown)
    assert viewer.player.subject.name == "b.mov"
    press(viewer, KEY.Key_PageUp)
    assert viewer.player.subject.name == "a.mov"


@pytest.mark.parametrize("where", ["picture", "head_button", "volume"])
def test_no_key_cuts_the_scene_while_its_footage_is_shown(make, qtbot, where):
    body = make()
    calls = []
    actions = []
    for key in ("Del", "Backspace", "Return", "X", "Shift+H", "0"):
        action = QAction(key, body)
        action.setShortcut(QKeySequence(key))
        action.setShortcutContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
        action.triggered.connect(lambda _=False, key=key: calls.append(key))
        actions.append(action)
    viewer = shown(body, qtbot)
    viewer.addActions(actions)
    body.activateWindow()
    widget = {
        "picture": viewer.picture,
        "head_button": viewer.footage_bar.head_button,
        "volume": viewer.transport.volume,
    }[where]
    widget.setFocus()
    qtbot.waitUntil(widget.hasFocus)
    viewer.player.go_to(40)
    for key in (KEY.Key_H, KEY.Key_Backspace, KEY.Key_X, KEY.Key_0):
        QTest.keyClick(widget, key)
    assert viewer.marking.marked == Marked(40, 100)
    QTest.keyClick(widget, KEY.Key_Delete)
    assert viewer.marking.marked is None
    QTest.keyClick(widget, KEY.Key_Return)
    assert len(body.bench.session.film.scene("s1").content.clips) == 3
    assert calls == []
    viewer.player.show_scene()
    QTest.keyClick(viewer.picture, KEY.Key_Backspace)
    assert calls == ["Backspace"], "as before where the scene is shown"


def test_footage_of_an_empty_scene_can_be_looked_at_and_begins_it(make, qtbot):
    film = edits.edit_story(viewed_film(), "s3", folder=".").after
    body = make(film, "s3")
    assert not body.viewer.isVisible()
    qtbot.waitUntil(lambda: any(row.is_known for row in body.footage.rows), timeout=20_000)
    body.footage.view.choose("b.mov")
    body.footage.acts.show_button.click()
    assert body.viewer.isVisible()
    assert not body.clip_sheet.isVisible()
    press(body.viewer, KEY.Key_Escape)
    assert not body.viewer.isVisible()
    body.footage.acts.show_button.click()
    body.viewer.player.go_to(25)
    press(body.viewer, KEY.Key_H)
    press(body.viewer, KEY.Key_Return)
    (clip,) = body.bench.session.film.scene("s3").content.clips
    assert (clip.source, clip.in_seconds, clip.length_frames) == ("b.mov", 1, 75)


def test_a_locked_scene_says_why_nothing_is_added(make, qtbot):
    body = make()
    session = body.bench.session
    told = []
    session.refused.connect(told.append)
    session.do(lambda film: edits.lock(film, "s1", "2026-03-01", (), "a trial"))
    viewer = shown(body, qtbot)
    before = session.film
    press(viewer, KEY.Key_Return)
    assert session.film is before
    assert len(told) == 1
