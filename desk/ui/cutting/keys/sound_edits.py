"""Edits of the sound of several things at once: gain and silence."""

import functools
from collections.abc import Sequence

from desk.film import edits
from desk.film.edits import Edit
from desk.film.model import Film, Scene, SoundKind
from desk.film.wording import counted
from desk.ui.cutting.keys.aim import Kind, Thing, clip_of
from desk.ui.cutting.keys.grips import all_of, chosen_music
from desk.ui.session import MakeEdit

LEAST_GAIN_DB, MOST_GAIN_DB = -96.0, 24.0
"""What a gain may be."""


def with_gain(film: Film, scene_id: str, chosen: tuple[Thing, ...], gain_db: float) -> Edit:
    """Give things one gain.

    Args:
        film: The film.
        scene_id: The scene.
        chosen: Its things; one or more.
        gain_db: The gain.

    Raises:
        EditError: when the scene is locked, a cue has no music, or the gain is not allowed.
    """
    steps: list[MakeEdit] = [functools.partial(_with_gain, scene_id, thing, gain_db) for thing in chosen]
    return all_of(film, f"Change the gain of {counted(len(steps), 'thing')}", steps)


def gain_of(scene: Scene, thing: Thing) -> float:
    """Return the gain of a thing; of a cue, that of its music, or 0 where none is chosen."""
    content = scene.content
    match thing.kind:
        case Kind.CLIP:
            return clip_of(content, thing.id).sound.gain_db
        case Kind.SPOT:
            return next(spot.gain_db for spot in content.spots if spot.id == thing.id)
        case Kind.CUE:
            choice = next(cue.choice for cue in content.cues if cue.id == thing.id)
            return choice.gain_db if choice else 0.0


def louder(film: Film, scene_id: str, chosen: tuple[Thing, ...], by_db: float) -> Edit:
    """Make things louder or quieter, each from where it is, as far as a gain goes.

    Args:
        film: The film.
        scene_id: The scene.
        chosen: Its things; one or more.
        by_db: By how much; below 0 quieter.

    Raises:
        EditError: when the scene is locked, or a cue has no music.
    """
    scene = film.scene(scene_id)
    steps: list[MakeEdit] = []
    for thing in chosen:
        gain = min(MOST_GAIN_DB, max(LEAST_GAIN_DB, gain_of(scene, thing) + by_db))
        steps.append(functools.partial(_with_gain, scene_id, thing, gain))
    return all_of(film, f"Change the gain of {counted(len(steps), 'thing')}", steps)


def silenced(film: Film, scene_id: str, clip_ids: Sequence[str]) -> Edit:
    """Silence clips, or give them their sound back where all of them are silent.

    Args:
        film: The film.
        scene_id: The scene.
        clip_ids: Its clips; one or more.

    Raises:
        EditError: when the scene is locked.
    """
    content = film.scene(scene_id).content
    sounds = {clip_id: clip_of(content, clip_id).sound for clip_id in clip_ids}
    is_back = all(sound.kind is SoundKind.SILENCE for sound in sounds.values())
    steps: list[MakeEdit] = []
    for clip_id, sound in sounds.items():
        own = SoundKind.SEPARATE if sound.file else SoundKind.OWN
        steps.append(functools.partial(_with_sound, scene_id, clip_id, own if is_back else SoundKind.SILENCE))
    verb = "Give their sound back to" if is_back else "Silence"
    return all_of(film, f"{verb} {counted(len(steps), 'clip')}", steps)


def _with_gain(scene_id: str, thing: Thing, gain_db: float, film: Film) -> Edit:
    match thing.kind:
        case Kind.CLIP:
            return edits.edit_clip_sound(film, scene_id, (thing.id,), gain_db=gain_db)
        case Kind.SPOT:
            return edits.edit_spot(film, scene_id, thing.id, gain_db=gain_db)
        case Kind.CUE:
            music = chosen_music(film, scene_id, thing)
            return edits.edit_candidate(film, scene_id, thing.id, music, gain_db=gain_db)


def _with_sound(scene_id: str, clip_id: str, kind: SoundKind, film: Film) -> Edit:
    return edits.edit_clip_sound(film, scene_id, (clip_id,), kind=kind)
