"""A scene frame by frame, worked out from the rule alone, and drafts to cut.

The rule: frame k of a clip shows its source at in_seconds + k · speed / rate, after the black before it; its
sound is in step with that, from its lead to its lag. None of the edits, lanes or look-ups is used here.
"""

import dataclasses
from collections import Counter
from fractions import Fraction
from random import Random
from typing import TypeAlias

from hypothesis import strategies as st

from desk.errors import EditError
from desk.film.edits import Edit
from desk.film.model import CameraLook, Film, Placement, Scene, SceneContent, Size, SoundKind, Voice
from desk.film.rates import FILM_RATES, Rate
from tests.film.editing import done
from tests.film.films import VOICES, random_clip, random_content

Frame: TypeAlias = tuple[str, Fraction] | None
"""What a frame shows: a source and the exact place in it, or None for black."""


def frames_of(content: SceneContent, rate: Rate) -> list[Frame]:
    """Return what each frame of a scene shows."""
    shown: list[Frame] = []
    for clip in content.clips:
        shown += [None] * clip.gap_frames
        shown += [
            (clip.source, clip.in_seconds + frame * clip.speed / rate.fraction)
            for frame in range(clip.length_frames)
        ]
    return shown


def voices_of(content: SceneContent, rate: Rate) -> Counter[tuple[int, str, Fraction, float]]:
    """Return what of the clips' own sounds is heard in each frame: file, exact place in it, and gain."""
    heard: Counter[tuple[int, str, Fraction, float]] = Counter()
    at = 0
    for clip in content.clips:
        at += clip.gap_frames
        sound = clip.sound
        file, shift = clip.source, Fraction(0)
        if sound.kind is SoundKind.SEPARATE:
            file, shift = sound.file, sound.offset_seconds
        if sound.kind is not SoundKind.SILENCE:
            for frame in range(-sound.lead_frames, clip.length_frames + sound.lag_frames):
                seconds = clip.in_seconds + shift + frame * clip.speed / rate.fraction
                if seconds >= 0:
                    heard[at + frame, file, seconds, sound.gain_db] += 1
        at += clip.length_frames
    return heard


def sounds_of(content: SceneContent) -> dict[str, int]:
    """Return where each spot and cue begins."""
    return {item.id: item.start_frames for item in (*content.spots, *content.cues)}


def begun_after(places: dict[str, int], at: int, by: int) -> dict[str, int]:
    """Return where they begin once frames came in (`by` above 0) or went out at a place."""
    if by >= 0:
        return {key: start + by if start >= at else start for key, start in places.items()}
    return {
        key: start if start < at else at if start < at - by else start + by for key, start in places.items()
    }


def draft_film(seed: int) -> Film:
    """A film of two drafts, `s0` with one clip or more, whose values are as odd as they may be."""
    random = Random(seed)
    rate = random.choice(FILM_RATES)
    scenes = []
    for index in range(2):
        content = random_content(random, f"{index}_", ("l900",), VOICES)
        clips = tuple(
            dataclasses.replace(
                random_clip(random, f"c{index}_{at}", ("l900",), VOICES), length_frames=length
            )
            for at, length in enumerate(random.choices([1, 2, 3, 7, 25, 60], k=random.randint(1, 5)))
        )
        content = dataclasses.replace(content, clips=clips)
        scenes.append(Scene(id=f"s{index}", number=str(index + 1), content=content))
    return Film(
        title="The Late Ferry",
        rate=rate,
        size=Size(1920, 1080),
        start_frames=3600 * rate.nominal,
        scenes=tuple(scenes),
        order=tuple(Placement(entry=scene.id) for scene in scenes),
        camera_looks=(CameraLook(id="l900", name="Small camera"),),
        voices=tuple(Voice(id=item, name=item) for item in VOICES),
        next_id=10,
    )


def drafts() -> st.SearchStrategy[Film]:
    """Films of two drafts."""
    return st.integers(0, 2**32).map(draft_film)


def made(call, film: Film, *args, **kwargs) -> SceneContent | EditError:
    """What is in scene `s0` after an edit, or why it was refused. Whatever else there is stays as it was."""
    edit, refusal = _attempt(call, film, *args, **kwargs)
    if refusal:
        assert refusal.code.startswith("edit.")
        assert refusal.message.endswith(".")
        assert refusal.advice.endswith(".")
        assert "-" not in refusal.advice, "no negative counts"
        return refusal
    assert edit
    assert edit.text
    assert edit.text.isprintable()
    assert edit.change.entries == ("s0",)
    after = done(edit)
    assert dataclasses.replace(after, scenes=film.scenes, next_id=film.next_id) == film
    assert after.scene("s1") == film.scene("s1")
    return after.scene("s0").content


def _attempt(call, film: Film, *args, **kwargs) -> tuple[Edit | None, EditError | None]:
    try:
        return call(film, "s0", *args, **kwargs), None
    except EditError as error:
        return None, error


def content_of(film: Film) -> SceneContent:
    return film.scene("s0").content


def starts_of(content: SceneContent) -> list[int]:
    """Where each clip begins, by counting."""
    starts, at = [], 0
    for clip in content.clips:
        starts.append(at + clip.gap_frames)
        at += clip.gap_frames + clip.length_frames
    return starts


def footage_frames(film: Film, source: str, seconds: Fraction, start: Fraction, speed: Fraction) -> int:
    """How many frames from a place on begin within footage of so many seconds, by counting."""
    assert source
    frames = 0
    while frames < 500 and start + frames * speed / film.rate.fraction < seconds:
        frames += 1
    return frames
