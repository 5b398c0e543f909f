"""Measures the window on a large film and on a small one; prints counts, times and ratios from one run.

`python -m tests.window_benchmark [--scenes 12 120] [--clips 40] [--screen]`: films of so many scenes with so
many clips each, on a few small sources. Nothing here is asserted: figures depend on the machine, ratios less
so. Without `--screen` Qt draws into memory (the offscreen platform): all painting counts, and no display.

- start: from the command to a window that has painted the film and takes input; not the first start of all.
- edit: from an edit to the end of all painting it causes.
- scroll: one step of the running order, painted.
- collection: the longest that Python was looking for unused objects, in all of this.
- memory: highest resident size with every thumbnail of the running order and the strip made.
"""

import argparse
import itertools
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from desk.film import edits
from desk.film.model import Clip, Cue, Film, Placement, Scene, SceneContent, Size
from desk.film.rates import Rate
from desk.store.project import new_project
from tests.making import run_ffmpeg

if TYPE_CHECKING:
    from desk.ui.window import MainWindow

RATE = Rate(25)
CLIP_FRAMES = 50
SOURCES, SOURCE_SECONDS, SOURCES_OF_SCENE = 8, 40, 5
EDITS, SCROLLS = 60, 60


def main() -> None:
    """Run the benchmark and print its table."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--scenes", type=int, nargs="+", default=[12, 120])
    asked.add_argument("--clips", type=int, default=40)
    asked.add_argument("--screen", action="store_true", help="on the screen that DISPLAY names")
    asked.add_argument("--measure", type=Path, help=argparse.SUPPRESS)
    options = asked.parse_args()
    if options.measure:
        _measure(options.measure)
        return
    with tempfile.TemporaryDirectory(prefix="desk-window-") as folder:
        found = [
            _measured(_project(Path(folder) / f"film{scenes}", scenes, options.clips), screen=options.screen)
            for scenes in options.scenes
        ]
    _report(options.scenes, options.clips, found)


def _project(folder: Path, scenes: int, clips: int) -> Path:
    folder.mkdir()
    made = [folder / f"A{index:03}.mp4" for index in range(SOURCES)]
    for index, path in enumerate(made):
        source = f"testsrc2=s=640x360:r={RATE}:d={SOURCE_SECONDS},hue=h={index * 40}"
        run_ffmpeg("-f", "lavfi", "-i", source, "-c:v", "libx264", "-preset", "ultrafast", "-g", "25", path)
    # Each scene has files of its own, as it has where films are made.
    for scene in range(scenes):
        (folder / f"{scene:03}").mkdir()
        for index in range(SOURCES_OF_SCENE):
            (folder / _source(scene, index)).hardlink_to(made[(scene + index) % SOURCES])
    new_project(folder, _film(scenes, clips))
    return folder


def _source(scene: int, index: int) -> str:
    return f"{scene:03}/C{index:04}.mp4"


def _film(scenes: int, clips: int) -> Film:
    last = SOURCE_SECONDS - 3
    made = tuple(
        Scene(
            id=f"s{number}",
            number=str(number + 1),
            slugline="INT. BOATHOUSE - NIGHT",
            purpose="What changes here is told in one line",
            tension=number % 6,
            content=SceneContent(
                clips=tuple(
                    Clip(
                        id=f"c{number}-{index}",
                        source=_source(number, index % SOURCES_OF_SCENE),
                        in_seconds=Fraction((number * 3 + index * 7) % last),
                        length_frames=CLIP_FRAMES,
                    )
                    for index in range(clips)
                ),
                cues=(Cue(id=f"m{number}", label=f"m{number}", length_frames=CLIP_FRAMES),),
                grade_note="colder, lifted blacks",
            ),
        )
        for number in range(scenes)
    )
    return Film(
        title="Benchmark",
        rate=RATE,
        size=Size(1280, 720),
        start_frames=90_000,
        scenes=made,
        order=tuple(Placement(entry=scene.id) for scene in made),
        next_id=1_000_000,
    )


def _measured(folder: Path, *, screen: bool) -> dict[str, float]:
    environment = {**os.environ, "PYTHONPYCACHEPREFIX": str(folder.parent / "compiled")}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    if not screen:
        environment["QT_QPA_PLATFORM"] = "offscreen"
    # Compiled beforehand, as by an installation.
    subprocess.run([sys.executable, "-c", "import desk.app"], env=environment, check=True)
    environment["DESK_BENCHMARK_START"] = str(time.time())
    command = [sys.executable, "-m", "tests.window_benchmark", "--measure", str(folder)]
    done = subprocess.run(command, capture_output=True, text=True, env=environment, check=False)
    if done.returncode:
        sys.exit(done.stderr)
    return dict(json.loads(done.stdout.splitlines()[-1]))


def _measure(folder: Path) -> None:
    """Open the window as `desk open` does, measure, and print the figures as JSON."""
    from desk.app import build_window, collecting_for, make_application
    from desk.ui.look.theme import Theme
    from desk.ui.messages import Messages

    application = make_application()
    theme = Theme()
    theme.apply_to(application)
    window = build_window(theme, Messages(application))
    window.resize(1440, 900)
    window.show()
    with collecting_for(window):
        print(json.dumps(_figures(window, folder)))


def _figures(window: "MainWindow", folder: Path) -> dict[str, float]:
    """Open a film in a window and measure; the window is closed in the end."""
    import gc
    import resource

    from PySide6.QtCore import QEventLoop, QTimer
    from PySide6.QtWidgets import QApplication, QListView

    begin = float(os.environ["DESK_BENCHMARK_START"])
    collections = _Collections()
    gc.callbacks.append(collections.on_collection)
    window.open_film(folder)

    def settle(seconds: float = 0.0) -> None:
        """Let everything that is due happen, painting too."""
        until = time.perf_counter() + seconds
        QApplication.processEvents(QEventLoop.ProcessEventsFlag.AllEvents)
        QApplication.sendPostedEvents()
        while time.perf_counter() < until:
            QApplication.processEvents(QEventLoop.ProcessEventsFlag.AllEvents, 20)

    while window.view is None:
        settle(0.005)
    settle()
    found = {"start s": time.time() - begin}
    view = window.shown()
    session = view.bench.session

    def until_quiet() -> None:
        quiet_since = time.perf_counter()
        while time.perf_counter() - quiet_since < 2:
            settle(0.05)
            if view.bench.jobs.jobs:
                quiet_since = time.perf_counter()

    until_quiet()
    ticks: list[float] = []
    beat = QTimer()
    beat.setInterval(0)
    beat.timeout.connect(lambda: ticks.append(time.perf_counter()))

    def timed(name: str, act: Callable[[int], object], count: int) -> None:
        times = []
        for index in range(count):
            start = time.perf_counter()
            act(index)
            settle()
            times.append((time.perf_counter() - start) * 1000)
            settle(0.01)
        times.sort()
        found[f"{name} median ms"] = statistics.median(times)
        found[f"{name} 95th ms"] = times[int(len(times) * 0.95)]

    scenes = [scene.id for scene in session.film.scenes]
    timed(
        "move",
        lambda index: session.do(lambda film: edits.move(film, [scenes[index % len(scenes)]], 5)),
        EDITS,
    )
    view.bench.choice.choose(scenes[3])
    settle(0.5)
    timed(
        "typing",
        lambda index: session.do(lambda film: edits.edit_story(film, scenes[3], purpose=f"Text {index}")),
        EDITS,
    )
    timed("undo", lambda _: session.stack.undo(), EDITS)
    timed(
        "set aside",
        lambda index: session.do(lambda film: edits.set_aside(film, [film.order[index % 5].entry])),
        len(scenes) // 2,
    )
    timed(
        "put back",
        lambda _: session.do(lambda film: edits.put_back(film, [film.aside[0].entry])),
        len(scenes) // 2,
    )
    timed("another scene's sheet", lambda index: view.bench.choice.choose(scenes[index % len(scenes)]), EDITS)
    rows = view.order.findChildren(QListView)[0].verticalScrollBar()
    timed("scroll", lambda index: rows.setValue(rows.maximum() * index // SCROLLS), SCROLLS)
    until_quiet()
    # The longest that the window's thread was held while everything was asked for at once.
    beat.start()
    rows.setValue(0)
    view.bench.media.look()
    settle(1.5)
    beat.stop()
    found["longest hold ms"] = max((after - before) * 1000 for before, after in itertools.pairwise(ticks))
    until_quiet()
    found["memory MB"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    window.close()
    gc.callbacks.remove(collections.on_collection)
    found["longest collection ms"] = collections.longest_ms
    return found


class _Collections:
    """Times how long Python looks for unused objects."""

    def __init__(self) -> None:
        self.longest_ms = 0.0
        self._began = 0.0

    def on_collection(self, phase: str, _: object) -> None:
        """Take the time at the start and at the end of each."""
        if phase == "start":
            self._began = time.perf_counter()
        else:
            self.longest_ms = max(self.longest_ms, (time.perf_counter() - self._began) * 1000)


def _report(scenes: list[int], clips: int, found: list[dict[str, float]]) -> None:
    print(f"{os.cpu_count()} cores, {clips} clips a scene")
    print(f"{'':32}" + "".join(f"{count:>12} scenes" for count in scenes) + "       growth")
    for name in found[0]:
        values = [figures[name] for figures in found]
        cells = "".join(f"{value:19.1f}" for value in values)
        print(f"  {name:30}{cells}{values[-1] / values[0]:13.2f}")


if __name__ == "__main__":
    main()
