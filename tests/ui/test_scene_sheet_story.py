"""Story: every field is done, undone and done again through the sheet, and typing is never written over."""

from pathlib import Path

import pytest
from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QAction, QDesktopServices, QDragEnterEvent, QDropEvent, QImage, QKeySequence
from PySide6.QtWidgets import QApplication, QFileDialog, QLabel, QWidget

from desk.film import edits
from desk.film.locking import Part
from desk.ui.scene.tension import tension_words
from desk.ui.text_field import TextField
from tests.film.editing import locked
from tests.film.films import small_film
from tests.ui.scene_sheets import is_done_undone_and_redone, name_of, notices, open_sheet, unfold

FILM = small_film()


@pytest.fixture
def opened(qtbot, make_bench):
    """A bench with the sheet of scene 3, which has no clips and is set aside, unfolded at Story."""
    bench = make_bench(FILM)
    sheet = open_sheet(qtbot, bench, "s3")
    # Twice by hand, so that Story stays unfolded for other scenes.
    sheet.frames[Part.STORY].fold.click()
    sheet.frames[Part.STORY].fold.click()
    return bench, sheet.story


def faults_at(story) -> list[str]:
    return [
        label.text()
        for label in story.findChildren(QLabel)
        if label.property("kind") == "fault" and label.isVisible()
    ]


def leave(story) -> None:
    story.picture.choose.setFocus()


TYPED = {
    "slugline": ("slugline", "EXT. FERRY - DAY, LATER"),
    "purpose": ("purpose", "They miss it."),
    "synopsis": ("synopsis", "Rain."),
}


@pytest.mark.parametrize(("name", "text"), TYPED.values(), ids=TYPED)
def test_what_is_typed_is_one_step_for_each_time_in_the_field(opened, qtbot, name, text):
    bench, story = opened
    field = getattr(story, name)

    def typed() -> None:
        field.setFocus()
        field.edit.selectAll()
        qtbot.keyClicks(field.edit, text)
        leave(story)

    is_done_undone_and_redone(bench, typed)
    assert getattr(bench.session.film.scene("s3"), name) == text
    field.setFocus()
    qtbot.keyClicks(field.edit, "!")
    assert bench.session.stack.count() == 2
    assert bench.session.stack.undoText() == f"Change the {name} of scene 3"


def test_every_key_is_applied_at_once(opened, qtbot):
    bench, story = opened
    story.purpose.setFocus()
    qtbot.keyClicks(story.purpose.edit, "Th")
    assert bench.session.film.scene("s3").purpose == "Th"


