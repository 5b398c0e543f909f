"""Edits of several clips, spots and cues at once, as their sheet makes them: each is one step of undoing."""

import dataclasses
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import TypedDict, Unpack

from desk.errors import EditError
from desk.film import edits
from desk.film.cutting import unknown
from desk.film.edit import find_scene
from desk.film.edits import Edit
from desk.film.media import MediaFacts
from desk.film.model import Clip, Cue, Film, Fit, Framing, Scene, Spot
from desk.film.problem import Facts
from desk.film.rates import Rate
from desk.film.wording import counted, entry_name, listed
from desk.ui.session import MakeEdit, several


class FramingFields(TypedDict, total=False):
    """What may be changed of the framing of clips."""

    fit: Fit
    scale: float
    x: float
    y: float


class LevelFields(TypedDict, total=False):
    """What the sound of clips, spots and cues has in common."""

    gain_db: float
    fade_in_frames: int
    fade_out_frames: int


@dataclasses.dataclass(frozen=True, slots=True)
class Recording:
    """A separate recording and where it belongs.

    Attributes:
        clip_id: The clip.
        file: The recording.
        offset_seconds: Place in it that belongs to second 0 of the clip's source.
    """

    clip_id: str
    file: str
    offset_seconds: Fraction


def picture_seconds(facts: Facts, *paths: str) -> Mapping[str, Fraction]:
    """Return how long the pictures of files are, as far as that is known."""
    return {
        path: known.picture.seconds
        for path in paths
        if isinstance(known := facts.get(path), MediaFacts) and known.picture
    }


def sound_seconds(facts: Facts, *paths: str) -> Mapping[str, Fraction]:
    """Return how long the sounds of files are, as far as that is known."""
    return {
        path: known.sound.seconds
        for path in paths
        if isinstance(known := facts.get(path), MediaFacts) and known.sound
    }


def even_rate(facts: Facts, clip: Clip) -> Rate | None:
    """Return the rate of a clip's footage where its frames are evenly spaced, or None."""
    known = facts.get(clip.source)
    picture = known.picture if isinstance(known, MediaFacts) else None
    return picture.rate if picture and not picture.variable else None


def clips_of(film: Film, scene_id: str, clip_ids: Sequence[str]) -> list[Clip]:
    """Return the clips of a scene that are named, in its order.

    Raises:
        EditError: when there is no such scene.
    """
    wanted = set(clip_ids)
    return [clip for clip in find_scene(film, scene_id).content.clips if clip.id in wanted]


def clip_in(film: Film, scene_id: str, clip_id: str) -> Clip:
    """Return a clip of a scene.

    Raises:
        EditError: when there is none.
    """
    for clip in clips_of(film, scene_id, [clip_id]):
        return clip
    raise unknown(entry_name(find_scene(film, scene_id)), "clip", clip_id)


def set_in(
    film: Film, scene_id: str, clip_id: str, frames: int, exact_seconds: Fraction | None, *, facts: Facts
) -> Edit:
    """Move the in point of a clip; its out point stays, to within a film frame, and what follows moves along.

    Args:
        film: The film.
        scene_id: The scene.
        clip_id: The clip.
        frames: By how many film frames, later; below 0, earlier.
        exact_seconds: Where in the source it is then, less than a film frame before the place that so many
            frames lead to; None for that place itself.
        facts: What is known of each file.

    Raises:
        EditError: as `desk.film.edits.trim_head`, and where the footage ends less than a frame too early.
    """
    trimmed = edits.trim_head(film, scene_id, clip_id, frames)
    if exact_seconds is None:
        return trimmed
    source = clip_in(film, scene_id, clip_id).source
    seconds = picture_seconds(facts, source)
    exact = edits.replace_source(
        trimmed.after, scene_id, clip_id, source, in_seconds=exact_seconds, source_seconds=seconds
    )
    return dataclasses.replace(exact, text=trimmed.text, before=film)


def set_length(film: Film, scene_id: str, clip_id: str, frames: int, *, facts: Facts) -> Edit:
    """Make a clip longer or shorter at its tail.

    Args:
        film: The film.
        scene_id: The scene.
        clip_id: The clip.
        frames: How long it is afterwards.
        facts: What is known of each file.

    Raises:
        EditError: as `desk.film.edits.trim_tail`.
    """
    clip = clip_in(film, scene_id, clip_id)
    seconds = picture_seconds(facts, clip.source)
    return edits.trim_tail(film, scene_id, clip_id, clip.length_frames - frames, source_seconds=seconds)


def set_framings(film: Film, scene_id: str, clip_ids: Sequence[str], **fields: Unpack[FramingFields]) -> Edit:
    """Change some of the framing of clips; the rest stays as each clip has it.

    Raises:
        EditError: as `desk.film.edits.edit_clips`.
    """
    alike: dict[Framing, list[str]] = {}
    for clip in clips_of(film, scene_id, clip_ids):
        alike.setdefault(dataclasses.replace(clip.framing, **fields), []).append(clip.id)

    def framed(framing: Framing, ids: list[str]) -> MakeEdit:
        return lambda now: edits.edit_clips(now, scene_id, ids, framing=framing)

    return _together(
        film, [framed(framing, ids) for framing, ids in alike.items()], "framing", scene_id, clip_ids
    )


