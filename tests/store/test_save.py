"""Saving, with failures at every step."""

import errno
import os
import subprocess
import sys
import textwrap
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from desk.errors import FilmFileError, OutputError
from desk.store.earlier import kept_versions
from desk.store.format import encode
from desk.store.journal import Journal
from desk.store.project import new_project, open_film
from desk.store.save import save_film
from tests.store.films import EVERY_FIELD, SMALLEST, titled

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)


def part_files(folder: Path) -> list[Path]:
    return [path for path in folder.rglob("*") if ".part" in path.name]


def test_what_is_saved_is_opened(tmp_path):
    opened = new_project(tmp_path, SMALLEST)
    saved = save_film(opened, EVERY_FIELD)
    assert open_film(tmp_path) == saved
    assert saved.film == EVERY_FIELD
    assert saved.revision != opened.revision
    again = save_film(saved, SMALLEST)
    assert open_film(tmp_path) == again
    assert not part_files(tmp_path)


def test_every_version_saved_is_kept(tmp_path):
    opened = new_project(tmp_path, titled("0"), now=NOON)
    for number in range(1, 6):
        opened = save_film(opened, titled(str(number)), now=NOON + timedelta(minutes=number))
    kept = kept_versions(tmp_path)
    texts = [(tmp_path / ".desk/earlier" / version.name).read_bytes() for version in kept]
    assert texts == [encode(titled(str(number)), Path()) for number in range(6)]
    assert [version.saved for version in kept] == [NOON + timedelta(minutes=number) for number in range(6)]


def test_a_file_written_by_hand_is_kept_before_it_is_replaced(tmp_path):
    by_hand = encode(SMALLEST, Path()).replace(b"  ", b"\t")
    (tmp_path / "film.json").write_bytes(by_hand)
    save_film(open_film(tmp_path), titled("x"))
    kept = kept_versions(tmp_path)
    assert (tmp_path / ".desk/earlier" / kept[0].name).read_bytes() == by_hand
    assert len(kept) == 2


def test_saving_what_is_there_writes_nothing(tmp_path):
    opened = new_project(tmp_path, SMALLEST)
    before = (tmp_path / "film.json").stat().st_mtime_ns, kept_versions(tmp_path)
    assert save_film(opened, SMALLEST) == opened
    assert ((tmp_path / "film.json").stat().st_mtime_ns, kept_versions(tmp_path)) == before


def test_versions_are_thinned_out(tmp_path):
    opened = new_project(tmp_path, titled("0"), now=NOON)
    for number in range(1, 40):
        opened = save_film(opened, titled(str(number)), now=NOON + timedelta(seconds=number))
    assert len(kept_versions(tmp_path)) == 20


@pytest.mark.parametrize("change", [lambda data: data + b" ", lambda data: b"", lambda data: data[:100]])
def test_a_file_changed_by_another_program_is_not_overwritten(tmp_path, change):
    opened = new_project(tmp_path, SMALLEST)
    path = tmp_path / "film.json"
    changed = change(path.read_bytes())
    path.write_bytes(changed)
    with pytest.raises(FilmFileError, match="was changed by another program") as caught:
        save_film(opened, EVERY_FIELD)
    assert caught.value.code == "film.changed"
    assert path.read_bytes() == changed


def test_the_second_of_two_windows_is_refused(tmp_path):
    first = second = new_project(tmp_path, SMALLEST)
    save_film(first, titled("first"))
    with pytest.raises(FilmFileError, match="was changed by another program"):
        save_film(second, titled("second"))
    assert open_film(tmp_path).film == titled("first")


@pytest.mark.parametrize("make", [Path.mkdir, lambda path: path.symlink_to(__file__)])
def test_what_is_no_plain_file_is_not_replaced(tmp_path, make):
    opened = new_project(tmp_path, SMALLEST)
    opened.path.unlink()
    make(opened.path)
    with pytest.raises(FilmFileError, match=r"film\.json"):
        save_film(opened, EVERY_FIELD)
    assert opened.path.is_dir() or opened.path.is_symlink()


def test_a_film_file_that_was_removed_is_written_again(tmp_path):
    opened = new_project(tmp_path, SMALLEST)
    opened.path.unlink()
    assert save_film(opened, EVERY_FIELD) == open_film(tmp_path)


def test_a_folder_that_was_removed_is_not_made_again(tmp_path):
    opened = new_project(tmp_path / "film", SMALLEST)
    (tmp_path / "film").rename(tmp_path / "moved")
    with pytest.raises(OutputError, match="the folder is missing"):
        save_film(opened, EVERY_FIELD)
    assert not (tmp_path / "film").exists()


