"""How loud sound is: ITU-R BS.1770 and EBU R 128, by FFmpeg's `ebur128`, in one reading.

Momentary loudness is that of 400 ms, short-term of 3 s, a value each 100 ms; integrated loudness is gated at
-70 LUFS and 10 LU below the mean; the range is that of EBU Tech 3342; the true peak is found between the
samples too.
"""

import itertools
import math
import struct
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from desk.film.fingerprint import fingerprint
from desk.film.media import MediaFacts
from desk.film.rates import SAMPLE_RATE_HZ
from desk.jobs import CancelToken, ProgressListener, no_progress
from desk.sound.filtering import filtered
from desk.sound.reading import Samples, read_whole

LOUDNESS_FORMAT = 1
"""Grows when sound is measured or kept in another way, so that what was kept is not used."""

STEP_SECONDS = 0.1
"""From one value of momentary and short-term loudness to the next."""

STEP_SAMPLES = SAMPLE_RATE_HZ // 10
MOMENTARY_SECONDS, SHORT_TERM_SECONDS = 0.4, 3.0
MOMENTARY_STEPS = 4

SILENT_LUFS = -70.0
"""What is softer does not count: the absolute gate of BS.1770."""

RELATIVE_GATE_LU = -10.0
"""Nor what is so far below the mean of the rest: its relative gate."""

NOTHING_LUFS = -120.0
"""The least that is told."""

_BLOCK_SAMPLES = 10 * STEP_SAMPLES
_SETTLE_SAMPLES = 64
"""After so much silence the filter that looks between the samples has let go of the last of them."""

_HEAD = struct.Struct("<4sHIdddd")
_MAGIC = b"loud"

