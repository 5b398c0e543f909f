"""Where sounds stand in a film's stems and mix, and how loud they are: to the sample, before any encoding.

Sources are noise, so that every sample tells its place. Frame f of the film starts on sample
round(f × 48000 / rate).
"""

import dataclasses
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from desk.assembly.survey import survey
from desk.film.model import Candidate, ClipSound, Cue, SoundKind, Spot
from desk.film.rates import SAMPLE_RATE_HZ, Rate
from desk.film.timing import Include, lay_out
from desk.jobs import CancelToken
from desk.sound.plan import plan_sound
from desk.sound.stems import EDGE_SAMPLES, LANES, Stem, mixed, stem_range, write_stem
from tests.render.films import SILENT, clip, dissolve, make_film, put, scene, through_black
from tests.sound.signals import level_db, noise, sine, write_sound

pytestmark = pytest.mark.ffmpeg

RATES = (Rate(24000, 1001), Rate(25), Rate(30000, 1001))
OWN = ClipSound()
NOISE, OTHER = noise(12, seed=1), noise(12, seed=2)


@pytest.fixture(scope="module")
def one(tmp_path_factory):
    return write_sound(tmp_path_factory.mktemp("sound") / "one.wav", NOISE)


@pytest.fixture(scope="module")
def two(tmp_path_factory):
    return write_sound(tmp_path_factory.mktemp("sound") / "two.wav", OTHER)


def stems_of(film, folder):
    """Return each lane's samples, from the film's first sample to its last."""
    film = put(folder, film)
    found = survey(film, folder)
    layout = lay_out(film, Include.ALL)
    samples = film.rate.samples(layout.length_frames)
    lanes = {}
    for lane in LANES:
        stems = []
        for index, sound in enumerate(plan_sound(film, layout)):
            bounds = stem_range(sound, lane, film.rate)
            if bounds is not None:
                target = folder / f"{lane}-{index}.f32"
                write_stem(sound, lane, film.rate, found.files, found.media, target, cancel=CancelToken())
                assert target.stat().st_size == 8 * (bounds[1] - bounds[0])
                stems.append((film.rate.samples(sound.start_frames), Stem(target, bounds[0])))
        lanes[lane] = np.concatenate(list(mixed(stems, samples, 50_000)))
        assert len(lanes[lane]) == samples
    return lanes


def mix_of(film, folder):
    return sum(stems_of(film, folder).values())


def from_place(sound, seconds, count):
    first = int(seconds * SAMPLE_RATE_HZ + Fraction(1, 2))
    return sound[first : first + count]


def gains(part, source):
    """Return how loud each sample of a part is against its source; only where the source is not near 0."""
    clear = np.abs(source[:, 0]) > 0.02
    return np.flatnonzero(clear), part[clear, 0] / source[clear, 0]


def assert_gains(part, source, wanted, tolerance=2e-3):
    places, found = gains(part, source)
    np.testing.assert_allclose(found, np.broadcast_to(wanted, len(part))[places], atol=tolerance)


def rise(count):
    return np.sin(np.pi / 2 * (np.arange(count) + 0.5) / count)


def fall(count):
    return np.cos(np.pi / 2 * (np.arange(count) + 0.5) / count)


# -- places


@pytest.mark.parametrize("rate", RATES, ids=str)
def test_every_clip_of_every_scene_starts_on_the_sample_of_its_frame(project, one, rate):
    lengths = (7, 13, 1, 29, 11, 17, 23, 5, 19)
    clips = [clip(one, Fraction(at + 1, 3), length, sound=OWN) for at, length in enumerate(lengths)]
    film = make_film(rate, scene(*clips[:3]), scene(*clips[3:5]), scene(*clips[5:]))
    made = mix_of(film, project)
    frame = 0
    for item in clips:
        start, end = rate.samples(frame), rate.samples(frame + item.length_frames)
        source = from_place(NOISE, item.in_seconds, end - start + 2)
        inner = slice(start + EDGE_SAMPLES + 1, end - EDGE_SAMPLES - 1)
        off = [
            shift
            for shift in (-1, 0, 1)
            if np.allclose(
                made[inner], source[EDGE_SAMPLES + 1 + shift :][: inner.stop - inner.start], atol=1e-6
            )
        ]
        assert off, f"the clip at film frame {frame} is not within one sample of its place"
        frame += item.length_frames


