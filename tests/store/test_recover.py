"""Bringing back the last good version."""

import os
import re
import shlex
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from desk.errors import FilmFileError, OutputError
from desk.store.journal import Journal
from desk.store.project import OpenFilm, new_project, open_film
from desk.store.recover import recover
from desk.store.save import save_film
from tests.store.films import EVERY_FIELD, SMALLEST, titled

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)


def saved_film(folder: Path) -> OpenFilm:
    return save_film(new_project(folder, SMALLEST, now=NOON), EVERY_FIELD, now=NOON + timedelta(hours=1))


def empty(path: Path) -> None:
    path.write_bytes(b"")


def cut_off(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:500])


def not_text(path: Path) -> None:
    path.write_bytes(b"\x00\xff" * 300)


def illegal(path: Path) -> None:
    path.write_bytes(path.read_bytes().replace(b'"length_frames": 48', b'"length_frames": -48'))


def folder_in_its_place(path: Path) -> None:
    path.unlink()
    path.mkdir()


def link_in_its_place(path: Path) -> None:
    path.unlink()
    path.symlink_to("nowhere")


DAMAGES = (empty, cut_off, not_text, illegal, folder_in_its_place, link_in_its_place)


@pytest.mark.parametrize("damage", DAMAGES)
def test_damage_is_told_with_the_way_back_and_the_way_works(tmp_path, damage):
    folder = tmp_path / "it's the ferry"
    saved = saved_film(folder)
    damage(saved.path)
    with pytest.raises(FilmFileError) as caught:
        open_film(folder)
    local = (NOON + timedelta(hours=1)).astimezone().strftime("%Y-%m-%d %H:%M:%S")
    assert f"bring back the version saved on {local} with" in caught.value.advice
    command = re.search(r"`(.*)`", caught.value.advice)
    assert command
    assert shlex.split(command[1]) == ["desk", "recover", str(folder)]

    there = saved.path.read_bytes() if saved.path.is_file() else None
    recovered = recover(folder, now=NOON)
    assert recovered.film == EVERY_FIELD
    assert open_film(folder) == saved
    assert recovered.version.saved == NOON + timedelta(hours=1)
    assert recovered.damaged == folder / "film-damaged-20261125T120000Z.json"
    assert os.path.lexists(recovered.damaged)
    if there is not None:
        assert recovered.damaged.read_bytes() == there


def test_a_film_file_that_is_gone_comes_back(tmp_path):
    saved = saved_film(tmp_path)
    saved.path.unlink()
    with pytest.raises(FilmFileError, match=r"there is no film\.json") as caught:
        open_film(tmp_path)
    assert "desk recover" in caught.value.advice
    assert recover(tmp_path).damaged is None
    assert open_film(tmp_path) == saved


def test_damaged_versions_are_passed_over(tmp_path):
    saved = saved_film(tmp_path)
    newest = max((tmp_path / ".desk/earlier").iterdir())
    newest.write_bytes(newest.read_bytes()[:-10])
    cut_off(saved.path)
    assert recover(tmp_path).film == SMALLEST


def test_each_damaged_file_stays(tmp_path):
    saved = saved_film(tmp_path)
    names = set()
    for number in range(3):
        saved.path.write_bytes(b"damage %d" % number)
        damaged = recover(tmp_path, now=NOON).damaged
        assert damaged
        assert damaged.read_bytes() == b"damage %d" % number
        names.add(damaged.name)
    assert len(names) == 3


def test_a_whole_film_is_not_touched(tmp_path):
    saved = saved_film(tmp_path)
    with pytest.raises(FilmFileError, match="is whole") as caught:
        recover(tmp_path)
    assert caught.value.code == "film.whole"
    assert open_film(tmp_path) == saved


def test_a_film_of_a_newer_version_is_not_replaced_by_an_older_one(tmp_path):
    saved = saved_film(tmp_path)
    data = b'{"format": 9, "written_by": "assembly-desk 9.0.0", "film": {"acts": []}}'
    saved.path.write_bytes(data)
    with pytest.raises(FilmFileError) as caught:
        open_film(tmp_path)
    assert "desk recover" not in caught.value.advice
    with pytest.raises(FilmFileError) as caught:
        recover(tmp_path)
    assert caught.value.code == "film.newer"
    assert saved.path.read_bytes() == data


def test_without_a_good_version_the_fault_itself_is_told(tmp_path):
    (tmp_path / "film.json").write_bytes(b"{")
    for call in (open_film, recover):
        with pytest.raises(FilmFileError, match="breaks off at line 1, column 2") as caught:
            call(tmp_path)
        assert "desk recover" not in caught.value.advice
    assert (tmp_path / "film.json").read_bytes() == b"{"


def test_unsaved_edits_outlast_the_damage(tmp_path):
    saved = saved_film(tmp_path)
    Journal(tmp_path).write(titled("later"), base=saved.revision)
    cut_off(saved.path)
    recover(tmp_path)
    assert open_film(tmp_path).unsaved == titled("later")


@pytest.mark.parametrize("name", ["write_bytes", "replace", "rename"])
def test_a_recovery_that_fails_leaves_all_as_it_was(tmp_path, monkeypatch, name):
    saved = saved_film(tmp_path)
    saved.path.write_bytes(b"damage")
    before = sorted(tmp_path.rglob("*"))
    real = getattr(Path, name)
    calls = []

    def fail_once(*args):
        calls.append(args)
        if len(calls) == 1:
            raise OSError(28, "No space left on device")
        return real(*args)

    with monkeypatch.context() as patch:
        patch.setattr(Path, name, fail_once)
        with pytest.raises(OutputError, match="the disk is full"):
            recover(tmp_path)
    assert saved.path.read_bytes() == b"damage"
    assert sorted(tmp_path.rglob("*")) == before
    assert recover(tmp_path).film == EVERY_FIELD
