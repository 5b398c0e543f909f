"""What sounds in a scene, and when.

The expected places are worked out by hand from the rule that frame k of a clip shows its source at
in_seconds + k · speed / rate; a sound in step with its picture has to obey the same rule.
"""

import dataclasses
import itertools
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from desk.film.lanes import Span, on_frames, scene_extent, sounding_parts, spans
from desk.film.model import (
    Band,
    Candidate,
    Clip,
    ClipSound,
    Compression,
    Cue,
    Duck,
    MusicPart,
    SceneContent,
    SoundKind,
    Spot,
    VoiceChain,
)
from desk.film.rates import Rate

RATES = (Rate(24000, 1001), Rate(25), Rate(30000, 1001))
PAL = Rate(25)


def one(content: SceneContent, rate: Rate = PAL) -> Span:
    (span,) = spans(content, rate)
    return span


def clip(length: int, *, in_seconds: Fraction = Fraction(0), speed: Fraction = Fraction(1), **sound) -> Clip:
    return Clip(
        id=f"clip{length}",
        source="a.mov",
        in_seconds=in_seconds,
        length_frames=length,
        speed=speed,
        sound=ClipSound(**sound),
    )


def test_own_sound_lies_under_its_picture():
    first, second = spans(SceneContent(clips=(clip(50, in_seconds=Fraction(2)), clip(30))), PAL)
    assert (first.start_frames, first.length_frames, first.in_seconds) == (0, 50, 2)
    assert (second.start_frames, second.length_frames, second.in_seconds) == (50, 30, 0)
    assert (first.kind, first.owner, first.file, first.speed) == ("dialogue", "clip50", "a.mov", 1)


def test_sound_comes_after_the_black_before_its_clip():
    first, second = spans(
        SceneContent(
            clips=(
                dataclasses.replace(clip(50, lag_frames=4), gap_frames=6),
                dataclasses.replace(clip(30, in_seconds=Fraction(2), lead_frames=10), gap_frames=25),
            )
        ),
        PAL,
    )
    assert (first.start_frames, first.length_frames, first.in_seconds) == (6, 54, 0)
    assert (second.start_frames, second.length_frames, second.in_seconds) == (71, 40, Fraction(8, 5))


def test_a_lead_goes_back_in_the_source_and_a_lag_runs_on():
    span = one(SceneContent(clips=(clip(50, in_seconds=Fraction(2), lead_frames=10, lag_frames=5),)))
    # 10 frames at 25 a second are 0.4 s.
    assert (span.start_frames, span.length_frames, span.in_seconds) == (-10, 65, Fraction(8, 5))


def test_a_lead_goes_back_by_the_speed():
    content = SceneContent(clips=(clip(50, in_seconds=Fraction(2), speed=Fraction(1, 2), lead_frames=10),))
    assert one(content).in_seconds == Fraction(9, 5)


def test_a_lead_is_shortened_where_the_source_has_no_earlier_sound():
    # 0.1 s is 2.5 frames: only two whole frames of lead are there, and they start 0.02 s into the source.
    span = one(SceneContent(clips=(clip(50, in_seconds=Fraction(1, 10), lead_frames=10),)))
    assert (span.start_frames, span.length_frames, span.in_seconds) == (-2, 52, Fraction(1, 50))


def test_a_separate_recording_is_placed_by_its_offset():
    content = SceneContent(
        clips=(
            clip(
                50,
                in_seconds=Fraction(2),
                kind=SoundKind.SEPARATE,
                file="rec.wav",
                offset_seconds=Fraction(3),
                lead_frames=5,
            ),
        )
    )
    span = one(content)
    assert (span.file, span.in_seconds) == ("rec.wav", Fraction(24, 5))


def test_a_separate_recording_that_began_late_sounds_late():
    # Second 0 of the source is 1 s before the recording began; the clip's head is at 0.5 s.
    late = clip(
        50, in_seconds=Fraction(1, 2), kind=SoundKind.SEPARATE, file="rec.wav", offset_seconds=Fraction(-1)
    )
    span = one(SceneContent(clips=(late,)))
    # 0.5 s are 12.5 frames: it begins on the 13th, 0.02 s into the recording.
    assert (span.start_frames, span.length_frames, span.in_seconds) == (13, 37, Fraction(1, 50))


