"""Making a proxy against what ffmpeg alone needs for a file of the same size with key frames only.

The footage is 10 s of 4K HEVC with 10 bits and sound. One bare command is as a person would type it
(`libx264 -g 1`, PCM of 16 bits), the other has the encoder settings of a proxy. Theirs and ours run in turn
and with the same low priority, so that what else the machine does weighs on all alike; comparing the times of
all frames counts for ours. Beside the time stands the processor's time, which depends less on the rest.
"""

import resource
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

from desk.ffmpeg.program import find_program
from desk.footage.probe import probe
from desk.footage.proxy import make_proxy, proxy_size
from tests.making import run_ffmpeg

SECONDS = 10
RUNS = 3
_BARE = ("-c:v", "libx264", "-g", "1", "-pix_fmt", "yuv420p", "-c:a", "pcm_s16le")
_SAME = (*_BARE, "-preset", "ultrafast", "-crf", "23")


def measure(folder: Path) -> list[str]:
    """Return the lines of a report.

    Args:
        folder: Where footage is kept from run to run.
    """
    source, target = _footage(folder), folder / "proxies-made.mov"
    facts = probe(source)
    assert facts.picture is not None
    width, height = proxy_size(facts.picture)

    def bare(*coder: str) -> None:
        scale = ["-vf", f"scale={width}:{height}", *coder, str(target)]
        program = str(find_program().path)
        command = [program, "-v", "error", "-nostdin", "-y", "-i", str(source), *scale]
        subprocess.run(["nice", "-n", "19", *command], check=True)

    def ours() -> None:
        make_proxy(source, facts, target, program=find_program())

    ways: dict[str, Callable[[], None]] = {
        "bare": lambda: bare(*_BARE),
        "bare with the same encoder settings": lambda: bare(*_SAME),
        "proxy": ours,
    }
    taken: dict[str, list[tuple[float, float]]] = {name: [] for name in ways}
    bytes_of = {}
    for _ in range(RUNS):
        for name, way in ways.items():
            taken[name].append(_timed(way))
            bytes_of[name] = target.stat().st_size
    target.unlink()
    lines = [f"{SECONDS} s of 4K HEVC, 10 bits, to {width} x {height}; medians of {RUNS}"]
    middle = {
        name: [statistics.median(figures) for figures in zip(*runs, strict=True)]
        for name, runs in taken.items()
    }
    for name, (seconds, processor_seconds) in middle.items():
        size = f"{bytes_of[name] / 1e6:.1f} MB"
        lines.append(f"{name}: {seconds:.1f} s, {processor_seconds:.1f} s of the processor, {size}")
    for name in ("bare", "bare with the same encoder settings"):
        ratios = [ours_figure / its for ours_figure, its in zip(middle["proxy"], middle[name], strict=True)]
        lines.append(f"proxy against {name}: {ratios[0]:.2f} in time, {ratios[1]:.2f} of the processor")
    return lines


def _timed(way: Callable[[], None]) -> tuple[float, float]:
    """Return seconds, and seconds of the processor, of ours and of what we started."""
    before, start = _processor_seconds(), time.perf_counter()
    way()
    return time.perf_counter() - start, _processor_seconds() - before


def _processor_seconds() -> float:
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(usage.ru_utime + usage.ru_stime for usage in used)


def _footage(folder: Path) -> Path:
    path = folder / "proxies-footage.mov"
    if not path.exists():
        part = path.with_suffix(".part.mov")
        picture = f"testsrc2=s=3840x2160:r=25:d={SECONDS},noise=alls=6:allf=t,format=yuv420p10le"
        sound = f"anoisesrc=d={SECONDS}:c=pink:a=0.2:r=48000,aformat=channel_layouts=stereo"
        coder = ["-c:v", "libx265", "-preset", "ultrafast", "-b:v", "80M", "-g", "50"]
        coder += ["-x265-params", "log-level=error", "-c:a", "aac", "-b:a", "192k"]
        run_ffmpeg("-f", "lavfi", "-i", picture, "-f", "lavfi", "-i", sound, *coder, part)
        part.rename(path)
    return path


if __name__ == "__main__":
    print("\n".join(measure(Path(sys.argv[1]))))
