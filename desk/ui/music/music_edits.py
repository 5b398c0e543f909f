"""Edits of music and effects as their part of the sheet makes them: each is one step of undoing."""

import dataclasses
from collections.abc import Mapping, Sequence
from typing import Unpack

from desk.errors import EditError
from desk.film import edits
from desk.film.edit import Edit, find_open_scene, find_scene
from desk.film.edits import CandidateFields, CueFields, SpotFields
from desk.film.media import MediaFacts
from desk.film.model import Cue, Film, Rights
from desk.film.problem import MediaTrouble
from desk.film.timing import content_frames
from desk.film.wording import counted
from desk.ui.cutting.footage.adding import add_as_spot
from desk.ui.music.words import cue_name, known_rights
from desk.ui.session import MakeEdit, several

_BARE_SECONDS = 10
"""How long a cue is in a scene that has no length yet."""


def try_files(film: Film, scene_id: str, cue_id: str, files: Sequence[str]) -> Edit:
    """Try files for a cue; the first is chosen where nothing was tried before.

    What the film says elsewhere of the rights of a file goes with it. A file that is tried already is left
    out.

    Raises:
        EditError: when the scene is locked, something is unknown, or all of the files are tried already.
    """
    cue = cue_in(film, scene_id, cue_id)
    tried = {item.file for item in cue.candidates}
    new = [file for file in dict.fromkeys(files) if file not in tried]
    if not new:
        raise EditError(
            f"That is tried for cue {cue_name(cue)} already.", advice="Add another file.", code="edit.unknown"
        )

    def tried_for(file: str) -> MakeEdit:
        return lambda now: edits.add_candidate(now, scene_id, cue_id, file, rights=known_rights(now, file))

    steps = [tried_for(file) for file in new]
    if not cue.candidates:
        steps.append(lambda now: choose_first(now, scene_id, cue_id))
    if len(steps) == 1:
        return steps[0](film)
    text = steps[0](film).text if len(new) == 1 else f"Try {len(new)} pieces for cue {cue_name(cue)}"
    return several(text, steps)(film)


def choose_first(film: Film, scene_id: str, cue_id: str) -> Edit:
    """Choose the first piece of music that is tried for a cue.

    Raises:
        EditError: when the scene is locked or the cue is unknown.
    """
    cue = cue_in(film, scene_id, cue_id)
    return edits.choose_candidate(film, scene_id, cue_id, cue.candidates[0].id)


def add_cue_with(film: Film, scene_id: str, frame: int, files: Sequence[str]) -> Edit:
    """Put a cue into a scene, from a frame to the scene's end, with pieces of music to try or none.

    Raises:
        EditError: when the scene is locked or unknown.
    """
    content = find_open_scene(film, scene_id).content
    bare = round(_BARE_SECONDS * film.rate.fraction)
    length = content_frames(content) - frame if content.clips else bare
    added = edits.add_cue(film, scene_id, frame, max(1, length))
    if not files:
        return added
    cue = added.after.scene(scene_id).content.cues[-1]
    return dataclasses.replace(added, after=try_files(added.after, scene_id, cue.id, files).after)


def add_spot_with(
    film: Film,
    scene_id: str,
    file: str,
    known: Mapping[str, MediaFacts | MediaTrouble],
    *,
    frame: int,
) -> Edit:
    """Put a whole sound into a scene as a spot, with what the film says elsewhere of its rights.

    Raises:
        EditError: when the scene is locked or unknown, or the file has no sound.
    """
    added = add_as_spot(film, scene_id, file, known, frame=frame)
    rights = known_rights(film, file)
    if rights == Rights():
        return added
    spot = added.after.scene(scene_id).content.spots[-1]
    named = edits.edit_spot(added.after, scene_id, spot.id, rights=rights)
    return dataclasses.replace(added, after=named.after)


def set_cue(film: Film, scene_id: str, cue_id: str, fields: CueFields) -> Edit:
    """Change a cue; what of its music is in parts runs on where it becomes longer.

    Raises:
        EditError: when the scene is locked, the cue is unknown, or a value is not allowed.
    """
    if "length_frames" in fields and len(fields) == 1:
        cue = cue_in(film, scene_id, cue_id)
        return edits.trim_cue_tail(film, scene_id, cue_id, cue.length_frames - fields["length_frames"])
    return edits.edit_cue(film, scene_id, cue_id, **fields)


def set_music(
    film: Film, scene_id: str, cue_id: str, candidate_id: str, **fields: Unpack[CandidateFields]
) -> Edit:
    """Change a piece of music; see `desk.film.edits.edit_candidate`.

    Raises:
        EditError: when the scene is locked, something is unknown, or a value is not allowed.
    """
    return edits.edit_candidate(film, scene_id, cue_id, candidate_id, **fields)


def set_spot(film: Film, scene_id: str, spot_id: str, fields: SpotFields) -> Edit:
    """Change a spot. One that is to repeat and has no time between does so right after its end.

    Raises:
        EditError: when the scene is locked, the spot is unknown, or a value is not allowed.
    """
    spot = next((item for item in find_scene(film, scene_id).content.spots if item.id == spot_id), None)
    if spot is not None and fields.get("repeats") and not spot.every_frames:
        fields = {**fields, "every_frames": spot.length_frames}
    return edits.edit_spot(film, scene_id, spot_id, **fields)


def cue_in(film: Film, scene_id: str, cue_id: str) -> Cue:
    """Return a cue of a scene.

    Raises:
        EditError: when there is none.
    """
    for cue in find_scene(film, scene_id).content.cues:
        if cue.id == cue_id:
            return cue
    raise EditError("The cue is not there any more.", advice="Choose another one.", code="edit.unknown")


def tried_words(count: int) -> str:
    """Return how many pieces are tried, in words."""
    return f"{counted(count, 'piece')} tried" if count else "nothing tried yet"
