"""Samples of a file from an exact place, whatever the container, coding, rate and channels."""

import itertools
from fractions import Fraction

import numpy as np
import pytest

from desk.errors import MediaError
from desk.film.rates import FILM_RATES, SAMPLE_RATE_HZ
from desk.footage.probe import probe
from desk.sound.reading import read_sound
from tests.making import make_numbered
from tests.sound.signals import lag_samples, level_db, noise, sine, write_sound

pytestmark = pytest.mark.ffmpeg


def read(path, in_seconds, samples, speed=1):
    blocks = list(
        read_sound(path, probe(path), in_seconds=Fraction(in_seconds), samples=samples, speed=Fraction(speed))
    )
    assert all(block.dtype == np.float32 and block.shape[1] == 2 for block in blocks)
    sound = np.concatenate(blocks)
    assert len(sound) == samples
    return sound


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("sounds")


@pytest.fixture(scope="module")
def picture(folder):
    return make_numbered(folder / "picture.mp4", frames=150, size=(96, 54), bframes=0)


LOSSLESS = {
    "wav": ((), {}),
    "flac": (("-c:a", "flac", "-sample_fmt", "s16"), {}),
    "mov": (("-c:a", "pcm_s16le"), {"picture": True}),
    "mkv": (("-c:a", "pcm_s16le"), {"picture": True}),
    "mp4": (("-c:a", "alac"), {"picture": True}),
    "avi": (("-c:a", "pcm_s16le"), {"picture": True}),
}
LOSSY = {
    "mp4": ("-c:a", "aac", "-b:a", "256k", "-aac_pns", "0"),
    "mkv": ("-c:a", "aac", "-b:a", "256k", "-aac_pns", "0"),
    "ts": ("-c:a", "aac", "-b:a", "256k", "-aac_pns", "0"),
    "mp3": ("-c:a", "libmp3lame", "-b:a", "256k"),
    "webm": ("-c:a", "libopus", "-b:a", "256k"),
}
PLACES = (Fraction(0), Fraction(1, 25), Fraction(1001, 1000), Fraction(10007, 4800), Fraction(37, 10))


@pytest.mark.parametrize("container", LOSSLESS)
def test_samples_are_the_very_ones_at_each_place(folder, picture, container):
    codec, options = LOSSLESS[container]
    sound = np.round(noise(6) * 32768).astype(np.float32) / 32768
    path = folder / f"exact.{container}"
    write_sound(path, sound, codec=codec, picture=picture if options.get("picture") else None)
    for place in PLACES:
        first = round(place * SAMPLE_RATE_HZ)
        np.testing.assert_array_equal(read(path, place, 5000), sound[first : first + 5000])
    # Before the file and after its end there is silence.
    np.testing.assert_array_equal(read(path, Fraction(-1, 10), 9600)[4800:], sound[:4800])
    assert not read(path, Fraction(-1, 10), 4800).any()
    tail = read(path, Fraction(59, 10), 9600)
    np.testing.assert_array_equal(tail[:4800], sound[-4800:])
    assert not tail[4800:].any()


@pytest.mark.parametrize("container", LOSSY)
def test_coded_sound_stands_where_it_was(folder, picture, container):
    """To a tenth of a millisecond from every place; what the encoder adds in front is not heard."""
    sound = noise(6, level=0.15)
    path = folder / f"coded.{container}"
    write_sound(path, sound, codec=LOSSY[container], picture=picture if container in ("mp4", "ts") else None)
    whole = read(path, 0, 6 * SAMPLE_RATE_HZ)
    assert abs(lag_samples(whole, sound)) < 5
    for place in PLACES:
        first = round(place * SAMPLE_RATE_HZ)
        part = read(path, place, 12_000)
        assert abs(lag_samples(part, sound[first : first + 12_000])) < 5


