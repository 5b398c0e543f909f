from pathlib import Path

import pytest
from hypothesis import settings

from desk.ffmpeg.program import Program, find_program
from tests.making import system_ffmpeg
from tests.render.films import Footage, session_folder

# How long an example takes says nothing on a busy machine.
settings.register_profile("render", deadline=None)
settings.load_profile("render")


@pytest.fixture(scope="session", params=["bundled", "system"])
def program(request: pytest.FixtureRequest) -> Program:
    """The bundled FFmpeg, then the system's, which is another release."""
    if request.param == "bundled":
        return find_program()
    system = system_ffmpeg()
    if system is None:
        pytest.skip("there is no /usr/bin/ffmpeg: install Debian's package to test a second release")
    return find_program(system)


@pytest.fixture(scope="session")
def footage(tmp_path_factory: pytest.TempPathFactory) -> Footage:
    return Footage(session_folder(tmp_path_factory, "numbered-footage"))


@pytest.fixture
def project(tmp_path: Path) -> Path:
    return tmp_path / "project"
