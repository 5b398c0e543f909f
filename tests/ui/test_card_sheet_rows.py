"""Rows of names: what can be done with them, as a model and as a table that is typed in."""

from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QAbstractItemModelTester
from PySide6.QtWidgets import QLineEdit, QWidget

from desk.film.model import CreditBlock, CreditRow, Person
from desk.ui.sheet.credits import (
    credit_rows_of,
    credits_of_rows,
    people_of_rows,
    rows_of_credits,
    rows_of_people,
)
from desk.ui.sheet.row_table import RowTable
from desk.ui.sheet.row_view import Wish
from desk.ui.sheet.rows import Row, moved, parted, read_rows, with_rows, without_rows, written
from desk.ui.sheet.rows_model import NO_HEADING, RowsModel

CREW, CAST = Row("Crew", is_heading=True), Row("Cast", is_heading=True)
CAMERA, SOUND, MAREN, ILSE = Row("Camera", "Ida"), Row("Sound", "Bo"), Row("Maren", "Ada"), Row("Ilse", "Eva")
LIST = (CREW, CAMERA, SOUND, CAST, MAREN, ILSE)


def row_values() -> st.SearchStrategy[tuple[Row, ...]]:
    text = st.sampled_from(["", "Camera", "Ida Holm", "Bo, Ada"])
    row = st.builds(Row, text, text) | st.builds(Row, text, st.just(""), st.just(True))
    return st.lists(row, max_size=8).map(tuple)


def test_a_row_moves_by_one_and_a_heading_with_all_that_stands_under_it():
    assert moved(LIST, 2, 1, -1) == ((CREW, SOUND, CAMERA, CAST, MAREN, ILSE), 1)
    assert moved(LIST, 2, 1, 1) == ((CREW, CAMERA, CAST, SOUND, MAREN, ILSE), 3)
    assert moved(LIST, 3, 1, -1) == ((CAST, MAREN, ILSE, CREW, CAMERA, SOUND), 0)
    assert moved(LIST, 0, 1, 1) == ((CAST, MAREN, ILSE, CREW, CAMERA, SOUND), 3)


@pytest.mark.parametrize(("first", "by"), [(0, -1), (3, 1), (5, 1), (1, -1)])
def test_where_there_is_no_room_nothing_moves(first, by):
    assert moved(LIST, first, 1, by) == (LIST, first)


@given(rows=row_values(), data=st.data())
def test_moving_and_taking_out_lose_nothing_else(rows, data):
    if not rows:
        return
    first = data.draw(st.integers(0, len(rows) - 1))
    count = data.draw(st.integers(1, len(rows) - first))
    after, at = moved(rows, first, count, data.draw(st.sampled_from([-1, 1])))
    assert sorted(map(repr, after)) == sorted(map(repr, rows))
    assert after[at] == rows[first]
    assert with_rows(without_rows(rows, {first}), first, (rows[first],)) == rows


def test_lines_parted_by_tabs_or_commas_become_rows():
    text = 'Crew:\nCamera\tIda Holm\tBo Lind\nSound, Ada Reed\n\n"Stills, set"\tEva\nMany helpers\n'
    assert read_rows(text, alone_is_second=True) == (
        Row("Crew", is_heading=True),
        Row("Camera", "Ida Holm, Bo Lind"),
        Row("Sound", "Ada Reed"),
        Row("Stills, set", "Eva"),
        Row("", "Many helpers"),
    )
    assert read_rows("Ida Holm") == (Row("Ida Holm", ""),)
    assert read_rows(" \n") == ()


def test_what_is_copied_is_pasted_the_same():
    assert read_rows(written(LIST)) == LIST


def test_names_are_parted_by_commas():
    assert parted(" Ida Holm,, Bo ,") == ("Ida Holm", "Bo")


def test_a_credit_list_becomes_rows_and_the_same_list_again():
    kept = CreditRow(role="Law", names=("Reed, Ada & Sons",))
    credits = (
        CreditBlock(heading="Crew", rows=(kept, CreditRow())),
        CreditBlock(rows=(CreditRow(role="x"),)),
    )
    rows = rows_of_credits(credits)
    assert credits_of_rows(rows, credits) == credits
    # A name that has a comma stays one name while its row is left alone.
    changed = credits_of_rows((*rows, Row("Sound", "Bo,Eva")), credits)
    assert changed[0].rows[0] == kept
    assert changed[1].rows[-1] == CreditRow(role="Sound", names=("Bo", "Eva"))


