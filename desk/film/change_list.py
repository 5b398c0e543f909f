"""What differs between two versions of a scene, in plain words."""

import bisect
from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from typing import Protocol, TypeVar

from desk.film.model import Candidate, Clip, Cue, Duck, Grade, SceneContent, Spot, VoiceChain
from desk.film.rates import Rate
from desk.film.timecode import format_length
from desk.film.timing import content_frames
from desk.film.wording import counted, listed, quoted, shown_number, true_minus


class _Named(Protocol):
    @property
    def id(self) -> str: ...


_Thing = TypeVar("_Thing", bound=_Named)
_Differ = Callable[[_Thing, _Thing], Iterator[str]]


def change_list(before: SceneContent, after: SceneContent, rate: Rate) -> tuple[str, ...]:
    """Return what differs between two versions of a scene's content, one line each; none when they are equal.

    Clips, cues and spots are told apart by their ids. A clip is called by its place in the later version,
    one that is gone by its place in the earlier.

    Args:
        before: The earlier version.
        after: The later version.
        rate: The film's rate.
    """
    was, now = content_frames(before), content_frames(after)
    lines = []
    if was != now:
        change = f"{counted(abs(now - was), 'frame')} {'longer' if now > was else 'shorter'}"
        lines.append(f"Length {format_length(was, rate)} → {format_length(now, rate)}, {change}")
    lines += _in_list(before.clips, after.clips, _clip_name, lambda old, new: _clip(old, new, rate))
    lines += _in_list(before.cues, after.cues, _cue_name, _cue)
    if before.no_music != after.no_music:
        lines.append("No music: declared" if after.no_music else "No music: taken back")
    lines += _in_list(before.spots, after.spots, _spot_name, lambda old, new: _sound_use(old, new))
    if before.voices_levelled != after.voices_levelled:
        lines.append(f"Voices: {'called level' if after.voices_levelled else 'not called level any more'}")
    lines += [f"Voices: {line}" for line in _voices(before, after)]
    lines += [f"Grade: {line}" for line in _grade(before.grade, after.grade)]
    if before.grade_note != after.grade_note:
        lines.append(f"Grade note: {quoted(before.grade_note)} → {quoted(after.grade_note)}")
    return tuple(lines)


def _in_list(
    before: Sequence[_Thing],
    after: Sequence[_Thing],
    name: Callable[[_Thing, int], str],
    differ: _Differ[_Thing],
) -> list[str]:
    """Return what differs between two lists of things with ids: gone, new, moved, changed."""
    old_places = {thing.id: index for index, thing in enumerate(before)}
    new_ids = {thing.id for thing in after}
    moved = _moved([old_places[thing.id] for thing in after if thing.id in old_places])
    lines = [
        f"{name(thing, index)}: removed" for index, thing in enumerate(before) if thing.id not in new_ids
    ]
    for index, thing in enumerate(after):
        called = name(thing, index)
        place = old_places.get(thing.id)
        if place is None:
            lines.append(f"{called}: added")
            continue
        if place in moved:
            lines.append(f"{called}: moved from place {place + 1}")
        lines += [f"{called}: {line}" for line in differ(before[place], thing)]
    return lines


def _moved(places: Sequence[int]) -> set[int]:
    """Return the fewest of the old places that explain a new order: all outside a longest rising run."""
    tails: list[int] = []
    ends: list[int] = []
    earlier: dict[int, int | None] = {}
    for place in places:
        at = bisect.bisect_left(tails, place)
        earlier[place] = ends[at - 1] if at else None
        tails[at:] = [place, *tails[at + 1 :]]
        ends[at:] = [place, *ends[at + 1 :]]
    stayed = set()
    place_now = ends[-1] if ends else None
    while place_now is not None:
        stayed.add(place_now)
        place_now = earlier[place_now]
    return set(places) - stayed


