"""The dialog that makes an assembly: what it says is what is made, and it keeps up with choices and edits."""

import dataclasses
import shutil
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QAbstractItemModelTester
from PySide6.QtWidgets import QAbstractButton, QLineEdit, QRadioButton, QWidget

from desk.assembly.outlook import running_order
from desk.files import sample_hash, whole_hash
from desk.film import edits
from desk.film.model import Card
from desk.film.problem import Problem, Severity
from desk.film.rates import Rate
from desk.film.timing import Include, lay_out
from desk.store.project import open_film
from desk.ui.assembling.dialog import AssembleDialog
from desk.ui.assembling.ledger import LedgerModel
from desk.ui.assembling.problem_list import ProblemList, ProblemModel
from desk.ui.assembling.run import Assembling
from desk.ui.assembling.wishes import last_wishes
from tests.film.films import locked_media
from tests.making import make_numbered
from tests.render.films import SIZE, clip, decode_copy, make_film, relative_to, scene, session_folder

pytestmark = pytest.mark.ffmpeg

RATE = Rate(25)
WAIT_MS = 60_000


@pytest.fixture(scope="session")
def reel(tmp_path_factory):
    path = session_folder(tmp_path_factory, "dialog-reels") / "reel.mov"
    if not path.exists():
        make_numbered(path, rate=RATE, frames=150, size=(SIZE.width, SIZE.height))
    return path


@pytest.fixture
def bench(tmp_path, make_bench, reel):
    """A title, two scenes of 20 and 12 frames, and one without footage; none is locked."""
    source = Path(relative_to(tmp_path / "project", reel))
    film = make_film(
        RATE,
        Card(id="k1", name="Title", lines=("The Late Ferry",), length_frames=10),
        scene(clip(source, 1, 11), clip(source, 2, 9), number="1", grade_note="plain", no_music=True),
        scene(clip(source, 3, 7), clip(source, 4, 5), number="2"),
        scene(number="3"),
    )
    film = dataclasses.replace(film, delivery=dataclasses.replace(film.delivery, review_height=36))
    return make_bench(film, tmp_path / "project")


@pytest.fixture
def assembling(bench):
    return Assembling(bench, bench.session)


@pytest.fixture
def open_dialog(bench, assembling, qtbot):
    def opened() -> AssembleDialog:
        dialog = AssembleDialog(bench, assembling)
        qtbot.addWidget(dialog)
        dialog.show()
        settle(qtbot, dialog)
        return dialog

    return opened


def settle(qtbot, dialog: AssembleDialog) -> None:
    def is_settled() -> None:
        assert dialog.is_settled

    qtbot.waitUntil(is_settled, timeout=WAIT_MS)


def choose(qtbot, dialog: AssembleDialog, button: QAbstractButton) -> None:
    button.click()
    settle(qtbot, dialog)


def numbered(bench, number: str):
    return next(one for one in bench.session.film.scenes if one.number == number)


def lock(bench, number: str) -> None:
    one = numbered(bench, number)
    media = tuple(
        dataclasses.replace(item, **facts_of(bench.session.folder / item.path))
        for item in locked_media(one.content)
    )
    assert bench.session.do(lambda film: edits.lock(film, one.id, "2026-03-01", media, "for the test"))


def facts_of(path: Path) -> dict:
    return {
        "size_bytes": path.stat().st_size,
        "sample_hash": sample_hash(path),
        "sha256": whole_hash(path),
    }


def made_by(qtbot, assembling, dialog: AssembleDialog):
    with qtbot.waitSignal(assembling.made, timeout=WAIT_MS) as told:
        dialog.assemble_button.click()
    return told.args[0]


# -- what it says


def test_what_it_says_is_what_is_made(bench, assembling, open_dialog, qtbot):
    dialog = open_dialog()
    assert dialog.choices.wishes.include is Include.ALL  # nothing is locked yet
    assert dialog.title.text() == "The Late Ferry"
    assert dialog.length.text() == "0:01:17"
    assert dialog.going_in.text() == "3 of 4 entries; 1 left out."
    assert dialog.ledger.texts() == [
        "Card “Title”: 0:00:10 at 01:00:00:00",
        "Scene 1: 0:00:20 at 01:00:00:10",
        "Scene 2: 0:00:12 at 01:00:01:05",
        "Scene 3: left out, no clips yet",
    ]
    assert dialog.work.text().startswith("5 of 5 pieces have to be made, 0:01:17 of picture. That takes ")
    assert "as a guess" in dialog.work.text()
    assert dialog.assemble_button.isEnabled()
    made = made_by(qtbot, assembling, dialog)
    assert not dialog.isVisible()
    assert made.made.pieces_made == 5
    assert made.frames == len(decode_copy(made.files[0]).frames) == 42
    assert made.files[0].parent == bench.session.folder / "review"
    again = open_dialog()
    assert again.work.text().startswith("Picture and sound are there already; they are put together.")
    assert "guess" not in again.work.text()


