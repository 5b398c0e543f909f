"""Music that goes down under speech, in a whole assembly as it is decoded."""

from pathlib import Path

import av
import numpy as np
import pytest

from desk.assembly.outlook import outlook
from desk.assembly.survey import survey
from desk.cards import drawing
from desk.ffmpeg.program import find_program
from desk.film.model import Candidate, ClipSound, Cue, Duck, SoundKind
from desk.film.rates import SAMPLE_RATE_HZ, Rate
from desk.film.timing import Include
from tests.making import make_numbered
from tests.render.films import SIZE, clip, make_film, run_assembly, scene
from tests.sound.signals import babble, sine, write_sound

pytestmark = pytest.mark.ffmpeg

RATE = Rate(25)
TONE_HZ = 6000


def tone_db(sound, start, end):
    """Return the level of the music's tone, which lies above all of the speech."""
    part = sound[round(start * SAMPLE_RATE_HZ) : round(end * SAMPLE_RATE_HZ), 0]
    beat = np.exp(-2j * np.pi * TONE_HZ * np.arange(len(part)) / SAMPLE_RATE_HZ)
    return 20 * np.log10(2 * abs(np.mean(part * beat)))


def decoded(path: Path):
    with av.open(str(path)) as container:
        return np.concatenate([frame.to_ndarray().T for frame in container.decode(audio=0)])


def test_music_goes_down_where_somebody_speaks(tmp_path):
    project = tmp_path / "project"
    make_numbered(tmp_path / "a.mov", rate=RATE, frames=160, size=(SIZE.width, SIZE.height))
    picture = tmp_path / "a.mov"
    quiet = np.zeros((2 * SAMPLE_RATE_HZ, 2), np.float32)
    voice = write_sound(tmp_path / "voice.wav", np.concatenate([quiet, babble(2), quiet]))
    music = write_sound(tmp_path / "music.wav", sine(7, TONE_HZ, level=0.2))
    cue = Cue(
        id="m1",
        length_frames=150,
        candidates=(Candidate(id="a1", file=str(music)),),
        chosen="a1",
        duck=Duck(depth_db=9.0, attack_ms=200.0, release_ms=300.0),
    )
    sound = ClipSound(kind=SoundKind.SEPARATE, file=str(voice))
    film = make_film(RATE, scene(clip(picture, 0, 150, sound=sound), cues=(cue,)))
    program = find_program()
    made = run_assembly(project, program, film)
    heard = decoded(made.files[0])
    open_db = tone_db(heard, 0.5, 1.5)
    assert tone_db(heard, 2.2, 3.8) - open_db == pytest.approx(-9, abs=0.5)
    assert tone_db(heard, 4.9, 5.7) - open_db == pytest.approx(0, abs=0.5)
    found = survey(made.film, project)
    told = outlook(found, project, Include.ALL, full=False, program=program, drawer=drawing)
    assert told.work.sounds == 2
    assert told.work.sounds_to_make == 0, "the outlook counts on other sound than was made"
