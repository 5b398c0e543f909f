"""What `desk show` tells of a film, as plain values and as a table.

`desk show --json` prints one object; keys are added to it and never renamed:

    title, rate, size       as in the film file: “The Late Ferry”, “30000/1001”, “2048x1080”
    frames, locked_frames   running time, and how much of it is locked scenes
    running_order           entries in order
    set_aside               entries that are out of the film, in the order in which they were set aside
    review_copies           number, date, file, frames, include

An entry has

    kind                    “scene” or “card”
    id                      stays the same whatever is renamed
    name                    a scene's slugline, or what a card is called
    state                   “draft”, “locked” or “lock broken”; of a card “card” or “rolls”
    frames                  its length
    open                    list of part and sentence: what is still open; of a broken lock, what is broken

In the running order also start_frames (from 0), timecode and join (kind “cut”, “dissolve” or “through black”,
before_frames, after_frames); set aside, reason. A scene also has number, clips, tension (0 to 5, or null),
purpose, synopsis, grade_note, cues (label, chosen or null, candidates) and version (of its lock, or null).
"""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from desk.cli.console import Head
from desk.film.effects import Figures
from desk.film.filling import shown_card
from desk.film.locking import broken, what_is_open
from desk.film.model import Card, Film, Join, JoinKind, Lock, Motion, Scene
from desk.film.reading import is_empty, kind_name
from desk.film.timecode import format_label, format_length
from desk.film.timing import entry_frames
from desk.film.wording import counted, listed

_HEADS = (
    Head("No."),
    Head("Scene or card", is_flexible=True),
    Head("State"),
    Head("Length", is_number=True),
    Head("Starts at", is_number=True),
    Head("Then"),
)
_WIDE_HEADS = (
    *_HEADS[:3],
    Head("Clips", is_number=True),
    *_HEADS[3:5],
    Head("Tension", is_number=True),
    *_HEADS[5:],
    Head("Open"),
)

Entry = dict[str, Any]


def whole(film: Film, folder: Path) -> dict[str, Any]:
    """Return all that `desk show` tells, as plain values.

    Args:
        film: The film.
        folder: Its project folder, to see which files are there.
    """
    figures = Figures.of(film)
    return {
        "title": film.title,
        "rate": str(film.rate),
        "size": str(film.size),
        "frames": figures.frames,
        "locked_frames": figures.locked_frames,
        "running_order": _running_order(film, folder),
        "set_aside": [
            _entry(film, folder, film.entry(aside.entry)) | {"reason": aside.reason} for aside in film.aside
        ],
        "review_copies": [
            {
                "number": copy.number,
                "date": copy.date,
                "file": copy.file,
                "frames": copy.frames,
                "include": copy.include,
            }
            for copy in film.review_copies
        ],
    }


def table(
    film: Film, entries: Sequence[Entry], *, narrow: bool
) -> tuple[Sequence[Head], list[tuple[list[str], str]]]:
    """Return the running order as a table: its heads, and each row with what stands below it.

    Args:
        film: The film.
        entries: Its running order.
        narrow: What is open then stands below, and some columns are left out.
    """
    rows = []
    for entry in entries:
        scene = [entry.get("number", ""), entry["name"] or "(no slugline)", entry["state"]]
        times = [format_length(entry["frames"], film.rate), entry["timecode"]]
        then = _join_words(entry["join"])
        parts = ", ".join(dict.fromkeys(item["part"] for item in entry["open"]))
        if narrow:
            rows.append(([*scene, *times, then], f"open: {parts}" if parts else ""))
        else:
            tension = entry.get("tension")
            shown = "" if tension is None else str(tension)
            rows.append(([*scene, str(entry.get("clips", "")), *times, shown, then, parts], ""))
    return _HEADS if narrow else _WIDE_HEADS, rows


