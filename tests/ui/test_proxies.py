"""Proxies through a bench: what is made, in which order, what makes it wait, and what becomes of failures."""

import shutil
import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QObject

from desk.errors import MediaError
from desk.film.media import MediaFacts
from desk.film.model import Clip, Film, Placement, Scene, SceneContent, Size
from desk.film.rates import Rate
from desk.footage.proxy import REFUSED, make_proxy
from desk.jobs import Progress
from desk.ui.bench import Bench
from desk.ui.cutting.proxy_line import ProxyLine
from desk.ui.job_runner import Lane
from desk.ui.proxies import Proxies, ProxyState
from desk.ui.proxy_files import ProxyFiles
from tests.making import make_numbered, read_numbers
from tests.ui.conftest import MakeBench

pytestmark = pytest.mark.ffmpeg

TIMEOUT_MS = 20_000
ONE, TWO, THREE = "footage/one.mov", "footage/two.mov", "footage/three.mov"
SOURCES = (ONE, TWO, THREE)
FRAMES = 10


def clip_of(source: str) -> Clip:
    return Clip(id=f"c-{Path(source).stem}", source=source, length_frames=FRAMES)


FILM = Film(
    title="Low Water",
    rate=Rate(25),
    size=Size(320, 180),
    start_frames=90_000,
    scenes=tuple(
        Scene(id=f"s{number}", number=str(number), content=SceneContent(clips=(clip_of(source),)))
        for number, source in enumerate(SOURCES, 1)
    ),
    order=tuple(Placement(entry=f"s{number}") for number in (1, 2, 3)),
    next_id=100,
)


class Making:
    """Makes proxies as the program does, when it is let; notes which, and fails where it is told to."""

    def __init__(self) -> None:
        self.begun: list[str] = []
        self.fault: dict[str, Exception] = {}
        self.let = threading.Event()
        self.let.set()
        self.stood = threading.Event()

    def __call__(self, path: Path, facts: MediaFacts, target: Path, **options) -> None:
        name = path.name
        self.begun.append(name)
        options["progress"](Progress("proxy", "Making", 0.5))
        while not self.let.wait(0.01):
            options["cancel"].check()
        while options["is_held"]():
            self.stood.set()
            options["cancel"].check()
        if name in self.fault:
            raise self.fault[name]
        make_proxy(path, facts, target, **options)


def any_picture(facts: MediaFacts) -> bool:
    return facts.picture is not None


