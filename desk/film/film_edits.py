"""Edits of the film as a whole, and of where its files are."""

import dataclasses
import math
from collections.abc import Iterable, Mapping
from fractions import Fraction
from typing import TypedDict, Unpack

from desk.errors import EditError, TimecodeError
from desk.film.content_faults import Findings, find_in_look
from desk.film.edit import Change, ChangeKind, Edit, next_id_after, other_ids, refuse_faults
from desk.film.faults import find_in_delivery, find_in_frame, find_in_people, find_in_review_copies
from desk.film.fingerprint import fingerprint
from desk.film.model import (
    CameraLook,
    Delivery,
    Film,
    Join,
    Lock,
    Person,
    ReviewCopy,
    Scene,
    SceneContent,
    Size,
)
from desk.film.paths import content_paths, film_paths, path_fault
from desk.film.rates import Rate
from desk.film.timecode import format_label, has_drop_frame, parse_label
from desk.film.wording import counted, entry_names, listed, quoted


class FilmFields(TypedDict, total=False):
    """What may be changed of a film."""

    title: str
    people: tuple[Person, ...]
    delivery: Delivery
    rate: Rate
    size: Size
    start_frames: int
    drop_frame: bool
    footage: str
    camera_looks: tuple[CameraLook, ...]


def edit_film(film: Film, **fields: Unpack[FilmFields]) -> Edit:
    """Change what belongs to the film as a whole.

    A new rate keeps all lengths in seconds, to the nearest frame, and the timecode start as a label.
    Switching drop-frame keeps that label too.

    Args:
        film: The film.
        **fields: What to change; the rest stays.

    Raises:
        EditError: for a value that is not allowed; for another rate once anything is cut to frames; for a
            camera look that is still in use, or whose grade a locked scene has.
    """
    _check_looks(film, fields.get("camera_looks", film.camera_looks))
    changed = film
    rate = fields.get("rate", film.rate)
    if rate != film.rate:
        findings = Findings.of(film)
        find_in_frame(findings, dataclasses.replace(film, rate=rate, start_frames=0, drop_frame=False))
        refuse_faults(findings)
        changed = _at_rate(film, rate)
    changed = dataclasses.replace(changed, **fields)
    if "drop_frame" not in fields:
        changed = dataclasses.replace(changed, drop_frame=film.drop_frame and has_drop_frame(rate))
    if "start_frames" not in fields and (changed.rate, changed.drop_frame) != (film.rate, film.drop_frame):
        changed = dataclasses.replace(changed, start_frames=_same_label(film, changed))
    findings = Findings.of(changed)
    findings.line(changed.title, "title", "the title of the film")
    find_in_frame(findings, changed)
    findings.path(changed.footage, "footage", "the footage folder of the film", required=False)
    find_in_people(findings, changed.people)
    find_in_delivery(findings, changed.delivery)
    refuse_faults(findings)
    changed = dataclasses.replace(
        changed, next_id=next_id_after(film, (look.id for look in changed.camera_looks))
    )
    what = listed([name.removesuffix("_frames").replace("_", " ") for name in fields])
    return Edit(f"Change the {what or 'film'} of the film", film, changed, Change(ChangeKind.FILM))


def set_fades(film: Film, fade_in_frames: int, fade_out_frames: int) -> Edit:
    """Set the fade up from black at the start of the film and the fade to black at its end; 0 for none.

    Raises:
        EditError: for a length that is not allowed.
    """
    after = dataclasses.replace(film, fade_in_frames=fade_in_frames, fade_out_frames=fade_out_frames)
    findings = Findings.of(film)
    for name in ("fade_in_frames", "fade_out_frames"):
        findings.number(after, name, 0, None, "", "the film")
    refuse_faults(findings)
    return Edit("Change the fades of the film", film, after, Change(ChangeKind.FILM))


def add_review_copy(film: Film, copy: ReviewCopy) -> Edit:
    """Note a review copy that was made; its number is above those before it.

    Raises:
        EditError: for a number that was used before, or a value that is not allowed.
    """
    after = dataclasses.replace(film, review_copies=(*film.review_copies, copy))
    findings = Findings.of(film)
    find_in_review_copies(findings, after.review_copies)
    refuse_faults(findings)
    return Edit(f"Note review copy {copy.number}", film, after, Change(ChangeKind.FILM))


