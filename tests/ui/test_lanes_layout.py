"""The lanes: where everything stands, and what mouse and keys do there."""

import itertools
import time
from fractions import Fraction

import pytest
from PySide6.QtCore import QPoint, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPixmap

from desk.film.lanes import spans
from desk.film.model import Candidate, Clip, ClipSound, Cue, SceneContent, SoundKind, Spot
from desk.film.rates import Rate
from desk.film.timing import clip_starts, content_frames
from desk.ui.scene.clip_pictures import picture_places
from desk.ui.scene.lanes_layout import LABELS_PX, Row, lay_lanes
from desk.ui.scene.lanes_paint import ruler_step
from desk.ui.scene.lanes_view import LanesView
from tests.film.films import RATE, random_film
from tests.ui.scene_parts import MISSING, many_clips, scene_with, with_media

THREE = SceneContent(
    clips=(
        Clip(id="c3", source="footage/2/a.mov", length_frames=48),
        Clip(
            id="c50",
            source="footage/2/b.mov",
            in_seconds=Fraction(2),
            length_frames=24,
            sound=ClipSound(lead_frames=12, lag_frames=6, gain_db=-3),
        ),
        Clip(id="c51", source="footage/2/c.mov", length_frames=72, sound=ClipSound(kind=SoundKind.SILENCE)),
    ),
    cues=(
        Cue(
            id="m50",
            label="m2",
            start_frames=24,
            length_frames=4000,
            candidates=(Candidate(id="a50", file="music/tide.wav"),),
            chosen="a50",
        ),
        Cue(id="m51", label="m3", start_frames=0, length_frames=20),
    ),
    spots=(
        Spot(id="f50", file="effects/horn.wav", label="horn", start_frames=-6, length_frames=30),
        Spot(id="f51", file="effects/gulls.wav", label="gulls", start_frames=20, length_frames=30),
        Spot(id="f52", file="effects/bell.wav", start_frames=60, length_frames=10),
    ),
)


def contents():
    for seed in range(60):
        film = random_film(seed)
        for scene in film.scenes:
            yield film.rate, scene.content
    yield RATE, THREE
    yield RATE, SceneContent()


class TestGeometry:
    @pytest.mark.parametrize("width", [320, 777, 1400.5])
    def test_everything_stands_to_scale(self, width):
        for rate, content in contents():
            lanes = lay_lanes(content, rate, width)
            share = (lanes.right_px - LABELS_PX) / (lanes.end_frames - lanes.first_frames)

            def place(frames, lanes=lanes, share=share):
                inside = min(max(frames, lanes.first_frames), lanes.end_frames)
                return LABELS_PX + (inside - lanes.first_frames) * share

            wanted = {
                (Row.PICTURE, clip.id, start, start + clip.length_frames)
                for clip, start in zip(content.clips, clip_starts(content), strict=True)
            }
            rows = {"dialogue": Row.DIALOGUE, "effects": Row.EFFECTS, "music": Row.MUSIC}
            wanted |= {
                (rows[span.kind], span.owner, span.start_frames, span.end_frames)
                for span in spans(content, rate)
            }
            wanted |= {
                (Row.MUSIC, cue.id, cue.start_frames, cue.start_frames + cue.length_frames)
                for cue in content.cues
                if cue.choice is None
            }
            assert {(box.row, box.owner, box.start_frames, box.end_frames) for box in lanes.boxes} == wanted
            for box in lanes.boxes:
                if box.end_frames > lanes.first_frames and box.start_frames < lanes.end_frames:
                    assert box.rect.left() == pytest.approx(place(box.start_frames))
                    assert box.rect.right() == pytest.approx(place(box.end_frames))

    def test_the_picture_is_never_squeezed_by_sound(self):
        for rate, content in contents():
            lanes = lay_lanes(content, rate, 800)
            if length := content_frames(content):
                shown = lanes.end_frames - lanes.first_frames
                assert shown <= length * 1.3 + 2
                assert lanes.first_frames <= 0
                assert lanes.end_frames >= length

    @pytest.mark.parametrize("width", [320, 641, 1399.3])
    def test_each_frame_is_found_where_it_stands(self, width):
        for rate, content in contents():
            lanes = lay_lanes(content, rate, width)
            for frame in range(content_frames(content)):
                assert lanes.frame_at(lanes.x(frame)) == frame
        assert lanes.frame_at(-50) == 0

    def test_places_outside_are_the_nearest_frame(self):
        lanes = lay_lanes(THREE, RATE, 800)
        assert lanes.frame_at(-1000) == 0
        assert lanes.frame_at(5000) == content_frames(THREE) - 1

    def test_sounds_at_the_same_time_stand_above_each_other(self):
        lanes = lay_lanes(THREE, RATE, 900)
        for row in (Row.DIALOGUE, Row.EFFECTS, Row.MUSIC):
            boxes = [box.rect for box in lanes.boxes if box.row is row]
            for one, two in itertools.combinations(boxes, 2):
                # Boxes that only touch do not lie on each other.
                assert not one.adjusted(0.01, 0.01, -0.01, -0.01).intersects(two)
            top, height = lanes.rows[row]
            assert all(QRectF(0, top, 900, height).contains(rect) for rect in boxes)

    def test_lanes_do_not_overlap(self):
        for rate, content in contents():
            lanes = lay_lanes(content, rate, 700)
            ends = 0.0
            for row in Row:
                top, height = lanes.rows[row]
                assert top >= ends
                ends = top + height
            assert ends <= lanes.height_px

    def test_labels_of_the_ruler_stand_apart(self):
        for px_per_second in (0.001, 0.02, 0.7, 3, 20, 60, 400):
            assert ruler_step(px_per_second) * px_per_second >= 56
        assert ruler_step(400) == 1

    def test_pictures_of_a_clip_are_spread_over_it(self):
        clip = Clip(id="c1", source="a.mov", in_seconds=Fraction(3), length_frames=100, speed=Fraction(1, 4))
        rate = Rate(25)
        assert picture_places(clip, rate, 30, 71) == (Fraction(7, 2),)
        for width in (72, 200, 900, 5000):
            places = picture_places(clip, rate, width, 71)
            assert len(places) in (2, 4, 8, 16)
            assert len(places) == 16 or width / len(places) <= 71
            assert Fraction(3) < places[0] < places[-1] < Fraction(4)
        assert len(picture_places(Clip(id="c2", source="a.mov", length_frames=1), rate, 900, 71)) == 1


