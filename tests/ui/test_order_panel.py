"""The panel of the running order: what is chosen, what is done to it by menu and key, and what is said."""

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QDragEnterEvent, QDragLeaveEvent, QDropEvent
from PySide6.QtWidgets import QApplication, QLabel, QLineEdit, QPushButton

from desk.film import edits
from desk.film.model import CardKind, Film
from desk.ui.order import commands
from desk.ui.order.dialogs import NumberDialog, ReasonDialog
from desk.ui.order.filter import Shown
from desk.ui.order.menu import MenuRow
from desk.ui.order.panel import OrderPanel
from desk.ui.order.tiles import EMPTY_WORDS, ROW_PX, TILE_GAP_PX
from tests.film.editing import locked, ready
from tests.film.films import small_film

# The platform without a screen says so of each window; a popup, a menu and a tool tip are windows.
pytestmark = pytest.mark.qt_log_ignore("This plugin does not support", extend=True)

FILM = small_film()
KEY, ALT, SHIFT, CTRL = (
    Qt.Key,
    Qt.KeyboardModifier.AltModifier,
    Qt.KeyboardModifier.ShiftModifier,
    Qt.KeyboardModifier.ControlModifier,
)


def order(film: Film) -> str:
    return " ".join(item.entry for item in film.order)


def aside(film: Film) -> str:
    return " ".join(item.entry for item in film.aside)


@pytest.fixture
def bench(make_bench):
    return make_bench(FILM)


@pytest.fixture
def make_panel(qtbot):
    def make(bench) -> OrderPanel:
        made = OrderPanel(bench)
        qtbot.addWidget(made)
        made.resize(600, 900)
        made.show()
        QApplication.processEvents()
        return made

    return make


@pytest.fixture
def panel(bench, make_panel):
    return make_panel(bench)


@pytest.fixture
def noticed(bench):
    said: list[str] = []
    bench.messages.noticed.connect(lambda notice: said.append(notice.text))
    return said


def texts(panel: OrderPanel) -> list[str]:
    return [label.text() for label in panel.findChildren(QLabel) if label.isVisible()]


def click(qtbot, panel: OrderPanel, row: int, keys=Qt.KeyboardModifier.NoModifier) -> None:
    place = panel.order.layout_at(row).row.center()
    qtbot.mouseClick(panel.order.viewport(), Qt.MouseButton.LeftButton, keys, place)


def undone_and_done_again(bench, before: Film) -> None:
    after = bench.session.film
    bench.session.stack.undo()
    assert bench.session.film == before
    bench.session.stack.redo()
    assert bench.session.film == after


def test_the_heading_says_how_much_is_locked(make_bench, make_panel):
    bench = make_bench(locked(ready(FILM, "s2"), "s2"))
    panel = make_panel(bench)
    assert "RUNNING ORDER" in texts(panel)
    assert "SET ASIDE" in texts(panel)
    assert "1 of 3 scenes locked" in texts(panel)
    bench.session.do(lambda film: edits.set_aside(film, ["s2"]))
    assert "0 of 2 scenes locked" in texts(panel)
    assert "2 entries, 0:09:00" in texts(panel)


def test_the_heading_tells_of_broken_locks(make_bench, make_panel, qtbot):
    """The files of the film were never made, so no lock holds once they were looked for."""
    bench = make_bench(locked(ready(FILM, "s2"), "s2"))
    panel = make_panel(bench)
    bench.media.look()
    told = "1 of 3 scenes locked, 1 lock broken"
    qtbot.waitUntil(lambda: told in texts(panel))
    bench.session.do(lambda film: edits.set_aside(film, ["s2"]))
    assert "0 of 2 scenes locked" in texts(panel)
    bench.session.stack.undo()
    assert told in texts(panel)


def test_a_row_that_is_clicked_is_chosen(panel, bench, qtbot):
    click(qtbot, panel, 2)
    assert (panel.selected(), bench.choice.entry) == (("s2",), "s2")
    click(qtbot, panel, 3, SHIFT)
    assert (panel.selected(), bench.choice.entry) == (("s2", "s4"), "s4")
    click(qtbot, panel, 0, CTRL)
    assert panel.selected() == ("k1", "s2", "s4")


