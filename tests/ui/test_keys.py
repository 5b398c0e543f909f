"""The sheet of keys: what the actions have, and nothing else."""

import re

import pytest
from PySide6.QtCore import QObject, Qt
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtTest import QAbstractItemModelTester
from PySide6.QtWidgets import QMainWindow, QWidget

from desk.ui.actions import WITHIN
from desk.ui.commands import MENUS, commands
from desk.ui.keys import KeySheet, keys_by_menu, plain_text
from desk.ui.look.theme import Appearance
from desk.ui.messages import Messages
from desk.ui.order.panel import OrderPanel
from tests.film.films import small_film


@pytest.fixture
def window(qtbot):
    """A window with two menus; Save and About have no key, Find is in no menu."""
    made = QMainWindow()
    qtbot.addWidget(made)
    for menu_name, rows in (
        ("&File", [("&Open…", ["Ctrl+O"]), ("&Save", []), ("Close && leave", ["Ctrl+W", "Ctrl+F4"])]),
        ("&Help", [("&About", []), ("&Larger", ["Ctrl++"])]),
    ):
        menu = made.menuBar().addMenu(menu_name)
        for text, keys in rows:
            action = QAction(text, made)
            action.setShortcuts([QKeySequence(key) for key in keys])
            menu.addAction(action)
    find = QAction("Find", made)
    find.setShortcut(QKeySequence("Ctrl+F"))
    made.addAction(find)
    return made


def actions_of(window):
    return [action for action in window.findChildren(QAction) if not action.menu()]


@pytest.fixture
def sheet(window, theme, qtbot):
    made = KeySheet(actions_of(window), theme, window)
    made.open()
    return made


def test_every_action_with_a_key_is_listed_under_its_menu(sheet):
    assert sheet.shown() == [
        ("File", "Open…", "Ctrl+O"),
        ("File", "Close & leave", "Ctrl+W or Ctrl+F4"),
        ("Help", "Larger", "Ctrl++"),
        ("Other", "Find", "Ctrl+F"),
    ]


def test_what_the_sheet_says_follows_the_actions(window, theme, qtbot):
    """A key that was changed is listed as it is now."""
    find = next(action for action in actions_of(window) if action.text() == "Find")
    find.setShortcut(QKeySequence("F3"))
    assert keys_by_menu(actions_of(window))["Other"] == [("Find", ("F3",))]


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        ("clo", ["Close & leave"]),
        ("ctrl+w", ["Close & leave"]),
        ("HELP", ["Larger"]),
        ("ctrl", ["Open…", "Close & leave", "Larger", "Find"]),
        ("f", ["Open…", "Close & leave", "Find"]),
    ],
)
def test_typing_finds_words_and_keys(sheet, qtbot, typed, found):
    assert sheet.search.hasFocus() or sheet.focusWidget() is sheet.search
    qtbot.keyClicks(sheet.search, typed)
    assert [text for _, text, _ in sheet.shown()] == found


def test_nothing_found_is_said_and_clearing_shows_all_again(sheet, qtbot):
    qtbot.keyClicks(sheet.search, "teleport")
    assert sheet.shown() == []
    assert sheet.nothing.isVisible()
    assert "“teleport”" in sheet.nothing.text()
    sheet.search.clear()
    assert len(sheet.shown()) == 4
    assert sheet.tree.isVisible()


def test_escape_closes_it(sheet, qtbot):
    with qtbot.waitSignal(sheet.finished):
        qtbot.keyClick(sheet.search, Qt.Key.Key_Escape)


def test_it_can_be_read_aloud_and_drawn_in_both_palettes(sheet, theme):
    assert sheet.search.accessibleName()
    assert sheet.tree.accessibleName()
    dark = sheet.grab().toImage()
    theme.set_appearance(Appearance.LIGHT)
    assert sheet.grab().toImage() != dark


def test_its_model_is_sound(sheet, qtbot):
    tester = QAbstractItemModelTester(
        sheet.tree.model(), QAbstractItemModelTester.FailureReportingMode.Warning, sheet
    )
    qtbot.keyClicks(sheet.search, "close")
    sheet.search.clear()
    assert tester.model() is sheet.tree.model()


def test_a_submenu_is_named_after_its_menu_and_a_key_of_one_part_says_where(window):
    hold = QAction("&Head", window)
    hold.setShortcut(QKeySequence("H"))
    hold.setProperty(WITHIN, "lanes")
    window.menuBar().actions()[0].menu().addMenu("&Hold").addAction(hold)
    assert keys_by_menu([hold]) == {"File – Hold, in the lanes": [("Head", ("H",))]}


def test_mnemonics_are_left_out():
    assert plain_text("&Open && close…") == "Open & close…"


def test_the_sheet_of_the_window_has_every_key_of_its_menus(theme, qtbot):
    """The real window's own commands, each with a key that no other has."""
    from desk.app import build_window

    owner = QObject()
    window = build_window(theme, Messages(owner))
    qtbot.addWidget(window)
    actions = list(window.actions_by_id.actions.values())
    listed = [row for rows in keys_by_menu(actions).values() for row in rows]
    with_key = [action for action in actions if not action.shortcut().isEmpty()]
    assert len(listed) == len(with_key) > 10
    keys = [key for _, row in listed for key in row]
    assert len(keys) == len(set(keys))
    menus = {re.split(" – |, in ", heading)[0] for heading in keys_by_menu(actions)}
    assert menus <= {plain_text(name) for name in MENUS}
    assert {command.id for command in commands(window)} == set(window.actions_by_id.actions)
    window.close()
    owner.deleteLater()
    assert isinstance(window, QWidget)


def test_keys_that_few_keyboards_have_stand_back(window):
    action = QAction("Open film…", window)
    action.setShortcuts([QKeySequence("Ctrl+O"), QKeySequence(Qt.Key.Key_Open)])
    only = QAction("Play", window)
    only.setShortcut(QKeySequence(Qt.Key.Key_MediaPlay))
    undo = QAction("Undo", window)
    undo.setShortcuts([QKeySequence("Ctrl+Z"), QKeySequence(Qt.Key.Key_F14)])
    (_, first), (_, second), (_, third) = keys_by_menu([action, only, undo])["Other"]
    assert first == ("Ctrl+O",)
    assert third == ("Ctrl+Z",)
    assert len(second) == 1


def test_keys_that_a_part_of_the_window_takes_by_itself_are_listed(theme, make_bench, qtbot):
    """What the menus of the running order and the shelf show as keys is in no menu of the window."""
    from desk.app import build_window

    bench = make_bench(small_film())
    panel = OrderPanel(bench)
    qtbot.addWidget(panel)
    rows = [row for row in (*panel.order_menu(), *panel.shelf_menu()) if row and row.key]
    window = build_window(theme, Messages(panel))
    qtbot.addWidget(window)
    window.show_keys()
    listed = window.findChild(KeySheet).shown()
    keys = {keys for _, _, keys in listed}
    assert {QKeySequence(row.key).toString(QKeySequence.SequenceFormat.NativeText) for row in rows} <= keys
    assert ("In the running order", "Set aside", "Del") in listed
    window.close()