Levels: TypeAlias = NDArray[np.float32]
"""Loudness in LUFS, a value each 100 ms; -120 where it is silent, and before the first is whole."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Loudness:
    """How loud a stretch of sound is.

    Attributes:
        momentary_lufs: Of the 400 ms that end at 100 ms, 200 ms …
        short_term_lufs: Of the 3 s that end there.
        integrated_lufs: Of all of it, gated; None where all is below the gate.
        range_lu: Loudness range.
        true_peak_dbtp: Highest peak, between the samples too, to 0.0005 of full scale; None where all samples
            are 0.
        sample_peak_dbfs: Highest sample; None where all are 0.
    """

    momentary_lufs: Levels
    short_term_lufs: Levels
    integrated_lufs: float | None
    range_lu: float
    true_peak_dbtp: float | None
    sample_peak_dbfs: float | None

    @property
    def seconds(self) -> float:
        """How long a stretch was measured, in whole steps."""
        return len(self.momentary_lufs) * STEP_SECONDS

    @property
    def loudest_seconds(self) -> float | None:
        """The middle of the loudest 400 ms, or None where all is silent."""
        if self.integrated_lufs is None:
            return None
        end = (int(np.argmax(self.momentary_lufs)) + 1) * STEP_SECONDS
        return max(0.0, end - MOMENTARY_SECONDS / 2)

    def to_bytes(self) -> bytes:
        """Return it as bytes."""
        single = (self.integrated_lufs, self.range_lu, self.true_peak_dbtp, self.sample_peak_dbfs)
        head = _HEAD.pack(
            _MAGIC, LOUDNESS_FORMAT, len(self.momentary_lufs), *(math.nan if n is None else n for n in single)
        )
        levels = np.concatenate([self.momentary_lufs, self.short_term_lufs])
        return head + levels.astype("<f4").tobytes()

    @classmethod
    def from_bytes(cls, data: bytes) -> "Loudness":
        """Return what `to_bytes` gave.

        Raises:
            ValueError: when the bytes are not those of a whole measurement of this format.
        """
        if len(data) < _HEAD.size:
            raise ValueError("a measurement of a sound breaks off in its head")
        magic, number, steps, integrated, range_lu, true_peak, sample_peak = _HEAD.unpack_from(data)
        if (magic, number) != (_MAGIC, LOUDNESS_FORMAT):
            raise ValueError("no measurement of a sound in the present format")
        if len(data) != _HEAD.size + 8 * steps:
            raise ValueError("a measurement of a sound is not as long as it says")
        levels = np.frombuffer(data, "<f4", offset=_HEAD.size).astype(np.float32)
        return cls(
            momentary_lufs=levels[:steps],
            short_term_lufs=levels[steps:],
            integrated_lufs=None if math.isnan(integrated) else integrated,
            range_lu=range_lu,
            true_peak_dbtp=None if math.isnan(true_peak) else true_peak,
            sample_peak_dbfs=None if math.isnan(sample_peak) else sample_peak,
        )


def measure(blocks: Iterable[Samples], *, layout: str = "stereo") -> Loudness:
    """Measure sound as it comes; memory grows by two numbers each 100 ms.

    Args:
        blocks: Samples of shape (n, channels), as 32-bit floats at 48 kHz.
        layout: Which channels there are, by FFmpeg's name.
    """
    meter = Meter(layout=layout)
    for _ in meter.through(iter(blocks)):
        pass
    return meter.result()


def measure_file(
    path: Path,
    facts: MediaFacts,
    *,
    progress: ProgressListener = no_progress,
    cancel: CancelToken | None = None,
) -> Loudness:
    """Measure a file's sound as it is heard in a film: in stereo, from its second 0 on, for 24 hours at most.

    Args:
        path: The file.
        facts: What was read of it.
        progress: Told how far it is.
        cancel: Stops it.

    Raises:
        MediaError: when it can't be read.
        Cancelled: when stopped on request.
    """
    return measure(read_whole(path, facts, stage="loudness", progress=progress, cancel=cancel))


def loudness_key(facts: MediaFacts) -> str:
    """Return the name under which what was measured of a file can be kept: a hash of all that decides it.

    Args:
        facts: What was read of the file.
    """
    zero = facts.picture.start_pts if facts.picture else 0
    return fingerprint(["loudness", LOUDNESS_FORMAT, facts.sample_hash, facts.modified_ns, zero])


def integrated(momentary_lufs: Levels) -> float | None:
    """Return the integrated loudness of a stretch, gated; None where all is below the gate.

    Its momentary values, of 400 ms each 100 ms, are the blocks of BS.1770's gating.

    Args:
        momentary_lufs: Those of the blocks that lie in the stretch.
    """
    heard = momentary_lufs[momentary_lufs > SILENT_LUFS].astype(np.float64)
    if not len(heard):
        return None
    gated = heard[heard > _mean(heard) + RELATIVE_GATE_LU]
    return _mean(gated)


def within(levels: Levels, start_seconds: float, end_seconds: float) -> Levels:
    """Return the momentary values of blocks that lie in a stretch whole.

    Args:
        levels: Momentary values from second 0 on.
        start_seconds: Where it begins.
        end_seconds: Where it ends.
    """
    # Value i is that of the block from step i - 3 to step i + 1.
    first = math.ceil(round(start_seconds / STEP_SECONDS, 6)) + MOMENTARY_STEPS - 1
    return levels[max(0, first) : max(0, math.floor(round(end_seconds / STEP_SECONDS, 6)))]


def momentary(samples: Samples) -> Levels:
    """Return the momentary loudness of stereo sound alone, which is quicker: a value each 100 ms.

    Args:
        samples: The sound.
    """
    blocks = (samples[at : at + _BLOCK_SAMPLES] for at in range(0, len(samples), _BLOCK_SAMPLES))
    frames = filtered(blocks, [("ebur128", "metadata=1:peak=none")])
    whole = itertools.islice(frames, len(samples) // STEP_SAMPLES)
    return np.array([max(NOTHING_LUFS, float(frame.metadata["lavfi.r128.M"])) for frame in whole], np.float32)


class Meter:
    """Measures sound on its way: what goes through is not changed."""

    def __init__(self, *, layout: str = "stereo") -> None:
        self._layout = layout
        self._momentary: list[float] = []
        self._short_term: list[float] = []
        self._integrated = SILENT_LUFS
        self._range = 0.0
        self._peak = 0.0
        self._sample_peak = 0.0
        self._samples = 0
        self._is_whole = False

    def through(self, blocks: Iterator[Samples]) -> Iterator[Samples]:
        """Give the same blocks, measured; once for each meter, to the end."""
        passing: list[Samples] = []

        def taken() -> Iterator[Samples]:
            channels = 2
            for block in blocks:
                passing.append(block)
                channels = block.shape[1]
                self._samples += len(block)
                self._sample_peak = max(self._sample_peak, float(np.abs(block).max(initial=0.0)))
                for at in range(0, len(block), _BLOCK_SAMPLES):
                    yield block[at : at + _BLOCK_SAMPLES]
            self._is_whole = True
            if self._samples:
                # FFmpeg tells nothing of a last step that is not whole.
                pad = -self._samples % STEP_SAMPLES
                yield np.zeros((pad if pad >= _SETTLE_SAMPLES else pad + STEP_SAMPLES, channels), np.float32)

        for frame in filtered(taken(), [("ebur128", "metadata=1:peak=true")], layout=self._layout):
            self._take(frame.metadata)
            while passing:
                yield passing.pop(0)
        yield from passing

    def result(self) -> Loudness:
        """Return what was found."""
        # A peak between the samples is no lower than the samples, though it is told to three digits alone.
        true_peak = max(self._sample_peak, self._peak)
        return Loudness(
            momentary_lufs=np.array(self._momentary, np.float32),
            short_term_lufs=np.array(self._short_term, np.float32),
            integrated_lufs=self._integrated if self._integrated > SILENT_LUFS else None,
            range_lu=self._range,
            true_peak_dbtp=decibels(true_peak),
            sample_peak_dbfs=decibels(self._sample_peak),
        )

    def _take(self, told: dict[str, str]) -> None:
        self._peak = max(self._peak, float(told["lavfi.r128.true_peak"]))
        if self._is_whole and len(self._momentary) == self._samples // STEP_SAMPLES:
            return  # of what was put behind the sound, nothing but the last peaks counts
        self._momentary.append(max(NOTHING_LUFS, float(told["lavfi.r128.M"])))
        self._short_term.append(max(NOTHING_LUFS, float(told["lavfi.r128.S"])))
        self._integrated = float(told["lavfi.r128.I"])
        self._range = float(told["lavfi.r128.LRA"])


def decibels(value: float) -> float | None:
    """Return an amplitude in dB, or None for 0."""
    return 20 * math.log10(value) if value > 0 else None


def _mean(levels: NDArray[np.float64]) -> float:
    return float(10 * np.log10(np.mean(10 ** (levels / 10))))
