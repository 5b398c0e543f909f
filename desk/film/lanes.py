"""What sounds in a scene, and when: the Dialogue, Effects and Music lanes laid out in time.

A sound may start before its scene and run on after it. One that has to begin before second 0 of its file
begins later instead, by as many whole frames as it takes, and stays in step with the picture.

A spot that repeats gives a span for each time it sounds. Music in parts gives one span, since its parts meet
between frames; they lie within the cue: what is left over at its end is not heard, and what is missing there
is silent.
"""

import dataclasses
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from desk.film.model import Clip, Cue, Duck, MusicPart, SceneContent, SoundKind, Spot, VoiceChain
from desk.film.rates import Rate
from desk.film.timing import clip_starts, content_frames

Lane = Literal["dialogue", "effects", "music"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A stretch of a file that sounds in a scene.

    Attributes:
        kind: The lane.
        owner: Id of the clip, spot or cue.
        file: What sounds.
        start_frames: First frame, from the scene's start; may be before it.
        length_frames: 1 or more; may run on past the scene's end.
        in_seconds: Place in `file` that sounds first, 0 or more. For a clip's own sound, seconds from the
            source's first picture; for a separate recording, place in the recording.
        speed: File seconds for each film second.
        gain_db: Gain.
        fade_in_frames: Length of the fade at the start, no longer than the span.
        fade_out_frames: Length of the fade at the end, no longer than the span.
        chain: What is done to it before its gain, or None for nothing.
        duck: How it goes down while somebody speaks, or None.
        parts: Stretches of the file that follow each other, the first from `in_seconds`; none where the file
            goes on without a seam.
    """

    kind: Lane
    owner: str
    file: str
    start_frames: int
    length_frames: int
    in_seconds: Fraction
    speed: Fraction = Fraction(1)
    gain_db: float = 0.0
    fade_in_frames: int = 0
    fade_out_frames: int = 0
    chain: VoiceChain | None = None
    duck: Duck | None = None
    parts: tuple[MusicPart, ...] = ()

    @property
    def end_frames(self) -> int:
        """The frame after its last, from the scene's start."""
        return self.start_frames + self.length_frames


def spans(content: SceneContent, rate: Rate) -> tuple[Span, ...]:
    """Return all that sounds in a scene: dialogue in the order of its clips, then effects, then music.

    Silent clips, cues without a choice, and sounds that name no file give none.

    Args:
        content: The scene's content.
        rate: The film's rate.
    """
    chains = {chain.voice: chain for chain in content.voice_chains if does_something(chain)}
    return (
        *_present(_dialogue(clip, start, rate, chains) for clip, start in _placed(content)),
        *_present(_effect(spot, time, rate) for spot in content.spots for time in range(spot.repeats + 1)),
        *_present(_music(cue, rate) for cue in content.cues),
    )


def does_something(chain: VoiceChain) -> bool:
    """Return whether a voice's chain is on and changes anything."""
    return chain.on and VoiceChain(voice=chain.voice) != chain


def sounding_parts(parts: Sequence[MusicPart], seconds: Fraction) -> tuple[MusicPart, ...]:
    """Return the parts that sound within a length: those that go on where the last one ends are one.

    Args:
        parts: Stretches of a piece of music.
        seconds: How long they sound at most; what is beyond is cut off.
    """
    found: list[MusicPart] = []
    left = seconds
    for part in parts:
        length = min(part.length_seconds, left)
        if length <= 0:
            break
        left -= length
        if found and found[-1].in_seconds + found[-1].length_seconds == part.in_seconds:
            length += found[-1].length_seconds
            found[-1] = dataclasses.replace(found[-1], length_seconds=length)
        else:
            found.append(MusicPart(in_seconds=part.in_seconds, length_seconds=length))
    return tuple(found)


def on_frames(span: Span, rate: Rate) -> tuple[Span, ...]:
    """Return a span as spans without parts, for who counts in frames: its parts, up to half a frame beside.

    Args:
        span: The span; one without parts is returned as it is.
        rate: The film's rate.
    """
    if not span.parts:
        return (span,)
    found: list[Span] = []
    reached = Fraction(0)
    for part in span.parts:
        start = math.floor(reached * rate.fraction + Fraction(1, 2))
        beside = rate.seconds(start) - reached
        reached += part.length_seconds
        end = min(span.length_frames, math.floor(reached * rate.fraction + Fraction(1, 2)))
        if end > start:
            piece = dataclasses.replace(
                span,
                start_frames=span.start_frames + start,
                length_frames=end - start,
                in_seconds=max(Fraction(0), part.in_seconds + beside),
                fade_in_frames=0 if found else min(span.fade_in_frames, end - start),
                fade_out_frames=0,
                parts=(),
            )
            found.append(piece)
    if found:
        last = found[-1]
        lead_out = max(0, span.fade_out_frames - (span.end_frames - last.end_frames))
        found[-1] = dataclasses.replace(last, fade_out_frames=min(lead_out, last.length_frames))
    return tuple(found)


def scene_extent(content: SceneContent, rate: Rate) -> tuple[int, int]:
    """Return the first frame of any picture or sound of a scene, and the frame after the last.

    Both count from the scene's start; (0, 0) where there is neither.
    """
    sounds = spans(content, rate)
    starts = [span.start_frames for span in sounds]
    ends = [span.end_frames for span in sounds]
    if content.clips:
        starts.append(0)
        ends.append(content_frames(content))
    return min(starts, default=0), max(ends, default=0)


def _placed(content: SceneContent) -> Iterator[tuple[Clip, int]]:
    return zip(content.clips, clip_starts(content), strict=True)


def _present(found: Iterator[Span | None]) -> Iterator[Span]:
    return (span for span in found if span is not None)


def _dialogue(clip: Clip, start_frames: int, rate: Rate, chains: Mapping[str, VoiceChain]) -> Span | None:
    sound = clip.sound
    match sound.kind:
        case SoundKind.SILENCE:
            return None
        case SoundKind.OWN:
            file, at_head_seconds = clip.source, clip.in_seconds
        case SoundKind.SEPARATE:
            file, at_head_seconds = sound.file, clip.in_seconds + sound.offset_seconds
    if sound.lead_frames:
        at_head_seconds -= rate.seconds(sound.lead_frames) * clip.speed
    return _from_second_0(
        kind="dialogue",
        owner=clip.id,
        file=file,
        start_frames=start_frames - sound.lead_frames,
        length_frames=sound.lead_frames + clip.length_frames + sound.lag_frames,
        in_seconds=at_head_seconds,
        speed=clip.speed,
        gain_db=sound.gain_db,
        fades_frames=(sound.fade_in_frames, sound.fade_out_frames),
        chain=chains.get(sound.voice) if sound.voice else None,
        rate=rate,
    )


def _effect(spot: Spot, time: int, rate: Rate) -> Span | None:
    return _from_second_0(
        kind="effects",
        owner=spot.id,
        file=spot.file,
        start_frames=spot.start_frames + time * spot.every_frames,
        length_frames=spot.length_frames,
        in_seconds=spot.in_seconds,
        speed=Fraction(1),
        gain_db=spot.gain_db,
        fades_frames=(spot.fade_in_frames, spot.fade_out_frames),
        rate=rate,
    )


def _music(cue: Cue, rate: Rate) -> Span | None:
    choice = cue.choice
    if choice is None:
        return None
    in_seconds, length_seconds = choice.in_seconds, rate.seconds(cue.length_frames)
    parts = sounding_parts(choice.parts, length_seconds)
    if parts:
        in_seconds = parts[0].in_seconds
    if len(parts) == 1 and parts[0].length_seconds == length_seconds:
        parts = ()
    return _from_second_0(
        kind="music",
        owner=cue.id,
        file=choice.file,
        start_frames=cue.start_frames,
        length_frames=cue.length_frames,
        in_seconds=in_seconds,
        speed=Fraction(1),
        gain_db=choice.gain_db,
        fades_frames=(choice.fade_in_frames, choice.fade_out_frames),
        duck=cue.duck,
        parts=parts,
        rate=rate,
    )


def _from_second_0(
    *,
    kind: Lane,
    owner: str,
    file: str,
    start_frames: int,
    length_frames: int,
    in_seconds: Fraction,
    speed: Fraction,
    gain_db: float,
    fades_frames: tuple[int, int],
    rate: Rate,
    chain: VoiceChain | None = None,
    duck: Duck | None = None,
    parts: tuple[MusicPart, ...] = (),
) -> Span | None:
    """Return the span, begun as many frames later as its file makes it, or None where nothing is left."""
    late = 0
    if in_seconds < 0:
        late = math.ceil(-in_seconds * rate.fraction / speed)
        in_seconds += rate.seconds(late) * speed
    length = length_frames - late
    if length <= 0 or not file:
        return None
    return Span(
        kind=kind,
        owner=owner,
        file=file,
        start_frames=start_frames + late,
        length_frames=length,
        in_seconds=in_seconds,
        speed=speed,
        gain_db=gain_db,
        fade_in_frames=min(fades_frames[0], length),
        fade_out_frames=min(fades_frames[1], length),
        chain=chain,
        duck=duck,
        parts=parts,
    )