def test_a_choice_made_elsewhere_is_followed_on_the_shelf_too(panel, bench, qtbot):
    changes: list[tuple[str, ...]] = []
    panel.selection_changed.connect(lambda: changes.append(panel.selected()))
    bench.choice.choose("s4")
    assert panel.order.chosen_ids() == ("s4",)
    bench.choice.choose("s3")
    assert (panel.order.chosen_ids(), panel.shelf.view.chosen_ids()) == ((), ("s3",))
    bench.choice.choose("")
    assert panel.selected() == ()
    assert changes == [("s4",), ("s3",), ()]


def test_one_of_several_chosen_elsewhere_is_chosen_alone(panel, bench, qtbot):
    """Its sheet alone is shown, so what is set aside next is that one and no other."""
    click(qtbot, panel, 1)
    click(qtbot, panel, 3, SHIFT)
    assert panel.selected() == ("s1", "s2", "s4")
    bench.choice.choose("s1")
    assert panel.selected() == ("s1",)
    panel.set_aside()
    assert order(bench.session.film) == "k1 s2 s4 k2"


def test_escape_in_the_filter_shows_all_rows_again(panel, qtbot):
    field = panel.findChild(QLineEdit)
    field.setFocus()
    qtbot.keyClicks(field, "kiosk")
    panel.filter.set_shown(Shown.DRAFTS)
    assert len(panel.shown()) < len(FILM.order)
    qtbot.keyClick(field, KEY.Key_Escape)
    assert panel.shown() == tuple(item.entry for item in FILM.order)
    assert not panel.filter.is_on


def test_the_heading_escape_and_the_empty_space_choose_the_film(panel, bench, qtbot):
    heading = next(label for label in panel.findChildren(QLabel) if label.text() == "RUNNING ORDER")
    below = QPoint(50, panel.order.viewport().height() - 3)
    for leave in (
        lambda: qtbot.keyClick(panel.order, KEY.Key_Escape),
        lambda: qtbot.mouseClick(heading, Qt.MouseButton.LeftButton),
        lambda: qtbot.mouseClick(panel.order.viewport(), Qt.MouseButton.LeftButton, pos=below),
    ):
        click(qtbot, panel, 1)
        assert bench.choice.entry == "s1"
        leave()
        assert (bench.choice.entry, panel.selected()) == ("", ())


def test_arrows_walk_and_shift_widens(panel, bench, qtbot):
    click(qtbot, panel, 0)
    qtbot.keyClick(panel.order, KEY.Key_Down)
    assert bench.choice.entry == "s1"
    qtbot.keyClick(panel.order, KEY.Key_Down, SHIFT)
    assert panel.selected() == ("s1", "s2")
    qtbot.keyClick(panel.order, KEY.Key_End)
    assert panel.selected() == ("k2",)
    qtbot.keyClick(panel.order, KEY.Key_Home)
    assert panel.selected() == ("k1",)
    qtbot.keyClicks(panel.order, "int")
    assert panel.selected() == ("k1",)


@pytest.mark.parametrize(
    ("chosen", "key", "expected"),
    [
        (("s2",), KEY.Key_Up, "k1 s2 s1 s4 k2"),
        (("s2",), KEY.Key_Down, "k1 s1 s4 s2 k2"),
        (("s2",), KEY.Key_Home, "s2 k1 s1 s4 k2"),
        (("s2",), KEY.Key_End, "k1 s1 s4 k2 s2"),
        (("s1", "s2"), KEY.Key_Up, "s1 s2 k1 s4 k2"),
        (("s1", "s4"), KEY.Key_Down, "k1 s2 k2 s1 s4"),
        (("s1", "s4"), KEY.Key_Up, "s1 s4 k1 s2 k2"),
        (("k1",), KEY.Key_Up, "k1 s1 s2 s4 k2"),
        (("k2",), KEY.Key_Down, "k1 s1 s2 s4 k2"),
    ],
)
def test_keys_move_what_is_chosen(panel, bench, qtbot, chosen, key, expected):
    panel.choose(chosen)
    qtbot.keyClick(panel.order, key, ALT)
    assert order(bench.session.film) == expected
    assert panel.selected() == chosen
    if expected != order(FILM):
        undone_and_done_again(bench, FILM)


