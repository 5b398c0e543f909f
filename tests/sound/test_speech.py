"""Where somebody speaks, how loud, and in how much noise: in made-up sound, and in a real voice."""

import dataclasses
from fractions import Fraction

import numpy as np
import pytest
import soxr
from hypothesis import given, settings
from hypothesis import strategies as st

from desk.assembly.survey import survey
from desk.errors import MediaError
from desk.film.lanes import spans
from desk.film.model import ClipSound, Voice, VoiceChain
from desk.film.rates import SAMPLE_RATE_HZ, Rate
from desk.jobs import Cancelled, CancelToken
from desk.sound.loudness import measure
from desk.sound.reading import read_sound
from desk.sound.speech import (
    SILENT_DBFS,
    Speech,
    SpeechFile,
    find_speech,
    find_speech_of,
    listen,
    listen_to_span,
    speech_key,
)
from tests.real_media import real_media
from tests.render.films import clip, make_film, put, scene
from tests.sound.signals import babble, level_db, noise, sine, write_sound

PAL = Rate(25)


def blocks(sound, size=4800):
    return (sound[at : at + size] for at in range(0, len(sound), size))


def silence(seconds):
    return np.zeros((round(seconds * SAMPLE_RATE_HZ), 2), np.float32)


def in_seconds(speech):
    return [(start / SAMPLE_RATE_HZ, end / SAMPLE_RATE_HZ) for start, end in speech.stretches]


def test_speech_is_found_where_it_is_and_measured_there_alone():
    spoken = babble(2), babble(1.5, seed=2)
    sound = np.concatenate([silence(2), spoken[0], silence(1), spoken[1], silence(3)])
    sound += noise(9.5, seed=9, level=0.001)
    found = listen(blocks(sound))
    for (start, end), (first, last) in zip(in_seconds(found), [(2, 4), (5, 6.5)], strict=True):
        assert first - 0.1 <= start <= first + 0.1
        assert last - 0.15 <= end <= last + 0.2
    both = measure(blocks(np.concatenate(spoken))).integrated_lufs
    assert found.loudness_lufs == pytest.approx(both, abs=0.5)
    assert found.noise_floor_dbfs == pytest.approx(-60, abs=0.5)
    assert found.speech_dbfs == pytest.approx(-20, abs=0.5)
    assert found.above_noise_db == pytest.approx(40, abs=1)
    assert found.seconds == pytest.approx(3.5, abs=0.4)


@pytest.mark.parametrize("snr_db", [30, 20, 15, 10])
def test_noise_of_a_known_distance_is_told(snr_db):
    sound = np.concatenate([silence(2), babble(3), silence(2)])
    sound += noise(7, seed=9, level=0.1 * 10 ** (-snr_db / 20))
    found = listen(blocks(sound))
    assert found.noise_floor_dbfs == pytest.approx(-20 - snr_db, abs=0.7)
    ((start, end),) = in_seconds(found)
    assert start == pytest.approx(2, abs=0.2)
    assert end == pytest.approx(5, abs=0.25)
    assert found.loudness_lufs == pytest.approx(measure(blocks(babble(3))).integrated_lufs, abs=0.7)


@pytest.mark.parametrize(
    "sound",
    [silence(3), sine(3, 400, level=0.2), noise(3, level=0.2), silence(0), silence(0.005), noise(0.05)],
    ids=["silence", "tone", "noise", "nothing", "5 ms", "50 ms"],
)
def test_what_is_steady_is_no_speech(sound):
    found = listen(blocks(sound))
    assert (found.stretches, found.loudness_lufs, found.above_noise_db) == ((), None, 0.0)
    assert found.noise_floor_dbfs == pytest.approx(
        max(level_db(sound), SILENT_DBFS) if len(sound) > 480 else SILENT_DBFS, abs=0.1
    )


def test_a_click_is_no_speech():
    sound = noise(4, level=0.001)
    sound[96_000:96_200] += 0.5
    assert listen(blocks(sound)).stretches == ()


