"""What is done to a voice before its gain: low cut, bells, compression, as FFmpeg's filters.

None of them delays sound, so a voice stays where it was. All work on 64-bit floats, a sample after the other,
so that it makes no difference how sound is cut into blocks.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from desk.film.model import Band, Compression, VoiceChain
from desk.film.rates import SAMPLE_RATE_HZ
from desk.sound.filtering import Filter, filtered_samples
from desk.sound.reading import Samples

_LEAST_PREROLL_SECONDS = 1.0
_SETTLING_TIMES = 12
"""After so many time constants, what was before the first sample counts for less than -100 dB."""

_LOW_CUT_Q = math.sqrt(0.5)

_COMPRESSIONS = {
    Compression.GENTLE: "threshold=-30dB:ratio=2:attack=20:release=250:knee=4:detection=rms",
    Compression.FIRM: "threshold=-30dB:ratio=4:attack=8:release=160:knee=4:detection=rms",
}
"""Down to a half, or a quarter, of what lies above -30 dB of full scale, with a soft bend of 12 dB there; no
gain after it, since levelling brings a voice to its place (common practice, no source). What counts is the
power over some milliseconds, which rises faster than it falls, and so lies between the mean and the peak."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Preset:
    """A chain to begin with.

    Attributes:
        name: What it is called.
        told: What it is for.
        low_cut_hz: See `VoiceChain`.
        bands: See `VoiceChain`.
        compression: See `VoiceChain`.
    """

    name: str
    told: str
    low_cut_hz: float
    bands: tuple[Band, ...]
    compression: Compression

    def chain(self, voice: str) -> VoiceChain:
        """Return it for a voice.

        Args:
            voice: Id of the voice.
        """
        return VoiceChain(
            voice=voice, low_cut_hz=self.low_cut_hz, bands=self.bands, compression=self.compression
        )


def presets() -> tuple[Preset, ...]:
    """Return chains to begin with, for what is often the matter with a voice (common practice, no source)."""
    return (
        Preset(
            name="Clear",
            told="A good recording that should be easy to follow.",
            low_cut_hz=80.0,
            bands=(_bell(3000, 2.5, 0.9),),
            compression=Compression.GENTLE,
        ),
        Preset(
            name="Boomy room",
            told="Takes off what a small bare room adds below.",
            low_cut_hz=100.0,
            bands=(_bell(220, -5, 1.2), _bell(450, -2.5, 1.2)),
            compression=Compression.GENTLE,
        ),
        Preset(
            name="Thin",
            told="Gives body to a voice that a small microphone left without.",
            low_cut_hz=60.0,
            bands=(_bell(200, 3.5, 0.8), _bell(4000, -2, 1.0)),
            compression=Compression.GENTLE,
        ),
        Preset(
            name="Sharp",
            told="Softens hissing s and t.",
            low_cut_hz=80.0,
            bands=(_bell(6500, -5, 1.6),),
            compression=Compression.GENTLE,
        ),
        Preset(
            name="Far away",
            told="Brings a voice nearer that stood too far from the microphone; brings up the room too.",
            low_cut_hz=110.0,
            bands=(_bell(350, -3, 1.0), _bell(3200, 3.5, 0.8)),
            compression=Compression.FIRM,
        ),
        Preset(
            name="Outdoors",
            told="Takes off wind and traffic below the voice.",
            low_cut_hz=140.0,
            bands=(_bell(2500, 2.5, 0.8),),
            compression=Compression.FIRM,
        ),
    )


def chain_filters(chain: VoiceChain | None) -> tuple[Filter, ...]:
    """Return a chain as FFmpeg's filters, in the order in which sound goes through; none for no change.

    Args:
        chain: What is done to a voice, or None.
    """
    if chain is None or not chain.on:
        return ()
    found: list[Filter] = []
    if chain.low_cut_hz:
        found.append(("highpass", f"f={chain.low_cut_hz!r}:t=q:w={_LOW_CUT_Q!r}:poles=2:precision=f64"))
    found.extend(
        ("equalizer", f"f={band.frequency_hz!r}:t=q:w={band.q!r}:g={band.gain_db!r}:precision=f64")
        for band in chain.bands
        if band.gain_db
    )
    if chain.compression is not Compression.OFF:
        found.append(("acompressor", _COMPRESSIONS[chain.compression]))
    return tuple(found)


def preroll_samples(chain: VoiceChain | None) -> int:
    """Return how many samples before the first one a chain has to hear, so that it has settled by then.

    With that, a voice that is read from the middle has the samples that it would have from its start, but for
    less than -90 dB of full scale. A second is enough for all but very narrow low bells, and for the
    compressions: FFmpeg's goes back by one part in e each quarter of its release time.

    Args:
        chain: What is done to a voice, or None.
    """
    if not chain_filters(chain):
        return 0
    assert chain is not None
    slowest = max(
        (_ringing_seconds(band) * _SETTLING_TIMES for band in chain.bands if band.gain_db), default=0.0
    )
    return math.ceil(max(_LEAST_PREROLL_SECONDS, slowest) * SAMPLE_RATE_HZ)


def chained(blocks: Iterator[Samples], chain: VoiceChain | None) -> Iterator[Samples]:
    """Give sound as a chain leaves it.

    Args:
        blocks: Samples, with as many before those that count as `preroll_samples` says; they come out too.
        chain: What is done to the voice, or None.
    """
    filters = chain_filters(chain)
    return filtered_samples(blocks, filters) if filters else blocks


def _ringing_seconds(band: Band) -> float:
    """Return how long a bell takes to ring off by one part in e.

    A boost rings longer than its Q says, by the square root of its gain: its poles in R. Bristow-Johnson's
    formulas, which FFmpeg uses.
    """
    return band.q * 10 ** (band.gain_db / 40) / (math.pi * band.frequency_hz)


def _bell(frequency_hz: float, gain_db: float, q: float) -> Band:
    return Band(frequency_hz=float(frequency_hz), gain_db=float(gain_db), q=q)
