"""Runs commands and looks at what they must never do: change footage, break a film, leave half-made files."""

import json
import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from desk.cli.main import main
from desk.errors import FilmFileError
from desk.store.project import open_film

REPOSITORY = Path(__file__).parents[2]
FILM_SIZE = (96, 54)


@dataclass(frozen=True, slots=True)
class Said:
    """What came of a command."""

    code: int
    out: str
    err: str

    def refused(self, code: int, *words: str) -> "Said":
        """Look that it was refused as it should: one sentence that has `words`, then what to do."""
        assert self.code == code, self
        lines = self.err.splitlines()
        faults = [line for line in lines if line.startswith("desk: ")]
        assert len(faults) == 1, self
        assert faults[0].endswith((".", "!", "?")), self
        assert lines[lines.index(faults[0]) + 1].startswith("      "), f"no advice: {self}"
        for word in words:
            assert word in self.err, self
        return self

    def done(self, *words: str) -> "Said":
        """Look that it was done, and that what was said has `words`."""
        assert self.code == 0, self
        for word in words:
            assert word in self.out + self.err, self
        return self

    @property
    def json(self) -> Any:
        """The output read as JSON."""
        return json.loads(self.out)


def snapshot(folder: Path) -> dict[str, tuple[object, ...]]:
    """Return all that is in a folder: kinds, links, times of change and bytes."""
    found: dict[str, tuple[object, ...]] = {}
    for base, folders, files in os.walk(folder):
        for name in (*folders, *files):
            path = Path(base, name)
            facts = path.lstat()
            is_read = path.is_file() and not path.is_symlink() and os.access(path, os.R_OK)
            data = path.read_bytes() if is_read else b""
            link = str(path.readlink()) if path.is_symlink() else ""
            found[str(path)] = (facts.st_mode, facts.st_mtime_ns, link, data)
    return found


def left_over(folder: Path) -> list[str]:
    """Return the files and folders that somebody who was stopped could have left half-made."""
    return [
        str(path)
        for path in folder.rglob(".*")
        if path.name.startswith((".assembling-", ".join-")) or ".part" in path.name or path.suffix in _PIECES
    ]


_PIECES = (".mp4", ".png", ".f32", ".aac")


class Desk:
    """Runs commands in a folder of their own, with footage in `rushes` beside the projects."""

    def __init__(self, folder: Path, capture: pytest.CaptureFixture[str]) -> None:
        self.folder = folder
        self.rushes = folder / "rushes"
        self._capture = capture

    def __call__(self, *arguments: str | Path) -> Said:
        """Run a command in this process."""

        def run() -> Said:
            self._capture.readouterr()
            code = main([str(argument) for argument in arguments])
            captured = self._capture.readouterr()
            return Said(code, captured.out, captured.err)

        return self._guarded(run)

    def process(self, *arguments: str | Path, shell: str = "", **environment: str) -> Said:
        """Run a command as a process of its own; `shell` is a command line with {desk} in it."""
        words = [*self.command(*arguments)]
        more: dict[str, Any] = {"args": words}
        if shell:
            more = {
                "args": shell.format(desk=f"{sys.executable} -m desk"),
                "shell": True,
                "executable": "/bin/bash",
            }

        def run() -> Said:
            done = subprocess.run(
                **more,
                cwd=self.folder,
                env=self.environment(**environment),
                capture_output=True,
                check=False,
                timeout=120,
            )
            return Said(
                done.returncode, done.stdout.decode(errors="replace"), done.stderr.decode(errors="replace")
            )

        return self._guarded(run)

    def command(self, *arguments: str | Path) -> list[str]:
        """Return the command line of a process."""
        return [sys.executable, "-m", "desk", *map(str, arguments)]

    def environment(self, **more: str) -> dict[str, str]:
        """Return the environment of a process."""
        return {**os.environ, "PYTHONPATH": str(REPOSITORY), "COLUMNS": "", **more}

    def _guarded(self, run: Callable[[], Said]) -> Said:
        footage, films = snapshot(self.rushes), self._films()
        said = run()
        assert snapshot(self.rushes) == footage, "footage was changed"
        assert left_over(self.folder) == []
        for film in films:
            open_film(film)
        assert "Traceback" not in said.err
        assert said.code != 70, said
        return said

    def _films(self) -> list[Path]:
        """Return the projects whose film can be opened."""
        whole = []
        for path in self.folder.glob("*/film.json"):
            try:
                open_film(path.parent)
            except FilmFileError:
                continue
            whole.append(path.parent)
        return whole

    def film(self, name: str = "kiosk") -> dict[str, Any]:
        """Return what is in a film file."""
        return dict(json.loads((self.folder / name / "film.json").read_text(encoding="utf-8"))["film"])

    def change_film(self, change: Callable[[dict[str, Any]], None], name: str = "kiosk") -> None:
        """Change a film file by hand."""
        path = self.folder / name / "film.json"
        data = json.loads(path.read_text(encoding="utf-8"))
        change(data["film"])
        path.write_text(json.dumps(data), encoding="utf-8")
