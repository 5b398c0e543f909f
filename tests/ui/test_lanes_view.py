"""The lanes under the pointer and the keys: choosing, going and looking. Cutting is in other modules."""

import dataclasses

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QColor, QContextMenuEvent
from PySide6.QtWidgets import QApplication

from desk.film.model import SceneContent
from desk.ui.cutting.keys.grips import Grip as KeyGrip
from desk.ui.cutting.keys.keyed_edits import CutEdits
from desk.ui.cutting.lanes.layout import Row
from desk.ui.look.theme import Appearance
from tests.ui.lanes import CTRL, LEFT, SHIFT, THREE, box_of, colour_at, middle, move, show, wheel
from tests.ui.scene_parts import MISSING, many_clips

__all__ = ["show"]


class TestMouse:
    def test_a_click_selects_a_clip_and_puts_the_playhead_there(self, show, qtbot):
        view, bench = show(THREE)
        point = middle(view, "c51")
        qtbot.mouseClick(view, LEFT, pos=point)
        assert bench.cut.selection == ("c51",)
        assert bench.cut.frame == view.axis.frame_at(point.x())

    def test_with_ctrl_one_more_and_one_less(self, show, qtbot):
        view, bench = show(THREE)
        qtbot.mouseClick(view, LEFT, pos=middle(view, "c51"))
        qtbot.mouseClick(view, LEFT, CTRL, pos=middle(view, "c3"))
        assert (bench.cut.selection, bench.cut.main) == (("c3", "c51"), "c3")
        qtbot.mouseClick(view, LEFT, CTRL, pos=middle(view, "f52", Row.EFFECTS))
        assert bench.cut.selection == ("c3", "c51", "f52")
        qtbot.mouseClick(view, LEFT, CTRL, pos=middle(view, "c51"))
        assert bench.cut.selection == ("c3", "f52")

    def test_with_shift_all_up_to_there(self, show, qtbot):
        view, bench = show(THREE)
        qtbot.mouseClick(view, LEFT, pos=middle(view, "c51"))
        qtbot.mouseClick(view, LEFT, SHIFT, pos=middle(view, "c3"))
        assert bench.cut.selection == ("c3", "c50", "c51")

    def test_a_lead_belongs_to_its_own_clip(self, show, qtbot):
        view, bench = show(THREE)
        rect = box_of(view, "c50", Row.DIALOGUE).rect(view.axis)
        qtbot.mouseClick(view, LEFT, pos=QPointF(rect.left() + 3, rect.bottom() - 4).toPoint())
        assert bench.cut.selection == ("c50",)
        assert bench.cut.frame < 48

    def test_a_click_beside_everything_selects_nothing(self, show, qtbot):
        view, bench = show(THREE)
        bench.cut.select(("c3",))
        top, height = view.lanes.rows[Row.EFFECTS]
        free = QPoint(round(view.axis.x(130)), round(top + height / 2))
        qtbot.mouseClick(view, LEFT, pos=free)
        assert bench.cut.selection == ()
        assert bench.cut.frame == view.axis.frame_at(free.x())

    def test_dragging_on_the_ruler_moves_the_playhead(self, show, qtbot):
        view, bench = show(THREE)
        seen = []
        bench.cut.moved.connect(seen.append)
        frames = (10, 60, 100)
        points = [QPoint(round(view.axis.x(frame)) + 1, 8) for frame in frames]
        qtbot.mousePress(view, LEFT, pos=points[0])
        for point in points[1:]:
            qtbot.mouseMove(view, point)
        qtbot.mouseRelease(view, LEFT, pos=points[-1])
        assert seen == [view.axis.frame_at(point.x()) for point in points]
        assert bench.cut.selection == ()

    def test_dragging_on_the_ruler_with_shift_sets_what_plays_again(self, show, qtbot):
        view, bench = show(THREE)
        # Near the cut at 48, where it stops by itself.
        begin, end = QPoint(round(view.axis.x(48)) - 3, 8), QPoint(round(view.axis.x(100)), 8)
        qtbot.mousePress(view, LEFT, SHIFT, pos=begin)
        move(view, end, SHIFT)
        qtbot.mouseRelease(view, LEFT, SHIFT, pos=end)
        assert (bench.cut.loop.first, bench.cut.loop.end) == (48, 100)
        assert "Plays 0:02:00 to 0:04:04 again and again." in view.accessibleDescription()
        assert colour_at(view, QPointF(view.axis.x(70), 37)) == bench.theme.colour("pencil")
        qtbot.mouseClick(view, LEFT, SHIFT, pos=end)
        assert bench.cut.loop is None

    def test_a_band_selects_what_it_touches(self, show, qtbot):
        view, bench = show(THREE)
        top, _ = view.lanes.rows[Row.EFFECTS]
        begin = QPoint(round(view.axis.x(143)), round(top + 2))
        end = middle(view, "c51") + QPoint(-10, 0)
        qtbot.mousePress(view, LEFT, pos=begin)
        qtbot.mouseMove(view, begin + QPoint(-8, -8))
        qtbot.mouseMove(view, end)
        qtbot.mouseRelease(view, LEFT, pos=end)
        assert bench.cut.selection == ("c51",)
        assert bench.session.stack.count() == 0

    def test_a_click_on_the_names_does_nothing(self, show, qtbot):
        view, bench = show(THREE)
        qtbot.mouseClick(view, LEFT, pos=QPoint(10, 70))
        assert (bench.cut.selection, bench.cut.frame) == ((), 0)

    def test_what_is_under_the_pointer_is_told(self, show):
        view, _ = show(THREE)
        assert view.words_at(middle(view, "c50").toPointF()) == "Clip 2: b.mov, 0:01:00"
        sound = view.words_at(middle(view, "c50", Row.DIALOGUE).toPointF())
        assert sound == "Sound of clip 2: b.mov, −3 dB, lead 12, lag 6"
        assert view.words_at(middle(view, "f51", Row.EFFECTS).toPointF()).startswith(
            "Effect gulls: gulls.wav"
        )
        view.zoom(0.01)
        rect = box_of(view, "m50", Row.MUSIC).rect(view.axis)
        told = view.words_at(QPointF(rect.left() + 40, rect.center().y()))
        assert told.startswith("Cue m2 “tide.wav”")
        assert view.words_at(middle(view, "m51", Row.MUSIC).toPointF()).startswith("Cue m3, no music chosen")
        assert view.words_at(QPointF(2, 2)) == ""

    def test_a_menu_is_asked_for_what_is_under_the_pointer(self, show, qtbot):
        view, bench = show(THREE)
        bench.cut.select(("c3",))
        point = middle(view, "c51")
        event = QContextMenuEvent(QContextMenuEvent.Reason.Mouse, point, view.mapToGlobal(point))
        with qtbot.waitSignal(view.menu_wanted) as wanted:
            QApplication.sendEvent(view, event)
        assert wanted.args == [view.mapToGlobal(point)]
        assert bench.cut.selection == ("c51",)


