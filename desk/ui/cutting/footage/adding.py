"""Footage put into a scene: clips made of whole files, in natural order or at a place, spots and cues.

Pure functions from a film to an `Edit`, beside those of `desk.film.edits`, for what is dropped or chosen from
a list of files.
"""

import math
from collections.abc import Iterable, Mapping, Sequence

from desk.errors import EditError
from desk.film import edits
from desk.film.edit import find_open_scene
from desk.film.edits import Change, ChangeKind, Edit
from desk.film.media import MediaFacts
from desk.film.model import Clip, ClipSound, Film, SceneContent, SoundKind
from desk.film.problem import MediaTrouble
from desk.film.wording import counted, entry_name, listed, quoted
from desk.footage.scene_clips import Footage, clip_of
from desk.ui.scene.clip_facts import file_name

Known = Mapping[str, MediaFacts | MediaTrouble]


def clips_of(film: Film, paths: Iterable[str], known: Known) -> tuple[Clip, ...]:
    """Return the clips that files make, each whole, with the sound that it has in the film already.

    Where a clip of the same file has a separate recording, its offset fits each clip of that file.

    Args:
        film: The film.
        paths: Footage, as the film names it.
        known: What was read of it.

    Raises:
        EditError: when a file was not looked at yet, can't be read, or has no picture.
    """
    wanted = tuple(paths)
    recorded = _recordings(film, frozenset(wanted))
    clips = []
    for path in wanted:
        clip = clip_of(Footage(source=path, facts=_picture_of(path, known)), film)
        if path in recorded:
            clip = Clip(id="", source=clip.source, length_frames=clip.length_frames, sound=recorded[path])
        clips.append(clip)
    return tuple(clips)


def add_at_end(film: Film, scene_id: str, paths: Sequence[str], known: Known) -> Edit:
    """Put files into a scene as clips, after those that it has.

    Raises:
        EditError: when the scene is locked or unknown, or a file makes no clip.
    """
    scene = find_open_scene(film, scene_id)
    return edits.insert_clips(film, scene_id, clips_of(film, paths, known), len(scene.content.clips))


def add_at(film: Film, scene_id: str, paths: Sequence[str], known: Known, *, frame: int) -> Edit:
    """Put files into a scene as clips, the first from a frame on; a clip that is there is cut in two.

    Raises:
        EditError: when the scene is locked or unknown or has no such frame, or a file makes no clip.
    """
    find_open_scene(film, scene_id)
    return edits.insert_clips_at(film, scene_id, clips_of(film, paths, known), frame)


def add_in_order(
    film: Film, scene_id: str, paths: Sequence[str], known: Known, *, order: Sequence[str]
) -> Edit:
    """Put files into a scene as clips where they belong in the order in which they were shot.

    Each comes after the last clip of the file that is nearest before it in that order, else before the first
    clip of the nearest after it, else at the end. So does a file that `order` does not have.

    Args:
        film: The film.
        scene_id: The scene.
        paths: Footage, as the film names it.
        known: What was read of it.
        order: The files of the scene in the order in which they were shot.

    Raises:
        EditError: when the scene is locked or unknown, or a file makes no clip.
    """
    scene = find_open_scene(film, scene_id)
    rank = {path: place for place, path in enumerate(order)}
    last = len(rank)
    now = film
    clips = clips_of(film, sorted(paths, key=lambda path: rank.get(path, last)), known)
    if not clips:
        return edits.insert_clips(film, scene_id, (), 0)
    there = [clip.source for clip in scene.content.clips]
    for index, group in _groups(clips, there, rank):
        now = edits.insert_clips(now, scene_id, group, index).after
    text = f"Insert {counted(len(clips), 'clip')} in {entry_name(scene)}"
    return Edit(text, film, now, Change(ChangeKind.CONTENT, (scene_id,)))


def add_as_spot(film: Film, scene_id: str, path: str, known: Known, *, frame: int) -> Edit:
    """Put the whole of a sound into a scene as a spot that begins on a frame.

    Raises:
        EditError: when the scene is locked or unknown, or the file has no sound.
    """
    length = _sound_frames(film, path, known)
    label = file_name(path).rpartition(".")[0]
    return edits.add_spot(film, scene_id, path, frame, length, label=label)


