"""The start page: keyboard, drop, recent films, and the demo, which is only ever copied."""

import hashlib
import threading
from datetime import UTC, datetime
from pathlib import Path

import pytest
from PySide6.QtCore import QMimeData, QObject, QPoint, QPointF, QSettings, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import QAbstractButton, QAbstractItemView, QApplication, QLineEdit

from desk.errors import OutputError
from desk.jobs import Cancelled, CancelToken, no_progress
from desk.store.project import new_project, open_film
from desk.ui.job_runner import JobRunner
from desk.ui.messages import Messages
from desk.ui.recent import Recents
from desk.ui.start.demo import DEMO_NAME, copy_demo, demo_folder
from desk.ui.start.demo_dialog import DemoDialog
from desk.ui.start.page import CARD_CAUTION, StartPage
from tests.film.films import small_film

FILM = small_film()


def snapshot(folder):
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else ""
        for path in sorted(folder.rglob("*"))
    }


@pytest.fixture
def demo(tmp_path):
    """A small demo film with footage, and with what must not be copied."""
    folder = tmp_path / "program" / "demo_project"
    new_project(folder, FILM)
    for name, data in (("footage/01 shore/a.mov", b"picture" * 1000), ("music/low water.opus", b"tune")):
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(data)
    (folder / "README.md").write_text("A film that does not exist.")
    return folder


@pytest.fixture
def asked():
    """Answers of the folder dialog, the next one first, and what was asked."""
    return {"answers": [], "asked": []}


@pytest.fixture
def make_page(theme, qtbot, tmp_path, asked):
    owner = QObject()
    jobs = JobRunner(owner)
    recents = Recents(QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat))
    messages = Messages(owner)

    def ask(_parent, heading, start):
        asked["asked"].append((heading, start))
        return asked["answers"].pop(0)

    def make(demo=None):
        page = StartPage(theme, messages, jobs, recents, find_demo=lambda: demo, ask=ask)
        page.recents, page.messages, page.jobs = recents, messages, jobs
        qtbot.addWidget(page)
        page.resize(1024, 700)
        page.show()
        page.activateWindow()
        qtbot.waitUntil(lambda: not jobs.jobs)
        return page

    yield make
    jobs.shut_down()
    owner.deleteLater()


@pytest.fixture
def kiosk(tmp_path):
    new_project(tmp_path / "kiosk", FILM)
    return tmp_path / "kiosk"


def dropping(kind, *paths):
    mime = QMimeData()
    mime.setUrls([QUrl.fromLocalFile(str(path)) for path in paths])
    place = QPointF(50, 50).toPoint() if kind is QDragEnterEvent else QPointF(50, 50)
    event = kind(
        place, Qt.DropAction.CopyAction, mime, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    )
    event.kept = mime
    event.ignore()
    return event


def titles(page):
    return [film.title for film in page.model.films]


def test_an_empty_list_says_what_to_do_and_the_caution_is_there(make_page):
    page = make_page()
    texts = [label.text() for label in page.findChildren(type(page.notice)) if label.isVisible()]
    assert "Assembly Desk" in texts
    assert CARD_CAUTION in texts
    assert any("Make one from a folder of footage" in text for text in texts)
    assert not page.list.isVisible()


def test_without_a_demo_there_is_no_button_for_it(make_page, demo):
    assert not make_page().demo_button.isVisible()
    assert make_page(demo).demo_button.isVisible()


def test_everything_that_takes_the_focus_has_a_name(make_page, kiosk, demo):
    page = make_page(demo)
    page.recents.add(kiosk, "The Unprinted Ticket")
    page.refresh()
    for kind in (QAbstractButton, QAbstractItemView, QLineEdit):
        for part in page.findChildren(kind):
            if part.focusPolicy() != Qt.FocusPolicy.NoFocus and part.isVisible():
                assert part.accessibleName() or part.text(), part


def test_recent_films_are_rows_and_the_first_is_ready_to_open(make_page, kiosk, tmp_path, qtbot):
    page = make_page()
    page.recents.add(tmp_path / "ferry", "Ferry")
    page.recents.add(kiosk, "The Unprinted Ticket")
    page.refresh()
    assert titles(page) == ["The Unprinted Ticket", "Ferry"]
    qtbot.waitUntil(lambda: "missing" in page.model.index(1).data(Qt.ItemDataRole.AccessibleTextRole))
    assert "missing" not in page.model.index(0).data(Qt.ItemDataRole.AccessibleTextRole)
    assert page.list.isVisible()
    with qtbot.waitSignal(page.open_requested) as opened:
        qtbot.keyClick(page.list, Qt.Key.Key_Return)
    assert opened.args == [kiosk]


