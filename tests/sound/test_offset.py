"""Where a separate recording belongs: found to the sample where it is known, refused where there is none.

The offset is the place in the recording that belongs to second 0 of the source, as `ClipSound` has it: what
is read of the recording at t + offset is what is read of the source at t.
"""

import dataclasses
from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest

from desk.film.lanes import spans
from desk.film.model import Clip, ClipSound, SceneContent, SoundKind
from desk.film.rates import SAMPLE_RATE_HZ, Rate
from desk.footage.probe import probe
from desk.jobs import Cancelled, CancelToken
from desk.sound.offset import LEAST_TRUST, Found, NotFound, find_offset, find_offset_of_files
from desk.sound.reading import read_sound
from tests.making import make_numbered
from tests.real_media import real_media
from tests.sound.signals import Sound, lag_samples, low_noise, noise, sine, write_sound


def recorded(
    sound: Sound, offset: int, *, seconds: float, noise_db: float | None = None, seed: int = 7
) -> Sound:
    """A recording in which the first sample of a sound stands at a sample, or before it below 0.

    With white noise of its own, so many dB below (or, below 0, above) the sound's own level.
    """
    made = np.zeros((round(seconds * SAMPLE_RATE_HZ), 2), np.float32)
    low, high = max(0, offset), min(len(made), offset + len(sound))
    made[low:high] = sound[low - offset : high - offset]
    if noise_db is not None:
        level = float(np.sqrt(np.mean(np.square(sound)))) * 10 ** (-noise_db / 20)
        made += np.random.default_rng(seed).normal(0, level, made.shape).astype(np.float32)
    return made


def samples(found) -> int:
    assert isinstance(found, Found), found
    assert found.trust >= LEAST_TRUST
    whole = found.offset_seconds * SAMPLE_RATE_HZ
    assert whole.denominator == 1
    return int(whole)


@pytest.mark.parametrize("offset", [0, 1, 4_803, 123_457, -1, -37_001, 480_000])
@pytest.mark.parametrize("noise_db", [None, 0.0, -10.0])
def test_a_known_delay_is_found_to_the_sample(offset, noise_db):
    sound = low_noise(6, seed=3)
    assert samples(find_offset(sound, recorded(sound, offset, seconds=20, noise_db=noise_db))) == offset


@pytest.mark.parametrize("seconds", [1.0, 2.5, 13.0, 40.0])
def test_short_and_long_sounds(seconds):
    sound = noise(seconds, seed=4)
    recording = recorded(sound, 31_337, seconds=seconds + 3, noise_db=0)
    assert samples(find_offset(sound, recording)) == 31_337


def test_a_recording_that_began_late_and_ended_early():
    """Only 4 of 20 s are in both."""
    sound = noise(20, seed=5)
    assert samples(find_offset(sound, recorded(sound, -8 * SAMPLE_RATE_HZ - 77, seconds=4, noise_db=3))) == (
        -8 * SAMPLE_RATE_HZ - 77
    )


def test_other_level_colour_side_and_polarity_do_not_matter():
    sound = low_noise(8, seed=6)
    other = recorded(sound, 50_021, seconds=15, noise_db=10)
    # A first-order roll-off, one side only, much softer and upside down. It delays by up to 9 samples itself.
    muffled = np.zeros_like(other)
    muffled[:, 0] = -0.02 * np.convolve(other[:, 0], 0.9 ** np.arange(40))[: len(other)]
    assert 0 <= samples(find_offset(sound, muffled)) - 50_021 <= 9


def test_unlike_sounds_are_refused_in_words():
    found = find_offset(noise(10, seed=1), noise(30, seed=2))
    assert isinstance(found, NotFound)
    assert found.sentence.startswith("No place was found where the recording fits the clip's sound: the best")
    assert found.sentence.endswith("times as good as the next.")
    assert "by ear" in found.advice


