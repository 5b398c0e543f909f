"""Where entries stand, and what a join can take: worked out by hand, and against counting frame by frame.

The rule for counting: frame k of a clip shows its source at in_seconds + k * speed / rate, and there is
footage from second 0 up to, and without, the end.
"""

import dataclasses
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from desk.film.model import CUT, Clip, Film, Join, JoinKind, Scene, SceneContent
from desk.film.rates import FILM_RATES, Rate
from desk.film.timing import (
    Include,
    JoinRoom,
    Slot,
    clip_starts,
    content_frames,
    fitting_join,
    head_handle_frames,
    join_room,
    lay_out,
    slate_frames,
    tail_handle_frames,
)
from tests.film.editing import locked
from tests.film.films import SPEEDS, films, small_film


def dissolve(before: int, after: int) -> Join:
    return Join(kind=JoinKind.DISSOLVE, before_frames=before, after_frames=after)


def one_clip(length: int, in_seconds: Fraction = Fraction(0), speed: Fraction = Fraction(1)) -> Clip:
    return Clip(id="c", source="a.mov", length_frames=length, in_seconds=in_seconds, speed=speed)


@pytest.mark.parametrize(
    ("speed", "head", "tail"),
    [
        (Fraction(1), 50, 25),  # 2 s before, 4 s used, 1 s after, at 25 frames a second
        (Fraction(2), 25, -37),  # each frame takes 1/12.5 s: 5 s are 62.5 frames, 63 that begin within them
        (Fraction(1, 4), 200, 400),  # each frame takes 1/100 s: 5 s are 500 frames
    ],
)
def test_handles(speed, head, tail):
    clip = one_clip(100, Fraction(2), speed)
    assert head_handle_frames(clip, Rate(25)) == head
    assert tail_handle_frames(clip, Rate(25), Fraction(7)) == tail


@given(
    rate=st.sampled_from(FILM_RATES),
    speed=st.sampled_from(SPEEDS),
    length=st.integers(1, 40),
    in_frames=st.fractions(0, 30),
    source_frames=st.fractions(0, 80),
)
def test_handles_are_the_frames_that_have_footage(rate, speed, length, in_frames, source_frames):
    clip = one_clip(length, in_frames / rate.fraction, speed)
    source = source_frames / rate.fraction

    def has_footage(frame: int) -> bool:
        return 0 <= clip.in_seconds + frame * speed / rate.fraction < source

    head, tail = head_handle_frames(clip, rate), tail_handle_frames(clip, rate, source)
    if clip.in_seconds < source:
        assert [frame for frame in range(-400, 0) if has_footage(frame)][:1] in (
            [-head],
            [-400] if head >= 400 else [],
        )
        assert max(frame for frame in range(500) if has_footage(frame)) == min(499, length + tail - 1)
    else:
        assert length + tail <= 0


def test_clips_follow_each_other():
    content = small_film().scenes[0].content
    assert content_frames(content) == 120
    assert clip_starts(content) == (0, 48)
    assert slate_frames(Rate(30000, 1001)) == 150  # 149.85 rounded up


def test_a_layout_of_each_kind():
    film = locked(small_film(), "s1")
    layouts = {include: lay_out(film, include) for include in Include}
    told = {
        include: [(slot.entry.id, slot.start_frames, slot.length_frames, slot.slate) for slot in layout.slots]
        for include, layout in layouts.items()
    }
    # Cards stand 72 frames, three seconds at 24; scenes 1, 2, 4 have 120, 96, 60.
    assert told[Include.LOCKED] == [("k1", 0, 72, False), ("s1", 72, 120, False), ("k2", 192, 72, False)]
    assert told[Include.ALL] == [
        ("k1", 0, 72, False),
        ("s1", 72, 120, False),
        ("s2", 192, 96, False),
        ("s4", 288, 60, False),
        ("k2", 348, 72, False),
    ]
    assert [slot[3] for slot in told[Include.SLATES]] == [False, False, True, True, False]
    assert layouts[Include.LOCKED].left_out == (("s2", "not locked"), ("s4", "not locked"))
    assert layouts[Include.ALL].length_frames == 420
    assert layouts[Include.LOCKED].slots[1].join.kind is JoinKind.DISSOLVE


@given(films(), st.sampled_from(Include))
def test_slots_follow_each_other_and_nothing_is_lost(film, include):
    layout = lay_out(film, include)
    at = 0
    for slot in layout.slots:
        assert slot.start_frames == at
        assert slot.length_frames > 0
        at = slot.end_frames
    assert layout.length_frames == at
    ids = [slot.entry.id for slot in layout.slots] + [entry_id for entry_id, _ in layout.left_out]
    assert sorted(ids) == sorted(placement.entry for placement in film.order)
    if layout.slots:
        assert layout.slots[-1].join == CUT


