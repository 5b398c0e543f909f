"""Making an assembly beside the window: of the film as it was, stopped without a trace, told at the end."""

import dataclasses
from pathlib import Path

import pytest
from PySide6.QtCore import QObject, Qt, QUrl, Slot
from PySide6.QtGui import QDesktopServices
from PySide6.QtWidgets import QApplication, QDialog, QLabel, QPushButton, QToolButton, QWidget

from desk.film import edits
from desk.film.rates import Rate
from desk.film.timing import Include
from desk.jobs import Progress
from desk.store.project import open_film
from desk.ui.assembling.bar import AssemblyBar
from desk.ui.assembling.made import MadeDialog
from desk.ui.assembling.run import Assembling
from desk.ui.assembling.time_left import TimeLeft
from desk.ui.assembling.wishes import Wishes
from tests.making import make_numbered
from tests.render.films import SIZE, clip, decode_copy, make_film, relative_to, scene, session_folder

RATE = Rate(25)
WAIT_MS = 60_000
STOPPED = "Stopped. Finished pieces are kept, so the next time is shorter."


@pytest.fixture(scope="session")
def reel(tmp_path_factory):
    path = session_folder(tmp_path_factory, "window-reels") / "reel.mov"
    if not path.exists():
        make_numbered(path, rate=RATE, frames=150, size=(SIZE.width, SIZE.height), sound="beeps")
    return path


@pytest.fixture
def bench(tmp_path, make_bench, reel, qtbot):
    """Two scenes of 20 and 12 frames, of two clips each, and one without footage; a window for faults."""
    source = Path(relative_to(tmp_path / "project", reel))
    film = make_film(
        RATE,
        scene(clip(source, 1, 11), clip(source, 2, 9), number="1"),
        scene(clip(source, 3, 7), clip(source, 4, 5), number="2"),
        scene(number="3"),
    )
    made, window = make_bench(film, tmp_path / "project"), QWidget()
    qtbot.addWidget(window)
    made.messages.set_window(window)
    yield made
    del window


@pytest.fixture
def assembling(bench):
    return Assembling(bench, bench.session)


@pytest.fixture
def bar(bench, assembling, qtbot):
    made = AssemblyBar(bench, assembling)
    qtbot.addWidget(made)
    return made


def wishes(bench, **fields) -> Wishes:
    return Wishes(**{"out": bench.session.folder / "review", "include": Include.ALL, **fields})


def assembled(qtbot, assembling, asked: Wishes):
    with qtbot.waitSignal(assembling.made, timeout=WAIT_MS) as told:
        assert assembling.start(asked)
    return told.args[0]


def scenes_by_number(film):
    return {one.number: one for one in film.scenes}


def notices(bench) -> list[str]:
    told: list[str] = []
    bench.messages.noticed.connect(lambda notice: told.append(notice.text))
    return told


def not_whole(folder: Path) -> list[Path]:
    """What an assembly that did not end well left, beside finished pieces."""
    return [path for path in folder.rglob(".*") if path.name != ".desk"] + [*folder.glob("review/*")]


class Opener(QObject):
    """Stands in for the desktop: keeps what it is asked to open."""

    def __init__(self) -> None:
        super().__init__()
        self.opened: list[str] = []

    @Slot(QUrl)
    def take(self, url: QUrl) -> None:
        self.opened.append(url.toLocalFile())


@pytest.fixture
def opener(qapp):
    made = Opener()
    QDesktopServices.setUrlHandler("file", made, "take")
    yield made
    QDesktopServices.unsetUrlHandler("file")


# -- the film as it was, and the film as it is


@pytest.mark.ffmpeg
def test_a_copy_holds_the_film_as_it_was_when_it_was_started(bench, assembling, qtbot):
    """The numbered frames of footage: 11 from 1 s, 9 from 2 s, then the second scene."""
    second = scenes_by_number(bench.session.film)["2"].id
    with qtbot.waitSignal(assembling.made, timeout=WAIT_MS) as told:
        assembling.start(wishes(bench))
        assert bench.session.do(lambda film: edits.set_aside(film, [second]))
    made = told.args[0]
    assert len(decode_copy(made.files[0]).frames) == made.frames == 32
    film = bench.session.film
    assert len(film.order) == 2
    (copy,) = film.review_copies
    assert copy == made.copy
    assert (copy.number, copy.frames, copy.include) == (1, 32, "all")
    assert (bench.session.folder / copy.file).samefile(made.files[0])
    bench.saving.save_now()
    assert open_film(bench.session.folder).film == film


