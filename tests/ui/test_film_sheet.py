"""The film's own sheet, through its controls: every edit is done, undone and done again."""

import dataclasses
import json
from pathlib import Path

import pytest
from PySide6.QtCore import QObject, QPoint, Qt, QUrl, Slot
from PySide6.QtGui import QDesktopServices
from PySide6.QtTest import QAbstractItemModelTester
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QComboBox,
    QHeaderView,
    QLabel,
    QLineEdit,
    QWidget,
)

from desk.film import edits
from desk.film.checks import check
from desk.film.model import (
    CameraLook,
    Card,
    Compression,
    Delivery,
    Film,
    Grade,
    Person,
    Placement,
    ReviewCopy,
    Scene,
    Size,
)
from desk.film.problem import Severity
from desk.film.rates import Rate
from desk.film.timing import Include
from desk.ui.film.copies import CopiesModel, shown_date
from desk.ui.film.frame import rate_name
from desk.ui.film.obstacle_list import ENTRY_ROLE, LINE_ROLE
from desk.ui.film.sheet import FilmSheet
from tests.film.editing import locked
from tests.film.films import facts, small_film
from tests.ui.tabbing import out_of_place, tab_stops

FILM = dataclasses.replace(
    small_film(), people=(Person(name="Ida Holm", roles=("Camera",)), Person(name="Bo Lind"))
)
# Nothing is cut in it yet, so that it can take another rate.
UNCUT = Film(
    title="Low Water",
    rate=Rate(24),
    size=Size(1920, 1080),
    start_frames=86400,
    scenes=(Scene(id="s1", number="1", planned_frames=240),),
    cards=(Card(id="k1", lines=("Low Water",), length_frames=96),),
    order=(Placement(entry="k1"), Placement(entry="s1")),
)
DROP = dataclasses.replace(UNCUT, rate=Rate(30000, 1001), start_frames=108000)
CONTROLS = (QAbstractButton, QLineEdit, QComboBox, QAbstractItemView)


@pytest.fixture
def show(make_bench, qtbot):
    """Shows the sheet of a film."""

    def make(film: Film, size: tuple[int, int] = (620, 900), read_only: str = "") -> FilmSheet:
        bench = make_bench(film)
        bench.session.read_only = read_only
        sheet = FilmSheet(bench)
        qtbot.addWidget(sheet)
        sheet.bench = bench
        sheet.resize(*size)
        sheet.show()
        sheet.activateWindow()
        qtbot.waitUntil(sheet.isActiveWindow)
        shown.append(sheet)
        return sheet

    shown: list[FilmSheet] = []
    yield make
    for sheet in shown:
        # What waits for a pause would otherwise begin after the end.
        sheet.bench.saving.save_now()
        sheet.bench.media.look()


def film_now(sheet: FilmSheet) -> Film:
    return sheet.bench.session.film


def enter(qtbot, edit: QLineEdit, text: str) -> None:
    """Type over what is in a line, and press Return."""
    edit.setFocus()
    edit.selectAll()
    qtbot.keyClicks(edit, text)
    qtbot.keyClick(edit, Qt.Key.Key_Return)


def press(qtbot, button: QAbstractButton) -> None:
    button.setFocus()
    qtbot.keyClick(button, Qt.Key.Key_Space)


def pick(box: QComboBox, text: str) -> None:
    """Pick a line of a list, as a person does."""
    index = box.findText(text)
    assert index >= 0, [box.itemText(at) for at in range(box.count())]
    box.setCurrentIndex(index)
    box.activated.emit(index)


def cell(sheet: FilmSheet) -> QLineEdit:
    view = sheet.people.table.view
    return view.indexWidget(view.currentIndex())


def add_person(sheet: FilmSheet, qtbot) -> None:
    view = sheet.people.table.view
    view.setFocus()
    view.go_to(1)
    qtbot.keyClick(view, Qt.Key.Key_Insert)
    qtbot.keyClicks(cell(sheet), "Eva Moss")


def on_person(row: int, key: Qt.Key, alt: bool = False):
    def act(sheet: FilmSheet, qtbot) -> None:
        sheet.people.table.view.setFocus()
        sheet.people.table.view.go_to(row)
        modifier = Qt.KeyboardModifier.AltModifier if alt else Qt.KeyboardModifier.NoModifier
        qtbot.keyClick(sheet.people.table.view, key, modifier)

    return act


