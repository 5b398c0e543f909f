"""The clips' own sound, the separate recording and the effects: voices, room tone, noises."""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
import wave
import zlib
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from making.plan import ClipPlan

Sound = NDArray[np.float64]
RATE_HZ = 48000

# Voice, pitch, words a minute, level that makes the three about as loud as people would be.
VOICES = {
    "ILSE": ("en-gb-scotland+f2", 60, 158),
    "MAREN": ("en-gb-x-rp+f4", 42, 142),
    "PASSENGER": ("en-gb+m3", 28, 128),
}


def need_speech() -> str:
    """Returns the speech program, or ends with a sentence that says what to do."""
    program = shutil.which("espeak-ng")
    if program is None:
        sys.exit(
            "espeak-ng, which speaks the voices, was not found. Install it "
            "(Debian: apt-get install espeak-ng) and run this again. "
            "To make a clip without words or music alone: --only NAME."
        )
    return program


def _rng(name: str) -> np.random.Generator:
    return np.random.default_rng(zlib.crc32(name.encode()))


def db(value: float) -> float:
    """Returns a gain in dB as a factor."""
    return float(10 ** (value / 20))


def seconds_of(count: float) -> Sound:
    """Returns the times of so many seconds of samples."""
    return np.arange(round(count * RATE_HZ)) / RATE_HZ


def shaped(
    sound: Sound, low_hz: float = 0.0, high_hz: float = 24000.0, *, tilt_db: float = 0.0, soft: float = 0.35
) -> Sound:
    """Returns the sound between two frequencies, with soft edges and a tilt in dB per octave."""
    count = len(sound)
    size = 1 << (count - 1).bit_length()
    frequency = np.fft.rfftfreq(size, 1 / RATE_HZ)
    safe = np.maximum(frequency, 1.0)
    gain = np.ones_like(frequency)
    if low_hz > 0:
        gain *= 1 / (1 + (low_hz / safe) ** (2 / soft))
    if high_hz < 24000:
        gain *= 1 / (1 + (safe / high_hz) ** (2 / soft))
    if tilt_db:
        gain *= 10 ** (tilt_db * np.log2(safe / 1000) / 20)
    gain[0] = 0
    return np.fft.irfft(np.fft.rfft(sound, size) * gain, size)[:count]


def noise(count: int, name: str) -> Sound:
    """Returns white noise that is the same each time."""
    return _rng(name).standard_normal(count)


def level(sound: Sound, peak_db: float) -> Sound:
    """Returns the sound with its highest sample at peak_db dBFS."""
    return sound * (db(peak_db) / max(1e-9, float(np.max(np.abs(sound)))))


def rms(sound: Sound, value_db: float) -> Sound:
    """Returns the sound at a mean level in dBFS."""
    return sound * (db(value_db) / max(1e-9, float(np.sqrt(np.mean(sound**2)))))


def wander(count: int, hz: float, name: str) -> Sound:
    """Returns a slow random curve between 0 and 1."""
    points = max(4, int(count / RATE_HZ * hz) + 4)
    values = _rng(name).random(points)
    place = np.arange(count) / RATE_HZ * hz
    base = place.astype(int)
    part = place - base
    part = part * part * (3 - 2 * part)
    return values[base] * (1 - part) + values[base + 1] * part


def placed(sounds: list[tuple[float, Sound]], count: int) -> Sound:
    """Returns sounds laid into so many samples at their seconds."""
    out = np.zeros(count)
    for start, sound in sounds:
        at = round(start * RATE_HZ)
        if at >= count:
            continue
        part = sound[: count - at]
        out[at : at + len(part)] += part
    return out


# --- voices ------------------------------------------------------------------------------


