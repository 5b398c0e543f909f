"""What is to be said of a clip, in words."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from desk.errors import TimecodeError
from desk.film.framing import enlargement
from desk.film.media import MediaFacts, PictureFacts
from desk.film.model import Clip, ClipSound, Film, Fit, Framing, Scene, SoundKind
from desk.film.problem import Facts, MediaTrouble
from desk.film.rates import Rate
from desk.film.scene_checks import LEAST_ENLARGEMENT
from desk.film.timecode import format_label, format_length, parse_label
from desk.film.timing import head_handle_frames, tail_handle_frames
from desk.film.wording import counted, quoted

NOT_READ = "not read yet"
_MOST_RATE = 100
"""Rates from here on would need three digits for the frames of a label."""


@dataclass(frozen=True, slots=True)
class Fact:
    """One line about a clip.

    Attributes:
        name: What it is about, such as `length`; "" where it goes on with the line before.
        text: What is the case.
        kind: "" for what is plain, `open` for what deserves a look, `fault` for what is wrong.
        more: What is to be said beyond the line, or "".
    """

    name: str
    text: str
    kind: str = ""
    more: str = ""


@dataclass(frozen=True, slots=True)
class FileTrouble:
    """A file of a scene that is not as it should be.

    Attributes:
        path: The file, as the film has it.
        sentence: What is the matter, with its name.
        advice: What to do.
    """

    path: str
    sentence: str
    advice: str


def file_name(path: str) -> str:
    """Return the last part of a film's path."""
    return path.rpartition("/")[2] or path


def clip_facts(film: Film, scene: Scene, clip: Clip, facts: Facts) -> tuple[Fact, ...]:
    """Return what is to be said of a clip, in the order in which it is read.

    Args:
        film: The film.
        scene: The scene.
        clip: One of its clips.
        facts: What is known of each file.
    """
    known = facts.get(clip.source)
    media = known if isinstance(known, MediaFacts) else None
    picture = media.picture if media else None
    found = [
        *_source(scene, clip, known),
        _in_point(clip, picture),
        *_timecode(clip, media),
        Fact(
            "length", format_length(clip.length_frames, film.rate), more=counted(clip.length_frames, "frame")
        ),
        *_gap(clip),
        _speed(clip, film.rate, picture),
        _framing(clip.framing, film, picture),
        _handles(clip, film.rate, picture, is_read=known is not None),
        _sound(clip.sound, media),
        *_cameras(film, clip, media),
        *_footage(picture),
    ]
    return tuple(found)


def file_trouble(scene: Scene, path: str, facts: Facts) -> FileTrouble | None:
    """Return what is the matter with a file of a scene: gone, unreadable, or not what was locked.

    Args:
        scene: The scene.
        path: One of its files.
        facts: What is known of each file; one that is not in it was not looked at, and is not spoken of.
    """
    known = facts.get(path)
    if isinstance(known, MediaTrouble):
        if known.code == "media.missing":
            return FileTrouble(path, f"{quoted(path)} is missing.", known.advice)
        name = file_name(path)
        told = known.sentence if name in known.sentence else f"{quoted(path)}: {known.sentence}"
        return FileTrouble(path, told, known.advice)
    if isinstance(known, MediaFacts) and _has_changed(scene, path, known):
        return FileTrouble(
            path,
            f"{quoted(file_name(path))} is another file than the one that was locked.",
            "Put the old one back, or say where it is; or unlock the scene, look at it and lock it anew.",
        )
    return None


def source_label(seconds: Fraction, rate: Rate) -> str:
    """Return a place in a source as hh:mm:ss:ff at the source's own rate; in seconds for a very high rate."""
    if rate.nominal > _MOST_RATE:
        return f"{float(seconds):.3f} s"
    return format_label(math.floor(seconds * rate.fraction), rate)


def shown_rate(rate: Rate) -> str:
    """Return a source's rate for reading: `25`, `29.97`."""
    return f"{float(rate.fraction):.2f}".rstrip("0").rstrip(".")


def gain_text(gain_db: float) -> str:
    """Return a gain: `0 dB`, `+2.5 dB`, `−9 dB`."""
    if not gain_db:
        return "0 dB"
    return f"{'+' if gain_db > 0 else '−'}{abs(gain_db):.3g} dB"


def _has_changed(scene: Scene, path: str, known: MediaFacts) -> bool:
    if scene.lock is None:
        return False
    locked = next((media for media in scene.lock.media if media.path == path), None)
    return locked is not None and (locked.size_bytes, locked.sample_hash) != (
        known.size_bytes,
        known.sample_hash,
    )


def _source(scene: Scene, clip: Clip, known: MediaFacts | MediaTrouble | None) -> Iterator[Fact]:
    name = file_name(clip.source)
    word = ""
    if isinstance(known, MediaTrouble):
        word = "missing" if known.code == "media.missing" else "can't be read"
    elif known is not None and known.picture is None:
        word = "has no picture"
    elif known is not None and _has_changed(scene, clip.source, known):
        word = "is not the file that was locked"
    yield Fact("source", name, "fault" if word else "", clip.source)
    if word:
        yield Fact("", word, "fault")


