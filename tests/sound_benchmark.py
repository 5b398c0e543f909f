"""Measures mixing and mastering; prints times against real time and against ffmpeg alone.

`python -m tests.sound_benchmark [--minutes 10] [--runs 3] [--folder DIR]`: makes footage whose picture costs
nothing, music and effects (kept in the folder for the next time), and a film of 12 clips, 1.2 cues and 6
spots a minute: 120, 12 and 60 in 10 minutes. The picture's pieces are there before anything is measured.
Nothing is asserted: figures depend on the machine.

- cold: no stem, measurement or chunk there; all of the sound is made.
- again: nothing changed.
- one gain: one clip's gain changed by 1 dB; and what was made again.
- ffmpeg: decoding the copy's sound and encoding it with the same settings.
- memory: highest resident size of a process that does the cold run, for 2 minutes and for all.
"""

import argparse
import dataclasses
import os
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from fractions import Fraction
from pathlib import Path

from desk.assembly.planning import open_pieces, plan_assembly, rendering_kit
from desk.assembly.survey import survey
from desk.cards import drawing
from desk.cards.fonts import prepare_drawing
from desk.ffmpeg.program import find_program
from desk.film.model import Candidate, Clip, Cue, Film, Placement, Scene, SceneContent, Size, Spot
from desk.film.rates import Rate
from desk.film.timing import Include
from desk.jobs import CancelToken, no_progress
from desk.render.run import Made, make_all
from desk.sound.aac import QUALITY
from desk.store.project import new_project

RATE = Rate(25)
CLIP_FRAMES, CLIPS_PER_SCENE = 125, 10
SOURCES, SOURCE_SECONDS = 5, 60
SOUND_SUFFIXES = (".f32", ".loud", ".aac", ".m4a")


