"""Trims, cuts that move and clips that slide: compared frame by frame with the rule of each edit."""

import dataclasses
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from desk.errors import EditError
from desk.film import edits
from desk.film.model import Clip, SceneContent, Spot
from desk.film.rates import Rate
from tests.film.cutting import (
    begun_after,
    content_of,
    drafts,
    footage_frames,
    frames_of,
    made,
    sounds_of,
    starts_of,
)
from tests.film.editing import FILM, done, locked, refused

COUNTS = st.sampled_from([-200, -25, -3, -1, 0, 1, 2, 3, 6, 24, 59, 80])
LENGTHS = st.none() | st.fractions(0, 60)


def pick(film, data):
    index = data.draw(st.integers(0, len(content_of(film).clips) - 1))
    return index, content_of(film).clips[index]


@given(drafts(), COUNTS, st.data())
def test_trimming_a_head_takes_its_first_frames_and_nothing_else(film, frames, data):
    index, clip = pick(film, data)
    content, rate = content_of(film), film.rate
    before, start = frames_of(content, rate), starts_of(content)[index]
    added = [
        (clip.source, clip.in_seconds - back * clip.speed / rate.fraction) for back in range(-frames, 0, -1)
    ]
    after = made(edits.trim_head, film, clip.id, frames)
    if isinstance(after, EditError):
        enough = frames < clip.length_frames
        assert after.code == ("edit.footage" if enough else "edit.length")
        assert not enough or added[0][1] < 0
        return
    assert frames_of(after, rate) == before[:start] + added + before[start + max(0, frames) :]
    assert sounds_of(after) == begun_after(sounds_of(content), start, -frames)
    assert after.clips[index].in_seconds == clip.in_seconds + frames * clip.speed / rate.fraction
    again = made(edits.trim_head, _with(film, after), clip.id, -frames)
    assert isinstance(again, SceneContent)
    assert again.clips == content.clips


@given(drafts(), COUNTS, LENGTHS, st.data())
def test_trimming_a_tail_takes_its_last_frames_and_nothing_else(film, frames, seconds, data):
    index, clip = pick(film, data)
    content, rate = content_of(film), film.rate
    before, end = frames_of(content, rate), starts_of(content)[index] + clip.length_frames
    known = {} if seconds is None else {clip.source: clip.in_seconds + seconds}
    added = [
        (clip.source, clip.in_seconds + (clip.length_frames + frame) * clip.speed / rate.fraction)
        for frame in range(-frames)
    ]
    after = made(edits.trim_tail, film, clip.id, frames, source_seconds=known)
    if isinstance(after, EditError):
        enough = frames < clip.length_frames
        assert after.code == ("edit.footage" if enough else "edit.length")
        assert not enough or added[-1][1] >= known[clip.source]
        return
    assert frames_of(after, rate) == before[: end - max(0, frames)] + added + before[end:]
    assert sounds_of(after) == begun_after(sounds_of(content), end - max(0, frames), -frames)
    if added and known:
        assert added[-1][1] < known[clip.source]
    again = made(edits.trim_tail, _with(film, after), clip.id, -frames)
    assert isinstance(again, SceneContent)
    assert again.clips == content.clips


@given(drafts(), COUNTS, LENGTHS, st.data())
def test_moving_a_cut_changes_only_what_is_between_the_old_and_the_new_one(film, frames, seconds, data):
    index, clip = pick(film, data)
    content, rate = content_of(film), film.rate
    previous = content.clips[index - 1] if index else None
    known = {} if seconds is None or not previous else {previous.source: previous.in_seconds + seconds}
    after = made(edits.move_cut, film, clip.id, frames, source_seconds=known)
    if isinstance(after, EditError):
        assert (after.code == "edit.place") == (previous is None or clip.gap_frames > 0)
        if previous and after.code == "edit.length":
            assert frames >= clip.length_frames or -frames >= previous.length_frames
        return
    assert previous
    before, shown, cut = frames_of(content, rate), frames_of(after, rate), starts_of(content)[index]
    assert len(shown) == len(before)
    low, high = sorted((cut, cut + frames))
    assert shown[:low] == before[:low]
    assert shown[high:] == before[high:]
    source = previous if frames > 0 else clip
    first = previous.length_frames if frames > 0 else frames
    assert shown[low:high] == [
        (source.source, source.in_seconds + (first + frame) * source.speed / rate.fraction)
        for frame in range(high - low)
    ]
    assert all(place and place[1] >= 0 for place in shown[low:high])
    if frames > 0 and known:
        assert all(place and place[1] < known[previous.source] for place in shown[low:high])
    assert sounds_of(after) == sounds_of(content)
    back = made(edits.move_cut, _with(film, after), clip.id, -frames)
    assert isinstance(back, SceneContent)
    assert back == content