def relink(film: Film, old_path: str, new_path: str) -> Edit:
    """Name the new place of a file that was moved or renamed, wherever the film uses it: see `relink_all`.

    Raises:
        EditError: when the film does not use the old path, or the new one is not allowed.
    """
    return relink_all(film, {old_path: new_path})


def relink_all(film: Film, moves: Mapping[str, str]) -> Edit:
    """Name the new places of files that were moved or renamed, wherever the film uses them.

    Locked scenes are relinked too, as it is the same file that is meant: their locks and proofs then hold
    for the new path, with the hashes that were locked. Should the file at the new place be another one, the
    lock is broken as before. Earlier versions go along, so that they can be brought back.

    Args:
        film: The film.
        moves: New paths by old ones.

    Raises:
        EditError: when the film does not use an old path, or a new one is not allowed.
    """
    known = _known_paths(film)
    for old, new in moves.items():
        if old not in known:
            raise EditError(
                f"The film does not use {quoted(old)}.",
                advice="Name a file that it uses.",
                code="edit.unknown",
            )
        if finding := path_fault(new):
            raise EditError(
                f"The new place of {quoted(old)} {finding}, not {quoted(new)}.",
                advice="Name the file relative to the project folder.",
                code="edit.value",
            )
    scenes = tuple(_relinked_scene(scene, moves) for scene in film.scenes)
    cards = tuple(
        dataclasses.replace(card, picture=moves[card.picture]) if card.picture in moves else card
        for card in film.cards
    )
    # What is marked of a file that is now found elsewhere counts there; each file has one mark.
    marks = {
        moves.get(mark.source, mark.source): dataclasses.replace(
            mark, source=moves.get(mark.source, mark.source)
        )
        for mark in film.footage_marks
    }
    changed = [new.id for old, new in zip(film.scenes, scenes, strict=True) if old is not new]
    changed += [new.id for old, new in zip(film.cards, cards, strict=True) if old is not new]
    after = dataclasses.replace(film, scenes=scenes, cards=cards, footage_marks=tuple(marks.values()))
    what = f"{quoted(next(iter(moves)))}" if len(moves) == 1 else counted(len(moves), "file")
    return Edit(f"Relink {what}", film, after, Change(ChangeKind.MEDIA, tuple(changed)))


def _check_looks(film: Film, looks: tuple[CameraLook, ...]) -> None:
    """Refuse looks that are not allowed, gone though in use, or changed under a locked scene."""
    if looks is film.camera_looks:
        return
    findings = Findings.of(film)
    nowhere = Scene(id="", number="")
    own = {look.id for look in film.camera_looks}
    findings.ids = {key: value for key, value in other_ids(film, nowhere).items() if key not in own}
    for index, look in enumerate(looks):
        find_in_look(findings, look, f"camera_looks[{index}]")
    refuse_faults(findings)
    new = {look.id: look for look in looks}
    for old in film.camera_looks:
        users = [scene for scene in film.scenes if any(clip.camera == old.id for clip in scene.content.clips)]
        locked = [scene for scene in users if scene.lock]
        now = new.get(old.id)
        if now is None and users:
            raise EditError(
                f"Camera look {quoted(old.name)} is used in {entry_names(users)}.",
                advice="Take it off the clips first.",
                code="edit.camera-used",
            )
        if now is not None and now.grade != old.grade and locked:
            raise EditError(
                f"The grade of camera look {quoted(old.name)} is locked in {entry_names(locked)}.",
                advice="Unlock them first, or make another camera look.",
                code="edit.locked",
            )


def _at_rate(film: Film, rate: Rate) -> Film:
    """Return a film at another rate, with its lengths in seconds kept, where nothing is cut in it yet.

    Raises:
        EditError: when something is.
    """
    contents = [content for scene in film.scenes for content in _contents(scene)]
    if any(content.clips or content.cues or content.spots for content in contents):
        raise EditError(
            f"The frame rate can't be changed to {rate}: every cut and cue of the film is counted at "
            f"{film.rate}.",
            advice=f"Start a new film at {rate} from the same footage.",
            code="edit.rate",
        )
    ratio = rate.fraction / film.rate.fraction
    most = Findings.of(dataclasses.replace(film, rate=rate)).day_frames

    def scaled(frames: int) -> int:
        return min(most, math.floor(frames * ratio + Fraction(1, 2)) or min(frames, 1))

    def join(old: Join) -> Join:
        return dataclasses.replace(
            old, before_frames=scaled(old.before_frames), after_frames=scaled(old.after_frames)
        )

    return dataclasses.replace(
        film,
        rate=rate,
        fade_in_frames=scaled(film.fade_in_frames),
        fade_out_frames=scaled(film.fade_out_frames),
        scenes=tuple(
            dataclasses.replace(scene, planned_frames=scaled(scene.planned_frames)) for scene in film.scenes
        ),
        cards=tuple(
            card
            if card.length_frames is None
            else dataclasses.replace(card, length_frames=scaled(card.length_frames))
            for card in film.cards
        ),
        order=tuple(dataclasses.replace(item, join=join(item.join)) for item in film.order),
        aside=tuple(dataclasses.replace(item, join=join(item.join)) for item in film.aside),
    )


