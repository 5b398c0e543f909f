"""Opening a project and making a new one."""

import errno
import os
import random
import shutil
from pathlib import Path

import pytest

from desk.errors import FilmFileError, OutputError
from desk.store.folder import LIMIT_BYTES, remove_left_over_parts
from desk.store.format import encode
from desk.store.journal import Journal
from desk.store.project import checked_bytes, new_project, open_film
from tests.store.films import EVERY_FIELD, SMALLEST, titled


def refusal(folder: Path) -> FilmFileError:
    with pytest.raises(FilmFileError) as caught:
        open_film(folder)
    message = caught.value.message
    assert message.endswith(".")
    assert "\n" not in message
    assert str(folder) in message
    return caught.value


def contents(folder: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and not path.is_symlink()
    }


def test_a_new_project_opens_to_its_film(tmp_path):
    folder = tmp_path / "films" / "the ferry é #1"
    made = new_project(folder, EVERY_FIELD)
    opened = open_film(folder)
    assert opened == made
    assert (opened.film, opened.path, opened.folder) == (EVERY_FIELD, folder / "film.json", folder)
    assert (opened.read_only, opened.notice, opened.unsaved) == (False, "", None)


def test_a_new_project_may_be_made_in_a_folder_with_other_things(tmp_path):
    (tmp_path / "footage").mkdir()
    new_project(tmp_path, SMALLEST)
    assert open_film(tmp_path).film == SMALLEST


@pytest.mark.parametrize("make", [Path.touch, Path.mkdir, lambda path: path.symlink_to("nowhere")])
def test_a_new_project_never_takes_a_film_files_place(tmp_path, make):
    make(tmp_path / "film.json")
    before = list(tmp_path.iterdir())
    with pytest.raises(FilmFileError, match="holds a film already") as caught:
        new_project(tmp_path, SMALLEST)
    assert caught.value.code == "film.exists"
    assert list(tmp_path.iterdir()) == before


def test_a_new_project_that_can_not_be_made_leaves_nothing(tmp_path):
    (tmp_path / "taken").touch()
    with pytest.raises(OutputError, match="taken"):
        new_project(tmp_path / "taken" / "film", SMALLEST)
    for folder in (tmp_path / ("x" * 300), tmp_path / "a" / "b" / ("x" * 300)):
        with pytest.raises(OutputError, match="name is too long"):
            new_project(folder, SMALLEST)
    illegal = titled("two\nlines")
    with pytest.raises(FilmFileError, match=r"film\.title") as caught:
        new_project(tmp_path / "c", illegal)
    assert caught.value.code == "film.unwritable"
    assert [path.name for path in tmp_path.iterdir()] == ["taken"]


def test_what_would_not_open_to_the_same_film_is_not_written():
    class Other(type(SMALLEST)):
        __slots__ = ()
        __hash__ = None

        def __eq__(self, other):
            return False

    fields = {name: getattr(SMALLEST, name) for name in type(SMALLEST).__slots__}
    with pytest.raises(FilmFileError, match="would open to another film"):
        checked_bytes(Other(**fields), Path("film.json"))


