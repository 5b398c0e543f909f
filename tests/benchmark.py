"""Measures assembling against what ffmpeg alone needs for the same film; prints ratios from one run.

`python -m tests.benchmark [--minutes 10] [--runs 5] [--folder DIR]`: makes 1080p footage (kept in the folder
for the next time), a film of 12 clips a minute in scenes of 6, and takes medians. Nothing here is asserted:
figures depend on the machine, ratios less so.

- cold: nothing there yet, against one filter graph that seeks to each clip, trims, scales and joins them, and
  encodes picture and sound with the same settings, as a careful person would write it.
- reorder: one scene moved, against ffmpeg copying the finished picture and encoding the finished sound once.
- trim: one clip made shorter.
- memory: highest resident size of the program itself, without ffmpeg.
"""

import argparse
import dataclasses
import json
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

from desk.ffmpeg.program import find_program
from desk.film import edits
from desk.film.model import Clip, Film, Placement, Scene, SceneContent, Size
from desk.film.rates import Rate
from desk.film.timing import content_frames
from desk.render.encoding import REVIEW
from desk.sound.aac import QUALITY
from desk.store.project import new_project, open_film
from desk.store.save import save_film

RATE = Rate(25)
CLIP_FRAMES = 125
CLIPS_PER_SCENE = 6
SOURCES, SOURCE_SECONDS = 5, 60
REVIEW_SIZE = Size(1280, 720)


def main() -> None:
    """Run the benchmark and print its table."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--minutes", type=int, default=10)
    asked.add_argument("--runs", type=int, default=5)
    asked.add_argument("--folder", type=Path, default=Path(tempfile.gettempdir()) / "desk-benchmark")
    options = asked.parse_args()
    options.folder.mkdir(parents=True, exist_ok=True)
    footage = make_footage(options.folder / "footage")
    film = make_film(options.minutes, footage)
    runs = [measure(film, footage, options.folder / "work") for _ in range(options.runs)]
    report(film, runs)
    measure_film_file(options.folder / "work")


def ffmpeg(*arguments: str) -> float:
    """Run the bundled ffmpeg; returns the seconds it took."""
    start = time.perf_counter()
    command = [str(find_program().path), "-hide_banner", "-nostdin", "-v", "error", "-y", *arguments]
    subprocess.run(command, check=True)
    return time.perf_counter() - start


def make_footage(folder: Path) -> list[Path]:
    """Return 1080p sources with movement, grain and sound, about as heavy as a camera's."""
    folder.mkdir(exist_ok=True)
    sources = [folder / f"A{index:03}.mp4" for index in range(SOURCES)]
    for index, path in enumerate(sources):
        if path.exists():
            continue
        part = path.with_suffix(".part.mp4")
        picture = f"testsrc2=s=1920x1080:r={RATE}:d={SOURCE_SECONDS},hue=h={index * 60},noise=alls=5:allf=t"
        noise = f"anoisesrc=d={SOURCE_SECONDS}:c=pink:a=0.2:seed={index}:r=48000"
        ffmpeg(
            "-f", "lavfi", "-i", picture, "-f", "lavfi", "-i", f"{noise},aformat=channel_layouts=stereo",
            "-c:v", "libx264", "-preset", "veryfast", "-b:v", "20M", "-pix_fmt", "yuv420p", "-g", "25",
            "-c:a", "aac", "-b:a", "192k", str(part),
        )  # fmt: skip
        part.rename(path)
    return sources


