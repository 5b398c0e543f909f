"""Dragging: what a drag carries, where it may be dropped, what that does, and what is said before."""

import json

import pytest
from PySide6.QtCore import QMimeData, QModelIndex, QPoint, QPointF, Qt
from PySide6.QtGui import QDragEnterEvent, QDragLeaveEvent, QDragMoveEvent, QDropEvent
from PySide6.QtWidgets import QApplication, QLabel

from desk.film import edits
from desk.film.effects import describe_effect
from desk.film.model import Film
from desk.ui.order.entry_list import MIME_TYPE
from desk.ui.order.panel import OrderPanel
from desk.ui.order.placing import into_order
from tests.film.films import small_film

# The platform without a screen says so of each window; a popup, a menu and a tool tip are windows.
pytestmark = pytest.mark.qt_log_ignore("This plugin does not support", extend=True)

FILM = small_film()
MOVE, LEFT, NONE = Qt.DropAction.MoveAction, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier


def order(film: Film) -> str:
    return " ".join(item.entry for item in film.order)


def aside(film: Film) -> str:
    return " ".join(item.entry for item in film.aside)


@pytest.fixture
def bench(make_bench):
    return make_bench(FILM)


@pytest.fixture
def panel(bench, qtbot):
    made = OrderPanel(bench)
    qtbot.addWidget(made)
    made.resize(600, 900)
    made.show()
    QApplication.processEvents()
    return made


def carried(panel: OrderPanel, *entry_ids: str) -> QMimeData:
    model = panel.model if entry_ids[0] in panel.model.ids else panel.shelf_model
    return model.mimeData([model.index(model.row_of(item)) for item in entry_ids])


def drag(view, data: QMimeData, point: QPoint) -> bool:
    """Drag over a point; returns whether it may be dropped there."""
    enter = QDragEnterEvent(point, MOVE, data, LEFT, NONE)
    view.dragEnterEvent(enter)
    move = QDragMoveEvent(point, MOVE, data, LEFT, NONE)
    view.dragMoveEvent(move)
    return move.isAccepted()


def drop(view, data: QMimeData, point: QPoint) -> bool:
    drag(view, data, point)
    event = QDropEvent(QPointF(point), MOVE, data, LEFT, NONE)
    view.dropEvent(event)
    return event.isAccepted()


def before_row(panel: OrderPanel, row: int) -> QPoint:
    return panel.order.layout_at(row).row.topLeft() + QPoint(100, 4)


def after_row(panel: OrderPanel, row: int) -> QPoint:
    return panel.order.layout_at(row).row.bottomLeft() + QPoint(100, -4)


def test_a_drag_carries_ids_as_json(panel, bench):
    data = carried(panel, "s4", "s1")
    assert panel.model.mimeTypes() == [MIME_TYPE] == data.formats()
    told = json.loads(data.data(MIME_TYPE).data())
    assert told == {"folder": str(bench.session.folder), "entries": ["s1", "s4"]}
    assert panel.model.ids_in(data) == ("s1", "s4")


@pytest.mark.parametrize(
    "bytes_",
    [
        b"",
        b"nonsense",
        b"[]",
        b'{"folder": 1}',
        b'{"entries": ["s1"], "folder": "/elsewhere"}',
        b'{"entries": 5, "folder": "HERE"}',
        b'{"entries": ["no such", 7, null], "folder": "HERE"}',
    ],
)
def test_what_comes_from_elsewhere_is_not_taken(panel, bench, bytes_):
    data = QMimeData()
    data.setData(MIME_TYPE, bytes_.replace(b"HERE", str(bench.session.folder).encode()))
    for model in (panel.model, panel.shelf_model):
        assert not model.canDropMimeData(data, MOVE, 0, 0, QModelIndex())
        assert not model.dropMimeData(data, MOVE, 0, 0, QModelIndex())
    assert bench.session.film is FILM
    assert not drop(panel.order, data, before_row(panel, 1))
    assert not panel.model.canDropMimeData(QMimeData(), MOVE, 0, 0, QModelIndex())