def figures_line(film: Film) -> str:
    """Return the line below the table."""
    figures = Figures.of(film)
    scenes = [entry for placement in film.order if isinstance(entry := film.entry(placement.entry), Scene)]
    locked = sum(scene.lock is not None for scene in scenes)
    return (
        f"Running time {format_length(figures.frames, film.rate)} (minutes:seconds:frames), "
        f"{format_length(figures.locked_frames, film.rate)} of it locked: "
        f"{locked} of {counted(len(scenes), 'scene')}."
    )


def aside_line(entry: Entry, film: Film) -> str:
    """Return an entry that is set aside as a line."""
    name = " ".join(part for part in (entry.get("number"), entry["name"]) if part)
    reason = f": {entry['reason']}" if entry["reason"] else ""
    return f"{name}, {format_length(entry['frames'], film.rate)}{reason}"


def still_open(film: Film, scene: Scene, folder: Path) -> str:
    """Return in one sentence what is still open in a scene."""
    parts = dict.fromkeys(item["part"] for item in _open(film, scene, folder))
    return (
        f"Still open: {listed(list(parts), most=9)}."
        if parts
        else "Nothing is open any more; it can be locked."
    )


def _running_order(film: Film, folder: Path) -> list[Entry]:
    told, at = [], 0
    for placement in film.order:
        entry = _entry(film, folder, film.entry(placement.entry))
        label = format_label(film.start_frames + at, film.rate, drop_frame=film.drop_frame)
        told.append(entry | {"start_frames": at, "timecode": label, "join": _join(placement.join)})
        at += entry["frames"]
    return told


def _entry(film: Film, folder: Path, entry: Scene | Card) -> Entry:
    return _card(film, entry) if isinstance(entry, Card) else _scene(film, folder, entry)


def _card(film: Film, card: Card) -> Entry:
    empty = is_empty(shown_card(card, film))
    return {
        "kind": "card",
        "id": card.id,
        "name": kind_name(card),
        "state": "rolls" if card.motion is Motion.ROLL else "card",
        "frames": 0 if empty else entry_frames(card, film),
        "open": [_item("empty", "It is empty, so it is left out.")] if empty else [],
    }


def _scene(film: Film, folder: Path, scene: Scene) -> Entry:
    opened = _open(film, scene, folder)
    return {
        "kind": "scene",
        "id": scene.id,
        "number": scene.number,
        "name": scene.slugline,
        "state": "lock broken" if scene.lock and opened else scene.state.value,
        "clips": len(scene.content.clips),
        "frames": entry_frames(scene, film),
        "tension": scene.tension,
        "purpose": scene.purpose,
        "synopsis": scene.synopsis,
        "grade_note": scene.content.grade_note,
        "cues": [
            {
                "label": cue.label,
                "chosen": (cue.choice.rights.title or cue.choice.file) if cue.choice else None,
                "candidates": len(cue.candidates),
            }
            for cue in scene.content.cues
        ],
        "version": scene.lock.version if scene.lock else None,
        "open": opened,
    }


def _open(film: Film, scene: Scene, folder: Path) -> list[dict[str, str]]:
    """Return what is open in a draft, or broken in a lock."""
    if scene.lock:
        return [_item("lock", reason) for reason in broken(scene, _as_now(scene.lock, folder))]
    return [
        _item(item.part.value, item.sentence)
        for item in what_is_open(film, scene, lambda path: (folder / path).is_file())
    ]


def _item(part: str, sentence: str) -> dict[str, str]:
    return {"part": part, "sentence": sentence}


def _as_now(lock: Lock, folder: Path) -> dict[str, tuple[int, str] | None]:
    """Return the media of a lock as far as a look at names and sizes tells; `desk check` reads the files."""
    found: dict[str, tuple[int, str] | None] = {}
    for item in lock.media:
        try:
            found[item.path] = ((folder / item.path).stat().st_size, item.sample_hash)
        except OSError:
            found[item.path] = None
    return found


def _join(join: Join) -> dict[str, Any]:
    return {"kind": join.kind.value, "before_frames": join.before_frames, "after_frames": join.after_frames}


def _join_words(join: dict[str, Any]) -> str:
    if join["kind"] == JoinKind.CUT.value:
        return ""
    return f"{join['kind']} {join['before_frames'] + join['after_frames']}"
