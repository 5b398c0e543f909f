"""A new film: what is shown is what is made, nothing is written before, and footage never."""

import hashlib
import os
import shutil
import threading

import pytest
from PySide6.QtCore import QMimeData, QObject, QPointF, Qt, QUrl
from PySide6.QtGui import QDropEvent
from PySide6.QtTest import QAbstractItemModelTester
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QComboBox,
    QDialogButtonBox,
    QLineEdit,
    QPlainTextEdit,
    QStyle,
    QStyleOptionComboBox,
)
from shiboken6 import isValid

from desk.cli.main import main
from desk.film.model import Size
from desk.film.rates import FILM_RATES, Rate
from desk.film.timecode import format_length
from desk.footage.first_film import first_film
from desk.footage.probing import ProbeCache
from desk.store.folder import desk_folder
from desk.store.project import new_project, open_film
from desk.ui.job_runner import JobRunner
from desk.ui.messages import Messages
from desk.ui.start.format_choice import FormatChoice, rate_text, size_text
from desk.ui.start.new_film import NewFilmDialog
from desk.ui.start.places import proposed_project, proposed_title
from desk.ui.start.preview_panel import HINT
from desk.ui.start.scene_table import CLIPS, LENGTH, NUMBER, REMARK, SLUGLINE
from tests.film.films import small_film
from tests.making import make_numbered, run_ffmpeg

pytestmark = pytest.mark.ffmpeg

SIZE = (64, 36)
TREE = (
    "01 boathouse/C9.mov",
    "01 boathouse/C10.mov",
    "02-shore/GX010007.MP4",
    "02-shore/GX020007.MP4",
    "4A_slipway dusk/DCIM/100CAM/a.mov",
)


@pytest.fixture(scope="session")
def clip(tmp_path_factory):
    """Ten frames at 25 a second, with sound."""
    return make_numbered(tmp_path_factory.mktemp("clip") / "a.mov", frames=10, size=SIZE, sound="beeps")


