"""What is not allowed in a scene's content, and the limits that all values of a film share."""

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction

from desk.film.model import (
    CameraLook,
    Candidate,
    Clip,
    ClipSound,
    Cue,
    Film,
    Framing,
    Grade,
    Rights,
    SceneContent,
    SoundKind,
    Spot,
)
from desk.film.paths import path_fault
from desk.film.wording import quoted, sentence, shown_number

LONGEST_TEXT = 10_000
"""Most characters of one text."""

DAY_SECONDS = 86_400
LEAST_SPEED, MOST_SPEED = Fraction(1, 100), Fraction(100)
LEAST_GAIN_DB, MOST_GAIN_DB = -96, 24
MOST_OFFSET_LU, MOST_DUCK_MS = 60, 10_000
LEAST_CUT_HZ, MOST_CUT_HZ, MOST_BAND_HZ, MOST_BAND_DB = 20, 400, 20_000, 24
MOST_BANDS, MOST_PARTS, MOST_REPEATS = 3, 1000, 1000
MOST_SCALE, MOST_SHIFT, MOST_GRADE = 100, 10, 1000
"""Ends of what framing and grades take; far beyond any use, and small enough to write and to reckon with."""

_MOST_DIGITS = 10**60
_ID = re.compile(r"[A-Za-z0-9_-]{1,64}")
_LINE_CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff]")
_TEXT_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff]")
_FINGERPRINT = re.compile(r"[0-9a-f]{32}")

_WORDS = {
    "in_seconds": "in point",
    "out_seconds": "out point",
    "length_frames": "length",
    "gap_frames": "gap",
    "start_frames": "start",
    "gain_db": "gain",
    "lead_frames": "lead",
    "lag_frames": "lag",
    "fade_in_frames": "fade in",
    "fade_out_frames": "fade out",
    "offset_seconds": "offset of the sound",
    "roll_px": "roll",
    "proofs_needed": "number of proofs needed",
    "review_height": "height of review copies",
    "integrated_lufs": "loudness target",
    "voices_lufs": "loudness of voices",
    "voices_offset_lu": "offset of the voices",
    "under_voices_lu": "distance below the voices",
    "length_seconds": "length",
    "depth_db": "depth",
    "attack_ms": "attack",
    "release_ms": "release",
    "every_frames": "time between repeats",
    "low_cut_hz": "low cut",
    "frequency_hz": "middle",
    "q": "narrowness",
    "true_peak_dbtp": "true-peak ceiling",
    "file": "file",
    "next_id": "next new id",
}
_UNITS = {
    "frames": " frames",
    "db": " dB",
    "seconds": " s",
    "px": " px",
    "lufs": " LUFS",
    "dbtp": " dBTP",
    "lu": " LU",
    "ms": " ms",
    "hz": " Hz",
}


@dataclass(frozen=True, slots=True)
class Fault:
    """Something that a film may not hold.

    Attributes:
        place: Path to the value, such as `scenes[3].content.clips[2].length_frames`.
        subject: The same in words: `The length of clip 3 in scene 4A`.
        finding: The rest of the sentence: `must be 1 to 2,160,000 frames, not -3`.
    """

    place: str
    subject: str
    finding: str

    @property
    def sentence(self) -> str:
        """The fault in one sentence."""
        return f"{self.subject} {self.finding}."


def inside(place: str, name: str) -> str:
    """Return the path to a field of what is at `place`; "" is the film itself."""
    return f"{place}.{name}" if place else name