class TestZoom:
    def test_ctrl_and_wheel_zoom_around_the_pointer(self, show):
        view, _ = show(many_clips(20))
        for x in (300, 420, 777):
            place = view.axis.place(x)
            scale = view.axis.px_per_frame
            assert wheel(view, QPoint(x, 60), 240, CTRL)
            assert view.axis.px_per_frame == pytest.approx(scale * 1.25**2)
            assert view.axis.place(x) == pytest.approx(place, abs=1e-6)

    def test_it_ends_at_a_frame_of_24_px_and_at_the_whole_scene(self, show):
        view, _ = show(many_clips(20))
        whole = view.axis
        for _ in range(40):
            wheel(view, QPoint(400, 60), 120, CTRL)
        assert view.axis.px_per_frame == 24
        for _ in range(80):
            wheel(view, QPoint(400, 60), -120, CTRL)
        assert view.axis == whole

    def test_the_plain_wheel_is_left_to_the_page(self, show):
        view, _ = show(many_clips(20))
        before = view.axis
        assert not wheel(view, QPoint(400, 60), 120)
        assert view.axis == before

    def test_shift_and_wheel_scroll(self, show):
        view, _ = show(many_clips(20))
        view.zoom(4)
        before = view.axis.first
        assert wheel(view, QPoint(400, 60), -120, SHIFT)
        assert view.axis.first == pytest.approx(before + 80 / view.axis.px_per_frame)
        for _ in range(100):
            wheel(view, QPoint(400, 60), 120, SHIFT)
        assert view.axis.first == view.lanes.reach[0]

    def test_the_bar_is_where_the_lanes_are(self, show):
        view, _ = show(many_clips(20))
        bar = view.parent().bar
        view.zoom(4)
        assert bar.maximum() > 0
        bar.setValue(500)
        first = view.lanes.reach[0]
        assert (view.axis.first - first) * view.axis.px_per_frame == pytest.approx(500)
        bar.setValue(bar.maximum())
        assert view.axis.end == pytest.approx(view.lanes.reach[1], abs=1 / view.axis.px_per_frame)

    def test_a_double_click_on_the_ruler_shows_the_whole_scene(self, show, qtbot):
        view, _ = show(many_clips(20))
        whole = view.axis
        view.zoom(8)
        qtbot.mouseDClick(view, LEFT, pos=QPoint(400, 8))
        assert view.axis == whole

    def test_keys_zoom_around_the_playhead(self, show, qtbot):
        view, bench = show(many_clips(20))
        whole = view.axis
        bench.cut.go_to(100)
        x = view.axis.x(100)
        qtbot.keyClick(view, Qt.Key.Key_Plus)
        qtbot.keyClick(view, Qt.Key.Key_Plus)
        assert view.axis.px_per_frame == pytest.approx(whole.px_per_frame * 1.25**2)
        assert view.axis.x(100) == pytest.approx(x)
        qtbot.keyClick(view, Qt.Key.Key_Minus)
        assert view.axis.px_per_frame == pytest.approx(whole.px_per_frame * 1.25)
        qtbot.keyClick(view, Qt.Key.Key_0)
        assert view.axis == whole

    def test_the_playhead_stays_in_view_while_it_goes_on(self, show):
        view, bench = show(many_clips(20))
        for _ in range(20):
            view.zoom(2)
        pages = 0
        for frame in range(200):
            before = view.axis.first
            bench.cut.go_to(frame)
            pages += view.axis.first != before
            assert view.axis.left_px <= view.axis.x(frame)
            assert view.axis.x(frame) < view.axis.right_px
        # It goes on by pages of most of the width, not by frames.
        assert 200 * 24 / 716 - 1 <= pages <= 200 * 24 / (716 * 0.85) + 2

    def test_another_width_shows_the_whole_scene_again(self, show):
        view, _ = show(many_clips(20))
        view.parent().resize(1100, 300)
        first, end = view.lanes.whole
        assert (view.axis.first, view.axis.end) == (first, pytest.approx(end))
        view.zoom(4)
        before = view.axis
        view.parent().resize(900, 300)
        assert (view.axis.first, view.axis.px_per_frame) == (before.first, before.px_per_frame)