def delivered(**fields) -> dict[str, object]:
    return {"delivery": dataclasses.replace(Delivery(), **fields)}


IDA, BO = FILM.people
EDITS = {
    "title": (
        FILM,
        lambda sheet, qtbot: enter(qtbot, sheet.title.title.edit, "Low Water"),
        {"title": "Low Water"},
    ),
    "size picked": (
        FILM,
        lambda sheet, qtbot: pick(sheet.frame.size_pick, "2K scope, 2048 × 858"),
        {"size": Size(2048, 858)},
    ),
    "width": (
        FILM,
        lambda sheet, qtbot: enter(qtbot, sheet.frame.width_px.edit, "1440"),
        {"size": Size(1440, 1080)},
    ),
    "height": (
        FILM,
        lambda sheet, qtbot: enter(qtbot, sheet.frame.height_px.edit, "800"),
        {"size": Size(1920, 800)},
    ),
    # 10 h at 24 frames a second: 10 · 3600 · 24 frames (SMPTE ST 12-1, non-drop).
    "start": (
        FILM,
        lambda sheet, qtbot: enter(qtbot, sheet.frame.start.edit, "10:00:00:00"),
        {"start_frames": 864000},
    ),
    # 01:00:00;00 at 30000/1001 is frame 107892: 108 numbers are left out in an hour (SMPTE ST 12-1).
    "drop-frame": (
        DROP,
        lambda sheet, qtbot: press(qtbot, sheet.frame.drop_frame),
        {"start_frames": 107892, "drop_frame": True},
    ),
    "drop-frame label": (
        DROP,
        lambda sheet, qtbot: enter(qtbot, sheet.frame.start.edit, "01:00:00;00"),
        {"start_frames": 107892, "drop_frame": True},
    ),
    "fade up": (
        FILM,
        lambda sheet, qtbot: enter(qtbot, sheet.frame.fade_in.edit, "0:01:00"),
        {"fade_in_frames": 24},
    ),
    "fade out": (
        FILM,
        lambda sheet, qtbot: enter(qtbot, sheet.frame.fade_out.edit, "36"),
        {"fade_out_frames": 36},
    ),
    "footage": (
        FILM,
        lambda sheet, qtbot: enter(qtbot, sheet.frame.footage.edit, "../cards"),
        {"footage": "../cards"},
    ),
    "person added": (FILM, add_person, {"people": (IDA, BO, Person(name="Eva Moss"))}),
    "person removed": (FILM, on_person(0, Qt.Key.Key_Delete), {"people": (BO,)}),
    "person moved": (FILM, on_person(1, Qt.Key.Key_Up, alt=True), {"people": (BO, IDA)}),
    "review height": (
        FILM,
        lambda sheet, qtbot: enter(qtbot, sheet.delivery.review_height.edit, "600"),
        delivered(review_height=600),
    ),
    "review height picked": (
        FILM,
        lambda sheet, qtbot: pick(sheet.delivery.height_pick, "1080 lines"),
        delivered(review_height=1080),
    ),
    "loudness": (
        FILM,
        lambda sheet, qtbot: enter(qtbot, sheet.delivery.lufs.edit, "-18"),
        delivered(integrated_lufs=-18.0),
    ),
    # EBU R 128: −23 LUFS; ATSC A/85: −24 LKFS and −2 dBTP (secondary sources).
    "R 128": (
        FILM,
        lambda sheet, qtbot: pick(sheet.delivery.loudness, "EBU R 128: −23 LUFS, −1 dBTP"),
        delivered(integrated_lufs=-23.0),
    ),
    "A/85": (
        FILM,
        lambda sheet, qtbot: pick(sheet.delivery.loudness, "ATSC A/85: −24 LKFS, −2 dBTP"),
        delivered(integrated_lufs=-24.0, true_peak_dbtp=-2.0),
    ),
    "true peak": (
        FILM,
        lambda sheet, qtbot: enter(qtbot, sheet.delivery.dbtp.edit, "-1,5"),
        delivered(true_peak_dbtp=-1.5),
    ),
    "voices": (
        FILM,
        lambda sheet, qtbot: enter(qtbot, sheet.delivery.voices.edit, "-20,5"),
        delivered(voices_lufs=-20.5),
    ),
    "compression": (
        FILM,
        lambda sheet, qtbot: press(qtbot, sheet.delivery.compression.buttons[1]),
        delivered(compression=Compression.GENTLE),
    ),
    "proofs": (
        FILM,
        lambda sheet, qtbot: enter(qtbot, sheet.delivery.proofs.edit, "2"),
        delivered(proofs_needed=2),
    ),
}


