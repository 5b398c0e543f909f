"""How rows are laid out and painted: nothing overlaps at any width, and only what changed is painted."""

import dataclasses
import itertools
from fractions import Fraction

import pytest
from PySide6.QtCore import QEvent, QObject, QPoint, QRect, Qt
from PySide6.QtGui import QColor, QHelpEvent, QImage, QRegion
from PySide6.QtWidgets import QApplication, QToolTip

from desk.film import edits
from desk.film.model import Clip, Film, Scene, SceneContent
from desk.ui.bench import Bench
from desk.ui.look.theme import Appearance
from desk.ui.order.facts import FactsCache
from desk.ui.order.panel import OrderPanel
from desk.ui.order.row_layout import Part, item_height, lay_out_row, stroke_rect
from desk.ui.order.rows import rows_of
from desk.ui.thumbnails import Thumbnails
from tests.film.films import small_film

# The platform without a screen says so of each window; a popup, a menu and a tool tip are windows.
pytestmark = pytest.mark.qt_log_ignore("This plugin does not support", extend=True)

FILM = edits.set_fades(small_film(), 12, 12).after
ASPECTS = (16 / 9, 2.39, 4 / 3, 9 / 16)


class Painted(QObject):
    """Remembers which part of a widget was painted."""

    def __init__(self, widget) -> None:
        super().__init__(widget)
        self.region = QRegion()
        widget.installEventFilter(self)

    def eventFilter(self, watched, event) -> bool:
        if event.type() == QEvent.Type.Paint:
            self.region = self.region.united(event.region())
        return False


class Red(Thumbnails):
    """Small pictures that are there once they were told of."""

    there: frozenset[str] = frozenset()

    def picture(self, source: str, seconds: Fraction, *, height_px: int = 96) -> QImage | None:
        if source not in self.there:
            return None
        image = QImage(160, 90, QImage.Format.Format_RGB32)
        image.fill(QColor("red"))
        return image


@pytest.fixture
def bench(make_bench):
    made: Bench = make_bench(FILM)
    red = Red(made.session, made.media, made.jobs, made.session)
    return dataclasses.replace(made, thumbnails=red)


@pytest.fixture
def panel(bench, qtbot):
    made = OrderPanel(bench)
    qtbot.addWidget(made)
    made.resize(600, 900)
    made.show()
    QApplication.processEvents()
    return made


@pytest.mark.parametrize("aspect", ASPECTS)
def test_nothing_in_a_row_overlaps_at_any_width(aspect):
    rows = rows_of(FILM, FactsCache(), {})
    for width, row in itertools.product((300, 356, 405, 440, 520, 600, 900), rows):
        item = QRect(0, 40, width, item_height(row))
        layout = lay_out_row(item, row, aspect)
        apart = [layout.mark, layout.length, layout.start, *layout.thumbnails]
        apart += [layout.title] if row.scene is None else [layout.number, layout.title, layout.detail]
        for at, first in enumerate(apart):
            assert layout.row.contains(first), (width, first)
            assert not any(first.intersects(second) for second in apart[at + 1 :]), (width, first)
        assert not any(layout.foot.intersects(rect) for rect in layout.thumbnails)
        assert not layout.row.intersects(layout.gap)
        assert layout.title.width() >= 80


def test_a_narrow_row_has_fewer_pictures():
    row = rows_of(FILM, FactsCache(), {})[1]
    counts = [
        len(lay_out_row(QRect(0, 0, width, 80), row, 16 / 9).thumbnails) for width in (350, 410, 530, 700)
    ]
    assert counts == sorted(counts)
    assert counts == [0, 1, 2, 3]


def test_the_mark_of_a_join_leaves_room_for_its_words():
    gap = QRect(0, 0, 356, 24)
    for words_px in (20, 150, 280):
        stroke = stroke_rect(gap, words_px)
        assert gap.contains(stroke)
        assert stroke.right() + 8 + words_px <= gap.right()


