"""How fast this machine assembles a film: measured by each assembly, for the outlook on the next.

Two figures for each kind of copy: what a frame of picture takes that is made, and what each frame of the film
takes besides, made or not (its sound, and putting the copy together). They are kept in `.desk/speed.json`;
losing it costs nothing but the estimate.
"""

import contextlib
import hashlib
import math
import os
import platform
from dataclasses import dataclass
from pathlib import Path

import msgspec

from desk.errors import FilmFileError, OutputError
from desk.files import write_whole
from desk.film.model import Size
from desk.render.encoding import FULL, Encoding
from desk.store.folder import desk_folder, make_inside, read_regular

SPEED_FORMAT = 1

LEAST_MADE_FRAMES = 50
"""Fewer frames of picture say more about starting ffmpeg than about its speed."""

_NEWS_SHARE = 0.5
"""How much a measured run counts beside all those before it."""

# What a machine takes that has not been measured, in seconds of one core for a million pixels of copy. A
# review copy: half as long again as tests/benchmark.py takes on two cores with 1080p H.264, as a guess should
# rather be too long. A full one takes the processor twice as long, measured with the demo film.
_GUESSED_REVIEW_SECONDS, _GUESSED_FULL_SECONDS = 0.05, 0.1
_GUESSED_REST_SECONDS = 0.0005


@dataclass(frozen=True, slots=True, kw_only=True)
class Speed:
    """What an assembly takes on this machine.

    Attributes:
        picture_seconds: For a frame of picture that is made, or None where none was measured.
        rest_seconds: For a frame of the film, besides, or None where it was not measured.
    """

    picture_seconds: float | None = None
    rest_seconds: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """An assembly that was measured.

    Attributes:
        made_frames: Frames of picture that were made.
        film_frames: Running time.
        seconds: How long it took.
    """

    made_frames: int
    film_frames: int
    seconds: float


@dataclass(frozen=True, slots=True)
class Estimate:
    """About how long an assembly takes.

    Attributes:
        seconds: How long.
        is_measured: Whether earlier assemblies of the film on this machine say so; else it is a guess.
    """

    seconds: float
    is_measured: bool


def learned(before: Speed, run: Run) -> Speed:
    """Return what is known of the speed after another run.

    A run in which hardly anything was made tells what the film takes besides; any other tells what a frame of
    picture takes, beyond that.

    Args:
        before: What was known.
        run: What was measured.
    """
    if run.film_frames <= 0 or run.seconds < 0:
        return before
    if run.made_frames == 0:
        rest = _blended(before.rest_seconds, run.seconds / run.film_frames)
        return Speed(picture_seconds=before.picture_seconds, rest_seconds=rest)
    if run.made_frames < LEAST_MADE_FRAMES:
        return before
    besides = run.film_frames * _or(before.rest_seconds, _GUESSED_REST_SECONDS)
    picture = max(0.0, run.seconds - besides) / run.made_frames
    return Speed(picture_seconds=_blended(before.picture_seconds, picture), rest_seconds=before.rest_seconds)


def estimate(
    speed: Speed, *, made_frames: int, film_frames: int, size: Size, encoding: Encoding, workers: int
) -> Estimate:
    """Return about how long an assembly takes.

    Args:
        speed: What is known of the machine.
        made_frames: Frames of picture to make.
        film_frames: Running time.
        size: Frame size of the copy.
        encoding: How its picture is encoded.
        workers: How many pieces are made at once.
    """
    million = size.width * size.height / 1e6
    guess = (_GUESSED_FULL_SECONDS if encoding == FULL else _GUESSED_REVIEW_SECONDS) * million / workers
    seconds = made_frames * _or(speed.picture_seconds, guess)
    seconds += film_frames * _or(speed.rest_seconds, _GUESSED_REST_SECONDS)
    deciding = speed.picture_seconds if made_frames else speed.rest_seconds
    return Estimate(seconds, is_measured=deciding is not None)


def about(seconds: float) -> str:
    """Return a length of time as a person says it, no finer than an estimate can be: `about 2 minutes`."""
    if seconds < 10:
        return "a few seconds"
    if seconds < 45:
        return f"about {math.ceil(seconds / 10) * 10} seconds"
    if seconds < 90:
        return "about a minute"
    minutes = round(seconds / 60)
    if minutes <= 20:
        return f"about {minutes} minutes"
    if minutes < 55:
        return f"about {round(minutes / 5) * 5} minutes"
    half_hours = round(seconds / 1800)
    if half_hours == 2:
        return "about an hour"
    whole, half = divmod(half_hours, 2)
    return f"about {whole}{'½' if half else ''} hours"


class SpeedFile:
    """What is known of this machine's speed with one film, on disk.

    Does not promise to keep what two programs note at the same time: the last one wins.
    """

    def __init__(self, folder: Path) -> None:
        """Read what is there; a file that can't be read, or is of another machine, says nothing.

        Args:
            folder: The project folder.
        """
        self._folder = folder
        self._speeds: dict[str, _Kept] = {}
        with contextlib.suppress(FilmFileError, msgspec.DecodeError, RecursionError):
            kept = msgspec.json.decode(read_regular(_path(folder)), type=_SpeedFile)
            if kept.format == SPEED_FORMAT and kept.machine == _machine():
                self._speeds = kept.speeds

    def speed(self, size: Size, encoding: Encoding) -> Speed:
        """Return what is known for copies of a size and encoding."""
        kept = self._speeds.get(_kind(size, encoding), _Kept())
        return Speed(picture_seconds=_sound(kept.picture_seconds), rest_seconds=_sound(kept.rest_seconds))

    def note(self, size: Size, encoding: Encoding, run: Run) -> None:
        """Learn from a run. Where the disk refuses, it is not kept."""
        speed = learned(self.speed(size, encoding), run)
        kept = _Kept(picture_seconds=speed.picture_seconds, rest_seconds=speed.rest_seconds)
        self._speeds[_kind(size, encoding)] = kept
        data = msgspec.json.encode(_SpeedFile(format=SPEED_FORMAT, machine=_machine(), speeds=self._speeds))
        with contextlib.suppress(OutputError):
            make_inside(self._folder, ".desk")
            write_whole(_path(self._folder), data)


class _Kept(msgspec.Struct, frozen=True):
    picture_seconds: float | None = None
    rest_seconds: float | None = None


class _SpeedFile(msgspec.Struct):
    format: int
    machine: str
    speeds: dict[str, _Kept]


def _path(folder: Path) -> Path:
    return desk_folder(folder) / "speed.json"


def _kind(size: Size, encoding: Encoding) -> str:
    return f"{size} {encoding.preset} {encoding.crf}"


def _machine() -> str:
    """Return a name of this machine that does not tell what it is called."""
    told = f"{platform.node()} {platform.machine()} {os.cpu_count()}"
    return hashlib.blake2b(told.encode(errors="replace"), digest_size=8).hexdigest()


def _sound(seconds: float | None) -> float | None:
    """Return a figure from a file where it is one that a machine can have."""
    return seconds if seconds is not None and math.isfinite(seconds) and 0 <= seconds < 3600 else None


def _or(value: float | None, otherwise: float) -> float:
    return otherwise if value is None else value


def _blended(before: float | None, news: float) -> float:
    return news if before is None else before + (news - before) * _NEWS_SHARE