def test_reading_writes_nothing_and_makes_nothing(tmp_path):
    (tmp_path / "film.json").write_bytes(encode(EVERY_FIELD, Path()))
    open_film(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["film.json"]


# ---- what stands in a film file's place


def test_a_folder_without_a_film_is_told(tmp_path):
    error = refusal(tmp_path)
    assert (error.code, "desk start" in error.advice) == ("film.missing", True)
    assert "is missing" in refusal(tmp_path / "gone").message
    (tmp_path / "file").touch()
    assert "is a file where a project folder is needed" in refusal(tmp_path / "file").message


def test_an_empty_film_file_is_told(tmp_path):
    (tmp_path / "film.json").touch()
    assert "is empty" in refusal(tmp_path).message


def test_a_link_is_not_followed(tmp_path):
    (tmp_path / "real.json").write_bytes(encode(SMALLEST, Path()))
    (tmp_path / "film.json").symlink_to("real.json")
    assert "is a link" in refusal(tmp_path).message
    (tmp_path / "film.json").unlink()
    (tmp_path / "film.json").symlink_to("nowhere")
    assert "is a link" in refusal(tmp_path).message


def test_a_folder_in_its_place_is_told(tmp_path):
    (tmp_path / "film.json").mkdir()
    assert "is a folder where a file is needed" in refusal(tmp_path).message


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names here")
def test_a_pipe_in_its_place_holds_nobody(tmp_path):
    os.mkfifo(tmp_path / "film.json")
    assert "is a pipe" in refusal(tmp_path).message


def test_a_file_far_too_large_is_not_read(tmp_path):
    with (tmp_path / "film.json").open("wb") as stream:
        stream.truncate(200_000_000)
    assert LIMIT_BYTES < 200_000_000
    assert "is larger than a film file can be (32 MB)" in refusal(tmp_path).message


@pytest.mark.parametrize(
    ("number", "code", "said"),
    [
        (errno.EACCES, "film.forbidden", "reading it is not allowed"),
        (errno.EIO, "film.unreadable", "the disk reports a fault"),
        (errno.EMFILE, "film.unreadable", "Too many open files"),
    ],
)
def test_what_the_system_refuses_is_told(tmp_path, monkeypatch, number, code, said):
    new_project(tmp_path, SMALLEST)

    def refuse(*_):
        raise OSError(number, os.strerror(number))

    with monkeypatch.context() as patch:
        patch.setattr(os, "open", refuse)
        error = refusal(tmp_path)
    assert error.code == code
    assert said in error.message


def test_no_bytes_give_anything_but_a_film_or_one_sentence(tmp_path):
    # Bytes changed, put in, taken out, doubled and cut off at random, from a fixed seed.
    path = tmp_path / "film.json"
    whole = encode(EVERY_FIELD, path)
    chance = random.Random(20261125)
    films, sentences = 0, []
    for _ in range(1200):
        data = bytearray(whole)
        for _ in range(chance.choice((1, 1, 1, 2, 5))):
            at = chance.randrange(len(data))
            end = at + chance.randrange(1, 30)
            match chance.randrange(6):
                case 0:
                    data[at] = chance.randrange(256)
                case 1:
                    data[at] ^= 1 << chance.randrange(8)
                case 2:
                    del data[at:end]
                case 3:
                    data[at:at] = data[at:end]
                case 4:
                    data[at] = chance.choice(b'0123456789-.eE"[]{},:\\tfn/')
                case 5:
                    del data[max(1, at) :]
        path.write_bytes(data)
        try:
            opened = open_film(tmp_path)
        except FilmFileError as error:
            sentences.append(error.message)
        else:
            assert opened.read_only or checked_bytes(opened.film, path)
            films += 1
    assert min(films, len(sentences)) > 50
    assert all(sentence.endswith(".") and sentence.isprintable() for sentence in sentences)


# ---- newer versions


def test_fields_of_a_newer_version_open_for_reading_only(tmp_path):
    data = encode(EVERY_FIELD, Path()).replace(b'"number": "4A"', b'"number": "4A", "weather": "fog"')
    (tmp_path / "film.json").write_bytes(data)
    opened = open_film(tmp_path)
    assert (opened.film, opened.read_only) == (EVERY_FIELD, True)
    assert "film.scenes[0].weather, which this version does not know" in opened.notice
    assert "for reading only" in opened.notice
    data = data.replace(b'"number": "5"', b'"number": "5", "weather": "sun"')
    (tmp_path / "film.json").write_bytes(data)
    assert "film.scenes[0].weather and 1 more" in open_film(tmp_path).notice


def test_a_newer_format_opens_for_reading_only_or_says_what_is_needed(tmp_path):
    data = encode(SMALLEST, Path()).replace(b'"format": 1', b'"format": 2').replace(b"0.1.0", b"4.0.0")
    (tmp_path / "film.json").write_bytes(data)
    opened = open_film(tmp_path)
    assert (opened.film, opened.read_only) == (SMALLEST, True)
    assert "written by assembly-desk 4.0.0 in a newer film format" in opened.notice
    (tmp_path / "film.json").write_bytes(data.replace(b'"rate": "25"', b'"rates": ["25"]'))
    error = refusal(tmp_path)
    assert error.code == "film.newer"
    assert "film format 2, and this version knows no format above 1" in error.message
    assert "Open it with that version" in error.advice


# ---- unsaved edits


def test_unsaved_edits_are_told_at_opening(tmp_path):
    opened = new_project(tmp_path, titled("a"))
    Journal(tmp_path).write(titled("b"), base=opened.revision)
    again = open_film(tmp_path)
    assert (again.film, again.unsaved) == (titled("a"), titled("b"))
    assert again.notice == "There are edits that were not saved."


def test_unsaved_edits_of_an_earlier_state_say_so(tmp_path):
    new_project(tmp_path, titled("a"))
    Journal(tmp_path).write(titled("b"), base="0" * 32)
    again = open_film(tmp_path)
    assert again.unsaved == titled("b")
    assert "before the film file was last changed" in again.notice


def test_a_journal_that_says_what_the_file_says_is_nothing_unsaved(tmp_path):
    new_project(tmp_path, titled("a"))
    Journal(tmp_path).write(titled("a"), base="0" * 32)
    assert (open_film(tmp_path).unsaved, open_film(tmp_path).notice) == (None, "")


def test_a_damaged_journal_does_not_keep_the_film_closed(tmp_path):
    new_project(tmp_path, titled("a"))
    Journal(tmp_path).path.write_bytes(b"{")
    opened = open_film(tmp_path)
    assert (opened.film, opened.unsaved) == (titled("a"), None)
    assert "can't be read" in opened.notice


# ---- part-files


def test_part_files_of_killed_writers_go_after_an_hour(tmp_path):
    old = tmp_path / ".film.123-0123abcd.part.json"
    young = tmp_path / ".film.124-0123abcd.part.json"
    mine = tmp_path / ".film.part.json"
    for path in (old, young, mine):
        path.touch()
    for path in (old, mine):
        os.utime(path, (1, 1))
    remove_left_over_parts(tmp_path)
    assert {path.name for path in tmp_path.iterdir()} == {young.name, mine.name}
    shutil.rmtree(tmp_path)
    remove_left_over_parts(tmp_path)