@pytest.mark.parametrize("rate", FILM_RATES[:4], ids=str)
@pytest.mark.parametrize("container", ["wav", "mp4", "mkv", "ts", "44100.mkv", "44100.mp4"])
def test_reading_on_goes_on_where_reading_stopped(folder, picture, container, rate):
    """One source read in two goes gives what one go gives: no seam where a clip is cut and continued."""
    suffix = container.split(".")[-1]
    rate_hz = 44_100 if container.startswith("44100") else SAMPLE_RATE_HZ
    path = folder / f"seam.{container}"
    if not path.exists():
        codec = ("-c:a", "pcm_s16le") if rate_hz == 44_100 and suffix == "mkv" else LOSSY.get(suffix, ())
        sound = noise(6, rate_hz=rate_hz)
        write_sound(path, sound, rate_hz=rate_hz, codec=codec, picture=None if suffix == "wav" else picture)
    at_samples = [rate.samples(frame) for frame in (0, 31, 64)]
    in_seconds = Fraction(1, 3)
    whole = read(path, in_seconds, at_samples[-1])
    for first, end in itertools.pairwise(at_samples):
        part = read(path, in_seconds + Fraction(first, SAMPLE_RATE_HZ), end - first)
        np.testing.assert_allclose(part, whole[first:end], atol=2e-4)


@pytest.mark.parametrize("rate_hz", [8_000, 16_000, 24_000, 32_000, 44_100, 96_000])
def test_other_rates_keep_place_and_level(folder, rate_hz):
    path = folder / f"sine-{rate_hz}.wav"
    write_sound(path, sine(3, 997, rate_hz=rate_hz), rate_hz=rate_hz)
    for place in (Fraction(0), Fraction(6857, SAMPLE_RATE_HZ), Fraction(5, 3)):
        count = 12_000
        seconds = np.arange(count) / SAMPLE_RATE_HZ + float(place)
        wanted = 0.5 * np.sin(2 * np.pi * 997 * seconds)
        made = read(path, place, count)
        skip = 480 if place == 0 else 0  # a sine that starts from silence rings
        np.testing.assert_allclose(made[skip:, 0], wanted[skip:], atol=2e-3)
        np.testing.assert_array_equal(made[:, 0], made[:, 1])


@pytest.mark.parametrize(
    "speed", [Fraction(1, 4), Fraction(1, 2), Fraction(2), Fraction(3, 2), Fraction(1001, 1000), Fraction(4)]
)
@pytest.mark.parametrize("rate_hz", [48_000, 44_100, 24_000])
def test_pitch_follows_speed(folder, rate_hz, speed):
    path = folder / f"speed-{rate_hz}.wav"
    if not path.exists():
        write_sound(path, sine(4, 800, rate_hz=rate_hz), rate_hz=rate_hz)
    place, count = Fraction(1, 3), 16_000
    seconds = float(place) + np.arange(count) / SAMPLE_RATE_HZ * float(speed)
    np.testing.assert_allclose(
        read(path, place, count, speed)[:, 0], 0.5 * np.sin(2 * np.pi * 800 * seconds), atol=3e-3
    )


def test_one_channel_goes_to_both_sides_at_its_level(folder):
    path = write_sound(folder / "mono.wav", noise(1, channels=1))
    sound = read(path, 0, SAMPLE_RATE_HZ)
    np.testing.assert_array_equal(sound[:, 0], sound[:, 1])
    np.testing.assert_array_equal(sound[:, :1], noise(1, channels=1))


@pytest.mark.parametrize("layout", ["5.1", "5.1(side)"])
def test_surround_is_folded_down_as_itu_says(folder, layout):
    """ITU-R BS.775-4, annex 4: left + 0.7071 centre + 0.7071 left surround, without low-frequency effects."""
    sound = noise(1, channels=6, level=0.05)
    path = write_sound(folder / f"{len(layout)}.wav", sound, layout=layout)
    left, right, centre, _, back_left, back_right = sound.T
    wanted = np.stack(
        [left + 0.70711 * (centre + back_left), right + 0.70711 * (centre + back_right)], axis=1
    )
    np.testing.assert_allclose(read(path, 0, SAMPLE_RATE_HZ), wanted, atol=1e-4)


