"""Signals to make sound from, files that hold them, and measuring what came of them."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from desk.film.rates import SAMPLE_RATE_HZ
from tests.making import run_ffmpeg

Sound = NDArray[np.float32]
"""Shape (samples, channels); 1.0 is full scale."""


def noise(
    seconds: float, *, seed: int = 1, channels: int = 2, rate_hz: int = SAMPLE_RATE_HZ, level: float = 0.1
) -> Sound:
    """Return white noise, the same for the same seed; channels have nothing in common."""
    made = np.random.default_rng(seed).normal(0, level, (round(seconds * rate_hz), channels))
    return np.clip(made, -0.99, 0.99).astype(np.float32)


def low_noise(seconds: float, *, seed: int = 1, channels: int = 2, level: float = 0.1) -> Sound:
    """Return noise below 4 kHz, which encoders keep; above, they may put other noise in its place."""
    spectrum = np.fft.rfft(noise(seconds, seed=seed, channels=channels, level=level), axis=0)
    spectrum[np.fft.rfftfreq(round(seconds * SAMPLE_RATE_HZ), 1 / SAMPLE_RATE_HZ) > 4000] = 0
    made: Sound = np.fft.irfft(spectrum, round(seconds * SAMPLE_RATE_HZ), axis=0).astype(np.float32)
    return made


def babble(seconds: float, *, seed: int = 1, level: float = 0.1) -> Sound:
    """Return noise from 200 to 3,000 Hz in syllables, four a second, as unlike steady noise as a voice is."""
    made = noise(seconds, seed=seed, level=1.0)
    spectrum = np.fft.rfft(made, axis=0)
    hz = np.fft.rfftfreq(len(made), 1 / SAMPLE_RATE_HZ)
    spectrum[(hz < 200) | (hz > 3000)] = 0
    made = np.fft.irfft(spectrum, len(made), axis=0)
    syllables = np.abs(np.sin(2 * np.pi * 2 * np.arange(len(made)) / SAMPLE_RATE_HZ))[:, None] ** 1.5
    made = made * syllables
    return (made * level / np.sqrt(np.mean(made**2))).astype(np.float32)


def sine(
    seconds: float, hz: float, *, level: float = 0.5, channels: int = 2, rate_hz: int = SAMPLE_RATE_HZ
) -> Sound:
    """Return a sine that begins at 0, alike in all channels."""
    one = level * np.sin(2 * np.pi * hz * np.arange(round(seconds * rate_hz)) / rate_hz)
    return np.repeat(one[:, None], channels, axis=1).astype(np.float32)


def write_sound(
    path: Path,
    sound: Sound,
    *,
    rate_hz: int = SAMPLE_RATE_HZ,
    layout: str = "",
    codec: Sequence[str] = (),
    picture: Path | None = None,
    late_seconds: float = 0.0,
    before: Sequence[str] = (),
) -> Path:
    """Write a file with a sound, and return `path`; plain WAV keeps samples as floats.

    Args:
        path: Where; its suffix decides the container.
        sound: The samples.
        rate_hz: Samples a second.
        layout: FFmpeg's name of the channels; by default mono or stereo.
        codec: Arguments for the encoder; by default 32-bit floats.
        picture: A file whose picture is copied beside it.
        late_seconds: By how much the sound starts after the file's beginning.
        before: Further arguments for the output.
    """
    channels = layout or {1: "mono", 2: "stereo"}[sound.shape[1]]
    source = ["-f", "f32le", "-ar", str(rate_hz), "-ch_layout", channels]
    inputs = [*source, "-i", "pipe:0", *(("-i", f"file:{picture}") if picture else ())]
    if late_seconds:
        before = ("-af", f"asetpts=PTS+{late_seconds}/TB", *before)
    maps = ["-map", "0:a", *(("-map", "1:v", "-c:v", "copy") if picture else ())]
    encoder = list(codec) or ["-c:a", "pcm_f32le"]
    run_ffmpeg(*inputs, *maps, *encoder, *before, f"file:{path}", data=sound.astype("<f4").tobytes())
    return path


def level_db(sound: Sound) -> float:
    """Return the level of a sound, in dB of full scale (RMS)."""
    return float(10 * np.log10(np.mean(np.square(sound, dtype=np.float64)) + 1e-20))


def lag_samples(sound: Sound, reference: Sound, *, most: int = 2400) -> float:
    """Return by how many samples a sound is later than a reference of the same length, to parts of a sample.

    The place of the highest correlation, with a parabola through its neighbours.
    """
    one, other = (np.asarray(item, np.float64).mean(axis=1) for item in (sound, reference))
    size = 1 << (len(one) + len(other)).bit_length()
    product = np.fft.rfft(one, size) * np.conj(np.fft.rfft(other, size))
    correlation = np.fft.irfft(product, size)
    lags = np.concatenate([correlation[-most:], correlation[: most + 1]])
    peak = int(np.argmax(lags))
    assert 0 < peak < 2 * most, "nothing in common nearby"
    before, top, after = lags[peak - 1 : peak + 2]
    return float(peak - most + 0.5 * (before - after) / (before - 2 * top + after))
