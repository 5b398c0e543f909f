"""The clips that come of one scene's folder: its files whole, in the order in which they were shot."""

import dataclasses
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from desk.errors import MediaError
from desk.film.edit import find_open_scene
from desk.film.edits import Edit, IdMaker, set_content
from desk.film.media import MediaFacts
from desk.film.model import Clip, ClipSound, Film, SoundKind
from desk.film.wording import counted, entry_name
from desk.footage.first_film import film_path_of
from desk.footage.order import PICTURE_SUFFIXES, FoundFootage, SceneFolder, find_scenes, in_natural_order
from desk.footage.probing import ProbeCache, probe_all
from desk.footage.recordings import recordings
from desk.jobs import CancelToken, ProgressListener, no_progress


@dataclass(frozen=True, slots=True, kw_only=True)
class Footage:
    """One file that makes a clip.

    Attributes:
        source: Its path in the film.
        facts: What was read of it; it has a picture.
    """

    source: str
    facts: MediaFacts


@dataclass(frozen=True, slots=True, kw_only=True)
class SceneFootage:
    """What a scene's folder holds.

    Attributes:
        files: Its footage, in the order in which it was shot; one or more.
        remarks: What deserves a look, in sentences.
    """

    files: tuple[Footage, ...]
    remarks: tuple[str, ...]


def read_scene_folder(
    scene_folder: Path,
    folder: Path,
    *,
    cache: ProbeCache | None = None,
    progress: ProgressListener = no_progress,
    cancel: CancelToken | None = None,
) -> SceneFootage:
    """Return the footage in a scene's folder and in what lies below it. Reads the files, and writes nothing.

    Args:
        scene_folder: The scene's folder.
        folder: The project folder; the film's paths are relative to it.
        cache: Facts from earlier, or None.
        progress: Told how far it is.
        cancel: Stops it.

    Raises:
        MediaError: when the folder can't be read, or holds no footage that can.
        Cancelled: when stopped on request.
    """
    try:
        found = find_scenes(scene_folder)
    except MediaError as error:
        if error.code == "media.empty":
            raise _no_footage(scene_folder) from error
        raise
    clips, sounds = _files(found)
    names: dict[Path, str] = {}
    left_out: list[MediaError] = []
    for path in clips:
        try:
            names[path] = film_path_of(path, scene_folder, folder)
        except MediaError as error:
            left_out.append(error)
    probed = probe_all(names, cache=cache, progress=progress, cancel=cancel)
    left_out += probed.problems
    left_out += [_without_picture(path) for path, facts in probed.facts.items() if facts.picture is None]
    usable = {path: facts for path, facts in probed.facts.items() if facts.picture}
    if not usable:
        raise _no_footage(scene_folder, left_out[0].message if left_out else "")
    # Chapters of one recording follow each other, whatever the camera called them.
    shot = [path for recording in recordings(usable, usable) for path in recording.files]
    return SceneFootage(
        files=tuple(Footage(source=names[path], facts=usable[path]) for path in shot),
        remarks=(
            *_remarks_of(found, scene_folder),
            *_told(usable, sounds),
            *(f"{error.message} It is left out. {error.advice}".rstrip() for error in left_out),
        ),
    )


def take_clips(film: Film, scene_id: str, found: SceneFootage) -> Edit:
    """Put the footage of its folder into a scene, each file as a clip, after the clips that it has.

    Args:
        film: The film.
        scene_id: The scene.
        found: What its folder holds.

    Raises:
        EditError: when the scene is locked or unknown, or a file is longer than a clip may be.
    """
    scene = find_open_scene(film, scene_id)
    ids = IdMaker(film)
    clips = tuple(clip_of(item, film, ids.new("c")) for item in found.files)
    content = dataclasses.replace(scene.content, clips=(*scene.content.clips, *clips))
    return set_content(film, scene_id, content, f"Take the files of the folder of {entry_name(scene)}")


def clip_of(item: Footage, film: Film, clip_id: str = "") -> Clip:
    """Return the clip that a file makes: all of it, with its own sound where it has any.

    Args:
        item: The file.
        film: The film; its rate decides the length.
        clip_id: Its id, or "" where an edit gives one.
    """
    picture = item.facts.picture
    assert picture is not None
    return Clip(
        id=clip_id,
        source=item.source,
        length_frames=max(1, math.ceil(picture.seconds * film.rate.fraction)),
        sound=ClipSound(kind=SoundKind.OWN if item.facts.sound else SoundKind.SILENCE),
    )


def _files(found: FoundFootage) -> tuple[tuple[Path, ...], tuple[Path, ...]]:
    """Return footage and sound recordings of a folder whose sub-folders are those of cards, not of scenes."""
    clips = [path for part in found.scenes for path in part.clips]
    sounds = [path for part in found.scenes for path in part.sounds]
    for path in found.loose:
        (clips if path.suffix.lower() in PICTURE_SUFFIXES else sounds).append(path)
    return in_natural_order(clips), in_natural_order(sounds)


def _remarks_of(found: FoundFootage, scene_folder: Path) -> Iterator[str]:
    """Yield what was passed over; that sub-folders would be scenes does not count here."""
    for remark in found.remarks:
        if not remark.startswith(f"“{scene_folder}” has media outside "):
            yield remark
    for part in found.scenes:
        yield from (remark for remark in part.remarks if not _speaks_of_numbers(remark, part))


def _speaks_of_numbers(remark: str, part: SceneFolder) -> bool:
    return remark.startswith(f"“{part.path.name}”: scene number ")


def _told(usable: Mapping[Path, MediaFacts], sounds: tuple[Path, ...]) -> Iterator[str]:
    for recording in recordings(usable, usable):
        if len(recording.files) > 1:
            files = counted(len(recording.files), "file")
            yield f"“{recording.files[0].name}” and what follows it are one recording in {files}."
    if sounds:
        verb = "lies" if len(sounds) == 1 else "lie"
        yield f"{counted(len(sounds), 'sound recording')} {verb} beside the footage; none is used yet."


def _without_picture(path: Path) -> MediaError:
    return MediaError(
        f"“{path}” has no picture.",
        advice="It can be a separate recording, music or an effect.",
        code="media.no-picture",
        path=path,
    )


def _no_footage(scene_folder: Path, first: str = "") -> MediaError:
    return MediaError(
        f"There is no footage in “{scene_folder}” that can be used. {first}".rstrip(),
        advice="Copy the scene's files into it, or choose another folder.",
        code="media.none",
        path=scene_folder,
    )
