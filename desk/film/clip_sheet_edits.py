"""Edits of what a clip's sheet holds: its source, speed, framing, camera look and note."""

import dataclasses
import math
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import TypedDict, Unpack

from desk.errors import EditError
from desk.film.cutting import NOTHING_KNOWN, Draft, missing_frames, moved_along
from desk.film.edit import Edit
from desk.film.model import Clip, Film, Framing
from desk.film.rates import Rate
from desk.film.wording import counted, listed, quoted, sentence


class ClipFields(TypedDict, total=False):
    """What may be changed of several clips at once."""

    framing: Framing
    camera: str
    note: str


def edit_clips(film: Film, scene_id: str, clip_ids: Sequence[str], **fields: Unpack[ClipFields]) -> Edit:
    """Change the framing, camera look or note of clips.

    Args:
        film: The film.
        scene_id: The scene.
        clip_ids: The clips.
        **fields: What to change; the rest stays.

    Raises:
        EditError: when the scene is locked, something is unknown, or a value is not allowed.
    """
    draft = Draft.of(film, scene_id)
    chosen = draft.indices(clip_ids)
    clips = [
        dataclasses.replace(clip, **fields) if index in chosen else clip
        for index, clip in enumerate(draft.clips)
    ]
    what = listed([name.replace("camera", "camera look") for name in fields]) or "sheet"
    return draft.edit(f"Change the {what} of {draft.names(chosen)}", draft.with_clips(clips))


def replace_source(
    film: Film,
    scene_id: str,
    clip_id: str,
    source: str,
    *,
    in_seconds: Fraction | None = None,
    source_seconds: Mapping[str, Fraction] = NOTHING_KNOWN,
) -> Edit:
    """Show other footage in a clip, which keeps its place, length, speed, framing and sound.

    A separate recording keeps its offset, which was found for the footage before: see whether it still fits.

    Args:
        film: The film.
        scene_id: The scene.
        clip_id: The clip.
        source: The other footage.
        in_seconds: In point in it, or None for the same as before.
        source_seconds: Length of each source's picture, by path; one that is not there counts as endless.

    Raises:
        EditError: when the scene is locked, one of the two is unknown, the path or the in point is not
            allowed, or the footage is too short.
    """
    draft = Draft.of(film, scene_id)
    index = draft.index(clip_id)
    old, name = draft.clips[index], draft.name(index)
    new = dataclasses.replace(
        old, source=source, in_seconds=old.in_seconds if in_seconds is None else in_seconds
    )
    if short := missing_frames(new, draft.rate, source_seconds):
        from_start = missing_frames(
            dataclasses.replace(new, in_seconds=Fraction(0)), draft.rate, source_seconds
        )
        fits = max(0, new.length_frames - short)
        advice = f"Trim the clip to {counted(fits, 'frame')} first" if fits else "Choose longer footage"
        raise EditError(
            f"{quoted(source)} is {counted(short, 'frame')} too short for {name}, which asks for "
            f"{new.length_frames:,} from its in point on.",
            advice=f"{advice}." if from_start else f"{advice}, or begin earlier in it.",
            code="edit.footage",
        )
    return draft.edit(f"Replace the source of {name}", draft.with_clip(index, new))


def every_frame_speed(source_rate: Rate, film_rate: Rate) -> Fraction:
    """Return the speed at which each film frame shows the next source frame, none left out or twice.

    Args:
        source_rate: Frames a second of the footage, evenly spaced.
        film_rate: The film's rate.
    """
    return film_rate.fraction / source_rate.fraction


def set_speed(
    film: Film,
    scene_id: str,
    clip_id: str,
    speed: Fraction,
    *,
    keep_footage: bool = True,
    source_seconds: Mapping[str, Fraction] = NOTHING_KNOWN,
) -> Edit:
    """Set how fast a clip's footage runs; its in point stays.

    Args:
        film: The film.
        scene_id: The scene.
        clip_id: The clip.
        speed: Source seconds for each film second.
        keep_footage: Whether it shows the same stretch of its footage, so that it gets longer or shorter and
            what follows moves along. Else it keeps its length, and shows a longer or shorter stretch.
        source_seconds: Length of each source's picture, by path; one that is not there counts as endless.

    Raises:
        EditError: when the scene is locked, one of the two is unknown, the speed is not allowed, or the
            footage is too short for it.
    """
    draft = Draft.of(film, scene_id)
    name = draft.name(draft.index(clip_id))
    return _with_speed(draft, clip_id, speed, keep_footage, source_seconds, f"Change the speed of {name}")


def show_every_frame(
    film: Film,
    scene_id: str,
    clip_id: str,
    source_rate: Rate,
    *,
    keep_footage: bool = True,
    source_seconds: Mapping[str, Fraction] = NOTHING_KNOWN,
) -> Edit:
    """Set the speed of a clip so that each film frame shows the next frame of its footage: `every frame`.

    Args:
        film: The film.
        scene_id: The scene.
        clip_id: The clip.
        source_rate: Frames a second of the footage, evenly spaced.
        keep_footage: As for `set_speed`.
        source_seconds: As for `set_speed`.

    Raises:
        EditError: as for `set_speed`.
    """
    draft = Draft.of(film, scene_id)
    speed = every_frame_speed(source_rate, film.rate)
    text = f"Show every frame in {draft.name(draft.index(clip_id))}"
    return _with_speed(draft, clip_id, speed, keep_footage, source_seconds, text)


def _with_speed(
    draft: Draft,
    clip_id: str,
    speed: Fraction,
    keep_footage: bool,
    source_seconds: Mapping[str, Fraction],
    text: str,
) -> Edit:
    index = draft.index(clip_id)
    old, name = draft.clips[index], draft.name(index)
    if speed <= 0:
        what = "run backwards" if speed else "stand still"
        raise EditError(
            f"{sentence(name)} can't {what}: pictures and sound are read forwards from the in point on.",
            advice="Choose a speed above 0, or make a reversed copy of the footage and use that."
            if speed
            else "Choose a speed above 0.",
            code="edit.reverse" if speed else "edit.value",
        )
    new = dataclasses.replace(old, speed=speed)
    if keep_footage:
        new = dataclasses.replace(
            new, length_frames=_frames_of_stretch(old, speed, draft.rate, source_seconds)
        )
    short = 0 if keep_footage else missing_frames(new, draft.rate, source_seconds)
    if short > missing_frames(old, draft.rate, source_seconds):
        fits = new.length_frames - short
        trim = f"Trim the clip to {counted(fits, 'frame')} first, or let" if fits > 0 else "Let"
        raise EditError(
            f"The footage of {name} is {counted(short, 'frame')} too short for that speed.",
            advice=f"{trim} it show the same stretch of its footage.",
            code="edit.footage",
        )
    end, longer = draft.clip_end(index), new.length_frames - old.length_frames
    return draft.edit(text, moved_along(draft.with_clip(index, new), end + min(0, longer), longer))


def _frames_of_stretch(
    clip: Clip, speed: Fraction, rate: Rate, source_seconds: Mapping[str, Fraction]
) -> int:
    """Return how many film frames begin within the stretch of footage that a clip shows, at another speed."""
    stretch_seconds = rate.seconds(clip.length_frames) * clip.speed
    if not missing_frames(clip, rate, source_seconds) and clip.source in source_seconds:
        # The last frame shown may end after the footage does.
        stretch_seconds = min(stretch_seconds, source_seconds[clip.source] - clip.in_seconds)
    return max(1, math.ceil(stretch_seconds * rate.fraction / speed))