@pytest.fixture(scope="module")
def footage(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("proxies")
    for at, source in enumerate((*SOURCES, "footage/other.mov")):
        make_numbered(folder / Path(source).name, frames=FRAMES, start=100 * at, size=(160, 90))
    return folder


@pytest.fixture
def bench(make_bench: MakeBench, tmp_path: Path, footage: Path) -> Bench:
    made = make_bench(FILM, tmp_path / "film")
    (made.session.folder / "footage").mkdir()
    for source in SOURCES:
        shutil.copy(footage / Path(source).name, made.session.folder / source)
    return made


@pytest.fixture
def making() -> Making:
    return Making()


@pytest.fixture
def new(bench: Bench, making: Making) -> Iterator[Callable[..., Proxies]]:
    owner = QObject()

    def make(**options) -> Proxies:
        options = {"make": making, "kept_free_bytes": 0, **options}
        files = ProxyFiles(bench.session.folder, **options)
        return Proxies(bench.session, bench.media, bench.jobs, owner, files=files, rule=any_picture)

    yield make
    making.let.set()
    owner.deleteLater()


def look(bench: Bench, qtbot) -> None:
    with qtbot.waitSignal(bench.media.changed, timeout=TIMEOUT_MS):
        bench.media.look()


def wait(qtbot, condition: Callable[[], bool]) -> None:
    qtbot.waitUntil(condition, timeout=TIMEOUT_MS)


def all_made(qtbot, proxies: Proxies) -> None:
    wait(qtbot, lambda: proxies.state.total == 3 and proxies.state.left == 0)


def folder_of(bench: Bench) -> Path:
    return bench.session.folder / ".desk" / "proxies"


def keys_of(bench: Bench) -> Path:
    return bench.session.folder / ".desk" / "key-pictures"


def test_all_are_made_in_the_films_order_and_found_again(bench, new, making, qtbot) -> None:
    proxies = new()
    states: list[ProxyState] = []
    proxies.changed.connect(states.append)
    found: list[str] = []
    proxies.found.connect(found.append)
    assert proxies.file_for(ONE) is None
    look(bench, qtbot)
    all_made(qtbot, proxies)
    assert making.begun == ["one.mov", "two.mov", "three.mov"]
    assert found == list(SOURCES)
    assert [proxies.file_for(source) for source in SOURCES].count(None) == 0
    file = proxies.file_for(TWO)
    assert file is not None
    assert read_numbers(file) == [100 + frame for frame in range(FRAMES)]
    assert {state.source for state in states} == {"", *SOURCES}
    assert any(state.source == TWO and state.done == 1 and state.fraction == 0.5 for state in states)
    again = new()
    all_made(qtbot, again)
    assert again.file_for(TWO) == file
    assert len(making.begun) == 3


def test_what_is_not_heavy_gets_none(bench, making, qtbot) -> None:
    owner = QObject()
    proxies = Proxies(
        bench.session, bench.media, bench.jobs, owner, files=ProxyFiles(bench.session.folder, make=making)
    )
    look(bench, qtbot)
    assert proxies.state == ProxyState()
    assert not folder_of(bench).exists()
    owner.deleteLater()


def test_those_that_are_in_a_hurry_come_first(bench, new, making, qtbot) -> None:
    proxies = new()
    proxies.hurry([THREE, "footage/unknown.mov"])
    look(bench, qtbot)
    all_made(qtbot, proxies)
    assert making.begun == ["three.mov", "one.mov", "two.mov"]


def test_held_it_stands_still_and_loses_nothing(bench, new, making, qtbot) -> None:
    proxies = new()
    making.let.clear()
    look(bench, qtbot)
    wait(qtbot, lambda: making.begun == ["one.mov"])
    proxies.hold()
    assert proxies.state.is_held
    making.let.set()
    wait(qtbot, making.stood.is_set)
    assert proxies.state.done == 0
    assert proxies.state.source == ONE
    proxies.go_on()
    all_made(qtbot, proxies)
    assert making.begun == ["one.mov", "two.mov", "three.mov"]


def test_held_before_it_begins_nothing_begins(bench, new, making, qtbot) -> None:
    proxies = new()
    proxies.hold()
    look(bench, qtbot)
    wait(qtbot, lambda: proxies.state.total == 3 and not bench.jobs.jobs)
    assert making.begun == []
    proxies.go_on()
    all_made(qtbot, proxies)


def test_it_waits_for_an_assembly(bench, new, making, qtbot) -> None:
    proxies, release = new(), threading.Event()
    making.let.clear()
    look(bench, qtbot)
    wait(qtbot, lambda: making.begun == ["one.mov"])
    bench.jobs.start("assemble", lambda progress, cancel: release.wait(20), lane=Lane.MAKING)
    assert proxies.state.is_waiting
    making.let.set()
    wait(qtbot, making.stood.is_set)
    # What the person holds stays held when the assembly ends, and the other way round.
    proxies.hold()
    proxies.go_on()
    assert proxies.state.is_waiting
    assert proxies.state.done == 0
    release.set()
    all_made(qtbot, proxies)
    assert not proxies.state.is_waiting
    assert making.begun == ["one.mov", "two.mov", "three.mov"]


def test_what_can_not_be_made_is_told_once_and_tried_again_as_another_file(
    bench, new, making, footage, qtbot
) -> None:
    fault = MediaError("No true proxy of “two.mov” can be made.", code=REFUSED, detail="why")
    making.fault["two.mov"] = fault
    proxies = new()
    told: list[object] = []
    proxies.failed.connect(told.append)
    look(bench, qtbot)
    all_made(qtbot, proxies)
    assert told == [fault]
    assert (proxies.state.done, proxies.state.failed) == (2, 1)
    assert proxies.file_for(TWO) is None
    # Not when the film is opened again, either.
    again = new()
    again.failed.connect(told.append)
    all_made(qtbot, again)
    assert again.state.failed == 1
    assert making.begun == ["one.mov", "two.mov", "three.mov"]
    making.fault.clear()
    shutil.copy(footage / "other.mov", bench.session.folder / TWO)
    look(bench, qtbot)
    wait(qtbot, lambda: proxies.file_for(TWO) is not None)
    wait(qtbot, lambda: again.state.left == 0)
    assert len(told) == 1


def test_a_fault_that_may_pass_is_not_remembered_for_the_next_time(bench, new, making, qtbot) -> None:
    making.fault["one.mov"] = MediaError("“one.mov” can't be read.")
    proxies = new()
    look(bench, qtbot)
    all_made(qtbot, proxies)
    assert proxies.state.failed == 1
    making.fault.clear()
    again = new()
    wait(qtbot, lambda: again.state.done == 3)
    assert making.begun[-1] == "one.mov"


def test_a_source_that_becomes_another_file_loses_its_proxy(bench, new, making, footage, qtbot) -> None:
    proxies = new()
    look(bench, qtbot)
    all_made(qtbot, proxies)
    before = proxies.file_for(ONE)
    making.let.clear()
    shutil.copy(footage / "other.mov", bench.session.folder / ONE)
    look(bench, qtbot)
    assert proxies.file_for(ONE) is None
    making.let.set()
    all_made(qtbot, proxies)
    after = proxies.file_for(ONE)
    assert after not in (None, before)
    assert after is not None
    assert read_numbers(after)[0] == 300


def test_a_source_that_changes_while_its_proxy_is_made(bench, new, making, footage, qtbot) -> None:
    proxies = new()
    making.let.clear()
    look(bench, qtbot)
    wait(qtbot, lambda: making.begun == ["one.mov"])
    shutil.copy(footage / "other.mov", bench.session.folder / ONE)
    look(bench, qtbot)
    making.let.set()
    all_made(qtbot, proxies)
    file = proxies.file_for(ONE)
    assert file is not None
    assert read_numbers(file)[0] == 300


def test_a_damaged_proxy_is_made_again(bench, new, making, qtbot) -> None:
    proxies = new()
    look(bench, qtbot)
    all_made(qtbot, proxies)
    file = proxies.file_for(ONE)
    assert file is not None
    file.write_bytes(file.read_bytes()[:-100])
    again = new()
    wait(qtbot, lambda: again.state.done == 3)
    assert making.begun == ["one.mov", "two.mov", "three.mov", "one.mov"]


def test_without_room_it_stops_and_says_so_once(bench, new, making, qtbot) -> None:
    proxies = new(limit_bytes=1000)
    told: list[object] = []
    proxies.failed.connect(told.append)
    look(bench, qtbot)
    wait(qtbot, lambda: bool(proxies.state.obstacle) and not bench.jobs.jobs)
    assert len(told) == 1
    assert "one.mov" in proxies.state.obstacle
    assert making.begun == []
    proxies.go_on()
    wait(qtbot, lambda: len(told) == 2)


def test_where_the_folder_can_not_be_made(bench, new, making, qtbot) -> None:
    folder_of(bench).write_text("in the way")
    proxies = new()
    look(bench, qtbot)
    wait(qtbot, lambda: "proxies" in proxies.state.obstacle)
    assert making.begun == []
    folder_of(bench).unlink()
    proxies.go_on()
    all_made(qtbot, proxies)


def test_turned_off_none_is_made_and_those_there_are_used(bench, new, making, qtbot) -> None:
    proxies = new()
    making.let.clear()
    look(bench, qtbot)
    wait(qtbot, lambda: making.begun == ["one.mov"])
    proxies.turn(on=False)
    wait(qtbot, lambda: not bench.jobs.jobs)
    assert proxies.state.done == 0
    making.let.set()
    again = new()
    wait(qtbot, lambda: again.state.total == 3 and not bench.jobs.jobs)
    assert not again.state.is_on
    assert making.begun == ["one.mov"]
    again.turn(on=True)
    wait(qtbot, lambda: again.state.done == 3)
    proxies.turn(on=False)


def test_the_end_comes_at_once_and_leaves_nothing_half_made(bench, new, making, qtbot) -> None:
    proxies = new()
    making.let.clear()
    look(bench, qtbot)
    wait(qtbot, lambda: making.begun == ["one.mov"])
    proxies.hold()
    bench.jobs.shut_down()
    assert list(folder_of(bench).iterdir()) == []
    proxies.go_on()
    assert making.begun == ["one.mov"]


def test_key_pictures_of_all_come_before_the_first_proxy_and_go_when_it_is_there(
    bench, new, making, qtbot
) -> None:
    proxies = new()
    making.let.clear()
    states: list[ProxyState] = []
    proxies.changed.connect(states.append)
    look(bench, qtbot)
    wait(qtbot, lambda: making.begun == ["one.mov"])
    sources = [state.near_source for state in states if state.near_source]
    assert list(dict.fromkeys(sources)) == list(SOURCES)
    files = [proxies.key_pictures_for(source) for source in SOURCES]
    assert [read_numbers(file) for file in files if file] == [[0], [100], [200]]
    making.let.set()
    all_made(qtbot, proxies)
    assert [proxies.key_pictures_for(source) for source in SOURCES] == [None] * 3
    wait(qtbot, lambda: list(keys_of(bench).iterdir()) == [])


def test_key_pictures_are_found_again_and_serve_where_proxies_are_off(bench, new, making, qtbot) -> None:
    proxies = new()
    proxies.turn(on=False)
    look(bench, qtbot)
    wait(qtbot, lambda: proxies.state.total == 3 and not bench.jobs.jobs)
    file = proxies.key_pictures_for(TWO)
    assert file is not None
    before = file.stat().st_ino
    again = new()
    wait(qtbot, lambda: again.state.total == 3 and not bench.jobs.jobs)
    assert again.key_pictures_for(TWO) == file
    assert file.stat().st_ino == before
    assert making.begun == []
    again.turn(on=True)
    all_made(qtbot, again)


def test_a_source_that_becomes_another_file_loses_its_key_pictures(bench, new, footage, qtbot) -> None:
    proxies = new()
    proxies.turn(on=False)
    look(bench, qtbot)
    wait(qtbot, lambda: proxies.key_pictures_for(THREE) is not None)
    shutil.copy(footage / "other.mov", bench.session.folder / ONE)
    proxies.hold()
    look(bench, qtbot)
    assert proxies.key_pictures_for(ONE) is None
    proxies.go_on()
    wait(qtbot, lambda: proxies.key_pictures_for(ONE) is not None)
    file = proxies.key_pictures_for(ONE)
    assert file is not None
    assert read_numbers(file) == [300]
    proxies.turn(on=True)


def test_footage_without_key_pictures_is_remembered(bench, new, making, qtbot) -> None:
    make_numbered(bench.session.folder / ONE, frames=FRAMES, size=(160, 90), gop=1, bframes=0)
    look(bench, qtbot)
    proxies = new()
    proxies.turn(on=False)
    wait(qtbot, lambda: proxies.state.total == 3 and not bench.jobs.jobs)
    again = new()
    tried: list[str] = []
    again.changed.connect(lambda state: tried.append(state.near_source))
    wait(qtbot, lambda: again.key_pictures_for(TWO) is not None and not bench.jobs.jobs)
    assert set(tried) <= {""}
    for each in (proxies, again):
        assert each.key_pictures_for(ONE) is None
        assert each.key_pictures_for(TWO) is not None
    assert len([file for file in keys_of(bench).iterdir() if file.suffix == ".none"]) == 1
    proxies.turn(on=True)


def test_key_pictures_that_can_not_be_made_hold_nothing_up(bench, new, making, qtbot) -> None:
    look(bench, qtbot)
    bench.session.folder.joinpath(".desk").mkdir(exist_ok=True)
    keys_of(bench).write_text("in the way")
    proxies = new()
    told: list[object] = []
    proxies.failed.connect(told.append)
    all_made(qtbot, proxies)
    assert proxies.state.done == 3
    assert told == []


def test_the_end_comes_at_once_while_key_pictures_are_made(bench, new, monkeypatch, qtbot) -> None:
    begun = threading.Event()

    def endless(path: Path, facts: MediaFacts, target: Path, **options) -> None:
        target.write_bytes(b"half")
        begun.set()
        while True:
            options["cancel"].check()

    monkeypatch.setattr("desk.ui.key_picture_files.make_key_pictures", endless)
    proxies = new()
    look(bench, qtbot)
    wait(qtbot, begun.is_set)
    assert proxies.state.near_source == ONE
    bench.jobs.shut_down()
    assert list(keys_of(bench).iterdir()) == []


def test_footage_is_not_touched(bench, new, qtbot) -> None:
    paths = [bench.session.folder / source for source in SOURCES]
    before = [(path.read_bytes(), path.stat().st_mtime_ns) for path in paths]
    proxies = new()
    look(bench, qtbot)
    all_made(qtbot, proxies)
    assert [(path.read_bytes(), path.stat().st_mtime_ns) for path in paths] == before


def test_the_line_says_how_far_it_is(bench, new, making, qtbot) -> None:
    proxies = new()
    line = ProxyLine(proxies)
    qtbot.addWidget(line)
    line.resize(600, 32)
    assert line.isHidden()
    making.let.clear()
    look(bench, qtbot)
    wait(qtbot, lambda: proxies.state.source == ONE and proxies.state.fraction == 0.5)
    assert line.isVisible()
    assert line.words.text() == "Proxies: 1 of 3, one.mov"
    assert line.progress.value() == 167
    assert line.hold_button.text() == "Hold"
    line.hold_button.click()
    assert line.words.text() == "Proxies held: 1 of 3"
    assert (line.hold_button.text(), line.hold_button.accessibleName()) == ("Go on", "Go on making proxies")
    line.hold_button.click()
    making.let.set()
    all_made(qtbot, proxies)
    assert line.isHidden()


def test_the_line_says_why_it_stopped(bench, new, qtbot) -> None:
    proxies = new(limit_bytes=1000)
    line = ProxyLine(proxies)
    qtbot.addWidget(line)
    look(bench, qtbot)
    wait(qtbot, lambda: bool(proxies.state.obstacle))
    assert line.words.text().startswith("Proxies stopped: A proxy of “one.mov” takes up to ")
    assert line.hold_button.text() == "Go on"
    assert line.focusPolicy() == line.focusPolicy().NoFocus
    assert all(item.accessibleName() for item in (line, line.words, line.progress, line.hold_button))