def test_the_choices_change_what_it_says(bench, open_dialog, qtbot):
    lock(bench, "1")
    dialog = open_dialog()
    assert dialog.choices.wishes.include is Include.LOCKED
    assert dialog.length.text() == "0:01:05"
    assert dialog.ledger.texts()[2:] == [
        "Scene 2: left out, not locked",
        "Scene 3: left out, not locked",
    ]
    choose(qtbot, dialog, dialog.choices.scenes[Include.ALL])
    assert dialog.length.text() == "0:01:17"
    choose(qtbot, dialog, dialog.choices.scenes[Include.SLATES])
    assert dialog.ledger.texts()[2].endswith(", a slate")
    assert dialog.going_in.text() == "All 4 entries of the running order."
    choose(qtbot, dialog, dialog.choices.scenes[Include.LOCKED])
    assert dialog.length.text() == "0:01:05"
    assert dialog.choices.review.text() == "Review copy, 64 × 36"
    assert dialog.choices.full.text() == "Full size, 128 × 72, finer and slower"


def test_the_size_decides_what_has_to_be_made(assembling, open_dialog, qtbot):
    dialog = open_dialog()
    made_by(qtbot, assembling, dialog)
    dialog = open_dialog()
    assert "have to be made" not in dialog.work.text()
    choose(qtbot, dialog, dialog.choices.full)
    assert dialog.work.text().startswith("5 of 5 pieces have to be made")
    made = made_by(qtbot, assembling, dialog)
    assert decode_copy(made.files[0]).luma[0].shape == (72, 128)


def test_it_keeps_up_with_edits(bench, open_dialog, qtbot):
    dialog = open_dialog()
    second = numbered(bench, "2").id
    bench.session.do(lambda film: edits.set_aside(film, [second]))
    assert not dialog.assemble_button.isEnabled()  # until it has looked again
    assert dialog.reason.text() == "Looking at the film…"
    settle(qtbot, dialog)
    assert dialog.length.text() == "0:01:05"
    bench.session.stack.undo()
    settle(qtbot, dialog)
    assert dialog.length.text() == "0:01:17"
    bench.session.stack.redo()
    bench.session.do(lambda film: edits.edit_film(film, title="Slack Water"))
    settle(qtbot, dialog)
    assert dialog.title.text() == "Slack Water"
    assert dialog.length.text() == "0:01:05"


def test_only_the_last_question_is_answered(open_dialog, qtbot):
    dialog = open_dialog()
    for way in (*Include, Include.SLATES, Include.ALL) * 3:
        dialog.choices.scenes[way].click()
    dialog.choices.scenes[Include.SLATES].click()
    settle(qtbot, dialog)
    assert "a slate" in dialog.ledger.texts()[1]
    qtbot.wait(50)
    assert "a slate" in dialog.ledger.texts()[1]


# -- what is in the way


def test_a_film_with_something_in_the_way_can_not_be_assembled(tmp_path, make_bench, reel, qtbot):
    (tmp_path / "footage").mkdir()
    gone = Path(shutil.copy(reel, tmp_path / "footage" / "gone.mov"))
    source = Path("../footage/gone.mov")
    bench = make_bench(make_film(RATE, scene(clip(source, 1, 11), number="1")), tmp_path / "project")
    gone.unlink()
    assembling = Assembling(bench, bench.session)
    dialog = AssembleDialog(bench, assembling)
    qtbot.addWidget(dialog)
    settle(qtbot, dialog)
    assert not dialog.assemble_button.isEnabled()
    assert "gone.mov" in dialog.reason.text()
    assert dialog.assemble_button.toolTip() == dialog.reason.text()
    assert dialog.assemble_button.accessibleDescription() == dialog.reason.text()
    assert dialog.work.text() == ""
    dialog.assemble_button.click()
    assert not assembling.is_running
    assert "gone.mov" in dialog.problems.texts()[0]
    dialog.problems.go_button.click()
    assert bench.choice.entry == numbered(bench, "1").id
    # Once it is back, and the watch on the files says so, nothing is in the way.
    shutil.copy(reel, gone)
    bench.media.changed.emit(frozenset({str(source)}))
    settle(qtbot, dialog)
    assert dialog.reason.text() == ""
    assert dialog.assemble_button.isEnabled()


def test_it_does_not_cover_what_was_gone_to(bench, assembling, qtbot):
    window = QWidget()
    qtbot.addWidget(window)
    window.resize(1400, 800)
    window.show()
    dialog = AssembleDialog(bench, assembling, window)
    dialog.show()
    settle(qtbot, dialog)
    dialog.problems.go_button.click()
    assert bench.choice.entry
    assert not dialog.isVisible()


