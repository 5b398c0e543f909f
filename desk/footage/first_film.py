"""The film that comes of a folder of footage: a scene a sub-folder, its clips whole and as they were shot."""

import math
import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePath

from desk.errors import MediaError
from desk.film.edits import IdMaker
from desk.film.media import MediaFacts
from desk.film.model import (
    Card,
    CardKind,
    Clip,
    ClipSound,
    Film,
    Placement,
    Scene,
    SceneContent,
    Size,
    SoundKind,
)
from desk.film.paths import path_fault
from desk.film.rates import Rate
from desk.film.wording import counted
from desk.footage.order import SceneFolder, find_scenes
from desk.footage.probing import ProbeCache, probe_all
from desk.footage.propose import propose_format
from desk.footage.recordings import recordings
from desk.jobs import CancelToken, ProgressListener, no_progress


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstFilm:
    """A film made from a folder of footage.

    Attributes:
        film: The film.
        why: What rate and size were taken from.
        remarks: What deserves a look, in sentences.
    """

    film: Film
    why: str
    remarks: tuple[str, ...]


def first_film(
    folder: Path,
    footage: Path,
    *,
    title: str = "",
    rate: Rate | None = None,
    size: Size | None = None,
    cache: ProbeCache | None = None,
    progress: ProgressListener = no_progress,
    cancel: CancelToken | None = None,
) -> FirstFilm:
    """Return the film that a folder of footage makes. Reads the footage, and writes nothing.

    Args:
        folder: Where the project will be; the film's paths are relative to it.
        footage: The folder of footage.
        title: The film's title, or "" for the folder's name.
        rate: The film's rate, or None for the one proposed.
        size: The film's frame size, or None for the one proposed.
        cache: Facts from earlier, or None.
        progress: Told how far it is.
        cancel: Stops it.

    Raises:
        MediaError: when the footage folder can't be read or named, or holds no footage that can.
        Cancelled: when stopped on request.
    """
    found = find_scenes(footage)
    names, refused = _names(found.scenes, footage, folder)
    files = [path for scene in found.scenes for path in scene.clips if path in names]
    probed = probe_all(files, cache=cache, progress=progress, cancel=cancel)
    left_out = [*refused, *probed.problems, *_without_picture(probed.facts)]
    usable = {path: facts for path, facts in probed.facts.items() if facts.picture}
    if not usable:
        first = f" {left_out[0].message}" if left_out else ""
        raise MediaError(
            f"There is no footage in “{footage}” that can be used.{first}",
            advice="Name the folder that holds a sub-folder for each scene.",
            code="media.none",
            path=footage,
        )
    proposal = propose_format(usable.values())
    making = _Making(footage, folder, names, usable, rate or proposal.rate, size or proposal.size)
    film = making.film(found.scenes, title or _one_line(folder.resolve().name) or "Film")
    remarks = (
        *found.remarks,
        *(remark for scene in found.scenes for remark in _remarks(scene, usable)),
        *(f"{problem.message} It is left out. {problem.advice}".rstrip() for problem in left_out),
    )
    return FirstFilm(film=film, why=proposal.why, remarks=remarks)


def film_path_of(path: Path, footage: Path, folder: Path) -> str:
    """Return a path as a film has it: relative to the project folder, with `/`.

    Links on the way to both folders are followed, since `..` leads out of where a link leads to; those below
    the footage folder stay as they are.

    Args:
        path: The footage folder, or something in it.
        footage: The footage folder.
        folder: The project folder; it may be missing.

    Raises:
        MediaError: when it can't be written so: on another drive, or with a backslash in its name.
    """
    try:
        root = PurePath(os.path.relpath(footage.resolve(), folder.resolve()))
    except ValueError as error:
        raise MediaError(
            f"“{path}” is on another drive than the project.",
            advice="Put the project and its footage on one drive.",
            code="media.refused",
            path=path,
        ) from error
    relative = (root / path.relative_to(footage)).as_posix()
    fault = path_fault(relative)
    # What has a colon in its first part would be taken for an address.
    if fault and not path_fault(f"./{relative}"):
        return f"./{relative}"
    if fault:
        raise MediaError(
            f"“{path}” can't be used: its path {fault}.",
            advice="Rename it, then start again.",
            code="media.refused",
            path=path,
        )
    return relative


