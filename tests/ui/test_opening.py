"""Opening a film for the window: held, read-only where somebody else has it, with what a crash left."""

import os
import signal
import subprocess
import sys
import time

import pytest

from desk.errors import FilmBusyError, FilmFileError
from desk.film import edits
from desk.store.journal import Journal
from desk.store.lock import hold
from desk.store.project import new_project, open_film
from desk.store.save import save_film
from desk.ui.opening import open_for_window, recover_film, version_to_recover
from tests.film.films import small_film

FILM = small_film()


@pytest.fixture
def folder(tmp_path):
    new_project(tmp_path / "project", FILM)
    return tmp_path / "project"


def test_an_open_film_is_held_until_it_is_closed(folder):
    opening = open_for_window(folder)
    assert opening.film.film == FILM
    assert not opening.read_only
    with pytest.raises(FilmBusyError, match="desk open"), hold(folder, "desk move"):
        pass
    opening.holding.close()
    with hold(folder, "desk move"):
        pass


def test_a_film_open_elsewhere_opens_for_reading_only_and_says_who_has_it(folder):
    with hold(folder, "desk assemble"):
        opening = open_for_window(folder)
    assert "desk assemble" in opening.read_only
    assert opening.read_only.endswith("It is open for reading only.")
    opening.holding.close()


def test_a_film_in_another_window_is_told_without_commands_and_processes(folder):
    first = open_for_window(folder)
    second = open_for_window(folder)
    assert second.read_only == (
        "The film is open in another window, which can change it. It is open for reading only here."
    )
    first.holding.close()
    second.holding.close()


def test_the_journal_of_a_window_that_is_open_is_not_taken_for_a_crash(folder):
    first = open_for_window(folder)
    Journal(folder).write(edits.edit_film(FILM, title="Typing").after, base=first.film.revision)
    second = open_for_window(folder)
    assert second.unsaved is None
    first.holding.close()


def test_what_a_crash_left_is_found(folder):
    base = open_film(folder).revision
    Journal(folder).write(edits.edit_film(FILM, title="Not saved").after, base=base)
    opening = open_for_window(folder)
    assert opening.unsaved.title == "Not saved"
    assert not opening.diverged
    edit = opening.edit_of_unsaved()
    assert (edit.before, edit.after) == (FILM, opening.unsaved)
    opening.holding.close()


def test_edits_made_before_the_file_was_changed_are_told_apart(folder):
    opened = open_film(folder)
    Journal(folder).write(edits.edit_film(FILM, title="Not saved").after, base=opened.revision)
    save_film(opened, edits.edit_film(FILM, title="By a command").after)
    opening = open_for_window(folder)
    assert opening.diverged
    assert opening.unsaved.title == "Not saved"
    opening.holding.close()


def test_a_damaged_file_can_be_brought_back_from_the_window(folder):
    (folder / "film.json").write_bytes(b'{"format": 1')
    with pytest.raises(FilmFileError) as caught:
        open_for_window(folder)
    version = version_to_recover(folder, caught.value)
    assert version is not None
    assert version.saved_text in recover_film(folder)
    opening = open_for_window(folder)
    assert opening.film.film == FILM
    opening.holding.close()


def test_a_folder_without_a_film_is_told_and_nothing_is_made_there(tmp_path):
    with pytest.raises(FilmFileError) as caught:
        open_for_window(tmp_path)
    assert version_to_recover(tmp_path, caught.value) is None
    assert list(tmp_path.iterdir()) == []


_EDITING = """
import sys
from pathlib import Path
from PySide6.QtCore import QObject, QTimer
from PySide6.QtWidgets import QApplication
from desk.cards.fonts import prepare_drawing
from desk.film import edits
from desk.ui.building import lay_bench
from desk.ui.look.theme import Theme
from desk.ui.messages import Messages
from desk.ui.opening import open_for_window

application = QApplication([])
prepare_drawing()
owner = QObject()
opening = open_for_window(Path(sys.argv[1]))
bench = lay_bench(opening.film, theme=Theme(), messages=Messages(parent=owner), parent=owner)
number = 0

def edit():
    global number
    number += 1
    bench.session.do(lambda film: edits.edit_film(film, title=f"Title {number}"))
    print(number, flush=True)

timer = QTimer()
timer.timeout.connect(edit)
timer.start(20)
application.exec()
"""


@pytest.mark.parametrize("alive_seconds", [0.6, 1.3, 2.6])
def test_a_kill_at_any_moment_costs_at_most_two_seconds(folder, alive_seconds):
    """A real process that edits all the time is killed with SIGKILL; what it said last is compared."""
    started = subprocess.Popen(
        [sys.executable, "-c", _EDITING, str(folder)],
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "QT_QPA_PLATFORM": "offscreen"},
    )
    said: list[tuple[float, int]] = []
    until = None
    while line := started.stdout.readline():
        now = time.monotonic()
        said.append((now, int(line)))
        until = until or now + alive_seconds
        if now >= until:
            break
    started.send_signal(signal.SIGKILL)
    started.wait()
    started.stdout.close()
    killed = time.monotonic()
    opening = open_for_window(folder)
    film = opening.unsaved or opening.film.film
    opening.holding.close()
    kept = int(film.title.removeprefix("Title ")) if film.title.startswith("Title ") else 0
    owed = max((number for when, number in said if when <= killed - 2), default=0)
    assert kept >= owed
    # Nothing half-written is left that keeps the film from being edited.
    assert open_film(folder).film.title.startswith(("Title", FILM.title))