@pytest.mark.ffmpeg
def test_edits_made_before_are_saved_and_in_it(bench, assembling, qtbot):
    first = scenes_by_number(bench.session.film)["1"].id
    bench.session.do(lambda film: edits.set_aside(film, [first]))
    made = assembled(qtbot, assembling, wishes(bench))
    assert made.frames == len(decode_copy(made.files[0]).frames) == 12
    on_disk = open_film(bench.session.folder).film
    assert on_disk.order == bench.session.film.order


@pytest.mark.ffmpeg
def test_undoing_keeps_the_copy_entered(bench, assembling, qtbot):
    before = bench.session.film
    second = scenes_by_number(before)["2"].id
    bench.session.do(lambda film: edits.set_aside(film, [second]))
    made = assembled(qtbot, assembling, wishes(bench))
    bench.session.stack.undo()
    assert bench.session.film.order == before.order
    assert bench.session.film.review_copies == (made.copy,)
    bench.session.stack.redo()
    assert bench.session.film.review_copies == (made.copy,)
    bench.saving.save_now()
    assert open_film(bench.session.folder).film.review_copies == (made.copy,)


@pytest.mark.ffmpeg
def test_two_after_each_other_have_numbers_of_their_own(bench, assembling, qtbot):
    first = assembled(qtbot, assembling, wishes(bench))
    for file in first.files:
        file.unlink()
    second = assembled(qtbot, assembling, wishes(bench, out=bench.session.folder / "elsewhere"))
    assert (first.number, second.number) == (1, 2)
    assert second.made.pieces_made == 0
    assert [copy.number for copy in bench.session.film.review_copies] == [1, 2]
    assert bench.session.film.review_copies[1].file.startswith("elsewhere/")


def test_a_second_one_is_not_begun_beside_the_first(bench, assembling, qtbot):
    with qtbot.waitSignal(assembling.finished, timeout=WAIT_MS):
        assembling.start(wishes(bench))
        with pytest.raises(RuntimeError):
            assembling.start(wishes(bench))
        assembling.stop()


@pytest.mark.ffmpeg
def test_a_film_that_is_open_for_reading_only_gets_a_copy_that_is_not_entered(bench, assembling, bar, qtbot):
    bench.session.read_only = "Another window has it open."
    made = assembled(qtbot, assembling, wishes(bench))
    assert made.files[0].exists()
    assert made.notice == "Another window has it open."
    assert bench.session.film.review_copies == ()
    assert "not entered in the film: Another window has it open." in bar.result.text()


# -- stopping and failing


@pytest.mark.ffmpeg
def test_stopping_leaves_nothing_but_finished_pieces(bench, assembling, bar, qtbot):
    told = notices(bench)
    assembling.progressed.connect(lambda _: bar.stop_button.click())
    with qtbot.waitSignals([assembling.stopped, assembling.finished], timeout=WAIT_MS):
        assembling.start(wishes(bench))
        assert bar.isVisibleTo(None)
    assert told == [STOPPED]
    assert bar.isHidden()
    assert not_whole(bench.session.folder) == []
    assert bench.session.film.review_copies == ()
    assembling.progressed.disconnect()
    made = Assembling(bench, bench.session)
    assert assembled(qtbot, made, wishes(bench)).number == 1


@pytest.mark.ffmpeg
@pytest.mark.parametrize("fraction", [0.06, 0.5, 0.94])
def test_stopping_at_any_point_and_going_on(bench, assembling, qtbot, fraction):
    def stop(report: Progress) -> None:
        if report.fraction >= fraction:
            assembling.stop()

    assembling.progressed.connect(stop)
    ended: list[str] = []
    assembling.stopped.connect(lambda: ended.append("stopped"))
    assembling.made.connect(lambda _: ended.append("made"))
    with qtbot.waitSignal(assembling.finished, timeout=WAIT_MS):
        assembling.start(wishes(bench))
    if ended == ["stopped"]:
        assert not_whole(bench.session.folder) == []
        assert bench.session.film.review_copies == ()
    else:
        # It came too late: the copy was whole by then, and is entered.
        assert [copy.number for copy in bench.session.film.review_copies] == [1]
    assert not assembling.is_running


def test_what_is_in_the_way_is_told_in_a_box(bench, assembling, bar, qtbot):
    with qtbot.waitSignal(assembling.failed, timeout=WAIT_MS) as told:
        assembling.start(wishes(bench, include=Include.LOCKED))
    assert told.args[0].code == "film.nothing"
    assert bar.isHidden()
    assert "nothing to assemble" in closed_box_text()
    assert not (bench.session.folder / "review").exists()