def test_delete_sets_aside_and_goes_on_to_the_next(panel, bench, qtbot):
    panel.choose(("s1",))
    qtbot.keyClick(panel.order, KEY.Key_Delete)
    qtbot.keyClick(panel.order, KEY.Key_Delete)
    assert (order(bench.session.film), aside(bench.session.film)) == ("k1 s4 k2", "s3 s1 s2")
    assert bench.choice.entry == "s4"
    undone_and_done_again(bench, edits.set_aside(FILM, ["s1"]).after)


def test_setting_aside_with_a_reason(panel, bench, monkeypatch):
    asked: list[str] = []

    def ask(names, parent):
        asked.append(names)
        return "It says what 4 says."

    monkeypatch.setattr(ReasonDialog, "ask", ask)
    panel.choose(("s2",))
    panel.set_aside_with_reason()
    assert asked == ["scene 2"]
    assert bench.session.film.aside[-1].reason == "It says what 4 says."
    monkeypatch.setattr(ReasonDialog, "ask", lambda names, parent: None)
    panel.choose(("s1",))
    panel.set_aside_with_reason()
    assert aside(bench.session.film) == "s3 s2"


def test_a_reason_is_asked_in_a_dialog(qtbot, theme):
    dialog = ReasonDialog("scene 2")
    qtbot.addWidget(dialog)
    dialog.show()
    qtbot.keyClicks(dialog.field, "Nothing changes")
    with qtbot.waitSignal(dialog.accepted):
        qtbot.keyClick(dialog.field, KEY.Key_Return)
    assert dialog.field.text() == "Nothing changes"


@pytest.mark.parametrize("how", ["key", "return", "button", "double click", "command"])
def test_back_where_it_was(panel, bench, qtbot, how):
    panel.choose(("s3",))
    shelf = panel.shelf.view
    if how == "key":
        qtbot.keyClick(shelf, KEY.Key_B)
    elif how == "return":
        qtbot.keyClick(shelf, KEY.Key_Return)
    elif how == "button":
        button = next(item for item in panel.findChildren(QPushButton) if item.text() == "Back where it was")
        qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
    elif how == "double click":
        tile = shelf.visualRect(panel.shelf_model.index(0)).center()
        qtbot.mouseClick(shelf.viewport(), Qt.MouseButton.LeftButton, pos=tile)
        qtbot.mouseDClick(shelf.viewport(), Qt.MouseButton.LeftButton, pos=tile)
    else:
        panel.put_back()
    assert order(bench.session.film) == "k1 s1 s2 s3 s4 k2"
    assert panel.order.chosen_ids() == ("s3",)
    undone_and_done_again(bench, FILM)


def test_the_shelf_says_what_to_do_when_it_is_empty(panel, bench, qtbot):
    tall = panel.shelf.height()
    bench.session.do(lambda film: edits.put_back(film, ["s3"]))
    button = next(item for item in panel.findChildren(QPushButton) if item.text() == "Back where it was")
    assert button.isHidden()
    assert panel.shelf.height() <= tall
    bench.session.do(lambda film: edits.set_aside(film, ["s1", "s2", "s3", "s4", "k1", "k2"]))
    assert tall < panel.shelf.height() <= panel.height() // 3


