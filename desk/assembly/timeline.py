"""The film as an OpenTimelineIO timeline, with scenes as nested stacks or flat.

Nested: the top stack has a track `Picture` with one item for each slot. A scene is a stack whose source_range
is as long as its slot; in it lie the tracks Picture, Dialogue, Effects and Music. Where a scene dissolves,
its stack also holds the frames beyond its ends that the dissolve shows, so that they are there for whoever
renders the nest; source_range leaves them out. Sound that begins before its scene or runs on after it would
be cut off by the nest, so that part lies on tracks Dialogue, Effects and Music beside the top Picture track.
Each second of sound is in the file once, but for what a dissolve needs twice.

Flat: one Picture track and as many tracks of each sound as overlap, all in film time.

Choices where the format leaves one:

- Time in a source counts from its first picture (or sample), as in the film; a timecode that the file carries
  is in the reference's metadata. available_range is in frames of the source's own rate, or samples; for a
  variable rate, which has no frames to count in, at the film's rate.
- source_range is at the film's rate: its length is the clip's in film frames, whatever the speed, and its
  start the in point, a whole number of frames unless the film's in point lies between two.
- A fade through black is one Custom_Transition, its kind in our metadata. Two dissolves would need an item of
  black between them, which would lengthen the film; two transitions side by side are not allowed. It uses no
  handles.
- Black where a clip was taken out is a gap.
- Fades at the film's ends are dissolves from and to a gap of no length, since a transition that is first or
  last in a track would lengthen it.
- At a dissolve, sounds that meet at the cut are crossfaded in the flat form; in the nest, the stack's own
  transition does that.
"""

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import PurePosixPath

import opentimelineio as otio
from opentimelineio.opentime import RationalTime, TimeRange

from desk.assembly.chapters import entry_name
from desk.assembly.timeline_notes import (
    KEY,
    Notes,
    card_notes,
    cdl,
    clip_markers,
    film_notes,
    media_notes,
    picture_notes,
    scene_markers,
    scene_notes,
    sound_notes,
)
from desk.errors import AssemblyError
from desk.film.lanes import Lane, Span, on_frames, spans
from desk.film.media import MediaFacts
from desk.film.model import CUT, Card, Clip, Film, Join, JoinKind, Scene, SoundKind
from desk.film.rates import Rate
from desk.film.timing import Layout, Slot, head_handle_frames, opening_gap_frames, tail_handle_frames

_LANE_NAMES: dict[Lane, str] = {"dialogue": "Dialogue", "effects": "Effects", "music": "Music"}


def build_timeline(
    film: Film,
    layout: Layout,
    facts: Mapping[str, MediaFacts],
    *,
    review_file: str | None = None,
    flat: bool = False,
    locate: Callable[[str], str],
) -> otio.schema.Timeline:
    """Return the film as a timeline, as long as the rendered film, to the frame.

    Args:
        film: The film.
        layout: What is in the assembly, and where; not empty.
        facts: What was read of each file, by path; one that is not there becomes a missing reference.
        review_file: Name of the review copy that was made with it, or None.
        flat: Whether to write it without nesting.
        locate: Gives the URL of a file, from its path in the film.

    Raises:
        AssemblyError: where a dissolve is longer than what it lies in, or meets black.
    """
    maker = _Maker(film, facts, locate)
    timeline = otio.schema.Timeline(
        name=film.title,
        global_start_time=maker.time(film.start_frames),
        metadata={KEY: {**film_notes(film, layout, review_file), "nested": not flat}},
    )
    timeline.tracks.extend(maker.flat_tracks(layout) if flat else maker.nested_tracks(layout))
    if flat:
        # Without a stack for each scene, their markers stand on the film.
        timeline.tracks.markers.extend(maker.film_markers(layout))
    return timeline


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sound:
    """A sound, or a part of it, on a track.

    Attributes:
        scene: Where it belongs.
        whole: All of it, from the scene's start.
        start_frames: Where the part begins on the track.
        length_frames: How long it is.
        in_seconds: Place in the file where it begins.
    """

    scene: Scene
    whole: Span
    start_frames: int
    length_frames: int
    in_seconds: Fraction

    @property
    def end_frames(self) -> int:
        return self.start_frames + self.length_frames