@pytest.mark.parametrize(("film", "act", "result"), EDITS.values(), ids=EDITS)
def test_an_edit_is_done_undone_and_done_again(show, qtbot, film, act, result):
    sheet = show(film)
    stack = sheet.bench.session.stack
    act(sheet, qtbot)
    after = dataclasses.replace(film, **result)
    assert film_now(sheet) == after
    assert stack.count() == 1
    stack.undo()
    assert film_now(sheet) == film
    stack.redo()
    assert film_now(sheet) == after


def test_another_rate_keeps_seconds_and_the_label_of_the_start_as_it_says_before(show, qtbot):
    sheet = show(UNCUT)
    told = [label.text() for label in sheet.frame.findChildren(QLabel)]
    assert any("lengths keep their seconds" in text and "keeps its label" in text for text in told)
    pick(sheet.frame.rate, "25")
    film = film_now(sheet)
    # 4 s and 10 s at 25 frames a second; 01:00:00:00 is frame 90000.
    assert (film.rate, film.cards[0].length_frames, film.scenes[0].planned_frames) == (Rate(25), 100, 250)
    assert film.start_frames == 90000
    assert sheet.frame.start.edit.text() == "01:00:00:00"
    sheet.bench.session.stack.undo()
    assert film_now(sheet) == UNCUT
    sheet.bench.session.stack.redo()
    assert film_now(sheet) == film


def test_a_film_that_is_cut_keeps_its_rate_and_says_so(show):
    sheet = show(FILM)
    assert not sheet.frame.rate.isEnabled()
    assert "Every cut and cue is counted at 24 frames a second" in sheet.frame.rate.toolTip()


@pytest.mark.parametrize(("rate", "name"), [(Rate(25), "25"), (Rate(24000, 1001), "23.976 (24000/1001)")])
def test_rates_are_called_as_people_call_them(rate, name):
    assert rate_name(rate) == name


def test_what_follows_from_another_size_is_said(show):
    sheet = show(FILM)
    told = " ".join(label.text() for label in sheet.frame.findChildren(QLabel))
    assert "Locked scenes stay locked" in told


def test_typing_a_title_is_one_step(show, qtbot):
    sheet = show(FILM)
    edit = sheet.title.title.edit
    edit.setFocus()
    edit.selectAll()
    for letter in "Low":
        qtbot.keyClicks(edit, letter)
    assert film_now(sheet).title == "Low"
    assert sheet.bench.session.stack.count() == 1
    sheet.frame.start.edit.setFocus()
    edit.setFocus()
    qtbot.keyClicks(edit, "er")
    assert sheet.bench.session.stack.count() == 2


REFUSALS = {
    "odd width": (lambda sheet: sheet.frame.width_px, "1921", "must be an even number of pixels, 16 to 8192"),
    "start that is none": (lambda sheet: sheet.frame.start, "1 hour", "is not a timecode"),
    # Timecode ends at 23:59:59 (SMPTE ST 12-1).
    "start beyond a day": (lambda sheet: sheet.frame.start, "24:00:00:00", "the most is 23"),
    "drop-frame at 24": (lambda sheet: sheet.frame.start, "01:00:00;00", "does not exist at 24 frames"),
    "footage elsewhere": (
        lambda sheet: sheet.frame.footage,
        "/mnt/a",
        "must be relative to the project folder",
    ),
    "lines": (lambda sheet: sheet.delivery.review_height, "7", "must be an even number of lines"),
    "loudness": (lambda sheet: sheet.delivery.lufs, "3", "must be −70 to 0 LUFS"),
    "voices": (lambda sheet: sheet.delivery.voices, "-80", "loudness of voices"),
    "loud words": (lambda sheet: sheet.delivery.lufs, "loud", "is not a number"),
    "proofs": (lambda sheet: sheet.delivery.proofs, "1.5", "is not a whole number"),
    "fade": (lambda sheet: sheet.frame.fade_in, "long", "is not a length"),
}