@pytest.mark.parametrize("container", ["mov", "mkv"])
def test_sound_that_starts_after_the_picture_is_not_moved(folder, picture, container):
    sound = np.round(noise(3) * 32768).astype(np.float32) / 32768
    path = folder / f"late.{container}"
    write_sound(path, sound, codec=("-c:a", "pcm_s16le"), picture=picture, late_seconds=0.7)
    made = read(path, 0, 2 * SAMPLE_RATE_HZ)
    start = round(0.7 * SAMPLE_RATE_HZ)
    assert not made[: start - 48].any()
    assert abs(lag_samples(made[start:], sound[: len(made) - start])) < (1 if container == "mov" else 25)
    second = read(path, Fraction(3, 2), SAMPLE_RATE_HZ)
    np.testing.assert_array_equal(second[: SAMPLE_RATE_HZ // 2], made[3 * SAMPLE_RATE_HZ // 2 :])


def test_a_file_that_is_no_sound_any_more_is_told(folder):
    path = write_sound(folder / "gone.wav", noise(1))
    facts = probe(path)
    path.write_bytes(b"RIFF" + bytes(500))
    with pytest.raises(MediaError, match="gone"):
        list(read_sound(path, facts, in_seconds=Fraction(0), samples=100))
    path.unlink()
    with pytest.raises(MediaError, match="missing"):
        list(read_sound(path, facts, in_seconds=Fraction(0), samples=100))


def test_times_that_are_rounded_leave_no_gaps(folder):
    """Phones write the times of packets as their clock had them, some samples too early or too late."""
    sound = sine(4, 440, channels=1)
    path = folder / "phone.mp4"
    jitter = ("-bsf:a", "setts=ts=TS+16*mod(N*7\\,5)")
    write_sound(path, sound, codec=("-c:a", "aac", "-b:a", "192k", *jitter))
    made = read(path, 0, 3 * SAMPLE_RATE_HZ)[:, 0].astype(np.float64)
    spectrum = np.abs(np.fft.rfft(made[4800:] * np.blackman(len(made) - 4800))) ** 2
    peak = int(np.argmax(spectrum))
    beside = spectrum.sum() - spectrum[peak - 8 : peak + 9].sum()
    assert 10 * np.log10(beside / spectrum.sum()) < -60
    assert abs(lag_samples(made[:, None], sound[: len(made)])) < 100


def test_damage_in_the_middle_costs_only_what_is_damaged(folder):
    sound = noise(6, level=0.15)
    path = folder / "damaged.mp4"
    write_sound(path, sound, codec=LOSSY["mp4"])
    facts, data, whole = probe(path), bytearray(path.read_bytes()), read(path, 0, 6 * SAMPLE_RATE_HZ)
    at = len(data) // 2
    data[at : at + 3000] = bytes(3000)
    path.write_bytes(data)
    made = np.concatenate(list(read_sound(path, facts, in_seconds=Fraction(0), samples=6 * SAMPLE_RATE_HZ)))
    for first in (0, 5 * SAMPLE_RATE_HZ):
        end = first + SAMPLE_RATE_HZ
        assert abs(lag_samples(made[first:end], sound[first:end])) < 5
        assert level_db(made[first:end]) == pytest.approx(level_db(whole[first:end]), abs=0.1)


def test_sound_that_is_longer_than_its_picture_is_heard_to_its_end(folder, picture):
    sound = np.round(noise(9) * 32768).astype(np.float32) / 32768
    path = write_sound(folder / "longer.mov", sound, codec=("-c:a", "pcm_s16le"), picture=picture)
    made = read(path, Fraction(17, 2), SAMPLE_RATE_HZ)
    np.testing.assert_array_equal(made[: SAMPLE_RATE_HZ // 2], sound[17 * SAMPLE_RATE_HZ // 2 :])
    assert not made[SAMPLE_RATE_HZ // 2 :].any()


def test_a_picture_without_sound_is_silent(picture):
    assert not read(picture, Fraction(1, 2), 1000).any()


def test_resampling_adds_nothing_of_its_own(folder):
    """A tone at 44.1 kHz comes out as that tone: what is beside it is 90 dB lower."""
    path = write_sound(folder / "clean.wav", sine(2, 1000, rate_hz=44_100), rate_hz=44_100)
    made = read(path, Fraction(1, 2), SAMPLE_RATE_HZ)[:, 0].astype(np.float64)
    spectrum = np.abs(np.fft.rfft(made * np.blackman(len(made)))) ** 2
    beside = spectrum.copy()
    beside[990:1011] = 0
    assert 10 * np.log10(beside.sum() / spectrum.sum()) < -90
    assert level_db(made[:, None]) == pytest.approx(20 * np.log10(0.5 / np.sqrt(2)), abs=0.01)