@pytest.fixture
def rushes(tmp_path, clip):
    """Three scenes: one is chaptered and has wild sound, one has a file that can't be read."""
    footage = tmp_path / "The Late Ferry" / "rushes"
    for name in TREE:
        (footage / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(clip, footage / name)
    (footage / "01 boathouse" / "empty.mov").touch()
    run_ffmpeg("-i", clip, "-map", "0:a", "-c", "copy", footage / "02-shore" / "wild.wav")
    return footage


class Recorded(Messages):
    """Messages that remember faults instead of opening boxes."""

    def __init__(self, parent):
        super().__init__(parent)
        self.faults = []

    def fault(self, error):
        self.faults.append(error)


@pytest.fixture
def jobs(qapp):
    made = JobRunner()
    yield made
    made.shut_down()
    made.deleteLater()


@pytest.fixture
def make_dialog(theme, qtbot, jobs):
    owner = QObject()
    dialogs = []

    def make(footage=None, ask=None):
        messages = Recorded(owner)
        dialog = NewFilmDialog(theme, messages, jobs, footage=footage, **({"ask": ask} if ask else {}))
        dialog.faults = messages.faults
        dialogs.append(dialog)
        dialog.open()
        return dialog

    yield make
    for dialog in dialogs:
        # One that was left is gone already.
        if isValid(dialog):
            dialog.close()
    owner.deleteLater()


@pytest.fixture
def read(make_dialog, qtbot):
    """Makes a dialog, and waits until the footage is shown."""

    def make(footage):
        dialog = make_dialog(footage)
        settle(dialog, qtbot)
        assert dialog.panel.table.isVisible(), dialog.panel.words.text()
        return dialog

    return make


def settle(dialog, qtbot):
    qtbot.waitUntil(lambda: not dialog._jobs.jobs, timeout=20_000)


def snapshot(folder):
    return {
        str(path.relative_to(folder)): (
            path.lstat().st_mtime_ns,
            hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else "",
        )
        for path in sorted(folder.rglob("*"))
    }


def column(dialog, number):
    model = dialog.panel.model
    return [model.index(row, number).data() for row in range(model.rowCount())]


def made_by(dialog, qtbot):
    with qtbot.waitSignal(dialog.made, timeout=20_000) as made:
        dialog.make_button.click()
    return made.args[0]


def choose(box, text):
    """Choose an entry of a box as a person does."""
    index = next(index for index in range(box.count()) if box.itemText(index).startswith(text))
    box.setCurrentIndex(index)
    box.activated.emit(index)


def test_it_begins_with_what_to_do(make_dialog):
    dialog = make_dialog()
    assert dialog.panel.words.text() == HINT
    assert dialog.panel.words.isVisible()
    assert not dialog.make_button.isEnabled()


def test_the_preview_is_the_film_that_the_footage_makes(read, rushes, tmp_path):
    dialog = read(rushes)
    made = first_film(tmp_path / "anywhere", rushes)
    scenes = made.film.scenes
    assert column(dialog, NUMBER) == [scene.number for scene in scenes] == ["1", "2", "4A"]
    assert column(dialog, SLUGLINE) == ["BOATHOUSE", "SHORE", "SLIPWAY DUSK"]
    assert column(dialog, CLIPS) == [str(len(scene.content.clips)) for scene in scenes] == ["2", "2", "1"]
    lengths = [sum(item.length_frames for item in scene.content.clips) for scene in scenes]
    assert column(dialog, LENGTH) == [format_length(length, Rate(25)) for length in lengths]
    assert column(dialog, REMARK) == [
        "1 file left out",
        "one recording in 2 files, 1 sound recording beside",
        "",
    ]
    said = dialog.panel.remarks.toPlainText()
    assert said.splitlines() == [remark.replace(f"{rushes}/", "") for remark in made.remarks]
    assert "“01 boathouse/empty.mov” is empty" in said
    assert dialog.panel.summary.text() == "3 scenes, 5 clips, 0:02:00"
    assert dialog.format.why() == made.why
    assert dialog.format.rate_box.currentText().startswith("25")
    assert dialog.format.size_box.currentText().startswith("64 × 36")


@pytest.mark.parametrize("size", [Size(1024, 540), Size(2048, 1080)])
def test_the_size_that_is_proposed_can_be_read_whole(theme, qtbot, size):
    """2048 × 1080 is said with what it is called."""
    choice = FormatChoice()
    qtbot.addWidget(choice)
    choice.resize(712, 64)
    choice.show()
    choice.propose(Rate(25), size, "As most of the clips.")
    box = choice.size_box
    option = QStyleOptionComboBox()
    box.initStyleOption(option)
    room = box.style().subControlRect(
        QStyle.ComplexControl.CC_ComboBox, option, QStyle.SubControl.SC_ComboBoxEditField, box
    )
    assert box.currentText().endswith("(as the footage)")
    assert room.width() >= box.fontMetrics().horizontalAdvance(box.currentText())


def test_title_and_project_folder_are_proposed_beside_the_footage(read, rushes):
    dialog = read(rushes)
    assert dialog.title_line.text() == "The Late Ferry"
    assert dialog.project_field.folder() == rushes.parent / "The Late Ferry film"
    assert dialog.make_button.isEnabled()


def test_nothing_is_written_before_the_film_is_made(read, rushes, tmp_path, qtbot):
    before = snapshot(tmp_path)
    dialog = read(rushes)
    choose(dialog.format.rate_box, "24")
    choose(dialog.format.size_box, "1920 × 1080")
    dialog.title_line.setText("Low Water")
    dialog.project_field.take(tmp_path / "somewhere" / "else")
    settle(dialog, qtbot)
    assert dialog.make_button.isEnabled()
    assert snapshot(tmp_path) == before
    footage = snapshot(rushes)
    folder = made_by(dialog, qtbot)
    assert folder == tmp_path / "somewhere" / "else"
    assert snapshot(rushes) == footage
    after = snapshot(tmp_path)
    added = {name.split("/")[0] for name in after.keys() - before.keys()}
    assert added == {"somewhere"}
    film = open_film(folder).film
    assert (film.title, film.rate, film.size) == ("Low Water", Rate(24), Size(1920, 1080))


def test_leaving_writes_nothing(read, rushes, tmp_path, qtbot):
    before = snapshot(tmp_path)
    dialog = read(rushes)
    with qtbot.waitSignal(dialog.rejected):
        qtbot.keyClick(dialog, Qt.Key.Key_Escape)
    assert snapshot(tmp_path) == before


@pytest.mark.parametrize("options", [(), ("--rate", "30000/1001", "--size", "1998x1080")])
def test_the_film_is_the_one_that_the_command_makes(read, rushes, qtbot, capsys, options):
    """Ids too; both lie beside the footage, so that paths are the same."""
    by_command = rushes.parent / "by command"
    assert main(["start", str(by_command), "--footage", str(rushes), "--title", "Low Water", *options]) == 0
    dialog = read(rushes)
    qtbot.keyClicks(dialog.title_line, "")
    dialog.title_line.setText("Low Water")
    if options:
        choose(dialog.format.rate_box, "29.97")
        choose(dialog.format.size_box, "1998 × 1080")
        settle(dialog, qtbot)
    folder = made_by(dialog, qtbot)
    assert (folder / "film.json").read_bytes() == (by_command / "film.json").read_bytes()
    assert open_film(folder).film == open_film(by_command).film
    assert capsys.readouterr().out


def test_what_was_read_is_kept_in_the_project(read, rushes, qtbot, capsys):
    by_command = rushes.parent / "by command"
    assert main(["start", str(by_command), "--footage", str(rushes)]) == 0
    folder = made_by(read(rushes), qtbot)
    mine, other = (ProbeCache(desk_folder(project) / "probes.json") for project in (folder, by_command))
    for name in TREE:
        assert mine.get(rushes / name) == other.get(rushes / name) is not None
    assert capsys.readouterr().out


def test_another_rate_is_shown_without_reading_the_footage_again(read, rushes, qtbot):
    """The facts are kept: files of the same size and time that can't be read any more cost nothing."""
    dialog = read(rushes)
    for name in TREE:
        path = rushes / name
        facts = path.stat()
        path.write_bytes(bytes(facts.st_size))
        os.utime(path, ns=(facts.st_atime_ns, facts.st_mtime_ns))
    choose(dialog.format.rate_box, "50")
    settle(dialog, qtbot)
    assert column(dialog, LENGTH) == ["0:00:40", "0:00:40", "0:00:20"]
    assert dialog.format.rate_box.currentText() == "50"
    choose(dialog.format.rate_box, "25")
    settle(dialog, qtbot)
    assert column(dialog, LENGTH) == ["0:00:20", "0:00:20", "0:00:10"]


def test_any_even_size_can_be_given(read, rushes, qtbot):
    dialog = read(rushes)
    assert not dialog.format.width_box.isVisible()
    choose(dialog.format.size_box, "Another size")
    assert dialog.format.width_box.isVisible()
    for box, typed in ((dialog.format.width_box, "1001"), (dialog.format.height_box, "562")):
        box.selectAll()
        qtbot.keyClicks(box, typed)
        qtbot.keyClick(box, Qt.Key.Key_Tab)
    settle(dialog, qtbot)
    assert open_film(made_by(dialog, qtbot)).film.size == Size(1000, 562)


def test_rates_and_sizes_are_named():
    assert [rate_text(rate) for rate in FILM_RATES] == [
        "23.976 (24000/1001)",
        "24",
        "25",
        "29.97 (30000/1001)",
        "30",
        "48",
        "50",
        "59.94 (60000/1001)",
        "60",
    ]
    assert size_text(Size(2048, 1080)) == "2048 × 1080, DCI 2K"
    assert size_text(Size(64, 36)) == "64 × 36"


def test_a_project_inside_the_footage_is_refused(read, rushes, qtbot):
    dialog = read(rushes)
    for inside in (rushes / "film", rushes / "02-shore" / "film"):
        dialog.project_field.take(inside)
        settle(dialog, qtbot)
        assert "lies in the footage, where nothing is written" in dialog.project_field.fault.text()
        assert dialog.project_field.fault.isVisible()
        assert not dialog.make_button.isEnabled()
    dialog.project_field.take(rushes.parent)
    settle(dialog, qtbot)
    assert not dialog.project_field.fault.isVisible()
    assert dialog.make_button.isEnabled()


def test_a_link_into_the_footage_is_no_way_round(read, rushes, qtbot):
    (rushes.parent / "link").symlink_to(rushes / "02-shore")
    dialog = read(rushes)
    dialog.project_field.take(rushes.parent / "link" / "film")
    settle(dialog, qtbot)
    assert "lies in the footage" in dialog.project_field.fault.text()


def test_where_a_film_is_no_other_is_made(read, rushes, tmp_path, qtbot):
    new_project(tmp_path / "taken", small_film())
    before = snapshot(tmp_path)
    dialog = read(rushes)
    dialog.project_field.take(tmp_path / "taken")
    settle(dialog, qtbot)
    assert "holds a film already" in dialog.project_field.fault.text()
    assert not dialog.make_button.isEnabled()
    assert snapshot(tmp_path) == before


@pytest.mark.parametrize("typed", ["films/kiosk", "~nobody-at-all/films"])
def test_half_a_path_is_refused_with_a_sentence(read, rushes, qtbot, typed):
    dialog = read(rushes)
    dialog.project_field.line.selectAll()
    qtbot.keyClicks(dialog.project_field.line, typed)
    dialog.project_field.settle()
    assert "whole path" in dialog.project_field.fault.text()
    assert not dialog.make_button.isEnabled()


def test_a_file_in_the_way_is_told(read, rushes, tmp_path, qtbot):
    (tmp_path / "a file").touch()
    dialog = read(rushes)
    dialog.project_field.take(tmp_path / "a file")
    settle(dialog, qtbot)
    assert "is a file where a folder is needed" in dialog.project_field.fault.text()


def test_a_title_that_no_film_can_have_is_refused_below_it(read, rushes):
    dialog = read(rushes)
    dialog.title_line.setText("Low\x07Water")
    assert dialog.title_fault.isVisible()
    assert dialog.title_fault.text().endswith(".")
    assert not dialog.make_button.isEnabled()
    dialog.title_line.setText("")
    assert not dialog.title_fault.isVisible()
    assert dialog.make_button.isEnabled()


def test_a_disk_that_refuses_is_told_and_nothing_is_lost(read, rushes, tmp_path, qtbot):
    """The place was free when it was looked at, and is not when the film is made."""
    dialog = read(rushes)
    folder = dialog.project_field.folder()
    folder.parent.joinpath(folder.name).write_text("in the way")
    dialog.make_button.click()
    settle(dialog, qtbot)
    assert dialog.fault.isVisible()
    assert folder.name in dialog.fault.text()
    assert "is a file where a folder is needed" in dialog.project_field.fault.text()
    assert folder.read_text() == "in the way"
    assert dialog.faults == []
    folder.unlink()
    dialog.project_field.check()
    settle(dialog, qtbot)
    assert made_by(dialog, qtbot) == folder


def test_footage_that_has_changed_is_shown_again_before_it_is_made(read, rushes, clip, qtbot):
    dialog = read(rushes)
    shutil.copy(clip, rushes / "4A_slipway dusk" / "b.mov")
    dialog.make_button.click()
    settle(dialog, qtbot)
    assert "has changed since" in dialog.fault.text()
    assert column(dialog, CLIPS) == ["2", "2", "2"]
    assert not (dialog.project_field.folder() / "film.json").exists()
    folder = made_by(dialog, qtbot)
    assert len(open_film(folder).film.scenes[2].content.clips) == 2


def test_reading_can_be_stopped_and_taken_up_again(make_dialog, jobs, rushes, tmp_path, qtbot):
    """Both threads that look are taken, so that the reading waits and can be stopped at leisure."""
    before = snapshot(tmp_path)
    gate = threading.Event()
    for _ in range(2):
        jobs.start("wait", lambda *_: gate.wait(60))
    dialog = make_dialog(rushes)
    assert dialog.panel.progress.isVisible()
    assert not dialog.make_button.isEnabled()
    dialog.panel.progress.button.click()
    assert "was stopped" in dialog.panel.words.text()
    assert not dialog.panel.progress.isVisible()
    gate.set()
    settle(dialog, qtbot)
    assert "was stopped" in dialog.panel.words.text()
    assert not dialog.make_button.isEnabled()
    assert snapshot(tmp_path) == before
    dialog.panel.again_button.click()
    settle(dialog, qtbot)
    assert column(dialog, CLIPS) == ["2", "2", "1"]
    assert dialog.make_button.isEnabled()


def test_reading_is_stopped_between_files(make_dialog, tmp_path, clip, qtbot):
    """Stopped at the first word of progress, with most of the files to come."""
    footage = tmp_path / "many"
    (footage / "1").mkdir(parents=True)
    for number in range(40):
        shutil.copy(clip, footage / "1" / f"{number}.mov")
    dialog = make_dialog(footage)
    job = dialog._look
    token = job.cancel_token
    with qtbot.waitSignal(job.finished, timeout=20_000):
        job.progressed.connect(dialog.stop)
    assert token.is_set
    assert "was stopped" in dialog.panel.words.text()
    dialog.panel.again_button.click()
    settle(dialog, qtbot)
    assert column(dialog, CLIPS) == ["40"]


def test_other_footage_takes_the_place_of_what_is_being_read(
    make_dialog, jobs, rushes, tmp_path, clip, qtbot
):
    (tmp_path / "pier cards" / "7 pier").mkdir(parents=True)
    shutil.copy(clip, tmp_path / "pier cards" / "7 pier" / "a.mov")
    gate = threading.Event()
    for _ in range(2):
        jobs.start("wait", lambda *_: gate.wait(60))
    dialog = make_dialog(rushes)
    dialog.take_footage(tmp_path / "pier cards")
    gate.set()
    settle(dialog, qtbot)
    assert column(dialog, SLUGLINE) == ["PIER"]
    assert dialog.title_line.text() == "pier"
    assert dialog.project_field.folder() == tmp_path / "pier film"


def test_names_that_the_person_gave_stay(read, rushes, tmp_path, clip, qtbot):
    dialog = read(rushes)
    dialog.title_line.clear()
    qtbot.keyClicks(dialog.title_line, "Low Water")
    dialog.project_field.take(tmp_path / "low water")
    (tmp_path / "pier" / "7 pier").mkdir(parents=True)
    shutil.copy(clip, tmp_path / "pier" / "7 pier" / "a.mov")
    dialog.take_footage(tmp_path / "pier")
    settle(dialog, qtbot)
    assert column(dialog, SLUGLINE) == ["PIER"]
    assert dialog.title_line.text() == "Low Water"
    assert dialog.project_field.folder() == tmp_path / "low water"


def test_a_folder_can_be_chosen_typed_and_dropped(make_dialog, rushes, tmp_path, qtbot):
    answers = [rushes, None]
    dialog = make_dialog(ask=lambda *_: answers.pop(0))
    dialog.footage_field.button.click()
    settle(dialog, qtbot)
    assert len(column(dialog, NUMBER)) == 3
    dialog.footage_field.button.click()
    assert dialog.footage_field.folder() == rushes
    dialog.footage_field.line.selectAll()
    qtbot.keyClicks(dialog.footage_field.line, str(rushes / "02-shore"))
    qtbot.keyClick(dialog.footage_field.line, Qt.Key.Key_Tab)
    settle(dialog, qtbot)
    assert column(dialog, SLUGLINE) == ["SHORE"]
    mime = QMimeData()
    mime.setUrls([QUrl.fromLocalFile(str(rushes))])
    dialog.dropEvent(
        QDropEvent(
            QPointF(50, 50),
            Qt.DropAction.CopyAction,
            mime,
            Qt.MouseButton.LeftButton,
            Qt.KeyboardModifier.NoModifier,
        )
    )
    settle(dialog, qtbot)
    assert len(column(dialog, NUMBER)) == 3


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda _: None, "is missing"),
        (lambda folder: folder.mkdir(), "has no scene folders and no footage in it"),
        (lambda folder: folder.touch(), "is a file, not a folder of footage"),
    ],
)
def test_footage_that_is_none_is_told_in_a_sentence(make_dialog, tmp_path, qtbot, make, said):
    make(tmp_path / "rushes")
    dialog = make_dialog(tmp_path / "rushes")
    settle(dialog, qtbot)
    assert said in dialog.panel.words.text()
    assert dialog.panel.again_button.isVisible()
    assert not dialog.make_button.isEnabled()
    assert dialog.faults == []


