"""What files were is kept while they are gone, and damage to the file that keeps it loses nothing else."""

import pytest

from desk.errors import OutputError
from desk.film.problem import MediaTrouble
from desk.footage.seen_files import read_seen, remember, seen_path
from tests.film.films import HASH, facts

GONE = MediaTrouble("It is missing.", "Connect its disk.", "media.missing")


def test_a_file_that_is_missing_stays_as_it_was(tmp_path):
    path = seen_path(tmp_path / ".desk")
    assert read_seen(path) == {}
    remember(path, {"a.mov": facts(), "b.mov": facts()})
    remember(path, {"a.mov": GONE, "c.wav": facts(None)})
    assert read_seen(path) == dict.fromkeys(("a.mov", "b.mov", "c.wav"), (9, HASH))


def test_nothing_is_written_where_nothing_is_new(tmp_path):
    path = seen_path(tmp_path)
    remember(path, {"a.mov": GONE})
    assert not path.exists()
    remember(path, {"a.mov": facts()})
    before = path.stat().st_ino
    remember(path, {"a.mov": facts()})
    assert path.stat().st_ino == before


@pytest.mark.parametrize(
    "kept", ["", "{", "[]", '{"version": 9, "files": {}}', '{"version":1,"files":{"a":[1]}}']
)
def test_a_damaged_file_is_an_empty_memory(tmp_path, kept):
    path = seen_path(tmp_path)
    path.write_text(kept)
    assert read_seen(path) == {}
    remember(path, {"a.mov": facts()})
    assert read_seen(path) == {"a.mov": (9, HASH)}


def test_a_disk_that_refuses_is_told(tmp_path):
    (tmp_path / "file").write_text("x")
    with pytest.raises(OutputError):
        remember(seen_path(tmp_path / "file"), {"a.mov": facts()})