@pytest.mark.parametrize(
    ("ids", "row", "expected"),
    [
        (["s4"], 1, "k1 s4 s1 s2 k2"),
        (["s4"], 0, "s4 k1 s1 s2 k2"),
        (["s1"], 5, "k1 s2 s4 k2 s1"),
        (["s1"], 3, "k1 s2 s1 s4 k2"),
        (["s1"], 1, "k1 s1 s2 s4 k2"),
        (["s1"], 2, "k1 s1 s2 s4 k2"),
        (["s1", "s4"], 3, "k1 s2 s1 s4 k2"),
        (["k1", "k2"], 2, "s1 k1 k2 s2 s4"),
        (["s3"], 3, "k1 s1 s2 s3 s4 k2"),
        (["s3"], 0, "s3 k1 s1 s2 s4 k2"),
        (["s3", "s4"], 1, "k1 s4 s3 s1 s2 k2"),
        (["s1"], -1, "k1 s2 s4 k2 s1"),
    ],
)
def test_a_drop_in_a_gap_puts_a_block_there(panel, bench, ids, row, expected):
    model = panel.model
    data = QMimeData()
    told = {"folder": str(bench.session.folder), "entries": ids}
    data.setData(MIME_TYPE, json.dumps(told).encode())
    assert model.dropMimeData(data, MOVE, row, 0, QModelIndex())
    assert order(bench.session.film) == expected
    assert bench.session.stack.count() == (0 if order(FILM) == expected else 1)
    bench.session.stack.undo()
    assert bench.session.film == FILM
    bench.session.stack.redo()
    assert order(bench.session.film) == expected


def test_a_drop_on_a_row_goes_before_it(panel, bench):
    assert panel.model.dropMimeData(carried(panel, "s4"), MOVE, -1, -1, panel.model.index(1))
    assert order(bench.session.film) == "k1 s4 s1 s2 k2"


def test_rows_are_dropped_between_rows_in_the_view(panel, bench):
    assert drop(panel.order, carried(panel, "s4"), before_row(panel, 1))
    assert order(bench.session.film) == "k1 s4 s1 s2 k2"
    assert drop(panel.order, carried(panel, "s4", "s1"), after_row(panel, 3))
    assert order(bench.session.film) == "k1 s2 s4 s1 k2"
    below = QPoint(100, panel.order.viewport().height() - 2)
    assert drop(panel.order, carried(panel, "k1"), below)
    assert order(bench.session.film) == "s2 s4 s1 k2 k1"
    assert panel.selected() == ("k1",)
    assert bench.session.stack.count() == 3
    while bench.session.stack.canUndo():
        bench.session.stack.undo()
    assert bench.session.film == FILM


def test_a_tile_is_dropped_into_the_order_and_a_row_onto_the_shelf(panel, bench):
    assert drop(panel.order, carried(panel, "s3"), after_row(panel, 1))
    assert order(bench.session.film) == "k1 s1 s3 s2 s4 k2"
    assert panel.selected() == ("s3",)
    assert bench.choice.entry == "s3"
    assert drop(panel.shelf.view, carried(panel, "s1", "s3"), QPoint(20, 10))
    assert (order(bench.session.film), aside(bench.session.film)) == ("k1 s2 s4 k2", "s1 s3")
    assert panel.selected() == ("s1", "s3")
    bench.session.stack.undo()
    assert (order(bench.session.film), aside(bench.session.film)) == ("k1 s1 s3 s2 s4 k2", "")
    bench.session.stack.undo()
    assert bench.session.film == FILM


def test_the_keyboard_goes_on_with_what_was_dropped(panel, bench, qtbot):
    panel.shelf.view.setFocus()
    qtbot.waitUntil(panel.shelf.view.hasFocus)
    assert drop(panel.order, carried(panel, "s3"), after_row(panel, 1))
    assert panel.order.hasFocus()
    assert panel.order.current_id() == "s3"
    assert drop(panel.shelf.view, carried(panel, "s3"), QPoint(20, 10))
    assert panel.shelf.view.hasFocus()
    assert panel.shelf.view.current_id() == "s3"


def test_a_row_is_dropped_on_the_heading_of_the_shelf(panel, bench):
    said = []
    panel.effect_previewed.connect(said.append)
    heading = panel.shelf.findChild(QLabel, "shelf-heading")
    on_it = heading.mapTo(panel.shelf, heading.rect().center())
    assert panel.shelf.childAt(on_it) is heading
    assert drag(panel.shelf, carried(panel, "s1"), on_it)
    assert said[-1] == describe_effect(FILM, edits.set_aside(FILM, ["s1"]).after)
    panel.shelf.dragLeaveEvent(QDragLeaveEvent())
    assert said[-1] == ""
    assert not drag(panel.shelf, carried(panel, "s3"), on_it)
    assert drop(panel.shelf, carried(panel, "s1"), on_it)
    assert (order(bench.session.film), aside(bench.session.film)) == ("k1 s2 s4 k2", "s3 s1")
    assert panel.selected() == ("s1",)
    bench.session.stack.undo()
    assert bench.session.film == FILM


