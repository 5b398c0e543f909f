"""What a timeline file says beside the times: metadata under our own key, grade numbers, markers."""

import dataclasses
from collections.abc import Iterator
from enum import Enum
from fractions import Fraction
from typing import Any

from opentimelineio.opentime import TimeRange
from opentimelineio.schema import Marker, MarkerColor

from desk.assembly.chapters import entry_name
from desk.film.lanes import Span
from desk.film.media import MediaFacts
from desk.film.model import Card, Clip, Film, Grade, Scene
from desk.film.rates import Rate
from desk.film.timecode import format_label
from desk.film.timing import Layout, Slot

KEY = "assembly-desk"
"""Our key in every `metadata`."""

FORMAT = 1
"""Version of what stands under it."""

Notes = dict[str, Any]

_STATE_COLOURS = {
    "locked": MarkerColor.GREEN,
    "draft": MarkerColor.YELLOW,
    "slate": MarkerColor.ORANGE,
}


def plain(value: object) -> Any:  # noqa: ANN401 - JSON is any
    """Return a value of the film as plain JSON values; fractions and rates as text, exactly.

    Raises:
        TypeError: for a value that has no such form.
    """
    match value:
        case Enum():
            return value.value
        case None | bool() | int() | float() | str():
            return value
        case Fraction() | Rate():
            return str(value)
        case tuple() | list():
            return [plain(item) for item in value]
    if dataclasses.is_dataclass(value):
        return {field.name: plain(getattr(value, field.name)) for field in dataclasses.fields(value)}
    raise TypeError(f"no plain form of {type(value).__name__}")


def cdl(grade: Grade) -> Notes:
    """Return grade numbers in the form that timeline files use for an ASC CDL by convention."""
    return {
        "asc_sop": {
            "slope": list(grade.slope),
            "offset": list(grade.offset),
            "power": list(grade.power),
        },
        "asc_sat": grade.saturation,
    }


def film_notes(film: Film, layout: Layout, review_file: str | None) -> Notes:
    """Return what stands at the top: the film's figures, what is set aside and what was left out."""
    entries = film.entries()
    return {
        "format": FORMAT,
        "rate": str(film.rate),
        "size": plain(film.size),
        "start": format_label(film.start_frames, film.rate, drop_frame=film.drop_frame),
        "drop_frame": film.drop_frame,
        "length_frames": layout.length_frames,
        "fade_in_frames": film.fade_in_frames,
        "fade_out_frames": film.fade_out_frames,
        "review_file": review_file or "",
        "set_aside": [
            {
                "id": aside.entry,
                "name": entry_name(entries[aside.entry]),
                "after": list(aside.after),
                "reason": aside.reason,
            }
            for aside in film.aside
        ],
        "left_out": [
            {"id": entry_id, "name": entry_name(entries[entry_id]), "reason": reason}
            for entry_id, reason in layout.left_out
        ],
    }


def scene_notes(slot: Slot, scene: Scene) -> Notes:
    """Return what is known of a scene beside its clips."""
    content = scene.content
    return {
        "kind": "scene",
        "id": scene.id,
        "number": scene.number,
        "slugline": scene.slugline,
        "purpose": scene.purpose,
        "synopsis": scene.synopsis,
        "tension": scene.tension,
        "state": scene.state.value,
        "slate": slot.slate,
        "lock": {"version": scene.lock.version, "date": scene.lock.date, "reason": scene.lock.reason}
        if scene.lock
        else None,
        "proofs": [{"date": proof.date, "by": proof.by, "remark": proof.remark} for proof in scene.proofs],
        "voices_levelled": content.voices_levelled,
        "no_music": content.no_music,
        "cues": plain(content.cues),
        "grade": cdl(content.grade),
        "grade_note": content.grade_note,
    }


def card_notes(card: Card) -> Notes:
    """Return what is known of a card."""
    return {**plain(card), "kind": "card", "card": card.kind.value}


