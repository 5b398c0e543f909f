"""Levelling: after the gains that are proposed, voices and music measure what was asked for."""

from fractions import Fraction

import numpy as np
import pytest

from desk.assembly.survey import survey
from desk.film import edits
from desk.film.model import (
    Candidate,
    ClipSound,
    Compression,
    Cue,
    Delivery,
    Duck,
    MusicPart,
    SoundKind,
    Spot,
    Voice,
    VoiceChain,
)
from desk.film.rates import SAMPLE_RATE_HZ, Rate
from desk.jobs import Cancelled, CancelToken
from desk.sound.levelling import (
    PEAK_CEILING_DBTP,
    Limit,
    levels_of,
    levels_of_film,
    measure_film,
    measure_scene,
    propose_gain,
)
from desk.sound.loudness import measure
from desk.sound.speech import Speech
from desk.sound.streaming import stream, track_of_scene
from tests.real_media import real_media
from tests.render.films import SILENT, clip, make_film, put, scene
from tests.sound.signals import babble, noise, write_sound

pytestmark = pytest.mark.ffmpeg

PAL = Rate(25)
VOICES = (Voice(id="v1", name="Ada"), Voice(id="v2", name="Ben"))


def quiet(seconds):
    return np.zeros((round(seconds * SAMPLE_RATE_HZ), 2), np.float32)


@pytest.fixture(scope="module")
def sounds(tmp_path_factory):
    """Voices of different loudness, in little and in much noise, clipped; music; an empty room."""
    folder = tmp_path_factory.mktemp("levels")
    room = noise(6, seed=7, level=0.0002)

    def speaking(level, seed):
        return np.concatenate([quiet(1), babble(4, seed=seed, level=level), quiet(1)]) + room

    made = {
        "loud": speaking(0.12, 1),
        "soft": speaking(0.01, 2),
        "noisy": speaking(0.05, 3) + noise(6, seed=8, level=0.012),
        "clipped": np.clip(speaking(0.12, 4) * 8, -1, 1),
        "crackling": speaking(0.001, 5),
        "hiss": noise(6, seed=9, level=0.1),
        "room": room,
        "music": noise(20, seed=10, level=0.1),
    }
    made["crackling"][200_000] += 0.9
    return {name: write_sound(folder / f"{name}.wav", sound) for name, sound in made.items()}


def speaks(source, voice="v1", **sound):
    return clip(source, 0, 150, sound=ClipSound(voice=voice, **sound))


def cue(file, *, under=None, gain_db=0.0, parts=(), start=0, length=150, name="m1", duck=None):
    candidate = Candidate(
        id=f"a{name}", file=str(file), gain_db=gain_db, under_voices_lu=under, parts=parts, fade_in_frames=9
    )
    return Cue(
        id=name,
        start_frames=start,
        length_frames=length,
        candidates=(candidate,),
        chosen=candidate.id,
        duck=duck,
    )


def opened(project, *scenes, **fields):
    film = put(project, make_film(PAL, *scenes, voices=VOICES, **fields))
    return film, survey(film, project)


def measured(project, *scenes, **fields):
    film, found = opened(project, *scenes, **fields)
    return film, found, measure_scene(film, film.scenes[0], found.files, found.media, project)


def test_voices_are_brought_to_the_target_and_measure_it_afterwards(project, sounds):
    chain = VoiceChain(voice="v2", low_cut_hz=120.0, compression=Compression.FIRM)
    item = scene(
        speaks(sounds["loud"], gain_db=-3.0),
        speaks(sounds["soft"], "v2"),
        voice_chains=(chain,),
        voices_offset_lu=-2.0,
    )
    film, found, levels = measured(project, item, delivery=Delivery(voices_lufs=-24.0))
    assert levels.target_lufs == -26.0
    assert [level.limit for level in levels.clips] == [None, None]
    assert [level.voice for level in levels.voices] == ["v1", "v2"]
    assert levels.voices[0].loudness_lufs == pytest.approx(levels.clips[0].loudness_lufs)
    after = edits.set_levels(film, {film.scenes[0].id: levels_of(levels)}).after
    track = track_of_scene(after.scenes[0].content, PAL)
    heard = np.concatenate(list(stream(track, found.files, found.media)))
    for start in (0, 6):
        part = heard[(start + 1) * SAMPLE_RATE_HZ : (start + 5) * SAMPLE_RATE_HZ]
        assert measure([part]).integrated_lufs == pytest.approx(-26, abs=0.5)
    again = measure_scene(after, after.scenes[0], found.files, found.media, project)
    assert not again.changes
    assert again.voices_lufs == pytest.approx(-26, abs=0.06)


