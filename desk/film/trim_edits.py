"""Edits of where a clip begins and ends, and of what it shows: by whole film frames, exactly.

A trim changes the scene's length and what follows moves along: later clips, and the spots and cues that begin
after the place. Moving a cut and sliding leave everything else where it is.
"""

import dataclasses
from collections.abc import Mapping
from fractions import Fraction

from desk.errors import EditError
from desk.film.cutting import NOTHING_KNOWN, Draft, check_left, check_room, moved_along
from desk.film.edit import Edit
from desk.film.model import Clip, Film
from desk.film.rates import Rate
from desk.film.timing import head_handle_frames, tail_handle_frames
from desk.film.wording import counted, sentence


def trim_head(film: Film, scene_id: str, clip_id: str, frames: int) -> Edit:
    """Take frames off a clip's head, or show more before it; what follows moves along.

    Args:
        film: The film.
        scene_id: The scene.
        clip_id: The clip.
        frames: How many to take off; below 0, how many to add.

    Raises:
        EditError: when the scene is locked, one of the two is unknown, no frame would be left, or the footage
            begins later than that.
    """
    draft = Draft.of(film, scene_id)
    index = draft.index(clip_id)
    clip, name, start = draft.clips[index], draft.name(index), draft.starts[index]
    check_left(name, clip.length_frames, frames)
    _check_head(clip, -frames, draft.rate, name, "Extend it")
    content = draft.with_clip(index, _head_moved(clip, frames, draft.rate))
    return draft.edit(f"Trim the head of {name}", moved_along(content, start, -frames))


def trim_tail(
    film: Film,
    scene_id: str,
    clip_id: str,
    frames: int,
    *,
    source_seconds: Mapping[str, Fraction] = NOTHING_KNOWN,
) -> Edit:
    """Take frames off a clip's tail, or show more after it; what follows moves along.

    Args:
        film: The film.
        scene_id: The scene.
        clip_id: The clip.
        frames: How many to take off; below 0, how many to add.
        source_seconds: Length of each source's picture, by path; one that is not there counts as endless.

    Raises:
        EditError: when the scene is locked, one of the two is unknown, no frame would be left, or the footage
            ends before that.
    """
    draft = Draft.of(film, scene_id)
    index = draft.index(clip_id)
    clip, name, end = draft.clips[index], draft.name(index), draft.clip_end(index)
    check_left(name, clip.length_frames, frames)
    _check_tail(clip, -frames, draft.rate, name, "Extend it", source_seconds)
    trimmed = dataclasses.replace(clip, length_frames=clip.length_frames - frames)
    content = moved_along(draft.with_clip(index, trimmed), end - max(0, frames), -frames)
    return draft.edit(f"Trim the tail of {name}", content)


def move_cut(
    film: Film,
    scene_id: str,
    clip_id: str,
    frames: int,
    *,
    source_seconds: Mapping[str, Fraction] = NOTHING_KNOWN,
) -> Edit:
    """Move the cut before a clip: one of the two clips shows more, the other less; the scene stays as long.

    Args:
        film: The film.
        scene_id: The scene.
        clip_id: The clip after the cut.
        frames: By how many frames, later; below 0, earlier.
        source_seconds: Length of each source's picture, by path; one that is not there counts as endless.

    Raises:
        EditError: when the scene is locked, one of the two is unknown, no clip or black is before the cut, no
            frame would be left of a clip, or the footage does not hold what is asked for.
    """
    draft = Draft.of(film, scene_id)
    index = draft.index(clip_id)
    name = draft.name(index)
    if index == 0:
        raise EditError(
            f"There is no cut before {name}: it is the first.",
            advice="Trim its head instead.",
            code="edit.place",
        )
    incoming, outgoing = draft.clips[index], draft.clips[index - 1]
    if incoming.gap_frames:
        raise EditError(
            f"There is no cut before {name}: {counted(incoming.gap_frames, 'frame')} of black lie there.",
            advice="Trim the clips on both sides, or close the gap first.",
            code="edit.place",
        )
    names = draft.name(index - 1), name
    if frames > 0:
        handle = _tail_room(outgoing, draft.rate, source_seconds)
        _check_shrinks(names[1], incoming, frames, handle)
        check_room(frames, handle, told=f"after the tail of {names[0]}", verb="Move the cut")
    else:
        handle = head_handle_frames(incoming, draft.rate)
        _check_shrinks(names[0], outgoing, -frames, handle)
        check_room(-frames, handle, told=f"before the head of {names[1]}", verb="Move the cut")
    clips = list(draft.clips)
    clips[index - 1] = dataclasses.replace(outgoing, length_frames=outgoing.length_frames + frames)
    clips[index] = _head_moved(incoming, frames, draft.rate)
    return draft.edit(f"Move the cut before {name}", draft.with_clips(clips))


