"""Edits of the Music lane: cues put in, moved, trimmed and taken out, and the music tried for them."""

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
from desk.film.model import Candidate, Cue, Duck, Film, MusicPart, Rights
from desk.film.rates import SAMPLE_RATE_HZ
from desk.film.wording import counted, listed, quoted


class CueFields(TypedDict, total=False):
    """What may be changed of a cue."""

    label: str
    start_frames: int
    length_frames: int
    duck: Duck | None


class CandidateFields(TypedDict, total=False):
    """What may be said or changed of a piece of music tried for a cue."""

    rights: Rights
    in_seconds: Fraction
    gain_db: float
    fade_in_frames: int
    fade_out_frames: int
    under_voices_lu: float | None
    parts: tuple[MusicPart, ...]


_LEAST_PART_SECONDS = Fraction(1, SAMPLE_RATE_HZ)

_WORDS = {
    "start_frames": "start",
    "length_frames": "length",
    "in_seconds": "in point",
    "gain_db": "gain",
    "fade_in_frames": "fade in",
    "fade_out_frames": "fade out",
    "duck": "way under speech",
    "under_voices_lu": "distance below the voices",
    "parts": "stretches",
}


def next_cue_label(film: Film) -> str:
    """Return the first label of `m1`, `m2` … that no cue of the film has."""
    taken = {cue.label for scene in film.scenes for cue in scene.content.cues}
    number = 1
    while f"m{number}" in taken:
        number += 1
    return f"m{number}"


def add_cue(
    film: Film,
    scene_id: str,
    start_frames: int,
    length_frames: int,
    *,
    label: str | None = None,
    file: str = "",
    **fields: Unpack[CandidateFields],
) -> Edit:
    """Put a cue into a scene, with a first piece of music or none.

    With music, that is chosen, and a declaration that the scene has none is taken back.

    Args:
        film: The film.
        scene_id: The scene.
        start_frames: Where it begins, from the scene's start; may be before it.
        length_frames: How long it is; it may run on past the end of the scene.
        label: Its name, or None for the next one that is free.
        file: The music, or "".
        **fields: What is known of the music.

    Raises:
        EditError: when the scene is locked or unknown, or a value is not allowed.
    """
    draft = Draft.of(film, scene_id)
    ids = IdMaker(film)
    candidates = (Candidate(id=ids.new("a"), file=file, **fields),) if file else ()
    cue = Cue(
        id=ids.new("m"),
        label=next_cue_label(film) if label is None else label,
        start_frames=start_frames,
        length_frames=length_frames,
        candidates=candidates,
        chosen=candidates[0].id if candidates else "",
    )
    return _edit(draft, f"Add {_name(draft, cue)}", (*draft.scene.content.cues, cue), music=bool(file))


def edit_cue(film: Film, scene_id: str, cue_id: str, **fields: Unpack[CueFields]) -> Edit:
    """Change a cue's label or place.

    Args:
        film: The film.
        scene_id: The scene.
        cue_id: The cue.
        **fields: What to change; the rest stays.

    Raises:
        EditError: when the scene is locked, one of the two is unknown, or a value is not allowed.
    """
    draft = Draft.of(film, scene_id)
    cue = _find(draft, cue_id)
    what = listed([_WORDS.get(name, name) for name in fields])
    text = f"Change the {what} of {_name(draft, cue)}" if what else f"Change {_name(draft, cue)}"
    return _changed(draft, text, dataclasses.replace(cue, **fields))


def move_cues(film: Film, scene_id: str, cue_ids: Sequence[str], frames: int) -> Edit:
    """Move cues in time, with their music.

    Args:
        film: The film.
        scene_id: The scene.
        cue_ids: What to move.
        frames: By how many frames, later; below 0, earlier.

    Raises:
        EditError: when the scene is locked, something is unknown, or a cue would lie more than 24 hours away.
    """
    draft = Draft.of(film, scene_id)
    chosen = _find_all(draft, cue_ids)
    cues = [
        dataclasses.replace(cue, start_frames=cue.start_frames + frames) if cue in chosen else cue
        for cue in draft.scene.content.cues
    ]
    return _edit(draft, f"Move {_names(draft, chosen)}", cues)


