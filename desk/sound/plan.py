"""What sounds in an assembly: for each scene, its spans and how the joins around it fade them.

Music that goes down under speech does so for the speech of every scene that it sounds over: a cue that runs
on over a cut goes down for what is said after it too. Where somebody speaks is found beforehand, for each
clip as its scene has it; what a dissolve adds to an outer clip counts as silent.
"""

import dataclasses
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass

from desk.film.fingerprint import fingerprint
from desk.film.lanes import Span, spans
from desk.film.media import MediaFacts
from desk.film.model import Clip, Film, JoinKind, Scene, SceneContent
from desk.film.rates import Rate
from desk.film.timing import Layout, Slot
from desk.sound.chain import chain_filters
from desk.sound.ducking import AUDIBLE_LUFS, Stretch, merged, reaching
from desk.sound.speech import Speech, SpeechFile, speech_key

SpeechOf = Callable[[Span], Speech | None]
"""Gives what is known of the speech in a clip's sound; None for what was not looked at."""

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
        speech: Where somebody speaks while its music sounds, in samples from the scene's start, in order and
            without overlap; empty where no music goes down for it.
    """

    scene: str
    start_frames: int
    spans: tuple[Span, ...]
    opening: Passage
    closing: Passage
    speech: tuple[Stretch, ...] = ()


def unheard(_: Span) -> None:
    """Know of no speech anywhere, so that music stays as it is."""


def heard_speech(span: Span, sound: SceneSound, rate: Rate) -> tuple[Stretch, ...]:
    """Return the speech that decides how loud a span of music is over time.

    Args:
        span: The span.
        sound: The scene that it sounds in.
        rate: The film's rate.
    """
    if span.duck is None:
        return ()
    return reaching(span.duck, sound.speech, rate.samples(span.start_frames), rate.samples(span.end_frames))


def speech_kept(kept: SpeechFile, rate: Rate, media: Mapping[str, MediaFacts]) -> SpeechOf:
    """Return what gives the speech in a clip's sound, of what was listened to.

    Args:
        kept: Where it is kept.
        rate: The film's rate.
        media: What was read of each file.
    """

    def found(span: Span) -> Speech | None:
        facts = media.get(span.file)
        return kept.find(speech_key(span, rate, facts)) if facts else None

    return found


def to_listen_to(film: Film, layout: Layout) -> tuple[Span, ...]:
    """Return the clips' sounds whose speech decides how loud an assembly's music is; none where it is steady.

    Args:
        film: The film.
        layout: What is in it.
    """
    scenes = [slot.entry for slot in layout.slots if isinstance(slot.entry, Scene) and not slot.slate]
    if not any(cue.duck and cue.choice for scene in scenes for cue in scene.content.cues):
        return ()
    return tuple(
        span for scene in scenes for span in spans(scene.content, film.rate) if span.kind == "dialogue"
    )


def speech_in(sounds: Iterable[Span], rate: Rate, speech_of: SpeechOf) -> tuple[Stretch, ...]:
    """Return where somebody speaks in a scene, loud enough to be heard, in samples from its start.

    Args:
        sounds: All that sounds in the scene; only its dialogue counts.
        rate: The film's rate.
        speech_of: Gives what is known of a clip's speech.
    """
    return merged(
        (first + start, first + end)
        for span in sounds
        if span.kind == "dialogue" and (speech := speech_of(span)) and speech.loudness_lufs is not None
        if speech.loudness_lufs + span.gain_db > AUDIBLE_LUFS
        for first in [rate.samples(span.start_frames)]
        for start, end in speech.stretches
    )


def stem_key(sound: SceneSound, lane: str, rate: Rate, media: Mapping[str, MediaFacts]) -> str:
    """Return the name of a stem: a hash of all that decides its samples, wherever its scene stands."""
    named: list[object] = []
    for span in sound.spans:
        if span.kind == lane:
            facts = media[span.file]
            zero = facts.picture.start_pts if facts.picture else 0
            plain = dataclasses.replace(span, owner="", file="", chain=None)
            # What a later version added comes last, and only where it is used, so that old names stay.
            added = [
                list(item) for item in (chain_filters(span.chain), heard_speech(span, sound, rate)) if item
            ]
            named.append([plain, facts.sample_hash, facts.modified_ns, zero, *added])
    return fingerprint(["stem", STEM_FORMAT, str(rate), lane, named, sound.opening, sound.closing])


def plan_sound(film: Film, layout: Layout, speech_of: SpeechOf = unheard) -> tuple[SceneSound, ...]:
    """Return what sounds in an assembly, scene by scene; cards and slates are silent.

    Args:
        film: The film.
        layout: What is in it, and where.
        speech_of: Gives what is known of a clip's speech.
    """
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
    return _with_speech(planned, layout, film.rate, speech_of)


def _with_speech(
    planned: list[SceneSound], layout: Layout, rate: Rate, speech_of: SpeechOf
) -> tuple[SceneSound, ...]:
    """Return scenes with the speech that their music goes down for, of all scenes of the film."""
    if not any(span.duck for sound in planned for span in sound.spans):
        return tuple(planned)
    spoken = merged(
        (start + first, start + end)
        for slot in layout.slots
        if isinstance(slot.entry, Scene) and not slot.slate
        for start in [rate.samples(slot.start_frames)]
        for first, end in speech_in(spans(slot.entry.content, rate), rate, speech_of)
    )
    return tuple(
        dataclasses.replace(sound, speech=tuple(_near(sound, spoken, rate.samples(sound.start_frames), rate)))
        for sound in planned
    )


def _near(sound: SceneSound, spoken: Iterable[Stretch], start: int, rate: Rate) -> Iterator[Stretch]:
    """Yield the speech that music of a scene goes down for, from the scene's start."""
    own = [(first - start, end - start) for first, end in spoken]
    wanted = {
        stretch
        for span in sound.spans
        if span.duck
        for stretch in reaching(
            span.duck, own, rate.samples(span.start_frames), rate.samples(span.end_frames)
        )
    }
    yield from sorted(wanted)


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
