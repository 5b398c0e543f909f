"""Bring the voices of a scene to one loudness, and its music to its place below them: measured and proposed.

Voices: the speech of each clip is measured through its chain, and the gain is proposed that brings it to the
film's loudness of voices and the scene's offset. Where a scene says who speaks, clips in which nobody does
are left alone. Music: the chosen candidate is measured over its cue, with its parts and without its fades,
before it goes down under speech; a gain is proposed where it has a distance below the voices.

Nothing is changed here: `levels_of` gives what `desk.film.edits.set_levels` takes.
"""

import dataclasses
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from pathlib import Path

from desk.errors import MediaError
from desk.film.edits import Levels
from desk.film.fingerprint import fingerprint
from desk.film.lanes import Span, spans
from desk.film.media import MediaFacts
from desk.film.model import Clip, Cue, Film, Scene
from desk.film.rates import Rate
from desk.film.wording import counted, entry_name, shown_number, true_minus
from desk.jobs import CancelToken, Progress, ProgressListener, no_progress
from desk.sound.loudness import LOUDNESS_FORMAT, Loudness, measure
from desk.sound.loudness_files import LoudnessFiles
from desk.sound.plan import Passage, SceneSound
from desk.sound.reading import Samples
from desk.sound.speech import Speech, SpeechFile, listen_to_span, speech_key
from desk.sound.streaming import Track, stream

PEAK_CEILING_DBTP = -3.0
"""What levelling leaves above the peaks of a voice, so that others can sound with it (common practice, no
source)."""

MOST_GAIN_DB = 24.0
"""Gains beyond this, up or down, are not proposed: something else is wrong then."""

NOISY_DB = 20.0
"""Speech that stands less than this above the noise is told to be noisy (common practice, no source)."""

LOUD_NOISE_DBFS = -50.0
"""Sound without speech that is louder than this may hide speech; what is softer is taken for empty."""

SAME_DB = 0.05
"""Gains that differ by less are the same."""


class Limit(StrEnum):
    """Why a clip is not brought to its target."""

    NO_SPEECH = "no speech was found"
    TOO_NOISY = "too noisy"
    WOULD_CLIP = "would clip"
    TOO_FAR = "too far"
    NOBODY = "nobody speaks"
    UNREADABLE = "unreadable"


@dataclass(frozen=True, slots=True, kw_only=True)
class ClipLevel:
    """How loud the voice of a clip is.

    Attributes:
        clip: Its id.
        number: Its place in the scene, from 1.
        voice: Id of the voice, or "".
        speech: What was found in its sound, before its gain.
        gain_db: Its gain as it is.
        proposed_db: The gain that brings it nearest to the target; as it is where nothing is proposed.
        limit: Why that is not the target, or None.
    """

    clip: str
    number: int
    voice: str
    speech: Speech
    gain_db: float
    proposed_db: float
    limit: Limit | None = None

    @property
    def loudness_lufs(self) -> float | None:
        """How loud its speech is as it is, or None without speech."""
        loudness = self.speech.loudness_lufs
        return None if loudness is None else loudness + self.gain_db

    @property
    def reached_lufs(self) -> float | None:
        """How loud its speech would be, or None without speech."""
        loudness = self.speech.loudness_lufs
        return None if loudness is None else loudness + self.proposed_db

    @property
    def told(self) -> tuple[str, ...]:
        """What a person should know of it, in sentences; none where all is well."""
        return tuple(self._told())

    def _told(self) -> Iterator[str]:
        speech = self.speech
        match self.limit:
            case Limit.NO_SPEECH:
                yield "No speech was found, so its gain stays."
            case Limit.TOO_NOISY:
                noise = true_minus(f"{speech.noise_floor_dbfs:.0f} dBFS")
                yield f"Nothing stands out of its noise of {noise}, so its gain stays."
            case Limit.WOULD_CLIP:
                yield f"Louder than that its peaks would go above {shown_number(PEAK_CEILING_DBTP)} dBTP."
            case Limit.TOO_FAR:
                yield f"It lies further from the others than {MOST_GAIN_DB:g} dB can bring it."
            case Limit.NOBODY:
                # Where nobody speaks, all is well.
                if speech.loudness_lufs is not None:
                    yield "Somebody speaks in it, and it is not said who, so its gain stays."
            case Limit.UNREADABLE:
                yield "Its sound can't be read, so its gain stays."
        if speech.clipped_samples:
            many = counted(speech.clipped_samples, "sample")
            yield f"{many} of its recording {'is' if speech.clipped_samples == 1 else 'are'} clipped."
        if speech.stretches and speech.above_noise_db < NOISY_DB:
            yield f"Its voice stands only {speech.above_noise_db:.0f} dB above the noise."