def _same_label(before: Film, after: Film) -> int:
    """Return the count of the timecode start's label after a change, or of the next that exists then."""
    label = format_label(before.start_frames, before.rate, drop_frame=before.drop_frame)
    mark = ";" if after.drop_frame else ":"
    frames = min(int(label[-2:]), after.rate.nominal - 1)
    # At most the first four labels of a minute are left out, so that one of these exists.
    for shift in range(5):
        try:
            return parse_label(f"{label[:8]}{mark}{frames + shift:02}", after.rate)[0]
        except TimecodeError:
            continue
    return after.rate.nominal * 3600


def _contents(scene: Scene) -> Iterable[SceneContent]:
    yield scene.content
    yield from (version.content for version in scene.history)


def _known_paths(film: Film) -> set[str]:
    """Return every path that a film names, those of earlier versions too."""
    known = set(film_paths(film))
    for scene in film.scenes:
        for version in scene.history:
            known.update(content_paths(version.content, every_candidate=True))
            known.update(media.path for media in version.lock.media)
        if scene.lock:
            known.update(media.path for media in scene.lock.media)
        known.update(scene.more_footage)
    known.update(mark.source for mark in film.footage_marks)
    return known


def _relinked_scene(scene: Scene, moves: Mapping[str, str]) -> Scene:
    content = _relinked_content(scene.content, moves)
    was, now = "", ""
    if content is not scene.content:
        was, now = fingerprint(scene.content), fingerprint(content)
    proofs = tuple(
        dataclasses.replace(proof, content=now) if was and proof.content == was else proof
        for proof in scene.proofs
    )
    history = []
    for version in scene.history:
        past = _relinked_content(version.content, moves)
        lock = _relinked_lock(version.lock, version.content, past, moves)
        history.append(dataclasses.replace(version, content=past, lock=lock))
    changed = dataclasses.replace(
        scene,
        content=content,
        proofs=proofs,
        lock=scene.lock and _relinked_lock(scene.lock, scene.content, content, moves),
        history=tuple(history),
        reference_picture=moves.get(scene.reference_picture, scene.reference_picture),
        more_footage=tuple(dict.fromkeys(moves.get(path, path) for path in scene.more_footage)),
    )
    return scene if changed == scene else changed


def _relinked_lock(lock: Lock, before: SceneContent, after: SceneContent, moves: Mapping[str, str]) -> Lock:
    """Return a lock for the new paths; one that was broken by its content stays broken."""
    holds = after is not before and lock.content == fingerprint(before)
    media = tuple(dataclasses.replace(item, path=moves.get(item.path, item.path)) for item in lock.media)
    return dataclasses.replace(
        lock, content=fingerprint(after) if holds else lock.content, media=tuple(dict.fromkeys(media))
    )


def _relinked_content(content: SceneContent, moves: Mapping[str, str]) -> SceneContent:
    """Return content with the new paths, or the very same value where it uses none of them."""

    def place(path: str) -> str:
        return moves.get(path, path)

    clips = tuple(
        dataclasses.replace(
            clip,
            source=place(clip.source),
            sound=dataclasses.replace(clip.sound, file=place(clip.sound.file))
            if clip.sound.file
            else clip.sound,
        )
        for clip in content.clips
    )
    cues = tuple(
        dataclasses.replace(
            cue,
            candidates=tuple(dataclasses.replace(item, file=place(item.file)) for item in cue.candidates),
        )
        for cue in content.cues
    )
    spots = tuple(dataclasses.replace(spot, file=place(spot.file)) for spot in content.spots)
    changed = dataclasses.replace(content, clips=clips, cues=cues, spots=spots)
    return content if changed == content else changed
