"""The proxies of a film on disk, and the jobs that look for them and make them.

    .desk/proxies/<key>.<check>.mov      a proxy
    .desk/proxies/<key>.<check>.none     why no true one can be made, so that it is not tried again

A proxy is named by what its footage is, so that moved footage keeps it. Losing the folder costs only time.
"""

import functools
import shutil
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from desk.errors import DeskError, OutputError
from desk.ffmpeg.program import Program, find_program
from desk.files import output_error
from desk.film.media import MediaFacts
from desk.footage.proxy import REFUSED, SUFFIX, estimated_bytes, make_proxy, proxy_key
from desk.jobs import CancelToken, ProgressListener
from desk.render.cache import PieceStore
from desk.store.folder import desk_folder, make_inside

LIMIT_BYTES = 100 << 30
"""What a film's proxies may take: about 20 hours of footage."""

KEPT_FREE_BYTES = 4 << 30
"""So much of the disk is left for everything else."""

_NAME = "proxies"
_REFUSED_SUFFIX = ".none"


class MakeProxy(Protocol):
    """`desk.footage.proxy.make_proxy`, or what stands in for it."""

    def __call__(
        self,
        path: Path,
        facts: MediaFacts,
        target: Path,
        *,
        program: Program,
        progress: ProgressListener,
        cancel: CancelToken,
        is_held: Callable[[], bool],
    ) -> None: ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Sought:
    """What came of looking for proxies.

    Attributes:
        keys: The name of each that was looked for, by the source's path in the film.
        files: Those that are there.
        refused: Sources of which none can be made.
    """

    keys: Mapping[str, str]
    files: Mapping[str, Path]
    refused: frozenset[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class MadeProxy:
    """A proxy that was made.

    Attributes:
        source: The source's path in the film.
        key: The proxy's name.
        file: Where it is.
    """

    source: str
    key: str
    file: Path


class ProxyFiles:
    """The folder of a film's proxies. One job at a time uses it.

    Does not promise that a proxy is still there later: it may be cleared away at any time.
    """

    def __init__(
        self,
        project_folder: Path,
        *,
        limit_bytes: int = LIMIT_BYTES,
        kept_free_bytes: int = KEPT_FREE_BYTES,
        make: MakeProxy = make_proxy,
    ) -> None:
        """Make ready; nothing is read or made before it is asked for.

        Args:
            project_folder: The film's.
            limit_bytes: What proxies may take.
            kept_free_bytes: What is left free on the disk.
            make: What makes one.
        """
        self._project_folder = project_folder
        self._limit_bytes = limit_bytes
        self._kept_free_bytes = kept_free_bytes
        self._make = make
        self._store: PieceStore | None = None

    def look(self, wanted: Mapping[str, MediaFacts], _: ProgressListener, cancel: CancelToken) -> Sought:
        """Look which proxies of these sources are there and whole; a job.

        The first time, what was not used for long is cleared away.

        Raises:
            Cancelled: when stopped on request.
        """
        keys = {source: proxy_key(facts) for source, facts in wanted.items()}
        is_first = self._store is None
        if is_first and not (desk_folder(self._project_folder) / _NAME).is_dir():
            return Sought(keys=keys, files={}, refused=frozenset())
        try:
            store = self._opened()
        except OutputError:
            return Sought(keys=keys, files={}, refused=frozenset())
        found: dict[str, Path] = {}
        for source, key in keys.items():
            cancel.check()
            file = store.find(key)
            if file is not None:
                found[source] = file
        if is_first:
            store.tidy(self._limit_bytes)
        found = {source: file for source, file in found.items() if file.exists()}
        files = {source: file for source, file in found.items() if file.suffix == SUFFIX}
        return Sought(keys=keys, files=files, refused=frozenset(found.keys() - files.keys()))

    def make(
        self,
        source: str,
        facts: MediaFacts,
        is_held: Callable[[], bool],
        progress: ProgressListener,
        cancel: CancelToken,
    ) -> MadeProxy:
        """Make the proxy of a source, and stand still while it is held; a job.

        Raises:
            Cancelled: when stopped on request.
            OutputError: when there is no room, or the disk refuses.
            MediaError: as `desk.footage.proxy.make_proxy`; where no true one can be made, that is remembered.
            FfmpegError: when ffmpeg is missing or ends with a fault.
        """
        store, key = self._opened(), proxy_key(facts)
        self._require_room(source, facts)
        path = self._project_folder / source
        write = functools.partial(
            self._write, path, facts, find_program(), is_held=is_held, progress=progress, cancel=cancel
        )
        try:
            return MadeProxy(source=source, key=key, file=store.make(key, SUFFIX, write))
        except DeskError as error:
            if error.code == REFUSED:
                store.make(key, _REFUSED_SUFFIX, functools.partial(_note, error.detail))
            raise

    def _write(
        self,
        path: Path,
        facts: MediaFacts,
        program: Program,
        part: Path,
        *,
        is_held: Callable[[], bool],
        progress: ProgressListener,
        cancel: CancelToken,
    ) -> None:
        self._make(path, facts, part, program=program, progress=progress, cancel=cancel, is_held=is_held)

    def _opened(self) -> PieceStore:
        # The folder may have been cleared away meanwhile.
        folder = make_inside(self._project_folder, desk_folder(self._project_folder).name, _NAME)
        if self._store is None:
            self._store = PieceStore(folder)
        return self._store

    def _require_room(self, source: str, facts: MediaFacts) -> None:
        """Refuse a proxy that would fill the disk.

        Raises:
            OutputError: with how much there is.
        """
        folder, needed = self._opened().folder, estimated_bytes(facts)
        try:
            taken = sum(item.stat().st_size for item in folder.iterdir() if item.is_file())
            free = shutil.disk_usage(folder).free - self._kept_free_bytes
        except OSError as error:
            raise output_error(folder, error) from error
        if needed <= min(free, self._limit_bytes - taken):
            return
        name = Path(source).name
        reason = (
            "the disk is nearly full" if needed > free else f"this film's take {_gigabytes(taken)} already"
        )
        raise OutputError(
            f"A proxy of “{name}” takes up to {_gigabytes(needed)}, and {reason}.",
            advice="Free some space and go on; until then it is cut from the footage itself.",
            code="output.full",
            path=folder,
        )


def _note(detail: str, part: Path) -> None:
    part.write_text(f"{detail}\n", encoding="utf-8")


def _gigabytes(count: int) -> str:
    return f"{count / 1e9:.1f} GB"