def test_a_separate_recording_that_began_after_the_clip_gives_none():
    gone = clip(50, kind=SoundKind.SEPARATE, file="rec.wav", offset_seconds=Fraction(-2))
    assert spans(SceneContent(clips=(gone,)), PAL) == ()


@pytest.mark.parametrize(
    "silent",
    [clip(50, kind=SoundKind.SILENCE), clip(50, kind=SoundKind.SEPARATE)],
    ids=["silence", "no file"],
)
def test_silence_gives_none(silent: Clip):
    assert spans(SceneContent(clips=(silent,)), PAL) == ()


def test_effects_come_before_music_and_only_the_choice_sounds():
    candidates = (
        Candidate(id="one", file="one.flac"),
        Candidate(id="two", file="two.flac", in_seconds=Fraction(7), gain_db=-12.0, fade_out_frames=20),
    )
    content = SceneContent(
        clips=(clip(50),),
        cues=(
            Cue(id="m1", start_frames=-5, length_frames=100, candidates=candidates, chosen="two"),
            Cue(id="m2", length_frames=10, candidates=candidates),
        ),
        spots=(
            Spot(id="horn", file="horn.wav", start_frames=40, length_frames=30, in_seconds=Fraction(1, 3)),
        ),
    )
    voice, effect, music = spans(content, PAL)
    assert [voice.kind, effect.kind, music.kind] == ["dialogue", "effects", "music"]
    assert (effect.owner, effect.file, effect.start_frames, effect.length_frames) == (
        "horn",
        "horn.wav",
        40,
        30,
    )
    assert effect.in_seconds == Fraction(1, 3)
    assert (music.owner, music.file, music.start_frames, music.length_frames) == ("m1", "two.flac", -5, 100)
    assert (music.in_seconds, music.gain_db, music.fade_out_frames) == (7, -12.0, 20)
    assert scene_extent(content, PAL) == (-5, 95)


def test_fades_are_no_longer_than_what_sounds():
    span = one(SceneContent(clips=(clip(10, fade_in_frames=30, fade_out_frames=11),)))
    assert (span.fade_in_frames, span.fade_out_frames) == (10, 10)


def test_extent_of_picture_alone_and_of_nothing():
    assert scene_extent(SceneContent(clips=(clip(50, kind=SoundKind.SILENCE),)), PAL) == (0, 50)
    assert scene_extent(SceneContent(), PAL) == (0, 0)


seconds = st.fractions(min_value=0, max_value=5, max_denominator=48000)


@given(
    rate=st.sampled_from(RATES),
    length=st.integers(1, 200),
    in_seconds=seconds,
    offset=st.fractions(min_value=-5, max_value=5, max_denominator=1000),
    speed=st.sampled_from([Fraction(1, 4), Fraction(1), Fraction(24, 25), Fraction(4)]),
    lead=st.integers(0, 60),
    lag=st.integers(0, 60),
    kind=st.sampled_from([SoundKind.OWN, SoundKind.SEPARATE]),
)
def test_sound_stays_in_step_and_inside_its_file(rate, length, in_seconds, offset, speed, lead, lag, kind):
    offset = offset if kind is SoundKind.SEPARATE else Fraction(0)
    content = SceneContent(
        clips=(
            clip(
                length,
                in_seconds=in_seconds,
                speed=speed,
                kind=kind,
                file="rec.wav",
                offset_seconds=offset,
                lead_frames=lead,
                lag_frames=lag,
            ),
        )
    )
    found = spans(content, rate)
    end_seconds = in_seconds + offset + rate.seconds(length + lag) * speed
    if not found:
        # Nothing is left out that a whole frame of would sound.
        assert end_seconds - rate.seconds(1) * speed < 0
        return
    span = found[0]
    assert span.in_seconds >= 0
    assert span.in_seconds == in_seconds + offset + rate.seconds(span.start_frames) * speed
    assert span.end_frames == length + lag
    assert span.start_frames >= -lead
    if span.start_frames > -lead:
        assert span.in_seconds < rate.seconds(1) * speed, "it begins later than it has to"


# -- repeats, parts, voices


def part(in_seconds, length_seconds) -> MusicPart:
    return MusicPart(in_seconds=Fraction(in_seconds), length_seconds=Fraction(length_seconds))