def test_rows_before_the_first_heading_are_a_block_without_one():
    assert credits_of_rows((CAMERA,), ()) == (CreditBlock(rows=(CreditRow(role="Camera", names=("Ida",)),)),)


def test_a_block_that_fills_itself_goes_on_doing_so_when_its_rows_change():
    credits = (CreditBlock(heading="Music", fills="music"), CreditBlock(heading="Crew"))
    rows = rows_of_credits(credits)
    assert credits_of_rows(rows, credits) == credits
    first, second = credits_of_rows((rows[0], CAMERA, rows[1]), credits)
    assert (first.fills, first.rows, second.fills) == (
        "music",
        (CreditRow(role="Camera", names=("Ida",)),),
        "",
    )


def test_people_become_rows_and_a_blank_row_is_nobody():
    people = (Person(name="Ida Holm", roles=("Camera", "Editing")),)
    assert rows_of_people(people) == (Row("Ida Holm", "Camera, Editing"),)
    assert people_of_rows((*rows_of_people(people), Row(" ")), people) == people


def test_the_films_people_are_named_by_what_they_did():
    people = (
        Person(name="Ida", roles=("Camera", "Editing")),
        Person(name="Bo", roles=("Camera",)),
        Person(name="Eva"),
    )
    assert credit_rows_of(people, ()) == (Row("Camera", "Ida, Bo"), Row("Editing", "Ida"), Row("", "Eva"))
    assert credit_rows_of(people, (Row("camera", "Ida"),))[0] == Row("Camera", "Bo")


def test_the_model_tells_what_differs(theme):
    random = Random(7)
    model = RowsModel(("Role", "Names"), theme)
    tester = QAbstractItemModelTester(model, QAbstractItemModelTester.FailureReportingMode.Warning)
    for _ in range(200):
        rows = tuple(random.choice((*LIST, Row())) for _ in range(random.randint(0, 7)))
        model.put(rows)
        assert model.rows == rows
        assert model.rowCount() == len(rows)
    tester.deleteLater()
    model.deleteLater()


def test_the_model_shows_headings_and_cells(theme, qtbot):
    model = RowsModel(("Role", "Names"), theme)
    model.put((Row(is_heading=True), CAMERA))
    assert model.index(0, 0).data() == NO_HEADING
    assert model.index(0, 0).data(Qt.ItemDataRole.EditRole) == ""
    assert not model.flags(model.index(0, 1)) & Qt.ItemFlag.ItemIsEditable
    assert model.index(1, 1).data(Qt.ItemDataRole.AccessibleTextRole) == "Names: Ida"
    with qtbot.waitSignal(model.typed) as typed:
        model.setData(model.index(1, 1), "Ida, Bo")
    assert typed.args == [(Row(is_heading=True), Row("Camera", "Ida, Bo"))]
    model.deleteLater()


class _Film:
    """Takes rows as a film would: it refuses a name that is missing, and tells what it holds."""

    def __init__(self) -> None:
        self.rows: tuple[Row, ...] = ()
        self.table: RowTable | None = None
        self.owner: QWidget | None = None

    def take(self, rows: tuple[Row, ...]) -> str:
        if any(not row.first and row.second for row in rows):
            return "A name must not be empty."
        self.rows = tuple(row for row in rows if row.is_heading or row.first or row.second)
        if self.table is not None:
            self.table.show_rows(self.rows)
        return ""


@pytest.fixture
def people(theme, qtbot):
    """A table of people and the film behind it."""
    film = _Film()
    owner = QWidget()
    qtbot.addWidget(owner)
    table = RowTable(
        "People", ("Name", "Roles"), film.take, theme, owner, noun="a person", has_headings=False
    )
    film.table, film.owner = table, owner
    owner.resize(500, 600)
    table.resize(500, 500)
    owner.show()
    owner.activateWindow()
    qtbot.waitUntil(owner.isActiveWindow)
    return table, film


def editor_of(table: RowTable) -> QLineEdit:
    return table.view.indexWidget(table.view.currentIndex())


def test_a_person_is_added_and_typed_in_by_keyboard_alone(people, qtbot):
    table, film = people
    table.view.setFocus()
    qtbot.keyClick(table.view, Qt.Key.Key_Insert)
    assert editor_of(table).accessibleName() == "Name, row 1"
    qtbot.keyClicks(editor_of(table), "Ida")
    assert film.rows == (Row("Ida"),)
    qtbot.keyClick(editor_of(table), Qt.Key.Key_Return)
    qtbot.keyClicks(editor_of(table), "Camera,")
    assert editor_of(table).text() == "Camera,"
    qtbot.keyClick(editor_of(table), Qt.Key.Key_Return)
    assert table.rows == (Row("Ida", "Camera,"), Row())
    qtbot.keyClicks(editor_of(table), "Bo")
    assert film.rows == (Row("Ida", "Camera,"), Row("Bo"))