def test_an_empty_shelf_is_one_line_that_grows_while_something_is_dragged_over_it(panel, bench):
    bench.session.do(lambda film: edits.put_back(film, ["s3"]))
    QApplication.processEvents()
    shelf, view = panel.shelf, panel.shelf.view
    assert shelf.height() <= 32
    assert view.height() >= 20
    assert view.toolTip() == EMPTY_WORDS
    data = panel.model.mimeData([panel.model.index(1)])
    point = view.viewport().rect().center()
    given = (data, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier)
    view.dragEnterEvent(QDragEnterEvent(point, Qt.DropAction.MoveAction, *given))
    QApplication.processEvents()
    assert shelf.height() >= 80
    assert view.height() >= 60
    view.dragLeaveEvent(QDragLeaveEvent())
    assert shelf.height() <= 32
    view.dragEnterEvent(QDragEnterEvent(point, Qt.DropAction.MoveAction, *given))
    view.dropEvent(QDropEvent(QPointF(point), Qt.DropAction.MoveAction, *given))
    assert aside(bench.session.film) == "s1"
    QApplication.processEvents()
    tile = view.visualRect(panel.shelf_model.index(0))
    assert view.viewport().rect().contains(tile.adjusted(0, 0, 0, -TILE_GAP_PX))
    assert shelf.height() > 80


def test_in_a_low_window_the_shelf_has_one_row_and_scrolls(panel, bench):
    bench.session.do(lambda film: edits.set_aside(film, ["s1", "s2", "s4"]))
    panel.resize(430, 500)
    QApplication.processEvents()
    view = panel.shelf.view
    assert ROW_PX <= view.height() < 2 * ROW_PX
    assert view.verticalScrollBar().maximum() > 0
    assert panel.order.height() >= 290, "three rows and a half"
    panel.resize(430, 900)
    QApplication.processEvents()
    assert view.height() >= 4 * ROW_PX


def test_new_entries_come_after_what_is_chosen_and_are_chosen(panel, bench):
    panel.choose(("s1",))
    panel.add_scene()
    film = bench.session.film
    assert film.entry(film.order[2].entry).number == "1A"
    assert panel.selected() == (film.order[2].entry,)
    panel.add_title()
    film = bench.session.film
    assert film.entry(film.order[3].entry).lines == ()
    assert bench.choice.entry == film.order[3].entry
    panel.add_credits()
    film = bench.session.film
    assert film.entry(film.order[4].entry).kind is CardKind.CREDITS
    undone_and_done_again(bench, bench.session.last_effect.before)


def test_with_nothing_chosen_new_entries_go_where_they_belong(make_bench, make_panel):
    bench = make_bench(edits.delete_entry(edits.delete_entry(FILM, "k1").after, "k2").after)
    panel = make_panel(bench)
    for add in (panel.add_scene, panel.add_title, panel.add_credits):
        panel.choose(())
        add()
    film = bench.session.film
    shown = [film.entry(item.entry) for item in film.order]
    assert [entry.number for entry in shown[1:-1]] == ["1", "2", "4", "5"]
    assert shown[0].lines == ("The Late Ferry",)
    assert shown[-1].kind is CardKind.CREDITS


def test_a_scene_is_duplicated(panel, bench):
    panel.choose(("s2",))
    panel.duplicate()
    copy = bench.session.film.order[3].entry
    assert bench.session.film.scene(copy).number == "2A"
    assert panel.selected() == (copy,)
    undone_and_done_again(bench, FILM)


def test_deleting_asks_nothing_and_says_that_it_can_be_undone(panel, bench, noticed):
    panel.choose(("s2",))
    panel.delete()
    assert noticed == ["Scene 2 deleted. Undo brings it back."]
    assert bench.choice.entry == "s4"
    bench.session.stack.undo()
    assert bench.session.film == FILM
    panel.choose(("s2", "s4"))
    panel.delete()
    assert noticed[1] == "Scene 2 and scene 4 deleted. Undo brings them back."
    undone_and_done_again(bench, FILM)


def test_a_locked_scene_is_not_deleted(make_bench, make_panel):
    bench = make_bench(locked(FILM, "s2"))
    panel = make_panel(bench)
    said: list[str] = []
    bench.messages.noticed.connect(lambda notice: said.append(notice.text))
    panel.choose(("s1", "s2"))
    panel.delete()
    assert "locked" in said[0]
    assert order(bench.session.film) == order(FILM)


