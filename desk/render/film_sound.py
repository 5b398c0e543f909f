"""A film's sound from its stems to one track: mixed, mastered, encoded, and measured as a player decodes it.

The mix is worked on in stretches side by side. What is made of a stretch is kept under a hash of the samples
that go in, so a change in one scene leaves the rest as it was, unless the gain of the whole film changes.
"""

import concurrent.futures
import math
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TypeAlias, TypeVar

from desk.film.fingerprint import fingerprint
from desk.film.model import Compression
from desk.film.rates import SAMPLE_RATE_HZ
from desk.jobs import CancelToken
from desk.render.kit import Kit
from desk.sound.aac import (
    LAP_PACKETS,
    PACKET_SAMPLES,
    QUALITY,
    Chunk,
    decoded_chunk,
    decoded_track,
    encode_chunk,
    join_chunks,
)
from desk.sound.loudness import LOUDNESS_FORMAT, Loudness, measure
from desk.sound.master import HEARD_FORMAT, Found, Heard, Master, Target, find_master
from desk.sound.reading import Samples
from desk.sound.stems import Stem, mixed
from desk.sound.stretches import LAP_SAMPLES, STRETCH_PACKETS, Stretch, stretches

CODING_HEADROOM_DB = 0.3
"""How far below the ceiling the limiter begins, since a coded sound's peaks are other ones."""

MOST_TIMES = 6
"""How many ceilings are tried to get the true peak below the target's, as it is decoded."""

_TRIED_STRETCHES = 4
"""A ceiling is tried on the stretches first that are limited most; only then all are encoded."""

_AGAIN_DB = 0.1
_CEILINGS_PER_DB = 10
"""Ceilings are taken from steps of a tenth of a dB, so that what was made with one is found again."""

_BLOCK_SAMPLES = 10 * SAMPLE_RATE_HZ
_WAIT_SECONDS = 0.1

PlacedStem: TypeAlias = tuple[int, Stem]
"""A stem with the sample on which its scene starts in the film."""

_Made = TypeVar("_Made")


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmSound:
    """A film's sound, ready to be put beside its picture.

    Attributes:
        track: The AAC packets in MP4, the first of which is the encoder's priming.
        found: What was done to the mix.
        loudness: How loud it is as it is decoded.
        chunks_made: How many of the parts that it is encoded in were made now.
        chunks_found: How many were there.
    """

    track: Path
    found: Found
    loudness: Loudness
    chunks_made: int
    chunks_found: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Workshop:
    """What a film's sound is made with.

    Attributes:
        pool: Where stretches are worked on.
        kit: What rendering works with.
        stop: Stops what is at work.
        look: Looked into again and again while waiting; raises what ends it all.
        told: Told of work that is done: of how many samples, and what it was, for a person.
    """

    pool: concurrent.futures.ThreadPoolExecutor
    kit: Kit
    stop: CancelToken
    look: Callable[[], None]
    told: Callable[[int, str], None]


def make_film_sound(
    stems: Sequence[PlacedStem],
    samples: int,
    target: Target,
    compression: Compression,
    workshop: Workshop,
) -> FilmSound:
    """Make a film's sound, or find what of it was made before.

    Where its true peak as decoded is above the target's ceiling, a lower one is tried.

    Args:
        stems: What is mixed.
        samples: How long the film is.
        target: How loud it is to be.
        compression: How far loud and soft are brought together.
        workshop: What it is made with.

    Raises:
        FfmpegError: when the encoder fails.
        OutputError: when the disk is full.
        Cancelled: when stopped on request.
    """
    making = _Making(stems, samples, workshop)
    ceiling_dbtp = target.true_peak_dbtp - CODING_HEADROOM_DB
    for turn in range(MOST_TIMES):
        found = find_master(
            making.heard,
            integrated_lufs=target.integrated_lufs,
            ceiling_dbtp=ceiling_dbtp,
            compression=compression,
        )
        is_last = turn == MOST_TIMES - 1
        some = making.chunks(found.master, STRETCH_PACKETS, making.most_limited(found.master))
        over_db = _highest(some) - target.true_peak_dbtp
        if over_db <= 0 or is_last:
            chunks = making.chunks(found.master, STRETCH_PACKETS)
            over_db = _highest(chunks) - target.true_peak_dbtp
        if over_db <= 0 or is_last:
            track, chunks = making.joined(found.master, chunks)
            loudness = measured_track(track, samples, workshop)
            over_db = _peak_dbtp(loudness) - target.true_peak_dbtp
        if over_db <= 0 or is_last:
            break
        lower = (ceiling_dbtp - over_db - _AGAIN_DB) * _CEILINGS_PER_DB
        ceiling_dbtp = math.floor(round(lower, 6)) / _CEILINGS_PER_DB
    made = sum(chunk.name in making.chunks_made for chunk in chunks)
    return FilmSound(
        track=track, found=found, loudness=loudness, chunks_made=made, chunks_found=len(chunks) - made
    )


