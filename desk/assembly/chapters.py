"""Chapters: one for each scene and card, as ffmpeg's metadata file and as WebVTT."""

import html
import re
from fractions import Fraction

from desk.film.model import Card, Film, Scene
from desk.film.reading import kind_name
from desk.film.timing import Layout

_SPECIAL = re.compile(r"([=;#\\\n])")
_CONTROL = re.compile(r"[\x00-\x08\x0e-\x1f\x7f]")


def entry_name(entry: Scene | Card) -> str:
    """Return what a chapter calls an entry, on one line: `4A INT. BOATHOUSE - NIGHT`, or a card's name."""
    if isinstance(entry, Card):
        return _one_line(kind_name(entry))
    return _one_line(f"{entry.number} {entry.slugline}") or "Scene"


def chapters_text(film: Film, layout: Layout) -> str:
    """Return an ffmpeg metadata file with the film's title and a chapter for each slot.

    Times are frames, exactly. To be written as UTF-8 without a byte order mark, which ffmpeg refuses, and
    read with `-map_metadata` and `-map_chapters`.

    Args:
        film: The film.
        layout: What is in the assembly.
    """
    lines = [";FFMETADATA1", f"title={escape_metadata(_one_line(film.title))}"]
    for slot in layout.slots:
        lines += [
            "[CHAPTER]",
            f"TIMEBASE={film.rate.denominator}/{film.rate.numerator}",
            f"START={slot.start_frames}",
            f"END={slot.end_frames}",
            f"title={escape_metadata(entry_name(slot.entry))}",
        ]
    return "\n".join(lines) + "\n"


def chapters_vtt(film: Film, layout: Layout) -> str:
    """Return the chapters as WebVTT: real time from the film's first frame, not timecode.

    Args:
        film: The film.
        layout: What is in the assembly.
    """
    cues = []
    for slot in layout.slots:
        start, end = (format_clock(film.rate.seconds(at)) for at in (slot.start_frames, slot.end_frames))
        cues.append(f"{start} --> {end}\n{html.escape(entry_name(slot.entry), quote=False)}\n")
    return "\n".join(("WEBVTT\n", *cues))


def escape_metadata(text: str) -> str:
    r"""Return a key or value for ffmpeg's metadata file: `\` before `=`, `;`, `#`, `\` and a line end.

    A space follows a `\` at the end: ffmpeg takes any line end after a `\` for an escaped one, even where
    that `\` is escaped itself, and would read the next line into the value.
    """
    escaped = _SPECIAL.sub(r"\\\1", text)
    return f"{escaped} " if escaped.endswith("\\") else escaped


def format_clock(seconds: Fraction) -> str:
    """Return a WebVTT timestamp `hh:mm:ss.mmm`, to the nearest millisecond, halves up.

    Args:
        seconds: 0 or more.
    """
    milliseconds = int(seconds * 1000 + Fraction(1, 2))
    whole, rest = divmod(milliseconds, 1000)
    minutes, second = divmod(whole, 60)
    hour, minute = divmod(minutes, 60)
    return f"{hour:02}:{minute:02}:{second:02}.{rest:03}"


def _one_line(text: str) -> str:
    return " ".join(_CONTROL.sub(" ", text).split())