def test_what_is_gone_leaves_the_choice_to_its_place(panel, bench):
    panel.choose(("s2",))
    bench.session.do(lambda film: edits.delete_entry(film, "s2"))
    assert bench.choice.entry == "s4"
    panel.choose(("k2",))
    bench.session.do(lambda film: edits.delete_entry(film, "k2"))
    assert bench.choice.entry == "s4"


def test_a_choice_follows_its_entry_onto_the_shelf_and_back(panel, bench):
    panel.choose(("s2",))
    bench.session.do(lambda film: edits.set_aside(film, ["s2"]))
    assert (panel.shelf.view.chosen_ids(), bench.choice.entry) == (("s2",), "s2")
    bench.session.stack.undo()
    assert (panel.order.chosen_ids(), bench.choice.entry) == (("s2",), "s2")


def test_a_slugline_is_renamed_in_its_place(panel, bench, qtbot):
    panel.choose(("s2",))
    qtbot.keyClick(panel.order, KEY.Key_F2)
    field = panel.order.viewport().findChild(QLineEdit)
    assert field.text() == "INT. KIOSK - DAY"
    assert field.accessibleName() == "Slugline of scene 2"
    field.clear()
    qtbot.keyClicks(field, "INT. KIOSK - NOON")
    qtbot.keyClick(field, KEY.Key_Return)
    QApplication.processEvents()
    assert bench.session.film.scene("s2").slugline == "INT. KIOSK - NOON"
    undone_and_done_again(bench, FILM)


def test_a_double_click_on_the_slugline_renames_and_escape_leaves_it(panel, bench, qtbot):
    place = panel.order.layout_at(2).title.center()
    qtbot.mouseClick(panel.order.viewport(), Qt.MouseButton.LeftButton, pos=place)
    qtbot.mouseDClick(panel.order.viewport(), Qt.MouseButton.LeftButton, pos=place)
    field = panel.order.viewport().findChild(QLineEdit)
    qtbot.keyClicks(field, "x")
    qtbot.keyClick(field, KEY.Key_Escape)
    assert bench.session.film is FILM


def test_a_card_and_a_tile_are_renamed(panel, bench, qtbot):
    for entry_id, view in (("k1", panel.order), ("s3", panel.shelf.view)):
        panel.choose((entry_id,))
        panel.rename()
        field = view.viewport().findChild(QLineEdit)
        field.selectAll()
        qtbot.keyClicks(field, "Another")
        qtbot.keyClick(field, KEY.Key_Return)
        QApplication.processEvents()
    assert bench.session.film.entry("k1").name == "Another"
    assert bench.session.film.scene("s3").slugline == "Another"


def test_a_scene_is_renumbered(panel, bench, monkeypatch):
    monkeypatch.setattr(NumberDialog, "ask", lambda film, scene_id, parent: "9B")
    panel.choose(("s2",))
    panel.renumber()
    assert bench.session.film.scene("s2").number == "9B"
    undone_and_done_again(bench, FILM)


def test_a_number_that_is_taken_is_told_at_once_and_one_that_fits_is_offered(qtbot, theme):
    film = edits.move(FILM, ["s4"], 2).after
    dialog = NumberDialog(film, "s4")
    qtbot.addWidget(dialog)
    dialog.field.setText("2")
    assert "scene 2 already" in dialog.warning.text()
    assert not dialog.renumber.isEnabled()
    assert dialog.offer.text() == "Use 1A"
    dialog.offer.click()
    assert dialog.field.text() == "1A"
    assert dialog.renumber.isEnabled()
    assert dialog.warning.text() == ""
    assert not dialog.offer.isEnabled()


def test_the_number_that_a_scene_has_is_offered_again_after_another_was_typed(qtbot, theme):
    film = edits.insert_scene(FILM, 2).after
    new = next(scene for scene in film.scenes if scene.id not in FILM.entries())
    dialog = NumberDialog(film, new.id)
    qtbot.addWidget(dialog)
    assert not dialog.offer.isEnabled()
    dialog.field.setText("2")
    assert dialog.offer.isEnabled()
    dialog.offer.click()
    assert dialog.field.text() == new.number