@dataclass(frozen=True, slots=True, kw_only=True)
class VoiceLevel:
    """How loud a voice is over all its clips of a scene.

    Attributes:
        voice: Its id, or "" for clips that do not say who speaks.
        clips: In how many clips it was found.
        seconds: How long it speaks.
        loudness_lufs: As it is, or None where it was not found.
        reached_lufs: With the gains proposed.
    """

    voice: str
    clips: int
    seconds: float
    loudness_lufs: float | None
    reached_lufs: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class MusicLevel:
    """How loud a cue is.

    Attributes:
        cue: Its id.
        candidate: Id of its chosen music.
        under_voices_lu: How far it is meant to lie below the voices, or None.
        gain_db: Its gain as it is.
        loudness_lufs: As it is, or None where it is silent or can't be read.
        below_voices_lu: How far it lies below the voices as they are, or None where one of them is silent.
        proposed_db: The gain that brings it to its place below the voices as they would be; as it is where
            nothing is proposed.
    """

    cue: str
    candidate: str
    under_voices_lu: float | None
    gain_db: float
    loudness_lufs: float | None
    below_voices_lu: float | None
    proposed_db: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SceneLevels:
    """How loud a scene is, and what is proposed.

    Attributes:
        scene: Its id.
        locked: Whether it is locked, so that nothing can be changed.
        target_lufs: How loud its voices are meant to be.
        clips: Those that have a sound, in order.
        voices: One for each voice, in the order in which they are first heard.
        music: One for each cue with a choice.
    """

    scene: str
    locked: bool
    target_lufs: float
    clips: tuple[ClipLevel, ...]
    voices: tuple[VoiceLevel, ...]
    music: tuple[MusicLevel, ...]

    @property
    def voices_lufs(self) -> float | None:
        """How loud its voices are together as they are."""
        return _together((item.loudness_lufs, item.speech.seconds) for item in _voiced(self.clips))

    @property
    def reached_lufs(self) -> float | None:
        """How loud its voices would be together."""
        return _together((item.reached_lufs, item.speech.seconds) for item in _voiced(self.clips))

    @property
    def is_heard(self) -> bool:
        """Whether speech was found in it."""
        return bool(_voiced(self.clips))

    @property
    def changes(self) -> bool:
        """Whether a gain is proposed that is not there already."""
        levels = levels_of(self)
        return bool(levels["clips"] or levels["candidates"])


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmLevels:
    """What levelling a film comes to.

    Attributes:
        levels: Gains by scene, for `desk.film.edits.set_levels`; none for a draft that is level and is not
            called so yet.
        locked: Names of scenes that are left out because they are locked, although something is proposed.
        level: Names of scenes that are left out because all in them is level and called so, or nothing was
            found.
    """

    levels: Mapping[str, Levels]
    locked: tuple[str, ...]
    level: tuple[str, ...]


def measure_scene(
    film: Film,
    scene: Scene,
    files: Mapping[str, Path],
    media: Mapping[str, MediaFacts],
    folder: Path,
    *,
    progress: ProgressListener = no_progress,
    cancel: CancelToken | None = None,
) -> SceneLevels:
    """Measure a scene's voices and music, and propose gains. What was measured before is not measured again.

    Args:
        film: The film.
        scene: The scene.
        files: Where each file is.
        media: What was read of each.
        folder: The project folder, where what was measured is kept.
        progress: Told how far it is.
        cancel: Stops it; what was measured by then is kept.

    Raises:
        Cancelled: when stopped on request.
    """
    measuring = _Measuring(film, files, media, folder, progress, cancel or CancelToken())
    return measuring.scenes([scene])[0]


def measure_film(
    film: Film,
    files: Mapping[str, Path],
    media: Mapping[str, MediaFacts],
    folder: Path,
    *,
    progress: ProgressListener = no_progress,
    cancel: CancelToken | None = None,
) -> tuple[SceneLevels, ...]:
    """Measure all scenes of the running order that have clips, and propose gains; see `measure_scene`.

    Raises:
        Cancelled: when stopped on request.
    """
    measuring = _Measuring(film, files, media, folder, progress, cancel or CancelToken())
    entries = film.entries()
    scenes = [
        entry
        for placement in film.order
        if isinstance(entry := entries[placement.entry], Scene) and entry.content.clips
    ]
    return tuple(measuring.scenes(scenes))


def levels_of(levels: SceneLevels) -> Levels:
    """Return the gains that a scene would get: those that differ from what is there."""
    return Levels(
        clips={item.clip: item.proposed_db for item in levels.clips if _differs(item)},
        candidates={item.candidate: item.proposed_db for item in levels.music if _differs(item)},
    )


