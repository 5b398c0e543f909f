"""How loud a scene is by itself, with its lanes apart: the mix before the master, without joins."""

import dataclasses
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, closing
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from desk.film.fingerprint import fingerprint
from desk.film.lanes import Lane
from desk.film.media import MediaFacts
from desk.jobs import CancelToken, Progress, ProgressListener, no_progress
from desk.sound.loudness import LOUDNESS_FORMAT, Loudness, Meter
from desk.sound.loudness_files import LoudnessFiles
from desk.sound.plan import STEM_FORMAT, stem_key
from desk.sound.reading import Samples
from desk.sound.streaming import Track, stream

_LANES: tuple[Lane, ...] = ("dialogue", "music", "effects")
_TOLD = "Measuring the sound"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SceneLoudness:
    """How loud a scene is.

    Attributes:
        mix: All that sounds in it.
        voices_lufs: Its dialogue lane; None where nothing is heard in it.
        music_lufs: Its music lane, likewise.
    """

    mix: Loudness
    voices_lufs: float | None
    music_lufs: float | None

    @property
    def music_below_voices_lu(self) -> float | None:
        """How far its music lies below its voices; None where one of them is silent."""
        if self.voices_lufs is None or self.music_lufs is None:
            return None
        return self.voices_lufs - self.music_lufs


def audible(track: Track, media: Mapping[str, MediaFacts]) -> Track:
    """Return a track without the sounds whose files were not read: they are silent.

    Args:
        track: What is heard.
        media: What was read of each file.
    """
    sounds = tuple(
        dataclasses.replace(sound, spans=tuple(span for span in sound.spans if span.file in media))
        for sound in track.sounds
    )
    return dataclasses.replace(track, sounds=sounds)


def scene_loudness_key(track: Track, media: Mapping[str, MediaFacts]) -> str:
    """Return the name under which what was measured of a track can be kept: a hash of all that decides it.

    Args:
        track: What is heard; all its files were read, as `audible` gives it.
        media: What was read of each file.
    """
    names = [[stem_key(sound, lane, track.rate, media) for lane in _LANES] for sound in track.sounds]
    return fingerprint(["scene loudness", LOUDNESS_FORMAT, STEM_FORMAT, str(track.rate), track.frames, names])


def find_scene_loudness(kept: LoudnessFiles, key: str) -> SceneLoudness | None:
    """Return what was measured before, or None.

    Args:
        kept: Where measurements are kept.
        key: As `scene_loudness_key` gives it.
    """
    found = [kept.find(_name(key, part)) for part in ("mix", "dialogue", "music")]
    mix, voices, music = found
    if mix is None or voices is None or music is None:
        return None
    return SceneLoudness(mix=mix, voices_lufs=voices.integrated_lufs, music_lufs=music.integrated_lufs)


def measure_scene_loudness(
    track: Track,
    files: Mapping[str, Path],
    media: Mapping[str, MediaFacts],
    *,
    kept: LoudnessFiles | None = None,
    progress: ProgressListener = no_progress,
    cancel: CancelToken | None = None,
) -> SceneLoudness:
    """Measure a scene in one reading of its files, or return what was measured of the same sounds before.

    Args:
        track: What is heard.
        files: Where each file is.
        media: What was read of each; one that is not there is silent.
        kept: Where measurements are kept, or None to keep none.
        progress: Told how far it is.
        cancel: Stops it.

    Raises:
        Cancelled: when stopped on request.
    """
    track = audible(track, media)
    key = scene_loudness_key(track, media)
    if kept is not None and (found := find_scene_loudness(kept, key)) is not None:
        return found
    mix, voices, music = Meter(), Meter(), Meter()
    with ExitStack() as closed:
        lanes = {}
        for lane in _LANES:
            blocks = stream(_lane_of(track, lane), files, media)
            closed.enter_context(closing(blocks))
            lanes[lane] = blocks
        apart = zip(
            voices.through(lanes["dialogue"]), music.through(lanes["music"]), lanes["effects"], strict=True
        )
        for _ in mix.through(_added(apart, track.samples, progress, cancel or CancelToken())):
            pass
    found = SceneLoudness(
        mix=mix.result(),
        voices_lufs=voices.result().integrated_lufs,
        music_lufs=music.result().integrated_lufs,
    )
    if kept is not None:
        for part, meter in (("mix", mix), ("dialogue", voices), ("music", music)):
            kept.keep(_name(key, part), meter.result())
    return found


def _lane_of(track: Track, lane: Lane) -> Track:
    sounds = tuple(
        dataclasses.replace(sound, spans=tuple(span for span in sound.spans if span.kind == lane))
        for sound in track.sounds
    )
    return dataclasses.replace(track, sounds=sounds)


def _added(
    apart: Iterator[tuple[Samples, ...]], samples: int, progress: ProgressListener, cancel: CancelToken
) -> Iterator[Samples]:
    done = 0
    for blocks in apart:
        cancel.check()
        mix: Samples = np.sum(blocks, axis=0, dtype=np.float32)
        done += len(mix)
        yield mix
        progress(Progress("loudness", _TOLD, done / samples))


def _name(key: str, part: str) -> str:
    return f"{key}-{part}"
