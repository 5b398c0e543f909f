"""What the edits of a scene's cut share: its clips by id and place, what moves along, what footage holds."""

import dataclasses
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType

from desk.errors import EditError
from desk.film.content_edits import set_content
from desk.film.edit import Edit, find_open_scene
from desk.film.model import Clip, Cue, Film, Scene, SceneContent, Spot
from desk.film.rates import Rate
from desk.film.timing import clip_starts, content_frames, tail_handle_frames
from desk.film.wording import counted, entry_name, quoted, sentence

NOTHING_KNOWN: Mapping[str, Fraction] = MappingProxyType({})
"""Lengths of no file: all count as endless."""


@dataclass(frozen=True, slots=True)
class Draft:
    """A scene whose content may be changed: its clips, and where they stand.

    Attributes:
        film: The film.
        scene: The scene; it is not locked.
        starts: First frame of each clip, from the scene's start.
    """

    film: Film
    scene: Scene
    starts: tuple[int, ...]

    @classmethod
    def of(cls, film: Film, scene_id: str) -> "Draft":
        """Return a scene to be cut.

        Raises:
            EditError: when it is unknown or locked.
        """
        scene = find_open_scene(film, scene_id)
        return cls(film, scene, clip_starts(scene.content))

    @property
    def clips(self) -> tuple[Clip, ...]:
        """The Picture lane."""
        return self.scene.content.clips

    @property
    def rate(self) -> Rate:
        """The film's rate."""
        return self.film.rate

    @property
    def length_frames(self) -> int:
        """How long the scene's picture is."""
        return content_frames(self.scene.content)

    @property
    def scene_name(self) -> str:
        """What a sentence calls the scene."""
        return entry_name(self.scene)

    def gap_start(self, index: int) -> int:
        """Return where the black before a clip begins, or the clip where there is none."""
        return self.starts[index] - self.clips[index].gap_frames

    def clip_end(self, index: int) -> int:
        """Return the frame after a clip's last."""
        return self.starts[index] + self.clips[index].length_frames

    def index(self, clip_id: str) -> int:
        """Return the place of a clip among the clips.

        Raises:
            EditError: when the scene has no such clip.
        """
        for index, clip in enumerate(self.clips):
            if clip.id == clip_id:
                return index
        raise unknown(self.scene_name, "clip", clip_id)

    def indices(self, clip_ids: Sequence[str]) -> list[int]:
        """Return the places of clips, in the order of the scene.

        Raises:
            EditError: when the scene does not have one of them, or none is named.
        """
        if not clip_ids:
            raise none_named("clip")
        return sorted({self.index(clip_id) for clip_id in clip_ids})

    def name(self, index: int) -> str:
        """Return what a sentence calls a clip."""
        return f"clip {index + 1} in {self.scene_name}"

    def names(self, indices: Sequence[int]) -> str:
        """Return what a sentence calls clips; more than one are only counted."""
        if len(indices) == 1:
            return self.name(indices[0])
        return f"{counted(len(indices), 'clip')} in {self.scene_name}"

    def with_clips(self, clips: Sequence[Clip]) -> SceneContent:
        """Return the scene's content with other clips."""
        return dataclasses.replace(self.scene.content, clips=tuple(clips))

    def with_clip(self, index: int, clip: Clip) -> SceneContent:
        """Return the scene's content with another clip in a place."""
        clips = list(self.clips)
        clips[index] = clip
        return self.with_clips(clips)

    def edit(self, text: str, content: SceneContent) -> Edit:
        """Return the edit that puts new content into the scene.

        Raises:
            EditError: when the content holds a value that is not allowed.
        """
        return set_content(self.film, self.scene.id, content, text)


def unknown(owner: str, kind: str, item_id: str) -> EditError:
    """Return the error of an id that nothing of its kind has in a scene, or in what `owner` names."""
    return EditError(
        f"{sentence(owner)} has no {kind} with the id {quoted(item_id)}.",
        advice=f"Choose a {kind} that it has.",
        code="edit.unknown",
    )