def _clip(old: Clip, new: Clip, rate: Rate) -> Iterator[str]:
    if old.gap_frames != new.gap_frames:
        yield f"black before it {old.gap_frames:,} → {counted(new.gap_frames, 'frame')}"
    if old.source != new.source:
        yield f"source {quoted(old.source)} → {quoted(new.source)}"
    if old.speed != new.speed:
        yield f"speed {old.speed} → {new.speed}"
    if old.source == new.source and old.speed == new.speed:
        yield from _trims(old, new, rate)
    else:
        if old.in_seconds != new.in_seconds:
            yield f"in point {_seconds(old.in_seconds)} → {_seconds(new.in_seconds)}"
        if old.length_frames != new.length_frames:
            yield f"length {old.length_frames:,} → {counted(new.length_frames, 'frame')}"
    yield from _fields(old.framing, new.framing, ("fit", "scale", "x", "y"))
    if old.sound.kind != new.sound.kind:
        yield f"sound {old.sound.kind} → {new.sound.kind}"
    if old.sound.file != new.sound.file:
        yield f"separate recording {quoted(old.sound.file)} → {quoted(new.sound.file)}"
    if old.sound.offset_seconds != new.sound.offset_seconds:
        was, now = _seconds(old.sound.offset_seconds), _seconds(new.sound.offset_seconds)
        yield f"sound offset {was} → {now}"
    names = ("gain_db", "lead_frames", "lag_frames", "fade_in_frames", "fade_out_frames")
    yield from _fields(old.sound, new.sound, names)
    if old.sound.voice != new.sound.voice:
        yield "other voice"
    if old.camera != new.camera:
        yield "other camera look"
    if old.note != new.note:
        yield f"note {quoted(old.note)} → {quoted(new.note)}"


def _trims(old: Clip, new: Clip, rate: Rate) -> Iterator[str]:
    """Yield how head and tail moved, in film frames."""
    head = (new.in_seconds - old.in_seconds) * rate.fraction / new.speed
    tail = head + new.length_frames - old.length_frames
    if head and head == tail:
        yield f"shows footage {_frames(abs(head))} {'later' if head > 0 else 'earlier'}"
        return
    if head:
        yield f"{'trimmed' if head > 0 else 'extended'} by {_frames(abs(head))} at the head"
    if tail:
        yield f"{'trimmed' if tail < 0 else 'extended'} by {_frames(abs(tail))} at the tail"


def _cue(old: Cue, new: Cue) -> Iterator[str]:
    if old.label != new.label:
        yield f"label {quoted(old.label)} → {quoted(new.label)}"
    yield from _fields(old, new, ("start_frames", "length_frames"))
    if old.chosen != new.chosen:
        if new.choice is None:
            yield "choice taken back"
        else:
            yield f"{'other candidate' if old.choice else 'candidate chosen'}, {_music_name(new.choice)}"
    if old.duck != new.duck:
        yield "no longer goes down under speech" if new.duck is None else _duck(new.duck)
    yield from _in_list(
        old.candidates, new.candidates, _candidate_name, lambda was, now: _sound_use(was, now)
    )


def _sound_use(old: Candidate | Spot, new: Candidate | Spot) -> Iterator[str]:
    if old.file != new.file:
        yield f"file {quoted(old.file)} → {quoted(new.file)}"
    if isinstance(old, Spot) and isinstance(new, Spot):
        if old.label != new.label:
            yield f"label {quoted(old.label)} → {quoted(new.label)}"
        yield from _fields(old, new, ("start_frames", "length_frames", "repeats", "every_frames"))
    if isinstance(old, Candidate) and isinstance(new, Candidate):
        yield from _candidate(old, new)
    if old.in_seconds != new.in_seconds:
        yield f"in point {_seconds(old.in_seconds)} → {_seconds(new.in_seconds)}"
    yield from _fields(old, new, ("gain_db", "fade_in_frames", "fade_out_frames"))
    names = ("title", "author", "source", "licence", "licence_link", "required_credit")
    changed = [
        name.replace("_", " ") for name in names if getattr(old.rights, name) != getattr(new.rights, name)
    ]
    if changed:
        yield f"other {listed(changed, most=len(names))}"