def test_every_gap_can_be_hit(panel):
    for row in range(5):
        layout = panel.order.layout_at(row)
        assert panel.order.part_at(layout.gap.center()) == (row, Part.GAP)
        assert panel.order.part_at(layout.row.center())[1] is not Part.GAP
    assert panel.order.part_at(panel.order.layout_at(0).lead.center()) == (0, Part.LEAD)
    assert panel.order.part_at(panel.order.layout_at(2).title.center()) == (2, Part.TITLE)
    assert panel.order.part_at(QPoint(40, panel.order.viewport().height() - 1)) is None


def test_a_thumbnail_paints_only_its_row_again(panel, bench):
    view = panel.order
    painted = Painted(view.viewport())
    bench.thumbnails.there = frozenset({"footage/2/ticket.mov"})
    bench.thumbnails.made.emit("footage/2/ticket.mov")
    QApplication.processEvents()
    row = view.visualRect(panel.model.index(2))
    assert painted.region.boundingRect() == row
    place = view.layout_at(2).thumbnails[0].center()
    assert view.viewport().grab().toImage().pixelColor(place) == QColor("red")
    other = view.layout_at(1).thumbnails[0].center()
    assert view.viewport().grab().toImage().pixelColor(other) != QColor("red")


def test_words_of_one_row_paint_it_again(panel, bench):
    before = panel.order.viewport().grab().toImage()
    bench.session.do(lambda film: edits.edit_story(film, "s2", purpose="Nobody comes."))
    QApplication.processEvents()
    after = panel.order.viewport().grab().toImage()
    assert before.copy(panel.order.layout_at(2).detail) != after.copy(panel.order.layout_at(2).detail)
    assert before.copy(panel.order.layout_at(3).row) == after.copy(panel.order.layout_at(3).row)


def test_a_chosen_row_has_a_bar_and_the_light_palette_another_paper(panel, theme):
    panel.choose(("s2",))
    layout = panel.order.layout_at(2)
    bar, paper = layout.row.topLeft() + QPoint(1, 30), layout.row.topLeft() + QPoint(7, 30)
    image = panel.order.viewport().grab().toImage()
    assert image.pixelColor(bar).name() == theme.palette.pencil
    assert image.pixelColor(paper).name() == theme.palette.row_chosen
    theme.set_appearance(Appearance.LIGHT)
    QApplication.processEvents()
    image = panel.order.viewport().grab().toImage()
    assert image.pixelColor(paper).name() == theme.palette.row_chosen


def test_a_gap_lights_up_under_the_pointer(panel, theme, qtbot):
    view = panel.order
    gap = view.layout_at(2).gap
    line = gap.center() + QPoint(40, 0)
    assert view.viewport().grab().toImage().pixelColor(line).name() != theme.palette.pencil
    qtbot.mouseMove(view.viewport(), gap.center())
    assert view.viewport().cursor().shape() is Qt.CursorShape.ArrowCursor, "one click there does nothing"
    assert view.viewport().grab().toImage().pixelColor(line).name() == theme.palette.pencil
    qtbot.mouseMove(view.viewport(), view.layout_at(3).row.center())
    assert view.viewport().cursor().shape() is Qt.CursorShape.ArrowCursor
    assert view.viewport().grab().toImage().pixelColor(line).name() != theme.palette.pencil


def test_the_pointer_is_a_hand_just_where_one_click_opens_something(panel, qtbot):
    view = panel.order
    gap = view.layout_at(1).gap
    beside = (QPoint(gap.left() + 20, gap.center().y()), view.layout_at(1).row.center())
    for point, shape in (
        (gap.center(), Qt.CursorShape.PointingHandCursor),
        *((point, Qt.CursorShape.ArrowCursor) for point in beside),
    ):
        qtbot.mouseMove(view.viewport(), point)
        assert view.viewport().cursor().shape() is shape