def _in_point(clip: Clip, picture: PictureFacts | None) -> Fact:
    seconds = f"{float(clip.in_seconds):.3f} s"
    if picture is None:
        return Fact("in", seconds)
    frame = math.floor(clip.in_seconds * picture.rate.fraction)
    more = f"{seconds} from its first picture, frame {frame:,} at {shown_rate(picture.rate)} frames a second"
    return Fact("in", source_label(clip.in_seconds, picture.rate), more=more)


def _timecode(clip: Clip, media: MediaFacts | None) -> Iterator[Fact]:
    """Yield the label that the camera gave the frame at the in point, where it gave any."""
    if media is None or media.picture is None or not media.timecode:
        return
    rate = media.picture.rate
    try:
        start, drop_frame = parse_label(media.timecode, rate)
        at = start + math.floor(clip.in_seconds * rate.fraction)
        label = format_label(at, rate, drop_frame=drop_frame)
    except TimecodeError:
        return
    yield Fact("timecode", label, more="The label that the file gives this frame.")


def _gap(clip: Clip) -> Iterator[Fact]:
    if clip.gap_frames:
        yield Fact("before it", f"{counted(clip.gap_frames, 'frame')} of black", "open")


def _speed(clip: Clip, rate: Rate, picture: PictureFacts | None) -> Fact:
    text = str(clip.speed)
    if picture is None:
        return Fact("speed", text)
    if picture.variable:
        return Fact("speed", f"{text}, each frame at its own time")
    # Source frames for each frame of the film.
    step = picture.rate.fraction * clip.speed / rate.fraction
    if step == 1:
        return Fact("speed", text if clip.speed == 1 else f"{text}, every frame")
    more = f"{float(step):.3g} source frames for each frame of the film"
    if step < 1:
        return Fact("speed", f"{text}, frames repeat", more=more)
    return Fact("speed", f"{text}, frames left out", more=more)


def _framing(framing: Framing, film: Film, picture: PictureFacts | None) -> Fact:
    parts = ["fills the frame" if framing.fit is Fit.FILL else "whole picture"]
    if framing.scale != 1:
        parts = [f"{framing.scale * 100:.4g} %"]
    for value, forward, back in ((framing.x, "right", "left"), (framing.y, "down", "up")):
        if value:
            parts.append(f"{abs(value) * 100:.3g} % {forward if value > 0 else back}")
    more = "Fills the frame" if framing.fit is Fit.FILL else "The whole picture is seen"
    more += f", at {framing.scale * 100:.4g} % of that size."
    if picture is not None:
        factor = enlargement(framing, picture.upright_size, film.size)
        if factor >= LEAST_ENLARGEMENT:
            beyond = math.floor((factor - 1) * 100 + Fraction(1, 2))
            parts.append(f"{beyond} % beyond pixels")
            more += f" At {film.size} that enlarges it by {beyond} % beyond its own pixels."
            return Fact("framing", ", ".join(parts), "open", more)
    return Fact("framing", ", ".join(parts), more=more)


def _handles(clip: Clip, rate: Rate, picture: PictureFacts | None, *, is_read: bool) -> Fact:
    before = head_handle_frames(clip, rate)
    if picture is None:
        # A file that is missing is not read later either.
        return Fact("handles", f"{before:,} before, after {'not known' if is_read else NOT_READ}")
    after = tail_handle_frames(clip, rate, picture.seconds)
    if after < 0:
        beyond = counted(-after, "frame")
        return Fact("handles", f"{before:,} before, runs {beyond} beyond its end", "fault")
    return Fact(
        "handles", f"{before:,} before, {after:,} after", more="Frames of footage beyond head and tail."
    )


def _sound(sound: ClipSound, media: MediaFacts | None) -> Fact:
    if sound.kind is SoundKind.SILENCE:
        return Fact("sound", "silence")
    parts = ["own" if sound.kind is SoundKind.OWN else "separate"]
    kind, more = "", ""
    if sound.kind is SoundKind.SEPARATE:
        more = f"{sound.file}, from {float(sound.offset_seconds):.3f} s"
    elif media is not None and media.sound is None:
        parts, kind = ["own, but the file has none"], "open"
    parts.append(f"lead {sound.lead_frames}, lag {sound.lag_frames}")
    return Fact("sound", ", ".join(parts), kind, more)


def _cameras(film: Film, clip: Clip, media: MediaFacts | None) -> Iterator[Fact]:
    look = next((item for item in film.camera_looks if item.id == clip.camera), None)
    if look is not None:
        yield Fact("camera look", look.name, more=look.note)
    elif film.camera_looks:
        yield Fact("camera look", "none", "open")
    if media is not None and media.camera:
        yield Fact("camera", media.camera)


def _footage(picture: PictureFacts | None) -> Iterator[Fact]:
    if picture is None:
        return
    width, height = picture.upright_size
    size = f"{round(width)} × {round(height)}"
    rate = f"about {shown_rate(picture.rate)}, varying" if picture.variable else shown_rate(picture.rate)
    more = ", ".join(
        part
        for part in (
            f"{shown_rate(picture.rate)} frames a second",
            picture.codec,
            f"{picture.bit_depth} bits",
            "full range" if picture.full_range else "limited range",
            picture.matrix,
            f"turned by {picture.rotation_degrees}°" if picture.rotation_degrees else "",
            "interlaced" if picture.interlaced else "",
        )
        if part
    )
    yield Fact("footage", f"{size} at {rate}", more=more)
