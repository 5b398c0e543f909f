"""Files dropped on the lanes: clips between the clips, sounds as spots and cues."""

import json
import shutil
from fractions import Fraction

import pytest
from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDragLeaveEvent, QDragMoveEvent, QDropEvent
from PySide6.QtWidgets import QApplication

from desk.film import edits
from desk.ui.cutting.footage.adding import clips_of
from desk.ui.cutting.footage.model import MIME_TYPE
from desk.ui.cutting.lanes.layout import Row
from tests.film.editing import locked
from tests.film.films import facts
from tests.making import make_numbered
from tests.ui.lanes import LEFT, SHIFT, THREE, colour_at, show
from tests.ui.scene_parts import paths, scene_with

__all__ = ["show"]

NEW = {
    "footage/2/new one.mov": facts(seconds=2),
    "footage/2/mute.mov": facts(seconds=3, sound=None),
    "music/new.wav": facts(seconds=None, sound=5),
}


def known():
    return {path: facts() for path in paths(scene_with(THREE)[0])} | NEW


def footage(*names):
    data = QMimeData()
    data.setData(MIME_TYPE, json.dumps(list(names)).encode())
    return data


def over(view, data, point, modifiers=Qt.KeyboardModifier.NoModifier):
    """Drag something over the lanes to a point; returns whether they would take it."""
    enter = QDragEnterEvent(point, Qt.DropAction.CopyAction, data, LEFT, modifiers)
    QApplication.sendEvent(view, enter)
    if enter.isAccepted():
        QApplication.sendEvent(view, QDragMoveEvent(point, Qt.DropAction.CopyAction, data, LEFT, modifiers))
    return enter.isAccepted()


def drop(view, data, point, modifiers=Qt.KeyboardModifier.NoModifier):
    assert over(view, data, point, modifiers)
    QApplication.sendEvent(view, QDropEvent(QPointF(point), Qt.DropAction.CopyAction, data, LEFT, modifiers))


def at(view, frame, row=Row.PICTURE):
    top, height = view.lanes.rows[row]
    return QPoint(round(view.axis.x(frame)), round(top + height / 2))


@pytest.mark.parametrize(("frame", "index"), [(3, 0), (40, 1), (65, 2), (140, 3), (150, 3)])
def test_footage_goes_in_at_the_nearest_cut(show, frame, index):
    view, bench = show(THREE, known())
    before = bench.session.film
    drop(view, footage("footage/2/new one.mov", "footage/2/mute.mov"), at(view, frame))
    clips = clips_of(before, ("footage/2/new one.mov", "footage/2/mute.mov"), NEW)
    assert bench.session.film == edits.insert_clips(before, "s2", clips, index).after
    assert bench.session.stack.count() == 1
    new = bench.session.film.scene("s2").content.clips[index : index + 2]
    assert [clip.length_frames for clip in new] == [48, 72]
    assert bench.cut.selection == tuple(clip.id for clip in new)
    bench.session.stack.undo()
    assert bench.session.film == before


def test_what_is_marked_of_a_file_goes_in_and_no_more(show):
    view, bench = show(THREE, known())
    bench.cut.marks.mark_head("footage/2/new one.mov", 12, 48)
    before = bench.session.film
    drop(view, footage("footage/2/new one.mov"), at(view, 40))
    (new,) = (clip for clip in bench.session.film.scene("s2").content.clips if clip.id in bench.cut.selection)
    assert (new.in_seconds, new.length_frames) == (Fraction(1, 2), 36)
    bench.session.stack.undo()
    assert bench.session.film == before


def test_with_shift_just_where_the_pointer_is(show):
    view, bench = show(THREE, known())
    before = bench.session.film
    point = at(view, 20)
    drop(view, footage("footage/2/mute.mov"), point, SHIFT)
    frame = round(view.axis.place(point.x())) if bench.session.film is before else None
    clips = clips_of(before, ("footage/2/mute.mov",), NEW)
    wanted = [edits.insert_clips_at(before, "s2", clips, frame).after for frame in (19, 20, 21)]
    assert frame is None
    assert bench.session.film in wanted


