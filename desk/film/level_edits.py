"""Edits of how loud things are in scenes: all gains of a levelling in one step."""

import dataclasses
from collections.abc import Mapping
from typing import TypedDict

from desk.errors import EditError
from desk.film.content_edits import set_content
from desk.film.edit import Change, ChangeKind, Edit, find_open_scene
from desk.film.model import Film
from desk.film.wording import counted, entry_name, quoted, sentence


class Levels(TypedDict, total=False):
    """Gains that bring a scene's sounds to where they belong, in dB by id.

    Attributes:
        clips: Of the sounds of clips.
        candidates: Of the music of cues.
    """

    clips: Mapping[str, float]
    candidates: Mapping[str, float]


def set_levels(film: Film, levels: Mapping[str, Levels], *, levelled: bool = True) -> Edit:
    """Set gains in one or several scenes, as one step.

    Args:
        film: The film.
        levels: By scene; what a scene does not have is an error, what is not named stays.
        levelled: Whether the voices of these scenes are called level with that.

    Raises:
        EditError: when a scene is locked or unknown, an id is unknown, or a gain is not allowed.
    """
    if not levels:
        raise EditError(
            "No scene is to be levelled.", advice="Choose a draft with voices in it.", code="edit.nothing"
        )
    after = film
    for scene_id, gains in levels.items():
        after = _levelled(after, scene_id, gains, levelled=levelled)
    names = [entry_name(film.scene(scene_id)) for scene_id in levels]
    text = f"Level {names[0] if len(names) == 1 else counted(len(names), 'scene')}"
    return Edit(text, film, after, Change(ChangeKind.CONTENT, tuple(levels)))


def set_voices_offset(film: Film, scene_id: str, offset_lu: float) -> Edit:
    """Say by how much the voices of a scene are meant to be louder than the film's, or softer.

    Raises:
        EditError: when the scene is locked or unknown, or the value is not allowed.
    """
    scene = find_open_scene(film, scene_id)
    content = dataclasses.replace(scene.content, voices_offset_lu=offset_lu)
    return set_content(film, scene_id, content, f"Change the loudness of the voices in {entry_name(scene)}")


def _levelled(film: Film, scene_id: str, gains: Levels, *, levelled: bool) -> Film:
    scene = find_open_scene(film, scene_id)
    name = entry_name(scene)
    clip_gains, music_gains = dict(gains.get("clips", {})), dict(gains.get("candidates", {}))
    clips = []
    for clip in scene.content.clips:
        gain_db = clip_gains.pop(clip.id, clip.sound.gain_db)
        clips.append(dataclasses.replace(clip, sound=dataclasses.replace(clip.sound, gain_db=gain_db)))
    cues = tuple(
        dataclasses.replace(
            cue,
            candidates=tuple(
                dataclasses.replace(item, gain_db=music_gains.pop(item.id))
                if item.id in music_gains
                else item
                for item in cue.candidates
            ),
        )
        for cue in scene.content.cues
    )
    for kind, left in (("clip", clip_gains), ("candidate", music_gains)):
        if left:
            raise EditError(
                f"{sentence(name)} has no {kind} with the id {quoted(next(iter(left)))}.",
                advice="Measure the scene again.",
                code="edit.unknown",
            )
    content = dataclasses.replace(
        scene.content,
        clips=tuple(clips),
        cues=tuple(cues),
        voices_levelled=levelled or scene.content.voices_levelled,
    )
    return set_content(film, scene_id, content, "").after
