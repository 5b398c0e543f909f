"""A process that is killed while it saves leaves a whole film."""

import random
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from desk.store.earlier import kept_versions, last_good
from desk.store.format import decode
from desk.store.journal import Journal
from desk.store.project import new_project, open_film
from tests.store.films import titled

SAVER = """
import itertools, sys
from pathlib import Path
from desk.store.journal import Journal
from desk.store.lock import hold
from desk.store.project import open_film
from desk.store.save import save_film
from tests.store.films import titled
folder = Path(sys.argv[1])
with hold(folder, "desk"):
    opened = open_film(folder)
    for number in itertools.count(int(opened.film.title)):
        film = titled(str(number))
        Journal(folder).write(film, base=opened.revision)
        opened = save_film(opened, film)
        print(number, flush=True)
"""


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no such signal here")
def test_a_killed_save_leaves_a_whole_film(tmp_path):
    new_project(tmp_path, titled("1"))
    chance = random.Random(3)
    for _ in range(6):
        process = subprocess.Popen(
            [sys.executable, "-c", SAVER, str(tmp_path)],
            stdout=subprocess.PIPE,
            text=True,
            cwd=Path(__file__).parents[2],
        )
        assert process.stdout
        told = "0"
        for _ in range(chance.randrange(3, 12)):
            told = process.stdout.readline().strip()
        # The next save is under way now; some instructions later is somewhere in it.
        for _ in range(chance.randrange(60_000)):
            pass
        process.send_signal(signal.SIGKILL)
        rest = process.communicate()[0].split()
        told = (rest or [told])[-1]

        opened = open_film(tmp_path)
        number = int(opened.film.title)
        assert number in (int(told), int(told) + 1)
        unsaved = Journal(tmp_path).read()
        assert unsaved is None or int(unsaved.film.title) in (number, number + 1)
        for version in kept_versions(tmp_path):
            path = tmp_path / ".desk/earlier" / version.name
            decode(path.read_bytes(), path)
        good = last_good(tmp_path)
        assert good is not None
        assert int(good[2].film.title) in (number - 1, number)
