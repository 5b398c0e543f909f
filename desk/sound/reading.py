"""The sound of a file as samples: 48 kHz, stereo, from an exact place.

Second 0 of a file with a picture is its first picture, so that sound stays with picture however the container
counts; a file without a picture begins at its first sample.
"""

import itertools
import math
from collections.abc import Generator, Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import TypeAlias

import av
import numpy as np
import soxr
from av.audio.stream import AudioStream
from av.container import InputContainer
from numpy.typing import NDArray

from desk.errors import MediaError
from desk.film.content_faults import DAY_SECONDS
from desk.film.media import MediaFacts
from desk.film.rates import SAMPLE_RATE_HZ
from desk.footage.reading import open_media, packets_of
from desk.jobs import CancelToken, Progress, ProgressListener, no_progress

Samples: TypeAlias = NDArray[np.float32]
"""Shape (n, 2): left and right, 1.0 is full scale."""

_SEEK_EARLIER_SECONDS = Fraction(1, 2)
_STEADY_SECONDS = Fraction(1, 200)
"""Phones round the times of packets: up to this much off, sound goes on without a seam."""

_SETTLE_SAMPLES = 2400
_SETTLE_SOURCE_SAMPLES = 256
"""A resampler is fed so much before the first sample that is used, and after the last."""

_MOST_PHASES = 1024
_SILENCE_SAMPLES = SAMPLE_RATE_HZ


def read_sound(
    path: Path, facts: MediaFacts, *, in_seconds: Fraction, samples: int, speed: Fraction = Fraction(1)
) -> Generator[Samples]:
    """Give `samples` samples from a place in a file, in blocks; silence where the file has none.

    Memory does not grow with the length. At another speed than 1, pitch follows speed, as on tape. Reading in
    two goes gives what reading in one does, as far as the file's coding allows.

    Args:
        path: The file.
        facts: What was read of it.
        in_seconds: Where it begins, from the file's second 0; may be before it.
        samples: How many samples at 48 kHz.
        speed: File seconds for each second.

    Raises:
        MediaError: when it can't be read.
    """
    if facts.sound is None:
        yield from _silence(samples)
        return
    source_hz = facts.sound.sample_rate_hz
    step = Fraction(source_hz) * speed / SAMPLE_RATE_HZ
    zero = facts.picture.start_pts * facts.picture.time_base if facts.picture else None
    place = in_seconds * source_hz
    if step == 1:
        first = _nearest(place)
        yield from _source_blocks(path, zero, first, first + samples)
        return
    skip = _lead_samples(place, step)
    first = _nearest(place - skip * step)
    end = first + math.ceil((skip + samples + _SETTLE_SAMPLES) * step) + _SETTLE_SOURCE_SAMPLES
    resampler = soxr.ResampleStream(float(step * SAMPLE_RATE_HZ), SAMPLE_RATE_HZ, 2, dtype="float32")
    left = samples
    for block in _source_blocks(path, zero, first, end):
        made = resampler.resample_chunk(block)
        used = made[skip : skip + left]
        skip = max(0, skip - len(made))
        if len(used):
            left -= len(used)
            yield used
    made = resampler.resample_chunk(np.zeros((0, 2), np.float32), last=True)[skip : skip + left]
    yield made
    yield from _silence(left - len(made))


def read_whole(
    path: Path,
    facts: MediaFacts,
    *,
    stage: str,
    progress: ProgressListener = no_progress,
    cancel: CancelToken | None = None,
) -> Iterator[Samples]:
    """Give all samples of a file from its second 0 on, for 24 hours at most; none of a file without sound.

    Args:
        path: The file.
        facts: What was read of it.
        stage: What is done with them, for `progress`.
        progress: Told how far it is.
        cancel: Stops it.

    Raises:
        MediaError: when it can't be read.
        Cancelled: when stopped on request.
    """
    if facts.sound is None:
        return
    # Sound may begin after the picture, and then ends later by as much.
    seconds = [part.seconds for part in (facts.picture, facts.sound) if part]
    samples = math.ceil(min(max(seconds), Fraction(DAY_SECONDS)) * SAMPLE_RATE_HZ)
    done, told = 0, -1
    for block in read_sound(path, facts, in_seconds=Fraction(0), samples=samples):
        if cancel is not None:
            cancel.check()
        yield block
        done += len(block)
        if 100 * done // samples > told:
            told = 100 * done // samples
            progress(Progress(stage, f"Listening to “{path.name}”", done / samples))


def _silence(samples: int) -> Iterator[Samples]:
    for at in range(0, samples, _SILENCE_SAMPLES):
        yield np.zeros((min(_SILENCE_SAMPLES, samples - at), 2), np.float32)


def _nearest(place: Fraction) -> int:
    """Return the nearest whole number; halves always go up, so that places a whole apart stay so."""
    return math.floor(place + Fraction(1, 2))


