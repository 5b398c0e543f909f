"""Writes the demo's film.json from making/media.json, with the program's own edits.

`python demo_project/make_film.py`: run it again when the media were made anew, since locks hold their hashes.
"""

import json
import sys
import tempfile
from fractions import Fraction
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent.parent))

from desk.assembly.survey import survey
from desk.film import edits
from desk.film.model import (
    CameraLook,
    Candidate,
    CardKind,
    Clip,
    ClipSound,
    Compression,
    CreditBlock,
    CreditRow,
    Cue,
    Delivery,
    Duck,
    Film,
    Fit,
    Framing,
    Grade,
    Join,
    JoinKind,
    Motion,
    Person,
    Rights,
    SceneContent,
    Size,
    SoundKind,
    Spot,
    VoiceChain,
)
from desk.film.paths import content_paths
from desk.film.rates import Rate
from desk.footage.locking import hash_media
from desk.sound.levelling import levels_of, measure_scene
from desk.store.folder import film_path
from desk.store.project import new_project

FOLDER = Path(__file__).parent
LICENCES = {
    "CC0-1.0": ("CC0 1.0", "https://creativecommons.org/publicdomain/zero/1.0/"),
    "CC-BY-4.0": ("CC BY 4.0", "https://creativecommons.org/licenses/by/4.0/"),
}
LOCKED = {
    "1": "2026-11-09",
    "2": "2026-11-09",
    "4": "2026-11-14",
    "7": "2026-11-20",
    "8": "2026-11-21",
}
PROOFS = {
    "1": [("2026-11-08", "Shutter reads better with the water under it.")],
    "2": [("2026-11-08", "Gulls too loud under “the other side”."), ("2026-11-09", "Good.")],
    "4": [("2026-11-13", "The recorder's voice sits better than the camera's.")],
    "4A": [("2026-11-16", "Second horn has to come before she says it.")],
    "7": [("2026-11-19", "Hold the ticket four frames longer."), ("2026-11-20", "Good.")],
    "8": [("2026-11-21", "The last ticket reads. Good.")],
}
BY = "E. W."
VOICES = {"MAREN": "Maren", "ILSE": "Ilse", "PASSENGER": "The passenger"}
LEVELLED = (*LOCKED, "4A")
UNDER_VOICES_LU = 7.0
WIND = {"2": "The passenger", "4A": "Ilse", "7": "Maren"}
"""Scenes out of doors, and whose voice is freed of what lies below it there."""


def main() -> None:
    """Write the film."""
    media = json.loads((FOLDER / "making" / "media.json").read_text(encoding="utf-8"))
    film = whole_film(media)
    film_path(FOLDER).unlink(missing_ok=True)
    new_project(FOLDER, film)
    print(f"{film_path(FOLDER)}: {len(film.scenes)} scenes, {len(film.cards)} cards")


def whole_film(media: dict[str, Any]) -> Film:
    """Return the film that media.json describes."""
    rate = Rate.parse(media["film"]["rate"])
    film = Film(
        title=media["film"]["title"],
        rate=rate,
        size=Size(*media["cameras"]["A"]["size"]),
        start_frames=rate.nominal * 3600,
        footage="footage",
        delivery=Delivery(compression=Compression.FIRM),
        fade_in_frames=12,
        fade_out_frames=25,
        people=(
            Person(name="Edda Wolt", roles=("Written by", "Camera", "Editing")),
            Person(name="Joren Maas", roles=("Directed by", "Sound")),
        ),
        camera_looks=tuple(
            CameraLook(id=f"look-{key.lower()}", name=camera["name"], note=camera["note"])
            for key, camera in media["cameras"].items()
        ),
    )
    film = edits.insert_card(
        film, 0, kind=CardKind.TITLE, name="Title", lines=(film.title, "a ferry, two sisters, one ticket"),
        length_frames=100,
    ).after  # fmt: skip
    rights = {item["file"]: _rights(item) for item in media["music"]}
    asides = []
    for told in media["scenes"]:
        film = _with_scene(film, told, rights)
        if told["set_aside"]:
            asides.append((told["number"], told["set_aside_reason"]))
    film = _with_credits(film)
    film = _with_voices(film, media)
    for number in LEVELLED:
        film = _levelled(film, _id(film, number))
    for number, reason in asides:
        film = edits.set_aside(film, [_id(film, number)], reason).after
    film = _with_joins(film)
    for number, proofs in PROOFS.items():
        for date, remark in proofs:
            film = edits.add_proof(film, _id(film, number), date, BY, remark).after
    for number, date in LOCKED.items():
        scene = film.scene(_id(film, number))
        kept = hash_media(content_paths(scene.content), FOLDER)
        film = edits.lock(film, scene.id, date, kept).after
    return film