def test_a_line_shows_where_it_goes(show):
    view, bench = show(THREE, known())
    point = at(view, 40)
    assert over(view, footage("footage/2/mute.mov"), point)
    assert colour_at(view, QPointF(round(view.axis.x(48)) - 1, point.y())) == bench.theme.colour("ink")
    assert view.parent().words.text().startswith("Drop: clips between clip 1 and clip 2.")
    QApplication.sendEvent(view, QDragLeaveEvent())
    assert view.drop is None
    assert bench.session.stack.count() == 0


def test_a_sound_becomes_a_spot_or_a_cue(show):
    view, bench = show(THREE, known())
    before = bench.session.film
    # Near the cut at 48, where it stops by itself.
    drop(view, footage("music/new.wav"), at(view, 48, Row.EFFECTS) + QPoint(3, 0))
    spot = bench.session.film.scene("s2").content.spots[-1]
    assert (spot.file, spot.start_frames, spot.length_frames) == ("music/new.wav", 48, 120)
    assert bench.cut.selection == (spot.id,)
    bench.session.stack.undo()
    assert bench.session.film == before
    drop(view, footage("music/new.wav"), at(view, 48, Row.MUSIC) + QPoint(3, 0))
    cue = bench.session.film.scene("s2").content.cues[-1]
    assert (cue.choice.file, cue.start_frames, cue.length_frames) == ("music/new.wav", 48, 120)


def test_a_sound_has_no_picture_for_the_picture_lane(show):
    view, bench = show(THREE, known())
    told = []
    bench.session.refused.connect(told.append)
    drop(view, footage("music/new.wav"), at(view, 40))
    assert "has no picture" in str(told[0])
    assert bench.session.stack.count() == 0


def test_a_locked_scene_takes_nothing_and_says_so_once(show):
    view, bench = show(THREE, known(), edit=lambda film: locked(film, "s2"))
    told = []
    bench.session.refused.connect(told.append)
    for row in (Row.PICTURE, Row.EFFECTS, Row.MUSIC):
        told.clear()
        drop(view, footage("footage/2/new one.mov"), at(view, 40, row))
        assert [error.code for error in told] == ["edit.locked"]
    assert bench.session.stack.count() == 0


def test_anything_else_is_not_taken(show):
    view, _ = show(THREE, known())
    data = QMimeData()
    data.setText("a word")
    assert not over(view, data, at(view, 40))
    data = QMimeData()
    data.setUrls([QUrl("https://example.org/a.mov")])
    assert not over(view, data, at(view, 40))


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    return make_numbered(tmp_path_factory.mktemp("clip") / "a.mov", frames=10, size=(64, 36))


@pytest.mark.ffmpeg
class TestFiles:
    def data(self, path):
        data = QMimeData()
        data.setUrls([QUrl.fromLocalFile(str(path))])
        return data

    def test_a_file_from_anywhere_is_looked_at_and_put_in(self, show, qtbot, made, tmp_path):
        view, bench = show(THREE, known())
        path = tmp_path / "card" / "C 1.mov"
        path.parent.mkdir()
        shutil.copy(made, path)
        with qtbot.waitSignal(bench.session.changed):
            drop(view, self.data(path), at(view, 52))
        clip = bench.session.film.scene("s2").content.clips[1]
        assert clip.source == "../card/C 1.mov"
        # 10 frames at 25 a second are 9.6 film frames.
        assert clip.length_frames == 10
        qtbot.waitUntil(lambda: not bench.jobs.jobs)

    def test_what_is_no_footage_is_refused_in_a_sentence(self, show, qtbot, tmp_path):
        view, bench = show(THREE, known())
        path = tmp_path / "note.mov"
        path.write_text("not a film")
        with qtbot.waitSignal(bench.session.refused) as told:
            drop(view, self.data(path), at(view, 52))
        assert "note.mov" in str(told.args[0])
        assert bench.session.stack.count() == 0
        qtbot.waitUntil(lambda: not bench.jobs.jobs)