@pytest.fixture
def show(make_bench, qtbot):
    """Shows a content's lanes at a width of 800."""

    def show_it(content, known=None, **options):
        film, scene = scene_with(content)
        bench = with_media(make_bench(film), known, **options)
        view = LanesView(bench)
        qtbot.addWidget(view)
        view.resize(800, 200)
        view.show_scene(scene)
        view.show_place(content.clips[0].id if content.clips else "", 0)
        view.show()
        return view, bench

    return show_it


def middle(view, owner, row=Row.PICTURE):
    box = next(box for box in view.lanes.boxes_of(owner) if box.row is row)
    return box.rect.center().toPoint()


class TestMouse:
    def test_a_click_chooses_a_clip_and_a_place(self, show, qtbot):
        view, _ = show(THREE)
        point = middle(view, "c51")
        seen = []
        view.clip_chosen.connect(seen.append)
        view.place_chosen.connect(seen.append)
        qtbot.mouseClick(view, Qt.MouseButton.LeftButton, pos=point)
        assert seen == ["c51", view.lanes.frame_at(point.x())]
        assert (view.clip, view.frame) == ("c51", view.lanes.frame_at(point.x()))

    def test_a_lead_belongs_to_its_own_clip(self, show, qtbot):
        view, _ = show(THREE)
        box = next(box for box in view.lanes.boxes_of("c50") if box.row is Row.DIALOGUE)
        point = QPointF(box.rect.left() + 3, box.rect.center().y()).toPoint()
        qtbot.mouseClick(view, Qt.MouseButton.LeftButton, pos=point)
        assert view.clip == "c50"
        assert view.frame < 48

    def test_dragging_moves_the_playhead(self, show, qtbot):
        view, _ = show(THREE)
        seen = []
        view.place_chosen.connect(seen.append)
        qtbot.mousePress(view, Qt.MouseButton.LeftButton, pos=middle(view, "c3"))
        for owner in ("c50", "c51"):
            qtbot.mouseMove(view, middle(view, owner))
        qtbot.mouseRelease(view, Qt.MouseButton.LeftButton, pos=middle(view, "c51"))
        assert seen == sorted(seen)
        assert view.clip == "c51"

    def test_a_click_on_the_names_does_nothing(self, show, qtbot):
        view, _ = show(THREE)
        qtbot.mouseClick(view, Qt.MouseButton.LeftButton, pos=QPoint(10, 40))
        assert (view.clip, view.frame) == ("c3", 0)

    def test_what_is_under_the_pointer_is_told(self, show):
        view, _ = show(THREE)
        assert view.words_at(middle(view, "c50").toPointF()) == "Clip 2: b.mov, 0:01:00"
        sound = view.words_at(middle(view, "c50", Row.DIALOGUE).toPointF())
        assert sound == "Sound of clip 2: b.mov, −3 dB, lead 12, lag 6"
        assert view.words_at(middle(view, "f51", Row.EFFECTS).toPointF()).startswith(
            "Effect gulls: gulls.wav"
        )
        assert view.words_at(middle(view, "m50", Row.MUSIC).toPointF()).startswith("Cue m2 “tide.wav”")
        assert view.words_at(middle(view, "m51", Row.MUSIC).toPointF()).startswith("Cue m3, no music chosen")
        assert view.words_at(QPointF(2, 2)) == ""