def test_what_is_set_aside_has_no_say_in_the_number_of_a_scene_in_the_film(qtbot, theme):
    """As it has none where a scene is added: between 2 and 4, with 3 aside, that is 2A."""
    film = edits.insert_scene(FILM, [place.entry for place in FILM.order].index("s2") + 1).after
    assert any(
        scene.number == "3" and scene.id in {aside.entry for aside in film.aside} for scene in film.scenes
    )
    new = next(scene for scene in film.scenes if scene.id not in FILM.entries())
    assert new.number == "2A"
    dialog = NumberDialog(film, new.id)
    qtbot.addWidget(dialog)
    assert dialog.offer.text() == "Use 2A"


def lines(menu: list[MenuRow | None], *, enabled: bool) -> set[str]:
    return {row.text for row in menu if row and row.enabled is enabled}


MOVES = {"Move up", "Move down", "Move to the start", "Move to the end"}


@pytest.mark.parametrize(
    ("chosen", "disabled"),
    [
        ((), None),
        (("s1",), set()),
        (("k1",), {"Renumber…", "Duplicate", "Move up", "Move to the start"}),
        (("k2",), {"Renumber…", "Duplicate", "Move down", "Move to the end"}),
        (("s2",), {"Delete for good"}),
        (("s1", "s4"), {"Rename", "Renumber…", "Duplicate", "Change the join after it…"}),
        (("s1", "s2"), {"Rename", "Renumber…", "Duplicate", "Change the join after it…", "Delete for good"}),
    ],
)
def test_the_menu_offers_what_can_be_done(make_bench, make_panel, chosen, disabled):
    panel = make_panel(make_bench(locked(FILM, "s2")))
    panel.choose(chosen)
    menu = panel.order_menu()
    if disabled is None:
        assert lines(menu, enabled=True) == {
            "Change the fades of the film…",
            "Add a scene",
            "Add a title",
            "Add credits",
        }
    else:
        assert lines(menu, enabled=False) == disabled
    texts_ = [row.text for row in menu if row]
    assert len(texts_) == len(set(texts_))


def test_the_menu_of_the_last_row_changes_the_fade(panel):
    panel.choose(("k2",))
    assert "Change the fade at the end…" in lines(panel.order_menu(), enabled=True)


def test_the_menu_of_the_shelf(make_bench, make_panel):
    panel = make_panel(make_bench(FILM))
    assert lines(panel.shelf_menu(), enabled=True) == set()
    panel.choose(("s3",))
    assert lines(panel.shelf_menu(), enabled=False) == set()
    assert "Back where it was" in lines(panel.shelf_menu(), enabled=True)


def test_a_film_that_is_read_only_has_nothing_to_offer(make_bench, make_panel):
    bench = make_bench(FILM)
    bench.session.read_only = "It is open elsewhere."
    panel = make_panel(bench)
    panel.choose(("s1",))
    assert lines(panel.order_menu(), enabled=True) == set()
    panel.rename()
    panel.edit_join()
    assert panel.order.viewport().findChild(QLineEdit) is None
    assert bench.session.film is FILM


def test_the_context_menu_opens_with_keys_shown(panel, qtbot):
    panel.choose(("s2",))
    panel.order.customContextMenuRequested.emit(panel.order.layout_at(2).row.center())
    menu = QApplication.activePopupWidget()
    shown = [action.text() for action in menu.actions() if not action.isSeparator()]
    assert "Set aside\tDel" in shown
    assert [text.split("\t")[0] for text in shown] == [row.text for row in panel.order_menu() if row]
    menu.close()


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("kiosk", ("s1", "s2", "s4")),
        ("INT. kiosk", ("s2", "s4")),
        ("ticket lamp", ()),
        ("printed", ("s2",)),
        ("m1", ("s1",)),
        ("tide", ("s1",)),
        ("ida", ("k2",)),
        ("late ferry", ("k1",)),
        ("4", ("s4",)),
    ],
)
def test_the_field_searches_all_words(panel, text, expected):
    panel.find()
    assert panel.filter.focusProxy().hasFocus()
    panel.filter.set_text(text)
    assert panel.shown() == expected
    assert f"{len(expected)} of 5 shown" in texts(panel)