def test_what_can_t_be_reached_is_told_and_why(project, sounds):
    item = scene(
        speaks(sounds["crackling"]),
        speaks(sounds["hiss"], gain_db=2.0),
        speaks(sounds["room"], gain_db=1.0),
        speaks(sounds["clipped"], gain_db=-9.0),
        speaks(sounds["noisy"]),
        clip(sounds["loud"], 0, 150, sound=ClipSound()),
        clip(sounds["loud"], 0, 150, sound=SILENT),
    )
    _, _, levels = measured(project, item)
    peaky, hiss, room, clipped, noisy, nobody = levels.clips
    assert peaky.limit is Limit.WOULD_CLIP
    assert peaky.reached_lufs < levels.target_lufs
    assert PEAK_CEILING_DBTP - 0.1 <= peaky.speech.peak_dbtp + peaky.proposed_db <= PEAK_CEILING_DBTP
    assert "Louder than that its peaks would go above −3 dBTP." in peaky.told
    assert (hiss.limit, hiss.proposed_db) == (Limit.TOO_NOISY, 2.0)
    assert hiss.told == ("Nothing stands out of its noise of −20 dBFS, so its gain stays.",)
    assert (room.limit, room.proposed_db) == (Limit.NO_SPEECH, 1.0)
    assert clipped.limit is None
    assert clipped.told == (f"{clipped.speech.clipped_samples:,} samples of its recording are clipped.",)
    assert noisy.limit is None
    assert noisy.told == ("Its voice stands only 12 dB above the noise.",)
    assert (nobody.limit, nobody.proposed_db) == (Limit.NOBODY, 0.0)
    assert set(levels_of(levels)["clips"]) == {peaky.clip, clipped.clip, noisy.clip}


def test_where_nobody_is_named_all_speech_is_levelled(project, sounds):
    _, _, levels = measured(project, scene(clip(sounds["loud"], 0, 150, sound=ClipSound())))
    (level,) = levels.clips
    assert level.limit is None
    assert level.reached_lufs == pytest.approx(-23, abs=0.06)


@pytest.mark.parametrize(
    ("loudness", "peak", "gain", "limit"),
    [
        (-30.0, -20.0, 7.0, None),
        (-23.0, -8.0, 0.0, None),
        (-12.0, -0.5, -11.0, None),
        (-40.0, -15.04, 12.0, Limit.WOULD_CLIP),
        (-60.0, -50.0, 24.0, Limit.TOO_FAR),
        (5.0, 6.0, -24.0, Limit.TOO_FAR),
        (-60.0, -20.0, 17.0, Limit.WOULD_CLIP),
    ],
)
def test_gains_by_hand(loudness, peak, gain, limit):
    """Target -23 LUFS; computed by hand from target - loudness, the ceiling of -3 dBTP and 24 dB."""
    assert propose_gain(Speech(loudness_lufs=loudness, peak_dbtp=peak, stretches=((0, 1),)), -23.0) == (
        gain,
        limit,
    )


def test_music_is_brought_to_its_place_below_the_voices(project, sounds):
    item = scene(
        speaks(sounds["loud"]),
        cues=(
            cue(sounds["music"], under=12.0, gain_db=-2.0, duck=Duck()),
            cue(sounds["music"], gain_db=-7.0, name="m2"),
        ),
    )
    film, found, levels = measured(project, item)
    under, by_ear = levels.music
    now = measure([noise(20, seed=10, level=0.1)[: 6 * SAMPLE_RATE_HZ]]).integrated_lufs
    assert under.loudness_lufs == pytest.approx(now - 2, abs=0.1)
    assert under.below_voices_lu == pytest.approx(levels.voices_lufs - (now - 2), abs=0.1)
    assert under.proposed_db == pytest.approx(-23 - 12 - now, abs=0.11)
    assert by_ear.proposed_db == -7.0
    after = edits.set_levels(film, {film.scenes[0].id: levels_of(levels)}).after
    again = measure_scene(after, after.scenes[0], found.files, found.media, project)
    assert again.music[0].below_voices_lu == pytest.approx(12, abs=0.1)
    assert not again.changes


