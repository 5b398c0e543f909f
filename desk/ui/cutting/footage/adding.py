"""Footage put into a scene: clips made of whole files, in natural order or at a place, spots and cues.

Pure functions from a film to an `Edit`, beside those of `desk.film.edits`, for what is dropped or chosen from
a list of files.
"""

import collections
import dataclasses
import itertools
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from fractions import Fraction

from desk.errors import EditError
from desk.film import edits
from desk.film.edit import find_open_scene
from desk.film.edits import Change, ChangeKind, Edit
from desk.film.media import MediaFacts
from desk.film.model import Clip, ClipSound, Film, SceneContent, SoundKind
from desk.film.problem import MediaTrouble
from desk.film.wording import counted, entry_name, listed, quoted
from desk.footage.scene_clips import Footage, clip_of
from desk.ui.cutting.marks import NO_MARKS, Marked
from desk.ui.scene.clip_facts import file_name

Known = Mapping[str, MediaFacts | MediaTrouble]


def clips_of(
    film: Film, paths: Iterable[str], known: Known, marks: Mapping[str, Marked] = NO_MARKS
) -> tuple[Clip, ...]:
    """Return the clips that files make, each whole or what is marked of it, with the sound that it has.

    Where a clip of the same file has a separate recording, its offset fits each clip of that file.

    Args:
        film: The film.
        paths: Footage, as the film names it.
        known: What was read of it.
        marks: What is marked of files.

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
        clips.append(_part_of(clip, marks.get(path), film))
    return tuple(clips)


def add_at_end(
    film: Film, scene_id: str, paths: Sequence[str], known: Known, marks: Mapping[str, Marked] = NO_MARKS
) -> Edit:
    """Put files, or what is marked of them, into a scene as clips, after those that it has.

    Raises:
        EditError: when the scene is locked or unknown, or a file makes no clip.
    """
    scene = find_open_scene(film, scene_id)
    return edits.insert_clips(film, scene_id, clips_of(film, paths, known, marks), len(scene.content.clips))


def add_at(
    film: Film,
    scene_id: str,
    paths: Sequence[str],
    known: Known,
    *,
    frame: int,
    marks: Mapping[str, Marked] = NO_MARKS,
) -> Edit:
    """Put files, or what is marked of them, into a scene from a frame on; a clip there is cut in two.

    Raises:
        EditError: when the scene is locked or unknown or has no such frame, or a file makes no clip.
    """
    find_open_scene(film, scene_id)
    return edits.insert_clips_at(film, scene_id, clips_of(film, paths, known, marks), frame)


def add_in_order(
    film: Film,
    scene_id: str,
    paths: Sequence[str],
    known: Known,
    *,
    order: Sequence[str],
    marks: Mapping[str, Marked] = NO_MARKS,
) -> Edit:
    """Put files into a scene as clips where they belong in the order in which they were shot.

    Each comes after the last clip of the file that is nearest before it in that order, else before the first
    clip of the nearest after it, else at the end. So does a file that `order` does not have. Of the same
    file, what is marked comes after the clips that begin no later in it.

    Args:
        film: The film.
        scene_id: The scene.
        paths: Footage, as the film names it.
        known: What was read of it.
        order: The files of the scene in the order in which they were shot.
        marks: What is marked of files.

    Raises:
        EditError: when the scene is locked or unknown, or a file makes no clip.
    """
    scene = find_open_scene(film, scene_id)
    rank = {path: place for place, path in enumerate(order)}
    last = len(rank)
    now = film
    clips = clips_of(film, sorted(paths, key=lambda path: rank.get(path, last)), known, marks)
    if not clips:
        return edits.insert_clips(film, scene_id, (), 0)
    there = [(clip.source, clip.in_seconds) for clip in scene.content.clips]
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
    halves = set(_second_halves(before, after))
    clips = (clip.id for clip in after.clips if clip.id not in halves)
    cues, spots = (cue.id for cue in after.cues), (spot.id for spot in after.spots)
    return tuple(item for item in (*clips, *cues, *spots) if item not in known)


def _second_halves(before: SceneContent, after: SceneContent) -> Iterator[str]:
    """Yield the second halves of clips that were cut in two: the last new clip after one that got shorter."""
    lengths = {clip.id: clip.length_frames for clip in before.clips}
    for index, clip in enumerate(after.clips):
        if clip.length_frames < lengths.get(clip.id, 0):
            new = itertools.takewhile(lambda other: other.id not in lengths, after.clips[index + 1 :])
            yield from (other.id for other in collections.deque(new, maxlen=1))


def _part_of(clip: Clip, marked: Marked | None, film: Film) -> Clip:
    """Return what is marked of a clip that is a whole file; all of it where nothing that is there is."""
    if marked is None or marked.first >= clip.length_frames:
        return clip
    end = min(marked.end, clip.length_frames)
    return dataclasses.replace(
        clip, in_seconds=film.rate.seconds(marked.first), length_frames=end - marked.first
    )


def _groups(
    clips: Sequence[Clip], there: list[tuple[str, Fraction]], rank: Mapping[str, int]
) -> list[tuple[int, list[Clip]]]:
    """Return clips that come in next to each other together, with the place of the first as it comes in."""
    groups: list[tuple[int, list[Clip]]] = []
    for clip in clips:
        index = _place_of(clip, there, rank)
        there.insert(index, (clip.source, clip.in_seconds))
        if groups and index == groups[-1][0] + len(groups[-1][1]):
            groups[-1][1].append(clip)
        else:
            groups.append((index, [clip]))
    return groups


def _place_of(clip: Clip, there: Sequence[tuple[str, Fraction]], rank: Mapping[str, int]) -> int:
    places = [(rank[source], begins, index) for index, (source, begins) in enumerate(there) if source in rank]
    own = rank.get(clip.source)
    if own is None or not places:
        return len(there)
    # A whole file comes after all that there is of it, what is marked after what begins no later.
    before = [
        place
        for place in places
        if place[0] < own or (place[0] == own and place[1] <= (clip.in_seconds or place[1]))
    ]
    if before:
        return max(before, key=lambda place: (place[0], place[2]))[2] + 1
    return min(places, key=lambda place: (place[0], place[2]))[2]


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
