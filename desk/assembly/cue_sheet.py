"""The cue sheet of an assembly: which music sounds where, as a table for spreadsheets and as a page to print.

Columns are those that performing-rights bodies' guides have in common; there is no single standard. A cue is
numbered by its reel, `m`, and its place in the film: `1m1`. Times are the film's timecode in this assembly;
the out point is the frame after the last. Lengths in seconds are rounded, halves up; the table for
spreadsheets writes them with hours, since those take `0:56` for 56 minutes.

Effects are no music and stand in no cue sheet; the page names those that have to be credited.

Usage is told from what is known of the scene: music that goes down under speech, is set below the voices, or
sounds while a clip is seen in which somebody is said to speak, or while somebody was heard to speak, is in
the background; other music is featured.
"""

import html
import itertools
import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import PurePosixPath

from desk.film.lanes import spans
from desk.film.model import Cue, Film, Rights, Scene
from desk.film.rights import (
    NO_LEGAL_ADVICE,
    change_words,
    credit_line,
    effect_credits,
    missing,
    obligations,
    terms_of,
)
from desk.film.timecode import format_label
from desk.film.timing import Layout, clip_starts
from desk.sound.ducking import Stretch
from desk.sound.plan import SpeechOf, speech_in, unheard

REEL = 1
"""A film here is one reel."""

_COLUMNS = (
    "Number",
    "Label",
    "Scene",
    "Title",
    "Composer",
    "Source",
    "Licence",
    "Usage",
    "Usage told from",
    "In",
    "Out",
    "Duration",
    "Seconds",
)
_SPECIAL = re.compile(r'[",\r\n]')
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


@dataclass(frozen=True, slots=True, kw_only=True)
class CueLine:
    """A cue as it sounds in an assembly.

    Attributes:
        number: `1m1`.
        label: What the scene calls it.
        scene: Number of its scene.
        cue: The cue; it has a choice.
        start_frames: First frame in the film, from 0.
        end_frames: The frame after its last.
        usage: `background` or `featured`.
        told_from: What that is told from.
    """

    number: str
    label: str
    scene: str
    cue: Cue
    start_frames: int
    end_frames: int
    usage: str
    told_from: str

    @property
    def length_frames(self) -> int:
        """How long it sounds."""
        return self.end_frames - self.start_frames

    @property
    def title(self) -> str:
        """Title of its music, or the name of its file."""
        choice = self.cue.choice
        return (choice.rights.title or PurePosixPath(choice.file).stem) if choice else ""


def cue_lines(film: Film, layout: Layout, speech_of: SpeechOf = unheard) -> tuple[CueLine, ...]:
    """Return the cues of an assembly, in the order in which they begin.

    Args:
        film: The film.
        layout: What is in the assembly.
        speech_of: Gives what is known of a clip's speech.
    """
    found: list[tuple[int, int, Scene, Cue]] = []
    for slot in layout.slots:
        if not isinstance(slot.entry, Scene) or slot.slate:
            continue
        cues = {cue.id: cue for cue in slot.entry.content.cues}
        for span in spans(slot.entry.content, film.rate):
            if span.kind == "music":
                start = max(0, slot.start_frames + span.start_frames)
                end = min(layout.length_frames, slot.start_frames + span.end_frames)
                if start < end:
                    found.append((start, end, slot.entry, cues[span.owner]))
    found.sort(key=lambda item: item[:2])
    lines = []
    heard = _heard(film, layout, speech_of) if found else ()
    for count, (start, end, scene, cue) in enumerate(found, start=1):
        usage, told_from = _usage(layout, cue, start, end)
        spoken = (film.rate.samples(start), film.rate.samples(end))
        if usage == "featured" and any(low < spoken[1] and spoken[0] < high for low, high in heard):
            usage, told_from = "background", "somebody was heard to speak while it sounds"
        lines.append(
            CueLine(
                number=f"{REEL}m{count}",
                label=cue.label,
                scene=scene.number,
                cue=cue,
                start_frames=start,
                end_frames=end,
                usage=usage,
                told_from=told_from,
            )
        )
    return tuple(lines)


