"""What can be taken hold of in a cut and moved in time, each with the edit that moves it.

All grips move the same way: by frames above 0 later, to the right, and below 0 earlier. So a tail that moves
later makes its clip longer, and a head that moves later makes it shorter.
"""

import functools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from desk.errors import EditError
from desk.film import edits
from desk.film.edit import find_open_scene
from desk.film.edits import Edit
from desk.film.model import Film, Scene, SceneContent
from desk.film.wording import counted, sentence
from desk.ui.cutting.keys.aim import Kind, Thing, clip_of, things
from desk.ui.session import MakeEdit, several


class Grip(Enum):
    """What is held; the value is what a sentence calls it."""

    HEAD = "the head"
    TAIL = "the tail"
    CUT = "the cut"
    SHOWN = "what is shown"
    PLACE = "the place"
    LEAD = "the head of the sound"
    LAG = "the tail of the sound"
    FADE_IN = "the fade in"
    FADE_OUT = "the fade out"


OF_CLIPS = frozenset({Grip.CUT, Grip.SHOWN, Grip.LEAD, Grip.LAG})
"""Grips that only clips have."""

OF_SEVERAL = frozenset({Grip.PLACE, Grip.FADE_IN, Grip.FADE_OUT})
"""Grips that move for all that is selected, and not only for what was chosen last."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """A grip on things of a scene.

    Attributes:
        scene_id: The scene.
        grip: What of them is held.
        main: Id of the thing, or of the first one meant of several. For a cut, the clip after it.
        ids: All of them.
    """

    scene_id: str
    grip: Grip
    main: str
    ids: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """How long files are, by path; one that is not there counts as endless.

    Attributes:
        picture_seconds: Lengths of pictures.
        sound_seconds: Lengths of sounds.
    """

    picture_seconds: Mapping[str, Fraction]
    sound_seconds: Mapping[str, Fraction]


def held_name(content: SceneContent, held: Held) -> str:
    """Return what a sentence calls what is held: `the tail of clip 2`, `the cut before clip 3`."""
    name = things(content)[held.main].name
    if len(held.ids) > 1:
        name = counted(len(held.ids), "thing")
    return f"{held.grip.value} {'before' if held.grip is Grip.CUT else 'of'} {name}"


def nudge(film: Film, held: Held, frames: int, known: Known) -> Edit:
    """Move what is held.

    Args:
        film: The film.
        held: What is held.
        frames: By how many frames, later; below 0, earlier. Clips that are held at their place move by as
            many places instead, as far as there are any.
        known: How long the files are.

    Raises:
        EditError: when the film does not allow it.
    """
    found = things(find_open_scene(film, held.scene_id).content)
    thing = found.get(held.main)
    if thing is None:
        raise EditError(
            "What was held is not in the scene any more.", advice="Take hold anew.", code="edit.unknown"
        )
    if held.grip in OF_CLIPS and thing.kind is not Kind.CLIP:
        other = {Grip.LEAD: " Hold its head instead.", Grip.LAG: " Hold its tail instead."}.get(held.grip, "")
        raise EditError(
            f"{sentence(thing.name)} has no {held.grip.value.removeprefix('the ')}: only clips have.",
            advice=f"Select a clip.{other}",
            code="edit.place",
        )
    match held.grip:
        case Grip.HEAD:
            return _with_head(film, held, thing, frames)
        case Grip.TAIL:
            return _with_tail(film, held, thing, frames, known)
        case Grip.CUT:
            return edits.move_cut(
                film, held.scene_id, held.main, frames, source_seconds=known.picture_seconds
            )
        case Grip.SHOWN:
            return edits.slide(film, held.scene_id, held.main, frames, source_seconds=known.picture_seconds)
        case Grip.PLACE:
            return _with_place(film, held, [found[item] for item in held.ids if item in found], frames)
        case Grip.LEAD:
            return edits.drag_sound_head(film, held.scene_id, held.main, frames)
        case Grip.LAG:
            return edits.drag_sound_tail(
                film, held.scene_id, held.main, frames, sound_seconds=known.sound_seconds
            )
        case Grip.FADE_IN | Grip.FADE_OUT:
            return _with_fades(film, held, [found[item] for item in held.ids if item in found], frames)


def to_playhead_frames(scene: Scene, held: Held, playhead: int) -> int:
    """Return by how many frames what is held has to move to be at the playhead.

    What is there lies between two frames: before the frame at the playhead, as where a clip is split.

    Args:
        scene: The scene.
        held: What is held.
        playhead: The frame, from the scene's start.

    Raises:
        EditError: when it can't come there.
    """
    thing = things(scene.content)[held.main]
    name = thing.name
    is_clip = thing.kind is Kind.CLIP
    if is_clip and held.grip in (Grip.HEAD, Grip.TAIL):
        if not thing.start_frames <= playhead <= thing.end_frames:
            raise EditError(
                f"The playhead is not in {name}, so that can't be trimmed to it.",
                advice="Put the playhead in the clip, or hold its head or tail and move that.",
                code="edit.place",
            )
    elif is_clip and held.grip in (Grip.PLACE, Grip.SHOWN):
        raise EditError(
            f"{sentence(held.grip.value)} of {name} can't be brought to the playhead.",
            advice="Move it with the arrow keys.",
            code="edit.place",
        )
    start, end = thing.start_frames, thing.end_frames
    fade_in, fade_out = _fades(scene.content, thing)
    if is_clip and held.grip in (Grip.LEAD, Grip.LAG, Grip.FADE_IN, Grip.FADE_OUT):
        sound = clip_of(scene.content, thing.id).sound
        start, end = start - sound.lead_frames, end + sound.lag_frames
    at = {
        Grip.HEAD: start,
        Grip.TAIL: end,
        Grip.CUT: start,
        Grip.PLACE: start,
        Grip.LEAD: start,
        Grip.LAG: end,
        Grip.FADE_IN: start + fade_in,
        Grip.FADE_OUT: end - fade_out,
    }[held.grip]
    if held.grip in (Grip.FADE_IN, Grip.FADE_OUT) and not start <= playhead <= end:
        raise EditError(
            f"The sound of {name} is not at the playhead, so it can't be faded there.",
            advice="Put the playhead where it sounds.",
            code="edit.place",
        )
    return playhead - at


def edge_of(content: SceneContent, held: Held) -> int | None:
    """Return the first frame after the cut that a grip is at, or None for one without pictures to compare."""
    thing = things(content).get(held.main)
    if thing is None or thing.kind is not Kind.CLIP:
        return None
    if held.grip is Grip.TAIL:
        return thing.end_frames
    return thing.start_frames if held.grip in (Grip.HEAD, Grip.CUT, Grip.SHOWN) else None


def playhead_after(content: SceneContent, held: Held, frame: int) -> int:
    """Return where the playhead belongs when what is held was moved.

    On the new first frame of a head, the new last frame of a tail, the first frame after a cut; where what a
    clip shows was slid, in that clip. Else it stays.

    Args:
        content: The scene's content now.
        held: What is held.
        frame: Where the playhead stands.
    """
    thing = things(content).get(held.main)
    if thing is None or thing.kind is not Kind.CLIP:
        return frame
    match held.grip:
        case Grip.HEAD | Grip.CUT:
            return thing.start_frames
        case Grip.TAIL:
            return thing.end_frames - 1
        case Grip.SHOWN:
            return frame if thing.start_frames <= frame < thing.end_frames else thing.start_frames
        case _:
            return frame


def _with_head(film: Film, held: Held, thing: Thing, frames: int) -> Edit:
    trim = {
        Kind.CLIP: edits.trim_head,
        Kind.SPOT: edits.trim_spot_head,
        Kind.CUE: edits.trim_cue_head,
    }[thing.kind]
    return trim(film, held.scene_id, thing.id, frames)


def _with_tail(film: Film, held: Held, thing: Thing, frames: int, known: Known) -> Edit:
    if thing.kind is Kind.CLIP:
        return edits.trim_tail(film, held.scene_id, thing.id, -frames, source_seconds=known.picture_seconds)
    trim = edits.trim_spot_tail if thing.kind is Kind.SPOT else edits.trim_cue_tail
    return trim(film, held.scene_id, thing.id, -frames, sound_seconds=known.sound_seconds)


def _with_place(film: Film, held: Held, chosen: Sequence[Thing], frames: int) -> Edit:
    clips = film.scene(held.scene_id).content.clips
    moving = {thing.id for thing in chosen if thing.kind is Kind.CLIP}
    if held.main in moving:
        first = next(index for index, clip in enumerate(clips) if clip.id in moving)
        # None of those before the first of them is moving, so that is how many that stay come before it.
        index = max(0, min(first + frames, len(clips) - len(moving)))
        return edits.move_clips(film, held.scene_id, sorted(moving), index)
    spots = [thing.id for thing in chosen if thing.kind is Kind.SPOT]
    cues = [thing.id for thing in chosen if thing.kind is Kind.CUE]
    steps: list[MakeEdit] = []
    if spots:
        steps.append(
            functools.partial(edits.move_spots, scene_id=held.scene_id, spot_ids=spots, frames=frames)
        )
    if cues:
        steps.append(functools.partial(edits.move_cues, scene_id=held.scene_id, cue_ids=cues, frames=frames))
    return all_of(film, f"Move {counted(len(spots) + len(cues), 'thing')}", steps)


def _with_fades(film: Film, held: Held, chosen: Sequence[Thing], frames: int) -> Edit:
    is_in = held.grip is Grip.FADE_IN
    content = film.scene(held.scene_id).content
    steps: list[MakeEdit] = []
    for thing in chosen:
        fade = _fades(content, thing)[0 if is_in else 1] + (frames if is_in else -frames)
        fade = max(0, fade)
        if thing.kind is not Kind.CLIP:
            fade = min(fade, thing.end_frames - thing.start_frames)
        make = functools.partial(_fade_in if is_in else _fade_out, held.scene_id, thing, fade)
        steps.append(make)
    what = "fade in" if is_in else "fade out"
    return all_of(film, f"Change the {what} of {counted(len(steps), 'thing')}", steps)


def all_of(film: Film, text: str, steps: list[MakeEdit]) -> Edit:
    """Return one edit out of several; a single one keeps its own words.

    Raises:
        EditError: when the film does not allow one of them.
    """
    return steps[0](film) if len(steps) == 1 else several(text, steps)(film)


def _fade_in(scene_id: str, thing: Thing, frames: int, film: Film) -> Edit:
    match thing.kind:
        case Kind.CLIP:
            return edits.edit_clip_sound(film, scene_id, (thing.id,), fade_in_frames=frames)
        case Kind.SPOT:
            return edits.edit_spot(film, scene_id, thing.id, fade_in_frames=frames)
        case Kind.CUE:
            music = chosen_music(film, scene_id, thing)
            return edits.edit_candidate(film, scene_id, thing.id, music, fade_in_frames=frames)


def _fade_out(scene_id: str, thing: Thing, frames: int, film: Film) -> Edit:
    match thing.kind:
        case Kind.CLIP:
            return edits.edit_clip_sound(film, scene_id, (thing.id,), fade_out_frames=frames)
        case Kind.SPOT:
            return edits.edit_spot(film, scene_id, thing.id, fade_out_frames=frames)
        case Kind.CUE:
            music = chosen_music(film, scene_id, thing)
            return edits.edit_candidate(film, scene_id, thing.id, music, fade_out_frames=frames)


def chosen_music(film: Film, scene_id: str, cue: Thing) -> str:
    """Return the id of the music of a cue.

    Raises:
        EditError: when none is chosen.
    """
    for item in film.scene(scene_id).content.cues:
        if item.id == cue.id and item.choice is not None:
            return item.choice.id
    raise EditError(
        f"{sentence(cue.name)} has no music chosen, so there is no sound to change.",
        advice="Choose its music first.",
        code="edit.music",
    )


def _fades(content: SceneContent, thing: Thing) -> tuple[int, int]:
    match thing.kind:
        case Kind.CLIP:
            sound = clip_of(content, thing.id).sound
            return sound.fade_in_frames, sound.fade_out_frames
        case Kind.SPOT:
            spot = next(item for item in content.spots if item.id == thing.id)
            return spot.fade_in_frames, spot.fade_out_frames
        case Kind.CUE:
            cue = next(item for item in content.cues if item.id == thing.id)
            choice = cue.choice
            return (choice.fade_in_frames, choice.fade_out_frames) if choice else (0, 0)
