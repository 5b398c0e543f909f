"""Music in parts, spots that repeat and voices with a chain, in stems: to the sample, before any encoding."""

import dataclasses
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from desk.assembly.survey import survey
from desk.film.lanes import Span, sounding_parts
from desk.film.model import (
    Band,
    Candidate,
    ClipSound,
    Compression,
    Cue,
    Duck,
    MusicPart,
    Spot,
    Voice,
    VoiceChain,
)
from desk.film.rates import SAMPLE_RATE_HZ, Rate
from desk.film.timing import Include, lay_out
from desk.jobs import CancelToken
from desk.sound.chain import chained
from desk.sound.plan import Passage, SceneSound, plan_sound, stem_key
from desk.sound.speech import Speech
from desk.sound.stems import SEAM_SAMPLES, Stem, mixed, stem_range, take_ranges, takes_of, write_stem
from desk.sound.streaming import stream, track_of_film, track_of_scene
from tests.render.films import clip, dissolve, make_film, put, scene
from tests.sound.signals import noise, sine, write_sound

pytestmark = pytest.mark.ffmpeg

PAL = Rate(25)
NTSC = Rate(30000, 1001)
OWN = ClipSound()
NONE = Passage()
NOISE = noise(12, seed=1)
VOICES = (Voice(id="v1", name="Ada"), Voice(id="v2", name="Ben"))
HALF = SEAM_SAMPLES // 2


@pytest.fixture(scope="module")
def one(tmp_path_factory):
    return write_sound(tmp_path_factory.mktemp("sound") / "one.wav", NOISE)


def film_of(rate, *scenes, **fields):
    return make_film(rate, *scenes, voices=VOICES, **fields)


def lane_of(film, folder, lane, speech_of=lambda span: None):
    """Return a lane's samples, from the film's first to its last."""
    film = put(folder, film)
    found = survey(film, folder)
    layout = lay_out(film, Include.ALL)
    stems = []
    for index, sound in enumerate(plan_sound(film, layout, speech_of)):
        if bounds := stem_range(sound, lane, film.rate):
            target = folder / f"{lane}-{index}.f32"
            write_stem(sound, lane, film.rate, found.files, found.media, target, cancel=CancelToken())
            stems.append((film.rate.samples(sound.start_frames), Stem(target, bounds[0])))
    return np.concatenate(list(mixed(stems, film.rate.samples(layout.length_frames), 50_000)))


def part(in_seconds, length_seconds):
    return MusicPart(in_seconds=Fraction(in_seconds), length_seconds=Fraction(length_seconds))


def cue(file, *parts, start=0, length=100, duck=None, gain_db=0.0, **fields):
    candidate = Candidate(id="a1", file=str(file), parts=parts, gain_db=gain_db, **fields)
    return Cue(
        id="m1", start_frames=start, length_frames=length, candidates=(candidate,), chosen="a1", duck=duck
    )


def silent(file, frames=150):
    return clip(file, 0, frames)


def rise(count):
    return np.sin(np.pi / 2 * (np.arange(count) + 0.5) / count)


# -- parts


def test_parts_follow_each_other_to_the_sample_and_cross_in_20_ms(project, one):
    parts = (part(1, Fraction(4, 3)), part(Fraction(1, 2), 1), part(6, Fraction(5, 3)))
    made = lane_of(film_of(PAL, scene(silent(one), cues=(cue(one, *parts),))), project, "music")
    edges = [0, 64_000, 112_000, 192_000]
    for index, item in enumerate(parts):
        low, high = edges[index] + (HALF if index else 96), edges[index + 1] - (HALF if index < 2 else 96)
        at = round(item.in_seconds * SAMPLE_RATE_HZ) + low - edges[index]
        np.testing.assert_allclose(made[low:high], NOISE[at : at + high - low], atol=1e-6)
    up, down = rise(SEAM_SAMPLES)[:, None], rise(SEAM_SAMPLES)[::-1, None]
    np.testing.assert_allclose(up**2 + down**2, 1, atol=1e-12)
    for index in (1, 2):
        before, after = parts[index - 1], parts[index]
        leaving = round((before.in_seconds + before.length_seconds) * SAMPLE_RATE_HZ) - HALF
        coming = round(after.in_seconds * SAMPLE_RATE_HZ) - HALF
        wanted = NOISE[leaving:][:SEAM_SAMPLES] * down + NOISE[coming:][:SEAM_SAMPLES] * up
        seam = slice(edges[index] - HALF, edges[index] + HALF)
        np.testing.assert_allclose(made[seam], wanted, atol=1e-5)
    assert not made[192_000:].any()