def slide(
    film: Film,
    scene_id: str,
    clip_id: str,
    frames: int,
    *,
    source_seconds: Mapping[str, Fraction] = NOTHING_KNOWN,
) -> Edit:
    """Show an earlier or later stretch of the footage in a clip that stays where it is, as long as it is.

    Args:
        film: The film.
        scene_id: The scene.
        clip_id: The clip.
        frames: By how many film frames later in the footage; below 0, earlier.
        source_seconds: Length of each source's picture, by path; one that is not there counts as endless.

    Raises:
        EditError: when the scene is locked, one of the two is unknown, or the footage does not hold what is
            asked for.
    """
    draft = Draft.of(film, scene_id)
    index = draft.index(clip_id)
    clip, name = draft.clips[index], draft.name(index)
    _check_head(clip, -frames, draft.rate, name, "Slide it")
    _check_tail(clip, frames, draft.rate, name, "Slide it", source_seconds)
    slid = dataclasses.replace(clip, in_seconds=_in_seconds(clip, frames, draft.rate))
    return draft.edit(f"Slide what {name} shows", draft.with_clip(index, slid))


def _in_seconds(clip: Clip, frames: int, rate: Rate) -> Fraction:
    """Return the place in the source that a clip shows so many frames after its head."""
    return clip.in_seconds + rate.seconds(frames) * clip.speed


def _head_moved(clip: Clip, frames: int, rate: Rate) -> Clip:
    """Return a clip without so many frames at its head, or with more below 0."""
    return dataclasses.replace(
        clip, in_seconds=_in_seconds(clip, frames, rate), length_frames=clip.length_frames - frames
    )


def _tail_room(clip: Clip, rate: Rate, source_seconds: Mapping[str, Fraction]) -> int | None:
    """Return the footage after a clip's tail in frames, 0 where it runs over already, None where unknown."""
    seconds = source_seconds.get(clip.source)
    return None if seconds is None else max(0, tail_handle_frames(clip, rate, seconds))


def _check_head(clip: Clip, wanted_frames: int, rate: Rate, name: str, verb: str) -> None:
    if wanted_frames > 0:
        handle = head_handle_frames(clip, rate)
        check_room(wanted_frames, handle, told=f"before the head of {name}", verb=verb)


def _check_tail(
    clip: Clip,
    wanted_frames: int,
    rate: Rate,
    name: str,
    verb: str,
    source_seconds: Mapping[str, Fraction],
) -> None:
    if wanted_frames > 0:
        room = _tail_room(clip, rate, source_seconds)
        check_room(wanted_frames, room, told=f"after the tail of {name}", verb=verb)


def _check_shrinks(name: str, clip: Clip, frames: int, handle_frames: int | None) -> None:
    """Refuse a cut that moves over the whole of a clip, and say how far it can."""
    if frames < clip.length_frames:
        return
    most = clip.length_frames - 1
    if handle_frames is not None:
        most = min(most, handle_frames)
    raise EditError(
        f"{sentence(name)} has {counted(clip.length_frames, 'frame')}, so the cut can't move {frames:,} "
        f"into it.",
        advice=f"Move the cut by {counted(most, 'frame')} at most." if most else "It can't move that way.",
        code="edit.length",
    )
