"""The window: opening, leaving, and nothing lost on the way."""

import sys
import threading

import pytest
from PySide6.QtCore import QMimeData, QPointF, QSize, Qt, QTimer, QUrl
from PySide6.QtGui import QDropEvent
from PySide6.QtWidgets import QApplication, QDialog, QLineEdit

from desk.app import _Faults, build_window
from desk.film import edits
from desk.store.journal import Journal
from desk.store.lock import hold
from desk.store.project import new_project, open_film
from desk.store.save import save_film
from desk.ui.messages import Answer, Messages
from desk.ui.order.fades_editor import FadesEditor
from desk.ui.start.new_film import NewFilmDialog
from desk.ui.window import fitting
from tests.film.films import small_film

FILM = small_film()


class Recorded(Messages):
    """Messages that answer at once and remember what was said."""

    def __init__(self) -> None:
        super().__init__()
        self.answer = Answer.FIRST
        self.asked: list[str] = []
        self.faults: list[object] = []
        self.notices: list[str] = []
        self.noticed.connect(lambda notice: self.notices.append(notice.text))

    def ask(self, question, advice, **_):
        self.asked.append(question)
        return self.answer

    def fault(self, error):
        self.faults.append(error)


@pytest.fixture
def messages(qapp):
    return Recorded()


@pytest.fixture
def folder(tmp_path):
    new_project(tmp_path / "kiosk", FILM)
    return tmp_path / "kiosk"


@pytest.fixture
def window(theme, messages):
    made = build_window(theme, messages)
    made.show()
    yield made
    messages.answer = Answer.SECOND
    made.close()
    made.deleteLater()


def opened(window, folder, qtbot):
    window.open_film(folder)
    qtbot.waitUntil(lambda: window.view is not None)
    return window.view


def entitle(window, title):
    assert window.view.bench.session.do(lambda film: edits.edit_film(film, title=title))


def test_it_starts_without_a_film_and_offers_what_can_be_done(window):
    enabled = {name for name, action in window.actions_by_id.actions.items() if action.isEnabled()}
    assert {"new", "open", "quit", "keys", "cautions"} <= enabled
    assert not {"undo", "assemble", "lock", "save", "close"} & enabled
    assert window.windowTitle() == "Assembly Desk"


def test_a_film_is_opened_and_named_in_the_title(window, folder, qtbot):
    opened(window, folder, qtbot)
    assert FILM.title in window.windowTitle()
    assert window.actions_by_id.actions["assemble"].isEnabled()


def test_leaving_saves_and_gives_the_film_back(window, folder, qtbot):
    opened(window, folder, qtbot)
    entitle(window, "Changed")
    assert window.close()
    assert open_film(folder).film.title == "Changed"
    assert not Journal(folder).path.exists()
    with hold(folder, "desk move"):
        pass


def test_another_film_takes_the_place_of_the_one_that_is_open(window, folder, tmp_path, qtbot):
    opened(window, folder, qtbot)
    entitle(window, "First")
    new_project(tmp_path / "other", edits.edit_film(FILM, title="Second").after)
    window.open_film(tmp_path / "other")
    qtbot.waitUntil(lambda: window.view is not None and window.view.bench.session.film.title == "Second")
    assert open_film(folder).film.title == "First"


def test_a_film_file_is_opened_as_its_folder_is(window, folder, qtbot):
    assert opened(window, folder / "film.json", qtbot).bench.session.folder == folder


def test_a_folder_dropped_on_the_window_is_opened(window, folder, qtbot):
    mime = QMimeData()
    mime.setUrls([QUrl.fromLocalFile(str(folder))])
    drop = QDropEvent(
        QPointF(50, 50),
        Qt.DropAction.CopyAction,
        mime,
        Qt.MouseButton.LeftButton,
        Qt.KeyboardModifier.NoModifier,
    )
    window.dropEvent(drop)
    qtbot.waitUntil(lambda: window.view is not None)


def test_undo_says_what_it_undoes(window, folder, qtbot):
    opened(window, folder, qtbot)
    entitle(window, "Changed")
    undo = window.actions_by_id.actions["undo"]
    assert undo.isEnabled()
    assert undo.text() == f"&Undo: {window.view.bench.session.stack.undoText()}"
    undo.trigger()
    assert window.view.bench.session.film.title == FILM.title
    redo = window.actions_by_id.actions["redo"]
    redo.trigger()
    assert window.view.bench.session.film.title == "Changed"


