"""What stands in the lanes, and which frame stands where at any zoom and scroll."""

import itertools
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QRectF

from desk.film.lanes import spans
from desk.film.model import Clip, SceneContent
from desk.film.rates import FILM_RATES, Rate
from desk.film.timing import clip_starts, content_frames
from desk.ui.cutting.lanes.axis import TimeAxis
from desk.ui.cutting.lanes.clip_pictures import picture_cells
from desk.ui.cutting.lanes.layout import LanesLayouts, Row
from desk.ui.cutting.lanes.ruler import label_step, tick_step
from tests.film.films import RATE, random_film
from tests.ui.lanes import THREE


def contents():
    for seed in range(60):
        film = random_film(seed)
        for scene in film.scenes:
            yield film.rate, scene.content
    yield RATE, THREE
    yield RATE, SceneContent()


def lay(content, rate=RATE):
    return LanesLayouts().lay(content, rate)


class TestLayout:
    def test_everything_is_there(self):
        for rate, content in contents():
            lanes = lay(content, rate)
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

    def test_laid_out_again_it_is_the_same(self):
        layouts = LanesLayouts()
        for rate, content in contents():
            first = layouts.lay(content, rate)
            assert layouts.lay(content, rate) == first == lay(content, rate)

    def test_the_picture_is_never_squeezed_by_sound(self):
        for rate, content in contents():
            lanes = lay(content, rate)
            if length := content_frames(content):
                first, end = lanes.whole
                assert end - first <= length * 1.3 + 2
                assert first <= 0
                assert end >= length

    def test_all_that_sounds_can_be_scrolled_to(self):
        for rate, content in contents():
            lanes = lay(content, rate)
            first, end = lanes.reach
            assert all(first <= box.start_frames and box.end_frames <= end for box in lanes.boxes)
            assert first <= lanes.whole[0]
            assert lanes.whole[1] <= end

    def test_sounds_at_the_same_time_stand_above_each_other(self):
        lanes = lay(THREE)
        axis = TimeAxis.of_range(*lanes.whole, left_px=76, width_px=800)
        for row in (Row.DIALOGUE, Row.EFFECTS, Row.MUSIC):
            boxes = [box.rect(axis) for box in lanes.boxes if box.row is row]
            for one, two in itertools.combinations(boxes, 2):
                # Boxes that only touch do not lie on each other.
                assert not one.adjusted(0.01, 0.01, -0.01, -0.01).intersects(two)
            top, height = lanes.rows[row]
            assert all(QRectF(-1e6, top, 2e6, height).contains(rect) for rect in boxes)

    def test_lanes_do_not_overlap(self):
        for rate, content in contents():
            lanes = lay(content, rate)
            ends = 0.0
            for row in Row:
                top, height = lanes.rows[row]
                assert top >= ends
                ends = top + height
            assert ends <= lanes.height_px

    def test_heights_stay_while_something_is_dragged(self):
        layouts = LanesLayouts()
        before = layouts.lay(THREE, RATE)
        after = layouts.lay(SceneContent(clips=THREE.clips[:1]), RATE, least_stories=before.stories)
        assert after.rows == before.rows


scales = st.floats(0.003, 24)
places = st.floats(-1e5, 1e5)


class TestAxis:
    @given(
        first=places, scale=scales, width=st.floats(240, 4000), frames=st.lists(st.integers(-(10**5), 10**5))
    )
    def test_each_frame_is_found_where_it_stands(self, first, scale, width, frames):
        axis = TimeAxis(left_px=76, width_px=width, first=first, px_per_frame=scale)
        for frame in frames:
            assert axis.frame_at(axis.x(frame)) == frame
            assert axis.place(axis.x(frame)) == pytest.approx(frame, abs=1e-5)

    @given(first=places, scale=scales, other=scales, x=st.floats(76, 1076))
    def test_zooming_keeps_the_place_under_the_pointer(self, first, scale, other, x):
        axis = TimeAxis(left_px=76, width_px=1000, first=first, px_per_frame=scale)
        zoomed = axis.zoomed(other, x)
        assert zoomed.px_per_frame == other
        assert zoomed.place(x) == pytest.approx(axis.place(x), abs=1e-6)
        back = zoomed.zoomed(scale, x)
        assert back.first == pytest.approx(first, abs=1e-5)

    @given(
        first=places,
        scale=scales,
        moved=st.floats(-1e4, 1e4),
        begin=st.integers(-900, 0),
        length=st.integers(1, 9999),
    )
    def test_scrolling_goes_no_further_than_there_is_something(self, first, scale, moved, begin, length):
        axis = TimeAxis(left_px=76, width_px=1000, first=first, px_per_frame=scale).moved(moved)
        end = begin + length
        kept = axis.within(begin, end)
        assert kept.first >= begin
        assert kept.px_per_frame == scale
        if kept.shown_frames <= length:
            assert kept.end <= end + 1e-6
        else:
            assert kept.first == begin

    @given(begin=st.integers(-500, 0), length=st.integers(1, 200_000), width=st.floats(240, 4000))
    def test_the_whole_is_what_there_is(self, begin, length, width):
        axis = TimeAxis.of_range(begin, begin + length, left_px=76, width_px=width)
        assert axis.x(begin) == 76
        assert axis.x(begin + length) == pytest.approx(76 + width)