def main() -> None:
    """Run the benchmark and print its table."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--minutes", type=int, default=10)
    asked.add_argument("--runs", type=int, default=3)
    asked.add_argument("--folder", type=Path, default=Path(tempfile.gettempdir()) / "desk-sound-benchmark")
    asked.add_argument("--once", action="store_true", help="one cold run, and the memory that it took")
    options = asked.parse_args()
    prepare_drawing()
    media = make_media(options.folder / "media")
    project = options.folder / f"film-{options.minutes}"
    film = make_film(options.minutes, media)
    shutil.rmtree(project, ignore_errors=True)
    project.mkdir(parents=True)
    new_project(project, film)
    make(film, project)
    if options.once:
        forget_sound(project)
        make(film, project)
        print(highest_memory_mb())
        return
    report(options.minutes, [measure(film, project) for _ in range(options.runs)])
    for minutes in (2, options.minutes):
        print(f"  memory, {minutes:3} minutes {memory_of(minutes, options.folder):12.0f} MB")


def ffmpeg(*arguments: str) -> float:
    """Run the bundled ffmpeg; returns the seconds it took."""
    start = time.perf_counter()
    command = [str(find_program().path), "-hide_banner", "-nostdin", "-v", "error", "-y", *arguments]
    subprocess.run(command, check=True)
    return time.perf_counter() - start


def make_media(folder: Path) -> dict[str, list[Path]]:
    """Return footage, music and effects: noise that comes and goes like talk, tones, and bursts."""
    folder.mkdir(parents=True, exist_ok=True)
    talk = "anoisesrc=d={d}:c=pink:a=0.5:seed={n}:r=48000,tremolo=f=0.6:d=0.9,aformat=channel_layouts=stereo"
    music = "sine=f={f}:d={d}:r=48000,tremolo=f=0.1:d=0.7,volume=0.7,aformat=channel_layouts=stereo"
    blows = "anoisesrc=d={d}:c=brown:a=0.9:seed={n}:r=48000,apulsator=hz=1,aformat=channel_layouts=stereo"
    found: dict[str, list[Path]] = {"footage": [], "music": [], "effects": []}
    for number in range(SOURCES):
        picture = ["-f", "lavfi", "-i", f"testsrc2=s=64x36:r={RATE}:d={SOURCE_SECONDS}"]
        sounds = {
            "footage": (f"A{number}.mp4", talk.format(d=SOURCE_SECONDS, n=number), picture, "aac"),
            "music": (f"M{number}.wav", music.format(d=180, f=110 * (number + 2)), [], "pcm_s16le"),
            "effects": (f"E{number}.wav", blows.format(d=10, n=number), [], "pcm_s16le"),
        }
        for kind, (name, source, before, codec) in sounds.items():
            path = folder / name
            if not path.exists():
                part = path.with_name(f"part-{name}")
                ffmpeg(*before, "-f", "lavfi", "-i", source, "-c:a", codec, str(part))
                part.rename(path)
            found[kind].append(path)
    return found


def make_film(minutes: int, media: dict[str, list[Path]]) -> Film:
    """Return a film whose clips come from all over the sources, with music and effects."""
    names = {kind: [f"../media/{path.name}" for path in paths] for kind, paths in media.items()}
    scenes = []
    count = minutes * 60 * RATE.nominal // CLIP_FRAMES // CLIPS_PER_SCENE
    scene_frames = CLIPS_PER_SCENE * CLIP_FRAMES
    for number in range(count):
        clips = tuple(
            Clip(
                id=f"c{number}-{index}",
                source=names["footage"][(number + index) % SOURCES],
                in_seconds=Fraction((number * 7 + index * 11) % (SOURCE_SECONDS - 6)),
                length_frames=CLIP_FRAMES,
            )
            for index in range(CLIPS_PER_SCENE)
        )
        music = Candidate(id=f"a{number}", file=names["music"][number % SOURCES], gain_db=-14)
        cue = Cue(
            id=f"m{number}",
            start_frames=100,
            length_frames=scene_frames,
            candidates=(music,),
            chosen=music.id,
        )
        spots = tuple(
            Spot(
                id=f"f{number}-{index}",
                file=names["effects"][index % SOURCES],
                start_frames=120 + 200 * index,
                length_frames=75,
                gain_db=-6,
            )
            for index in range(5)
        )
        content = SceneContent(clips=clips, cues=(cue,), spots=spots)
        scenes.append(Scene(id=f"s{number}", number=str(number + 1), content=content))
    return Film(
        title="Benchmark",
        rate=RATE,
        size=Size(64, 36),
        start_frames=90_000,
        scenes=tuple(scenes),
        order=tuple(Placement(entry=scene.id) for scene in scenes),
        next_id=100_000,
    )


def make(film: Film, project: Path) -> tuple[float, Made]:
    """Make what is not there of a film; returns the seconds it took."""
    found = survey(film, project)
    plan = plan_assembly(found, Include.ALL, full=False)
    kit = rendering_kit(found, open_pieces(project), full=False, program=find_program(), drawer=drawing)
    start = time.perf_counter()
    made = make_all(plan.picture, plan.sounds, film.delivery, kit, progress=no_progress, cancel=CancelToken())
    return time.perf_counter() - start, made


def forget_sound(project: Path) -> None:
    """Remove all of the sound that was made."""
    for path in (project / ".desk" / "pieces").iterdir():
        if path.suffix in SOUND_SUFFIXES:
            path.unlink()


def measure(film: Film, project: Path) -> dict[str, float]:
    """Return the seconds of each thing measured, once."""
    found: dict[str, float] = {}
    forget_sound(project)
    found["cold"], made = make(film, project)
    found["again"], _ = make(film, project)
    scene = film.scenes[len(film.scenes) // 2]
    clips = list(scene.content.clips)
    louder = dataclasses.replace(clips[3].sound, gain_db=-1.0)
    clips[3] = dataclasses.replace(clips[3], sound=louder)
    content = dataclasses.replace(scene.content, clips=tuple(clips))
    changed = dataclasses.replace(scene, content=content)
    scenes = tuple(changed if item.id == scene.id else item for item in film.scenes)
    found["one gain"], again = make(dataclasses.replace(film, scenes=scenes), project)
    track = made.sound.track
    found["ffmpeg"] = ffmpeg("-i", str(track), "-c:a", "aac", "-q:a", QUALITY, str(project / "encoded.m4a"))
    sound, master = made.sound, made.sound.found.master
    print(
        f"cold: {made.sounds_made} stems and chunks, gain {master.gain_db:+.1f} dB, limited by "
        f"{sound.found.reduction_db:.1f} dB, limiter at {master.ceiling_dbtp} dBTP, "
        f"{sound.loudness.integrated_lufs:.2f} LUFS, {sound.loudness.true_peak_dbtp:.2f} dBTP"
    )
    gain_db = again.sound.found.master.gain_db
    print(
        f"one gain: {again.sounds_made} made, {again.sounds_found} found, gain {gain_db:+.1f} dB", flush=True
    )
    return found


def report(minutes: int, runs: list[dict[str, float]]) -> None:
    """Print the medians, and what they are of real time and of ffmpeg alone."""
    print(f"{minutes} minutes, {os.cpu_count()} cores, medians of {len(runs)}")
    middle = {name: statistics.median(run[name] for run in runs) for name in runs[0]}
    for name, seconds in middle.items():
        print(
            f"  {name:10} {seconds:7.2f} s   {60 * minutes / seconds:6.0f} times real time   "
            f"{seconds / middle['ffmpeg']:5.2f} of ffmpeg"
        )


def memory_of(minutes: int, folder: Path) -> float:
    """Return the highest resident MB of a process that makes a film's sound."""
    command = [sys.executable, "-m", "tests.sound_benchmark", "--once", "--minutes", str(minutes)]
    done = subprocess.run([*command, "--folder", str(folder)], capture_output=True, text=True, check=True)
    return float(done.stdout.split()[-1])


def highest_memory_mb() -> float:
    """Return the highest resident size of this process."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


if __name__ == "__main__":
    main()