def slot(clips: tuple[Clip, ...], join: Join = CUT, slate: bool = False) -> Slot:
    scene = Scene(id="s", number="1", content=SceneContent(clips=clips))
    return Slot(
        entry=scene, start_frames=0, length_frames=content_frames(scene.content), join=join, slate=slate
    )


def test_the_room_of_a_join_by_hand():
    outgoing = slot((one_clip(10), one_clip(48, Fraction(1))))
    incoming = slot((one_clip(30, Fraction(1, 2)), one_clip(9)), dissolve(4, 4))
    room = join_room(outgoing, incoming, dissolve(5, 5), Rate(24), {"a.mov": Fraction(4)})
    # Last clip 48 of 58; 4 s are 96 frames, 24 + 48 of them used; half a second before the head.
    assert room == JoinRoom(before=48, after=30, head_handle=12, tail_handle=24)
    single = join_room(
        slot((one_clip(48),)), slot((one_clip(30),), dissolve(4, 4)), dissolve(5, 5), Rate(24), {}
    )
    assert single == JoinRoom(before=43, after=26, head_handle=0, tail_handle=None)
    slates = join_room(
        slot((one_clip(48),), slate=True), slot((one_clip(30),), slate=True), CUT, Rate(24), {}
    )
    assert slates == JoinRoom(before=48, after=30)


def test_a_join_needs_a_clip_at_the_cut():
    """Five frames of black before the incoming clip: nothing fits after the cut, and no dissolve at all."""
    black = dataclasses.replace(one_clip(30, Fraction(1, 2)), gap_frames=5)
    incoming = slot((black, one_clip(9)))
    assert incoming.length_frames == 44
    room = join_room(slot((one_clip(48),)), incoming, CUT, Rate(24), {})
    assert room == JoinRoom(before=48, after=0, head_handle=0, tail_handle=None, gap_frames=5)
    assert fitting_join(dissolve(4, 4), room) == fitting_join(dissolve(4, 0), room) == CUT
    fade = Join(kind=JoinKind.THROUGH_BLACK, before_frames=6, after_frames=6)
    assert fitting_join(fade, room) == dataclasses.replace(fade, after_frames=0)
    # Black before another clip, and before a slate, is in nobody's way.
    later = slot((one_clip(30, Fraction(1, 2)), black))
    assert join_room(slot((black,)), later, CUT, Rate(24), {}) == JoinRoom(
        before=30, after=30, head_handle=12
    )
    assert join_room(slot((one_clip(48),)), slot((black,), slate=True), CUT, Rate(24), {}).gap_frames == 0


def test_black_counts_as_part_of_its_scene():
    clips = tuple(
        dataclasses.replace(one_clip(length), gap_frames=gap) for gap, length in ((3, 10), (0, 4), (7, 1))
    )
    content = SceneContent(clips=clips)
    assert content_frames(content) == 25
    assert clip_starts(content) == (3, 13, 24)


def test_what_fits():
    room = JoinRoom(before=20, after=15, head_handle=8, tail_handle=-2)
    assert fitting_join(dissolve(12, 12), room) == dissolve(8, 0)
    black = Join(kind=JoinKind.THROUGH_BLACK, before_frames=24, after_frames=12)
    assert fitting_join(black, room) == dataclasses.replace(black, before_frames=20)
    assert fitting_join(dissolve(0, 12), room) == CUT
    assert fitting_join(dissolve(2, 2), JoinRoom(before=-3, after=9)) == dissolve(0, 2)


@given(
    join=st.builds(dissolve, st.integers(0, 40), st.integers(0, 40)),
    room=st.builds(
        JoinRoom,
        before=st.integers(-9, 40),
        after=st.integers(-9, 40),
        head_handle=st.none() | st.integers(0, 40),
        tail_handle=st.none() | st.integers(-9, 40),
    ),
)
def test_what_fits_is_the_longest_that_does(join, room):
    def fits(before: int, after: int) -> bool:
        enough = (room.head_handle is None or before <= max(0, room.head_handle)) and (
            room.tail_handle is None or after <= max(0, room.tail_handle)
        )
        return enough and before <= max(0, room.before) and after <= max(0, room.after)

    found = fitting_join(join, room)
    sides = [
        (before, after) for before in range(join.before_frames + 1) for after in range(join.after_frames + 1)
    ]
    best = max((pair for pair in sides if fits(*pair)), key=sum)
    assert found.length_frames == sum(best)
    assert fits(found.before_frames, found.after_frames)
    assert found.kind is (JoinKind.DISSOLVE if sum(best) else JoinKind.CUT)


def test_an_empty_film_has_no_length():
    assert (
        lay_out(
            Film(title="", rate=Rate(24), size=small_film().size, start_frames=0), Include.ALL
        ).length_frames
        == 0
    )
