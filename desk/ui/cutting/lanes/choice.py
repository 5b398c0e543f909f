"""Which drag a press begins, and what the lanes say before it does."""

from collections.abc import Collection

from desk.film.model import Clip, Cue, Spot
from desk.film.problem import Facts
from desk.film.rates import Rate
from desk.film.wording import counted
from desk.ui.cutting.lanes.gestures import (
    ChangeBlack,
    Gesture,
    MoveClips,
    MoveCut,
    NoCut,
    Scope,
    Slide,
    TrimHead,
    TrimTail,
)
from desk.ui.cutting.lanes.grips import Grip, Hold
from desk.ui.cutting.lanes.known import handles
from desk.ui.cutting.lanes.layout import Box, Row
from desk.ui.cutting.lanes.sound_gestures import Fade, Gain, MoveSounds, SoundEdge, TrimSound


def gesture_of(grip: Grip, scope: Scope, selection: Collection[str], *, ctrl: bool) -> Gesture:
    """Return the drag that begins with a grip.

    Args:
        grip: What is taken hold of.
        scope: The scene.
        selection: Ids of what is selected, with what is taken hold of.
        ctrl: Whether Ctrl is held: then all else stays where it is.
    """
    thing, box, hold = grip.box.thing, grip.box, grip.hold
    if hold is Hold.GAIN:
        return Gain(scope, thing)
    if hold in (Hold.FADE_IN, Hold.FADE_OUT):
        return Fade(scope, thing, hold, box)
    if hold is Hold.BLACK and isinstance(thing, Clip):
        return ChangeBlack(scope, thing, box.start_frames)
    if not isinstance(thing, Clip):
        return _of_sound(grip, scope, selection, thing)
    if box.row is Row.DIALOGUE and hold is not Hold.BODY:
        return SoundEdge(scope, thing, hold, box)
    if hold is Hold.BODY:
        if ctrl:
            start = box.start_frames if box.row is Row.PICTURE else box.picture_frames[0]
            return Slide(scope, thing, start)
        return MoveClips(scope, tuple(clip.id for clip in scope.content.clips if clip.id in selection))
    if ctrl:
        return _of_cut(box, scope, thing, hold)
    if hold is Hold.HEAD:
        return TrimHead(scope, thing, box.start_frames)
    return TrimTail(scope, thing, box.end_frames)


def _of_sound(grip: Grip, scope: Scope, selection: Collection[str], thing: Spot | Cue) -> Gesture:
    if grip.hold is Hold.BODY:
        content = scope.content
        return MoveSounds(
            scope,
            grip.box,
            tuple(spot.id for spot in content.spots if spot.id in selection),
            tuple(cue.id for cue in content.cues if cue.id in selection),
        )
    return TrimSound(scope, thing, grip.hold, grip.box)


def _of_cut(box: Box, scope: Scope, clip: Clip, hold: Hold) -> Gesture:
    if hold is Hold.HEAD:
        return MoveCut(scope, clip, box.start_frames)
    clips = scope.content.clips
    following = scope.clip_number(clip.id) + 1
    if following == len(clips):
        return NoCut(scope, clip)
    return MoveCut(scope, clips[following], box.end_frames)


def hover_words(grip: Grip | None, rate: Rate, facts: Facts, *, ctrl: bool) -> str:
    """Return what a drag from here would do, for the line under the lanes.

    Args:
        grip: What a press would take hold of, or None.
        rate: The film's rate.
        facts: What is known of each file.
        ctrl: Whether Ctrl is held.
    """
    if grip is None:
        return "Drag: selects what it goes over. Ctrl+wheel zooms, Shift+wheel scrolls."
    thing, hold = grip.box.thing, grip.hold
    is_picture = grip.box.row is Row.PICTURE
    if hold is Hold.GAIN:
        return "Drag: gain, up or down."
    if hold in (Hold.FADE_IN, Hold.FADE_OUT):
        return f"Drag: fade {'in' if hold is Hold.FADE_IN else 'out'}."
    if hold is Hold.BODY:
        if not isinstance(thing, Clip):
            return "Drag: moves it in time, with what else is selected."
        if ctrl:
            return "Drag: shows another stretch of the footage; all else stays."
        return "Drag: moves the clip to another place. With Ctrl: shows another stretch of its footage."
    if hold is Hold.BLACK:
        return "Drag: makes the black before the clip longer or shorter; what follows moves along."
    end = "head" if hold is Hold.HEAD else "tail"
    if not isinstance(thing, Clip):
        return f"Drag: trims its {end}."
    if not is_picture:
        return f"Drag: lets the sound {'begin before' if end == 'head' else 'run on after'} its picture."
    if ctrl:
        return "Drag: moves the cut; the scene keeps its length."
    before, after = handles(thing, rate, facts)
    handle = before if end == "head" else after
    there = f" {counted(handle, 'frame')} of footage beyond it." if handle is not None else ""
    return f"Drag: trims the {end}; what follows moves along. With Ctrl: moves the cut.{there}"
