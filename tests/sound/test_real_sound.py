"""Real voices and real music through the whole chain: at the target and below the ceiling as decoded.

The footage is fetched from public packages (see `tests.real_media`); where it can't be, the test is skipped.
"""

from fractions import Fraction

import numpy as np
import pyloudnorm
import pytest

from desk.ffmpeg.program import find_program
from desk.film.model import Candidate, ClipSound, Compression, Cue, Delivery
from desk.film.rates import SAMPLE_RATE_HZ, Rate
from desk.sound.loudness import measure
from tests.real_media import real_media
from tests.render.films import SILENT, clip, make_film, run_assembly, scene, sound_of
from tests.sound.bs1770 import in_blocks, true_peak_db

pytestmark = [pytest.mark.ffmpeg, pytest.mark.media]

RATE = Rate(25)


@pytest.mark.parametrize(
    "delivery",
    [
        Delivery(),
        Delivery(integrated_lufs=-23.0, compression=Compression.GENTLE),
        Delivery(integrated_lufs=-24.0, true_peak_dbtp=-2.0, compression=Compression.FIRM),
    ],
    ids=["online", "R 128", "A85"],
)
def test_real_voices_and_music_reach_their_target(tmp_path, delivery):
    """Within 0.3 LU by FFmpeg and pyloudnorm; below the ceiling by FFmpeg and, within 0.1 dB, by scipy."""
    speech, music = real_media("obama_speech.mp4"), real_media("bigbuckbunny.mp4")
    under = Candidate(id="a1", file=str(music), gain_db=-6)
    cue = Cue(id="m1", start_frames=20, length_frames=80, candidates=(under,), chosen="a1")
    spoken = clip(speech, Fraction(1, 2), 110, sound=ClipSound())
    film = make_film(
        RATE,
        scene(spoken, cues=(cue,)),
        scene(clip(music, Fraction(1, 2), 100, sound=ClipSound()), clip(speech, 0, 25, sound=SILENT)),
        delivery=delivery,
    )
    made = run_assembly(tmp_path / "project", find_program(), film)
    heard = sound_of(made.files[0])[: RATE.samples(made.frames)]
    found = measure(in_blocks(heard))
    assert found.integrated_lufs == pytest.approx(delivery.integrated_lufs, abs=0.3)
    other = pyloudnorm.Meter(SAMPLE_RATE_HZ, filter_class="DeMan").integrated_loudness(
        heard.astype(np.float64)
    )
    assert other == pytest.approx(delivery.integrated_lufs, abs=0.3)
    assert found.true_peak_dbtp <= delivery.true_peak_dbtp
    assert true_peak_db(heard) <= delivery.true_peak_dbtp + 0.1
    first, second = made.levels
    assert first.music_below_voices_lu is not None
    assert second.voices_lufs is not None
    assert second.music_below_voices_lu is None