def test_the_keyboard_begins_in_the_running_order(window, folder, qtbot):
    window.activateWindow()
    view = opened(window, folder, qtbot)
    assert window.focusWidget() is view.order.order
    qtbot.keyClick(window.focusWidget(), Qt.Key.Key_End)
    assert view.order.selected() == (FILM.order[-1].entry,)


def test_the_keyboard_does_not_land_on_a_button_when_another_sheet_is_shown(window, folder, qtbot):
    window.activateWindow()
    view = opened(window, folder, qtbot)
    view.film_sheet.obstacles.list.setFocus()
    view.bench.choice.choose(FILM.order[1].entry)
    assert window.focusWidget() is view.order.order


@pytest.mark.parametrize("name", ["undo", "redo"])
def test_after_undo_the_keyboard_is_where_it_was(window, folder, qtbot, name):
    view = opened(window, folder, qtbot)
    window.activateWindow()
    entitle(window, "Changed")
    ledger = view.order.order
    ledger.setFocus()
    window.actions_by_id.actions["undo"].trigger()
    window.actions_by_id.actions[name].trigger()
    assert window.focusWidget() is ledger
    qtbot.keyClick(ledger, Qt.Key.Key_Down)
    assert view.order.selected() == (FILM.order[1].entry,)


def test_after_undo_a_field_goes_on_and_a_name_that_is_typed_in_a_row_is_taken(window, folder, qtbot):
    view = opened(window, folder, qtbot)
    window.activateWindow()
    title = view.film_sheet.findChild(QLineEdit)
    title.setFocus()
    qtbot.keyClicks(title, "x")
    window.actions_by_id.actions["undo"].trigger()
    assert window.focusWidget() is title
    entry = FILM.order[1].entry
    view.order.choose((entry,))
    view.order.order.setFocus()
    view.order.rename()
    field = window.focusWidget()
    qtbot.keyClicks(field, "EXT. PIER")
    view.end_typing()
    assert view.bench.session.film.scene(entry).slugline == "EXT. PIER"
    assert window.focusWidget() is view.order.order


def test_after_a_crash_the_edits_are_back_and_it_says_so(window, folder, messages, qtbot):
    base = open_film(folder).revision
    Journal(folder).write(edits.edit_film(FILM, title="Not saved").after, base=base)
    opened(window, folder, qtbot)
    assert window.view.bench.session.film.title == "Not saved"
    assert any("two seconds" in text for text in messages.notices)
    window.view.bench.session.stack.undo()
    assert window.view.bench.session.film.title == FILM.title


@pytest.mark.parametrize(
    ("answer", "title", "journal_stays"),
    [
        (Answer.FIRST, "Not saved", True),
        (Answer.SECOND, "By a command", False),
        (Answer.CANCEL, "By a command", True),
    ],
)
def test_edits_older_than_the_file_are_asked_about(
    window, folder, messages, qtbot, answer, title, journal_stays
):
    before = open_film(folder)
    Journal(folder).write(edits.edit_film(FILM, title="Not saved").after, base=before.revision)
    save_film(before, edits.edit_film(FILM, title="By a command").after)
    messages.answer = answer
    opened(window, folder, qtbot)
    assert messages.asked
    assert window.view.bench.session.film.title == title
    assert Journal(folder).path.exists() is journal_stays


def test_a_film_open_elsewhere_is_open_for_reading_only(window, folder, messages, qtbot):
    with hold(folder, "desk assemble"):
        view = opened(window, folder, qtbot)
        assert not view.bench.session.do(lambda film: edits.edit_film(film, title="No"))
        assert not window.actions_by_id.actions["add-scene"].isEnabled()
        assert any("reading only" in text for text in messages.notices)
        assert window.close()
    assert open_film(folder).film == FILM


def test_a_damaged_film_is_brought_back_when_the_person_wants(window, folder, messages, qtbot):
    (folder / "film.json").write_bytes(b"{")
    opened(window, folder, qtbot)
    assert messages.asked
    assert window.view.bench.session.film == FILM


def test_a_folder_without_a_film_is_told_and_a_film_from_it_is_offered(window, tmp_path, messages, qtbot):
    messages.answer = Answer.CANCEL
    window.open_film(tmp_path)
    qtbot.waitUntil(lambda: bool(messages.asked))
    assert "holds no film" in messages.asked[0]
    assert window.view is None
    assert not window.findChildren(NewFilmDialog)
    messages.answer = Answer.FIRST
    window.open_film(tmp_path)
    qtbot.waitUntil(lambda: bool(window.findChildren(NewFilmDialog)))
    dialog = window.findChild(NewFilmDialog)
    assert dialog.footage_field.folder() == tmp_path
    dialog.reject()