def none_named(kind: str) -> EditError:
    """Return the error of an edit of several things that names none."""
    return EditError(f"No {kind} is named.", advice="Name at least one.", code="edit.unknown")


def moved_along(content: SceneContent, at_frames: int, by_frames: int) -> SceneContent:
    """Return content whose spots and cues have moved with the picture under them.

    Args:
        content: The content.
        at_frames: Where frames of picture came in or went out, from the scene's start. What begins before it
            stays, however long it is.
        by_frames: How many came in there; or, below 0, how many went out from there on. What began on one
            that went out begins at that place then.
    """
    if not by_frames:
        return content

    def moved(start_frames: int) -> int:
        if start_frames < at_frames:
            return start_frames
        return max(at_frames, start_frames + by_frames)

    cues: list[Cue] = [dataclasses.replace(cue, start_frames=moved(cue.start_frames)) for cue in content.cues]
    spots: list[Spot] = [
        dataclasses.replace(spot, start_frames=moved(spot.start_frames)) for spot in content.spots
    ]
    return dataclasses.replace(content, cues=tuple(cues), spots=tuple(spots))


def missing_frames(clip: Clip, rate: Rate, source_seconds: Mapping[str, Fraction]) -> int:
    """Return for how many of its frames a clip has no footage at its tail; 0 where that is not known.

    Args:
        clip: The clip.
        rate: The film's rate.
        source_seconds: Length of each source's picture, by path; one that is not there counts as endless.
    """
    seconds = source_seconds.get(clip.source)
    return 0 if seconds is None else max(0, -tail_handle_frames(clip, rate, seconds))


def sound_room_frames(
    path: str, end_seconds: Fraction, frame_seconds: Fraction, sound_seconds: Mapping[str, Fraction]
) -> int | None:
    """Return how many whole frames of sound a file has after a place in it, or None where not known.

    Args:
        path: The file.
        end_seconds: The place.
        frame_seconds: How much of the file a film frame takes.
        sound_seconds: Length of each file's sound, by path; one that is not there counts as endless.
    """
    seconds = sound_seconds.get(path)
    return None if seconds is None else max(0, math.floor((seconds - end_seconds) / frame_seconds))


def check_left(name: str, length_frames: int, off_frames: int) -> None:
    """Go on only where a frame is left after a trim.

    Args:
        name: What a sentence calls the thing: `clip 2 in scene 1`.
        length_frames: Its length.
        off_frames: How many are trimmed off.

    Raises:
        EditError: when none would be left.
    """
    if off_frames < length_frames:
        return
    most = length_frames - 1
    raise EditError(
        f"{sentence(name)} has {counted(length_frames, 'frame')}, so {off_frames:,} can't be trimmed off.",
        advice=f"Trim {counted(most, 'frame')} at most, or remove it." if most else "Remove it instead.",
        code="edit.length",
    )


def check_room(wanted_frames: int, room_frames: int | None, *, told: str, verb: str) -> None:
    """Go on only where footage or sound has the frames that are asked for.

    Args:
        wanted_frames: How many are asked for.
        room_frames: How many there are, or None where that is not known.
        told: The rest of `There are 3 frames too few …`: `before the head of clip 2 in scene 1`.
        verb: What to do by fewer frames: `Extend it`.

    Raises:
        EditError: when there are too few; it says by how many, and what fits.
    """
    if room_frames is None or wanted_frames <= room_frames:
        return
    short = wanted_frames - room_frames
    verb_of_short = "is" if short == 1 else "are"
    raise EditError(
        f"There {verb_of_short} {counted(short, 'frame')} too few {told}.",
        advice=f"{verb} by {counted(room_frames, 'frame')} at most."
        if room_frames
        else "Nothing is left there; use longer footage or leave it as it is.",
        code="edit.footage",
    )