def speak(who: str, text: str) -> Sound:
    """Returns a line at -6 dBFS, without silence before or after it."""
    voice, pitch, pace = VOICES[who]
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "line.wav"
        subprocess.run(
            [
                need_speech(),
                "-v",
                voice,
                "-p",
                str(pitch),
                "-s",
                str(pace),
                "-a",
                "90",
                "-w",
                str(file),
                text,
            ],
            check=True,
            capture_output=True,
        )
        with wave.open(str(file)) as source:
            rate = source.getframerate()
            raw = np.frombuffer(source.readframes(source.getnframes()), np.int16) / 32768
    loud = np.flatnonzero(np.abs(raw) > 0.012)
    raw = raw[max(0, loud[0] - 200) : loud[-1] + 600]
    count = round(len(raw) * RATE_HZ / rate)
    size = 1 << (len(raw) - 1).bit_length()
    spectrum = np.fft.rfft(raw, size)
    wide = np.zeros(round(size * RATE_HZ / rate) // 2 + 1, complex)
    wide[: len(spectrum)] = spectrum[: len(wide)]
    sound = np.fft.irfft(wide, round(size * RATE_HZ / rate))[:count] * (RATE_HZ / rate)
    sound = shaped(sound, 90, 8200, tilt_db=-0.6)
    # A little breath takes the edge off a synthetic voice.
    envelope = np.abs(shaped(np.abs(sound), 0, 14))
    sound = sound + 0.05 * envelope * shaped(noise(count, who + text), 1500, 7000)
    edge = min(count // 2, 480)
    sound[:edge] *= np.linspace(0, 1, edge)
    sound[-edge:] *= np.linspace(1, 0, edge)
    return level(sound, -6.0)


def room(sound: Sound, seconds: float, wet_db: float, name: str, *, dark_hz: float = 3500) -> Sound:
    """Returns the sound in a room: early reflections and a short tail."""
    if seconds <= 0:
        return sound
    t = seconds_of(seconds)
    tail = noise(len(t), name) * np.exp(-t * 6.9 / seconds)
    tail[: int(0.004 * RATE_HZ)] = 0
    tail = shaped(tail, 180, dark_hz)
    tail /= np.sqrt(np.sum(tail**2))
    count = len(sound) + len(tail)
    size = 1 << (count - 1).bit_length()
    wet = np.fft.irfft(np.fft.rfft(sound, size) * np.fft.rfft(tail, size), size)[:count]
    out = np.zeros(count)
    out[: len(sound)] += sound
    return out + wet * db(wet_db)


# --- noises --------------------------------------------------------------------------------


def tick(name: str = "tick") -> Sound:
    """One tick of the clock."""
    t = seconds_of(0.12)
    body = np.sin(2 * np.pi * 2350 * t) * np.exp(-t * 210) + 0.7 * np.sin(2 * np.pi * 3620 * t) * np.exp(
        -t * 260
    )
    wood = np.sin(2 * np.pi * 410 * t) * np.exp(-t * 75)
    return level(body + 0.5 * wood + 0.15 * noise(len(t), name) * np.exp(-t * 500), 0)


def knock(name: str = "knock") -> Sound:
    """A knuckle on wood."""
    t = seconds_of(0.2)
    body = np.sin(2 * np.pi * 190 * t) * np.exp(-t * 38) + 0.5 * np.sin(2 * np.pi * 460 * t) * np.exp(-t * 70)
    return level(body + 0.12 * noise(len(t), name) * np.exp(-t * 260), 0)


def ratchet(name: str = "ratchet") -> Sound:
    """One pull of the machine: pawl, type on paper, spring."""
    t = seconds_of(0.34)
    out = np.zeros(len(t))
    for start, size in ((0.0, 0.5), (0.035, 0.6), (0.068, 0.7), (0.10, 1.0)):
        at = int(start * RATE_HZ)
        u = t[: len(t) - at]
        click = noise(len(u), f"{name}{start}") * np.exp(-u * 420)
        ring = np.sin(2 * np.pi * (1480 + 900 * start) * u) * np.exp(-u * 120) * 0.7
        out[at:] += size * (shaped(click, 900, 9000) + ring)
    u = np.maximum(t - 0.10, 0)
    out += 1.2 * np.sin(2 * np.pi * 150 * u) * np.exp(-u * 32) * (t > 0.10)
    out += 0.10 * np.sin(2 * np.pi * 2870 * u) * np.exp(-u * 22) * (t > 0.10)
    return level(shaped(out, 60, 9000), 0)


def paper(name: str = "paper") -> Sound:
    """Paper drawn over wood."""
    t = seconds_of(0.5)
    shape = np.sin(np.pi * np.minimum(1, t / 0.5)) ** 1.3 * (0.5 + 0.5 * wander(len(t), 28, name))
    return level(shaped(noise(len(t), name + "p"), 1400, 8500) * shape, 0)


def shutter(name: str = "shutter") -> Sound:
    """Slats roll up, slower at the end, and the rail stops."""
    t = seconds_of(3.0)
    out = 0.10 * shaped(noise(len(t), name), 200, 3800) * np.exp(-((t - 1.3) ** 2) / 1.1)
    at, step = 0.08, 0.085
    k = 0
    while at < 2.62:
        u = seconds_of(0.09)
        slat = np.sin(2 * np.pi * (620 + 40 * (k % 5)) * u) * np.exp(-u * 70)
        slat += 0.8 * shaped(noise(len(u), f"{name}{k}"), 500, 5200) * np.exp(-u * 130)
        i = int(at * RATE_HZ)
        part = slat[: len(out) - i]
        out[i : i + len(part)] += part * (0.32 + 0.12 * np.sin(k * 1.7))
        step *= 0.985 if at < 1.2 else 1.035
        at += step
        k += 1
    i = int(2.66 * RATE_HZ)
    u = t[: len(t) - i]
    out[i:] += 1.0 * np.sin(2 * np.pi * 96 * u) * np.exp(-u * 24) + 0.35 * np.sin(
        2 * np.pi * 540 * u
    ) * np.exp(-u * 40)
    out[-4800:] *= np.linspace(1, 0, 4800)
    return level(room(shaped(out, 70, 6500), 0.35, -14, name)[: len(t)], 0)


def gull_cry(pitch: float, length: float, name: str) -> Sound:
    """One cry."""
    t = seconds_of(length)
    rise = pitch * (1 + 0.28 * np.sin(np.pi * np.minimum(1, t / length) ** 0.6) - 0.16 * (t / length))
    rise *= 1 + 0.012 * np.sin(2 * np.pi * 34 * t)
    phase = 2 * np.pi * np.cumsum(rise) / RATE_HZ
    tone = (
        np.sin(phase) + 0.55 * np.sin(2 * phase + 0.4) + 0.30 * np.sin(3 * phase) + 0.12 * np.sin(4 * phase)
    )
    shape = np.sin(np.pi * np.minimum(1, t / length)) ** 0.7
    return tone * shape * (1 + 0.12 * noise(len(t), name) * 0.5)


def gulls(name: str = "gulls") -> Sound:
    """Two gulls, some way off."""
    count = round(4.0 * RATE_HZ)
    cries = [
        (0.15, gull_cry(1020, 0.46, "a")),
        (0.70, gull_cry(980, 0.34, "b") * 0.9),
        (1.10, gull_cry(940, 0.30, "c") * 0.8),
        (1.46, gull_cry(910, 0.28, "d") * 0.65),
        (2.25, gull_cry(1240, 0.55, "e") * 0.42),
        (2.92, gull_cry(1180, 0.40, "f") * 0.36),
    ]
    out = shaped(placed(cries, count), 500, 4200)
    return level(room(out, 1.3, -7, name, dark_hz=2600)[:count] * _edges(count, 0.02, 0.7), 0)


def _edges(count: int, start: float, end: float) -> Sound:
    shape = np.ones(count)
    a, b = max(1, int(start * RATE_HZ)), max(1, int(end * RATE_HZ))
    shape[:a] = np.sin(np.linspace(0, np.pi / 2, a)) ** 2
    shape[-b:] *= np.cos(np.linspace(0, np.pi / 2, b)) ** 2
    return shape


def horn(name: str = "horn") -> Sound:
    """The ferry's horn over water, soft."""
    t = seconds_of(4.5)
    tone = np.zeros(len(t))
    for base, size in ((87.3, 1.0), (130.8, 0.55)):
        bend = base * (1 - 0.02 * np.exp(-t * 5))
        phase = 2 * np.pi * np.cumsum(bend) / RATE_HZ
        for k in range(1, 9):
            tone += size * np.sin(k * phase + k * 0.7) / k**1.35
    shape = np.clip(t / 0.35, 0, 1) ** 1.5 * np.clip((2.3 - t) / 0.5, 0, 1) ** 1.2
    dry = shaped(tone * shape, 60, 900)
    return level(room(dry, 2.4, -3, name, dark_hz=1100)[: len(t)] * _edges(len(t), 0.05, 1.2), 0)


def water(seconds: float, name: str, *, near: float = 1.0) -> Sound:
    """Small waves on stone."""
    count = round(seconds * RATE_HZ)
    bed = shaped(noise(count, name + "bed"), 120, 1600, tilt_db=-3)
    wash = shaped(noise(count, name + "wash"), 500, 5200, tilt_db=-2) * wander(count, 0.55, name) ** 2.2
    out = rms(bed, -30) + near * rms(wash, -26)
    rng = _rng(name + "drops")
    drops = []
    for _ in range(int(seconds * 5 * near)):
        u = seconds_of(0.09)
        start_hz = rng.uniform(420, 1100)
        phase = 2 * np.pi * np.cumsum(start_hz * (1 + u * rng.uniform(2, 7))) / RATE_HZ
        drops.append(
            (
                rng.uniform(0, max(0.1, seconds - 0.1)),
                np.sin(phase) * np.exp(-u * rng.uniform(40, 90)) * rng.uniform(0.004, 0.022),
            )
        )
    return out + placed(drops, count)


# --- room tone and clips ---------------------------------------------------------------------


def tone(kind: str, seconds: float, name: str) -> tuple[Sound, Sound]:
    """Returns left and right of what a place sounds like when nobody speaks."""
    count = round(seconds * RATE_HZ)

    def wind(side: str, low: float, high: float, value_db: float) -> Sound:
        raw = shaped(noise(count, name + side + "wind"), low, high, tilt_db=-4)
        return rms(raw * (0.55 + 0.45 * wander(count, 0.4, name + "gust")), value_db)

    sides = []
    for side in ("left", "right"):
        if kind in ("dawn", "shore"):
            near = 0.9 if kind == "shore" else 0.55
            out = water(seconds, name + side, near=near) * db(-23 if kind == "shore" else -25) + wind(
                side, 80, 700, -56
            )
        elif kind == "deck":
            motor = sum(
                np.sin(2 * np.pi * f * seconds_of(seconds) + p) / n
                for f, p, n in ((46, 0, 1), (92.4, 1, 2), (138.2, 2, 4))
            )
            out = (
                wind(side, 90, 1400, -48) + water(seconds, name + side, near=0.8) * db(-24) + rms(motor, -50)
            )
        elif kind == "night":
            out = water(seconds, name + side, near=0.5) * db(-27) + wind(side, 60, 420, -58)
        elif kind == "room":
            hum = sum(np.sin(2 * np.pi * 50 * k * seconds_of(seconds)) / k**1.5 for k in (1, 2, 3))
            out = wind(side, 50, 300, -58) + rms(hum, -66)
        else:  # kiosk
            out = water(seconds, name + side, near=0.4) * db(-26) + wind(side, 60, 360, -55)
            out = shaped(out, 60, 1500) + rms(shaped(noise(count, name + side + "hiss"), 300, 9000), -70)
        sides.append(out)
    return sides[0], sides[1]


_NOISES = {
    "tick": tick,
    "knock": knock,
    "ratchet": ratchet,
    "paper": paper,
    "shutter": shutter,
    "gulls": gulls,
}
_ROOMS = {
    "kiosk": (0.28, -13.0),
    "room": (0.38, -12.0),
    "shore": (0.0, 0.0),
    "dawn": (0.0, 0.0),
    "deck": (0.0, 0.0),
    "night": (0.22, -22.0),
}


def _spoken(clip: ClipPlan, sounds: list[tuple[float, Sound]]) -> list[str]:
    faults = []
    for line in clip.lines:
        voice = speak(line.who, line.text)
        seconds = len(voice) / RATE_HZ
        if seconds > line.seconds + 0.02:
            faults.append(
                f"{clip.name}: {line.who} speaks for {seconds:.2f} s, {line.seconds:.2f} s were planned"
            )
        # Somebody out of the picture stands a little further from the microphone.
        if not line.seen:
            voice = shaped(voice, 110, 5200)
        sounds.append((line.start, voice * db(line.gain_db - 5.5)))
    return faults


def clip_sound(clip: ClipPlan, channels: int) -> tuple[Sound, list[str]]:
    """Returns a clip's own sound (samples, channels) at 48 kHz, and what does not fit its plan."""
    count = round(clip.seconds * RATE_HZ)
    sounds: list[tuple[float, Sound]] = []
    faults = _spoken(clip, sounds)
    for item in clip.noises:
        sounds.append((item.start, _NOISES[item.name](f"{item.name}{item.start}") * db(item.gain_db - 3)))
    dry = placed(sounds, count)
    seconds, wet_db = _ROOMS[clip.tone or "dawn"]
    direct = room(dry, seconds, wet_db, clip.name + "room")[:count]
    left, right = tone(clip.tone or "dawn", clip.seconds, clip.name)
    out = np.stack([left + direct * 0.98, right + np.roll(direct, 9)], axis=1)
    if channels == 1:
        out = out.mean(axis=1, keepdims=True)
    top = float(np.max(np.abs(out)))
    if top > db(-6):
        out *= db(-6) / top
    return out, faults


def separate_sound(clip: ClipPlan) -> Sound:
    """Returns the voice as its own recorder heard it: near, dry, started earlier than the camera."""
    before = clip.separate_offset_seconds
    count = round((before + clip.seconds + 1.1) * RATE_HZ)
    sounds: list[tuple[float, Sound]] = []
    for line in clip.lines:
        sounds.append((before + line.start, speak(line.who, line.text) * db(-3)))
    for item in clip.noises:
        sounds.append(
            (before + item.start, _NOISES[item.name](f"{item.name}{item.start}") * db(item.gain_db))
        )
    dry = placed(sounds, count)
    close = room(dry, 0.18, -24, clip.name + "near")[:count]
    return (close + rms(shaped(noise(count, clip.name + "rec"), 80, 6000, tilt_db=-3), -72))[:, None]


def effect(name: str) -> Sound:
    """Returns one effect of the film (samples, 1), highest sample at -8 dBFS."""
    kind = name.rsplit(".", 1)[0]
    if kind == "water lapping":
        out = water(7.0, "lapping", near=1.6) * _edges(round(7.0 * RATE_HZ), 0.4, 0.8)
    elif kind == "ferry horn":
        out = horn()
    elif kind == "gulls":
        out = gulls()
    elif kind == "ticket printer":
        out = placed(
            [(0.02 + 0.42 * k, ratchet(f"print{k}") * (0.9 + 0.05 * (k % 2))) for k in range(5)],
            round(2.6 * RATE_HZ),
        )
        out = room(out, 0.2, -18, "print")[: round(2.6 * RATE_HZ)]
    elif kind == "shutter":
        out = shutter()
    else:
        out = placed(
            [(k + 0.02, tick(f"tick{k % 2}") * (1.0 if k % 2 == 0 else 0.86)) for k in range(4)],
            round(4.0 * RATE_HZ),
        )
        out = room(out, 0.3, -16, "clock")[: round(4.0 * RATE_HZ)]
    return level(out, -8.0)[:, None]
