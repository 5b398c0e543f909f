"""The journal of unsaved edits."""

import pytest

from desk.errors import FilmFileError, OutputError
from desk.store.format import encode
from desk.store.journal import Journal, Unsaved
from tests.store.films import EVERY_FIELD, SMALLEST, titled


def test_what_is_written_is_read_and_cleared(tmp_path):
    journal = Journal(tmp_path)
    assert journal.read() is None
    journal.write(SMALLEST, base="0" * 32)
    journal.write(EVERY_FIELD, base="1" * 32)
    assert Journal(tmp_path).read() == Unsaved(film=EVERY_FIELD, base="1" * 32)
    journal.clear()
    assert journal.read() is None
    journal.clear()
    journal.write(SMALLEST, base="2" * 32)
    assert journal.read() == Unsaved(film=SMALLEST, base="2" * 32)
    assert [path.name for path in (tmp_path / ".desk").iterdir()] == ["unsaved.json"]


def test_only_the_film_that_was_saved_settles_a_journal(tmp_path):
    journal = Journal(tmp_path)
    assert journal.settle(SMALLEST)
    journal.write(titled("a"), base="0" * 32)
    assert not journal.settle(titled("b"))
    assert journal.read() is not None
    assert journal.settle(titled("a"))
    assert journal.read() is None


@pytest.mark.parametrize("data", [b"", b"{", b"\xff", b'{"format": 1, "film": 3}'])
def test_a_damaged_journal_is_told_and_does_not_count_as_settled(tmp_path, data):
    journal = Journal(tmp_path)
    journal.write(SMALLEST, base="0" * 32)
    journal.path.write_bytes(data)
    with pytest.raises(FilmFileError, match=r"unsaved\.json"):
        journal.read()
    assert not journal.settle(SMALLEST)
    assert journal.path.read_bytes() == data


def test_a_journal_of_a_newer_version_is_not_taken_over(tmp_path):
    journal = Journal(tmp_path)
    journal.write(SMALLEST, base="0" * 32)
    journal.path.write_bytes(encode(SMALLEST, journal.path).replace(b'"film": {', b'"film": {"weather": 1,'))
    with pytest.raises(FilmFileError, match="later version") as caught:
        journal.read()
    assert caught.value.code == "film.newer"


def test_a_folder_that_is_gone_is_told(tmp_path):
    with pytest.raises(OutputError, match="the folder is missing"):
        Journal(tmp_path / "gone").write(SMALLEST, base="0" * 32)
    Journal(tmp_path / "gone").clear()
    (tmp_path / ".desk").touch()
    with pytest.raises(OutputError, match="a file where a folder is needed"):
        Journal(tmp_path).write(SMALLEST, base="0" * 32)
    assert Journal(tmp_path).read() is None
    Journal(tmp_path).clear()