def _candidate(old: Candidate, new: Candidate) -> Iterator[str]:
    was, now = old.under_voices_lu, new.under_voices_lu
    if was != now:
        told = ["set by ear" if item is None else f"{_plain(item)} LU" for item in (was, now)]
        yield f"below the voices {told[0]} → {told[1]}"
    if old.parts != new.parts:
        length = sum((part.length_seconds for part in new.parts), Fraction(0))
        yield f"{counted(len(new.parts), 'part')}, {_seconds(length)}" if new.parts else "whole again"


def _duck(duck: Duck) -> str:
    times = f"{_plain(duck.attack_ms)} ms down, {_plain(duck.release_ms)} ms back"
    return f"goes down by {_plain(duck.depth_db)} dB under speech, {times}"


def _voices(before: SceneContent, after: SceneContent) -> Iterator[str]:
    """Yield what is done to voices in another way; only the film knows whose they are."""
    if before.voices_offset_lu != after.voices_offset_lu:
        yield f"offset {_plain(before.voices_offset_lu)} → {_plain(after.voices_offset_lu)} LU"
    old = {chain.voice: chain for chain in before.voice_chains}
    new = {chain.voice: chain for chain in after.voice_chains}
    for voice in dict.fromkeys((*old, *new)):
        if old.get(voice) != new.get(voice):
            chain = new.get(voice)
            yield f"{voice} {_chain(chain) if chain else 'without a chain'}"
    if tuple(old) != tuple(new) and old == new:
        yield "in another order"


def _chain(chain: VoiceChain) -> str:
    parts = [f"low cut {_plain(chain.low_cut_hz)} Hz"] if chain.low_cut_hz else []
    for band in chain.bands:
        parts.append(f"{_plain(band.gain_db)} dB at {_plain(band.frequency_hz)} Hz, q {_plain(band.q)}")
    parts.append(f"compression {chain.compression}")
    return "; ".join(parts) if chain.on else f"switched off; {'; '.join(parts)}"


def _grade(old: Grade, new: Grade) -> Iterator[str]:
    for name in ("slope", "offset", "power"):
        was, now = getattr(old, name), getattr(new, name)
        if was != now:
            yield f"{name} {' '.join(map(_plain, was))} → {' '.join(map(_plain, now))}"
    yield from _fields(old, new, ("saturation",))


def _fields(old: object, new: object, names: Sequence[str]) -> Iterator[str]:
    """Yield the plain values that differ; the last part of a name is its unit."""
    for name in names:
        was, now = getattr(old, name), getattr(new, name)
        if was == now:
            continue
        if name.endswith("_frames"):
            yield f"{_words(name)} {shown_number(was)} → {counted(now, 'frame')}"
        elif name.endswith("_db"):
            yield f"{_words(name)} {_plain(was)} → {_plain(now)} dB"
        else:
            yield f"{name} {_plain(was)} → {_plain(now)}"


def _words(name: str) -> str:
    return name.rpartition("_")[0].replace("_", " ")


def _plain(value: float | str) -> str:
    return value if isinstance(value, str) else true_minus(repr(float(value)).removesuffix(".0"))


def _frames(value: Fraction) -> str:
    return counted(int(value), "frame") if value.denominator == 1 else f"{float(value):.2f} frames"


def _seconds(value: Fraction) -> str:
    return true_minus(f"{value} s" if value.denominator == 1 else f"{float(value):.3f} s")


def _clip_name(_: Clip, index: int) -> str:
    return f"Clip {index + 1}"


def _cue_name(cue: Cue, _: int) -> str:
    return f"Cue {cue.label or cue.id}"


def _spot_name(spot: Spot, _: int) -> str:
    return f"Spot {spot.label or spot.id}"


def _candidate_name(candidate: Candidate, _: int) -> str:
    return f"candidate {_music_name(candidate)}"


def _music_name(candidate: Candidate) -> str:
    return quoted(candidate.rights.title or candidate.file.rpartition("/")[2])