def test_files_that_can_t_be_read_are_told_by_name(make_dialog, tmp_path, qtbot):
    (tmp_path / "rushes" / "1").mkdir(parents=True)
    (tmp_path / "rushes" / "1" / "torn.mov").write_bytes(b"\0\0\0\x18ftypqt  " + bytes(200))
    dialog = make_dialog(tmp_path / "rushes")
    settle(dialog, qtbot)
    assert "no footage in" in dialog.panel.words.text()
    assert "torn.mov" in dialog.panel.words.text()


def test_thousands_of_files_that_are_no_footage_are_all_said(make_dialog, tmp_path, clip, qtbot):
    footage = tmp_path / "rushes"
    (footage / "1 pier").mkdir(parents=True)
    shutil.copy(clip, footage / "1 pier" / "a.mov")
    for number in range(3000):
        (footage / "1 pier" / f"{number}.mov").touch()
    dialog = make_dialog(footage)
    settle(dialog, qtbot)
    assert column(dialog, REMARK) == ["3,000 files left out"]
    assert len(dialog.panel.remarks.toPlainText().splitlines()) == 3000
    assert len(dialog.panel.model.index(0, REMARK).data(Qt.ItemDataRole.ToolTipRole)) < 1000


def test_its_table_is_a_sound_model(read, rushes, qtbot):
    dialog = read(rushes)
    model = dialog.panel.model
    tester = QAbstractItemModelTester(model, QAbstractItemModelTester.FailureReportingMode.Warning, dialog)
    assert model.index(1, CLIPS).data(Qt.ItemDataRole.AccessibleTextRole) == "2 clips"
    dialog.take_footage(rushes / "02-shore")
    settle(dialog, qtbot)
    assert model.rowCount() == 1
    assert tester.model() is model