def test_a_list_that_gets_the_keyboard_shows_where_it_is(panel, theme, qtbot):
    panel.order.setFocus()
    QApplication.processEvents()
    assert panel.order.current_id() == "k1"
    assert panel.selected() == ()
    edge = panel.order.layout_at(0).row.topRight() - QPoint(40, 0)
    assert panel.order.viewport().grab().toImage().pixelColor(edge).name() == theme.palette.pencil


@pytest.mark.parametrize(
    ("row", "where", "words"),
    [
        (1, "gap", "Then dissolve 24, handles 72 / –. Click to change the join."),
        (2, "gap", "Then a cut. Double-click to change the join."),
        (0, "lead", "The film begins with fade up 12. Click to change its fades."),
        (4, "gap", "The film ends with fade out 12. Click to change its fades."),
    ],
)
def test_a_gap_says_what_it_is(panel, row, where, words):
    point = getattr(panel.order.layout_at(row), where).center()
    event = QHelpEvent(QEvent.Type.ToolTip, point, panel.order.viewport().mapToGlobal(point))
    QApplication.sendEvent(panel.order.viewport(), event)
    assert QToolTip.text() == words
    QToolTip.hideText()


def test_beside_its_mark_a_gap_says_that_two_clicks_change_it(panel):
    gap = panel.order.layout_at(1).gap
    point = QPoint(gap.left() + 20, gap.center().y())
    event = QHelpEvent(QEvent.Type.ToolTip, point, panel.order.viewport().mapToGlobal(point))
    QApplication.sendEvent(panel.order.viewport(), event)
    assert QToolTip.text() == "Then dissolve 24, handles 72 / –. Double-click to change the join."
    QToolTip.hideText()


def test_open_parts_are_told_in_a_few_words(panel, bench):
    delegate = panel.order.rows
    assert delegate.open_words(1) == ("open: dialogue, grade, proofs", "pencil_text")
    assert delegate.open_words(3) == ("open: story, dialogue, music, grade, proofs", "pencil_text")
    assert delegate.open_words(0) == ("", "")


def test_rows_stay_where_they_are_when_others_move(panel, bench):
    bench.choice.choose("s2")
    bench.session.do(lambda film: edits.move(film, ["k2"], 0))
    QApplication.processEvents()
    assert panel.selected() == ("s2",)
    assert panel.order.visualRect(panel.model.index(3)).isValid()


def test_rows_make_room_when_a_gap_gets_words(make_bench, qtbot):
    bench = make_bench(small_film())
    panel = OrderPanel(bench)
    qtbot.addWidget(panel)
    panel.resize(600, 900)
    panel.show()
    QApplication.processEvents()
    bench.session.do(lambda film: edits.set_fades(film, 12, 12))
    QApplication.processEvents()
    rects = [panel.order.visualRect(panel.model.index(row)) for row in range(5)]
    for above, below in itertools.pairwise(rects):
        assert above.bottom() + 1 == below.top()


def large_film(scenes: int = 120) -> Film:
    made = tuple(
        Scene(
            id=f"s{at}",
            number=str(at + 1),
            content=SceneContent(clips=(Clip(id=f"c{at}", source="a.mov", length_frames=48),)),
        )
        for at in range(scenes)
    )
    order = tuple(dataclasses.replace(FILM.order[0], entry=scene.id) for scene in made)
    return dataclasses.replace(FILM, scenes=made, cards=(), order=order, aside=())


def test_a_long_film_scrolls_to_what_is_chosen(make_bench, qtbot):
    bench = make_bench(large_film())
    panel = OrderPanel(bench)
    qtbot.addWidget(panel)
    panel.resize(400, 700)
    panel.show()
    QApplication.processEvents()
    bench.choice.choose("s110")
    QApplication.processEvents()
    seen = panel.order.visualRect(panel.model.index(110))
    assert panel.order.viewport().rect().contains(seen)
    assert panel.order.horizontalScrollBarPolicy() == Qt.ScrollBarPolicy.ScrollBarAlwaysOff
