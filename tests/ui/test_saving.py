"""Saving by itself: the journal soon, the film file at a pause, and both on leaving."""

import json

import pytest

from desk.errors import FilmFileError
from desk.film import edits
from desk.store.journal import Journal
from desk.store.project import open_film
from desk.ui import saving as saving_module
from tests.film.films import small_film

FILM = small_film()


@pytest.fixture(autouse=True)
def _soon(monkeypatch):
    monkeypatch.setattr(saving_module, "JOURNAL_MS", 5)
    monkeypatch.setattr(saving_module, "SAVE_MS", 40)


def entitle(bench, title):
    assert bench.session.do(lambda film: edits.edit_film(film, title=title))


def test_an_edit_is_in_the_film_file_after_a_pause(make_bench, qtbot):
    bench = make_bench(FILM)
    with qtbot.waitSignal(bench.saving.saved):
        entitle(bench, "One")
    assert open_film(bench.session.folder).film == bench.session.film
    assert bench.saving.is_saved


def test_the_journal_comes_first_and_is_gone_after_the_save(make_bench, qtbot, monkeypatch):
    monkeypatch.setattr(saving_module, "SAVE_MS", 60_000)
    bench = make_bench(FILM)
    entitle(bench, "One")
    journal = Journal(bench.session.folder)
    qtbot.waitUntil(lambda: journal.path.exists())
    qtbot.waitUntil(lambda: not bench.jobs.jobs)
    assert open_film(bench.session.folder).unsaved == bench.session.film
    assert open_film(bench.session.folder).film == FILM
    bench.saving.save_now()
    assert not journal.path.exists()
    assert open_film(bench.session.folder).film == bench.session.film


def test_a_later_save_is_never_overtaken_by_an_older_journal(make_bench, qtbot):
    bench = make_bench(FILM)
    for number in range(40):
        entitle(bench, f"Title {number}")
        if number % 7 == 0:
            bench.saving.save_now()
        qtbot.wait(3)
    bench.saving.save_now()
    qtbot.waitUntil(lambda: not bench.jobs.jobs)
    found = open_film(bench.session.folder)
    assert found.film.title == "Title 39"
    assert found.unsaved is None


def test_who_never_pauses_is_saved_all_the_same(make_bench, qtbot, monkeypatch):
    monkeypatch.setattr(saving_module, "SAVE_MS", 400)
    monkeypatch.setattr(saving_module, "LONGEST_UNSAVED_MS", 200)
    bench = make_bench(FILM)
    counted = iter(range(1000))

    def still_typing_and_saved():
        entitle(bench, f"Title {next(counted)}")
        title = json.loads((bench.session.folder / "film.json").read_text())["film"]["title"]
        assert title.startswith("Title")

    qtbot.waitUntil(still_typing_and_saved, timeout=10_000)


def test_undoing_all_is_saved_and_leaves_no_journal(make_bench, qtbot):
    bench = make_bench(FILM)
    entitle(bench, "One")
    qtbot.waitUntil(lambda: Journal(bench.session.folder).path.exists() or bench.saving.is_saved)
    bench.session.stack.undo()
    qtbot.waitUntil(lambda: not bench.jobs.jobs and open_film(bench.session.folder).film == FILM)
    bench.saving.save_now()
    qtbot.waitUntil(lambda: not Journal(bench.session.folder).path.exists())


def test_a_film_file_changed_elsewhere_is_not_saved_over_and_the_edits_stay(make_bench, qtbot):
    bench = make_bench(FILM)
    path = bench.session.folder / "film.json"
    other = path.read_text().replace(FILM.title, "From elsewhere")
    path.write_text(other)
    with qtbot.waitSignal(bench.saving.failed) as told:
        entitle(bench, "Mine")
    assert told.args[0].code == "film.changed"
    assert path.read_text() == other
    assert not bench.saving.is_saved
    assert Journal(bench.session.folder).read().film.title == "Mine"
    with pytest.raises(FilmFileError):
        bench.saving.save_now()


def test_a_fault_is_told_once_and_forgotten_when_a_save_succeeds(make_bench, qtbot):
    bench = make_bench(FILM)
    path = bench.session.folder / "film.json"
    before = path.read_bytes()
    told = []
    bench.saving.failed.connect(told.append)
    path.write_bytes(before + b"\n")
    for number in range(3):
        entitle(bench, f"Title {number}")
        qtbot.wait(120)
    assert len(told) == 1
    path.write_bytes(before)
    with qtbot.waitSignal(bench.saving.saved):
        entitle(bench, "At last")
    assert bench.saving.fault is None
    assert open_film(bench.session.folder).film.title == "At last"


def test_a_copy_is_saved_elsewhere_as_a_project_of_its_own(make_bench, tmp_path):
    bench = make_bench(FILM)
    entitle(bench, "Elsewhere")
    bench.saving.save_copy(tmp_path / "other")
    assert open_film(tmp_path / "other").film.title == "Elsewhere"
    bench.saving.save_now()