def trim_cue_head(film: Film, scene_id: str, cue_id: str, frames: int) -> Edit:
    """Take frames off a cue's head, or let it begin earlier; the music that still sounds stays where it is.

    The in points of all that was tried move along, and the first of their parts. The choice decides how far
    the cue can be extended; another candidate that has less before its in point then begins with its first
    sample, and one in parts with its first part as it is.

    Args:
        film: The film.
        scene_id: The scene.
        cue_id: The cue.
        frames: How many to take off; below 0, how many to add.

    Raises:
        EditError: when the scene is locked, one of the two is unknown, no frame would be left, or the chosen
            music begins later than that.
    """
    draft = Draft.of(film, scene_id)
    cue = _find(draft, cue_id)
    name = _name(draft, cue)
    check_left(name, cue.length_frames, frames)
    if cue.choice:
        room = int(_first_seconds(cue.choice) * draft.rate.fraction)
        check_room(-frames, room, told=f"of music before {name}", verb="Extend it")
    moved = draft.rate.seconds(frames)
    candidates = tuple(_head_moved(item, moved) for item in cue.candidates)
    trimmed = dataclasses.replace(
        cue,
        start_frames=cue.start_frames + frames,
        length_frames=cue.length_frames - frames,
        candidates=candidates,
    )
    return _changed(draft, f"Trim the head of {name}", trimmed)


def trim_cue_tail(
    film: Film,
    scene_id: str,
    cue_id: str,
    frames: int,
    *,
    sound_seconds: Mapping[str, Fraction] = NOTHING_KNOWN,
) -> Edit:
    """Take frames off a cue's tail, or let it run on.

    Parts of music stay as they are when the cue becomes shorter, so that they are there again when it is
    extended; beyond them, the last part of each candidate runs on.

    Args:
        film: The film.
        scene_id: The scene.
        cue_id: The cue.
        frames: How many to take off; below 0, how many to add.
        sound_seconds: Length of each file's sound, by path; one that is not there counts as endless.

    Raises:
        EditError: when the scene is locked, one of the two is unknown, no frame would be left, or the chosen
            music ends before that.
    """
    draft = Draft.of(film, scene_id)
    cue = _find(draft, cue_id)
    name = _name(draft, cue)
    check_left(name, cue.length_frames, frames)
    if frames < 0 and cue.choice:
        end, spare = _end_of_music(cue.choice, draft.rate.seconds(cue.length_frames))
        room = sound_room_frames(cue.choice.file, end - spare, draft.rate.seconds(1), sound_seconds)
        check_room(-frames, room, told=f"of music after {name}", verb="Extend it")
    length = cue.length_frames - frames
    seconds = draft.rate.seconds(length)
    candidates = tuple(_running_on(item, seconds) if frames < 0 else item for item in cue.candidates)
    trimmed = dataclasses.replace(cue, length_frames=length, candidates=candidates)
    return _changed(draft, f"Trim the tail of {name}", trimmed)


def remove_cues(film: Film, scene_id: str, cue_ids: Sequence[str]) -> Edit:
    """Take cues out of a scene, with all that was tried for them; the files stay where they are.

    Args:
        film: The film.
        scene_id: The scene.
        cue_ids: What to take out.

    Raises:
        EditError: when the scene is locked or something is unknown.
    """
    draft = Draft.of(film, scene_id)
    chosen = _find_all(draft, cue_ids)
    left = [cue for cue in draft.scene.content.cues if cue not in chosen]
    return _edit(draft, f"Remove {_names(draft, chosen)}", left)


def add_candidate(
    film: Film, scene_id: str, cue_id: str, file: str, **fields: Unpack[CandidateFields]
) -> Edit:
    """Try a piece of music for a cue; it is not chosen by that.

    Args:
        film: The film.
        scene_id: The scene.
        cue_id: The cue.
        file: The music.
        **fields: What is known of it.

    Raises:
        EditError: when the scene is locked, one of the two is unknown, or a value is not allowed.
    """
    draft = Draft.of(film, scene_id)
    cue = _find(draft, cue_id)
    candidate = Candidate(id=IdMaker(film).new("a"), file=file, **fields)
    text = f"Try {_music(candidate)} for {_name(draft, cue)}"
    return _changed(draft, text, dataclasses.replace(cue, candidates=(*cue.candidates, candidate)))


def remove_candidate(film: Film, scene_id: str, cue_id: str, candidate_id: str) -> Edit:
    """Take a piece of music off a cue; where it was chosen, none is then.

    Args:
        film: The film.
        scene_id: The scene.
        cue_id: The cue.
        candidate_id: The music.

    Raises:
        EditError: when the scene is locked or one of the three is unknown.
    """
    draft = Draft.of(film, scene_id)
    cue, gone = _find_candidate(draft, cue_id, candidate_id)
    left = tuple(item for item in cue.candidates if item.id != candidate_id)
    chosen = "" if cue.chosen == candidate_id else cue.chosen
    text = f"Take {_music(gone)} off {_name(draft, cue)}"
    return _changed(draft, text, dataclasses.replace(cue, candidates=left, chosen=chosen))