def add_as_cue(film: Film, scene_id: str, path: str, known: Known, *, frame: int) -> Edit:
    """Put the whole of a sound into a scene as a cue that begins on a frame, with it as the music chosen.

    Raises:
        EditError: when the scene is locked or unknown, or the file has no sound.
    """
    return edits.add_cue(film, scene_id, frame, _sound_frames(film, path, known), file=path)


def new_ids(before: SceneContent, after: SceneContent) -> tuple[str, ...]:
    """Return the clips, cues and spots that were added; not the second half of a clip that was cut for them.

    Args:
        before: The scene before they were.
        after: The scene with them.
    """
    known = {clip.id for clip in before.clips}
    known |= {cue.id for cue in before.cues} | {spot.id for spot in before.spots}
    # A whole file begins at its start, and a second half never does.
    clips = (clip.id for clip in after.clips if not clip.in_seconds)
    cues, spots = (cue.id for cue in after.cues), (spot.id for spot in after.spots)
    return tuple(item for item in (*clips, *cues, *spots) if item not in known)


def _groups(clips: Sequence[Clip], there: list[str], rank: Mapping[str, int]) -> list[tuple[int, list[Clip]]]:
    """Return clips that come in next to each other together, with the place of the first as it comes in."""
    groups: list[tuple[int, list[Clip]]] = []
    for clip in clips:
        index = _place_of(clip.source, there, rank)
        there.insert(index, clip.source)
        if groups and index == groups[-1][0] + len(groups[-1][1]):
            groups[-1][1].append(clip)
        else:
            groups.append((index, [clip]))
    return groups


def _place_of(path: str, there: Sequence[str], rank: Mapping[str, int]) -> int:
    places = [(rank[source], index) for index, source in enumerate(there) if source in rank]
    own = rank.get(path)
    if own is None or not places:
        return len(there)
    before = [place for place in places if place[0] <= own]
    if before:
        return max(before)[1] + 1
    return min(places)[1]


def _recordings(film: Film, paths: frozenset[str]) -> dict[str, ClipSound]:
    """Return the separate recordings that clips of files have, as a new clip of each would have them."""
    return {
        clip.source: ClipSound(
            kind=SoundKind.SEPARATE, file=clip.sound.file, offset_seconds=clip.sound.offset_seconds
        )
        for scene in film.scenes
        for clip in scene.content.clips
        if clip.source in paths and clip.sound.kind is SoundKind.SEPARATE
    }


def _facts_of(path: str, known: Known) -> MediaFacts:
    facts = known.get(path)
    if isinstance(facts, MediaTrouble):
        raise EditError(
            f"{quoted(file_name(path))} can't be used. {facts.sentence}",
            advice=facts.advice,
            code="edit.footage",
        )
    if facts is None:
        raise EditError(
            f"{quoted(file_name(path))} is being looked at.",
            advice="Wait a moment, then try again.",
            code="edit.footage",
        )
    return facts


def _picture_of(path: str, known: Known) -> MediaFacts:
    facts = _facts_of(path, known)
    if facts.picture is None:
        raise EditError(
            f"{quoted(file_name(path))} has no picture.",
            advice="Use it as a spot, as a cue, or as the recording of a clip.",
            code="edit.footage",
        )
    return facts


def _sound_frames(film: Film, path: str, known: Known) -> int:
    facts = _facts_of(path, known)
    if facts.sound is None:
        raise EditError(
            f"{quoted(file_name(path))} has no sound.",
            advice="Choose a file that has some.",
            code="edit.footage",
        )
    return max(1, math.ceil(facts.sound.seconds * film.rate.fraction))


def left_out_words(names: Sequence[str]) -> str:
    """Return a sentence about sounds that were chosen together with footage and were not added."""
    if not names:
        return ""
    verb = "has" if len(names) == 1 else "have"
    return (
        f"{listed([quoted(name) for name in names])} {verb} sound alone: use the menu to add it as a spot or "
        "as a cue."
    )