def test_a_folder_in_the_footage_is_told_in_a_box(bench, assembling, bar, qtbot, reel):
    with qtbot.waitSignal(assembling.failed, timeout=WAIT_MS):
        assembling.start(wishes(bench, out=reel.parent / "copies"))
    assert "lies in the footage" in closed_box_text()
    assert [path.name for path in reel.parent.iterdir()] == [reel.name]


def test_a_film_that_can_not_be_saved_is_not_assembled(bench, assembling, bar, qtbot):
    (bench.session.folder / "film.json").write_text("{}")
    bench.session.do(lambda film: edits.edit_film(film, title="Another"))
    with qtbot.waitSignal(assembling.failed):
        assert not assembling.start(wishes(bench))
    assert not assembling.is_running
    assert "changed by another program" in closed_box_text()


def closed_box_text() -> str:
    """Return what the box that is open says, and close it."""
    (box,) = [
        widget
        for widget in QApplication.topLevelWidgets()
        if isinstance(widget, QDialog) and widget.inherits("QMessageBox") and widget.isVisible()
    ]
    text = str(box.property("text"))
    box.close()
    return text


# -- the bar


@pytest.mark.ffmpeg
def test_the_bar_shows_how_far_it_is_and_then_what_was_made(bench, assembling, bar, qtbot, opener):
    assert bar.isHidden()
    stages: list[str] = []
    assembling.progressed.connect(lambda _: stages.append(bar.stage.text()))
    made = assembled(qtbot, assembling, wishes(bench))
    assert bar.isVisibleTo(None)
    assert set(stages) <= {"Making pieces", "Encoding the sound", "Putting the copy together"} | {
        stage for stage in stages if "reel" in stage or "footage" in stage
    }
    assert bar.progress.value() <= bar.progress.maximum()
    assert bar.result.text() == "Review copy 1, 0:01:07, is made. 4 pieces made, 0 already there."
    bar.play_button.click()
    bar.folder_button.click()
    assert opener.opened == [str(made.files[0]), str(made.files[0].parent)]
    bar.close_button.click()
    assert bar.isHidden()


@pytest.mark.ffmpeg
def test_a_copy_that_is_gone_is_told_when_it_is_played(bench, assembling, bar, qtbot, opener):
    made = assembled(qtbot, assembling, wishes(bench))
    told = notices(bench)
    made.files[0].unlink()
    bar.play_button.click()
    assert opener.opened == []
    assert told == [f"“{made.files[0]}” is not there any more."]


@pytest.mark.ffmpeg
def test_the_dialog_says_what_was_made(bench, assembling, qtbot, opener):
    made = assembled(qtbot, assembling, wishes(bench))
    dialog = MadeDialog(bench, made)
    qtbot.addWidget(dialog)
    dialog.show()
    said = " ".join(label.text() for label in dialog.findChildren(QLabel))
    assert "Review copy 1. 2 of 3" in said
    assert "0:01:07" in said
    assert "2 of 3 entries; 1 left out. 4 pieces made, 0 already there." in said
    assert "Listen at a moderate level first." in said
    assert "seizures" in said
    name = "the-late-ferry-review-001"
    assert f"{name}.mp4, beside it .otio, .chapters.vtt and .manifest.json" in said
    assert {file.name.removeprefix(name) for file in made.files} == {
        ".mp4", ".otio", ".chapters.vtt", ".manifest.json",
    }  # fmt: skip
    assert dialog.ledger.texts()[2] == "Scene 3: left out, no clips yet"
    assert any("no purpose" in text for text in dialog.problems.texts())
    dialog.play_button.click()
    dialog.folder_button.click()
    assert opener.opened == [str(made.files[0]), str(made.files[0].parent)]
    dialog.problems.go_button.click()
    assert bench.choice.entry == scenes_by_number(bench.session.film)["1"].id


