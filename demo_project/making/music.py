"""The film's cues, played by a few made instruments in a made hall."""

from __future__ import annotations

import numpy as np

from making.sound import RATE_HZ, Sound, db, noise, seconds_of, shaped

_NAMES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


def hertz(note: str) -> float:
    """Returns the frequency of a note such as 'A4', 'F#3', 'Bb2'."""
    step = _NAMES[note[0]] + {"#": 1, "b": -1}.get(note[1:2], 0)
    return float(440.0 * 2 ** ((step - 9) / 12 + int(note[-1]) - 4))


class Score:
    """Notes laid on a stereo track.

    Args:
        seconds: length with the hall's tail.
        beat: seconds of one beat.
    """

    def __init__(self, seconds: float, beat: float) -> None:
        self.count = round(seconds * RATE_HZ)
        self.beat = beat
        self.dry = np.zeros((self.count, 2))
        self.rng = np.random.default_rng(round(seconds * 1000 + beat * 100))

    def add(self, beats: float, sound: Sound, pan: float = 0.0, *, loose_ms: float = 7.0) -> None:
        """Lays a sound at a beat, a few ms early or late as a player would."""
        at = round((beats * self.beat + self.rng.normal(0, loose_ms / 1000)) * RATE_HZ)
        at = max(0, at)
        part = sound[: max(0, self.count - at)]
        angle = (pan + 1) * np.pi / 4
        self.dry[at : at + len(part), 0] += part * np.cos(angle)
        self.dry[at : at + len(part), 1] += part * np.sin(angle)

    def finished(self, hall_seconds: float = 2.6, wet_db: float = -8.0, peak_db: float = -4.5) -> Sound:
        """Returns the track in its hall, highest sample at peak_db dBFS."""
        t = seconds_of(hall_seconds)
        out = self.dry.copy()
        size = 1 << (self.count + len(t) - 1).bit_length()
        for side in (0, 1):
            tail = noise(len(t), f"hall{side}") * np.exp(-t * 6.9 / hall_seconds) * np.minimum(1, t / 0.02)
            tail = shaped(tail, 160, 3600)
            tail /= np.sqrt(np.sum(tail**2))
            wet = np.fft.irfft(np.fft.rfft(self.dry[:, side], size) * np.fft.rfft(tail, size), size)
            out[:, side] += wet[: self.count] * db(wet_db)
        end = min(self.count, round(1.8 * RATE_HZ))
        out[-end:] *= (np.cos(np.linspace(0, np.pi / 2, end)) ** 2)[:, None]
        for side in (0, 1):
            out[:, side] = shaped(out[:, side], 35, 15000)
        return out * (db(peak_db) / np.max(np.abs(out)))


# --- instruments ------------------------------------------------------------------------