def picture_notes(film: Film, scene: Scene, clip: Clip) -> Notes:
    """Return what is known of a clip's picture, with its in point and length exactly as the film has them."""
    look = next((look for look in film.camera_looks if look.id == clip.camera), None)
    return {
        "kind": "picture",
        "id": clip.id,
        "scene": scene.id,
        "number": scene.number,
        "source": clip.source,
        "in_seconds": str(clip.in_seconds),
        "length_frames": clip.length_frames,
        "speed": str(clip.speed),
        "framing": plain(clip.framing),
        "camera_look": {"id": look.id, "name": look.name, "cdl": cdl(look.grade)} if look else None,
        "note": clip.note,
    }


def sound_notes(scene: Scene, span: Span) -> Notes:
    """Return what is known of a sound: the whole of it, wherever the timeline cuts it.

    Args:
        scene: Its scene.
        span: The whole sound; its start counts from the scene's.
    """
    notes: Notes = {
        "kind": span.kind,
        "id": span.owner,
        "scene": scene.id,
        "number": scene.number,
        "source": span.file,
        "start_frames": span.start_frames,
        "length_frames": span.length_frames,
        "in_seconds": str(span.in_seconds),
        "speed": str(span.speed),
        "gain_db": span.gain_db,
        "fade_in_frames": span.fade_in_frames,
        "fade_out_frames": span.fade_out_frames,
    }
    match span.kind:
        case "dialogue":
            clip = next(clip for clip in scene.content.clips if clip.id == span.owner)
            notes["sound"] = plain(clip.sound)
        case "effects":
            spot = next(spot for spot in scene.content.spots if spot.id == span.owner)
            notes["label"], notes["rights"] = spot.label, plain(spot.rights)
        case "music":
            cue = next(cue for cue in scene.content.cues if cue.id == span.owner)
            notes["label"], notes["chosen"] = cue.label, cue.chosen
            notes["rights"] = plain(cue.choice.rights) if cue.choice else None
            notes["other_candidates"] = [plain(item) for item in cue.candidates if item.id != cue.chosen]
    return notes


def media_notes(source: str, facts: MediaFacts | None) -> Notes:
    """Return what is known of a file. Only what the film needs: nothing of who made it, or where."""
    if facts is None:
        return {"source": source, "note": "missing when this was written"}
    notes: Notes = {
        "source": source,
        "size_bytes": facts.size_bytes,
        "sample_hash": facts.sample_hash,
        "timecode": facts.timecode,
        "camera": facts.camera,
    }
    if picture := facts.picture:
        notes["rate"], notes["variable_rate"] = str(picture.rate), picture.variable
        notes["stored_size"] = {"width": picture.width, "height": picture.height}
        notes["rotation_degrees"] = picture.rotation_degrees
    return notes


def scene_markers(slot: Slot, scene: Scene, extent: TimeRange) -> Iterator[Marker]:
    """Yield the markers of a scene: its state, its grade note, and the remarks of its proofs.

    Args:
        slot: Its place.
        scene: The scene.
        extent: The range that they mark, in the time of what they are put on.
    """
    state = "slate" if slot.slate else scene.state.value
    version = f", version {scene.lock.version}, {scene.lock.date}" if scene.lock else ""
    yield _marker(
        f"{state}{version}", scene.lock.reason if scene.lock else "", "state", extent, _STATE_COLOURS[state]
    )
    if scene.content.grade_note:
        colour = MarkerColor.BLUE
        yield _marker("grade note", scene.content.grade_note, "grade note", extent, colour)
    for proof in scene.proofs:
        if proof.remark:
            colour = MarkerColor.PURPLE
            yield _marker(f"proof, {proof.date}", proof.remark, "proof", extent, colour)


def clip_markers(clip: Clip, extent: TimeRange) -> Iterator[Marker]:
    """Yield the marker of a clip's note, where it has one.

    Args:
        clip: The clip.
        extent: The range that it marks, in the clip's time.
    """
    if clip.note:
        yield _marker("note", clip.note, "note", extent, MarkerColor.CYAN)


def _marker(name: str, comment: str, kind: str, extent: TimeRange, colour: str) -> Marker:
    return Marker(
        name=name, marked_range=extent, color=colour, comment=comment, metadata={KEY: {"kind": kind}}
    )