@dataclass(frozen=True, slots=True)
class _Coded:
    """An encoded chunk: its name, its file, and its true peak as it is decoded."""

    name: str
    path: Path
    peak_dbtp: float


def _peak_dbtp(loudness: Loudness) -> float:
    return -math.inf if loudness.true_peak_dbtp is None else loudness.true_peak_dbtp


def _highest(chunks: Sequence[_Coded]) -> float:
    return max((chunk.peak_dbtp for chunk in chunks), default=-math.inf)


def measured_track(track: Path, samples: int, workshop: Workshop) -> Loudness:
    """Return how loud a film's sound is as it is decoded.

    Args:
        track: The track.
        samples: How long the film is.
        workshop: What it was made with.
    """

    def blocks() -> Iterator[Samples]:
        for block in decoded_track(track, samples):
            workshop.look()
            yield block

    name = track.name.split(".")[0]
    return kept_loudness(["decoded", name, samples], blocks, workshop.kit)


def kept_loudness(what: Sequence[object], blocks: Callable[[], Iterator[Samples]], kit: Kit) -> Loudness:
    """Return how loud a sound is, measured now or before.

    Args:
        what: All that decides it.
        blocks: Gives it.
        kit: Where measurements are kept.
    """
    key = fingerprint(["loudness", LOUDNESS_FORMAT, *what])
    found = _kept(key, Loudness.from_bytes, kit)
    if found is None:
        found = measure(blocks())
        _keep(key, found.to_bytes(), kit)
    return found


def _kept(key: str, read: Callable[[bytes], _Made], kit: Kit) -> _Made | None:
    path = kit.store.find(key)
    try:
        return None if path is None else read(path.read_bytes())
    except (OSError, ValueError):
        return None


def _keep(key: str, data: bytes, kit: Kit) -> None:
    def write(part: Path) -> None:
        part.write_bytes(data)

    kit.store.make(key, ".loud", write)


