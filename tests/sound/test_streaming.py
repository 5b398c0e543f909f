"""The mix as it is heard has the samples of the stems, from wherever it begins."""

import dataclasses
import itertools
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from desk.assembly.survey import survey
from desk.film.model import Candidate, ClipSound, Cue, SoundKind, Spot
from desk.film.rates import SAMPLE_RATE_HZ, Rate
from desk.film.timing import Include, lay_out
from desk.jobs import CancelToken
from desk.sound.plan import plan_sound
from desk.sound.stems import LANES, Stem, mixed, stem_range, write_stem
from desk.sound.streaming import Track, stream, track_of_file, track_of_film, track_of_scene
from tests.render.films import SILENT, clip, dissolve, make_film, put, scene, through_black
from tests.sound.signals import noise, sine, write_sound

pytestmark = pytest.mark.ffmpeg

OWN = ClipSound()
RATES = (Rate(24000, 1001), Rate(25), Rate(30000, 1001))


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    """Noise at 48 and 44.1 kHz, so that every sample tells its place, and a tone in a lossy file."""
    folder = tmp_path_factory.mktemp("sound")
    return (
        write_sound(folder / "one.wav", noise(12, seed=1)),
        write_sound(folder / "two.wav", noise(12, seed=2, rate_hz=44_100), rate_hz=44_100),
        write_sound(folder / "tone.flac", sine(12, 440), codec=["-c:a", "flac"]),
    )


def everything(files, rate):
    """A film with all that decides how it sounds."""
    one, two, tone = files
    led = dataclasses.replace(OWN, lead_frames=5, lag_frames=9, gain_db=-3, fade_in_frames=4)
    apart = ClipSound(
        kind=SoundKind.SEPARATE, file=str(two), offset_seconds=Fraction(1, 3), fade_out_frames=6
    )
    music = Cue(
        id="m1",
        start_frames=-4,
        length_frames=90,
        candidates=(Candidate(id="a1", file=str(tone), in_seconds=Fraction(3, 7), gain_db=-8),),
        chosen="a1",
    )
    spots = (
        Spot(id="f1", file=str(two), start_frames=-6, length_frames=20, in_seconds=Fraction(2)),
        Spot(id="f2", file=str(one), start_frames=30, length_frames=200, gain_db=-9, fade_out_frames=12),
    )
    return make_film(
        rate,
        scene(
            clip(one, 1, 30, sound=OWN),
            clip(two, Fraction(4, 3), 25, Fraction(3, 4), sound=led),
            clip(one, 3, 12, sound=apart, gap_frames=7),
            cues=(music,),
        ),
        scene(clip(one, 2, 40, Fraction(2), sound=OWN), clip(one, 6, 11, sound=SILENT), spots=spots),
        scene(clip(two, 1, 50, sound=led)),
        joins={0: dissolve(6, 7), 1: through_black(8, 5)},
        fade_in_frames=6,
        fade_out_frames=10,
    )


def surveyed(film, folder):
    film = put(folder, film)
    return survey(film, folder), film


def stems_of(found, film, folder):
    """Return the mix that the film's stems give."""
    layout = lay_out(film, Include.ALL)
    return mix_of_stems(plan_sound(film, layout), found, film.rate, layout.length_frames, folder)


def mix_of_stems(sounds, found, rate, frames, folder):
    stems = []
    for index, sound in enumerate(sounds):
        for lane in LANES:
            bounds = stem_range(sound, lane, rate)
            if bounds is not None:
                target = folder / f"{lane}-{index}.f32"
                write_stem(sound, lane, rate, found.files, found.media, target, cancel=CancelToken())
                stems.append((rate.samples(sound.start_frames), Stem(target, bounds[0])))
    return np.concatenate(list(mixed(stems, rate.samples(frames), 50_000)))


def heard(track, found, first=0, **options):
    made = list(stream(track, found.files, found.media, first=first, **options))
    return np.concatenate(made) if made else np.zeros((0, 2), np.float32)