def test_states_are_filtered(make_bench, make_panel):
    film = locked(ready(FILM, "s2"), "s2")
    panel = make_panel(make_bench(film))
    expected = {
        Shown.EVERYTHING: ("k1", "s1", "s2", "s4", "k2"),
        Shown.DRAFTS: ("s1", "s4"),
        Shown.LOCKED: ("s2",),
        Shown.BROKEN: (),
        Shown.OPEN: ("s1", "s4"),
        Shown.CARDS: ("k1", "k2"),
    }
    for shown, ids in expected.items():
        panel.filter.set_shown(shown)
        assert panel.shown() == ids, shown


def test_show_all_shows_all_again(panel, qtbot):
    panel.filter.set_text("kiosk")
    button = next(item for item in panel.findChildren(QPushButton) if item.text() == "Show all")
    assert button.isVisible()
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
    assert len(panel.shown()) == 5
    assert not button.isVisible()


def test_a_filter_follows_the_film(panel, bench):
    panel.filter.set_text("int.")
    bench.session.do(lambda film: edits.edit_story(film, "s1", slugline="INT. KIOSK - DAWN"))
    assert panel.shown() == ("s1", "s2", "s4")
    bench.session.stack.undo()
    assert panel.shown() == ("s2", "s4")


def test_while_a_filter_is_on_keys_move_past_what_is_seen(panel, bench, qtbot):
    panel.filter.set_text("int.")
    panel.choose(("s4",))
    assert panel.shown() == ("s2", "s4")
    qtbot.keyClick(panel.order, KEY.Key_Up, ALT)
    assert order(bench.session.film) == "k1 s1 s4 s2 k2"
    qtbot.keyClick(panel.order, KEY.Key_Up, ALT)
    assert order(bench.session.film) == "k1 s1 s4 s2 k2"


def test_what_is_new_is_seen_although_a_filter_is_on(panel, bench):
    panel.filter.set_text("int.")
    panel.add_scene()
    assert len(panel.shown()) == 6
    assert panel.selected()[0] in panel.shown()


def test_every_control_can_be_named(panel):
    from PySide6.QtWidgets import QAbstractButton, QComboBox, QListView

    for kind in (QAbstractButton, QLineEdit, QComboBox, QListView):
        for widget in panel.findChildren(kind):
            if widget.isVisible() and widget.focusPolicy() != Qt.FocusPolicy.NoFocus:
                assert widget.accessibleName() or getattr(widget, "text", str)(), widget


def test_an_empty_film_says_what_to_do(make_bench, make_panel):
    film = edits.set_aside(FILM, [item.entry for item in FILM.order]).after
    panel = make_panel(make_bench(film))
    assert "no scenes yet" in texts(panel)
    panel.add_scene()
    assert panel.model.rowCount() == 1
    assert isinstance(panel, commands.OrderCommands)


@pytest.mark.parametrize("take_out", ["set_aside", "delete"])
def test_what_undoing_brings_back_into_the_film_is_chosen_again(panel, bench, take_out):
    panel.choose(("s2", "s4"))
    getattr(panel, take_out)()
    assert panel.selected() == ("k2",)
    bench.session.do(lambda film: edits.edit_story(film, "s1", purpose="The lamp goes out."))
    assert panel.selected() == ("k2",)
    bench.session.stack.undo()
    assert panel.selected() == ("k2",), "nothing came back yet"
    bench.session.stack.undo()
    assert panel.selected() == ("s2", "s4")
    panel.choose(("s1",))
    bench.session.stack.redo()
    bench.session.stack.undo()
    assert panel.selected() == ("s1",), "it was not chosen when it went"
