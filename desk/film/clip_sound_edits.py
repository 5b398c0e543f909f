"""Edits of a clip's own sound: where it comes from, its gain, its fades, and its edges."""

import dataclasses
import math
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import TypedDict, Unpack

from desk.errors import EditError
from desk.film.cutting import NOTHING_KNOWN, Draft, check_room, sound_room_frames
from desk.film.edit import Edit
from desk.film.model import Clip, ClipSound, Film, SoundKind
from desk.film.wording import counted, listed, quoted, sentence


class ClipSoundFields(TypedDict, total=False):
    """What may be changed of the sound of several clips at once."""

    kind: SoundKind
    file: str
    offset_seconds: Fraction
    gain_db: float
    lead_frames: int
    lag_frames: int
    fade_in_frames: int
    fade_out_frames: int
    voice: str


_WORDS = {
    "kind": "sound",
    "file": "recording",
    "offset_seconds": "sound offset",
    "gain_db": "gain",
    "lead_frames": "lead",
    "lag_frames": "lag",
    "fade_in_frames": "fade in",
    "fade_out_frames": "fade out",
    "voice": "voice",
}


def edit_clip_sound(
    film: Film, scene_id: str, clip_ids: Sequence[str], **fields: Unpack[ClipSoundFields]
) -> Edit:
    """Change the sound of clips.

    Args:
        film: The film.
        scene_id: The scene.
        clip_ids: The clips.
        **fields: What to change; the rest stays.

    Raises:
        EditError: when the scene is locked, something is unknown, a value is not allowed, or a fade is longer
            than what sounds.
    """
    draft = Draft.of(film, scene_id)
    chosen = draft.indices(clip_ids)
    clips = list(draft.clips)
    for index in chosen:
        sound = dataclasses.replace(clips[index].sound, **fields)
        clips[index] = dataclasses.replace(clips[index], sound=sound)
        for fade in ("fade_in_frames", "fade_out_frames"):
            if fade in fields:
                _check_fade(draft.name(index), clips[index], _WORDS[fade], getattr(sound, fade))
    what = listed([_WORDS[name] for name in fields]) or "sound"
    return draft.edit(f"Change the {what} of {draft.names(chosen)}", draft.with_clips(clips))


def lay_recording(film: Film, scene_id: str, clip_id: str, file: str, offset_seconds: Fraction) -> Edit:
    """Lay a separate recording under a clip instead of the sound that it has.

    Args:
        film: The film.
        scene_id: The scene.
        clip_id: The clip.
        file: The recording.
        offset_seconds: Place in it that belongs to second 0 of the clip's source; see `desk.sound.offset`.

    Raises:
        EditError: when the scene is locked, one of the two is unknown, or a value is not allowed.
    """
    draft = Draft.of(film, scene_id)
    index = draft.index(clip_id)
    clip = draft.clips[index]
    sound = dataclasses.replace(clip.sound, kind=SoundKind.SEPARATE, file=file, offset_seconds=offset_seconds)
    text = f"Lay {quoted(file.rpartition('/')[2])} under {draft.name(index)}"
    return draft.edit(text, draft.with_clip(index, dataclasses.replace(clip, sound=sound)))


def drag_sound_head(film: Film, scene_id: str, clip_id: str, frames: int) -> Edit:
    """Move where a clip's sound begins: its lead grows or shrinks, and picture and sound stay in step.

    Args:
        film: The film.
        scene_id: The scene.
        clip_id: The clip.
        frames: By how many frames, later; below 0, earlier.

    Raises:
        EditError: when the scene is locked, one of the two is unknown, the clip is silent, the sound would
            begin after its picture, or its file begins later than that.
    """
    draft, index = _sounding(film, scene_id, clip_id)
    clip, name = draft.clips[index], draft.name(index)
    lead = clip.sound.lead_frames
    if frames > lead:
        _refuse_inside(name, "begin after", lead, "fade it in")
    if frames < 0:
        own = clip.in_seconds
        if clip.sound.kind is SoundKind.SEPARATE:
            own += clip.sound.offset_seconds
        room = max(0, math.floor(own * draft.rate.fraction / clip.speed) - lead)
        check_room(-frames, room, told=f"of sound before {name}", verb="Move it")
    return _with_sound(draft, index, "head", dataclasses.replace(clip.sound, lead_frames=lead - frames))


def drag_sound_tail(
    film: Film,
    scene_id: str,
    clip_id: str,
    frames: int,
    *,
    sound_seconds: Mapping[str, Fraction] = NOTHING_KNOWN,
) -> Edit:
    """Move where a clip's sound ends: its lag grows or shrinks.

    Args:
        film: The film.
        scene_id: The scene.
        clip_id: The clip.
        frames: By how many frames, later; below 0, earlier.
        sound_seconds: Length of each file's sound, by path; one that is not there counts as endless.

    Raises:
        EditError: when the scene is locked, one of the two is unknown, the clip is silent, the sound would
            end before its picture, or its file ends before that.
    """
    draft, index = _sounding(film, scene_id, clip_id)
    clip, name, sound = draft.clips[index], draft.name(index), draft.clips[index].sound
    if -frames > sound.lag_frames:
        _refuse_inside(name, "end before", sound.lag_frames, "fade it out")
    if frames > 0:
        separate = sound.kind is SoundKind.SEPARATE
        frame_seconds = draft.rate.seconds(1) * clip.speed
        end = clip.in_seconds + (clip.length_frames + sound.lag_frames) * frame_seconds
        file, end = (sound.file, end + sound.offset_seconds) if separate else (clip.source, end)
        room = sound_room_frames(file, end, frame_seconds, sound_seconds)
        check_room(frames, room, told=f"of sound after {name}", verb="Move it")
    sound = dataclasses.replace(sound, lag_frames=sound.lag_frames + frames)
    return _with_sound(draft, index, "tail", sound)


def _sounding(film: Film, scene_id: str, clip_id: str) -> tuple[Draft, int]:
    """Return a scene and the place of a clip in it that has a sound."""
    draft = Draft.of(film, scene_id)
    index = draft.index(clip_id)
    if draft.clips[index].sound.kind is SoundKind.SILENCE:
        raise EditError(
            f"{sentence(draft.name(index))} is silent, so its sound has no edge to move.",
            advice="Give it its own sound or a separate recording first.",
            code="edit.silent",
        )
    return draft, index


def _refuse_inside(name: str, what: str, most_frames: int, otherwise: str) -> None:
    advice = f"Move it by {counted(most_frames, 'frame')} at most, or {otherwise}."
    raise EditError(
        f"The sound of {name} can't {what} its picture.",
        advice=advice if most_frames else f"They meet already; {otherwise} instead.",
        code="edit.sound",
    )


def _with_sound(draft: Draft, index: int, end: str, sound: ClipSound) -> Edit:
    clip = dataclasses.replace(draft.clips[index], sound=sound)
    return draft.edit(f"Move the {end} of the sound of {draft.name(index)}", draft.with_clip(index, clip))


def _check_fade(name: str, clip: Clip, words: str, frames: int) -> None:
    whole = clip.sound.lead_frames + clip.length_frames + clip.sound.lag_frames
    if frames > whole:
        raise EditError(
            f"A {words} of {counted(frames, 'frame')} is longer than the sound of {name}.",
            advice=f"Make it {counted(whole, 'frame')} or shorter.",
            code="edit.length",
        )