def levels_of_film(film: Film, measured: Iterable[SceneLevels]) -> FilmLevels:
    """Return the gains that the drafts of a film would get, and which scenes are left out.

    Args:
        film: The film.
        measured: Its scenes.
    """
    levels: dict[str, Levels] = {}
    locked, level = [], []
    for item in measured:
        scene = film.scene(item.scene)
        name = entry_name(scene)
        is_uncalled = item.is_heard and not scene.content.voices_levelled
        if not item.changes and (item.locked or not is_uncalled):
            level.append(name)
        elif item.locked:
            locked.append(name)
        else:
            levels[item.scene] = levels_of(item)
    return FilmLevels(levels=levels, locked=tuple(locked), level=tuple(level))


def propose_gain(speech: Speech, target_lufs: float) -> tuple[float | None, Limit | None]:
    """Return the gain that brings speech nearest to a target, and why it is not reached.

    Args:
        speech: What was found.
        target_lufs: How loud it is meant to be.

    Returns:
        The gain, or None where none can be told; and the reason, or None where the target is reached.
    """
    if speech.loudness_lufs is None:
        noisy = not speech.stretches and speech.noise_floor_dbfs > LOUD_NOISE_DBFS
        return None, Limit.TOO_NOISY if noisy else Limit.NO_SPEECH
    wanted = target_lufs - speech.loudness_lufs
    gain = min(max(wanted, -MOST_GAIN_DB), MOST_GAIN_DB)
    limit = None if gain == wanted else Limit.TOO_FAR
    if speech.peak_dbtp is not None and gain > PEAK_CEILING_DBTP - speech.peak_dbtp:
        # Rounded down, so that the ceiling holds.
        gain = max(math.floor((PEAK_CEILING_DBTP - speech.peak_dbtp) * 10) / 10, -MOST_GAIN_DB)
        limit = Limit.WOULD_CLIP
    return round(gain, 1), limit


def music_key(span: Span, rate: Rate, facts: MediaFacts) -> str:
    """Return the name under which the loudness of a cue's music is kept: a hash of all that decides it."""
    return fingerprint(
        [
            "music",
            LOUDNESS_FORMAT,
            facts.sample_hash,
            facts.modified_ns,
            str(rate),
            span.in_seconds,
            span.length_frames,
            span.parts,
        ]
    )


