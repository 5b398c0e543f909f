"""Edits of which clips a scene has, and in which order: in, out, cut in two, moved, and the black between.

What comes in or goes out makes the scene longer or shorter, and what begins later in it moves along: clips,
spots and cues. The black before a clip goes where the clip goes. New clips get ids of their own, whatever
they are given with.
"""

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass

from desk.errors import EditError
from desk.film.cutting import Draft, moved_along, none_named
from desk.film.edit import Edit, IdMaker
from desk.film.model import Clip, Film
from desk.film.rates import Rate
from desk.film.wording import counted, sentence, uncapped


@dataclass(frozen=True, slots=True)
class Opening:
    """A place between the clips of a scene where others come in.

    Attributes:
        before: The clips before it.
        after: The clips after it.
        at_frames: Where it is, from the scene's start.
        gap_frames: Black between the last clip before it and the place.
    """

    before: tuple[Clip, ...]
    after: tuple[Clip, ...]
    at_frames: int
    gap_frames: int = 0


def insert_clips(film: Film, scene_id: str, clips: Sequence[Clip], index: int) -> Edit:
    """Put clips between those of a scene.

    Args:
        film: The film.
        scene_id: The scene.
        clips: One or more.
        index: Where the first of them stands afterwards, 0 to the number of clips in the scene.

    Raises:
        EditError: when the scene is locked or unknown, there is no such place, or a clip holds a value that
            is not allowed.
    """
    draft = Draft.of(film, scene_id)
    return put_in(draft, clips, opening_before(draft, index), IdMaker(film), "Insert")


def insert_clips_at(film: Film, scene_id: str, clips: Sequence[Clip], frame: int) -> Edit:
    """Put clips into a scene so that the first begins on a frame; a clip that is there is cut in two.

    In black, part of it stays before them and the rest after them.

    Args:
        film: The film.
        scene_id: The scene.
        clips: One or more.
        frame: The frame, from the scene's start; its length for its end.

    Raises:
        EditError: when the scene is locked or unknown, has no such frame, or a clip holds a value that is not
            allowed.
    """
    draft = Draft.of(film, scene_id)
    ids = IdMaker(film)
    return put_in(draft, clips, opening_at(draft, frame, ids), ids, "Insert")


def split(film: Film, scene_id: str, frame: int) -> Edit:
    """Cut a clip in two before a frame. Picture and sound stay as they are; the second half is a new clip.

    The first half keeps its lead and fade in, the second its lag and fade out; spots and cues stay.

    Args:
        film: The film.
        scene_id: The scene.
        frame: The frame that the second half begins with, from the scene's start.

    Raises:
        EditError: when the scene is locked or unknown, or no clip goes on over that frame.
    """
    draft = Draft.of(film, scene_id)
    for index, (clip, start) in enumerate(zip(draft.clips, draft.starts, strict=True)):
        if start < frame < draft.clip_end(index):
            halves = split_clip(clip, frame - start, draft.rate, IdMaker(film).new("c"))
            clips = (*draft.clips[:index], *halves, *draft.clips[index + 1 :])
            return draft.edit(f"Split {draft.name(index)}", draft.with_clips(clips))
    if not 0 <= frame < draft.length_frames:
        raise _no_frame(draft, frame)
    if frame in draft.starts:
        told = f"{sentence(draft.name(draft.starts.index(frame)))} begins with frame {frame:,} already."
    else:
        told = f"Frame {frame:,} of {draft.scene_name} is black."
    raise EditError(
        f"There is nothing to split: {uncapped(told)}",
        advice="Choose a frame inside a clip, after its first.",
        code="edit.place",
    )


def move_clips(film: Film, scene_id: str, clip_ids: Sequence[str], to_index: int) -> Edit:
    """Move clips among those of their scene, with their sound and the black before them.

    The scene stays as long as it is, and spots and cues stay where they are.

    Args:
        film: The film.
        scene_id: The scene.
        clip_ids: What to move; it stays in the order that it has.
        to_index: Where the first of them stands afterwards, 0 to the number of clips that stay.

    Raises:
        EditError: when the scene is locked, something is unknown, or there is no such place.
    """
    draft = Draft.of(film, scene_id)
    moving = draft.indices(clip_ids)
    block = [draft.clips[index] for index in moving]
    rest = [clip for index, clip in enumerate(draft.clips) if index not in moving]
    check_place(to_index, len(rest))
    content = draft.with_clips([*rest[:to_index], *block, *rest[to_index:]])
    return draft.edit(f"Move {draft.names(moving)}", content)


def remove_clips(film: Film, scene_id: str, clip_ids: Sequence[str], *, close: bool = True) -> Edit:
    """Take clips out of a scene; the footage stays where it is.

    Args:
        film: The film.
        scene_id: The scene.
        clip_ids: What to take out.
        close: Whether what follows moves up: then the black before each goes too. Else black stays in its
            place, before the next clip, and nothing moves; after the last clip there is no black, so that
            the scene gets shorter there all the same.

    Raises:
        EditError: when the scene is locked or something is unknown.
    """
    draft = Draft.of(film, scene_id)
    gone = draft.indices(clip_ids)
    kept: list[Clip] = []
    black = 0
    for index, clip in enumerate(draft.clips):
        if index not in gone:
            kept.append(dataclasses.replace(clip, gap_frames=clip.gap_frames + black) if black else clip)
            black = 0
        elif not close:
            black += clip.gap_frames + clip.length_frames
    content = draft.with_clips(kept)
    if close:
        for index in reversed(gone):
            at = draft.gap_start(index)
            content = moved_along(content, at, at - draft.clip_end(index))
    text = f"Remove {draft.names(gone)}"
    return draft.edit(text if close else f"{text} and leave black", content)