def test_a_folder_that_is_not_there_is_told(window, tmp_path, messages, qtbot):
    window.open_film(tmp_path / "gone")
    qtbot.waitUntil(lambda: bool(messages.faults))
    assert "missing" in messages.faults[0].message


def test_the_menu_marks_the_colours_that_are_in_use(window):
    actions = window.actions_by_id.actions
    marked = [name for name in ("system", "dark", "light") if actions[name].isChecked()]
    assert marked == ["dark"]
    actions["light"].trigger()
    marked = [name for name in ("system", "dark", "light") if actions[name].isChecked()]
    assert marked == ["light"]
    actions["light"].trigger()
    assert actions["light"].isChecked()


def test_what_can_not_be_saved_is_not_lost_by_closing(window, folder, messages, qtbot):
    opened(window, folder, qtbot)
    entitle(window, "Mine")
    (folder / "film.json").write_text((folder / "film.json").read_text() + "\n")
    messages.answer = Answer.CANCEL
    assert not window.close()
    assert messages.asked
    assert window.view.bench.session.film.title == "Mine"


def test_a_fault_of_our_own_saves_first_and_goes_on(window, folder, messages, qtbot):
    opened(window, folder, qtbot)
    before = sys.excepthook, threading.excepthook
    with _Faults(window):
        entitle(window, "Kept")
        sys.excepthook(ZeroDivisionError, ZeroDivisionError("ours"), None)
        assert open_film(folder).film.title == "Kept"
        assert isinstance(messages.faults[-1], ZeroDivisionError)
        thread = threading.Thread(target=lambda: 1 / 0)
        thread.start()
        thread.join()
        qtbot.waitUntil(lambda: len(messages.faults) == 2)
    assert (sys.excepthook, threading.excepthook) == before


@pytest.mark.parametrize(
    ("available", "size"),
    [
        ((1920, 1040), (1440, 900)),
        ((1366, 768), (1366, 728)),
        ((1280, 720), (1280, 700)),
        ((800, 600), (1024, 700)),
    ],
)
def test_the_window_begins_no_larger_than_the_screen_has_room_for(available, size):
    assert fitting(QSize(1440, 900), QSize(*available)) == QSize(*size)


def test_the_window_keeps_to_its_screen(window):
    assert window.size() == fitting(QSize(1440, 900), window.screen().availableSize())


def test_every_action_has_words_and_no_key_is_given_twice(window):
    actions = window.actions_by_id.actions.values()
    assert all(action.text().strip() for action in actions)
    keys = [key.toString() for action in actions for key in action.shortcuts()]
    assert len(keys) == len(set(keys))


def test_the_menus_stand_in_the_platforms_order(window):
    titles = [action.text().replace("&", "") for action in window.menuBar().actions()]
    assert titles == ["File", "Edit", "Running order", "Scene", "Cut", "View", "Help"]


def test_the_fades_of_the_film_are_reached_from_the_menu_bar(window, folder, qtbot):
    """Not every keyboard has the key that opens the menu of the running order."""
    view = opened(window, folder, qtbot)
    fades = window.actions_by_id.actions["fades"]
    assert fades.isEnabled()
    fades.trigger()
    (editor,) = view.order.findChildren(FadesEditor)
    qtbot.waitUntil(editor.isVisible)
    editor.close()
    view.bench.session.do(lambda film: edits.set_aside(film, [item.entry for item in film.order]))
    assert not fades.isEnabled()


def test_every_command_runs_where_it_is_enabled(window, folder, qtbot, messages):
    """No command fails with a fault of our own, whatever is chosen."""
    view = opened(window, folder, qtbot)
    # Some dialogs wait for their answer in a loop of their own.
    closing = QTimer(window, interval=20)
    closing.timeout.connect(lambda: close_dialogs(window))
    closing.start()
    leave_out = {"quit", "close", "open", "folder", "new", "full-screen"}
    for entry in ("", *(item.entry for item in FILM.order[:3]), *(item.entry for item in FILM.aside[:1])):
        for name, action in window.actions_by_id.actions.items():
            if view.bench.session.film.entries().get(entry) is None and entry:
                break
            view.bench.choice.choose(entry)
            if name not in leave_out and action.isEnabled():
                action.trigger()
                close_dialogs(window)
    closing.stop()
    assert not [error for error in messages.faults if not hasattr(error, "advice")]


def close_dialogs(window):
    for widget in QApplication.topLevelWidgets():
        if widget is not window and isinstance(widget, QDialog) and widget.isVisible():
            widget.reject()
