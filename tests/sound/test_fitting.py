"""Music made longer or shorter: it fills its length exactly, keeps its beat, and does not click."""

import itertools
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from desk.assembly.survey import survey
from desk.errors import MediaError
from desk.film import edits
from desk.film.lanes import spans
from desk.film.model import Candidate, Cue
from desk.film.rates import SAMPLE_RATE_HZ, Rate
from desk.jobs import Cancelled, CancelToken
from desk.sound.fitting import STEP_SAMPLES, arrange, find_seams, fit_music
from desk.sound.stems import SEAM_SAMPLES
from desk.sound.streaming import stream, track_of_scene
from tests.render.films import SILENT, clip, make_film, put, scene
from tests.sound.signals import noise, write_sound

BEAT_SECONDS = 0.5
BAR_SECONDS = 2.0
TUNE = (220.0, 262.0, 330.0, 392.0, 440.0, 330.0, 294.0, 247.0)


def played(bars, *, seed=1):
    """Four beats a bar with a drum on each, a tone that follows a tune of two bars, and a little noise."""
    samples = round(bars * BAR_SECONDS * SAMPLE_RATE_HZ)
    at = np.arange(samples) / SAMPLE_RATE_HZ
    beat = (at / BEAT_SECONDS).astype(int)
    since = at - beat * BEAT_SECONDS
    hz = np.array(TUNE)[beat % len(TUNE)]
    tone = 0.2 * np.sin(2 * np.pi * hz * since) * np.minimum(since / 0.005, 1) * np.exp(-2 * since)
    drum = 0.3 * np.sin(2 * np.pi * 80 * since) * np.exp(-20 * since)
    made = (tone + drum)[:, None] + noise(samples / SAMPLE_RATE_HZ, seed=seed, level=0.001)
    return made.astype(np.float32)


def mono(sound):
    return sound.mean(axis=1)


def test_beats_and_places_that_sound_alike_are_found():
    seams, beat = find_seams(mono(played(12)))
    assert beat == pytest.approx(BEAT_SECONDS, abs=0.011)
    assert seams[0].alike > 0.8
    tune = 2 * BAR_SECONDS * SAMPLE_RATE_HZ
    for seam in seams[:20]:
        apart = (seam.late - seam.early) / tune
        assert apart == pytest.approx(round(apart), abs=2 * STEP_SAMPLES / tune), "not a whole tune apart"


@pytest.mark.parametrize("bars", [5.0, 7.3, 9.99, 12.0, 12.6, 17.5, 24.0, 61.7])
def test_the_length_is_exact_and_the_tune_goes_on_at_each_seam(bars):
    music = mono(played(12))
    wanted = round(bars * BAR_SECONDS * SAMPLE_RATE_HZ)
    ranges, alike = arrange(music, wanted, find_seams(music)[0])
    assert sum(end - start for start, end in ranges) == wanted
    assert all(0 <= start < end <= len(music) for start, end in ranges)
    tune = round(2 * BAR_SECONDS * SAMPLE_RATE_HZ)
    for (_, leave), (go_on, _) in itertools.pairwise(ranges):
        off = (leave - go_on) % tune
        assert min(off, tune - off) <= 240, "the beat is off by more than 5 ms"
    assert (alike is None) == (len(ranges) == 1)
    assert bars <= 12 or alike > 0.5


@settings(max_examples=40, deadline=None)
@given(st.floats(0.01, 8), st.sampled_from(["tune", "noise", "silence"]), st.integers(0, 5))
def test_any_music_fills_any_length(share, kind, seed):
    seconds = 6
    music = {
        "tune": lambda: mono(played(3, seed=seed)),
        "noise": lambda: mono(noise(seconds, seed=seed)),
        "silence": lambda: np.zeros(seconds * SAMPLE_RATE_HZ, np.float32),
    }[kind]()
    wanted = max(1, round(len(music) * share))
    ranges, _ = arrange(music, wanted, find_seams(music)[0])
    assert sum(end - start for start, end in ranges) == wanted
    assert all(0 <= start < end <= len(music) for start, end in ranges)
    assert ranges[0][0] == 0