def test_undo_inside_a_field_is_the_films(opened, qtbot):
    bench, story = opened
    undo = QAction(story.window())
    undo.setShortcut(QKeySequence.StandardKey.Undo)
    undo.triggered.connect(bench.session.stack.undo)
    story.window().addAction(undo)
    for field in (story.purpose, story.slugline):
        before = bench.session.film
        field.setFocus()
        qtbot.keyClicks(field.edit, "abc")
        assert bench.session.film != before
        qtbot.keyClick(field.edit, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
        assert bench.session.film == before
    assert story.purpose.edit.toPlainText() == ""
    assert story.slugline.edit.text() == "EXT. FERRY - DAY"
    assert story.slugline.hasFocus()


def test_an_unrelated_change_leaves_text_cursor_and_focus_alone(opened, qtbot):
    bench, story = opened
    story.synopsis.setFocus()
    qtbot.keyClicks(story.synopsis.edit, "The ferry turns.")
    cursor = story.synopsis.edit.textCursor()
    cursor.setPosition(4)
    story.synopsis.edit.setTextCursor(cursor)
    story.number.edit.setText("3 ")
    story.number.edit.setCursorPosition(1)
    bench.session.do(lambda film: edits.edit_film(film, title="Other"))
    bench.session.do(lambda film: edits.edit_story(film, "s3", purpose="From elsewhere."))
    assert story.synopsis.edit.textCursor().position() == 4
    assert story.synopsis.hasFocus()
    assert (story.number.edit.text(), story.number.edit.cursorPosition()) == ("3 ", 1)
    assert story.purpose.edit.toPlainText() == "From elsewhere."
    qtbot.keyClicks(story.synopsis.edit, "old ")
    assert bench.session.film.scene("s3").synopsis == "The old ferry turns."


def test_renumbering(opened, qtbot):
    bench, story = opened

    def renumbered() -> None:
        story.number.setFocus()
        story.number.edit.selectAll()
        qtbot.keyClicks(story.number.edit, " 3B ")
        assert bench.session.film.scene("s3").number == "3"
        qtbot.keyClick(story.number.edit, Qt.Key.Key_Return)

    is_done_undone_and_redone(bench, renumbered)
    assert story.number.edit.text() == "3B"
    bench.session.stack.undo()
    assert story.number.edit.text() == "3"


def test_a_number_that_is_refused_stays_for_correction(opened, qtbot):
    bench, story = opened
    heard = notices(bench)
    story.number.setFocus()
    story.number.edit.selectAll()
    qtbot.keyClicks(story.number.edit, "4")
    leave(story)
    assert story.number.edit.text() == "4"
    assert faults_at(story) == [
        "There is a scene 4 already (INT. KIOSK - NIGHT). Choose a number that is free."
    ]
    assert heard == []
    assert bench.session.film == FILM
    bench.session.do(lambda film: edits.edit_story(film, "s3", purpose="x"))
    assert story.number.edit.text() == "4"
    story.number.setFocus()
    qtbot.keyClicks(story.number.edit, "A")
    assert faults_at(story) == []
    leave(story)
    assert bench.session.film.scene("s3").number == "4A"


def test_escape_gives_up_a_number(opened, qtbot):
    bench, story = opened
    story.number.setFocus()
    qtbot.keyClicks(story.number.edit, "?")
    qtbot.keyClick(story.number.edit, Qt.Key.Key_Return)
    assert len(faults_at(story)) == 1
    qtbot.keyClick(story.number.edit, Qt.Key.Key_Escape)
    assert story.number.edit.text() == "3"
    assert faults_at(story) == []
    assert bench.session.film == FILM


def test_a_number_typed_before_another_scene_is_chosen_is_that_scenes(opened, qtbot):
    bench, story = opened
    story.number.setFocus()
    story.number.edit.selectAll()
    qtbot.keyClicks(story.number.edit, "3C")
    bench.choice.choose("s2")
    assert bench.session.film.scene("s3").number == "3C"
    assert bench.session.film.scene("s2").number == "2"
    assert story.number.edit.text() == "2"


def test_a_text_that_is_too_long_is_refused_at_its_field_and_kept(opened, qtbot):
    bench, story = opened
    story.purpose.setFocus()
    story.purpose.edit.setPlainText("x" * 10_001)
    assert len(faults_at(story)) == 1
    assert "purpose" in faults_at(story)[0]
    bench.session.do(lambda film: edits.edit_film(film, title="Other"))
    assert len(story.purpose.edit.toPlainText()) == 10_001
    qtbot.keyClick(story.purpose.edit, Qt.Key.Key_Delete)
    assert faults_at(story) == []
    assert len(bench.session.film.scene("s3").purpose) == 10_000


TENSION_KEYS = {
    "a figure": ([Qt.Key.Key_4], 4),
    "up from not said": ([Qt.Key.Key_Right, Qt.Key.Key_Right], 1),
    "to the end": ([Qt.Key.Key_End], 5),
    "light": ([Qt.Key.Key_0], 0),
}


@pytest.mark.parametrize(("keys", "tension"), TENSION_KEYS.values(), ids=TENSION_KEYS)
def test_tension_by_keys(opened, qtbot, keys, tension):
    bench, story = opened

    def pressed() -> None:
        story.tension.setFocus()
        for key in keys:
            qtbot.keyClick(story.tension, key)
        leave(story)

    is_done_undone_and_redone(bench, pressed)
    assert bench.session.film.scene("s3").tension == tension
    assert story.tension.tension == tension
    assert story.tension.accessibleDescription() == tension_words(tension)


def test_tension_is_taken_back_with_delete(opened, qtbot):
    bench, story = opened
    qtbot.keyClick(story.tension, Qt.Key.Key_3)
    qtbot.keyClick(story.tension, Qt.Key.Key_Delete)
    assert bench.session.film.scene("s3").tension is None
    assert story.tension.accessibleDescription() == "not said"


def test_tension_by_mouse(opened, qtbot):
    bench, story = opened
    third = QPoint(5 + 2 * 16 + 5, story.tension.height() // 2)

    def clicked() -> None:
        qtbot.mouseClick(story.tension, Qt.MouseButton.LeftButton, pos=third)
        leave(story)

    is_done_undone_and_redone(bench, clicked)
    assert bench.session.film.scene("s3").tension == 3
    qtbot.mouseClick(story.tension, Qt.MouseButton.LeftButton, pos=third)
    assert bench.session.film.scene("s3").tension == 2


@pytest.mark.parametrize(
    ("tension", "words"), [(None, "not said"), (0, "0, light"), (3, "3"), (5, "5, dread")]
)
def test_tension_in_words(tension, words):
    assert tension_words(tension) == words


def test_planned_length(opened, qtbot):
    bench, story = opened

    def planned() -> None:
        story.planned.setFocus()
        qtbot.keyClicks(story.planned.edit, "36")
        qtbot.keyClick(story.planned.edit, Qt.Key.Key_Return)

    is_done_undone_and_redone(bench, planned)
    assert bench.session.film.scene("s3").planned_frames == 36
    assert story.planned.edit.text() == "0:01:12"


def test_a_planned_length_is_taken_away_with_its_text(opened, qtbot):
    bench, story = opened
    for text, frames in (("36", 36), ("", 0)):
        story.planned.setFocus()
        story.planned.edit.selectAll()
        qtbot.keyClick(story.planned.edit, Qt.Key.Key_Delete)
        qtbot.keyClicks(story.planned.edit, text)
        qtbot.keyClick(story.planned.edit, Qt.Key.Key_Return)
        assert bench.session.film.scene("s3").planned_frames == frames


def test_a_planned_length_that_is_none_stays_for_correction(opened, qtbot):
    bench, story = opened
    story.planned.setFocus()
    qtbot.keyClicks(story.planned.edit, "1:99:00")
    leave(story)
    (fault,) = faults_at(story)
    assert fault.startswith("“1:99:00” has 99 seconds; the most is 59.")
    assert story.planned.edit.text() == "1:99:00"
    assert bench.session.film == FILM
    story.planned.edit.setText("99999999")
    story.planned.setFocus()
    qtbot.keyClick(story.planned.edit, Qt.Key.Key_Return)
    (fault,) = faults_at(story)
    assert "planned length" in fault


def test_a_scene_with_clips_shows_its_length_instead(opened):
    bench, story = opened
    assert story.planned.isVisible()
    bench.choice.choose("s1")
    assert not story.planned.isVisible()
    assert "0:05:00, 2 clips" in [label.text() for label in story.findChildren(QLabel)]


def picture(folder: Path, name: str = "ferry.png") -> Path:
    path = folder / name
    image = QImage(64, 36, QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.darkCyan)
    assert image.save(str(path))
    return path


def test_a_picture_that_is_chosen(opened, qtbot):
    bench, story = opened
    inside = bench.session.folder / "stills"
    inside.mkdir()
    path = picture(inside)

    def chosen() -> None:
        qtbot.mouseClick(story.picture.choose, Qt.MouseButton.LeftButton)
        (dialog,) = story.findChildren(QFileDialog)
        dialog.urlSelected.emit(QUrl.fromLocalFile(str(path)))
        dialog.close()
        qtbot.waitUntil(lambda: bench.session.stack.count() == 1)

    is_done_undone_and_redone(bench, chosen)
    assert bench.session.film.scene("s3").reference_picture == "stills/ferry.png"
    qtbot.waitUntil(lambda: story.picture.well.has_image)
    is_done_undone_and_redone(bench, story.picture.remove.click)
    assert not story.picture.well.has_image
    assert story.picture.well.words == "Drop a picture here."


def drop(well, url: QUrl) -> bool:
    mime = QMimeData()
    mime.setUrls([url])
    action, buttons = Qt.DropAction.CopyAction, Qt.MouseButton.LeftButton
    keys = Qt.KeyboardModifier.NoModifier
    enter = QDragEnterEvent(QPoint(5, 5), action, mime, buttons, keys)
    QApplication.sendEvent(well, enter)
    if not enter.isAccepted():
        return False
    QApplication.sendEvent(well, QDropEvent(QPointF(5, 5), action, mime, buttons, keys))
    return True


def test_a_picture_that_is_dropped_from_beside_the_project(opened, qtbot, tmp_path):
    bench, story = opened
    path = picture(tmp_path, "a: b.png")
    assert drop(story.picture.well, QUrl.fromLocalFile(str(path)))
    qtbot.waitUntil(lambda: bench.session.stack.count() == 1)
    assert bench.session.film.scene("s3").reference_picture == "../a: b.png"


def test_a_picture_from_an_address_is_refused(opened, qtbot):
    bench, story = opened
    assert drop(story.picture.well, QUrl("https://example.org/ferry.png"))
    assert faults_at(story) == [
        "“https://example.org/ferry.png” is an address. Save the picture beside the film first."
    ]
    assert bench.session.film == FILM


def test_what_is_no_picture_is_refused(opened, qtbot, tmp_path):
    bench, story = opened
    (tmp_path / "notes.png").write_text("no picture")
    drop(story.picture.well, QUrl.fromLocalFile(str(tmp_path / "notes.png")))
    qtbot.waitUntil(lambda: bool(faults_at(story)))
    assert faults_at(story) == ["“notes.png” is not a picture that can be read. Choose a JPEG or PNG."]
    assert bench.session.film == FILM


def test_a_picture_that_a_path_of_the_film_can_not_name_is_refused(opened, tmp_path):
    bench, story = opened
    drop(story.picture.well, QUrl.fromLocalFile(str(tmp_path / "back\\slash.png")))
    (fault,) = faults_at(story)
    assert "without backslashes" in fault
    assert bench.session.film == FILM


def test_a_picture_that_is_missing_says_so(qtbot, make_bench):
    film = edits.edit_story(FILM, "s2", reference_picture="stills/gone.png").after
    sheet = open_sheet(qtbot, make_bench(film), "s2")
    unfold(sheet, Part.STORY)
    qtbot.waitUntil(lambda: bool(sheet.story.picture.well.words))
    assert sheet.story.picture.well.words == "This picture is missing or can't be read."
    assert sheet.story.picture.name.text() == "gone.png"


def test_the_folder_is_opened_or_told_to_be_missing(qtbot, make_bench, monkeypatch):
    film = edits.edit_story(FILM, "s2", folder="footage/2").after
    bench = make_bench(film)
    heard = notices(bench)
    asked: list[QUrl] = []
    monkeypatch.setattr(QDesktopServices, "openUrl", asked.append)
    sheet = open_sheet(qtbot, bench, "s2")
    unfold(sheet, Part.STORY)
    (button,) = (
        item for item in sheet.story.findChildren(type(sheet.header.button)) if item.text() == "Open folder"
    )
    button.click()
    assert heard == ["The folder “footage/2” is missing. Is its disk there?"]
    (bench.session.folder / "footage" / "2").mkdir(parents=True)
    button.click()
    assert asked == [QUrl.fromLocalFile(str(bench.session.folder / "footage" / "2"))]


def test_the_story_of_a_locked_scene_can_be_changed(qtbot, make_bench):
    bench = make_bench(locked(FILM, "s2"))
    sheet = open_sheet(qtbot, bench, "s2")
    unfold(sheet, Part.STORY)
    qtbot.keyClicks(sheet.story.synopsis.edit, "Still allowed.")
    assert bench.session.film.scene("s2").synopsis == "Still allowed."


def test_names_that_a_screen_reader_says(opened):
    _, story = opened
    names = [name_of(item.edit) for item in (story.number, story.slugline, story.purpose, story.synopsis)]
    assert names == ["Scene number", "Slugline", "Purpose", "Synopsis"]
    assert name_of(story.tension) == "Tension"
    assert name_of(story.picture.choose) == "Choose a reference picture"


def test_a_field_is_as_high_as_its_text_at_the_width_it_has(qtbot, theme):
    page = QWidget()
    qtbot.addWidget(page)
    field = TextField("Synopsis", lambda _: "", page, least_lines=2, most_lines=8)
    field.show_text("They unwind the roll and count. One is missing that nobody has torn off.")
    field.resize(80, 200)
    page.show()
    qtbot.waitExposed(page)
    narrow = field.edit.height()
    field.resize(900, 200)
    qtbot.waitUntil(lambda: field.edit.height() < narrow)
    assert field.edit.height() < 3 * field.fontMetrics().lineSpacing() + 20