class TestKeys:
    def test_arrows_go_clip_by_clip(self, show, qtbot):
        view, bench = show(THREE)
        seen = []
        for key in (Qt.Key.Key_Right, Qt.Key.Key_Right, Qt.Key.Key_Right, Qt.Key.Key_Left):
            qtbot.keyClick(view, key)
            seen.append((bench.cut.main, bench.cut.frame))
        assert seen == [("c50", 48), ("c51", 72), ("c51", 72), ("c50", 48)]
        qtbot.keyClick(view, Qt.Key.Key_End)
        assert bench.cut.main == "c51"
        qtbot.keyClick(view, Qt.Key.Key_Home)
        assert (bench.cut.main, bench.cut.frame) == ("c3", 0)

    def test_left_goes_first_to_the_cut_before_the_playhead(self, show, qtbot):
        view, bench = show(THREE)
        bench.cut.go_to(60)
        qtbot.keyClick(view, Qt.Key.Key_Left)
        assert (bench.cut.main, bench.cut.frame) == ("c50", 48)

    def test_with_shift_frame_by_frame(self, show, qtbot):
        view, bench = show(THREE)
        bench.cut.go_to(47)
        qtbot.keyClick(view, Qt.Key.Key_Right, SHIFT)
        assert bench.cut.frame == 48
        bench.cut.go_to(0)
        qtbot.keyClick(view, Qt.Key.Key_Left, SHIFT)
        assert bench.cut.frame == 0
        assert bench.cut.selection == ()

    def test_it_says_where_it_is(self, show, qtbot):
        view, bench = show(THREE)
        assert view.accessibleName() == "Lanes of scene 2"
        assert "Nothing is selected." in view.accessibleDescription()
        qtbot.keyClick(view, Qt.Key.Key_Right)
        told = view.accessibleDescription()
        assert "Clip 2 of 3, b.mov, at 0:02:00, 0:01:00 long, selected." in told
        assert "Playhead at 0:02:00." in told
        bench.cut.select(("c3", "f50"), main="f50")
        told = view.accessibleDescription()
        assert "Effect horn, at −0:00:06, selected. 2 things are selected." in told

    def test_a_scene_without_clips_takes_no_keys(self, show, qtbot):
        view, bench = show(SceneContent(spots=THREE.spots))
        for key in (Qt.Key.Key_Right, Qt.Key.Key_End, Qt.Key.Key_Home):
            qtbot.keyClick(view, key)
        assert (bench.cut.selection, bench.cut.frame) == ((), 0)


