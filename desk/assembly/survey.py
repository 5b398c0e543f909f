"""What there is of a film's media, and what stands in the way of an assembly."""

import contextlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from desk.errors import MediaError, OutputError
from desk.files import sample_hash
from desk.film.checks import MediaTrouble, Problem, check
from desk.film.media import MediaFacts
from desk.film.model import Film
from desk.film.paths import content_paths, film_paths
from desk.film.timing import Include
from desk.footage.probing import ProbeCache, probe_all
from desk.footage.reading import require_file
from desk.jobs import CancelToken, ProgressListener, no_progress
from desk.store.folder import desk_folder


@dataclass(frozen=True, slots=True, kw_only=True)
class Survey:
    """A film's media as they are now.

    Attributes:
        film: The film.
        files: Where each file is, by its path in the film.
        facts: What was read of each, or what is wrong with it.
    """

    film: Film
    files: Mapping[str, Path]
    facts: Mapping[str, MediaFacts | MediaTrouble]

    @property
    def media(self) -> dict[str, MediaFacts]:
        """What was read of the files that can be read."""
        return {path: facts for path, facts in self.facts.items() if isinstance(facts, MediaFacts)}

    def problems(self, include: Include) -> tuple[Problem, ...]:
        """Return what stands in the way of an assembly, or deserves a look."""
        return check(self.film, self.facts, include)


def survey(
    film: Film,
    folder: Path,
    *,
    paths: Iterable[str] | None = None,
    progress: ProgressListener = no_progress,
    cancel: CancelToken | None = None,
) -> Survey:
    """Read the files that a film names; of those that did not change, what was read before is remembered.

    Args:
        film: The film.
        folder: Its project folder; the film's paths are relative to it.
        paths: Which of them to read; all by default.
        progress: Told how far it is.
        cancel: Stops it.

    Raises:
        Cancelled: when stopped on request.
    """
    files = {path: folder / path for path in (film_paths(film) if paths is None else paths)}
    stills = {card.picture for card in film.cards} | {scene.reference_picture for scene in film.scenes}
    # A file that also moves in a scene is footage.
    stills -= {path for scene in film.scenes for path in content_paths(scene.content, every_candidate=True)}
    moving = [file for path, file in files.items() if path not in stills]
    cache = ProbeCache(desk_folder(folder) / "probes.json")
    try:
        probed = probe_all(moving, cache=cache, progress=progress, cancel=cancel)
    finally:
        # A project on a read-only disk is read anew each time.
        with contextlib.suppress(OutputError):
            cache.save()
    troubles = {problem.path: problem for problem in probed.problems}
    facts: dict[str, MediaFacts | MediaTrouble] = {}
    for path, file in files.items():
        if path in stills:
            facts[path] = _still(file)
        elif file in probed.facts:
            facts[path] = probed.facts[file]
        elif file in troubles:
            trouble = troubles[file]
            facts[path] = MediaTrouble(sentence=trouble.message, advice=trouble.advice, code=trouble.code)
    return Survey(film=film, files=files, facts=facts)


def _still(file: Path) -> MediaFacts | MediaTrouble:
    """Return what there is to know of a still picture before it is drawn."""
    try:
        require_file(file)
        found = file.stat()
        return MediaFacts(
            size_bytes=found.st_size, sample_hash=sample_hash(file), modified_ns=found.st_mtime_ns
        )
    except MediaError as error:
        return MediaTrouble(sentence=error.message, advice=error.advice, code=error.code)
    except OSError as error:
        return MediaTrouble(
            sentence=f"“{file}” can't be read: {error.strerror}.",
            advice="Choose another picture.",
            code="media.unreadable",
        )
