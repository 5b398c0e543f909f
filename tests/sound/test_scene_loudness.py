"""How loud a scene is, against known tones and against measuring its stream."""

from fractions import Fraction

import numpy as np
import pytest

from desk.film.lanes import Span
from desk.film.rates import SAMPLE_RATE_HZ, Rate
from desk.footage.probe import probe
from desk.jobs import Cancelled, CancelToken
from desk.sound.loudness import measure
from desk.sound.loudness_files import LoudnessFiles
from desk.sound.plan import Passage, SceneSound
from desk.sound.scene_loudness import audible, measure_scene_loudness, scene_loudness_key
from desk.sound.streaming import Track, stream
from desk.sound.wave import write_wave

RATE = Rate(25)
FRAMES = 250


class Sounds:
    """Tones as files, and what was read of them."""

    def __init__(self, folder):
        self.folder, self.files, self.media = folder, {}, {}

    def add(self, name, dbfs, seconds=12, hz=1000):
        times = np.arange(round(seconds * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ
        sine = (10 ** (dbfs / 20) * np.sin(2 * np.pi * hz * times)).astype(np.float32)
        write_wave(self.folder / name, iter([np.stack([sine, sine], axis=1)]), len(sine))
        self.files[name] = self.folder / name
        self.media[name] = probe(self.folder / name)


@pytest.fixture
def sounds(tmp_path):
    made = Sounds(tmp_path)
    made.add("voice.wav", -23)
    made.add("music.wav", -37, hz=997)
    made.add("horn.wav", -30, hz=1009)
    return made


def span(kind, file, **fields):
    given = {"start_frames": 0, "length_frames": FRAMES, "in_seconds": Fraction(0)} | fields
    return Span(kind=kind, owner=f"{kind} {file}", file=file, **given)


def track_of(*spans):
    sound = SceneSound(scene="", start_frames=0, spans=spans, opening=Passage(), closing=Passage())
    return Track(sounds=(sound,), rate=RATE, frames=FRAMES)


ALL = (span("dialogue", "voice.wav"), span("music", "music.wav"), span("effects", "horn.wav"))


def test_a_scene_and_its_lanes_are_as_loud_as_their_tones(sounds):
    """EBU Tech 3341, case 1: a stereo sine of 1 kHz at -23 dBFS is -23 LUFS within 0.1."""
    alone = measure_scene_loudness(track_of(ALL[0]), sounds.files, sounds.media)
    assert alone.mix.integrated_lufs == pytest.approx(-23, abs=0.1)
    assert (alone.music_lufs, alone.music_below_voices_lu) == (None, None)
    found = measure_scene_loudness(track_of(*ALL), sounds.files, sounds.media)
    assert found.voices_lufs == pytest.approx(-23, abs=0.1)
    assert found.music_lufs == pytest.approx(-37, abs=0.1)
    assert found.music_below_voices_lu == pytest.approx(14, abs=0.1)
    # Powers of tones of other frequencies add up.
    whole = 10 * np.log10(sum(10 ** (level / 10) for level in (-23, -37, -30)))
    assert found.mix.integrated_lufs == pytest.approx(whole, abs=0.1)


def test_the_mix_is_what_is_played(sounds):
    track = track_of(*ALL, span("music", "voice.wav", start_frames=100, length_frames=50, gain_db=-6.0))
    found = measure_scene_loudness(track, sounds.files, sounds.media).mix
    wanted = measure(stream(track, sounds.files, sounds.media))
    assert found.momentary_lufs == pytest.approx(wanted.momentary_lufs, abs=0.001)
    assert found.short_term_lufs == pytest.approx(wanted.short_term_lufs, abs=0.001)
    assert found.true_peak_dbtp == pytest.approx(wanted.true_peak_dbtp, abs=0.001)
    assert found.range_lu == pytest.approx(wanted.range_lu, abs=0.01)


def test_what_was_measured_is_kept_and_a_change_is_measured_anew(sounds, tmp_path):
    (tmp_path / "film.json").touch()
    kept = LoudnessFiles(tmp_path)
    first = measure_scene_loudness(track_of(*ALL), sounds.files, sounds.media, kept=kept)
    # Found without any file.
    again = measure_scene_loudness(track_of(*ALL), {}, sounds.media, kept=kept)
    assert again.mix.integrated_lufs == first.mix.integrated_lufs
    assert again.mix.short_term_lufs.tolist() == first.mix.short_term_lufs.tolist()
    assert (again.voices_lufs, again.music_lufs) == (first.voices_lufs, first.music_lufs)
    louder = track_of(span("dialogue", "voice.wav", gain_db=6.0), *ALL[1:])
    found = measure_scene_loudness(louder, sounds.files, sounds.media, kept=kept)
    assert found.voices_lufs == pytest.approx(-17, abs=0.1)


CHANGES = {
    "gain": (span("dialogue", "voice.wav", gain_db=1.0), *ALL[1:]),
    "place": (span("dialogue", "voice.wav", start_frames=1), *ALL[1:]),
    "file": (span("dialogue", "horn.wav"), *ALL[1:]),
    "lane": (span("music", "voice.wav"), *ALL[1:]),
    "less": ALL[:2],
}


@pytest.mark.parametrize("spans", CHANGES.values(), ids=CHANGES)
def test_the_key_is_that_of_all_that_is_heard(sounds, spans):
    key = scene_loudness_key(track_of(*ALL), sounds.media)
    assert scene_loudness_key(track_of(*spans), sounds.media) != key
    assert scene_loudness_key(track_of(*ALL), dict(sounds.media)) == key


def test_what_was_not_read_is_silent(sounds):
    track = track_of(ALL[0], span("music", "gone.wav"))
    assert audible(track, sounds.media).sounds[0].spans == (ALL[0],)
    found = measure_scene_loudness(track, sounds.files, sounds.media)
    assert (found.voices_lufs, found.music_lufs) == (pytest.approx(-23, abs=0.1), None)


def test_silence_has_no_loudness(sounds):
    found = measure_scene_loudness(track_of(), sounds.files, sounds.media)
    assert (found.mix.integrated_lufs, found.mix.true_peak_dbtp, found.voices_lufs) == (None, None, None)
    assert len(found.mix.momentary_lufs) == 100


def test_it_says_how_far_it_is_and_stops_on_request(sounds, tmp_path):
    reports = []
    measure_scene_loudness(track_of(*ALL), sounds.files, sounds.media, progress=reports.append)
    assert reports[-1].fraction == 1
    assert len(reports) == 100
    cancel = CancelToken()
    cancel.set()
    kept = LoudnessFiles(tmp_path)
    with pytest.raises(Cancelled):
        measure_scene_loudness(track_of(*ALL), sounds.files, sounds.media, kept=kept, cancel=cancel)
    assert not list(tmp_path.rglob("*.loud"))
