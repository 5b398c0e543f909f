"""What is on screen at each frame, where the cuts are, and where a drag stops: against counting."""

import dataclasses
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from desk.film.cut_view import cuts, edge, on_screen
from desk.film.edits import set_gap
from desk.film.model import Clip, ClipSound, Cue, SceneContent, Spot
from desk.film.rates import Rate
from desk.film.snapping import snap
from tests.film.cutting import content_of, drafts, frames_of, sounds_of
from tests.film.editing import FILM

CONTENT = FILM.scene("s1").content


@given(drafts())
def test_every_frame_shows_what_the_rule_says(film):
    content, rate = content_of(film), film.rate
    wanted = frames_of(content, rate)
    for frame in range(-2, len(wanted) + 2):
        seen = on_screen(content, rate, frame)
        inside = 0 <= frame < len(wanted)
        assert (seen and (seen.clip.source, seen.source_seconds)) == (wanted[frame] if inside else None)
        if seen:
            assert content.clips[seen.index] == seen.clip
            assert seen.frame == frame
            assert frame - seen.clip_frame == frames_before(content, seen.index)


def frames_before(content, index) -> int:
    earlier = sum(clip.gap_frames + clip.length_frames for clip in content.clips[:index])
    return earlier + content.clips[index].gap_frames


@given(drafts(), st.integers(-3, 400))
def test_both_sides_of_a_cut(film, frame):
    content, rate = content_of(film), film.rate
    sides = edge(content, rate, frame)
    assert sides.frame == frame
    assert (sides.before, sides.after) == (
        on_screen(content, rate, frame - 1),
        on_screen(content, rate, frame),
    )


@given(drafts())
def test_cuts_are_where_something_else_comes_on_screen(film):
    content, rate = content_of(film), film.rate
    seen = [on_screen(content, rate, frame) for frame in range(len(frames_of(content, rate)))]
    owners = [None if one is None else one.index for one in seen]
    wanted = [frame for frame in range(1, len(owners)) if owners[frame] != owners[frame - 1]]
    assert list(cuts(content)) == wanted


def test_by_hand():
    # 48 and 72 frames at 24 a second, from second 2 and second 1, with 12 frames of black between them.
    content = set_gap(FILM, "s1", "c2", 12).after.scene("s1").content
    assert cuts(content) == (48, 60)
    first = edge(content, FILM.rate, 48)
    assert first.before is not None
    assert (first.before.clip.id, first.before.source_seconds, first.after) == ("c1", Fraction(95, 24), None)
    second = edge(content, FILM.rate, 60)
    assert second.after is not None
    assert (second.before, second.after.clip.id, second.after.source_seconds) == (None, "c2", 1)
    assert cuts(SceneContent()) == ()


# Where a drag stops


def places_of(content: SceneContent, rate: Rate, without=()) -> set[int]:
    places, at = {0}, 0
    for clip in content.clips:
        if clip.id not in without:
            places |= {at, at + clip.gap_frames, at + clip.gap_frames + clip.length_frames}
        at += clip.gap_frames + clip.length_frames
    for item in (*content.spots, *content.cues):
        if item.id not in without:
            places |= {item.start_frames, item.start_frames + item.length_frames}
    return places


@given(drafts(), st.integers(-60, 400), st.none() | st.integers(-20, 300), st.integers(0, 12), st.data())
def test_a_drag_stops_at_the_nearest_place(film, frame, playhead, within, data):
    content = content_of(film)
    # Without leads and lags, whose edges count too.
    clips = tuple(dataclasses.replace(clip, sound=ClipSound()) for clip in content.clips)
    content = dataclasses.replace(content, clips=clips)
    ids = [clip.id for clip in clips] + list(sounds_of(content))
    without = data.draw(st.lists(st.sampled_from(ids), max_size=2))
    places = places_of(content, film.rate, without) | ({playhead} - {None})
    found = snap(frame, content, film.rate, playhead, within, without=without)
    near = min(abs(place - frame) for place in places)
    if near > within:
        assert found == frame
    else:
        assert found in places
        assert abs(found - frame) == near


def test_the_playhead_wins_and_edges_of_sound_count():
    rate = FILM.rate
    assert snap(46, CONTENT, rate, None, 3) == 48
    assert snap(46, CONTENT, rate, 44, 3) == 44
    assert snap(46, CONTENT, rate, None, 1) == 46
    assert snap(12, CONTENT, rate, 14, 4) == 14  # as near as the horn's first frame at 10
    assert snap(12, CONTENT, rate, None, 4) == 10  # the horn's first frame
    assert snap(12, CONTENT, rate, None, 4, without=["f1"]) == 12
    assert snap(99, CONTENT, rate, None, 4) == 100  # the end of the music
    clips = (Clip(id="c1", source="a.mov", length_frames=40, sound=ClipSound(lag_frames=8)),)
    assert snap(46, SceneContent(clips=clips), rate, None, 3) == 48
    both = SceneContent(
        spots=(Spot(id="f", file="a.wav", start_frames=10, length_frames=10),),
        cues=(Cue(id="m", start_frames=16, length_frames=40),),
    )
    assert snap(18, both, rate, None, 5) == 16