class TestPainting:
    def test_pictures_stand_in_their_clips(self, show):
        view, bench = show(THREE)
        assert colour_at(view, middle(view, "c51")) == bench.thumbnails.colour
        assert {source for source, _, _ in bench.thumbnails.asked} == {
            "footage/2/a.mov",
            "footage/2/b.mov",
            "footage/2/c.mov",
        }

    def test_pictures_that_come_later_are_painted_then(self, show):
        view, bench = show(THREE, pictures=False)
        point = middle(view, "c51")
        assert colour_at(view, point) == bench.theme.colour("bench")
        bench.thumbnails.make("footage/2/c.mov")
        assert colour_at(view, point) == bench.thumbnails.colour

    def test_a_picture_is_asked_for_once(self, show):
        view, bench = show(THREE)
        view.grab()
        asked = len(bench.thumbnails.asked)
        bench.cut.go_to(50)
        view.grab()
        view.refresh()
        view.grab()
        assert len(bench.thumbnails.asked) == asked

    def test_a_file_that_changes_is_asked_for_again(self, show):
        view, bench = show(THREE)
        view.grab()
        bench.thumbnails.asked.clear()
        bench.media.now(**{"footage/2/b.mov": bench.media.facts["footage/2/b.mov"]})
        view.grab()
        assert {source for source, _, _ in bench.thumbnails.asked} == {"footage/2/b.mov"}

    def test_the_playhead_stands_on_its_frame(self, show):
        view, bench = show(THREE)
        bench.cut.go_to(100)
        # In the ruler, where nothing else has this colour.
        point = QPointF(round(view.axis.x(100)), 32)
        assert colour_at(view, point) == bench.theme.colour("pencil")
        assert colour_at(view, point + QPointF(12, 0)) != bench.theme.colour("pencil")

    def test_what_is_selected_has_a_frame(self, show):
        view, bench = show(THREE)
        bench.cut.select(("c51",))
        rect = box_of(view, "c51").rect(view.axis)
        assert colour_at(view, QPointF(rect.left() + 20, rect.top() + 1)) == bench.theme.colour("pencil")

    def test_black_is_black(self, show):
        clips = (THREE.clips[0], dataclasses.replace(THREE.clips[1], gap_frames=24))
        view, _ = show(SceneContent(clips=clips))
        y = middle(view, "c3").y()
        assert colour_at(view, QPointF(view.axis.x(60), y)) == QColor("black")
        assert colour_at(view, QPointF(view.axis.x(80), y)) != QColor("black")

    def test_what_is_ready_is_marked(self, show):
        view, bench = show(THREE)
        view.parent().set_ready([(0, 24), (72, 100)])
        line = 37
        shown = [colour_at(view, QPointF(view.axis.x(frame), line)) for frame in (12, 50, 80, 110)]
        dim = bench.theme.colour("dim")
        assert [colour == dim for colour in shown] == [True, False, True, False]

    def test_missing_footage_is_hatched_and_no_picture(self, show):
        view, bench = show(THREE, {"footage/2/a.mov": MISSING})
        image = view.grab().toImage()
        assert "footage/2/a.mov" not in {source for source, _, _ in bench.thumbnails.asked}
        rect = box_of(view, "c3").rect(view.axis)
        colours = {
            image.pixelColor(round(rect.left()) + 60 + column, round(rect.bottom()) - 8).name()
            for column in range(24)
        }
        assert {bench.theme.colour("broken").name(), bench.theme.colour("bench").name()} <= colours

    def test_the_cut_between_missing_clips_is_seen(self, show):
        view, bench = show(THREE, {"footage/2/a.mov": MISSING, "footage/2/b.mov": MISSING})
        image = view.grab().toImage()
        rect = box_of(view, "c3").rect(view.axis)
        edge = round(rect.right()) - 1
        rows = range(round(rect.top()) + 2, round(rect.bottom()) - 2)
        assert {image.pixelColor(edge, y).name() for y in rows} == {bench.theme.colour("broken").name()}

    def test_another_palette_is_painted_at_once(self, show, theme):
        view, bench = show(THREE, pictures=False)
        before = colour_at(view, middle(view, "c51"))
        theme.set_appearance(Appearance.LIGHT)
        assert colour_at(view, middle(view, "c51")) == bench.theme.colour("bench") != before


