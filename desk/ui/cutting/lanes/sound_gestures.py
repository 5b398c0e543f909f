"""Drags of what sounds as edits: leads and lags, spots and cues, gains and fades."""

import functools
import math
from dataclasses import dataclass
from typing import ClassVar, TypedDict

from desk.film import edits
from desk.film.content_faults import LEAST_GAIN_DB, MOST_GAIN_DB
from desk.film.edit import Edit
from desk.film.model import Clip, Cue, Film, Spot
from desk.film.wording import counted
from desk.ui.cutting.lanes.gestures import Attempt, Gesture, Where, signed
from desk.ui.cutting.lanes.grips import Hold
from desk.ui.cutting.lanes.known import sound_seconds
from desk.ui.cutting.lanes.layout import Box, Thing
from desk.ui.cutting.lanes.words import thing_gain_db
from desk.ui.scene.clip_facts import gain_text
from desk.ui.session import several


class SoundFields(TypedDict, total=False):
    """What a drag changes of how something sounds."""

    gain_db: float
    fade_in_frames: int
    fade_out_frames: int


_DB_PER_PX = 0.5
_STEP_DB = 0.5
_ZERO_DB = 1.0
"""A gain stops at 0 dB within so much."""


@dataclass(frozen=True, slots=True)
class SoundEdge(Gesture):
    """The head or tail of a clip's sound is dragged: its lead or lag."""

    clip: Clip
    hold: Hold
    box: Box

    def at(self, where: Where) -> Attempt:
        scope, clip, sound = self.scope, self.clip, self.clip.sound
        begin = self.box.start_frames if self.hold is Hold.HEAD else self.box.end_frames
        frames = scope.snapped(begin + where.moved_frames, free=where.free) - begin
        if self.hold is Hold.HEAD:
            return Attempt(
                make=functools.partial(
                    edits.drag_sound_head, scene_id=scope.scene_id, clip_id=clip.id, frames=frames
                ),
                words=f"Lead {counted(max(0, sound.lead_frames - frames), 'frame')} ({signed(-frames)}).",
            )
        heard = self.box.span.file if self.box.span else clip.source
        return Attempt(
            make=functools.partial(
                edits.drag_sound_tail,
                scene_id=scope.scene_id,
                clip_id=clip.id,
                frames=frames,
                sound_seconds=sound_seconds(scope.facts, heard),
            ),
            words=f"Lag {counted(max(0, sound.lag_frames + frames), 'frame')} ({signed(frames)}).",
        )


@dataclass(frozen=True, slots=True)
class MoveSounds(Gesture):
    """Spots and cues are dragged in time; the end of the one at the pointer that is near a place stops there.

    Attributes:
        box: The one at the pointer.
        spot_ids: The spots.
        cue_ids: The cues.
    """

    box: Box
    spot_ids: tuple[str, ...]
    cue_ids: tuple[str, ...]

    def at(self, where: Where) -> Attempt:
        scope = self.scope
        moved = math.floor(where.moved_frames + 0.5)
        stops = [
            scope.snapped(edge + moved, free=where.free) - edge
            for edge in (self.box.start_frames, self.box.end_frames)
        ]
        frames = min((stop for stop in stops if stop != moved), key=lambda to: abs(to - moved), default=moved)
        start = scope.length(self.box.start_frames + frames)
        count = len(self.spot_ids) + len(self.cue_ids)
        return Attempt(
            make=functools.partial(
                _move_sounds,
                scene_id=scope.scene_id,
                spot_ids=self.spot_ids,
                cue_ids=self.cue_ids,
                frames=frames,
            ),
            words=f"Moves {counted(count, 'sound')} by {signed(frames)}, to begin at {start}.",
        )


