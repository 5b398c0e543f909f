"""A film on numbered footage for the viewer, the number that it shows, and a sound device to look into."""

import os
import shutil
from fractions import Fraction
from pathlib import Path

import numpy as np

from desk.film.model import Clip, Film, Placement, Scene, SceneContent, Size
from desk.film.rates import SAMPLE_RATE_HZ, Rate
from desk.ui.viewer.pictures import Picture
from desk.ui.viewer.player import Player
from tests.making import make_numbered, read_pictures

SIZE = Size(320, 180)
RATE = Rate(25)


def numbered_footage(factory):
    """Make two files once for a session: `a.mov` begins with number 1000, `b.mov` with 2000; with beeps."""
    base = factory.getbasetemp()
    folder = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "viewed"
    folder.mkdir(exist_ok=True)
    for name, start in (("a.mov", 1000), ("b.mov", 2000)):
        if not (folder / name).exists():
            part = folder / f"part-{os.getpid()}-{name}"
            make_numbered(part, frames=100, start=start, sound="beeps", rate=RATE)
            part.replace(folder / name)
    return folder


def put_footage(folder: Path, project: Path):
    """Put the footage into a project folder, whose film is not there yet."""
    project.mkdir(parents=True, exist_ok=True)
    for name in ("a.mov", "b.mov"):
        shutil.copyfile(folder / name, project / name)
    return project


def clip(name: str, source: str, first: int, length_frames: int, **fields) -> Clip:
    """Return a clip that begins with a frame of its source."""
    return Clip(id=name, source=source, in_seconds=RATE.seconds(first), length_frames=length_frames, **fields)


def viewed_film() -> Film:
    """Scene 1: a.mov from 10, 20 frames, black for 5, b.mov from 30, 15 frames. Scene 2: b.mov at half speed.

    Scene 1A between them is empty.
    """
    one = SceneContent(clips=(clip("c1", "a.mov", 10, 20), clip("c2", "b.mov", 30, 15, gap_frames=5)))
    two = SceneContent(clips=(clip("c3", "b.mov", 60, 30, speed=Fraction(1, 2)),))
    return Film(
        title="The Late Ferry",
        rate=RATE,
        size=SIZE,
        start_frames=90_000,
        scenes=(
            Scene(id="s1", number="1", content=one),
            Scene(id="s2", number="2", content=two),
            Scene(id="s3", number="1A", planned_frames=50),
        ),
        order=(Placement(entry="s1"), Placement(entry="s3"), Placement(entry="s2")),
        next_id=20,
    )


FRAMES_1, FRAMES_2, EMPTY_FRAMES = 40, 30, 50


def number_at(frame: int) -> int | None:
    """Return the number that scene 1 has to show at a frame, or None for black."""
    if frame < 20:
        return 1010 + frame
    return None if frame < 25 else 2030 + frame - 25


def number_of(picture: Picture | None) -> int | None:
    """Return the number in a picture, or None for one that is black."""
    if picture is None or picture.pixels is None or not picture.pixels[..., :3].any():
        return None
    return read_pictures([picture.pixels[..., 1]])[0].number


def wait_for_media(bench, qtbot) -> None:
    """Wait until the bench knows its media."""
    bench.media.look()
    qtbot.waitUntil(lambda: bool(bench.media.facts), timeout=20_000)


def wait_for_frame(player: Player, qtbot, frame: int) -> Picture:
    """Wait until a frame is shown as what is looked at is now, and return its picture."""

    def is_there() -> bool:
        picture = player.picture
        return picture is not None and picture.frame == frame and picture.subject is player.subject

    qtbot.waitUntil(is_there, timeout=20_000)
    assert player.picture is not None
    return player.picture


class SteppedClock:
    """A machine's clock that goes on only when it is told to."""

    def __init__(self) -> None:
        self.seconds = 0.0

    def __call__(self) -> float:
        return self.seconds

    def pass_frames(self, frames: float) -> None:
        """Let so many frames pass, and a millionth of a second, since seconds are rounded."""
        self.seconds += frames / 25 + 1e-6


class Device:
    """A sound device that keeps what it is given, and plays at the pace of a clock."""

    def __init__(self, now, *, room_seconds: float = 0.3, pace: float = 1.0) -> None:
        self._now = now
        self._room_samples = round(room_seconds * SAMPLE_RATE_HZ)
        self._pace = pace
        self._started: float | None = None
        self._stands_at: float | None = None
        self.given: list[np.ndarray] = []
        self._given_samples = 0
        self.gain = 1.0
        self.is_lost = False
        self.is_outdated = False
        self.is_closed = False
        self.starts = 0

    @property
    def samples(self) -> np.ndarray:
        """All that was given since the last start."""
        return np.concatenate(self.given) if self.given else np.zeros((0, 2), np.float32)

    @property
    def heard_samples(self) -> int:
        if self._started is None:
            return 0
        now = self._now() if self._stands_at is None else self._stands_at
        passed = int((now - self._started) * self._pace * SAMPLE_RATE_HZ)
        return min(passed, self._given_samples)

    def stand_still(self) -> None:
        """Play nothing from now on, and say nothing of it."""
        self._stands_at = self._now()

    def start(self) -> None:
        self.starts += 1
        self._started = self._now()
        self.given, self._given_samples = [], 0

    def stop(self) -> None:
        self._started = None

    def room_samples(self) -> int:
        if self._started is None or self.is_lost:
            return 0
        return max(0, self._room_samples + self.heard_samples - self._given_samples)

    def give(self, samples: np.ndarray) -> None:
        assert len(samples) <= self.room_samples()
        self.given.append(samples)
        self._given_samples += len(samples)

    def set_gain(self, gain: float) -> None:
        self.gain = gain

    def close(self) -> None:
        self.is_closed = True
