"""Edits of the Effects lane: spots put in, moved, trimmed, changed and taken out."""

import dataclasses
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import TypedDict, Unpack

from desk.film.cutting import (
    NOTHING_KNOWN,
    Draft,
    check_left,
    check_room,
    none_named,
    sound_room_frames,
    unknown,
)
from desk.film.edit import Edit, IdMaker
from desk.film.model import Film, Rights, SceneContent, Spot
from desk.film.rates import Rate
from desk.film.wording import counted, listed


class NewSpotFields(TypedDict, total=False):
    """What may be said of a new spot beside its file and place."""

    label: str
    in_seconds: Fraction
    gain_db: float
    fade_in_frames: int
    fade_out_frames: int
    rights: Rights


class SpotFields(NewSpotFields, total=False):
    """What may be changed of a spot."""

    file: str
    start_frames: int
    length_frames: int
    repeats: int
    every_frames: int


_WORDS = {
    "start_frames": "start",
    "length_frames": "length",
    "in_seconds": "in point",
    "gain_db": "gain",
    "fade_in_frames": "fade in",
    "fade_out_frames": "fade out",
    "every_frames": "time between repeats",
}


def add_spot(
    film: Film,
    scene_id: str,
    file: str,
    start_frames: int,
    length_frames: int,
    **fields: Unpack[NewSpotFields],
) -> Edit:
    """Put a sound effect into a scene.

    Args:
        film: The film.
        scene_id: The scene.
        file: The sound.
        start_frames: Where it begins, from the scene's start; may be before it.
        length_frames: How long it is.
        **fields: What else is known of it.

    Raises:
        EditError: when the scene is locked or unknown, or a value is not allowed.
    """
    draft = Draft.of(film, scene_id)
    spot = Spot(
        id=IdMaker(film).new("f"),
        file=file,
        start_frames=start_frames,
        length_frames=length_frames,
        **fields,
    )
    return _edit(draft, f"Add {_name(draft, spot)}", (*draft.scene.content.spots, spot))


def edit_spot(film: Film, scene_id: str, spot_id: str, **fields: Unpack[SpotFields]) -> Edit:
    """Change a spot.

    Args:
        film: The film.
        scene_id: The scene.
        spot_id: The spot.
        **fields: What to change; the rest stays.

    Raises:
        EditError: when the scene is locked, one of the two is unknown, or a value is not allowed.
    """
    draft = Draft.of(film, scene_id)
    spot = _find(draft, spot_id)
    what = listed([_WORDS.get(name, name) for name in fields])
    text = f"Change the {what} of {_name(draft, spot)}" if what else f"Change {_name(draft, spot)}"
    return _changed(draft, text, dataclasses.replace(spot, **fields))


def move_spots(film: Film, scene_id: str, spot_ids: Sequence[str], frames: int) -> Edit:
    """Move spots in time.

    Args:
        film: The film.
        scene_id: The scene.
        spot_ids: What to move.
        frames: By how many frames, later; below 0, earlier.

    Raises:
        EditError: when the scene is locked, something is unknown, or a spot would lie more than 24 hours
            away.
    """
    draft = Draft.of(film, scene_id)
    chosen = _find_all(draft, spot_ids)
    spots = [
        dataclasses.replace(spot, start_frames=spot.start_frames + frames) if spot in chosen else spot
        for spot in draft.scene.content.spots
    ]
    return _edit(draft, f"Move {_names(draft, chosen)}", spots)


def trim_spot_head(film: Film, scene_id: str, spot_id: str, frames: int) -> Edit:
    """Take frames off a spot's head, or let it begin earlier; what still sounds stays where it is.

    Args:
        film: The film.
        scene_id: The scene.
        spot_id: The spot.
        frames: How many to take off; below 0, how many to add.

    Raises:
        EditError: when the scene is locked, one of the two is unknown, no frame would be left, or the file
            begins later than that.
    """
    draft = Draft.of(film, scene_id)
    spot = _find(draft, spot_id)
    name = _name(draft, spot)
    check_left(name, spot.length_frames, frames)
    check_room(-frames, _head_room(spot, draft.rate), told=f"of sound before {name}", verb="Extend it")
    trimmed = dataclasses.replace(
        spot,
        start_frames=spot.start_frames + frames,
        length_frames=spot.length_frames - frames,
        in_seconds=spot.in_seconds + draft.rate.seconds(frames),
    )
    return _changed(draft, f"Trim the head of {name}", trimmed)


def trim_spot_tail(
    film: Film,
    scene_id: str,
    spot_id: str,
    frames: int,
    *,
    sound_seconds: Mapping[str, Fraction] = NOTHING_KNOWN,
) -> Edit:
    """Take frames off a spot's tail, or let it run on.

    Args:
        film: The film.
        scene_id: The scene.
        spot_id: The spot.
        frames: How many to take off; below 0, how many to add.
        sound_seconds: Length of each file's sound, by path; one that is not there counts as endless.

    Raises:
        EditError: when the scene is locked, one of the two is unknown, no frame would be left, or the file
            ends before that.
    """
    draft = Draft.of(film, scene_id)
    spot = _find(draft, spot_id)
    name = _name(draft, spot)
    check_left(name, spot.length_frames, frames)
    if frames < 0:
        end = spot.in_seconds + draft.rate.seconds(spot.length_frames)
        room = sound_room_frames(spot.file, end, draft.rate.seconds(1), sound_seconds)
        check_room(-frames, room, told=f"of sound after {name}", verb="Extend it")
    trimmed = dataclasses.replace(spot, length_frames=spot.length_frames - frames)
    return _changed(draft, f"Trim the tail of {name}", trimmed)


def remove_spots(film: Film, scene_id: str, spot_ids: Sequence[str]) -> Edit:
    """Take spots out of a scene; the files stay where they are.

    Args:
        film: The film.
        scene_id: The scene.
        spot_ids: What to take out.

    Raises:
        EditError: when the scene is locked or something is unknown.
    """
    draft = Draft.of(film, scene_id)
    chosen = _find_all(draft, spot_ids)
    left = [spot for spot in draft.scene.content.spots if spot not in chosen]
    return _edit(draft, f"Remove {_names(draft, chosen)}", left)


def _find(draft: Draft, spot_id: str) -> Spot:
    for spot in draft.scene.content.spots:
        if spot.id == spot_id:
            return spot
    raise unknown(draft.scene_name, "spot", spot_id)


def _find_all(draft: Draft, spot_ids: Sequence[str]) -> list[Spot]:
    if not spot_ids:
        raise none_named("spot")
    return [_find(draft, spot_id) for spot_id in dict.fromkeys(spot_ids)]


def _name(draft: Draft, spot: Spot) -> str:
    return f"spot {spot.label or spot.id} in {draft.scene_name}"


def _names(draft: Draft, spots: Sequence[Spot]) -> str:
    if len(spots) == 1:
        return _name(draft, spots[0])
    return f"{counted(len(spots), 'spot')} in {draft.scene_name}"


def _head_room(spot: Spot, rate: Rate) -> int:
    return int(spot.in_seconds * rate.fraction)


def _changed(draft: Draft, text: str, changed: Spot) -> Edit:
    spots = [changed if spot.id == changed.id else spot for spot in draft.scene.content.spots]
    return _edit(draft, text, spots)


def _edit(draft: Draft, text: str, spots: Sequence[Spot]) -> Edit:
    content: SceneContent = dataclasses.replace(draft.scene.content, spots=tuple(spots))
    return draft.edit(text, content)
