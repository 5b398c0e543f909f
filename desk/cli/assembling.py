"""`desk assemble`: a review copy with its side files."""

import argparse
from pathlib import Path

from desk.assembly.levels import SceneLevels, shown_lufs
from desk.assembly.review import TOO_LOUD, Assembly, Order, assemble
from desk.cards import drawing
from desk.cards.fonts import prepare_drawing
from desk.cli.command import Command, add_folder, add_include, included
from desk.cli.console import Head, Words
from desk.errors import AssemblyError, DeskError, UsageError
from desk.ffmpeg.program import find_program
from desk.files import resolved
from desk.film.model import Compression
from desk.film.timecode import format_label, format_length
from desk.film.timing import Include
from desk.film.wording import counted, entry_name
from desk.jobs import Cancelled, CancelToken

_LEVELS = (
    Head("Scene"),
    Head("LUFS", is_number=True),
    Head("Voices in the mix", is_number=True),
    Head("Music below, LU", is_number=True),
    Head("Loudest at", is_number=True),
)
_RIGHTS = ("music.", "effect.", "credits.")
"""Codes of what is told of rights and credits."""

_TAKE_DRAFTS = "--include all takes drafts too, --include slates a slate for each of them."


def _arguments(parser: argparse.ArgumentParser) -> None:
    add_folder(parser)
    parser.add_argument(
        "--out", type=Path, required=True, metavar="DIR", help="where the files go; made when it is missing"
    )
    add_include(parser)
    parser.add_argument(
        "--size",
        choices=["review", "full"],
        default="review",
        help="review: at most 1280x720, unless the film says otherwise (default); full: the film's own",
    )
    parser.add_argument("--flat", action="store_true", help="write the timeline file without nested scenes")
    parser.add_argument(
        "--bundle", action="store_true", help="write the timeline file also with all media in it, as .otioz"
    )
    parser.add_argument(
        "--stems",
        action="store_true",
        help="write dialogue, music and effects of the whole film too, each as 24-bit WAV before the master",
    )
    parser.add_argument("--ffmpeg", metavar="PATH", help="another ffmpeg than the bundled one")
    parser.add_argument(
        "--workers", type=int, metavar="N", help="pieces made at once; by default one for each core"
    )


def _run(asked: argparse.Namespace, words: Words, cancel: CancelToken) -> int:
    if asked.workers is not None and not 1 <= asked.workers <= 256:
        raise UsageError(f"{asked.workers:,} workers can't make anything.", advice="Give 1 to 256.")
    resolved(asked.out)
    order = Order(
        folder=asked.folder,
        out=asked.out,
        include=included(asked),
        full=asked.size == "full",
        flat=asked.flat,
        bundle=asked.bundle,
        stems=asked.stems,
        program=find_program(asked.ffmpeg),
        drawer=drawing,
        workers=asked.workers,
    )
    # Qt wants its application in the main thread; cards are drawn in others.
    prepare_drawing()
    try:
        with words.progress() as progress:
            made = assemble(order, progress=progress, cancel=cancel)
    except AssemblyError as error:
        only_drafts = error.code == "film.nothing" and order.include is Include.LOCKED
        words.faults([error], *([_TAKE_DRAFTS] if only_drafts else []))
        return error.exit_code
    except (Cancelled, DeskError) as error:
        # Ctrl-C reaches ffmpeg too, which may tell of it as a fault before the request to stop is seen here.
        if not cancel.is_set:
            raise
        words.note("No copy was made. The pieces that are finished are kept, so the next time is shorter.")
        raise Cancelled from error
    _say_made(made, words)
    return 0


def _say_made(made: Assembly, words: Words) -> None:
    words.line(f"Review copy {made.number}, {format_length(made.frames, made.film.rate)}: {made.files[0]}")
    for file in made.files[1:]:
        words.line(f"  {file}")
    for entry_id, why in made.layout.left_out:
        words.say(f"Left out: {entry_name(made.film.entry(entry_id))}, {why}.")
    words.say(f"{counted(made.made.pieces_made, 'piece')} made, {made.made.pieces_found:,} already there.")
    _say_sound(made, words)
    for problem in made.problems:
        if problem.code.startswith(_RIGHTS):
            words.note(f"{problem.subject}: {problem.sentence}")
    for remark in made.sound_remarks:
        words.note(remark)
    if made.is_too_loud:
        words.note(f"{TOO_LOUD} Listen at a moderate level.")
    if made.notice:
        words.note(f"The copy is not entered in the film: {made.notice}")


def _say_sound(made: Assembly, words: Words) -> None:
    sound, target = made.made.sound, made.made.target
    loudness, master = sound.loudness, sound.found.master
    if loudness.integrated_lufs is None or loudness.true_peak_dbtp is None:
        words.say("Sound: nothing is heard.")
        return
    behind = f" after {master.compression} compression" if master.compression is not Compression.OFF else ""
    words.say(
        f"Sound: {shown_lufs(loudness.integrated_lufs)}, asked were {shown_lufs(target.integrated_lufs)} "
        f"({target.name}); "
        f"true peak {loudness.true_peak_dbtp:.1f} dBTP of {target.true_peak_dbtp:.1f} at most, "
        f"range {loudness.range_lu:.1f} LU. The master changed the level by {master.gain_db:+.1f} dB{behind}."
    )
    rows = [(_levels_row(made, one), "") for one in made.levels]
    if rows:
        words.table(_LEVELS, rows)


def _levels_row(made: Assembly, one: SceneLevels) -> list[str]:
    film, frame = made.film, one.loudest_frame
    label = ""
    if frame is not None:
        label = format_label(film.start_frames + frame, film.rate, drop_frame=film.drop_frame)
    shown = (one.integrated_lufs, one.voices_lufs, one.music_below_voices_lu)
    return [one.scene.number, *("-" if value is None else f"{value:.1f}" for value in shown), label or "-"]


COMMAND = Command(
    name="assemble",
    help="make a review copy, a timeline file, chapters and a manifest",
    example="desk assemble kiosk --out copies --include slates",
    arguments=_arguments,
    run=_run,
)