def test_what_crosses_keeps_its_power(project, tmp_path):
    """Two stretches that have nothing in common: the sum of squares stays what it is on both sides."""
    source = write_sound(tmp_path / "long.wav", noise(30, seed=5))
    parts = tuple(part(Fraction(at, 7) % 28, Fraction(1, 20)) for at in range(0, 1000, 10))
    made = lane_of(
        film_of(PAL, scene(silent(source), cues=(cue(source, *parts, length=125),))), project, "music"
    )
    edges = np.arange(2400, 240_000 - 2400, 2400)
    power = np.square(made, dtype=np.float64).mean(axis=1)
    seams = np.mean([power[edge - HALF : edge + HALF] for edge in edges])
    middles = np.mean([power[edge + HALF : edge + 2400 - HALF] for edge in edges])
    assert 10 * np.log10(seams / middles) == pytest.approx(0, abs=0.15)


def test_parts_that_go_on_sound_as_if_uncut(project, one):
    """A seam inside a piece that goes on is none, wherever it lies between samples."""
    parts = [part(1, Fraction(7, 9)), part(1 + Fraction(7, 9), Fraction(11, 13))]
    parts.append(
        part(parts[1].in_seconds + parts[1].length_seconds, 4 - sum(p.length_seconds for p in parts))
    )
    cut = lane_of(film_of(PAL, scene(silent(one), cues=(cue(one, *parts),))), project, "music")
    whole = cue(one, in_seconds=Fraction(1))
    np.testing.assert_array_equal(
        cut, lane_of(film_of(PAL, scene(silent(one), cues=(whole,))), project, "music")
    )


def test_parts_that_are_too_short_end_softly_and_leave_silence(project, one):
    made = lane_of(film_of(PAL, scene(silent(one), cues=(cue(one, part(1, 2)),))), project, "music")
    np.testing.assert_allclose(made[96 : 96_000 - 96], NOISE[48_096 : 48_000 + 96_000 - 96], atol=1e-6)
    assert 0 < np.abs(made[96_000 - 8 : 96_000]).max() < 0.05
    assert not made[96_000:].any()


@settings(max_examples=60)
@given(
    st.lists(st.builds(part, st.fractions(0, 9), st.fractions(Fraction(1, 1000), 2)), min_size=1, max_size=6),
    st.integers(-40, 40),
    st.integers(1, 150),
    st.sampled_from((PAL, NTSC)),
)
def test_no_sample_is_lost_or_doubled_between_parts(parts, start, length, rate):
    """Each sample of a cue belongs to one part, or to two that cross, whose powers make one."""
    parts = sounding_parts(parts, rate.seconds(length))
    span = Span(
        kind="music",
        owner="m1",
        file="a",
        start_frames=start,
        length_frames=length,
        in_seconds=parts[0].in_seconds,
        parts=parts,
    )
    sound = SceneSound(
        scene="", start_frames=0, spans=(span,), opening=Passage(start_frames=-99), closing=NONE
    )
    first, end = rate.samples(start), rate.samples(start + length)
    last = min(end, first + round(sum(p.length_seconds for p in parts) * SAMPLE_RATE_HZ) + 1)
    power = np.zeros(end - first)
    for take in takes_of(span, sound, rate):
        assert first <= take.first <= take.end <= end
        if take.end > take.first:
            power[take.first - first : take.end - first] += (
                take.shape.gains(take.first, take.end - take.first).astype(np.float64) ** 2
            )
    inner = power[96 : max(96, last - first - 98)]
    np.testing.assert_allclose(inner, 1, atol=1e-5)
    assert [(take.first, take.end) for take in takes_of(span, sound, rate)] == list(take_ranges(span, rate))


# -- repeats


def test_a_spot_sounds_as_often_as_it_is_told(project, one):
    spot = Spot(id="f1", file=str(one), start_frames=5, length_frames=10, repeats=3, every_frames=8)
    made = lane_of(film_of(PAL, scene(silent(one), spots=(spot,))), project, "effects")
    apart = tuple(
        dataclasses.replace(spot, id=f"f{time}", start_frames=5 + 8 * time, repeats=0, every_frames=0)
        for time in range(4)
    )
    wanted = lane_of(film_of(PAL, scene(silent(one), spots=apart)), project, "effects")
    np.testing.assert_array_equal(made, wanted)
    assert np.flatnonzero(made.any(axis=1))[[0, -1]].tolist() == [9600, (5 + 24 + 10) * 1920 - 1]


