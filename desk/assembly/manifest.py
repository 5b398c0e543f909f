"""The manifest of an assembly: all that went into it, so that a remark about it can be traced.

What it says of the sound is in `sound`, for all of the copy:

    target              what the target is known as: online, EBU R 128, ATSC A/85 or own values
    target_lufs         integrated loudness that was asked for
    ceiling_dbtp        true peak that was asked for
    integrated_lufs     what was reached, as the finished copy decodes; null where nothing is heard
    true_peak_dbtp      its true peak, likewise; null for digital silence
    range_lu            its loudness range
    gain_db             by how much the master changed the level of the whole film
    compression         off, gentle or firm
    limiter_dbtp        the ceiling that the limiter was set to
    limited_db          by how much it went down at most
    mix_lufs            how loud the mix was before the master
    remarks             what deserves a look, in sentences

and for each scene in `sound` of its entry:

    integrated_lufs     loudness of the scene in the copy
    voices_lufs         loudness of its voices in the mix, before the master
    music_below_voices_lu   how far its music lies below them
    loudest_lufs        its loudest 400 ms in the copy
    loudest_at          their timecode in the film

each null where there is nothing to measure. Loudness is that of ITU-R BS.1770 and EBU R 128. `mix_peak_dbfs`
is the highest sample of the mix before the master. `stems`, where they were asked for, has each with `lane`,
`file`, `samples` and `clipped`, how many samples were above full scale and are cut off there.
"""

import json
from collections.abc import Mapping, Sequence
from typing import Any

from desk import __version__
from desk.assembly.levels import SceneLevels, scene_levels, sound_remarks
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
from desk.sound.loudness import decibels

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
    stems: Sequence[Mapping[str, object]] = (),
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
        stems: What is told of the stems that were written beside it.
    """
    levels = scene_levels(film, layout, made)
    by_scene = {one.scene.id: _scene_sound(film, one) for one in levels}
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
        "entries": [
            _entry(film, slot) | ({"sound": by_scene[slot.entry.id]} if slot.entry.id in by_scene else {})
            for slot in layout.slots
        ],
        "left_out": [{"entry": entry, "why": why} for entry, why in layout.left_out],
        "set_aside": [aside.entry for aside in film.aside],
        "sources": _sources(film, layout, kit.media),
        "pieces": [
            {"start": placed.start_frames, "frames": placed.piece.frames, "entry": placed.entry, "key": key}
            for placed, key in zip(plan.placed, made.keys, strict=True)
        ],
        "mix_peak_dbfs": _rounded(decibels(made.sound.found.mix_peak)),
        "sound": _sound(made) | {"remarks": list(sound_remarks(film, levels, made))},
    }
    if stems:
        whole["stems"] = [dict(stem) for stem in stems]
    return (json.dumps(whole, indent=1, ensure_ascii=False) + "\n").encode()


def _sound(made: Made) -> dict[str, Any]:
    found, loudness = made.sound.found, made.sound.loudness
    return {
        "target": made.target.name,
        "target_lufs": made.target.integrated_lufs,
        "ceiling_dbtp": made.target.true_peak_dbtp,
        "integrated_lufs": _rounded(loudness.integrated_lufs),
        "true_peak_dbtp": _rounded(loudness.true_peak_dbtp),
        "range_lu": _rounded(loudness.range_lu),
        "gain_db": found.master.gain_db,
        "compression": found.master.compression.value,
        "limiter_dbtp": found.master.ceiling_dbtp,
        "limited_db": _rounded(found.reduction_db),
        "mix_lufs": _rounded(found.mix_lufs),
    }


def _scene_sound(film: Film, levels: SceneLevels) -> dict[str, Any]:
    frame = levels.loudest_frame
    return {
        "integrated_lufs": _rounded(levels.integrated_lufs),
        "voices_lufs": _rounded(levels.voices_lufs),
        "music_below_voices_lu": _rounded(levels.music_below_voices_lu),
        "loudest_lufs": _rounded(levels.loudest_lufs),
        "loudest_at": None if frame is None else _label(film, frame),
    }


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


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 2)
