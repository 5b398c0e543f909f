import shutil
from pathlib import Path

import pytest

from tests.cli.running import FILM_SIZE, Desk
from tests.making import make_numbered


@pytest.fixture(scope="session")
def made_rushes(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three scenes of footage."""
    folder = tmp_path_factory.mktemp("made") / "rushes"
    for name, frames in (
        ("01 boathouse/C0001.mov", 12),
        ("01 boathouse/C0002.mov", 10),
        ("02-shore/C0001.mov", 12),
        ("4A_slipway dusk/C0001.mp4", 12),
    ):
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        make_numbered(folder / name, frames=frames, size=FILM_SIZE, sound="beeps")
    return folder


@pytest.fixture
def desk(
    tmp_path: Path,
    made_rushes: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> Desk:
    """Runs commands in a folder with `rushes` in it."""
    shutil.copytree(made_rushes, tmp_path / "rushes")
    monkeypatch.chdir(tmp_path)
    for name in ("COLUMNS", "FORCE_COLOR", "TTY_COMPATIBLE", "DESK_FFMPEG"):
        monkeypatch.delenv(name, raising=False)
    return Desk(tmp_path, capsys)


@pytest.fixture
def kiosk(desk: Desk) -> Path:
    """A project made of the rushes."""
    desk("start", "kiosk", "--footage", "rushes", "--title", "The Unprinted Ticket").done()
    return desk.folder / "kiosk"