def test_everything_that_takes_the_focus_has_a_name_and_tab_goes_down_the_page(read, rushes, qtbot):
    dialog = read(rushes)
    for kind in (QAbstractButton, QAbstractItemView, QLineEdit, QComboBox, QPlainTextEdit):
        for part in dialog.findChildren(kind):
            if part.focusPolicy() != Qt.FocusPolicy.NoFocus and part.isVisible():
                name = part.accessibleName() or (part.text() if isinstance(part, QAbstractButton) else "")
                assert name, part
    dialog.footage_field.line.setFocus()
    seen = []
    for _ in range(20):
        seen.append(dialog.focusWidget())
        qtbot.keyClick(dialog.focusWidget(), Qt.Key.Key_Tab)
        if dialog.focusWidget() is seen[0]:
            break
    wanted = [
        dialog.footage_field.line,
        dialog.title_line,
        dialog.project_field.line,
        dialog.format.rate_box,
        dialog.format.size_box,
        dialog.panel.table,
        dialog.panel.remarks,
        *sorted((dialog.make_button, dialog.cancel_button), key=lambda button: button.x()),
    ]
    assert [part for part in seen if part in wanted] == wanted


@pytest.mark.parametrize(
    ("path", "title"),
    [
        ("/films/The Late Ferry/rushes", "The Late Ferry"),
        ("/films/kiosk rushes", "kiosk"),
        ("/films/kiosk_footage", "kiosk"),
        ("/films/Nocturne", "Nocturne"),
        ("/footage", "Film"),
        ("/films/Card games", "Card games"),
        ("/films/cardigan", "cardigan"),
    ],
)
def test_titles_are_proposed_from_names(tmp_path, path, title):
    assert proposed_title(tmp_path.joinpath(path)) == title


def test_a_project_folder_that_is_there_is_not_proposed(tmp_path):
    (tmp_path / "kiosk rushes").mkdir()
    assert proposed_project(tmp_path / "kiosk rushes") == tmp_path / "kiosk film"
    (tmp_path / "kiosk film").mkdir()
    assert proposed_project(tmp_path / "kiosk rushes") == tmp_path / "kiosk film 2"


def test_the_dialog_fits_over_the_least_window(read, rushes):
    dialog = read(rushes)
    choose(dialog.format.size_box, "Another size")
    dialog.project_field.say("A sentence that says at some length why it can't be there. " * 4)
    least = dialog.minimumSizeHint()
    assert least.width() <= 1000
    assert least.height() <= 680


def test_its_buttons_stand_in_the_platform_s_order(make_dialog):
    dialog = make_dialog()
    (box,) = dialog.findChildren(QDialogButtonBox)
    assert box.buttonRole(dialog.make_button) is QDialogButtonBox.ButtonRole.AcceptRole
    assert box.buttonRole(dialog.cancel_button) is QDialogButtonBox.ButtonRole.RejectRole
