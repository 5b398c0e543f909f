"""What is known of the voice in each clip of a scene, now and in words."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from desk.film.lanes import Span, spans
from desk.film.media import MediaFacts
from desk.film.model import Clip, Film, Scene, SoundKind
from desk.film.problem import Facts, MediaTrouble
from desk.film.wording import counted, listed
from desk.sound.levelling import ClipLevel, Limit, propose_gain
from desk.sound.speech import SILENT_DBFS, Speech
from desk.ui.listening import Listening
from desk.ui.scene.clip_facts import file_name, gain_text

SILENT = "silent"
NO_SOUND = "no sound"
MISSING = "missing"
UNREAD = "not read yet"
WAITING = "listening…"

_LIMITS = {
    Limit.NO_SPEECH: "no speech",
    Limit.TOO_NOISY: "only noise",
    Limit.NOBODY: "nobody",
    Limit.UNREADABLE: "can’t be read",
}
EVEN_LU = 1.0
"""Voices that lie this near to their target are followed at one setting (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class VoiceRow:
    """The voice in one clip.

    Attributes:
        clip: Id of the clip.
        number: Its place in the scene, from 1.
        name: Its file, shortened.
        sound: Where its sound comes from, in words.
        voice: Id of who speaks, or "".
        speaker: The name of who speaks, or "".
        gain_db: Its gain, or None where it is silent.
        state: Why nothing is known, in words, or "".
        level: What was found, or None.
        away_lu: How far its speech lies from the target, or None where there is none.
        trouble: What is wrong with its file, as sentences, or "".
    """

    clip: str
    number: int
    name: str
    sound: str
    voice: str
    speaker: str
    gain_db: float | None
    state: str = ""
    level: ClipLevel | None = None
    away_lu: float | None = None
    trouble: str = ""

    @property
    def is_waiting(self) -> bool:
        """Whether it is still to be listened to."""
        return self.state == WAITING

    @property
    def clipped_samples(self) -> int:
        """How many samples of its recording are clipped, as far as is known."""
        return self.level.speech.clipped_samples if self.level else 0

    @property
    def loudness_text(self) -> str:
        """How loud its speech is, or why that is not known."""
        if self.state:
            return self.state
        if self.level and self.level.limit in _LIMITS:
            return _LIMITS[self.level.limit]
        loudness = self.level.loudness_lufs if self.level else None
        return "" if loudness is None else figure(loudness)

    @property
    def noise_dbfs(self) -> float | None:
        """Its noise floor after its gain, or None where it is not known."""
        if self.level is None or self.level.limit is Limit.UNREADABLE:
            return None
        floor = self.level.speech.noise_floor_dbfs
        return floor if floor <= SILENT_DBFS else floor + self.level.gain_db

    @property
    def peak_dbtp(self) -> float | None:
        """Its highest peak after its gain, or None where it is not known."""
        peak = self.level.speech.peak_dbtp if self.level else None
        return None if peak is None or self.level is None else peak + self.level.gain_db

    @property
    def told(self) -> tuple[str, ...]:
        """What a person should know of it, in sentences."""
        if self.trouble:
            return (self.trouble,)
        return self.level.told if self.level else ()

    @property
    def spoken(self) -> str:
        """All of it in words, for who can't see the row."""
        return " ".join(self._spoken())

    def _spoken(self) -> Iterator[str]:
        yield f"Clip {self.number}, {self.name}, {self.sound}."
        yield f"{self.speaker} speaks." if self.speaker else "Nobody is said to speak in it."
        if self.gain_db is not None:
            yield f"Gain {gain_text(self.gain_db)}."
        if self.state:
            yield f"{self.state.capitalize()}."
        if self.away_lu is not None:
            yield f"Speech {self.loudness_text} LUFS, {away_text(self.away_lu)} LU from the target."
        if self.noise_dbfs is not None:
            yield f"Noise floor {figure(self.noise_dbfs)} dBFS."
        if self.peak_dbtp is not None:
            yield f"Peak {figure(self.peak_dbtp)} dBTP."
        yield from self.told


def voice_rows(film: Film, scene: Scene, facts: Facts, listening: Listening) -> tuple[VoiceRow, ...]:
    """Return what is known of each clip of a scene.

    Args:
        film: The film.
        scene: The scene.
        facts: What is known of each file.
        listening: What was found in sounds.
    """
    content = scene.content
    by_clip = {span.owner: span for span in spans(content, film.rate) if span.kind == "dialogue"}
    names = {voice.id: voice.name for voice in film.voices}
    is_said = any(clip.sound.voice for clip in content.clips)
    target = target_lufs(film, scene)
    return tuple(
        _row(clip, number, by_clip.get(clip.id), names, facts, listening, target, is_said=is_said)
        for number, clip in enumerate(content.clips, start=1)
    )


def target_lufs(film: Film, scene: Scene) -> float:
    """Return how loud the voices of a scene are meant to be."""
    return film.delivery.voices_lufs + scene.content.voices_offset_lu


def remarks(rows: Sequence[VoiceRow]) -> tuple[str, ...]:
    """Return what a person should know of the clips of a scene; the same of several is said once."""
    said: dict[str, list[str]] = {}
    for row in rows:
        for sentence in row.told:
            said.setdefault(sentence, []).append(str(row.number))
    return tuple(
        f"{'Clip' if len(numbers) == 1 else 'Clips'} {listed(numbers)}: {sentence}"
        for sentence, numbers in said.items()
    )


def summary_of(film: Film, rows: Sequence[VoiceRow]) -> str:
    """Return how loud the voices of a scene are, in a line: `2 voices, −20.1 and −19.8 LUFS`; or ""."""
    by_voice: dict[str, list[VoiceRow]] = {}
    for row in rows:
        if row.voice:
            by_voice.setdefault(row.voice, []).append(row)
    if not by_voice:
        return ""
    means = [loudness_of(own) for own in by_voice.values()]
    known = [figure(mean) for mean in means if mean is not None]
    many = counted(len(by_voice), "voice")
    return f"{many}, {listed(known)} LUFS" if len(known) == len(means) else many


def loudness_of(rows: Sequence[VoiceRow]) -> float | None:
    """Return the loudness of clips together: the mean of their powers, by how long somebody speaks."""
    power = seconds = 0.0
    for row in rows:
        if row.level and row.away_lu is not None and row.level.loudness_lufs is not None:
            length = row.level.speech.seconds
            power += length * 10 ** (row.level.loudness_lufs / 10)
            seconds += length
    return 10 * math.log10(power / seconds) if power and seconds else None


def figure(value: float) -> str:
    """Return a level as it is shown: `−23.0`."""
    return f"{value:.1f}".replace("-0.0", "0.0").replace("-", "−")


def away_text(away_lu: float) -> str:
    """Return a distance with its sign: `+1.5`, `−0.3`, `0.0`."""
    text = figure(away_lu)
    return f"+{text}" if text[0].isdecimal() and text != "0.0" else text


def _row(
    clip: Clip,
    number: int,
    span: Span | None,
    names: dict[str, str],
    facts: Facts,
    listening: Listening,
    target: float,
    *,
    is_said: bool,
) -> VoiceRow:
    sound = clip.sound
    is_silent = sound.kind is SoundKind.SILENCE
    known = facts.get(span.file) if span else None
    trouble = f"{known.sentence} {known.advice}".strip() if isinstance(known, MediaTrouble) else ""
    state, level = _found(clip, number, span, facts, listening, target, is_said=is_said)
    loudness = level.loudness_lufs if level and level.limit is not Limit.NOBODY else None
    return VoiceRow(
        clip=clip.id,
        number=number,
        name=file_name(clip.source),
        sound=_sound(clip),
        voice=sound.voice,
        speaker=names.get(sound.voice, ""),
        gain_db=None if is_silent else sound.gain_db,
        state=state,
        level=level,
        away_lu=None if loudness is None else loudness - target,
        trouble=trouble,
    )


def _found(
    clip: Clip,
    number: int,
    span: Span | None,
    facts: Facts,
    listening: Listening,
    target: float,
    *,
    is_said: bool,
) -> tuple[str, ClipLevel | None]:
    if span is None:
        return SILENT, None
    known = facts.get(span.file)
    if isinstance(known, MediaTrouble):
        return MISSING, None
    if not isinstance(known, MediaFacts):
        return UNREAD, None
    if known.sound is None:
        return NO_SOUND, None
    key = listening.key(span)
    speech = listening.find(key)
    if speech is None:
        if not listening.is_unreadable(key):
            return WAITING, None
        return "", _level(clip, number, Speech(), None, Limit.UNREADABLE)
    if is_said and not clip.sound.voice:
        return "", _level(clip, number, speech, None, Limit.NOBODY)
    return "", _level(clip, number, speech, *propose_gain(speech, target))


def _level(clip: Clip, number: int, speech: Speech, gain_db: float | None, limit: Limit | None) -> ClipLevel:
    return ClipLevel(
        clip=clip.id,
        number=number,
        voice=clip.sound.voice,
        speech=speech,
        gain_db=clip.sound.gain_db,
        proposed_db=clip.sound.gain_db if gain_db is None else gain_db,
        limit=limit,
    )


def _sound(clip: Clip) -> str:
    match clip.sound.kind:
        case SoundKind.OWN:
            return "its own sound"
        case SoundKind.SEPARATE:
            return f"separate recording {file_name(clip.sound.file)}"
        case SoundKind.SILENCE:
            return "silence"