@pytest.mark.parametrize("rate", RATES, ids=str)
@pytest.mark.parametrize("rate_hz", [48_000, 44_100])
def test_a_cut_that_goes_on_sounds_as_if_uncut(project, tmp_path, rate, rate_hz):
    """No click, no gap: the very samples of the uncut sound, also where frames are no whole samples."""
    source = write_sound(tmp_path / "long.wav", noise(8, rate_hz=rate_hz), rate_hz=rate_hz)
    lengths, at, clips = (11, 8, 1, 30, 2, 17), Fraction(1, 3), []
    for length in lengths:
        clips.append(clip(source, at, length, sound=OWN))
        at += rate.seconds(length)
    cut = mix_of(make_film(rate, scene(*clips)), project)
    whole = mix_of(make_film(rate, scene(clip(source, Fraction(1, 3), sum(lengths), sound=OWN))), project)
    np.testing.assert_allclose(cut, whole, atol=0 if rate_hz == 48_000 else 2e-5)


def test_a_cut_that_goes_on_at_another_speed_sounds_as_if_uncut(project, one):
    rate, speed = Rate(30000, 1001), Fraction(3, 4)
    first = clip(one, Fraction(1, 2), 31, speed, sound=OWN)
    second = clip(one, Fraction(1, 2) + rate.seconds(31) * speed, 20, speed, sound=OWN)
    cut = mix_of(make_film(rate, scene(first, second)), project)
    whole = mix_of(make_film(rate, scene(dataclasses.replace(first, length_frames=51))), project)
    np.testing.assert_allclose(cut, whole, atol=2e-5)


def test_a_real_cut_begins_and_ends_softly(project, one, two):
    """2 ms of ramp on both sides, so that a cut in the middle of a wave does not click."""
    rate = Rate(25)
    made = mix_of(make_film(rate, scene(clip(one, 1, 10, sound=OWN), clip(two, 1, 10, sound=OWN))), project)
    cut = rate.samples(10)
    assert_gains(
        made[cut - EDGE_SAMPLES : cut], from_place(NOISE, 1, cut)[-EDGE_SAMPLES:], fall(EDGE_SAMPLES)
    )
    assert_gains(made[cut : cut + EDGE_SAMPLES], from_place(OTHER, 1, EDGE_SAMPLES), rise(EDGE_SAMPLES))


def test_lead_and_lag_reach_over_the_neighbours(project, one, two):
    """Sound before its picture and after it, in step with it; it is added to what sounds there."""
    rate = Rate(25)
    led = dataclasses.replace(OWN, lead_frames=5, lag_frames=4)
    clips = (clip(two, 1, 20, sound=SILENT), clip(one, 3, 10, sound=led), clip(two, 2, 20, sound=OWN))
    made = mix_of(make_film(rate, scene(*clips)), project)
    first, end = rate.samples(15), rate.samples(34)
    start = rate.samples(30)
    assert not made[:first].any()
    alone = from_place(NOISE, Fraction(3) - rate.seconds(5), start - first)
    np.testing.assert_allclose(made[first + 100 : start], alone[100:], atol=1e-6)
    both = from_place(NOISE, Fraction(3) + rate.seconds(10), end - start) + from_place(OTHER, 2, end - start)
    np.testing.assert_allclose(made[start + 100 : end - 100], both[100:-100], atol=1e-6)
    after = from_place(OTHER, Fraction(2) + rate.seconds(4), 1000)
    np.testing.assert_allclose(made[end : end + 1000], after, atol=1e-6)


def test_a_lead_reaches_into_the_scene_before_but_not_before_the_file(project, one, two):
    rate = Rate(25)
    led = dataclasses.replace(OWN, lead_frames=10)
    film = make_film(
        rate, scene(clip(two, 0, 20, sound=SILENT)), scene(clip(one, rate.seconds(4), 20, sound=led))
    )
    made = mix_of(film, project)
    # Only 4 frames of sound are there before the in point: it begins later, and stays in step.
    first = rate.samples(16)
    assert not made[:first].any()
    np.testing.assert_allclose(made[first + 100 :][:20_000], NOISE[100:20_100], atol=1e-6)


