"""Make an assembly's picture and sound: what is there is used, the rest is made side by side."""

import concurrent.futures
import threading
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from desk.errors import FfmpegError, OutputError
from desk.ffmpeg.run import run
from desk.film.model import Delivery, Size
from desk.film.rates import SAMPLE_RATE_HZ, Rate
from desk.jobs import CancelToken, Progress, ProgressListener, no_progress
from desk.render.film_sound import FilmSound, Workshop, kept_loudness, make_film_sound
from desk.render.graph import piece_arguments
from desk.render.inputs import describe, piece_inputs
from desk.render.kit import Kit
from desk.render.plan import PicturePlan, Piece, piece_key
from desk.sound.loudness import Loudness
from desk.sound.master import Target, target_of
from desk.sound.plan import SceneSound, stem_key
from desk.sound.reading import Samples
from desk.sound.stems import LANES, Stem, mixed, stem_range, write_stem

_WAIT_SECONDS = 0.1
_SOUND_WEIGHT = 0.1
"""What a frame of sound costs beside a frame of picture, for the progress bar."""

_SOUND_ROUNDS = 3
"""How many times the sound is mostly gone through: measured, measured at its gain, encoded."""

_BLOCK_SAMPLES = 10 * SAMPLE_RATE_HZ
_MEASURED_LANES = ("dialogue", "music")


@dataclass(frozen=True, slots=True, kw_only=True)
class MadeStem:
    """A stem, ready to be mixed.

    Attributes:
        scene: Id of the scene that it belongs to.
        lane: Which lane of the scene.
        start_sample: The sample of the film on which it starts; may be before the film's first.
        stem: Its samples.
        loudness: How loud it is; None for effects.
    """

    scene: str
    lane: str
    start_sample: int
    stem: Stem
    loudness: Loudness | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """An assembly's picture and sound, ready to be put together.

    Attributes:
        pieces: The file of each piece, in the order of the plan.
        keys: The name of each.
        sound: The whole film's sound: its packets, what the master did, and how loud it is as decoded.
        target: How loud it was to be.
        stems: What it was mixed from.
        pieces_made: How many pieces of picture were made now.
        pieces_found: How many were there.
        sounds_made: How many stems and chunks of sound were made now.
        sounds_found: How many were there.
    """

    pieces: tuple[Path, ...]
    keys: tuple[str, ...]
    sound: FilmSound
    target: Target
    stems: tuple[MadeStem, ...]
    pieces_made: int
    pieces_found: int
    sounds_made: int
    sounds_found: int


def make_all(
    plan: PicturePlan,
    sounds: Sequence[SceneSound],
    delivery: Delivery,
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
        delivery: How loud the film is to be.
        kit: What to work with.
        progress: Told how far it is, from several threads.
        cancel: Stops it.

    Raises:
        MediaError: when a source can't be read.
        FfmpegError: when ffmpeg fails.
        OutputError: when the disk is full.
        Cancelled: when stopped on request.
    """
    return _Making(plan, sounds, delivery, kit, progress, cancel).run()


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
        delivery: Delivery,
        kit: Kit,
        progress: ProgressListener,
        cancel: CancelToken,
    ) -> None:
        self._plan = plan
        self._sounds = sounds
        self._delivery = delivery
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
        self._sound_left = _SOUND_WEIGHT * plan.frames
        self._meter = _Meter(picture + self._sound_left, progress)
        self._stems_made = self._stems_found = 0
        self._lock = threading.Lock()
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
        made_stems = tuple(stem.result() for stem in stems.values())
        target = target_of(self._delivery)
        sound = make_film_sound(
            [(made.start_sample - made.stem.start_sample, made.stem) for made in made_stems],
            self._plan.rate.samples(self._plan.frames),
            target,
            self._delivery.compression,
            Workshop(pool=pool, kit=self._kit, stop=self._stop, look=self._look, told=self._tell_sound),
        )
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
            target=target,
            stems=made_stems,
            pieces_made=len(self._missing),
            pieces_found=len(set(self._keys)) - len(self._missing),
            sounds_made=self._stems_made + sound.chunks_made,
            sounds_found=self._stems_found + sound.chunks_found,
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

    def _stem(self, index: int, lane: str, key: str) -> MadeStem:
        sound, kit, rate = self._sounds[index], self._kit, self._plan.rate
        bounds = stem_range(sound, lane, rate)
        assert bounds is not None
        path = kit.store.find(key)
        with self._lock:
            self._stems_found += path is not None
            self._stems_made += path is None
        if path is None:

            def write(part: Path) -> None:
                write_stem(sound, lane, rate, kit.files, kit.media, part, cancel=self._stop)

            path = kit.store.make(key, ".f32", write)
        stem = Stem(path, bounds[0])

        def blocks() -> Iterator[Samples]:
            # As if it were a film of its own.
            for block in mixed([(-bounds[0], stem)], bounds[1] - bounds[0], _BLOCK_SAMPLES):
                self._stop.check()
                yield block

        is_measured = lane in _MEASURED_LANES
        return MadeStem(
            scene=sound.scene,
            lane=lane,
            start_sample=rate.samples(sound.start_frames) + bounds[0],
            stem=stem,
            loudness=kept_loudness(["stem", key], blocks, kit) if is_measured else None,
        )

    def _tell_sound(self, samples: int, text: str) -> None:
        frames = float(samples * self._plan.rate.fraction / SAMPLE_RATE_HZ)
        with self._lock:
            share = min(self._sound_left, _SOUND_WEIGHT * frames / _SOUND_ROUNDS)
            self._sound_left -= share
        self._meter.add(share, "sound", text)