@pytest.mark.ffmpeg
def test_the_dialog_says_how_loud_the_copy_is(bench, assembling, qtbot):
    silent = assembled(qtbot, assembling, wishes(bench))
    loudness = dataclasses.replace(
        silent.made.sound.loudness, integrated_lufs=-13.94, true_peak_dbtp=-1.26, range_lu=5.0
    )
    sound = dataclasses.replace(silent.made.sound, loudness=loudness)
    made = dataclasses.replace(silent, made=dataclasses.replace(silent.made, sound=sound))
    told = MadeDialog(bench, silent)
    dialog = MadeDialog(bench, made)
    for one in (told, dialog):
        qtbot.addWidget(one)
    dialog.show()
    assert told.sound.words.text() == "Nothing is heard in this copy."
    assert dialog.sound.words.text().startswith(
        "Sound: −13.9 LUFS reached, −14 asked (online). True peak as decoded −1.3 dBTP of −1 at most"
    )
    first, second = dialog.sound.table.sounds.rows
    assert (first.number, second.number) == ("1", "2")
    assert dialog.sound.remarks.text() == " ".join(made.sound_remarks)
    dialog.sound.table.setFocus()
    dialog.sound.table.selectRow(1)
    qtbot.keyClick(dialog.sound.table, Qt.Key.Key_Return)
    assert bench.choice.entry == second.entry


@pytest.mark.ffmpeg
def test_a_mix_that_distorts_is_told(bench, assembling, bar, qtbot):
    made = assembled(qtbot, assembling, wishes(bench))
    loudness = dataclasses.replace(made.made.sound.loudness, sample_peak_dbfs=0.4)
    sound = dataclasses.replace(made.made.sound, loudness=loudness)
    loud = dataclasses.replace(made, made=dataclasses.replace(made.made, sound=sound))
    assembling.made.emit(loud)
    assert "louder than full scale" in bar.result.text()
    dialog = MadeDialog(bench, loud)
    qtbot.addWidget(dialog)
    assert "louder than full scale" in dialog.cautions()[0]


@pytest.mark.ffmpeg
def test_the_entry_of_a_problem_may_be_gone_by_then(bench, assembling, qtbot):
    made = assembled(qtbot, assembling, wishes(bench))
    dialog = MadeDialog(bench, made)
    qtbot.addWidget(dialog)
    first = scenes_by_number(bench.session.film)["1"].id
    bench.session.do(lambda film: edits.delete_entry(film, first))
    told = notices(bench)
    dialog.problems.go_button.click()
    assert told == ["It is not in the film any more."]
    assert bench.choice.entry == ""


@pytest.mark.ffmpeg
def test_every_control_has_a_name(bench, assembling, bar, qtbot):
    made = assembled(qtbot, assembling, wishes(bench))
    dialog = MadeDialog(bench, made)
    qtbot.addWidget(dialog)
    for widget in (bar, dialog):
        for kind in (QPushButton, QToolButton):
            for button in widget.findChildren(kind):
                assert button.accessibleName() or button.text()
    assert bar.progress.accessibleName()
    assert dialog.ledger.accessibleName()
    assert dialog.problems.view.accessibleName()


# -- the time left


def noted(*reports: tuple[float, float], stage: str = "make") -> float | None:
    left = TimeLeft()
    for at_seconds, fraction in reports:
        left.note(fraction, at_seconds, stage=stage)
    return left.seconds()


def test_the_time_left_follows_from_the_speed_of_late():
    assert noted((100, 0.1), (110, 0.2)) == pytest.approx(80)
    assert noted((100, 0.1), (120, 0.5), (130, 0.75)) == pytest.approx(0.25 * 30 / 0.65)
    assert noted((0, 0.0), (100, 0.5), (120, 0.7)) == pytest.approx(0.3 * 20 / 0.2)


def test_the_time_left_is_not_known_at_once():
    assert noted() is None
    assert noted((100, 0.1)) is None
    assert noted((100, 0.1), (101, 0.5)) is None
    assert noted((100, 0.5), (110, 0.5)) is None


def test_another_stage_is_measured_anew():
    left = TimeLeft()
    left.note(0.0, 0, stage="probe")
    left.note(0.05, 10, stage="probe")
    assert left.seconds() == pytest.approx(190)
    left.note(0.05, 10, stage="make")
    assert left.seconds() is None
    left.note(0.25, 20, stage="make")
    assert left.seconds() == pytest.approx(37.5)


@pytest.mark.ffmpeg
def test_the_bar_says_the_time_left(bench, assembling, bar, qtbot):
    with qtbot.waitSignal(assembling.finished, timeout=WAIT_MS):
        assembling.start(wishes(bench))
        assembling.progressed.emit(Progress("join", "Putting the copy together", 0.96))
        assert bar.left.text() == "nearly done"
        assert bar.progress.value() == 960
        assert bar.stage.text() == "Putting the copy together"
