"""What levelling would change, as lines of a list."""

import dataclasses
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import Enum, auto

from desk.film.model import Film, Scene
from desk.film.wording import entry_name, sentence
from desk.sound.levelling import SAME_DB, ClipLevel, Limit, MusicLevel, SceneLevels
from desk.ui.scene.clip_facts import file_name, gain_text
from desk.ui.scene.voices.rows import figure


class LineKind(Enum):
    """What a line is about."""

    SCENE = auto()
    CHANGE = auto()
    SAME = auto()
    LEFT = auto()


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelLine:
    """One line.

    Attributes:
        kind: What it is about.
        name: The scene, clip or cue.
        gain: `−3 dB → +1.5 dB`, or "".
        level: How loud it is, and would be.
        told: What a person should know of it.
    """

    kind: LineKind
    name: str
    gain: str = ""
    level: str = ""
    told: str = ""


def lines_of_scene(film: Film, levels: SceneLevels) -> tuple[LevelLine, ...]:
    """Return a line for each clip and each piece of music of a scene; those that stay too, and why."""
    lines = _lines(film, levels)
    quiet = {at for at, item in enumerate(levels.clips) if item.limit is Limit.NOBODY}
    return tuple(
        dataclasses.replace(line, told=_NOBODY) if at in quiet and not line.told else line
        for at, line in enumerate(lines)
    )


def _lines(film: Film, levels: SceneLevels) -> tuple[LevelLine, ...]:
    scene = film.scene(levels.scene)
    return (
        *(_clip_line(scene, item, film) for item in levels.clips),
        *(_music_line(scene, item) for item in levels.music),
    )


def lines_of_film(film: Film, measured: Sequence[SceneLevels]) -> tuple[LevelLine, ...]:
    """Return what would change, scene by scene, and then the scenes that are left out, and why."""
    return tuple(_film_lines(film, measured))


def why_left(film: Film, levels: SceneLevels) -> str:
    """Return why nothing of a scene is changed, as a sentence, or "" where something is."""
    if levels.locked and levels.changes:
        return "Locked. Unlock it to level it."
    if levels.changes:
        return ""
    if not levels.is_heard:
        return "No speech was found."
    if levels.locked or film.scene(levels.scene).content.voices_levelled:
        return "Level already."
    return ""


def _film_lines(film: Film, measured: Sequence[SceneLevels]) -> Iterator[LevelLine]:
    left = []
    for levels in measured:
        name = sentence(entry_name(film.scene(levels.scene)))
        if why := why_left(film, levels):
            left.append(LevelLine(kind=LineKind.LEFT, name=name, told=why))
            continue
        now, then = levels.voices_lufs, levels.reached_lufs
        yield LevelLine(
            kind=LineKind.SCENE,
            name=name,
            level=_from_to(now, then, "LUFS"),
            told=_target(levels) if levels.changes else _LEVEL_ALREADY,
        )
        for line in _lines(film, levels):
            # What stays and is well needs no line among 4,800.
            if line.kind is LineKind.CHANGE or line.told:
                yield line
    if left:
        yield LevelLine(kind=LineKind.SCENE, name="Left out")
        yield from left


_NOBODY = "Nobody is said to speak in it."
_LEVEL_ALREADY = "Level already: it is only called so."


def _target(levels: SceneLevels) -> str:
    return f"Target {figure(levels.target_lufs)} LUFS."


def _clip_line(scene: Scene, item: ClipLevel, film: Film) -> LevelLine:
    clip = next((clip for clip in scene.content.clips if clip.id == item.clip), None)
    who = next((voice.name for voice in film.voices if voice.id == item.voice), "")
    name = f"{item.number}  {file_name(clip.source) if clip else ''}"
    return LevelLine(
        kind=_kind(item),
        name=f"{name}, {who}" if who else name,
        gain=_gains(item),
        level=_from_to(item.loudness_lufs, item.reached_lufs, "LUFS"),
        told=" ".join(item.told),
    )


def _music_line(scene: Scene, item: MusicLevel) -> LevelLine:
    cue = next(cue for cue in scene.content.cues if cue.id == item.cue)
    told = ""
    if item.under_voices_lu is None:
        told = "Its gain was set by ear, so it stays."
    elif item.loudness_lufs is None:
        told = "It is silent or can’t be read, so its gain stays."
    wanted = item.under_voices_lu if item.loudness_lufs is not None else None
    return LevelLine(
        kind=_kind(item),
        name=f"Music {cue.label or cue.id}",
        gain=_gains(item),
        level=_from_to(item.below_voices_lu, wanted, "LU below"),
        told=told,
    )


def _kind(item: ClipLevel | MusicLevel) -> LineKind:
    return LineKind.CHANGE if _differs(item) else LineKind.SAME


def _gains(item: ClipLevel | MusicLevel) -> str:
    now = gain_text(round(item.gain_db, 1))
    return f"{now} → {gain_text(round(item.proposed_db, 1))}" if _differs(item) else f"{now}, stays"


def _differs(item: ClipLevel | MusicLevel) -> bool:
    return abs(item.proposed_db - item.gain_db) >= SAME_DB


def _from_to(now: float | None, then: float | None, unit: str) -> str:
    if now is None:
        return "" if then is None else f"{figure(then)} {unit}"
    if then is None or figure(now) == figure(then):
        return f"{figure(now)} {unit}"
    return f"{figure(now)} → {figure(then)} {unit}"