@pytest.mark.parametrize(("field", "text", "told"), REFUSALS.values(), ids=REFUSALS)
def test_a_bad_value_is_told_below_it_and_stays(show, qtbot, field, text, told):
    sheet = show(FILM)
    line = field(sheet)
    enter(qtbot, line.edit, text)
    assert told in line.fault.text()
    assert line.edit.text() == text
    assert film_now(sheet) == FILM
    enter(qtbot, sheet.title.title.edit, "Other")
    assert line.edit.text() == text


def test_each_target_and_each_compression_is_told_in_a_line(show, qtbot):
    sheet = show(FILM)
    delivery = sheet.delivery

    def told() -> list[str]:
        return [label.text() for label in delivery.findChildren(QLabel) if label.isVisible()]

    assert "Loud and soft stay as far apart as you mixed them." in told()
    assert [button.toolTip().partition(":")[0] for button in delivery.compression.buttons] == [
        "Loud and soft stay as far apart as you mixed them.",
        "Loud places come a little nearer to soft ones",
        "Loud and soft come close together",
    ]
    press(qtbot, delivery.compression.buttons[2])
    assert "Loud and soft come close together: for telephones and noisy rooms." in told()
    pick(delivery.loudness, "EBU R 128: −23 LUFS, −1 dBTP")
    assert "What broadcasters in Europe ask for." in told()
    enter(qtbot, delivery.lufs.edit, "-16")
    assert delivery.loudness.currentText() == "Other"
    assert any(text.startswith("Own values: type") for text in told())


def test_a_person_without_a_name_is_refused_and_stays_in_the_table(show, qtbot):
    sheet = show(FILM)
    view = sheet.people.table.view
    view.setFocus()
    view.go_to(0)
    qtbot.keyClick(view, Qt.Key.Key_Return)
    cell(sheet).selectAll()
    qtbot.keyClick(cell(sheet), Qt.Key.Key_Delete)
    assert sheet.people.table.fault.text() == "The name of person 1 must not be empty."
    assert film_now(sheet).people[0].name == "I" or film_now(sheet).people == FILM.people


def test_the_footage_folder_is_chosen_in_a_dialog(show, qtbot, tmp_path):
    sheet = show(FILM)
    (tmp_path / "cards").mkdir()
    press(qtbot, sheet.frame.choose)
    sheet.frame.dialog.fileSelected.emit(str(tmp_path / "cards"))
    sheet.frame.dialog.close()
    assert film_now(sheet).footage == "../cards"


def test_the_figures_are_those_of_the_film(show):
    film = locked(FILM, "s2")
    sheet = show(film)
    names = {label.accessibleName() for label in sheet.title.findChildren(QLabel)}
    # The small film by hand: title 72, scenes 120, 96 and 60; credits of 3 words 72: 420 frames at 24.
    assert {
        "running time: 0:17:12",
        "of it locked: 0:04:00",
        "scenes locked: 1 of 3",
        "cue: 1",
        "cards: 2",
        "set aside: 1",
    } <= names


def test_an_empty_film_says_what_to_do_next(show):
    sheet = show(dataclasses.replace(UNCUT, scenes=(), cards=(), order=()))
    told = [label.text() for label in sheet.title.findChildren(QLabel) if label.isVisible()]
    assert any(text.startswith("The film has no scenes yet. Add one") for text in told)
    assert sheet.copies.told.text().startswith("None yet. “Assemble…” makes one")


def wait_for_obstacles(sheet: FilmSheet, qtbot) -> None:
    qtbot.waitUntil(lambda: sheet.obstacles.told.text() != "Looking…", timeout=20_000)


def lines_of(sheet: FilmSheet):
    model = sheet.obstacles.list.model()
    return [model.index(row, 0).data(LINE_ROLE) for row in range(model.rowCount())]