@pytest.mark.parametrize("rate", RATES, ids=str)
def test_a_film_is_heard_as_its_stems_give_it_from_any_sample(project, files, rate):
    found, film = surveyed(everything(files, rate), project)
    wanted = stems_of(found, film, project)
    assert np.abs(wanted).max() > 0.1
    track = track_of_film(film, lay_out(film, Include.ALL))
    assert track.samples == len(wanted)
    cut = rate.samples(74)
    for first in (0, 1, 12_345, cut - 1, cut + 777, len(wanted) // 2 + 1, len(wanted) - 5):
        np.testing.assert_allclose(heard(track, found, first), wanted[first:], atol=1e-6, rtol=0)


@pytest.mark.parametrize("block_samples", [333, 48_000])
def test_blocks_of_any_length_are_the_same_sound(project, files, block_samples):
    rate = Rate(25)
    found, film = surveyed(everything(files, rate), project)
    track = track_of_film(film, lay_out(film, Include.ALL))
    whole = heard(track, found)
    first = 20_001
    made = list(stream(track, found.files, found.media, first=first, block_samples=block_samples))
    assert {len(block) for block in made[:-1]} == {block_samples}
    np.testing.assert_allclose(np.concatenate(made), whole[first:], atol=1e-6, rtol=0)


@pytest.mark.parametrize("speed", [Fraction(1, 4), Fraction(24, 25), Fraction(1001, 1000), Fraction(3)])
def test_at_another_speed_too(project, files, speed):
    rate = Rate(25)
    for file in files[:2]:
        found, film = surveyed(
            make_film(rate, scene(clip(file, Fraction(1, 7), 60, speed, sound=OWN))), project
        )
        wanted = stems_of(found, film, project)
        track = track_of_film(film, lay_out(film, Include.ALL))
        for first in (0, 31, 40_009, 90_000):
            np.testing.assert_allclose(heard(track, found, first), wanted[first:], atol=1e-6, rtol=0)


def test_a_scene_by_itself_is_heard_without_the_joins_of_the_film(project, files):
    rate = Rate(30000, 1001)
    found, film = surveyed(everything(files, rate), project)
    content = film.scenes[1].content
    alone = make_film(rate, dataclasses.replace(film.scenes[1], id="alone"))
    wanted = mix_of_stems(plan_sound(alone, lay_out(alone, Include.ALL)), found, rate, 51, project)
    track = track_of_scene(content, rate)
    assert track.frames == 51
    for first in (0, 7001, rate.samples(45)):
        np.testing.assert_allclose(heard(track, found, first), wanted[first:], atol=1e-6, rtol=0)


def test_a_file_is_heard_from_its_beginning(project, files):
    rate = Rate(25)
    found, film = surveyed(make_film(rate, scene(clip(files[0], 0, 10, sound=OWN))), project)
    track = track_of_file(film.scenes[0].content.clips[0].source, rate, 12 * 25)
    source = noise(12, seed=1)
    first = 100_000
    np.testing.assert_allclose(heard(track, found, first)[:-200], source[first:-200], atol=1e-6, rtol=0)


def test_what_can_not_be_read_is_silent_and_the_rest_is_heard(project, files, caplog):
    rate = Rate(25)
    broken = project.parent / "broken.wav"
    write_sound(broken, noise(3, seed=5))
    film = make_film(
        rate,
        scene(
            clip(files[0], 1, 20, sound=OWN),
            clip(broken, 1, 20, sound=OWN),
            clip("nowhere.wav", 1, 20, sound=OWN),
            clip(files[0], 5, 20, sound=OWN),
        ),
    )
    found, film = surveyed(film, project)
    broken.unlink()
    made = heard(track_of_scene(film.scenes[0].content, rate), found)
    frames = [made[rate.samples(at) : rate.samples(at + 20)] for at in (0, 20, 40, 60)]
    assert [bool(part.any()) for part in frames] == [True, False, False, True]
    assert "is silent" in caplog.text


def test_files_are_open_only_while_they_are_heard(project, files):
    """Told by the system's list of what this process has open (Linux)."""
    table = Path("/proc/self/fd")
    if not table.exists():
        pytest.skip("the system has no list of open files")
    rate = Rate(25)
    film = make_film(rate, scene(*(clip(file, 1, 25, sound=OWN) for file in files)))
    found, film = surveyed(film, project)

    def open_now():
        names = {Path(item).resolve() for item in table.iterdir()}
        return [at for at, file in enumerate(files) if file.resolve() in names]

    blocks = stream(track_of_scene(film.scenes[0].content, rate), found.files, found.media)
    seen = [open_now()]
    seen += [open_now() for _ in blocks]
    assert [now for now, _ in itertools.groupby(filter(None, seen))] == [[0], [1], [2]]
    assert open_now() == []
    again = stream(track_of_scene(film.scenes[0].content, rate), found.files, found.media, first=30_000)
    next(again)
    assert open_now() == [0]
    again.close()
    assert open_now() == []


def test_after_its_end_there_is_nothing(project, files):
    found, film = surveyed(make_film(Rate(25), scene(clip(files[0], 1, 5, sound=OWN))), project)
    track = track_of_scene(film.scenes[0].content, Rate(25))
    assert heard(track, found, track.samples + 10).shape == (0, 2)
    assert heard(Track(sounds=(), rate=Rate(25), frames=4), found).shape == (4 * SAMPLE_RATE_HZ // 25, 2)


def test_over_an_hour_every_sound_is_on_its_sample(project, files, tmp_path):
    """Frame f starts on sample round(f · 48000 / rate), of a scene in the film and of a sound in its scene.

    Reckoned here in exact fractions, at 1,601.6 samples a frame: SMPTE ST 12-1's 30000/1001 has no other. So
    a sound is within a sample of its frame after an hour as at the start; adding up the rounded lengths of
    scenes would drift.
    """
    rate, frames, click_at = Rate(30000, 1001), 2_701, 1_000
    click = np.zeros((4_800, 2), np.float32)
    click[click_at] = 0.5
    file = write_sound(tmp_path / "click.wav", click)
    scenes = [
        scene(
            clip(files[0], 0, frames),
            spots=(Spot(id=f"f{index}", file=str(file), start_frames=7 * index, length_frames=3),),
        )
        for index in range(45)
    ]
    found, film = surveyed(make_film(rate, *scenes), project)
    track = track_of_film(film, lay_out(film, Include.ALL))
    assert track.samples > 3600 * SAMPLE_RATE_HZ
    for index in range(45):
        begins, into = (Fraction(8008, 5) * count for count in (index * frames, 7 * index))
        assert abs(round(begins) + round(into) - (begins + into)) < 1
        wanted = round(begins) + round(into) + click_at
        block = next(stream(track, found.files, found.media, first=wanted - 2_000))
        assert int(np.argmax(np.abs(block[:, 0]))) == 2_000