def set_gap(film: Film, scene_id: str, clip_id: str, frames: int) -> Edit:
    """Make the black before a clip longer or shorter, or close it with 0; what follows moves along.

    Args:
        film: The film.
        scene_id: The scene.
        clip_id: The clip.
        frames: How long the black is afterwards.

    Raises:
        EditError: when the scene is locked, one of the two is unknown, or the length is not allowed.
    """
    draft = Draft.of(film, scene_id)
    index = draft.index(clip_id)
    clip, start = draft.clips[index], draft.starts[index]
    content = draft.with_clip(index, dataclasses.replace(clip, gap_frames=frames))
    longer = frames - clip.gap_frames
    verb = "Change the black" if frames else "Close the gap"
    return draft.edit(
        f"{verb} before {draft.name(index)}", moved_along(content, start + min(0, longer), longer)
    )


def split_clip(clip: Clip, frames: int, rate: Rate, new_id: str) -> tuple[Clip, Clip]:
    """Return the two halves of a clip; together they show and sound what it did.

    Args:
        clip: The clip.
        frames: How many frames the first half has.
        rate: The film's rate.
        new_id: Id of the second half.
    """
    sound = clip.sound
    left = clip.length_frames - frames
    first = dataclasses.replace(
        clip,
        length_frames=frames,
        sound=dataclasses.replace(
            sound,
            lag_frames=0,
            fade_in_frames=min(sound.fade_in_frames, sound.lead_frames + frames),
            fade_out_frames=0,
        ),
    )
    second = dataclasses.replace(
        clip,
        id=new_id,
        in_seconds=clip.in_seconds + rate.seconds(frames) * clip.speed,
        length_frames=left,
        gap_frames=0,
        sound=dataclasses.replace(
            sound,
            lead_frames=0,
            fade_in_frames=0,
            fade_out_frames=min(sound.fade_out_frames, left + sound.lag_frames),
        ),
    )
    return first, second


def opening_before(draft: Draft, index: int) -> Opening:
    """Return the place before a clip and its black, or after the last clip.

    Raises:
        EditError: when there is no such place.
    """
    check_place(index, len(draft.clips))
    at = draft.gap_start(index) if index < len(draft.clips) else draft.length_frames
    return Opening(draft.clips[:index], draft.clips[index:], at)


def opening_at(draft: Draft, frame: int, ids: IdMaker) -> Opening:
    """Return the place before a frame; a clip that is there is cut in two.

    Args:
        draft: The scene.
        frame: The frame, from the scene's start; its length for its end.
        ids: Gives the id of the second half, where a clip is cut in two.

    Raises:
        EditError: when the scene has no such frame.
    """
    if frame == draft.length_frames:
        return Opening(draft.clips, (), frame)
    for index, (clip, start) in enumerate(zip(draft.clips, draft.starts, strict=True)):
        before, after = draft.clips[:index], draft.clips[index + 1 :]
        if draft.gap_start(index) <= frame <= start:
            rest = dataclasses.replace(clip, gap_frames=start - frame)
            return Opening(before, (rest, *after), frame, frame - draft.gap_start(index))
        if start < frame < draft.clip_end(index):
            first, second = split_clip(clip, frame - start, draft.rate, ids.new("c"))
            return Opening((*before, first), (second, *after), frame)
    raise _no_frame(draft, frame)


def put_in(draft: Draft, clips: Sequence[Clip], opening: Opening, ids: IdMaker, verb: str) -> Edit:
    """Return the edit that puts clips into a scene; what begins later in it moves along.

    Args:
        draft: The scene.
        clips: What comes in, with any ids.
        opening: Where.
        ids: Gives the new ids.
        verb: What the edit does: `Insert`.

    Raises:
        EditError: when there are none, or one holds a value that is not allowed.
    """
    if not clips:
        raise none_named("clip")
    new = [dataclasses.replace(clip, id=ids.new("c")) for clip in clips]
    added = sum(clip.gap_frames + clip.length_frames for clip in new)
    new[0] = dataclasses.replace(new[0], gap_frames=new[0].gap_frames + opening.gap_frames)
    content = draft.with_clips([*opening.before, *new, *opening.after])
    return draft.edit(
        f"{verb} {counted(len(new), 'clip')} in {draft.scene_name}",
        moved_along(content, opening.at_frames, added),
    )


def check_place(index: int, most: int) -> None:
    """Go on only where clips can be put.

    Raises:
        EditError: when there is no such place.
    """
    if not 0 <= index <= most:
        raise EditError(
            f"There is no place {index + 1} among the clips for that.",
            advice=f"Choose a place from 1 to {most + 1}.",
            code="edit.place",
        )


def _no_frame(draft: Draft, frame: int) -> EditError:
    length = counted(draft.length_frames, "frame")
    return EditError(
        f"{sentence(draft.scene_name)} has no frame {frame:,}: it is {length} long.",
        advice="Choose a frame inside it.",
        code="edit.place",
    )
