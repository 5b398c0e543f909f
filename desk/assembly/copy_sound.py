"""How loud a review copy came out, as an assembly has it, or as the manifest beside the copy tells it."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import msgspec

from desk.assembly.levels import SceneLevels, standing_out
from desk.assembly.review import Assembly
from desk.errors import FilmFileError, TimecodeError
from desk.film.model import Scene
from desk.film.rates import Rate
from desk.film.timecode import format_label, parse_label
from desk.store.folder import read_regular


@dataclass(frozen=True, slots=True, kw_only=True)
class CopyScene:
    """How loud a scene is in a copy.

    Attributes:
        entry: Its id.
        number: Its number.
        integrated_lufs: All of it, in the copy; None where nothing is heard.
        voices_lufs: Its voices in the mix, before the master.
        music_below_voices_lu: How far its music lies below them.
        loudest_at: Timecode of its loudest moment, or "".
        loudest_frames: The frame of that, from the scene's start in the copy, or None.
        stands_out_lu: By how much it is louder than the scenes beside it, where it stands out.
    """

    entry: str
    number: str
    integrated_lufs: float | None = None
    voices_lufs: float | None = None
    music_below_voices_lu: float | None = None
    loudest_at: str = ""
    loudest_frames: int | None = None
    stands_out_lu: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CopySound:
    """How loud a copy is.

    Attributes:
        target: What its target is known as.
        target_lufs: The loudness that was asked for.
        ceiling_dbtp: The true peak that was asked for.
        integrated_lufs: What was reached, as the copy decodes; None where nothing is heard.
        true_peak_dbtp: Its true peak, likewise.
        range_lu: Its loudness range.
        gain_db: By how much the master changed the level.
        compression: `off`, `gentle` or `firm`.
        remarks: What deserves a look, in sentences.
        scenes: Its scenes, in its order.
    """

    target: str
    target_lufs: float
    ceiling_dbtp: float
    integrated_lufs: float | None
    true_peak_dbtp: float | None
    range_lu: float | None
    gain_db: float
    compression: str
    remarks: tuple[str, ...]
    scenes: tuple[CopyScene, ...]


class _SceneSound(msgspec.Struct):
    integrated_lufs: float | None = None
    voices_lufs: float | None = None
    music_below_voices_lu: float | None = None
    loudest_lufs: float | None = None
    loudest_at: str | None = None


class _Entry(msgspec.Struct):
    entry: str
    start: int
    frames: int
    scene: str = ""
    sound: _SceneSound | None = None


class _Film(msgspec.Struct):
    rate: str
    start_timecode: str


class _Sound(msgspec.Struct):
    target: str
    target_lufs: float
    ceiling_dbtp: float
    gain_db: float
    compression: str
    integrated_lufs: float | None = None
    true_peak_dbtp: float | None = None
    range_lu: float | None = None
    remarks: list[str] = []


class _Manifest(msgspec.Struct):
    film: _Film
    entries: list[_Entry]
    sound: _Sound | None = None


def manifest_of(copy: Path) -> Path:
    """Return where the manifest of a copy is."""
    return copy.with_name(f"{copy.stem}.manifest.json")


def read_copy_sound(copy: Path) -> CopySound | None:
    """Return what the manifest beside a copy tells of its sound.

    None where there is no manifest, where it can't be read, or where it is of a version that told nothing of
    the sound.

    Args:
        copy: The copy's own file.
    """
    try:
        told = msgspec.json.decode(read_regular(manifest_of(copy)), type=_Manifest)
        sound = told.sound
        if sound is None:
            return None
        rate = Rate.parse(told.film.rate)
        first, _ = parse_label(told.film.start_timecode, rate)
        levels = [_levels(entry, rate, first) for entry in told.entries if entry.sound is not None]
    except (FilmFileError, msgspec.DecodeError, TimecodeError, ValueError, RecursionError):
        return None
    starts = {entry.entry: entry.start for entry in told.entries}
    labels = {entry.entry: entry.sound.loudest_at or "" for entry in told.entries if entry.sound is not None}
    return CopySound(
        target=sound.target,
        target_lufs=sound.target_lufs,
        ceiling_dbtp=sound.ceiling_dbtp,
        integrated_lufs=sound.integrated_lufs,
        true_peak_dbtp=sound.true_peak_dbtp,
        range_lu=sound.range_lu,
        gain_db=sound.gain_db,
        compression=sound.compression,
        remarks=tuple(sound.remarks),
        scenes=_scenes(levels, starts, labels),
    )


def copy_sound(made: Assembly) -> CopySound:
    """Return how loud the copy of an assembly is.

    Args:
        made: The assembly.
    """
    film, target, sound = made.film, made.made.target, made.made.sound
    labels = {
        one.scene.id: format_label(
            film.start_frames + one.loudest_frame, film.rate, drop_frame=film.drop_frame
        )
        for one in made.levels
        if one.loudest_frame is not None
    }
    return CopySound(
        target=target.name,
        target_lufs=target.integrated_lufs,
        ceiling_dbtp=target.true_peak_dbtp,
        integrated_lufs=sound.loudness.integrated_lufs,
        true_peak_dbtp=sound.loudness.true_peak_dbtp,
        range_lu=sound.loudness.range_lu,
        gain_db=sound.found.master.gain_db,
        compression=sound.found.master.compression.value,
        remarks=made.sound_remarks,
        scenes=_scenes(made.levels, {slot.entry.id: slot.start_frames for slot in made.layout.slots}, labels),
    )


def _levels(entry: _Entry, rate: Rate, first: int) -> SceneLevels:
    sound = entry.sound
    assert sound is not None
    return SceneLevels(
        scene=Scene(id=entry.entry, number=entry.scene),
        seconds=float(rate.seconds(entry.frames)),
        integrated_lufs=sound.integrated_lufs,
        voices_lufs=sound.voices_lufs,
        music_below_voices_lu=sound.music_below_voices_lu,
        loudest_lufs=sound.loudest_lufs,
        loudest_frame=parse_label(sound.loudest_at, rate)[0] - first if sound.loudest_at else None,
    )


def _scenes(
    levels: Sequence[SceneLevels], starts: dict[str, int], labels: dict[str, str]
) -> tuple[CopyScene, ...]:
    outstanding = {one.scene.id: louder for one, louder in standing_out(levels)}
    return tuple(
        CopyScene(
            entry=one.scene.id,
            number=one.scene.number,
            integrated_lufs=one.integrated_lufs,
            voices_lufs=one.voices_lufs,
            music_below_voices_lu=one.music_below_voices_lu,
            loudest_at=labels.get(one.scene.id, ""),
            loudest_frames=None
            if one.loudest_frame is None
            else max(0, one.loudest_frame - starts[one.scene.id]),
            stands_out_lu=outstanding.get(one.scene.id),
        )
        for one in levels
    )
