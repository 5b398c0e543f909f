"""What sounds in a scene, and when: the Dialogue, Effects and Music lanes laid out in time.

A sound may start before its scene and run on after it. One that has to begin before second 0 of its file
begins later instead, by as many whole frames as it takes, and stays in step with the picture.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from desk.film.model import Clip, Cue, SceneContent, SoundKind, Spot
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
    return (
        *_present(_dialogue(clip, start, rate) for clip, start in _placed(content)),
        *_present(_effect(spot, rate) for spot in content.spots),
        *_present(_music(cue, rate) for cue in content.cues),
    )


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


def _dialogue(clip: Clip, start_frames: int, rate: Rate) -> Span | None:
    sound = clip.sound
    match sound.kind:
        case SoundKind.SILENCE:
            return None
        case SoundKind.OWN:
            file, at_head_seconds = clip.source, clip.in_seconds
        case SoundKind.SEPARATE:
            file, at_head_seconds = sound.file, clip.in_seconds + sound.offset_seconds
    return _from_second_0(
        kind="dialogue",
        owner=clip.id,
        file=file,
        start_frames=start_frames - sound.lead_frames,
        length_frames=sound.lead_frames + clip.length_frames + sound.lag_frames,
        in_seconds=at_head_seconds - rate.seconds(sound.lead_frames) * clip.speed,
        speed=clip.speed,
        gain_db=sound.gain_db,
        fades_frames=(sound.fade_in_frames, sound.fade_out_frames),
        rate=rate,
    )


def _effect(spot: Spot, rate: Rate) -> Span | None:
    return _from_second_0(
        kind="effects",
        owner=spot.id,
        file=spot.file,
        start_frames=spot.start_frames,
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
    return _from_second_0(
        kind="music",
        owner=cue.id,
        file=choice.file,
        start_frames=cue.start_frames,
        length_frames=cue.length_frames,
        in_seconds=choice.in_seconds,
        speed=Fraction(1),
        gain_db=choice.gain_db,
        fades_frames=(choice.fade_in_frames, choice.fade_out_frames),
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
) -> Span | None:
    """Return the span, begun as many frames later as its file makes it, or None where nothing is left."""
    late = max(0, math.ceil(-in_seconds * rate.fraction / speed))
    length = length_frames - late
    if length <= 0 or not file:
        return None
    return Span(
        kind=kind,
        owner=owner,
        file=file,
        start_frames=start_frames + late,
        length_frames=length,
        in_seconds=in_seconds + rate.seconds(late) * speed,
        speed=speed,
        gain_db=gain_db,
        fade_in_frames=min(fades_frames[0], length),
        fade_out_frames=min(fades_frames[1], length),
    )