class _Measuring:
    def __init__(
        self,
        film: Film,
        files: Mapping[str, Path],
        media: Mapping[str, MediaFacts],
        folder: Path,
        progress: ProgressListener,
        cancel: CancelToken,
    ) -> None:
        self._film = film
        self._files = files
        self._media = media
        self._speech = SpeechFile(folder)
        self._loudness = LoudnessFiles(folder)
        self._progress = progress
        self._cancel = cancel
        self._found: dict[str, Speech] = {}
        self._done, self._whole = 0, 1

    def scenes(self, scenes: Sequence[Scene]) -> list[SceneLevels]:
        rate = self._film.rate
        sounds = [spans(scene.content, rate) for scene in scenes]
        self._whole = max(1, sum(span.length_frames for own in sounds for span in own))
        try:
            return [self._scene(scene, own) for scene, own in zip(scenes, sounds, strict=True)]
        finally:
            self._speech.keep(self._found)

    def _scene(self, scene: Scene, sounds: Sequence[Span]) -> SceneLevels:
        content = scene.content
        target = self._film.delivery.voices_lufs + content.voices_offset_lu
        by_owner = {span.owner: span for span in sounds if span.kind != "effects"}
        is_said = any(clip.sound.voice for clip in content.clips)
        clips = tuple(
            self._clip(clip, number, by_owner[clip.id], target, is_said=is_said)
            for number, clip in enumerate(content.clips, start=1)
            if clip.id in by_owner
        )
        voiced = _voiced(clips)
        now = _together((item.loudness_lufs, item.speech.seconds) for item in voiced)
        then = _together((item.reached_lufs, item.speech.seconds) for item in voiced)
        music = tuple(
            self._music(cue, by_owner[cue.id], now, target if then is None else then)
            for cue in content.cues
            if cue.id in by_owner
        )
        return SceneLevels(
            scene=scene.id,
            locked=scene.lock is not None,
            target_lufs=target,
            clips=clips,
            voices=_by_voice(clips),
            music=music,
        )

    def _clip(self, clip: Clip, number: int, span: Span, target: float, *, is_said: bool) -> ClipLevel:
        limit: Limit | None = Limit.NOBODY
        speech, proposed = Speech(), None
        if clip.sound.voice or not is_said:
            try:
                speech = self._speech_of(span)
                proposed, limit = propose_gain(speech, target)
            except MediaError:
                limit = Limit.UNREADABLE
        self._done += span.length_frames
        return ClipLevel(
            clip=clip.id,
            number=number,
            voice=clip.sound.voice,
            speech=speech,
            gain_db=clip.sound.gain_db,
            proposed_db=clip.sound.gain_db if proposed is None else proposed,
            limit=limit,
        )

    def _speech_of(self, span: Span) -> Speech:
        self._cancel.check()
        facts, path = self._media.get(span.file), self._files.get(span.file)
        if facts is None or path is None:
            raise MediaError(
                f"The sound of “{span.file}” is not there.",
                advice="Bring the file back, or set the clip to silence.",
                code="media.missing",
            )
        key = speech_key(span, self._film.rate, facts)
        found = self._found.get(key) or self._speech.find(key)
        if found is None:
            self._tell(span)
            found = listen_to_span(span, self._film.rate, path, facts, cancel=self._cancel)
            self._found[key] = found
        return found

    def _music(self, cue: Cue, span: Span, now: float | None, then: float) -> MusicLevel:
        choice = cue.choice
        assert choice is not None
        loudness = self._loudness_of(span)
        self._done += span.length_frames
        own = loudness.integrated_lufs if loudness else None
        proposed = choice.gain_db
        if own is not None and choice.under_voices_lu is not None:
            gain = then - choice.under_voices_lu - own
            proposed = round(min(max(gain, -MOST_GAIN_DB), MOST_GAIN_DB), 1)
        lufs = None if own is None else own + choice.gain_db
        return MusicLevel(
            cue=cue.id,
            candidate=choice.id,
            under_voices_lu=choice.under_voices_lu,
            gain_db=choice.gain_db,
            loudness_lufs=lufs,
            below_voices_lu=None if lufs is None or now is None else now - lufs,
            proposed_db=proposed,
        )

    def _loudness_of(self, span: Span) -> Loudness | None:
        self._cancel.check()
        facts = self._media.get(span.file)
        if facts is None or span.file not in self._files:
            return None
        key = music_key(span, self._film.rate, facts)
        found = self._loudness.find(key)
        if found is None:
            self._tell(span)
            found = measure(self._plain(span))
            self._loudness.keep(key, found)
        return found

    def _plain(self, span: Span) -> Iterator[Samples]:
        """Give a cue's music with its parts, without gain, fades and ducking."""
        plain = dataclasses.replace(
            span, start_frames=0, gain_db=0.0, fade_in_frames=0, fade_out_frames=0, duck=None
        )
        sound = SceneSound(scene="", start_frames=0, spans=(plain,), opening=Passage(), closing=Passage())
        track = Track(sounds=(sound,), rate=self._film.rate, frames=span.length_frames)
        for block in stream(track, self._files, self._media, block_samples=48_000):
            self._cancel.check()
            yield block

    def _tell(self, span: Span) -> None:
        name = span.file.rpartition("/")[2]
        share = float(Fraction(self._done, self._whole))
        self._progress(Progress("levels", f"Listening to “{name}”", min(1.0, share)))


def _voiced(clips: Iterable[ClipLevel]) -> list[ClipLevel]:
    return [item for item in clips if item.speech.loudness_lufs is not None]


def _by_voice(clips: Sequence[ClipLevel]) -> tuple[VoiceLevel, ...]:
    voices = dict.fromkeys(item.voice for item in clips)
    found = []
    for voice in voices:
        own = [item for item in clips if item.voice == voice]
        heard = _voiced(own)
        if voice or heard:
            found.append(
                VoiceLevel(
                    voice=voice,
                    clips=len(heard),
                    seconds=sum(item.speech.seconds for item in heard),
                    loudness_lufs=_together((item.loudness_lufs, item.speech.seconds) for item in heard),
                    reached_lufs=_together((item.reached_lufs, item.speech.seconds) for item in heard),
                )
            )
    return tuple(found)


def _together(parts: Iterable[tuple[float | None, float]]) -> float | None:
    """Return the loudness of stretches together: the mean of their powers, by how long they are."""
    power = seconds = 0.0
    for loudness, length in parts:
        if loudness is not None:
            power += length * 10 ** (loudness / 10)
            seconds += length
    return 10 * math.log10(power / seconds) if seconds and power else None


def _differs(item: ClipLevel | MusicLevel) -> bool:
    return abs(item.proposed_db - item.gain_db) >= SAME_DB
