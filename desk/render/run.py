"""Make an assembly's picture and sound: what is there is used, the rest is made side by side."""

import concurrent.futures
import hashlib
import threading
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from desk.errors import FfmpegError, OutputError
from desk.ffmpeg.run import run
from desk.film.fingerprint import fingerprint
from desk.film.model import Size
from desk.film.rates import SAMPLE_RATE_HZ, Rate
from desk.jobs import CancelToken, Progress, ProgressListener, no_progress
from desk.render.graph import piece_arguments
from desk.render.inputs import describe, piece_inputs
from desk.render.kit import Kit
from desk.render.plan import PicturePlan, Piece, piece_key
from desk.sound.aac import CHUNK_PACKETS, PACKET_SAMPLES, QUALITY, Chunk, chunks, encode_chunk, join_chunks
from desk.sound.plan import SceneSound, stem_key
from desk.sound.reading import Samples
from desk.sound.stems import LANES, Stem, mixed, stem_range, write_stem

_WAIT_SECONDS = 0.1
_SOUND_WEIGHT = 0.1
"""What a frame of sound costs beside a frame of picture, for the progress bar."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """An assembly's picture and sound, ready to be put together.

    Attributes:
        pieces: The file of each piece, in the order of the plan.
        keys: The name of each.
        sound: The whole film's sound as AAC packets.
        pieces_made: How many pieces of picture were made now.
        pieces_found: How many were there.
        sounds_made: How many stems and chunks of sound were made now.
        sounds_found: How many were there.
        peak: Highest sample of the mix; above 1.0 it distorts.
    """

    pieces: tuple[Path, ...]
    keys: tuple[str, ...]
    sound: Path
    pieces_made: int
    pieces_found: int
    sounds_made: int
    sounds_found: int
    peak: float


def make_all(
    plan: PicturePlan,
    sounds: Sequence[SceneSound],
    kit: Kit,
    *,
    progress: ProgressListener,
    cancel: CancelToken,
) -> Made:
    """Make whatever of an assembly is not there yet.

    What is finished stays, also when this ends early: the next time goes on from there.

    Args:
        plan: The picture.
        sounds: The sound of each scene.
        kit: What to work with.
        progress: Told how far it is, from several threads.
        cancel: Stops it.

    Raises:
        MediaError: when a source can't be read.
        FfmpegError: when ffmpeg fails.
        OutputError: when the disk is full.
        Cancelled: when stopped on request.
    """
    return _Making(plan, sounds, kit, progress, cancel).run()


def needed_pieces(plan: PicturePlan, kit: Kit) -> dict[str, Piece]:
    """Return the pieces of a plan that are not there yet, by name."""
    names = {key_of(placed.piece, plan.rate, plan.size, kit): placed.piece for placed in plan.placed}
    return {key: piece for key, piece in names.items() if kit.store.find(key) is None}


def make_piece(
    piece: Piece,
    *,
    rate: Rate,
    size: Size,
    kit: Kit,
    cancel: CancelToken,
    progress: ProgressListener = no_progress,
    low_priority: bool = False,
    is_held: Callable[[], bool] | None = None,
) -> Path:
    """Make one piece, where it is not there yet, and return its file.

    Args:
        piece: The piece.
        rate: The film's rate.
        size: Its frame size.
        kit: What to work with.
        cancel: Stops it.
        progress: Told how far it is.
        low_priority: Whether everything else that wants the machine comes first.
        is_held: Asked a few times a second; while it says so the work stands still.

    Raises:
        MediaError: when a source can't be read.
        FfmpegError: when ffmpeg fails.
        OutputError: when the disk is full.
        AssemblyError: when a card's text does not fit.
        Cancelled: when stopped on request.
    """
    key = key_of(piece, rate, size, kit)
    found = kit.store.find(key)
    meter = _Meter(piece.frames, progress)
    if found is not None:
        return found
    return _make(key, piece, rate, size, kit, cancel, meter, low_priority=low_priority, is_held=is_held)


def key_of(piece: Piece, rate: Rate, size: Size, kit: Kit) -> str:
    """Return the name that a piece has in the store.

    Args:
        piece: The piece.
        rate: The film's rate.
        size: Its frame size.
        kit: What it is made with.
    """
    making: dict[str, str | int] = {
        "ffmpeg": kit.program.version,
        "preset": kit.encoding.preset,
        "crf": kit.encoding.crf,
        "key_seconds": kit.encoding.key_seconds,
        "drawing": kit.drawer.DRAWING_VERSION,
    }
    return piece_key(piece, rate=rate, size=size, making=making)


class _Meter:
    """Adds up work done in several threads, in frames."""

    def __init__(self, total: float, listener: ProgressListener) -> None:
        self._total = max(total, 1e-9)
        self._listener = listener
        self._done = 0.0
        self._lock = threading.Lock()

    def add(self, amount: float, stage: str, text: str) -> None:
        with self._lock:
            self._done += amount
            fraction = min(1.0, self._done / self._total)
            self._listener(Progress(stage, text, fraction))


def _make(
    key: str,
    piece: Piece,
    rate: Rate,
    size: Size,
    kit: Kit,
    cancel: CancelToken,
    meter: _Meter,
    *,
    low_priority: bool = False,
    is_held: Callable[[], bool] | None = None,
) -> Path:
    inputs = piece_inputs(piece, rate=rate, size=size, kit=kit)
    reported = 0

    def on_frame(frame: int) -> None:
        nonlocal reported
        frame = min(frame, piece.frames)
        meter.add(frame - reported, "pieces", "Making pieces")
        reported = frame

    def write(part: Path) -> None:
        arguments = piece_arguments(piece, inputs, rate=rate, size=size, encoding=kit.encoding, target=part)
        run(
            kit.program,
            arguments,
            cancel=cancel,
            on_frame=on_frame,
            doing=describe(piece),
            low_priority=low_priority,
            is_held=is_held,
        )
        if reported < piece.frames:
            raise FfmpegError(
                f"ffmpeg made only {reported} of {piece.frames} frames of {describe(piece)}.",
                advice="Look at the footage named, or replace it.",
                code="ffmpeg.too-few-frames",
            )

    path = kit.store.make(key, ".mp4", write)
    on_frame(piece.frames)
    return path


class _Making:
    def __init__(
        self,
        plan: PicturePlan,
        sounds: Sequence[SceneSound],
        kit: Kit,
        progress: ProgressListener,
        cancel: CancelToken,
    ) -> None:
        self._plan = plan
        self._sounds = sounds
        self._kit = kit
        self._cancel = cancel
        self._stop = CancelToken()
        self._keys = tuple(key_of(placed.piece, plan.rate, plan.size, kit) for placed in plan.placed)
        self._missing = needed_pieces(plan, kit)
        self._stems = {
            (index, lane): stem_key(sound, lane, plan.rate, kit.media)
            for index, sound in enumerate(sounds)
            for lane in LANES
            if stem_range(sound, lane, plan.rate)
        }
        picture = sum(piece.frames for piece in self._missing.values())
        self._meter = _Meter(picture + _SOUND_WEIGHT * plan.frames, progress)
        self._sounds_made = self._sounds_found = 0
        self._peak = 0.0
        self._watched: set[concurrent.futures.Future[None]] = set()

    def run(self) -> Made:
        with concurrent.futures.ThreadPoolExecutor(self._kit.workers) as pool:
            try:
                return self._run(pool)
            except BaseException:
                self._stop.set()
                pool.shutdown(wait=True, cancel_futures=True)
                raise

    def _run(self, pool: concurrent.futures.ThreadPoolExecutor) -> Made:
        stems = {name: pool.submit(self._stem, *name, key) for name, key in self._stems.items()}
        # Long pieces first, so that the last ones to finish are short.
        longest_first = sorted(self._missing.items(), key=lambda item: -item[1].frames)
        pieces = [pool.submit(self._piece, key, piece) for key, piece in longest_first]
        self._watched = set(pieces)
        self._wait(stems.values())
        placed = [
            (self._plan.rate.samples(self._sounds[index].start_frames), stem.result())
            for (index, _), stem in stems.items()
        ]
        sound = self._sound(pool, placed, CHUNK_PACKETS)
        self._wait(pieces)
        pieces_made = [self._kit.store.find(key) for key in self._keys]
        paths = tuple(path for path in pieces_made if path is not None)
        if len(paths) < len(self._keys):
            raise OutputError(
                f"A piece that was made is gone from “{self._kit.store.folder}”.",
                advice="Assemble again; the others are kept.",
                path=self._kit.store.folder,
            )
        return Made(
            pieces=paths,
            keys=self._keys,
            sound=sound,
            pieces_made=len(self._missing),
            pieces_found=len(set(self._keys)) - len(self._missing),
            sounds_made=self._sounds_made,
            sounds_found=self._sounds_found,
            peak=self._peak,
        )

    def _wait(self, jobs: "Iterable[concurrent.futures.Future[Any]]") -> None:
        """Wait for jobs; the first fault ends it all."""
        left = set(jobs)
        while left:
            done, left = concurrent.futures.wait(
                left, timeout=_WAIT_SECONDS, return_when=concurrent.futures.FIRST_COMPLETED
            )
            for job in done:
                job.result()
            self._look()

    def _look(self) -> None:
        """End it all where a piece has failed, also while sound is waited for, or a stop is asked for."""
        done = {job for job in self._watched if job.done()}
        self._watched -= done
        for job in done:
            job.result()
        self._cancel.check()

    # -- picture

    def _piece(self, key: str, piece: Piece) -> None:
        _make(key, piece, self._plan.rate, self._plan.size, self._kit, self._stop, self._meter)

    # -- sound

    def _stem(self, index: int, lane: str, key: str) -> Stem:
        sound, kit, rate = self._sounds[index], self._kit, self._plan.rate
        bounds = stem_range(sound, lane, rate)
        assert bounds is not None
        path = kit.store.find(key)
        self._count(found=path is not None)
        if path is None:

            def write(part: Path) -> None:
                write_stem(sound, lane, rate, kit.files, kit.media, part, cancel=self._stop)

            path = kit.store.make(key, ".f32", write)
        return Stem(path, bounds[0])

    def _sound(
        self,
        pool: concurrent.futures.ThreadPoolExecutor,
        stems: Sequence[tuple[int, Stem]],
        chunk_packets: int,
    ) -> Path:
        """Return the film's sound as one stream of packets."""
        samples = self._plan.rate.samples(self._plan.frames)
        slots = threading.Semaphore(self._kit.workers + 1)
        jobs: list[concurrent.futures.Future[tuple[int, str, Path]]] = []
        for chunk in chunks(self._measured(stems, samples), chunk_packets):
            # Only so many chunks are held at once, however long the film is.
            while not slots.acquire(timeout=_WAIT_SECONDS):
                self._wait(job for job in jobs if job.done())
                self._look()
            job = pool.submit(self._chunk, chunk)
            job.add_done_callback(lambda _: slots.release())
            jobs.append(job)
        self._wait(jobs)
        parts = [job.result() for job in jobs]
        key = fingerprint(["sound", self._kit.program.version, [name for _, name, _ in parts]])
        found = self._kit.store.find(key)
        if found:
            return found
        agreed = True

        def write(part: Path) -> None:
            nonlocal agreed
            agreed = join_chunks(
                [(first, path) for first, _, path in parts], part, self._kit.program, cancel=self._stop
            )
            if not agreed:
                part.touch()

        path = self._kit.store.make(key, ".m4a", write)
        if agreed:
            return path
        path.unlink()
        return self._sound(pool, stems, samples // PACKET_SAMPLES + 1)

    def _measured(self, stems: Sequence[tuple[int, Stem]], samples: int) -> Iterator[Samples]:
        for block in mixed(stems, samples, 10 * PACKET_SAMPLES * 48):
            self._peak = max(self._peak, float(abs(block).max(initial=0)))
            yield block

    def _chunk(self, chunk: Chunk) -> tuple[int, str, Path]:
        digest = hashlib.blake2b(chunk.samples.tobytes(), digest_size=16).hexdigest()
        key = fingerprint(["chunk", digest, self._kit.program.version, QUALITY])
        path = self._kit.store.find(key)
        self._count(found=path is not None)
        if path is None:

            def write(part: Path) -> None:
                encode_chunk(chunk, self._kit.program, part, cancel=self._stop)

            path = self._kit.store.make(key, ".aac", write)
        frames = len(chunk.samples) * self._plan.rate.fraction / SAMPLE_RATE_HZ
        self._meter.add(_SOUND_WEIGHT * float(frames), "sound", "Encoding the sound")
        return chunk.first_packet, key, path

    def _count(self, *, found: bool) -> None:
        if found:
            self._sounds_found += 1
        else:
            self._sounds_made += 1
