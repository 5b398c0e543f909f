"""The line of figures at the foot."""

import dataclasses

import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QEnterEvent
from PySide6.QtWidgets import QApplication, QLabel, QProgressBar, QWidget

from desk.film import edits
from desk.film.model import ReviewCopy
from desk.jobs import Progress
from desk.ui.strip.foot import Foot
from desk.ui.strip.foot_line import FootLine
from desk.ui.strip.remark import Remark
from tests.film.editing import locked
from tests.film.films import small_film

# small_film: 420 frames at 24 a second are 17 seconds and 12 frames; scene 2 has 96.


@pytest.fixture
def bench(make_bench):
    return make_bench(locked(small_film(), "s2"))


@pytest.fixture
def window(qtbot):
    made = QWidget()
    qtbot.addWidget(made)
    made.resize(1300, 200)
    return made


@pytest.fixture
def line(bench, window):
    return shown(bench, window)


def shown(bench, window, **options) -> FootLine:
    made = FootLine(bench, window, **options)
    made.setGeometry(0, 100, 1300, 24)
    window.show()
    return made


def remark(line: FootLine) -> Remark:
    """The text at the right."""
    return next(item for item in line.findChildren(Remark) if item.full_text == line.said)


def enter(widget: QLabel) -> None:
    place = QPointF(2, 2)
    QApplication.sendEvent(widget, QEnterEvent(place, place, place))


def leave(widget: QLabel) -> None:
    QApplication.sendEvent(widget, QEvent(QEvent.Type.Leave))


def test_it_begins_with_the_figures(line):
    assert line.figures == "0:17:12 running time · 0:04:00 locked"
    assert line.said == "no change since it was opened"


def test_a_change_is_told_done_undone_and_done_again(line, bench, qtbot):
    bench.session.do(lambda film: edits.set_aside(film, ["s2"]))
    assert line.figures == "0:13:12 running time · 0:00:00 locked"
    text = bench.session.stack.undoText()
    effect = "Running time 0:13:12 (−0:04:00), locked 0:00:00 (−0:04:00)."
    assert line.said == f"last change: {text[0].lower()}{text[1:]}. {effect}"
    bench.session.stack.undo()
    assert line.figures == "0:17:12 running time · 0:04:00 locked"
    effect = "Running time 0:17:12 (+0:04:00), locked 0:04:00 (+0:04:00)."
    told = f"last change: undone: {text[0].lower()}{text[1:]}. {effect}"
    qtbot.waitUntil(lambda: line.said == told)
    bench.session.stack.redo()
    assert line.said.startswith(f"last change: {text[0].lower()}")
    assert "(−0:04:00)" in line.said


def test_typing_back_to_what_was_there_is_not_an_undo(line, bench, qtbot):
    before = bench.session.film.scene("s1").purpose
    for purpose in ("T", before):
        bench.session.do(lambda film, text=purpose: edits.edit_story(film, "s1", purpose=text), merge="p")
        qtbot.wait(1)
    assert bench.session.stack.count() == 0
    assert "undone" not in line.said


def test_steps_that_become_one_are_told_as_one(line, bench, qtbot):
    """Undoing takes them back together, so their effect is that of all."""
    for _ in range(3):
        bench.session.do(lambda film: edits.trim_tail(film, "s1", "c1", 1), merge="trim")
    assert bench.session.stack.count() == 1
    qtbot.waitUntil(lambda: "(−0:00:03)" in line.said)
    bench.session.stack.undo()
    qtbot.waitUntil(lambda: "undone" in line.said)
    assert "(+0:00:03)" in line.said


def test_a_review_copy_is_told_too(line, bench):
    bench.session.enter_copy(ReviewCopy(number=1, date="2026-03-01", file="a.mp4", frames=420))
    assert line.said.startswith("last change: ")
    assert "undone" not in line.said


def test_music_and_cards_that_go_are_told(line, bench):
    bench.session.do(lambda film: edits.set_aside(film, ["s1"]))
    assert "music cues 0 (−1)" in line.said
    bench.session.do(lambda film: edits.set_aside(film, ["k2"]))
    assert "cards 1 (−1)" in line.said


def test_a_preview_stands_in_its_place(line, bench):
    bench.session.do(lambda film: edits.set_aside(film, ["s2"]))
    said = line.said
    line.preview("Drop here: running time 0:12:00.")
    assert line.said == "Drop here: running time 0:12:00."
    assert remark(line).property("kind") == "open"
    bench.messages.notice("Saved.")
    assert line.said == "Drop here: running time 0:12:00."
    line.preview("")
    assert line.said == "Saved."
    assert remark(line).property("kind") != "open"
    line._on_passed()
    assert line.said == said


