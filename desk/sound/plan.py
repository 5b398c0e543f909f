"""What sounds in an assembly: for each scene, its spans and how the joins around it fade them."""

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass

from desk.film.fingerprint import fingerprint
from desk.film.lanes import Span, spans
from desk.film.media import MediaFacts
from desk.film.model import Clip, Film, JoinKind, Scene, SceneContent
from desk.film.rates import Rate
from desk.film.timing import Layout, Slot

STEM_FORMAT = 1
"""Grows when stems are made in another way, so that old ones are not used."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Passage:
    """A fade at one end of a scene.

    Attributes:
        start_frames: First frame, from the scene's start.
        length_frames: Its length; 0 for none.
    """

    start_frames: int = 0
    length_frames: int = 0

    @property
    def end_frames(self) -> int:
        """The frame after its last."""
        return self.start_frames + self.length_frames


@dataclass(frozen=True, slots=True, kw_only=True)
class SceneSound:
    """All that sounds in a scene of an assembly.

    Attributes:
        scene: Its id.
        start_frames: The scene's first frame in the film.
        spans: What sounds, from the scene's start.
        opening: The fade of what begins with the scene.
        closing: The fade of what ends with it; what is meant to run on longer is not faded.
    """

    scene: str
    start_frames: int
    spans: tuple[Span, ...]
    opening: Passage
    closing: Passage


def stem_key(sound: SceneSound, lane: str, rate: Rate, media: Mapping[str, MediaFacts]) -> str:
    """Return the name of a stem: a hash of all that decides its samples, wherever its scene stands."""
    named: list[object] = []
    for span in sound.spans:
        if span.kind == lane:
            facts = media[span.file]
            zero = facts.picture.start_pts if facts.picture else 0
            plain = dataclasses.replace(span, owner="", file="")
            named.append([plain, facts.sample_hash, facts.modified_ns, zero])
    return fingerprint(["stem", STEM_FORMAT, str(rate), lane, named, sound.opening, sound.closing])


def plan_sound(film: Film, layout: Layout) -> tuple[SceneSound, ...]:
    """Return what sounds in an assembly, scene by scene; cards and slates are silent."""
    slots = layout.slots
    planned = []
    for index, slot in enumerate(slots):
        if not isinstance(slot.entry, Scene) or slot.slate:
            continue
        before = slots[index - 1] if index else None
        last = index == len(slots) - 1
        opening = _opening(before) if before else Passage(length_frames=film.fade_in_frames)
        fade_out = min(film.fade_out_frames, slot.length_frames)
        closing = (
            Passage(start_frames=slot.length_frames - fade_out, length_frames=fade_out)
            if last
            else _closing(slot)
        )
        content = _reaching(slot.entry.content, opening, closing, slot.length_frames)
        planned.append(
            SceneSound(
                scene=slot.entry.id,
                start_frames=slot.start_frames,
                spans=spans(content, film.rate),
                opening=opening,
                closing=closing,
            )
        )
    return tuple(planned)


def _opening(before: Slot) -> Passage:
    join = before.join
    if join.kind is JoinKind.DISSOLVE:
        return Passage(start_frames=-join.before_frames, length_frames=join.length_frames)
    return Passage(length_frames=join.after_frames)


def _closing(slot: Slot) -> Passage:
    join = slot.join
    length = join.length_frames if join.kind is JoinKind.DISSOLVE else join.before_frames
    return Passage(start_frames=slot.length_frames - join.before_frames, length_frames=length)


def _reaching(content: SceneContent, opening: Passage, closing: Passage, length_frames: int) -> SceneContent:
    """Return a scene whose outer clips sound for as long as they are seen in a dissolve."""
    clips = list(content.clips)
    if clips and opening.start_frames < 0 and not clips[0].gap_frames:
        clips[0] = _sounding(clips[0], lead_frames=-opening.start_frames)
    if clips and closing.end_frames > length_frames:
        clips[-1] = _sounding(clips[-1], lag_frames=closing.end_frames - length_frames)
    return dataclasses.replace(content, clips=tuple(clips))


def _sounding(clip: Clip, *, lead_frames: int = 0, lag_frames: int = 0) -> Clip:
    sound = dataclasses.replace(
        clip.sound,
        lead_frames=max(clip.sound.lead_frames, lead_frames),
        lag_frames=max(clip.sound.lag_frames, lag_frames),
    )
    return dataclasses.replace(clip, sound=sound)