@given(drafts(), COUNTS, LENGTHS, st.data())
def test_sliding_moves_only_what_one_clip_shows(film, frames, seconds, data):
    index, clip = pick(film, data)
    content, rate = content_of(film), film.rate
    known = {} if seconds is None else {clip.source: clip.in_seconds + seconds}
    after = made(edits.slide, film, clip.id, frames, source_seconds=known)
    start, shift = starts_of(content)[index], frames * clip.speed / rate.fraction
    wanted = frames_of(content, rate)
    for frame in range(start, start + clip.length_frames):
        wanted[frame] = (clip.source, wanted[frame][1] + shift)
    if isinstance(after, EditError):
        assert after.code == "edit.footage"
        last = start + clip.length_frames - 1
        assert wanted[start][1] < 0 or wanted[last][1] >= known[clip.source]
        return
    assert frames_of(after, rate) == wanted
    assert dataclasses.replace(after, clips=content.clips) == content


@given(drafts(), st.integers(1, 300), st.fractions(0, 20), st.data())
def test_what_fits_is_told_and_fits(film, frames, seconds, data):
    """The advice names the most that the footage holds: so many go, and one more does not."""
    index, clip = pick(film, data)
    known = {clip.source: clip.in_seconds + seconds}
    after = made(edits.trim_tail, film, clip.id, -frames, source_seconds=known)
    held = footage_frames(film, clip.source, known[clip.source], clip.in_seconds, clip.speed)
    room = max(0, held - clip.length_frames)
    assert index >= 0
    if frames <= room or held == 500:
        assert isinstance(after, SceneContent) or held == 500
        return
    assert isinstance(after, EditError)
    few = frames - room
    assert after.message.startswith(f"There {'is' if few == 1 else 'are'} {few:,} frame")
    if room:
        assert after.advice == f"Extend it by {room:,} frame{'s' * (room > 1)} at most."
        assert isinstance(made(edits.trim_tail, film, clip.id, -room, source_seconds=known), SceneContent)


def _with(film, content):
    scenes = tuple(
        dataclasses.replace(scene, content=content) if scene.id == "s0" else scene for scene in film.scenes
    )
    return dataclasses.replace(film, scenes=scenes)


# By hand: clips of 48 and 72 frames at 24 a second, from second 2 and second 1, a horn at frame 10.


def clips_after(edit) -> list[tuple[Fraction, int]]:
    return [(clip.in_seconds, clip.length_frames) for clip in done(edit).scene("s1").content.clips]


def test_by_hand():
    assert clips_after(edits.trim_head(FILM, "s1", "c1", 12)) == [(Fraction(5, 2), 36), (1, 72)]
    assert clips_after(edits.trim_head(FILM, "s1", "c2", -24)) == [(2, 48), (0, 96)]
    assert clips_after(edits.trim_tail(FILM, "s1", "c1", 47)) == [(2, 1), (1, 72)]
    assert clips_after(edits.move_cut(FILM, "s1", "c2", 6)) == [(2, 54), (Fraction(5, 4), 66)]
    assert clips_after(edits.move_cut(FILM, "s1", "c2", -24)) == [(2, 24), (0, 96)]
    assert clips_after(edits.slide(FILM, "s1", "c1", -48)) == [(0, 48), (1, 72)]
    # The horn began 10 frames in: of 12 that go its place goes too, of 4 it moves up.
    horn = [done(edits.trim_head(FILM, "s1", "c1", count)).scene("s1").content.spots[0] for count in (12, 4)]
    assert [spot.start_frames for spot in horn] == [0, 6]
    assert [spot.length_frames for spot in horn] == [24, 24]


def test_speed_counts_in_the_source():
    fast = Clip(id="c30", source="a.mov", in_seconds=Fraction(1), length_frames=20, speed=Fraction(1, 4))
    film = done(edits.set_content(FILM, "s2", SceneContent(clips=(fast,)), "x"))
    (clip,) = done(edits.trim_head(film, "s2", "c30", 3)).scene("s2").content.clips
    # 3 frames at 24 a second and a quarter of the speed are 1/32 s.
    assert (clip.in_seconds, clip.length_frames) == (Fraction(33, 32), 17)


def test_names_for_the_undo_menu():
    assert edits.trim_head(FILM, "s1", "c2", 1).text == "Trim the head of clip 2 in scene 1"
    assert edits.trim_tail(FILM, "s1", "c2", 1).text == "Trim the tail of clip 2 in scene 1"
    assert edits.move_cut(FILM, "s1", "c2", 1).text == "Move the cut before clip 2 in scene 1"
    assert edits.slide(FILM, "s1", "c2", 1).text == "Slide what clip 2 in scene 1 shows"