@dataclass(frozen=True, slots=True, kw_only=True)
class _Passage:
    """A join, or a fade at an end of the film, as it fits between the items of a track."""

    kind: str
    before_frames: int
    after_frames: int
    asked: Join


@dataclass(frozen=True, slots=True, kw_only=True)
class _Reach:
    """Frames of a slot beyond its ends that dissolves show."""

    before_frames: int
    after_frames: int


_NO_REACH = _Reach(before_frames=0, after_frames=0)


class _Maker:
    """Makes the parts of one timeline."""

    def __init__(self, film: Film, facts: Mapping[str, MediaFacts], locate: Callable[[str], str]) -> None:
        self._film = film
        self._facts = facts
        self._locate = locate
        # The division rounds once, to the nearest float: 24000/1001 and not 23.976.
        self._rate = _rate_float(film.rate)

    def time(self, frames: int | Fraction) -> RationalTime:
        """Return a time at the film's rate."""
        return RationalTime(float(frames), self._rate)

    def range(self, start_frames: int | Fraction, length_frames: int) -> TimeRange:
        """Return a range at the film's rate."""
        return TimeRange(self.time(start_frames), self.time(length_frames))

    def nested_tracks(self, layout: Layout) -> Iterator[otio.schema.Track]:
        """Yield the picture track of stacks and cards, then tracks of sound that reaches out of its scene."""
        groups: list[list[otio.core.Item]] = []
        for slot, reach in zip(layout.slots, _reaches(layout), strict=True):
            if isinstance(slot.entry, Card):
                groups.append([self._card(slot.entry, slot.length_frames, reach)])
            else:
                groups.append([self._scene(slot, slot.entry, reach)])
        lengths = [[slot.length_frames] for slot in layout.slots]
        yield self._picture_track(groups, _passages(self._film, layout, lengths))
        outside: list[_Sound] = []
        for slot, scene in _sounding_scenes(layout):
            for span in self._spans(scene):
                before = span.start_frames, min(span.end_frames, 0)
                after = max(span.start_frames, slot.length_frames), span.end_frames
                for start, end in (before, after):
                    outside += self._in_film(layout, slot, scene, span, start, end)
        for kind in _LANE_NAMES:
            yield from self._sound_tracks(kind, outside, layout.length_frames, least=0)

    def flat_tracks(self, layout: Layout) -> Iterator[otio.schema.Track]:
        """Yield one picture track and the tracks of sound, in film time."""
        groups: list[list[otio.core.Item]] = []
        lengths: list[list[int]] = []
        for slot, reach in zip(layout.slots, _reaches(layout), strict=True):
            if isinstance(slot.entry, Card):
                groups.append([self._card(slot.entry, slot.length_frames, reach)])
                lengths.append([slot.length_frames])
            elif slot.slate:
                groups.append([self._slate(slot, slot.entry, reach)])
                lengths.append([slot.length_frames])
            else:
                group: list[otio.core.Item] = []
                for clip in slot.entry.content.clips:
                    group += [*self._black_before(slot.entry, clip), self._picture(slot.entry, clip)]
                groups.append(group)
                lengths.append([int(item.trimmed_range().duration.value) for item in group])
        passages = _passages(self._film, layout, lengths)
        yield self._picture_track(groups, passages)
        sounds: list[_Sound] = []
        for slot, scene in _sounding_scenes(layout):
            for span in self._spans(scene):
                sounds += self._in_film(layout, slot, scene, span, span.start_frames, span.end_frames)
        dissolves = {
            slot.start_frames: passage
            for slot, passage in zip(layout.slots, passages, strict=False)
            if passage.kind == JoinKind.DISSOLVE
        }
        for kind in _LANE_NAMES:
            joins = dissolves if kind == "dialogue" else {}
            yield from self._sound_tracks(kind, sounds, layout.length_frames, least=1, joins=joins)

    def film_markers(self, layout: Layout) -> Iterator[otio.schema.Marker]:
        """Yield the markers of all scenes in film time; the first of each has what is known of the scene."""
        for slot in layout.slots:
            if isinstance(slot.entry, Scene):
                extent = self.range(slot.start_frames, slot.length_frames)
                for index, marker in enumerate(scene_markers(slot, slot.entry, extent)):
                    marker.name = f"{entry_name(slot.entry)}: {marker.name}"
                    if index == 0:
                        marker.metadata[KEY]["scene"] = scene_notes(slot, slot.entry)
                    yield marker

    def _picture_track(
        self, groups: Sequence[Sequence[otio.core.Item]], passages: Sequence[_Passage]
    ) -> otio.schema.Track:
        track = otio.schema.Track(name="Picture", kind=otio.schema.TrackKind.Video)
        opening, *joins, closing = passages
        if opening.after_frames:
            track.extend([otio.schema.Gap(duration=self.time(0)), self._transition(opening)])
        for group, join in zip(groups, (*joins, closing), strict=True):
            track.extend(group)
            if join.before_frames + join.after_frames:
                track.append(self._transition(join))
        if closing.before_frames:
            track.append(otio.schema.Gap(duration=self.time(0)))
        return track

    def _transition(self, passage: _Passage) -> otio.schema.Transition:
        through_black = passage.kind == JoinKind.THROUGH_BLACK
        types = otio.schema.TransitionTypes
        notes: Notes = {
            "kind": passage.kind,
            "before_frames": passage.asked.before_frames,
            "after_frames": passage.asked.after_frames,
        }
        return otio.schema.Transition(
            name=passage.kind,
            transition_type=types.Custom if through_black else types.SMPTE_Dissolve,
            in_offset=self.time(passage.before_frames),
            out_offset=self.time(passage.after_frames),
            metadata={KEY: notes},
        )

    def _scene(self, slot: Slot, scene: Scene, reach: _Reach) -> otio.schema.Stack:
        # The stack's own time begins where the dissolve into it does.
        at, whole = reach.before_frames, reach.before_frames + slot.length_frames + reach.after_frames
        extent = self.range(at, slot.length_frames)
        stack = otio.schema.Stack(
            name=entry_name(scene), source_range=extent, metadata={KEY: scene_notes(slot, scene)}
        )
        stack.markers.extend(scene_markers(slot, scene, extent))
        picture = otio.schema.Track(name="Picture", kind=otio.schema.TrackKind.Video)
        sounds: list[_Sound] = []
        if slot.slate:
            picture.append(self._slate(slot, scene, reach, shown=reach))
        else:
            picture.extend(self._reaching_pictures(scene, reach))
            for span in self._spans(scene):
                start, end = max(span.start_frames, 0), min(span.end_frames, slot.length_frames)
                # An outer clip is heard for as long as it is seen, unless it has a lead or lag of its own,
                # which lies beside the stacks.
                if span.owner == scene.content.clips[0].id and span.start_frames == 0:
                    start -= reach.before_frames
                if span.owner == scene.content.clips[-1].id and span.end_frames == slot.length_frames:
                    end += reach.after_frames
                sounds += self._part(scene, span, start, end, at)
        stack.append(picture)
        for kind in _LANE_NAMES:
            stack.extend(self._sound_tracks(kind, sounds, whole, least=1))
        return stack

    def _reaching_pictures(self, scene: Scene, reach: _Reach) -> Iterator[otio.core.Item]:
        """Yield the clips of a scene, the outer ones with what dissolves show of their handles."""
        clips, rate = scene.content.clips, self._film.rate
        before = min(reach.before_frames, head_handle_frames(clips[0], rate))
        after = reach.after_frames
        facts = self._facts.get(clips[-1].source)
        if facts and facts.picture:
            after = max(0, min(after, tail_handle_frames(clips[-1], rate, facts.picture.seconds)))
        if before < reach.before_frames:
            yield self._gap(reach.before_frames - before)
        for index, clip in enumerate(clips):
            last = index == len(clips) - 1
            yield from self._black_before(scene, clip)
            yield self._picture(
                scene, clip, before_frames=0 if index else before, after_frames=after if last else 0
            )
        if after < reach.after_frames:
            yield self._gap(reach.after_frames - after)

    def _black_before(self, scene: Scene, clip: Clip) -> Iterator[otio.schema.Gap]:
        """Yield the black before a clip, where something was taken out."""
        if clip.gap_frames:
            gap = self._gap(clip.gap_frames)
            gap.metadata[KEY] = {"kind": "gap", "scene": scene.id, "before": clip.id}
            yield gap

    def _picture(
        self, scene: Scene, clip: Clip, *, before_frames: int = 0, after_frames: int = 0
    ) -> otio.schema.Clip:
        in_frames = clip.in_seconds * self._film.rate.fraction
        item = otio.schema.Clip(
            name=PurePosixPath(clip.source).name,
            media_reference=self._reference(clip.source, with_picture=True),
            source_range=self.range(
                in_frames - before_frames * clip.speed, before_frames + clip.length_frames + after_frames
            ),
            metadata={KEY: picture_notes(self._film, scene, clip), "cdl": cdl(scene.content.grade)},
        )
        self._warp(item, clip.speed)
        item.markers.extend(clip_markers(clip, self.range(in_frames, clip.length_frames)))
        return item

    def _card(self, card: Card, length_frames: int, reach: _Reach) -> otio.schema.Clip:
        return self._generated(entry_name(card), "card", card_notes(card), length_frames, reach)

    def _slate(
        self, slot: Slot, scene: Scene, reach: _Reach, *, shown: _Reach | None = None
    ) -> otio.schema.Clip:
        notes = {"kind": "slate", "scene": scene.id, "number": scene.number, "slugline": scene.slugline}
        return self._generated(
            f"Slate {entry_name(scene)}", "slate", notes, slot.length_frames, reach, shown=shown
        )

    def _generated(
        self,
        name: str,
        kind: str,
        notes: Notes,
        length_frames: int,
        reach: _Reach,
        *,
        shown: _Reach | None = None,
    ) -> otio.schema.Clip:
        """Return a picture that is drawn; its time 0 is its slot's start, so a dissolve goes before that."""
        shown = shown or _NO_REACH
        reference = otio.schema.GeneratorReference(
            name=name,
            generator_kind=f"{KEY} {kind}",
            available_range=self._reaching(length_frames, reach),
            parameters=notes,
        )
        return otio.schema.Clip(
            name=name,
            media_reference=reference,
            source_range=self._reaching(length_frames, shown),
            metadata={KEY: notes},
        )

    def _reaching(self, length_frames: int, reach: _Reach) -> TimeRange:
        return self.range(-reach.before_frames, reach.before_frames + length_frames + reach.after_frames)

    def _spans(self, scene: Scene) -> Iterator[Span]:
        """Yield what sounds in a scene; music in parts as one span for each."""
        for span in spans(scene.content, self._film.rate):
            yield from on_frames(span, self._film.rate)

    def _in_film(
        self, layout: Layout, slot: Slot, scene: Scene, span: Span, start_frames: int, end_frames: int
    ) -> list[_Sound]:
        """Return the part of a sound from one frame of its scene to another, cut at the film's ends."""
        start = max(start_frames, -slot.start_frames)
        end = min(end_frames, layout.length_frames - slot.start_frames)
        return self._part(scene, span, start, end, slot.start_frames)

    def _part(
        self, scene: Scene, span: Span, start_frames: int, end_frames: int, at_frames: int
    ) -> list[_Sound]:
        """Return the part of a sound from one frame of its scene to another; none, or one.

        Args:
            scene: Its scene.
            span: The sound.
            start_frames: First frame, from the scene's start; may be before the span's.
            end_frames: The frame after its last; may be after the span's.
            at_frames: Where on the track the scene starts.
        """
        rate = self._film.rate
        first_seconds = span.in_seconds + rate.seconds(start_frames - span.start_frames) * span.speed
        late = max(0, math.ceil(-first_seconds * rate.fraction / span.speed))
        length = end_frames - start_frames - late
        if length <= 0:
            return []
        return [
            _Sound(
                scene=scene,
                whole=span,
                start_frames=at_frames + start_frames + late,
                length_frames=length,
                in_seconds=first_seconds + rate.seconds(late) * span.speed,
            )
        ]

    def _sound_tracks(
        self,
        kind: Lane,
        sounds: Iterable[_Sound],
        length_frames: int,
        *,
        least: int,
        joins: Mapping[int, _Passage] | None = None,
    ) -> Iterator[otio.schema.Track]:
        """Yield the tracks of one kind of sound: one more wherever sounds overlap.

        Args:
            kind: Which kind.
            sounds: Sounds of all kinds.
            length_frames: How long each track is; the rest is silence.
            least: Yield this many, even without a sound.
            joins: Dissolves, by the frame of their cut, at which sounds that meet are crossfaded.
        """
        lanes: list[list[_Sound]] = [[] for _ in range(least)]
        own = (sound for sound in sounds if sound.whole.kind == kind)
        for sound in sorted(own, key=lambda sound: sound.start_frames):
            free = [lane for lane in lanes if not lane or lane[-1].end_frames <= sound.start_frames]
            if not free:
                free = [[]]
                lanes += free
            # The one that ended last, so that sounds which meet are on one track.
            max(free, key=lambda lane: lane[-1].end_frames if lane else 0).append(sound)
        for number, lane in enumerate(lanes, start=1):
            name = _LANE_NAMES[kind] if number == 1 else f"{_LANE_NAMES[kind]} {number}"
            items: list[otio.core.Composable] = []
            at = 0
            for sound in lane:
                join = (joins or {}).get(sound.start_frames)
                if at < sound.start_frames:
                    items.append(self._gap(sound.start_frames - at))
                elif join and at:
                    items.append(self._transition(join))
                items.append(self._sound(sound))
                at = sound.end_frames
            if at < length_frames:
                items.append(self._gap(length_frames - at))
            yield otio.schema.Track(name=name, children=items, kind=otio.schema.TrackKind.Audio)

    def _sound(self, sound: _Sound) -> otio.schema.Clip:
        span = sound.whole
        notes = sound_notes(sound.scene, span)
        own = span.kind == "dialogue" and notes["sound"]["kind"] == SoundKind.OWN
        item = otio.schema.Clip(
            name=notes.get("label") or PurePosixPath(span.file).name,
            media_reference=self._reference(span.file, with_picture=own),
            source_range=self.range(sound.in_seconds * self._film.rate.fraction, sound.length_frames),
            metadata={KEY: notes},
        )
        self._warp(item, span.speed)
        return item

    def _warp(self, item: otio.schema.Clip, speed: Fraction) -> None:
        if speed != 1:
            item.effects.append(otio.schema.LinearTimeWarp(name="speed", time_scalar=float(speed)))

    def _gap(self, frames: int) -> otio.schema.Gap:
        return otio.schema.Gap(duration=self.time(frames))

    def _reference(self, path: str, *, with_picture: bool) -> otio.core.MediaReference:
        """Return what a clip refers to.

        Args:
            path: The file.
            with_picture: Whether its time is that of its picture, rather than that of its sound.
        """
        facts = self._facts.get(path)
        name, notes = PurePosixPath(path).name, {KEY: media_notes(path, facts)}
        if facts is None:
            return otio.schema.MissingReference(name=name, metadata=notes)
        reference = otio.schema.ExternalReference(
            target_url=self._locate(path),
            available_range=self._available(facts, with_picture=with_picture),
            metadata=notes,
        )
        reference.name = name
        return reference

    def _available(self, facts: MediaFacts, *, with_picture: bool) -> TimeRange | None:
        picture, sound = facts.picture, facts.sound
        if picture and (with_picture or sound is None):
            if picture.variable:
                return TimeRange(self.time(0), self.time(picture.seconds * self._film.rate.fraction))
            rate = _rate_float(picture.rate)
            return TimeRange(RationalTime(0, rate), RationalTime(picture.frames, rate))
        if sound:
            samples = math.floor(sound.seconds * sound.sample_rate_hz)
            return TimeRange(
                RationalTime(0, sound.sample_rate_hz), RationalTime(samples, sound.sample_rate_hz)
            )
        return None