def test_several_tiles_come_back_in_one_step(panel, bench):
    bench.session.do(lambda film: edits.set_aside(film, ["s1", "k2"]))
    assert drop(panel.order, carried(panel, "s3", "s1", "k2"), before_row(panel, 1))
    assert order(bench.session.film) == "k1 s3 s1 k2 s2 s4"
    assert bench.session.stack.undoText() == "Put back scene 3, scene 1 and card “Credits”"
    bench.session.stack.undo()
    assert order(bench.session.film) == "k1 s2 s4"


def test_a_tile_is_not_dropped_where_it_lies(panel, bench):
    assert not drag(panel.shelf.view, carried(panel, "s3"), QPoint(20, 10))
    assert not drop(panel.shelf.view, carried(panel, "s3"), QPoint(20, 10))
    assert bench.session.film is FILM


def test_an_empty_film_takes_a_tile(make_bench, qtbot):
    bench = make_bench(edits.set_aside(FILM, [item.entry for item in FILM.order]).after)
    panel = OrderPanel(bench)
    qtbot.addWidget(panel)
    panel.show()
    assert drop(panel.order, carried(panel, "s2"), QPoint(40, 40))
    assert order(bench.session.film) == "s2"


def test_a_film_that_is_read_only_takes_no_drops(panel, bench):
    bench.session.read_only = "It is open elsewhere."
    assert not drag(panel.order, carried(panel, "s1"), before_row(panel, 3))
    assert not panel.model.index(1).flags() & Qt.ItemFlag.ItemIsDragEnabled
    assert bench.session.film is FILM


def test_what_a_drop_would_do_is_said_before_it_and_nothing_is_done(panel, bench):
    said: list[str] = []
    panel.effect_previewed.connect(said.append)
    assert drag(panel.shelf.view, carried(panel, "s1"), QPoint(20, 10))
    assert said == [describe_effect(FILM, edits.set_aside(FILM, ["s1"]).after)]
    panel.shelf.view.dragLeaveEvent(QDragLeaveEvent())
    assert said[1:] == [""]
    said.clear()
    assert drag(panel.order, carried(panel, "s3"), after_row(panel, 2))
    assert said == [describe_effect(FILM, into_order(FILM, ["s3"], 3).after)]
    assert "(+0:05:00)" in said[0]
    assert bench.session.film is FILM


def test_the_effect_is_reckoned_only_when_the_place_changes(panel):
    said: list[str] = []
    panel.effect_previewed.connect(said.append)
    data = carried(panel, "s3")
    drag(panel.order, data, after_row(panel, 1))
    drag(panel.order, data, before_row(panel, 2))
    assert len(said) == 1
    drag(panel.order, data, after_row(panel, 2))
    assert len(said) == 2


def test_after_a_drop_nothing_is_said_before_it_any_more(panel):
    said: list[str] = []
    panel.effect_previewed.connect(said.append)
    drop(panel.order, carried(panel, "s1"), after_row(panel, 3))
    assert said[-1] == ""
    assert panel.order.drop_place == -1


def test_while_a_filter_is_on_a_drop_goes_beside_the_row_that_is_seen(panel, bench):
    panel.filter.set_text("int.")
    QApplication.processEvents()
    assert panel.shown() == ("s2", "s4")
    assert drop(panel.order, carried(panel, "s3"), after_row(panel, 2))
    assert order(bench.session.film) == "k1 s1 s2 s3 s4 k2"
    bench.session.stack.undo()
    panel.filter.set_text("int.")
    QApplication.processEvents()
    assert drop(panel.order, carried(panel, "s3"), before_row(panel, 2))
    assert order(bench.session.film) == "k1 s1 s3 s2 s4 k2"


def test_the_line_of_a_drop_lies_in_the_gap(panel):
    view = panel.order
    for place in range(1, 5):
        line = view.drop_line(place)
        assert view.layout_at(place - 1).gap.contains(line.center())
    assert view.drop_line(0).bottom() < view.layout_at(0).row.center().y()