class TestRepaints:
    def test_the_playhead_paints_nothing_anew(self, show):
        view, bench = show(many_clips(200))
        view.grab()
        painted, drawn = view.painted, view.tiles.drawn
        for frame in range(0, 3000, 50):
            bench.cut.go_to(frame)
            view.grab()
        bench.cut.select(("c1003",))
        view.grab()
        assert (view.painted, view.tiles.drawn) == (painted, drawn)

    def test_only_what_is_on_the_screen_is_drawn(self, show):
        view, _ = show(many_clips(200))
        view.grab()
        # A picture and a sound of each clip.
        assert view.tiles.drawn == 400
        for _ in range(20):
            view.zoom(2)
        drawn = view.tiles.drawn
        view.grab()
        # 716 px at 24 px a frame are 30 frames: three clips at most.
        assert view.tiles.drawn - drawn <= 2 * 5

    def test_scrolling_draws_what_comes_into_view(self, show):
        view, _ = show(many_clips(200))
        for _ in range(20):
            view.zoom(2)
        view.scroll_to(1000)
        view.grab()
        drawn = view.tiles.drawn
        view.scroll_by(8)
        view.grab()
        view.scroll_by(-8)
        view.grab()
        assert view.tiles.drawn - drawn <= 2


def test_the_cut_that_is_held_by_key_is_marked(show, theme):
    """Where the arrow keys work has to be seen in the lanes, and not be guessed from what is selected."""
    view, bench = show(THREE)
    rect = box_of(view, "c50").rect(view.axis)
    place = QPointF(rect.left() + 7, rect.center().y())
    assert colour_at(view, place) != theme.colour("ink")

    nudges = CutEdits.of(bench).nudges
    bench.cut.select(("c50",))
    nudges.take_hold(KeyGrip.HEAD)
    assert colour_at(view, place) == theme.colour("ink")

    nudges.let_go()
    assert colour_at(view, place) != theme.colour("ink")