def test_arrows_and_delete_work_in_the_list(make_page, tmp_path, qtbot):
    page = make_page()
    for name in ("pier", "ferry", "kiosk"):
        page.recents.add(tmp_path / name, name.title())
    page.refresh()
    qtbot.keyClick(page.list, Qt.Key.Key_Down)
    qtbot.keyClick(page.list, Qt.Key.Key_Delete)
    assert titles(page) == ["Kiosk", "Pier"]
    assert [film.title for film in page.recents.all()] == ["Kiosk", "Pier"]
    assert page.list.chosen().title == "Pier"
    qtbot.mouseClick(page.remove_button, Qt.MouseButton.LeftButton)
    qtbot.mouseClick(page.remove_button, Qt.MouseButton.LeftButton)
    assert titles(page) == []
    assert not page.list.isVisible()


def test_a_double_click_and_the_menu_open_a_film(make_page, kiosk, qtbot):
    page = make_page()
    page.recents.add(kiosk, "The Unprinted Ticket")
    page.refresh()
    place = page.list.visualRect(page.model.index(0)).center()
    qtbot.mouseClick(page.list.viewport(), Qt.MouseButton.LeftButton, pos=place)
    with qtbot.waitSignal(page.open_requested) as opened:
        qtbot.mouseDClick(page.list.viewport(), Qt.MouseButton.LeftButton, pos=place)
    assert opened.args == [kiosk]
    menu = page.menu()
    assert [action.text() for action in menu.actions()] == ["Open", "Remove from the list"]
    with qtbot.waitSignal(page.open_requested) as opened:
        menu.actions()[0].trigger()
    assert opened.args == [kiosk]
    menu.deleteLater()


def test_buttons_ask_for_a_new_film_and_for_a_folder(make_page, kiosk, asked, qtbot):
    page = make_page()
    with qtbot.waitSignal(page.new_requested) as wanted:
        qtbot.keyClick(page.new_button, Qt.Key.Key_Space)
    assert wanted.args == [None]
    asked["answers"] = [kiosk, None]
    with qtbot.waitSignal(page.open_requested) as opened:
        page.open_button.click()
    assert opened.args == [kiosk]
    with qtbot.assertNotEmitted(page.open_requested):
        page.open_button.click()
    assert len(asked["asked"]) == 2
    assert all(start.is_dir() for _, start in asked["asked"])


def test_a_film_that_is_dropped_is_opened(make_page, kiosk, qtbot):
    page = make_page()
    for path in (kiosk, kiosk / "film.json"):
        enter = dropping(QDragEnterEvent, path)
        page.dragEnterEvent(enter)
        assert enter.isAccepted()
        with qtbot.waitSignal(page.open_requested) as opened:
            page.dropEvent(dropping(QDropEvent, path))
        assert opened.args == [kiosk]


def test_footage_that_is_dropped_begins_a_new_film(make_page, tmp_path, qtbot):
    (tmp_path / "rushes" / "01 shore").mkdir(parents=True)
    page = make_page()
    with qtbot.waitSignal(page.new_requested) as wanted:
        page.dropEvent(dropping(QDropEvent, tmp_path / "rushes"))
    assert wanted.args == [tmp_path / "rushes"]


def test_what_is_neither_is_not_taken(make_page, tmp_path, qtbot):
    (tmp_path / "notes.txt").write_text("x")
    page = make_page()
    enter = dropping(QDragEnterEvent, tmp_path / "notes.txt")
    page.dragEnterEvent(enter)
    assert not enter.isAccepted()
    with qtbot.assertNotEmitted(page.open_requested), qtbot.assertNotEmitted(page.new_requested):
        page.dropEvent(dropping(QDropEvent, tmp_path / "notes.txt", tmp_path / "nowhere"))


def test_passing_remarks_are_shown_on_the_page(make_page):
    page = make_page()
    assert not page.notice.isVisible()
    page.messages.notice("The film was closed.")
    assert page.notice.isVisible()
    assert page.notice.text() == "The film was closed."


def demo_dialog(page):
    page.demo_button.click()
    return page.findChildren(DemoDialog)[-1]


def test_the_demo_is_copied_to_the_folder_that_is_chosen_and_opened(make_page, demo, asked, tmp_path, qtbot):
    before = snapshot(demo)
    page = make_page(demo)
    dialog = demo_dialog(page)
    asked["answers"] = [tmp_path / "My films"]
    dialog.field.button.click()
    with qtbot.waitSignal(page.open_requested) as opened:
        qtbot.keyClick(dialog.field.line, Qt.Key.Key_Return)
    copy = tmp_path / "My films" / DEMO_NAME
    assert opened.args == [copy]
    assert open_film(copy).film == FILM
    left_out = {name for name in before if name.split("/")[0] == ".desk"}
    assert left_out
    assert snapshot(copy) == {name: data for name, data in before.items() if name not in left_out}
    assert snapshot(demo) == before
    assert [path.name for path in (tmp_path / "My films").iterdir()] == [DEMO_NAME]