@dataclass(slots=True)
class Findings:
    """Gathers the faults of one film.

    Attributes:
        day_frames: Frames of 24 hours, the end of every length.
        cameras: Ids of the camera looks there are.
        voices: Ids of the voices there are.
        found: What was found so far.
        ids: Every id met so far, with its place.
    """

    day_frames: int
    cameras: frozenset[str] = frozenset()
    voices: frozenset[str] = frozenset()
    found: list[Fault] = field(default_factory=list)
    ids: dict[str, str] = field(default_factory=dict)

    @classmethod
    def of(cls, film: Film) -> "Findings":
        """Return an empty one for a film."""
        day_frames = DAY_SECONDS * film.rate.nominal
        cameras = frozenset(look.id for look in film.camera_looks)
        return cls(day_frames, cameras, frozenset(voice.id for voice in film.voices))

    def add(self, place: str, subject: str, finding: str) -> None:
        """Note a fault."""
        self.found.append(Fault(place, sentence(subject), finding))

    def id(self, value: str, place: str, owner: str) -> None:
        """Look at a new id, which has to be the only one."""
        if not _ID.fullmatch(value):
            finding = f"must be 1 to 64 letters, digits, “-” or “_”, not {quoted(value)}"
            self.add(f"{place}.id", f"the id of {owner}", finding)
        elif value in self.ids:
            finding = f"must be its own, and {quoted(value)} is also the id at {self.ids[value]}"
            self.add(f"{place}.id", f"the id of {owner}", finding)
        else:
            self.ids[value] = place

    def number(
        self, thing: object, name: str, least: float, most: float | None, place: str, owner: str
    ) -> None:
        """Look at a number of `thing`; `most` None is 24 hours of frames. Only finite numbers pass."""
        value = getattr(thing, name)
        most = self.day_frames if most is None else most
        if not least <= value <= most:
            unit = _UNITS.get(name.rpartition("_")[2], "")
            subject = f"the {_WORDS.get(name, name)} of {owner}"
            self.add(
                inside(place, name),
                subject,
                f"must be {shown_number(least)} to {most:,}{unit}, not {shown_number(value)}",
            )

    def seconds(self, thing: object, name: str, least: int, place: str, owner: str) -> None:
        """Look at a place in a file, up to 24 hours."""
        value: Fraction = getattr(thing, name)
        top, bottom = value.numerator, value.denominator
        if least * bottom <= top <= DAY_SECONDS * bottom and bottom < _MOST_DIGITS:
            return
        subject = f"the {_WORDS[name]} of {owner}"
        if bottom >= _MOST_DIGITS:
            self.add(f"{place}.{name}", subject, "must be a fraction of at most 60 digits")
        else:
            finding = (
                f"must be {shown_number(least)} to {DAY_SECONDS:,} s (24 hours), not {shown_number(value)}"
            )
            self.add(f"{place}.{name}", subject, finding)

    def line(self, value: str, place: str, subject: str) -> None:
        """Look at a text of one line."""
        if value and (len(value) > LONGEST_TEXT or not value.isprintable()):
            self._text(value, _LINE_CONTROL, "must be one line without control characters", place, subject)

    def text(self, value: str, place: str, subject: str) -> None:
        """Look at a text of any number of lines."""
        if value and (len(value) > LONGEST_TEXT or not value.isprintable()):
            self._text(value, _TEXT_CONTROL, "must be text without control characters", place, subject)

    def path(self, value: str, place: str, subject: str, *, required: bool = True) -> None:
        """Look at a path."""
        if finding := path_fault(value, required=required):
            self.add(place, subject, f"{finding}, not {quoted(value)}" if value else finding)

    def fingerprint(self, value: str, place: str, subject: str, *, required: bool = True) -> None:
        """Look at a fingerprint."""
        if not _FINGERPRINT.fullmatch(value) and (value or required):
            self.add(place, subject, f"must be 32 hexadecimal digits, not {quoted(value)}")

    def _text(self, value: str, control: re.Pattern[str], finding: str, place: str, subject: str) -> None:
        if len(value) > LONGEST_TEXT:
            self.add(place, subject, f"must have at most {LONGEST_TEXT:,} characters, not {len(value):,}")
        elif control.search(value):
            self.add(place, subject, f"{finding}, not {quoted(value)}")


def find_in_content(
    findings: Findings, content: SceneContent, place: str, owner: str, *, past: bool = False
) -> None:
    """Look at all of a scene's content.

    Args:
        findings: Where to note faults.
        content: The content.
        place: Path to it.
        owner: What a sentence calls its scene.
        past: Whether it is a version of the past, whose cameras and voices may be gone since.
    """
    for index, clip in enumerate(content.clips):
        _find_in_clip(findings, clip, f"{place}.clips[{index}]", f"clip {index + 1} in {owner}", past)
    for index, cue in enumerate(content.cues):
        _find_in_cue(findings, cue, f"{place}.cues[{index}]", f"cue {index + 1} in {owner}")
    for index, spot in enumerate(content.spots):
        _find_in_spot(findings, spot, f"{place}.spots[{index}]", f"spot {index + 1} in {owner}")
    _find_in_chains(findings, content, place, owner, past)
    findings.number(content, "voices_offset_lu", -MOST_OFFSET_LU, MOST_OFFSET_LU, place, owner)
    find_in_grade(findings, content.grade, f"{place}.grade", owner)
    findings.text(content.grade_note, f"{place}.grade_note", f"the grade note of {owner}")