def test_music_is_measured_over_its_cue_with_its_parts(project, sounds, tmp_path):
    steps = np.concatenate([noise(4, seed=11, level=0.01), noise(4, seed=12, level=0.1)])
    file = write_sound(tmp_path / "steps.wav", steps)
    loud = MusicPart(in_seconds=Fraction(5), length_seconds=Fraction(2))
    item = scene(
        clip(sounds["room"], 0, 150, sound=SILENT),
        cues=(cue(file, length=75), cue(file, parts=(loud, loud), length=75, name="m2")),
        spots=(Spot(id="f1", file=str(file), start_frames=0, length_frames=9),),
    )
    _, _, levels = measured(project, item)
    assert levels.clips == levels.voices == ()
    assert levels.voices_lufs is levels.music[0].below_voices_lu is None
    soft, loud = levels.music
    assert loud.loudness_lufs - soft.loudness_lufs == pytest.approx(20, abs=0.3)


def test_a_film_is_levelled_in_one_step_without_its_locked_scenes(project, sounds):
    scenes = (
        scene(speaks(sounds["loud"])),
        scene(speaks(sounds["soft"])),
        scene(speaks(sounds["loud"])),
        scene(speaks(sounds["room"])),
    )
    film, found = opened(project, *scenes)
    film = edits.lock(film, film.scenes[1].id, "2026-11-25", (), reason="for the test").after
    measured_scenes = measure_film(film, found.files, found.media, project)
    levels = levels_of_film(film, measured_scenes)
    ids = [item.id for item in film.scenes]
    assert set(levels.levels) == {ids[0], ids[2]}
    assert levels.locked == (f"scene {film.scenes[1].number}",)
    assert levels.level == (f"scene {film.scenes[3].number}",)
    edit = edits.set_levels(film, levels.levels)
    assert edit.text == "Level 2 scenes"
    gains = [item.content.clips[0].sound.gain_db for item in edit.after.scenes]
    assert gains[0] == gains[2] != 0 == gains[1] == gains[3]


def test_what_was_measured_is_not_measured_again(project, sounds):
    item = scene(speaks(sounds["loud"]), cues=(cue(sounds["music"], under=9.0),))
    film, found = opened(project, item)
    told = []
    first = measure_scene(film, film.scenes[0], found.files, found.media, project, progress=told.append)
    assert [report.fraction for report in told] == [0, 0.5]
    again = measure_scene(film, film.scenes[0], found.files, found.media, project, progress=told.append)
    assert len(told) == 2
    assert again == first


def test_measuring_stops_on_request(project, sounds):
    film, found = opened(project, scene(speaks(sounds["loud"])))
    cancel = CancelToken()
    cancel.set()
    with pytest.raises(Cancelled):
        measure_scene(film, film.scenes[0], found.files, found.media, project, cancel=cancel)


def test_a_recording_that_is_gone_is_told(project, sounds):
    apart = ClipSound(kind=SoundKind.SEPARATE, file=str(sounds["soft"]), voice="v1", gain_db=-1.0)
    film, found = opened(project, scene(clip(sounds["loud"], 0, 150, sound=apart)))
    files = {path: file for path, file in found.files.items() if "soft" not in path}
    levels = measure_scene(film, film.scenes[0], files, found.media, project)
    assert levels.clips[0].limit is Limit.UNREADABLE
    assert levels_of(levels) == {"clips": {}, "candidates": {}}


@pytest.mark.media
def test_a_real_voice_comes_to_its_target(project):
    path = real_media("obama_speech.mp4")
    film, found = opened(project, scene(clip(path, 0, 200, sound=ClipSound(voice="v1"))))
    levels = measure_scene(film, film.scenes[0], found.files, found.media, project)
    after = edits.set_levels(film, {film.scenes[0].id: levels_of(levels)}).after
    track = track_of_scene(after.scenes[0].content, PAL)
    heard = measure(stream(track, found.files, found.media))
    # The whole is softer by what its pauses add at the edges of words.
    assert heard.integrated_lufs == pytest.approx(-23, abs=0.5)
    assert heard.true_peak_dbtp <= PEAK_CEILING_DBTP
    assert levels.clips[0].told == ()