def _with_scene(film: Film, told: dict[str, Any], rights: dict[str, Rights]) -> Film:
    ids = edits.IdMaker(film)
    used = sorted((clip for clip in told["clips"] if clip["use"]), key=lambda c: c["use"]["order_in_scene"])
    content = SceneContent(
        clips=tuple(_clip(clip, ids) for clip in used),
        cues=(_cue(told["cue"], rights, ids),) if told["cue"] else (),
        no_music=told["no_music"],
        spots=tuple(_spot(spot, ids) for spot in told["spots"]),
        grade=Grade(
            slope=tuple(told["grade"]["slope"]),
            offset=tuple(told["grade"]["offset"]),
            power=tuple(told["grade"]["power"]),
            saturation=told["grade"]["saturation"],
        ),
        grade_note=told["grade_note"],
    )
    return edits.insert_scene(
        film,
        len(film.order),
        told["number"],
        content=content,
        slugline=told["slugline"],
        purpose=told["purpose"],
        synopsis=told["synopsis"],
        tension=told["tension"],
        folder=told["folder"],
    ).after


def _clip(told: dict[str, Any], ids: edits.IdMaker) -> Clip:
    use = told["use"]
    sound = use["sound"]
    return Clip(
        id=ids.new("c"),
        source=told["file"],
        in_seconds=Fraction(use["in_seconds"]),
        length_frames=use["length_frames"],
        speed=Fraction(use["speed"]),
        framing=Framing(
            fit=Fit(use["framing"]["fit"]),
            scale=use["framing"]["scale"],
            x=use["framing"]["x"],
            y=use["framing"]["y"],
        ),
        sound=ClipSound(
            kind=SoundKind(sound["kind"]),
            file=sound.get("file", ""),
            offset_seconds=Fraction(sound.get("offset_seconds", "0")),
            gain_db=sound["gain_db"],
            lead_frames=sound["lead_frames"],
            lag_frames=sound["lag_frames"],
        ),
        camera=f"look-{told['camera'].lower()}",
        note=told["seen"],
    )


def _cue(told: dict[str, Any], rights: dict[str, Rights], ids: edits.IdMaker) -> Cue:
    candidates = {
        file: Candidate(
            id=ids.new("a"),
            file=file,
            rights=rights[file],
            gain_db=told["gain_db"],
            fade_in_frames=told["fade_in_frames"],
            fade_out_frames=told["fade_out_frames"],
            under_voices_lu=UNDER_VOICES_LU,
        )
        for file in told["candidates"]
    }
    return Cue(
        id=ids.new("m"),
        label=told["label"],
        start_frames=told["start_frames"],
        length_frames=told["length_frames"],
        candidates=tuple(candidates.values()),
        chosen=candidates[told["chosen"]].id if told["chosen"] else "",
        duck=Duck(),
    )


def _spot(told: dict[str, Any], ids: edits.IdMaker) -> Spot:
    licence, link = LICENCES["CC0-1.0"]
    name = Path(told["file"]).stem
    return Spot(
        id=ids.new("f"),
        file=told["file"],
        label=name,
        start_frames=told["start_frames"],
        length_frames=told["length_frames"],
        gain_db=told["gain_db"],
        fade_in_frames=4,
        fade_out_frames=10,
        rights=Rights(title=name, licence=licence, licence_link=link),
    )


def _rights(told: dict[str, Any]) -> Rights:
    licence, link = LICENCES[told["licence"]]
    return Rights(
        title=told["title"],
        author=told["author"],
        licence=licence,
        licence_link=link,
        required_credit=told["required_credit"],
    )


