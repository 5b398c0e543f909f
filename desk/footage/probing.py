"""Probes many files at once, and remembers what was read."""

import contextlib
import os
import re
import threading
from collections.abc import Iterable
from concurrent.futures import Future, ThreadPoolExecutor, as_completed
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import msgspec

from desk.errors import MediaError
from desk.files import output_error, write_whole
from desk.film.media import MediaFacts
from desk.footage.order import path_key
from desk.footage.probe import probe
from desk.jobs import CancelToken, Progress, ProgressListener, no_progress

CACHE_VERSION = 1
"""Rises when facts are read in another way, so that old ones are read anew."""

_MOST_WORKERS = 4
_FRACTION = re.compile(r"-?[0-9]{1,40}(/0*[1-9][0-9]{0,40})?")


@dataclass(frozen=True, slots=True)
class Probed:
    """What came of probing many files.

    Attributes:
        facts: Facts by path, for the files that could be read.
        problems: What was wrong with the others, in natural order; each names its path.
    """

    facts: dict[Path, MediaFacts]
    problems: tuple[MediaError, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Entry:
    size_bytes: int
    mtime_ns: int
    facts: MediaFacts


@dataclass(frozen=True, slots=True, kw_only=True)
class _CacheFile:
    version: int
    entries: dict[str, _Entry]


class ProbeCache:
    """Facts kept in a JSON file, by path, size and time of change.

    A missing or damaged file is an empty cache. May be used from several threads. Does not promise to keep
    what two programs add at the same time: the last one to save wins, and the other's facts are read anew.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self._lock = threading.Lock()
        self._entries: dict[str, _Entry] = {}
        self._changed = False
        with contextlib.suppress(OSError, msgspec.DecodeError, ValueError, RecursionError):
            read = msgspec.json.decode(path.read_bytes(), type=_CacheFile, dec_hook=_decode_fraction)
            if read.version == CACHE_VERSION:
                self._entries = dict(read.entries)

    def get(self, path: Path) -> MediaFacts | None:
        """Return the facts of a file that is as it was when they were kept, else None."""
        state = _file_state(path)
        with self._lock:
            entry = self._entries.get(str(path.absolute()))
        if state is None or entry is None or (entry.size_bytes, entry.mtime_ns) != state:
            return None
        return entry.facts

    def put(self, path: Path, facts: MediaFacts) -> None:
        """Keep the facts of a file. `save` writes them."""
        state = _file_state(path)
        if state is None:
            return
        with self._lock:
            self._entries[str(path.absolute())] = _Entry(size_bytes=state[0], mtime_ns=state[1], facts=facts)
            self._changed = True

    def save(self) -> None:
        """Write the cache where something was added; files that are gone are left out.

        Raises:
            OutputError: when the disk refuses; the old cache is then untouched.
        """
        with self._lock:
            if not self._changed:
                return
            kept = {
                name: entry for name, entry in self._entries.items() if _is_text(name) and Path(name).exists()
            }
            file = _CacheFile(version=CACHE_VERSION, entries=kept)
            try:
                self._path.parent.mkdir(parents=True, exist_ok=True)
            except OSError as error:
                raise output_error(self._path, error) from error
            write_whole(self._path, msgspec.json.encode(file, enc_hook=_encode_fraction))
            self._changed = False


def probe_all(
    paths: Iterable[Path],
    *,
    cache: ProbeCache | None = None,
    progress: ProgressListener = no_progress,
    cancel: CancelToken | None = None,
) -> Probed:
    """Return the facts of many files, read several at a time; one bad file doesn't stop the others.

    What was read is put into the cache, also when the work is cancelled; the caller saves it.

    Args:
        paths: The files; one that is named twice is read once.
        cache: Facts from earlier, or None.
        progress: Told after each file, from this thread; its stage is `probe`.
        cancel: Stops the work between two packets of a file.

    Raises:
        Cancelled: when `cancel` is set.
    """
    cancel = cancel or CancelToken()
    wanted = list(dict.fromkeys(paths))
    facts: dict[Path, MediaFacts] = {}
    problems: dict[Path, MediaError] = {}
    for path in wanted:
        known = cache.get(path) if cache else None
        if known is not None:
            facts[path] = known
    missing = [path for path in wanted if path not in facts]
    with ThreadPoolExecutor(max_workers=min(_MOST_WORKERS, os.cpu_count() or 1)) as pool:
        work: dict[Future[MediaFacts], Path] = {
            pool.submit(_probe_one, path, cache, cancel): path for path in missing
        }
        try:
            for done, future in enumerate(as_completed(work), start=1):
                path = work[future]
                try:
                    facts[path] = future.result()
                except MediaError as error:
                    problems[path] = error
                progress(Progress("probe", f"Reading footage: {path.name}", done / len(missing)))
        finally:
            pool.shutdown(wait=False, cancel_futures=True)
    return Probed(
        {path: facts[path] for path in wanted if path in facts},
        tuple(problems[path] for path in sorted(problems, key=path_key)),
    )


def _probe_one(path: Path, cache: ProbeCache | None, cancel: CancelToken) -> MediaFacts:
    cancel.check()
    facts = probe(path, check=cancel.check)
    if cache is not None:
        cache.put(path, facts)
    return facts


def _file_state(path: Path) -> tuple[int, int] | None:
    try:
        status = path.stat()
    except (OSError, ValueError):
        return None
    return status.st_size, status.st_mtime_ns


def _is_text(name: str) -> bool:
    try:
        name.encode()
    except UnicodeEncodeError:
        return False
    return True


def _encode_fraction(value: object) -> str:
    if isinstance(value, Fraction):
        return str(value)
    raise NotImplementedError(type(value).__name__)


def _decode_fraction(kind: type[Any], value: object) -> Fraction:
    # Nothing but digits: an exponent could ask for a number that fills the memory.
    if kind is Fraction and isinstance(value, str) and _FRACTION.fullmatch(value):
        return Fraction(value)
    raise ValueError(f"{value!r} is no {kind.__name__}")