def test_sound_that_repeats_is_refused():
    """The same burst every half second fits in many places."""
    burst = np.zeros((SAMPLE_RATE_HZ // 2, 2), np.float32)
    burst[:4800] = noise(0.1, seed=8)
    found = find_offset(np.tile(burst, (8, 1)), np.tile(burst, (60, 1)))
    assert isinstance(found, NotFound)
    tone = find_offset(sine(5, 1000), sine(20, 1000))
    assert isinstance(tone, NotFound)


def test_silence_and_too_little_are_told():
    sound, silence = noise(5), np.zeros((5 * SAMPLE_RATE_HZ, 2), np.float32)
    assert find_offset(silence, sound).sentence == "Nothing is heard in the clip's sound."
    assert find_offset(sound, silence).sentence == "Nothing is heard in the recording."
    assert find_offset(sound, 1e-4 * sound).sentence == "Nothing is heard in the recording."
    short = find_offset(sound, sound[:40_000]).sentence
    assert short == "There is less than a second of the recording, which is too short to compare."


def test_progress_rises_and_a_stop_is_heeded():
    sound = low_noise(3, seed=3)
    recording = recorded(sound, 5_000, seconds=30, noise_db=10)
    told = []
    assert samples(find_offset(sound, recording, progress=told.append)) == 5_000
    assert all(one.fraction <= other.fraction for one, other in pairwise(told))
    assert told[-1].fraction <= 1
    assert {one.stage for one in told} == {"offset.read", "offset.compare"}
    token = CancelToken()
    token.set()
    with pytest.raises(Cancelled):
        find_offset(sound, recording, cancel=token)
    assert samples(find_offset(sound, recording)) == 5_000


# Files


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("offsets")


@pytest.fixture(scope="module")
def pair(folder):
    """Footage with a sound that starts 0.3 s after its picture, and a recording of a longer stretch."""
    picture = make_numbered(folder / "picture.mp4", frames=250, size=(96, 54))
    sound = low_noise(40, seed=11)
    camera = sound[20 * SAMPLE_RATE_HZ :][: 9 * SAMPLE_RATE_HZ]
    source = write_sound(
        folder / "camera.mov", camera, codec=("-c:a", "pcm_s16le"), picture=picture, late_seconds=0.3
    )
    recording = write_sound(folder / "recorder.wav", sound + noise(40, seed=12, level=0.05), codec=())
    return source, recording


@pytest.mark.ffmpeg
@pytest.mark.parametrize(
    ("in_seconds", "seconds"),
    [(Fraction(0), None), (Fraction(5), Fraction(2)), (Fraction(8), Fraction(4)), (Fraction(20), None)],
)
def test_files_are_in_step_at_the_offset_found(pair, in_seconds, seconds):
    """As a clip with that offset sounds: the places come from the lanes."""
    source, recording = pair
    facts = {path: probe(path) for path in pair}
    found = find_offset_of_files(
        source, facts[source], recording, facts[recording], in_seconds=in_seconds, seconds=seconds
    )
    offset = samples(found)
    assert abs(offset - (20 * SAMPLE_RATE_HZ - round(0.3 * SAMPLE_RATE_HZ))) <= 1
    clips = tuple(
        Clip(
            id=kind,
            source="camera.mov",
            in_seconds=Fraction(3),
            length_frames=100,
            sound=ClipSound(kind=kind, file="recorder.wav", offset_seconds=found.offset_seconds),
        )
        for kind in (SoundKind.OWN, SoundKind.SEPARATE)
    )
    own, separate = (
        np.concatenate(
            list(
                read_sound(
                    source.parent / span.file,
                    facts[source.parent / span.file],
                    in_seconds=span.in_seconds,
                    samples=4 * SAMPLE_RATE_HZ,
                )
            )
        )
        for span in spans(SceneContent(clips=clips), Rate(25))
    )
    assert abs(lag_samples(separate, own)) < 1


@pytest.mark.ffmpeg
def test_a_file_without_sound_is_told(pair, folder):
    source, recording = pair
    picture = folder / "picture.mp4"
    found = find_offset_of_files(picture, probe(picture), recording, probe(recording))
    assert found == NotFound("“picture.mp4” has no sound to compare.", "Choose a file that has.")
    token = CancelToken()
    token.set()
    with pytest.raises(Cancelled):
        find_offset_of_files(source, probe(source), recording, probe(recording), cancel=token)


@pytest.mark.ffmpeg
def test_a_file_that_claims_to_be_endless_is_refused_unread(pair):
    """Damaged files do: their end is not looked for."""
    source, recording = pair
    facts = probe(recording)
    assert facts.sound
    endless = dataclasses.replace(facts, sound=dataclasses.replace(facts.sound, seconds=Fraction(536_872)))
    found = find_offset_of_files(source, probe(source), recording, endless)
    assert isinstance(found, NotFound)
    assert found.sentence.startswith("“recorder.wav” says that it is longer than 6 hours")


# Real voices


def voice(name: str) -> Sound:
    path = real_media(name)
    facts = probe(path)
    assert facts.sound
    count = int(facts.sound.seconds * SAMPLE_RATE_HZ)
    return np.concatenate(list(read_sound(path, facts, in_seconds=Fraction(0), samples=count)))


@pytest.mark.media
@pytest.mark.parametrize("noise_db", [20.0, 0.0, -10.0])
@pytest.mark.parametrize("offset", [98_765, -61_237])
def test_a_real_voice_is_found_under_noise(offset, noise_db):
    """Speech at 24 kHz, 8.7 s: the delay is known to the sample, the noise up to ten times its power."""
    spoken = voice("obama_speech.mp4")
    recording = recorded(spoken, offset, seconds=25, noise_db=noise_db)
    assert samples(find_offset(spoken, recording)) == offset
    two_seconds = spoken[3 * SAMPLE_RATE_HZ : 5 * SAMPLE_RATE_HZ]
    if noise_db >= 0:
        assert samples(find_offset(two_seconds, recording)) == offset + 3 * SAMPLE_RATE_HZ


@pytest.mark.media
def test_a_real_voice_in_a_room_is_found():
    """Two microphones: each hears the room's echoes, its own 0.4 s of them, as loud as the voice itself."""
    spoken = voice("obama_speech.mp4")
    ways = []
    for seed in (1, 2):
        echoes = np.random.default_rng(seed).normal(0, 1, 19_200) * 10 ** (-3 * np.arange(19_200) / 19_200)
        echoes[:100] = 0
        echoes /= np.sqrt(np.sum(echoes**2))
        echoes[0] = 1
        size = 1 << 20
        heard = np.fft.irfft(np.fft.rfft(spoken[:, 0], size) * np.fft.rfft(echoes, size), size)
        ways.append(np.repeat(heard[: len(spoken), None], 2, axis=1).astype(np.float32))
    recording = recorded(ways[1], 77_003, seconds=20, noise_db=15)
    assert samples(find_offset(ways[0], recording)) == 77_003


@pytest.mark.media
@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("obama_speech.mp4", "small.mp4"),
        ("small.mp4", "bigbuckbunny.mp4"),
        ("face_noface.mov", "obama_speech.mp4"),
    ],
)
def test_real_sounds_that_have_nothing_in_common_are_refused(one, other):
    assert isinstance(find_offset(voice(one), voice(other)), NotFound)