def test_a_second_copy_gets_a_name_of_its_own(demo, tmp_path):
    first = copy_demo(demo, tmp_path / "films", no_progress, CancelToken())
    second = copy_demo(demo, tmp_path / "films", no_progress, CancelToken())
    assert [first.name, second.name] == [DEMO_NAME, f"{DEMO_NAME} 2"]
    assert snapshot(first) == snapshot(second)


def test_a_copy_that_is_stopped_leaves_nothing(demo, tmp_path):
    cancel = CancelToken()
    with pytest.raises(Cancelled):
        copy_demo(demo, tmp_path / "films", lambda _: cancel.set(), cancel)
    assert list((tmp_path / "films").iterdir()) == []
    assert copy_demo(demo, tmp_path / "films", no_progress, CancelToken()).is_dir()


@pytest.mark.parametrize("inside", ["", "footage", "new/folder"])
def test_the_demo_is_never_written_to(demo, inside):
    before = snapshot(demo)
    with pytest.raises(OutputError, match="lies in the demo itself"):
        copy_demo(demo, demo / inside, no_progress, CancelToken())
    assert snapshot(demo) == before


def test_the_dialog_can_stop_a_copy_and_go_on(make_page, demo, tmp_path, qtbot):
    """Both threads that look are taken, so that the copy waits and can be stopped at leisure."""
    page = make_page(demo)
    gate = threading.Event()
    for _ in range(2):
        page.jobs.start("wait", lambda *_: gate.wait(60))
    dialog = demo_dialog(page)
    dialog.field.take(tmp_path / "films")
    dialog.copy_button.click()
    assert dialog.progress.isVisible()
    assert not dialog.copy_button.isEnabled()
    qtbot.keyClick(dialog, Qt.Key.Key_Escape)
    gate.set()
    qtbot.waitUntil(lambda: dialog.copy_button.isEnabled())
    assert not (tmp_path / "films").exists()
    assert not dialog.progress.isVisible()
    with qtbot.waitSignal(page.open_requested):
        dialog.copy_button.click()
    assert (tmp_path / "films" / DEMO_NAME).is_dir()


def test_a_place_that_can_t_be_written_is_told_in_the_dialog(make_page, demo, tmp_path, qtbot):
    (tmp_path / "a file").touch()
    page = make_page(demo)
    dialog = demo_dialog(page)
    dialog.field.take(tmp_path / "a file")
    dialog.copy_button.click()
    qtbot.waitUntil(lambda: dialog.field.fault.isVisible())
    assert "a file” could not be written" in dialog.field.fault.text()
    dialog.field.line.setText("films")
    dialog.field.settle()
    assert "whole path" in dialog.field.fault.text()
    assert not dialog.copy_button.isEnabled()
    dialog.reject()


def test_the_program_s_own_demo_is_found():
    """In a checkout it lies beside the package."""
    found = demo_folder()
    assert found is not None
    assert open_film(found).film.title == DEMO_NAME


def test_the_page_fits_into_the_least_window(make_page, kiosk, demo):
    page = make_page(demo)
    page.recents.add(kiosk, "A title that is far too long for any row of any list " * 4)
    page.refresh()
    least = page.minimumSizeHint()
    assert least.width() <= 1024
    assert least.height() <= 660
    QApplication.processEvents()
    assert page.list.horizontalScrollBar().maximum() == 0


def test_a_film_opened_long_ago_says_so(make_page, tmp_path):
    page = make_page()
    Recents(page.recents._settings, lambda: datetime(2025, 1, 2, 12, tzinfo=UTC)).add(
        Path("/films/pier"), "Pier"
    )
    page.refresh()
    assert "2 Jan 2025" in page.model.index(0).data(Qt.ItemDataRole.AccessibleTextRole)


def test_what_is_done_with_a_recent_film_looks_like_buttons(make_page, theme, tmp_path):
    page = make_page()
    page.recents.add(tmp_path / "kiosk", "The Unprinted Ticket")
    page.refresh()
    page.list.setFocus()
    QApplication.processEvents()
    for button in (page.open_recent_button, page.remove_button):
        image = button.grab().toImage()
        for edge in (QPoint(image.width() // 2, 0), QPoint(0, image.height() // 2)):
            assert image.pixelColor(edge).name() == theme.palette.outline
