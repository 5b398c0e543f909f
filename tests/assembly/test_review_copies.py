"""Where review copies are: films remember a place that a film file can hold, and it leads to the copy."""

import dataclasses
import os
from pathlib import Path

import pytest

from desk.assembly.copies import claimed_number, find_copy, kept_path, refuse_in_footage
from desk.errors import OutputError
from desk.film.edits import add_review_copy
from desk.film.model import ReviewCopy
from desk.film.paths import path_fault
from desk.store.project import new_project, open_film
from desk.store.save import save_film
from tests.film.films import small_film

NAME = "the-late-ferry-review-001.mp4"


def entered(file: str, number: int = 1) -> ReviewCopy:
    return ReviewCopy(number=number, date="2026-03-01", file=file, frames=100)


@pytest.mark.parametrize(
    ("out", "kept"),
    [
        ("kiosk", NAME),
        ("kiosk/review", f"review/{NAME}"),
        ("copies/first", f"../copies/first/{NAME}"),
        ("co pies' #?%é渡", f"../co pies' #?%é渡/{NAME}"),
        ("kiosk/2026: rough", f"./2026: rough/{NAME}"),
        ("kiosk/file:", f"./file:/{NAME}"),
        pytest.param(
            "back\\slash",
            NAME,
            marks=pytest.mark.skipif(os.name == "nt", reason="there it parts folders"),
        ),
    ],
)
def test_a_film_remembers_where_its_copy_is(tmp_path, out, kept):
    """Through the film file, which refuses what a program could take for an address."""
    folder = tmp_path / "kiosk"
    opened = new_project(folder, small_film())
    copy_file = tmp_path / out / NAME
    copy_file.parent.mkdir(parents=True, exist_ok=True)
    copy_file.touch()
    path = kept_path(copy_file, folder)
    assert path == kept
    assert path_fault(path) == ""
    save_film(opened, add_review_copy(opened.film, entered(path)).after)
    (copy,) = open_film(folder).film.review_copies
    found = find_copy(copy, folder, also_in=[copy_file.parent])
    assert found is not None
    assert found.samefile(copy_file)


def test_the_place_is_right_where_the_project_is_reached_through_a_link(tmp_path):
    """`..` goes up from where the link leads to."""
    real = tmp_path / "disk" / "films" / "kiosk"
    real.mkdir(parents=True)
    (tmp_path / "kiosk").symlink_to(real)
    copies = tmp_path / "copies"
    copies.mkdir()
    (copies / NAME).touch()
    path = kept_path(copies / NAME, tmp_path / "kiosk")
    assert path == f"../../../copies/{NAME}"
    assert (tmp_path / "kiosk" / path).samefile(copies / NAME)


def test_a_bare_name_of_before_is_looked_for_where_copies_went(tmp_path):
    folder, copies = tmp_path / "kiosk", tmp_path / "copies"
    new_project(folder, dataclasses.replace(small_film(), review_copies=(entered(NAME),)))
    (copy,) = open_film(folder).film.review_copies
    assert find_copy(copy, folder, also_in=[copies]) is None
    copies.mkdir()
    (copies / NAME).touch()
    assert find_copy(copy, folder) is None
    assert find_copy(copy, folder, also_in=[copies]) == copies / NAME


def test_a_copy_that_was_moved_is_found_by_its_name(tmp_path):
    folder = tmp_path / "kiosk"
    moved = tmp_path / "moved"
    moved.mkdir()
    (moved / NAME).touch()
    assert find_copy(entered(f"review/{NAME}"), folder, also_in=[moved]) == moved / NAME


def test_a_number_is_above_those_of_the_film_and_of_the_folder(tmp_path):
    film = dataclasses.replace(small_film(), review_copies=(entered("x.mp4", 3), entered("y.mp4", 5)))
    with claimed_number(tmp_path, film) as (number, name):
        assert (number, name) == (6, "the-late-ferry-review-006")
        with claimed_number(tmp_path, film) as (other, _):
            assert other == 7
    (tmp_path / "the-late-ferry-review-006.manifest.json").touch()
    with claimed_number(tmp_path, film) as (number, _):
        assert number == 7
    assert [path.name for path in tmp_path.iterdir()] == ["the-late-ferry-review-006.manifest.json"]


def test_the_footage_is_refused_without_being_touched(tmp_path):
    film = dataclasses.replace(small_film(), footage="footage")
    folder = tmp_path / "kiosk"
    files = {"footage/1/quay.mov": folder / "footage/1/quay.mov", "loose.mov": folder / "loose.mov"}
    for out in ("footage", "footage/1", "footage/new/deeper", "x/../footage"):
        with pytest.raises(OutputError, match="lies in the footage") as caught:
            refuse_in_footage(folder / out, folder, film, files)
        assert caught.value.code == "output.in_footage"
        assert caught.value.advice
    refuse_in_footage(folder / "review", folder, film, files)
    assert list(tmp_path.iterdir()) == []


def test_a_link_into_the_footage_is_refused(tmp_path):
    (tmp_path / "footage").mkdir()
    (tmp_path / "link").symlink_to("footage")
    film = dataclasses.replace(small_film(), footage="footage")
    with pytest.raises(OutputError):
        refuse_in_footage(tmp_path / "link" / "x", tmp_path, film, {})
    refuse_in_footage(Path(tmp_path / "review"), tmp_path, film, {})