class TestKeys:
    def test_arrows_go_clip_by_clip(self, show, qtbot):
        view, _ = show(THREE)
        seen = []
        for key in (Qt.Key.Key_Right, Qt.Key.Key_Right, Qt.Key.Key_Right, Qt.Key.Key_Left):
            qtbot.keyClick(view, key)
            seen.append((view.clip, view.frame))
        assert seen == [("c50", 48), ("c51", 72), ("c51", 72), ("c50", 48)]
        qtbot.keyClick(view, Qt.Key.Key_End)
        assert view.clip == "c51"
        qtbot.keyClick(view, Qt.Key.Key_Home)
        assert (view.clip, view.frame) == ("c3", 0)

    def test_with_shift_frame_by_frame(self, show, qtbot):
        view, _ = show(THREE)
        view.show_place("c3", 47)
        qtbot.keyClick(view, Qt.Key.Key_Right, Qt.KeyboardModifier.ShiftModifier)
        assert (view.clip, view.frame) == ("c50", 48)
        qtbot.keyClick(view, Qt.Key.Key_Left, Qt.KeyboardModifier.ShiftModifier)
        assert (view.clip, view.frame) == ("c3", 47)
        view.show_place("c3", 0)
        qtbot.keyClick(view, Qt.Key.Key_Left, Qt.KeyboardModifier.ShiftModifier)
        assert view.frame == 0

    def test_it_says_where_it_is(self, show, qtbot):
        view, _ = show(THREE)
        assert view.accessibleName() == "Lanes of scene 2"
        qtbot.keyClick(view, Qt.Key.Key_Right)
        told = view.accessibleDescription()
        assert "Clip 2 of 3, b.mov, at 0:02:00, 0:01:00 long." in told
        assert "Playhead at 0:02:00." in told

    def test_a_scene_without_clips_takes_no_keys(self, show, qtbot):
        view, _ = show(SceneContent(spots=THREE.spots))
        for key in (Qt.Key.Key_Right, Qt.Key.Key_End, Qt.Key.Key_Home):
            qtbot.keyClick(view, key)
        assert (view.clip, view.frame) == ("", 0)


def colour_at(view, point) -> QColor:
    image = view.grab().toImage()
    return image.pixelColor(
        round(point.x() * image.devicePixelRatio()), round(point.y() * image.devicePixelRatio())
    )


class TestPainting:
    def test_pictures_stand_in_their_clips(self, show):
        view, bench = show(THREE)
        point = middle(view, "c51")
        assert colour_at(view, point) == bench.thumbnails.colour
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
        view.show_place("c50", 50)
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
        view.show_place("c51", 100)
        # In the ruler, where nothing else has this colour.
        point = QPointF(round(view.lanes.x(100)), 16)
        assert colour_at(view, point) == bench.theme.colour("pencil")
        assert colour_at(view, point + QPointF(12, 0)) != bench.theme.colour("pencil")

    def test_the_chosen_clip_has_a_frame(self, show):
        view, bench = show(THREE)
        view.show_place("c51", 100)
        box = next(box for box in view.lanes.boxes_of("c51") if box.row is Row.PICTURE)
        assert colour_at(view, QPointF(box.rect.left() + 20, box.rect.top() + 1)) == bench.theme.colour(
            "pencil"
        )

    def test_missing_footage_is_no_picture(self, show):
        known = {"footage/2/a.mov": MISSING}
        view, bench = show(THREE, known)
        view.grab()
        assert "footage/2/a.mov" not in {source for source, _, _ in bench.thumbnails.asked}

    def test_another_palette_is_painted_at_once(self, show, theme):
        from desk.ui.look.theme import Appearance

        view, bench = show(THREE, pictures=False)
        before = colour_at(view, middle(view, "c51"))
        theme.set_appearance(Appearance.LIGHT)
        assert colour_at(view, middle(view, "c51")) == bench.theme.colour("bench") != before

    def test_two_hundred_clips(self, show, record_property):
        view, bench = show(many_clips(200))
        assert len([box for box in view.lanes.boxes if box.row is Row.PICTURE]) == 200
        target = QPixmap(view.size())
        times = {}
        for name, prepare in (
            ("first", lambda: None),
            ("all_anew", view.refresh),
            ("playhead", lambda: view.show_place("c1100", 3000)),
        ):
            prepare()
            start = time.perf_counter()
            view.render(target)
            times[name] = (time.perf_counter() - start) * 1000
            record_property(f"repaint_ms_{name}", round(times[name], 2))
        print("ms of one repaint of 200 clips:", {name: round(value, 2) for name, value in times.items()})
        assert len(bench.thumbnails.asked) >= 200
