"""Scenes in which somebody speaks, with real files: made once, put into each project folder."""

import os
import shutil
from pathlib import Path

import numpy as np

from desk.film.model import (
    Candidate,
    Clip,
    ClipSound,
    Cue,
    Duck,
    Film,
    Placement,
    Scene,
    SceneContent,
    Size,
    SoundKind,
    Voice,
)
from desk.film.rates import SAMPLE_RATE_HZ, Rate
from tests.making import make_numbered
from tests.sound.signals import babble, noise, write_sound

RATE = Rate(25)
FRAMES = 75
VOICES = (Voice(id="v1", name="Ada"), Voice(id="v2", name="Ben"))
DUCK = Duck(depth_db=12.0, attack_ms=40.0, release_ms=80.0)


def spoken_sounds(factory) -> Path:
    """Make sounds once for a session: `loud`, `soft`, `noisy`, `clipped` speech, `room`, `music`."""
    base = factory.getbasetemp()
    folder = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "spoken"
    folder.mkdir(exist_ok=True)
    pause = np.zeros((SAMPLE_RATE_HZ // 2, 2), np.float32)
    room = noise(3, seed=9, level=0.0002)

    def speaking(level: float, seed: int) -> np.ndarray:
        return np.concatenate([pause, babble(2, seed=seed, level=level), pause]) + room

    made = {
        "loud.wav": speaking(0.12, 1),
        "soft.wav": speaking(0.015, 2),
        "noisy.wav": speaking(0.05, 3) + noise(3, seed=8, level=0.01),
        "clipped.wav": np.clip(speaking(0.12, 4) * 8, -1, 1),
        "room.wav": room,
        "music.wav": noise(10, seed=5, level=0.05),
    }
    for name, sound in made.items():
        if not (folder / name).exists():
            part = write_sound(folder / f"part-{os.getpid()}-{name}", sound.astype(np.float32))
            part.replace(folder / name)
    if not (folder / "picture.mov").exists():
        part = folder / f"part-{os.getpid()}-picture.mov"
        make_numbered(part, frames=FRAMES, rate=RATE)
        part.replace(folder / "picture.mov")
    return folder


def put_sounds(folder: Path, project: Path) -> Path:
    """Put all of them into a project folder, whose film is not there yet."""
    project.mkdir(parents=True, exist_ok=True)
    for path in folder.iterdir():
        if not path.name.startswith("part-"):
            shutil.copyfile(path, project / path.name)
    return project


def says(name: str, file: str, voice: str = "", gain_db: float = 0.0) -> Clip:
    """Return a clip of three seconds with a sound of those."""
    sound = ClipSound(kind=SoundKind.SEPARATE, file=file, voice=voice, gain_db=gain_db)
    return Clip(id=name, source="picture.mov", length_frames=FRAMES, sound=sound)


def music(*, duck: Duck | None = DUCK, under: float | None = None) -> Cue:
    """Return a cue over two clips."""
    tried = Candidate(id="a1", file="music.wav", under_voices_lu=under)
    return Cue(id="m1", label="m1", length_frames=2 * FRAMES, candidates=(tried,), chosen="a1", duck=duck)


def spoken_film(*contents: SceneContent, voices: tuple[Voice, ...] = VOICES) -> Film:
    """Return a film whose scenes, s1, s2 and so on, have these contents."""
    scenes = tuple(
        Scene(id=f"s{number}", number=str(number), content=content)
        for number, content in enumerate(contents, start=1)
    )
    return Film(
        title="The Late Ferry",
        rate=RATE,
        size=Size(320, 180),
        start_frames=90_000,
        scenes=scenes,
        order=tuple(Placement(entry=scene.id) for scene in scenes),
        voices=voices,
        next_id=20,
    )