def set_speeds(
    film: Film,
    scene_id: str,
    clip_ids: Sequence[str],
    speed: Fraction | None,
    *,
    keep_footage: bool,
    facts: Facts,
) -> Edit:
    """Set the speed of clips; None shows every frame of each, at its own rate.

    Raises:
        EditError: as `desk.film.edits.set_speed`, and where every frame is asked for of footage whose rate is
            not known or not even.
    """

    def paced(clip: Clip) -> MakeEdit:
        seconds = picture_seconds(facts, clip.source)
        if speed is not None:
            return lambda now: edits.set_speed(
                now, scene_id, clip.id, speed, keep_footage=keep_footage, source_seconds=seconds
            )
        rate = even_rate(facts, clip)
        if rate is None:
            raise EditError(
                f"The frames of “{clip.source}” are not evenly spaced, or not read yet.",
                advice="Set a speed instead.",
                code="edit.value",
            )
        return lambda now: edits.show_every_frame(
            now, scene_id, clip.id, rate, keep_footage=keep_footage, source_seconds=seconds
        )

    steps = [paced(clip) for clip in clips_of(film, scene_id, clip_ids)]
    return _together(film, steps, "speed", scene_id, clip_ids)


def set_levels(film: Film, scene_id: str, ids: Sequence[str], **fields: Unpack[LevelFields]) -> Edit:
    """Change gain and fades of clips, spots, and the chosen music of cues.

    Raises:
        EditError: when the scene is locked, something is unknown, a value is not allowed, or a cue has no
            music.
    """
    content = find_scene(film, scene_id).content
    wanted = set(ids)
    clips = [clip.id for clip in content.clips if clip.id in wanted]
    steps: list[MakeEdit] = []
    if clips:
        steps.append(lambda now: edits.edit_clip_sound(now, scene_id, clips, **fields))

    def spot_levelled(spot: Spot) -> MakeEdit:
        return lambda now: edits.edit_spot(now, scene_id, spot.id, **fields)

    def cue_levelled(cue: Cue) -> MakeEdit:
        return lambda now: edits.edit_candidate(now, scene_id, cue.id, cue.chosen, **fields)

    steps += [spot_levelled(spot) for spot in content.spots if spot.id in wanted]
    steps += [cue_levelled(cue) for cue in content.cues if cue.id in wanted and cue.choice]
    what = listed([name.removesuffix("_db").removesuffix("_frames").replace("_", " ") for name in fields])
    return _together(film, steps, what, scene_id, ids)


def set_sound_edge(
    film: Film, scene_id: str, clip_ids: Sequence[str], *, edge: str, frames: int, facts: Facts
) -> Edit:
    """Set the lead or lag of clips.

    Args:
        film: The film.
        scene_id: The scene.
        clip_ids: The clips.
        edge: `lead` or `lag`.
        frames: How long it is afterwards, 0 or more.
        facts: What is known of each file.

    Raises:
        EditError: when the scene is locked, something is unknown, a clip is silent, or its file has too
            little sound.
    """

    def moved(clip: Clip) -> MakeEdit:
        sound = clip.sound
        if edge == "lead":
            return lambda now: edits.drag_sound_head(now, scene_id, clip.id, sound.lead_frames - frames)
        seconds = sound_seconds(facts, clip.source, sound.file)
        return lambda now: edits.drag_sound_tail(
            now, scene_id, clip.id, frames - sound.lag_frames, sound_seconds=seconds
        )

    steps = [moved(clip) for clip in clips_of(film, scene_id, clip_ids)]
    return _together(film, steps, edge, scene_id, clip_ids)


def lay_recordings(film: Film, scene_id: str, recordings: Sequence[Recording]) -> Edit:
    """Lay separate recordings under clips.

    Raises:
        EditError: as `desk.film.edits.lay_recording`.
    """

    def laid(found: Recording) -> MakeEdit:
        return lambda now: edits.lay_recording(now, scene_id, found.clip_id, found.file, found.offset_seconds)

    steps = [laid(found) for found in recordings]
    if len(steps) == 1:
        return steps[0](film)
    named = _named(find_scene(film, scene_id), [found.clip_id for found in recordings])
    return several(f"Lay separate recordings under {named}", steps)(film)


def _together(film: Film, steps: Sequence[MakeEdit], what: str, scene_id: str, ids: Sequence[str]) -> Edit:
    if not steps:
        raise EditError(
            f"Nothing that is selected has a {what}.", advice="Select something else.", code="edit.unknown"
        )
    if len(steps) == 1:
        return steps[0](film)
    return several(f"Change the {what} of {_named(find_scene(film, scene_id), ids)}", list(steps))(film)


def _named(scene: Scene, ids: Sequence[str]) -> str:
    wanted, content = set(ids), scene.content
    counts = (
        ("clip", sum(clip.id in wanted for clip in content.clips)),
        ("spot", sum(spot.id in wanted for spot in content.spots)),
        ("cue", sum(cue.id in wanted for cue in content.cues)),
    )
    named = [counted(count, noun) for noun, count in counts if count]
    return f"{listed(named)} in {entry_name(scene)}"