def test_clipped_samples_are_counted_where_they_stand_side_by_side():
    sound = sine(2, 100, level=1.4)
    sound[:, 1] *= 0.5
    clipped = np.clip(sound, -1, 1)
    whole = int((np.abs(clipped[:, 0]) >= 0.999).sum())
    for size in (333, 4800, 96_000):
        assert listen(blocks(clipped, size)).clipped_samples == whole
    lonely = silence(1)
    lonely[[100, 5000, 9000]] = 1.0
    assert listen(blocks(lonely)).clipped_samples == 0


@settings(max_examples=80)
@given(st.lists(st.floats(0, 1), max_size=400), st.floats(0.01, 100))
def test_stretches_are_in_order_apart_and_the_same_however_loud(powers, factor):
    steps = np.array(powers) ** 4 + 1e-3
    found = find_speech(steps)
    edges = [edge for stretch in found for edge in stretch]
    assert edges == sorted(set(edges))
    assert not edges or (edges[0] >= 0 and edges[-1] <= len(steps))
    assert all(end - start >= 12 for start, end in found)
    assert find_speech(steps * 0.5) == found


# -- clips in use


def film_with(source, *, chain=None, **sound):
    voices = (Voice(id="v1", name="Ada"),)
    chains = (chain,) if chain else ()
    item = clip(source, 1, 100, sound=ClipSound(voice="v1", **sound))
    return make_film(PAL, scene(item, voice_chains=chains), voices=voices)


@pytest.fixture(scope="module")
def spoken(tmp_path_factory):
    sound = np.concatenate([silence(2), babble(2), silence(2)]) + noise(6, seed=9, level=0.001)
    return write_sound(tmp_path_factory.mktemp("speech") / "spoken.wav", sound)


def surveyed(film, folder):
    found = survey(put(folder, film), folder)
    return found, spans(found.film.scenes[0].content, PAL)[0]


@pytest.mark.ffmpeg
def test_a_clip_is_heard_from_its_in_point_for_its_length(project, spoken):
    found, span = surveyed(film_with(spoken), project)
    speech = listen_to_span(span, PAL, found.files[span.file], found.media[span.file])
    ((start, end),) = in_seconds(speech)
    assert (start, end) == (pytest.approx(1, abs=0.15), pytest.approx(3, abs=0.2))


@pytest.mark.ffmpeg
def test_a_clip_is_heard_through_its_chain_and_before_its_gain(project, spoken):
    chain = VoiceChain(voice="v1", low_cut_hz=400.0)
    found, span = surveyed(film_with(spoken, chain=chain, gain_db=-12.0), project)
    cut = listen_to_span(span, PAL, found.files[span.file], found.media[span.file])
    plain = listen_to_span(
        dataclasses.replace(span, chain=None, gain_db=3.0),
        PAL,
        found.files[span.file],
        found.media[span.file],
    )
    assert -3 < cut.speech_dbfs - plain.speech_dbfs < -0.1
    assert plain.speech_dbfs == pytest.approx(-20, abs=0.6)


@pytest.mark.ffmpeg
def test_what_was_found_is_kept_by_what_decides_it(project, spoken):
    found, span = surveyed(film_with(spoken), project)
    kept = SpeechFile(project)
    told = []
    find_speech_of([span], PAL, found.files, found.media, kept, progress=told.append)
    key = speech_key(span, PAL, found.media[span.file])
    speech = kept.find(key)
    assert (
        speech == SpeechFile(project).find(key) == listen_to_span(span, PAL, spoken, found.media[span.file])
    )
    assert [report.stage for report in told] == ["speech"]
    find_speech_of([span], PAL, {}, found.media, kept, progress=told.append)
    assert len(told) == 1, "it was listened to again"
    moved = dataclasses.replace(span, gain_db=6.0, start_frames=7, owner="c9", fade_in_frames=3)
    assert speech_key(moved, PAL, found.media[span.file]) == key
    for changed in (
        dataclasses.replace(span, in_seconds=Fraction(2)),
        dataclasses.replace(span, length_frames=99),
        dataclasses.replace(span, speed=Fraction(2)),
        dataclasses.replace(span, chain=VoiceChain(voice="v1", low_cut_hz=80.0)),
    ):
        assert speech_key(changed, PAL, found.media[span.file]) != key
    assert speech_key(span, PAL, dataclasses.replace(found.media[span.file], sample_hash="x")) != key


