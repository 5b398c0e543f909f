"""Edits of what is in a scene: picture, sound and grade. A locked scene refuses all of them."""

import dataclasses

from desk.errors import EditError
from desk.film.content_faults import Findings, find_in_content
from desk.film.edit import (
    Change,
    ChangeKind,
    Edit,
    find_open_scene,
    find_scene,
    other_ids,
    refuse_faults,
    with_content,
    with_scene,
)
from desk.film.faults import find_in_proofs
from desk.film.fingerprint import fingerprint
from desk.film.model import Cue, Film, Proof, SceneContent
from desk.film.wording import entry_name, quoted, sentence


def set_content(film: Film, scene_id: str, content: SceneContent, text: str) -> Edit:
    """Put new content into a scene.

    Args:
        film: The film.
        scene_id: The scene.
        content: All of its content; new ids in it come from an `IdMaker`.
        text: What the edit does, for the undo menu.

    Raises:
        EditError: when the scene is locked or unknown, or the content holds a value that is not allowed or
            an id that something else in the film has.
    """
    scene = find_open_scene(film, scene_id)
    findings = Findings.of(film)
    findings.ids = other_ids(film, scene)
    find_in_content(findings, content, "content", entry_name(scene))
    refuse_faults(findings)
    after = with_content(film, scene, content)
    return Edit(text, film, after, Change(ChangeKind.CONTENT, (scene_id,)))


def set_grade_note(film: Film, scene_id: str, note: str) -> Edit:
    """Write the words about a scene's grade.

    Raises:
        EditError: when the scene is locked or unknown, or the note is not allowed.
    """
    scene = find_open_scene(film, scene_id)
    content = dataclasses.replace(scene.content, grade_note=note)
    return set_content(film, scene_id, content, f"Change the grade note of {entry_name(scene)}")


def declare_no_music(film: Film, scene_id: str, declared: bool = True) -> Edit:
    """Declare that a scene has no music, or take that back.

    Raises:
        EditError: when the scene is locked or unknown, or has music chosen.
    """
    scene = find_open_scene(film, scene_id)
    name = entry_name(scene)
    chosen = [_label(cue) for cue in scene.content.cues if cue.choice]
    if declared and chosen:
        raise EditError(
            f"{sentence(name)} has music chosen for {chosen[0]}.",
            advice="Take that choice back first.",
            code="edit.music",
        )
    content = dataclasses.replace(scene.content, no_music=declared)
    text = f"Declare no music in {name}" if declared else f"Allow music in {name}"
    return set_content(film, scene_id, content, text)


def set_voices_levelled(film: Film, scene_id: str, levelled: bool = True) -> Edit:
    """Call the voices of a scene level, or take that back.

    Raises:
        EditError: when the scene is locked or unknown.
    """
    scene = find_open_scene(film, scene_id)
    content = dataclasses.replace(scene.content, voices_levelled=levelled)
    what = "levelled" if levelled else "not levelled"
    return set_content(film, scene_id, content, f"Call the voices of {entry_name(scene)} {what}")


def choose_candidate(film: Film, scene_id: str, cue_id: str, candidate_id: str) -> Edit:
    """Choose the music of a cue; a declaration that the scene has none is then taken back.

    Args:
        film: The film.
        scene_id: The scene.
        cue_id: The cue.
        candidate_id: One of its candidates, or "" for none.

    Raises:
        EditError: when the scene is locked, or one of the three is unknown.
    """
    scene = find_open_scene(film, scene_id)
    cue = next((item for item in scene.content.cues if item.id == cue_id), None)
    if cue is None:
        raise EditError(
            f"{sentence(entry_name(scene))} has no cue with the id {quoted(cue_id)}.",
            advice="Choose one of its cues.",
            code="edit.unknown",
        )
    if candidate_id and candidate_id not in [item.id for item in cue.candidates]:
        raise EditError(
            f"{sentence(_label(cue))} has no candidate with the id {quoted(candidate_id)}.",
            advice="Choose one that was tried for it.",
            code="edit.unknown",
        )
    chosen = dataclasses.replace(cue, chosen=candidate_id)
    content = dataclasses.replace(
        scene.content,
        cues=tuple(chosen if item.id == cue_id else item for item in scene.content.cues),
        no_music=scene.content.no_music and not candidate_id,
    )
    verb = "Choose the music" if candidate_id else "Take back the choice"
    return set_content(film, scene_id, content, f"{verb} of {_label(cue)} in {entry_name(scene)}")


def add_proof(film: Film, scene_id: str, date: str, by: str = "", remark: str = "") -> Edit:
    """Note that somebody has looked carefully at a scene as it is now. A locked scene may be looked at too.

    Args:
        film: The film.
        scene_id: The scene.
        date: ISO 8601, `2026-11-25`.
        by: Who looked.
        remark: What was seen.

    Raises:
        EditError: for an unknown scene, one without clips, or a date that is none.
    """
    scene = find_scene(film, scene_id)
    if not scene.content.clips:
        raise EditError(
            f"{sentence(entry_name(scene))} has no clips yet, so there is nothing to watch.",
            advice="Add footage first.",
            code="edit.nothing-to-proof",
        )
    proof = Proof(date=date, by=by, remark=remark, content=fingerprint(scene.content))
    changed = dataclasses.replace(scene, proofs=(*scene.proofs, proof))
    findings = Findings.of(film)
    find_in_proofs(findings, dataclasses.replace(scene, proofs=(proof,)), "scene")
    refuse_faults(findings)
    text = f"Note a proof of {entry_name(scene)}"
    return Edit(text, film, with_scene(film, changed), Change(ChangeKind.PROOFS, (scene_id,)))


def _label(cue: Cue) -> str:
    return f"cue {cue.label or cue.id}"
