"""How loud an assembly came out: the film against its target, each scene, and what deserves a look."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desk.film.model import Film, Scene
from desk.film.timecode import format_label
from desk.film.timing import Layout, Slot
from desk.film.wording import entry_name, sentence
from desk.render.run import Made, MadeStem
from desk.sound.loudness import (
    MOMENTARY_SECONDS,
    NOTHING_LUFS,
    SHORT_TERM_SECONDS,
    SILENT_LUFS,
    STEP_SAMPLES,
    STEP_SECONDS,
    Levels,
    integrated,
    within,
)
from desk.sound.master import MOST_GAIN_DB

STANDS_OUT_LU = 4.0
"""A scene that is so much louder or softer than its neighbours is told; it may be meant."""

_LEAST_SECONDS = SHORT_TERM_SECONDS
"""How loud a scene is that is shorter says little."""

MISSED_LU = 0.3
HARD_LIMITED_DB = 6.0
"""More than this off the loudest peaks is heard (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SceneLevels:
    """How loud a scene is.

    Attributes:
        scene: The scene.
        seconds: How long it is.
        integrated_lufs: All of it, in the copy; None where nothing is heard, or it is too short to tell.
        voices_lufs: Its dialogue lane in the mix, before the master.
        music_below_voices_lu: How far what it has of music lies below that; None where one of them is silent.
        loudest_lufs: Its loudest 400 ms, in the copy.
        loudest_frame: The frame of the film that is on in their middle.
    """

    scene: Scene
    seconds: float
    integrated_lufs: float | None
    voices_lufs: float | None
    music_below_voices_lu: float | None
    loudest_lufs: float | None
    loudest_frame: int | None


def scene_levels(film: Film, layout: Layout, made: Made) -> tuple[SceneLevels, ...]:
    """Return how loud each scene of an assembly is, in its order; slates have no sound.

    Args:
        film: The film that was assembled.
        layout: What is in the assembly, and where.
        made: What was made of it.
    """
    copy = made.sound.loudness.momentary_lufs
    voices, music = (_lane_levels(made.stems, lane, len(copy)) for lane in ("dialogue", "music"))
    return tuple(
        _levels(film, slot, slot.entry, copy, voices, music)
        for slot in layout.slots
        if isinstance(slot.entry, Scene) and not slot.slate
    )


def _levels(film: Film, slot: Slot, scene: Scene, copy: Levels, voices: Levels, music: Levels) -> SceneLevels:
    rate = film.rate
    start_seconds = float(rate.seconds(slot.start_frames))
    end_seconds = float(rate.seconds(slot.start_frames + slot.length_frames))
    own = within(copy, start_seconds, end_seconds)
    spoken = integrated(within(voices, start_seconds, end_seconds))
    played = integrated(within(music, start_seconds, end_seconds))
    loudest, loudest_frame = None, None
    if len(own) and own.max() > SILENT_LUFS:
        loudest = float(own.max())
        # The first that lies in it whole ends so much after its start.
        first = math.ceil(round(start_seconds / STEP_SECONDS, 6)) * STEP_SECONDS + MOMENTARY_SECONDS
        middle = first + int(np.argmax(own)) * STEP_SECONDS - MOMENTARY_SECONDS / 2
        loudest_frame = int(middle * rate.fraction)
    return SceneLevels(
        scene=scene,
        seconds=end_seconds - start_seconds,
        integrated_lufs=integrated(own),
        voices_lufs=spoken,
        music_below_voices_lu=None if spoken is None or played is None else spoken - played,
        loudest_lufs=loudest,
        loudest_frame=loudest_frame,
    )


def _lane_levels(stems: Sequence[MadeStem], lane: str, steps: int) -> Levels:
    """Return the momentary loudness of a lane over the film, from that of its stems.

    Where two sound at once their powers are added, as for sounds that have nothing in common; a stem's steps
    are laid to the film's nearest ones.
    """
    power: NDArray[np.float64] = np.zeros(steps)
    for stem in stems:
        if stem.lane != lane or stem.loudness is None:
            continue
        levels = stem.loudness.momentary_lufs
        first = round(stem.start_sample / STEP_SAMPLES)
        low, end = max(0, first), min(steps, first + len(levels))
        if low < end:
            part = levels[low - first : end - first].astype(np.float64)
            power[low:end] += np.where(part > NOTHING_LUFS, 10 ** (part / 10), 0)
    made: Levels = (10 * np.log10(np.maximum(power, 10 ** (NOTHING_LUFS / 10)))).astype(np.float32)
    return made


def standing_out(
    levels: Sequence[SceneLevels], most_lu: float = STANDS_OUT_LU
) -> tuple[tuple[SceneLevels, float], ...]:
    """Return the scenes that stand out from their neighbours, each with by how much it is louder.

    A scene does so that is louder than both neighbours by more than `most_lu`, or softer than both. The first
    and the last have one neighbour; they do not where it is the neighbour that stands out. Of two scenes
    alone, the later one does.

    Args:
        levels: How loud the scenes are, in order. Those of less than 3 s, and those in which nothing is
            heard, are passed over.
        most_lu: By how much two scenes may differ.
    """
    heard = [
        (one, one.integrated_lufs)
        for one in levels
        if one.integrated_lufs is not None and one.seconds >= _LEAST_SECONDS
    ]
    found: dict[int, float] = {}
    last = len(heard) - 1
    for index in [*range(1, last), last, 0]:
        beside = [place for place in (index - 1, index + 1) if 0 <= place <= last and place != index]
        differences = [heard[index][1] - heard[place][1] for place in beside]
        if len(differences) == 1 and any(place in found for place in beside):
            continue
        if differences and (min(differences) > most_lu or max(differences) < -most_lu):
            found[index] = min(differences, key=abs)
    return tuple((heard[index][0], found[index]) for index in sorted(found))


def sound_remarks(
    film: Film, levels: Sequence[SceneLevels], made: Made, *, most_lu: float = STANDS_OUT_LU
) -> tuple[str, ...]:
    """Return what deserves a look in an assembly's sound, in sentences.

    Args:
        film: The film that was assembled.
        levels: How loud its scenes are.
        made: What was made of it.
        most_lu: By how much a scene may differ from its neighbours.
    """
    sound, target = made.sound, made.target
    remarks = []
    reached = sound.loudness.integrated_lufs
    if reached is not None and abs(reached - target.integrated_lufs) > MISSED_LU:
        remarks.append(
            f"The film has {shown_lufs(reached)} and not {shown_lufs(target.integrated_lufs)}: {_why(made)}"
        )
    if sound.found.reduction_db > HARD_LIMITED_DB:
        remarks.append(
            f"The limiter takes {sound.found.reduction_db:.1f} dB off the loudest peak, which may be heard: "
            "listen to the loudest scenes, or lower their loudest sounds."
        )
    peak = sound.loudness.true_peak_dbtp
    if peak is not None and peak > target.true_peak_dbtp:
        remarks.append(
            f"The true peak of the copy is {peak:.2f} dBTP, above the ceiling of {target.true_peak_dbtp:g}: "
            "lower the ceiling by as much."
        )
    for one, louder_lu in standing_out(levels, most_lu):
        loudest = f", loudest at {_label(film, one.loudest_frame)}" if one.loudest_frame is not None else ""
        remarks.append(
            f"{sentence(entry_name(one.scene))} is {abs(louder_lu):.1f} LU "
            f"{'louder' if louder_lu > 0 else 'softer'} than what is beside it{loudest}."
        )
    return tuple(remarks)


def shown_lufs(value: float) -> str:
    """Return a loudness as it is shown: `-14.0 LUFS`."""
    return f"{value:.1f} LUFS"


def _why(made: Made) -> str:
    if made.sound.found.master.gain_db >= MOST_GAIN_DB:
        return f"it would need more than {MOST_GAIN_DB:g} dB of gain. Raise its sounds where they are."
    return (
        "its peaks leave no room under the ceiling. Let the master compress more firmly, lower the loudest "
        "sounds, or take a softer target."
    )


def _label(film: Film, frame: int) -> str:
    return format_label(film.start_frames + frame, film.rate, drop_frame=film.drop_frame)