def refusal(call, *args, code, **kwargs) -> tuple[str, str]:
    with pytest.raises(EditError) as caught:
        call(FILM, "s1", *args, **kwargs)
    assert caught.value.code == code
    return caught.value.message, caught.value.advice


def test_what_is_refused_and_what_is_said():
    known = {"footage/1/quay.mov": Fraction(5)}  # 2 s of 5 are left after 3, at second 4: 24 frames
    assert refusal(edits.trim_tail, "c1", -25, code="edit.footage", source_seconds=known) == (
        "There is 1 frame too few after the tail of clip 1 in scene 1.",
        "Extend it by 24 frames at most.",
    )
    assert refusal(edits.trim_head, "c1", -60, code="edit.footage") == (
        "There are 12 frames too few before the head of clip 1 in scene 1.",
        "Extend it by 48 frames at most.",
    )
    assert refusal(edits.trim_head, "c1", 48, code="edit.length") == (
        "Clip 1 in scene 1 has 48 frames, so 48 can't be trimmed off.",
        "Trim 47 frames at most, or remove it.",
    )
    assert refusal(edits.move_cut, "c2", 80, code="edit.length", source_seconds=known) == (
        "Clip 2 in scene 1 has 72 frames, so the cut can't move 80 into it.",
        "Move the cut by 24 frames at most.",
    )
    assert refusal(edits.move_cut, "c2", -25, code="edit.footage") == (
        "There is 1 frame too few before the head of clip 2 in scene 1.",
        "Move the cut by 24 frames at most.",
    )
    assert "the first" in refusal(edits.move_cut, "c1", 1, code="edit.place")[0]
    assert refusal(edits.slide, "c1", 25, code="edit.footage", source_seconds=known)[1] == (
        "Slide it by 24 frames at most."
    )
    black = done(edits.set_gap(FILM, "s1", "c2", 5))
    assert "5 frames of black" in refused(edits.move_cut, black, "s1", "c2", 1, code="edit.place")


def test_a_clip_that_runs_over_may_get_shorter_and_not_longer():
    known = {"footage/1/quay.mov": Fraction(3)}
    assert clips_after(edits.trim_tail(FILM, "s1", "c1", 4, source_seconds=known))[0] == (2, 44)
    refusal(edits.trim_tail, "c1", -1, code="edit.footage", source_seconds=known)
    assert clips_after(edits.slide(FILM, "s1", "c1", -10, source_seconds=known))[0] == (Fraction(19, 12), 48)


@pytest.mark.parametrize(
    "call",
    [
        lambda film: edits.trim_head(film, "s1", "c1", 1),
        lambda film: edits.trim_tail(film, "s1", "c1", 1),
        lambda film: edits.move_cut(film, "s1", "c2", 1),
        lambda film: edits.slide(film, "s1", "c1", 1),
    ],
)
def test_a_locked_scene_refuses(call):
    assert "scene 1 is locked" in refused(call, locked(FILM, "s1"), code="edit.locked").casefold()


def test_unknown_clips_and_scenes():
    for call in (edits.trim_head, edits.trim_tail, edits.move_cut, edits.slide):
        assert "“c3”" in refused(call, FILM, "s1", "c3", 1, code="edit.unknown")
        refused(call, FILM, "s9", "c1", 1, code="edit.unknown")
        refused(call, FILM, "k1", "c1", 1, code="edit.unknown")


def test_what_began_on_a_trimmed_frame_begins_at_the_cut():
    content = FILM.scene("s1").content
    spots = tuple(
        Spot(id=f"f{30 + start}", file="a.wav", start_frames=start, length_frames=5)
        for start in range(44, 52)
    )
    film = done(edits.set_content(FILM, "s1", dataclasses.replace(content, spots=spots), "x"))
    after = done(edits.trim_tail(film, "s1", "c1", 3)).scene("s1").content
    assert [spot.start_frames for spot in after.spots] == [44, 45, 45, 45, 45, 46, 47, 48]
    longer = done(edits.trim_tail(film, "s1", "c1", -3)).scene("s1").content
    assert [spot.start_frames for spot in longer.spots] == [44, 45, 46, 47, 51, 52, 53, 54]


def test_frames_of_other_rates_are_exact():
    film = dataclasses.replace(FILM, rate=Rate(30000, 1001))
    (clip, _) = done(edits.trim_head(film, "s1", "c1", 7)).scene("s1").content.clips
    assert clip.in_seconds == 2 + Fraction(7 * 1001, 30000)