def make_film(minutes: int, sources: list[Path]) -> Film:
    """Return a film whose clips come from all over the sources."""
    count = minutes * 60 * RATE.nominal // CLIP_FRAMES
    last_start = SOURCE_SECONDS - CLIP_FRAMES // RATE.nominal - 1
    clips = [
        Clip(
            id=f"c{index}",
            source=f"../footage/{sources[index % len(sources)].name}",
            in_seconds=Fraction(index * 7 % last_start) + Fraction(index % 25, 25),
            length_frames=CLIP_FRAMES,
        )
        for index in range(count)
    ]
    scenes = tuple(
        Scene(
            id=f"s{number}",
            number=str(number + 1),
            content=SceneContent(clips=tuple(clips[number * CLIPS_PER_SCENE :][:CLIPS_PER_SCENE])),
        )
        for number in range(-(-count // CLIPS_PER_SCENE))
    )
    return Film(
        title="Benchmark",
        rate=RATE,
        size=Size(1920, 1080),
        start_frames=90_000,
        scenes=scenes,
        order=tuple(Placement(entry=scene.id) for scene in scenes),
        next_id=100_000,
    )


def one_graph(film: Film, footage: list[Path], target: Path) -> float:
    """Make the film with one filter graph; returns the seconds it took."""
    clips = [clip for scene in film.scenes for clip in scene.content.clips]
    seconds = float(RATE.seconds(CLIP_FRAMES))
    inputs: list[str] = []
    for clip in clips:
        source = footage[0].parent / Path(clip.source).name
        inputs += ["-ss", f"{float(clip.in_seconds):.6f}", "-t", f"{seconds:.6f}", "-i", str(source)]
    scaled = [
        f"[{index}:v]scale={REVIEW_SIZE.width}:{REVIEW_SIZE.height},setsar=1[v{index}]"
        for index in range(len(clips))
    ]
    pairs = "".join(f"[v{index}][{index}:a]" for index in range(len(clips)))
    graph = ";".join([*scaled, f"{pairs}concat=n={len(clips)}:v=1:a=1[v][a]"])
    return ffmpeg(
        *inputs, "-filter_complex", graph, "-map", "[v]", "-map", "[a]", "-c:v", "libx264",
        "-preset", REVIEW.preset, "-crf", str(REVIEW.crf), "-pix_fmt", "yuv420p", "-g", "50",
        "-c:a", "aac", "-q:a", QUALITY, "-movflags", "+faststart", str(target),
    )  # fmt: skip


def assemble(project: Path, out: Path) -> tuple[float, float, str]:
    """Assemble in a process of its own; returns seconds, its highest resident MB and its last line."""
    script = (
        "import resource, sys\n"
        "from desk.cli.main import main\n"
        "code = main(sys.argv[1:])\n"
        "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss, file=sys.stderr)\n"
        "sys.exit(code)\n"
    )
    command = [sys.executable, "-c", script, "assemble", str(project), "--out", str(out), "--include", "all"]
    start = time.perf_counter()
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    took = time.perf_counter() - start
    return took, int(done.stderr.split()[-1]) / 1024, done.stdout.strip().splitlines()[-1]


def measure(film: Film, footage: list[Path], work: Path) -> dict[str, float]:
    """Return the seconds of each thing measured, once."""
    shutil.rmtree(work, ignore_errors=True)
    work.mkdir()
    new_project(work, film)
    out = work / "out"
    found: dict[str, float] = {}
    found["one graph"] = one_graph(film, footage, work / "graph.mp4")
    found["cold"], found["memory cold MB"], _ = assemble(work, out)
    opened = open_film(work)
    middle = (len(film.scenes) - 1) // 2
    opened = save_film(opened, edits.move(opened.film, [film.scenes[middle].id], middle + 1).after)
    found["reorder"], found["memory reorder MB"], said = assemble(work, out)
    print(said)
    scene = opened.film.scenes[middle]
    clips = scene.content.clips
    shorter = (dataclasses.replace(clips[0], length_frames=CLIP_FRAMES - 10), *clips[1:])
    content = dataclasses.replace(scene.content, clips=shorter)
    opened = open_film(work)
    save_film(opened, edits.set_content(opened.film, scene.id, content, "Trim").after)
    found["trim"], _, said = assemble(work, out)
    print(said)
    opened = open_film(work)
    ends = [film.scenes[0].id]
    save_film(opened, edits.move(opened.film, ends, len(film.scenes) - 1).after)
    found["reorder all"], _, _ = assemble(work, out)
    copies = sorted(out.glob("*.mp4"))
    wave = work / "sound.wav"
    ffmpeg("-i", str(copies[-1]), "-vn", "-c:a", "pcm_f32le", str(wave))
    found["copy and encode"] = ffmpeg(
        "-i", str(copies[-1]), "-i", str(wave), "-map", "0:v", "-map", "1:a", "-c:v", "copy", "-c:a", "aac",
        "-q:a", QUALITY, "-movflags", "+faststart", str(work / "copied.mp4"),
    )  # fmt: skip
    found["nothing new"], _, _ = assemble(work, out)
    print({name: round(value, 2) for name, value in found.items()}, flush=True)
    return found


def report(film: Film, runs: list[dict[str, float]]) -> None:
    """Print the medians and the ratios that matter."""
    middle = {name: statistics.median(run[name] for run in runs) for name in runs[0]}
    frames = sum(content_frames(scene.content) for scene in film.scenes)
    print(f"{frames / RATE.nominal / 60:.0f} minutes, {os.cpu_count()} cores, medians of {len(runs)}")
    for name, value in middle.items():
        print(f"  {name:20} {value:8.2f}{'' if 'MB' in name else ' s'}")
    ratios = {
        "cold / one graph (goal 1.0)": middle["cold"] / middle["one graph"],
        "reorder / copy and encode (goal 1.3)": middle["reorder"] / middle["copy and encode"],
        "reorder from first to last / copy and encode": middle["reorder all"] / middle["copy and encode"],
        "cold / reorder (goal 15)": middle["cold"] / middle["reorder"],
        "trim - reorder, in pieces of a cold one": (middle["trim"] - middle["reorder"])
        / (middle["cold"] / (frames / CLIP_FRAMES)),
    }
    for name, value in ratios.items():
        print(f"  {name:50} {value:6.2f}")
    print(json.dumps(middle))


def measure_film_file(work: Path) -> None:
    """Print how long a film of 120 scenes and 4,800 clips takes to load and to save."""
    film = make_film(400, [Path(f"A{index}.mp4") for index in range(SOURCES)])
    clips = [clip for scene in film.scenes for clip in scene.content.clips]
    scenes = tuple(
        dataclasses.replace(film.scenes[index], content=SceneContent(clips=tuple(clips[index * 40 :][:40])))
        for index in range(120)
    )
    film = dataclasses.replace(film, scenes=scenes, order=film.order[:120])
    folder = work / "large"
    opened = new_project(folder, film)
    loads, saves = [], []
    for index in range(5):
        start = time.perf_counter()
        opened = open_film(folder)
        loads.append(time.perf_counter() - start)
        changed = edits.edit_story(opened.film, scenes[0].id, purpose=f"change {index}").after
        start = time.perf_counter()
        opened = save_film(opened, changed)
        saves.append(time.perf_counter() - start)
    size = opened.path.stat().st_size / 1e6
    print(
        f"film file of 120 scenes, {len(clips)} clips, {size:.2f} MB: "
        f"load {statistics.median(loads) * 1000:.0f} ms, save {statistics.median(saves) * 1000:.0f} ms"
    )
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"highest memory of this process {peak:.0f} MB")


if __name__ == "__main__":
    main()
