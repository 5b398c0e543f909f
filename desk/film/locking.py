"""What a lock asks for, and whether one still holds."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum

from desk.film.change_list import change_list
from desk.film.fingerprint import fingerprint
from desk.film.model import Film, Rights, Scene, SceneContent, SoundKind
from desk.film.paths import content_paths
from desk.film.rights import missing, terms_of
from desk.film.wording import counted, listed, quoted

__all__ = [
    "Open",
    "Part",
    "broken",
    "change_list",
    "proofs_since_change",
    "what_a_lock_asks",
    "what_a_lock_tells",
    "what_is_open",
]


class Part(StrEnum):
    """The parts of a scene's sheet, in the order of the craft."""

    STORY = "story"
    PICTURE = "picture"
    DIALOGUE = "dialogue"
    MUSIC = "music"
    GRADE = "grade"
    PROOFS = "proofs"


@dataclass(frozen=True, slots=True)
class Open:
    """Something that is still open in a scene.

    Attributes:
        part: Where it belongs.
        sentence: What it is.
    """

    part: Part
    sentence: str


def what_a_lock_asks(film: Film, scene: Scene, media_present: Callable[[str], bool]) -> tuple[Open, ...]:
    """Return what has to be settled before a scene is ready to be locked.

    Args:
        film: The film, which says how many proofs are needed.
        scene: The scene.
        media_present: Whether a file is there and can be read.
    """
    content = scene.content
    asks: list[Open] = []
    missing = [quoted(path) for path in content_paths(content) if not media_present(path)]
    if not content.clips:
        asks.append(Open(Part.PICTURE, "It has no clips yet."))
    if missing:
        asks.append(Open(Part.PICTURE, f"{counted(len(missing), 'file')} missing: {listed(missing)}."))
    if _has_sound(content) and not content.voices_levelled:
        asks.append(Open(Part.DIALOGUE, "Its voices are not called level."))
    if music := _open_music(content):
        asks.append(Open(Part.MUSIC, music))
    if not content.grade_note.strip():
        asks.append(Open(Part.GRADE, "It has no grade note."))
    done, needed = proofs_since_change(scene), film.delivery.proofs_needed
    if done < needed:
        had = f"{counted(done, 'proof')} since its last change" if done else "no proof since its last change"
        asks.append(Open(Part.PROOFS, f"It has {had}, and {needed} {'is' if needed == 1 else 'are'} needed."))
    return tuple(asks)


def what_is_open(film: Film, scene: Scene, media_present: Callable[[str], bool]) -> tuple[Open, ...]:
    """Return all that is still open in a scene: what a lock asks, and before it what the story lacks.

    Args:
        film: The film.
        scene: The scene.
        media_present: Whether a file is there and can be read.
    """
    asks = what_a_lock_asks(film, scene, media_present)
    if scene.purpose.strip():
        return asks
    return (Open(Part.STORY, "It has no purpose yet, so it is the first to question."), *asks)


def what_a_lock_tells(scene: Scene) -> tuple[Open, ...]:
    """Return what a person should know before a scene is locked, though it may be.

    That is music without a licence, and sounds whose licence does not allow them in a film.

    Args:
        scene: The scene.
    """
    told: list[str] = []
    for cue in scene.content.cues:
        if choice := cue.choice:
            music = f"{quoted(choice.rights.title or choice.file)} in cue {cue.label or cue.id}"
            if "licence" in missing(choice.rights):
                told.append(f"No licence is entered for {music}.")
            told += _barred(music, choice.rights)
    for spot in scene.content.spots:
        sound = f"{quoted(spot.rights.title or spot.file)} in spot {spot.label or spot.id}"
        told += _barred(sound, spot.rights)
    return tuple(Open(Part.MUSIC, sentence) for sentence in dict.fromkeys(told))


def _barred(name: str, rights: Rights) -> list[str]:
    if not terms_of(rights).no_derivatives:
        return []
    return [f"The licence of {name} allows no adaptation; setting it to picture is one."]


def proofs_since_change(scene: Scene) -> int:
    """Return how many proofs saw the content that the scene has now."""
    if not scene.proofs:
        return 0
    now = fingerprint(scene.content)
    return sum(proof.content == now for proof in scene.proofs)


def broken(scene: Scene, current_media: Mapping[str, tuple[int, str] | None]) -> tuple[str, ...]:
    """Return why a lock does not hold any more, one sentence each; none for a draft or a lock that holds.

    Args:
        scene: The scene.
        current_media: Size in bytes and sample hash of each file as it is now, by path; None for one that is
            missing or can't be read. A file that is not in it was not looked at, and is not spoken of.
    """
    if scene.lock is None:
        return ()
    reasons = []
    if fingerprint(scene.content) != scene.lock.content:
        reasons.append("Its content is not what was locked.")
    for media in scene.lock.media:
        if media.path not in current_media:
            continue
        current = current_media[media.path]
        if current is None:
            reasons.append(f"Its file {quoted(media.path)} is missing or can't be read.")
        elif current != (media.size_bytes, media.sample_hash):
            reasons.append(f"Its file {quoted(media.path)} is not the one that was locked.")
    return tuple(reasons)


def _has_sound(content: SceneContent) -> bool:
    return any(clip.sound.kind is not SoundKind.SILENCE for clip in content.clips)


def _open_music(content: SceneContent) -> str:
    if content.no_music:
        return ""
    if not content.cues:
        return "It has no music, and is not declared to have none."
    undecided = [cue.label or cue.id for cue in content.cues if cue.choice is None]
    if not undecided:
        return ""
    return f"No music is chosen for {'cue' if len(undecided) == 1 else 'cues'} {listed(undecided)}."
