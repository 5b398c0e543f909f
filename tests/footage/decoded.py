"""What FFmpeg itself says of footage: the check on everything that is told without decoding it."""

import re
import subprocess
from pathlib import Path

from desk.film.media import PictureFacts
from desk.footage.probe import probe
from tests.making import bundled_ffmpeg, system_ffmpeg


def picture_of(path: Path) -> PictureFacts:
    """Return what is told of a file's picture."""
    picture = probe(path).picture
    assert picture is not None
    return picture


FFMPEGS = [path for path in (bundled_ffmpeg(), system_ffmpeg()) if path]


def decoded_times(path: Path, ffmpeg: str) -> list[int]:
    """Return the time stamp of every frame that FFmpeg decodes, as its filter `showinfo` prints it."""
    command = [ffmpeg, "-hide_banner", "-nostdin", "-v", "info", "-copyts", "-i", f"file:{path.absolute()}"]
    command += ["-map", "0:V:0", "-fps_mode", "passthrough", "-vf", "showinfo", "-f", "null", "-"]
    done = subprocess.run(command, capture_output=True, text=True, errors="replace", check=True)
    return [int(pts) for pts in re.findall(r" pts: *(-?\d+)", done.stderr)]