def edit_candidate(
    film: Film, scene_id: str, cue_id: str, candidate_id: str, **fields: Unpack[CandidateFields]
) -> Edit:
    """Change where a piece of music begins, its gain, its fades, or what is known of its rights.

    Given a new in point, music in parts becomes the file as it is from there on, unless parts are given too.

    Args:
        film: The film.
        scene_id: The scene.
        cue_id: The cue.
        candidate_id: The music.
        **fields: What to change; the rest stays.

    Raises:
        EditError: when the scene is locked, one of the three is unknown, or a value is not allowed.
    """
    draft = Draft.of(film, scene_id)
    cue, old = _find_candidate(draft, cue_id, candidate_id)
    what = listed([_WORDS.get(name, name) for name in fields]) or "music"
    if fields.get("in_seconds", old.in_seconds) != old.in_seconds:
        fields.setdefault("parts", ())
    new = dataclasses.replace(old, **fields)
    candidates = tuple(new if item.id == candidate_id else item for item in cue.candidates)
    text = f"Change the {what} of {_music(old)} in {_name(draft, cue)}"
    return _changed(draft, text, dataclasses.replace(cue, candidates=candidates))


def _first_seconds(candidate: Candidate) -> Fraction:
    """Return the place in the file that sounds first."""
    return candidate.parts[0].in_seconds if candidate.parts else candidate.in_seconds


def _head_moved(candidate: Candidate, seconds: Fraction) -> Candidate:
    """Return music that begins later, or earlier below 0, while what still sounds stays in its place."""
    in_seconds = max(Fraction(0), candidate.in_seconds + seconds)
    if not candidate.parts:
        return dataclasses.replace(candidate, in_seconds=in_seconds)
    parts = list(candidate.parts)
    while len(parts) > 1 and parts[0].length_seconds <= seconds:
        seconds -= parts.pop(0).length_seconds
    # A part has to last for some time; the last one that is left runs on where the cue is longer.
    moved = min(max(seconds, -parts[0].in_seconds), parts[0].length_seconds - _LEAST_PART_SECONDS)
    parts[0] = MusicPart(
        in_seconds=parts[0].in_seconds + moved, length_seconds=parts[0].length_seconds - moved
    )
    return dataclasses.replace(candidate, in_seconds=in_seconds, parts=tuple(parts))


def _end_of_music(candidate: Candidate, seconds: Fraction) -> tuple[Fraction, Fraction]:
    """Return where the file's music ends, and how much of it a cue of a length does not use."""
    if not candidate.parts:
        return candidate.in_seconds + seconds, Fraction(0)
    last = candidate.parts[-1]
    whole = sum((part.length_seconds for part in candidate.parts), Fraction(0))
    return last.in_seconds + last.length_seconds, whole - seconds


def _running_on(candidate: Candidate, seconds: Fraction) -> Candidate:
    """Return music whose last part runs on until a length is filled."""
    if not candidate.parts:
        return candidate
    _, spare = _end_of_music(candidate, seconds)
    if spare >= 0:
        return candidate
    last = dataclasses.replace(candidate.parts[-1], length_seconds=candidate.parts[-1].length_seconds - spare)
    return dataclasses.replace(candidate, parts=(*candidate.parts[:-1], last))


def _find(draft: Draft, cue_id: str) -> Cue:
    for cue in draft.scene.content.cues:
        if cue.id == cue_id:
            return cue
    raise unknown(draft.scene_name, "cue", cue_id)


def _find_all(draft: Draft, cue_ids: Sequence[str]) -> list[Cue]:
    if not cue_ids:
        raise none_named("cue")
    return [_find(draft, cue_id) for cue_id in dict.fromkeys(cue_ids)]


def _find_candidate(draft: Draft, cue_id: str, candidate_id: str) -> tuple[Cue, Candidate]:
    cue = _find(draft, cue_id)
    for candidate in cue.candidates:
        if candidate.id == candidate_id:
            return cue, candidate
    raise unknown(f"{_name(draft, cue)}", "candidate", candidate_id)


def _name(draft: Draft, cue: Cue) -> str:
    return f"cue {cue.label or cue.id} in {draft.scene_name}"


def _names(draft: Draft, cues: Sequence[Cue]) -> str:
    if len(cues) == 1:
        return _name(draft, cues[0])
    return f"{counted(len(cues), 'cue')} in {draft.scene_name}"


def _music(candidate: Candidate) -> str:
    return quoted(candidate.rights.title or candidate.file.rpartition("/")[2])


def _changed(draft: Draft, text: str, changed: Cue) -> Edit:
    cues = [changed if cue.id == changed.id else cue for cue in draft.scene.content.cues]
    return _edit(draft, text, cues)


def _edit(draft: Draft, text: str, cues: Sequence[Cue], *, music: bool = False) -> Edit:
    content = dataclasses.replace(
        draft.scene.content, cues=tuple(cues), no_music=draft.scene.content.no_music and not music
    )
    return draft.edit(text, content)
