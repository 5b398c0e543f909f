"""Edits of the film's voices: who speaks, and what is done to each voice in a scene."""

import dataclasses
from collections.abc import Sequence
from typing import TypedDict, Unpack

from desk.errors import EditError
from desk.film.content_edits import set_content
from desk.film.content_faults import Findings
from desk.film.cutting import Draft
from desk.film.edit import (
    Change,
    ChangeKind,
    Edit,
    IdMaker,
    find_open_scene,
    next_id_after,
    refuse_faults,
    with_content,
)
from desk.film.faults import find_in_voice
from desk.film.model import Clip, Film, Scene, Voice, VoiceChain
from desk.film.wording import counted, entry_name, quoted


class VoiceFields(TypedDict, total=False):
    """What may be changed of a voice."""

    name: str
    note: str


def add_voice(film: Film, name: str, *, scene_id: str = "", clip_ids: Sequence[str] = ()) -> Edit:
    """Add somebody who speaks in the film, and say in which clips.

    Args:
        film: The film.
        name: Whose voice it is.
        scene_id: The scene of the clips, or "".
        clip_ids: The clips in which it speaks; none for a voice that is not used yet.

    Raises:
        EditError: when there is such a voice, the name is empty, the scene is locked, or a clip is unknown.
    """
    _refuse_double(film, name)
    voice = Voice(id=IdMaker(film).new("v"), name=name.strip())
    text = f"Add the voice {quoted(voice.name)}"
    edit = _with_voices(film, (*film.voices, voice), voice, text)
    if not clip_ids:
        return edit
    given = set_voice(edit.after, scene_id, clip_ids, voice.id)
    return Edit(text, film, given.after, given.change)


def edit_voice(film: Film, voice_id: str, **fields: Unpack[VoiceFields]) -> Edit:
    """Change the name or the note of a voice.

    Raises:
        EditError: when it is unknown, or a value is not allowed.
    """
    before = find_voice(film, voice_id)
    _refuse_double(film, fields.get("name", before.name), but=voice_id)
    voice = dataclasses.replace(before, **fields)
    voices = tuple(voice if item.id == voice_id else item for item in film.voices)
    return _with_voices(film, voices, voice, f"Change the voice {quoted(before.name)}")


def remove_voice(film: Film, voice_id: str) -> Edit:
    """Take a voice out of the film, and out of the drafts that name it.

    Raises:
        EditError: when it is unknown, or a locked scene has it.
    """
    voice = find_voice(film, voice_id)
    using = [scene for scene in film.scenes if _has(scene, voice_id)]
    for scene in using:
        if scene.lock:
            raise EditError(
                f"The voice {quoted(voice.name)} speaks in {entry_name(scene)}, which is locked.",
                advice="Unlock that scene first, or leave the voice as it is.",
                code="edit.locked",
            )
    after = dataclasses.replace(
        film,
        voices=tuple(item for item in film.voices if item.id != voice_id),
        scenes=tuple(_without(scene, voice_id) if scene in using else scene for scene in film.scenes),
    )
    change = (
        Change(ChangeKind.CONTENT, tuple(scene.id for scene in using)) if using else Change(ChangeKind.FILM)
    )
    return Edit(f"Remove the voice {quoted(voice.name)}", film, after, change)


def set_voice(film: Film, scene_id: str, clip_ids: Sequence[str], voice_id: str) -> Edit:
    """Say who speaks in clips.

    Args:
        film: The film.
        scene_id: The scene.
        clip_ids: The clips.
        voice_id: The voice, or "" for nobody.

    Raises:
        EditError: when the scene is locked, or something is unknown.
    """
    draft = Draft.of(film, scene_id)
    chosen = draft.indices(clip_ids)
    name = quoted(find_voice(film, voice_id).name) if voice_id else "nobody"
    clips = list(draft.clips)
    for index in chosen:
        sound = dataclasses.replace(clips[index].sound, voice=voice_id)
        clips[index] = dataclasses.replace(clips[index], sound=sound)
    return draft.edit(f"Let {name} speak in {draft.names(chosen)}", draft.with_clips(clips))


