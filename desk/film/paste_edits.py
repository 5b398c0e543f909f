"""Copying clips within a film: as a value, put into the same scene or another one."""

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass

from desk.film.clip_edits import opening_at, opening_before, put_in
from desk.film.cutting import Draft, none_named, unknown
from desk.film.edit import Edit, IdMaker, find_scene
from desk.film.model import Clip, Film
from desk.film.wording import entry_name


@dataclass(frozen=True, slots=True)
class CopiedClips:
    """Clips that were copied. Their ids are those of the clips that they were copied from.

    Attributes:
        clips: One or more, in the order of their scene.
    """

    clips: tuple[Clip, ...]

    @property
    def length_frames(self) -> int:
        """How much longer a scene gets by them."""
        return sum(clip.gap_frames + clip.length_frames for clip in self.clips)


def copy_clips(film: Film, scene_id: str, clip_ids: Sequence[str]) -> CopiedClips:
    """Return clips of a scene as a value. A locked scene may be copied from.

    The black before a clip comes along only where the clip before it does.

    Args:
        film: The film.
        scene_id: The scene.
        clip_ids: What to copy.

    Raises:
        EditError: when something is unknown, or no clip is named.
    """
    scene = find_scene(film, scene_id)
    clips = scene.content.clips
    places = {clip.id: index for index, clip in enumerate(clips)}
    if not clip_ids:
        raise none_named("clip")
    for clip_id in clip_ids:
        if clip_id not in places:
            raise unknown(entry_name(scene), "clip", clip_id)
    chosen = sorted({places[clip_id] for clip_id in clip_ids})
    return CopiedClips(
        tuple(
            clips[index] if index - 1 in chosen else dataclasses.replace(clips[index], gap_frames=0)
            for index in chosen
        )
    )


def paste_clips(film: Film, scene_id: str, copied: CopiedClips, index: int) -> Edit:
    """Put copied clips between those of a scene, under new ids.

    A camera look that the film does not have any more is left out.

    Args:
        film: The film.
        scene_id: The scene, the same or another.
        copied: What was copied.
        index: Where the first of them stands afterwards, 0 to the number of clips in the scene.

    Raises:
        EditError: when the scene is locked or unknown, or there is no such place.
    """
    draft = Draft.of(film, scene_id)
    return put_in(draft, _known_looks(film, copied), opening_before(draft, index), IdMaker(film), "Paste")


def paste_clips_at(film: Film, scene_id: str, copied: CopiedClips, frame: int) -> Edit:
    """Put copied clips into a scene so that the first begins on a frame; a clip that is there is cut in two.

    A camera look that the film does not have any more is left out.

    Args:
        film: The film.
        scene_id: The scene, the same or another.
        copied: What was copied.
        frame: The frame, from the scene's start; its length for its end.

    Raises:
        EditError: when the scene is locked or unknown, or has no such frame.
    """
    draft = Draft.of(film, scene_id)
    ids = IdMaker(film)
    return put_in(draft, _known_looks(film, copied), opening_at(draft, frame, ids), ids, "Paste")


def _known_looks(film: Film, copied: CopiedClips) -> list[Clip]:
    looks = {look.id for look in film.camera_looks}
    return [clip if clip.camera in looks else dataclasses.replace(clip, camera="") for clip in copied.clips]
