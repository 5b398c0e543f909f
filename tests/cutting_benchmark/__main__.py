"""Measures cutting and looking, and prints one table: `python -m tests.cutting_benchmark --work DIR`.

It takes about ten minutes on two cores: scrubbing and playing on 4K, playing pieces of 1080 lines, dragging a
trim in a scene of 200 clips, and making proxies. Each part is measured in a process of its own, so that none
weighs on the next; what each compares is told in its module. Footage is kept in DIR from run to run.
"""

import argparse
import importlib
import os
import subprocess
import sys
import tempfile
from pathlib import Path

from rich.console import Console
from rich.table import Table

GOALS = {
    "scrub": "first shown, 95th percentile: < 100 ms without a proxy, < 40 ms with one",
    "playing": "no picture dropped in 60 s",
    "dragging": "a move to the end of its repaint < 16.7 ms",
    "proxies": "<= 1.1 of a bare ffmpeg with the same encoder settings",
}
"""The parts, in the order in which they are measured, and what they are to reach."""

_WIDTH = 132


def main() -> None:
    """Measure all parts, or those that are named."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("parts", nargs="*", metavar="PART", help=f"of {', '.join(GOALS)}; all unless named")
    asked.add_argument("--work", type=Path, help="folder for footage, kept from run to run")
    asked.add_argument("--inside", choices=list(GOALS), help=argparse.SUPPRESS)
    options = asked.parse_args()
    if unknown := [part for part in options.parts if part not in GOALS]:
        asked.error(f"there is no part {', '.join(unknown)}: choose from {', '.join(GOALS)}")
    if options.inside:
        lines = importlib.import_module(f"tests.cutting_benchmark.{options.inside}").measure(options.work)
        sys.stdout.write("\n".join(lines) + "\n")
        return
    with tempfile.TemporaryDirectory(prefix="desk-cutting-") as made:
        work = options.work or Path(made)
        work.mkdir(parents=True, exist_ok=True)
        parts = options.parts or list(GOALS)
        found = {part: _measured(part, work.absolute()) for part in parts}
    Console(width=_WIDTH).print(_table(found))


def _measured(part: str, work: Path) -> list[str]:
    command = [sys.executable, "-m", "tests.cutting_benchmark", "--inside", part, "--work", str(work)]
    environment = {**os.environ, "QT_QPA_PLATFORM": "offscreen"}
    done = subprocess.run(command, check=True, stdout=subprocess.PIPE, text=True, env=environment)
    return done.stdout.splitlines()


def _table(found: dict[str, list[str]]) -> Table:
    """Return the lines of all parts under each other: what was measured, and the figures."""
    table = Table(title=f"Cutting, on {os.cpu_count()} cores", show_lines=False)
    for heading in ("part", "measured", "figures"):
        table.add_column(heading, overflow="fold")
    for part, lines in found.items():
        table.add_row(part, "goal", GOALS[part])
        for line in lines:
            what, _, figures = line.strip().partition(": ")
            table.add_row("", what if figures else "", figures or what)
        table.add_section()
    return table


if __name__ == "__main__":
    main()