def cue_sheet_csv(film: Film, lines: Sequence[CueLine]) -> bytes:
    """Return the table as RFC 4180 has it, with a byte order mark so that spreadsheets read it as UTF-8.

    Text that a spreadsheet might run as a formula gets a `'` before it (OWASP, "CSV Injection").

    Args:
        film: The film.
        lines: Its cues.
    """
    rows = [_COLUMNS, *((*_cells(film, line), _with_hours(film, line.length_frames)) for line in lines)]
    text = "".join(",".join(csv_cell(cell) for cell in row) + "\r\n" for row in rows)
    return text.encode("utf-8-sig")


def cue_sheet_page(film: Film, layout: Layout, lines: Sequence[CueLine]) -> bytes:
    """Return the sheet as a page to print: one file that needs no other.

    Args:
        film: The film.
        layout: What is in the assembly.
        lines: Its cues.
    """
    music = music_frames(lines)
    facts = (
        ("Running time", _timecode(film, layout.length_frames, from_zero=True)),
        ("Music", f"{_timecode(film, music, from_zero=True)} in {len(lines)} cue{'s' * (len(lines) != 1)}"),
        ("Frames a second", str(film.rate)),
        ("First frame", _timecode(film, 0)),
    )
    heads = "".join(f"<th>{_text(column)}</th>" for column in _COLUMNS)
    rows = "\n".join(
        f"<tr>{''.join(f'<td>{_text(cell)}</td>' for cell in _row(film, line))}</tr>" for line in lines
    )
    told = "".join(f"<dt>{_text(name)}</dt><dd>{_text(value)}</dd>" for name, value in facts)
    notes = "\n".join(f"<li>{_text(note)}</li>" for note in _notes(layout, lines))
    page = f"""<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<title>{_text(f"{film.title}: cue sheet")}</title>
<style>{_STYLE}</style>
</head>
<body>
<h1>{_text(film.title)}</h1>
<p>Music cue sheet</p>
<dl>{told}</dl>
<table>
<thead><tr>{heads}</tr></thead>
<tbody>
{rows}
</tbody>
</table>
<h2>Credits and terms</h2>
<ul>
{notes}
</ul>
<p>{_text(_ABOUT)}</p>
</body>
</html>
"""
    return page.encode()


def csv_cell(text: str) -> str:
    """Return text as a cell, quoted where need be, that no spreadsheet takes for a formula."""
    guarded = f"'{text}" if text.startswith(_FORMULA_STARTS) else text
    if guarded == text and not _SPECIAL.search(text):
        return text
    inner = guarded.replace('"', '""')
    return f'"{inner}"'


def music_frames(lines: Sequence[CueLine]) -> int:
    """Return for how many frames of the film there is music; where cues overlap, once."""
    reached = music = 0
    for line in lines:
        music += max(0, line.end_frames - max(reached, line.start_frames))
        reached = max(reached, line.end_frames)
    return music


def whole_seconds(film: Film, frames: int) -> str:
    """Return a length as minutes and seconds, halves up: `0:56`."""
    seconds = _rounded_seconds(film, frames)
    return f"{seconds // 60}:{seconds % 60:02}"


def _with_hours(film: Film, frames: int) -> str:
    """Return a length as a spreadsheet reads it: `0:00:56`."""
    seconds = _rounded_seconds(film, frames)
    return f"{seconds // 3600}:{seconds // 60 % 60:02}:{seconds % 60:02}"


def _rounded_seconds(film: Film, frames: int) -> int:
    return math.floor(film.rate.seconds(frames) + Fraction(1, 2))


def _heard(film: Film, layout: Layout, speech_of: SpeechOf) -> tuple[Stretch, ...]:
    """Return where somebody was heard to speak, in samples of the film."""
    found: list[Stretch] = []
    for slot in layout.slots:
        if isinstance(slot.entry, Scene) and not slot.slate:
            first = film.rate.samples(slot.start_frames)
            own = spans(slot.entry.content, film.rate)
            found += [(first + low, first + high) for low, high in speech_in(own, film.rate, speech_of)]
    return tuple(found)


