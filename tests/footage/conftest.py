from pathlib import Path
from typing import Any, Protocol

import pytest

from tests.making import make_numbered


class Make(Protocol):
    """Makes numbered footage once in a session, by its name."""

    def __call__(self, name: str, **options: Any) -> Path: ...


@pytest.fixture(scope="session")
def make(tmp_path_factory: pytest.TempPathFactory) -> Make:
    folder = tmp_path_factory.mktemp("footage")
    made: dict[str, dict[str, Any]] = {}

    def make_once(name: str, **options: Any) -> Path:
        if name not in made:
            make_numbered(folder / name, **options)
            made[name] = options
        assert made[name] == options, f"{name} is made in two ways"
        return folder / name

    return make_once