def test_what_is_open_for_reading_only_is_not_saved(tmp_path):
    data = encode(SMALLEST, Path()).replace(b'"rate"', b'"weather": "fog", "rate"')
    (tmp_path / "film.json").write_bytes(data)
    with pytest.raises(FilmFileError, match="open for reading only") as caught:
        save_film(open_film(tmp_path), EVERY_FIELD)
    assert caught.value.code == "film.read_only"
    assert (tmp_path / "film.json").read_bytes() == data


def test_an_illegal_film_is_not_saved(tmp_path):
    opened = new_project(tmp_path, SMALLEST)
    before = opened.path.read_bytes()
    with pytest.raises(FilmFileError, match=r"was not saved.*film\.title") as caught:
        save_film(opened, titled("two\nlines"))
    assert caught.value.code == "film.unwritable"
    assert opened.path.read_bytes() == before


def test_saving_settles_its_own_journal_and_no_other(tmp_path):
    opened = new_project(tmp_path, titled("a"))
    journal = Journal(tmp_path)
    journal.write(titled("b"), base=opened.revision)
    found = open_film(tmp_path)
    by_command = save_film(found, titled("c"))
    assert by_command.unsaved == titled("b")
    assert open_film(tmp_path).unsaved == titled("b")
    saved = save_film(by_command, titled("b"))
    assert saved.unsaved is None
    assert journal.read() is None


class Disk:
    """Counts the calls by which a save touches the disk, and lets one of them fail."""

    def __init__(self, monkeypatch, fails_at: int, code: int) -> None:
        self.calls = 0
        self.fails_at = fails_at
        self.code = code
        for owner, name in (
            (Path, "write_bytes"),
            (Path, "replace"),
            (Path, "mkdir"),
            (Path, "unlink"),
            (Path, "iterdir"),
            (Path, "lstat"),
            (os, "fsync"),
            (os, "open"),
        ):
            monkeypatch.setattr(owner, name, self.counted(getattr(owner, name), name))

    def counted(self, call, name):
        def counted_call(*args, **kwargs):
            self.calls += 1
            # A part-file's removal is what `desk.files` does on a failure, and not a step of its own.
            if self.calls == self.fails_at and not (name == "unlink" and ".part." in args[0].name):
                if name == "write_bytes":
                    call(args[0], args[1][: len(args[1]) // 2])
                raise OSError(self.code, os.strerror(self.code))
            return call(*args, **kwargs)

        return counted_call


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EIO, errno.EACCES])
def test_a_failure_at_any_step_leaves_a_whole_film_and_nothing_half_written(tmp_path, monkeypatch, code):
    step, sentences = 0, []
    while True:
        step += 1
        folder = tmp_path / str(step)
        folder.mkdir()
        (folder / "film.json").write_bytes(encode(titled("old"), Path()))
        opened = open_film(folder)
        Journal(folder).write(titled("new"), base=opened.revision)
        with monkeypatch.context() as patch:
            disk = Disk(patch, step, code)
            try:
                saved = save_film(opened, titled("new"))
            except (OutputError, FilmFileError) as error:
                sentences.append(error.message)
                saved = None
        found = open_film(folder)
        if saved is None:
            assert found.film in (titled("old"), titled("new"))
            assert titled("new") in (found.film, found.unsaved)
            # Trying again goes well.
            assert save_film(found, titled("new")).film == titled("new")
        assert open_film(folder).film == titled("new")
        assert not part_files(folder)
        for version in kept_versions(folder):
            kept = (folder / ".desk/earlier" / version.name).read_bytes()
            assert kept in (encode(titled("old"), Path()), encode(titled("new"), Path()))
        if disk.calls < step:
            break
    assert step > 20
    assert len(sentences) >= 10
    assert all(sentence.endswith(".") for sentence in sentences)


def test_a_disk_that_is_really_full_leaves_the_old_film_whole(tmp_path):
    # A limit on the size of files stands in for the full disk: the system itself refuses half-way.
    opened = new_project(tmp_path, SMALLEST)
    before = opened.path.read_bytes()
    code = textwrap.dedent(
        """
        import resource, sys
        from pathlib import Path
        from desk.errors import OutputError
        from desk.store.project import open_film
        from desk.store.save import save_film
        from tests.store.films import EVERY_FIELD
        opened = open_film(Path(sys.argv[1]))
        resource.setrlimit(resource.RLIMIT_FSIZE, (2000, 2000))
        try:
            save_film(opened, EVERY_FIELD)
        except OutputError as error:
            print(error.message)
        """
    )
    run = subprocess.run(
        [sys.executable, "-c", code, str(tmp_path)],
        capture_output=True,
        text=True,
        check=True,
        cwd=Path(__file__).parents[2],
    )
    assert "could not be written" in run.stdout
    assert opened.path.read_bytes() == before
    assert not part_files(tmp_path)
    assert open_film(tmp_path) == opened
