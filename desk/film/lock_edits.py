"""Edits of locks: closing a scene, opening it again, and its earlier versions."""

import dataclasses
from collections.abc import Sequence

from desk.errors import EditError
from desk.film.content_faults import Findings, content_ids
from desk.film.edit import (
    Change,
    ChangeKind,
    Edit,
    IdMaker,
    find_open_scene,
    find_scene,
    other_ids,
    refuse_faults,
    with_content,
    with_scene,
)
from desk.film.entry_edits import renewed
from desk.film.faults import find_in_lock, is_date
from desk.film.fingerprint import fingerprint
from desk.film.locking import what_a_lock_asks
from desk.film.model import Film, Lock, LockedMedia, LockedVersion, SceneContent
from desk.film.paths import content_paths
from desk.film.wording import entry_name, quoted, sentence, uncapped


def lock(film: Film, scene_id: str, date: str, media: Sequence[LockedMedia], reason: str = "") -> Edit:
    """Close a scene over its content and media.

    Args:
        film: The film.
        scene_id: The scene.
        date: ISO 8601, `2026-11-25`.
        media: The files that are there, with their hashes. A file of the scene that is not among them counts
            as missing; one that the scene does not use is left out.
        reason: Why to lock it although something is open; "" refuses then.

    Raises:
        EditError: when the scene is unknown or locked already, or something is open and no reason is given;
            the detail then lists what.
    """
    scene = find_scene(film, scene_id)
    name = entry_name(scene)
    if scene.lock:
        raise EditError(
            f"{sentence(name)} is locked already.", advice="Unlock it first to change it.", code="edit.locked"
        )
    used = content_paths(scene.content)
    present = {item.path: item for item in media}
    asks = what_a_lock_asks(film, scene, present.__contains__)
    reason = reason.strip()
    if asks and not reason:
        what = "; ".join(uncapped(item.sentence).rstrip(".") for item in asks)
        raise EditError(
            f"{sentence(name)} is not ready to be locked: {what}.",
            advice="Settle this, or lock it anyway and give the reason.",
            code="edit.not-ready",
            detail="\n".join(item.sentence for item in asks),
        )
    version = len(scene.history) + 1
    made = Lock(
        version=version,
        date=date,
        content=fingerprint(scene.content),
        media=tuple(present[path] for path in used if path in present),
        reason=reason if asks else "",
    )
    findings = Findings.of(film)
    find_in_lock(findings, made, "lock", name, version)
    refuse_faults(findings)
    after = with_scene(film, dataclasses.replace(scene, lock=made))
    return Edit(f"Lock {name}", film, after, Change(ChangeKind.LOCK, (scene_id,)))


def unlock(film: Film, scene_id: str, date: str, reason: str = "") -> Edit:
    """Open a locked scene again; what was locked goes into its history whole.

    Args:
        film: The film.
        scene_id: The scene.
        date: ISO 8601, `2026-11-25`.
        reason: Why, or "".

    Raises:
        EditError: when the scene is unknown or not locked.
    """
    scene = find_scene(film, scene_id)
    name = entry_name(scene)
    if scene.lock is None:
        raise EditError(
            f"{sentence(name)} is not locked.", advice="It can be changed as it is.", code="edit.not-locked"
        )
    findings = Findings.of(film)
    if not is_date(date):
        findings.add(
            "unlocked", "the date of unlocking", f"must be written as 2026-11-25, not {quoted(date)}"
        )
    findings.text(reason, "reason", f"the reason for unlocking {name}")
    refuse_faults(findings)
    past = LockedVersion(lock=scene.lock, content=scene.content, unlocked=date, reason=reason.strip())
    after = with_scene(film, dataclasses.replace(scene, lock=None, history=(*scene.history, past)))
    return Edit(f"Unlock {name}", film, after, Change(ChangeKind.LOCK, (scene_id,)))


def bring_back(film: Film, scene_id: str, version: int) -> Edit:
    """Make the content of an earlier locked version the content of a draft; the history keeps that version.

    Camera looks that are gone since are taken off its clips. Where something else in the film has got one of
    its ids since, it comes back under new ones.

    Args:
        film: The film.
        scene_id: The scene.
        version: Which of its locked versions.

    Raises:
        EditError: when the scene is unknown or locked, or has no such version.
    """
    scene = find_open_scene(film, scene_id)
    name = entry_name(scene)
    past = next((item for item in scene.history if item.lock.version == version), None)
    if past is None:
        count = len(scene.history)
        raise EditError(
            f"{sentence(name)} has no locked version {version}.",
            advice=f"Choose one from 1 to {count}." if count else "It has not been locked and opened before.",
            code="edit.unknown",
        )
    content = _without_lost_cameras(film, past.content)
    after = film
    if not other_ids(film, scene).keys().isdisjoint(content_ids(content)):
        ids = IdMaker(film)
        content = renewed(content, ids)
    after = with_content(film, scene, content)
    return Edit(
        f"Bring back version {version} of {name}", film, after, Change(ChangeKind.CONTENT, (scene_id,))
    )


def _without_lost_cameras(film: Film, content: SceneContent) -> SceneContent:
    cameras = {look.id for look in film.camera_looks}
    if all(not clip.camera or clip.camera in cameras for clip in content.clips):
        return content
    clips = (
        clip if clip.camera in cameras else dataclasses.replace(clip, camera="") for clip in content.clips
    )
    return dataclasses.replace(content, clips=tuple(clips))
