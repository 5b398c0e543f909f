"""What the tests of the Music and effects part share: a scene with music and effects, real and imagined."""

import wave
from fractions import Fraction
from pathlib import Path

import numpy as np

from desk.film.model import (
    Candidate,
    Clip,
    ClipSound,
    Cue,
    Film,
    Placement,
    Rights,
    Scene,
    SceneContent,
    Size,
    SoundKind,
    Spot,
)
from desk.film.rates import SAMPLE_RATE_HZ, Rate

CONTENT = SceneContent(
    clips=(
        Clip(id="c3", source="footage/2/a.mov", length_frames=48),
        Clip(id="c60", source="footage/2/b.mov", length_frames=48),
        Clip(id="c61", source="footage/2/c.mov", length_frames=48, sound=ClipSound(kind=SoundKind.SILENCE)),
    ),
    cues=(
        Cue(
            id="m60",
            label="m2",
            start_frames=24,
            length_frames=144,
            candidates=(
                Candidate(
                    id="a60",
                    file="music/twice b.opus",
                    rights=Rights(
                        title="Twice (b)",
                        author="Wenke Aldous",
                        licence="CC BY 4.0",
                        required_credit="“Twice (b)” by Wenke Aldous, licensed under CC BY 4.0",
                    ),
                ),
                Candidate(
                    id="a61",
                    file="music/own & old.wav",
                    in_seconds=Fraction(5, 2),
                    gain_db=-6.0,
                    fade_in_frames=4,
                    fade_out_frames=12,
                ),
            ),
        ),
    ),
    spots=(
        Spot(id="f60", file="effects/horn.wav", label="horn", start_frames=30, length_frames=24, gain_db=-12),
        Spot(id="f61", file="effects/gulls.wav", label="gulls", start_frames=60, length_frames=24),
    ),
)


def content(body):
    """The content of scene 2 as the film has it."""
    return body.bench.session.film.scene("s2").content


def there_and_back(body, check_before, check_after):
    """What was done by the person is undone and done again, and the part shows it each time."""
    check_after()
    body.bench.session.stack.undo()
    check_before()
    body.bench.session.stack.redo()
    check_after()


def write_sound(path: Path, samples: np.ndarray) -> Path:
    """Write samples between -1 and 1 as a mono file at 48 kHz."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(SAMPLE_RATE_HZ)
        file.writeframes((np.clip(samples, -1, 1) * 32767).astype("<i2").tobytes())
    return path


def tone(seconds: float, hz: float = 440.0, level: float = 0.1) -> np.ndarray:
    """A sine."""
    return level * np.sin(2 * np.pi * hz * np.arange(round(seconds * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ)


def words(seconds: float, every: float = 2.0, level: float = 0.2) -> np.ndarray:
    """Sound that counts as speech: a second of it out of every two, in soft noise."""
    time = np.arange(round(seconds * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ
    noise = np.random.default_rng(5).standard_normal(len(time)) * 0.0005
    # Syllables: four a second, as a voice has them.
    syllables = 0.5 - 0.5 * np.cos(2 * np.pi * 4 * time)
    return noise + np.where(time % every < 1.0, level * syllables, 0) * np.sin(2 * np.pi * 500 * time)


def sounding_film(**cue) -> Film:
    """A film at 25 frames a second: scene 1 with a clip of 8 s whose recording is `voice.wav`, and a cue."""
    sound = ClipSound(kind=SoundKind.SEPARATE, file="voice.wav")
    fields = {
        "start_frames": 50,
        "length_frames": 100,
        "candidates": (
            Candidate(id="a1", file="one.wav", rights=Rights(title="One", author="Wenke Aldous")),
            Candidate(id="a2", file="two.wav", gain_db=-3.0),
        ),
        "chosen": "a1",
        **cue,
    }
    one = SceneContent(
        clips=(Clip(id="c1", source="a.mov", length_frames=100, sound=sound),),
        cues=(Cue(id="m1", label="m1", **fields),),
    )
    two = SceneContent(clips=(Clip(id="c2", source="b.mov", length_frames=50),))
    return Film(
        title="The Late Ferry",
        rate=Rate(25),
        size=Size(320, 180),
        start_frames=90_000,
        scenes=(Scene(id="s1", number="1", content=one), Scene(id="s2", number="2", content=two)),
        order=(Placement(entry="s1"), Placement(entry="s2")),
        next_id=20,
    )


def put_sounds(project: Path, *, voice: bool = True) -> None:
    """Write the sounds of `sounding_film`: music of 6 s, and a voice or near silence."""
    write_sound(project / "one.wav", tone(6.0, 330, 0.2))
    write_sound(project / "two.wav", tone(6.0, 220, 0.05))
    write_sound(project / "voice.wav", words(8.0) if voice else np.zeros(8 * SAMPLE_RATE_HZ))