def find_in_grade(findings: Findings, grade: Grade, place: str, owner: str) -> None:
    """Look at the numbers of a look: slope, saturation 0 or more, power above 0, as in the ASC CDL v1.2."""
    for name, values, least in (
        ("slope", grade.slope, 0.0),
        ("offset", grade.offset, -float(MOST_GRADE)),
        ("power", grade.power, 0.0),
        ("saturation", (grade.saturation,), 0.0),
    ):
        if len(values) != (1 if name == "saturation" else 3):
            findings.add(f"{place}.{name}", f"the {name} of {owner}", "must be three numbers, for R, G and B")
            continue
        for value in values:
            if least <= value <= MOST_GRADE and (name != "power" or value > 0):
                continue
            allowed = (
                f"above 0 to {MOST_GRADE}" if name == "power" else f"{shown_number(least)} to {MOST_GRADE}"
            )
            subject = f"the {name} of {owner}"
            findings.add(f"{place}.{name}", subject, f"must be {allowed}, not {shown_number(value)}")
            break


def find_in_look(findings: Findings, look: CameraLook, place: str) -> None:
    """Look at a camera look."""
    owner = f"camera look {quoted(look.name)}"
    findings.id(look.id, place, owner)
    findings.line(look.name, f"{place}.name", f"the name of {owner}")
    findings.text(look.note, f"{place}.note", f"the note of {owner}")
    find_in_grade(findings, look.grade, f"{place}.grade", owner)


def _find_in_clip(findings: Findings, clip: Clip, place: str, owner: str, past: bool) -> None:
    findings.id(clip.id, place, owner)
    findings.path(clip.source, f"{place}.source", f"the source of {owner}")
    findings.seconds(clip, "in_seconds", 0, place, owner)
    findings.number(clip, "length_frames", 1, None, place, owner)
    findings.number(clip, "gap_frames", 0, None, place, owner)
    top, bottom = clip.speed.numerator, clip.speed.denominator
    if not (bottom <= 100 * top and top <= 100 * bottom and top < _MOST_DIGITS and bottom < _MOST_DIGITS):
        finding = (
            f"must be {LEAST_SPEED} to {MOST_SPEED}, in at most 60 digits, not {shown_number(clip.speed)}"
        )
        findings.add(f"{place}.speed", f"the speed of {owner}", finding)
    if clip.framing is not _FRAMING:
        _find_in_framing(findings, clip.framing, f"{place}.framing", owner)
    if clip.sound is not _SOUND:
        _find_in_sound(findings, clip.sound, f"{place}.sound", owner, past)
    if clip.camera and clip.camera not in findings.cameras and not past:
        finding = f"must be one of the film's camera looks, not {quoted(clip.camera)}"
        findings.add(f"{place}.camera", f"the camera of {owner}", finding)
    findings.text(clip.note, f"{place}.note", f"the note of {owner}")


_FRAMING, _SOUND, _RIGHTS = Framing(), ClipSound(), Rights()


def _find_in_framing(findings: Findings, framing: Framing, place: str, owner: str) -> None:
    if not 0 < framing.scale <= MOST_SCALE:
        finding = f"must be above 0 to {MOST_SCALE}, not {shown_number(framing.scale)}"
        findings.add(f"{place}.scale", f"the scale of {owner}", finding)
    for name, words in (("x", "shift to the right"), ("y", "shift down")):
        value = getattr(framing, name)
        if not -MOST_SHIFT <= value <= MOST_SHIFT:
            finding = f"must be −{MOST_SHIFT} to {MOST_SHIFT} frame sizes, not {shown_number(value)}"
            findings.add(f"{place}.{name}", f"the {words} of {owner}", finding)


def _find_in_sound(findings: Findings, sound: ClipSound, place: str, owner: str, past: bool) -> None:
    if sound.voice:
        _find_voice(findings, sound.voice, f"{place}.voice", f"the voice of {owner}", past)
    separate = sound.kind is SoundKind.SEPARATE
    findings.path(sound.file, f"{place}.file", f"the separate recording of {owner}", required=separate)
    findings.seconds(sound, "offset_seconds", -DAY_SECONDS, place, owner)
    findings.number(sound, "gain_db", LEAST_GAIN_DB, MOST_GAIN_DB, place, owner)
    for name in ("lead_frames", "lag_frames", "fade_in_frames", "fade_out_frames"):
        findings.number(sound, name, 0, None, place, owner)


def _find_voice(findings: Findings, voice: str, place: str, subject: str, past: bool) -> None:
    if voice not in findings.voices and not past:
        findings.add(place, subject, f"must be one of the film's voices, not {quoted(voice)}")


