"""The list of all that was made, for whoever assembles the film from it: media.json."""

from __future__ import annotations

import json
from itertools import pairwise
from pathlib import Path

import av

from making import plan

OWN = "CC0-1.0"


def _facts(path: Path) -> dict[str, object]:
    """Returns what the file itself says."""
    facts: dict[str, object] = {"bytes": path.stat().st_size}
    with av.open(str(path)) as source:
        for stream in source.streams.video:
            times = sorted(packet.pts for packet in source.demux(stream) if packet.pts is not None)
            steps = {after - before for before, after in pairwise(times)}
            base = stream.time_base or 1
            facts["picture"] = {
                "size": [stream.width, stream.height],
                "average_rate": str(stream.average_rate),
                "frames": len(times),
                "seconds": round(float(stream.duration * base), 4) if stream.duration else None,
                "variable_rate": len(steps) > 1,
                "pixel_format": stream.codec_context.pix_fmt,
                "colour_range": {1: "limited", 2: "full"}.get(
                    int(stream.codec_context.color_range), "unknown"
                ),
            }
        for stream in source.streams.audio:
            length = stream.duration * stream.time_base if stream.duration else (source.duration or 0) / 1e6
            facts["sound"] = {
                "codec": stream.codec_context.name,
                "rate_hz": stream.rate,
                "channels": stream.channels,
                "seconds": round(float(length), 4),
            }
    return facts


def _clip(scene: plan.ScenePlan, clip: plan.ClipPlan, root: Path) -> dict[str, object]:
    use = clip.use
    path = f"footage/{scene.folder}/{clip.name}"
    sound: dict[str, object] = {
        "kind": use.sound,
        "gain_db": use.gain_db,
        "lead_frames": use.lead_frames,
        "lag_frames": use.lag_frames,
    }
    if use.sound == "separate":
        sound |= {
            "file": f"footage/{scene.folder}/{clip.separate}",
            "offset_seconds": str(clip.separate_offset_seconds),
        }
    entry: dict[str, object] = {
        "file": path,
        "camera": clip.camera,
        "missing": clip.missing,
        "planned_seconds": clip.seconds,
        "rotation_degrees": clip.rotation,
        "seen": clip.seen,
        "lines": [
            {
                "who": line.who,
                "text": line.text,
                "start_seconds": line.start,
                "end_seconds": round(line.start + line.seconds, 3),
                "in_picture": line.seen,
            }
            for line in clip.lines
        ],
        "use": {
            "order_in_scene": use.order,
            "in_seconds": str(use.in_seconds),
            "in_frames": round(use.in_seconds * plan.FILM_RATE, 3),
            "length_frames": use.length_frames,
            "speed": use.speed,
            "framing": {"fit": use.fit, "scale": use.scale, "x": use.x, "y": use.y},
            "sound": sound,
        },
    }
    if clip.separate:
        entry["separate_recording"] = {
            "file": f"footage/{scene.folder}/{clip.separate}",
            "offset_seconds": str(clip.separate_offset_seconds),
            "meaning": "place in the recording that belongs to the clip's second 0",
        }
    if not clip.missing and (root / path).exists():
        entry["made"] = _facts(root / path)
    return entry


def content(root: Path) -> dict[str, object]:
    """Returns the list as plain values, with the facts of the files below root."""
    return {
        "film": {"title": plan.TITLE, "rate": str(plan.FILM_RATE), "size": list(plan.FILM_SIZE)},
        "licence_of_all_files": OWN,
        "cameras": {
            key: {
                "name": camera.name,
                "size": list(camera.size),
                "nominal_rate": camera.rate,
                "range": "full" if camera.full_range else "limited",
                "note": camera.note,
            }
            for key, camera in plan.CAMERAS.items()
        },
        "scenes": [
            {
                "number": scene.number,
                "folder": f"footage/{scene.folder}",
                "slugline": scene.slugline,
                "purpose": scene.purpose,
                "synopsis": scene.synopsis,
                "tension": scene.tension,
                "grade_note": scene.grade_note,
                "grade": scene.grade,
                "set_aside": scene.aside,
                "set_aside_reason": scene.aside_reason,
                "length_frames": sum(clip.use.length_frames for clip in scene.clips),
                "clips": [_clip(scene, clip, root) for clip in scene.clips],
                "no_music": scene.cue is None,
                "cue": None
                if scene.cue is None
                else {
                    "label": scene.cue.label,
                    "start_frames": scene.cue.start_frames,
                    "length_frames": scene.cue.length_frames,
                    "candidates": [f"music/{name}" for name in scene.cue.candidates],
                    "chosen": f"music/{scene.cue.chosen}" if scene.cue.chosen else "",
                    "gain_db": scene.cue.gain_db,
                    "fade_in_frames": scene.cue.fade_in_frames,
                    "fade_out_frames": scene.cue.fade_out_frames,
                },
                "spots": [
                    {
                        "file": f"effects/{spot.effect}",
                        "start_frames": spot.start_frames,
                        "length_frames": spot.length_frames,
                        "gain_db": spot.gain_db,
                    }
                    for spot in scene.spots
                ],
            }
            for scene in plan.SCENES
        ],
        "music": [
            {"file": f"music/{name}", **facts, **_made(root / "music" / name)}
            for name, facts in plan.MUSIC.items()
        ],
        "effects": [
            {"file": f"effects/{name}", "what": what, "licence": OWN, **_made(root / "effects" / name)}
            for name, what in plan.EFFECTS.items()
        ],
    }


def _made(path: Path) -> dict[str, object]:
    return {"made": _facts(path)} if path.exists() else {}


def write(root: Path) -> Path:
    """Writes making/media.json below root and returns its path."""
    target = root / "making" / "media.json"
    target.parent.mkdir(parents=True, exist_ok=True)
    target.write_text(json.dumps(content(root), indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    return target