def test_an_empty_film_says_so(make_bench, tmp_path, qtbot):
    bench = make_bench(make_film(RATE), tmp_path / "empty")
    dialog = AssembleDialog(bench, Assembling(bench, bench.session))
    qtbot.addWidget(dialog)
    settle(qtbot, dialog)
    assert dialog.going_in.text() == "Nothing is in the running order."


def test_nothing_locked_says_what_to_do(open_dialog, qtbot):
    dialog = open_dialog()
    choose(qtbot, dialog, dialog.choices.scenes[Include.LOCKED])
    assert not dialog.assemble_button.isEnabled()
    assert "none of its scenes is locked" in dialog.reason.text()
    assert "take the drafts too" in dialog.reason.text()
    assert dialog.length.text() == "0:00:10"


def test_the_footage_is_refused_as_a_folder(assembling, open_dialog, reel, qtbot):
    dialog = open_dialog()
    before = dialog.choices.wishes.out
    dialog.choices.take_folder(reel.parent / "copies")
    settle(qtbot, dialog)
    assert "lies in the footage, where nothing is written. Choose another folder." in dialog.reason.text()
    assert not dialog.assemble_button.isEnabled()
    assert [path.name for path in reel.parent.iterdir()] == [reel.name]
    dialog.choices.take_folder(before)
    settle(qtbot, dialog)
    assert dialog.assemble_button.isEnabled()


def test_a_folder_is_typed(bench, assembling, open_dialog, qtbot):
    """One that is not named from the root lies in the project."""
    dialog = open_dialog()
    field = dialog.choices.folder
    field.selectAll()
    qtbot.keyClicks(field, "rough cuts")
    qtbot.waitUntil(lambda: dialog.choices.wishes.out == bench.session.folder / "rough cuts")
    settle(qtbot, dialog)
    assert made_by(qtbot, assembling, dialog).copy.file.startswith("rough cuts/")


def test_return_in_a_list_assembles_nothing(bench, assembling, open_dialog, qtbot):
    dialog = open_dialog()
    dialog.ledger.setCurrentIndex(dialog.ledger.model().index(1, 0))
    qtbot.keyClick(dialog.ledger, Qt.Key.Key_Return)
    assert bench.choice.entry == numbered(bench, "1").id
    assert dialog.problems.texts()[0].startswith("Card “Title”: It stands 10 frames")
    qtbot.keyClick(dialog.problems.view, Qt.Key.Key_Return)
    assert bench.choice.entry == "k1"
    assert dialog.isVisible()
    assert not assembling.is_running


def test_while_one_is_being_made_no_other_can_be_begun(assembling, open_dialog, qtbot):
    dialog = open_dialog()
    with qtbot.waitSignal(assembling.finished, timeout=WAIT_MS):
        assembling.start(dialog.choices.wishes)
        assert "being made" in dialog.reason.text()
        assert not dialog.assemble_button.isEnabled()
    settle(qtbot, dialog)
    assert dialog.assemble_button.isEnabled()
    assert dialog.work.text().startswith("Picture and sound are there already")


# -- what is remembered


def test_the_last_choices_are_remembered_for_the_project(bench, open_dialog, qtbot):
    dialog = open_dialog()
    dialog.choices.take_folder(bench.session.folder / "rough")
    choose(qtbot, dialog, dialog.choices.scenes[Include.SLATES])
    choose(qtbot, dialog, dialog.choices.full)
    dialog.close_button.click()
    assert not dialog.isVisible()
    again = open_dialog()
    kept = again.choices
    assert kept.wishes.include is Include.SLATES
    assert kept.wishes.full
    assert kept.wishes.out == bench.session.folder / "rough"
    assert kept.folder.text() == str(bench.session.folder / "rough")
    assert kept.full.isChecked()
    other = last_wishes(bench.session.folder.parent / "another", bench.session.film)
    assert (other.include, other.full) == (Include.ALL, False)


def test_a_refused_folder_is_not_remembered(bench, open_dialog, reel, qtbot):
    dialog = open_dialog()
    dialog.choices.take_folder(reel.parent)
    settle(qtbot, dialog)
    assert last_wishes(bench.session.folder, bench.session.film).out == bench.session.folder / "review"


def test_more_choices_are_written(assembling, open_dialog, qtbot):
    dialog = open_dialog()
    assert dialog.choices.bundle.isHidden() or not dialog.choices.bundle.isVisible()
    dialog.choices.more_button.click()
    assert dialog.choices.bundle.isVisible()
    choose(qtbot, dialog, dialog.choices.bundle)
    choose(qtbot, dialog, dialog.choices.flat)
    made = made_by(qtbot, assembling, dialog)
    assert {path.suffix for path in made.files} == {".mp4", ".otio", ".vtt", ".json", ".otioz"}