def test_what_stands_in_the_way_is_what_the_check_finds_grouped_by_entry(show, qtbot):
    sheet = show(FILM)
    known = {path: facts() for path in ("footage/1/quay.mov", "footage/1/kiosk.mov", "music/tide.wav")}
    sheet.bench.media._facts = known
    sheet.obstacles.look()
    wait_for_obstacles(sheet, qtbot)
    problems = [item for item in check(FILM, known, Include.ALL) if item.code != "media.unread"]
    lines = lines_of(sheet)
    assert [line.severity for line in lines if line.severity] == sorted(
        (item.severity for item in problems), key=lambda severity: severity is not Severity.BLOCKS
    )
    assert {(line.entry, line.advice) for line in lines if line.severity} == {
        (item.place, item.advice) for item in problems
    }
    heads = [line.entry for line in lines if line.severity is None]
    assert len(heads) == len(set(heads))
    assert "still being read" in sheet.obstacles.told.text()


def test_a_line_goes_to_its_entry_by_mouse_and_by_key(show, qtbot):
    sheet = show(FILM)
    wait_for_obstacles(sheet, qtbot)
    view = sheet.obstacles.list
    rows = [row for row in range(view.model().rowCount()) if view.model().index(row, 0).data(ENTRY_ROLE)]
    index = view.model().index(rows[-1], 0)
    view.scrollTo(index)
    with qtbot.waitSignal(sheet.bench.choice.chosen) as chosen:
        qtbot.mouseClick(view.viewport(), Qt.MouseButton.LeftButton, pos=view.visualRect(index).center())
    assert chosen.args == [index.data(ENTRY_ROLE)]
    sheet.bench.choice.choose("")
    view.setCurrentIndex(view.model().index(rows[0], 0))
    with qtbot.waitSignal(sheet.bench.choice.chosen) as chosen:
        qtbot.keyClick(view, Qt.Key.Key_Return)
    assert chosen.args == [view.model().index(rows[0], 0).data(ENTRY_ROLE)]


def test_the_list_follows_the_film(show, qtbot):
    sheet = show(FILM)
    wait_for_obstacles(sheet, qtbot)
    assert any("It has no purpose" in line.text and line.entry == "s4" for line in lines_of(sheet))
    sheet.bench.session.do(lambda film: edits.edit_story(film, "s4", purpose="The lamp goes out."))
    qtbot.waitUntil(
        lambda: not any("no purpose" in line.text and line.entry == "s4" for line in lines_of(sheet)),
        timeout=20_000,
    )


def test_an_assembly_of_locked_scenes_is_looked_at_where_there_are_any(show, qtbot):
    sheet = show(locked(FILM, "s2"))
    wait_for_obstacles(sheet, qtbot)
    assert sheet.obstacles.include.buttons[0].isChecked()
    assert any("so it is left out" in line.text for line in lines_of(sheet))
    press(qtbot, sheet.obstacles.include.buttons[1])
    qtbot.waitUntil(
        lambda: any("goes in as a draft" in line.text for line in lines_of(sheet)), timeout=20_000
    )


def test_nothing_is_looked_for_while_the_sheet_is_hidden(show, qtbot):
    sheet = show(FILM)
    wait_for_obstacles(sheet, qtbot)
    sheet.hide()
    with qtbot.waitSignal(sheet.bench.session.changed):
        sheet.bench.session.do(lambda film: edits.edit_film(film, title="Hidden"))
    assert not sheet.obstacles._timer.isActive()
    sheet.show()
    assert sheet.title.title.edit.text() == "Hidden"


class _Opened(QObject):
    """Takes what would be opened by the platform."""

    def __init__(self) -> None:
        super().__init__()
        self.urls: list[QUrl] = []

    @Slot(QUrl)
    def take(self, url: QUrl) -> None:
        self.urls.append(url)


@pytest.fixture
def opened(qapp):
    taker = _Opened()
    QDesktopServices.setUrlHandler("file", taker, "take")
    yield taker
    QDesktopServices.unsetUrlHandler("file")
    taker.deleteLater()


COPIES = (
    ReviewCopy(number=1, date="2026-11-21", file="a-review-001.mp4", frames=2400),
    ReviewCopy(number=2, date="2026-11-24", file="copies/a-review-002.mp4", frames=2424, include="all"),
)