def set_voice_chain(film: Film, scene_id: str, chain: VoiceChain) -> Edit:
    """Say what is done to a voice in a scene.

    Args:
        film: The film.
        scene_id: The scene.
        chain: All of it; one that does nothing is left out of the scene.

    Raises:
        EditError: when the scene is locked, the voice is unknown, or a value is not allowed.
    """
    scene = find_open_scene(film, scene_id)
    voice = find_voice(film, chain.voice)
    text = f"Change what is done to the voice {quoted(voice.name)} in {entry_name(scene)}"
    return set_content(
        film, scene_id, dataclasses.replace(scene.content, voice_chains=_put(scene, chain)), text
    )


def copy_voice_chain(film: Film, scene_id: str, voice_id: str) -> Edit:
    """Do to a voice in all drafts where it speaks what is done to it in one scene.

    Raises:
        EditError: when something is unknown, or no other draft has the voice.
    """
    source = next((scene for scene in film.scenes if scene.id == scene_id), None)
    voice = find_voice(film, voice_id)
    if source is None:
        raise EditError(
            "There is no such scene.", advice="Choose one from the running order.", code="edit.unknown"
        )
    chain = next(
        (item for item in source.content.voice_chains if item.voice == voice_id), VoiceChain(voice=voice_id)
    )
    others = [
        scene for scene in film.scenes if scene.id != scene_id and not scene.lock and _speaks(scene, voice_id)
    ]
    if not others:
        raise EditError(
            f"The voice {quoted(voice.name)} speaks in no other draft.",
            advice="Say first in which clips it speaks there.",
            code="edit.nothing",
        )
    after = film
    for scene in others:
        content = dataclasses.replace(scene.content, voice_chains=_put(scene, chain))
        after = with_content(after, scene, content)
    text = f"Do the same to the voice {quoted(voice.name)} in {counted(len(others), 'scene')} more"
    return Edit(text, film, after, Change(ChangeKind.CONTENT, tuple(scene.id for scene in others)))


def find_voice(film: Film, voice_id: str) -> Voice:
    """Return the voice with this id.

    Raises:
        EditError: when there is none.
    """
    for voice in film.voices:
        if voice.id == voice_id:
            return voice
    raise EditError(
        f"The film has no voice with the id {quoted(voice_id)}.",
        advice="Choose one of its voices, or add one.",
        code="edit.unknown",
    )


def _refuse_double(film: Film, name: str, *, but: str = "") -> None:
    for voice in film.voices:
        if voice.id != but and voice.name.casefold() == name.strip().casefold():
            raise EditError(
                f"There is a voice {quoted(voice.name)} already.",
                advice="Give this one another name, or use that voice.",
                code="edit.taken",
            )


def _with_voices(film: Film, voices: tuple[Voice, ...], changed: Voice, text: str) -> Edit:
    findings = Findings.of(film)
    find_in_voice(findings, changed, "voices")
    refuse_faults(findings)
    after = dataclasses.replace(
        film, voices=voices, next_id=next_id_after(film, [voice.id for voice in voices])
    )
    return Edit(text, film, after, Change(ChangeKind.FILM))


def _put(scene: Scene, chain: VoiceChain) -> tuple[VoiceChain, ...]:
    """Return a scene's chains with one in its place, or without it where it does nothing."""
    others = [item.voice for item in scene.content.voice_chains]
    chains = tuple(chain if item.voice == chain.voice else item for item in scene.content.voice_chains)
    if chain.voice not in others:
        chains = (*chains, chain)
    return tuple(item for item in chains if item != VoiceChain(voice=item.voice))


def _speaks(scene: Scene, voice_id: str) -> bool:
    return any(clip.sound.voice == voice_id for clip in scene.content.clips)


def _has(scene: Scene, voice_id: str) -> bool:
    return _speaks(scene, voice_id) or any(item.voice == voice_id for item in scene.content.voice_chains)


def _without(scene: Scene, voice_id: str) -> Scene:
    def left(clip: Clip) -> Clip:
        if clip.sound.voice != voice_id:
            return clip
        return dataclasses.replace(clip, sound=dataclasses.replace(clip.sound, voice=""))

    content = dataclasses.replace(
        scene.content,
        clips=tuple(left(clip) for clip in scene.content.clips),
        voice_chains=tuple(item for item in scene.content.voice_chains if item.voice != voice_id),
    )
    return dataclasses.replace(scene, content=content)
