"""Commands on a scene: `desk note`, `desk proof`, `desk lock`, `desk unlock`."""

import argparse
import functools
from collections.abc import Callable
from pathlib import Path

from desk.cli.command import Command, add_folder, add_names, add_reason, today
from desk.cli.console import Words
from desk.cli.listing import still_open
from desk.cli.project import edit, find_scene, in_turn, opened, say_effect
from desk.errors import EditError, UsageError
from desk.film import edits
from desk.film.edits import Edit
from desk.film.locking import what_a_lock_tells
from desk.film.model import Film, Scene
from desk.film.paths import content_paths
from desk.footage.locking import hash_media
from desk.jobs import CancelToken

_HOW_TO_SETTLE = "`desk note` and `desk proof` settle most of it; --reason gives the reason."
_STORY = ("slugline", "purpose", "synopsis", "tension")


def _note_arguments(parser: argparse.ArgumentParser) -> None:
    add_folder(parser)
    parser.add_argument("name", metavar="SCENE", help="number of the scene")
    parser.add_argument("--slugline", metavar="TEXT", help="such as “INT. BOATHOUSE - NIGHT”")
    parser.add_argument("--purpose", metavar="TEXT", help="what changes in the story because of it")
    parser.add_argument("--synopsis", metavar="TEXT", help="what happens")
    parser.add_argument("--tension", type=int, metavar="N", help="0 (light) to 5 (dread)")
    parser.add_argument("--grade-note", metavar="TEXT", help="words about its look")
    parser.add_argument("--no-music", action="store_true", help="declare that it has none")
    parser.add_argument("--voices-levelled", action="store_true", help="call the voices level")


def _note(asked: argparse.Namespace, words: Words, _: CancelToken) -> int:
    story = {name: value for name in _STORY if (value := getattr(asked, name)) is not None}
    steps: list[Callable[[Film, str], Edit]] = []
    if story:
        steps.append(lambda film, scene: edits.edit_story(film, scene, **story))
    if asked.grade_note is not None:
        steps.append(lambda film, scene: edits.set_grade_note(film, scene, asked.grade_note))
    if asked.no_music:
        steps.append(edits.declare_no_music)
    if asked.voices_levelled:
        steps.append(edits.set_voices_levelled)
    if not steps:
        raise UsageError(
            "Nothing to note was given.", advice="`desk note --help` lists what can be noted of a scene."
        )

    def make(film: Film) -> Edit:
        scene = find_scene(film, asked.name)
        return in_turn(film, [functools.partial(_on_scene, step=step, scene_id=scene.id) for step in steps])

    done = edit(asked.folder, "desk note", words, make)
    _say_open(done, asked.folder, words)
    return 0


def _on_scene(film: Film, step: Callable[[Film, str], Edit], scene_id: str) -> Edit:
    return step(film, scene_id)


def _proof_arguments(parser: argparse.ArgumentParser) -> None:
    add_folder(parser)
    parser.add_argument("name", metavar="SCENE", help="number of the scene that was viewed")
    parser.add_argument("--remark", default="", metavar="TEXT", help="what was seen")
    parser.add_argument("--by", default="", metavar="NAME", help="who looked")


def _proof(asked: argparse.Namespace, words: Words, _: CancelToken) -> int:
    def make(film: Film) -> Edit:
        scene = find_scene(film, asked.name)
        return edits.add_proof(film, scene.id, today(), asked.by, asked.remark)

    done = edit(asked.folder, "desk proof", words, make)
    _say_open(done, asked.folder, words)
    return 0


def _say_open(done: Edit, folder: Path, words: Words) -> None:
    """Say what is left to do in the scene of an edit before it can be locked."""
    scene = done.after.scene(done.change.entries[0])
    words.say("It stays locked." if scene.lock else still_open(done.after, scene, folder))


def _lock_arguments(parser: argparse.ArgumentParser) -> None:
    add_folder(parser)
    add_names(parser, optional=True)
    parser.add_argument("--all", action="store_true", help="lock every draft of the running order")
    add_reason(parser, "why to lock although something is open; it is kept")


def _lock(asked: argparse.Namespace, words: Words, cancel: CancelToken) -> int:
    if bool(asked.names) == asked.all:
        raise UsageError("It is not clear what to lock.", advice="Name scenes, or say --all.")
    film = opened(asked.folder, words).film
    scenes = _drafts(film) if asked.all else [find_scene(film, name) for name in asked.names]
    refused: list[EditError] = []
    for scene in dict.fromkeys(scenes):
        with words.progress() as progress:
            media = hash_media(content_paths(scene.content), asked.folder, progress=progress, cancel=cancel)
        lock = functools.partial(
            edits.lock, scene_id=scene.id, date=today(), media=media, reason=asked.reason
        )
        try:
            done = edit(asked.folder, "desk lock", words, lock)
        except EditError as error:
            refused.append(error)
        else:
            say_effect(done, words)
            for told in what_a_lock_tells(scene):
                words.say(told.sentence)
    more = (_HOW_TO_SETTLE,) if any(fault.code == "edit.not-ready" for fault in refused) else ()
    words.faults(refused, *more)
    if not scenes:
        words.say("Every scene is locked.")
    return refused[0].exit_code if refused else 0


def _drafts(film: Film) -> list[Scene]:
    entries = [film.entry(placement.entry) for placement in film.order]
    return [entry for entry in entries if isinstance(entry, Scene) and entry.lock is None]


def _unlock_arguments(parser: argparse.ArgumentParser) -> None:
    add_folder(parser)
    add_names(parser)
    add_reason(parser, "why; kept with the version that was locked")


def _unlock(asked: argparse.Namespace, words: Words, _: CancelToken) -> int:
    def make(film: Film) -> Edit:
        scenes = dict.fromkeys(find_scene(film, name).id for name in asked.names)
        unlock = functools.partial(edits.unlock, date=today(), reason=asked.reason)
        return in_turn(film, [functools.partial(unlock, scene_id=scene) for scene in scenes])

    say_effect(edit(asked.folder, "desk unlock", words, make), words)
    return 0


NOTE = Command(
    name="note",
    help="note a scene's story, grade note, levelled voices or that it has no music",
    example='desk note kiosk 4A --tension 3 --grade-note "colder, lifted blacks"',
    arguments=_note_arguments,
    run=_note,
)
PROOF = Command(
    name="proof",
    help="note that a scene was viewed with care",
    example='desk proof kiosk 4A --remark "horn too early"',
    arguments=_proof_arguments,
    run=_proof,
)
LOCK = Command(
    name="lock",
    help="lock scenes that are proofed and closed",
    example="desk lock kiosk 1 2 4A",
    arguments=_lock_arguments,
    run=_lock,
)
UNLOCK = Command(
    name="unlock",
    help="open locked scenes again; the locked version is kept",
    example='desk unlock kiosk 4A --reason "new take"',
    arguments=_unlock_arguments,
    run=_unlock,
)
