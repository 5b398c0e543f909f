"""The master: a film's whole mix brought to its target once, after everything else.

In this order: a compressor (off, gentle, firm), one gain for all of the film, a limiter for the true peak.
The gain is found by measuring: what the compressor leaves is as far from the target as it has to go, and
where the limiter takes some of that away, what it leaves is measured and the gain corrected. It is rounded to
a tenth of a dB, so that a small change somewhere leaves the rest of the film with the samples that it had.
"""

import dataclasses
import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from desk.film.model import Compression, Delivery
from desk.sound.filtering import Filter, filtered_samples
from desk.sound.limiter import LIMITER_FORMAT, Limiter
from desk.sound.loudness import LOUDNESS_FORMAT, STEP_SAMPLES, Levels, integrated, momentary
from desk.sound.reading import Samples
from desk.sound.stretches import LAP_SAMPLES, LEAD_SAMPLES, Stretch

MASTER_FORMAT = 1
"""Grows when a mix is mastered in another way."""

MOST_GAIN_DB = 40.0
"""No film is made louder by more: what is so soft is noise, or silence by mistake."""

TOLERANCE_LU = 0.1
MOST_PASSES = 4
"""How many times the mix is measured to find the gain."""

_GAINS_PER_DB = 10
_LEAST_SLOPE = 0.25
"""Where the limiter takes more than three quarters of a further dB, more gain makes a film worse."""

_LEAST_THRESHOLD_DB = -60.0
_HEAD_VALUES = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """How loud a film is to be.

    Attributes:
        name: What the numbers are known as.
        integrated_lufs: Loudness of the whole.
        true_peak_dbtp: Ceiling for the true peak.
    """

    name: str
    integrated_lufs: float
    true_peak_dbtp: float


OWN_VALUES = "own values"


def targets() -> tuple[Target, ...]:
    """Return the targets in common use."""
    return (
        # Common practice of the sites that show films; no standard.
        Target(name="online", integrated_lufs=-14.0, true_peak_dbtp=-1.0),
        # EBU R 128 v5.0 (2023).
        Target(name="EBU R 128", integrated_lufs=-23.0, true_peak_dbtp=-1.0),
        # ATSC A/85:2013.
        Target(name="ATSC A/85", integrated_lufs=-24.0, true_peak_dbtp=-2.0),
    )


def target_of(delivery: Delivery) -> Target:
    """Return what a film asks for, by the name of a common target where it is one.

    Args:
        delivery: What goes out.
    """
    asked = (delivery.integrated_lufs, delivery.true_peak_dbtp)
    for target in targets():
        if (target.integrated_lufs, target.true_peak_dbtp) == asked:
            return target
    return Target(name=OWN_VALUES, integrated_lufs=asked[0], true_peak_dbtp=asked[1])


@dataclass(frozen=True, slots=True, kw_only=True)
class _Compressor:
    """How loud and soft are brought together.

    Attributes:
        above_lu: Where it begins, from the mix's own loudness: a soft mix is compressed as a loud one.
        ratio: How many dB more come in for each that goes out, above that.
        attack_ms: How fast it goes down.
        release_ms: How fast it comes back.
    """

    above_lu: float
    ratio: float
    attack_ms: float
    release_ms: float

    def filters(self, threshold_db: float) -> list[Filter]:
        """Return it as FFmpeg's filter: RMS, both channels as one, a soft bend, no gain of its own."""
        arguments = (
            f"threshold={10 ** (threshold_db / 20):.6f}:ratio={self.ratio}:attack={self.attack_ms}"
            f":release={self.release_ms}:knee=4:detection=rms:link=maximum:makeup=1"
        )
        return [("acompressor", arguments)]