def test_what_is_refused_stays_with_the_reason_below_it(people, qtbot):
    table, film = people
    film.take((Row("Ida", "Camera"),))
    table.view.go_to(0)
    qtbot.keyClick(table.view, Qt.Key.Key_Return)
    editor_of(table).selectAll()
    qtbot.keyClick(editor_of(table), Qt.Key.Key_Delete)
    assert table.fault.text() == "A name must not be empty."
    qtbot.keyClick(editor_of(table), Qt.Key.Key_Return)
    assert table.rows == (Row("", "Camera"),)
    assert film.rows == (Row("Ida", "Camera"),)
    # The film changes elsewhere: what it holds is shown, and the reason goes.
    film.take((Row("Ida", "Sound"),))
    assert table.rows == (Row("Ida", "Sound"),)
    assert not table.fault.text()


def test_escape_puts_back_what_was_in_the_cell(people, qtbot):
    table, film = people
    film.take((Row("Ida", "Camera"),))
    table.view.go_to(0)
    qtbot.keyClick(table.view, Qt.Key.Key_Return)
    qtbot.keyClicks(editor_of(table), " Holm")
    qtbot.keyClick(editor_of(table), Qt.Key.Key_Escape)
    assert film.rows == table.rows == (Row("Ida", "Camera"),)


def test_keys_move_remove_copy_cut_and_paste(people, qtbot):
    table, film = people
    film.take((Row("Ida"), Row("Bo"), Row("Eva")))
    table.view.go_to(2)
    qtbot.keyClick(table.view, Qt.Key.Key_Up, Qt.KeyboardModifier.AltModifier)
    assert film.rows == (Row("Ida"), Row("Eva"), Row("Bo"))
    qtbot.keyClick(table.view, Qt.Key.Key_Down, Qt.KeyboardModifier.AltModifier)
    assert table.view.chosen() == (2, 1)
    qtbot.keyClick(table.view, Qt.Key.Key_X, Qt.KeyboardModifier.ControlModifier)
    assert film.rows == (Row("Ida"), Row("Bo"))
    table.view.go_to(0)
    qtbot.keyClick(table.view, Qt.Key.Key_V, Qt.KeyboardModifier.ControlModifier)
    assert film.rows == (Row("Ida"), Row("Eva"), Row("Bo"))
    qtbot.keyClick(table.view, Qt.Key.Key_Delete)
    assert film.rows == (Row("Ida"), Row("Bo"))


def test_lines_pasted_while_typing_in_a_cell_become_rows(people, qtbot):
    table, film = people
    table.view.setFocus()
    table.add()
    QGuiApplication.clipboard().setText("Ida Holm\tCamera\nBo Lind\tSound")
    qtbot.keyClick(editor_of(table), Qt.Key.Key_V, Qt.KeyboardModifier.ControlModifier)
    assert film.rows == (Row("Ida Holm", "Camera"), Row("Bo Lind", "Sound"))


def test_every_button_does_what_its_key_does(people, qtbot):
    table, film = people
    film.take((Row("Ida"), Row("Bo")))
    table.view.go_to(1)
    for wish, after in (
        (Wish.UP, (Row("Bo"), Row("Ida"))),
        (Wish.DOWN, (Row("Ida"), Row("Bo"))),
        (Wish.REMOVE, (Row("Ida"),)),
    ):
        qtbot.mouseClick(table.buttons[wish], Qt.MouseButton.LeftButton)
        assert film.rows == after
    qtbot.mouseClick(table.buttons[Wish.ADD], Qt.MouseButton.LeftButton)
    qtbot.keyClicks(editor_of(table), "Eva")
    assert film.rows == (Row("Ida"), Row("Eva"))


def test_nothing_can_be_typed_where_a_film_is_read_only(people, qtbot):
    table, film = people
    film.take((Row("Ida"),))
    table.set_read_only("It is open elsewhere.")
    table.view.go_to(0)
    for key in (Qt.Key.Key_Return, Qt.Key.Key_Insert, Qt.Key.Key_Delete):
        qtbot.keyClick(table.view, key)
    assert editor_of(table) is None
    assert film.rows == (Row("Ida"),)
    assert {button.toolTip() for button in table.buttons.values()} == {"It is open elsewhere."}
    assert table.model.index(0, 0).data(Qt.ItemDataRole.ToolTipRole) == "It is open elsewhere."