class _Making:
    """One film's sound in the making.

    The names of stretches are remembered, so that where all that is wanted of them is there, they need not be
    mixed again.
    """

    def __init__(self, stems: Sequence[PlacedStem], samples: int, workshop: Workshop) -> None:
        self.chunks_made: set[str] = set()
        self._stems = stems
        self._samples = samples
        self._shop = workshop
        self._named: dict[tuple[object, ...], list[str]] = {}
        self._reductions: dict[Master, list[float]] = {}

    def heard(self, master: Master) -> Heard:
        """Return how loud the mix is behind a master."""
        kit = self._shop.kit

        def key_of(name: str) -> str:
            return fingerprint(["heard", *HEARD_FORMAT, name, *master.finish])

        def find(name: str) -> Heard | None:
            return _kept(key_of(name), Heard.from_bytes, kit)

        def make(name: str, stretch: Stretch) -> Heard:
            made = Heard.of(stretch, master)
            _keep(key_of(name), made.to_bytes(), kit)
            return made

        parts = self._each(master, STRETCH_PACKETS, "Measuring the sound", find, make)
        self._reductions[master] = [part.reduction_db for part in parts]
        return Heard.together(parts)

    def most_limited(self, master: Master) -> frozenset[int]:
        """Return the places of the stretches that are limited most; none of a silent film."""
        reductions = self._reductions.get(master, [])
        most = sorted(range(len(reductions)), key=lambda index: -reductions[index])[:_TRIED_STRETCHES]
        return frozenset(index for index in most if reductions[index] > 0)

    def chunks(self, master: Master, packets: int, only: frozenset[int] | None = None) -> list[_Coded]:
        """Return the encoded chunks of the mix behind a master, or some of them, in order."""
        kit = self._shop.kit

        def key_of(name: str) -> str:
            return fingerprint(["chunk", name, *master.finish, kit.program.version, QUALITY])

        def coded(key: str, path: Path) -> _Coded:
            loudness = kept_loudness(["chunk", key], lambda: decoded_chunk(path), kit)
            return _Coded(key, path, _peak_dbtp(loudness))

        def find(name: str) -> _Coded | None:
            key = key_of(name)
            path = kit.store.find(key)
            return None if path is None else coded(key, path)

        def make(name: str, stretch: Stretch) -> _Coded:
            key = key_of(name)
            samples = master.finished(stretch)[0].within(LAP_SAMPLES, LAP_SAMPLES).samples

            def write(part: Path) -> None:
                encode_chunk(Chunk(samples, 0), kit.program, part, cancel=self._shop.stop)

            self.chunks_made.add(key)
            return coded(key, kit.store.make(key, ".aac", write))

        return self._each(master, packets, "Encoding the sound", find, make, only)

    def joined(self, master: Master, chunks: list[_Coded]) -> tuple[Path, list[_Coded]]:
        """Return the track of all chunks; and those, which are another one where they did not agree."""
        kit = self._shop.kit
        key = fingerprint(["sound", kit.program.version, [chunk.name for chunk in chunks]])
        track = kit.store.find(key)
        if track is not None:
            return track, chunks
        placed = [
            (max(0, index * STRETCH_PACKETS - LAP_PACKETS), chunk.path) for index, chunk in enumerate(chunks)
        ]
        agreed = True

        def write(part: Path) -> None:
            nonlocal agreed
            agreed = join_chunks(placed, part, kit.program, cancel=self._shop.stop)
            if not agreed:
                part.touch()

        track = kit.store.make(key, ".m4a", write)
        if agreed:
            return track, chunks
        track.unlink()
        return self.joined(master, self.chunks(master, self._samples // PACKET_SAMPLES + 1))

    def _each(
        self,
        master: Master,
        packets: int,
        text: str,
        find: Callable[[str], _Made | None],
        make: Callable[[str, Stretch], _Made],
        only: frozenset[int] | None = None,
    ) -> list[_Made]:
        """Return what is found, or else made, of each stretch of the compressed mix, or of some, in order."""
        known = self._named.get((master.compressor, packets))
        if known is not None:
            wanted = [name for index, name in enumerate(known) if only is None or index in only]
            there = [item for item in map(find, wanted) if item is not None]
            if len(there) == len(wanted):
                return there

        def work(name: str, stretch: Stretch) -> _Made:
            self._shop.stop.check()
            made = find(name)
            if made is None:
                made = make(name, stretch)
            self._shop.told(stretch.length, text)
            return made

        jobs: deque[concurrent.futures.Future[_Made]] = deque()
        names: list[str] = []
        done: list[_Made] = []
        for index, stretch in enumerate(stretches(master.compressed(self._mix()), packets)):
            names.append(stretch.digest())
            if only is not None and index not in only:
                continue
            # Only so many stretches are held at once, however long the film is.
            if len(jobs) > self._shop.kit.workers:
                done.append(self._result(jobs.popleft()))
            jobs.append(self._shop.pool.submit(work, names[-1], stretch))
        done += [self._result(job) for job in jobs]
        self._named[master.compressor, packets] = names
        return done

    def _mix(self) -> Iterator[Samples]:
        for block in mixed(self._stems, self._samples, _BLOCK_SAMPLES):
            self._shop.look()
            yield block

    def _result(self, job: "concurrent.futures.Future[_Made]") -> _Made:
        while True:
            done, _ = concurrent.futures.wait([job], timeout=_WAIT_SECONDS)
            self._shop.look()
            if done:
                return job.result()