def test_stems_are_written_beside_the_copy_where_they_are_asked_for(assembling, open_dialog, qtbot):
    dialog = open_dialog()
    assert not dialog.choices.stems.isChecked()
    choose(qtbot, dialog, dialog.choices.stems)
    made = made_by(qtbot, assembling, dialog)
    name = made.files[0].stem
    assert {path.name for path in made.files if path.suffix == ".wav"} == {
        f"{name}.{lane}.wav" for lane in ("dialogue", "music", "effects")
    }


def test_a_film_for_reading_only_says_that_the_copy_is_not_entered(bench, open_dialog):
    bench.session.read_only = "Another window has it open."
    assert "will not be entered in the film: Another window has it open." in open_dialog().work.text()


def test_closing_it_at_once_leaves_nothing_running(bench, assembling, qtbot):
    dialog = AssembleDialog(bench, assembling)
    qtbot.addWidget(dialog)
    dialog.show()
    dialog.reject()
    qtbot.waitUntil(lambda: not bench.jobs.jobs)
    assert open_film(bench.session.folder).film == bench.session.film


# -- by keyboard and ear


def test_every_control_has_a_name_and_is_reached_by_keyboard(open_dialog, qtbot):
    dialog = open_dialog()
    controls = [
        *dialog.findChildren(QAbstractButton),
        *dialog.findChildren(QLineEdit),
        dialog.ledger,
        dialog.problems.view,
    ]
    for control in controls:
        assert control.accessibleName() or (isinstance(control, QAbstractButton) and control.text())
        # Of radio buttons, Tab reaches the one that is on, and arrow keys the others.
        is_off = isinstance(control, QRadioButton) and not control.isChecked()
        assert is_off or control.focusPolicy() & Qt.FocusPolicy.TabFocus
    assert dialog.assemble_button.isDefault()
    choices = dialog.choices
    wanted = [
        choices.scenes[Include.ALL], choices.review, choices.stems, choices.folder, choices.choose_button,
        choices.more_button, dialog.ledger, dialog.problems.go_button, dialog.problems.view,
        dialog.assemble_button, dialog.close_button,
    ]  # fmt: skip
    reached = []
    for _ in wanted:
        reached.append(dialog.focusWidget())
        qtbot.keyClick(dialog.focusWidget(), Qt.Key.Key_Tab)
    assert reached == wanted
    assert dialog.focusWidget() is wanted[0]
    words = " ".join(label.text() for label in dialog.findChildren(type(dialog.reason)))
    assert "Listen at a moderate level first." in words
    assert "seizures" in words


# -- the models


def test_the_models_stand_the_tester(bench, qapp):
    ledger, problems = LedgerModel(bench.session), ProblemModel(bench.theme, bench.session)
    for model in (ledger, problems):
        QAbstractItemModelTester(model, QAbstractItemModelTester.FailureReportingMode.Warning, model)
    film = bench.session.film
    for include in (*Include, *Include):
        lines = running_order(film, lay_out(film, include))
        ledger.show_lines(film, lines)
        assert ledger.rowCount() == len(lines) == 4
    told = [
        Problem(severity=way, place="", subject="The film", sentence=f"It is {way}.", advice="", code="x")
        for way in (*Severity, *Severity)
    ]
    for count in (4, 0, 1, 1, 3):
        problems.show_problems(tuple(told[:count]))
        assert problems.rowCount() == count
    assert problems.index(0).data(Qt.ItemDataRole.AccessibleTextRole) == "In the way: It is blocks."


def test_the_chosen_problem_stays_chosen_until_something_is_in_the_way(bench, qtbot):
    def problem(name: str, severity: Severity = Severity.LOOK) -> Problem:
        return Problem(
            severity=severity, place="k1", subject=name, sentence="It is so.", advice="Look.", code="x"
        )

    shown = ProblemList(bench)
    qtbot.addWidget(shown)
    one, two, three = problem("One"), problem("Two"), problem("Three")
    shown.show_problems((one, two, three))
    assert shown.view.currentIndex().row() == 0
    shown.view.setCurrentIndex(shown.view.model().index(1, 0))
    shown.show_problems((problem("Zero"), one, two, three))
    assert shown.view.currentIndex().data().startswith("Two")
    shown.show_problems((problem("Zero"), one, three))
    assert shown.view.currentIndex().data().startswith("Three")
    shown.show_problems((problem("Gone", Severity.BLOCKS), one, three))
    assert shown.view.currentIndex().data().startswith("Gone")
    shown.show_problems(())
    assert shown.go_button.isHidden()
    assert not shown.go_button.isEnabled()