def music(*parts: MusicPart, length: int = 100, **fields) -> SceneContent:
    candidate = Candidate(id="a1", file="m.wav", in_seconds=Fraction(9), parts=parts)
    cue = Cue(id="m1", start_frames=-5, length_frames=length, candidates=(candidate,), chosen="a1", **fields)
    return SceneContent(cues=(cue,))


@given(st.integers(-50, 50), st.integers(1, 40), st.integers(0, 9), st.integers(1, 60))
def test_a_spot_sounds_once_and_as_often_as_it_repeats(start, length, repeats, every):
    spot = Spot(
        id="f1",
        file="x.wav",
        start_frames=start,
        length_frames=length,
        in_seconds=Fraction(1, 3),
        repeats=repeats,
        every_frames=every,
    )
    found = spans(SceneContent(spots=(spot,)), PAL)
    assert [span.start_frames for span in found] == [start + time * every for time in range(repeats + 1)]
    assert {(span.owner, span.length_frames, span.in_seconds) for span in found} == {
        ("f1", length, Fraction(1, 3))
    }
    assert scene_extent(SceneContent(spots=(spot,)), PAL) == (start, start + repeats * every + length)


PARTS = st.lists(
    st.builds(part, st.fractions(0, 9), st.fractions(Fraction(1, 48_000), 3)), min_size=1, max_size=6
)


@given(PARTS, st.fractions(Fraction(1, 25), 12), st.lists(st.fractions(0, 12), min_size=1, max_size=9))
def test_parts_that_sound_lose_and_double_nothing(parts, seconds, times):
    """Whatever is joined or cut off: at each time the same place of the file sounds as the parts say."""

    def place(parts, at):
        for item in parts:
            if at < item.length_seconds:
                return item.in_seconds + at
            at -= item.length_seconds
        return None

    found = sounding_parts(parts, seconds)
    whole = sum(item.length_seconds for item in parts)
    assert sum(item.length_seconds for item in found) == min(whole, seconds)
    for at in times:
        assert place(found, at) == (place(parts, at) if at < seconds else None)
    for before, after in itertools.pairwise(found):
        assert before.in_seconds + before.length_seconds != after.in_seconds


def test_parts_lie_within_their_cue():
    span = one(music(part(1, 2), part(0, 1), part(1, 2)))
    assert (span.start_frames, span.length_frames, span.in_seconds) == (-5, 100, 1)
    assert span.parts == (part(1, 2), part(0, 2))
    assert one(music(part(1, 2), part(3, 9))) == dataclasses.replace(one(music()), in_seconds=Fraction(1))
    assert one(music(part(1, 3))).parts == (part(1, 3),)


@given(PARTS, st.integers(1, 200), st.sampled_from(RATES))
def test_parts_on_frames_follow_each_other_and_are_half_a_frame_off_at_most(parts, length, rate):
    span = one(music(*parts, length=length), rate)
    found = on_frames(span, rate)
    assert all(not piece.parts for piece in found)
    at = span.start_frames
    for piece in found:
        assert piece.start_frames == at
        at = piece.end_frames
    filled = min(sum(item.length_seconds for item in parts) * rate.fraction, length)
    assert abs(at - span.start_frames - filled) <= Fraction(1, 2)


def test_what_is_done_to_a_voice_lies_on_its_clips():
    cut = VoiceChain(voice="v1", low_cut_hz=80.0)
    off = VoiceChain(voice="v2", on=False, compression=Compression.FIRM)
    plain = VoiceChain(voice="v3")
    content = SceneContent(
        clips=tuple(clip(20 + index, voice=voice) for index, voice in enumerate(("v1", "v2", "v3", ""))),
        voice_chains=(cut, off, plain),
    )
    assert [span.chain for span in spans(content, PAL)] == [cut, None, None, None]
    bell = VoiceChain(voice="v1", bands=(Band(frequency_hz=300.0, gain_db=-3.0),))
    content = dataclasses.replace(content, voice_chains=(bell,))
    assert [span.chain for span in spans(content, PAL)] == [bell, None, None, None]


def test_how_a_cue_goes_down_lies_on_its_music():
    assert one(music()).duck is None
    assert one(music(duck=Duck(depth_db=6.0))).duck == Duck(depth_db=6.0)
