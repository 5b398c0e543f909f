"""Films whose scenes sound like known tones, and their sounds as files."""

from pathlib import Path

import numpy as np

from desk.film.model import (
    Candidate,
    Clip,
    ClipSound,
    Cue,
    Film,
    Placement,
    Scene,
    SceneContent,
    Size,
    SoundKind,
)
from desk.film.rates import SAMPLE_RATE_HZ, Rate
from desk.sound.wave import write_wave

RATE = Rate(25)


def tone(dbfs: float, seconds: float, hz: float = 1000) -> np.ndarray:
    """Return a stereo sine, as in EBU Tech 3341."""
    times = np.arange(round(seconds * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ
    sine = 10 ** (dbfs / 20) * np.sin(2 * np.pi * hz * times)
    return np.stack([sine, sine], axis=1).astype(np.float32)


def write_tone(path: Path, *parts: tuple[float, float], hz: float = 1000) -> None:
    """Write tones that follow each other: level in dBFS and seconds of each."""
    samples = np.concatenate([tone(dbfs, seconds, hz) for dbfs, seconds in parts])
    write_wave(path, iter([samples]), len(samples))


def voiced(number: int, file: str, frames: int, music: str = "") -> Scene:
    """Return a scene of one clip with a separate sound, and perhaps music."""
    clip = Clip(
        id=f"c{number}",
        source="picture.mov",
        length_frames=frames,
        sound=ClipSound(kind=SoundKind.SEPARATE, file=file),
    )
    candidate = Candidate(id=f"a{number}", file=music)
    cue = Cue(id=f"m{number}", length_frames=frames, candidates=(candidate,), chosen=candidate.id)
    content = SceneContent(clips=(clip,), cues=(cue,) if music else ())
    return Scene(id=f"s{number}", number=str(number), content=content)


def film_of(*scenes: Scene) -> Film:
    """Return a film of scenes at 25 frames a second."""
    return Film(
        title="The Late Ferry",
        rate=RATE,
        size=Size(64, 36),
        start_frames=90_000,
        scenes=scenes,
        order=tuple(Placement(entry=scene.id) for scene in scenes),
        next_id=50,
    )