def row_texts(sheet: FilmSheet, row: int) -> list[str]:
    model = sheet.copies.model
    return [model.index(row, column).data() for column in range(model.columnCount())]


def test_review_copies_are_listed_played_and_found(show, qtbot, opened):
    sheet = show(FILM)
    folder: Path = sheet.bench.session.folder / "copies"
    folder.mkdir()
    (folder / "a-review-002.mp4").write_bytes(b"film")
    for copy in COPIES:
        sheet.bench.session.enter_copy(copy)
    qtbot.waitUntil(sheet.copies.play.isEnabled, timeout=20_000)
    assert row_texts(sheet, 0) == ["2", "24 Nov 2026", "1:41:00", "drafts too", "a-review-002.mp4"]
    assert row_texts(sheet, 1) == [
        "1", "21 Nov 2026", "1:40:00", "locked scenes", "not found: a-review-001.mp4",
    ]  # fmt: skip
    press(qtbot, sheet.copies.play)
    press(qtbot, sheet.copies.folder)
    assert [Path(url.toLocalFile()) for url in opened.urls] == [folder / "a-review-002.mp4", folder]


def manifest_told(**fields) -> dict[str, object]:
    """What a manifest tells, as far as the sheet shows it; figures of an invented copy."""
    scene = {
        "integrated_lufs": -13.2, "voices_lufs": -23.4, "music_below_voices_lu": 9.5, "loudest_lufs": -8.1,
        "loudest_at": "01:00:06:12",
    }  # fmt: skip
    sound = {
        "target": "online", "target_lufs": -14.0, "ceiling_dbtp": -1.0, "integrated_lufs": -14.04,
        "true_peak_dbtp": -1.21, "range_lu": 7.4, "gain_db": 9.1, "compression": "gentle",
        "remarks": ["Scene 1 is 5.0 LU louder than what is beside it."],
    }  # fmt: skip
    return {
        "film": {"rate": "24", "start_timecode": "01:00:00:00"},
        "entries": [{"entry": "s1", "start": 72, "frames": 120, "scene": "1", "sound": scene}],
        "sound": {**sound, **fields},
    }


def test_how_loud_a_copy_is_is_read_from_its_manifest(show, qtbot):
    sheet = show(FILM)
    folder: Path = sheet.bench.session.folder / "copies"
    folder.mkdir()
    (folder / "a-review-002.mp4").write_bytes(b"film")
    (folder / "a-review-002.manifest.json").write_text(json.dumps(manifest_told()))
    # An older one, whose manifest told nothing of the sound.
    (sheet.bench.session.folder / "a-review-001.mp4").write_bytes(b"film")
    (sheet.bench.session.folder / "a-review-001.manifest.json").write_text('{"manifest": 1}')
    for copy in COPIES:
        sheet.bench.session.enter_copy(copy)
    sound = sheet.copies.sound
    qtbot.waitUntil(sound.isVisible, timeout=20_000)
    assert sound.words.text() == (
        "Sound: −14.0 LUFS reached, −14 asked (online). True peak as decoded −1.2 dBTP of −1 at most, range "
        "7.4 LU. The master changed the level by +9.1 dB after gentle compression."
    )
    assert sound.remarks.text() == "Scene 1 is 5.0 LU louder than what is beside it."
    model = sound.table.sounds
    assert [model.index(0, at).data() for at in range(model.columnCount())] == [
        "1", "−13.2", "−23.4", "9.5", "–", "01:00:06:12", "",
    ]  # fmt: skip
    sound.table.setFocus()
    sound.table.selectRow(0)
    qtbot.keyClick(sound.table, Qt.Key.Key_Return)
    # 6 s and 12 frames in the copy, whose scene 1 begins with frame 72; so it does in the film.
    assert sheet.bench.choice.entry == "s1"
    assert sheet.bench.choice.frame == 6 * 24 + 12
    sheet.copies.view.selectRow(1)
    qtbot.waitUntil(lambda: not sheet.bench.jobs.jobs, timeout=20_000)
    assert not sound.isVisible()
    sheet.copies.view.selectRow(0)
    assert sound.isVisible()