# -- voices


CHAIN = VoiceChain(
    voice="v1",
    low_cut_hz=100.0,
    bands=(Band(frequency_hz=300.0, gain_db=-6.0), Band(frequency_hz=3000.0, gain_db=4.0)),
    compression=Compression.FIRM,
)


def test_a_voice_goes_through_its_chain_before_its_gain_and_fades(project, one):
    sound = ClipSound(voice="v1", gain_db=-6.0, fade_in_frames=10)
    film = film_of(PAL, scene(clip(one, 2, 50, sound=sound), voice_chains=(CHAIN,)))
    made = lane_of(film, project, "dialogue")
    first, end = 2 * SAMPLE_RATE_HZ, 4 * SAMPLE_RATE_HZ
    heard = np.concatenate(list(chained(iter([NOISE[first - SAMPLE_RATE_HZ : end]]), CHAIN)))[SAMPLE_RATE_HZ:]
    wanted = heard * 10 ** (-6 / 20)
    wanted[:19_200] *= rise(19_200)[:, None]
    np.testing.assert_allclose(made[:-96], wanted[:-96], atol=1e-6)


def test_a_cut_within_a_voice_that_goes_on_sounds_as_if_uncut(project, one):
    sound = ClipSound(voice="v1")
    cut = scene(
        clip(one, 2, 31, sound=sound),
        clip(one, 2 + PAL.seconds(31), 40, sound=sound),
        voice_chains=(CHAIN,),
    )
    whole = scene(clip(one, 2, 71, sound=sound), voice_chains=(CHAIN,))
    made = [lane_of(film_of(PAL, item), project, "dialogue") for item in (cut, whole)]
    assert np.abs(made[0] - made[1]).max() < 10 ** (-90 / 20)


def test_a_voice_whose_chain_is_off_sounds_as_without(project, one):
    sound = ClipSound(voice="v1")
    plain = lane_of(film_of(PAL, scene(clip(one, 2, 31, sound=sound))), project, "dialogue")
    off = dataclasses.replace(CHAIN, on=False)
    film = film_of(PAL, scene(clip(one, 2, 31, sound=sound), voice_chains=(off,)))
    np.testing.assert_array_equal(lane_of(film, project, "dialogue"), plain)


# -- all of it, as it is heard