def test_a_separate_recording_is_laid_by_its_offset(project, one, two):
    """The offset is the place in the recording that belongs to the picture's second 0; it may begin later."""
    rate = Rate(25)
    for offset, silent_frames in ((Fraction(3, 2), 0), (Fraction(-7, 5), 10)):
        sound = ClipSound(kind=SoundKind.SEPARATE, file=str(two), offset_seconds=offset)
        made = mix_of(make_film(rate, scene(clip(one, 1, 50, sound=sound))), project)
        first = rate.samples(silent_frames)
        assert not made[:first].any()
        source = from_place(OTHER, Fraction(1) + offset + rate.seconds(silent_frames), 40_000)
        np.testing.assert_allclose(made[first + 100 : first + 40_000], source[100:], atol=1e-6)


# -- levels and fades


@pytest.mark.parametrize("gain_db", [-20, -6, 0, 3.5, 12])
def test_gain_is_in_decibels(project, one, gain_db):
    loud = dataclasses.replace(OWN, gain_db=gain_db)
    made = mix_of(make_film(Rate(25), scene(clip(one, 1, 50, sound=loud))), project)
    inner = made[1000:-1000]
    wanted = level_db(from_place(NOISE, 1, len(made))[1000:-1000]) + gain_db
    assert level_db(inner) == pytest.approx(wanted, abs=0.01)


def test_fades_are_quarters_of_a_sine(project, one):
    rate = Rate(25)
    faded = dataclasses.replace(OWN, fade_in_frames=10, fade_out_frames=15, gain_db=-6)
    made = mix_of(make_film(rate, scene(clip(one, 1, 40, sound=faded))), project)
    source, level = from_place(NOISE, 1, len(made)), 10 ** (-6 / 20)
    count_in, count_out = rate.samples(10), rate.samples(15)
    assert_gains(made[:count_in], source[:count_in], level * rise(count_in))
    assert_gains(made[count_in:-count_out], source[count_in:-count_out], level)
    assert_gains(made[-count_out:], source[-count_out:], level * fall(count_out))


@pytest.mark.parametrize("rate", RATES, ids=str)
def test_a_dissolve_crosses_with_constant_power(project, one, two, rate):
    """Sine and cosine, whose squares add up to 1: unlike sounds stay as loud as they were."""
    before, after = 9, 14
    joins = {0: dissolve(before, after)}
    outgoing, incoming = clip(one, 1, 40, sound=OWN), clip(two, 2, 40, sound=OWN)
    quiet_out, quiet_in = (dataclasses.replace(item, sound=SILENT) for item in (outgoing, incoming))
    both = mix_of(make_film(rate, scene(outgoing), scene(incoming), joins=joins), project)
    left = mix_of(make_film(rate, scene(outgoing), scene(quiet_in), joins=joins), project)
    right = mix_of(make_film(rate, scene(quiet_out), scene(incoming), joins=joins), project)
    np.testing.assert_allclose(both, left + right, atol=1e-6)
    first, end = rate.samples(40 - before), rate.samples(40 + after)
    source = from_place(NOISE, Fraction(1), end)
    assert_gains(left[first:end], source[first:end], fall(end - first), tolerance=4e-3)
    assert not left[end:].any()
    # A scene's own sound is counted from its first sample.
    start, length = rate.samples(40) + rate.samples(-before), rate.samples(after) - rate.samples(-before)
    source = from_place(OTHER, Fraction(2) + Fraction(rate.samples(-before), SAMPLE_RATE_HZ), length)
    assert_gains(right[start : start + length], source, rise(length), tolerance=4e-3)
    assert not right[:start].any()
    levels = [level_db(both[at : at + 4800]) for at in range(first - 9600, end + 4800, 2400)]
    assert max(levels) - min(levels) < 0.5