def _names(
    scenes: tuple[SceneFolder, ...], footage: Path, folder: Path
) -> tuple[dict[Path, str], list[MediaError]]:
    """Return what a film calls each clip, and why some can't be called anything."""
    names: dict[Path, str] = {}
    refused: list[MediaError] = []
    for scene in scenes:
        for path in scene.clips:
            try:
                names[path] = film_path_of(path, footage, folder)
            except MediaError as error:
                refused.append(error)
    return names, refused


def _without_picture(facts: Mapping[Path, MediaFacts]) -> Iterator[MediaError]:
    for path, known in facts.items():
        if known.picture is None:
            yield MediaError(
                f"“{path}” has no picture.",
                advice="It can be a separate recording, music or an effect.",
                code="media.no-picture",
                path=path,
            )


def _remarks(scene: SceneFolder, facts: Mapping[Path, MediaFacts]) -> Iterator[str]:
    yield from scene.remarks
    for recording in recordings(scene.clips, facts):
        if len(recording.files) > 1:
            files = counted(len(recording.files), "file")
            yield f"“{recording.files[0]}” and what follows it are one recording in {files}."
    if scene.sounds:
        sounds = counted(len(scene.sounds), "sound recording")
        yield f"Scene {scene.number} has {sounds} beside its footage; none is used yet."


def _one_line(text: str) -> str:
    """Return a folder's name as a title or slugline can hold it."""
    return " ".join("".join(sign if sign.isprintable() else " " for sign in text).split())


@dataclass(frozen=True, slots=True)
class _Making:
    footage: Path
    folder: Path
    names: Mapping[Path, str]
    facts: Mapping[Path, MediaFacts]
    rate: Rate
    size: Size

    def film(self, found: tuple[SceneFolder, ...], title: str) -> Film:
        empty = Film(title=title, rate=self.rate, size=self.size, start_frames=self.rate.nominal * 3600)
        ids = IdMaker(empty)
        opening = Card(id=ids.new("k"), kind=CardKind.TITLE, name="Title", lines=(title,))
        scenes = tuple(self._scene(scene, ids) for scene in found)
        # Empty until somebody is named: an empty card is left out.
        closing = Card(id=ids.new("k"), kind=CardKind.CREDITS, name="Credits")
        order = (opening.id, *(scene.id for scene in scenes), closing.id)
        return Film(
            title=title,
            rate=self.rate,
            size=self.size,
            start_frames=empty.start_frames,
            footage=film_path_of(self.footage, self.footage, self.folder),
            scenes=scenes,
            cards=(opening, closing),
            order=tuple(Placement(entry=entry) for entry in order),
            next_id=ids.next_id,
        )

    def _scene(self, found: SceneFolder, ids: IdMaker) -> Scene:
        files = [path for path in found.clips if path in self.facts]
        # Chapters of one recording follow each other, whatever the camera called them.
        shot = [path for recording in recordings(files, self.facts) for path in recording.files]
        clips = tuple(self._clip(path, ids) for path in shot)
        return Scene(
            id=ids.new("s"),
            number=found.number,
            slugline=_one_line(found.slugline),
            folder=self._folder_of(found),
            content=SceneContent(clips=clips),
        )

    def _folder_of(self, found: SceneFolder) -> str:
        try:
            return film_path_of(found.path, self.footage, self.folder)
        except MediaError:
            # None of its clips can be named either, and that is said of each.
            return ""

    def _clip(self, path: Path, ids: IdMaker) -> Clip:
        known = self.facts[path]
        assert known.picture is not None
        return Clip(
            id=ids.new("c"),
            source=self.names[path],
            length_frames=max(1, math.ceil(known.picture.seconds * self.rate.fraction)),
            sound=ClipSound(kind=SoundKind.OWN if known.sound else SoundKind.SILENCE),
        )