def _rate_float(rate: Rate) -> float:
    return rate.numerator / rate.denominator


def _sounding_scenes(layout: Layout) -> Iterator[tuple[Slot, Scene]]:
    for slot in layout.slots:
        if isinstance(slot.entry, Scene) and not slot.slate:
            yield slot, slot.entry


def _reaches(layout: Layout) -> Iterator[_Reach]:
    """Yield for each slot how far dissolves reach beyond its ends."""
    previous = CUT
    for slot in layout.slots:
        opens, closes = (join.kind is JoinKind.DISSOLVE for join in (previous, slot.join))
        yield _Reach(
            before_frames=previous.before_frames if opens else 0,
            after_frames=slot.join.after_frames if closes else 0,
        )
        previous = slot.join


def _passages(film: Film, layout: Layout, lengths: Sequence[Sequence[int]]) -> list[_Passage]:
    """Return what goes on at the film's start, after each slot but the last, and at its end.

    A transition lies within its neighbours. A fade to or from black that is longer is shortened; its metadata
    has the whole length.

    Args:
        film: The film.
        layout: What is in the assembly.
        lengths: Lengths of the items that each slot has on the track.

    Raises:
        AssemblyError: where a dissolve is longer than what it lies in, or meets black.
    """
    asked = [
        ("fade in", Join(after_frames=film.fade_in_frames)),
        *((slot.join.kind.value, slot.join) for slot in layout.slots[:-1]),
        ("fade out", Join(before_frames=film.fade_out_frames)),
    ]
    found = []
    used = 0
    for index, (kind, join) in enumerate(asked):
        before = after = 0
        if kind == JoinKind.DISSOLVE and opening_gap_frames(layout.slots[index]):
            name = entry_name(layout.slots[index].entry)
            raise AssemblyError(
                f"The dissolve into “{name}” meets black, where a clip was taken out.",
                advice="Close the gap before its first clip, or make it a cut.",
                code="assembly.join",
            )
        if index:
            outgoing = lengths[index - 1]
            room = outgoing[-1] - (used if len(outgoing) == 1 else 0)
            before = min(join.before_frames, room)
        if index < len(lengths):
            incoming = lengths[index]
            next_join = layout.slots[index].join
            room = incoming[0] - (next_join.before_frames if len(incoming) == 1 else 0)
            after = min(join.after_frames, max(0, room))
        if kind == JoinKind.DISSOLVE and (before, after) != (join.before_frames, join.after_frames):
            name = entry_name(layout.slots[index].entry)
            raise AssemblyError(
                f"The dissolve into “{name}” is longer than what lies on both sides of it.",
                advice="Shorten the dissolve or lengthen the clips that it joins.",
                code="assembly.join",
            )
        found.append(_Passage(kind=kind, before_frames=before, after_frames=after, asked=join))
        used = after
    return found