@pytest.mark.parametrize("rate", [PAL, NTSC], ids=str)
def test_it_is_heard_as_the_stems_give_it_from_any_sample(project, one, tmp_path, rate):
    other = write_sound(tmp_path / "two.wav", noise(12, seed=2, rate_hz=44_100), rate_hz=44_100)
    spoken = Speech(stretches=((9600, 40_000),), loudness_lufs=-20.0)

    def speech_of(span):
        return spoken if span.kind == "dialogue" else None

    voice = ClipSound(voice="v1", fade_in_frames=3)
    film = film_of(
        rate,
        scene(
            clip(other, 2, 40, Fraction(3, 4), sound=voice),
            clip(one, 1, 30, sound=voice),
            voice_chains=(CHAIN,),
            cues=(
                cue(
                    other, part(1, 1), part(4, Fraction(2, 3)), part(0, 3), start=-3, length=110, duck=Duck()
                ),
            ),
            spots=(
                Spot(id="f1", file=str(one), start_frames=60, length_frames=9, repeats=4, every_frames=7),
            ),
        ),
        scene(clip(one, 5, 60, sound=OWN)),
        joins={0: dissolve(4, 4)},
    )
    wanted = sum(lane_of(film, project, lane, speech_of) for lane in ("dialogue", "effects", "music"))
    film = put(project, film)
    found = survey(film, project)
    track = track_of_film(film, lay_out(film, Include.ALL), speech_of)
    for first in (0, 1, rate.samples(35) + 7, 66_666, len(wanted) // 2 + 1, len(wanted) - 5):
        made = np.concatenate(list(stream(track, found.files, found.media, first=first)))
        np.testing.assert_allclose(made, wanted[first:], atol=2e-5, rtol=0)


# -- ducking


def spoken_at(*stretches, loudness=-23.0):
    found = Speech(stretches=stretches, loudness_lufs=loudness)
    return lambda span: found if span.kind == "dialogue" else None


def ducked_db(made, source):
    """The gain of each sample against a steady source."""
    clear = np.abs(source[:, 0]) > 0.05
    return np.flatnonzero(clear), 20 * np.log10(np.abs(made[clear, 0] / source[clear, 0]))


def test_a_step_of_speech_ducks_by_the_depth_in_the_times_given(project, tmp_path):
    """A tone against a step of speech from 2 s to 3 s: 10 dB down in 200 ms, up in 400 ms, straight in dB."""
    tone = sine(7, 1000, level=0.5)
    source = write_sound(tmp_path / "tone.wav", tone)
    music = cue(source, length=150, duck=Duck(depth_db=10.0, attack_ms=200.0, release_ms=400.0))
    film = film_of(PAL, scene(clip(source, 0, 150, sound=ClipSound(gain_db=-20.0)), cues=(music,)))
    made = lane_of(film, project, "music", spoken_at((96_000, 144_000)))
    places, gains = ducked_db(made[96:-96], tone[96 : len(made) - 96])
    seconds = (places + 96) / SAMPLE_RATE_HZ
    wanted = np.interp(seconds, [1.8, 2.0, 3.0, 3.4], [0, -10, -10, 0])
    np.testing.assert_allclose(gains, wanted, atol=0.01)


def test_speech_that_can_t_be_heard_does_not_duck(project, tmp_path):
    tone = sine(7, 1000, level=0.5)
    source = write_sound(tmp_path / "tone.wav", tone)
    for gain_db, ducks in ((0.0, True), (-30.0, False)):
        film = film_of(
            PAL,
            scene(
                clip(source, 0, 150, sound=ClipSound(gain_db=gain_db)),
                cues=(cue(source, length=150, duck=Duck()),),
            ),
        )
        made = lane_of(film, project, "music", spoken_at((96_000, 144_000)))
        assert (np.abs(made[100_000:110_000]).max() < 0.3) == ducks


def test_a_cue_that_runs_on_goes_down_for_the_next_scene_s_speech_too(project, tmp_path):
    tone = sine(9, 1000, level=0.5)
    source = write_sound(tmp_path / "tone.wav", tone)
    music = cue(source, length=200, duck=Duck(depth_db=6.0, attack_ms=100.0, release_ms=100.0))
    speaking = clip(source, 0, 100, sound=ClipSound(gain_db=-10.0))
    film = film_of(PAL, scene(silent(source, 75), cues=(music,)), scene(speaking))
    made = lane_of(film, project, "music", spoken_at((48_000, 96_000)))
    places, gains = ducked_db(made[96:-96], tone[96 : len(made) - 96])
    seconds = (places + 96) / SAMPLE_RATE_HZ
    wanted = np.interp(seconds, [3.9, 4.0, 5.0, 5.1], [0, -6, -6, 0])
    np.testing.assert_allclose(gains, wanted, atol=0.01)
    alone = track_of_scene(film.scenes[0].content, PAL, spoken_at((48_000, 96_000)))
    assert alone.sounds[0].speech == (), "a scene by itself goes down for its own speech"


def test_a_stem_is_named_by_all_that_its_samples_hang_on(project, one):
    """The speech its music goes down for, the chain of its voices, its parts; not what they are called."""

    def keys(chain=CHAIN, duck=None, parts=(), speech=(48_000, 96_000), voice="v1"):
        music = cue(one, *parts, duck=duck)
        chains = (dataclasses.replace(chain, voice=voice),) if chain else ()
        film = film_of(
            PAL, scene(clip(one, 1, 75, sound=ClipSound(voice=voice)), cues=(music,), voice_chains=chains)
        )
        film = put(project, film)
        found = survey(film, project)
        (sound,) = plan_sound(film, lay_out(film, Include.ALL), spoken_at(speech))
        return [stem_key(sound, lane, PAL, found.media) for lane in ("dialogue", "music")]

    dialogue, music = keys()
    assert keys(speech=(1, 2)) == [dialogue, music]
    assert keys(voice="v2") == [dialogue, music]
    assert keys(chain=dataclasses.replace(CHAIN, on=False))[0] == keys(chain=None)[0] != dialogue
    assert keys(chain=dataclasses.replace(CHAIN, low_cut_hz=90.0))[0] != dialogue
    ducked = keys(duck=Duck())
    assert ducked[0] == dialogue
    assert (
        len({music, ducked[1], keys(duck=Duck(), speech=(48_000, 96_480))[1], keys(parts=(part(1, 2),))[1]})
        == 4
    )