def _lead_samples(place: Fraction, step: Fraction) -> int:
    """Return how many samples before `place` to begin: on a whole sample of the source, or near one."""
    least = max(_SETTLE_SAMPLES, math.ceil(_SETTLE_SOURCE_SAMPLES / step))

    def off(lead: int) -> Fraction:
        start = place - lead * step
        return abs(start - _nearest(start))

    return min(range(least, least + min(step.denominator, _MOST_PHASES)), key=off)


def _source_blocks(path: Path, zero_seconds: Fraction | None, first: int, end: int) -> Iterator[Samples]:
    """Give a file's samples from `first` to `end`, at its own rate and from its second 0, without a gap."""
    at = first
    for start, block in _decoded(path, zero_seconds, first):
        if start >= end:
            break
        if start > at:
            gap = min(start, end) - at
            yield from _silence(gap)
            at += gap
        used = block[max(0, at - start) : end - start]
        if len(used):
            yield used
            at += len(used)
        if at >= end:
            return
    yield from _silence(end - at)


@dataclass(frozen=True, slots=True)
class _Clock:
    """How a file's time stamps become samples from its second 0.

    Attributes:
        time_base: Seconds of one tick.
        source_hz: Samples a second.
        zero_seconds: The time stamp of second 0.
        grid: Where decoded frames end, if they do so regularly: a place, and the distance to the next.
    """

    time_base: Fraction
    source_hz: int
    zero_seconds: Fraction
    grid: tuple[int, int] | None = None

    def start(self, pts: int, samples: int) -> int:
        """Return the first sample of a frame of so many, to the sample although the clock may be coarser."""
        start = _nearest((pts * self.time_base - self.zero_seconds) * self.source_hz)
        if self.grid is None:
            return start
        place, distance = self.grid
        end = place + _nearest(Fraction(start + samples - place, distance)) * distance
        off = abs(end - samples - start)
        return end - samples if off <= 2 * self.time_base * self.source_hz else start


def _decoded(path: Path, zero_seconds: Fraction | None, first: int) -> Iterator[tuple[int, Samples]]:
    """Give decoded blocks with the sample, from second 0, on which each starts."""
    with open_media(path, try_picture=False) as container:
        stream = container.streams.audio[0]
        time_base, source_hz = Fraction(stream.time_base or 1), stream.rate
        begin = Fraction(stream.start_time or 0) * time_base
        clock = _Clock(time_base, source_hz, begin if zero_seconds is None else zero_seconds)
        wanted = clock.zero_seconds + Fraction(first, source_hz) - _SEEK_EARLIER_SECONDS
        if wanted > begin:
            if time_base * source_hz > 1:
                clock = _with_grid(clock, container, stream)
            container.seek(int(wanted / time_base), stream=stream, backward=True, any_frame=False)
        layout = "mono" if stream.channels == 1 else "stereo"
        to_stereo = av.AudioResampler(format="fltp", layout=layout, rate=source_hz)
        expected: int | None = None
        for frame in _frames(container, stream):
            if frame.pts is None:
                continue
            block = _stereo(frame, to_stereo)
            start = clock.start(frame.pts, len(block))
            if expected is not None and abs(start - expected) <= _STEADY_SECONDS * source_hz:
                start = expected
            yield start, block
            expected = start + len(block)
        if expected is None and wanted <= begin:
            raise MediaError(
                f"The sound of “{path}” can't be read.",
                advice="Replace the file or set the clip to silence.",
                path=path,
            )


def _with_grid(clock: _Clock, container: InputContainer, stream: AudioStream) -> _Clock:
    """Return a clock with where frames end, told from the file's first ones."""
    frames = [frame for frame in itertools.islice(_frames(container, stream), 3) if frame.pts is not None]
    if len(frames) < 3 or frames[1].samples != frames[2].samples or frames[0].pts is None:
        return clock
    end = clock.start(frames[0].pts, frames[0].samples) + frames[0].samples
    return _Clock(clock.time_base, clock.source_hz, clock.zero_seconds, (end, frames[1].samples))


def _frames(container: InputContainer, stream: AudioStream) -> Iterator[av.AudioFrame]:
    """Give decoded frames; what can't be decoded is left out, and is silent."""
    for packet in itertools.chain(packets_of(container, stream), [None]):
        try:
            frames = stream.decode(packet)
        except av.FFmpegError:
            continue
        yield from frames


def _stereo(frame: av.AudioFrame, resampler: av.AudioResampler) -> Samples:
    """Return a frame as stereo; a single channel goes to both sides at its own level."""
    planes = [out.to_ndarray().T for out in resampler.resample(frame)]
    joined = np.concatenate(planes).astype(np.float32, copy=False) if planes else np.zeros((0, 2), np.float32)
    return joined if joined.shape[1] > 1 else np.repeat(joined, 2, axis=1)
