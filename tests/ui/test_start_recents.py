"""Recent films: kept from one start to the next, at most twelve, missing ones too."""

from datetime import UTC, datetime, timedelta

import pytest
from PySide6.QtCore import QSettings, Qt
from PySide6.QtTest import QAbstractItemModelTester

from desk.store.project import new_project
from desk.ui.recent import MOST_RECENT, Recent, Recents
from desk.ui.start.recent_list import RecentListModel, said_when
from tests.film.films import small_film

NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


@pytest.fixture
def file(tmp_path):
    return tmp_path / "settings.ini"


@pytest.fixture
def recents(file):
    """Recent films of a person whose clock goes on by an hour at each look."""
    hours = iter(range(1000))
    return Recents(settings_in(file), lambda: NOON + timedelta(hours=next(hours)))


def settings_in(file):
    return QSettings(str(file), QSettings.Format.IniFormat)


def test_there_are_none_at_first(recents):
    assert recents.all() == ()


def test_they_are_there_at_the_next_start(recents, file, tmp_path):
    recents.add(tmp_path / "Kiosk, “äöü” %20", "The Unprinted\\ Ticket; 渡し")
    again = Recents(settings_in(file))
    assert again.all() == (
        Recent(folder=tmp_path / "Kiosk, “äöü” %20", title="The Unprinted\\ Ticket; 渡し", when=NOON),
    )


def test_the_last_one_is_first_and_each_is_there_once(recents, tmp_path):
    for name in ("a", "b", "a"):
        recents.add(tmp_path / name, f"Film {name}")
    assert [film.title for film in recents.all()] == ["Film a", "Film b"]
    assert recents.all()[0].when == NOON + timedelta(hours=2)


def test_a_new_title_takes_the_place_of_the_old(recents, tmp_path):
    recents.add(tmp_path / "a", "Working title")
    recents.add(tmp_path / "a", "Low Water")
    assert [film.title for film in recents.all()] == ["Low Water"]


def test_only_the_last_twelve_are_kept(recents, tmp_path):
    for number in range(MOST_RECENT + 3):
        recents.add(tmp_path / str(number), f"Film {number}")
    assert [film.title for film in recents.all()] == [f"Film {number}" for number in range(14, 2, -1)]


def test_one_can_be_taken_off_and_comes_back_when_it_is_opened(recents, tmp_path):
    recents.add(tmp_path / "a", "Film a")
    recents.add(tmp_path / "b", "Film b")
    recents.remove(tmp_path / "a")
    assert [film.title for film in recents.all()] == ["Film b"]
    recents.remove(tmp_path / "nowhere")
    recents.add(tmp_path / "a", "Film a")
    assert [film.title for film in recents.all()] == ["Film a", "Film b"]


def test_two_windows_add_to_one_list(file, tmp_path):
    one, other = Recents(settings_in(file)), Recents(settings_in(file))
    one.add(tmp_path / "a", "Film a")
    other.add(tmp_path / "b", "Film b")
    assert [film.title for film in one.all()] == ["Film b", "Film a"]


@pytest.mark.parametrize(
    "text", ["", "no list", "[1, 2]", '[{"folder": "x"}]', '[{"folder": 1, "title": 2}]']
)
def test_settings_that_can_t_be_read_are_no_list_and_are_written_anew(file, tmp_path, text):
    kept = settings_in(file)
    kept.setValue("recent/films", text)
    recents = Recents(kept)
    assert recents.all() == ()
    recents.add(tmp_path / "a", "Film a")
    assert [film.title for film in recents.all()] == ["Film a"]


def test_missing_ones_are_told_apart_and_kept(recents, tmp_path):
    new_project(tmp_path / "there", small_film())
    recents.add(tmp_path / "there", "There")
    recents.add(tmp_path / "gone", "Gone")
    assert [(film.title, film.is_missing()) for film in recents.all()] == [("Gone", True), ("There", False)]


@pytest.mark.parametrize(
    ("before", "said"),
    [
        (timedelta(minutes=5), "today 11:55"),
        (timedelta(days=1), "yesterday"),
        (timedelta(days=4), "21 Nov 2026"),
    ],
)
def test_when_is_said_as_a_person_says_it(before, said):
    here = NOON.replace(tzinfo=None).astimezone()
    assert said_when(here - before, here) == said


def test_the_list_says_title_state_and_folder(tmp_path, qtbot):
    model = RecentListModel()
    tester = QAbstractItemModelTester(model, QAbstractItemModelTester.FailureReportingMode.Warning)
    films = [
        Recent(folder=tmp_path / name, title=name.title(), when=NOON) for name in ("kiosk", "ferry", "pier")
    ]
    model.show_films(films)
    model.mark_missing(frozenset({tmp_path / "ferry"}))
    said = [model.index(row).data(Qt.ItemDataRole.AccessibleTextRole) for row in range(3)]
    assert said[0].startswith("Kiosk, opened ")
    assert said[1] == f"Ferry, missing, {tmp_path / 'ferry'}"
    assert "Connect its disk" in model.index(1).data(Qt.ItemDataRole.ToolTipRole)
    model.mark_missing(frozenset())
    assert "missing" not in model.index(1).data(Qt.ItemDataRole.AccessibleTextRole)
    model.show_films(films[1:])
    assert model.rowCount() == 2
    assert tester.model() is model