@dataclass(frozen=True, slots=True)
class TrimSound(Gesture):
    """The head or tail of a spot or cue is dragged."""

    thing: Spot | Cue
    hold: Hold
    box: Box

    def at(self, where: Where) -> Attempt:
        scope, thing = self.scope, self.thing
        is_head = self.hold is Hold.HEAD
        begin = thing.start_frames + (0 if is_head else thing.length_frames)
        frames = scope.snapped(begin + where.moved_frames, free=where.free) - begin
        length = scope.length(thing.length_frames + (-frames if is_head else frames))
        known = sound_seconds(scope.facts, self.box.span.file if self.box.span else "")
        if isinstance(thing, Spot):
            make = (
                functools.partial(
                    edits.trim_spot_head, scene_id=scope.scene_id, spot_id=thing.id, frames=frames
                )
                if is_head
                else functools.partial(
                    edits.trim_spot_tail,
                    scene_id=scope.scene_id,
                    spot_id=thing.id,
                    frames=-frames,
                    sound_seconds=known,
                )
            )
        else:
            make = (
                functools.partial(
                    edits.trim_cue_head, scene_id=scope.scene_id, cue_id=thing.id, frames=frames
                )
                if is_head
                else functools.partial(
                    edits.trim_cue_tail,
                    scene_id=scope.scene_id,
                    cue_id=thing.id,
                    frames=-frames,
                    sound_seconds=known,
                )
            )
        return Attempt(make=make, words=f"{'Head' if is_head else 'Tail'} {signed(frames)}, {length} long.")


@dataclass(frozen=True, slots=True)
class Gain(Gesture):
    """The line of a gain is dragged up or down, half a decibel for each pixel."""

    thing: Thing
    stops: ClassVar[str] = "Stops at 0 dB; with Shift it goes freely."

    def at(self, where: Where) -> Attempt:
        before = thing_gain_db(self.thing)
        gain = round((before - where.moved_px * _DB_PER_PX) / _STEP_DB) * _STEP_DB
        if not where.free and abs(gain) <= _ZERO_DB:
            gain = 0.0
        gain = max(float(LEAST_GAIN_DB), min(gain, float(MOST_GAIN_DB)))
        return Attempt(
            make=functools.partial(
                _with_sound,
                scene_id=self.scope.scene_id,
                thing=self.thing,
                fields=SoundFields(gain_db=gain),
            ),
            words=f"Gain {gain_text(gain)}. Monitor at a moderate level."
            if gain > max(0.0, before)
            else f"Gain {gain_text(gain)}.",
        )


@dataclass(frozen=True, slots=True)
class Fade(Gesture):
    """The end of a fade is dragged."""

    thing: Thing
    hold: Hold
    box: Box

    def at(self, where: Where) -> Attempt:
        scope, box = self.scope, self.box
        span = box.span
        is_in = self.hold is Hold.FADE_IN
        before = 0 if span is None else span.fade_in_frames if is_in else span.fade_out_frames
        end = box.start_frames + before if is_in else box.end_frames - before
        target = scope.snapped(end + where.moved_frames, free=where.free)
        frames = target - box.start_frames if is_in else box.end_frames - target
        frames = max(0, min(frames, box.length_frames))
        fields = SoundFields(fade_in_frames=frames) if is_in else SoundFields(fade_out_frames=frames)
        make = functools.partial(_with_sound, scene_id=scope.scene_id, thing=self.thing, fields=fields)
        return Attempt(make=make, words=f"Fade {'in' if is_in else 'out'} {counted(frames, 'frame')}.")


def _move_sounds(
    film: Film, *, scene_id: str, spot_ids: tuple[str, ...], cue_ids: tuple[str, ...], frames: int
) -> Edit:
    if not cue_ids:
        return edits.move_spots(film, scene_id, spot_ids, frames)
    if not spot_ids:
        return edits.move_cues(film, scene_id, cue_ids, frames)
    both = several(
        f"Move {counted(len(spot_ids) + len(cue_ids), 'sound')}",
        [
            functools.partial(edits.move_spots, scene_id=scene_id, spot_ids=spot_ids, frames=frames),
            functools.partial(edits.move_cues, scene_id=scene_id, cue_ids=cue_ids, frames=frames),
        ],
    )
    return both(film)


def _with_sound(film: Film, *, scene_id: str, thing: Thing, fields: SoundFields) -> Edit:
    """Return the edit that changes how a clip, spot or cue sounds."""
    if isinstance(thing, Clip):
        return edits.edit_clip_sound(film, scene_id, (thing.id,), **fields)
    if isinstance(thing, Spot):
        return edits.edit_spot(film, scene_id, thing.id, **fields)
    return edits.edit_candidate(film, scene_id, thing.id, thing.chosen, **fields)