def test_a_notice_passes(bench, qtbot, window):
    line = shown(bench, window, notice_ms=20)
    bench.messages.notice("The copy is verified.")
    assert line.said == "The copy is verified."
    bench.messages.notice("It can't be written.", urgent=True)
    assert line.said == "It can't be written."
    assert remark(line).property("kind") == "fault"
    qtbot.waitUntil(lambda: line.said == "no change since it was opened")


@pytest.mark.parametrize("act", ["undo", "another edit"])
def test_a_notice_goes_with_the_step_that_it_told_of(line, bench, qtbot, act):
    bench.session.do(lambda film: edits.set_aside(film, ["s2"]))
    bench.messages.notice("Scene 2 set aside. Undo brings it back.")
    qtbot.wait(1)
    assert line.said == "Scene 2 set aside. Undo brings it back."
    if act == "undo":
        bench.session.stack.undo()
        qtbot.waitUntil(lambda: line.said.startswith("last change: undone: "))
    else:
        bench.session.do(lambda film: edits.set_aside(film, ["s1"]))
        qtbot.waitUntil(lambda: line.said.startswith("last change: "))


def test_an_urgent_notice_and_one_that_comes_with_the_step_stay(line, bench, qtbot):
    bench.messages.notice("Scene 2: its lock is broken.", urgent=True)
    bench.session.do(lambda film: edits.set_aside(film, ["s2"]))
    qtbot.wait(1)
    assert line.said == "Scene 2: its lock is broken."
    bench.session.do(lambda film: edits.set_aside(film, ["s1"]))
    bench.messages.notice("Scene 1 set aside.")
    qtbot.wait(1)
    assert line.said == "Scene 1 set aside."


def test_a_refusal_is_told_here(line, bench):
    bench.session.do(lambda film: edits.set_grade_note(film, "s2", "warm"))
    assert "locked" in line.said
    assert remark(line).property("kind") == "fault"
    assert remark(line).accessibleName() == line.said


def test_a_notice_stays_while_it_is_read(bench, qtbot, window):
    line = shown(bench, window, notice_ms=20)
    bench.messages.notice("One.")
    enter(remark(line))
    qtbot.wait(60)
    assert line.said == "One."
    leave(remark(line))
    qtbot.waitUntil(lambda: line.said != "One.")


def test_a_click_keeps_a_notice_until_the_next(bench, qtbot, window):
    line = shown(bench, window, notice_ms=20)
    bench.messages.notice("One.")
    qtbot.mouseClick(remark(line), Qt.MouseButton.LeftButton, pos=QPoint(2, 2))
    leave(remark(line))
    qtbot.wait(60)
    assert line.said == "One."
    qtbot.mouseClick(remark(line), Qt.MouseButton.LeftButton, pos=QPoint(2, 2))
    assert line.said == "no change since it was opened"
    bench.messages.notice("Two.")
    qtbot.keyClick(remark(line), Qt.Key.Key_Return)
    bench.messages.notice("Three.")
    assert line.said == "Three."
    qtbot.waitUntil(lambda: line.said != "Three.")


def test_long_text_is_shortened_with_the_whole_behind_it(line):
    text = "It would do a great deal, " * 20
    line.preview(text)
    label = remark(line)
    assert label.text().endswith("…")
    assert label.toolTip() == label.accessibleName() == text
    assert label.focusPolicy() & Qt.FocusPolicy.TabFocus
    line.preview("Short.")
    assert remark(line).text() == "Short."
    assert remark(line).toolTip() == ""


def test_looking_at_the_files_is_shown_while_it_lasts(line, bench):
    bar = line.findChild(QProgressBar)
    assert not bar.isVisible()
    bench.media.looking.emit(Progress("probe", "Reading footage: A001_C001.mp4", 0.25))
    assert bar.isVisible()
    assert bar.value() == 25
    assert "Reading footage: A001_C001.mp4" in [item.full_text for item in line.findChildren(Remark)]
    bench.media.looking.emit(Progress("media", "", 1.0))
    assert not bar.isVisible()


def test_the_foot_has_both(bench, window):
    foot = Foot(bench, window)
    foot.setGeometry(0, 0, 1024, foot.sizeHint().height())
    window.show()
    foot.preview("Before the drop.")
    assert foot.line.said == "Before the drop."
    assert foot.strip.width() == 1024 - 32
    assert [cell.span.entry for cell in foot.strip.cells] == ["k1", "s1", "s2", "s4", "k2"]


def test_an_empty_film(make_bench, window):
    film = dataclasses.replace(small_film(), order=(), aside=(), scenes=(), cards=())
    assert shown(make_bench(film), window).figures == "0:00:00 running time · 0:00:00 locked"