def _usage(layout: Layout, cue: Cue, start: int, end: int) -> tuple[str, str]:
    choice = cue.choice
    if cue.duck is not None:
        return "background", "it goes down under speech"
    if choice is not None and choice.under_voices_lu is not None:
        return "background", "it is set below the voices"
    for slot in layout.slots:
        if not isinstance(slot.entry, Scene) or slot.slate:
            continue
        content = slot.entry.content
        for clip, at in zip(content.clips, clip_starts(content), strict=True):
            first = slot.start_frames + at
            if clip.sound.voice and first < end and start < first + clip.length_frames:
                return "background", "somebody speaks while it sounds"
    return "featured", "nobody is said to speak while it sounds"


def _cells(film: Film, line: CueLine) -> list[str]:
    choice = line.cue.choice
    assert choice is not None
    return [
        line.number,
        line.label,
        line.scene,
        line.title,
        choice.rights.author,
        choice.rights.source,
        terms_of(choice.rights).name or "not entered",
        line.usage,
        line.told_from,
        _timecode(film, line.start_frames),
        _timecode(film, line.end_frames),
        _timecode(film, line.length_frames, from_zero=True),
    ]


def _row(film: Film, line: CueLine) -> list[str]:
    return [*_cells(film, line), whole_seconds(film, line.length_frames)]


def _notes(layout: Layout, lines: Sequence[CueLine]) -> Iterator[str]:
    pieces: dict[tuple[str, Rights, str], list[str]] = {}
    for line in lines:
        if (choice := line.cue.choice) is not None:
            piece = (line.title, choice.rights, change_words(choice))
            pieces.setdefault(piece, []).append(line.number)
    for (_, rights, changed), numbers in pieces.items():
        named = ", ".join(numbers)
        if credit := credit_line(rights, changed):
            yield f"{named}: {credit}"
        for obligation in obligations(rights):
            yield f"{named}: {obligation}"
        if lacking := missing(rights):
            yield f"{named}: not entered: {', '.join(lacking)}."
    for before, after in itertools.pairwise(lines):
        if after.start_frames < before.end_frames:
            yield f"{before.number} and {after.number} overlap."
    playing = [slot.entry for slot in layout.slots if isinstance(slot.entry, Scene) and not slot.slate]
    for row in effect_credits(playing).rows:
        yield f"Effect: {row.names[0]}"


def _timecode(film: Film, frames: int, *, from_zero: bool = False) -> str:
    start = 0 if from_zero else film.start_frames
    return format_label(start + frames, film.rate, drop_frame=film.drop_frame)


def _text(text: str) -> str:
    return html.escape(" ".join(text.split()))


_ABOUT = (
    "In and out are timecode of this assembly; out is the frame after the last. Music is in the background "
    "where it goes down under speech, is set below the voices, or sounds while somebody is said or was heard "
    f"to speak. {NO_LEGAL_ADVICE}"
)
_STYLE = (
    "body{font:10pt sans-serif;margin:2em;color:#111;background:#fff}"
    "table{border-collapse:collapse;width:100%}"
    "th,td{border:1px solid #999;padding:.25em .4em;text-align:left;vertical-align:top}"
    "th{background:#eee}tr{break-inside:avoid}h2{break-after:avoid}thead{display:table-header-group}"
    "td:nth-child(n+10){white-space:nowrap;font-variant-numeric:tabular-nums}"
    "td:nth-child(4),td:nth-child(5),td:nth-child(6),li{overflow-wrap:anywhere}"
    "td:nth-child(4),td:nth-child(5){min-width:7em}"
    "dl{display:grid;grid-template-columns:max-content 1fr;gap:.2em 1em}dd{margin:0}"
    "@page{size:landscape;margin:1.5cm}@media print{body{margin:0}}"
)
