"""The scenes that come of a folder of footage, before anything is written, and the film made of them."""

import contextlib
import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from desk.errors import DeskError, OutputError
from desk.film.media import MediaFacts
from desk.film.model import Film, Scene, Size
from desk.film.rates import Rate
from desk.film.timing import content_frames
from desk.film.wording import counted
from desk.footage.first_film import first_film
from desk.footage.order import SceneFolder, find_scenes
from desk.footage.place import refuse_project_in_footage
from desk.footage.probing import ProbeCache
from desk.footage.recordings import recordings
from desk.jobs import CancelToken, ProgressListener
from desk.store.folder import desk_folder
from desk.store.making import make_project, refuse_taken

COMMAND = "desk open"

_MOST_DETAILS = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """What film is asked for.

    Attributes:
        footage: The folder of footage.
        folder: The project folder.
        title: Its title, or "" for the project folder's name.
        rate: Its rate, or None for the one proposed.
        size: Its frame size, or None for the one proposed.
    """

    footage: Path
    folder: Path
    title: str = ""
    rate: Rate | None = None
    size: Size | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SceneToCome:
    """A scene as it would come of a folder.

    Attributes:
        number: Scene number.
        slugline: Its slugline, or "".
        clips: How many clips it has.
        length_frames: How long they are.
        remark: What deserves a look, in a few words, or "".
        details: The same in sentences, one a line.
    """

    number: str
    slugline: str
    clips: int
    length_frames: int
    remark: str = ""
    details: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Preview:
    """A film as it would come of a folder of footage.

    Attributes:
        film: The film.
        why: What rate and size were taken from.
        scenes: Its scenes.
        remarks: What deserves a look, in sentences.
        files: The footage that was looked at.
    """

    film: Film
    why: str
    scenes: tuple[SceneToCome, ...]
    remarks: tuple[str, ...]
    files: tuple[Path, ...]

    @property
    def clips(self) -> int:
        """How many clips it has."""
        return sum(scene.clips for scene in self.scenes)

    @property
    def length_frames(self) -> int:
        """How long they are in all."""
        return sum(scene.length_frames for scene in self.scenes)


def look_at(wish: Wish, cache: ProbeCache, progress: ProgressListener, cancel: CancelToken) -> Preview:
    """Return the film that would come of a folder of footage. Reads the footage, and writes nothing.

    Args:
        wish: What is asked for.
        cache: Facts from earlier looks; new ones are put there.
        progress: Told how far it is.
        cancel: Stops it.

    Raises:
        MediaError: as `desk.footage.first_film.first_film`.
        Cancelled: when stopped on request.
    """
    made = first_film(
        wish.folder,
        wish.footage,
        title=wish.title,
        rate=wish.rate,
        size=wish.size,
        cache=cache,
        progress=progress,
        cancel=cancel,
    )
    # The film does not hold what was left out and what lies beside the clips; the folders do.
    found = {scene.number: scene for scene in find_scenes(wish.footage).scenes}
    files = tuple(path for scene in found.values() for path in scene.clips)
    facts = {path: known for path in files if (known := cache.get(path)) and known.picture}
    scenes = tuple(_scene(scene, found.get(scene.number), facts) for scene in made.film.scenes)
    here = f"{wish.footage}{os.sep}"
    remarks = tuple(remark.replace(here, "") for remark in made.remarks)
    return Preview(film=made.film, why=made.why, scenes=scenes, remarks=remarks, files=files)


def make_film(
    wish: Wish, shown: Preview, cache: ProbeCache, progress: ProgressListener, cancel: CancelToken
) -> Path | Preview:
    """Make the film that was shown, and return its project folder.

    Args:
        wish: What is asked for.
        shown: What was shown. Where the footage has changed since, nothing is made, and what would come of it
            now is returned.
        cache: Facts from earlier looks; they are kept in the project.
        progress: Told how far it is.
        cancel: Stops it.

    Raises:
        MediaError: as `desk.footage.first_film.first_film`.
        FilmFileError: when there is a film already.
        OutputError: when the folder lies in the footage, or the disk refuses.
        Cancelled: when stopped on request.
    """
    refuse_taken(wish.folder)
    refuse_project_in_footage(wish.folder, wish.footage)
    now = look_at(wish, cache, progress, cancel)
    if now.scenes != shown.scenes:
        return now
    make_project(wish.folder, now.film, COMMAND)
    kept = ProbeCache(desk_folder(wish.folder) / "probes.json")
    for path in now.files:
        if known := cache.get(path):
            kept.put(path, known)
    with contextlib.suppress(OutputError):
        # The film is whole without them; they are read anew.
        kept.save()
    return wish.folder


def refused(folder: Path, footage: Path | None) -> str:
    """Return why a project can't be made in a folder, as sentences, or "". Writes nothing.

    Args:
        folder: The project folder that is asked for.
        footage: The folder of footage, or None where there is none yet.
    """
    try:
        refuse_taken(folder)
        if footage is not None:
            refuse_project_in_footage(folder, footage)
    except DeskError as error:
        return str(error)
    if folder.exists() and not folder.is_dir():
        return f"“{folder}” is a file where a folder is needed. Choose another folder."
    return ""


def _scene(scene: Scene, found: SceneFolder | None, facts: Mapping[Path, MediaFacts]) -> SceneToCome:
    words: list[str] = []
    details: list[str] = []
    if found is not None:
        words, details = _remarks(scene, found, facts)
    return SceneToCome(
        number=scene.number,
        slugline=scene.slugline,
        clips=len(scene.content.clips),
        length_frames=content_frames(scene.content),
        remark=", ".join(words),
        details="\n".join(details[:_MOST_DETAILS]) + ("\n…" if len(details) > _MOST_DETAILS else ""),
    )


def _remarks(
    scene: Scene, found: SceneFolder, facts: Mapping[Path, MediaFacts]
) -> tuple[list[str], list[str]]:
    words: list[str] = []
    details = list(found.remarks)
    if not scene.content.clips:
        words.append("no footage yet")
    if details:
        words.append(counted(len(details), "remark"))
    for recording in recordings(found.clips, facts):
        if len(recording.files) > 1:
            files = counted(len(recording.files), "file")
            words.append(f"one recording in {files}")
            details.append(f"“{recording.files[0].name}” and what follows it are one recording in {files}.")
    left_out = [path for path in found.clips if path not in facts]
    if left_out:
        words.append(f"{counted(len(left_out), 'file')} left out")
        details += (f"“{path.name}” is left out; why is said below." for path in left_out)
    if found.sounds:
        sounds = counted(len(found.sounds), "sound recording")
        words.append(f"{sounds} beside")
        details.append(f"{sounds} beside the footage; none is used yet.")
    return words, details
