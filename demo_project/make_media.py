"""Makes the footage, music and sounds of the example film.

    python demo_project/make_media.py [--only NAME] [--out DIR] [--jobs N]

NAME is a part of a path, such as `A001_C001`, `music`, `05 back room`, `clock tick`. Pictures, music and
noises come out the same each time; voices need espeak-ng, and sound as its release does.
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE))
os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")

import numpy as np  # noqa: E402 - after the number of threads is set
from making import encode, listing, music, plan, sound  # noqa: E402


def _pictures(clip: plan.ClipPlan, times: list[float]) -> Iterator[encode.Picture]:
    """Draws a clip's pictures at the given seconds, as its camera sees them."""
    from making.paint import Finish
    from making.shots import find
    from making.take import Take

    camera = plan.CAMERAS[clip.camera]
    width, height = camera.size
    if clip.rotation % 180:
        width, height = height, width
    spans = tuple(
        (line.who, line.start, line.start + line.seconds * 0.92) for line in clip.lines if line.seen
    )
    shot = find(clip.shot)(Take(width, height, clip.seconds, spans))
    finish = Finish(width, height, camera=camera)
    for seconds in times:
        picture = finish(shot(seconds))
        # A sensor that was held upright writes its picture lying on its side.
        yield np.rot90(picture, clip.rotation // 90) if clip.rotation else picture


def make_clip(scene: plan.ScenePlan, clip: plan.ClipPlan, out: Path) -> list[str]:
    """Draws, sounds and writes one clip.

    Returns:
        What does not fit the plan, in words.
    """
    from PySide6.QtGui import QGuiApplication

    application = QGuiApplication.instance() or QGuiApplication([])
    camera = plan.CAMERAS[clip.camera]
    target = out / "footage" / scene.folder / clip.name
    faults: list[str] = []
    own = None
    if camera.sound is not None:
        own, faults = sound.clip_sound(clip, camera.sound[1])
    if clip.camera == "P":
        ticks = encode.phone_times(clip.seconds, int(clip.name[1:5]))
        times = [tick / encode.PHONE_TICKS for tick in ticks[:-1]]
        if own is None:
            sys.exit("The phone has sound.")
        encode.unsteady(target, _pictures(clip, times), ticks, camera, own, clip.rotation)
    else:
        rate = int(camera.rate)
        times = [k / rate for k in range(round(clip.seconds * rate))]
        encode.steady(target, _pictures(clip, times), clip.camera, camera, own)
    if clip.separate:
        encode.sound_file(target.with_name(clip.separate), sound.separate_sound(clip))
    del application
    return faults


def make_music(name: str, out: Path) -> list[str]:
    """Plays and writes one cue."""
    facts = plan.MUSIC[name]
    encode.sound_file(
        out / "music" / name,
        music.CUES[name](),
        kilobits=60,
        tags={"title": facts["title"], "artist": facts["author"]},
    )
    return []


def make_effect(name: str, out: Path) -> list[str]:
    """Makes and writes one effect."""
    encode.sound_file(out / "effects" / name, sound.effect(name), kilobits=56)
    return []


@dataclass(frozen=True, slots=True)
class Job:
    """Something to be made: its path below the folder, the function, what it is given, how long it takes."""

    path: str
    make: Callable[..., list[str]]
    given: tuple[object, ...]
    frames: float
    speaks: bool = False


def jobs(only: str) -> list[Job]:
    """Returns all that is to be made and has `only` in its path; longest first."""
    found = [Job(f"music/{name}", make_music, (name,), 20) for name in plan.MUSIC]
    found += [Job(f"effects/{name}", make_effect, (name,), 5) for name in plan.EFFECTS]
    for scene in plan.SCENES:
        for clip in scene.clips:
            if not clip.missing:
                frames = clip.seconds * float(plan.CAMERAS[clip.camera].frames_a_second)
                path = f"footage/{scene.folder}/{clip.name}"
                found.append(Job(path, make_clip, (scene, clip), frames, bool(clip.lines)))
    return sorted((job for job in found if only.lower() in job.path.lower()), key=lambda job: -job.frames)


def main() -> int:
    """Runs the command line."""
    parser = argparse.ArgumentParser(description="Makes the footage, music and sounds of the example film.")
    parser.add_argument("--only", default="", metavar="NAME", help="make only what has NAME in its path")
    parser.add_argument(
        "--out", type=Path, default=HERE, metavar="DIR", help="folder to write to (default: this one)"
    )
    parser.add_argument(
        "--jobs", type=int, default=min(4, os.cpu_count() or 1), metavar="N", help="how many at a time"
    )
    given = parser.parse_args()
    work = jobs(given.only)
    if not work:
        names = ", ".join(scene.folder for scene in plan.SCENES)
        sys.exit(f"Nothing here has “{given.only}” in its path. There are: {names}, music, effects.")
    if any(job.speaks for job in work):
        sound.need_speech()
    started = time.monotonic()
    faults: list[str] = []
    with ProcessPoolExecutor(max_workers=max(1, given.jobs), mp_context=get_context("spawn")) as pool:
        running = {pool.submit(job.make, *job.given, given.out): job.path for job in work}
        for number, done in enumerate(as_completed(running), 1):
            faults += done.result()
            size_kib = (given.out / running[done]).stat().st_size / 1024
            passed = time.monotonic() - started
            print(
                f"{number:3}/{len(work)}  {passed:5.0f} s  {size_kib:7.0f} KiB  {running[done]}", flush=True
            )
    for fault in faults:
        print(f"note: {fault}")
    listing.write(given.out)
    total = sum(
        file.stat().st_size
        for folder in ("footage", "music", "effects")
        for file in (given.out / folder).rglob("*")
        if file.is_file()
    )
    print(f"{total / 1024 / 1024:.2f} MiB in footage, music and effects; {time.monotonic() - started:.0f} s")
    return 0


if __name__ == "__main__":
    sys.exit(main())