# Common practice, no source.
_COMPRESSORS = {
    Compression.GENTLE: _Compressor(above_lu=0.0, ratio=1.5, attack_ms=30.0, release_ms=300.0),
    Compression.FIRM: _Compressor(above_lu=-4.0, ratio=3.0, attack_ms=10.0, release_ms=200.0),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Master:
    """What is done to a mix; nothing, unless told.

    Attributes:
        compression: The compressor.
        threshold_db: Where that begins, in dB of full scale.
        gain_db: The gain behind it.
        ceiling_dbtp: The limiter's ceiling, or None for no limiter.
    """

    compression: Compression = Compression.OFF
    threshold_db: float = 0.0
    gain_db: float = 0.0
    ceiling_dbtp: float | None = None

    def compressed(self, blocks: Iterator[Samples]) -> Iterator[Samples]:
        """Give a mix as the compressor leaves it, as long as it was.

        Args:
            blocks: The mix from its first sample to its last, since a compressor remembers.
        """
        if self.compression is Compression.OFF:
            return blocks
        return filtered_samples(blocks, _COMPRESSORS[self.compression].filters(self.threshold_db))

    @property
    def compressor(self) -> tuple[object, ...]:
        """All that decides what comes out of `compressed`, beside what goes in."""
        return (MASTER_FORMAT, self.compression.value, self.threshold_db)

    def finished(self, stretch: Stretch) -> tuple[Stretch, float]:
        """Return a stretch with its lead and lap, amplified and limited; and by how many dB at most.

        Args:
            stretch: A stretch of what `compressed` gave.
        """
        made, reduction_db = stretch.samples, 0.0
        if self.gain_db:
            made = made * np.float32(10 ** (self.gain_db / 20))
        if self.ceiling_dbtp is not None:
            limiter = Limiter(self.ceiling_dbtp)
            made = np.concatenate([made[:0], *limiter.through(iter([made]))])
            reduction_db = limiter.most_reduction_db
        return dataclasses.replace(stretch, samples=made).within(LEAD_SAMPLES, LAP_SAMPLES), reduction_db

    @property
    def finish(self) -> tuple[object, ...]:
        """All that decides what comes out of `finished`, beside what goes in."""
        return (MASTER_FORMAT, LIMITER_FORMAT, self.gain_db, self.ceiling_dbtp)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Heard:
    """How loud a stretch, or all of a film, is behind a master.

    Attributes:
        momentary_lufs: See `desk.sound.loudness.Loudness`.
        sample_peak: The highest sample.
        reduction_db: By how much it was limited at most.
    """

    momentary_lufs: Levels
    sample_peak: float
    reduction_db: float

    @property
    def integrated_lufs(self) -> float | None:
        """Of all of it, gated; None where all is below the gate."""
        return integrated(self.momentary_lufs)

    @classmethod
    def of(cls, stretch: Stretch, master: Master) -> "Heard":
        """Measure a stretch.

        Args:
            stretch: What the master's compressor gave.
            master: What is done to it.
        """
        made, reduction_db = master.finished(stretch)
        levels = momentary(made.within(LEAD_SAMPLES, 0).samples)
        own = made.within(0, 0).samples
        return cls(
            momentary_lufs=levels[made.before // STEP_SAMPLES :],
            sample_peak=float(np.abs(own).max(initial=0.0)),
            reduction_db=reduction_db,
        )

    @classmethod
    def together(cls, parts: Iterable["Heard"]) -> "Heard":
        """Return what stretches that follow each other are together."""
        held = list(parts)
        return cls(
            momentary_lufs=np.concatenate([np.zeros(0, np.float32), *(part.momentary_lufs for part in held)]),
            sample_peak=max((part.sample_peak for part in held), default=0.0),
            reduction_db=max((part.reduction_db for part in held), default=0.0),
        )

    def to_bytes(self) -> bytes:
        """Return it as bytes."""
        head = np.array([self.sample_peak, self.reduction_db], "<f4")
        return head.tobytes() + self.momentary_lufs.astype("<f4").tobytes()

    @classmethod
    def from_bytes(cls, data: bytes) -> "Heard":
        """Return what `to_bytes` gave.

        Raises:
            ValueError: when the bytes are none of it.
        """
        values = np.frombuffer(data, "<f4").astype(np.float32)
        if len(values) < _HEAD_VALUES:
            raise ValueError("what was heard of a sound breaks off")
        return cls(
            momentary_lufs=values[_HEAD_VALUES:],
            sample_peak=float(values[0]),
            reduction_db=float(values[1]),
        )


HEARD_FORMAT = (LOUDNESS_FORMAT, LEAD_SAMPLES)
"""Another one when a stretch is measured in another way."""

Hearing: TypeAlias = Callable[[Master], Heard]
"""Tells how loud a film is behind a master."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What was found for a mix.

    Attributes:
        master: What is done to it.
        mix_peak: Highest sample of the mix; nothing is lost above 1.0, since the gain comes first.
        mix_lufs: How loud the mix is, or None where nothing is heard.
        reached_lufs: How loud it is behind the master.
        reduction_db: By how much the limiter goes down at most.
    """

    master: Master
    mix_peak: float
    mix_lufs: float | None
    reached_lufs: float | None
    reduction_db: float


def find_master(
    heard: Hearing,
    *,
    integrated_lufs: float,
    ceiling_dbtp: float,
    compression: Compression = Compression.OFF,
) -> Found:
    """Return what brings a mix to a target.

    Where the ceiling does not allow the target, or more than `MOST_GAIN_DB` would be needed, it is what comes
    nearest. A mix in which nothing is heard gets no gain.

    Args:
        heard: Tells how loud the mix is behind a master.
        integrated_lufs: The target.
        ceiling_dbtp: The limiter's ceiling.
        compression: The compressor.
    """
    mix = heard(Master())
    mix_lufs = before_lufs = mix.integrated_lufs
    master = Master(compression=compression, ceiling_dbtp=ceiling_dbtp)
    if mix_lufs is not None and compression is not Compression.OFF:
        above_lu = _COMPRESSORS[compression].above_lu
        # In whole dB, so that a small change in the mix does not move it.
        threshold_db = max(_LEAST_THRESHOLD_DB, min(0.0, math.floor(mix_lufs + above_lu + 0.5)))
        master = dataclasses.replace(master, threshold_db=threshold_db)
        before_lufs = heard(dataclasses.replace(master, ceiling_dbtp=None)).integrated_lufs
    if before_lufs is None:
        return Found(
            master=master, mix_peak=mix.sample_peak, mix_lufs=None, reached_lufs=None, reduction_db=0.0
        )
    tried: list[tuple[float, Heard, Master]] = []
    gain_db, gained_lu = integrated_lufs - before_lufs, 1.0
    for _ in range(MOST_PASSES - 1):
        master = dataclasses.replace(master, gain_db=_rounded(min(MOST_GAIN_DB, gain_db)))
        if any(master == other for _, _, other in tried):
            break
        now = heard(master)
        reached = now.integrated_lufs
        if reached is None:
            break
        if tried and master.gain_db != tried[-1][2].gain_db:
            gained_lu = (reached - tried[-1][0]) / (master.gain_db - tried[-1][2].gain_db)
        tried.append((reached, now, master))
        missing_lu = integrated_lufs - reached
        if abs(missing_lu) <= TOLERANCE_LU or gained_lu < _LEAST_SLOPE:
            break
        gain_db = master.gain_db + missing_lu / min(1.0, gained_lu)
    nearest, at_it, master = min(
        tried, key=lambda one: (round(abs(one[0] - integrated_lufs), 2), one[2].gain_db)
    )
    return Found(
        master=master,
        mix_peak=mix.sample_peak,
        mix_lufs=mix_lufs,
        reached_lufs=nearest,
        reduction_db=at_it.reduction_db,
    )


def _rounded(gain_db: float) -> float:
    return round(gain_db * _GAINS_PER_DB) / _GAINS_PER_DB