def _with_voices(film: Film, media: dict[str, Any]) -> Film:
    """Say who speaks in each clip; where two do, the one who speaks longer."""
    for name in VOICES.values():
        film = edits.add_voice(film, name).after
    ids = {voice.name: voice.id for voice in film.voices}
    lines = {clip["file"]: clip["lines"] for scene in media["scenes"] for clip in scene["clips"]}
    for scene in film.scenes:
        for clip in scene.content.clips:
            spoken: dict[str, float] = {}
            for line in lines[clip.source] if clip.sound.kind is not SoundKind.SILENCE else ():
                length = line["end_seconds"] - line["start_seconds"]
                spoken[line["who"]] = spoken.get(line["who"], 0.0) + length
            if spoken:
                voice = ids[VOICES[max(spoken, key=spoken.__getitem__)]]
                film = edits.set_voice(film, scene.id, [clip.id], voice).after
    for number, name in WIND.items():
        chain = VoiceChain(voice=ids[name], low_cut_hz=80.0)
        film = edits.set_voice_chain(film, _id(film, number), chain).after
    return film


def _levelled(film: Film, scene_id: str) -> Film:
    """Bring a scene's voices to the film's loudness, and each piece tried for it below them."""
    found = survey(film, FOLDER)
    with tempfile.TemporaryDirectory() as kept:

        def proposed(film: Film) -> edits.Levels:
            scene = film.scene(scene_id)
            return levels_of(measure_scene(film, scene, found.files, found.media, Path(kept)))

        film = edits.set_levels(film, {scene_id: proposed(film)}).after
        for cue in film.scene(scene_id).content.cues:
            for tried in cue.candidates:
                trial = edits.choose_candidate(film, scene_id, cue.id, tried.id).after
                gains = proposed(trial)["candidates"]
                if tried.id in gains:
                    film = edits.edit_candidate(
                        film, scene_id, cue.id, tried.id, gain_db=gains[tried.id]
                    ).after
    return film


def _with_credits(film: Film) -> Film:
    players = CreditBlock(
        heading="Players",
        rows=(
            CreditRow(role="Maren", names=("Sunniva Thale",)),
            CreditRow(role="Ilse", names=("Rikke Ammund",)),
            CreditRow(role="The passenger", names=("Halvor Eide Strøm",)),
        ),
    )
    crew = (
        CreditBlock(
            heading="Made by",
            rows=(
                CreditRow(role="Written by", names=("Edda Wolt",)),
                CreditRow(role="Directed by", names=("Joren Maas",)),
                CreditRow(role="Camera", names=("Edda Wolt", "Joren Maas")),
                CreditRow(role="Sound", names=("Joren Maas",)),
                CreditRow(role="Editing", names=("Edda Wolt",)),
            ),
        ),
        CreditBlock(
            heading="Music",
            fills="music",
        ),
        CreditBlock(
            heading="With thanks to",
            rows=(CreditRow(names=("the ferry line of Fennay", "whoever has 0413")),),
        ),
    )
    last = len(film.order)
    film = edits.insert_card(film, last, kind=CardKind.CREDITS, name="Players", credits=(players,)).after
    roll = {"motion": Motion.ROLL, "roll_px": 3}
    return edits.insert_card(
        film, last + 1, kind=CardKind.CREDITS, name="Credits", credits=crew, **roll
    ).after  # fmt: skip


def _with_joins(film: Film) -> Film:
    dissolve = Join(kind=JoinKind.DISSOLVE, before_frames=8, after_frames=8)
    black = Join(kind=JoinKind.THROUGH_BLACK, before_frames=12, after_frames=12)
    joins = {"Title": black, "2": dissolve, "4A": dissolve, "7": black, "8": black}
    for name, join in joins.items():
        film = edits.set_join(film, _id(film, name), join).after
    return film


def _id(film: Film, name: str) -> str:
    return next(
        entry.id
        for entry in film.entries().values()
        if name in (getattr(entry, "number", None), getattr(entry, "name", None))
    )


if __name__ == "__main__":
    main()
