"""The outline of a sound for drawing: lowest and highest sample of each short stretch, at several zooms."""

import struct
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from desk.film.fingerprint import fingerprint
from desk.film.media import MediaFacts
from desk.jobs import CancelToken, ProgressListener, no_progress
from desk.sound.reading import Samples, read_whole

WAVEFORM_FORMAT = 1
"""Grows when outlines are made or kept in another way, so that old ones are not used."""

BIN_SAMPLES = (256, 2048, 16384)
"""Samples of a stretch at each zoom, finest first: 5, 43 and 341 ms. Each divides the next."""

FULL_SCALE = 32767

_HEAD = struct.Struct("<4sHQ")
_MAGIC = b"wave"

Peaks: TypeAlias = NDArray[np.int16]
"""Lowest or highest samples; `FULL_SCALE` is full scale."""


@dataclass(frozen=True, slots=True, eq=False)
class Outline:
    """A sound at one zoom.

    Attributes:
        bin_samples: Samples of a stretch.
        low: The lowest sample of each, of all channels.
        high: The highest.
    """

    bin_samples: int
    low: Peaks
    high: Peaks


@dataclass(frozen=True, slots=True, eq=False)
class Waveform:
    """A sound at all zooms.

    Attributes:
        samples: How long it is, at 48 kHz.
        outlines: One for each of `BIN_SAMPLES`.
    """

    samples: int
    outlines: tuple[Outline, ...]

    def columns(self, first_sample: int, end_sample: int, count: int) -> tuple[Peaks, Peaks]:
        """Return the lowest and highest samples for columns of a drawing; silence outside of the sound.

        No sample of a column is left out; one that is up to a stretch beside it may count too.

        Args:
            first_sample: Where the first column begins, at 48 kHz; may be before the sound.
            end_sample: Where the last one ends.
            count: How many columns there are, 1 or more.
        """
        width = (end_sample - first_sample) / count
        fitting = [outline for outline in self.outlines if outline.bin_samples <= width]
        outline = fitting[-1] if fitting else self.outlines[0]
        edges = first_sample + np.arange(count + 1) * width
        starts = np.floor(edges[:-1] / outline.bin_samples).astype(np.int64)
        ends = np.maximum(np.ceil(edges[1:] / outline.bin_samples).astype(np.int64), starts + 1)
        bins = len(outline.low)
        inside = np.flatnonzero((ends > 0) & (starts < bins))
        low, high = np.zeros(count, np.int16), np.zeros(count, np.int16)
        if len(inside):
            first, last = max(0, int(starts[inside[0]])), min(bins, int(ends[inside[-1]]))
            pairs = np.stack([starts[inside], ends[inside]], axis=1).clip(first, last).ravel() - first
            for made, kept, extreme in ((low, outline.low, np.minimum), (high, outline.high, np.maximum)):
                # The last end must be a place too; what it holds is not used.
                part = np.append(kept[first:last], np.int16(0))
                made[inside] = extreme.reduceat(part, pairs)[::2]
        return low, high

    def to_bytes(self) -> bytes:
        """Return it as bytes: the finest zoom, of which the others are made again."""
        finest = self.outlines[0]
        pairs = np.stack([finest.low, finest.high], axis=1).astype("<i2")
        return _HEAD.pack(_MAGIC, WAVEFORM_FORMAT, self.samples) + pairs.tobytes()

    @classmethod
    def from_bytes(cls, data: bytes) -> "Waveform":
        """Return what `to_bytes` gave.

        Raises:
            ValueError: when the bytes are not those of a whole outline of this format.
        """
        if len(data) < _HEAD.size:
            raise ValueError("an outline of a sound breaks off in its head")
        magic, number, samples = _HEAD.unpack_from(data)
        if (magic, number) != (_MAGIC, WAVEFORM_FORMAT):
            raise ValueError("no outline of a sound in the present format")
        if len(data) != _HEAD.size + 4 * -(-samples // BIN_SAMPLES[0]):
            raise ValueError("an outline of a sound is not as long as it says")
        pairs = np.frombuffer(data, "<i2", offset=_HEAD.size)
        low, high = pairs.reshape(-1, 2).T.astype(np.int16)
        return _with_zooms(samples, low, high)


def waveform_key(facts: MediaFacts) -> str:
    """Return the name under which the outline of a file's sound can be kept: a hash of all that decides it.

    Args:
        facts: What was read of the file.
    """
    zero = facts.picture.start_pts if facts.picture else 0
    return fingerprint(["waveform", WAVEFORM_FORMAT, facts.sample_hash, facts.modified_ns, zero])


def outline(blocks: Iterable[Samples]) -> Waveform:
    """Return the outline of a sound.

    Args:
        blocks: Its samples at 48 kHz, in order.
    """
    lows: list[Peaks] = []
    highs: list[Peaks] = []
    rest = np.zeros((0, 2), np.float32)
    samples = 0
    for block in blocks:
        samples += len(block)
        joined = np.concatenate([rest, block]) if len(rest) else block
        whole = len(joined) // BIN_SAMPLES[0] * BIN_SAMPLES[0]
        if whole:
            _add(joined[:whole].reshape(-1, BIN_SAMPLES[0] * joined.shape[1]), lows, highs)
        rest = joined[whole:]
    if len(rest):
        _add(rest.reshape(1, -1), lows, highs)
    none = np.zeros(0, np.int16)
    return _with_zooms(samples, np.concatenate([none, *lows]), np.concatenate([none, *highs]))


def outline_of_file(
    path: Path,
    facts: MediaFacts,
    *,
    progress: ProgressListener = no_progress,
    cancel: CancelToken | None = None,
) -> Waveform:
    """Return the outline of a file's sound, from its second 0 on, for 24 hours at most.

    Args:
        path: The file.
        facts: What was read of it.
        progress: Told how far it is.
        cancel: Stops it.

    Raises:
        MediaError: when it can't be read.
        Cancelled: when stopped on request.
    """
    return outline(read_whole(path, facts, stage="waveform", progress=progress, cancel=cancel))


def _add(stretches: NDArray[np.float32], lows: list[Peaks], highs: list[Peaks]) -> None:
    """Add the ends of stretches, rounded outwards."""
    lows.append(_whole(np.floor(stretches.min(axis=1) * FULL_SCALE)))
    highs.append(_whole(np.ceil(stretches.max(axis=1) * FULL_SCALE)))


def _whole(values: NDArray[np.float32]) -> Peaks:
    return np.clip(values, -FULL_SCALE, FULL_SCALE).astype(np.int16)


def _with_zooms(samples: int, low: Peaks, high: Peaks) -> Waveform:
    outlines = [Outline(BIN_SAMPLES[0], low, high)]
    for bin_samples in BIN_SAMPLES[1:]:
        finer = outlines[-1]
        starts = np.arange(0, len(finer.low), bin_samples // finer.bin_samples)
        if len(starts):
            low, high = np.minimum.reduceat(finer.low, starts), np.maximum.reduceat(finer.high, starts)
        outlines.append(Outline(bin_samples, low, high))
    return Waveform(samples, tuple(outlines))