class TestRuler:
    @pytest.mark.parametrize("rate", FILM_RATES, ids=str)
    def test_labels_stand_apart_and_ticks_divide_them(self, rate):
        for scale in (0.0004, 0.003, 0.05, 0.3, 1, 3.7, 12, 24):
            labels = label_step(scale, rate)
            ticks = tick_step(scale, rate, labels)
            # A timecode in full takes 72 px.
            assert labels * scale >= 84
            assert labels % ticks == 0
            assert ticks == labels or ticks * scale >= 6
            assert not rate.nominal % labels or not labels % rate.nominal

    def test_zoomed_in_there_is_a_tick_for_each_frame(self):
        assert tick_step(24, RATE, label_step(24, RATE)) == 1


class TestPictures:
    RATE = Rate(25)

    def cells(self, clip, picture_frames, first=0, end=10**6):
        return [*picture_cells(clip, self.RATE, picture_frames, first, end)]

    def test_a_short_clip_has_the_picture_of_its_middle(self):
        clip = Clip(id="c1", source="a.mov", in_seconds=Fraction(3), length_frames=100, speed=Fraction(1, 4))
        (cell,) = self.cells(clip, 140)
        assert (cell.first, cell.end, cell.seconds) == (0, 100, Fraction(7, 2))

    @pytest.mark.parametrize("picture_frames", [1, 3.3, 17, 40])
    def test_pictures_fill_a_clip_without_gaps(self, picture_frames):
        clip = Clip(id="c1", source="a.mov", in_seconds=Fraction(3), length_frames=100, speed=Fraction(2))
        cells = self.cells(clip, picture_frames)
        assert cells[0].first == 0
        assert cells[-1].end == 100
        assert all(one.end == two.first for one, two in itertools.pairwise(cells))
        assert all(cell.end - cell.first <= picture_frames for cell in cells)
        assert cells[0].seconds == 3
        for cell in cells:
            # Each shows the frame that stands at its left edge.
            assert cell.seconds == clip.in_seconds + Fraction(cell.first) * 2 / 25

    def test_a_trim_of_the_tail_asks_for_no_other_picture(self):
        whole = Clip(id="c1", source="a.mov", in_seconds=Fraction(3), length_frames=100)
        shorter = Clip(id="c1", source="a.mov", in_seconds=Fraction(3), length_frames=77)
        asked = {cell.seconds for cell in self.cells(whole, 9)}
        assert {cell.seconds for cell in self.cells(shorter, 9)} < asked

    def test_a_trim_of_the_head_asks_for_its_first_frame_alone(self):
        whole = Clip(id="c1", source="a.mov", in_seconds=Fraction(3), length_frames=100)
        shorter = Clip(id="c1", source="a.mov", in_seconds=Fraction(3) + Fraction(14, 25), length_frames=86)
        asked = {cell.seconds for cell in self.cells(whole, 9)}
        assert {cell.seconds for cell in self.cells(shorter, 9)} - asked == {shorter.in_seconds}

    def test_only_what_is_shown_is_asked_for(self):
        clip = Clip(id="c1", source="a.mov", length_frames=10_000)
        cells = self.cells(clip, 3, first=5000, end=5040)
        assert len(cells) <= 40 / 2 + 2
        assert cells[0].first <= 5000
        assert cells[-1].end >= 5040
