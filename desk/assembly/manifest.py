"""The manifest of an assembly: all that went into it, so that a remark about it can be traced."""

import json
import math
from collections.abc import Mapping
from typing import Any

from desk import __version__
from desk.film.fingerprint import fingerprint
from desk.film.lanes import spans
from desk.film.media import MediaFacts
from desk.film.model import Card, Film
from desk.film.paths import content_paths
from desk.film.reading import kind_name
from desk.film.timecode import format_label
from desk.film.timing import Layout, Slot, clip_starts
from desk.render.kit import Kit
from desk.render.plan import PicturePlan
from desk.render.run import Made

MANIFEST_FORMAT = 1


def manifest(
    film: Film,
    layout: Layout,
    plan: PicturePlan,
    made: Made,
    kit: Kit,
    *,
    facts_of_copy: Mapping[str, object],
    settings: Mapping[str, object],
) -> bytes:
    """Return the manifest as JSON.

    Args:
        film: The film that was assembled.
        layout: What is in the assembly, and where.
        plan: The pieces of its picture.
        made: What was made of them.
        kit: What they were made with.
        facts_of_copy: Name, number and date of the copy.
        settings: What was asked for.
    """
    whole = {
        "manifest": MANIFEST_FORMAT,
        "written_by": f"assembly-desk {__version__}",
        "copy": dict(facts_of_copy),
        "film": {
            "title": film.title,
            "rate": str(film.rate),
            "size": str(film.size),
            "frames": layout.length_frames,
            "start_timecode": _label(film, 0),
        },
        "settings": {
            **settings,
            "copy_size": str(plan.size),
            "ffmpeg": kit.program.version,
            "preset": kit.encoding.preset,
            "crf": kit.encoding.crf,
        },
        "entries": [_entry(film, slot) for slot in layout.slots],
        "left_out": [{"entry": entry, "why": why} for entry, why in layout.left_out],
        "set_aside": [aside.entry for aside in film.aside],
        "sources": _sources(film, layout, kit.media),
        "pieces": [
            {"start": placed.start_frames, "frames": placed.piece.frames, "entry": placed.entry, "key": key}
            for placed, key in zip(plan.placed, made.keys, strict=True)
        ],
        "mix_peak_dbfs": _decibels(made.peak),
    }
    return (json.dumps(whole, indent=1, ensure_ascii=False) + "\n").encode()


def used_paths(layout: Layout) -> tuple[str, ...]:
    """Return the files that an assembly is made from, each once."""
    found: dict[str, None] = {}
    for slot in layout.slots:
        if isinstance(slot.entry, Card):
            found |= {slot.entry.picture: None} if slot.entry.picture else {}
        elif not slot.slate:
            found |= dict.fromkeys(content_paths(slot.entry.content))
    return tuple(found)


def _entry(film: Film, slot: Slot) -> dict[str, Any]:
    told: dict[str, Any] = {
        "entry": slot.entry.id,
        "start": slot.start_frames,
        "frames": slot.length_frames,
        "timecode": _label(film, slot.start_frames),
        "join": {
            "kind": slot.join.kind.value,
            "before": slot.join.before_frames,
            "after": slot.join.after_frames,
        },
    }
    if isinstance(slot.entry, Card):
        return told | {"card": kind_name(slot.entry)}
    scene = slot.entry
    told |= {
        "scene": scene.number,
        "slugline": scene.slugline,
        "state": scene.state.value,
        "version": scene.lock.version if scene.lock else None,
        "content": fingerprint(scene.content),
        "slate": slot.slate,
    }
    if slot.slate:
        return told
    starts = clip_starts(scene.content)
    return told | {
        "clips": [
            {
                "clip": clip.id,
                "source": clip.source,
                "start": slot.start_frames + start,
                "frames": clip.length_frames,
                "in_seconds": str(clip.in_seconds),
                "speed": str(clip.speed),
            }
            for clip, start in zip(scene.content.clips, starts, strict=True)
        ],
        "sounds": [
            {
                "lane": span.kind,
                "of": span.owner,
                "file": span.file,
                "start": slot.start_frames + span.start_frames,
                "frames": span.length_frames,
                "in_seconds": str(span.in_seconds),
                "gain_db": span.gain_db,
            }
            | (
                {"parts": [[str(part.in_seconds), str(part.length_seconds)] for part in span.parts]}
                if span.parts
                else {}
            )
            for span in spans(scene.content, film.rate)
        ],
    }


def _sources(film: Film, layout: Layout, media: Mapping[str, MediaFacts]) -> list[dict[str, Any]]:
    """Return each source with its hash: that of the whole file where a lock has it, else the quick one."""
    whole = {item.path: item for scene in film.scenes if scene.lock for item in scene.lock.media}
    sources = []
    for path in used_paths(layout):
        facts = media[path]
        locked = whole.get(path)
        same = locked is not None and locked.sample_hash == facts.sample_hash
        sources.append(
            {
                "path": path,
                "bytes": facts.size_bytes,
                "sample_hash": facts.sample_hash,
                "sha256": locked.sha256 if locked and same else None,
            }
        )
    return sources


def _label(film: Film, frame: int) -> str:
    return format_label(film.start_frames + frame, film.rate, drop_frame=film.drop_frame)


def _decibels(level: float) -> float | None:
    return round(20 * math.log10(level), 2) if level > 0 else None
