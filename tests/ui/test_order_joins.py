"""Changing joins and fades: live, told what the footage allows, one step to undo."""

from fractions import Fraction

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QApplication

from desk.film import edits
from desk.film.model import CUT, Join, JoinKind
from desk.ui.order.fades_editor import FadesEditor
from desk.ui.order.join_editor import JoinEditor
from desk.ui.order.panel import OrderPanel
from desk.ui.order.row_layout import CUT_GAP_PX
from tests.film.films import small_film
from tests.making import make_numbered

# The platform without a screen says so of each window; a popup, a menu and a tool tip are windows.
pytestmark = pytest.mark.qt_log_ignore("This plugin does not support", extend=True)

FILM = small_film()
LEFT = Qt.MouseButton.LeftButton


def join_after(bench, entry_id: str) -> Join:
    return next(item.join for item in bench.session.film.order if item.entry == entry_id)


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


def editor_of(panel: OrderPanel, kind: type) -> JoinEditor | FadesEditor | None:
    QApplication.processEvents()
    return next((item for item in panel.findChildren(kind) if item.isVisible()), None)


def kind_button(editor: JoinEditor, text: str):
    return next(button for button in editor.kinds.buttons() if button.text() == text)


def test_a_double_click_on_the_gap_opens_the_join(panel, qtbot):
    gap = panel.order.layout_at(2).gap
    assert gap.height() == CUT_GAP_PX
    qtbot.mouseDClick(panel.order.viewport(), LEFT, pos=gap.center())
    editor = editor_of(panel, JoinEditor)
    assert editor.windowTitle() == "Join after scene 2"
    assert panel.selected() == ("s2",)
    editor.close()


def mark_of(panel: OrderPanel, row: int) -> QPoint:
    gap = panel.order.layout_at(row).gap
    left = gap.left()
    while panel.order.mark_at(QPoint(left, gap.center().y())) is None:
        left += 1
    return QPoint(left + 8, gap.center().y())


@pytest.mark.parametrize("clicks", [("mouseClick",), ("mouseClick", "mouseDClick"), ("mouseDClick",)])
def test_one_click_on_the_mark_of_a_join_opens_it_once(panel, qtbot, clicks):
    for click in clicks:
        getattr(qtbot, click)(panel.order.viewport(), LEFT, pos=mark_of(panel, 1))
    editor = editor_of(panel, JoinEditor)
    assert editor.windowTitle() == "Join after scene 1"
    assert panel.selected() == ("s1",)
    assert len([item for item in panel.findChildren(JoinEditor) if item.isVisible()]) == 1
    editor.close()


def test_the_second_of_two_clicks_leaves_the_editor_open_and_a_later_one_closes_it(panel, qtbot):
    qtbot.mouseClick(panel.order.viewport(), LEFT, pos=mark_of(panel, 1))
    editor = editor_of(panel, JoinEditor)
    qtbot.mousePress(editor, LEFT, pos=QPoint(20, -10))
    assert editor.isVisible()

    def is_closed_by_a_press() -> bool:
        if open_editor := editor_of(panel, JoinEditor):
            qtbot.mousePress(open_editor, LEFT, pos=QPoint(20, -10))
        return editor_of(panel, JoinEditor) is None

    qtbot.waitUntil(is_closed_by_a_press)


def test_one_click_on_a_fade_opens_the_fades(panel, bench, qtbot):
    bench.session.do(lambda film: edits.set_fades(film, 12, 12))
    QApplication.processEvents()
    qtbot.mouseClick(panel.order.viewport(), LEFT, pos=mark_of(panel, 4))
    editor_of(panel, FadesEditor).close()


def test_a_click_that_chooses_or_drags_opens_nothing(panel, qtbot):
    view, mark = panel.order.viewport(), mark_of(panel, 1)
    row = panel.order.layout_at(2)
    qtbot.mouseClick(view, LEFT, pos=QPoint(row.gap.left() + 20, row.gap.center().y()))
    assert panel.selected() == ("s2",)
    qtbot.mouseClick(view, LEFT, Qt.KeyboardModifier.ControlModifier, mark)
    assert panel.selected() == ("s1", "s2"), "one more is chosen"
    qtbot.mousePress(view, LEFT, pos=mark)
    qtbot.mouseRelease(view, LEFT, pos=mark + QPoint(0, 60))
    assert editor_of(panel, JoinEditor) is None


def test_the_gap_before_the_first_and_after_the_last_open_the_fades(panel, qtbot):
    for rect in (panel.order.layout_at(0).lead, panel.order.layout_at(4).gap):
        qtbot.mouseDClick(panel.order.viewport(), LEFT, pos=rect.center())
        editor = editor_of(panel, FadesEditor)
        editor.close()
        QApplication.processEvents()


def test_the_key_opens_the_join_and_at_the_end_the_fades(panel, qtbot):
    panel.choose(("s1",))
    qtbot.keyClick(panel.order, Qt.Key.Key_J)
    editor = editor_of(panel, JoinEditor)
    assert editor.length.value() == 24
    editor.close()
    panel.choose(("k2",))
    qtbot.keyClick(panel.order, Qt.Key.Key_J)
    editor_of(panel, FadesEditor).close()