@pytest.mark.ffmpeg
def test_listening_stops_on_request_and_keeps_what_it_has(project, spoken):
    found, span = surveyed(film_with(spoken), project)
    other = dataclasses.replace(span, in_seconds=Fraction(2))
    cancel, kept = CancelToken(), SpeechFile(project)

    def stop_at_the_second(report):
        if report.fraction > 0:
            cancel.set()

    with pytest.raises(Cancelled):
        find_speech_of(
            [span, other], PAL, found.files, found.media, kept, progress=stop_at_the_second, cancel=cancel
        )
    facts = found.media[span.file]
    assert SpeechFile(project).find(speech_key(span, PAL, facts)) is not None
    assert SpeechFile(project).find(speech_key(other, PAL, facts)) is None


@pytest.mark.ffmpeg
def test_a_file_that_is_gone_is_told(project, spoken, tmp_path):
    found, span = surveyed(film_with(spoken), project)
    with pytest.raises(MediaError):
        listen_to_span(span, PAL, tmp_path / "gone.wav", found.media[span.file])


@pytest.mark.parametrize(
    "data", [b"", b"{", b'{"format": 99, "found": {}}', b'{"format": 1, "found": {"a": 3}}']
)
def test_a_damaged_file_says_nothing_and_is_made_anew(project, data):
    (project / ".desk").mkdir(parents=True)
    (project / ".desk" / "speech.json").write_bytes(data)
    kept = SpeechFile(project)
    assert kept.find("a") is None
    kept.keep({"a": Speech(stretches=((0, 480),), loudness_lufs=-20.5)})
    assert SpeechFile(project).find("a") == Speech(stretches=((0, 480),), loudness_lufs=-20.5)


# -- a real voice


@pytest.fixture(scope="module")
def voice(tmp_path_factory):
    """A real voice, 8.7 s: speech with three pauses, 34 dB above the noise of its recording."""
    path = real_media("obama_speech.mp4")
    folder = tmp_path_factory.mktemp("voice") / "project"
    found = survey(put(folder, make_film(PAL, scene(clip(path, 0, 200)))), folder)
    facts = next(iter(found.media.values()))
    samples = int(facts.sound.seconds * SAMPLE_RATE_HZ)
    return np.concatenate(list(read_sound(path, facts, in_seconds=Fraction(0), samples=samples)))


@pytest.mark.media
@pytest.mark.parametrize("snr_db", [30, 20, 15])
def test_a_real_voice_in_noise_is_found_where_it_is_found_without(voice, snr_db):
    clean = listen(blocks(voice))
    assert clean.loudness_lufs == pytest.approx(measure(blocks(voice)).integrated_lufs, abs=0.5)
    assert len(clean.stretches) == 4
    hum = noise(len(voice) / SAMPLE_RATE_HZ, seed=4, level=10 ** ((clean.speech_dbfs - snr_db) / 20))
    found = listen(blocks(voice + hum))
    assert found.noise_floor_dbfs == pytest.approx(clean.speech_dbfs - snr_db, abs=1.6)
    assert found.loudness_lufs == pytest.approx(clean.loudness_lufs, abs=0.5)
    said, heard = (np.zeros(len(voice), bool) for _ in range(2))
    for mask, speech in ((said, clean), (heard, found)):
        for start, end in speech.stretches:
            mask[start:end] = True
    assert (said & ~heard).sum() <= 0.1 * said.sum()
    assert (heard & ~said).sum() <= 0.05 * (~said).sum()


@pytest.mark.media
def test_a_real_voice_is_found_at_other_rates_too(voice):
    """Through 16 kHz and back, as a telephone gives it."""
    narrow = soxr.resample(soxr.resample(voice, 48_000, 16_000), 16_000, 48_000).astype(np.float32)
    one, other = listen(blocks(voice)), listen(blocks(narrow))
    assert len(one.stretches) == len(other.stretches)
    assert other.loudness_lufs == pytest.approx(one.loudness_lufs, abs=0.3)