def test_a_copy_that_is_gone_says_so(show, qtbot):
    sheet = show(dataclasses.replace(FILM, review_copies=COPIES))
    qtbot.waitUntil(lambda: "not in “copies” any more" in sheet.copies.told.text(), timeout=20_000)
    assert not sheet.copies.play.isEnabled()
    sheet.copies.view.selectRow(1)
    assert sheet.copies.told.text() == (
        "“a-review-001.mp4” is not in the project folder, and the film does not remember where else it is."
    )


def test_the_model_of_copies_holds(theme, qtbot):
    owner = QWidget()
    qtbot.addWidget(owner)
    model = CopiesModel(theme, owner)
    QAbstractItemModelTester(model, QAbstractItemModelTester.FailureReportingMode.Warning, owner)
    for copies in (COPIES, (), COPIES[:1]):
        model.show_copies(copies, Rate(24))
        model.show_places({1: None})
        assert model.rowCount() == len(copies)


@pytest.mark.parametrize(
    ("text", "shown"), [("2026-11-05", "5 Nov 2026"), ("2026-11-25T10:00:00", "25 Nov 2026"), ("x", "x")]
)
def test_dates_are_written_as_people_write_them(text, shown):
    assert shown_date(text) == shown


def test_camera_looks_are_listed(show):
    looks = (
        CameraLook(id="l1", name="Large camera"),
        CameraLook(id="l2", name="Telephone", grade=Grade(saturation=0.9), note="a little cold"),
    )
    sheet = show(dataclasses.replace(FILM, camera_looks=looks))
    told = [label.text() for label in sheet.looks.findChildren(QLabel)]
    assert "Telephone" in told
    assert "saturation 0.9; a little cold" in told


@pytest.mark.parametrize("width", [560, 1000])
def test_every_control_has_a_name_and_can_be_reached(show, width):
    sheet = show(dataclasses.replace(DROP, review_copies=COPIES), size=(width, 700))
    controls = [
        control
        for kind in CONTROLS
        for control in sheet.findChildren(kind)
        if control.isVisible() and not isinstance(control, QHeaderView)
    ]
    assert len(controls) > 25
    for control in controls:
        assert control.accessibleName(), control
        assert control.focusPolicy() & Qt.FocusPolicy.TabFocus or isinstance(control, QAbstractButton)


def test_two_columns_where_there_is_room(show, qtbot):
    narrow, wide = show(FILM, size=(620, 800)), show(FILM, size=(1000, 800))
    qtbot.waitUntil(lambda: wide.people.mapTo(wide, QPoint()).x() > 100)
    assert narrow.people.mapTo(narrow, QPoint()).x() == narrow.title.mapTo(narrow, QPoint()).x()
    assert wide.people.mapTo(wide, QPoint()).x() > wide.title.mapTo(wide, QPoint()).x()


def test_a_film_that_is_read_only_says_why_on_every_control(show):
    sheet = show(DROP, read_only="It is open elsewhere.")
    sections = (sheet.title, sheet.frame, sheet.people, sheet.delivery)
    controls = [
        control
        for section in sections
        for kind in (QAbstractButton, QLineEdit, QComboBox)
        for control in section.findChildren(kind)
        if control.isVisible()
    ]
    assert len(controls) > 15
    for control in controls:
        assert control.toolTip() == "It is open elsewhere.", control.accessibleName()
        assert not control.isEnabled() or control.isReadOnly()


def test_the_tab_key_goes_down_the_sheet(show):
    """Focus in the order in which a page is read: WCAG 2.x, success criterion 2.4.3 (from memory)."""
    sheet = show(FILM, (620, 2400))
    sheet.findChild(QLineEdit).setFocus()
    stops = tab_stops(sheet)
    assert {"Frame size", "Width of the frame", "Footage folder", "Loudness target"} <= {
        stop.accessibleName() for stop in stops
    }
    assert out_of_place(sheet, stops) == []


def test_fields_are_named_as_on_the_sheet_of_a_scene(show):
    names = [label.text() for label in show(FILM).findChildren(QLabel) if label.buddy() and label.text()]
    assert {"Fade up", "Footage", "Proofs needed"} <= set(names)
    assert [name for name in names if not name[0].isupper()] == []