def piano(note: str, seconds: float, loud: float = 0.6) -> Sound:
    """A felt piano: partials a little sharp, high ones die first, a soft hammer."""
    base = hertz(note)
    t = seconds_of(seconds)
    out = np.zeros(len(t))
    for string in (-0.35, 0.35):
        for k in range(1, 13):
            frequency = k * base * np.sqrt(1 + 0.00035 * k * k) * 2 ** (string * 1.4 / 1200)
            if frequency > 9000:
                break
            size = loud ** (0.25 * k) / k**1.15 * (1.0 if k != 7 else 0.35)
            fall = 0.9 + 0.45 * k * (base / 220) ** 0.6
            out += (
                size
                * np.sin(2 * np.pi * frequency * t + k * 0.9 + string)
                * (0.75 * np.exp(-t * fall) + 0.25 * np.exp(-t * fall * 0.25))
            )
    hammer = shaped(noise(len(t), f"hammer{note}"), 90, 900) * np.exp(-t * 55)
    out = out * np.minimum(1, t / 0.006) + 0.35 * loud * hammer
    release = min(len(t) // 3, round(0.35 * RATE_HZ))
    out[-release:] *= np.linspace(1, 0, release) ** 1.5
    return out * loud * 0.30


def pluck(note: str, seconds: float, loud: float = 0.6) -> Sound:
    """A small harp."""
    base = hertz(note)
    t = seconds_of(seconds)
    out = np.zeros(len(t))
    for k in range(1, 16):
        if k * base > 10000:
            break
        shape = np.sin(np.pi * k * 0.22) / k**1.25
        out += (
            shape
            * np.sin(2 * np.pi * k * base * (1 + 0.00008 * k * k) * t)
            * np.exp(-t * (1.5 + 0.75 * k * (base / 300) ** 0.5))
        )
    out += 0.12 * shaped(noise(len(t), f"nail{note}"), 1200, 5000) * np.exp(-t * 160)
    out *= np.minimum(1, t / 0.002)
    out[-2400:] *= np.linspace(1, 0, 2400)
    return out * loud * 0.55


def bowed(
    note: str, seconds: float, loud: float = 0.5, *, attack: float = 0.9, release: float = 1.2
) -> Sound:
    """A few strings together, soft."""
    base = hertz(note)
    t = seconds_of(seconds)
    out = np.zeros(len(t))
    rng = np.random.default_rng(round(base * 10))
    for _ in range(4):
        cents = rng.normal(0, 5)
        rate, depth = rng.uniform(4.6, 5.6), rng.uniform(2.5, 5.0)
        swell = np.clip((t - 0.4) / 0.8, 0, 1)
        bend = base * 2 ** ((cents + depth * swell * np.sin(2 * np.pi * rate * t + rng.uniform(0, 6))) / 1200)
        phase = 2 * np.pi * np.cumsum(bend) / RATE_HZ
        for k in range(1, 11):
            if k * base > 7000:
                break
            out += np.sin(k * phase + rng.uniform(0, 6)) / k**1.55
    shape = np.clip(t / attack, 0, 1) ** 1.4 * np.clip((seconds - t) / release, 0, 1) ** 1.2
    return shaped(out, 80, 3800) * shape * loud * 0.10


def pad(note: str, seconds: float, loud: float = 0.4) -> Sound:
    """A slow breath of sound."""
    base = hertz(note)
    t = seconds_of(seconds)
    out = np.zeros(len(t))
    for cents in (-6, 0, 7):
        for k in range(1, 7):
            out += np.sin(2 * np.pi * k * base * 2 ** (cents / 1200) * t + cents + k) / k**2.1
    shape = np.sin(np.pi * np.clip(t / seconds, 0, 1)) ** 0.8
    return out * shape * loud * 0.12 * (1 + 0.10 * np.sin(2 * np.pi * 0.31 * t))


# --- cues -------------------------------------------------------------------------------


def shutters() -> Sound:
    """D, lydian at its edges; a figure that opens like a shutter."""
    score = Score(22.0, 0.82)
    bars = (
        ("D2", ("A3", "D4", "F#4", "E4")),
        ("B1", ("F#3", "D4", "E4", "F#4")),
        ("G2", ("B3", "D4", "G4", "F#4")),
        ("A2", ("E3", "C#4", "E4", "B4")),
        ("D2", ("A3", "E4", "F#4", "A4")),
        ("G2", ("B3", "D4", "C#4", "D4")),
    )
    for bar, (low, notes) in enumerate(bars):
        at = 0.4 + bar * 4
        score.add(at, piano(low, 4.2, 0.50), -0.25)
        score.add(at, pad(low[0] + "3", 4.6, 0.30), 0.1)
        for k, note in enumerate(notes):
            score.add(at + k, piano(note, 3.0, 0.44 + 0.07 * (k == 2)), -0.1 + 0.14 * k)
    score.add(24.3, piano("D3", 4.0, 0.4), -0.2)
    score.add(24.3, piano("A4", 4.0, 0.36), 0.2)
    return score.finished(2.8, -9)


def low_water() -> Sound:
    """G, in three; plucked strings over a pad."""
    score = Score(20.0, 0.48)
    chords = (
        ("G2", "D3", "G3", "B3", "D4"),
        ("F2", "C3", "F3", "A3", "C4"),
        ("C3", "G3", "C4", "E4", "G4"),
        ("G2", "D3", "G3", "A3", "D4"),
        ("E2", "B2", "E3", "G3", "B3"),
        ("C3", "G3", "C4", "D4", "E4"),
    )
    tune = (
        "C5",
        None,
        "A4",
        "C5",
        None,
        "A4",
        "G4",
        None,
        "E4",
        "D4",
        None,
        None,
        "G4",
        None,
        "B4",
        "E5",
        None,
        "D5",
    )
    for bar, chord in enumerate(chords):
        at = 0.5 + bar * 6
        score.add(at, pad(chord[0][0] + "3", 4.2, 0.42), 0.0)
        score.add(at, pluck(chord[0], 3.2, 0.62), -0.3)
        for k, note in enumerate((chord[1], chord[2], chord[3], chord[4], chord[3])):
            score.add(at + 1 + k, pluck(note, 2.2, 0.40 + 0.05 * (k == 3)), -0.15 + 0.15 * k)
    for k, name in enumerate(tune):
        if name:
            score.add(0.5 + 6 + k * 1.5, piano(name, 2.6, 0.34), 0.25)
    score.add(36.8, pluck("G2", 3.2, 0.55), -0.2)
    score.add(36.8, pluck("D4", 3.0, 0.38), 0.25)
    return score.finished(2.2, -10)


def twice_a() -> Sound:
    """One phrase, and the same phrase a semitone lower: it has happened before."""
    score = Score(20.0, 0.78)
    phrase = (
        ("E4", 0.0),
        ("B4", 1.0),
        ("A4", 2.0),
        ("G4", 2.5),
        ("F#4", 3.0),
        ("B3", 4.0),
        ("E4", 5.0),
        ("D4", 6.0),
        ("B3", 7.0),
    )
    lower = {"E4": "Eb4", "B4": "Bb4", "A4": "Ab4", "G4": "Gb4", "F#4": "F4", "B3": "Bb3", "D4": "Db4"}
    for start, change, low, fifth in ((0.4, False, "E2", "B2"), (11.4, True, "Eb2", "Bb2")):
        for note in (low, fifth):
            score.add(start, bowed(note, 8.4, 0.42, attack=1.8, release=2.4), -0.2 if note == low else 0.2)
        score.add(start, pad(("Eb3" if change else "E3"), 8.0, 0.3))
        for name, at in phrase:
            score.add(
                start + at,
                piano(lower[name] if change else name, 3.2, 0.42 if change else 0.48),
                0.15 - at * 0.03,
            )
    return score.finished(3.2, -7)


def twice_b() -> Sound:
    """Strings in C minor under a plucked figure that does not change."""
    score = Score(20.0, 0.40)
    figure = ("C4", "G4", "Eb4", "G4", "D4", "G4")
    for turn in range(6):
        for k, note in enumerate(figure):
            score.add(0.5 + turn * 6 + k, pluck(note, 1.8, 0.36 + 0.02 * turn), 0.35 * np.sin(k))
    for start, notes in (
        (0.5, ("C3", "G3", "Eb4")),
        (12.5, ("Ab2", "Eb3", "C4")),
        (24.5, ("F2", "C3", "Ab3")),
        (34.0, ("G2", "D3", "C4")),
    ):
        for k, note in enumerate(notes):
            score.add(start, bowed(note, 5.6, 0.50, attack=1.4, release=1.9), (-0.35, 0.0, 0.35)[k])
    return score.finished(2.8, -8)


def counting() -> Sound:
    """Plucked notes like a clock over a low pad; each fourth one is late, the thirteenth is not there."""
    score = Score(22.0, 1.0)
    for start, note in ((0.2, "A1"), (7.0, "F1"), (14.0, "G1")):
        score.add(start, pad(note, 7.8, 0.75), 0.0)
        score.add(start, bowed(note[0] + "2", 7.4, 0.38, attack=2.4, release=2.4), -0.15)
    notes = (
        "A3",
        "A3",
        "E4",
        "A3",
        "A3",
        "A3",
        "F4",
        "A3",
        "B3",
        "A3",
        "E4",
        "A3",
        None,
        "A3",
        "Bb3",
        "A3",
        "E4",
        "A3",
    )
    for k, note in enumerate(notes):
        if note:
            score.add(
                0.6 + k * 1.0 + (0.09 if k % 4 == 3 else 0),
                pluck(note, 2.2, 0.46),
                0.2 if k % 2 else -0.2,
                loose_ms=2,
            )
    score.add(9.0, bowed("C4", 5.5, 0.30, attack=2.5, release=2.5), 0.3)
    score.add(14.2, bowed("Bb3", 6.0, 0.32, attack=2.5, release=3.0), 0.3)
    return score.finished(3.0, -8)


def counterfoil() -> Sound:
    """Strings rise by steps and stop on a chord that asks."""
    score = Score(24.0, 1.0)
    steps = (
        (0.3, ("D2", "A2", "F3", "A3")),
        (4.6, ("D2", "Bb2", "F3", "Bb3")),
        (8.9, ("C2", "G2", "E3", "C4")),
        (13.2, ("Bb1", "F2", "D3", "D4")),
        (17.3, ("A1", "E2", "D3", "E4")),
    )
    for number, (start, chord) in enumerate(steps):
        for k, note in enumerate(chord):
            score.add(
                start,
                bowed(note, 5.6, 0.42 + 0.05 * number, attack=1.5, release=1.8),
                (-0.4, -0.1, 0.15, 0.4)[k],
            )
    for at, note in (
        (1.5, "A4"),
        (3.0, "F4"),
        (5.8, "Bb4"),
        (7.3, "F4"),
        (10.0, "C5"),
        (11.6, "G4"),
        (14.3, "D5"),
        (15.8, "A4"),
        (18.4, "E5"),
        (20.2, "D5"),
    ):
        score.add(at, piano(note, 3.6, 0.40), 0.1)
    return score.finished(3.2, -7)


CUES = {
    "shutters.opus": shutters,
    "low water.opus": low_water,
    "twice a.opus": twice_a,
    "twice b.opus": twice_b,
    "counting.opus": counting,
    "counterfoil.opus": counterfoil,
}