# -- with files


PAL = Rate(25)
NTSC = Rate(30000, 1001)


@pytest.fixture(scope="module")
def tune(tmp_path_factory):
    folder = tmp_path_factory.mktemp("tune")
    return write_sound(folder / "tune.wav", np.concatenate([played(1, seed=3) * 0, played(8)]))


def film_with(tune, rate, frames):
    music = Cue(
        id="m1",
        length_frames=frames,
        candidates=(Candidate(id="a1", file=str(tune), in_seconds=Fraction(2)),),
        chosen="a1",
    )
    return make_film(rate, scene(clip(tune, 0, frames, sound=SILENT), cues=(music,)))


@pytest.mark.ffmpeg
@pytest.mark.parametrize("rate", [PAL, NTSC], ids=str)
@pytest.mark.parametrize("seconds", [11, 23, 41])
def test_a_cue_with_fitted_music_does_not_click(project, tune, rate, seconds):
    frames = round(seconds * rate.fraction)
    film = put(project, film_with(tune, rate, frames))
    found = survey(film, project)
    path = film.scenes[0].content.cues[0].candidates[0].file
    fitted = fit_music(found.files[path], found.media[path], Fraction(2), rate.seconds(frames))
    assert sum(part.length_seconds for part in fitted.parts) == rate.seconds(frames)
    after = edits.edit_candidate(film, film.scenes[0].id, "m1", "a1", parts=fitted.parts).after
    content = after.scenes[0].content
    (span,) = [span for span in spans(content, rate) if span.kind == "music"]
    heard = np.concatenate(list(stream(track_of_scene(content, rate), found.files, found.media)))[:, 0]
    whole = played(8)[:, 0]
    # Nothing jumps further from sample to sample than it does in the music itself.
    assert np.abs(np.diff(heard)).max() <= 1.5 * np.abs(np.diff(whole)).max()
    # Above 6 kHz the music has next to nothing, and a click would.
    at, clicks = 0, []
    for part in span.parts[:-1]:
        at += round(part.length_seconds * SAMPLE_RATE_HZ)
        clicks.append(high_db(heard[at - SEAM_SAMPLES : at + SEAM_SAMPLES]))
    usual = [high_db(whole[place : place + 2 * SEAM_SAMPLES]) for place in range(0, len(whole) - 9600, 4800)]
    assert all(click < max(usual) + 1 for click in clicks)
    assert len(span.parts) > 1


def high_db(part):
    """The level above 6 kHz."""
    spectrum = np.abs(np.fft.rfft(part * np.hanning(len(part))))
    high = spectrum[np.fft.rfftfreq(len(part), 1 / SAMPLE_RATE_HZ) > 6000]
    return 10 * np.log10(np.mean(high**2) + 1e-12)


@pytest.mark.ffmpeg
def test_progress_cancelling_and_music_that_is_not_there(project, tune):
    found = survey(put(project, film_with(tune, PAL, 100)), project)
    ((path, facts),) = [(path, facts) for path, facts in found.media.items() if path.endswith("tune.wav")]
    told = []
    fit_music(found.files[path], facts, Fraction(2), Fraction(9), progress=told.append)
    fractions = [report.fraction for report in told]
    assert fractions == sorted(fractions)
    assert 0 < fractions[0] <= fractions[-1] <= 1
    cancel = CancelToken()
    cancel.set()
    with pytest.raises(Cancelled):
        fit_music(found.files[path], facts, Fraction(2), Fraction(9), cancel=cancel)
    with pytest.raises(MediaError, match="has no sound from there on"):
        fit_music(found.files[path], facts, Fraction(99), Fraction(9))
    with pytest.raises(MediaError, match="is too short to be repeated for that long"):
        fit_music(found.files[path], facts, Fraction(35, 2), Fraction(9))