def _find_in_chains(findings: Findings, content: SceneContent, place: str, owner: str, past: bool) -> None:
    seen: set[str] = set()
    for index, chain in enumerate(content.voice_chains):
        inner, subject = f"{place}.voice_chains[{index}]", f"the chain of a voice in {owner}"
        _find_voice(findings, chain.voice, f"{inner}.voice", subject, past)
        if chain.voice in seen:
            findings.add(f"{inner}.voice", subject, f"must be the only one for {quoted(chain.voice)}")
        seen.add(chain.voice)
        least = LEAST_CUT_HZ if chain.low_cut_hz else 0
        findings.number(chain, "low_cut_hz", least, MOST_CUT_HZ, inner, subject)
        if len(chain.bands) > MOST_BANDS:
            finding = f"must have at most {MOST_BANDS} bands, not {len(chain.bands):,}"
            findings.add(f"{inner}.bands", subject, finding)
        for at, band in enumerate(chain.bands):
            bell, whose = f"{inner}.bands[{at}]", f"band {at + 1} of {subject}"
            findings.number(band, "frequency_hz", LEAST_CUT_HZ, MOST_BAND_HZ, bell, whose)
            findings.number(band, "gain_db", -MOST_BAND_DB, MOST_BAND_DB, bell, whose)
            findings.number(band, "q", 0.1, 20, bell, whose)


def _find_in_cue(findings: Findings, cue: Cue, place: str, owner: str) -> None:
    findings.id(cue.id, place, owner)
    findings.line(cue.label, f"{place}.label", f"the label of {owner}")
    findings.number(cue, "start_frames", -findings.day_frames, None, place, owner)
    findings.number(cue, "length_frames", 1, None, place, owner)
    for index, candidate in enumerate(cue.candidates):
        inner = f"candidate {index + 1} of {owner}"
        _find_in_file_use(findings, candidate, f"{place}.candidates[{index}]", inner)
        _find_in_candidate(findings, candidate, f"{place}.candidates[{index}]", inner)
    if cue.duck is not None:
        duck, inner = f"{place}.duck", f"the duck of {owner}"
        findings.number(cue.duck, "depth_db", 0, -LEAST_GAIN_DB, duck, inner)
        findings.number(cue.duck, "attack_ms", 0, MOST_DUCK_MS, duck, inner)
        findings.number(cue.duck, "release_ms", 0, MOST_DUCK_MS, duck, inner)
    if cue.chosen and cue.choice is None:
        finding = f"must be one of its candidates, not {quoted(cue.chosen)}"
        findings.add(f"{place}.chosen", f"the choice for {owner}", finding)


def _find_in_candidate(findings: Findings, candidate: Candidate, place: str, owner: str) -> None:
    if candidate.under_voices_lu is not None:
        findings.number(candidate, "under_voices_lu", -MOST_OFFSET_LU, MOST_OFFSET_LU, place, owner)
    if len(candidate.parts) > MOST_PARTS:
        finding = f"must have at most {MOST_PARTS} parts, not {len(candidate.parts):,}"
        findings.add(f"{place}.parts", owner, finding)
    for index, part in enumerate(candidate.parts):
        inner, subject = f"{place}.parts[{index}]", f"part {index + 1} of {owner}"
        findings.seconds(part, "in_seconds", 0, inner, subject)
        findings.seconds(part, "length_seconds", 0, inner, subject)
        if not part.length_seconds:
            findings.add(f"{inner}.length_seconds", f"the length of {subject}", "must be above 0")


def _find_in_spot(findings: Findings, spot: Spot, place: str, owner: str) -> None:
    findings.line(spot.label, f"{place}.label", f"the label of {owner}")
    findings.number(spot, "start_frames", -findings.day_frames, None, place, owner)
    findings.number(spot, "length_frames", 1, None, place, owner)
    if spot.repeats or spot.every_frames:
        findings.number(spot, "repeats", 0, MOST_REPEATS, place, owner)
        findings.number(spot, "every_frames", 1 if spot.repeats else 0, None, place, owner)
    _find_in_file_use(findings, spot, place, owner)


def _find_in_file_use(findings: Findings, use: Candidate | Spot, place: str, owner: str) -> None:
    findings.id(use.id, place, owner)
    findings.path(use.file, f"{place}.file", f"the file of {owner}")
    findings.seconds(use, "in_seconds", 0, place, owner)
    findings.number(use, "gain_db", LEAST_GAIN_DB, MOST_GAIN_DB, place, owner)
    findings.number(use, "fade_in_frames", 0, None, place, owner)
    findings.number(use, "fade_out_frames", 0, None, place, owner)
    if use.rights is _RIGHTS:
        return
    for name in ("title", "author", "source", "licence", "licence_link"):
        words = name.replace("_", " ")
        findings.line(getattr(use.rights, name), f"{place}.rights.{name}", f"the {words} of {owner}")
    words = "required credit"
    findings.text(use.rights.required_credit, f"{place}.rights.required_credit", f"the {words} of {owner}")


def content_ids(content: SceneContent) -> Iterable[str]:
    """Yield the ids of a scene's clips, cues, candidates and spots."""
    yield from (clip.id for clip in content.clips)
    for cue in content.cues:
        yield cue.id
        yield from (candidate.id for candidate in cue.candidates)
    yield from (spot.id for spot in content.spots)