def test_a_fade_through_black_is_silent_at_the_cut(project, one, two):
    rate = Rate(25)
    film = make_film(
        rate,
        scene(clip(one, 1, 40, sound=OWN)),
        scene(clip(two, 1, 40, sound=OWN)),
        joins={0: through_black(8, 12)},
        fade_in_frames=6,
        fade_out_frames=10,
    )
    made = mix_of(film, project)
    source, other = from_place(NOISE, 1, rate.samples(40)), from_place(OTHER, 1, rate.samples(40))
    cut = rate.samples(40)
    wanted_out, wanted_in = np.ones(cut), np.ones(cut)
    wanted_out[: rate.samples(6)] *= rise(rate.samples(6))
    wanted_out[-rate.samples(8) :] *= fall(rate.samples(8))
    wanted_in[: rate.samples(12)] *= rise(rate.samples(12))
    wanted_in[-rate.samples(10) :] *= fall(rate.samples(10))
    inner = slice(EDGE_SAMPLES, cut - EDGE_SAMPLES)
    assert_gains(made[:cut][inner], source[inner], wanted_out[inner])
    assert_gains(made[cut:][inner], other[inner], wanted_in[inner])


# -- music and effects


def cue(path, start, length, **choice):
    return Cue(
        id=f"m{start}{length}",
        start_frames=start,
        length_frames=length,
        candidates=(
            Candidate(id="a1", file=str(path), **choice),
            Candidate(id="a2", file=str(path), in_seconds=Fraction(7)),
        ),
        chosen="a1",
    )


def test_a_cue_runs_on_over_the_next_scene(project, one, two):
    """From its in point, with its fades, over the cut and the dissolve, which do not fade it."""
    rate = Rate(24000, 1001)
    music = cue(two, 10, 60, in_seconds=Fraction(5, 2), gain_db=-3, fade_in_frames=5, fade_out_frames=20)
    film = make_film(
        rate,
        scene(clip(one, 1, 30, sound=SILENT), cues=(music,)),
        scene(clip(one, 3, 60, sound=SILENT)),
        joins={0: dissolve(6, 6)},
    )
    lanes = stems_of(film, project)
    assert not lanes["dialogue"].any()
    assert not lanes["effects"].any()
    made, first, end = lanes["music"], rate.samples(10), rate.samples(70)
    assert not made[:first].any()
    assert not made[end:].any()
    wanted = np.full(end - first, 10 ** (-3 / 20))
    wanted[: rate.samples(5)] *= rise(rate.samples(5))
    wanted[-rate.samples(20) :] *= fall(rate.samples(20))
    source = from_place(OTHER, Fraction(5, 2), end - first)
    np.testing.assert_allclose(made[first:end], source * wanted[:, None], atol=2e-3)


def test_a_cue_without_a_choice_is_silent(project, one, two):
    music = dataclasses.replace(cue(two, 0, 20), chosen="")
    film = make_film(Rate(25), scene(clip(one, 1, 30, sound=SILENT), cues=(music,)))
    assert not mix_of(film, project).any()


def test_spots_before_and_beyond_a_scene_sound_there(project, one, two):
    rate = Rate(30000, 1001)
    spots = (
        Spot(id="f1", file=str(two), start_frames=-12, length_frames=8, in_seconds=Fraction(1), gain_db=-6),
        Spot(id="f2", file=str(two), start_frames=35, length_frames=9, in_seconds=Fraction(2)),
    )
    film = make_film(
        rate,
        scene(clip(one, 1, 40, sound=SILENT)),
        scene(clip(one, 1, 30, sound=SILENT), spots=spots),
        scene(clip(one, 1, 40, sound=SILENT)),
    )
    made = stems_of(film, project)["effects"]
    heard = np.zeros(len(made), bool)
    for first_frame, length, seconds, level in ((28, 8, 1, 10 ** (-6 / 20)), (75, 9, 2, 1.0)):
        first, end = rate.samples(first_frame), rate.samples(first_frame + length)
        inner = slice(first + 100, end - 100)
        off = min(
            np.abs(made[inner] - level * OTHER[seconds * 48_000 + 100 + shift :][: end - first - 200]).max()
            for shift in (-1, 0, 1)
        )
        assert off < 1e-5
        heard[first - 1 : end + 1] = True
    assert not made[~heard].any()