def test_a_join_is_changed_live_and_is_one_step(panel, bench, qtbot):
    panel.choose(("s2",))
    panel.edit_join()
    editor = editor_of(panel, JoinEditor)
    assert not editor.length.isEnabled()
    kind_button(editor, "Dissolve").click()
    assert join_after(bench, "s2") == Join(kind=JoinKind.DISSOLVE, before_frames=12, after_frames=12)
    editor.length.setValue(19)
    assert join_after(bench, "s2") == Join(kind=JoinKind.DISSOLVE, before_frames=9, after_frames=10)
    assert (editor.before.value(), editor.after.value()) == (9, 10)
    editor.before.setValue(4)
    assert join_after(bench, "s2") == Join(kind=JoinKind.DISSOLVE, before_frames=4, after_frames=10)
    assert editor.length.value() == 14
    kind_button(editor, "Fade through black").click()
    assert join_after(bench, "s2") == Join(kind=JoinKind.THROUGH_BLACK, before_frames=4, after_frames=10)
    assert "through black 14" in panel.model.row_at(2).gap.words
    editor.close()
    assert bench.session.stack.count() == 1
    bench.session.stack.undo()
    assert bench.session.film == FILM
    bench.session.stack.redo()
    assert join_after(bench, "s2").length_frames == 14


def test_the_next_change_is_a_step_of_its_own(panel, bench):
    for frames in (10, 20):
        panel.choose(("s1",))
        panel.edit_join()
        editor = editor_of(panel, JoinEditor)
        editor.length.setValue(frames)
        editor.close()
    assert bench.session.stack.count() == 2


def test_a_cut_has_no_length_and_the_last_length_comes_back(panel, bench):
    panel.choose(("s1",))
    panel.edit_join()
    editor = editor_of(panel, JoinEditor)
    editor.length.setValue(30)
    kind_button(editor, "Cut").click()
    assert join_after(bench, "s1") == CUT
    assert editor.told.text() == "A cut needs no handles."
    kind_button(editor, "Dissolve").click()
    assert join_after(bench, "s1").length_frames == 30
    editor.close()


def test_a_join_never_has_no_frames(panel, bench):
    panel.choose(("s1",))
    panel.edit_join()
    editor = editor_of(panel, JoinEditor)
    editor.before.setValue(0)
    editor.after.setValue(0)
    assert join_after(bench, "s1") == Join(kind=JoinKind.DISSOLVE, before_frames=1, after_frames=0)
    editor.before.setValue(0)
    assert join_after(bench, "s1") == Join(kind=JoinKind.DISSOLVE, before_frames=0, after_frames=1)
    editor.close()


def test_undoing_while_it_is_open_is_followed(panel, bench):
    panel.choose(("s1",))
    panel.edit_join()
    editor = editor_of(panel, JoinEditor)
    editor.length.setValue(8)
    bench.session.stack.undo()
    assert editor.length.value() == 24
    bench.session.do(lambda film: edits.set_aside(film, ["s1"]))
    assert not editor.isVisible()


def test_fades_are_changed_live_and_are_one_step(panel, bench):
    panel.edit_fades()
    editor = editor_of(panel, FadesEditor)
    editor.up.setValue(12)
    editor.out.setValue(48)
    assert (bench.session.film.fade_in_frames, bench.session.film.fade_out_frames) == (12, 48)
    assert panel.model.row_at(0).lead.words == "fade up 12"
    assert panel.model.row_at(4).gap.words == "fade out 48"
    editor.out.setValue(63)
    assert editor.told.text() == "Fade out 63: 1 frame too few; 62 would fit."
    editor.close()
    assert bench.session.stack.count() == 1
    bench.session.stack.undo()
    assert bench.session.film == FILM


@pytest.mark.ffmpeg
def test_the_editor_says_what_the_footage_allows_and_uses_what_fits(make_bench, qtbot, tmp_path):
    folder = tmp_path / "film"
    for name, frames in (("footage/1/kiosk.mov", 100), ("footage/2/ticket.mov", 180)):
        path = folder / name
        path.parent.mkdir(parents=True)
        make_numbered(path, rate=FILM.rate, frames=frames, size=(64, 36))
    bench = make_bench(FILM, folder)
    panel = OrderPanel(bench)
    qtbot.addWidget(panel)
    panel.show()
    with qtbot.waitSignal(bench.media.changed):
        bench.media.look()
    assert bench.media.source_seconds()["footage/1/kiosk.mov"] == Fraction(100, 24)
    # 100 frames from 24 on: 72 are used, 4 lie after the tail. The ticket clip has 72 before its head.
    words = "dissolve 24: 8 frames too few after the cut; 16 would fit"
    assert panel.model.row_at(1).gap.words == words
    panel.choose(("s1",))
    panel.edit_join()
    editor = editor_of(panel, JoinEditor)
    assert editor.told.text() == (
        "8 frames too few after the cut; 16 would fit. The footage allows at most 72 before the cut and 4 "
        "after it."
    )
    assert editor.fit.isEnabled()
    editor.fit.click()
    assert join_after(bench, "s1") == Join(kind=JoinKind.DISSOLVE, before_frames=12, after_frames=4)
    assert not editor.fit.isEnabled()
    assert panel.model.row_at(1).gap.words == "dissolve 16, handles 72 / 4"
    kind_button(editor, "Cut").click()
    kind_button(editor, "Dissolve").click()
    assert join_after(bench, "s1").after_frames == 4
    editor.close()
    QApplication.processEvents()