def test_what_reaches_beyond_the_film_is_cut_off_there(project, one, two):
    rate = Rate(25)
    spots = (
        Spot(id="f1", file=str(two), start_frames=-10, length_frames=20),
        Spot(id="f2", file=str(two), start_frames=30, length_frames=100),
    )
    made = mix_of(make_film(rate, scene(clip(one, 1, 40, sound=SILENT), spots=spots)), project)
    assert len(made) == rate.samples(40)
    np.testing.assert_allclose(
        made[: rate.samples(10) - 100], OTHER[rate.samples(10) :][: rate.samples(10) - 100], atol=1e-6
    )
    np.testing.assert_allclose(made[rate.samples(30) + 100 :], OTHER[100 : rate.samples(10)], atol=1e-6)


def test_sound_that_is_shorter_than_its_picture_ends_in_silence(project, tmp_path):
    short = write_sound(tmp_path / "short.wav", noise(1, seed=3))
    made = mix_of(make_film(Rate(25), scene(clip(short, Fraction(1, 2), 40, sound=OWN))), project)
    np.testing.assert_allclose(
        made[100 : SAMPLE_RATE_HZ // 2], noise(1, seed=3)[SAMPLE_RATE_HZ // 2 + 100 :], atol=1e-6
    )
    assert not made[SAMPLE_RATE_HZ // 2 :].any()


def test_speed_changes_pitch(project, tmp_path):
    tone = write_sound(tmp_path / "tone.wav", sine(6, 600))
    made = mix_of(make_film(Rate(25), scene(clip(tone, 1, 50, Fraction(3, 2), sound=OWN))), project)
    spectrum = np.abs(np.fft.rfft(made[:, 0] * np.hanning(len(made))))
    assert np.argmax(spectrum) / len(made) * SAMPLE_RATE_HZ == pytest.approx(900, abs=1)


# -- the sum


def test_the_mix_is_the_sum_of_its_stems(project, one, two):
    """Any lane is the same without the others."""
    rate = Rate(25)
    full = scene(
        clip(one, 1, 30, sound=OWN),
        clip(two, 1, 30, sound=dataclasses.replace(OWN, gain_db=-4)),
        cues=(cue(two, 5, 50, gain_db=-10),),
        spots=(Spot(id="f1", file=str(one), start_frames=20, length_frames=12, in_seconds=Fraction(4)),),
    )
    lanes = stems_of(make_film(rate, full), project)
    content = full.content
    silenced = tuple(dataclasses.replace(item, sound=SILENT) for item in content.clips)
    without = {
        "dialogue": dataclasses.replace(content, clips=silenced),
        "effects": dataclasses.replace(content, spots=()),
        "music": dataclasses.replace(content, cues=()),
    }
    whole = sum(lanes.values())
    for lane, rest in without.items():
        assert lanes[lane].any()
        other = mix_of(make_film(rate, dataclasses.replace(full, content=rest)), project)
        np.testing.assert_allclose(whole - other, lanes[lane], atol=1e-6)


@settings(max_examples=30, deadline=None)
@given(
    places=st.lists(st.tuples(st.integers(-300, 900), st.integers(1, 700)), max_size=4),
    samples=st.integers(1, 900),
    block=st.integers(1, 400),
)
def test_blocks_of_any_length_add_up_alike(tmp_path_factory, places, samples, block):
    folder = tmp_path_factory.mktemp("stems")
    stems, wanted = [], np.zeros((2000, 2), np.float32)
    for index, (start, length) in enumerate(places):
        sound = noise(length / SAMPLE_RATE_HZ, seed=index)
        sound.tofile(folder / f"{index}.f32")
        stems.append((start + 7, Stem(folder / f"{index}.f32", -7)))
        wanted[300 + start : 300 + start + len(sound)] += sound
    made = np.concatenate(list(mixed(stems, samples, block)))
    np.testing.assert_allclose(made, wanted[300 : 300 + samples], atol=1e-6)
